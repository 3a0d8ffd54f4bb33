// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/plan_tree.hpp"

#include <cmath>
#include <limits>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

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

TEST_CASE("items that answer only from a height up, and stopping at what is near enough") {
  std::mt19937 random(4);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0; };
  for (const int count : {1, 9, 400}) {
    std::vector<Rectangle> items;
    std::vector<double> from;
    for (int i = 0; i < count; ++i) {
      const Vec2 p(unit() * 100, unit() * 100);
      Rectangle r;
      r.add(p);
      r.add(Vec2(p + Vec2(unit(), unit())));
      items.push_back(r);
      from.push_back(i % 7 == 0 ? -std::numeric_limits<double>::infinity() : std::floor(unit() * 10));
    }
    const PlanTree tree(items, from);
    int stopped = 0;
    for (int q = 0; q < 500; ++q) {
      const Vec2 p(unit() * 100, unit() * 100);
      const double height = std::floor(unit() * 12) - 1, enough = 400 * unit();
      const auto distance = [&](Index i) { return items[i].squared_distance(p); };
      double least = std::numeric_limits<double>::infinity();
      for (Index i = 0; i < items.size(); ++i)
        if (height > from[i]) least = std::min(least, distance(i));
      const auto [who, d] = tree.nearest(p, std::numeric_limits<double>::infinity(), distance, height);
      CHECK(d == least);
      if (who != none) CHECK(height > from[who]);
      const auto [any, near] =
          tree.nearest(p, std::numeric_limits<double>::infinity(), distance, height, enough);
      CHECK((any == none) == (who == none));
      if (least >= enough) CHECK(near == least);
      if (any != none) {
        CHECK(height > from[any]);
        CHECK(distance(any) == near);
      }
      CHECK((near < enough) == (least < enough));
      stopped += near > least ? 1 : 0;
    }
    if (count == 400) CHECK(stopped > 0);
  }
}
