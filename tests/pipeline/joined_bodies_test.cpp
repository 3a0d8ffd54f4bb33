// SPDX-License-Identifier: GPL-3.0-or-later
// Molds made of several bodies, bodies that overlap, touch or nearly touch, and files that face the wrong
// way: through the whole pipeline, against closed forms.
#include <pourwright/pipeline.hpp>

#include "support/mesh_files.hpp"
#include "support/shapes.hpp"
#include "support/solids.hpp"
#include "support/temporary_folder.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

MeasureRow measured(const TriangleSoup& soup, MeasureSettings s = {}) {
  const support::TemporaryFolder folder;
  write_obj(folder / "mold.obj", soup);
  MeasureRow row = measure_files({{folder / "mold.obj", 0, {}}}, s).files[0];
  REQUIRE_MESSAGE(row.ok(), (row.ok() ? std::string() : row.error->text));
  return row;
}

double filled(const MeasureRow& row) {
  return row.fill ? in_cubic_millimetres(row.fill->value) : -1;
}

const Note* note(const MeasureRow& row, std::string_view code) {
  const auto it =
      std::find_if(row.notes.begin(), row.notes.end(), [&](const Note& n) { return n.code == code; });
  return it == row.notes.end() ? nullptr : &*it;
}

/// A ring of the given inner and outer radius.
TriangleSoup ring(double inner, double outer, double low, double high, int n) {
  return revolve({{outer, low}, {outer, high}, {inner, high}, {inner, low}}, n, true);
}

TriangleSoup plate(double radius, double low, double high, int n) {
  return revolve({{0, low}, {radius, low}, {radius, high}, {0, high}}, n);
}

/// A cup of two parts: a foot that holds the lower part of the cavity and a ring above it.
TriangleSoup two_parts(double gap, int low_n, int high_n, double overhang = 0) {
  const TriangleSoup foot = revolve({{0, -5}, {40, -5}, {40, 10}, {30, 10}, {30, 0}, {0, 0}}, low_n);
  return joined({foot, ring(30, 40 + overhang, 10 + gap, 40, high_n)});
}

Eigen::Matrix3d some_turn() {
  return random_rotation(5);
}

}  // namespace

TEST_CASE("mold halves that lie on each other, or a hair apart, hold what the joined mold holds" *
          doctest::test_suite("long")) {
  const double whole = 900 * pi * polygon_factor(48) * 40;
  for (const double gap : {0.0, 0.01, 0.05, 0.09})
    for (const double overhang : {0.0, 6.0, -4.0}) {
      CAPTURE(gap);
      CAPTURE(overhang);
      const MeasureRow row = measured(two_parts(gap, 48, 48, overhang));
      CHECK(filled(row) == doctest::Approx(whole).epsilon(1e-9));
      CHECK(std::count_if(row.cavities.begin(), row.cavities.end(),
                          [](const Cavity& c) { return c.filled; }) == 1);
      const Note* closed = note(row, "gap-closed");
      CHECK((closed != nullptr) == (gap > 0));
      if (closed != nullptr)
        CHECK(closed->text.find("left open the mold would hold 28.") != std::string::npos);
      if (gap == 0) CHECK(note(row, "united") != nullptr);
    }
}

TEST_CASE("a parting gap wider than --gap stays open, and --gap 0mm leaves every gap open") {
  const double foot = 900 * pi * polygon_factor(48) * 10;
  CHECK(filled(measured(two_parts(0.2, 48, 48))) == doctest::Approx(foot).epsilon(1e-9));
  MeasureSettings s;
  s.gap = Length();
  CHECK(filled(measured(two_parts(0.05, 48, 48), s)) == doctest::Approx(foot).epsilon(1e-9));
  s.gap = millimetres(0.3);
  CHECK(filled(measured(two_parts(0.2, 48, 48), s)) == doctest::Approx(4 * foot).epsilon(1e-9));
}

