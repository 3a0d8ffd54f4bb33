// SPDX-License-Identifier: GPL-3.0-or-later
// One tree for rays, nearest points and balls. Law: boxes and cylinders in single precision only leave out
// what cannot be met; what is met is decided in double precision on the triangles, so that another tree gives
// the same answer but for ties. Sorted along a Z-shaped curve and split where the highest bit changes: C.
// Lauterbach and others, Comput. Graph. Forum 28(2), 2009; rays: S. Woop and others, J. Comput. Graph. Tech.
// 2(1), 2013.
#include "geometry/mesh/ray_scene.hpp"

#include "geometry/mesh/morton.hpp"
#include "geometry/mesh/nearest.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <utility>

#ifdef __SSE__
#include <xmmintrin.h>
#endif

namespace pourwright {
namespace {

/// A part of more triangles is a node. Smaller ones are split too where a node has lanes to spare.
constexpr Index leaf_size = 4, least_size = 2;
/// Parts of up to so many triangles get their cylinder from these; above, from the cylinders within.
constexpr Index flat_size = 32;
/// Deeper than the tree can be: one level for each bit of the key, and halving below, three parts waiting on
/// each.
constexpr std::size_t stack_size = 200;
/// Relative loss of single precision, with a margin.
constexpr double float_loss = 4e-7;
constexpr float never = std::numeric_limits<float>::infinity();

/// Four numbers that are reckoned with at once.
using Four = float __attribute__((vector_size(16)));

Four least(Four a, Four b) {
  return a < b ? a : b;
}
Four most(Four a, Four b) {
  return a > b ? a : b;
}
float least_of(Four f) {
  return std::min(std::min(f[0], f[1]), std::min(f[2], f[3]));
}
float most_of(Four f) {
  return std::max(std::max(f[0], f[1]), std::max(f[2], f[3]));
}
Four all(float x) {
  return Four{x, x, x, x};
}
Four read(const std::array<float, 4>& lanes) {
  Four f;
  std::memcpy(&f, lanes.data(), sizeof f);
  return f;
}
void write(const std::array<Four, 3>& from, std::array<std::array<float, 4>, 3>& to) {
  std::memcpy(to.data(), from.data(), sizeof to);
}
/// Four vectors' first numbers, their second and their third ones.
std::array<Four, 3> by_axis(Four a, Four b, Four c, Four d) {
  const Four ab = __builtin_shufflevector(a, b, 0, 4, 1, 5), cd = __builtin_shufflevector(c, d, 0, 4, 1, 5);
  return {__builtin_shufflevector(ab, cd, 0, 1, 4, 5), __builtin_shufflevector(ab, cd, 2, 3, 6, 7),
          __builtin_shufflevector(__builtin_shufflevector(a, b, 2, 6, 3, 7),
                                  __builtin_shufflevector(c, d, 2, 6, 3, 7), 0, 1, 4, 5)};
}
float dot(Four a, Four b) {
  const Four product = a * b;
  return product[0] + product[1] + product[2];
}
Four cross(Four a, Four b) {
  const auto turned = [](Four f) { return __builtin_shufflevector(f, f, 1, 2, 0, 3); };
  return turned(a * turned(b) - turned(a) * b);
}
/// Of numbers that are not negative.
Four root(Four f) {
#ifdef __SSE__
  return _mm_sqrt_ps(f);
#else
  return Four{std::sqrt(f[0]), std::sqrt(f[1]), std::sqrt(f[2]), std::sqrt(f[3])};
#endif
}

/// A triangle's number below the place of its middle along a space-filling curve, 32 bits each.
using Keyed = std::uint64_t;

void radix_sort(std::vector<Keyed>& items) {
  std::vector<Keyed> other(items.size());
  constexpr std::size_t digits = 3, base = 2048;
  constexpr int bits = 11;
  std::array<std::array<std::uint32_t, base>, digits> start{};
  for (const Keyed k : items)
    for (std::size_t d = 0; d < digits; ++d)
      ++start[d][(k >> (32 + bits * static_cast<int>(d))) & (base - 1)];
  for (std::size_t d = 0; d < digits; ++d) {
    std::uint32_t sum = 0;
    for (std::uint32_t& s : start[d]) s = std::exchange(sum, sum + s);
    for (const Keyed k : items) other[start[d][(k >> (32 + bits * static_cast<int>(d))) & (base - 1)]++] = k;
    items.swap(other);
  }
}

}  // namespace

/// Four parts a node.
class RayScene::Builder {
 public:
  explicit Builder(RayScene& scene) : scene_(scene) {}
  void build();

