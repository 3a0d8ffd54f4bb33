// SPDX-License-Identifier: GPL-3.0-or-later
// What holds for any recipe: nothing lost, nothing invented, the same from whichever end it is weighed.
#include <pourwright/recipe.hpp>

#include "support/demo_workshop.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

constexpr int runs = 10'000;

class Draw {
 public:
  explicit Draw(std::uint64_t seed) : random_(seed) {}
  double between(double a, double b) { return a + (b - a) * static_cast<double>(random_() >> 11) * 0x1p-53; }
  std::size_t below(std::size_t n) { return random_() % n; }

  Mix mix() {
    Mix m = support::demo_mix();
    m.ratio = Ratio::of(between(0.3, 6));
    for (std::size_t k = below(5), i = 0; i < k; ++i) {
      Component c;
      c.kind = static_cast<ComponentKind>(below(8));
      c.name = std::string(name(c.kind)) + std::to_string(i);
      (below(2) == 0 ? c.share : c.per_liquid) = Ratio::of(between(0.001, 0.15));
      c.density = grams_per_millilitre(between(0.5, 3));
      m.components.push_back(c);
    }
    std::stable_sort(m.components.begin(), m.components.end(), [](const Component& a, const Component& b) {
      return is_wet(a.kind) && !is_wet(b.kind);
    });
    return m;
  }
  RecipeOptions options() {
    RecipeOptions o;
    const double steps[] = {0.01, 0.1, 0.5, 1, 2};
    o.scale_step = Mass::grams(steps[below(5)]);
    for (std::size_t k = below(3); k > 0; --k)
      o.pigments.push_back({"P" + std::to_string(k), Ratio::percent(between(0.1, 1.4))});
    if (below(2) == 0) {
      o.scales = {{"big", "big", o.scale_step, Mass::grams(20'000)},
                  {"fine", "fine", Mass::grams(0.01), Mass::grams(200)}};
      o.scale = "big";
    }
    if (below(2) == 0)
      for (const PigmentDose& d : o.pigments) {
        o.known.push_back({d.name, d.name});
        o.known.back().liquid_share = Ratio::percent(between(0, 80));
      }
    return o;
  }

 private:
  std::mt19937_64 random_;
};

Mass sum_of_parts(const std::vector<Part>& parts) {
  Mass total;
  for (const Part& p : parts) total += p.mass;
  return total;
}

}  // namespace

TEST_CASE("10,000 recipes: the sum_of_parts exact, every part within a step, the same from the liquid") {
  Draw draw(31415);
  for (int i = 0; i < runs; ++i) {
    const Mix mix = draw.mix();
    const RecipeOptions o = draw.options();
    const Mass wanted = Mass::grams(std::pow(10, draw.between(1.5, 4)));
    const auto r = weigh_for_total(mix, wanted, o);
    REQUIRE(r);
    REQUIRE(sum_of_parts(r->parts) == r->mix);
    REQUIRE(r->mix >= wanted);
    const double liquid = r->parts[0].mass.in_grams();
    // Every part against its proportion, in real numbers; pigments against what takes them.
    double takes = 0;
    std::size_t k = 0;
    Mass brought;
    for (const Part& p : r->parts)
      if (p.kind == PartKind::pigment)
        for (const Pigment& known : o.known)
          if (known.name == p.name) brought += p.mass * known.liquid_share;
    for (const Proportion& p : proportions(mix)) {
      const Part& part = r->parts[k++];
      REQUIRE(part.name == p.name);
      REQUIRE(part.mass.in_micrograms() % part.step.in_micrograms() == 0);
      if (!p.kind && part.kind == PartKind::powder && brought > Mass())
        REQUIRE(std::abs(part.mass.in_grams() - mix.ratio.value() * (liquid + brought.in_grams())) <
                (1 + mix.ratio.value() * static_cast<double>(o.pigments.size())) * part.step.in_grams() +
                    1e-3);
      else if (o.known.empty())
        REQUIRE(std::abs(part.mass.in_grams() - liquid * static_cast<double>(p.millionths) / 1e6) <
                std::max(part.step, o.scale_step).in_grams() + 1e-6 * liquid);
      if (p.kind != ComponentKind::chips) takes += part.mass.in_grams();
    }
    for (const PigmentDose& d : o.pigments) {
      const Part& part = r->parts[k++];
      REQUIRE(std::abs(part.mass.in_grams() - takes * d.dose.value()) <= part.step.in_grams() / 2 + 1e-6);
    }
    // Weighed again from the liquid that went in, it is the same batch, part by part.
    const auto again = weigh_for_liquid(mix, r->parts[0].mass, o);
    REQUIRE(again);
    REQUIRE(again->mix == r->mix);
    for (std::size_t p = 0; p < r->parts.size(); ++p) REQUIRE(again->parts[p].mass == r->parts[p].mass);
  }
}

TEST_CASE("10,000 recipes: re-basing commutes with scaling, up to the rounding of the parts") {
  Draw draw(27182);
  for (int i = 0; i < runs; ++i) {
    const Mix mix = draw.mix();
    RecipeOptions o = draw.options();
    o.scales.clear();  // a larger part may move to a coarser scale
    const std::int64_t k = 2 + static_cast<std::int64_t>(draw.below(30));
    const Mass liquid = round_up_to(Mass::grams(draw.between(5, 500)), o.scale_step);
    const auto one = weigh_for_liquid(mix, liquid, o), many = weigh_for_liquid(mix, liquid * k, o);
    REQUIRE(one);
    REQUIRE(many);
    REQUIRE(many->parts[0].mass == one->parts[0].mass * k);
    // What follows from rounded parts (shares of the whole, pigment) carries their half steps along.
    const double reach = 1 + static_cast<double>(mix.components.size());
    for (std::size_t p = 1; p < one->parts.size(); ++p) {
      const double apart = (many->parts[p].mass - one->parts[p].mass * k).in_grams();
      REQUIRE(std::abs(apart) <= static_cast<double>(k + 1) / 2 * reach * o.scale_step.in_grams() + 1e-3);
    }
  }
}

TEST_CASE("10,000 batches of a fixed total: whole steps, exact, near the ratio") {
  Draw draw(16180);
  for (int i = 0; i < runs; ++i) {
    const Mix mix = draw.mix();
    const Mass step = draw.options().scale_step,
               total = round_up_to(Mass::grams(draw.between(60, 5000)), step);
    const auto r = weigh_exactly(mix, total, step);
    REQUIRE(r);
    REQUIRE(r->mix == total);
    REQUIRE(sum_of_parts(r->parts) == total);
    double whole = 0;
    const auto all = proportions(mix);
    for (const Proportion& p : all) whole += static_cast<double>(p.millionths);
    for (std::size_t p = 0; p < all.size(); ++p) {
      REQUIRE(r->parts[p].mass.in_micrograms() % step.in_micrograms() == 0);
      const double exact = total.in_grams() * static_cast<double>(all[p].millionths) / whole;
      REQUIRE(std::abs(r->parts[p].mass.in_grams() - exact) <=
              static_cast<double>(all.size()) * step.in_grams());
    }
  }
}

TEST_CASE("10,000 trays: copies and trays add up, from the molds or from the liquid") {
  Draw draw(14142);
  for (int i = 0; i < runs; ++i) {
    const Mix mix = draw.mix();
    RecipeOptions o = draw.options();
    o.allowance = Ratio::percent(draw.between(0, 15));
    std::vector<MoldDemand> molds;
    for (std::size_t k = 1 + draw.below(6); k > 0; --k)
      molds.push_back({"m", static_cast<int>(draw.below(12)) + 1,
                       Interval<Volume>::exactly(millilitres(draw.between(2, 400)))});
    if (draw.below(2) == 0) o.liquid = Mass::grams(std::floor(draw.between(500, 50'000)) / 100);
    const auto t = weigh_tray(mix, molds, o);
    REQUIRE(t);
    REQUIRE(sum_of_parts(t->total.parts) == t->total.mix);
    if (o.liquid) REQUIRE(t->total.parts[0].mass == *o.liquid);
    Mass rows;
    std::vector<Mass> columns(t->total.parts.size());
    for (const MoldRow& row : t->rows) {
      REQUIRE(sum_of_parts(row.parts) == row.mix.value);
      rows += row.mix.value;
      for (std::size_t k = 0; k < columns.size(); ++k) {
        REQUIRE(row.parts[k].mass >= Mass());
        columns[k] += row.parts[k].mass;
      }
    }
    REQUIRE(rows == t->total.mix);
    for (std::size_t k = 0; k < columns.size(); ++k) REQUIRE(columns[k] == t->total.parts[k].mass);
    // Twice as many copies of everything take twice as much, up to the batch's rounding up.
    if (o.liquid) continue;
    for (MoldDemand& m : molds) m.copies *= 2;
    const auto twice = weigh_tray(mix, molds, o);
    REQUIRE(twice);
    double jump = 0;
    for (const Proportion& p : proportions(mix)) jump += static_cast<double>(p.millionths) / 1e6;
    REQUIRE(std::abs((twice->total.mix - t->total.mix * 2).in_grams()) <
            (2 * jump + 8) * 2 * o.scale_step.in_grams() + 0.01);
  }
}