TEST_CASE("halves divided differently, and lying askew" * doctest::test_suite("long")) {
  // The cavity is the lower polygon below the parting and the upper above it.
  const double expected = 900 * pi * (polygon_factor(48) * 10 + polygon_factor(36) * 30);
  for (const double gap : {0.0, 0.05}) {
    CAPTURE(gap);
    // Corners of the one stand over the other's mouth, so that its brim is where the two polygons overlap.
    const MeasureRow row = measured(two_parts(gap, 48, 36));
    CHECK(filled(row) == doctest::Approx(expected).epsilon(2e-4));
    MeasureSettings s;
    const Eigen::Matrix3d m = some_turn();
    s.up = {m(0, 2), m(1, 2), m(2, 2)};
    const MeasureRow askew = measured(turned_by(m, two_parts(gap, 48, 36)), s);
    CHECK(filled(askew) == doctest::Approx(filled(row)).epsilon(1e-8));
  }
  // Divided alike they share corners and edges, each edge of the parting with four faces.
  for (const std::uint32_t seed : {1u, 2u, 3u}) {
    CAPTURE(seed);
    MeasureSettings s;
    const Eigen::Matrix3d m = random_rotation(seed);
    s.up = {m(0, 2), m(1, 2), m(2, 2)};
    for (const int n : {16, 20}) {
      CAPTURE(n);
      TriangleSoup mold = turned_by(m, two_parts(0, 16, n));
      const double whole = 900 * pi * (polygon_factor(16) * 10 + polygon_factor(n) * 30);
      const double brim = n == 16 ? 1e-6 : 4e-3;  // corners of the one stand over the other's mouth
      CHECK(filled(measured(mold, s)) == doctest::Approx(whole).epsilon(brim));
      // In single precision the faces lie above and below each other by turns.
      for (Vec3& p : mold.vertices) p = p.cast<float>().cast<double>();
      CHECK(filled(measured(mold, s)) == doctest::Approx(whole).epsilon(brim + 1e-5));
    }
  }
}

TEST_CASE("a core that floats a hair above the floor, stands on it, or pierces it") {
  const TriangleSoup cup = revolve({{0, -5}, {45, -5}, {45, 30}, {40, 30}, {40, 0}, {0, 0}}, 60);
  const double f = polygon_factor(60), open = f * pi * 1600 * 30;
  for (const double foot : {0.05, 0.0, -2.0}) {
    CAPTURE(foot);
    const MeasureRow row = measured(joined({cup, plate(15, foot, 20, 60)}));
    // The gap's own room is no longer liquid.
    CHECK(filled(row) == doctest::Approx(open - f * pi * 225 * 20).epsilon(1e-9));
    CHECK(row.shells == 2);
    CHECK((note(row, "gap-closed") != nullptr) == (foot > 0));
  }
  MeasureSettings s;
  s.gap = Length();
  CHECK(filled(measured(joined({cup, plate(15, 0.05, 20, 60)}), s)) ==
        doctest::Approx(open - f * pi * 225 * 19.95).epsilon(1e-9));
}

TEST_CASE("a slanted and a conical parting a hair apart do not leak") {
  const int n = 48;
  const double f = polygon_factor(n);
  // A cup cut along a cone: the parting rises outwards by 5 over the wall's 10 mm.
  const double gap = 0.05;
  const TriangleSoup foot = revolve({{0, -5}, {40, -5}, {40, 15}, {30, 10}, {30, 0}, {0, 0}}, n);
  const TriangleSoup crown = revolve({{40, 15 + gap}, {40, 40}, {30, 40}, {30, 10 + gap}}, n, true);
  const MeasureRow row = measured(joined({foot, crown}));
  CHECK(note(row, "gap-closed") != nullptr);
  CHECK(filled(row) == doctest::Approx(f * pi * 900 * 40).epsilon(1e-5));
  // A plug that fits into a hole in the floor with clearance all round.
  const TriangleSoup drained = revolve({{6, -5}, {40, -5}, {40, 30}, {30, 30}, {30, 0}, {6, 0}}, n, true);
  const MeasureRow plugged = measured(joined({drained, plate(5.95, -5, 0, n)}));
  CHECK(note(plugged, "gap-closed") != nullptr);
  CHECK(filled(plugged) == doctest::Approx(f * pi * 900 * 30).epsilon(1e-5));
}

TEST_CASE("halves that meet in a finely divided wave hold what the joined mold holds, or are refused") {
  // The parting rises and falls three times round the wall by 2 mm; each half is divided in its own way.
  const auto waved = [](TriangleSoup s, double parting) {
    return moved(std::move(s), [&](const Vec3& p) {
      if (std::abs(p.z() - parting) > 1e-9) return p;
      return Vec3(p.x(), p.y(), p.z() + 2 * std::sin(3 * std::atan2(p.y(), p.x())));
    });
  };
  for (const auto& [low_n, high_n] : {std::pair(96, 120), std::pair(200, 333)}) {
    CAPTURE(low_n);
    const double gap = 0.06;
    const TriangleSoup foot =
        waved(revolve({{0, -5}, {40, -5}, {40, 10}, {30, 10}, {30, 0}, {0, 0}}, low_n), 10);
    const TriangleSoup crown = waved(ring(30, 40, 10 + gap, 40, high_n), 10 + gap);
    const TriangleSoup halves = joined({foot, crown});
    const double whole = 900 * pi * (polygon_factor(low_n) * 10 + polygon_factor(high_n) * 30);
    const support::TemporaryFolder folder;
    write_obj(folder / "mold.obj", halves);
    const MeasureRow asked = measure_files({{folder / "mold.obj", 0, {}}}, {}).files[0];
    if (asked.ok()) {
      CHECK(filled(asked) == doctest::Approx(whole).epsilon(5e-3));
      continue;
    }
    CHECK(asked.error->code == Code::too_uncertain);
    CHECK(asked.error->hint.find("--gap 0mm") != std::string::npos);
    MeasureSettings any;
    any.max_uncertainty = 1e9;
    const MeasureRow row = measured(halves, any);
    CHECK(note(row, "gap-left") != nullptr);
    CHECK(note(row, "columns-disagree") != nullptr);
    REQUIRE(row.fill.has_value());
    CHECK(in_cubic_millimetres(row.fill->low) < whole);
    CHECK(in_cubic_millimetres(row.fill->high) == doctest::Approx(whole).epsilon(0.01));
  }
}

