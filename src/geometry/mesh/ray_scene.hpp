// SPDX-License-Identifier: GPL-3.0-or-later
// Rays, nearest points and balls among triangles, all over one tree of boxes.
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
  /// Both must outlive the scene. At least one triangle. O(n log n), about 50 bytes per triangle.
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
  struct Advance {
    double way = 0;
    Index triangle = none;  ///< that stops the ball; none when it went all the way
    Vec3 at = Vec3::Zero();
  };
  /// How far, at most `way`, a ball moves from `centre` along the unit direction while its radius grows by
  /// `rate` (at most 1) for each mm, until it would hold any of the surface but for the slack (`first` and
  /// `beside` play no part). As it is given it holds none. Balls that grow slower than they move do not lie
  /// inside each other: such a ball may have passed over what is narrower than its way.
  Advance advance(const Vec3& centre, double radius, const Vec3& direction, double rate, double way,
                  const Slack& slack) const;
  /// A bound below the distance from a point to the surface. The search ends where the surface is known to be
  /// at least `enough` away, or closer than `least`: then the bound is below `least`.
  double clearance(const Vec3& from, double least, double enough) const;

  /// Outward unit normal; zero for a triangle without area.
  Vec3 normal(Index triangle) const;
  /// Half its longest side.
  double facet_radius(Index triangle) const;
  /// The point moved a little into its triangle: on an edge two faces would claim it.
  Vec3 off_the_edges(const Vec3& at, Index triangle) const;
  double size() const { return size_; }

 private:
  using Lanes = std::array<float, 4>;
  /// Four parts of the surface, side by side so that all four are reckoned with at once. Single precision
  /// about the centre of the scene, widened by what rounding could lose.
  struct alignas(64) Node {
    std::array<Lanes, 3> low, high;  ///< boxes, by axis; nowhere without a part
    /// Short cylinders that hold the parts too: round a piece of surface they are far tighter than boxes.
    std::array<Lanes, 3> middle, axis;
    Lanes half_height, radius;   ///< infinite: no cylinder
    std::array<Index, 4> first;  ///< the node it is, or the first place in order_
    std::array<Index, 4> count;  ///< triangles from there; 0: a node
  };
  class Builder;
  struct Ray;
  template <bool only_exits>
  std::optional<Hit> trace(const Vec3& from, const Vec3& direction, double beyond) const;
  /// Parts that still have to be looked at: one lane of a node each, with a lower bound of what was asked.
  struct Waiting {
    float bound;
    Index part;  ///< 4 · node + lane
  };
  class Stack;
  using Four = float __attribute__((vector_size(16)));
  static Four distances2(const Node& node, const Lanes& p);
  Lanes about_centre(const Vec3& p) const;

  std::span<const Vec3> vertices_;
  std::span<const Triangle> triangles_;
  Vec3 centre_ = Vec3::Zero();
  double size_ = 0;
  std::vector<Node> nodes_;
  std::vector<Index> order_;
};

}  // namespace pourwright
