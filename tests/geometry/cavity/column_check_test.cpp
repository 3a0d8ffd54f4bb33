// SPDX-License-Identifier: GPL-3.0-or-later
// What columns see and the tree does not, and what they may cost.
#include <pourwright/cavity.hpp>

#include "geometry/cavity/span_grid.hpp"
#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

CavityResult look_by_columns(const ClosedBody& body) {
  auto r = find_cavities(body);
  REQUIRE(r.has_value());
  return *r;
}

double mm3_by_columns(Volume v) {
  return in_cubic_millimetres(v);
}

std::size_t told(const CavityResult& r, std::string_view code) {
  return static_cast<std::size_t>(
      std::count_if(r.notes.begin(), r.notes.end(), [&](const Note& n) { return n.code == code; }));
}

/// Two box cups of 40 × 40 × 35 side by side; the first with a slit of 0.002 mm through
/// its −x wall from the floor up to z = 10.
TriangleSoup two_cups(bool slit) {
  return bricks({0, 5, 45, 50}, {0, 5, 24.999, 25.001, 45, 50, 90, 95}, {0, 5, 10, 40},
                [=](int i, int j, int k) {
                  const bool inside = i == 1 && j != 0 && j != 4 && j != 6;
                  return (!inside || k == 0) && !(slit && i == 0 && j == 2 && k == 1);
                });
}

/// `n` plates of 100 × 100 × 0.5 one over the other, 0.5 apart: nothing holds anything.
TriangleSoup plates(int n) {
  std::vector<TriangleSoup> all;
  for (int i = 0; i < n; ++i) all.push_back(box({0, 0, i * 1.0}, {100, 100, i * 1.0 + 0.5}));
  return joined(all);
}

}  // namespace

TEST_CASE("void that columns see holding liquid, and that belongs to no cavity, is told") {
  const CavityResult whole = look_by_columns(solid_of(two_cups(false)));
  CHECK(whole.cavities.list().size() == 2);
  CHECK(whole.unheld.empty());
  CHECK(told(whole, "columns-disagree") == 0);

  const CavityResult r = look_by_columns(solid_of(two_cups(true)));
  REQUIRE(r.cavities.list().size() == 1);
  CHECK(mm3_by_columns(r.cavities.at(1).capacity.value) == doctest::Approx(40.0 * 40 * 35).epsilon(1e-12));
  CHECK(told(r, "columns-disagree") == 1);
  REQUIRE(r.unheld.size() == 1);
  CHECK(mm3_by_columns(r.unheld[0].volume) == doctest::Approx(40.0 * 40 * 35).epsilon(0.01));
  CHECK(r.unheld[0].at.z() == doctest::Approx(5));
  CHECK(r.unheld[0].at.x() > 5);
  CHECK(r.unheld[0].at.y() < 45);
  CHECK(in_millimetres(r.unheld[0].pitch) == doctest::Approx(95.0 / 640));
}

TEST_CASE("where the tree holds only a dip of what columns hold, the interval reaches over both") {
  // The floor has a pit of 4 × 4 × 1; above it the slit opens: the surface holds 16 mm³.
  const TriangleSoup s =
      bricks({0, 5, 23, 27, 45, 50}, {0, 5, 23, 24.999, 25.001, 27, 45, 50}, {0, 4, 5, 10, 40},
             [](int i, int j, int k) {
               const bool wall = i == 0 || i == 4 || j == 0 || j == 6;
               const bool pit = i == 2 && j >= 2 && j <= 4 && k == 1;
               return (wall || k == 0 || (k == 1 && !pit)) && !(i == 4 && j == 3 && k == 2);
             });
  const CavityResult r = look_by_columns(solid_of(s));
  REQUIRE(r.cavities.list().size() == 1);
  const Cavity& c = r.cavities.at(1);
  CHECK(mm3_by_columns(c.capacity.value) == doctest::Approx(16).epsilon(1e-9));
  CHECK(mm3_by_columns(c.capacity.high) == doctest::Approx(40.0 * 40 * 35 + 16).epsilon(0.01));
  CHECK(told(r, "columns-disagree") == 1);
}

TEST_CASE("unheld void counts from a fiftieth of what is held") {
  // The leaking cup beside one of 40 × 350 × `depth`.
  const auto told = [](double depth) {
    const auto s = bricks({0, 5, 45, 50}, {0, 5, 24.999, 25.001, 45, 50, 400, 405},
                          {35 - depth, 40 - depth, 5, 10, 40}, [](int i, int j, int k) {
                            const bool small = i == 1 && j > 0 && j < 4 && k > 1,
                                       large = i == 1 && j == 5 && k > 0;
                            return !(small || large || (i == 0 && j == 2 && k == 2));
                          });
    return look_by_columns(solid_of(s)).unheld.size();
  };
  CHECK(told(150) == 1);  // 1/38.5 of all
  CHECK(told(260) == 0);  // 1/66
}

TEST_CASE("columns grow wider where the mesh lies in many layers, and never more than that takes") {
  const Solid one = solid_of(box({0, 0, 0}, {100, 100, 1}));
  const SpanGrid plain(one.vertices(), one.triangles(), one.box(), false, 640);
  CHECK_FALSE(plain.coarsened());
  CHECK(plain.pitch() == doctest::Approx(100.0 / 640));
  // Two crossings in a column of each plate: 60 plates on 640 columns would be 49 million.
  const Solid stack = solid_of(plates(60));
  const SpanGrid coarse(stack.vertices(), stack.triangles(), stack.box(), false, 640);
  CHECK(coarse.coarsened());
  CHECK(120 * std::pow(100 / coarse.pitch(), 2) == doctest::Approx(6e6));
  const SpanGrid tight(stack.vertices(), stack.triangles(), stack.box(), false, 640, 0, 1000);
  CHECK(tight.pitch() == doctest::Approx(100.0 / 16));
}

TEST_CASE("what columns made wide by many layers cannot check is said") {
  // Two hundred plates over a cup of 5 × 5 × 3 in a block: six million crossings allow columns of 0.82 mm.
  const TriangleSoup cup = bricks({0, 20, 25, 100}, {0, 20, 25, 100}, {-10, -4, -1},
                                  [](int i, int j, int k) { return !(i == 1 && j == 1 && k == 1); });
  const CavityResult few = look_by_columns(solid_of(joined({cup, plates(3)})));
  CHECK(few.cavities.list().size() == 1);
  CHECK(told(few, "columns-coarse") == 0);
  std::vector<TriangleSoup> parts{cup};
  for (int i = 0; i < 2; ++i)
    parts.push_back(moved(plates(100), [i](const Vec3& p) { return Vec3(p + Vec3(0, 0, 100 * i)); }));
  const CavityResult many = look_by_columns(solid_of(joined(parts)));
  CHECK(many.cavities.list().size() == 1);
  CHECK(told(many, "columns-coarse") == 1);
}

TEST_CASE("a pool of the grid says where its floor is") {
  const Solid solid = solid_of(two_cups(false));
  const SpanGrid grid(solid.vertices(), solid.triangles(), solid.box(), false, 200);
  REQUIRE(grid.pools().size() == 2);
  for (const GridPool& p : grid.pools()) {
    CHECK(p.at.z() == p.floor);
    const auto again = grid.pool_at(p.at);
    REQUIRE(again.has_value());
    CHECK(again->volume == p.volume);
  }
}
