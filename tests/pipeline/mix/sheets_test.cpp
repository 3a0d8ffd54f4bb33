// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_split.hpp>

#include <algorithm>

#include <doctest/doctest.h>
#include <unistd.h>

using namespace pourwright;
namespace fs = std::filesystem;

namespace {

/// A ledger of its own that disappears with the test.
class Shop {
 public:
  Shop() : folder_(fs::temp_directory_path() / ("pourwright-sheets-" + std::to_string(::getpid()))) {
    fs::remove_all(folder_);
    fs::create_directory(folder_);
    settings.ledger = folder_ / "ledger.db";
  }
  ~Shop() {
    std::error_code ignored;
    fs::remove_all(folder_, ignored);
  }
  Shop(const Shop&) = delete;
  Shop& operator=(const Shop&) = delete;

  Record add(std::string_view when, const BatchSheet& s) const {
    const auto r = add_record(settings, *parse_moment(when), s);
    REQUIRE_MESSAGE(r, (r ? "" : r.error().text));
    return *r;
  }
  std::vector<Record> find(const std::string& what, std::string_view now = "2026-11-25T12:00:00Z",
                           std::int64_t offset = 0) const {
    const auto r = find_sheets(what, *parse_moment(now), offset, settings);
    REQUIRE(r);
    return *r;
  }
  MixSettings settings;

 private:
  fs::path folder_;
};

/// Four dishes of kelp: 180 g of liquid and 576 g of powder.
BatchSheet dishes(const MixSettings& settings) {
  MixSettings with = settings;
  with.pigments = {{"Kelp", Ratio::percent(1.5)}};
  MixRequest request;
  request.liquid = Mass::grams(180);
  const auto m = mix(request, with);
  REQUIRE(m);
  BatchSheet s = sheet_of("Kelp dishes", m->report, with);
  s.molds = {{"ripple_dish", 4, m->report.recipe.mix}};
  return s;
}
Mass sum(const std::vector<Part>& parts) {
  Mass m;
  for (const Part& p : parts) m += p.mass;
  return m;
}

}  // namespace

TEST_CASE("sheets are found by number, day, month and word") {
  const Shop shop;
  BatchSheet s = dishes(shop.settings);
  const Record first = shop.add("2025-10-12T09:30:00Z", s);
  s.title = "Slate knobs";
  s.cups[0].doses[0].pigment = "Slate";
  s.molds[0].mold = "knob_six";
  const Record second = shop.add("2026-10-12T22:30:00Z", s);
  CHECK(shop.find("").size() == 2);
  CHECK(shop.find(std::to_string(first.id)).front().id == first.id);
  CHECK(shop.find("2026-10-12").front().id == second.id);
  CHECK(shop.find("2026-10").size() == 1);
  CHECK(shop.find("2026-11").empty());
  CHECK(shop.find("knob_six").front().id == second.id);
  CHECK(shop.find("ripple_dish").front().id == first.id);
  for (const char* spoken : {"12 October", "12 oct", "October 12", "12. Okt"}) {
    CAPTURE(spoken);
    const bool known = std::string_view(spoken) != "12. Okt";  // another language is searched as a word
    CHECK(shop.find(spoken).size() == (known ? 1 : 0));
  }
  // The latest such day that has been: before 12 October 2026 it is last year's.
  CHECK(shop.find("12 October", "2026-06-01T00:00:00Z").front().id == first.id);
  CHECK(shop.find("12 October 2025").front().id == first.id);
  // 22:30 UTC is the 13th where clocks are two hours ahead.
  CHECK(shop.find("13 October", "2026-11-25T12:00:00Z", 2 * 60 * 60).front().id == second.id);
  const auto missing = find_sheets("99", 0, 0, shop.settings);
  REQUIRE_FALSE(missing);
  CHECK(missing.error().code == Code::record_unknown);
}

TEST_CASE("the dry colour is noted at the batch's own time, the earlier sheet withdrawn") {
  const Shop shop;
  const Record first = shop.add("2026-10-12T09:30:00Z", dishes(shop.settings));
  const auto again =
      note_dry_colour(first.id, "matte sage", *parse_moment("2026-10-14T08:00:00Z"), shop.settings);
  REQUIRE(again);
  CHECK(again->at == first.at);
  CHECK(std::get<BatchSheet>(again->what).dry_colour == "matte sage");
  const auto all = shop.find("");
  REQUIRE(all.size() == 1);
  CHECK(all[0].id == again->id);
  CHECK(shop.find("sage").size() == 1);
  CHECK_FALSE(note_dry_colour(first.id, "twice", 0, shop.settings));
  CHECK_FALSE(note_dry_colour(77, "never", 0, shop.settings));
}

