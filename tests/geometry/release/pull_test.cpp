// SPDX-License-Identifier: GPL-3.0-or-later
// Draft and undercut of one direction against closed forms, at any orientation and tessellation.
#include "geometry/mesh/points.hpp"
#include "geometry/release/pieces.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pieces;

namespace {

ReleaseOptions only_pull() {
  ReleaseOptions o;
  o.search = o.part = false;
  return o;
}

Eigen::Matrix3d some_turn(std::uint32_t seed) {
  std::mt19937 random(seed);
  const auto unit = [&] { return static_cast<double>(random()) / 4294967296.0 * 2 - 1; };
  return Eigen::Quaterniond(unit(), unit(), unit(), unit()).normalized().toRotationMatrix();
}

Vec3 to_three_digits(const Vec3& d) {
  return (d * 1000).array().round().matrix() / 1000;
}

/// Runs a check on the piece as it is, finer, in another order, turned in space together with its opening,
/// and rounded as a binary STL keeps it. Where it was turned to is told as its opening, in full and to three
/// digits as people type it, or as the pull alone.
template <class Check>
void in_every_guise(const TriangleSoup& piece, Check check) {
  const TriangleSoup fine = finer(piece, 2);
  const auto single = [](const Vec3& p) { return Vec3(p.cast<float>().cast<double>()); };
  for (const TriangleSoup* s : {&piece, &fine}) {
    check(*s, only_pull());
    check(renumbered(*s, 5), only_pull());
    check(moved(*s, single), only_pull());
    for (std::uint32_t seed : {1u, 2u, 3u}) {
      const Eigen::Matrix3d r = some_turn(seed);
      ReleaseOptions o = only_pull();
      o.out = r * Vec3::UnitZ();
      const TriangleSoup there = moved(*s, [&](const Vec3& p) { return Vec3(r * p + Vec3(300, -120, 40)); });
      check(there, o);
      check(moved(there, single), o);
      o.out = to_three_digits(r * Vec3::UnitZ());
      check(there, o);
      o.out = Vec3::UnitZ();
      o.pull = r * Vec3::UnitZ();
      check(there, o);
      check(moved(there, single), o);
    }
  }
}

/// The frustum of an inscribed n-gon: its flat sides lie nearer to the axis.
double facet_draft(double top, double bottom, double height, int n) {
  return std::atan((top - bottom) * std::cos(pi / n) / height) * 180 / pi;
}

}  // namespace

TEST_CASE("draft of a frustum") {
  // atan((45 − 40)/30) = 9.4623° for the smooth frustum, closed form.
  CHECK(facet_draft(45, 40, 30, 512) == doctest::Approx(9.4623).epsilon(1e-4));
  for (const int n : {8, 64, 512})
    in_every_guise(revolve({{0, 0}, {40, 0}, {45, 30}, {0, 30}}, n), [&](const TriangleSoup& s,
                                                                         const ReleaseOptions& o) {
      const Release r = release_of(s, o);
      CHECK(r.opening == Opening::flat_top);
      CHECK(r.pull.min_draft_degrees == doctest::Approx(facet_draft(45, 40, 30, n)).epsilon(1e-3));
      CHECK(mm2(r.pull.undercut) == 0);
      CHECK(r.leaves_rigid);
    });
}

