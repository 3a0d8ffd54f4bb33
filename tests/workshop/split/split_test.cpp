// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/split.hpp>

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

Cup cup(std::string name, double percent, std::vector<PigmentDose> pigments = {}) {
  return {std::move(name), Ratio::percent(percent), std::move(pigments)};
}
Cup rest(std::string name) {
  return {std::move(name), std::nullopt, {}};
}
PigmentDose dose(std::string name, double percent) {
  return {std::move(name), Ratio::percent(percent)};
}

const Note* find_note(const Split& s, std::string_view code) {
  const auto it = std::find_if(s.notes.begin(), s.notes.end(), [&](const Note& n) { return n.code == code; });
  return it == s.notes.end() ? nullptr : &*it;
}
Code code_of(Mass total, const std::vector<Cup>& cups, const SplitOptions& options = {}) {
  const auto s = split_mix(total, cups, options);
  REQUIRE_FALSE(s);
  CHECK_FALSE(s.error().text.empty());
  CHECK_FALSE(s.error().hint.empty());
  return s.error().code;
}

}  // namespace

TEST_CASE("kelp with chalk veins: 1000 g in three cups, one of them the rest") {
  const auto s = split_mix(
      Mass::grams(1000),
      {cup("green", 70, {dose("Kelp", 2)}), cup("veins", 12.5, {dose("Chalk", 1.5)}), rest("plain")}, {});
  REQUIRE(s);
  CHECK(s->mix == Mass::grams(1000));
  REQUIRE(s->cups.size() == 3);
  CHECK(s->cups[0].mix == Mass::grams(700));
  CHECK(s->cups[1].mix == Mass::grams(125));
  CHECK(s->cups[2].mix == Mass::grams(175));
  CHECK(s->cups[2].share == Ratio::percent(17.5));
  CHECK(s->cups[0].pigment == Mass::grams(14));
  CHECK(s->cups[1].pigment == Mass::micrograms(1'880'000));  // 1.875 g, the tie goes to the even step
  CHECK(s->cups[2].pigments.empty());
  CHECK(s->notes.empty());
}

// Hamilton on thirds: whole grams, the sum exact, the odd gram to the first.
TEST_CASE("thirds that do not divide") {
  const auto s = split_mix(Mass::grams(1000), {cup("a", 33.3333), cup("b", 33.3333), rest("c")}, {});
  REQUIRE(s);
  CHECK(s->cups[0].mix == Mass::grams(333));
  CHECK(s->cups[1].mix == Mass::grams(333));
  CHECK(s->cups[2].mix == Mass::grams(334));  // its share is 33.3334 %
}

TEST_CASE("a total off the step is rounded down and said so") {
  const auto s = split_mix(Mass::grams(500.7), {cup("a", 50), rest("b")}, {});
  REQUIRE(s);
  CHECK(s->mix == Mass::grams(500));
  CHECK(find_note(*s, "rounded-down"));
}

TEST_CASE("shares that do not make a whole are refused") {
  const Mass m = Mass::grams(1000);
  CHECK(code_of(m, {cup("a", 50), cup("b", 49)}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", 50), cup("b", 51)}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", 100), rest("b")}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", 60), cup("b", 60), rest("c")}) == Code::shares_invalid);
  CHECK(code_of(m, {rest("a"), rest("b")}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", 0), cup("b", 100)}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", -10), cup("b", 110)}) == Code::shares_invalid);
  CHECK(code_of(m, {cup("a", 33.33), cup("b", 33.33), cup("c", 33.33)}) == Code::shares_invalid);
  CHECK(split_mix(m, {rest("all")}, {}));
  CHECK(split_mix(m, {cup("all", 100)}, {}));
}

TEST_CASE("other orders that cannot be filled") {
  CHECK(code_of(Mass::grams(100), {}) == Code::usage);
  CHECK(code_of(Mass::grams(100), {cup("a", 50), cup("a", 50)}) == Code::usage);
  CHECK(code_of(Mass{}, {rest("a")}) == Code::amount_not_positive);
  CHECK(code_of(Mass::grams(0.4), {rest("a")}) == Code::amount_not_positive);
  CHECK(code_of(Mass::grams(-5), {rest("a")}) == Code::amount_not_positive);
  CHECK(code_of(Mass::micrograms(INT64_MAX), {rest("a")}) == Code::bad_quantity);
  SplitOptions options;
  options.pigment_step = Mass{};
  CHECK(code_of(Mass::grams(100), {rest("a")}, options) == Code::bad_quantity);
}

TEST_CASE("the ceiling holds in every cup by itself") {
  const auto over = split_mix(Mass::grams(1000),
                              {cup("a", 90), cup("dark", 10, {dose("Slate", 2), dose("Rust", 1.5)})}, {});
  REQUIRE_FALSE(over);
  CHECK(over.error().code == Code::pigment_over_ceiling);
  CHECK(over.error().text.find("dark") != std::string::npos);
  const auto near = split_mix(Mass::grams(1000), {cup("a", 90), cup("dark", 10, {dose("Slate", 2.8)})}, {});
  REQUIRE(near);
  CHECK(find_note(*near, "pigment-near-ceiling"));
}

