// SPDX-License-Identifier: GPL-3.0-or-later
// card and measure: mold files in, numbers out.
#ifdef POURWRIGHT_GEOMETRY
#include <algorithm>

#include "cli/session.hpp"

namespace pourwright::cli {

Outcome run_measure(Session& session) {
  Outcome out;
  const MeasureSettings settings = session.measure_settings();
  if (session.problem()) return session.refuse(*session.problem());
  const auto files = session.files();
  if (!files) return session.refuse(files.error());
  const MeasureReport r = measure_files(*files, settings);
  out.out = session.json() ? measure_json(r) : measure_text(r, session.style());
  std::vector<std::pair<std::string, Problem>> failures;
  bool warned = false;
  for (const MeasureRow& f : r.files) {
    if (f.error) failures.emplace_back(f.path, *f.error);
    warned |= std::any_of(f.notes.begin(), f.notes.end(), [](const Note& n) { return n.warning; });
  }
  session.settle(out, r.files.size(), failures, warned);
  return out;
}

Outcome run_card(Session& session) {
  Outcome out;
  CardSettings settings;
  settings.measure = session.measure_settings();
  settings.mix = session.mix_settings();
  std::optional<int> copies;
  session.read("copies", copies, parse_count);
  if (copies) settings.copies = *copies;
  if (session.problem()) return session.refuse(*session.problem());
  const auto files = session.files();
  if (!files) return session.refuse(files.error());
  const auto r = pour_card(*files, settings);
  if (!r) return session.refuse(r.error());
  out.out = session.json() ? card_json(*r) : card_text(*r, session.style());
  std::vector<std::pair<std::string, Problem>> failures;
  for (const auto& e : r->errors) failures.emplace_back(e.path, e.problem);
  bool warned = std::any_of(r->notes.begin(), r->notes.end(), [](const Note& n) { return n.warning; });
  for (const CardMold& m : r->molds) warned |= std::any_of(m.notes.begin(), m.notes.end(), [](const Note& n) { return n.warning; });
  session.settle(out, files->size(), failures, warned);
  return out;
}

}  // namespace pourwright::cli
#endif
