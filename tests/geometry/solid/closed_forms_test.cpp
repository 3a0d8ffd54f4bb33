// SPDX-License-Identifier: GPL-3.0-or-later
// Volumes, areas and centroids against closed forms. Where a body is round, the mesh is checked closely
// against the closed form of the polyhedron it is, and loosely against the smooth body it stands for.
// Handbook values are from memory, their arithmetic done again; the names beside them say where they can be
// looked up.
#include <pourwright/solid.hpp>

#include "support/solid_bodies.hpp"
#include "support/solids.hpp"

#include <algorithm>
#include <set>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

double area_of(const Solid& s) {
  return in_square_millimetres(s.area());
}

/// Flat faces of the convex hull of a few points: every plane through three of them with none outside.
TriangleSoup hull(const std::vector<Vec3>& points) {
  std::set<std::vector<std::size_t>> faces;
  for (std::size_t i = 0; i < points.size(); ++i)
    for (std::size_t j = 0; j < points.size(); ++j)
      for (std::size_t k = 0; k < points.size(); ++k) {
        const Vec3 n = (points[j] - points[i]).cross(points[k] - points[i]);
        if (n.norm() < 1e-9) continue;
        std::vector<std::size_t> on;
        bool outermost = true;
        for (std::size_t l = 0; l < points.size(); ++l) {
          const double d = n.normalized().dot(points[l] - points[i]);
          outermost = outermost && d < 1e-9;
          if (std::abs(d) < 1e-9) on.push_back(l);
        }
        if (outermost) faces.insert(on);
      }
  Builder b;
  for (const std::vector<std::size_t>& face : faces) {
    Vec3 middle = Vec3::Zero();
    for (const std::size_t l : face) middle += points[l] / static_cast<double>(face.size());
    const Vec3 n = middle.normalized(), e = (points[face[0]] - middle).normalized(), f = n.cross(e);
    std::vector<std::size_t> round = face;
    const auto angle = [&](std::size_t l) {
      return std::atan2((points[l] - middle).dot(f), (points[l] - middle).dot(e));
    };
    std::sort(round.begin(), round.end(), [&](std::size_t a, std::size_t c) { return angle(a) < angle(c); });
    for (std::size_t l = 2; l < round.size(); ++l)
      b.triangle(points[round[0]], points[round[l - 1]], points[round[l]]);
  }
  return b.take();
}

const double phi = (1 + std::sqrt(5.0)) / 2;

/// (0, ±a, ±b) and its cyclic turns.
void add_turns(std::vector<Vec3>& points, double a, double b) {
  for (const int s : {1, -1})
    for (const int t : {1, -1}) {
      points.push_back({0, s * a, t * b});
      points.push_back({t * b, 0, s * a});
      points.push_back({s * a, t * b, 0});
    }
}
std::vector<Vec3> icosahedron() {
  std::vector<Vec3> p;
  add_turns(p, 1, phi);
  return p;
}

void check_platonic(const std::vector<Vec3>& points, double edge, double volume, double area,
                    double inradius) {
  const Solid s = solid_of(hull(points));
  CHECK(volume_of(s) / std::pow(edge, 3) ==
        doctest::Approx(volume).epsilon(2e-9));  // as many digits as printed
  CHECK(area_of(s) / (edge * edge) == doctest::Approx(area).epsilon(2e-9));
  CHECK(3 * volume_of(s) / area_of(s) / edge == doctest::Approx(inradius).epsilon(5e-9));
  CHECK(s.centroid().norm() < 1e-14 * edge);
}

constexpr int n = 180;
const double f = polygon_factor(n);

/// A body of revolution: its polyhedron to 1e-12, the smooth body to `error`, and never above it when it is
/// convex.
Solid check_round(const std::vector<Station>& profile, double smooth, double error) {
  const Solid s = solid_of(revolve(profile, n));
  CHECK(volume_of(s) == doctest::Approx(f * frusta(profile)).epsilon(1e-12));
  CHECK(volume_of(s) == doctest::Approx(smooth).epsilon(error));
  return s;
}

std::vector<Station> closed(std::vector<Station> p) {
  if (p.front().r > 0) p.insert(p.begin(), {0, p.front().z});
  if (p.back().r > 0) p.push_back({0, p.back().z});
  return p;
}

