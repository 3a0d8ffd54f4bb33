// SPDX-License-Identifier: GPL-3.0-or-later
// What the further look finds must not change, and must change in a known way, when a mold is turned, moved,
// scaled or renumbered: air traps, drains, side holes, ceilings, contradictions. Nothing in it may know a
// millimetre.
#include <pourwright/cavity.hpp>

#include "geometry/mesh/points.hpp"
#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

struct Mold {
  const char* name;
  TriangleSoup mesh;
};

/// One for every kind of finding.
std::vector<Mold> molds_twice() {
  return {
      {"drain", revolve({{2, -5}, {35, -5}, {35, 40}, {30, 40}, {30, 0}, {2, 0}}, 48, true)},
      {"side hole", bricks({0, 5, 45, 50}, {0, 5, 18, 22, 45, 50}, {0, 5, 20, 24, 40},
                           [](int i, int j, int k) {
                             return (i != 1 || j == 0 || j == 4 || k == 0) && !(i == 2 && j == 2 && k == 2);
                           })},
      {"trap", inkwell(48)},
      {"slit", bricks({0, 5, 45, 50}, {0, 5, 24.999, 25.001, 45, 50}, {0, 5, 10, 40},
                      [](int i, int j, int k) {
                        return (i != 1 || j == 0 || j == 4 || k == 0) && !(i == 2 && j == 2 && k == 1);
                      })},
  };
}

CavityResult look_twice(const TriangleSoup& s, const Vec3& up = Vec3::UnitZ()) {
  CavityOptions o;
  o.up = up;
  auto r = find_cavities(solid_of(s), o);
  REQUIRE(r.has_value());
  return *r;
}

std::vector<std::string> codes(const CavityResult& r) {
  std::vector<std::string> out;
  for (const Note& n : r.notes) out.emplace_back(n.code);
  return out;
}

/// `b` is of the mesh whose place p is where k·(r·p) + d is of `a`; lengths and places agree to `grain` of
/// the body's size, 70 mm, volumes and areas to `share`.
void check_same(const CavityResult& a, const CavityResult& b, double k, const Eigen::Matrix3d& r,
                const Vec3& d, double grain, double share) {
  const auto place = [&](const Vec3& p, const Vec3& q) {
    CHECK((q - Vec3(k * (r * p) + d)).norm() < grain * 70 * k);
  };
  const auto length = [&](Length x, Length y) {
    CHECK(in_millimetres(y) / k == doctest::Approx(in_millimetres(x)).epsilon(grain));
  };
  const auto area = [&](Area x, Area y) {
    CHECK(in_square_millimetres(y) / (k * k) == doctest::Approx(in_square_millimetres(x)).epsilon(share));
  };
  const auto volume = [&](Volume x, Volume y) {
    CHECK(in_cubic_millimetres(y) / (k * k * k) == doctest::Approx(in_cubic_millimetres(x)).epsilon(share));
  };
  CHECK(codes(a) == codes(b));
  REQUIRE(a.cavities.list().size() == b.cavities.list().size());
  for (std::size_t i = 0; i < a.cavities.list().size(); ++i) {
    const Cavity &x = a.cavities.list()[i], &y = b.cavities.list()[i];
    volume(x.capacity.value, y.capacity.value);
    volume(x.usable, y.usable);
    REQUIRE(x.air_traps.size() == y.air_traps.size());
    for (std::size_t t = 0; t < x.air_traps.size(); ++t) {
      volume(x.air_traps[t].volume, y.air_traps[t].volume);
      CHECK(x.air_traps[t].tops == y.air_traps[t].tops);
      REQUIRE(x.air_traps[t].vent_length.has_value() == y.air_traps[t].vent_length.has_value());
      if (x.air_traps[t].vent_length) length(*x.air_traps[t].vent_length, *y.air_traps[t].vent_length);
    }
  }
  REQUIRE(a.drains.size() == b.drains.size());
  for (std::size_t i = 0; i < a.drains.size(); ++i) {
    CHECK(a.drains[i].kind == b.drains[i].kind);
    volume(a.drains[i].would_hold, b.drains[i].would_hold);
    area(a.drains[i].throat.value_or(Area()), b.drains[i].throat.value_or(Area()));
    place(vec3(a.drains[i].at), vec3(b.drains[i].at));
  }
  area(a.ceiling.area, b.ceiling.area);
  CHECK(b.ceiling.share == doctest::Approx(a.ceiling.share).epsilon(share));
  CHECK(a.unheld.size() == b.unheld.size());
}

}  // namespace

