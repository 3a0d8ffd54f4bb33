// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include "support/source_folder.hpp"

#include <fstream>
#include <random>
#include <sstream>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const std::string good_mix =
    "[[mix]]\n"
    "key = \"attic\"\n"
    "ratio = 2.8\n"
    "density = \"1.79 g/mL\"\n";

std::string replaced(std::string text, std::string_view from, std::string_view to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

/// The problem a text meets; the test fails when there is none.
Problem problem_of(std::string_view text) {
  const auto parsed = parse_catalogue(text, "x.toml");
  REQUIRE_MESSAGE(!parsed.has_value(), text);
  return parsed.error();
}

bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

/// The first ```toml block of the manual page.
std::string documented_example() {
  std::ifstream in(source_folder() / "docs/materials.md");
  REQUIRE(in.good());
  std::stringstream all;
  all << in.rdbuf();
  const std::string text = all.str();
  const std::string_view fence = "```toml\n";
  const auto from = text.find(fence);
  REQUIRE(from != std::string::npos);
  const auto to = text.find("```", from + fence.size());
  REQUIRE(to != std::string::npos);
  return text.substr(from + fence.size(), to - from - fence.size());
}

}  // namespace

TEST_CASE("the example of the manual is a valid catalogue and shows every key") {
  const std::string example = "\n" + documented_example();
  const auto c = parse_catalogue(example, "docs/materials.md");
  REQUIRE_MESSAGE(c.has_value(), c.error().text);
  CHECK(c->default_mix == "attic-2.8");
  REQUIRE(c->mixes.size() == 2);
  const Mix& cup = c->mixes[0];
  CHECK(cup.key == "attic-2.8");
  CHECK(cup.name == "Attic 2.8");
  CHECK(cup.ratio.in_millionths() == 2'800'000);
  CHECK(in_grams_per_millilitre(cup.density) == 1.79);
  CHECK(cup.density_from == DensityFrom::cup_test);
  CHECK(cup.density_spread == Ratio::percent(1.5));
  CHECK(in_minutes(cup.working_time) == 13);
  CHECK(in_minutes(cup.demold_time) == 50);
  CHECK(in_millimetres(cup.min_wall) == 3);
  CHECK(cup.flexural_at_demold_mpa == 1.4);
  REQUIRE(c->handling);
  CHECK(c->handling->pry_n == 2);
  CHECK(c->handling->peel_n_per_mm == Handling().peel_n_per_mm);
  CHECK(cup.pigment_ceiling == Ratio::percent(3));
  CHECK(cup.allowance == Ratio::percent(8));
  CHECK(cup.cautions == std::vector<std::string>{"Not for standing water."});
  const Mix& computed = c->mixes[1];
  CHECK(computed.density_from == DensityFrom::components);
  CHECK(in_grams_per_millilitre(computed.density) ==
        doctest::Approx(0.98 * (2.5 / 0.88) / (1.5 / 2.63 + 1 / 0.998 + 2.5 / 0.88 * 0.12 / 2.7))
            .epsilon(1e-6));
  REQUIRE(c->pigments.size() == 1);
  CHECK(c->pigments[0].liquid);
  REQUIRE(c->scales.size() == 1);
  CHECK(c->scales[0].step == Mass::grams(0.1));
  CHECK(c->scales[0].capacity == Mass::grams(3000));
  for (const char* key : {"default-mix",
                          "key",
                          "name",
                          "description",
                          "liquid",
                          "powder",
                          "ratio",
                          "density",
                          "density-from",
                          "density-spread",
                          "working-time",
                          "demold-time",
                          "min-wall",
                          "flexural-at-demold-mpa",
                          "pry-n",
                          "pigment-ceiling",
                          "allowance",
                          "cautions",
                          "powder-density",
                          "liquid-density",
                          "air",
                          "form",
                          "step",
                          "capacity",
                          "set-temperature",
                          "at",
                          "kind",
                          "share",
                          "room",
                          "units",
                          "cup",
                          "residue",
                          "currency",
                          "liquid-share",
                          "drop",
                          "lightness",
                          "holds",
                          "copies",
                          "packs"}) {
    CAPTURE(key);
    CHECK(contains(example, "\n" + std::string(key) + " = "));
  }
}

