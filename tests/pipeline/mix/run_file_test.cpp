// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/mix/run_file.hpp"

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const std::string small = "[[mold]]\nkey = \"dish\"\nholds = \"58 ml\"\n[[piece]]\nmold = \"dish\"\n";

run_file::File read(const std::string& text) {
  const auto f = run_file::parse(text, "run.toml");
  REQUIRE_MESSAGE(f.has_value(), (f ? std::string() : f.error().text));
  return *f;
}
Problem refused(const std::string& text) {
  const auto f = run_file::parse(text, "run.toml");
  REQUIRE_MESSAGE(!f.has_value(), text);
  return f.error();
}

}  // namespace

TEST_CASE("the least a run file says, and what is usual for the rest") {
  const auto f = read(small);
  REQUIRE(f.molds.size() == 1);
  CHECK(f.molds[0].copies == 1);
  CHECK(*f.molds[0].holds == millilitres(58));
  CHECK(f.pieces[0].name == "dish");
  CHECK(f.pieces[0].wanted == 1);
  CHECK(f.limits.day == minutes(480));
  CHECK(f.limits.bucket == Mass());
  CHECK(!f.terms);
}

TEST_CASE("everything a run file can say") {
  const auto f = read(
      "title = \"Fair\"\nmaterial = \"x\"\nroom-celsius = 17\ncolours = [\"Chalk\", \"Kelp\"]\nallowance = "
      "\"6 %\"\nworkshop = \".\"\n"
      "[bench]\nbucket = \"2.4 kg\"\nscale = \"5 kg\"\nscale-step = \"1 g\"\nbucket-residue = \"10 "
      "g\"\ncup-residue = \"2 g\"\nshelf = 30\ncolour-order = \"once\"\n"
      "[hours]\nstart = \"07:45\"\nday = \"9 h\"\nweigh = \"5 min\"\nmix = \"2 min\"\nsplit = \"30 s\"\npour "
      "= \"50 s\"\ndemold = \"70 s\"\nrinse = \"1 min\"\nwash = \"6 min\"\n"
      "[[mold]]\nkey = \"dish\"\nname = \"Dish\"\nmix = \"120 g\"\ncopies = 4\npieces = 2\nfill = "
      "\"-2mm\"\ndemold-time = \"40 min\"\npour = \"1 min\"\ndemold = \"2 min\"\ncost = \"38,50\"\npulls = "
      "60\n"
      "[[piece]]\nmold = \"dish\"\nname = \"dish, large\"\nwanted = 24\ncolour = \"Kelp\"\naccents = "
      "[\"Chalk = 3 %\"]\norder = \"fair\"\nleftovers = \"20 %\"\n"
      "finishing = \"3 min\"\npackaging = \"0.60\"\nmarkup = \"90 %\"\n"
      "[[colour]]\nname = \"Kelp\"\ndose = \"2 %\"\n"
      "[[supply]]\nname = \"powder\"\nstock = \"3 kg\"\npacks = [\"1 kg = 4.20\", \"5 kg\"]\nbought = [\"25 "
      "kg = 61\"]\nprice = \"2.44\"\n"
      "[price]\ncurrency = \"KWD\"\nlabour = \"24.125\"\nfailed = \"4 %\"\noverhead = \"10 %\"\nfees = \"5 "
      "%\"\nmargin = \"40 %\"\nwholesale-markup = \"25 %\"\nvat = \"21 %\"\n"
      "round-to = \"0.250\"\nrounding = \"up\"\nvat-on = \"total\"\n");
  CHECK(f.start_minute == 7 * 60 + 45);
  CHECK(f.limits.never_lighter);
  CHECK(f.limits.shelf == 30);
  CHECK(*f.scale_step == Mass::grams(1));
  CHECK(f.molds[0].cost == Amount::billionths(38'500'000'000));
  CHECK(f.pieces[0].accents[0].name == "Chalk");
  CHECK(f.pieces[0].accents[0].dose == Ratio::percent(3));
  CHECK(*f.pieces[0].markup == Ratio::percent(90));
  CHECK(f.supplies[0].packs[0].price.has_value());
  CHECK(!f.supplies[0].packs[1].price);
  CHECK(f.currency.exponent == 3);
  REQUIRE(f.terms.has_value());
  CHECK(f.terms->round_to == Money::minor(250));
  CHECK(f.terms->rounding == Rounding::up);
  CHECK(f.terms->vat_on_total);
}

TEST_CASE("a shelf in places, a board, or several boards") {
  const auto f = read(small + "[bench]\nshelf = \"120 x 40 cm\"\n");
  CHECK(f.limits.shelf == 0);
  REQUIRE(f.boards.size() == 1);
  CHECK(in_millimetres(f.boards[0][0]) == doctest::Approx(1200));
  CHECK(in_millimetres(f.boards[0][1]) == doctest::Approx(400));
  const auto several = read(small + "[bench]\nshelf = [\"120 cm × 40 cm\", \"4 ft x 12in\"]\n");
  REQUIRE(several.boards.size() == 2);
  CHECK(in_millimetres(several.boards[0][0]) == doctest::Approx(1200));
  CHECK(in_millimetres(several.boards[1][0]) == doctest::Approx(1219.2));
  CHECK(in_millimetres(several.boards[1][1]) == doctest::Approx(304.8));
  const auto mold = read(
      "[[mold]]\nkey = \"dish\"\nholds = \"58 ml\"\nplaces = 3\nstands = \"14 x 12.5 cm\"\n"
      "[[piece]]\nmold = \"dish\"\n");
  CHECK(mold.molds[0].places == 3);
  REQUIRE(mold.molds[0].stands.has_value());
  CHECK(in_millimetres((*mold.molds[0].stands)[1]) == doctest::Approx(125));
  for (const char* bad : {"120 cm", "120 x 40", "x", "120 x 40 kg", "0 x 40 cm", "-1 x 40 cm",
                          "120 x 40 x 3 cm", "1 x 1000 m", "nan x 40 cm"})
    CHECK(refused(small + "[bench]\nshelf = \"" + bad + "\"\n").text.find("shelf") != std::string::npos);
  CHECK(refused(small + "[bench]\nshelf = 2.5\n").text.find("shelf") != std::string::npos);
}

TEST_CASE("mistakes are named with line and column, and what was probably meant") {
  const auto says = [](const std::string& text, std::string_view words, Code code = Code::config_bad_value) {
    const Problem p = refused(text);
    CHECK_MESSAGE(p.code == code, text);
    CHECK_MESSAGE((p.text + " " + p.hint).find(words) != std::string::npos, p.text << " / " << p.hint);
    CHECK(p.text.starts_with("run.toml"));
  };
  says(small + "wantd = 3\n", "wanted", Code::config_unknown_key);
  says(small + "[bench]\nbuket = \"2 kg\"\n", "bucket", Code::config_unknown_key);
  says("titel = \"x\"\n" + small, "title", Code::config_unknown_key);
  says("[[mold]]\nkey = \"dish\"\nholds = \"58 ml\"\n[[piece]]\nmold = \"dich\"\n", "did you mean “dish”");
  says("[[mold]]\nkey = \"dish\"\n[[piece]]\nmold = \"dish\"\n", "nowhere");
  says("[[mold]]\nkey = \"dish\"\nholds = \"5 ml\"\nmix = \"9 g\"\n[[piece]]\nmold = \"dish\"\n", "twice");
  says("[[mold]]\nkey = \"dish\"\nholds = \"5 ml\"\ncost = \"9\"\n[[piece]]\nmold = \"dish\"\n", "pulls");
  says("[[mold]]\nkey = \"dish\"\nholds = \"5 ml\"\n", "no piece");
  says(small + small, "two molds");
  says(small + "wanted = -1\n", "0 to 20000");
  says(small + "wanted = 1.5\n", "whole number");
  says(small + "accents = [\"Chalk\"]\n", "COLOUR = SHARE");
  says(small + "accents = [\"Chalk = 60 %\", \"Rust = 40 %\"]\n", "nothing for the base");
  says(small + "packaging = \"cheap\"\n", "not an amount in EUR");
  says(small + "[bench]\nbucket = 2.4\n", "with a unit");
  says(small + "[hours]\nstart = \"8 am\"\n", "hour of the day");
  says(small + "[hours]\nstart = \"08:75\"\n", "hour of the day");
  says(small + "[price]\ncurrency = \"EUX\"\n", "ISO 4217");
  says(small + "[[supply]]\nname = \"powder\"\nbought = [\"5 kg\"]\n", "no price");
  says("room-celsius = \"warm\"\n" + small, "number from");
  says("a = [\n", "", Code::config_syntax);
  says("mold = 3\n", "list of tables");
}