/// Part of a sphere about the origin between two heights, from the bottom up.
std::vector<Station> zone(double radius, double z0, double z1, int steps) {
  std::vector<Station> p = arc(radius, 0, 0, std::asin(z0 / radius), std::asin(z1 / radius), steps);
  p.front().z = z0;
  p.back().z = z1;
  if (z1 == radius) p.back().r = 0;
  return p;
}

}  // namespace

TEST_CASE("Platonic solids") {
  // From memory: any handbook of mathematics; MathWorld, the article of each solid.
  const double r2 = std::sqrt(2.0), r3 = std::sqrt(3.0), r5 = std::sqrt(5.0);
  check_platonic({{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}}, 2 * r2, 0.117851130, 1.732050808,
                 0.204124145);
  std::vector<Vec3> cube;
  for (int k = 0; k < 8; ++k) cube.push_back({k & 1 ? 1.0 : -1.0, k & 2 ? 1.0 : -1.0, k & 4 ? 1.0 : -1.0});
  check_platonic(cube, 2, 1, 6, 0.5);
  check_platonic({{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}}, r2, 0.471404521,
                 3.464101615, 0.408248290);
  std::vector<Vec3> dodecahedron = cube;
  add_turns(dodecahedron, 1 / phi, phi);
  check_platonic(dodecahedron, 2 / phi, 7.663118961, 20.645728807, 1.113516364);
  check_platonic(icosahedron(), 2, 2.181694991, 8.660254038, 0.755761314);
  // The radicals behind the digits.
  CHECK(volume_of(solid_of(hull(dodecahedron))) ==
        doctest::Approx((15 + 7 * r5) / 4 * std::pow(2 / phi, 3)).epsilon(1e-14));
  CHECK(volume_of(solid_of(hull(icosahedron()))) == doctest::Approx(5 * (3 + r5) / 12 * 8).epsilon(1e-14));
  CHECK(area_of(solid_of(hull(icosahedron()))) == doctest::Approx(5 * r3 * 4).epsilon(1e-14));
}

TEST_CASE("polyhedral mass properties") {
  // Shapes of the data files that come with B. Mirtich, Fast and Accurate Computation of Polyhedral Mass
  // Properties, J. Graphics Tools 1(2), 1996; the values follow from the shapes.
  CHECK(volume_of(solid_of(box({-10, -10, -10}, {10, 10, 10}))) == doctest::Approx(8000).epsilon(1e-15));
  const Solid tetra = solid_of(right_tetrahedron(5, 4, 3));
  CHECK(volume_of(tetra) == doctest::Approx(10).epsilon(1e-14));
  CHECK((tetra.centroid() - Vec3(1.25, 1, 0.75)).norm() < 1e-14);
  std::vector<Vec3> unit = icosahedron();
  for (Vec3& p : unit) p.normalize();
  CHECK(volume_of(solid_of(hull(unit))) == doctest::Approx(2.536150710).epsilon(1e-9));
  CHECK(area_of(solid_of(hull(unit))) == doctest::Approx(9.574541383).epsilon(1e-9));  // from memory
  // Right tetrahedron of 0.25, 0.7, 0.4 m: mass at 990 kg/m³ and centroid as worked in G. L. Gray, F.
  // Costanzo, R. J. Witt, M. E. Plesha, Engineering Mechanics, 3rd edition.
  const Solid gray = solid_of(right_tetrahedron(250, 700, 400));
  CHECK(volume_of(gray) * 1e-9 * 990 == doctest::Approx(11.55).epsilon(1e-12));
  CHECK((gray.centroid() - Vec3(62.5, 175, 100)).norm() < 1e-11);
}

TEST_CASE("an open cube summed about its rim plane, and about a corner") {
  // Divergence theorem: the missing lid carries no flux only when the reference lies in its plane.
  TriangleSoup s = box({0, 0, 0}, {1, 1, 1});
  std::erase_if(s.triangles, [&](const Triangle& t) {
    return s.vertices[t[0]].z() == 1 && s.vertices[t[1]].z() == 1 && s.vertices[t[2]].z() == 1;
  });
  REQUIRE(s.triangles.size() == 10);
  CHECK(measure(s.vertices, s.triangles, Vec3(0, 0, 0)).volume == doctest::Approx(2.0 / 3).epsilon(1e-15));
  CHECK(measure(s.vertices, s.triangles, Vec3(0.3, 0.7, 1)).volume == doctest::Approx(1).epsilon(1e-15));
  CHECK(measure(turned(s).vertices, turned(s).triangles, Vec3(0.3, 0.7, 1)).volume ==
        doctest::Approx(-1).epsilon(1e-15));
}