TEST_CASE("draft of a tapered box") {
  // 60 wide at the opening and 48 at the bottom, 20 high: atan(6/20) = 16.6992°, closed form.
  Builder b;
  const auto p = [](double x, double y, double z) {
    return Vec3(x * (z > 0 ? 30 : 24), y * (z > 0 ? 30 : 24), z);
  };
  const double c[5] = {1, -1, -1, 1, 1}, s[5] = {1, 1, -1, -1, 1};
  for (int k = 0; k < 4; ++k)
    b.quad(p(c[k], s[k], 0), p(c[k + 1], s[k + 1], 0), p(c[k + 1], s[k + 1], 20), p(c[k], s[k], 20));
  b.quad(p(1, 1, 20), p(-1, 1, 20), p(-1, -1, 20), p(1, -1, 20));
  b.quad(p(-1, 1, 0), p(1, 1, 0), p(1, -1, 0), p(-1, -1, 0));
  in_every_guise(b.take(), [&](const TriangleSoup& soup, const ReleaseOptions& o) {
    const Release r = release_of(soup, o);
    CHECK(r.pull.min_draft_degrees == doctest::Approx(16.6992).epsilon(1e-4));
    CHECK(mm2(r.opening_area) == doctest::Approx(3600).epsilon(1e-5));
  });
}

TEST_CASE("a straight box has no draft and no undercut") {
  in_every_guise(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), [](const TriangleSoup& s, const ReleaseOptions& o) {
    const Release r = release_of(s, o);
    CHECK(std::abs(r.pull.min_draft_degrees) < 0.01);
    CHECK(mm2(r.pull.undercut) == 0);
    CHECK(mm2(r.wall) == doctest::Approx(2400 + 2 * 25 * 100).epsilon(1e-5));
    CHECK(r.leaves_rigid);
  });
}

TEST_CASE("the undercut of a T-slot is its two ledges") {
  in_every_guise(tee(12, 5, 6, 20, 80), [](const TriangleSoup& s, const ReleaseOptions& o) {
    const Release r = release_of(s, o);
    CHECK(mm2(r.pull.undercut) == doctest::Approx(2 * 5 * 80).epsilon(1e-5));
    CHECK(in_millimetres(r.pull.depth) == doctest::Approx(5).epsilon(1e-4));
    CHECK(r.pull.min_draft_degrees == doctest::Approx(-90).epsilon(1e-3));
    REQUIRE(r.pull.places.size() == 2);
    CHECK(mm2(r.pull.places[0].area) == doctest::Approx(400).epsilon(1e-5));
    // 5 mm over half of the 12 mm that are clear.
    CHECK(r.pull.places[0].stretch == doctest::Approx(5.0 / 6).epsilon(3e-3));
    CHECK_FALSE(r.leaves_rigid);
    CHECK_FALSE(r.leaves_flexible);
    const double outline = 12 + 2 * 14 + 2 * 5 + 2 * 6 + 22, section = 22 * 6 + 12 * 14;
    CHECK(r.pull.share == doctest::Approx(800 / (outline * 80 + 2 * section - 12 * 80)).epsilon(1e-5));
  });
}

TEST_CASE("the undercut of a dovetail is its two flanks") {
  for (const double angle : {5.0, 15.0, 40.0})
    in_every_guise(dovetail(20, 12, angle, 50), [&](const TriangleSoup& s, const ReleaseOptions& o) {
      const Release r = release_of(s, o);
      CHECK(mm2(r.pull.undercut) == doctest::Approx(2 * 50 * 12 / std::cos(angle * pi / 180)).epsilon(1e-5));
      CHECK(in_millimetres(r.pull.depth) == doctest::Approx(12 * std::tan(angle * pi / 180)).epsilon(1e-4));
      CHECK(r.pull.min_draft_degrees == doctest::Approx(-angle).epsilon(1e-3));
      CHECK(r.pull.places.size() == 2);
    });
}