TEST_CASE("bodies that are no mold stay apart, and gaps in one body are none of this") {
  const MeasureRow two = measured(joined({box({0, 0, 0}, {20, 20, 20}), box({0, 0, 20.05}, {20, 20, 40})}));
  CHECK(two.read_as(Reading::piece));
  CHECK(note(two, "gap-closed") == nullptr);
  REQUIRE(two.solid.has_value());
  CHECK(in_cubic_millimetres(two.solid->volume.value) == doctest::Approx(400 * (20 + 19.95)).epsilon(1e-12));
  const MeasureRow apart = measured(joined({box({0, 0, 0}, {20, 20, 20}), box({0, 0, 22}, {20, 20, 40})}));
  CHECK(note(apart, "gap-closed") == nullptr);
}

TEST_CASE("wholly inverted and half inverted files hold what they should") {
  const TriangleSoup cup = revolve({{0, -5}, {45, -5}, {45, 30}, {40, 30}, {40, 0}, {0, 0}}, 40);
  const double f = polygon_factor(40), open = f * pi * 1600 * 30;
  CHECK(filled(measured(turned(cup))) == doctest::Approx(open).epsilon(1e-12));
  const TriangleSoup core =
      moved(plate(15, 3, 20, 40), [](const Vec3& p) { return Vec3(p + Vec3(5, 0, 0)); });
  const double less = open - f * pi * 225 * 17;
  CHECK(filled(measured(joined({cup, core}))) == doctest::Approx(less).epsilon(1e-12));
  CHECK(filled(measured(joined({turned(cup), core}))) == doctest::Approx(less).epsilon(1e-12));
  CHECK(filled(measured(joined({cup, turned(core)}))) == doctest::Approx(less).epsilon(1e-12));
  CHECK(filled(measured(turned(joined({cup, core})))) == doctest::Approx(less).epsilon(1e-12));
  // A wholly inverted mold with a parting gap.
  CHECK(filled(measured(turned(two_parts(0.05, 40, 40)))) ==
        doctest::Approx(f * pi * 900 * 40).epsilon(1e-9));
}

TEST_CASE("a post that pierces the floor from below, with and without reaching through") {
  const TriangleSoup cup = revolve({{0, -5}, {45, -5}, {45, 30}, {40, 30}, {40, 0}, {0, 0}}, 36);
  const double f = polygon_factor(36), open = f * pi * 1600 * 30;
  for (const double low : {-9.0, -5.0, -2.0}) {
    const MeasureRow row = measured(joined({cup, plate(12, low, 18, 30)}));
    CHECK(filled(row) == doctest::Approx(open - polygon_factor(30) * pi * 144 * 18).epsilon(1e-9));
    CHECK(note(row, "united") != nullptr);
  }
}

TEST_CASE("meshes whose parts share an edge or a vertex with four triangles or more") {
  // Two square cups side by side whose outer walls meet in one edge; and two that meet in a corner below the
  // brim. Each holds its own.
  const auto cup = [](const Vec3& at) {
    return joined({moved(revolve({{0, -5}, {20, -5}, {20, 20}, {15, 20}, {15, 0}, {0, 0}}, 4),
                         [&](const Vec3& p) { return Vec3(p + at); })});
  };
  const double one = 2 * 15.0 * 15 * 20;
  Builder b;
  b.add(cup({0, 0, 0}));
  b.add(cup({40, 0, 0}));  // corner edges coincide: x = 20, y = 0
  const MeasureRow row = measured(b.take());
  CHECK(row.cavities.size() == 2);
  CHECK(filled(row) == doctest::Approx(2 * one).epsilon(1e-12));
}