 private:
  /// Vectors in the first three of four numbers.
  struct Part {
    Four low = all(1e30F), high = all(-1e30F);  ///< nowhere
    Four middle{}, axis{};
    float half_height = never, radius = never;
    Four across{};  ///< the normals of its triangles, twice their area long
  };
  /// The corners of a triangle by axis, the last one twice, and its normal, twice the area long.
  struct Loaded {
    std::array<Four, 3> at;
    Four across;
  };
  void sort();
  Index split(Index begin, Index end) const;
  void load(Index begin, Index end);
  Part part(Index begin, Index end, Index& first);
  Part node(Index begin, Index end);
  void enclose(Part& p, Index begin, Index end) const;
  void flatten(Part& p, Index begin, Index end) const;
  void merge(Part& p, const std::array<Part, 4>& parts, std::size_t count) const;

  RayScene& scene_;
  std::vector<Four> points_;  ///< vertices, about the centre
  std::vector<Keyed> keys_;
  std::array<Loaded, flat_size> loaded_;
  Index loaded_begin_ = 0, loaded_end_ = 0;
  float slack_ = 0;
};

void RayScene::Builder::sort() {
  const float low = static_cast<float>(1.5 * scene_.size_);
  const float step = scene_.size_ > 0 ? static_cast<float>(2048 / (3 * scene_.size_)) : 0;
  keys_.reserve(scene_.triangles_.size());
  for (std::size_t i = 0; i < scene_.triangles_.size(); ++i) {
    const Triangle& t = scene_.triangles_[i];
    const Four m =
        least(most((points_[t[0]] + points_[t[1]] + points_[t[2]] + low) * step, all(0)), all(2047));
    const auto cell = [&](int k) { return static_cast<std::uint64_t>(static_cast<std::int32_t>(m[k])); };
    const std::uint64_t key = morton(cell(0), cell(1), cell(2));
    keys_.push_back(key >> 1 << 32 | i);
  }
  radix_sort(keys_);
}

/// Where the second half begins.
Index RayScene::Builder::split(Index begin, Index end) const {
  const Keyed first = keys_[begin] >> 32, last = keys_[end - 1] >> 32;
  if (first == last) return begin + (end - begin) / 2;
  const Keyed bit = std::bit_floor(first ^ last) << 32;
  const auto at = std::partition_point(keys_.begin() + begin, keys_.begin() + end,
                                       [bit](Keyed k) { return (k & bit) == 0; });
  return static_cast<Index>(at - keys_.begin());
}

void RayScene::Builder::load(Index begin, Index end) {
  if (begin >= loaded_begin_ && end <= loaded_end_) return;
  loaded_begin_ = begin;
  loaded_end_ = end;
  for (Index i = begin; i < end; ++i) {
    const Triangle& t = scene_.triangles_[static_cast<Index>(keys_[i])];
    const Four a = points_[t[0]], b = points_[t[1]], c = points_[t[2]];
    loaded_[i - begin] = {by_axis(a, b, c, c), cross(b - a, c - a)};
  }
}

void RayScene::Builder::enclose(Part& p, Index begin, Index end) const {
  for (Index i = begin; i < end; ++i) {
    const Loaded& t = loaded_[i - loaded_begin_];
    for (int k = 0; k < 3; ++k) {
      const Four x = t.at[static_cast<std::size_t>(k)];
      p.low[k] = std::min(p.low[k], std::min(x[0], std::min(x[1], x[2])));
      p.high[k] = std::max(p.high[k], std::max(x[0], std::max(x[1], x[2])));
    }
    p.across += t.across;
  }
  p.low -= slack_;
  p.high += slack_;
}

void RayScene::Builder::flatten(Part& p, Index begin, Index end) const {
  const float length = std::sqrt(dot(p.across, p.across));
  if (!(length > 0)) return;
  const Four axis = p.across / length, about = (p.low + p.high) / 2;
  Four bottom = all(1e30F), top = all(-1e30F), radius2{};
  for (Index i = begin; i < end; ++i) {
    const auto& c = loaded_[i - loaded_begin_].at;
    const Four dx = c[0] - about[0], dy = c[1] - about[1], dz = c[2] - about[2];
    const Four x = dx * axis[0] + dy * axis[1] + dz * axis[2];
    bottom = least(bottom, x);
    top = most(top, x);
    const Four sx = dx - x * axis[0], sy = dy - x * axis[1], sz = dz - x * axis[2];
    radius2 = most(radius2, sx * sx + sy * sy + sz * sz);
  }
  const float low = least_of(bottom), high = most_of(top);
  p.middle = about + (low + high) / 2 * axis;
  p.axis = axis;
  p.half_height = (high - low) / 2 + 2 * slack_;
  p.radius = std::sqrt(most_of(radius2)) + 2 * slack_;
}

void RayScene::Builder::merge(Part& p, const std::array<Part, 4>& parts, std::size_t count) const {
  Four sum{};
  float weights = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const Part& c = parts[i];
    if (!std::isfinite(c.radius)) return;
    sum += c.axis * (c.radius * c.radius);
    weights += c.radius * c.radius;
  }
  const float length = std::sqrt(dot(sum, sum));
  if (!(length > 0.2F * weights)) return;
  const Four axis = sum / length, about = (p.low + p.high) / 2;
  float bottom = std::numeric_limits<float>::max(), top = std::numeric_limits<float>::lowest(), radius = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const Part& c = parts[i];
    const Four turn = cross(axis, c.axis), d = c.middle - about;
    const float cosine = std::min(std::abs(dot(axis, c.axis)), 1.0F);
    const float sine = std::sqrt(dot(turn, turn)) + 1e-6F;
    const float x = dot(axis, d), half = c.half_height * cosine + c.radius * sine;
    bottom = std::min(bottom, x - half);
    top = std::max(top, x + half);
    const Four aside = d - x * axis;
    radius = std::max(radius, std::sqrt(dot(aside, aside)) + c.radius + c.half_height * sine);
  }
  p.middle = about + (bottom + top) / 2 * axis;
  p.axis = axis;
  p.half_height = (top - bottom) / 2 + 2 * slack_;
  p.radius = radius + 2 * slack_;
}

