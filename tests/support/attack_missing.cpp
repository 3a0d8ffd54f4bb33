// SPDX-License-Identifier: GPL-3.0-or-later
// Attack meshes in which something is missing or too much: single triangles of low-poly shapes, rims, faces
// that were divided apart, patches, sheets; bodies that cross, and bodies that are there twice.
#include "support/attack_parts.hpp"

#include <algorithm>
#include <set>

namespace attacks {

using shapes::pi;
using Bodies = std::vector<TriangleSoup>;

namespace {

TriangleSoup rotated(TriangleSoup s, const Eigen::Matrix3d& r) {
  return shapes::moved(std::move(s), [&](const Vec3& p) { return Vec3(r * p); });
}

/// A piece in any position, one triangle missing.
Case piece_without_one(Dice& d, std::string note, TriangleSoup s) {
  Case c;
  c.solid = volume(s);
  c.capacity = 0;
  c.clean = {s};
  c.note = std::move(note);
  c.mesh = d.chance(0.5) ? rotated(std::move(s), any_rotation(d)) : at(std::move(s), placed(d));
  lose_one(d, c);
  c.form = d.pick({Form::binary_stl, Form::binary_stl, Form::ply});
  return c;
}

TriangleSoup gem(Dice& d, int corners) {
  std::vector<Vec3> p;
  const double r = d.uniform(10, 50);
  for (int k = 0; k < corners; ++k) p.push_back(d.uniform(0.85, 1) * r * d.direction());
  return hull(p);
}

}  // namespace

Case one_triangle(Dice& d) {
  const int kind = d.integer(0, 6);
  if (kind <= 1) {
    const double a = d.length(40, 200), b = d.length(5, 100), h = d.length(1.5, kind == 0 ? 6 : 40);
    return piece_without_one(d, text("box %.4g x %.4g x %.4g", a, b, h), shapes::box({0, 0, 0}, {a, b, h}));
  }
  if (kind == 2) {
    const double x = d.length(40, 120), y = d.length(40, 100), z = d.length(15, 60), w = d.length(1, 6),
                 f = d.length(1, 8);
    Case c = case_of(text("box mold, wall %.3g", w), {box_cup(x, y, z, w, f)}, placed(d));
    c.capacity = (x - 2 * w) * (y - 2 * w) * (z - f);
    c.solid = x * y * z - *c.capacity;
    lose_one(d, c);
    return c;
  }
  if (kind <= 4) {
    const int corners = d.integer(6, 22);
    return piece_without_one(d, text("gem of %d corners", corners), gem(d, corners));
  }
  if (kind == 5) {
    const int n = d.integer(3, 14);
    const double r = d.length(8, 50), top = d.pick({1.0, d.uniform(0.3, 0.9)}), h = d.length(2, 60);
    return piece_without_one(d, text("prism of %d sides, its top %.2g as wide", n, top),
                             shapes::revolve({{0, 0}, {r, 0}, {top * r, h}, {0, h}}, n));
  }
  const int n = d.integer(3, 16);
  const double r = d.length(10, 50), h = d.length(5, 80);
  if (d.chance(0.5))
    return piece_without_one(d, text("pyramid of %d sides", n), shapes::revolve({{0, 0}, {r, 0}, {0, h}}, n));
  return piece_without_one(d, text("double pyramid of %d sides", n),
                           shapes::revolve({{0, -h / 2}, {r, 0}, {0, h}}, n));
}

namespace {

TriangleSoup chamfered(const Vec3& size, double cut) {
  std::vector<Vec3> p;
  for (int k = 0; k < 8; ++k)
    for (int axis = 0; axis < 3; ++axis) {
      Vec3 v;
      for (int i = 0; i < 3; ++i) {
        const bool high = (k >> i) & 1;
        v[i] = high ? size[i] : 0;
        if (i == axis) v[i] += high ? -cut : cut;
      }
      p.push_back(v);
    }
  return hull(p);
}

/// A square block, half its side `half`, from `low` to the profile's first station, with a hollow of n
/// facets.
TriangleSoup block_with(const std::vector<shapes::Station>& profile, int n, double half, double low) {
  shapes::Builder b;
  const double deck = profile[0].z, a = half;
  const Vec3 corner[4] = {{a, a, deck}, {-a, a, deck}, {-a, -a, deck}, {a, -a, deck}};
  const auto ring = [&](double r, double z, int k) { return shapes::on_circle(r, z, k, n); };
  // Each facet of the mouth sees the corner of its quarter; between quarters the sides of the square close
  // the deck.
  const auto quarter = [&](int k) {
    const double turn = 2 * pi * (k + 0.5) / n;
    return static_cast<int>(turn / (pi / 2)) % 4;
  };
  for (int k = 0; k < n; ++k) {
    b.triangle(corner[quarter(k)], ring(profile[0].r, deck, k + 1), ring(profile[0].r, deck, k));
    for (int q = quarter(k); q != quarter((k + 1) % n); q = (q + 1) % 4)
      b.triangle(corner[q], corner[(q + 1) % 4], ring(profile[0].r, deck, k + 1));
    for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
      const auto p = profile[i], q = profile[i + 1];
      if (q.r == 0)
        b.triangle(ring(p.r, p.z, k), ring(p.r, p.z, k + 1), Vec3(0, 0, q.z));
      else
        b.quad(ring(p.r, p.z, k), ring(p.r, p.z, k + 1), ring(q.r, q.z, k + 1), ring(q.r, q.z, k));
    }
  }
  const auto down = [&](int k) { return Vec3(corner[k % 4].x(), corner[k % 4].y(), low); };
  for (int k = 0; k < 4; ++k) b.quad(corner[k], down(k), down(k + 1), corner[(k + 1) % 4]);
  b.quad(down(3), down(2), down(1), down(0));
  return b.take();
}

double hollow(const std::vector<shapes::Station>& profile, int n) {
  return n / (2 * pi) * std::sin(2 * pi / n) * -shapes::frusta(profile);
}

void drop_if(TriangleSoup& s, const std::function<bool(const Vec3&, const Vec3&, const Vec3&)>& gone) {
  std::erase_if(s.triangles, [&](const Triangle& t) {
    return gone(s.vertices[t[0]], s.vertices[t[1]], s.vertices[t[2]]);
  });
}

/// A cup of few sides with its rim missing, or one face of two triangles.
Case cup_without(Dice& d) {
  const int n = d.integer(3, 12);
  const double r = d.length(20, 45), h = d.length(20, 60), w = d.length(1, 5), f = d.length(2, 7),
               taper = d.uniform(0.6, 1);
  const double in = r - w / std::cos(pi / n);
  const TriangleSoup whole =
      shapes::revolve({{0, 0}, {taper * r, 0}, {r, h}, {in, h}, {taper * in, f}, {0, f}}, n);
  Case c = case_of("", {whole}, Placing{});
  c.solid = volume(whole);
  c.capacity = hollow({{in, h}, {taper * in, f}, {0, f}}, n);
  if (d.chance(0.4)) {
    c.note = text("cup of %d sides, rim missing", n);
    drop_if(c.mesh, [&](const Vec3& p, const Vec3& q, const Vec3& s) {
      return p.z() == h && q.z() == h && s.z() == h;
    });
  } else {
    const bool inner = d.chance(0.5);
    c.note = text("cup of %d sides, one %s face missing", n, inner ? "inner" : "outer");
    const double lowest = inner ? f : 0, foot = taper * (inner ? in : r), top = inner ? in : r;
    const Vec3 corner[4] = {shapes::on_circle(foot, lowest, 0, n), shapes::on_circle(foot, lowest, 1, n),
                            shapes::on_circle(top, h, 0, n), shapes::on_circle(top, h, 1, n)};
    drop_if(c.mesh, [&](const Vec3& p, const Vec3& q, const Vec3& s) {
      const auto among = [&](const Vec3& v) { return std::find(corner, corner + 4, v) != corner + 4; };
      return among(p) && among(q) && among(s);
    });
  }
  c.mesh = at(std::move(c.mesh), placed(d));
  return c;
}

}  // namespace

