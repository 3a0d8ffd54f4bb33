// SPDX-License-Identifier: GPL-3.0-or-later
// Documents as such; that they keep docs/schema is tested through the program.
#include <pourwright/report.hpp>

#include <cmath>
#include <limits>
#include <random>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

using namespace pourwright;

namespace {

MixReport report_of(std::int64_t liquid, std::int64_t powder) {
  MixReport report;
  Recipe& r = report.recipe;
  r.parts = {{"liquid", Mass::micrograms(liquid), PartKind::liquid},
             {"powder", Mass::micrograms(powder), PartKind::powder}};
  r.mix = r.parts[0].mass + r.parts[1].mass;
  r.ratio_asked = r.ratio_weighed = Ratio::of(3.2);
  return report;
}

/// Whole micrograms of the decimal digits that follow `key`, or nothing when there are more than six
/// decimals.
std::vector<std::int64_t> printed_micrograms(const std::string& document, const std::string& key) {
  std::vector<std::int64_t> out;
  for (std::size_t at = 0; (at = document.find("\"" + key + "\": ", at)) != std::string::npos;) {
    at += key.size() + 4;
    const std::size_t end = document.find_first_of(",\n", at);
    const std::string digits = document.substr(at, end - at);
    const std::size_t point = digits.find('.');
    std::string fraction = point == std::string::npos ? "" : digits.substr(point + 1);
    REQUIRE(digits.find('e') == std::string::npos);
    REQUIRE_MESSAGE(fraction.size() <= 6, digits);
    fraction.resize(6, '0');
    out.push_back(std::stoll(digits.substr(0, point)) * 1'000'000 + std::stoll(fraction));
  }
  return out;
}

}  // namespace

TEST_CASE("Grams are printed as the exact decimals they are, so that sums of printed parts are exact") {
  std::mt19937_64 random(20);
  const std::int64_t steps[] = {1, 10, 100, 1'000, 10'000, 50'000, 100'000, 500'000, 1'000'000};
  for (int i = 0; i < 20'000; ++i) {
    const std::int64_t step = steps[random() % std::size(steps)];
    const auto liquid = static_cast<std::int64_t>(random() % 2'000'000'000) / step * step + 1000 * step;
    const auto powder = static_cast<std::int64_t>(random() % 2'000'000'000) / step * step + 1000 * step;
    if (liquid < 100 || powder < 100) continue;  // below 1e-4 g numbers may be written with an exponent
    const std::string document = mix_json(report_of(liquid, powder));
    REQUIRE(printed_micrograms(document, "g") == std::vector{liquid, powder});
    REQUIRE(printed_micrograms(document, "mix_g") == std::vector{liquid + powder});
  }
  // Two for which the shortest digits are easily missed.
  CHECK(mix_json(report_of(649, 5'754)).find("\"g\": 0.000649") != std::string::npos);
}

TEST_CASE("Doubles come back bit for bit, without a negative zero") {
  std::mt19937_64 random(3);
  for (int i = 0; i < 5'000; ++i) {
    MeasureReport report;
    report.files.emplace_back();
    MeasureRow& f = report.files[0];
    const double x = std::ldexp(static_cast<double>(random()), static_cast<int>(random() % 80) - 90);
    f.bounds = {{Point{x, -x, -0.0}, Point{1e300, 1, 0.1}}};
    const std::string document = measure_json(report);
    const auto parsed = nlohmann::json::parse(document);
    const auto& low = parsed["files"][0]["bounds_mm"][0];
    REQUIRE(low[0].get<double>() == x);
    REQUIRE(low[1].get<double>() == -x);
    REQUIRE_FALSE(std::signbit(low[2].get<double>()));
    REQUIRE(document.find("-0\n") == std::string::npos);
  }
}

TEST_CASE("What is not finite becomes null, never a word that is no JSON") {
  MeasureReport report;
  report.files.emplace_back();
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  report.files[0].bounds = {{Point{nan, inf, -inf}, Point{}}};
  const auto parsed = nlohmann::json::parse(measure_json(report));
  for (int k = 0; k < 3; ++k)
    CHECK(parsed["files"][0]["bounds_mm"][0][static_cast<std::size_t>(k)].is_null());
}

TEST_CASE("Any bytes make valid JSON; a name that is not UTF-8 is given exactly as well") {
  MeasureReport report;
  const std::string names[] = {"plain.stl", "caf\xE9.stl", "\x01\"\\\n", "f", "fo", "foo", "\xFF", "漢.stl"};
  for (const std::string& name : names) {
    report.files.emplace_back();
    report.files.back().path = name;
    report.files.back().error = fail(Code::file_missing, "there is no “" + name + "”");
  }
  const std::string document = measure_json(report);
  const auto parsed = nlohmann::json::parse(document);
  CHECK(document.back() == '\n');
  CHECK(parsed["files"][0]["path"] == "plain.stl");
  CHECK_FALSE(parsed["files"][0].contains("path_base64"));
  CHECK(parsed["files"][1]["path"] == "caf\uFFFD.stl");
  CHECK(parsed["files"][1]["path_base64"] == "Y2Fm6S5zdGw=");
  CHECK(parsed["files"][2]["path"] == names[2]);
  CHECK(parsed["files"][6]["path_base64"] == "/w==");
  CHECK(parsed["files"][7]["path"] == "漢.stl");
  CHECK(parsed["files"][7]["error"]["code"] == "file-missing");
}

TEST_CASE("Empty lists and objects stand on one line, keys keep their order") {
  CHECK(
      problem_json(fail(Code::usage, "no", "yes")) ==
      "{\n \"schema\": \"pourwright.error/1\",\n \"error\": {\n  \"code\": \"usage\",\n  \"text\": \"no\",\n"
      "  \"hint\": \"yes\"\n }\n}\n");
  CHECK(measure_json({}) == "{\n \"schema\": \"pourwright.measure/1\",\n \"files\": []\n}\n");
}