/// What holds these triangles; `first` is where they begin or the node that was made of them.
RayScene::Builder::Part RayScene::Builder::part(Index begin, Index end, Index& first) {
  if (end - begin > leaf_size) {
    first = static_cast<Index>(scene_.nodes_.size());
    return node(begin, end);
  }
  first = begin;
  load(begin, end);
  Part p;
  enclose(p, begin, end);
  flatten(p, begin, end);
  return p;
}

RayScene::Builder::Part RayScene::Builder::node(Index begin, Index end) {
  const std::size_t here = scene_.nodes_.size();
  scene_.nodes_.emplace_back();
  if (end - begin <= flat_size) load(begin, end);
  // The largest part is split until there are four.
  std::array<Index, 6> bounds{begin, end};
  std::size_t count = 1;
  while (count < 4) {
    std::size_t largest = 0;
    for (std::size_t k = 1; k < count; ++k)
      if (bounds[k + 1] - bounds[k] > bounds[largest + 1] - bounds[largest]) largest = k;
    if (bounds[largest + 1] - bounds[largest] <= least_size) break;
    const Index middle = split(bounds[largest], bounds[largest + 1]);
    for (std::size_t k = ++count; k > largest + 1; --k) bounds[k] = bounds[k - 1];
    bounds[largest + 1] = middle;
  }
  Node n;
  n.first.fill(none);
  n.count.fill(0);
  std::array<Part, 4> parts;
  for (std::size_t i = 0; i < count; ++i) {
    parts[i] = part(bounds[i], bounds[i + 1], n.first[i]);
    if (bounds[i + 1] - bounds[i] <= leaf_size) n.count[i] = bounds[i + 1] - bounds[i];
    n.half_height[i] = parts[i].half_height;
    n.radius[i] = parts[i].radius;
  }
  for (std::size_t i = count; i < 4; ++i) n.half_height[i] = n.radius[i] = never;
  const auto lanes = [&](Four Part::*vector) {
    return by_axis(parts[0].*vector, parts[1].*vector, parts[2].*vector, parts[3].*vector);
  };
  write(lanes(&Part::low), n.low);
  write(lanes(&Part::high), n.high);
  write(lanes(&Part::middle), n.middle);
  write(lanes(&Part::axis), n.axis);
  scene_.nodes_[here] = n;
  Part whole;
  for (const Part& p : parts) {
    whole.low = least(whole.low, p.low);
    whole.high = most(whole.high, p.high);
    whole.across += p.across;
  }
  if (end - begin <= flat_size)
    flatten(whole, begin, end);
  else
    merge(whole, parts, count);
  return whole;
}

