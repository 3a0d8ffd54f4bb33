// SPDX-License-Identifier: GPL-3.0-or-later
// Questions of a card. Law: answers stand as equals, each weighed as a card of its own would be; nothing of
// them is in the total until one was given.
#include "pipeline/questions.hpp"

#include <pourwright/pipeline_learn.hpp>

#include "pipeline/mix/mix.hpp"
#include "pipeline/reading.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Answers nearer to each other than this are one answer at a bench.
constexpr double same_amount = 0.01;

Volume water_volume(const WaterFill& fill) {
  return millilitres(fill.water.in_grams() / 0.998);  // at 20 °C; warmer and colder differ by less than 1 %
}

}  // namespace

std::optional<std::array<Volume, 2>> usual_amounts(const ChosenMix& chosen, const MixSettings& settings) {
  std::vector<Volume> known;
  for (const LeftoverMold& m : chosen.leftovers) known.push_back(m.holds);
  std::error_code missing;
  if (!settings.ledger.empty() && std::filesystem::exists(settings.ledger, missing)) {
    Query water;
    water.kind = "water";
    if (const auto records = find_records(settings, water))
      for (const Record& r : *records)
        if (const auto* fill = std::get_if<WaterFill>(&r.what)) known.push_back(water_volume(*fill));
  }
  if (known.size() < 2) return std::nullopt;
  const auto [low, high] = std::minmax_element(known.begin(), known.end());
  return std::array<Volume, 2>{*low, *high};
}

void weigh_neighbours(std::vector<Measured>& measured) {
  int molds = 0, pieces = 0;
  for (const Measured& m : measured)
    if (m.row.ok() && m.row.reading && m.row.reading->sure)
      ++(m.row.reading->chosen == Reading::piece ? pieces : molds);
  for (Measured& m : measured)
    if (m.row.ok() && m.row.reading && !m.row.reading->sure && !m.row.reading->others.empty() &&
        m.row.reading->others.front().about == "reading")
      weigh_company(*m.row.reading, molds, pieces);
}

std::optional<Question> question_about(const MeasureRow& row, int copies, const ChosenMix& chosen) {
  if (!in_doubt(row)) return std::nullopt;
  Question q;
  q.path = row.path;
  q.copies = copies;
  q.doubt = row.reading->doubt;
  q.why = row.reading->why;
  const bool piece = row.read_as(Reading::piece);
  q.answers.push_back({piece ? "the piece itself" : "a mold",
                       fmt::format("--read-as {}", name(row.reading->chosen)),
                       *row.fill,
                       {}});
  for (const Alternative& other : row.reading->others) {
    if (!other.fill || *other.fill * chosen.mix.density < chosen.scale_step) continue;
    const bool body = other.option == "--read-as piece" && row.solid;
    q.answers.push_back(
        {other.says, other.option, body ? row.solid->volume : Interval<Volume>::exactly(*other.fill), {}});
  }
  const auto [low, high] = std::minmax_element(
      q.answers.begin(), q.answers.end(),
      [](const Question::Answer& a, const Question::Answer& b) { return a.fill.value < b.fill.value; });
  if (!(high->fill.value > low->fill.value * (1 + same_amount))) return std::nullopt;
  return q;
}

std::optional<Problem> weigh_answers(ChosenMix chosen, const MixSettings& settings, CardReport& card) {
  if (card.questions.empty()) return std::nullopt;
  if (card.molds.empty()) {
    Mass most;
    for (const Question& q : card.questions)
      for (const Question::Answer& a : q.answers)
        most = std::max(most,
                        Mass::grams(std::min((a.fill.value * card.mix.density).in_grams() * q.copies, 1e9)));
    choose_scale(chosen, most);
    card.scale_step = chosen.scale_step;
    card.scale = chosen.scale;
  }
  const auto as_chosen = choose_mix(settings);  // before any record was applied
  if (!as_chosen) return as_chosen.error();
  for (Question& q : card.questions)
    for (Question::Answer& a : q.answers) {
      // As a card of its own would be: the records speak of the mold, and of this mix.
      const auto need = batch_need(*as_chosen, {{q.path, q.copies, a.fill, true, false}}, settings);
      if (!need) return need.error();
      if (!need->refused.empty()) return need->refused.front().second;
      chosen.allowance = need->allowance;
      auto tray =
          weigh_tray(need->mix, {{std::filesystem::path(q.path).filename().string(), q.copies, a.fill}},
                     weighing_options(chosen, settings.pigments));
      if (!tray) return tray.error();
      a.recipe = std::move(tray->total);
    }
  return std::nullopt;
}

Problem with_units(Problem problem, const std::vector<const Measured*>& molds) {
  for (const Measured* m : molds) {
    if (m == nullptr) continue;  // known by its name, without a file
    for (const Alternative& other : m->row.doubt)
      if (other.about == "unit")
        problem.hint += fmt::format("{}“{}” with {}", problem.hint.empty() ? "" : "; ",
                                    std::filesystem::path(m->row.path).filename().string(),
                                    other.says + " (" + other.option + ")");
  }
  return problem;
}

}  // namespace pourwright
