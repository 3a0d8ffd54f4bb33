// SPDX-License-Identifier: GPL-3.0-or-later
// A colour plan as it is written. The format is described in docs/workshop.md.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_split.hpp>

#include "workshop/material/entry.hpp"

#include <fstream>

#include <fmt/format.h>

namespace pourwright {
namespace {

using material::Entry;
using material::Range;

const Range<Mass> cup_range{Mass::micrograms(100), Mass::grams(1e6), "0.0001 g to 1000 kg", "\"640 g\""};
const Range<Mass> residue_range{Mass(), Mass::grams(1000), "0 to 1 kg", "\"3 g\""};
const Range<Duration> step_range{Duration(), minutes(240), "0 to 4 h", "\"3 min\""};

Expected<std::string> plan_text(const std::filesystem::path& path) {
  constexpr std::uintmax_t largest = 1 << 20;
  std::error_code error;
  if (!std::filesystem::exists(path, error))
    return fail(Code::file_missing, fmt::format("there is no file “{}”", path.string()),
                path.extension() == ".toml" ? "check its name" : "name a plan, or give the cups with --cup");
  const auto size = std::filesystem::file_size(path, error);
  std::string text(error || size > largest ? 0 : static_cast<std::size_t>(size), '\0');
  std::ifstream in(path, std::ios::binary);
  if (error || size > largest || !in.read(text.data(), static_cast<std::streamsize>(text.size())))
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read as a plan", path.string()),
                "it must be a plain file of at most 1 MB");
  return text;
}

/// "rest", "60 %" or "640 g"
void read_take(Entry& e, SplitStep& step) {
  const std::string text = e.text("take", "");
  step.rest = text == "rest";
  if (text.empty() || step.rest) return;
  if (text.back() == '%') {
    const auto share = parse_percent(text);
    if (share && *share > Ratio() && *share <= Ratio::percent(100)) {
      step.share = *share;
      return;
    }
  } else if (const auto mass = parse_mass(text); mass && text.find_first_of("gkloz") != std::string::npos) {
    step.take = *mass;
    return;
  }
  e.refuse("take", fmt::format("“take” is “{}”", text),
           "write \"640 g\", \"60 %\" of the whole mix, or \"rest\"");
}

Expected<SplitStep> read_step(const toml::table& table, std::string_view label, std::size_t number) {
  Entry e(table, "[[step]]", label);
  SplitStep step;
  step.name = e.text("name", fmt::format("step {}", number));
  constexpr Technique techniques[] = {Technique::solid, Technique::veins, Technique::side_by_side,
                                      Technique::layered};
  step.technique = techniques[e.choice("technique", {"solid", "veins", "side-by-side", "layered"}, 0)];
  step.carry = e.flag("carry", false);
  read_take(e, step);
  if (e.has("pour")) step.pour = e.mass("pour", cup_range);
  const auto layers = e.count("layers", 2, 200, 0), drops = e.count("drops", 1, 200, 0);
  if (layers > 0 && step.technique != Technique::layered)
    e.refuse("layers", "“layers” belong to technique = \"layered\"", "leave it out, or change the technique");
  if (drops > 0 && step.technique != Technique::veins)
    e.refuse("drops", "“drops” belong to technique = \"veins\"", "leave it out, or change the technique");
  step.portions = static_cast<int>(layers + drops);
  step.time = e.duration("time", step_range, Duration());
  for (const std::string& line : e.lines("cups")) {
    auto cup = parse_cup(line);
    if (cup)
      step.cups.push_back(std::move(*cup));
    else
      e.refuse("cups", fmt::format("“cups”: {}", cup.error().text),
               "write it like cups = [\"base = 85 %, Chalk = 1 %\", \"vein, Slate = 2 %\"]");
  }
  if (step.cups.empty())
    e.refuse("cups", "the step has no cups", "add a line like cups = [\"all, Kelp = 2 %\"]");
  if (auto problem = e.finish()) return *problem;
  return step;
}

}  // namespace

std::optional<Problem> read_split_plan(const std::filesystem::path& file, SplitRequest& request,
                                       MixSettings& settings) {
  const auto text = plan_text(file);
  if (!text) return text.error();
  const std::string label = file.string();
  const auto root = material::parse_toml(*text, label);
  if (!root) return root.error();
  Entry e(*root, "a colour plan", label);
  request.title = e.text("title", "");
  const std::string mix = e.text("material", ""), workshop = e.text("workshop", "", 400);
  std::optional<Mass> total, liquid;
  if (e.has("grams")) total = e.mass("grams", cup_range);
  if (e.has("liquid")) liquid = e.mass("liquid", cup_range);
  if (total && liquid) e.refuse("liquid", "“grams” and “liquid” contradict each other", "keep one of them");
  const Mass residue = e.mass("residue", residue_range, Mass());
  const Duration mixing = e.duration("mixing", step_range, request.plan.mixing);
  const auto steps = e.tables("step");
  if (auto problem = e.finish()) return problem;
  if (steps.empty())
    return fail(Code::config_bad_value, fmt::format("{}: the plan has no step", label),
                "begin each with a line [[step]]");
  for (std::size_t i = 0; i < steps.size(); ++i) {
    auto step = read_step(*steps[i], label, i + 1);
    if (!step) return step.error();
    request.plan.steps.push_back(std::move(*step));
  }
  request.plan.mixing = mixing;
  if (request.plan.residue <= Mass()) request.plan.residue = residue;
  if (!request.there && !request.total && !request.liquid) {
    request.total = total;
    request.liquid = liquid;
  }
  if (settings.material.empty()) settings.material = mix;
  if (!workshop.empty()) settings = with_workshop_of_file(settings, file.parent_path() / workshop);
  return std::nullopt;
}

}  // namespace pourwright