TEST_CASE("the further look finds something in every mold of these tests") {
  const auto all = molds_twice();
  CHECK(look_twice(all[0].mesh).drains.size() == 1);
  CHECK(look_twice(all[1].mesh).drains.size() == 1);
  CHECK(look_twice(all[2].mesh).cavities.at(1).air_traps.size() == 1);
  CHECK(codes(look_twice(all[3].mesh)) == std::vector<std::string>{"columns-disagree"});
}

TEST_CASE("further look: scaling by k") {
  for (const Mold& m : molds_twice()) {
    const CavityResult before = look_twice(m.mesh);
    for (const double k : {1e-6, 0.37, 1e6}) {
      CAPTURE(m.name);
      CAPTURE(k);
      check_same(before, look_twice(moved(m.mesh, [k](const Vec3& p) { return Vec3(k * p); })), k,
                 Eigen::Matrix3d::Identity(), Vec3::Zero(), 1e-9, 1e-9);
    }
  }
}

TEST_CASE("further look: numbering") {
  for (const Mold& m : molds_twice()) {
    for (std::uint32_t seed = 1; seed <= 2; ++seed) {
      CAPTURE(m.name);
      const CavityResult before = look_twice(m.mesh), after = look_twice(renumbered(m.mesh, seed));
      check_same(before, after, 1, Eigen::Matrix3d::Identity(), Vec3::Zero(), 1e-9, 1e-9);
      for (std::size_t i = 0; i < before.cavities.list().size(); ++i) {
        const auto &x = before.cavities.list()[i].air_traps, &y = after.cavities.list()[i].air_traps;
        for (std::size_t t = 0; t < x.size(); ++t) CHECK(x[t].vent == y[t].vent);
      }
    }
  }
}

TEST_CASE("further look: moving by an exact offset, far from the origin too") {
  for (const Mold& m : molds_twice()) {
    // Coordinates on a grid of 2^-20 mm, so that every sum with the offset is exact.
    const TriangleSoup grid =
        moved(m.mesh, [](const Vec3& p) { return Vec3((p * 1048576).array().round() / 1048576); });
    for (const Vec3& d : {Vec3(8192, -512, 64), Vec3(-1048576, 1048576, 1048576)}) {
      CAPTURE(m.name);
      check_same(look_twice(grid), look_twice(moved(grid, [&](const Vec3& p) { return Vec3(p + d); })), 1,
                 Eigen::Matrix3d::Identity(), d, 1e-7, 1e-7);
    }
  }
}

TEST_CASE("drains and side holes are found, placed and sized whichever way the mold lies") {
  // Columns stand elsewhere in it then, and a hole in the side is looked through in other directions.
  const auto all = molds_twice();
  for (std::size_t i = 0; i < 2; ++i) {
    const CavityResult before = look_twice(all[i].mesh);
    REQUIRE(before.drains.size() == 1);
    const Drain& x = before.drains[0];
    for (std::uint32_t seed = 1; seed <= 4; ++seed) {
      CAPTURE(i);
      CAPTURE(seed);
      const Eigen::Matrix3d r = random_rotation(seed);
      const CavityResult turned = look_twice(turned_by(r, all[i].mesh), r * Vec3::UnitZ());
      REQUIRE(turned.drains.size() == 1);
      const Drain& y = turned.drains[0];
      CHECK(x.kind == y.kind);
      CHECK(in_cubic_millimetres(y.would_hold) ==
            doctest::Approx(in_cubic_millimetres(x.would_hold)).epsilon(1e-4));
      CHECK(in_square_millimetres(*y.throat) ==
            doctest::Approx(in_square_millimetres(*x.throat)).epsilon(1e-3));
      CHECK((vec3(y.at) - r * vec3(x.at)).norm() < 0.1);
    }
  }
}
