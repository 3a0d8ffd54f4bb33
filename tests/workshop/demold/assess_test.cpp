// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/demold.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Mix boathouse() {
  return support::demo_mix();
}
Handling usual() {
  return *built_in_catalogue().handling;
}
ThinPlace place(ThinKind kind, double t, double reach, double width) {
  return {kind, millimetres(t), millimetres(reach), millimetres(width)};
}
const ThinPlace fin = place(ThinKind::fin, 2.4, 10.5, 46);

/// As strong at its demold time as the published figure would have it, but measured.
Mix measured() {
  Mix mix = boathouse();
  mix.flexural_at_demold_mpa = green_strength(mix, usual()).at(mix.demold_time);
  return mix;
}
DemoldAnswer asked_of(const Mix& mix, const ThinPlace& p, double age_minutes, double room = 20) {
  const GreenStrength s = green_strength(in_room(mix, celsius(room)).mix, usual());
  return assess(p, s, demold_time(s, minutes(age_minutes)), usual(), mix.density);
}
DemoldAnswer asked(const ThinPlace& p, double age_minutes, double room = 20) {
  return asked_of(measured(), p, age_minutes, room);
}
std::vector<std::optional<DemoldRank>> ranked(const std::vector<ThinPlace>& places, double age_minutes) {
  const GreenStrength s = green_strength(boathouse(), usual());
  return rank_places(places, s, demold_time(s, minutes(age_minutes)), usual(), boathouse().density);
}

}  // namespace

TEST_CASE("the catalogue's green strength is the published one of the weakest grade") {
  // GOST 125-79 Table 1: grade G-2 has 1.2 MPa in bending at 2 h; the next have 1.8, 2.0 and 2.5.
  const GreenStrength s = green_strength(boathouse(), usual());
  CHECK_FALSE(s.measured);
  CHECK(s.at(minutes(120)) == doctest::Approx(1.2).epsilon(1e-9));
  CHECK(s.at(boathouse().working_time) == 0);
  CHECK(s.at(minutes(45)) == doctest::Approx(0.33 * s.full_mpa).epsilon(1e-9));
  CHECK(s.from.find("GOST 125-79") != std::string::npos);
  CHECK(usual().safety >= 3);
}

TEST_CASE("strength grows with age towards a finite value, and age_for turns it round") {
  const GreenStrength s = green_strength(boathouse(), usual());
  double before = -1;
  for (double m = 0; m < 3000; m += 7) {
    const double now = s.at(minutes(m));
    CHECK(now >= before);
    CHECK(now < s.full_mpa);
    before = now;
  }
  for (const double mpa : {0.1, 0.6, 1.2, 1.6})
    CHECK(s.at(*s.age_for(mpa)) == doctest::Approx(mpa).epsilon(1e-9));
  CHECK_FALSE(s.age_for(s.full_mpa));
  CHECK_FALSE(s.age_for(s.full_mpa * 0.9999));  // days away
}

TEST_CASE("a measured strength takes the place of the published one") {
  Mix mix = boathouse();
  mix.flexural_at_demold_mpa = 1.6;
  const GreenStrength s = green_strength(mix, usual());
  CHECK(s.measured);
  CHECK(s.at(mix.demold_time) == doctest::Approx(1.6).epsilon(1e-9));
}

TEST_CASE("a slow mix is not believed to be strong at two hours, a mix without times gets stated ones") {
  Mix slow = boathouse();
  slow.demold_time = minutes(600);
  slow.working_time = minutes(90);
  CHECK(green_strength(slow, usual()).at(minutes(120)) < 0.1);
  CHECK(green_strength(slow, usual()).full_mpa < 2.2);
  Mix untold = boathouse();
  untold.demold_time = untold.working_time = Duration();
  const GreenStrength s = green_strength(untold, usual());
  CHECK(s.demold_assumed);
  CHECK(s.usual_demold == minutes(45));
  CHECK(s.sets == minutes(15));
}

