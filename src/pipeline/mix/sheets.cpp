// SPDX-License-Identifier: GPL-3.0-or-later
// Batch sheets: what was weighed, found again and done again in another size.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_split.hpp>

#include "pipeline/mix/mix.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <numeric>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// A batch of one colour is kept as one cup of this name, so that its doses are kept and not only the grams.
constexpr std::string_view whole_batch = "whole batch";
constexpr Moment day = 24 * 60 * 60;

BatchSheet begun(const std::string& title, const Mix& mix, Mass step, const std::vector<Part>& parts,
                 const MixSettings& settings) {
  BatchSheet s;
  s.title = title;
  s.mix = mix.key;
  s.ratio = mix.ratio;
  s.density = mix.density;
  s.scale_step = step;
  // The room is only known when somebody said it; the catalogue's times are for 20 °C.
  s.room = settings.room;
  if (!s.room && mix.times_at != celsius(20)) s.room = mix.times_at;
  for (const Part& p : parts)
    if (p.mass > Mass()) s.parts.push_back({p.name, p.kind, p.mass});
  return s;
}

void add_whole_batch(const MixSettings& settings, Mass mix, BatchSheet& s) {
  if (settings.pigments.empty()) return;
  BatchSheet::Cup cup{std::string(whole_batch), Ratio::percent(100), mix, {}};
  for (const PigmentDose& d : settings.pigments) cup.doses.push_back({d.name, d.dose});
  s.cups.push_back(std::move(cup));
}

// ---- finding -------------------------------------------------------------------------------------------

struct Span {
  Moment from = 0, until = 0;
};

std::optional<Span> local_days(const std::string& first, int days, std::int64_t utc_offset) {
  const auto at = parse_moment(first + "T00:00:00Z");
  if (!at) return std::nullopt;
  return Span{*at - utc_offset, *at - utc_offset + days * day};
}

/// "2026-10-12" or "2026-10".
std::optional<Span> written_date(const std::string& what, std::int64_t utc_offset) {
  const auto digits = std::count_if(what.begin(), what.end(), [](char c) { return c >= '0' && c <= '9'; });
  const auto dashes = std::count(what.begin(), what.end(), '-');
  if (digits + dashes != static_cast<std::ptrdiff_t>(what.size())) return std::nullopt;
  if (what.size() == 10 && dashes == 2) return local_days(what, 1, utc_offset);
  if (what.size() != 7 || dashes != 1) return std::nullopt;
  for (int days = 31; days >= 28; --days)
    if (parse_moment(fmt::format("{}-{}T00:00:00Z", what, days)))
      return local_days(what + "-01", days, utc_offset);
  return std::nullopt;
}

/// "12 October", "Oct 12", "12 October 2025".
std::optional<Span> spoken_date(const std::string& what, Moment now, std::int64_t utc_offset) {
  static constexpr std::array<std::string_view, 12> months{"january",   "february", "march",    "april",
                                                           "may",       "june",     "july",     "august",
                                                           "september", "october",  "november", "december"};
  int number = 0, year = 0;
  std::size_t month = 0;
  for (std::size_t at = 0; at < what.size();) {
    const std::size_t end = std::min(what.find_first_of(" ,.", at), what.size());
    std::string word = what.substr(at, end - at);
    at = end + 1;
    if (word.empty()) continue;
    for (char& c : word)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    int n = 0;
    const auto [stop, ec] = std::from_chars(word.data(), word.data() + word.size(), n);
    if (ec == std::errc{} && stop == word.data() + word.size()) {
      (n > 31 ? year : number) = n;
      continue;
    }
    const auto it = std::find_if(months.begin(), months.end(),
                                 [&](std::string_view m) { return word.size() >= 3 && m.starts_with(word); });
    if (it == months.end() || month != 0) return std::nullopt;
    month = static_cast<std::size_t>(it - months.begin()) + 1;
  }
  if (month == 0 || number < 1) return std::nullopt;
  const int this_year = std::stoi(moment_text(now + utc_offset).substr(0, 4));
  for (int y = year > 0 ? year : this_year; y >= (year > 0 ? year : this_year - 4); --y) {
    const auto span = local_days(fmt::format("{:04}-{:02}-{:02}", y, month, number), 1, utc_offset);
    if (span && (year > 0 || span->from <= now)) return span;
  }
  return std::nullopt;
}