TEST_CASE("cap, segment and ring of a sphere") {
  // From memory: any handbook; MathWorld, Spherical Cap, Spherical Segment, Cylindrical Segment.
  const std::vector<Station> cap = closed(zone(10, 6, 10, 200));
  CHECK(cap[1].r == doctest::Approx(8).epsilon(1e-14));
  const Solid c = check_round(cap, 435.634182, 3e-4);
  CHECK(volume_of(c) < 435.634182);
  CHECK(c.centroid().z() == doctest::Approx(7.384615).epsilon(1e-5));
  CHECK(area_of(c) - f * pi * 64 == doctest::Approx(251.327412).epsilon(3e-4));
  check_round(closed(zone(10, 6, 8, 200)), 318.348056, 3e-4);
  for (const double radius : {5.0, 50.0}) {  // the napkin ring of height 6 does not depend on the sphere
    std::vector<Station> p = zone(radius, -3, 3, 200);
    const double hole = p.front().r;
    const Solid ring = solid_of(revolve(p, 256, true));
    CHECK(volume_of(ring) ==
          doctest::Approx(polygon_factor(256) * (frusta(p) - pi * hole * hole * 6)).epsilon(1e-11));
    CHECK(volume_of(ring) / polygon_factor(256) == doctest::Approx(113.097336).epsilon(3e-5));
  }
}

TEST_CASE("torus") {
  // Pappus: 2π²Rr² and 4π²Rr, here with the polygonal section and the polygonal path.
  std::vector<Station> section = arc(10, 40, 0, 0, 2 * pi, 120);
  section.pop_back();
  const Solid s = solid_of(revolve(section, n, true));
  const double section_area = polygon_factor(120) * pi * 100;
  CHECK(volume_of(s) == doctest::Approx(f * 2 * pi * 40 * section_area).epsilon(1e-12));
  CHECK(volume_of(s) == doctest::Approx(78956.83521).epsilon(1e-3));
  CHECK(area_of(s) == doctest::Approx(15791.36704).epsilon(1e-3));
  CHECK(s.centroid().norm() < 1e-12);
}

TEST_CASE("frustum, paraboloid, capsule, ellipsoid") {
  // From memory: any handbook; MathWorld, the article of each solid.
  const Solid cone = check_round({{0, 0}, {45, 0}, {40, 30}, {0, 30}}, 170431.4015, 3e-4);
  CHECK(volume_of(cone) / f == doctest::Approx(170431.4015).epsilon(1e-9));
  CHECK(cone.centroid().z() ==
        doctest::Approx(14.412442).epsilon(5e-8));  // the same for every regular section
  CHECK(area_of(cone) - f * pi * (45 * 45 + 40 * 40) == doctest::Approx(8121.563883).epsilon(2e-4));

  std::vector<Station> bowl;
  for (int i = 0; i <= 400; ++i) bowl.push_back({3 * i / 400.0, 5 * (i / 400.0) * (i / 400.0)});
  const Solid paraboloid = check_round(closed(bowl), 70.685835, 3e-4);
  CHECK(paraboloid.centroid().z() == doctest::Approx(10.0 / 3).epsilon(1e-5));  // two thirds up, from memory

  std::vector<Station> capsule = arc(10, 0, 0, -pi / 2, 0, 100), upper = arc(10, 0, 30, 0, pi / 2, 100);
  capsule.front() = {0, -10};
  upper.back() = {0, 40};
  capsule.insert(capsule.end(), upper.begin(), upper.end());
  CHECK(volume_of(check_round(capsule, 13613.56817, 4e-4)) < 13613.56817);

  const TriangleSoup ball = sphere(1, n);
  const Solid ellipsoid =
      solid_of(moved(ball, [](const Vec3& p) { return Vec3(3 * p.x(), 2 * p.y(), p.z()); }));
  CHECK(volume_of(ellipsoid) == doctest::Approx(6 * volume_of(solid_of(ball))).epsilon(1e-13));
  CHECK(volume_of(ellipsoid) == doctest::Approx(25.132741).epsilon(1e-3));
  CHECK(area_of(ellipsoid) == doctest::Approx(48.88215).epsilon(1e-3));
  const double thomsen = 1.6075;  // K. Thomsen's approximate formula, 0.18 % high here
  const auto mean = [&](double a, double b, double c) {
    return std::pow((std::pow(a * b, thomsen) + std::pow(a * c, thomsen) + std::pow(b * c, thomsen)) / 3,
                    1 / thomsen);
  };
  CHECK(4 * pi * mean(3, 2, 1) == doctest::Approx(48.97193).epsilon(1e-6));
  CHECK(area_of(ellipsoid) == doctest::Approx(4 * pi * mean(3, 2, 1)).epsilon(3e-3));
}