Case facets(Dice& d) {
  const int kind = d.integer(0, 4);
  if (kind == 0) {
    const Vec3 size(d.length(30, 90), d.length(30, 70), d.length(20, 50));
    return piece_without_one(d, "block with cut corners",
                             chamfered(size, d.uniform(0.1, 0.45) * size.minCoeff()));
  }
  if (kind == 1) {
    const int n = d.pick({4, 8, 12, 14, 20});
    return piece_without_one(d, text("regular body of %d faces", n), platonic(n, d.length(12, 45)));
  }
  if (kind == 2) {
    const int n = d.integer(4, 12);
    const double r = d.length(10, 30), half = r + d.length(4, 12);
    std::vector<shapes::Station> profile{{r, 0}};
    for (int k = d.integer(0, 2), i = k; i > 0; --i)
      profile.push_back(
          {r * std::cos(pi / 2 * (k - i + 1) / (k + 1)), -r * std::sin(pi / 2 * (k - i + 1) / (k + 1))});
    profile.push_back({0, -r * d.uniform(0.8, 1.3)});
    const TriangleSoup whole = block_with(profile, n, half, profile.back().z - d.length(4, 10));
    Case c = case_of(text("block with a hollow gem of %d facets round", n), {whole}, placed(d));
    c.solid = volume(whole);
    c.capacity = hollow(profile, n);
    std::size_t gone;
    do gone = d.below(c.mesh.triangles.size());
    while (whole.vertices[whole.triangles[gone][0]].head<2>().norm() > 1.01 * r ||
           whole.vertices[whole.triangles[gone][1]].head<2>().norm() > 1.01 * r ||
           whole.vertices[whole.triangles[gone][2]].head<2>().norm() > 1.01 * r);
    c.note += text(", triangle %zu missing", gone);
    c.mesh = without(std::move(c.mesh), gone);
    return c;
  }
  if (kind == 3) return cup_without(d);
  const TriangleSoup whole = gem(d, d.integer(30, 60));
  return piece_without_one(d, "gem of many corners", whole);
}