TEST_CASE("what is left out gets the documented default") {
  const auto c = parse_catalogue(good_mix, "x.toml");
  REQUIRE(c);
  const Mix& mix = c->mixes.at(0);
  CHECK(mix.name == "attic");
  CHECK(mix.liquid_name == "liquid");
  CHECK(mix.powder_name == "powder");
  CHECK(mix.density_from == DensityFrom::generic);
  CHECK(mix.density_spread == Ratio::percent(7));
  CHECK(mix.pigment_ceiling == Ratio::percent(3));
  CHECK_FALSE(mix.allowance);
  CHECK(in_minutes(mix.working_time) == 0);
  CHECK(mix.cautions.empty());
  CHECK(in_millimetres(mix.min_wall) == 3);
  CHECK(mix.flexural_at_demold_mpa == 0);
  CHECK_FALSE(c->handling);
  const auto cup = parse_catalogue(good_mix + "density-from = \"cup test\"\n", "x.toml");
  REQUIRE(cup);
  CHECK(cup->mixes.at(0).density_spread == Ratio::percent(2));
  CHECK(parse_catalogue("", "x.toml"));
}

TEST_CASE("a handling table keeps what it leaves out, and is bounded like the rest") {
  const auto c = parse_catalogue(
      "[handling]\npeel-n-per-mm = 0.1\nsafety = 4\ngreen-flexural-mpa = 2.5\ngreen-age = \"90 min\"\n"
      "green-from = \"our bars\"\npry-contact = \"6 mm\"\nshare-at-demold = \"50 %\"\n",
      "x.toml");
  REQUIRE(c);
  REQUIRE(c->handling);
  CHECK(c->handling->peel_n_per_mm == 0.1);
  CHECK(c->handling->pry_n == Handling().pry_n);
  CHECK(c->handling->safety == 4);
  CHECK(c->handling->green_flexural_mpa == 2.5);
  CHECK(in_minutes(c->handling->green_age) == 90);
  CHECK(c->handling->green_from == "our bars");
  CHECK(in_millimetres(c->handling->pry_contact) == 6);
  CHECK(c->handling->share_at_demold == Ratio::percent(50));
  CHECK(problem_of("[handling]\nsafety = 2\n").code == Code::config_bad_value);
  CHECK(problem_of("[handling]\npryn = 2\n").code == Code::config_unknown_key);
  CHECK(problem_of(good_mix + "min-wall = \"0 mm\"\n").code == Code::config_bad_value);
  CHECK(problem_of(good_mix + "flexural-at-demold-mpa = \"2 MPa\"\n").code == Code::config_bad_value);
}

TEST_CASE("the built-in handling table says what the program would assume without it") {
  REQUIRE(built_in_catalogue().handling);
  const Handling& said = *built_in_catalogue().handling;
  const Handling assumed;
  CHECK(said.peel_n_per_mm == assumed.peel_n_per_mm);
  CHECK(said.pry_n == assumed.pry_n);
  CHECK(said.pry_contact == assumed.pry_contact);
  CHECK(said.safety == assumed.safety);
  CHECK(said.green_flexural_mpa == assumed.green_flexural_mpa);
  CHECK(said.green_age == assumed.green_age);
  CHECK(said.green_from == assumed.green_from);
  CHECK(said.share_at_demold == assumed.share_at_demold);
}

TEST_CASE("a ratio is exactly the decimal that was written") {
  for (std::int64_t millionths = 50'000; millionths <= 20'000'000; millionths += 7'919) {
    const std::string decimal = grams_text(Mass::micrograms(millionths), Mass::micrograms(1));
    const auto c = parse_catalogue(replaced(good_mix, "2.8", decimal), "x.toml");
    REQUIRE(c);
    REQUIRE(c->mixes.at(0).ratio.in_millionths() == millionths);
  }
  CHECK(parse_catalogue(replaced(good_mix, "2.8", "3"), "x.toml")->mixes.at(0).ratio == Ratio::of(3));
}

