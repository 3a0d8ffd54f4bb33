// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of molds: what is cut and seen against closed forms, the level where it must be, the same for any
// number of threads.
#include <pourwright/picture.hpp>

#include "geometry/picture/section.hpp"
#include "geometry/picture/shade.hpp"
#include "geometry/picture/view.hpp"
#include "support/shapes.hpp"

#include <array>
#include <cmath>

#include <doctest/doctest.h>

using namespace pourwright;
using namespace pourwright::picture;

namespace {

TriangleSoup block(const Vec3& low, const Vec3& high) {
  return shapes::box(low, high);
}

/// A box open at the top, walls and floor 10 thick, 60 × 40 × 30 inside.
TriangleSoup box_mold() {
  shapes::Builder b;
  const auto side = [&](const Vec3& p, const Vec3& q, const Vec3& r, const Vec3& s) { b.quad(p, q, r, s); };
  const double x = 80, y = 60, z = 40, t = 10;
  side({0, 0, 0}, {0, y, 0}, {x, y, 0}, {x, 0, 0});
  side({0, 0, 0}, {x, 0, 0}, {x, 0, z}, {0, 0, z});
  side({x, 0, 0}, {x, y, 0}, {x, y, z}, {x, 0, z});
  side({x, y, 0}, {0, y, 0}, {0, y, z}, {x, y, z});
  side({0, y, 0}, {0, 0, 0}, {0, 0, z}, {0, y, z});
  const std::array<Vec3, 4> out = {Vec3{0, 0, z}, {x, 0, z}, {x, y, z}, {0, y, z}};
  const std::array<Vec3, 4> in = {Vec3{t, t, z}, {x - t, t, z}, {x - t, y - t, z}, {t, y - t, z}};
  std::array<Vec3, 4> floor = in;
  for (Vec3& p : floor) p.z() = t;
  for (std::size_t k = 0; k < 4; ++k) {
    const std::size_t n = (k + 1) % 4;
    b.quad(out[k], out[n], in[n], in[k]);
    b.quad(in[k], in[n], floor[n], floor[k]);
  }
  b.quad(floor[0], floor[1], floor[2], floor[3]);
  return b.take();
}

double signed_volume(const TriangleSoup& s) {
  double v = 0;
  for (const Triangle& t : s.triangles)
    v += s.vertices[t[0]].dot(s.vertices[t[1]].cross(s.vertices[t[2]])) / 6;
  return v;
}

/// The box mold filled to `height` above its floor.
PictureOf filled(double height) {
  PictureOf p;
  p.mold = box_mold();
  p.piece = block({10, 10, 10}, {70, 50, 10 + height});
  Cavity c;
  c.id = 1;
  c.filled = true;
  c.brim = millimetres(40);
  c.floor = millimetres(10);
  c.level = millimetres(10 + height);
  c.brim_at = {10, 10, 40};
  c.floor_at = {40, 30, 10};
  p.cavities.push_back(c);
  return p;
}

PictureWords words() {
  PictureWords w;
  w.title = "box";
  w.mold = w.piece = w.top = w.section = "view";
  w.liquid = "liquid";
  w.body = "mold";
  w.level = "level";
  w.spill = "spill";
  return w;
}

double area(const drawing::Ring& r) {
  double sum = 0;
  for (std::size_t i = 0; i < r.size(); ++i) {
    const auto &p = r[i], &q = r[(i + 1) % r.size()];
    sum += p.x * q.y - q.x * p.y;
  }
  return sum / 2;
}

}  // namespace

TEST_CASE("a cut box: closed lines round the right area, at every height and turn") {
  const TriangleSoup mold = box_mold();
  REQUIRE(signed_volume(mold) == doctest::Approx(80 * 60 * 40 - 60 * 40 * 30));
  for (const double y : {5.0, 30.0, 10.0, 50.0}) {
    const auto lines = cut(mold, {0, y, 0}, Vec3::UnitY());
    double sum = 0;
    for (const CutLine& l : lines) {
      CHECK(l.closed);
      drawing::Ring ring;
      for (const Vec3& p : l.points) {
        CHECK(p.y() == doctest::Approx(y));
        ring.push_back({p.x(), p.z()});
      }
      sum += area(ring);
    }
    // In the wall it is whole, inside it is a trough; a wall in the plane counts as in front.
    const double expected = y == 30 || y == 50 ? 80 * 40 - 60 * 30 : 80 * 40;
    CHECK(std::abs(sum) == doctest::Approx(expected));
  }
  CHECK(cut(mold, {0, 61, 0}, Vec3::UnitY()).empty());
}