// ---- faces divided apart, as solid modellers write them

namespace {

void add_disc(shapes::Builder& b, double r, double z, int n, bool up) {
  for (int k = 0; k < n; ++k) {
    const Vec3 p = shapes::on_circle(r, z, k, n), q = shapes::on_circle(r, z, k + 1, n);
    up ? b.triangle(Vec3(0, 0, z), p, q) : b.triangle(Vec3(0, 0, z), q, p);
  }
}

void add_tube(shapes::Builder& b, double r, double z0, double z1, int n, bool outward) {
  for (int k = 0; k < n; ++k) {
    const Vec3 p = shapes::on_circle(r, z0, k, n), q = shapes::on_circle(r, z0, k + 1, n),
               s = shapes::on_circle(r, z1, k + 1, n), t = shapes::on_circle(r, z1, k, n);
    outward ? b.quad(p, q, s, t) : b.quad(t, s, q, p);
  }
}

/// Between a circle of n and an inner one of m points, by angle.
void add_ring(shapes::Builder& b, double outer, int n, double inner, int m, double z) {
  int i = 0, j = 0;
  while (i < n || j < m) {
    const Vec3 p = shapes::on_circle(outer, z, i, n), q = shapes::on_circle(inner, z, j, m);
    if (j >= m || (i < n && static_cast<long>(i + 1) * m <= static_cast<long>(j + 1) * n)) {
      b.triangle(p, shapes::on_circle(outer, z, i + 1, n), q);
      ++i;
    } else {
      b.triangle(p, shapes::on_circle(inner, z, j + 1, m), q);
      ++j;
    }
  }
}

Case rim_missing(Dice& d) {
  Case c;
  const double w = d.length(0.8, 5);
  if (d.chance(0.5)) {
    const double x = d.length(40, 120), y = d.length(40, 100), z = d.length(20, 60), f = d.length(1, 6);
    c = case_of(text("box mold, wall %.3g, rim missing", w), {box_cup(x, y, z, w, f)}, Placing{});
    c.capacity = (x - 2 * w) * (y - 2 * w) * (z - f);
    c.solid = x * y * z - *c.capacity;
    drop_if(c.mesh, [&](const Vec3& p, const Vec3& q, const Vec3& r) {
      return p.z() == z && q.z() == z && r.z() == z;
    });
  } else {
    const double r = d.length(20, 50), h = d.length(20, 60), f = d.length(1, 6);
    const int n = d.integer(12, 64);
    c = case_of(text("cup of %d sides, wall %.3g, rim missing", n, w), {round_cup(r, h, w, f, n)}, Placing{});
    c.capacity = cup_capacity(r, h, w, f, n);
    c.solid = volume(c.clean[0]);
    drop_if(c.mesh, [&](const Vec3& p, const Vec3& q, const Vec3& s) {
      return p.z() == h && q.z() == h && s.z() == h;
    });
  }
  c.mesh = at(std::move(c.mesh), placed(d));
  c.tolerance = 1e-4;
  return c;
}

}  // namespace