TEST_CASE("the undercut of a ring cone is the frustum below its neck") {
  // Neck of radius 12, shoulder of 17 four millimetres lower: π(12 + 17)·√(5² + 4²) when smooth.
  for (const int n : {12, 80, 300}) {
    const TriangleSoup cone = revolve({{0, 0}, {17, 40}, {12, 44}, {12, 46}, {22, 52}, {0, 52}}, n);
    const double exact = n * std::sin(pi / n) * 29 * std::hypot(5 * std::cos(pi / n), 4.0);
    if (n == 300) CHECK(exact == doctest::Approx(pi * 29 * std::sqrt(41.0)).epsilon(2e-4));
    in_every_guise(cone, [&](const TriangleSoup& s, const ReleaseOptions& o) {
      const Release r = release_of(s, o);
      CHECK(mm2(r.pull.undercut) == doctest::Approx(exact).epsilon(1e-5));
      // From corner to flat side and from corner to corner both belong to an n-gon.
      CHECK(in_millimetres(r.pull.depth) < 17 - 12 * std::cos(pi / n) + 1e-4);
      CHECK(in_millimetres(r.pull.depth) > 5 - 1e-4);
      REQUIRE(r.pull.places.size() == 1);
      CHECK(r.pull.places[0].stretch == doctest::Approx(5.0 / 12).epsilon(0.06));
      CHECK(r.leaves_flexible);
      CHECK_FALSE(r.leaves_rigid);
    });
  }
}

TEST_CASE("a wider foot under a narrower neck has to pass the narrowest") {
  // Two ledges: the lower, of radius 20, has to pass the upper neck of 8, not only its own of 12.
  const TriangleSoup s = revolve(
      {{0, 0}, {20, 0}, {20, 5}, {12, 5}, {12, 10}, {16, 10}, {16, 15}, {8, 15}, {8, 20}, {0, 20}}, 256);
  const Release r = release_of(s, only_pull());
  REQUIRE(r.pull.places.size() == 2);
  CHECK(in_millimetres(r.pull.places[0].depth) == doctest::Approx(12).epsilon(1e-3));
  CHECK(in_millimetres(r.pull.places[1].depth) == doctest::Approx(8).epsilon(1e-3));
  // The other way round each passes its own.
  const TriangleSoup t = revolve(
      {{0, 0}, {16, 0}, {16, 5}, {8, 5}, {8, 10}, {20, 10}, {20, 15}, {12, 15}, {12, 20}, {0, 20}}, 256);
  const Release q = release_of(t, only_pull());
  REQUIRE(q.pull.places.size() == 2);
  CHECK(in_millimetres(q.pull.places[0].depth) == doctest::Approx(8).epsilon(1e-3));
  CHECK(in_millimetres(q.pull.places[1].depth) == doctest::Approx(8).epsilon(1e-3));
}

TEST_CASE("a bowl of more than half a ball closes over itself") {
  // Ball of radius 20 cut 16 above its middle, where its radius is 12: the zone above the middle is 2πR·16.
  std::vector<Station> profile{{0, -20}};
  for (int i = 1; i <= 600; ++i) {
    const double z = -20 + 36.0 * i / 600;
    profile.push_back({std::sqrt(400 - z * z), z});
  }
  profile.push_back({0, 16});
  const Release r = release_of(revolve(profile, 360), only_pull());
  CHECK(mm2(r.pull.undercut) == doctest::Approx(2 * pi * 20 * 16).epsilon(4e-3));
  CHECK(in_millimetres(r.pull.depth) == doctest::Approx(8).epsilon(2e-3));
}

TEST_CASE("roughness of a straight wall is no undercut, a groove is one from the stated depth up") {
  TriangleSoup s = finer(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), 5);
  std::mt19937 random(7);
  for (Vec3& p : s.vertices)
    if (p.x() == 60 && p.z() > 1 && p.z() < 24)
      p.x() += 0.04 * (static_cast<double>(random()) / 4294967296.0 - 0.5);
  CHECK(mm2(release_of(s, only_pull()).pull.undercut) == 0);
  const auto grooved = [](double depth) {
    return prism({{0, 0}, {30, 0}, {30, 8}, {30 - depth, 10}, {30, 12}, {30, 20}, {0, 20}}, 50);
  };
  CHECK(mm2(release_of(grooved(0.04), only_pull()).pull.undercut) == 0);
  CHECK(mm2(release_of(grooved(0.2), only_pull()).pull.undercut) ==
        doctest::Approx(50 * std::hypot(2, 0.2)).epsilon(1e-6));
}

