// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/walls.hpp>

#include "geometry/walls/ray_scene.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright {

std::string_view name(ThinSpot::Kind kind) {
  switch (kind) {
    case ThinSpot::Kind::fin:
      return "fin";
    case ThinSpot::Kind::lip:
      return "lip";
    case ThinSpot::Kind::neck:
      return "neck";
    case ThinSpot::Kind::plate:
      return "plate";
    case ThinSpot::Kind::tip:
      return "tip";
  }
  return "plate";
}

Expected<Walls> measure_walls(const Solid& piece, const WallsOptions& options) {
  auto scene = RayScene::build(piece.vertices(), piece.triangles());
  if (!scene) return scene.error();
  Walls out;
  out.limit = options.limit;
  std::vector<std::pair<double, double>> all;
  double total = 0;
  for (const Triangle& t : piece.triangles()) {
    const Vec3 &a = piece.vertices()[t[0]], &b = piece.vertices()[t[1]], &c = piece.vertices()[t[2]];
    const Vec3 n = (b - a).cross(c - a);
    if (n.norm() == 0) continue;
    const auto hit = scene->first_exit((a + b + c) / 3, -n.normalized());
    if (!hit) continue;
    all.emplace_back(hit->distance, n.norm() / 2);
    total += n.norm() / 2;
    if (hit->distance < in_millimetres(options.limit)) out.thin_area += square_millimetres(n.norm() / 2);
  }
  if (all.empty()) return fail(Code::no_volume, "This body has no thickness to measure.");
  std::sort(all.begin(), all.end());
  double sum = 0;
  for (const auto& [t, area] : all) {
    if (sum < 0.05 * total) out.p05 = millimetres(t);
    if (sum < 0.5 * total) out.median = millimetres(t);
    sum += area;
  }
  out.min = millimetres(all.front().first);
  out.samples = all.size();
  out.thin_share = in_square_millimetres(out.thin_area) / total;
  return out;
}

}  // namespace pourwright