Case cad_faces(Dice& d) {
  const int kind = d.integer(0, 2);
  if (kind == 0) return rim_missing(d);
  shapes::Builder b;
  Case c;
  const double r = d.length(20, 45), h = d.length(20, 60), w = d.length(2, 6), f = d.length(3, 7);
  const int fewest = d.pick({12, 16, 24, 32});
  const auto some = [&] { return d.chance(0.4) ? fewest : d.integer(fewest, 3 * fewest); };
  const double share = fewest / (2 * pi) * std::sin(2 * pi / fewest), middle = (1 + share) / 2;
  if (kind == 1) {
    const int counts[6] = {fewest, some(), some(), some(), some(), some()};
    add_disc(b, r, 0, counts[0], false);
    add_tube(b, r, 0, h, counts[1], true);
    add_ring(b, r, counts[2], r - w, counts[3], h);
    add_tube(b, r - w, f, h, counts[4], false);
    add_disc(b, r - w, f, counts[5], true);
    c.note = text("cup, each face divided apart (%d, %d, %d, %d, %d, %d)", counts[0], counts[1], counts[2],
                  counts[3], counts[4], counts[5]);
    c.capacity = middle * pi * (r - w) * (r - w) * (h - f);
  } else {
    const int mouth = some(), bore = some(), base = some();
    const double half = r + w;
    add_tube(b, r, f, h, bore, false);
    add_disc(b, r, f, base, true);
    const TriangleSoup block = block_with({{r, h}, {0, h - 1}}, mouth, half, 0);
    for (const Triangle& t : block.triangles) {
      const Vec3 &p = block.vertices[t[0]], &q = block.vertices[t[1]], &s = block.vertices[t[2]];
      if (p.z() != h - 1 && q.z() != h - 1 && s.z() != h - 1) b.triangle(p, q, s);
    }
    c.note = text("block with a bore: mouth %d, bore %d, base %d facets", mouth, bore, base);
    c.capacity = middle * pi * r * r * (h - f);
    c.solid = 4 * half * half * h - *c.capacity;
  }
  c.mesh = at(b.take(), placed(d));
  c.tolerance = 1.05 * (1 - share) / (1 + share) + 1e-4;
  if (c.solid) c.tolerance = std::max(c.tolerance, c.tolerance * *c.capacity / *c.solid);
  return c;
}

// ---- patches