TEST_CASE("stresses of a fin, by hand") {
  Handling h;
  h.peel_n_per_mm = 0.05;
  h.pry_n = 5;
  const Density d = grams_per_millilitre(1.75);
  const PlaceStress s = stress_in(place(ThinKind::lip, 4, 30, 20), h, d);
  CHECK(s.pry_mpa == doctest::Approx(2.8125));  // 5 N over the whole 20 mm
  CHECK(s.peel_mpa == doctest::Approx(6 * 0.05 * 30 / 16));
  CHECK(s.weight_mpa == doctest::Approx(0.01158).epsilon(1e-3));
  CHECK(s.worst_load() == "prying");
  // On a long lip the push is borne by twice the reach, however long the lip is.
  CHECK(stress_in(place(ThinKind::lip, 4, 30, 500), h, d).pry_mpa == doctest::Approx(6 * 5 / (1.96 * 16)));
  // A fingertip wider than that bears on its own width.
  CHECK(stress_in(place(ThinKind::lip, 4, 3, 500), h, d).pry_mpa == doctest::Approx(6 * 5 * 3 / (10.0 * 16)));
}

TEST_CASE("a plate is stiffer than a strip of its span, and a supported square follows Roark") {
  Handling h;
  const Density d = grams_per_millilitre(1.75);
  const PlaceStress s = stress_in(place(ThinKind::plate, 3, 20, 40), h, d);
  const double q = 1.75 * 9.80665 * 3e-6;
  CHECK(s.weight_mpa == doctest::Approx(0.2874 * q * 1600 / 9).epsilon(2e-3));
  CHECK(s.pry_mpa == doctest::Approx(patch_stress(1, 5, 40, 3, 1)));
  CHECK(s.peel_mpa == doctest::Approx(3 * h.peel_n_per_mm * 40 / (2.0 * 9)));
}

TEST_CASE("a fin of 2.4 mm is a high risk at 45 minutes and a low one after the advised wait") {
  const DemoldAnswer early = asked(fin, 45);
  CHECK(early.risk == Risk::high);
  REQUIRE(early.wait_until);
  CHECK(*early.wait_until > minutes(60));
  CHECK(*early.wait_until < minutes(600));
  CHECK(asked(fin, in_minutes(*early.wait_until)).risk == Risk::low);
  // … and not much longer than needed.
  CHECK(asked(fin, in_minutes(*early.wait_until) * 0.8).risk != Risk::low);
}

TEST_CASE(
    "nobody measured it: taken out at its own time nothing is high, and what is low would hold anyway") {
  std::mt19937_64 random(20262);
  for (int i = 0; i < 2000; ++i) {
    const auto some = [&](double most) {
      return most * static_cast<double>(random() >> 11) / 9007199254740992.0;
    };
    const ThinPlace p = place(static_cast<ThinKind>(random() % 5), 0.4 + some(10), some(50), 1 + some(100));
    const double room = 5 + some(30), own = in_minutes(at_room(minutes(45), celsius(room)));
    for (const double late : {1.0, 1.3, 4.0}) {
      const DemoldAnswer a = asked_of(boathouse(), p, own * late, room);
      CHECK(a.risk != Risk::high);
      CHECK((a.risk == Risk::low) == (asked(p, own * late, room).risk == Risk::low));
      CHECK_FALSE(a.wait_until);
      CHECK_FALSE(a.thicken_to);
    }
  }
  // Much earlier than that is another matter: wait for the mix's own time.
  const DemoldAnswer early = asked_of(boathouse(), fin, 20);
  CHECK(early.risk == Risk::high);
  CHECK(early.wait_until == minutes(45));
}

