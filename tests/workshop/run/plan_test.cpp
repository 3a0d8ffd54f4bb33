// SPDX-License-Identifier: GPL-3.0-or-later
#include "workshop/run/plan_check.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::testing;

namespace {

Goodness goodness(const RunOrder& o, const RunPlan& plan) {
  int spread = 0;
  for (const RunBatch& b : plan.batches) {
    std::set<std::string> names;
    for (const Placed& p : b.pours)
      if (const auto& name = o.pours[static_cast<std::size_t>(p.kind)].order; !name.empty())
        names.insert(name);
    spread += static_cast<int>(names.size());
  }
  std::vector<int> bases;
  for (const RunBatch& b : plan.batches) bases.push_back(b.base);
  return {static_cast<int>(plan.batches.size()), plan.residue.in_micrograms(), seconds(plan.finish),
          steps_back(bases), spread};
}

/// Up to six pieces of up to four sorts, short times, every kind of limit now and then.
RunOrder small_order(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const auto upto = [&](int n) { return static_cast<int>(random() % static_cast<std::uint64_t>(n + 1)); };
  RunOrder o;
  o.bases = {{"light", Duration(upto(1) * (14 + upto(10)))}, {"dark", Duration(upto(1) * (14 + upto(10)))}};
  o.molds = {{"a", 1 + upto(1), Duration(upto(20)), Duration(upto(3))},
             {"b", 1 + upto(1), Duration(upto(9)), Duration(upto(3))}};
  int left = 6;
  for (int i = 0; i < 4 && left > 0; ++i) {
    RunPour p;
    p.name = std::string(1, static_cast<char>('p' + i));
    p.order = upto(1) == 0 ? "" : upto(1) == 0 ? "fair" : "shop";
    p.base = upto(3) == 0 ? 1 : 0;
    p.mold = upto(3) == 0 ? -1 : upto(1);
    if (upto(2) == 0) p.cups.push_back("vein");
    if (upto(3) == 0) p.cups.push_back("swirl");
    p.mix = Mass::grams(100 + 50 * upto(6));
    p.count = std::min(left, 1 + upto(2));
    p.pour = Duration(1 + upto(3));
    left -= p.count;
    o.pours.push_back(p);
  }
  RunLimits& l = o.limits;
  l.bucket = Mass::grams(440 + 100 * upto(8));
  if (upto(2) == 0) l.scale = Mass::grams(440 + 100 * upto(5));
  l.bucket_residue = Mass::grams(10 * upto(1));
  l.cup_residue = Mass::grams(5 * upto(2));
  if (upto(3) == 0) l.shelf = 2 + upto(2);
  l.weigh = Duration(1 + upto(2));
  l.mix = Duration(upto(3));
  l.split = Duration(upto(2));
  l.rinse = Duration(1);
  l.wash = Duration(2 + upto(4));
  if (upto(2) == 0) {
    l.day = Duration(40 + upto(30));
    l.night = Duration(upto(1) * upto(40));
    if (upto(1) == 0) l.breaks.push_back({Duration(upto(10)), Duration(12 + upto(3))});
    if (upto(3) == 0) l.breaks.push_back({Duration(30 + upto(5)), Duration(40)});
  }
  if (upto(2) == 0) l.reserve = Ratio::percent(5 * upto(6));
  if (upto(2) == 0)
    for (RunPour& p : o.pours) p.finishing = Duration(upto(6));
  l.never_lighter = upto(4) == 0;
  if (l.shelf > 0 && upto(1) == 0) o.molds[0].place = 2;
  return o;
}

}  // namespace

TEST_CASE("small runs are the best there are: batches, residue, hours, orders kept together") {
  int compared = 0;
  RunOptions options;
  options.advise = false;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const RunOrder o = small_order(seed);
    const auto plan = plan_run(o, options);
    if (!plan) {
      CHECK(plan.error().code == Code::does_not_fit);
      continue;
    }
    CHECK_MESSAGE(complaint(o, *plan) == "", seed);
    CHECK(plan->batches_proven);
    CHECK(plan->waste_proven);
    CHECK(plan->day_proven);
    CHECK_MESSAGE(goodness(o, *plan) == BestPlan(o).best(), seed);
    ++compared;
  }
  CHECK(compared > 200);
}