Case holes(Dice& d) {
  const double r = d.length(20, 40), h = d.length(25, 60), w = d.length(3, 7), f = d.length(3, 8),
               edge = d.uniform(1.5, 4);
  const TriangleSoup whole = fine_cup(r, h, w, f, edge);
  Case c = case_of("", {whole}, Placing{});
  const int n = 6 * std::max(3, static_cast<int>(std::lround(r / edge)));
  c.capacity = cup_capacity(r, h, w, f, n);
  c.solid = volume(whole);
  const int patches = d.integer(1, 3);
  const double reach = d.uniform(0.8, 3) * edge;
  c.note = text("cup, %d holes of about %.2g mm", patches, reach);
  for (int k = 0; k < patches; ++k) {
    const Triangle t = whole.triangles[d.below(whole.triangles.size())];
    const Vec3 centre = (whole.vertices[t[0]] + whole.vertices[t[1]] + whole.vertices[t[2]]) / 3;
    if (std::abs(centre.z() - h) < 0.2 * edge) continue;  // a rim's height would be anybody's guess
    drop_if(c.mesh, [&](const Vec3& p, const Vec3& q, const Vec3& s) {
      return (Vec3((p + q + s) / 3) - centre).norm() < reach;
    });
  }
  c.mesh = at(std::move(c.mesh), placed(d));
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case sheets(Dice& d) {
  const double x = d.length(40, 120), y = d.length(40, 100), z = d.length(20, 60), w = d.length(3, 8),
               f = d.length(3, 8);
  const TriangleSoup cup = box_cup(x, y, z, w, f);
  shapes::Builder b;
  const auto flat = [&](const Vec3& p, const Vec3& u, const Vec3& v) {
    const int n = d.integer(1, 4);
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n; ++j) {
        const Vec3 o = p + u * i / n + v * j / n;
        b.quad(o, o + u / n, o + u / n + v / n, o + v / n);
      }
  };
  Case c;
  c.capacity = (x - 2 * w) * (y - 2 * w) * (z - f);
  c.solid = x * y * z - *c.capacity;
  const int kind = d.integer(0, 3);
  if (kind == 0) {
    flat({w, w, z}, {x - 2 * w, 0, 0}, {0, y - 2 * w, 0});
    c.note = "a lid without thickness over the opening";
    c.expect = Expect::either;
  } else if (kind == 1) {
    flat({0.3 * w, 0.2 * y, 0.2 * z}, {0.3 * w, 0, 0}, {0, 0.5 * y, 0.1 * z});
    c.note = "a sheet within the wall";
  } else if (kind == 2) {
    flat({x + d.length(2, 10), 0.2 * y, 0.2 * z}, {0, 0.4 * y, 0}, {0.1 * x, 0, 0.4 * z});
    c.note = "a sheet beside the mold";
    c.expect = Expect::either;
  } else {
    flat({d.uniform(0.3, 0.7) * x, w, f}, {0, y - 2 * w, 0}, {0, 0, z - f});
    c.note = "a divider without thickness";
    c.expect = Expect::either;
  }
  const Placing p = placed(d);
  c.mesh = at(shapes::joined({cup, b.take()}), p);
  c.clean = {cup};
  c.tolerance = 1e-4;
  return c;
}

// ---- bodies that cross, bodies that are there twice

