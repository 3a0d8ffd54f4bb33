// SPDX-License-Identifier: GPL-3.0-or-later
// Rays and nearest points on triangles, both over one tree of boxes.
#pragma once

#include <pourwright/mesh.hpp>

#include <array>
#include <limits>
#include <optional>
#include <span>
#include <vector>

namespace pourwright {

class RayScene {
 public:
  /// Both must outlive the scene. At least one triangle. O(n log n), about 45 bytes per triangle.
  static Expected<RayScene> build(std::span<const Vec3> vertices, std::span<const Triangle> triangles);

  struct Hit {
    Index triangle = none;
    double distance = 0;  ///< along the unit direction
  };
  /// Where the ray first passes a triangle from inside to outside; triangles it enters through are not seen,
  /// so that a ray may start on the surface. `direction` is a unit vector. Neighbours decide alike about
  /// their common edge, so that no ray slips out between them (S. Woop, C. Benthin, I. Wald, J. Comput.
  /// Graph. Tech. 2(1), 2013).
  std::optional<Hit> first_exit(const Vec3& from, const Vec3& direction) const;
  /// Where the ray first meets any triangle farther than `beyond`.
  std::optional<Hit> first_hit(const Vec3& from, const Vec3& direction, double beyond = 0) const;

  struct Near {
    Index triangle = none;
    Vec3 at = Vec3::Zero();
    double distance = 0;
  };
  /// The nearest point of the surface closer than `within`.
  std::optional<Near> nearest(const Vec3& to, double within = std::numeric_limits<double>::infinity()) const;
  /// How far a ball may reach over the surface before it shrinks: `first` mm until it has shrunk once, from
  /// then on `relative` of its radius; `least` mm always.
  struct Slack {
    double first = 0, relative = 0, least = 0;
    /// Cosine of the angle, seen from the centre, from where the ball touches to where facets count that look
    /// the same way up to that angle: nearer by, they stand for the curve it touches.
    double beside = 2;
  };
  struct Touch {
    double radius = 0;
    Index triangle = none;  ///< that stops the ball; none while it has its first radius
    Vec3 at = Vec3::Zero();
  };
  /// The largest ball of at most this radius that touches the surface from inside at `at`, where `normal` is
  /// the outward unit normal, and holds none of it but for the slack.
  Touch shrink(const Vec3& at, const Vec3& normal, double radius, const Slack& slack) const;
  /// A bound below the distance from a point to the surface. The search ends where the surface is known to be
  /// at least `enough` away, or closer than `least`: then the bound is below `least`.
  double clearance(const Vec3& from, double least, double enough) const;
  /// Calls visit(triangle) for those whose box comes closer than `within`, in a fixed order.
  template <class Visit>
  void around(const Vec3& at, double within, Visit&& visit) const;

  /// Outward unit normal; zero for a triangle without area.
  Vec3 normal(Index triangle) const;
  /// Half its longest side.
  double facet_radius(Index triangle) const;
  /// The point moved a little into its triangle: on an edge two faces would claim it.
  Vec3 off_the_edges(const Vec3& at, Index triangle) const;
  double size() const { return size_; }

 private:
  /// Children of an inner node follow it: the first at once, the other at `other`. Single precision about the
  /// centre of the scene, widened by what rounding could lose. Four groups of four numbers, read at once.
  struct alignas(64) Node {
    std::array<float, 3> low;
    float half_height = std::numeric_limits<float>::infinity();
    std::array<float, 3> high;
    float radius = std::numeric_limits<float>::infinity();  ///< infinite: no cylinder
    /// A short cylinder that holds the triangles too: round a patch of surface it is far tighter than a box.
    std::array<float, 3> middle{0, 0, 0};
    Index other = 0;  ///< inner: the second child; leaf: first place in order_
    std::array<float, 3> axis{0, 0, 0};
    Index count = 0;  ///< triangles of a leaf; 0 inside
  };
  class Builder;
  struct Ray;
  template <bool only_exits>
  std::optional<Hit> trace(const Vec3& from, const Vec3& direction, double beyond) const;
  struct Pair {
    float first, second;
  };
  static Pair distances2(const Node& a, const Node& b, const std::array<float, 4>& p);
  std::array<float, 4> about_centre(const Vec3& p) const;

  std::span<const Vec3> vertices_;
  std::span<const Triangle> triangles_;
  Vec3 centre_ = Vec3::Zero();
  double size_ = 0;
  std::vector<Node> nodes_;
  std::vector<Index> order_;
};

template <class Visit>
void RayScene::around(const Vec3& at, double within, Visit&& visit) const {
  const std::array<float, 4> p = about_centre(at);
  const auto limit = static_cast<float>(within * within * (1 + 1e-6));
  std::array<Index, 128> stack{};
  std::size_t depth = 0;
  if (distances2(nodes_[0], nodes_[0], p).first <= limit) stack[depth++] = 0;
  while (depth > 0) {
    const Index i = stack[--depth];
    const Node& node = nodes_[i];
    if (node.count == 0) {
      const Pair d2 = distances2(nodes_[i + 1], nodes_[node.other], p);
      if (d2.second <= limit) stack[depth++] = node.other;
      if (d2.first <= limit) stack[depth++] = i + 1;
      continue;
    }
    for (Index k = 0; k < node.count; ++k) visit(order_[node.other + k]);
  }
}

}  // namespace pourwright
