// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/points.hpp"
#include "geometry/release/pieces.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pieces;

namespace {

ReleaseOptions with_search() {
  ReleaseOptions o;
  o.part = false;
  return o;
}

/// A cavity that runs down askew: the piece leaned, its top vertices then moved along its axis until they lie
/// level.
TriangleSoup leaning(const TriangleSoup& upright, const Vec3& axis, double height) {
  const Eigen::Matrix3d r = Eigen::Quaterniond::FromTwoVectors(Vec3::UnitZ(), axis).toRotationMatrix();
  return moved(upright, [&](const Vec3& p) {
    const Vec3 q = r * p;
    return p.z() == height ? Vec3(q + axis * ((height - q.z()) / axis.z())) : q;
  });
}

}  // namespace

TEST_CASE("what leaves best straight up is told to go straight up") {
  for (const TriangleSoup& s : {box(Vec3(0, 0, 0), Vec3(60, 40, 25)),
                                revolve({{0, 0}, {40, 0}, {45, 30}, {0, 30}}, 64), tee(12, 5, 6, 20, 80)}) {
    const Release r = release_of(s, with_search());
    CHECK(degrees_between(vec3(r.best.direction), Vec3::UnitZ()) < 0.5);
    CHECK(r.best.undercut == r.pull.undercut);
  }
}

TEST_CASE("a leaning box and a leaning cup leave along their own axis") {
  for (const double lean : {4.0, 17.0, 35.0}) {
    const double s = std::sin(lean * pi / 180);
    const Vec3 axis(s * 0.6, s * 0.8, std::cos(lean * pi / 180));
    const Release a = release_of(leaning(box(Vec3(-15, -10, 0), Vec3(15, 10, 40)), axis, 40), with_search());
    CHECK(mm2(a.pull.undercut) > 100);
    CHECK(degrees_between(vec3(a.best.direction), axis) < 0.1);
    CHECK(a.best.undercut == Area());
    // Tapered walls leave a choice; the middle of it has the most draft.
    const Release b =
        release_of(leaning(revolve({{0, 0}, {12, 0}, {14, 40}, {0, 40}}, 48), axis, 40), with_search());
    CHECK(b.best.undercut == Area());
    CHECK(degrees_between(vec3(b.best.direction), axis) < 1.0);
    CHECK(b.best.min_draft_degrees > 1.5);
  }
}

TEST_CASE("a piece may be turned over, a mold may not") {
  // A cone standing on its wide end: out of the narrow end its whole side is undercut, out of the wide end
  // nothing.
  const TriangleSoup cone = revolve({{0, 0}, {45, 0}, {40, 30}, {0, 30}}, 64);
  ReleaseOptions o = with_search();
  const Release fixed = release_of(cone, o);
  CHECK(fixed.best.undercut > Area());
  o.may_turn = true;
  const Release free = release_of(cone, o);
  CHECK(free.best_is_turned);
  CHECK(free.best.undercut == Area());
  CHECK(degrees_between(vec3(free.best.direction), -Vec3::UnitZ()) < 0.5);
  CHECK(free.best.min_draft_degrees == doctest::Approx(9.45).epsilon(2e-3));
}

TEST_CASE("the search never ends worse than where it started, and repeats itself") {
  std::mt19937 random(11);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0; };
  for (int i = 0; i < 30; ++i) {
    std::vector<Station> profile{{0, 0}};
    double z = 0;
    for (int k = 0; k < 6; ++k) {
      const double r = 5 + 20 * unit();
      profile.push_back({r, z += 2 + 8 * unit()});
    }
    profile.push_back({0, z});
    const TriangleSoup s = revolve(profile, 24);
    const Release r = release_of(s, with_search());
    CHECK(r.best.undercut <= r.pull.undercut);
    CHECK(release_of(s, with_search()).best.direction == r.best.direction);
    // What the search says of its direction is what that direction gives when it is asked for.
    ReleaseOptions o = with_search();
    o.pull = vec3(r.best.direction);
    CHECK(mm2(release_of(s, o).pull.undercut) == doctest::Approx(mm2(r.best.undercut)));
  }
}
