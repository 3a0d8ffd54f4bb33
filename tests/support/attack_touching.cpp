// SPDX-License-Identifier: GPL-3.0-or-later
// Attack meshes of several bodies that touch: bricks, stacks, halves, laminates, slabs, plugs; and those that
// stand a hair apart. Law: bodies share faces or keep apart, so that what is solid is the sum of them.
#include "support/attack_parts.hpp"

#include <algorithm>

namespace attacks {

using shapes::on_circle;
using shapes::pi;
using Bodies = std::vector<TriangleSoup>;

namespace {

std::vector<double> cuts(Dice& d, double from, double to, int pieces) {
  std::vector<double> out{from};
  for (int k = 1; k < pieces; ++k)
    out.push_back(from + (to - from) * (k + (d.chance(0.5) ? 0 : d.uniform(-0.2, 0.2))) / pieces);
  out.push_back(to);
  return out;
}

struct Tray {  // outside x · y · z, walls and floor
  double x, y, z, wall, floor;
  double inside() const { return (x - 2 * wall) * (y - 2 * wall); }
  double capacity() const { return inside() * (z - floor); }
};

Tray any_tray(Dice& d, double least_wall = 2) {
  Tray t{d.length(50, 140), d.length(40, 100), d.length(20, 60), d.length(least_wall, 10), d.length(3, 9)};
  return t;
}

/// A wall from a to b as bricks, each between neighbouring cuts along the longer side.
void add_wall(Dice& d, Bodies& out, const Vec3& a, const Vec3& b, int pieces) {
  const int along = b.x() - a.x() >= b.y() - a.y() ? 0 : 1;
  const std::vector<double> at = cuts(d, a[along], b[along], pieces);
  for (std::size_t k = 0; k + 1 < at.size(); ++k) {
    Vec3 low = a, high = b;
    low[along] = at[k];
    high[along] = at[k + 1];
    out.push_back(shapes::box(low, high));
  }
}

/// A ring of four walls like a pinwheel; `turned` the other way round.
void add_course(Dice& d, Bodies& out, const Tray& t, double z0, double z1, int pieces, bool turned) {
  const double x = t.x, y = t.y, w = t.wall;
  const double u = turned ? 0 : w, v = turned ? w : 0;
  add_wall(d, out, {v, 0, z0}, {x - u, w, z1}, pieces);
  add_wall(d, out, {x - w, v, z0}, {x, y - u, z1}, pieces);
  add_wall(d, out, {u, y - w, z0}, {x - v, y, z1}, pieces);
  add_wall(d, out, {0, u, z0}, {w, y - v, z1}, pieces);
}

Bodies brick_mold(Dice& d, const Tray& t, int floor_x, int floor_y, int courses, int pieces) {
  Bodies out;
  const auto xs = cuts(d, 0, t.x, floor_x), ys = cuts(d, 0, t.y, floor_y),
             zs = cuts(d, t.floor, t.z, courses);
  for (std::size_t i = 0; i + 1 < xs.size(); ++i)
    for (std::size_t j = 0; j + 1 < ys.size(); ++j)
      out.push_back(shapes::box({xs[i], ys[j], 0}, {xs[i + 1], ys[j + 1], t.floor}));
  for (std::size_t k = 0; k + 1 < zs.size(); ++k) add_course(d, out, t, zs[k], zs[k + 1], pieces, k % 2 == 1);
  return out;
}

/// Single precision, text with nine or three digits, or double.
void write_somehow(Dice& d, Case& c) {
  c.form = d.pick({Form::binary_stl, Form::binary_stl, Form::short_stl, Form::text_stl, Form::ply});
  if (c.form == Form::short_stl) {
    c.tolerance = std::max(c.tolerance, 1e-3);
    c.note += ", 3 decimals";
  }
}

Case brick_case(Dice& d, const Tray& t, int fx, int fy, int courses, int pieces) {
  Bodies bodies = brick_mold(d, t, fx, fy, courses, pieces);
  const Placing p = placed(d);
  Case c =
      case_of(text("%zu bricks that touch, turned %.4g deg", bodies.size(), p.angle * 180 / pi), bodies, p);
  c.solid = t.x * t.y * t.z - t.capacity();
  c.capacity = t.capacity();
  c.tolerance = 2e-5;
  return c;
}

}  // namespace

Case bricks(Dice& d) {
  if (d.chance(0.3)) return dividers(d);
  const Tray t = any_tray(d);
  Case c = brick_case(d, t, d.integer(1, 4), d.integer(1, 3), d.integer(1, 3), d.integer(1, 4));
  write_somehow(d, c);
  return c;
}

Case many_bricks(Dice& d) {
  const Tray t{d.length(100, 200), d.length(80, 150), d.length(40, 80), d.length(4, 10), d.length(4, 9)};
  Case c = brick_case(d, t, d.integer(5, 8), d.integer(4, 6), d.integer(4, 6), d.integer(5, 7));
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case dividers(Dice& d) {
  const Tray t = any_tray(d);
  const int n = d.integer(1, 9);
  Bodies bodies = {shapes::box({0, 0, 0}, {t.x, t.y, t.floor})};
  add_course(d, bodies, t, t.floor, t.z, 1, d.chance(0.5));
  const double ix = t.x - 2 * t.wall, thick = std::min(d.length(1, 4), 0.5 * ix / n);
  for (int k = 0; k < n; ++k) {
    const double x = t.wall + ix * (k + 1) / (n + 1) - thick / 2;
    bodies.push_back(shapes::box({x, t.wall, t.floor}, {x + thick, t.y - t.wall, t.z}));
  }
  const Placing p = placed(d);
  Case c = case_of(text("tray of slabs, %d dividers that touch, turned %.4g deg", n, p.angle * 180 / pi),
                   bodies, p);
  const double held = (ix - n * thick) * (t.y - 2 * t.wall) * (t.z - t.floor);
  c.capacity = held;
  c.solid = t.x * t.y * t.z - held;
  c.tolerance = 2e-5;
  write_somehow(d, c);
  return c;
}

namespace {

Case cups_side_by_side(Dice& d) {
  const double x = d.length(30, 60), y = d.length(30, 60), z = d.length(20, 50), w = d.length(2, 5),
               f = d.length(2, 6);
  const int n = d.integer(2, 3);
  Bodies bodies;
  for (int k = 0; k < n; ++k)
    bodies.push_back(shapes::moved(box_cup(x, y, z, w, f),
                                   [&](const Vec3& p) { return Vec3(p + k * x * Vec3::UnitX()); }));
  Case c = case_of(text("%d box cups that share a wall's plane", n), bodies, placed(d));
  c.capacity = n * (x - 2 * w) * (y - 2 * w) * (z - f);
  c.solid = n * x * y * z - *c.capacity;
  return c;
}

Case floating_cup(Dice& d) {
  const double r = d.length(25, 50), h = d.length(35, 60), w = d.length(2, 5), f = d.length(3, 7);
  const int n = 4 * d.integer(6, 20);
  const double small = d.uniform(0.3, 0.6) * (r - w), low = f + d.uniform(3, 8), wall = d.uniform(1.5, 3),
               tall = d.uniform(0.4, 0.8) * (h - low), floor = d.uniform(1.5, 4);
  Case c = case_of("a cup that floats in a cup, its rim under the brim",
                   {round_cup(r, h, w, f, n),
                    shapes::moved(round_cup(small, tall, wall, floor, n),
                                  [&](const Vec3& p) { return Vec3(p + Vec3(0.1 * r, 0, low)); })},
                   placed(d));
  c.solid = total(c.clean);
  c.capacity = cup_capacity(r, h, w, f, n) - volume(c.clean[1]);
  return c;
}

}  // namespace

Case bricks_damaged(Dice& d) {
  const int kind = d.integer(0, 5);
  if (kind == 0) return floating_cup(d);
  Case c = kind <= 2 ? cups_side_by_side(d)
                     : brick_case(d, any_tray(d), d.integer(1, 3), d.integer(1, 2), d.integer(1, 2),
                                  d.integer(1, 3));
  if (d.chance(0.25)) {
    const std::size_t k = d.below(c.mesh.triangles.size());
    std::swap(c.mesh.triangles[k][1], c.mesh.triangles[k][2]);
    c.note += text(", triangle %zu turned over", k);
  } else {
    lose_one(d, c);
  }
  c.tolerance = 1e-4;
  return c;
}

Case stack(Dice& d) {
  const int n = d.integer(2, 4), sides = d.pick({4, 4, 4, 3, 6, 8});
  const Polygon plan = sides == 4 ? Polygon{{0, 0}, {d.length(20, 60), 0}, {0, 0}, {0, 0}}
                                  : regular_polygon(sides, d.length(15, 40));
  const double x = plan[1].first, y = d.length(20, 60);
  double z = 0;
  Bodies bodies;
  for (int k = 0; k < n; ++k) {
    const double h = d.length(4, 40);
    bodies.push_back(sides == 4 ? shapes::box({0, 0, z}, {x, y, z + h}) : extruded(plan, z, z + h));
    z += h;
  }
  Case c =
      case_of(text("%d blocks of %d sides on each other, shared faces alike", n, sides), bodies, placed(d));
  c.solid = z * (sides == 4 ? x * y : area(plan));
  if (d.chance(0.5))
    c.options = {"--only", "solid"};
  else
    c.capacity = 0;
  lose_one(d, c);
  c.tolerance = 1e-4;
  return c;
}

Case pedestal(Dice& d) {
  const double r = d.length(20, 45), h = d.length(20, 60), w = d.length(2, 6), f = d.length(3, 8),
               foot = d.length(5, 30);
  const int n = d.pick({3, 4, 6, 12, 24, 48});
  Case c = case_of(
      text("cup of %d sides on a pedestal of its outline", n),
      {shapes::moved(round_cup(r, h, w, f, n), [&](const Vec3& p) { return Vec3(p + foot * Vec3::UnitZ()); }),
       shapes::revolve({{0, 0}, {r, 0}, {r, foot}, {0, foot}}, n)},
      placed(d));
  c.capacity = cup_capacity(r, h, w, f, n);
  c.solid = total(c.clean);
  if (d.chance(0.85)) lose_one(d, c);
  c.tolerance = 1e-4;
  return c;
}

// ---- molds of two halves that meet in the plane x = 0

namespace {

struct Split {
  double half = 30;                      // of the block, along x and y
  double low = -30, high = 35;           // of the block
  std::vector<shapes::Station> profile;  // of the hollow, from its mouth down to r = 0
  int n = 48;                            // facets round, a multiple of four
  double held() const {
    double v = 0;
    for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
      const auto [r, z] = profile[i];
      const auto [s, y] = profile[i + 1];
      v += (z - y) / 3 * (r * r + r * s + s * s);
    }
    return v * n / 2.0 * std::sin(2 * pi / n);
  }
  double silhouette() const {
    double a = 0;
    for (std::size_t i = 0; i + 1 < profile.size(); ++i)
      a += (profile[i].r + profile[i + 1].r) * (profile[i].z - profile[i + 1].z);
    return a;
  }
};

Split any_split(Dice& d) {
  Split s;
  s.half = d.length(25, 45);
  s.n = 4 * d.integer(4, 14);
  const double r = d.uniform(0.45, 0.75) * s.half, neck = d.uniform(0.2, 0.6) * r;
  s.low = -r - d.uniform(4, 10);
  s.high = r + d.uniform(4, 12);
  const int steps = d.integer(4, 16);
  const double start = std::asin(neck / r);
  s.profile = {{neck, s.high}};
  for (int k = 0; k <= steps; ++k) {
    const double a = start + (pi - start) * k / steps;
    s.profile.push_back({k == steps ? 0 : r * std::sin(a), r * std::cos(a)});
  }
  return s;
}

double cross(const std::pair<double, double>& a, const std::pair<double, double>& b,
             const std::pair<double, double>& c) {
  return (b.first - a.first) * (c.second - a.second) - (b.second - a.second) * (c.first - a.first);
}

/// A clockwise hole becomes part of the outline by the shortest bridge that crosses nothing.
Polygon bridged(const Polygon& outline, const Polygon& hole) {
  double best = 1e300;
  std::size_t from = 0, to = 0;
  const auto crosses = [&](const auto& p, const auto& q, const Polygon& poly) {
    for (std::size_t k = 0; k < poly.size(); ++k) {
      const auto &a = poly[k], &b = poly[(k + 1) % poly.size()];
      if (a == p || a == q || b == p || b == q) continue;
      if (cross(p, q, a) * cross(p, q, b) <= 0 && cross(a, b, p) * cross(a, b, q) <= 0) return true;
    }
    return false;
  };
  for (std::size_t i = 0; i < outline.size(); ++i)
    for (std::size_t j = 0; j < hole.size(); ++j) {
      const double far = std::hypot(outline[i].first - hole[j].first, outline[i].second - hole[j].second);
      if (far < best && !crosses(outline[i], hole[j], outline) && !crosses(outline[i], hole[j], hole)) {
        best = far;
        from = i;
        to = j;
      }
    }
  Polygon out(outline.begin(), outline.begin() + static_cast<std::ptrdiff_t>(from + 1));
  for (std::size_t k = 0; k <= hole.size(); ++k) out.push_back(hole[(to + k) % hole.size()]);
  out.insert(out.end(), outline.begin() + static_cast<std::ptrdiff_t>(from), outline.end());
  return out;
}

struct Key {
  double y, z, radius, depth;
  int n;
};

/// The half at x <= 0. `key` stands out of the parting face, or is sunk into it when its depth is negative.
TriangleSoup half_of(const Split& s, const Key* key = nullptr) {
  shapes::Builder b;
  const double a = s.half;
  Polygon parting{{-a, s.low}, {a, s.low}, {a, s.high}};
  for (const auto& [r, z] : s.profile) parting.emplace_back(r, z);
  for (std::size_t k = s.profile.size() - 1; k-- > 0;) parting.emplace_back(-s.profile[k].r, s.profile[k].z);
  parting.emplace_back(-a, s.high);
  if (key != nullptr) {
    Polygon ring;
    for (int k = 0; k < key->n; ++k)
      ring.emplace_back(key->y + key->radius * std::cos(2 * pi * k / key->n),
                        key->z + key->radius * std::sin(2 * pi * k / key->n));
    Polygon hole(ring.rbegin(), ring.rend());
    parting = bridged(parting, hole);
    const auto tip = [&](std::size_t k) {
      const auto& [y, z] = ring[k % ring.size()];
      return Vec3(key->depth, key->y + 0.6 * (y - key->y), key->z + 0.6 * (z - key->z));
    };
    for (std::size_t k = 0; k < ring.size(); ++k) {
      const auto &p = ring[k], &q = ring[(k + 1) % ring.size()];
      b.quad(Vec3(0, p.first, p.second), Vec3(0, q.first, q.second), tip(k + 1), tip(k));
      if (k > 1) b.triangle(tip(0), tip(k - 1), tip(k));
    }
  }
  const auto flat = [&](const Polygon& p, auto&& point) {
    const TriangleSoup t = extruded(p, 0, 1);  // its top
    for (const Triangle& c : t.triangles)
      if (t.vertices[c[0]].z() == 1 && t.vertices[c[1]].z() == 1 && t.vertices[c[2]].z() == 1)
        b.triangle(point(t.vertices[c[0]]), point(t.vertices[c[1]]), point(t.vertices[c[2]]));
  };
  flat(parting, [](const Vec3& p) { return Vec3(0, p.x(), p.y()); });
  Polygon top{{0, a}, {-a, a}, {-a, -a}, {0, -a}};
  for (int k = 3 * s.n / 4; k >= s.n / 4; --k) {
    const Vec3 p = on_circle(s.profile[0].r, 0, k, s.n);
    top.emplace_back(p.x(), p.y());
  }
  flat(top, [&](const Vec3& p) { return Vec3(p.x(), p.y(), s.high); });
  for (std::size_t i = 0; i + 1 < s.profile.size(); ++i)
    for (int k = s.n / 4; k < 3 * s.n / 4; ++k) {
      const auto p = s.profile[i], q = s.profile[i + 1];
      const Vec3 p0 = on_circle(p.r, p.z, k, s.n), p1 = on_circle(p.r, p.z, k + 1, s.n);
      if (q.r == 0)
        b.triangle(p0, p1, Vec3(0, 0, q.z));
      else
        b.quad(p0, p1, on_circle(q.r, q.z, k + 1, s.n), on_circle(q.r, q.z, k, s.n));
    }
  const double l = s.low, h = s.high;
  b.quad({-a, -a, l}, {-a, a, l}, {0, a, l}, {0, -a, l});
  b.quad({-a, a, l}, {-a, -a, l}, {-a, -a, h}, {-a, a, h});
  b.quad({-a, -a, l}, {0, -a, l}, {0, -a, h}, {-a, -a, h});
  b.quad({0, a, l}, {-a, a, l}, {-a, a, h}, {0, a, h});
  return b.take();
}

TriangleSoup mirrored_x(const TriangleSoup& s) {
  return shapes::turned(shapes::moved(s, [](const Vec3& p) { return Vec3(0.0 - p.x(), p.y(), p.z()); }));
}

TriangleSoup shifted(TriangleSoup s, const Vec3& by) {
  return shapes::moved(std::move(s), [&](const Vec3& p) { return Vec3(p + by); });
}

}  // namespace

Case mirrored(Dice& d) {
  if (d.chance(0.5)) {
    const Tray t = any_tray(d);
    const TriangleSoup half =
        shapes::bricks({-t.x / 2, t.wall - t.x / 2, 0}, {0, t.wall, t.y - t.wall, t.y}, {0, t.floor, t.z},
                       [](int i, int j, int k) { return i == 0 || j != 1 || k == 0; });
    Case c = case_of("box mold of two mirrored halves", {half, mirrored_x(half)}, placed(d));
    c.capacity = t.capacity();
    c.solid = t.x * t.y * t.z - t.capacity();
    if (d.chance(0.85)) lose_one(d, c);
    c.tolerance = 1e-4;
    return c;
  }
  const Split s = any_split(d);
  const TriangleSoup half = half_of(s);
  Case c = case_of("round mold of two mirrored halves", {half, mirrored_x(half)}, placed(d));
  c.capacity = s.held();
  c.solid = 4 * s.half * s.half * (s.high - s.low) - s.held();
  if (d.chance(0.85)) lose_one(d, c);
  c.tolerance = 1e-4;
  return c;
}

Case laminate(Dice& d) {
  const Tray t = any_tray(d);
  const int rings = d.integer(1, 5);
  const auto zs = cuts(d, t.floor, t.z, rings);
  Bodies bodies{shapes::bricks({0, t.wall, t.x - t.wall, t.x}, {0, t.wall, t.y - t.wall, t.y}, {0, t.floor},
                               [](int, int, int) { return true; })};
  for (std::size_t k = 0; k + 1 < zs.size(); ++k)
    bodies.push_back(shapes::bricks({0, t.wall, t.x - t.wall, t.x}, {0, t.wall, t.y - t.wall, t.y},
                                    {zs[k], zs[k + 1]}, [](int i, int j, int) { return i != 1 || j != 1; }));
  if (d.chance(0.3))
    bodies[0] = shapes::box({0, 0, 0}, {t.x, t.y, t.floor});  // faces that are not shared alike
  Case c = case_of(text("laminate of %d rings on a plate", rings), bodies, placed(d));
  c.capacity = t.capacity();
  c.solid = t.x * t.y * t.z - t.capacity();
  if (d.chance(0.85)) lose_one(d, c);
  c.tolerance = 1e-4;
  return c;
}

namespace {

/// A floor and four walls: `apart` in every contact, or sunk into each other when that is negative.
Bodies slab_mold(const Tray& t, double apart) {
  const double z = t.floor + apart;
  return {shapes::box({0, 0, 0}, {t.x, t.y, t.floor}), shapes::box({0, 0, z}, {t.x, t.wall, t.z}),
          shapes::box({0, t.y - t.wall, z}, {t.x, t.y, t.z}),
          shapes::box({0, t.wall + apart, z}, {t.wall, t.y - t.wall - apart, t.z}),
          shapes::box({t.x - t.wall, t.wall + apart, z}, {t.x, t.y - t.wall - apart, t.z})};
}

}  // namespace

Case slabs_damaged(Dice& d) {
  const Tray t = any_tray(d);
  const double sunk = d.chance(0.5) ? 0 : d.uniform(0.3, 0.9) * std::min(t.wall, t.floor);
  Case c = case_of(sunk > 0 ? "5 slabs that overlap" : "5 slabs that touch", slab_mold(t, -sunk), placed(d));
  c.capacity = t.capacity();
  c.solid = t.x * t.y * t.z - t.capacity();
  lose_one(d, c);
  c.tolerance = 1e-4;
  return c;
}

Case slabs(Dice& d) {
  const Tray t = any_tray(d, 3);
  const double g = d.uniform(0.003, 0.08);
  Case c = case_of(text("slabs %.3g mm apart", g), slab_mold(t, g), placed(d));
  c.capacity = t.capacity();
  c.tolerance = 1e-4 + 1.2 * g * (1 / (t.z - t.floor) + 2 / (t.x - 2 * t.wall) + 2 / (t.y - 2 * t.wall));
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case gap_box(Dice& d) {
  const Tray t = any_tray(d, 3);
  const double g = d.uniform(0.005, 0.085), x = t.x, y = t.y, w = t.wall;
  std::vector<Polygon> walls;
  double inside = t.inside(), round = 2 * (x + y);
  const int kind = d.integer(0, 4);
  const char* names[] = {"two L walls", "two U walls", "a U wall and a straight one", "mitred walls",
                         "mitred sides"};
  if (kind == 0) {
    walls = {{{0, 0}, {x, 0}, {x, w}, {w, w}, {w, y}, {0, y}},
             {{x - w, w + g}, {x, w + g}, {x, y}, {w + g, y}, {w + g, y - w}, {x - w, y - w}}};
  } else if (kind <= 2) {
    const double m = kind == 1 ? d.uniform(0.3, 0.7) * x : x - w - g;
    walls = {{{0, 0}, {m, 0}, {m, w}, {w, w}, {w, y - w}, {m, y - w}, {m, y}, {0, y}}};
    if (kind == 1)
      walls.push_back(
          {{m + g, 0}, {x, 0}, {x, y}, {m + g, y}, {m + g, y - w}, {x - w, y - w}, {x - w, w}, {m + g, w}});
    else
      walls.push_back({{x - w, 0}, {x, 0}, {x, y}, {x - w, y}});
  } else {
    // Each side is moved outward until it stands g from its neighbours.
    const int n = kind == 3 ? 4 : d.pick({3, 5, 6, 8});
    const double r = 0.6 * std::max(x, y), in = r - w / std::cos(pi / n);
    const double out = g / (2 * std::sin(pi / n));
    const Polygon a = regular_polygon(n, r), b = regular_polygon(n, in);
    for (int k = 0; k < n; ++k) {
      const double turn = 2 * pi * (k + 0.5) / n, ux = out * std::cos(turn), uy = out * std::sin(turn);
      const auto i = static_cast<std::size_t>(k), j = static_cast<std::size_t>((k + 1) % n);
      Polygon side{a[i], a[j], b[j], b[i]};
      for (auto& p : side) p = {p.first + ux, p.second + uy};
      walls.push_back(side);
    }
    inside = area(regular_polygon(n, in + out / std::cos(pi / n)));
    round = 2 * n * r;
  }
  Bodies bodies{kind < 3 ? shapes::box({0, 0, 0}, {x, y, t.floor})
                         : shapes::box({-1.2 * std::max(x, y), -1.2 * std::max(x, y), 0},
                                       {1.2 * std::max(x, y), 1.2 * std::max(x, y), t.floor})};
  for (const Polygon& p : walls) bodies.push_back(extruded(p, t.floor + g, t.z));
  Case c = case_of(text("floor and %s, all %.3g mm apart", names[kind], g), bodies, placed(d));
  c.capacity = inside * (t.z - t.floor);
  c.tolerance = 1e-4 + 1.2 * g * (1 / (t.z - t.floor) + round / inside);
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case plug(Dice& d) {
  const double r = d.length(15, 40), w = d.length(3, 10), h = d.length(20, 60), up = d.length(3, 12);
  const bool alike = d.chance(0.6);
  const int n = alike ? d.integer(6, 96) : d.integer(90, 200);
  int m = n;
  if (!alike) do
      m = d.integer(48, 200);
    while (m == n || r * (1 - std::cos(pi / m)) > 0.07 || r * (1 - std::cos(pi / n)) > 0.07);
  const double taper =
      alike && d.chance(0.3) ? d.uniform(0.02, 0.2) * r : 0;  // the ring narrows where the plug sits
  std::vector<shapes::Station> ring{{r - taper, 0}, {r + w, 0}, {r + w, h}, {r, h}, {r, up}};
  if (taper == 0) ring.pop_back();
  Placing p = placed(d);
  Bodies bodies{shapes::revolve(ring, n, true),
                shapes::revolve({{0, 0}, {r - taper, 0}, {r, up}, {0, up}}, m)};
  Case c =
      case_of(text("ring of %d facets and plug of %d, turned %.4g deg", n, m, p.angle * 180 / pi), bodies, p);
  c.capacity = n / 2.0 * r * r * std::sin(2 * pi / n) * (h - up);
  if (alike) c.solid = total(bodies);
  c.tolerance = alike ? 1e-4 : 1e-4 + up / (h - up) * 0.01;
  c.form = d.pick({Form::binary_stl, Form::ply, Form::text_stl});
  return c;
}

Case two_part(Dice& d) {
  const Split s = any_split(d);
  const int kind = d.integer(0, 3);
  Bodies bodies;
  Case c;
  const double block = 4 * s.half * s.half * (s.high - s.low);
  if (kind <= 1) {  // a key beside the belly
    const double room = s.half - 0.75 * s.half;
    const double radius = d.uniform(0.25, 0.42) * room, clear = kind == 0 ? 0 : d.uniform(0.2, 0.5);
    const double side = d.chance(0.5) ? 1 : -1;
    const int n = d.integer(6, 32);
    const Key peg{side * (s.half - room / 2), d.uniform(0.3, 0.7) * s.low, radius,
                  d.uniform(0.8, 1.6) * radius, n};
    Key dent{peg.y, peg.z, peg.radius + clear, -(peg.depth + clear), n};
    TriangleSoup other = half_of(s, &dent);
    bodies = {half_of(s, &peg), mirrored_x(other)};
    c = case_of(kind == 0 ? "halves with a key that fits tightly" : "halves with a key that has play", bodies,
                placed(d));
    c.capacity = s.held();
    c.solid = total(bodies);
    c.tolerance = 2e-5;
    if (kind == 1) c.tolerance = 1e-4;
  } else if (kind == 2) {
    const double by = d.pick({0.2, 1.0, d.uniform(0.1, 1.5)});
    const TriangleSoup half = half_of(s);
    bodies = {half, shifted(mirrored_x(half), {0, by, 0})};
    c = case_of(text("halves displaced by %.3g along the parting plane", by), bodies, placed(d));
    c.capacity = s.held();
    c.solid = block - s.held();
    c.tolerance = 1e-4;
  } else {
    const double g = d.uniform(0.005, 0.08);
    const TriangleSoup half = half_of(s);
    bodies = {half, shifted(mirrored_x(half), {g, 0, 0})};
    c = case_of(text("halves %.3g apart", g), bodies, placed(d));
    c.capacity = s.held();
    c.tolerance = 1e-4 + 1.2 * g * s.silhouette() / s.held();
  }
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case wavy(Dice& d) {
  const Tray t = any_tray(d, 4);
  const int n = d.integer(8, 80), waves = d.integer(1, 3);
  const bool alike = d.chance(0.7);
  const int m = alike ? n : d.integer(40, 120);
  const double swing = d.uniform(0.1, 0.3) * t.wall, mid = d.uniform(0.4, 0.6) * t.x;
  // From the wall's inside or outside to its other face, y from `a` to `b`.
  const auto joint = [&](double a, double b, int steps) {
    Polygon p;
    for (int k = 0; k <= steps; ++k) {
      const double s = static_cast<double>(k) / steps;
      p.emplace_back(mid + swing * std::sin(2 * pi * waves * s), k == steps ? b : a + s * (b - a));
    }
    return p;
  };
  const auto joined_up = [](std::initializer_list<Polygon> parts) {
    Polygon out;
    for (const Polygon& p : parts) out.insert(out.end(), p.begin(), p.end());
    return out;
  };
  const auto reversed = [](Polygon p) {
    std::reverse(p.begin(), p.end());
    return p;
  };
  const double x = t.x, y = t.y, w = t.wall;
  const Polygon left =
      joined_up({{{0, 0}}, joint(0, w, n), {{w, w}, {w, y - w}}, joint(y - w, y, n), {{0, y}}});
  const Polygon right = joined_up({reversed(joint(0, w, m)),
                                   {{x, 0}, {x, y}},
                                   reversed(joint(y - w, y, m)),
                                   {{x - w, y - w}, {x - w, w}}});
  const Placing p = placed(d);
  Case c = case_of(
      text("walls that meet in waves of %d and %d pieces, turned %.4g deg", n, m, p.angle * 180 / pi),
      {shapes::box({0, 0, 0}, {x, y, t.floor}), extruded(left, t.floor, t.z), extruded(right, t.floor, t.z)},
      p);
  c.capacity = t.capacity();
  c.tolerance = 2e-5;
  if (alike)
    c.solid = x * y * t.z - t.capacity();
  else
    c.tolerance = 1e-3;
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

}  // namespace attacks
