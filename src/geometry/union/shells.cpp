// SPDX-License-Identifier: GPL-3.0-or-later
// What the shells of a surface are to each other before they are united: which face the wrong way, which are
// there twice. Decided by volumes and by counting how often material wraps a place; exact signs along
// vertical lines.
#include "geometry/union/shells.hpp"

#include "geometry/mesh/vertex_welder.hpp"
#include "geometry/mesh/vertical_lines.hpp"
#include "geometry/union/columns.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::uniting {
namespace {

/// Places on a shell at which it is asked whether others wrap it, and the share of them that makes it a void.
constexpr std::size_t samples = 32;
constexpr double mostly_wrapped = 0.9;

/// Two scans or exports of one body have nearly its box and its volume; and most of each lies in the other,
/// which parts of one size that cross do not have.
constexpr double alike = 0.03, shared = 0.75;
/// Vertical lines along one side of the grid that tells how much two bodies share: good to some hundredths.
constexpr int shared_columns = 96;

}  // namespace

double signed_volume(const std::vector<Vec3>& vertices, std::span<const Triangle> triangles,
                     const Vec3& centre) {
  double six = 0;
  for (const Triangle& t : triangles) {
    const Vec3 p = vertices[t[0]] - centre;
    six += p.dot((vertices[t[1]] - vertices[t[0]]).cross(vertices[t[2]] - vertices[t[0]]));
  }
  return six / 6;
}

namespace {

/// Shells by number, their volumes, and which of them are in contact with another.
struct Shells {
  std::vector<std::vector<Index>> triangles;
  std::vector<double> volume;
  std::vector<bool> touched;

  Shells(const Surface& s, const std::vector<Contact>& contacts)
      : triangles(s.census.shells), volume(s.census.shells), touched(s.census.shells) {
    for (Index t = 0; t < s.triangles.size(); ++t) triangles[s.shell[t]].push_back(t);
    for (std::size_t i = 0; i < triangles.size(); ++i) {
      std::vector<Triangle> part;
      Box box;
      for (const Index t : triangles[i]) {
        part.push_back(s.triangles[t]);
        for (const Index v : part.back()) box.add(s.vertices[v]);
      }
      volume[i] = signed_volume(s.vertices, part, box.centre());
    }
    for (const auto& [a, b] : contacts)
      if (s.shell[a] != s.shell[b]) touched[s.shell[a]] = touched[s.shell[b]] = true;
  }
};

/// How often the material of other shells wraps some vertices of each of `asked`, as a share of those
/// vertices.
std::vector<double> wrapped_share(const Surface& s, const Shells& shells, const std::vector<Index>& asked) {
  std::vector<VerticalLine> lines;
  std::vector<Index> owner;
  for (const Index i : asked) {
    const auto& list = shells.triangles[i];
    for (std::size_t k = 0; k < std::min(samples, list.size()); ++k) {
      const Triangle& t = s.triangles[list[k * list.size() / std::min(samples, list.size())]];
      const Vec3 middle = (s.vertices[t[0]] + s.vertices[t[1]] + s.vertices[t[2]]) / 3;
      lines.push_back({middle, middle});
      owner.push_back(i);
    }
  }
  std::vector<int> winding(lines.size(), 0);
  for_each_crossing(s.vertices, s.triangles, lines, [&](Index l, Index t, int sign) {
    const Index other = s.shell[t];
    if (other == owner[l]) return;
    const Triangle& c = s.triangles[t];
    if (above_plane(s.vertices[c[0]], s.vertices[c[1]], s.vertices[c[2]], sign, lines[l].at) < 0)
      winding[l] += shells.volume[other] > 0 ? sign : 0;  // voids do not wrap
  });
  std::vector<double> share(shells.volume.size(), 0), count(shells.volume.size(), 0);
  for (std::size_t l = 0; l < lines.size(); ++l) {
    count[owner[l]] += 1;
    share[owner[l]] += winding[l] > 0 ? 1 : 0;
  }
  for (const Index i : asked) share[i] /= std::max(1.0, count[i]);
  return share;
}

}  // namespace