TEST_CASE("when plans are improved step by step, what is called proven is") {
  int proven = 0, worse = 0;
  RunOptions options;
  options.advise = false;
  options.search = 60;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const RunOrder o = small_order(seed);
    const auto plan = plan_run(o, options);
    if (!plan) continue;
    CHECK(complaint(o, *plan) == "");
    const Goodness best = BestPlan(o).best(), have = goodness(o, *plan);
    CHECK(std::get<0>(have) == std::get<0>(best));
    if (plan->waste_proven) CHECK(std::get<1>(have) == std::get<1>(best));
    if (plan->day_proven) CHECK(std::get<2>(have) == std::get<2>(best));
    proven += plan->day_proven ? 1 : 0;
    worse += have > best ? 1 : 0;
  }
  CHECK(proven > 100);
  CHECK(worse < 30);
}

/// Small orders in which cups weigh as much as pieces, cups take time, and molds are short; no hours else.
RunOrder tight_order(std::uint64_t seed) {
  std::mt19937_64 random(seed * 7919 + 5);
  const auto upto = [&](int n) { return static_cast<int>(random() % static_cast<std::uint64_t>(n + 1)); };
  RunOrder o;
  o.bases = {{"light", Duration(upto(2) * 10)}, {"dark", Duration(upto(1) * 16)}};
  o.molds = {{"a", 1 + upto(2), {}, {}}, {"b", 2, {}, {}}};
  const char* const cups[] = {"Chalk", "Slate", "Rust", "Kelp"};
  int left = 7;
  for (int i = 0; i < 5 && left > 0; ++i) {
    RunPour p;
    p.name = std::string(1, static_cast<char>('p' + i));
    p.base = upto(3) == 0 ? 1 : 0;
    p.mold = upto(2) - 1;
    for (const char* cup : cups)
      if (upto(3) == 0) p.cups.push_back(cup);
    p.mix = Mass::grams(20 + 10 * upto(seed % 2 == 0 ? 8 : 3) + upto(9));
    p.count = std::min(left, 1 + upto(3));
    p.pour = Duration(1 + upto(3));
    left -= p.count;
    o.pours.push_back(p);
  }
  RunLimits& l = o.limits;
  l.bucket = Mass::grams(100 + 20 * upto(5) + upto(9));
  l.bucket_residue = Mass::grams(upto(5));
  l.cup_residue = Mass::grams(upto(1) * (1 + upto(24)));
  l.mix = Duration(upto(2));
  l.split = Duration(upto(2));
  if (upto(3) == 0) l.reserve = Ratio::percent(25);
  if (upto(3) == 0) l.shelf = 2 + upto(3);
  return o;
}

/// What is proven is the best there is, whatever cups, times, colours and molds ask for.
void check_proofs(std::uint64_t from, std::uint64_t to) {
  RunOptions options;
  options.advise = false;
  options.search = 400;
  std::uint64_t planned = 0, with_cups = 0, gain = 0;
  for (std::uint64_t seed = from; seed < to; ++seed) {
    const RunOrder o = tight_order(seed);
    const auto plan = plan_run(o, options);
    if (!plan) {
      REQUIRE(plan.error().code == Code::does_not_fit);
      continue;
    }
    ++planned;
    REQUIRE_MESSAGE(complaint(o, *plan) == "", seed);
    const auto [batches, residue] = BestFilling(o).best();
    REQUIRE_MESSAGE(plan->batches_proven, seed);
    REQUIRE_MESSAGE(static_cast<int>(plan->batches.size()) == batches, seed);
    if (plan->waste_proven) REQUIRE_MESSAGE(plan->residue.in_micrograms() == residue, seed);
    std::set<std::string> all;
    for (const RunPour& p : o.pours) all.insert(p.cups.begin(), p.cups.end());
    with_cups += all.empty() ? 0 : 1;
    for (const RunBatch& b : plan->batches) gain += b.cups.size() < all.size() ? 1 : 0;
  }
  CHECK(planned > (to - from) / 2);
  CHECK(with_cups > planned / 2);
  CHECK(gain > planned / 2);
}