TEST_CASE("nobody measured it: which snaps first, and how much longer it wants than the rest") {
  // A peeled fin's stress goes with reach over thickness squared, a finger's with 1 over thickness squared.
  const ThinPlace thin = place(ThinKind::fin, 2, 10, 46), usual_fin = place(ThinKind::fin, 2.4, 10, 46);
  const auto ranks = ranked({usual_fin, thin, usual_fin, usual_fin}, 45);
  REQUIRE(ranks.size() == 4);
  REQUIRE(ranks[1]);
  CHECK(ranks[1]->against_rest == doctest::Approx(1.44));
  for (const std::size_t same : {0u, 2u, 3u}) {
    CHECK(ranks[same]->against_rest == 1);
    CHECK_FALSE(ranks[same]->wait_until);
    CHECK_FALSE(ranks[same]->thicken_to);
  }
  // At the age it is told it has as much more strength as it is strained more.
  const GreenStrength s = green_strength(boathouse(), usual());
  REQUIRE(ranks[1]->wait_until);
  CHECK(s.at(*ranks[1]->wait_until) >= 1.44 * s.at(minutes(45)));
  CHECK(s.at(*ranks[1]->wait_until - minutes(5)) < 1.44 * s.at(minutes(45)));
  REQUIRE(ranks[1]->thicken_to);
  CHECK(in_millimetres(*ranks[1]->thicken_to) == doctest::Approx(2.4));
  // How strong the mix is does not enter: any measured figure gives the same curve but for its height.
  Mix strong = boathouse();
  strong.flexural_at_demold_mpa = 7;
  const GreenStrength other = green_strength(strong, usual());
  const auto same = rank_places({usual_fin, thin, usual_fin, usual_fin}, other,
                                demold_time(other, minutes(45)), usual(), boathouse().density);
  CHECK(same[1]->wait_until == ranks[1]->wait_until);
  // Three times the strength at the demold time is all it ever has wet.
  CHECK_FALSE(ranked({usual_fin, place(ThinKind::fin, 1.3, 10, 46), usual_fin}, 45)[1]->wait_until);
  // One alone has nothing to be compared with, and nothing waits for a mix that has not set.
  CHECK_FALSE(ranked({thin}, 45)[0]);
  CHECK(ranked({}, 45).empty());
  CHECK_FALSE(ranked({usual_fin, thin}, 5)[1]->wait_until);
}

TEST_CASE("the rest is the median of the others, found the long way") {
  std::mt19937_64 random(20263);
  for (int i = 0; i < 300; ++i) {
    std::vector<ThinPlace> places(2 + random() % 9);
    for (ThinPlace& p : places)
      p = place(ThinKind::fin, 1 + static_cast<double>(random() % 4), 5 + static_cast<double>(random() % 3),
                40);
    const auto ranks = ranked(places, 45);
    for (std::size_t k = 0; k < places.size(); ++k) {
      std::vector<double> others;
      for (std::size_t j = 0; j < places.size(); ++j)
        if (j != k) others.push_back(stress_in(places[j], usual(), boathouse().density).worst_mpa());
      std::sort(others.begin(), others.end());
      const double own = stress_in(places[k], usual(), boathouse().density).worst_mpa();
      CHECK(ranks[k]->against_rest == doctest::Approx(own / others[(others.size() - 1) / 2]));
    }
  }
}

TEST_CASE("thickening as advised makes the risk low at the same age") {
  const DemoldAnswer early = asked(fin, 45);
  REQUIRE(early.thicken_to);
  CHECK(asked(place(ThinKind::fin, in_millimetres(*early.thicken_to), 10.5, 46), 45).risk == Risk::low);
  CHECK(asked(place(ThinKind::fin, in_millimetres(*early.thicken_to) - 0.2, 10.5, 46), 45).risk != Risk::low);
}

TEST_CASE("a colder room wants more time, by the rule for times") {
  const auto warm = asked(fin, 45, 26), cold = asked(fin, 45, 17);
  CHECK(warm.margin > cold.margin);
  REQUIRE(warm.wait_until);
  REQUIRE(cold.wait_until);
  CHECK(*cold.wait_until > *warm.wait_until);
  CHECK(asked(fin, in_minutes(*cold.wait_until), 17).risk == Risk::low);
  // Without an age it is asked for the mix's own demold time in that room.
  const GreenStrength s = green_strength(in_room(boathouse(), celsius(17)).mix, usual());
  const DemoldTime t = demold_time(s);
  CHECK(in_minutes(t.age) == doctest::Approx(45 * std::exp2(0.3)));
  CHECK(in_minutes(t.age_at_20) == doctest::Approx(45));
  // The whole curve is drawn out by the rule, and nothing else changes.
  const GreenStrength at_20 = green_strength(boathouse(), usual());
  for (const double m : {20.0, 45.0, 120.0, 600.0})
    CHECK(s.at(at_room(minutes(m), celsius(17))) == doctest::Approx(at_20.at(minutes(m))).epsilon(1e-9));
}

