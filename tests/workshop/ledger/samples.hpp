// SPDX-License-Identifier: GPL-3.0-or-later
// Records to keep, the n-th of each kind different from the others.
#pragma once

#include <pourwright/ledger.hpp>

namespace samples {

using namespace pourwright;

inline WaterFill water(int n = 0) {
  return {"ripple_dish", "5f3a",           Mass::grams(141),
          celsius(17.5), Mass::grams(0.1), "fill " + std::to_string(n),
          n % 2 == 1};
}
inline DensityCup cup(int n = 0) {
  return {"boathouse-3.2", millilitres(200),           Mass::grams(372),
          Mass::grams(1),  "cup " + std::to_string(n), n % 3 == 1 ? "B-2031" : "",
          n % 5 == 1};
}
inline TestPour pour(int n = 0) {
  TestPour p;
  p.molds = {{"ripple_dish", "5f3a", 4}, {"knob_six", "", 1}};
  p.mix = "boathouse-3.2";
  p.ratio = Ratio::of(3.2);
  p.mixed = Mass::grams(1240);
  p.left = Mass::grams(31 + n % 1000);
  p.cups = 2;
  p.room = celsius(17);
  p.scale_step = Mass::grams(1);
  p.defects = "two pinholes, \"rim\" chipped";
  p.note = "first of the season;\nslow; " + std::to_string(n);
  if (n % 3 == 2) p.lot = "B-2031, \"fine\"";
  p.believed = n % 4 == 2;
  return p;
}
inline BatchSheet sheet(int n = 0) {
  BatchSheet s;
  s.title = "ripple dishes " + std::to_string(n);
  s.mix = "boathouse-3.2";
  s.ratio = Ratio::of(3.2);
  s.density = grams_per_millilitre(1.86);
  s.allowance = Ratio::percent(4.2);
  s.scale_step = Mass::grams(1);
  s.room = celsius(17);
  s.parts = {{"acrylic liquid", PartKind::liquid, Mass::grams(262)},
             {"mineral powder", PartKind::powder, Mass::grams(838)}};
  s.molds = {{"ripple_dish", 4, Mass::grams(1100)}};
  s.cups = {{"kelp", Ratio::percent(80), Mass::grams(880), {{"Kelp", Ratio::percent(2)}}},
            {"veins", Ratio::percent(20), Mass::grams(220), {{"Chalk", Ratio::percent(1.5)}}}};
  s.dry_colour = "a shade lighter than wet";
  s.note = "for the shop";
  return s;
}
inline StockChange stock(int n = 0) {
  StockChange c{
      "mineral powder",           static_cast<StockChange::Kind>(n % 3), Mass::grams(25'000 + n), {}, {},
      "sack " + std::to_string(n)};
  if (c.kind == StockChange::Kind::bought) {
    c.cost = Amount::billionths(61'000'000'000 + n);
    c.currency = "EUR";
  }
  return c;
}
inline LotOpened lot(int n = 0) {
  return {"mineral powder", "B-" + std::to_string(n), "from the fair"};
}
/// Water, cup, pour, sheet in turns.
inline What measured(int n) {
  switch (n % 4) {
    case 0:
      return water(n);
    case 1:
      return cup(n);
    case 2:
      return pour(n);
    default:
      return sheet(n);
  }
}
/// A different kind each time; no withdrawals.
inline What any(int n) {
  if (n % 7 == 6) return lot(n);
  return n % 5 == 4 ? What(stock(n)) : measured(n);
}
constexpr Moment morning = 1'791'797'400;  // 2026-10-12T09:30:00Z

}  // namespace samples
