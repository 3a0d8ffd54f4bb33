// SPDX-License-Identifier: GPL-3.0-or-later
// Properties of the text reports; their exact words are compared in tests/golden.
#include <pourwright/report.hpp>
#include <pourwright/report_split.hpp>

#include "report/layout.hpp"
#include "report/phrases.hpp"

#include <random>
#include <regex>
#include <sstream>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

CardReport tray(std::mt19937& random, std::size_t count) {
  CardReport r;
  r.mix = built_in_catalogue().mixes[0];
  r.scale_step = Mass::grams(0.1);
  r.allowance = Ratio::percent(5);
  std::vector<MoldDemand> demand;
  for (std::size_t i = 0; i < count; ++i) {
    CardMold m;
    m.path = std::string("molds/") + std::string(1 + random() % 60, 'm') +
             (i % 3 == 0 ? " \x1b[31m1.5" : "漢") + ".stl";
    m.copies = 1 + static_cast<int>(random() % 30);
    m.fill = Interval<Volume>::exactly(millilitres(std::pow(10.0, static_cast<double>(random() % 6)) * 0.37));
    m.level = random() % 4 == 0 ? "the piece's own volume" : "to the brim";
    m.how = m.level + ", 12 mm deep";
    m.notes = {{"unit-assumed", "lengths taken as millimetres: 1 × 2 × 3 mm", false},
               {"unit-unlikely", "the model is 3.5 mm long", true}};
    demand.push_back({m.path, m.copies, m.fill});
    r.molds.push_back(std::move(m));
  }
  RecipeOptions options{r.scale_step, r.allowance, {}};
  if (random() % 2 == 0) options.pigments = {{"Kelp", Ratio::percent(1)}};
  auto weighed = weigh_tray(r.mix, demand, options);
  REQUIRE(weighed);
  for (std::size_t i = 0; i < count; ++i) r.molds[i].weighed = weighed->rows[i];
  r.total = weighed->total;
  r.cautions = cautions_for(r.mix, r.total.mix);
  return r;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) out.push_back(line);
  return out;
}

}  // namespace

TEST_CASE("A card fits its width, ends its lines cleanly and lets no name steer the terminal") {
  std::mt19937 random(5);
  for (int i = 0; i < 200; ++i) {
    const CardReport r = tray(random, 1 + random() % 9);
    TextStyle style;
    style.width = 60 + static_cast<int>(random() % 41);
    style.unicode = i % 3 != 0;
    style.decimal = i % 2 == 0 ? '.' : ',';
    const std::string text = card_text(r, style);
    CAPTURE(text);
    REQUIRE(text.back() == '\n');
    REQUIRE(text.find('\x1b') == std::string::npos);
    for (const std::string& line : lines_of(text)) {
      REQUIRE(cells(line) <= style.width);
      REQUIRE(!line.ends_with(' '));
      if (!style.unicode)
        for (const char c : line) REQUIRE((c >= 0x20 && c < 0x7F));
    }
    const std::string total = localized(grams_text(r.total.mix, r.scale_step), style.decimal);
    REQUIRE(text.find(total + " g") != std::string::npos);
    for (const Part& p : r.total.parts)
      REQUIRE(text.find(localized(grams_text(p.mass, r.scale_step), style.decimal) + " g") !=
              std::string::npos);
    // Nothing finer than a scale or a ruler shows, no exponent, nothing left out.
    REQUIRE(!std::regex_search(text, std::regex("[0-9][.,][0-9]{4,}|[0-9]e[-+][0-9]|…|~")));
  }
}

TEST_CASE("Cautions stand in full or in one line that says where they are") {
  std::mt19937 random(8);
  const CardReport r = tray(random, 1);
  REQUIRE(r.cautions.size() > 3);
  TextStyle style;
  const auto full = lines_of(card_text(r, style));
  style.cautions_known = true;
  const auto brief = lines_of(card_text(r, style));
  CHECK(brief.size() + r.cautions.size() <= full.size() + 1);
  CHECK(brief.back().starts_with("Take care  "));
  CHECK(brief.back().find("--cautions") != std::string::npos);
  CHECK(brief.back().find(std::to_string(r.cautions.size())) != std::string::npos);
}

TEST_CASE("What is wanted of the hands comes before what was assumed, and only once for all") {
  std::mt19937 random(9);
  CardReport r = tray(random, 3);
  for (std::size_t i = 0; i < 3; ++i) {
    r.molds[i].path = std::string(1, static_cast<char>('a' + i)) + ".stl";
    r.molds[i].tilt = {{1, 0, 0.02 * static_cast<double>(3 - i)}};
    r.molds[i].notes = {{"undercut", "it needs a flexible mold", false, Topic::walls},
                        {"unit-given", "lengths read as inches", false, Topic::unit}};
  }
  const std::string text = card_text(r, {});
  const auto at = [&](std::string_view words) { return text.find(words); };
  CHECK(at("stand them level: leaning 1° spills 6.0 % of a.stl, 4.0 % of b.stl, 2.0 % of") !=
        std::string::npos);
  CHECK(at("it needs a flexible mold") == text.rfind("it needs a flexible mold"));
  CHECK(at("it needs a flexible mold") < at("Accuracy"));
  CHECK(at("Accuracy") < at("Times"));
  CHECK(at("Times") < at("lengths read as inches"));
}