bool is_number(const std::string& s) {
  return !s.empty() && std::all_of(s.begin(), s.end(), [](char c) { return c >= '0' && c <= '9'; });
}

// ---- again ---------------------------------------------------------------------------------------------

Mass total_of(const BatchSheet& s) {
  Mass m;
  for (const BatchSheet::Amount& p : s.parts) m += p.mass;
  return m;
}

/// What was taken and poured, and how; nothing when cups were filled and no more, or one of them stayed
/// empty.
void add_steps(const SplitReport& split, BatchSheet& s) {
  std::size_t cups = 0;
  for (const FilledStep& step : split.plan.steps) cups += step.cups.size();
  if (!split.followed || cups != s.cups.size() || split.asked.steps.size() != split.plan.steps.size()) return;
  s.residue = split.asked.residue;
  s.mixing = split.asked.mixing;
  for (std::size_t i = 0; i < split.plan.steps.size(); ++i) {
    const SplitStep& asked = split.asked.steps[i];
    const FilledStep& done = split.plan.steps[i];
    BatchSheet::Step step;
    step.name = done.name.empty() ? fmt::format("step {}", i + 1) : done.name;
    step.technique = name(done.technique);
    for (const FilledCup& c : done.cups) step.shares.push_back(c.share);
    step.plain = done.plain;
    step.all = !asked.take && !asked.share && (asked.rest || !asked.carry);
    step.carry = asked.carry;
    step.pour = asked.pour.value_or(Mass());
    step.portions = asked.portions;
    step.time = asked.time;
    s.steps.push_back(std::move(step));
  }
}

/// The sheet's steps for another amount of mix; masses grow with it, to the step of the scale.
Expected<SplitPlan> plan_again(const BatchSheet& s, Mass total, Mass scale_step) {
  const std::int64_t before = std::max<std::int64_t>(1, total_of(s).in_micrograms());
  const auto scaled = [&](Mass m) {
    return round_to(Mass::micrograms(multiply_divide(m.in_micrograms(), total.in_micrograms(), before)),
                    scale_step);
  };
  SplitPlan plan;
  plan.residue = s.residue;
  plan.mixing = s.mixing;
  std::size_t cup = 0;
  for (const BatchSheet::Step& step : s.steps) {
    SplitStep again;
    again.name = step.name;
    constexpr Technique all[] = {Technique::solid, Technique::veins, Technique::side_by_side,
                                 Technique::layered};
    const auto known =
        std::find_if(std::begin(all), std::end(all), [&](Technique t) { return name(t) == step.technique; });
    if (known == std::end(all))
      return fail(Code::record_invalid, fmt::format("“{}” is no technique", step.technique),
                  "they are solid, veins, side by side and layered");
    again.technique = *known;
    again.carry = step.carry;
    again.rest = step.all && step.carry;
    if (!step.all && step.plain > Mass()) again.take = scaled(step.plain);
    if (step.pour > Mass()) again.pour = scaled(step.pour);
    again.portions = step.portions;
    again.time = step.time;
    for (const Ratio share : step.shares) {
      const BatchSheet::Cup& kept = s.cups[cup++];
      const bool prefixed = s.steps.size() > 1 && kept.name.starts_with(step.name + ": ");
      Cup c{prefixed ? kept.name.substr(step.name.size() + 2) : kept.name, share, {}};
      for (const BatchSheet::Dose& d : kept.doses) c.pigments.push_back({d.pigment, d.dose});
      again.cups.push_back(std::move(c));
    }
    plan.steps.push_back(std::move(again));
  }
  return plan;
}

/// Copies of every mold for so many pieces in all; the molds keep their proportion.
Expected<std::vector<int>> copies_for(const BatchSheet& s, const std::optional<int>& pieces) {
  std::vector<int> copies;
  std::int64_t all = 0, common = 0;
  for (const BatchSheet::Mold& m : s.molds) {
    copies.push_back(m.copies);
    all += m.copies;
    common = std::gcd(common, std::int64_t{m.copies});
  }
  if (!pieces) return copies;
  if (all == 0)
    return fail(Code::usage, "the sheet names no molds, so its pieces cannot be counted",
                "give --grams instead");
  if (*pieces * common % all != 0)
    return fail(
        Code::usage,
        fmt::format("{} pieces do not keep the proportion of the sheet's {} molds", *pieces, s.molds.size()),
        fmt::format("give a multiple of {}", all / common));
  for (int& c : copies) c = static_cast<int>(std::int64_t{c} * *pieces / all);
  return copies;
}

}  // namespace

