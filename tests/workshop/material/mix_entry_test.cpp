// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/material.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const std::string base =
    "[[mix]]\nkey = \"attic\"\nratio = 2.8\ndensity = \"1.79 g/mL\"\ndensity-from = \"cup test\"\n";
std::string component(std::string_view rest) {
  return base + "[[mix.component]]\n" + std::string(rest);
}
Problem entry_problem(const std::string& text) {
  const auto c = parse_catalogue(text, "x.toml");
  REQUIRE_MESSAGE(!c.has_value(), text);
  return c.error();
}
bool has_text(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("components stand in the order of weighing, whatever the order in the file") {
  const auto c = parse_catalogue(component("name = \"crumbs\"\nkind = \"chips\"\nshare = \"20 %\"\n"
                                           "density = \"1.9 g/mL\"\n[[mix.component]]\nkind = \"fibre\"\n"
                                           "per-liquid = 0.01\n[[mix.component]]\nkind = \"retarder\"\n"
                                           "share = \"0.3 %\"\n"),
                                 "x.toml");
  REQUIRE_MESSAGE(c, c.error().text);
  const Mix& mix = c->mixes[0];
  REQUIRE(mix.components.size() == 3);
  CHECK(mix.components[0].kind == ComponentKind::retarder);
  CHECK(mix.components[0].name == "retarder");
  CHECK(mix.components[1].kind == ComponentKind::fibre);
  CHECK(mix.components[1].per_liquid == Ratio::of(0.01));
  CHECK(mix.components[2].name == "crumbs");
  CHECK(mix.components[2].share == Ratio::percent(20));
  // 20 g of chips of 1.9 and 80 g of mix of 1.79.
  CHECK(in_grams_per_millilitre(mix.density) == doctest::Approx(100 / (20 / 1.9 + 80 / 1.79)).epsilon(1e-6));
  CHECK(mix.density_from == DensityFrom::cup_test);
}

TEST_CASE("mistakes in a component are named with line and column") {
  CHECK(has_text(entry_problem(component("kind = \"fiber\"\nshare = \"1 %\"\n")).text, "x.toml:7:8"));
  CHECK(has_text(entry_problem(component("kind = \"filler\"\n")).text, "nowhere how much"));
  CHECK(has_text(entry_problem(component("kind = \"filler\"\nshare = \"1 %\"\nper-liquid = 0.1\n")).text,
                 "twice"));
  CHECK(has_text(entry_problem(component("kind = \"filler\"\nshare = \"95 %\"\n")).text, "outside"));
  CHECK(has_text(entry_problem(component("kind = \"filler\"\nshar = \"1 %\"\n")).hint, "share"));
  CHECK(has_text(entry_problem(component("kind = \"chips\"\nshare = \"1 %\"\n")).text, "without a density"));
  CHECK(has_text(entry_problem(component("name = \"powder\"\nshare = \"1 %\"\n")).text, "two parts"));
  CHECK(has_text(entry_problem(component("name = \"a\"\nshare = \"60 %\"\n[[mix.component]]\nname = \"b\"\n"
                                         "share = \"40 %\"\n"))
                     .text,
                 "90 %"));
  const std::string computed =
      "[[mix]]\nkey = \"a\"\nratio = 2\npowder-density = \"2.6 g/mL\"\nliquid-density = \"1 g/mL\"\nair = "
      "\"2 %\"\n"
      "[[mix.component]]\nkind = \"filler\"\nshare = \"5 %\"\n";
  CHECK(has_text(entry_problem(computed).text, "“filler” has no density"));
  CHECK(parse_catalogue(computed + "density = \"2.4 g/mL\"\n", "x.toml"));
}

TEST_CASE("rooms, set temperature, and what they may be") {
  const auto c = parse_catalogue(base +
                                     "set-temperature = \"52 °C\"\n[[mix.room]]\nat = \"79 F\"\nratio = 2.7\n"
                                     "working-time = \"9 min\"\n",
                                 "x.toml");
  REQUIRE_MESSAGE(c, c.error().text);
  const Mix& mix = c->mixes[0];
  CHECK(mix.set_temperature == celsius(52));
  REQUIRE(mix.rooms.size() == 1);
  CHECK(in_celsius(mix.rooms[0].at) == doctest::Approx(26.11).epsilon(1e-3));
  CHECK(mix.rooms[0].ratio == Ratio::of(2.7));
  CHECK(mix.rooms[0].demold_time == Duration());
  CHECK(has_text(entry_problem(base + "[[mix.room]]\nratio = 2.7\n").text, "no “at”"));
  CHECK(has_text(entry_problem(base + "[[mix.room]]\nat = \"90 °C\"\n").text, "outside 0 to 50 °C"));
}

TEST_CASE("the template can be read as it is and shows every kind of entry") {
  const auto c = parse_catalogue(catalogue_template(), "template.toml");
  REQUIRE_MESSAGE(c, c.error().text);
  CHECK(c->default_mix == "house");
  REQUIRE(c->mixes.size() == 2);
  CHECK(c->mixes[0].components.size() == 1);
  CHECK(c->mixes[0].rooms.size() == 1);
  CHECK(c->mixes[1].density_from == DensityFrom::components);
  REQUIRE(c->pigments.size() == 1);
  CHECK(c->pigments[0].drop == Mass::grams(0.05));
  CHECK(c->pigments[0].liquid_share == Ratio::percent(55));
  CHECK(c->pigments[0].lightness == 38);
  CHECK(c->scales.size() == 2);
  CHECK(c->leftovers.size() == 1);
  REQUIRE(c->habits);
  CHECK(c->habits->cup == Mass::grams(38));
  CHECK(c->habits->residue == Mass::grams(3));
  REQUIRE(c->supplies.size() == 3);
  const Currency euro = c->habits->currency;
  CHECK(money_text(rounded(*per_kilogram(c->supplies[0]), euro), euro) == "8.20");  // 41.00 for 5 kg
  CHECK(money_text(rounded(*per_kilogram(c->supplies[1]), euro), euro) == "2.44");  // 61.00 for 25 kg
  CHECK(money_text(rounded(*per_kilogram(c->supplies[2]), euro), euro) == "12.00");
}

TEST_CASE("workshop, leftovers and supplies are checked like the rest") {
  CHECK(has_text(entry_problem("[workshop]\nrom = \"17 °C\"\n").hint, "room"));
  CHECK(has_text(entry_problem("[workshop]\nunits = \"imperial\"\n").text, "x.toml:2:9"));
  CHECK(has_text(entry_problem("[workshop]\ncurrency = \"EUO\"\n").text, "EUO"));
  CHECK(has_text(entry_problem("[[leftover]]\nkey = \"m\"\n").text, "no “holds”"));
  CHECK(has_text(entry_problem("[[supply]]\nname = \"powder\"\npacks = [\"5 kg at 3\"]\n").text, "packs"));
  CHECK(has_text(entry_problem("[[pigment]]\nkey = \"a\"\nlightness = 140\n").text, "0 to 100"));
}
