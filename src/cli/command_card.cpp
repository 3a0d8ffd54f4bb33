// SPDX-License-Identifier: GPL-3.0-or-later
// card and measure: mold files in, numbers out.
#ifdef POURWRIGHT_GEOMETRY
#include <pourwright/pipeline_split.hpp>
#include <pourwright/report_csv.hpp>
#include <pourwright/report_picture.hpp>

#include "cli/session.hpp"

namespace pourwright::cli {

Outcome run_measure(Session& session) {
  const MeasureSettings settings = session.measure_settings();
  if (session.problem()) return session.refuse(*session.problem());
  const auto files = session.files();
  if (!files) return session.refuse(files.error());
  const MeasureReport r = measure_files(*files, settings);
  Session::Tally tally;
  tally.files = r.files.size();
  for (const MeasureRow& f : r.files) {
    if (f.error) tally.failures.emplace_back(f.path, *f.error);
    tally.warned |= has_warning(f.notes);
  }
  PictureSettings pictures;
  pictures.measure = settings;
  if (const auto problem = session.write_pictures_of(*files, std::move(pictures), tally))
    return session.refuse(*problem);
  Outcome out;
  if (session.json())
    out.out = measure_json(r);
  else if (tally.failures.empty() || tally.files > 1)
    out.out = measure_text(r, session.style(), session.line().has("fill-table"));
  session.settle(out, tally);
  return out;
}

Outcome run_card(Session& session) {
  CardSettings settings;
  settings.measure = session.remembering_settings();
  settings.mix = session.mix_settings();
  settings.fill_table = session.line().has("fill-table");
  settings.may_ask = session.may_ask();
  std::optional<int> copies;
  session.read("copies", copies, parse_count);
  if (copies) settings.copies = *copies;
  session.read("liquid", settings.mix.liquid, [](const std::string& t) { return parse_mass(t); });
  if (session.problem()) return session.refuse(*session.problem());
  const auto files = session.files_and_names(settings.mix);
  if (!files) return session.refuse(files.error());
  auto r = pour_card(*files, settings);
  if (!r) return session.refuse(r.error());
  if (!r->molds.empty())
    if (auto problem = session.keep_sheet(
            settings.mix, [&](const std::string& title) { return sheet_of(title, *r, settings.mix); },
            r->notes))
      return session.refuse(*problem);
  if (session.line().has("csv"))
    if (const auto problem = session.write_where("csv", card_csv(*r, session.style().decimal)))
      return session.refuse(*problem);
  Session::Tally tally;
  tally.files = files->size();
  for (const auto& e : r->errors) tally.failures.emplace_back(e.path, e.problem);
  tally.warned = has_warning(r->notes) || has_warning(r->total.notes);
  for (const CardMold& m : r->molds) tally.warned |= has_warning(m.notes);
  PictureSettings pictures;
  pictures.measure = settings.measure;
  pictures.limit = r->mix.min_wall;
  pictures.add = [&](std::size_t number, PictureWords& words) {
    for (const CardMold& m : r->molds)
      if (m.path == (*files)[number].path.string())
        return add_card_words(words, *r, m, session.style_for(r->habits));
  };
  if (const auto problem = session.write_pictures_of(*files, std::move(pictures), tally))
    return session.refuse(*problem);
  Outcome out;
  if (session.json())
    out.out = card_json(*r);
  else if (!r->molds.empty() || !r->questions.empty())
    out.out = card_text(*r, session.style_for(r->habits, r->cautions));
  session.settle(out, tally);
  return out;
}

}  // namespace pourwright::cli
#endif
