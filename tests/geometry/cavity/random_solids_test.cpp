// SPDX-License-Identifier: GPL-3.0-or-later
// Blocks eaten out at random: the exact tree against columns through the void, which know nothing of it.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/span_grid.hpp"
#include "support/random_solid.hpp"
#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

/// Every pool, with its own sums in order.
Cavities whole_tree(const Solid& solid) {
  CavityOptions options;
  options.floor_detail = 0;
  options.look_further = false;
  auto r = find_cavities(solid, options);
  REQUIRE(r.has_value());
  for (const Cavity& c : r->cavities.list()) CHECK(c.residual < (capacity_of(c) > 1 ? 1e-12 : 1e-9));
  for (const Note& n : r->notes) CHECK_MESSAGE(!n.warning, n.text);
  return r->cavities;
}

struct Held {
  double tree = 0, columns = 0;
};

Held held(const Solid& solid, const Cavities& found, int columns) {
  Box box;
  for (const Vec3& p : solid.vertices()) box.add(p);
  const SpanGrid grid(solid.vertices(), solid.triangles(), box, false, columns);
  Held h;
  for (const Cavity& c : found.list())
    if (c.parent == 0 && c.kind != CavityKind::sealed) h.tree += capacity_of(c);
  for (const GridPool& p : grid.pools()) h.columns += p.volume;
  return h;
}

}  // namespace

TEST_CASE("random solids hold what columns through them hold, the more so the narrower the columns") {
  int compared = 0, alike = 0;
  double wide_off = 0, narrow_off = 0;
  for (std::uint32_t seed = 1; seed <= 6; ++seed) {
    CAPTURE(seed);
    const Solid solid = solid_of(support::random_solid(seed, 20, 100));
    const Cavities found = whole_tree(solid);
    const auto off = [&](int columns) {
      const Held h = held(solid, found, columns);
      return std::abs(h.columns - h.tree) / h.tree;
    };
    if (held(solid, found, 100).tree < 100) continue;
    ++compared;
    const double narrow = off(800);
    if (off(400) < 0.02) ++alike;  // else a passage is narrower than a column
    CHECK(narrow < 0.01);
    wide_off += off(100);
    narrow_off += narrow;
  }
  CHECK(compared == 6);
  CHECK(alike >= 4);
  CHECK(narrow_off < wide_off / 8);
}