TEST_CASE("what two crossing cylinders share") {
  // Steinmetz's bicylinder, 16 r³/3 with surface 16 r²: MathWorld, Steinmetz Solid. Level sections are
  // squares.
  std::vector<Station> corner = arc(1, 0, 0, -pi / 2, pi / 2, 400);
  corner.front() = {0, -1};
  corner.back() = {0, 1};
  for (Station& s : corner) s.r *= std::sqrt(2.0);  // from half the side to half the diagonal
  const Solid s = solid_of(revolve(corner, 4));
  CHECK(volume_of(s) == doctest::Approx(polygon_factor(4) * frusta(corner)).epsilon(1e-12));
  CHECK(volume_of(s) == doctest::Approx(16.0 / 3).epsilon(3e-5));
  CHECK(volume_of(s) < 16.0 / 3);
  CHECK(area_of(s) == doctest::Approx(16).epsilon(3e-5));
}

TEST_CASE("prismatoid, obelisk, tray, lying cylinder") {
  // h (A1 + 4 Am + A2) / 6, exact for prismatoids: any handbook, from memory.
  CHECK(volume_of(solid_of(tapered_block(60, 40, 48, 32, 20))) == doctest::Approx(39040).epsilon(1e-14));
  CHECK(volume_of(solid_of(tapered_block(60, 40, 48, 20, 15))) == doctest::Approx(24600).epsilon(1e-14));
  // 200 × 120 × 25 outside, walls 4, floor 5: 600000 − 192 · 112 · 20.
  CHECK(volume_of(solid_of(tray({0, 0, 0}, {200, 120, 25}, {4, 4, 5}, {196, 116, 25}))) ==
        doctest::Approx(169920).epsilon(1e-14));
  // Circular segment times length: any handbook, from memory. r = 30, depth 20, L = 100.
  const int steps = 720;
  const double half = std::acos(1.0 / 3);
  std::vector<std::pair<double, double>> section;
  for (int i = 0; i <= steps; ++i) {
    const double a = -pi / 2 - half + 2 * half * i / steps;
    section.emplace_back(30 * std::cos(a), 30 * std::sin(a));
  }
  double polygon = 0;
  for (std::size_t i = 0; i < section.size(); ++i) {
    const auto &p = section[i], &q = section[(i + 1) % section.size()];
    polygon += (p.first * q.second - q.first * p.second) / 2;
  }
  const Solid lying = solid_of(prism(section, 100));
  CHECK(volume_of(lying) == doctest::Approx(100 * polygon).epsilon(1e-12));
  CHECK(volume_of(lying) == doctest::Approx(82502.07632).epsilon(1e-5));
}

TEST_CASE("a cylinder of n sides holds sin(2π/n)/(2π/n) of the round one") {
  const std::vector<std::pair<int, double>> table{
      {12, 0.954930}, {24, 0.988616}, {32, 0.993586}, {64, 0.998394}, {128, 0.999598}};
  for (const auto& [sides, factor] : table) {
    const Solid s = solid_of(revolve({{0, 0}, {7, 0}, {7, 11}, {0, 11}}, sides));
    CHECK(volume_of(s) / (pi * 49 * 11) == doctest::Approx(factor).epsilon(1e-6));
    CHECK(volume_of(s) == doctest::Approx(polygon_factor(sides) * pi * 49 * 11).epsilon(1e-13));
  }
}
