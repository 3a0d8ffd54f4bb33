// SPDX-License-Identifier: GPL-3.0-or-later
// The triangles round each vertex.
#pragma once

#include <pourwright/mesh.hpp>

#include <span>
#include <vector>

namespace pourwright {

/// The triangles at each vertex, in rising order. O(n), 14 bytes per triangle.
class Fans {
 public:
  Fans() = default;
  Fans(std::size_t vertices, std::span<const Triangle> triangles)
      : start_(vertices + 1, 0), round_(3 * triangles.size()) {
    for (const Triangle& t : triangles)
      for (const Index v : t) ++start_[v];
    Index sum = 0;
    for (Index& s : start_) s = sum += s;
    for (std::size_t t = triangles.size(); t-- > 0;)
      for (const Index v : triangles[t]) round_[--start_[v]] = static_cast<Index>(t);
  }
  std::span<const Index> at(Index v) const {
    return std::span(round_).subspan(start_[v], start_[v + 1] - start_[v]);
  }

 private:
  std::vector<Index> start_, round_;
};

}  // namespace pourwright