TEST_CASE("a demold time found in a warm room goes before the rule") {
  Mix mix = boathouse();
  mix.rooms.push_back({celsius(26), {}, Duration(), minutes(35)});
  const GreenStrength s = green_strength(in_room(mix, celsius(26)).mix, usual());
  CHECK(s.usual_demold == minutes(35));
  CHECK(s.at(minutes(35)) == doctest::Approx(0.33 * s.full_mpa).epsilon(1e-9));
  CHECK(demold_time(s).age == minutes(35));
}

TEST_CASE("a mix without times is taken to demold at 45 min in a room of 20 °C, later in a cold one") {
  Mix mix = boathouse();
  mix.demold_time = mix.working_time = Duration();
  const GreenStrength s = green_strength(in_room(mix, celsius(10)).mix, usual());
  CHECK(s.demold_assumed);
  CHECK(in_minutes(s.usual_demold) == doctest::Approx(90));
}

TEST_CASE("what is low needs no advice, and what a day cannot mend gets none of waiting") {
  const DemoldAnswer thick = asked(place(ThinKind::lip, 12, 10, 40), 45);
  CHECK(thick.risk == Risk::low);
  CHECK_FALSE(thick.wait_until);
  CHECK_FALSE(thick.thicken_to);
  const DemoldAnswer paper = asked(place(ThinKind::fin, 0.5, 30, 40), 45);
  CHECK(paper.risk == Risk::high);
  CHECK_FALSE(paper.wait_until);
  CHECK(paper.thicken_to);
  // Before it sets nothing helps but time.
  const DemoldAnswer liquid = asked(fin, 5);
  CHECK(liquid.margin == 0);
  CHECK(liquid.wait_until);
  CHECK_FALSE(liquid.thicken_to);
}

TEST_CASE("laws over many places: thinner and longer is never safer, later is never riskier") {
  std::mt19937_64 random(20261);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) / 9007199254740992.0;
  };
  for (int i = 0; i < 3000; ++i) {
    const auto kind = static_cast<ThinKind>(random() % 5);
    const double t = between(0.3, 12), reach = between(0, 60), width = between(0.5, 120),
                 age = between(10, 900);
    const DemoldAnswer a = asked(place(kind, t, reach, width), age);
    CHECK(std::isfinite(a.stress.worst_mpa()));
    CHECK(asked(place(kind, t * 1.3, reach, width), age).margin >= a.margin);
    CHECK(asked(place(kind, t, reach, width), age * 1.5).margin >= a.margin);
    if (kind != ThinKind::plate) CHECK(asked(place(kind, t, reach * 1.2, width), age).margin <= a.margin);
    if (a.wait_until) CHECK(asked(place(kind, t, reach, width), in_minutes(*a.wait_until)).risk == Risk::low);
    if (a.thicken_to)
      CHECK(asked(place(kind, in_millimetres(*a.thicken_to), reach, width), age).risk == Risk::low);
  }
}

TEST_CASE("the cautions say what the estimate is not, and ask for a measurement where there is none") {
  Mix mix = boathouse();
  const auto unmeasured = demold_cautions(green_strength(mix, usual()));
  REQUIRE(unmeasured.size() == 3);
  CHECK(unmeasured[0].find("not a strength certificate") != std::string::npos);
  mix.flexural_at_demold_mpa = 2;
  CHECK(demold_cautions(green_strength(mix, usual())).size() == 2);
}
