// SPDX-License-Identifier: GPL-3.0-or-later
// Sharp edges across a hole. Each angle is tried below and above, so that halved or doubled it would fail.
#include "geometry/repair/creases.hpp"

#include "workpieces.hpp"

#include <functional>

#include <doctest/doctest.h>

using namespace workpieces;
using mending::Parts;
using shapes::pi;

namespace {

/// A roof over a grid of 12 × 12 squares of 1 mm whose ridge follows `ridge(y)`, without the squares round
/// its middle.
TriangleSoup roof(double slope, const std::function<double(double)>& ridge) {
  shapes::Builder b;
  const auto at = [&](int i, int j) {
    const double y = j - 6.0, x = i - 6.0 + ridge(y);
    return Vec3(x, y, -slope * std::abs(i - 6.0));
  };
  for (int i = 0; i < 12; ++i)
    for (int j = 0; j < 12; ++j)
      if (i < 4 || i > 7 || j < 4 || j > 7) b.quad(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
  return b.take();
}

Parts parts_of(const TriangleSoup& s) {
  const Workpiece w = piece(s);
  const Fans fans(w.vertices.size(), w.triangles);
  for (const mending::BorderLine& line : mending::border_lines(w))
    if (line.extent < 8) return mending::continue_creases(w, fans, line);
  FAIL("no hole");
  return {};
}

double straight(double) {
  return 0;
}

}  // namespace

TEST_CASE("a ridge goes on across a hole when it is sharper than 35°") {
  for (const auto& [bend, goes_on] :
       {std::pair(27.0, false), std::pair(50.0, true), std::pair(100.0, true)}) {
    CAPTURE(bend);
    const Parts p = parts_of(roof(std::tan(bend / 2 * pi / 180), straight));
    CHECK(p.list.size() == (goes_on ? 2 : 1));
    if (!goes_on) {
      CHECK(p.added.empty());
      continue;
    }
    // On the straight ridge of 4 mm new corners, about as far apart as those of the border.
    const double mean = (1 + 1 / std::cos(bend / 2 * pi / 180)) / 2;
    CHECK(p.added.size() == static_cast<std::size_t>(std::lround(4 / mean)) - 1);
    CHECK(p.sag < 1e-9);
    for (const Vec3& a : p.added) {
      CHECK(std::abs(a.x()) < 1e-9);
      CHECK(std::abs(a.z()) < 1e-9);
    }
  }
}

TEST_CASE("a valley goes on like a ridge") {
  const TriangleSoup valley = roof(-1, straight);
  CHECK(parts_of(valley).list.size() == 2);
}

TEST_CASE("both parts keep the border, each half of it, and share the crease") {
  const Parts p = parts_of(roof(1, straight));
  REQUIRE(p.list.size() == 2);
  constexpr std::size_t border = 16;  // the edges of a hole of 4 × 4 squares
  std::size_t outside = 0, inside = 0;
  for (const Parts::Part& part : p.list) {
    REQUIRE(part.corners.size() == part.half_edges.size());
    CHECK(part.corners.size() == border / 2 + 1 + p.added.size());
    for (const HalfEdge h : part.half_edges) ++(h == none ? inside : outside);
  }
  CHECK(outside == border);
  CHECK(inside == 2 * (p.added.size() + 1));
}

TEST_CASE("a crease that bends is followed with the sag of a cubic that leaves and arrives as it does") {
  for (const double degrees : {10.0, 25.0}) {
    CAPTURE(degrees);
    // The ridge comes in at this angle from one side and leaves at it: over the hole it was an arc.
    const double lean = std::tan(degrees * pi / 180);
    const Parts p = parts_of(roof(0.466, [&](double y) { return -lean * std::max(0.0, std::abs(y) - 2); }));
    REQUIRE(p.list.size() == 2);
    // In the middle a cubic with tangents as long as the line across lies a quarter of it times the sine off.
    CHECK(p.sag == doctest::Approx(4 * std::sin(degrees * pi / 180) / 4).epsilon(1e-6));
  }
}

TEST_CASE("ends may point past each other by 50° and be one crease") {
  const double lean = std::tan(50 * pi / 180);
  CHECK(parts_of(roof(0.466, [&](double y) { return -lean * std::max(0.0, std::abs(y) - 2); })).list.size() ==
        2);
}

TEST_CASE("a ridge does not go on as a valley") {
  shapes::Builder b;
  const auto at = [&](int i, int j) {
    const double side = j < 6 ? 1 : -1;
    return Vec3(i, j, -side * std::abs(i - 6.0) * std::abs(j - 6.0) / 4);
  };
  for (int i = 0; i < 12; ++i)
    for (int j = 0; j < 12; ++j)
      if (i < 4 || i > 7 || j < 4 || j > 7) b.quad(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
  CHECK(parts_of(b.take()).list.size() == 1);
}

TEST_CASE("creases of a corner without a partner cut nothing") {
  // A box of whose top corner the three faces' nearest triangles lack: three ends, no two in line.
  Workpiece w = piece(workpieces::chamfered(20, 20, 20, 8));
  w.triangles.pop_back();
  const Fans fans(w.vertices.size(), w.triangles);
  const auto lines = mending::border_lines(w);
  REQUIRE(lines.size() == 1);
  CHECK(mending::continue_creases(w, fans, lines[0]).list.size() == 1);
}

TEST_CASE("sharp means more than 35° between two faces") {
  for (const auto& [degrees, sharp] : {std::pair(26.0, false), std::pair(52.0, true)}) {
    const double a = degrees * pi / 180;
    const Workpiece w =
        piece({{{0, 0, 0}, {0, 1, 0}, {-1, 0, 0}, {std::cos(a), 0, -std::sin(a)}}, {{0, 1, 2}, {1, 0, 3}}});
    CHECK(mending::sharp_between(w, 0, 1) == sharp);
  }
}
