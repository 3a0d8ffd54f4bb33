// SPDX-License-Identifier: GPL-3.0-or-later
// Attack meshes that are sound, but unusual in place, size or file, that hold nothing, or that are small and
// slow. The list of families.
#include "support/attack_parts.hpp"

#include <algorithm>

namespace attacks {

using shapes::pi;

namespace {

struct Sound {
  TriangleSoup soup;
  double capacity;
};

Sound any_mold(Dice& d) {
  if (d.chance(0.5)) {
    const double r = d.length(20, 45), h = d.length(20, 60), w = d.length(2, 6), f = d.length(3, 8);
    const int n = d.integer(8, 64);
    return {round_cup(r, h, w, f, n), cup_capacity(r, h, w, f, n)};
  }
  if (d.chance(0.5)) {
    const double x = d.length(40, 120), y = d.length(40, 100), z = d.length(20, 60), w = d.length(2, 8),
                 f = d.length(2, 8);
    return {box_cup(x, y, z, w, f), (x - 2 * w) * (y - 2 * w) * (z - f)};
  }
  const int i = d.integer(1, 4), j = d.integer(1, 3), n = 8 * d.integer(2, 5);
  const double half = d.length(12, 25), r = d.uniform(0.5, 0.85) * half, s = d.uniform(0.4, 0.9) * r,
               deep = d.length(5, 20);
  const std::vector<shapes::Station> inner{{r, 30}, {s, 30 - deep}, {0, 30 - deep}};
  return {shapes::cavity_block(i, j, half, 30, 0, inner, n),
          i * j * n / (2 * pi) * std::sin(2 * pi / n) * -shapes::frusta(inner)};
}

Case mold_case(std::string note, const Sound& s) {
  Case c = case_of(std::move(note), {s.soup}, Placing{});
  c.solid = volume(s.soup);
  c.capacity = s.capacity;
  return c;
}

}  // namespace

Case far_away(Dice& d) {
  const double off = std::pow(10, d.uniform(3, 6.6));
  Case c = mold_case("", any_mold(d));
  Placing p = placed(d, 0);
  p.shift = off * Vec3(d.uniform(-1, 1), d.uniform(-1, 1), d.uniform(-1, 1));
  c.mesh = at(std::move(c.mesh), p);
  c.form = d.pick({Form::binary_stl, Form::ply, Form::text_stl});
  c.note = text("%.2g mm from the origin", p.shift.norm());
  // Single precision: the interval has to know what rounding took. Far out there the shape itself is in
  // doubt.
  c.tolerance = c.form == Form::ply ? 1e-5 : 0;
  if (c.form != Form::ply && off > 3e5) c.expect = Expect::either;
  return c;
}

Case scale(Dice& d) {
  const double by = std::pow(10, d.uniform(-4, 3.5));
  Case c = mold_case(text("a mold, %.3g times as large", by), any_mold(d));
  c.mesh = shapes::moved(at(std::move(c.mesh), placed(d, 50)), [&](const Vec3& p) { return Vec3(by * p); });
  for (TriangleSoup& s : c.clean)
    s = shapes::moved(std::move(s), [&](const Vec3& p) { return Vec3(by * p); });
  *c.solid *= by * by * by;
  *c.capacity *= by * by * by;
  c.form = d.pick({Form::binary_stl, Form::ply, Form::text_stl});
  c.tolerance = 2e-5;
  return c;
}

Case walls(Dice& d) {
  const double t = d.uniform(0.8, 6), r = d.uniform(4, 12) * t + 5, h = d.uniform(5, 12) * t + 10;
  Case c;
  if (d.chance(0.5)) {
    const int n = d.integer(64, 128);
    c = case_of(text("pipe, wall %.3g", t),
                {shapes::revolve({{r - t, 0}, {r, 0}, {r, h}, {r - t, h}}, n, true)}, placed(d));
    c.least_wall = c.median_wall = t;
  } else {
    c = case_of(text("plate %.3g thick", t), {shapes::box({0, 0, 0}, {12 * t + h, 10 * t + r, t})},
                placed(d));
    c.median_wall = t;
  }
  c.solid = total(c.clean);
  c.options = {"--of", "piece", "--read-as", "piece"};
  return c;
}

Case formats(Dice& d) {
  Case c = mold_case("", any_mold(d));
  c.mesh = at(std::move(c.mesh), placed(d));
  c.form = d.pick({Form::text_stl, Form::loud_stl, Form::ply, Form::text_ply, Form::obj, Form::backward_obj,
                   Form::off, Form::flat_off});
  const char* names[] = {
      "binary STL",           "text STL", "STL of 3 decimals", "STL in capitals", "PLY", "text PLY", "OBJ",
      "OBJ counted backward", "OFF",      "OFF in one line"};
  c.note = text("mold as %s", names[static_cast<std::size_t>(c.form)]);
  return c;
}

Case drains(Dice& d) {
  const double x = d.length(40, 100), y = d.length(40, 100), z = d.length(20, 60), w = d.length(3, 8),
               f = d.length(3, 8), u = d.uniform(0.5, 6), v = d.uniform(0.5, 6);
  const bool side = d.chance(0.5);
  const double hx = d.uniform(0.3, 0.6) * x, hy = d.uniform(0.3, 0.6) * y;
  std::vector<double> xs{0, w, hx, hx + u, x - w, x}, ys{0, w, hy, hy + v, y - w, y}, zs{0, f, z};
  const double up = f + d.uniform(0.1, 0.6) * (z - f);
  if (side) zs = {0, f, up, up + v > z ? (up + z) / 2 : up + v, z};
  const TriangleSoup s = shapes::bricks(xs, ys, zs, [&](int i, int j, int k) {
    const bool wall = i == 0 || j == 0 || i == 4 || j == 4;
    if (side) return k == 0 || (wall && !(k == 2 && j == 0 && i == 2));
    return wall ? true : k == 0 && !(i == 2 && j == 2);
  });
  Case c =
      case_of(side ? "box mold with a hole in a side" : "box mold with a hole in its floor", {s}, placed(d));
  c.solid = volume(s);
  c.capacity = side ? (x - 2 * w) * (y - 2 * w) * (up - f) : 0;
  c.expect = side ? Expect::answer : Expect::either;
  return c;
}

Case speed(Dice& d) {
  const int kind = d.integer(0, 3);
  Case c;
  if (kind == 0) {
    const int n = d.integer(6, 26);
    std::vector<TriangleSoup> bars;
    const double w = 3, pitch = 8, length = pitch * n, h = d.uniform(3, 6), lap = d.uniform(0.1, 0.5) * h;
    for (int layer = 0; layer < 2; ++layer)
      for (int k = 0; k < n; ++k) {
        const double o = pitch * k + 1;
        const Vec3 low = layer == 0 ? Vec3(0, o, 0) : Vec3(o, 0, h - lap);
        bars.push_back(shapes::box(low, low + (layer == 0 ? Vec3(length, w, h) : Vec3(w, length, h))));
      }
    c = case_of(text("woodpile of %d crossing bars", 2 * n), bars, placed(d));
    c.solid = 2.0 * n * length * w * h - static_cast<double>(n) * n * w * w * lap;
    c.options = {"--only", "solid"};
  } else if (kind == 1) {
    const int n = d.integer(10, 40);
    const TriangleSoup ball = shapes::sphere(d.length(10, 25), d.integer(12, 24));
    std::vector<TriangleSoup> all;
    const Vec3 by = d.uniform(0.05, 1) * d.direction();
    for (int k = 0; k < n; ++k)
      all.push_back(shapes::moved(ball, [&](const Vec3& p) { return Vec3(p + k * by); }));
    c = case_of(text("a ball %d times, each a little further", n), all, placed(d));
    c.clean.clear();
    c.expect = Expect::either;
  } else if (kind == 2) {
    const int n = d.integer(4, 12);
    std::vector<TriangleSoup> all;
    for (int k = 0; k < n; ++k) {
      const Eigen::Matrix3d r = any_rotation(d);
      const Vec3 half(d.uniform(3, 30), d.uniform(3, 30), d.uniform(3, 30));
      all.push_back(shapes::moved(shapes::box(-half, half), [&](const Vec3& p) { return Vec3(r * p); }));
    }
    c = case_of(text("%d boxes through each other at any angle", n), all, Placing{});
    c.clean.clear();
    c.expect = Expect::either;
  } else {
    const int n = d.integer(20, 120);
    const double apart = d.pick({0.5, 5.0, 500.0}), x = d.length(30, 100), y = d.length(30, 100),
                 h = d.uniform(0.5, 3);
    std::vector<TriangleSoup> all;
    for (int k = 0; k < n; ++k)
      all.push_back(shapes::box({0, 0, k * (h + apart)}, {x, y, k * (h + apart) + h}));
    c = case_of(text("%d plates %.3g apart", n, apart), all, placed(d));
    c.solid = n * x * y * h;
    c.clean.clear();
  }
  c.form = d.pick({Form::binary_stl, Form::ply});
  c.tolerance = 2e-5;
  return c;
}

namespace {

struct Family {
  std::string name;
  Case (*make)(Dice&);
};

const std::vector<Family>& table() {
  static const std::vector<Family> list{
      {"bricks", bricks},
      {"bricksdmg", bricks_damaged},
      {"stack", stack},
      {"pedestal", pedestal},
      {"mirrored", mirrored},
      {"laminate", laminate},
      {"dmgbodies", slabs_damaged},
      {"gapbox", gap_box},
      {"slabs", slabs},
      {"plug", plug},
      {"twopart", two_part},
      {"wavy", wavy},
      {"crossing", crossing},
      {"copies", copies},
      {"onetri", one_triangle},
      {"facets", facets},
      {"cadfaces", cad_faces},
      {"holes", holes},
      {"sheets", sheets},
      {"capped", capped},
      {"scannoise", scan_noise},
      {"scanopen", scan_open},
      {"far", far_away},
      {"scale", scale},
      {"walls", walls},
      {"fmt", formats},
      {"drains", drains},
      {"speed", speed},
      {"manybricks", many_bricks},
  };
  return list;
}

}  // namespace

const std::vector<std::string>& families() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> out;
    for (const Family& f : table()) out.push_back(f.name);
    return out;
  }();
  return names;
}

Case make(std::string_view family, std::uint32_t seed) {
  const auto& list = table();
  const auto it = std::find_if(list.begin(), list.end(), [&](const Family& f) { return f.name == family; });
  if (it == list.end()) return {};
  std::uint32_t mixed = seed;  // families with the same seed shall not draw the same lengths
  for (const char c : it->name) mixed = mixed * 1'000'003u + static_cast<unsigned char>(c);
  Dice dice(mixed);
  Case c = it->make(dice);
  c.family = it->name;
  c.name = text("%s_%u", it->name.c_str(), seed);
  return c;
}

std::vector<Case> make_set(std::uint32_t seed, std::size_t count, std::string_view family) {
  std::vector<Case> out;
  const auto& names = families();
  for (std::uint32_t i = 0; out.size() < count; ++i)
    out.push_back(make(family.empty() ? std::string_view(names[i % names.size()]) : family,
                       seed * 10'007u + i / static_cast<std::uint32_t>(family.empty() ? names.size() : 1)));
  return out;
}

}  // namespace attacks