TEST_CASE("an open surface is cut in lines that do not close") {
  TriangleSoup sheet;
  sheet.vertices = {{0, 0, 0}, {10, 0, 0}, {10, 10, 0}, {0, 10, 0}};
  sheet.triangles = {{0, 1, 2}, {0, 2, 3}};
  const auto lines = cut(sheet, {4, 0, 0}, Vec3::UnitX());
  REQUIRE(lines.size() == 1);
  CHECK_FALSE(lines[0].closed);
  CHECK(lines[0].points.size() == 3);
}

TEST_CASE("a sphere is seen as a disc, its depth as a sphere's") {
  const TriangleSoup ball = shapes::sphere(20, 120);
  const auto seen = Seen::make(ball);
  REQUIRE(seen);
  for (const double height : {90.0, 0.0, 30.0}) {
    Camera camera = looking(Vec3::UnitZ(), 40, height);
    fit(camera, {&ball.vertices}, 300, 260, 20);
    CHECK(camera.scale == doctest::Approx(220 / 40.0).epsilon(0.01));
    const Samples s = picture::look(*seen, camera, 1);
    double met = 0;
    for (const Sample& one : s.list) met += one.met();
    CHECK(met == doctest::Approx(shapes::pi * 110 * 110 * fine * fine).epsilon(0.01));
    const Sample& middle = s.at(s.width / 2, s.height / 2);
    REQUIRE(middle.met());
    CHECK(middle.depth == doctest::Approx(-20).epsilon(0.01));
    CHECK(static_cast<double>(middle.normal.dot(-camera.ahead.cast<float>())) > 0.99);
    // What was put in between neighbours lies where a ray would have met it.
    double worst = 0;
    for (int y = 0; y < s.height; ++y)
      for (int x = 0; x < s.width; ++x)
        if (s.at(x, y).met()) {
          const Vec3 p = place_of(camera, (x + 0.5) / fine, (y + 0.5) / fine, s.at(x, y).depth);
          worst = std::max(worst, std::abs(p.norm() - 20));
        }
    CHECK(worst < 0.25);
  }
}

TEST_CASE("axes: x runs right and y up from above; up stands up from the front") {
  const Camera top = looking(Vec3::UnitZ(), 0, 90);
  CHECK((top.right - Vec3::UnitX()).norm() < 1e-9);
  CHECK((top.down + Vec3::UnitY()).norm() < 1e-9);
  CHECK((top.ahead + Vec3::UnitZ()).norm() < 1e-9);
  for (const Vec3& up : {Vec3(1, 0, 0), Vec3(0, -1, 0), Vec3(1, 2, 3)}) {
    const Camera front = looking(up, 0, 0);
    CHECK(front.down.dot(up.normalized()) == doctest::Approx(-1));
    CHECK(front.right.cross(front.down).dot(front.ahead) == doctest::Approx(1));
  }
}

TEST_CASE(
    "the liquid takes the share of the view that its surface has, and is hidden by no wall from above") {
  const PictureOf p = filled(20);
  const auto mold = Seen::make(p.mold), piece = Seen::make(p.piece);
  REQUIRE(mold);
  REQUIRE(piece);
  Camera camera = looking(Vec3::UnitZ(), 0, 90);
  fit(camera, {&p.mold.vertices}, 400, 300, 20);
  const Samples m = picture::look(*mold, camera, 1), l = picture::look(*piece, camera, 1);
  const drawing::Raster r = glass(&m, &l, camera, Vec3::UnitZ(), 1);
  std::size_t liquid = 0, body = 0;
  for (std::size_t i = 0; i < r.rgba.size(); i += 4) {
    if (r.rgba[i + 3] == 0) continue;
    liquid += r.rgba[i] == clay_top.r && r.rgba[i + 1] == clay_top.g && r.rgba[i + 2] == clay_top.b &&
              r.rgba[i + 3] == 255;
    ++body;
  }
  CHECK(static_cast<double>(liquid) / static_cast<double>(body) ==
        doctest::Approx(60.0 * 40 / (80 * 60)).epsilon(0.03));
}

