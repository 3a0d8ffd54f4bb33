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
  return {static_cast<int>(plan.batches.size()), plan.residue.in_micrograms(), seconds(plan.finish), spread};
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
  if (upto(2) == 0) l.day = Duration(40 + upto(30));
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