TEST_CASE("what is proven is true: three hundred small orders with cups, times and colours") {
  check_proofs(0, 300);
}

TEST_CASE("what is proven is true: ten thousand small orders with cups, times and colours" *
          doctest::test_suite("long")) {
  check_proofs(300, 10'000);
}

TEST_CASE("a batch has room for its own cups, not for those of others") {
  RunOrder o;
  o.bases = {{"Kelp", {}}};
  o.pours = {{"plain", "", 0, -1, {}, Mass::grams(500), 2, {}},
             {"veined", "", 0, -1, {"Chalk"}, Mass::grams(900), 1, {}}};
  o.limits.bucket = Mass::grams(1000);
  o.limits.cup_residue = Mass::grams(3);
  const auto plan = plan_run(o);
  REQUIRE(plan.has_value());
  CHECK(plan->batches.size() == 2);
  CHECK(plan->batches_proven);
  // With what stays in the bucket the two plain ones need a batch each.
  o.limits.bucket_residue = Mass::grams(1);
  CHECK(plan_run(o)->batches.size() == 3);
  // The same with the time to fill the cup.
  o.limits = {};
  o.limits.bucket = Mass::grams(5000);
  o.limits.split = Duration(30);
  o.bases[0].working_time = Duration(100);
  o.pours[0].pour = Duration(50);
  o.pours[1].pour = Duration(70);
  CHECK(plan_run(o)->batches.size() == 2);
  CHECK(plan_run(o)->batches_proven);
}

TEST_CASE("nights do not shorten a demold time, and are a part of it") {
  RunOrder o;
  o.bases = {{"Kelp", {}}};
  o.molds = {{"urn", 1, minutes(24 * 60), minutes(5)}};
  o.pours = {{"urn", "", 0, 0, {}, Mass::grams(500), 2, minutes(10)}};
  o.limits.bucket = Mass::grams(1000);
  o.limits.day = minutes(8 * 60);
  o.limits.night = minutes(16 * 60);
  RunOptions options;
  options.advise = false;
  const auto out_on_day = [&](double hours) {
    o.molds[0].demold = minutes(60 * hours);
    const auto plan = plan_run(o, options);
    REQUIRE(plan.has_value());
    CHECK(complaint(o, *plan) == "");
    std::vector<std::int64_t> out;
    for (const RunTask& t : plan->tasks)
      if (t.work == RunWork::demold) out.push_back(seconds(t.from) / 60);
    return out;
  };
  // Poured at 0:10 of the first day; out at 0:10 of the second, poured again at 0:25, out at 0:25 of the
  // third.
  CHECK(out_on_day(24) == std::vector<std::int64_t>{490, 985});
  // Sixteen hours end in the night, whatever they are told of the evening.
  CHECK(out_on_day(20) == std::vector<std::int64_t>{480, 960});
  CHECK(out_on_day(7) == std::vector<std::int64_t>{430, 480});
  // Two nights and more.
  CHECK(out_on_day(50) == std::vector<std::int64_t>{1090, 2185});
}

TEST_CASE("breaks, finishing and the reserve are kept") {
  RunOrder o;
  o.bases = {{"Kelp", minutes(20)}};
  o.molds = {{"dish", 4, minutes(45), minutes(1)}};
  o.pours = {{"dish", "", 0, 0, {}, Mass::grams(150), 8, minutes(4), minutes(10)}};
  o.limits.bucket = Mass::grams(2400);
  o.limits.mix = minutes(3);
  o.limits.day = minutes(8 * 60);
  RunOptions options;
  options.advise = false;
  const auto planned = [&] {
    const auto plan = plan_run(o, options);
    REQUIRE(plan.has_value());
    CHECK(complaint(o, *plan) == "");
    return *plan;
  };
  CHECK(planned().batches.size() == 2);  // 3 + 4 × 4 min of twenty
  o.limits.reserve = Ratio::percent(25);
  CHECK(planned().batches.size() == 3);  // 3 + 3 × 4 of fifteen
  o.pours[0].pour = minutes(13);
  const auto late = plan_run(o, options);
  REQUIRE_FALSE(late.has_value());
  CHECK(late.error().text.find("25 %") != std::string::npos);
  o.limits.reserve = Ratio();
  CHECK(planned().batches.size() == 8);
  o.pours[0].pour = minutes(1);
  const std::int64_t whole_day = seconds(planned().finish);
  o.limits.breaks = {{minutes(60), minutes(90)}, {minutes(200), minutes(215)}};
  CHECK(seconds(planned().finish) > whole_day);
  // No batch between two breaks that is too short for it.
  o.limits.breaks = {{minutes(2), minutes(477)}};
  CHECK(plan_run(o, options).error().code == Code::does_not_fit);
  o.limits.breaks = {{minutes(90), minutes(60)}};
  CHECK(plan_run(o, options).error().code == Code::bad_number);
  o.limits.breaks = {{minutes(0), minutes(480)}};
  CHECK(plan_run(o, options).error().code == Code::bad_number);
}

TEST_CASE("of plans that are done at the same hour the one with the fewest washes") {
  RunOrder o;
  o.bases = {{"Chalk", {}}, {"Slate", {}}};
  o.pours = {{"a", "", 1, -1, {}, Mass::grams(500), 2, minutes(1)},
             {"b", "", 0, -1, {}, Mass::grams(500), 2, minutes(1)}};
  o.limits.bucket = Mass::grams(500);
  o.limits.rinse = o.limits.wash = minutes(2);
  const auto plan = plan_run(o);
  REQUIRE(plan.has_value());
  REQUIRE(plan->batches.size() == 4);
  CHECK(plan->batches[0].base == 0);
  CHECK(plan->batches[1].base == 0);
}

TEST_CASE("larger runs keep every limit") {
  std::mt19937_64 random(11);
  for (int round = 0; round < 12; ++round) {
    RunOrder o;
    for (int b = 0; b < 3; ++b) o.bases.push_back({"base " + std::to_string(b), minutes(12)});
    for (int m = 0; m < 5; ++m)
      o.molds.push_back({"mold " + std::to_string(m), 1 + static_cast<int>(random() % 5),
                         minutes(30 + static_cast<double>(random() % 30)), Duration(40)});
    for (int p = 0; p < 9; ++p) {
      RunPour pour;
      pour.name = "piece " + std::to_string(p);
      pour.order = random() % 2 == 0 ? "fair" : "shop";
      pour.base = static_cast<int>(random() % 3);
      pour.mold = static_cast<int>(random() % 5);
      if (random() % 3 == 0) pour.cups = {"Chalk"};
      pour.mix = Mass::grams(80 + static_cast<double>(random() % 500));
      pour.count = 1 + static_cast<int>(random() % 12);
      pour.pour = Duration(30);
      o.pours.push_back(pour);
    }
    o.limits.bucket = Mass::grams(2400);
    o.limits.scale = Mass::grams(5000);
    o.limits.bucket_residue = Mass::grams(15);
    o.limits.cup_residue = Mass::grams(3);
    o.limits.weigh = minutes(3);
    o.limits.mix = minutes(2);
    o.limits.split = minutes(1);
    o.limits.rinse = minutes(1);
    o.limits.wash = minutes(5);
    o.limits.shelf = round % 2 == 0 ? 0 : 20;
    for (RunMold& m : o.molds) m.place = round % 4 == 1 ? 1 : 1 + static_cast<std::int64_t>(random() % 3);
    o.limits.day = round % 3 == 0 ? Duration() : minutes(420);
    o.limits.never_lighter = round % 4 == 0;
    RunOptions options;
    options.search = 2000;
    options.advise = false;
    const auto plan = plan_run(o, options);
    REQUIRE(plan.has_value());
    CHECK_MESSAGE(complaint(o, *plan) == "", round);
    CHECK(plan->batches_proven);
  }
}

TEST_CASE("the limit that binds is named") {
  RunOrder o;
  o.bases = {{"Kelp", minutes(14)}};
  o.molds = {{"dish", 4, minutes(45), minutes(1)}};
  o.pours = {{"dish", "", 0, 0, {}, Mass::grams(150), 24, Duration(30)}};
  o.limits.bucket = Mass::grams(2400);
  o.limits.weigh = minutes(3);
  o.limits.mix = minutes(2);
  const auto by_molds = plan_run(o);
  REQUIRE(by_molds.has_value());
  CHECK(by_molds->batches.size() == 6);
  REQUIRE(by_molds->advice.size() == 1);
  CHECK(by_molds->advice[0].limit == "molds");
  CHECK(by_molds->advice[0].more == 1);
  CHECK(by_molds->advice[0].batches_saved == 1);

  o.molds[0].copies = 24;
  const auto by_bucket = plan_run(o);
  CHECK(by_bucket->batches.size() == 2);  // sixteen dishes in a bucket
  REQUIRE(by_bucket->advice.size() == 1);
  CHECK(by_bucket->advice[0].limit == "bucket");
  CHECK(by_bucket->advice[0].batches_saved == 1);

  o.limits.scale = Mass::grams(1000);
  const auto by_scale = plan_run(o);
  CHECK(by_scale->batches.size() == 4);
  CHECK(by_scale->advice[0].limit == "scale");

  o.limits.scale = Mass();
  o.bases[0].working_time = minutes(4);
  const auto by_time = plan_run(o);
  CHECK(by_time->batches.size() == 6);
  CHECK(by_time->advice[0].limit == "working time");

  o.bases[0].working_time = minutes(14);
  o.limits.shelf = 12;
  o.molds[0].place = 2;
  const auto by_shelf = plan_run(o);
  CHECK(by_shelf->batches.size() == 4);
  REQUIRE(by_shelf->advice.size() >= 1);
  CHECK(by_shelf->advice[0].limit == "shelf");
  CHECK(by_shelf->advice[0].batches_saved == 2);
}

TEST_CASE("what no plan can hold is refused by name") {
  RunOrder o;
  o.bases = {{"Kelp", minutes(14)}};
  o.pours = {{"urn", "", 0, -1, {"Chalk"}, Mass::grams(2390), 1, Duration(30)}};
  o.limits.bucket = Mass::grams(2400);
  CHECK(plan_run(o).has_value());
  o.limits.cup_residue = Mass::grams(11);
  CHECK(plan_run(o).error().code == Code::does_not_fit);
  CHECK(plan_run(o).error().text.find("urn") != std::string::npos);
  o.limits.cup_residue = Mass();
  o.pours[0].pour = minutes(15);
  CHECK(plan_run(o).error().code == Code::does_not_fit);
  o.pours[0].pour = Duration(30);
  o.molds = {{"urn", 1, minutes(45), minutes(1), 3}};
  o.pours[0].mold = 0;
  o.limits.shelf = 3;
  CHECK(plan_run(o).has_value());
  o.limits.shelf = 2;
  CHECK(plan_run(o).error().code == Code::does_not_fit);
  CHECK(plan_run(o).error().text.find("shelf") != std::string::npos);
  o.limits.shelf = 0;
  o.limits.day = minutes(0.2);
  CHECK(plan_run(o).error().code == Code::does_not_fit);
  o.limits.day = Duration();
  o.limits.bucket = Mass();
  CHECK(plan_run(o).error().code == Code::amount_not_positive);
  o.limits.bucket = Mass::grams(2400);
  o.pours[0].base = 1;
  CHECK(plan_run(o).error().code == Code::internal);
  o.pours.clear();
  const auto empty = plan_run(o);
  REQUIRE(empty.has_value());
  CHECK(empty->batches.empty());
  CHECK(empty->batches_proven);
}
