// SPDX-License-Identifier: GPL-3.0-or-later
// Cutting by signs: each triangle with corners on both sides gives one piece of line, from the edge where the
// surface goes behind the plane to the edge where it comes back; neighbours share these edges, which joins
// the pieces without comparing coordinates.
#include "geometry/picture/section.hpp"

#include <algorithm>
#include <cstdint>
#include <unordered_map>

namespace pourwright::picture {
namespace {

using EdgeKey = std::uint64_t;

EdgeKey key(Index a, Index b) {
  return static_cast<EdgeKey>(std::min(a, b)) << 32 | std::max(a, b);
}

struct Piece {
  EdgeKey from = 0, to = 0;
  bool used = false;
};

class Cutter {
 public:
  Cutter(const TriangleSoup& soup, const Vec3& at, const Vec3& normal) : soup_(soup) {
    height_.reserve(soup.vertices.size());
    for (const Vec3& p : soup.vertices) height_.push_back((p - at).dot(normal));
  }

  std::vector<CutLine> run() {
    for (const Triangle& t : soup_.triangles) add(t);
    // A line that does not close begins where no piece ends.
    for (std::size_t i = 0; i < pieces_.size(); ++i)
      if (!ends_.contains(pieces_[i].from)) follow(i);
    for (std::size_t i = 0; i < pieces_.size(); ++i) follow(i);
    return std::move(lines_);
  }

 private:
  bool front(Index v) const { return height_[v] >= 0; }
  void add(const Triangle& t) {
    Piece piece;
    bool crosses = false;
    for (std::size_t k = 0; k < 3; ++k) {
      const Index a = t[k], b = t[(k + 1) % 3];
      if (front(a) == front(b)) continue;
      (front(a) ? piece.from : piece.to) = key(a, b);
      crosses = true;
    }
    if (!crosses) return;
    starts_[piece.from].push_back(pieces_.size());
    ends_.emplace(piece.to, true);
    pieces_.push_back(piece);
  }
  Vec3 point(EdgeKey edge) const {
    const auto a = static_cast<Index>(edge >> 32), b = static_cast<Index>(edge);
    const double share = height_[a] / (height_[a] - height_[b]);
    return soup_.vertices[a] + share * (soup_.vertices[b] - soup_.vertices[a]);
  }
  void follow(std::size_t i) {
    if (pieces_[i].used) return;
    CutLine line;
    const EdgeKey begin = pieces_[i].from;
    line.points.push_back(point(begin));
    while (true) {
      pieces_[i].used = true;
      const EdgeKey here = pieces_[i].to;
      line.closed = here == begin;
      if (line.closed) break;
      line.points.push_back(point(here));
      const auto next = starts_.find(here);
      if (next == starts_.end()) break;
      const auto free = std::find_if(next->second.begin(), next->second.end(),
                                     [&](std::size_t k) { return !pieces_[k].used; });
      if (free == next->second.end()) break;
      i = *free;
    }
    lines_.push_back(std::move(line));
  }

  const TriangleSoup& soup_;
  std::vector<double> height_;
  std::vector<Piece> pieces_;
  std::unordered_map<EdgeKey, std::vector<std::size_t>> starts_;
  std::unordered_map<EdgeKey, bool> ends_;
  std::vector<CutLine> lines_;
};

}  // namespace

std::vector<CutLine> cut(const TriangleSoup& soup, const Vec3& at, const Vec3& normal) {
  return Cutter(soup, at, normal).run();
}

}  // namespace pourwright::picture
