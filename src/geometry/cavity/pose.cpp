// SPDX-License-Identifier: GPL-3.0-or-later
// Which way is up, when nobody says so.
#include <pourwright/cavity.hpp>

#include "geometry/mesh/edges.hpp"

#include <array>

#include <Eigen/Eigenvalues>
#include <fmt/format.h>

namespace pourwright {
namespace {

/// Another axis must hold this much more than the one modelled: dents in a bottom are no reason to turn a
/// mold that holds the same both ways up.
constexpr double clearly_more = 1.02;

}  // namespace

Expected<Pose> choose_up(const ClosedBody& body) {
  static constexpr std::array<std::string_view, 6> names{"+z", "-z", "+y", "-y", "+x", "-x"};
  const std::array<Vec3, 6> axes{Vec3::UnitZ(),  -Vec3::UnitZ(), Vec3::UnitY(),
                                 -Vec3::UnitY(), Vec3::UnitX(),  -Vec3::UnitX()};
  std::array<double, 6> held{};
  std::size_t best = 0;
  for (std::size_t k = 0; k < axes.size(); ++k) {
    CavityOptions o;
    o.up = axes[k];
    o.look_further = false;
    const auto r = find_cavities(body, o);
    if (!r) return r.error();
    for (const Cavity& c : r->cavities.list())
      if (c.parent == 0 && c.kind != CavityKind::sealed) held[k] += in_millilitres(c.capacity.value);
    // As modelled wins a tie: +z comes first.
    if (held[k] > clearly_more * held[best]) best = k;
  }
  if (held[best] == 0) return Pose{axes[0], "no axis direction makes it hold liquid: +z kept"};
  if (best == 0) return Pose{axes[0], fmt::format("+z is up: it holds most there, {:.1f} ml", held[0])};
  return Pose{axes[best], fmt::format("{} is up: it holds {:.1f} ml there, {:.1f} ml as modelled",
                                      names[best], held[best], held[0])};
}

Expected<Pose> rim_up(const Surface& surface) {
  std::vector<Index> rim;
  for_each_edge(surface.triangles, surface.vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() != 1) return;
    rim.push_back(v);
    rim.push_back(uses[0].other);
  });
  if (rim.size() < 6)
    return fail(Code::not_closed, "the surface has no open rim to show which way is up", "say it with --up");
  const Vec3 origin = surface.box.centre();
  Vec3 middle = Vec3::Zero();
  for (const Index v : rim) middle += surface.vertices[v] - origin;
  middle /= static_cast<double>(rim.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Index v : rim) {
    const Vec3 d = surface.vertices[v] - origin - middle;
    spread += d * d.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(spread);
  Vec3 up = axes.eigenvectors().col(0);  // least spread: the normal of the rim's plane
  // The mold lies below its rim.
  double side = 0;
  for (const Vec3& p : surface.vertices) side += (p - origin - middle).dot(up);
  if (side > 0) up = -up;
  const double flat = std::sqrt(std::max(0.0, axes.eigenvalues()[0]) / static_cast<double>(rim.size()));
  return Pose{
      up,
      fmt::format("up is {:.3f}, {:.3f}, {:.3f}: square to the plane of the rim, which is flat to {:.2g} mm",
                  up.x(), up.y(), up.z(), flat)};
}

}  // namespace pourwright