TEST_CASE("a pigment too small for the scale comes with a master batch") {
  // 0.2 % of 60 g is 0.12 g: twelve steps of 0.01 g.
  const auto s = split_mix(Mass::grams(300), {cup("tint", 20, {dose("Rust", 0.2)}), rest("plain")}, {});
  REQUIRE(s);
  const Note* note = find_note(*s, "pigment-too-small");
  REQUIRE(note);
  CHECK(note->warning);
  CHECK(note->text.find("Rust for tint") != std::string::npos);
  REQUIRE(s->cups[0].masters.size() == 1);
  const MasterBatch& m = s->cups[0].masters[0];
  CHECK(m.pigment == Mass::grams(0.5));
  CHECK(m.mix == Mass::grams(2));     // one in five: one in two would leave 24 steps to weigh
  CHECK(m.take == Mass::grams(0.6));  // holds 0.12 g
  // What is left of it is taken off before the cups are filled: 1.9 g with 1.52 g of mix in it.
  CHECK(m.left() == Mass::grams(1.9));
  CHECK(s->aside == Mass::grams(1.52));
  CHECK(s->mix == Mass::grams(298));
  // Thirty steps need no more than halving.
  const auto half = split_mix(Mass::grams(300), {cup("tint", 20, {dose("Rust", 0.5)}), rest("plain")}, {});
  REQUIRE(half);
  REQUIRE(half->cups[0].masters.size() == 1);
  CHECK(half->cups[0].masters[0].mix == Mass::grams(0.5));
  CHECK(half->cups[0].masters[0].take == Mass::grams(0.6));
  // On a fine enough scale no help is needed.
  SplitOptions fine;
  fine.pigment_step = Mass::grams(0.001);
  CHECK(split_mix(Mass::grams(300), {cup("tint", 20, {dose("Rust", 0.2)}), rest("plain")}, fine)
            ->notes.empty());
}

TEST_CASE("where even a master batch would overflow the cup only the finer scale is named") {
  SplitOptions options;
  options.pigment_step = Mass::grams(1);
  const auto s = split_mix(Mass::grams(100), {cup("tint", 40, {dose("Rust", 1)}), rest("plain")}, options);
  REQUIRE(s);  // fifty steps of 1 g do not fit in 40 g
  CHECK(s->cups[0].masters.empty());
  REQUIRE(find_note(*s, "step-too-coarse"));
}

TEST_CASE("random splits: exact sums, whole steps, honest master batches") {
  std::mt19937_64 random(1618);
  const auto between = [&](double a, double b) {
    return a + (b - a) * static_cast<double>(random() >> 11) * 0x1p-53;
  };
  int masters = 0;
  for (int i = 0; i < 5'000; ++i) {
    SplitOptions options;
    options.scale_step = Mass::grams(std::pow(10, between(-1, 0.5)));
    options.pigment_step = Mass::grams(std::pow(10, between(-3, -1)));
    std::vector<Cup> cups;
    const std::size_t count = random() % 6;
    for (std::size_t k = 0; k < count; ++k)
      cups.push_back(cup("cup " + std::to_string(k), between(0.5, 16),
                         {dose("A", between(0, 1.5)), dose("B", between(0, 1.5))}));
    cups.insert(cups.begin() + static_cast<std::ptrdiff_t>(random() % (count + 1)), rest("rest"));
    const Mass total = Mass::grams(std::pow(10, between(1, 4)));
    const auto s = split_mix(total, cups, options);
    REQUIRE(s);
    REQUIRE(s->mix + s->aside <= total);
    if (s->aside == Mass()) REQUIRE(total - s->mix < options.scale_step);
    Mass aside;
    Mass sum;
    Ratio shares;
    for (const FilledCup& c : s->cups) {
      sum += c.mix;
      shares = shares + c.share;
      REQUIRE(c.mix.in_micrograms() % options.scale_step.in_micrograms() == 0);
      REQUIRE(std::abs(c.mix.in_grams() - s->mix.in_grams() * c.share.value()) <
              options.scale_step.in_grams());
      Mass pigment;
      for (const Part& p : c.pigments) {
        pigment += p.mass;
        REQUIRE(p.mass.in_micrograms() % options.pigment_step.in_micrograms() == 0);
      }
      REQUIRE(pigment == c.pigment);
      for (const MasterBatch& m : c.masters) {
        ++masters;
        REQUIRE(m.take >= options.pigment_step * 50);
        REQUIRE(m.take <= c.mix);
        REQUIRE(m.mix * 4 <= c.mix);
        aside += m.aside();
        REQUIRE(m.take <= m.pigment + m.mix);
        // What is taken carries the dose to half a step of the part taken.
        const double carried = m.take.in_grams() * m.pigment.in_grams() / (m.pigment + m.mix).in_grams();
        const auto cup_at = static_cast<std::size_t>(&c - s->cups.data());
        bool fits = false;
        for (const PigmentDose& d : cups[cup_at].pigments)
          fits |= d.name == m.pigment_name &&
                  std::abs(carried - d.dose.value() * c.mix.in_grams()) <= 0.0101 * carried;
        REQUIRE(fits);
      }
    }
    REQUIRE(sum == s->mix);
    REQUIRE(aside == s->aside);
    REQUIRE(shares == Ratio::percent(100));
  }
  CHECK(masters > 500);
}