void RayScene::Builder::build() {
  Box box;
  for (const Vec3& v : scene_.vertices_) box.add(v);
  scene_.centre_ = box.centre();
  scene_.size_ = box.size().maxCoeff();
  slack_ = static_cast<float>(float_loss * scene_.size_);
  points_.reserve(scene_.vertices_.size());
  for (const Vec3& v : scene_.vertices_) points_.push_back(read(scene_.about_centre(v)));
  sort();
  const auto n = static_cast<Index>(keys_.size());
  scene_.nodes_.reserve(n / 5 + 1);
  node(0, n);
  scene_.order_.reserve(n);
  for (const Keyed k : keys_) scene_.order_.push_back(static_cast<Index>(k));
}

Expected<RayScene> RayScene::build(std::span<const Vec3> vertices, std::span<const Triangle> triangles) {
  if (triangles.empty()) return fail(Code::no_triangles, "There are no triangles to measure.");
  RayScene scene;
  scene.vertices_ = vertices;
  scene.triangles_ = triangles;
  Builder(scene).build();
  return scene;
}

Vec3 RayScene::normal(Index triangle) const {
  const Triangle& t = triangles_[triangle];
  const Vec3& a = vertices_[t[0]];
  return (vertices_[t[1]] - a).cross(vertices_[t[2]] - a).normalized();
}

double RayScene::facet_radius(Index triangle) const {
  const Triangle& t = triangles_[triangle];
  const Vec3 &a = vertices_[t[0]], &b = vertices_[t[1]], &c = vertices_[t[2]];
  return std::sqrt(std::max({(b - a).squaredNorm(), (c - b).squaredNorm(), (a - c).squaredNorm()})) / 2;
}

Vec3 RayScene::off_the_edges(const Vec3& at, Index triangle) const {
  const Triangle& t = triangles_[triangle];
  return at + 1e-3 * ((vertices_[t[0]] + vertices_[t[1]] + vertices_[t[2]]) / 3 - at);
}

RayScene::Lanes RayScene::about_centre(const Vec3& p) const {
  const Vec3 o = p - centre_;
  return {static_cast<float>(o.x()), static_cast<float>(o.y()), static_cast<float>(o.z()), 0};
}

/// Lower bounds of the squared distances to the parts of a node; infinite where there is none.
inline RayScene::Four RayScene::distances2(const Node& node, const Lanes& p) {
  const Four zero{}, px = all(p[0]), py = all(p[1]), pz = all(p[2]);
  const auto outside = [&](std::size_t k, Four x) {
    return most(most(read(node.low[k]) - x, x - read(node.high[k])), zero);
  };
  const Four ox = outside(0, px), oy = outside(1, py), oz = outside(2, pz);
  const Four d2 = ox * ox + oy * oy + oz * oz;
  const Four vx = px - read(node.middle[0]), vy = py - read(node.middle[1]), vz = pz - read(node.middle[2]);
  const Four x = vx * read(node.axis[0]) + vy * read(node.axis[1]) + vz * read(node.axis[2]);
  const Four up = most(most(x, -x) - read(node.half_height), zero);
  const Four aside = most(root(most(vx * vx + vy * vy + vz * vz - x * x, zero)) - read(node.radius), zero);
  // Rounding of v² − x² costs a few 10⁻⁷ of the squared distance.
  return most(d2, (up * up + aside * aside) * 0.99999F);
}

