// SPDX-License-Identifier: GPL-3.0-or-later
// What must not change, and what must change in a known way, when a mold is turned, moved, scaled, renumbered
// or cut out of its block.
#include <pourwright/cavity.hpp>

#include "support/solids.hpp"
#include "support/tree_text.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

const std::vector<Station> tapered{{18, 30}, {15, 8}, {0, 8}};

/// A closed body of revolution around an inner profile given from the rim down to the axis.
TriangleSoup thin_cup(const std::vector<Station>& inner, double wall, double below, int n = 48) {
  double outer = 0, low = inner[0].z;
  for (const Station& s : inner) {
    outer = std::max(outer, s.r);
    low = std::min(low, s.z);
  }
  std::vector<Station> p{{0, low - below}, {outer + wall, low - below}, {outer + wall, inner[0].z}};
  p.insert(p.end(), inner.begin(), inner.end());
  return revolve(p, n);
}

TriangleSoup hilly(std::uint32_t seed) {
  std::mt19937 random(seed);
  std::vector<double> z;
  for (int i = 0; i < 13 * 13; ++i) z.push_back(static_cast<double>(random() % 5));
  return terrain(12, 12, 3, -4, [&](int i, int j) {
    return z[static_cast<std::size_t>(13 * i + j)] + (i == 0 || j == 0 || i == 12 || j == 12 ? 2 : 0);
  });
}

/// Molds of every kind: flush and nested cavities, a roof with a hanging neck, floating bodies, closed voids,
/// ties.
std::vector<TriangleSoup> molds() {
  const TriangleSoup nested =
      thin_cup({{40, 30}, {40, 20}, {35, 20}, {35, 5}, {25, 5}, {25, 20}, {20, 20}, {20, 0}, {0, 0}}, 5, 5);
  const TriangleSoup crowded =
      joined({thin_cup({{40, 60}, {40, 0}, {0, 0}}, 20, 15), sphere(8, 24, {3, 5, 30}),
              box({-9, 8, 10}, {4, 14, 20}), turned(sphere(5, 16, {50, 0, 30})), sphere(2, 12, {50, 0, 30})});
  return {cavity_block(4, 3, 25, 30, 0, tapered, 32, 6, 10),
          cavity_block(3, 2, 25, 30, 0, tapered, 32),
          nested,
          inkwell(48),
          crowded,
          hilly(1),
          hilly(2),
          hilly(3)};
}

Cavities cavities_held(const TriangleSoup& s, const CavityOptions& options = {}) {
  return clean_cavities(solid_of(s), options);
}

std::vector<double> sorted(const Cavities& c, double (*value)(const Cavity&)) {
  std::vector<double> v;
  for (const Cavity& k : c.list()) v.push_back(value(k));
  std::sort(v.begin(), v.end());
  return v;
}

/// Equal value by value after sorting: pairs of cavities may have changed places.
void check_equal(const Cavities& a, const Cavities& b, double (*value)(const Cavity&), double scale,
                 double tolerance) {
  const std::vector<double> x = sorted(a, value), y = sorted(b, value);
  REQUIRE(x.size() == y.size());
  for (std::size_t i = 0; i < x.size(); ++i)
    CHECK(std::abs(x[i] - y[i]) <= tolerance * (scale > 0 ? scale : std::abs(x[i])));
}

double capacity(const Cavity& c) {
  return capacity_of(c);
}
double opening(const Cavity& c) {
  return in_square_millimetres(c.opening);
}
double brim_height(const Cavity& c) {
  return in_millimetres(c.brim);
}
double floor_height(const Cavity& c) {
  return in_millimetres(c.floor);
}

void check_same_pools(const Cavities& a, const Cavities& b, double size) {
  check_equal(a, b, capacity, 0, 1e-10);
  check_equal(a, b, opening, size * size, 1e-10);
  check_equal(a, b, brim_height, size, 1e-10);
  check_equal(a, b, floor_height, size, 1e-10);
  CHECK(text_of(a, 5) == text_of(b, 5));
  const auto filled = [](const Cavities& c) {
    return std::count_if(c.list().begin(), c.list().end(), [](const Cavity& k) { return k.filled; });
  };
  CHECK(filled(a) == filled(b));
}

/// One by one, in the order in which they are numbered.
void check_same_list(const Cavities& a, const Cavities& b, double factor, double tolerance) {
  REQUIRE(a.list().size() == b.list().size());
  for (std::size_t i = 0; i < a.list().size(); ++i) {
    const Cavity &x = a.list()[i], &y = b.list()[i];
    CHECK(x.kind == y.kind);
    CHECK(x.parent == y.parent);
    CHECK(x.filled == y.filled);
    CHECK(capacity_of(y) == doctest::Approx(capacity_of(x) * factor * factor * factor).epsilon(tolerance));
    CHECK((b.wetted(y.id).middle - a.wetted(x.id).middle * factor).norm() < 1e-9 * factor * 100);
  }
}

}  // namespace

