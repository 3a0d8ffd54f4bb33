// SPDX-License-Identifier: GPL-3.0-or-later
// The flat faces beside a hole, continued until they meet: along one plane, across the edge of two, into the
// corner of three. What comes out lies in the given planes or nothing does.
#include "geometry/repair/facets.hpp"

#include <Eigen/LU>

namespace pourwright::mending {
namespace {

struct Plane {
  Vec3 normal, at;
};
struct Run {  // a stretch of the line beside one plane; first and last corner are shared with its neighbours
  std::size_t plane;
  std::vector<Index> corners;
};

/// Of one plane are faces that differ by less than this in direction and, as a share of the hole's extent, in
/// height. Text with three digits tilts a triangle a thousand grains long by a thousandth; a hole is as
/// uncertain as its border's coordinates, which in most files are good to a ten-thousandth of it.
constexpr double same_slope = 1e-3, same_height_share = 1e-4;
/// A body made of planes shows few of them round one hole; a curved one shows as many as the hole has edges.
constexpr std::size_t most_planes = 64;
/// Determinant of three unit normals from which on their planes meet in a corner and not somewhere along a
/// near-common line: 0.02 magnifies what the planes are off by fifty at most. Where the border itself is
/// flat, a missing flat face explains it better, unless the corner is about as sharp as a cube's, whose
/// determinant is one.
constexpr double least_corner = 0.02, sharp_corner = 0.5;
/// As shares of the hole's extent: how far a corner may lie from the middle of the border.
constexpr double farthest_corner = 1.5;
/// A face may lean from its plane by what the borders' unevenness makes of slim ones: 26°. A folded one has
/// less.
constexpr double least_facing = 0.9;

/// The planes beside the line, and which of them lies beside each edge. False when there are too many.
bool find_planes(const Workpiece& w, const BorderLine& line, std::vector<Plane>& planes,
                 std::vector<std::size_t>& label) {
  const double same_height = same_height_share * line.extent;
  for (const HalfEdge h : line.half_edges) {
    const Triangle& c = w.triangles[h / 3];
    const Vec3 n = w.normal(h / 3).normalized();
    std::size_t k = 0;
    for (; k < planes.size(); ++k) {
      const auto on = [&](Index v) {
        return std::abs((w.vertices[v] - planes[k].at).dot(planes[k].normal)) <= same_height;
      };
      if ((planes[k].normal - n).norm() < same_slope && on(c[0]) && on(c[1]) && on(c[2])) break;
    }
    if (k == planes.size()) planes.push_back({n, w.vertices[c[0]]});
    label.push_back(k);
    if (planes.size() > most_planes) return false;
  }
  return true;
}

/// An edge of the border that runs along the crease with the neighboring stretch closes that stretch: the
/// face it was labeled with is still there beside it.
void give_creases_away(const Workpiece& w, const BorderLine& line, const std::vector<Plane>& planes,
                       std::vector<std::size_t>& label) {
  const std::size_t n = label.size();
  const std::vector<std::size_t> before = label;
  const double same_height = same_height_share * line.extent;
  const auto lies_in = [&](std::size_t edge, std::size_t plane) {
    for (const std::size_t i : {edge, (edge + 1) % n})
      if (std::abs((w.vertices[line.vertices[i]] - planes[plane].at).dot(planes[plane].normal)) > same_height)
        return false;
    return true;
  };
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t last = (i + n - 1) % n, p = before[last], q = before[i];
    if (p == q) continue;
    if (lies_in(i, p))
      for (std::size_t e = i, k = 0; k < n && before[e] == q && lies_in(e, p); e = (e + 1) % n, ++k)
        label[e] = p;
    else
      for (std::size_t e = last, k = 0; k < n && before[e] == p && lies_in(e, q); e = (e + n - 1) % n, ++k)
        label[e] = q;
  }
}

class Facets {
 public:
  Facets(const Workpiece& w, const BorderLine& line) : line_(line) {
    for (const Index v : line.vertices) points_.push_back(w.vertices[v]);
  }