BatchSheet sheet_of(const std::string& title, const MixReport& mix, const MixSettings& settings) {
  BatchSheet s = begun(title, mix.mix, mix.scale_step, mix.recipe.parts, settings);
  add_whole_batch(settings, mix.recipe.mix, s);
  return s;
}

BatchSheet sheet_of(const std::string& title, const CardReport& card, const MixSettings& settings) {
  BatchSheet s = begun(title, card.mix, card.scale_step, card.total.parts, settings);
  s.allowance = card.allowance;
  for (const CardMold& m : card.molds)
    if (m.weighed.mix.value > Mass()) s.molds.push_back({mold_name(m.path), m.copies, m.weighed.mix.value});
  add_whole_batch(settings, card.total.mix, s);
  return s;
}

BatchSheet sheet_of(const std::string& title, const SplitReport& split, const MixSettings& settings) {
  std::vector<Part> parts;
  if (split.base)
    parts = split.base->parts;
  else if (auto r = weigh_exactly(split.mix, split.plan.mix, Mass::micrograms(1)))
    parts = r->parts;
  BatchSheet s = begun(title, split.mix, split.scale_step, parts, settings);
  if (split.pieces) s.molds.push_back({title, *split.pieces, split.plan.poured()});
  for (const FilledStep& step : split.plan.steps)
    for (const FilledCup& c : step.cups) {
      if (c.mix <= Mass()) continue;
      const std::string name = split.plan.steps.size() > 1 ? step.name + ": " + c.name : c.name;
      BatchSheet::Cup cup{name, Ratio::of(c.mix.in_grams() / split.plan.mix.in_grams()), c.mix, {}};
      if (split.plan.steps.size() == 1 && step.plain == split.plan.mix) cup.share = c.share;
      for (std::size_t i = 0; i < c.pigments.size(); ++i)
        cup.doses.push_back({c.pigments[i].name, c.doses[i]});
      s.cups.push_back(std::move(cup));
    }
  add_steps(split, s);
  return s;
}

Expected<std::vector<Record>> find_sheets(const std::string& what, Moment now, std::int64_t utc_offset,
                                          const MixSettings& settings) {
  Query q;
  q.kind = "sheet";
  if (is_number(what)) {
    std::int64_t id = 0;
    const auto [end, ec] = std::from_chars(what.data(), what.data() + what.size(), id);
    if (ec != std::errc{} || end != what.data() + what.size())
      return fail(Code::record_unknown, fmt::format("there is no sheet {}", what),
                  "`pourwright records` lists them");
    q.after = id - 1;
    q.oldest_first = true;
    q.limit = 1;
    auto found = find_records(settings, q);
    if (found && (found->empty() || found->front().id != id))
      return fail(Code::record_unknown, fmt::format("there is no sheet {}", what),
                  "`pourwright records` lists them");
    return found;
  }
  auto span = written_date(what, utc_offset);
  if (!span) span = spoken_date(what, now, utc_offset);
  if (span) {
    q.from = span->from;
    q.until = span->until;
  } else {
    q.text = what;
  }
  return find_records(settings, q);
}

Expected<Record> note_dry_colour(std::int64_t sheet, const std::string& colour, Moment now,
                                 const MixSettings& settings) {
  const auto found = find_sheets(fmt::format("{}", sheet), now, 0, settings);
  if (!found) return found.error();
  BatchSheet again = std::get<BatchSheet>(found->front().what);
  again.dry_colour = colour;
  if (auto problem = implausible(again)) return *problem;
  auto ledger = Ledger::open(settings.ledger);
  if (!ledger) return ledger.error();
  const auto ids = ledger->add_all(
      {{found->front().at, again}, {now, Withdrawal{sheet, "written again with the dry colour"}}});
  if (!ids) return ids.error();
  return ledger->record(ids->front());
}

