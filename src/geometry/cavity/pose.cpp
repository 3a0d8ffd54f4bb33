// SPDX-License-Identifier: GPL-3.0-or-later
// Which way is up, when nobody says so.
#include <pourwright/cavity.hpp>

#include "geometry/mesh/edges.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include <Eigen/Eigenvalues>
#include <fmt/format.h>

namespace pourwright {
namespace {

/// Another direction must hold this much more than the one modelled: dents in a bottom are no reason to turn
/// a mold that holds the same both ways up.
constexpr double clearly_more = 1.02;
/// Directions are told apart in steps of this share of a right angle's chord, some 2°: flat faces of one
/// direction fall into one.
constexpr double step_of_direction = 1.0 / 32;
/// A bottom, a rim and the two walls of a box are three lines; a fourth for a foot that stands askew.
constexpr std::size_t most_planes = 4;
/// One line, as a cosine: closer ones differ by rounding of the faces alone.
constexpr double one_line = 1 - 1e-9;
/// A plane this near to the direction that holds most, 10°, may be its rim's; the largest few are tried.
constexpr double nearby = 0.985;
constexpr std::size_t most_rims = 2;

struct Line {
  Vec3 along = Vec3::UnitZ();
  double area = 0;
};

/// The lines square to most of the surface, by area. Which way a face looks does not count: a bottom and a
/// rim are of one.
std::vector<Line> lines_of_faces(const ClosedBody& body) {
  std::map<std::array<int, 3>, Vec3> found;
  const std::vector<Vec3>& at = body.vertices();
  for (const Triangle& t : body.triangles()) {
    Vec3 n = (at[t[1]] - at[t[0]]).cross(at[t[2]] - at[t[0]]) / 2;
    const double area = n.norm();
    if (!(area > 0)) continue;
    int widest = 0;
    n.cwiseAbs().maxCoeff(&widest);
    if (n[widest] < 0) n = -n;
    std::array<int, 3> cell{};
    for (int k = 0; k < 3; ++k)
      cell[static_cast<std::size_t>(k)] = static_cast<int>(std::lround(n[k] / area / step_of_direction));
    found.try_emplace(cell, Vec3::Zero()).first->second += n;
  }
  std::vector<Line> out;
  for (const auto& [cell, sum] : found)
    if (sum.norm() > 0) out.push_back({sum.normalized(), sum.norm()});
  std::stable_sort(out.begin(), out.end(), [](const Line& a, const Line& b) { return a.area > b.area; });
  return out;
}

/// The three axes of the surface's spread: of what was turned on a lathe one is the axis it turned about.
std::array<Vec3, 3> axes_of_spread(const ClosedBody& body) {
  const std::vector<Vec3>& at = body.vertices();
  const Vec3 origin = body.box().centre();
  Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
  Vec3 middle = Vec3::Zero();
  double all = 0;
  for (const Triangle& t : body.triangles()) {
    const Vec3 p = at[t[0]] - origin, q = at[t[1]] - origin, r = at[t[2]] - origin;
    const double area = (q - p).cross(r - p).norm() / 2;
    const Vec3 m = (p + q + r) / 3;
    // Over a triangle the mean of x xᵀ is (Σ p pᵀ + 9 m mᵀ) / 12.
    sum += area / 12 * (p * p.transpose() + q * q.transpose() + r * r.transpose() + 9 * m * m.transpose());
    middle += area * m;
    all += area;
  }
  middle /= all;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(sum / all - middle * middle.transpose());
  return {axes.eigenvectors().col(0), axes.eigenvectors().col(1), axes.eigenvectors().col(2)};
}

/// What the body holds in all to its brims, ml.
Expected<double> held_with_up(const ClosedBody& body, const Vec3& up) {
  CavityOptions o;
  o.up = up;
  o.look_further = false;
  const auto r = find_cavities(body, o);
  if (!r) return r.error();
  double sum = 0;
  for (const Cavity& c : r->cavities.list())
    if (c.parent == 0 && c.kind != CavityKind::sealed) sum += in_millilitres(c.capacity.value);
  return sum;
}

std::string name_of(const Vec3& up) {
  static constexpr std::array<std::string_view, 3> axes{"x", "y", "z"};
  for (int k = 0; k < 3; ++k)
    if (std::abs(up[k]) == 1)
      return fmt::format("{}{}", up[k] > 0 ? "+" : "-", axes[static_cast<std::size_t>(k)]);
  return fmt::format("{:.4f}, {:.4f}, {:.4f}", up.x(), up.y(), up.z());
}

/// Tries directions one after the other; an earlier one wins a tie.
class Poses {
 public:
  explicit Poses(const ClosedBody& body) : body_(body) {}