TEST_CASE("the same as that day, but twelve pieces") {
  const Shop shop;
  const Record r = shop.add("2026-10-12T09:30:00Z", dishes(shop.settings));
  const auto& s = std::get<BatchSheet>(r.what);
  Mass before;
  for (const auto& p : s.parts) before += p.mass;
  const auto same = repeat(r, {}, shop.settings);
  REQUIRE(same);
  for (std::size_t i = 0; i < s.parts.size(); ++i)
    CHECK(same->weighed.recipe.parts[i].mass == s.parts[i].mass);
  const auto twelve = repeat(r, {12, {}, {}}, shop.settings);
  REQUIRE(twelve);
  CHECK(std::abs((twelve->weighed.recipe.mix - before * 3).in_grams()) < 1.5);
  REQUIRE(twelve->molds.size() == 1);
  CHECK(twelve->molds[0].copies == 12);
  CHECK(twelve->molds[0].mix == twelve->weighed.recipe.mix);
  const auto from_liquid = repeat(r, {{}, {}, Mass::grams(102)}, shop.settings);
  REQUIRE(from_liquid);
  CHECK(from_liquid->weighed.recipe.parts[1].mass == Mass::grams(326.4));
  CHECK(sum(from_liquid->weighed.recipe.parts) == from_liquid->weighed.recipe.mix);
  CHECK_FALSE(repeat(r, {12, Mass::grams(5), {}}, shop.settings));
}

TEST_CASE("several molds keep their proportion, and cups their shares") {
  const Shop shop;
  BatchSheet s = dishes(shop.settings);
  s.molds = {{"a", 4, Mass::grams(400)}, {"b", 2, Mass::grams(364)}};
  s.cups = {{"sea", Ratio::percent(60), Mass::grams(460), {{"Kelp", Ratio::percent(2)}}},
            {"foam", Ratio::percent(40), Mass::grams(307), {}}};
  s.parts = {{"acrylic liquid", PartKind::liquid, Mass::grams(182)},
             {"mineral powder", PartKind::powder, Mass::grams(582)}};
  const Record r = shop.add("2026-10-12T09:30:00Z", s);
  const auto nine = repeat(r, {9, {}, {}}, shop.settings);
  REQUIRE(nine);
  CHECK(nine->molds[0].copies == 6);
  CHECK(nine->molds[1].copies == 3);
  CHECK(nine->molds[0].mix + nine->molds[1].mix == nine->weighed.recipe.mix);
  REQUIRE(nine->cups);
  CHECK(nine->cups->cups[0].mix + nine->cups->cups[1].mix == nine->cups->mix);
  CHECK(nine->weighed.recipe.mix - nine->cups->mix < Mass::grams(1));
  const auto seven = repeat(r, {7, {}, {}}, shop.settings);
  REQUIRE_FALSE(seven);
  CHECK(seven.error().hint.find("multiple of 3") != std::string::npos);
}

TEST_CASE("a split into eight pieces once more for twelve, with the doses that were asked") {
  const Shop shop;
  SplitRequest request;
  request.there = Mass::grams(40);
  request.pieces = 8;
  request.plan.steps.push_back({});
  request.plan.steps[0].cups = {*parse_cup("base=90%,Chalk=1%"), *parse_cup("vein,Kelp=0.04%")};
  const auto r = split(request, shop.settings);
  REQUIRE(r);
  CHECK(r->plan.steps[0].cups[1].pigment == Mass());  // 1.6 mg on a scale of 10 mg
  const Record kept = shop.add("2026-10-12T09:30:00Z", sheet_of("knobs", *r, shop.settings));
  const auto& s = std::get<BatchSheet>(kept.what);
  CHECK(s.cups[1].doses[0].dose == Ratio::percent(0.04));
  REQUIRE(s.molds.size() == 1);
  CHECK(s.molds[0].copies == 8);
  CHECK(s.molds[0].mix == r->plan.poured());
  const auto twelve = repeat(kept, {12, {}, {}}, shop.settings);
  REQUIRE(twelve);
  CHECK(std::abs(twelve->weighed.recipe.mix.in_grams() - 60) < 0.5);
  CHECK(twelve->molds[0].copies == 12);
  REQUIRE(twelve->cups);
  CHECK(twelve->cups->cups[0].share == Ratio::percent(90));
  CHECK(std::any_of(twelve->weighed.recipe.notes.begin(), twelve->weighed.recipe.notes.end(),
                    [](const Note& n) { return n.warning; }));
}