TEST_CASE("What each cavity takes is told as finely as it must be to tell them apart") {
  std::mt19937 random(10);
  CardReport r = tray(random, 1);
  r.scale_step = Mass::grams(1);
  r.molds[0].shares = {{1, Mass::grams(32.81)}, {2, Mass::grams(32.79)}, {3, Mass::grams(33.2)}};
  CHECK(card_text(r, {}).find("Cavities   33 g in each of 3\n") != std::string::npos);
  r.molds[0].shares = {{1, Mass::grams(3.14)}, {2, Mass::grams(0.27)}, {5, Mass::grams(3.12)}};
  CHECK(card_text(r, {}).find("Cavities   3.1 g in 1 + 5, 0.27 g in 2\n") != std::string::npos);
}

TEST_CASE("A name keeps its point where numbers get a comma") {
  std::mt19937 random(6);
  CardReport r = tray(random, 2);
  r.molds[0].path = "dish 1.5.stl";
  r.molds[1].notes.clear();
  TextStyle style;
  style.decimal = ',';
  const std::string text = card_text(r, style);
  CHECK(text.find("dish 1.5.stl: the model is 3,5 mm long") != std::string::npos);
  CHECK(text.find("1,5.stl") == std::string::npos);
}

TEST_CASE("Every split line adds up and names its pigment") {
  SplitPlan plan;
  plan.steps.push_back({});
  plan.steps[0].cups = {
      {"sea", Ratio::percent(60), {{"Kelp", Ratio::percent(2)}, {"Chalk", Ratio::percent(0.5)}}},
      {"foam", std::nullopt, {}}};
  SplitReport report;
  report.scale_step = Mass::grams(1);
  const auto planned = plan_split(Mass::grams(640), plan, {});
  REQUIRE(planned);
  report.plan = *planned;
  const std::string text = split_text(report, {});
  CHECK(text.find("384 g   2 % Kelp: 7.68 g\n") != std::string::npos);
  CHECK(text.find("   0.5 % Chalk: 1.92 g\n") != std::string::npos);
  CHECK(text.find("256 g   –\n") != std::string::npos);
}

TEST_CASE("An interval is said when it matters at a bench") {
  MeasureReport report;
  report.files.emplace_back();
  MeasureRow& f = report.files[0];
  f.path = "x.stl";
  f.reading = Decision<Reading>{Reading::piece};
  const auto shown = [&](double low, double high) {
    f.solid =
        MeasureRow::Body{{millilitres(100), millilitres(low), millilitres(high), {}}, square_millimetres(1)};
    return measure_text(report, {});
  };
  CHECK(shown(99.99, 100.01).find("±") == std::string::npos);
  CHECK(shown(99, 100).find("100.0 ml ±1 %") != std::string::npos);
  CHECK(shown(99.5, 102.5).find("±2.5 %") != std::string::npos);
  CHECK(shown(0, 100).find("±100 %") != std::string::npos);
}

// 28.349523125 g and 453.59237 g exactly: NIST Handbook 44, Appendix C.
TEST_CASE("Ounces stand beside grams as finely as the scale reads, and never as sixteen to a pound") {
  TextStyle us;
  us.us = true;
  CHECK(phrases::ounces(Mass::grams(326.4), Mass::grams(0.1), us) == "11.513 oz");
  CHECK(phrases::ounces(Mass::grams(326), Mass::grams(1), us) == "11.50 oz");
  CHECK(phrases::ounces(Mass::grams(453.59237), Mass::grams(0.1), us) == "1 lb 0.000 oz");
  CHECK(phrases::ounces(Mass::grams(453.59), Mass::grams(1), us) == "1 lb 0.00 oz");
  CHECK(phrases::mass_text(Mass::grams(414), Mass::grams(1), us) == "414 g (14.60 oz)");
  CHECK(phrases::mass_text(Mass::grams(414), Mass::grams(1), {}) == "414 g");
  // The trap: 8 fl oz of a mix of 1.75 are 414 g, not 8 oz.
  CHECK(phrases::volume_text(*parse_volume("8floz"), us) == "236.6 ml (8.00 fl oz)");
  CHECK(phrases::grams(Mass::grams(102.37), Mass::grams(1), {}) ==
        "102.37 g");  // kept as poured, so shown as poured
}
