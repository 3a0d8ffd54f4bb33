// SPDX-License-Identifier: GPL-3.0-or-later
// Attack meshes as scans are: noise, alike from vertex to vertex or not, beside regions that a program made
// plane; ragged rims and bites. The truth is the clean body's, so that the interval has to hold it.
#include "support/attack_parts.hpp"

#include <algorithm>

namespace attacks {

using shapes::pi;

namespace {

struct Cup {
  double r, h, w, f, edge;
  int n() const { return 6 * std::max(3, static_cast<int>(std::lround(r / edge))); }
  double capacity(double level) const { return cup_capacity(r, level, w, f, n()); }
  TriangleSoup mesh() const { return fine_cup(r, h, w, f, edge); }
};

Cup any_cup(Dice& d, double triangles) {
  Cup c{d.length(22, 45), d.length(25, 60), d.length(3, 7), d.length(3, 8), 1};
  const double in = c.r - c.w;
  const double faces = pi * c.r * c.r + 2 * pi * c.r * c.h + 2 * pi * in * (c.h - c.f) + pi * c.r * c.r;
  c.edge = std::sqrt(2 * faces / triangles);
  return c;
}

std::vector<std::vector<Index>> neighbours(const TriangleSoup& s) {
  std::vector<std::vector<Index>> out(s.vertices.size());
  for (const Triangle& t : s.triangles)
    for (std::size_t k = 0; k < 3; ++k) out[t[k]].push_back(t[(k + 1) % 3]);
  return out;
}

/// Gaussian noise of standard deviation `sigma` in every coordinate of the vertices that `noisy` names;
/// averaged over the neighbours `rounds` times, which makes it alike over as many edges.
void shake(Dice& d, TriangleSoup& s, double sigma, int rounds,
           const std::function<bool(const Vec3&)>& noisy) {
  const auto near = neighbours(s);
  std::vector<Vec3> by(s.vertices.size());
  for (Vec3& v : by) v = {d.normal(), d.normal(), d.normal()};
  for (int r = 0; r < rounds; ++r) {
    std::vector<Vec3> next(by);
    for (std::size_t v = 0; v < by.size(); ++v) {
      for (const Index w : near[v]) next[v] += by[w];
      next[v] /= static_cast<double>(near[v].size() + 1);
    }
    by = std::move(next);
  }
  double sum = 0;
  for (const Vec3& v : by) sum += v.squaredNorm() / 3;
  const double scale = sigma / std::sqrt(sum / static_cast<double>(by.size()));
  for (std::size_t v = 0; v < by.size(); ++v)
    if (noisy(s.vertices[v])) s.vertices[v] += scale * by[v];
}

Case scan_of(const Cup& cup, std::string note) {
  Case c = case_of(std::move(note), {cup.mesh()}, Placing{});
  c.capacity = cup.capacity(cup.h);
  c.solid = volume(c.clean[0]);
  c.tolerance = 0;
  return c;
}

double some_sigma(Dice& d, const Cup& c) {
  return std::min(d.pick({0.03, 0.05, 0.1, 0.15}), std::min(0.08 * c.edge, 0.04 * c.w));
}

void finish(Dice& d, Case& c) {
  c.mesh = at(std::move(c.mesh), placed(d));
  c.form = d.pick({Form::binary_stl, Form::ply});
}

/// Triangles whose middle `gone` names go; vertices nobody uses any more go with them.
void cut(TriangleSoup& s, const std::function<bool(const Vec3&)>& gone) {
  std::erase_if(s.triangles, [&](const Triangle& t) {
    return gone((s.vertices[t[0]] + s.vertices[t[1]] + s.vertices[t[2]]) / 3);
  });
  std::vector<Index> place(s.vertices.size(), pourwright::none);
  TriangleSoup out;
  for (Triangle t : s.triangles) {
    for (Index& v : t) {
      if (place[v] == pourwright::none) {
        place[v] = static_cast<Index>(out.vertices.size());
        out.vertices.push_back(s.vertices[v]);
      }
      v = place[v];
    }
    out.triangles.push_back(t);
  }
  s = std::move(out);
}

}  // namespace

Case capped(Dice& d) {
  const Cup cup = any_cup(d, std::exp(d.uniform(std::log(1500.0), std::log(16000.0))));
  const double sigma = some_sigma(d, cup);
  const int kind = d.integer(0, 3), rounds = d.chance(0.3) ? d.integer(1, 3) : 0;
  const char* clean[] = {"a plane base", "a plane rim", "a plane base and rim", "a clean outside"};
  Case c = scan_of(cup, text("scan, noise %.3g over %d edges, %s", sigma, rounds + 1, clean[kind]));
  shake(d, c.mesh, sigma, rounds, [&](const Vec3& p) {
    const bool base = p.z() == 0, rim = p.z() == cup.h, outside = p.head<2>().norm() > cup.r - 0.5 * cup.w;
    return kind == 0 ? !base : kind == 1 ? !rim : kind == 2 ? !base && !rim : !base && !outside;
  });
  finish(d, c);
  return c;
}

Case scan_noise(Dice& d) {
  const Cup cup = any_cup(d, std::exp(d.uniform(std::log(1500.0), std::log(16000.0))));
  const double sigma = some_sigma(d, cup);
  const int rounds = d.pick({0, 0, 1, 2, 4, 8});
  Case c = scan_of(cup, text("scan, noise %.3g, alike over %d edges", sigma, rounds + 1));
  shake(d, c.mesh, sigma, rounds, [](const Vec3&) { return true; });
  finish(d, c);
  return c;
}

Case scan_open(Dice& d) {
  const Cup cup = any_cup(d, std::exp(d.uniform(std::log(2000.0), std::log(12000.0))));
  const double sigma = some_sigma(d, cup);
  const int rounds = d.pick({0, 1, 2, 4}), rim = d.integer(0, 2);
  const bool base = d.chance(0.6);
  const double deep = rim == 2 ? d.uniform(0.1, 0.4) * (cup.h - cup.f) : d.uniform(0.5, 2) * cup.edge;
  const char* rims[] = {"a rim as it was", "a ragged rim", "a bite out of the rim"};
  Case c = scan_of(cup, text("scan without %s, noise %.3g over %d edges, %s", base ? "base" : "outside",
                             sigma, rounds + 1, rims[rim]));
  c.solid.reset();
  c.clean.clear();
  shake(d, c.mesh, sigma, rounds, [](const Vec3&) { return true; });
  std::vector<double> ragged(static_cast<std::size_t>(cup.n()));
  for (double& v : ragged) v = d.uniform(0, deep);
  const double where = d.uniform(0, 2 * pi), reach = d.uniform(0.15, 0.5);
  cut(c.mesh, [&](const Vec3& p) {
    const double out = p.head<2>().norm(), turn = std::atan2(p.y(), p.x()) + pi;
    const bool outside = out > cup.r - 0.5 * cup.w;
    if (base ? p.z() < 0.2 * cup.f : outside || p.z() < 0.5 * cup.f) return true;
    if (rim == 0) return !base && p.z() > cup.h - 0.2 * cup.edge;
    if (rim == 1) return p.z() > cup.h - ragged[static_cast<std::size_t>(turn / (2 * pi) * (cup.n() - 1))];
    const double away = std::abs(std::remainder(turn - where, 2 * pi)) / reach;
    return (!base && p.z() > cup.h - 0.2 * cup.edge) ||
           (away < 1 && p.z() > cup.h - deep * (1 - away * away));
  });
  // Where liquid first runs out is an answer as well.
  if (rim > 0) c.alternatives = {cup.capacity(cup.h - deep)};
  finish(d, c);
  return c;
}

}  // namespace attacks