  std::optional<Filling> run(std::vector<Plane> planes, const std::vector<std::size_t>& label) {
    planes_ = std::move(planes);
    const std::size_t n = label.size();
    std::size_t start = 0;
    while (start < n && label[start] == label[(start + n - 1) % n]) ++start;
    if (start == n) return flush(label[0]);
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t e = (start + i) % n;
      if (runs_.empty() || runs_.back().plane != label[e])
        runs_.push_back({label[e], {static_cast<Index>(e)}});
      runs_.back().corners.push_back(static_cast<Index>((e + 1) % n));
    }
    // A run between two of one plane is cut off along the crease, and the two become one.
    while (runs_.size() > 3) {
      const std::size_t m = runs_.size();
      std::size_t best = m;
      for (std::size_t k = 0; k < m; ++k)
        if (runs_[(k + m - 1) % m].plane == runs_[(k + 1) % m].plane &&
            (best == m || runs_[k].corners.size() < runs_[best].corners.size()))
          best = k;
      if (best == m || !emit(runs_[best].plane, runs_[best].corners)) return std::nullopt;
      merge_around(best);
    }
    if (runs_.size() == 2) {
      if (!emit(runs_[0].plane, runs_[0].corners) || !emit(runs_[1].plane, runs_[1].corners))
        return std::nullopt;
    } else if (!corner()) {
      return std::nullopt;
    }
    return out_;
  }

 private:
  std::optional<Filling> flush(std::size_t plane) {
    std::vector<Index> all(points_.size());
    for (Index i = 0; i < all.size(); ++i) all[i] = i;
    if (!emit(plane, all)) return std::nullopt;
    return out_;
  }

  void merge_around(std::size_t k) {
    const std::size_t m = runs_.size(), before = (k + m - 1) % m, after = (k + 1) % m;
    Run joined = runs_[before];
    joined.corners.insert(joined.corners.end(), runs_[after].corners.begin(), runs_[after].corners.end());
    std::vector<Run> rest{joined};
    for (std::size_t i = 2; i < m - 1; ++i) rest.push_back(runs_[(k + i) % m]);
    runs_ = std::move(rest);
  }

  bool corner() {
    Eigen::Matrix3d m;
    Vec3 rhs;
    for (int k = 0; k < 3; ++k) {
      const Plane& p = planes_[runs_[static_cast<std::size_t>(k)].plane];
      m.row(k) = p.normal.transpose();
      rhs[k] = p.normal.dot(p.at - line_.middle);
    }
    if (std::abs(m.determinant()) < (is_flat(line_) ? sharp_corner : least_corner)) return false;
    const Vec3 meet = line_.middle + m.inverse() * rhs;
    if (!((meet - line_.middle).norm() < farthest_corner * line_.extent)) return false;
    const auto id = static_cast<Index>(points_.size());
    points_.push_back(meet);
    out_.added.push_back(meet);
    for (Run& r : runs_) {
      r.corners.push_back(id);
      if (!emit(r.plane, r.corners)) return false;
    }
    return true;
  }

  /// Spans one flat face; it must face the way its plane does and hold no other part of the line.
  bool emit(std::size_t plane, const std::vector<Index>& corners) {
    if (corners.size() < 3) return false;
    Vec3 area = Vec3::Zero();
    for (std::size_t i = 0; i < corners.size(); ++i)
      area += (points_[corners[i]] - line_.middle)
                  .cross(points_[corners[(i + 1) % corners.size()]] - line_.middle) /
              2;
    const Vec3& n = planes_[plane].normal;
    if (!(area.dot(n) > least_facing * area.norm())) return false;
    const auto spanned = span_plane(points_, {corners}, n);
    if (!spanned) return false;
    out_.triangles.insert(out_.triangles.end(), spanned->begin(), spanned->end());
    return true;
  }

  const BorderLine& line_;
  std::vector<Vec3> points_;
  std::vector<Plane> planes_;
  std::vector<Run> runs_;
  Filling out_;
};

}  // namespace

bool is_flat(const BorderLine& line) {
  return line.unevenness <= same_height_share * line.extent;
}

std::optional<Filling> continue_facets(const Workpiece& w, const BorderLine& line) {
  std::vector<Plane> planes;
  std::vector<std::size_t> label;
  if (!find_planes(w, line, planes, label)) return std::nullopt;
  give_creases_away(w, line, planes, label);
  return Facets(w, line).run(std::move(planes), label);
}

}  // namespace pourwright::mending
