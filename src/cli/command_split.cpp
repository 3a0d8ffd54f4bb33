// SPDX-License-Identifier: GPL-3.0-or-later
// split, leftover, records and repeat: cups and sheets, without a mesh.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_split.hpp>

#include "cli/session.hpp"

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

/// The one step that the options of the command line describe.
Expected<SplitStep> step_of(Session& session) {
  SplitStep step;
  step.name = "cups";
  for (const std::string& text : session.line().all("cup")) {
    auto cup = parse_cup(text);
    if (!cup) return cup.error();
    step.cups.push_back(std::move(*cup));
  }
  std::optional<Technique> technique;
  std::optional<int> portions;
  session.read("technique", technique, [](const std::string& t) { return parse_technique(t); });
  session.read("portions", portions, parse_count);
  session.read("pour", step.pour, [](const std::string& t) { return parse_mass(t); });
  if (session.problem()) return *session.problem();
  step.technique = technique.value_or(Technique::solid);
  if (portions && step.technique != Technique::veins && step.technique != Technique::layered)
    return fail(Code::usage, "--portions belong to veins and layers", "add --technique veins or layered");
  if (portions && *portions > 200) return fail(Code::usage, "more than 200 portions", "a few are enough");
  step.portions = portions.value_or(0);
  return step;
}

/// From the plan file when one is named, else from the options.
std::optional<Problem> read_request(Session& session, SplitRequest& request, MixSettings& settings) {
  const std::vector<std::string>& words = session.line().arguments;
  session.read("grams", request.there, [](const std::string& t) { return parse_mass(t); });
  session.read("liquid", request.liquid, [](const std::string& t) { return parse_mass(t); });
  session.read("pigment-step", request.pigment_step, [](const std::string& t) { return parse_mass(t); });
  session.read("pieces", request.pieces, parse_count);
  if (settings.residue) request.plan.residue = *settings.residue;
  if (session.problem()) return session.problem();
  if (words.size() > 1) return stray(words[1]);
  if (words.size() == 1) {
    for (const std::string_view option : {"cup", "technique", "portions", "pour"})
      if (session.line().has(option))
        return fail(Code::usage, fmt::format("--{} belongs into the plan", option), "write it into the file");
    return read_split_plan(words[0], request, settings);
  }
  auto step = step_of(session);
  if (!step) return step.error();
  if (step->cups.empty())
    return fail(Code::usage, "there is no cup to fill", "name at least one: --cup \"sea=60%,Kelp=2%\"");
  request.plan.steps.push_back(std::move(*step));
  return std::nullopt;
}

Expected<Record> one_sheet(Session& session, const MixSettings& settings) {
  const std::vector<std::string>& words = session.line().arguments;
  if (words.empty())
    return fail(Code::usage, "say which batch: a number, a day, or a word in its sheet",
                "`pourwright records` lists them");
  std::string what = words[0];
  for (std::size_t i = 1; i < words.size(); ++i) what += " " + words[i];
  const auto found = find_sheets(what, session.now(), session.utc_offset(), settings);
  if (!found) return found.error();
  if (found->empty())
    return fail(Code::record_unknown, fmt::format("no sheet is of “{}”", what),
                "`pourwright records` lists them");
  if (found->size() == 1) return found->front();
  std::string numbers;
  for (const Record& r : *found) {
    if (numbers.size() > 200) {
      numbers += ", …";
      break;
    }
    numbers +=
        fmt::format("{}{} ({})", numbers.empty() ? "" : ", ", r.id, std::get<BatchSheet>(r.what).title);
  }
  return fail(Code::usage, fmt::format("“{}” is in several sheets: {}", what, numbers),
              "name one of the numbers");
}

}  // namespace

Outcome run_split(Session& session) {
  MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  SplitRequest request;
  if (auto problem = read_request(session, request, settings)) return session.refuse(*problem);
  session.say_workshop(settings.workshop.string());
  auto r = split(request, settings);
  if (!r) return session.refuse(r.error());
  if (auto problem = session.keep_sheet(
          settings, [&](const std::string& title) { return sheet_of(title, *r, settings); }, r->notes))
    return session.refuse(*problem);
  Outcome out;
  const auto habits = load_catalogue(settings.workshop);
  out.out = session.json()
                ? split_json(*r)
                : split_text(*r, session.style_for(habits ? habits->habits.value_or(Habits{}) : Habits{}));
  out.exit_code = session.strict(r->notes);
  return out;
}

Outcome run_leftover(Session& session) {
  std::optional<Mass> left;
  session.read("grams", left, [](const std::string& t) { return parse_mass(t); });
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  if (!left)
    return session.refuse(fail(Code::usage, "say how much is left: --grams", "for example --grams 86g"));
  const auto r = leftover(*left, settings, session.line().arguments);
  if (!r) return session.refuse(r.error());
  Outcome out;
  out.out = session.json() ? leftover_json(*r) : leftover_text(*r, session.style());
  return out;
}

Outcome run_records(Session& session) {
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  Outcome out;
  if (const auto dry = session.line().get("dry")) {
    const auto sheet = one_sheet(session, settings);
    if (!sheet) return session.refuse(sheet.error());
    const auto again = note_dry_colour(sheet->id, *dry, session.now(), settings);
    if (!again) return session.refuse(again.error());
    out.out =
        session.json() ? sheets_json({*again}) : sheets_text({*again}, session.utc_offset(), session.style());
    return out;
  }
  std::string what;
  for (const std::string& word : session.line().arguments) what += (what.empty() ? "" : " ") + word;
  const auto found = find_sheets(what, session.now(), session.utc_offset(), settings);
  if (!found) return session.refuse(found.error());
  out.out = session.json() ? sheets_json(*found) : sheets_text(*found, session.utc_offset(), session.style());
  return out;
}

Outcome run_repeat(Session& session) {
  RepeatSize size;
  session.read("pieces", size.pieces, parse_count);
  session.read("grams", size.total, [](const std::string& t) { return parse_mass(t); });
  session.read("liquid", size.liquid, [](const std::string& t) { return parse_mass(t); });
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  const auto sheet = one_sheet(session, settings);
  if (!sheet) return session.refuse(sheet.error());
  auto r = repeat(*sheet, size, settings);
  if (!r) return session.refuse(r.error());
  Notes& notes = r->weighed.recipe.notes;
  if (auto problem = session.keep_sheet(
          settings,
          [&](const std::string& title) {
            BatchSheet again = std::get<BatchSheet>(sheet->what);
            again.title = title;
            again.dry_colour.clear();
            again.room = settings.room;
            again.parts.clear();
            for (const Part& p : r->weighed.recipe.parts)
              if (p.mass > Mass()) again.parts.push_back({p.name, p.kind, p.mass});
            again.molds.clear();
            for (const RepeatReport::Row& m : r->molds) again.molds.push_back({m.mold, m.copies, m.mix});
            if (r->steps) {
              const BatchSheet laid_out = sheet_of(title, *r->steps, settings);
              again.cups = laid_out.cups;
              again.steps = laid_out.steps;
            }
            for (std::size_t i = 0; i < again.cups.size() && !r->steps; ++i)
              again.cups[i].mix =
                  r->cups ? r->cups->cups[i].mix : r->weighed.recipe.mix * again.cups[i].share;
            return again;
          },
          notes))
    return session.refuse(*problem);
  Outcome out;
  out.out = session.json()
                ? repeat_json(*r)
                : repeat_text(*r, session.utc_offset(), session.style_for({}, r->weighed.cautions));
  out.exit_code = session.strict(notes);
  return out;
}

}  // namespace pourwright::cli