namespace {

struct Brick {
  Vec3 low, high;
};

/// The volume of the union, by cutting space along every face.
double united(const std::vector<Brick>& bricks) {
  std::array<std::vector<double>, 3> at;
  for (const Brick& b : bricks)
    for (int k = 0; k < 3; ++k)
      at[static_cast<std::size_t>(k)].insert(at[static_cast<std::size_t>(k)].end(), {b.low[k], b.high[k]});
  for (auto& a : at) {
    std::sort(a.begin(), a.end());
    a.erase(std::unique(a.begin(), a.end()), a.end());
  }
  double v = 0;
  for (std::size_t i = 0; i + 1 < at[0].size(); ++i)
    for (std::size_t j = 0; j + 1 < at[1].size(); ++j)
      for (std::size_t k = 0; k + 1 < at[2].size(); ++k) {
        const Vec3 low(at[0][i], at[1][j], at[2][k]), high(at[0][i + 1], at[1][j + 1], at[2][k + 1]);
        const bool full = std::any_of(bricks.begin(), bricks.end(), [&](const Brick& b) {
          return (b.low.array() <= low.array()).all() && (high.array() <= b.high.array()).all();
        });
        if (full) v += (high - low).prod();
      }
  return v;
}

Bodies bodies_of(const std::vector<Brick>& bricks) {
  Bodies out;
  for (const Brick& b : bricks) out.push_back(shapes::box(b.low, b.high));
  return out;
}

Case crossed_bars(Dice& d) {
  const double angle = d.uniform(8, 90) * pi / 180, w = d.length(3, 10),
               u = d.chance(0.6) ? w : d.length(3, 10), h = d.length(5, 25),
               length = 1.3 * (std::max(w, u) / std::tan(angle) + std::max(w, u) / std::sin(angle)) +
                        d.length(40, 100);
  const double up = d.chance(0.5) ? 0 : d.uniform(0.1, 0.6) * h;
  const TriangleSoup a = shapes::box({-length / 2, -w / 2, 0}, {length / 2, w / 2, h}),
                     b = at(shapes::box({-length / 2, -u / 2, up}, {length / 2, u / 2, up + h}),
                            Placing{angle, Vec3::Zero()});
  Case c = case_of(text("two bars that cross at %.3g deg", angle * 180 / pi), {a, b}, placed(d));
  c.solid = (w + u) * length * h - w * u * (h - up) / std::sin(angle);
  if (up == 0) c.capacity = 0;
  return c;
}

Case crossed_dividers(Dice& d) {
  const double x = d.length(50, 140), y = d.length(50, 120), z = d.length(20, 50), w = d.length(4, 9),
               f = d.length(3, 8), t = d.length(1.5, 5), u = d.length(1.5, 5), sunk = d.pick({0.0, 1.0, 2.0}),
               mx = d.uniform(0.3, 0.7) * x, my = d.uniform(0.3, 0.7) * y;
  Case c = case_of(
      text("box mold, dividers that cross, sunk %.2g", sunk),
      {box_cup(x, y, z, w, f), shapes::box({mx - t / 2, w - sunk, f - sunk}, {mx + t / 2, y - w + sunk, z}),
       shapes::box({w - sunk, my - u / 2, f - sunk}, {x - w + sunk, my + u / 2, z})},
      placed(d));
  const double ix = x - 2 * w, iy = y - 2 * w;
  c.capacity = (ix - t) * (iy - u) * (z - f);
  c.solid = x * y * z - *c.capacity;
  return c;
}

Case crossed_frames(Dice& d) {
  std::vector<Brick> all;
  const int frames = d.integer(2, 3);
  for (int k = 0; k < frames; ++k) {
    const double w = d.length(3, 7), a = d.length(15, 45), b = d.length(15, 45), h = d.length(4, 12),
                 z = d.uniform(0, 3);
    const Vec3 o(d.uniform(-8, 8), d.uniform(-8, 8), 0);
    all.push_back({o + Vec3(-a, -b, z), o + Vec3(a, w - b, z + h)});
    all.push_back({o + Vec3(-a, b - w, z), o + Vec3(a, b, z + h)});
    all.push_back({o + Vec3(-a, -b, z), o + Vec3(w - a, b, z + h)});
    all.push_back({o + Vec3(a - w, -b, z), o + Vec3(a, b, z + h)});
  }
  Case c = case_of(text("%d frames of crossing bars", frames), bodies_of(all), placed(d));
  c.solid = united(all);
  c.options = {"--only", "solid"};
  return c;
}

Case random_bars(Dice& d) {
  std::vector<Brick> all;
  const int n = d.integer(3, 14);
  for (int k = 0; k < n; ++k) {
    const int along = d.integer(0, 2);
    Vec3 half(d.uniform(2, 6), d.uniform(2, 6), d.uniform(2, 6));
    half[along] = d.uniform(20, 45);
    const Vec3 o(d.uniform(-12, 12), d.uniform(-12, 12), d.uniform(-12, 12));
    all.push_back({o - half, o + half});
  }
  Case c;
  c.note = text("%d bars in three directions, turned in space", n);
  c.clean = bodies_of(all);
  c.mesh = rotated(shapes::joined(c.clean), any_rotation(d));
  c.solid = united(all);
  c.options = {"--only", "solid"};
  return c;
}

}  // namespace