Expected<RepeatReport> repeat(const Record& record, const RepeatSize& size, const MixSettings& given) {
  const auto& s = std::get<BatchSheet>(record.what);
  if ((size.pieces ? 1 : 0) + (size.total ? 1 : 0) + (size.liquid ? 1 : 0) > 1)
    return fail(Code::usage, "--pieces, --grams and --liquid contradict each other", "give one of them");
  MixSettings settings = given;
  settings.material = s.mix;
  if (!settings.ratio) settings.ratio = s.ratio;
  if (!settings.density && in_grams_per_millilitre(s.density) > 0) settings.density = s.density;
  const bool one_colour = s.cups.size() == 1 && s.cups[0].name == whole_batch;
  if (one_colour)
    for (const BatchSheet::Dose& d : s.cups[0].doses) settings.pigments.push_back({d.pigment, d.dose});
  auto copies = copies_for(s, size.pieces);
  if (!copies) return copies.error();
  MixRequest request;
  if (size.liquid) {
    request.liquid = size.liquid;
  } else if (size.total) {
    request.total = size.total;
  } else {
    const std::int64_t old_pieces =
        std::accumulate(s.molds.begin(), s.molds.end(), std::int64_t{0},
                        [](std::int64_t n, const auto& m) { return n + m.copies; });
    const Mass all = total_of(s);
    request.total =
        !size.pieces ? all : Mass::micrograms(multiply_divide(all.in_micrograms(), *size.pieces, old_pieces));
  }
  auto weighed = mix(request, settings);
  if (!weighed) return weighed.error();
  RepeatReport out{record, std::move(weighed->report), {}, {}, {}};
  const Recipe& recipe = out.weighed.recipe;
  if (!s.molds.empty()) {
    std::vector<double> weights;
    std::int64_t grain = out.weighed.scale_step.in_micrograms();
    for (const Part& p : recipe.parts) grain = std::gcd(grain, p.mass.in_micrograms());
    for (std::size_t i = 0; i < s.molds.size(); ++i)
      weights.push_back(s.molds[i].mix.in_grams() * (*copies)[i] / s.molds[i].copies);
    const auto shares = largest_remainder(recipe.mix, weights, Mass::micrograms(grain));
    for (std::size_t i = 0; i < shares.size(); ++i)
      out.molds.push_back({s.molds[i].mold, (*copies)[i], shares[i]});
  }
  if (s.cups.empty() || one_colour) return out;
  if (!s.steps.empty()) {
    auto plan = plan_again(s, recipe.mix, out.weighed.scale_step);
    if (!plan) return plan.error();
    SplitRequest steps;
    steps.there = recipe.mix;
    steps.plan = std::move(*plan);
    auto laid_out = split(steps, settings);
    if (!laid_out) return laid_out.error();
    Notes& notes = out.weighed.recipe.notes;
    for (const Note& n : laid_out->plan.notes)
      if (n.topic != Topic::pigment) notes.push_back(n);
    out.steps = std::move(*laid_out);
    return out;
  }
  std::vector<Cup> cups;
  Ratio shares;
  for (const BatchSheet::Cup& c : s.cups) {
    Cup cup{c.name, c.share, {}};
    for (const BatchSheet::Dose& d : c.doses) cup.pigments.push_back({d.pigment, d.dose});
    shares = shares + c.share;
    cups.push_back(std::move(cup));
  }
  if (shares != Ratio::percent(100)) {
    out.weighed.recipe.notes.push_back(
        {"plan-not-repeated",
         "The sheet's cups came one from another: split the mix with the plan it was made with.", true});
    return out;
  }
  SplitOptions options;
  options.scale_step = out.weighed.scale_step;
  options.pigment_ceiling = out.weighed.mix.pigment_ceiling;
  for (const Scale& scale : weighed->chosen.scales)
    options.pigment_step = std::min(options.pigment_step, scale.step);
  auto filled = split_mix(recipe.mix, cups, options);
  if (!filled) return filled.error();
  Notes& notes = out.weighed.recipe.notes;
  notes.insert(notes.end(), filled->notes.begin(), filled->notes.end());
  out.cups = std::move(*filled);
  return out;
}

}  // namespace pourwright