TEST_CASE("an unknown key is refused with place and suggestion, even when it leaves a gap") {
  const Problem p = problem_of(replaced(good_mix, "ratio", "ratoi"));
  CHECK(p.code == Code::config_unknown_key);
  CHECK(contains(p.text, "x.toml:3:1"));
  CHECK(contains(p.text, "ratoi"));
  CHECK(contains(p.hint, "“ratio”"));
  CHECK(problem_of("[[pigment]]\nkey = \"a\"\ncolor = \"red\"\n").code == Code::config_unknown_key);
  CHECK(problem_of("[[scale]]\nkey = \"a\"\nstep = \"1 g\"\ncapacity = \"5 kg\"\nmax = 1\n").code ==
        Code::config_unknown_key);
  const Problem top = problem_of("[[mixs]]\nkey = \"a\"\n");
  CHECK(top.code == Code::config_unknown_key);
  CHECK(contains(top.hint, "“mix”"));
  // The first one in the file, not the first in the alphabet.
  CHECK(contains(problem_of(good_mix + "zebra = 1\naardvark = 1\n").text, "zebra"));
  // Keys of the other way to state a density are known as well.
  CHECK(problem_of(good_mix + "liquid-density = \"1 g/mL\"\n").code == Code::config_bad_value);
}

TEST_CASE("values of the wrong type or out of range are refused with their place") {
  const auto bad = [&](std::string_view from, std::string_view to, std::string_view where) {
    CAPTURE(to);
    const Problem p = problem_of(replaced(good_mix, from, to));
    CHECK(p.code == Code::config_bad_value);
    CHECK(contains(p.text, where));
    CHECK_FALSE(p.hint.empty());
  };
  for (const char* ratio :
       {"\"2.8\"", "true", "[2.8]", "0", "0.049", "20.1", "-3.2", "nan", "inf", "1e300", "2020-01-01"})
    bad("2.8", ratio, "x.toml:3:9");
  for (const char* density : {"\"1.79\"", "1.79", "\"0.4 g/mL\"", "\"4.1 g/mL\"", "\"1.79 g\"",
                              "\"nan g/mL\"", "\"\"", "\"1,7,9 g/mL\"", "{}"})
    bad("\"1.79 g/mL\"", density, "x.toml:4:11");
  for (const char* key : {"\"Attic\"", "\"a b\"", "\"\"", "\"-a\"", "7", "\"a\\u001bb\""})
    bad("\"attic\"", key, "x.toml:2:7");
  for (const char* line :
       {"density-spread = \"51 %\"", "density-spread = 2", "working-time = \"14\"", "working-time = \"1 s\"",
        "demold-time = \"31 d\"", "pigment-ceiling = \"21 %\"", "allowance = \"-1 %\"", "cautions = \"one\"",
        "cautions = [1]", "name = \"a\\u001b[2J\"", "name = \"\"", "density-from = \"hearsay\"",
        "air = \"4 %\"", "liquid = 3"}) {
    CAPTURE(line);
    CHECK(problem_of(good_mix + line + "\n").code == Code::config_bad_value);
  }
}

TEST_CASE("required keys are asked for") {
  for (const char* line : {"key = \"attic\"\n", "ratio = 2.8\n", "density = \"1.79 g/mL\"\n"}) {
    const Problem p = problem_of(replaced(good_mix, line, ""));
    CHECK(p.code == Code::config_bad_value);
    CHECK(contains(p.text, "x.toml:1:1"));
    CHECK(contains(p.text, "has no"));
  }
  CHECK(contains(problem_of("[[scale]]\nkey = \"a\"\ncapacity = \"1 kg\"\n").text, "step"));
  CHECK(contains(problem_of("[[mix]]\nkey = \"a\"\nratio = 2\npowder-density = \"2.6 g/mL\"\n").text,
                 "liquid-density"));
  CHECK(contains(problem_of("[[mix]]\nkey = \"a\"\nratio = 2\npowder-density = \"2.6 g/mL\"\n"
                            "liquid-density = \"1 g/mL\"\n")
                     .text,
                 "air"));
}

