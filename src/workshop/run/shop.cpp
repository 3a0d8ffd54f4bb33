// SPDX-License-Identifier: GPL-3.0-or-later
// What the workshop can do as limits in whole units: which pours share a batch, what a batch costs in time
// and residue.
#include "workshop/run/shop.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include <fmt/format.h>

namespace pourwright::running {
namespace {

constexpr double longest = 1e8;  // seconds; three years
constexpr std::int64_t largest_shelf = 1'000'000'000'000;

bool sensible(Duration d) {
  return d.base() >= 0 && d.base() < longest;
}

std::string_view stretch_text(const RunLimits& l) {
  return l.breaks.empty() ? "a working day" : "there is between two breaks";
}

Problem senseless(std::string_view what) {
  return fail(Code::bad_number, fmt::format("{} is negative or beyond all measure", what), "check its unit");
}

std::optional<Problem> check_breaks(const RunLimits& l) {
  Duration last;
  for (const RunBreak& b : l.breaks) {
    if (l.day <= Duration() || b.from < last || b.to <= b.from || b.to > l.day)
      return fail(Code::bad_number, "a break lies outside the working day, or in another",
                  "breaks follow one another within the hours of the day");
    last = b.to;
  }
  if (!l.breaks.empty() && longest_stretch(l) == 0)
    return fail(Code::bad_number, "the breaks leave nothing of the day", "shorten them");
  return std::nullopt;
}

std::optional<Problem> check_limits(const RunLimits& l) {
  for (const auto& [d, what] : {std::pair{l.weigh, "the time to weigh"},
                                {l.mix, "the time to mix"},
                                {l.split, "the time to split"},
                                {l.rinse, "the time to rinse"},
                                {l.wash, "the time to wash"},
                                {l.day, "the working day"},
                                {l.night, "the night"}})
    if (!sensible(d)) return senseless(what);
  if (l.bucket <= Mass{})
    return fail(Code::amount_not_positive, "the mixing bucket holds nothing", "say how many grams it takes");
  for (const auto& [m, what] : {std::pair{l.bucket, "the bucket"},
                                {l.scale, "the scale"},
                                {l.bucket_residue, "the residue"},
                                {l.cup_residue, "the residue of a cup"}})
    if (m < Mass{} || m > Mass::grams(1e7)) return senseless(what);
  if (l.shelf < 0 || l.shelf > largest_shelf) return senseless("the shelf");
  if (l.reserve < Ratio{} || l.reserve >= Ratio::percent(100))
    return fail(Code::bad_number, "the reserve leaves nothing of the working time", "keep less than 100 %");
  return check_breaks(l);
}

std::optional<Problem> check_pour(const RunOrder& order, const RunPour& p) {
  if (p.base < 0 || p.base >= static_cast<int>(order.bases.size()) || p.mold < -1 ||
      p.mold >= static_cast<int>(order.molds.size()))
    return fail(Code::internal, fmt::format("“{}” names a base or mold that is not there", p.name));
  if (p.mix <= Mass{})
    return fail(Code::amount_not_positive, fmt::format("“{}” weighs nothing", p.name), "give its grams");
  if (p.count < 0) return senseless(fmt::format("the count of “{}”", p.name));
  if (!sensible(p.pour)) return senseless(fmt::format("the time to pour “{}”", p.name));
  if (!sensible(p.finishing)) return senseless(fmt::format("the time to finish “{}”", p.name));
  return std::nullopt;
}

std::optional<Problem> check(const RunOrder& order) {
  if (auto p = check_limits(order.limits)) return p;
  for (const RunBase& b : order.bases)
    if (!sensible(b.working_time)) return senseless(fmt::format("the working time of “{}”", b.name));
  for (const RunMold& m : order.molds) {
    if (m.copies < 1)
      return fail(Code::usage, fmt::format("there is no copy of mold “{}”", m.name), "give at least one");
    if (!sensible(m.demold) || !sensible(m.handling))
      return senseless(fmt::format("a time of mold “{}”", m.name));
    if (m.place < 1 || m.place > largest_shelf)
      return senseless(fmt::format("the place of mold “{}”", m.name));
    if (order.limits.shelf > 0 && m.place > order.limits.shelf)
      return fail(Code::does_not_fit, fmt::format("mold “{}” does not fit on the shelf", m.name),
                  "give it a larger shelf");
    if (whole_seconds(m.handling) > longest_stretch(order.limits))
      return fail(Code::does_not_fit,
                  fmt::format("taking out “{}” takes longer than {}", m.name, stretch_text(order.limits)),
                  "lengthen the day");
  }
  for (const RunPour& p : order.pours)
    if (auto problem = check_pour(order, p)) return problem;
  return std::nullopt;
}

/// What a batch of the base can hold beside what stays in its bucket.
Mass room(const RunLimits& l, Mass limit) {
  return limit - l.bucket_residue;
}

/// From the powder going in to the last pour, less the reserve and the mixing.
std::int64_t workable_seconds(const RunLimits& l, const RunBase& base) {
  const std::int64_t all = whole_seconds(base.working_time);
  const std::int64_t kept = all * l.reserve.in_millionths() / 1'000'000;
  return all - kept - whole_seconds(l.mix);
}

/// Of the longest stretch between two breaks, what is left for splitting and pouring.
std::int64_t stretch_seconds(const RunLimits& l) {
  return longest_stretch(l) - whole_seconds(l.weigh) - whole_seconds(l.mix) -
         std::max(whole_seconds(l.wash), whole_seconds(l.rinse));
}

std::size_t different_cups(const RunPour& p) {
  return std::set<std::string_view>(p.cups.begin(), p.cups.end()).size();
}

Problem too_slow(const RunLimits& l, const RunBase& base, const RunPour& p, std::int64_t seconds) {
  const bool without_reserve =
      l.reserve > Ratio{} && seconds <= whole_seconds(base.working_time) - whole_seconds(l.mix);
  const std::string needed =
      fixed(in_minutes(Duration(static_cast<double>(seconds + whole_seconds(l.mix)))), 1);
  return fail(
      Code::does_not_fit,
      fmt::format("mixing, splitting and pouring “{}” takes {} min, but its mix stays workable for {} "
                  "min{}",
                  p.name, needed, fixed(in_minutes(base.working_time), 1),
                  without_reserve
                      ? fmt::format(", of which {:.4g} % are kept in reserve", l.reserve.in_percent())
                      : std::string()),
      without_reserve ? "keep less in reserve, or choose a slower mix, a cooler room or fewer colours"
                      : "choose a slower mix, a cooler room or fewer colours");
}

std::optional<Problem> check_fits(const RunOrder& order, const RunPour& p) {
  const RunLimits& l = order.limits;
  const RunBase& base = order.bases[static_cast<std::size_t>(p.base)];
  const auto cups = static_cast<std::int64_t>(different_cups(p));
  const Mass takes = p.mix + l.cup_residue * cups;
  const auto too_heavy = [&](Mass limit, std::string_view what) {
    return fail(Code::does_not_fit,
                fmt::format("“{}” takes {} g a pour, but {} takes {} g{}", p.name,
                            grams_text(p.mix, Mass::grams(1)), what, grams_text(limit, Mass::grams(1)),
                            takes > p.mix || room(l, limit) < limit ? " with what stays in it" : ""),
                "use a larger one, or plan a smaller piece");
  };
  if (takes > room(l, l.bucket)) return too_heavy(l.bucket, "the mixing bucket");
  if (l.scale > Mass{} && takes > room(l, l.scale)) return too_heavy(l.scale, "the scale");
  const std::int64_t seconds = whole_seconds(p.pour) + whole_seconds(l.split) * cups;
  if (base.working_time > Duration() && seconds > workable_seconds(l, base))
    return too_slow(l, base, p, seconds);
  if (seconds > stretch_seconds(l))
    return fail(Code::does_not_fit,
                fmt::format("a batch for “{}” takes longer than {}", p.name, stretch_text(l)),
                "lengthen the day");
  return std::nullopt;
}

PackProblem problem_of(const RunOrder& order, const Class& c) {
  const RunLimits& l = order.limits;
  PackProblem out;
  const auto cups = c.cups.size();
  const std::vector<std::int64_t> stays(cups, l.cup_residue.in_micrograms()),
      splitting(cups, whole_seconds(l.split));
  std::vector<std::int64_t> grams, seconds, places;
  for (const int i : c.pours) {
    const RunPour& p = order.pours[static_cast<std::size_t>(i)];
    out.counts.push_back(p.count);
    grams.push_back(p.mix.in_micrograms());
    seconds.push_back(whole_seconds(p.pour));
    places.push_back(p.mold >= 0 ? order.molds[static_cast<std::size_t>(p.mold)].place : 0);
    auto& calls = out.calls.emplace_back();
    for (const std::string& cup : p.cups)
      calls.push_back(static_cast<int>(std::find(c.cups.begin(), c.cups.end(), cup) - c.cups.begin()));
  }
  const Mass most = l.scale > Mass{} ? std::min(l.bucket, l.scale) : l.bucket;
  out.resources.push_back({room(l, most).in_micrograms(), grams, stays});
  const RunBase& base = order.bases[static_cast<std::size_t>(c.base)];
  if (base.working_time > Duration())
    out.resources.push_back({workable_seconds(l, base), seconds, splitting});
  if (l.day > Duration()) out.resources.push_back({stretch_seconds(l), seconds, splitting});
  if (l.shelf > 0) out.resources.push_back({l.shelf, places});
  // Of a mold with a copy for every pour no batch can ask too much; of a folder's thousand, that is all of
  // them.
  std::vector<std::int64_t> wanted(order.molds.size(), 0);
  for (const int i : c.pours)
    if (const RunPour& p = order.pours[static_cast<std::size_t>(i)]; p.mold >= 0)
      wanted[static_cast<std::size_t>(p.mold)] += p.count;
  for (std::size_t m = 0; m < order.molds.size(); ++m) {
    if (wanted[m] <= order.molds[m].copies) continue;
    std::vector<std::int64_t> uses;
    for (const int i : c.pours)
      uses.push_back(order.pours[static_cast<std::size_t>(i)].mold == static_cast<int>(m) ? 1 : 0);
    out.resources.push_back({order.molds[m].copies, std::move(uses)});
  }
  return out;
}

}  // namespace

std::int64_t whole_seconds(Duration d) {
  return std::llround(d.base());
}

std::int64_t longest_stretch(const RunLimits& limits) {
  if (limits.day <= Duration()) return std::int64_t{1} << 60;
  std::int64_t longest = 0, from = 0;
  for (const RunBreak& b : limits.breaks) {
    longest = std::max(longest, whole_seconds(b.from) - from);
    from = whole_seconds(b.to);
  }
  return std::max(longest, whole_seconds(limits.day) - from);
}

bool takes_time(const RunOrder& order) {
  const RunLimits& l = order.limits;
  bool any = l.weigh + l.mix + l.split + l.rinse + l.wash > Duration();
  for (const RunPour& p : order.pours) any |= p.pour + p.finishing > Duration();
  for (const RunMold& m : order.molds) any |= m.demold + m.handling > Duration();
  return any;
}

Expected<std::vector<Class>> classes_of(const RunOrder& order) {
  if (auto p = check(order)) return *p;
  std::vector<Class> out;
  for (int base = 0; base < static_cast<int>(order.bases.size()); ++base) {
    Class c{base, {}, {}, {}};
    for (int i = 0; i < static_cast<int>(order.pours.size()); ++i) {
      const RunPour& p = order.pours[static_cast<std::size_t>(i)];
      if (p.base != base || p.count == 0) continue;
      c.pours.push_back(i);
      for (const std::string& cup : p.cups)
        if (std::find(c.cups.begin(), c.cups.end(), cup) == c.cups.end()) c.cups.push_back(cup);
    }
    if (c.pours.empty()) continue;
    for (const int i : c.pours)
      if (auto p = check_fits(order, order.pours[static_cast<std::size_t>(i)])) return *p;
    c.problem = problem_of(order, c);
    out.push_back(std::move(c));
  }
  return out;
}

RunBatch batch_of(const RunOrder& order, int base, const Pattern& pours) {
  RunBatch b;
  b.base = base;
  b.pours = pours;
  for (const Placed& p : pours) {
    const RunPour& pour = order.pours[static_cast<std::size_t>(p.kind)];
    b.poured += pour.mix * p.count;
    for (const std::string& cup : pour.cups)
      if (std::find(b.cups.begin(), b.cups.end(), cup) == b.cups.end()) b.cups.push_back(cup);
  }
  b.residue =
      order.limits.bucket_residue + order.limits.cup_residue * static_cast<std::int64_t>(b.cups.size());
  return b;
}

Merit merit_of(const RunOrder& order, const std::vector<RunBatch>& batches) {
  int back = 0;
  for (std::size_t i = 1; i < batches.size(); ++i) back += batches[i].base < batches[i - 1].base ? 1 : 0;
  return {residue_of(order, batches), finish_of(order, batches), back, spread_of(order, batches)};
}

std::int64_t residue_of(const RunOrder&, const std::vector<RunBatch>& batches) {
  std::int64_t sum = 0;
  for (const RunBatch& b : batches) sum += b.residue.in_micrograms();
  return sum;
}

int spread_of(const RunOrder& order, const std::vector<RunBatch>& batches) {
  int spread = 0;
  for (const RunBatch& b : batches) {
    std::set<std::string_view> orders;
    for (const Placed& p : b.pours)
      if (const std::string& name = order.pours[static_cast<std::size_t>(p.kind)].order; !name.empty())
        orders.insert(name);
    spread += static_cast<int>(orders.size());
  }
  return spread;
}

std::int64_t busy(const RunOrder& order, const RunBatch& batch) {
  const RunLimits& l = order.limits;
  std::int64_t seconds = whole_seconds(l.weigh) + whole_seconds(l.mix) +
                         whole_seconds(l.split) * static_cast<std::int64_t>(batch.cups.size());
  for (const Placed& p : batch.pours)
    seconds += p.count * whole_seconds(order.pours[static_cast<std::size_t>(p.kind)].pour);
  return seconds;
}

std::int64_t finish_of(const RunOrder& order, const std::vector<RunBatch>& batches) {
  Hands hands(order);
  for (std::size_t i = 0; i < batches.size(); ++i) hands.pour(batches[i], static_cast<int>(i));
  return hands.finish();
}

}  // namespace pourwright::running