  /// Both ways along a line that was not tried yet.
  std::optional<Problem> along(const Vec3& line) {
    for (const auto& [known, held] : tried_)
      if (std::abs(known.dot(line)) > one_line) return std::nullopt;
    for (const Vec3& up : {line, Vec3(-line)}) {
      const auto held = held_with_up(body_, up);
      if (!held) return held.error();
      if (tried_.empty()) as_modelled = best_held = *held;
      tried_.emplace_back(up, *held);
      if (*held > clearly_more * best_held) {
        best = up;
        best_held = *held;
      }
    }
    return std::nullopt;
  }

  /// Of those about the best the one that holds most: a level rim does, by however little.
  void settle() {
    const Vec3 about = best;
    for (const auto& [up, held] : tried_)
      if (up.dot(about) > nearby && held > best_held) {
        best = up;
        best_held = held;
      }
  }

  Vec3 best = Vec3::UnitZ();
  double best_held = 0, as_modelled = 0;

 private:
  const ClosedBody& body_;
  std::vector<std::pair<Vec3, double>> tried_;
};

}  // namespace

Expected<Pose> choose_up(const ClosedBody& body) {
  Poses poses(body);
  const std::vector<Line> planes = lines_of_faces(body);
  std::vector<Vec3> lines{Vec3::UnitZ(), Vec3::UnitY(), Vec3::UnitX()};
  for (std::size_t k = 0; k < std::min(planes.size(), most_planes); ++k) lines.push_back(planes[k].along);
  for (const Vec3& axis : axes_of_spread(body)) lines.push_back(axis);
  for (const Vec3& line : lines)
    if (auto problem = poses.along(line)) return *problem;
  // A rim is level, and has less area than many a wall. A direction that was modelled is meant.
  if (poses.best.cwiseAbs().maxCoeff() < 1) {
    const Vec3 about = poses.best;
    std::size_t tried = 0;
    for (const Line& plane : planes)
      if (std::abs(plane.along.dot(about)) > nearby && tried++ < most_rims)
        if (auto problem = poses.along(plane.along)) return *problem;
    poses.settle();
  }
  if (poses.best_held == 0)
    return Pose{poses.best, "no direction was found in which it holds liquid: +z kept"};
  if (poses.best == Vec3::UnitZ())
    return Pose{poses.best, fmt::format("+z is up: it holds most there, {:.1f} ml", poses.best_held)};
  return Pose{poses.best, fmt::format("{} is up: it holds {:.1f} ml there, {:.1f} ml as modelled",
                                      name_of(poses.best), poses.best_held, poses.as_modelled)};
}

namespace {

Expected<Pose> border_up(const std::vector<Vec3>& vertices, const std::vector<Triangle>& triangles,
                         const Box& box) {
  std::vector<Index> rim;
  for_each_edge(triangles, vertices.size(), [&](Index v, std::span<const EdgeUse> uses) {
    if (uses.size() != 1) return;
    rim.push_back(v);
    rim.push_back(uses[0].other);
  });
  if (rim.size() < 6)
    return fail(Code::not_closed, "the surface has no open rim to show which way is up", "say it with --up");
  const Vec3 origin = box.centre();
  Vec3 middle = Vec3::Zero();
  for (const Index v : rim) middle += vertices[v] - origin;
  middle /= static_cast<double>(rim.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Index v : rim) {
    const Vec3 d = vertices[v] - origin - middle;
    spread += d * d.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> axes(spread);
  Vec3 up = axes.eigenvectors().col(0);  // least spread: the normal of the rim's plane
  // The mold lies below its rim.
  double side = 0;
  for (const Vec3& p : vertices) side += (p - origin - middle).dot(up);
  if (side > 0) up = -up;
  const double flat = std::sqrt(std::max(0.0, axes.eigenvalues()[0]) / static_cast<double>(rim.size()));
  return Pose{
      up,
      fmt::format("up is {:.3f}, {:.3f}, {:.3f}: square to the plane of the rim, which is flat to {:.2g} mm",
                  up.x(), up.y(), up.z(), flat)};
}

}  // namespace

Expected<Pose> rim_up(const Surface& surface) {
  return border_up(surface.vertices, surface.triangles, surface.box);
}
Expected<Pose> rim_up(const OpenSurface& surface) {
  return border_up(surface.vertices(), surface.triangles(), surface.box());
}

}  // namespace pourwright
