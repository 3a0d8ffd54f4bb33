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

Problem senseless(std::string_view what) {
  return fail(Code::bad_number, fmt::format("{} is negative or beyond all measure", what), "check its unit");
}

std::optional<Problem> check_limits(const RunLimits& l) {
  for (const auto& [d, what] : {std::pair{l.weigh, "the time to weigh"},
                                {l.mix, "the time to mix"},
                                {l.split, "the time to split"},
                                {l.rinse, "the time to rinse"},
                                {l.wash, "the time to wash"},
                                {l.day, "the working day"}})
    if (!sensible(d)) return senseless(what);
  if (l.bucket <= Mass{})
    return fail(Code::amount_not_positive, "the mixing bucket holds nothing", "say how many grams it takes");
  for (const auto& [m, what] : {std::pair{l.bucket, "the bucket"},
                                {l.scale, "the scale"},
                                {l.bucket_residue, "the residue"},
                                {l.cup_residue, "the residue of a cup"}})
    if (m < Mass{} || m > Mass::grams(1e7)) return senseless(what);
  if (l.shelf < 0 || l.shelf > largest_shelf) return senseless("the shelf");
  return std::nullopt;
}

std::optional<Problem> check_pour(const RunOrder& order, const RunPour& p) {
  if (p.base < 0 || p.base >= static_cast<int>(order.bases.size()) || p.mold < -1 ||
      p.mold >= static_cast<int>(order.molds.size()))
    return fail(Code::internal, fmt::format("“{}” names a base or mold that is not there", p.name));
  if (p.mix <= Mass{})
    return fail(Code::amount_not_positive, fmt::format("“{}” weighs nothing", p.name), "give its grams");
  if (p.count < 0) return senseless(fmt::format("the count of “{}”", p.name));
  if (!sensible(p.pour)) return senseless(fmt::format("the time to pour “{}”", p.name));
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
    if (order.limits.day > Duration() && m.handling > order.limits.day)
      return fail(Code::does_not_fit, fmt::format("taking out “{}” takes longer than a day", m.name),
                  "lengthen the day");
  }
  for (const RunPour& p : order.pours)
    if (auto problem = check_pour(order, p)) return problem;
  return std::nullopt;
}

/// What a batch of the class can hold beside the residue.
Mass room(const RunOrder& order, const Class& c, Mass limit) {
  return limit - order.limits.bucket_residue -
         order.limits.cup_residue * static_cast<std::int64_t>(c.cups.size());
}

std::int64_t pouring_seconds(const RunOrder& order, const Class& c) {
  return whole_seconds(order.bases[static_cast<std::size_t>(c.base)].working_time) -
         whole_seconds(order.limits.mix) -
         whole_seconds(order.limits.split) * static_cast<std::int64_t>(c.cups.size());
}

std::optional<Problem> check_fits(const RunOrder& order, const Class& c) {
  const RunLimits& l = order.limits;
  const RunBase& base = order.bases[static_cast<std::size_t>(c.base)];
  for (const int i : c.pours) {
    const RunPour& p = order.pours[static_cast<std::size_t>(i)];
    const auto too_heavy = [&](Mass limit, std::string_view what) {
      return fail(Code::does_not_fit,
                  fmt::format("“{}” takes {} g a pour, but {} takes {} g{}", p.name,
                              grams_text(p.mix, Mass::grams(1)), what, grams_text(limit, Mass::grams(1)),
                              room(order, c, limit) < limit ? " with what stays in it" : ""),
                  "use a larger one, or plan a smaller piece");
    };
    if (p.mix > room(order, c, l.bucket)) return too_heavy(l.bucket, "the mixing bucket");
    if (l.scale > Mass{} && p.mix > room(order, c, l.scale)) return too_heavy(l.scale, "the scale");
    if (base.working_time > Duration() && whole_seconds(p.pour) > pouring_seconds(order, c))
      return fail(
          Code::does_not_fit,
          fmt::format("mixing, splitting and pouring “{}” takes longer than its mix stays workable ({} min)",
                      p.name, fixed(in_minutes(base.working_time), 1)),
          "choose a slower mix, a cooler room or fewer colours");
    const std::int64_t seconds = whole_seconds(l.weigh) + whole_seconds(l.mix) +
                                 whole_seconds(l.split) * static_cast<std::int64_t>(c.cups.size()) +
                                 whole_seconds(p.pour) +
                                 std::max(whole_seconds(l.wash), whole_seconds(l.rinse));
    if (l.day > Duration() && seconds > whole_seconds(l.day))
      return fail(Code::does_not_fit, fmt::format("a batch for “{}” takes longer than a working day", p.name),
                  "lengthen the day");
  }
  return std::nullopt;
}

PackProblem problem_of(const RunOrder& order, const Class& c) {
  const RunLimits& l = order.limits;
  PackProblem out;
  std::vector<std::int64_t> grams, seconds, places;
  for (const int i : c.pours) {
    const RunPour& p = order.pours[static_cast<std::size_t>(i)];
    out.counts.push_back(p.count);
    grams.push_back(p.mix.in_micrograms());
    seconds.push_back(whole_seconds(p.pour));
    places.push_back(p.mold >= 0 ? order.molds[static_cast<std::size_t>(p.mold)].place : 0);
  }
  const Mass most = l.scale > Mass{} ? std::min(l.bucket, l.scale) : l.bucket;
  out.resources.push_back({room(order, c, most).in_micrograms(), grams});
  if (order.bases[static_cast<std::size_t>(c.base)].working_time > Duration())
    out.resources.push_back({pouring_seconds(order, c), seconds});
  if (l.day > Duration()) {
    const std::int64_t around = whole_seconds(l.weigh) + whole_seconds(l.mix) +
                                whole_seconds(l.split) * static_cast<std::int64_t>(c.cups.size()) +
                                std::max(whole_seconds(l.wash), whole_seconds(l.rinse));
    out.resources.push_back({whole_seconds(l.day) - around, seconds});
  }
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

bool takes_time(const RunOrder& order) {
  const RunLimits& l = order.limits;
  bool any = l.weigh + l.mix + l.split + l.rinse + l.wash > Duration();
  for (const RunPour& p : order.pours) any |= p.pour > Duration();
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
    if (auto p = check_fits(order, c)) return *p;
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