/// Shells that enclose negative volume are voids when they lie inside a body, else bodies that face the wrong
/// way.
std::size_t turn_inverted(Surface& s, const std::vector<Contact>& contacts) {
  const auto turn = [&](Index t) { std::swap(s.triangles[t][1], s.triangles[t][2]); };
  Shells shells(s, contacts);
  double sum = 0;
  for (const double v : shells.volume) sum += v;
  std::size_t turned = 0;
  if (sum < 0) {  // the whole file is inside out
    for (Index t = 0; t < s.triangles.size(); ++t) turn(t);
    for (double& v : shells.volume) v = -v;
    turned = shells.volume.size();
  }
  std::vector<Index> inward;
  for (Index i = 0; i < shells.volume.size(); ++i)
    if (shells.volume[i] < 0) inward.push_back(i);
  if (inward.empty()) return turned;
  const std::vector<double> share = wrapped_share(s, shells, inward);
  for (const Index i : inward) {
    if (share[i] >= mostly_wrapped) continue;
    for (const Index t : shells.triangles[i]) turn(t);
    ++turned;
  }
  return turned;
}

namespace {

/// How much of the larger of two shells lies in the other, by columns over both.
double share_in_common(const Surface& s, const Shells& shells, Index a, Index b, const Box& box) {
  const auto wrapped = [&](std::initializer_list<Index> which) {
    std::vector<Triangle> part;
    for (const Index i : which)
      for (const Index t : shells.triangles[i]) part.push_back(s.triangles[t]);
    return wrapped_volume(s.vertices, part, box, shared_columns);
  };
  const double one = wrapped({a}), two = wrapped({b});
  return (one + two - wrapped({a, b})) / std::max(one, two);
}

}  // namespace

std::vector<bool> near_copies(const Surface& s, const std::vector<Contact>& contacts) {
  std::vector<bool> copy(s.census.shells);
  if (s.census.shells < 2) return copy;
  const Shells shells(s, contacts);
  std::vector<Box> box(s.census.shells);
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    for (const Index v : s.triangles[t]) box[s.shell[t]].add(s.vertices[v]);
  std::vector<std::pair<Index, Index>> pairs;
  for (const auto& [a, b] : contacts)
    if (s.shell[a] != s.shell[b]) pairs.push_back(std::minmax(s.shell[a], s.shell[b]));
  std::sort(pairs.begin(), pairs.end());
  pairs.erase(std::unique(pairs.begin(), pairs.end()), pairs.end());
  for (const auto& [a, b] : pairs) {
    if (copy[a] || copy[b]) continue;
    const double size = alike * box[a].size().norm();
    if ((box[a].low - box[b].low).norm() >= size || (box[a].high - box[b].high).norm() >= size ||
        std::abs(shells.volume[a] - shells.volume[b]) > alike * std::abs(shells.volume[a]))
      continue;
    Box both = box[a];
    both.add(box[b].low);
    both.add(box[b].high);
    if (share_in_common(s, shells, a, b, both) >= shared)
      copy[shells.volume[a] < shells.volume[b] ? a : b] = true;
  }
  return copy;
}

TriangleSoup without(const Surface& s, const std::vector<bool>& shells) {
  TriangleSoup out{s.vertices, {}};
  for (std::size_t t = 0; t < s.triangles.size(); ++t)
    if (!shells[s.shell[t]]) out.triangles.push_back(s.triangles[t]);
  weld_in_place(out.vertices, out.triangles);
  return out;
}

std::size_t bodies_in(const Surface& s, const std::vector<Contact>& contacts) {
  std::vector<bool> part(s.census.shells);
  for (const auto& [a, b] : contacts) part[s.shell[a]] = part[s.shell[b]] = true;
  return static_cast<std::size_t>(std::count(part.begin(), part.end(), true));
}

}  // namespace pourwright::uniting