TEST_CASE("two pieces side by side are judged each by its own way out") {
  // The wide foot of one reaches almost under the other's opening.
  const TriangleSoup one = tee(4, 12, 5, 12, 30);
  const TriangleSoup two = moved(one, [](const Vec3& p) { return Vec3(p + Vec3(29, 0, 3)); });
  ReleaseOptions o = only_pull();
  o.levels = {millimetres(12), millimetres(15)};
  const Release r = release_of(joined({one, two}), o);
  CHECK(mm2(r.opening_area) == doctest::Approx(2 * 4 * 30));
  CHECK(mm2(r.pull.undercut) == doctest::Approx(4 * 12 * 30));
  CHECK(r.pull.places.size() == 4);
  CHECK(in_millimetres(r.pull.depth) == doctest::Approx(12));
}

TEST_CASE("the opening is the fill plane when it is given, else the flat top, else nowhere") {
  ReleaseOptions o = only_pull();
  o.levels = {millimetres(20)};
  const Release r = release_of(tee(12, 5, 6, 20, 80), o);
  CHECK(r.opening == Opening::fill_plane);
  CHECK(mm2(r.opening_area) == doctest::Approx(12 * 80));
  // Without an opening all that looks up is undercut: half of a double cone.
  const TriangleSoup ball = revolve({{0, -10}, {6, -8}, {10, 0}, {6, 8}, {0, 10}}, 32);
  const Release b = release_of(ball, only_pull());
  CHECK(b.opening == Opening::nowhere);
  CHECK(b.pull.share == doctest::Approx(0.5).epsilon(1e-9));
  CHECK_FALSE(b.leaves_rigid);
}

TEST_CASE("a leaning flat top is found as one, a facet of a dome is not") {
  ReleaseOptions o = only_pull();
  // Half a degree off, and a mesh fine enough that its highest corner alone would make a small opening.
  const TriangleSoup fine = finer(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), 6);
  o.out = Vec3(0.006, -0.006, 1);
  const Release r = release_of(fine, o);
  CHECK(r.opening == Opening::flat_top);
  CHECK(mm2(r.opening_area) == doctest::Approx(2400));
  CHECK(degrees_between(vec3(r.pull.direction), Vec3::UnitZ()) < 1e-6);
  CHECK(mm2(r.pull.undercut) == 0);
  // Beyond a degree it is no longer meant.
  o.out = Vec3(0.03, 0, 1);
  CHECK(release_of(fine, o).opening == Opening::nowhere);
  CHECK(release_of(sphere(20, 400), only_pull()).opening == Opening::nowhere);
}

TEST_CASE("a pull far from the opening that was said tells where the opening is") {
  ReleaseOptions o = only_pull();
  o.pull = Vec3::UnitX();
  const Release r = release_of(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), o);
  CHECK(mm2(r.opening_area) == doctest::Approx(40 * 25));
  CHECK(mm2(r.pull.undercut) == 0);
  // Near it, the opening stays, and so does the wall that is in the way.
  o.pull = Vec3(0.2, 0, 1);
  CHECK(mm2(release_of(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), o).opening_area) == doctest::Approx(2400));
  CHECK(mm2(release_of(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), o).pull.undercut) == doctest::Approx(40 * 25));
  // A fill plane is known and stays.
  o.pull = Vec3::UnitX();
  o.levels = {millimetres(25)};
  CHECK(mm2(release_of(box(Vec3(0, 0, 0), Vec3(60, 40, 25)), o).opening_area) == doctest::Approx(2400));
}

TEST_CASE("nothing, and what has no surface, is refused") {
  CHECK_FALSE(find_release({}, {}));
  const std::vector<Vec3> line{Vec3(0, 0, 0), Vec3(1, 0, 0), Vec3(2, 0, 0)};
  CHECK_FALSE(find_release(line, {{0, 1, 2}, {0, 2, 1}}));
}