/// What is nearest comes out first among the parts of one node, and these before all that were put in
/// earlier.
class RayScene::Stack {
 public:
  bool empty() const { return depth_ == 0; }
  Waiting pop() { return items_[--depth_]; }
  /// Those parts of the node whose bound lies below the limit.
  void push(Index node, Four bounds, float limit) {
    const std::size_t bottom = depth_;
    for (int k = 0; k < 4; ++k) {
      const float bound = bounds[k];
      if (!(bound < limit)) continue;
      std::size_t at = depth_++;
      for (; at > bottom && items_.data()[at - 1].bound < bound; --at)
        items_.data()[at] = items_.data()[at - 1];
      items_.data()[at] = {bound, 4 * node + static_cast<Index>(k)};
    }
  }

 private:
  std::array<Waiting, stack_size> items_;
  std::size_t depth_ = 0;
};

std::optional<RayScene::Near> RayScene::nearest(const Vec3& to, double within) const {
  const Lanes p = about_centre(to);
  double best = within * within;
  Near near;
  Stack stack;
  stack.push(0, distances2(nodes_[0], p), static_cast<float>(best));
  while (!stack.empty()) {
    const Waiting w = stack.pop();
    if (static_cast<double>(w.bound) >= best) continue;
    const Node& node = nodes_[w.part / 4];
    const std::size_t lane = w.part % 4;
    const Index first = node.first[lane], count = node.count[lane];
    if (count == 0) {
      stack.push(first, distances2(nodes_[first], p), static_cast<float>(best));
      continue;
    }
    for (Index k = 0; k < count; ++k) {
      const Index i = order_[first + k];
      const Triangle& t = triangles_[i];
      const Vec3 at = nearest_on_triangle(to, vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]);
      const double d = (at - to).squaredNorm();
      if (d < best) {
        best = d;
        near.triangle = i;
        near.at = at;
      }
    }
  }
  if (near.triangle == none) return {};
  near.distance = std::sqrt(best);
  return near;
}

double RayScene::clearance(const Vec3& from, double least, double enough) const {
  const Lanes p = about_centre(from);
  const double least2 = least * least;
  double known2 = enough * enough;
  Stack stack;
  stack.push(0, distances2(nodes_[0], p), static_cast<float>(known2));
  while (!stack.empty()) {
    const Waiting w = stack.pop();
    if (static_cast<double>(w.bound) >= known2) continue;
    const Node& node = nodes_[w.part / 4];
    const std::size_t lane = w.part % 4;
    const Index first = node.first[lane], count = node.count[lane];
    if (count == 0) {
      stack.push(first, distances2(nodes_[first], p), static_cast<float>(known2));
      continue;
    }
    for (Index k = 0; k < count; ++k) {
      const Triangle& t = triangles_[order_[first + k]];
      const Vec3 at = nearest_on_triangle(from, vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]);
      known2 = std::min(known2, (at - from).squaredNorm());
      if (known2 < least2) return 0;
    }
  }
  return std::sqrt(known2);
}