Case crossing(Dice& d) {
  const int kind = d.integer(0, 3);
  Case c = kind == 0   ? crossed_bars(d)
           : kind == 1 ? crossed_dividers(d)
           : kind == 2 ? crossed_frames(d)
                       : random_bars(d);
  c.tolerance = 2e-5;
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

Case copies(Dice& d) {
  const int kind = d.integer(0, 3);
  Case c;
  if (kind == 0) {
    const int n = d.integer(2, 3), sides = d.integer(8, 40);
    const double r = d.length(20, 45), h = d.length(20, 60), w = d.length(2, 6), f = d.length(3, 8);
    const TriangleSoup cup = round_cup(r, h, w, f, sides);
    c = case_of(text("a cup, %d times in the same place", n), Bodies(static_cast<std::size_t>(n), cup),
                placed(d));
    c.solid = volume(cup);
    c.capacity = cup_capacity(r, h, w, f, sides);
  } else if (kind == 1) {
    const double x = d.length(20, 80), y = d.length(20, 80), z = d.length(10, 50),
                 by = d.uniform(0.05, 0.9) * x;
    const TriangleSoup a = shapes::box({0, 0, 0}, {x, y, z}), b = shapes::box({by, 0, 0}, {x + by, y, z});
    c = case_of(text("a box twice, %.3g apart", by), {a, b}, placed(d));
    c.solid = (x + by) * y * z;
    c.capacity = 0;
  } else if (kind == 2) {
    const double x = d.length(40, 100), y = d.length(40, 80), z = d.length(20, 50), w = d.length(3, 8),
                 f = d.length(3, 8), by = d.chance(0.5) ? d.uniform(0.001, 0.1) : d.uniform(0.1, 0.8) * w;
    const TriangleSoup a = box_cup(x, y, z, w, f);
    c = case_of(text("a box mold twice, %.3g apart", by),
                {a, shapes::moved(a, [&](const Vec3& p) { return Vec3(p + by * Vec3::UnitX()); })},
                placed(d));
    const double whole = (x - 2 * w) * (y - 2 * w) * (z - f), both = (x - 2 * w - by) * (y - 2 * w) * (z - f);
    c.capacity = both;
    if (by < 0.3) c.alternatives = {whole};  // the same body, written twice
    if (by > 0.3) c.solid = (x + by) * y * z - both;
  } else {
    const double a = d.length(20, 40), h = d.length(15, 40), r = d.uniform(0.3, 0.8) * a,
                 deep = d.uniform(0.3, 0.8) * h;
    const int n = d.integer(8, 40);
    const TriangleSoup block = shapes::box({-a, -a, 0}, {a, a, h}),
                       tool =
                           shapes::revolve({{0, h - deep}, {r, h - deep}, {r, h + deep}, {0, h + deep}}, n);
    c = case_of("a block and an inside-out cylinder half out of it", {block, shapes::turned(tool)},
                placed(d));
    c.capacity = n / 2.0 * r * r * std::sin(2 * pi / n) * deep;
    c.clean.clear();
    c.expect = Expect::either;
  }
  c.tolerance = 2e-5;
  c.form = d.pick({Form::binary_stl, Form::ply});
  return c;
}

}  // namespace attacks