TEST_CASE("in the section the liquid ends at its level") {
  double last = -1;
  for (const double height : {7.5, 15.0, 30.0}) {
    const PictureOf p = filled(height);
    const auto sheet = draw_picture(p, words());
    REQUIRE(sheet);
    const drawing::Shape *liquid = nullptr, *mold = nullptr;
    for (const auto& item : sheet->items)
      if (const auto* const s = std::get_if<drawing::Shape>(&item)) {
        if (s->says == "liquid") liquid = s;
        if (s->says == "mold") mold = s;
      }
    REQUIRE(liquid != nullptr);
    REQUIRE(mold != nullptr);
    double low = -1e9, high = 1e9, mold_low = -1e9, mold_high = 1e9;
    for (const auto& ring : liquid->rings)
      for (const auto& q : ring) low = std::max(low, q.y), high = std::min(high, q.y);
    for (const auto& ring : mold->rings)
      for (const auto& q : ring) mold_low = std::max(mold_low, q.y), mold_high = std::min(mold_high, q.y);
    const double scale = (mold_low - mold_high) / 40;
    CHECK((low - high) / scale == doctest::Approx(height));
    CHECK((mold_low - low) / scale == doctest::Approx(10));
    // The level is marked there, in water's ink.
    bool marked = false;
    for (const auto& item : sheet->items)
      if (const auto* const s = std::get_if<drawing::Shape>(&item))
        marked |=
            s->edge && s->edge->ink == water && s->edge->dash > 0 && std::abs(s->rings[0][0].y - high) < 1e-6;
    CHECK(marked);
    CHECK(high != last);
    last = high;
  }
}

TEST_CASE("the same points for any number of threads, and on every run") {
  const PictureOf p = filled(20);
  PictureOptions one, four;
  four.jobs = 4;
  const auto a = draw_picture(p, words(), one), b = draw_picture(p, words(), four);
  REQUIRE(a);
  REQUIRE(b);
  CHECK(drawing::painted(*a).rgba == drawing::painted(*b).rgba);
  CHECK(*drawing::svg_of(*a) == *drawing::svg_of(*b));
}

TEST_CASE(
    "a wall half thin and half thick: the tones, the hatching and the outline part where the limit lies") {
  // A plate seen from above; thickness rises from 1 to 9 along x.
  const TriangleSoup plate = block({0, 0, 0}, {80, 40, 1});
  std::vector<ThicknessAt> places;
  for (int i = 0; i < 80; ++i)
    for (int j = 0; j < 40; ++j)
      places.push_back({{i + 0.5, j + 0.5, 1}, Vec3::UnitZ(), 1 + (i + 0.5) / 10, true});
  const auto seen = Seen::make(plate);
  REQUIRE(seen);
  Camera camera = looking(Vec3::UnitZ(), 0, 90);
  fit(camera, {&plate.vertices}, 400, 240, 0);
  REQUIRE(camera.scale == doctest::Approx(5));
  const ThicknessField field(places, 1);
  for (double x = 4; x < 76; x += 3)
    CHECK(field.at({x, 20, 1}, Vec3::UnitZ()).value() == doctest::Approx(1 + x / 10).epsilon(0.02));
  CHECK_FALSE(field.at({40, 20, 1}, -Vec3::UnitZ()));
  const Samples samples = picture::look(*seen, camera, 1);
  const auto r = by_thickness(samples, camera, field, 9, 5.0, 1),
             plain = by_thickness(samples, camera, field, 9, std::nullopt, 1);
  std::size_t changed_thin = 0, changed_thick = 0, thin = 0;
  double before = -1;
  for (int x = 2; x < 398; ++x) {
    double light = 0;
    for (int y = 30; y < 210; ++y) {
      const std::size_t i = 4 * static_cast<std::size_t>(400 * y + x);
      const bool changed = r.rgba[i] != plain.rgba[i] || r.rgba[i + 1] != plain.rgba[i + 1];
      (x < 199 ? changed_thin : changed_thick) += changed;
      thin += x < 199;
      light += drawing::lightness({plain.rgba[i], plain.rgba[i + 1], plain.rgba[i + 2], 1});
    }
    // Lighter where thicker, all along.
    CHECK(light >= before - 1e-9);
    before = light;
  }
  CHECK(static_cast<double>(changed_thin) / static_cast<double>(thin) > 0.2);
  CHECK(changed_thick < 4 * 180);
}

TEST_CASE("nothing to draw is refused, and odd molds are drawn") {
  CHECK_FALSE(draw_picture(PictureOf{}, words()));
  PictureOf p;
  // Long and thin, far off, and lying on its side.
  p.mold = block({1e5, 0, 0}, {1e5 + 2000, 0.5, 0.5});
  p.up = Vec3::UnitX();
  CHECK(draw_picture(p, words()));
  p.mold = block({0, 0, 0}, {1e-4, 1e-4, 1e-4});
  CHECK(draw_picture(p, words()));
  p.is_piece = true;
  PictureOptions small;
  small.width = 640;
  small.height = 480;
  const auto sheet = draw_picture(p, words(), small);
  REQUIRE(sheet);
  CHECK(drawing::painted(*sheet).rgba.size() == 4 * 640 * 480);
}