TEST_CASE("contradictions are refused") {
  CHECK(contains(problem_of(good_mix + "powder-density = \"2.6 g/mL\"\n").text, "exclude each other"));
  CHECK(problem_of(
            "[[mix]]\nkey = \"a\"\nratio = 2\npowder-density = \"2.6 g/mL\"\nliquid-density = \"1 g/mL\"\n"
            "air = \"4 %\"\ndensity-from = \"cup test\"\n")
            .code == Code::config_bad_value);
  CHECK(problem_of("[[scale]]\nkey = \"a\"\nstep = \"1 g\"\ncapacity = \"0.5 g\"\n").code ==
        Code::config_bad_value);
  const Problem twice = problem_of(good_mix + good_mix);
  CHECK(twice.code == Code::config_bad_value);
  CHECK(contains(twice.text, "x.toml:5:1"));
  CHECK(problem_of("mix = 3\n").code == Code::config_bad_value);
  CHECK(problem_of("mix = [3]\n").code == Code::config_bad_value);
  CHECK(problem_of("[mix]\nkey = \"a\"\n").code == Code::config_bad_value);
  CHECK(problem_of("default-mix = 3\n").code == Code::config_bad_value);
}

TEST_CASE("broken TOML is refused with line and column") {
  const Problem p = problem_of("[[mix]]\nkey = \"a\n");
  CHECK(p.code == Code::config_syntax);
  CHECK(contains(p.text, "x.toml:2:"));
  CHECK(problem_of("key = 1\nkey = 2\n").code == Code::config_syntax);
  CHECK(problem_of("a = \"\xff\xfe\"\n").code == Code::config_syntax);
  CHECK(problem_of("ratio = 1,5\n").code == Code::config_syntax);
}

TEST_CASE("hostile nesting is refused, not followed until the stack ends") {
  std::string deep = "a";
  for (int i = 0; i < 300'000; ++i) deep += ".a";
  CHECK(problem_of(deep + " = 1\n").code == Code::config_syntax);
  CHECK(problem_of("[" + deep + "]\n").code == Code::config_syntax);
  CHECK(problem_of("a = " + std::string(300'000, '[')).code == Code::config_syntax);
  // The deepest nesting that the parser takes: long keys inside tables inside arrays.
  std::string key = "a", nested;
  for (int i = 0; i < 60; ++i) key += ".a";
  nested = key + " = ";
  for (int i = 0; i < 125; ++i) nested += "[\n{" + key + " = ";
  nested += "1";
  for (int i = 0; i < 125; ++i) nested += "}\n]";
  CHECK(problem_of(nested + "\n").code == Code::config_unknown_key);
  std::string tables;
  for (int i = 0; i < 60'000; ++i) tables += "{a=";
  CHECK(problem_of("a = " + tables).code == Code::config_syntax);
}

// Every prefix and thousands of one-byte changes: an answer each time, never a crash.
TEST_CASE("damaged catalogues are answered") {
  const std::string text = documented_example();
  for (std::size_t n = 0; n < text.size(); ++n)
    (void)parse_catalogue(std::string_view(text).substr(0, n), "x");
  std::mt19937_64 random(77);
  int refused = 0;
  for (int i = 0; i < 5'000; ++i) {
    std::string damaged = text;
    damaged[random() % damaged.size()] = static_cast<char>(random() % 256);
    const auto parsed = parse_catalogue(damaged, "x");
    if (parsed) continue;
    ++refused;
    CHECK_FALSE(parsed.error().text.empty());
  }
  CHECK(refused > 1'000);
}
