// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/release/plan_tree.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::release;

TEST_CASE("the tree finds what looking at every item finds") {
  std::mt19937 random(3);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0; };
  for (const int count : {0, 1, 4, 5, 63, 700}) {
    std::vector<Rectangle> items;
    for (int i = 0; i < count; ++i) {
      const double x = unit() * 100, y = unit() * 100, w = unit() * 4, h = unit() * 4;
      const Vec2 p(x, i % 3 == 0 ? 50.0 : y);  // many in a row
      Rectangle r;
      r.add(p);
      r.add(Vec2(p + Vec2(w, h)));
      items.push_back(r);
    }
    const PlanTree tree(items);
    for (int q = 0; q < 200; ++q) {
      const double x = unit() * 120 - 10, y = unit() * 120 - 10;
      const Vec2 p(x, y);
      double least = 1e9;
      bool any = false;
      for (const Rectangle& r : items) {
        least = std::min(least, r.squared_distance(p));
        any |= r.holds(p);
      }
      const auto [who, d] = tree.nearest(p, 1e9, [&](Index i) { return items[i].squared_distance(p); });
      CHECK(d == least);
      CHECK((who == none) == items.empty());
      CHECK(tree.any_at(p, [](Index) { return true; }) == any);
      CHECK_FALSE(tree.any_at(p, [](Index) { return false; }));
    }
  }
}