/// Balls that touch at the same point lie inside each other, so what lies outside a larger one stays outside
/// all smaller ones, and one way through the tree is nearly enough: what the slack of a larger ball let pass
/// may still be too deep in a smaller one.
RayScene::Touch RayScene::shrink(const Vec3& at, const Vec3& normal, double radius,
                                 const Slack& slack) const {
  Touch touch;
  Vec3 centre;
  Lanes p{};
  double within2 = 0;
  const auto set = [&](double r, double give) {
    touch.radius = r;
    centre = at - r * normal;
    p = about_centre(centre);
    const double within = std::max(r - std::max(give, slack.least), 0.0);
    within2 = within * within;
  };
  set(radius, slack.first);
  const auto meet = [&](Index i) {
    const Triangle& t = triangles_[i];
    // Each step takes the ball through the point that lies deepest in it; a few lead to the tangent one.
    for (int turn = 0; turn < 60; ++turn) {
      const Vec3 q = nearest_on_triangle(centre, vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]);
      if ((q - centre).squaredNorm() >= within2) break;
      if (normal.dot(q - centre) > slack.beside * touch.radius && this->normal(i).dot(normal) > slack.beside)
        break;
      const Vec3 to = at - q;
      const double lower = to.squaredNorm() / (2 * normal.dot(to));
      if (!(lower > 0) || lower >= touch.radius * (1 - 1e-12)) break;
      set(lower, slack.relative * lower);
      touch.triangle = i;
      touch.at = q;
    }
  };
  Stack stack;
  const auto open = [&](Index node) {
    stack.push(node, distances2(nodes_[node], p), static_cast<float>(within2));
  };
  open(0);
  double before = touch.radius;
  while (true) {
    if (stack.empty()) {
      if (touch.radius == before) break;
      before = touch.radius;
      open(0);
      continue;
    }
    const Waiting w = stack.pop();
    if (static_cast<double>(w.bound) >= within2) continue;
    const Node& node = nodes_[w.part / 4];
    const std::size_t lane = w.part % 4;
    const Index first = node.first[lane], count = node.count[lane];
    if (count == 0) {
      open(first);
      continue;
    }
    for (Index k = 0; k < count; ++k) meet(order_[first + k]);
  }
  return touch;
}

/// A point of the surface in the ball takes it back to where it would have touched that point. Balls on the
/// way do not lie inside each other, so the tree is gone through again until a ball is found to hold nothing.
RayScene::Advance RayScene::advance(const Vec3& from, double radius, const Vec3& direction, double rate,
                                    double way, const Slack& slack) const {
  Advance out;
  Vec3 centre;
  Lanes p{};
  double within2 = 0;
  const auto set = [&](double s) {
    out.way = s;
    centre = from + s * direction;
    p = about_centre(centre);
    const double r = radius + s * rate, within = std::max(r - std::max(slack.relative * r, slack.least), 0.0);
    within2 = within * within;
  };
  set(way);
  const auto meet = [&](Index i) {
    const Triangle& t = triangles_[i];
    for (int turn = 0; turn < 60 && out.way > 0; ++turn) {
      const Vec3 q = nearest_on_triangle(centre, vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]);
      if ((q - centre).squaredNorm() >= within2) break;
      out.triangle = i;
      out.at = q;
      // |to − s·direction| = radius + s·rate, the smaller root.
      const Vec3 to = q - from;
      const double b = direction.dot(to) + radius * rate, c = to.squaredNorm() - radius * radius;
      const double lower = c / (b + std::sqrt(std::max(b * b - (1 - rate * rate) * c, 0.0)));
      if (!(lower < out.way * (1 - 1e-12))) break;
      set(std::max(lower, 0.0));
    }
  };
  Stack stack;
  const auto open = [&](Index node) {
    stack.push(node, distances2(nodes_[node], p), static_cast<float>(within2));
  };
  for (double before = -1; out.way > 0 && out.way != before;) {
    before = out.way;
    open(0);
    while (!stack.empty() && out.way > 0) {
      const Waiting w = stack.pop();
      if (static_cast<double>(w.bound) >= within2) continue;
      const Node& node = nodes_[w.part / 4];
      const std::size_t lane = w.part % 4;
      const Index first = node.first[lane], count = node.count[lane];
      if (count == 0)
        open(first);
      else
        for (Index k = 0; k < count; ++k) meet(order_[first + k]);
    }
  }
  return out;
}