TEST_CASE("a plan of several steps is laid out again, the same and in another size") {
  const Shop shop;
  SplitRequest request;
  request.there = Mass::grams(1151);
  SplitStep dishes, knobs;
  dishes.name = "dishes";
  dishes.technique = Technique::veins;
  dishes.take = Mass::grams(800);
  dishes.pour = Mass::grams(730);
  dishes.cups = {*parse_cup("chalk=15%,Chalk=1.5%"), *parse_cup("base,Kelp=0.6%")};
  knobs.name = "knobs";
  knobs.rest = knobs.carry = true;
  knobs.cups = {*parse_cup("slate,Slate=1.5%")};
  request.plan.steps = {dishes, knobs};
  request.plan.residue = Mass::grams(3);
  const auto first = split(request, shop.settings);
  REQUIRE(first);
  const BatchSheet sheet = sheet_of("dishes and knobs", *first, shop.settings);
  REQUIRE(sheet.steps.size() == 2);
  const Record kept = shop.add("2026-10-12T09:30:00Z", sheet);
  CHECK(std::get<BatchSheet>(shop.find("1").front().what) == sheet);
  const auto again = repeat(kept, {}, shop.settings);
  REQUIRE(again);
  REQUIRE(again->steps);
  CHECK_FALSE(again->cups);
  REQUIRE(again->steps->plan.steps.size() == 2);
  for (std::size_t i = 0; i < 2; ++i) {
    // Shares are kept in millionths, so that a cut may fall one step of the 0.1 g scale lower.
    const FilledStep &a = first->plan.steps[i], &b = again->steps->plan.steps[i];
    CHECK(a.name == b.name);
    CHECK(a.technique == b.technique);
    CHECK(std::abs((a.plain - b.plain).in_grams()) < 0.1001);
    CHECK(std::abs((a.carried - b.carried).in_grams()) < 0.1001);
    CHECK(std::abs((a.poured - b.poured).in_grams()) < 0.1001);
    CHECK(a.to == b.to);
    REQUIRE(a.cups.size() == b.cups.size());
    for (std::size_t c = 0; c < a.cups.size(); ++c) {
      CHECK(a.cups[c].name == b.cups[c].name);
      CHECK(std::abs((a.cups[c].mix - b.cups[c].mix).in_grams()) < 0.1001);
      CHECK(std::abs((a.cups[c].pigment - b.cups[c].pigment).in_grams()) < 0.001);
    }
  }
  const auto twice = repeat(kept, {{}, Mass::grams(2302), {}}, shop.settings);
  REQUIRE(twice);
  REQUIRE(twice->steps);
  CHECK(twice->steps->plan.mix == twice->weighed.recipe.mix);
  CHECK(std::abs(twice->steps->plan.steps[0].plain.in_grams() - 1600) < 1);
  CHECK(std::abs(twice->steps->plan.steps[0].poured.in_grams() - 1460) < 1);
  BatchSheet bad = sheet;
  bad.steps[0].shares.pop_back();
  CHECK_FALSE(add_record(shop.settings, *parse_moment("2026-10-12T09:30:00Z"), bad));
  bad = sheet;
  bad.steps[0].technique = "origami";
  CHECK_FALSE(repeat(shop.add("2026-10-13T09:30:00Z", bad), {}, shop.settings));
}

TEST_CASE("a ratio that has changed since is said, and the sheet's is used") {
  const Shop shop;
  BatchSheet s = dishes(shop.settings);
  s.ratio = Ratio::of(3.0);
  const auto r = repeat(shop.add("2026-10-12T09:30:00Z", s), {}, shop.settings);
  REQUIRE(r);
  CHECK(r->weighed.recipe.ratio_asked == Ratio::of(3.0));
  CHECK(std::any_of(r->weighed.recipe.notes.begin(), r->weighed.recipe.notes.end(),
                    [](const Note& n) { return n.code == "ratio-given"; }));
  s.mix = "forgotten";
  CHECK(repeat(shop.add("2026-10-13T09:30:00Z", s), {}, shop.settings).error().code == Code::unknown_name);
}
