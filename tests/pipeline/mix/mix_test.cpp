// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/mix/mix.hpp"

#include "support/demo_workshop.hpp"
#include "support/temporary_folder.hpp"

#include <fstream>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

bool has_note(const Notes& notes, std::string_view code, bool warning) {
  for (const Note& n : notes)
    if (n.code == code) return n.warning == warning;
  return false;
}

}  // namespace

TEST_CASE("Without settings the catalogue's default is mixed on a 0.1 g scale") {
  const auto chosen = choose_mix({});
  REQUIRE(chosen);
  CHECK(chosen->mix.key == built_in_catalogue().default_mix);
  CHECK(chosen->scale_step == Mass::grams(0.1));
  CHECK_FALSE(chosen->allowance);
  CHECK(chosen->notes.empty());
}

TEST_CASE("Overrides are taken and said") {
  MixSettings s;
  s.workshop = support::demo_workshop();
  s.material = "boathouse-3.2";
  s.room = celsius(20);
  s.ratio = Ratio::of(3);
  auto chosen = choose_mix(s);
  REQUIRE(chosen);
  CHECK(chosen->mix.ratio == Ratio::of(3));
  CHECK(has_note(chosen->notes, "ratio-given", true));  // the density belongs to the old ratio
  s.density = grams_per_millilitre(1.82);
  s.allowance = Ratio();
  s.scale_step = Mass::grams(5);
  chosen = choose_mix(s);
  REQUIRE(chosen);
  CHECK(has_note(chosen->notes, "ratio-given", false));
  CHECK(chosen->mix.density_from == DensityFrom::option);
  CHECK(chosen->mix.density_spread == Ratio());
  CHECK(chosen->allowance == Ratio());
  CHECK(chosen->scale_step == Mass::grams(5));
  s.ratio = Ratio::of(3.2);  // the mix's own ratio overrides nothing
  CHECK(choose_mix(s)->notes.empty());
}

TEST_CASE("Senseless overrides are refused") {
  const auto code = [](auto set) {
    MixSettings s;
    set(s);
    const auto chosen = choose_mix(s);
    REQUIRE(!chosen);
    CHECK_FALSE(chosen.error().text.empty());
    return chosen.error().code;
  };
  CHECK(code([](MixSettings& s) { s.ratio = Ratio(); }) == Code::amount_not_positive);
  CHECK(code([](MixSettings& s) { s.ratio = Ratio::of(-1); }) == Code::amount_not_positive);
  CHECK(code([](MixSettings& s) { s.density = Density(); }) == Code::amount_not_positive);
  CHECK(code([](MixSettings& s) { s.allowance = Ratio::percent(-1); }) == Code::usage);
  CHECK(code([](MixSettings& s) { s.allowance = Ratio::percent(101); }) == Code::usage);
  CHECK(code([](MixSettings& s) { s.scale_step = Mass(); }) == Code::amount_not_positive);
  CHECK(code([](MixSettings& s) { s.material = "no such thing"; }) == Code::unknown_name);
  CHECK(code([](MixSettings& s) { s.workshop = "/no/such/folder"; }) == Code::config_missing);
}

TEST_CASE("A workshop's largest scale is the one for mixing") {
  const support::TemporaryFolder folder;
  std::ofstream(folder / "scales.toml")
      << "[[scale]]\nkey = \"fine\"\nname = \"Fine\"\nstep = \"0.01 g\"\ncapacity = \"200 g\"\n"
         "[[scale]]\nkey = \"bench\"\nname = \"Bench\"\nstep = \"2 g\"\ncapacity = \"9 kg\"\n";
  MixSettings s;
  s.workshop = folder.path();
  const auto chosen = choose_mix(s);
  REQUIRE_MESSAGE(chosen, (chosen ? "" : chosen.error().text));
  CHECK(chosen->scale_step == Mass::grams(2));
}

TEST_CASE("Exactly one amount") {
  MixRequest r;
  CHECK(mix(r, {}).error().code == Code::usage);
  r.volume = millilitres(100);
  CHECK(mix(r, {}));
  r.total = Mass::grams(5);
  CHECK(mix(r, {}).error().code == Code::usage);
  r.volume.reset();
  CHECK(mix(r, {}));
  r.liquid = Mass::grams(5);
  CHECK(mix(r, {}).error().code == Code::usage);
}

TEST_CASE("Volume becomes grams by the density, with the allowance; grams are taken as they are") {
  MixSettings s;
  s.density = grams_per_millilitre(2);
  s.allowance = Ratio::percent(10);
  MixRequest r;
  r.volume = millilitres(100);
  const auto by_volume = mix(r, s);
  REQUIRE(by_volume);
  CHECK(by_volume->report.recipe.mix >= Mass::grams(220));
  CHECK(by_volume->report.recipe.mix < Mass::grams(221));
  CHECK(has_note(by_volume->chosen.notes, "density-given", false));
  MixRequest g;
  g.total = Mass::grams(220);
  const auto by_mass = mix(g, s);
  REQUIRE(by_mass);
  CHECK(by_mass->report.recipe.mix == by_volume->report.recipe.mix);
  CHECK(by_mass->chosen.notes.empty());  // no density was needed
}

TEST_CASE("The density note says how sure it is") {
  Mix m = built_in_catalogue().mixes[0];
  m.density = grams_per_millilitre(1.75);
  m.density_spread = Ratio::percent(4);
  m.density_from = DensityFrom::generic;
  CHECK(density_note(m).warning);
  CHECK(
      density_note(m).text ==
      "nobody has weighed this mix: its density of 1.75 g/ml is a table's, ±4 %; weigh a cup of known volume "
      "and record it (pourwright learn cup)");
  m.density_from = DensityFrom::components;
  CHECK(density_note(m).warning);
  m.density_from = DensityFrom::cup_test;
  CHECK_FALSE(density_note(m).warning);
}