/// Sheared so that the ray runs along +z from the origin: whether it passes left or right of an edge then
/// depends on the edge's two ends alone.
struct RayScene::Ray {
  Ray(const Vec3& origin, const Vec3& direction) : from(origin), along(direction) {
    direction.cwiseAbs().maxCoeff(&z);
    x = (z + 1) % 3;
    y = (z + 2) % 3;
    if (direction[z] < 0) std::swap(x, y);
    shear_x = direction[x] / direction[z];
    shear_y = direction[y] / direction[z];
    scale = 1 / direction[z];
  }
  /// Positive `turn`: the ray enters through the front. The distance is in `t`.
  bool meets(const Vec3& va, const Vec3& vb, const Vec3& vc, double& t, double& turn) const {
    const Vec3 a = va - from, b = vb - from, c = vc - from;
    const double ax = a[x] - shear_x * a[z], ay = a[y] - shear_y * a[z];
    const double bx = b[x] - shear_x * b[z], by = b[y] - shear_y * b[z];
    const double cx = c[x] - shear_x * c[z], cy = c[y] - shear_y * c[z];
    const double u = cx * by - cy * bx, v = ax * cy - ay * cx, w = bx * ay - by * ax;
    if ((u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0)) return false;
    turn = u + v + w;
    if (turn == 0) return false;
    t = scale * (u * a[z] + v * b[z] + w * c[z]) / turn;
    return true;
  }
  Vec3 from, along;
  int x = 0, y = 0, z = 0;
  double shear_x = 0, shear_y = 0, scale = 1;
};

template <bool only_exits>
std::optional<RayScene::Hit> RayScene::trace(const Vec3& from, const Vec3& direction, double beyond) const {
  const Ray ray(from, direction);
  const Lanes origin = about_centre(from);
  Lanes inverse{};
  for (std::size_t k = 0; k < 3; ++k) {
    const double d = direction[static_cast<int>(k)];
    inverse[k] = static_cast<float>(1 / (std::abs(d) < 1e-18 ? std::copysign(1e-18, d) : d));
  }
  double best = std::numeric_limits<double>::infinity();
  Index found = none;
  /// Where it enters the parts of a node; infinite when it passes by.
  const auto entries = [&](const Node& node) {
    Four near{}, far = all(never);
    for (std::size_t k = 0; k < 3; ++k) {
      const bool back = inverse[k] < 0;
      near = most(near, (read((back ? node.high : node.low)[k]) - origin[k]) * inverse[k]);
      far = least(far, (read((back ? node.low : node.high)[k]) - origin[k]) * inverse[k]);
    }
    // Widened by what three roundings can lose: T. Ize, J. Comput. Graph. Tech. 2(2), 2013.
    return near <= far * 1.0000008F ? near : all(never);
  };
  const auto limit = [&] { return static_cast<float>(best) * (1 + 2e-6F); };
  Stack stack;
  stack.push(0, entries(nodes_[0]), limit());
  while (!stack.empty()) {
    const Waiting w = stack.pop();
    if (static_cast<double>(w.bound) * (1 - 1e-6) > best) continue;
    const Node& node = nodes_[w.part / 4];
    const std::size_t lane = w.part % 4;
    const Index first = node.first[lane], count = node.count[lane];
    if (count == 0) {
      stack.push(first, entries(nodes_[first]), limit());
      continue;
    }
    for (Index k = 0; k < count; ++k) {
      const Index i = order_[first + k];
      const Triangle& t = triangles_[i];
      double at = 0, turn = 0;
      if (!ray.meets(vertices_[t[0]], vertices_[t[1]], vertices_[t[2]], at, turn)) continue;
      if (only_exits && turn >= 0) continue;
      if (at < beyond || !(at < best || (at == best && i < found))) continue;
      best = at;
      found = i;
    }
  }
  if (found == none) return {};
  return Hit{found, best};
}

std::optional<RayScene::Hit> RayScene::first_hit(const Vec3& from, const Vec3& direction,
                                                 double beyond) const {
  return trace<false>(from, direction, beyond);
}

std::optional<RayScene::Hit> RayScene::first_exit(const Vec3& from, const Vec3& direction) const {
  // A point of the surface lies on its triangle only up to rounding.
  return trace<true>(from, direction, -1e-12 * size_);
}

}  // namespace pourwright
