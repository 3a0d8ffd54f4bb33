// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a point of the plane lies inside a polygon.
#pragma once

namespace pourwright {

/// Counts the edges of closed polygons that a ray from a point towards +x crosses: inside when they are odd
/// in number. Edges come in any order and either direction; several polygons count by parity. A point on an
/// edge may come out either way. Law: M. Shimrat, Algorithm 112, Commun. ACM 5, 1962. O(1) an edge.
class PointInPolygon {
 public:
  PointInPolygon(double x, double y) : x_(x), y_(y) {}
  void edge(double ax, double ay, double bx, double by) {
    if ((ay > y_) != (by > y_) && x_ < (bx - ax) * (y_ - ay) / (by - ay) + ax) inside_ = !inside_;
  }
  bool inside() const { return inside_; }

 private:
  double x_, y_;
  bool inside_ = false;
};

}  // namespace pourwright