TEST_CASE("turning a mold together with up changes nothing") {
  for (const TriangleSoup& s : molds()) {
    const Cavities before = cavities_held(s);
    REQUIRE(!before.list().empty());
    const double size = bounds(s).size().norm();
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(seed);
      const Eigen::Matrix3d r = random_rotation(seed);
      CavityOptions options;
      options.up = r * Vec3::UnitZ();
      check_same_pools(before, cavities_held(turned_by(r, s), options), size);
    }
  }
}

TEST_CASE("the six axis directions") {
  for (const TriangleSoup& s : molds()) {
    const Cavities before = cavities_held(s);
    for (int axis = 0; axis < 3; ++axis)
      for (const int side : {1, -1}) {
        // z goes to ±axis; the determinant is kept at +1.
        Eigen::Matrix3d r = Eigen::Matrix3d::Zero();
        r(axis, 2) = side;
        r((axis + 1) % 3, 0) = side;
        r((axis + 2) % 3, 1) = 1;
        REQUIRE(r.determinant() == 1);
        CavityOptions options;
        options.up = r.col(2);
        const Cavities after = cavities_held(turned_by(r, s), options);
        check_equal(before, after, capacity, 0, 1e-13);
        check_equal(before, after, brim_height, 0, 0);
        CHECK(text_of(before) == text_of(after));
      }
  }
}

TEST_CASE("numbering changes nothing") {
  for (const TriangleSoup& s : molds()) {
    const Cavities before = cavities_held(s);
    for (std::uint32_t seed = 1; seed <= 10; ++seed) {
      CAPTURE(seed);
      const Cavities after = cavities_held(renumbered(s, seed));
      check_same_list(before, after, 1, 1e-12);
      for (std::size_t i = 0; i < before.list().size(); ++i) {
        CHECK(before.list()[i].brim == after.list()[i].brim);
        CHECK(before.list()[i].floor == after.list()[i].floor);
      }
    }
  }
}

TEST_CASE("scaling by k multiplies capacities by k cubed") {
  for (const TriangleSoup& s : molds())
    for (const double k : {0.37, 25.4, 1000.0}) {
      CavityOptions options;
      options.plateau = millimetres(1e-3 * k);
      check_same_list(cavities_held(s),
                      cavities_held(moved(s, [k](const Vec3& p) { return Vec3(k * p); }), options), k, 1e-11);
    }
}

TEST_CASE("moving by an exact offset changes nothing, far from the origin too") {
  for (const TriangleSoup& s : molds()) {
    // Coordinates on a grid of 2^-20 mm, so that every sum with the offset is exact.
    const TriangleSoup grid =
        moved(s, [](const Vec3& p) { return Vec3((p * 1048576).array().round() / 1048576); });
    const Cavities before = cavities_held(grid);
    for (const Vec3& d : {Vec3(8192, -512, 64), Vec3(-1048576, 1048576, 1048576)}) {
      const Cavities after = cavities_held(moved(grid, [&](const Vec3& p) { return Vec3(p + d); }));
      REQUIRE(after.list().size() == before.list().size());
      for (std::size_t i = 0; i < before.list().size(); ++i) {
        CHECK(capacity_of(after.list()[i]) == doctest::Approx(capacity_of(before.list()[i])).epsilon(1e-12));
        CHECK(brim_height(after.list()[i]) == brim_height(before.list()[i]) + d.z());
        CHECK(after.list()[i].parent == before.list()[i].parent);
        CHECK(after.list()[i].filled == before.list()[i].filled);
      }
    }
  }
}

TEST_CASE("block = part + cavity") {
  // The outside of these molds is convex, so what is not material is cavity.
  const std::vector<Station> inner{{30, 50}, {26, 30}, {28, 20}, {12, 4}, {0, 0}};
  const TriangleSoup s = thin_cup(inner, 6, 7);
  const double outside = polygon_factor(48) * pi * 36 * 36 * 57;
  const Solid solid = solid_of(s);
  CHECK(volume_of(solid) + capacity_of(clean_cavities(solid).at(1)) ==
        doctest::Approx(outside).epsilon(1e-13));

  const TriangleSoup block = cavity_block(4, 3, 25, 30, 0, tapered, 32, 6, 10);
  const Solid b = solid_of(block);
  const Cavities c = clean_cavities(b);
  CHECK(volume_of(b) + capacity_of(c.list().back()) == doctest::Approx(212.0 * 162 * 40).epsilon(1e-13));
  double held = 0;
  for (const Cavity& k : c.list()) held += k.kind == CavityKind::open ? capacity_of(k) : 0;
  CHECK(volume_of(b) + held == doctest::Approx(212.0 * 162 * 40 - 200.0 * 150 * 10).epsilon(1e-13));
}

TEST_CASE("cavities are numbered by place") {
  const Cavities c = cavities_held(cavity_block(4, 3, 25, 30, 0, tapered, 32));
  REQUIRE(c.list().size() == 12);
  for (int i = 0; i < 12; ++i) {
    const Vec3 m = c.wetted(i + 1).middle;
    CHECK(m.x() == doctest::Approx(50.0 * (i / 3)));
    CHECK(m.y() == doctest::Approx(50.0 * (i % 3)));
  }
}
