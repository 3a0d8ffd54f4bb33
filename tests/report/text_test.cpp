// SPDX-License-Identifier: GPL-3.0-or-later
// Properties of the text reports; their exact words are compared in tests/golden.
#include <pourwright/report.hpp>
#include <pourwright/report_split.hpp>

#include "report/layout.hpp"
#include "report/phrases.hpp"

#include <random>
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
      // A table of huge numbers may be wider than a narrow terminal, a name longer than a line.
      const bool wide = line.find(" g") != std::string::npos ||
                        line.find("mmmmmmmmmm") != std::string::npos || line.starts_with("mold ");
      if (!wide) REQUIRE(cells(line) <= style.width);
      REQUIRE(!line.ends_with(' '));
      if (!style.unicode)
        for (const char c : line) REQUIRE((c >= 0x20 && c < 0x7F));
    }
    const std::string total = localized(grams_text(r.total.mix, r.scale_step), style.decimal);
    if (!style.unicode) REQUIRE(text.find(total + " g") != std::string::npos);
  }
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
  f.read_as = "piece";
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
