// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/walls/ray_scene.hpp"

#include "geometry/mesh/nearest.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <utility>

namespace pourwright {
namespace {

constexpr Index leaf_size = 4;
/// Nodes of up to so many triangles get their cylinder from these; above, from their children's.
constexpr Index flat_size = 32;
/// Deeper than the tree can be: one level for each bit of the key, and halving below.
constexpr std::size_t stack_size = 128;
/// Relative loss of single precision, with a margin.
constexpr double float_loss = 4e-7;

/// Four numbers that are reckoned with at once.
using Four = float __attribute__((vector_size(16)));

Four least(Four a, Four b) {
  return a < b ? a : b;
}
Four most(Four a, Four b) {
  return a > b ? a : b;
}
Four read(const float* first) {
  Four f;
  std::memcpy(&f, first, sizeof f);
  return f;
}

/// The first three numbers of two fours, a's and b's side by side. The fourth ones are not reckoned with:
/// read as numbers, some are too small for the processor to be quick with.
struct Columns {
  Columns(Four a, Four b)
      : x(__builtin_shufflevector(a, b, 0, 4, 0, 4)),
        y(__builtin_shufflevector(a, b, 1, 5, 1, 5)),
        z(__builtin_shufflevector(a, b, 2, 6, 2, 6)) {}
  Four x, y, z;
};
Four fourths(Four a, Four b) {
  return __builtin_shufflevector(a, b, 3, 7, 3, 7);
}

/// Spreads the low 11 bits to every third place.
std::uint64_t spread(std::uint64_t x) {
  x = (x | x << 32) & 0x1F00000000FFFFULL;
  x = (x | x << 16) & 0x1F0000FF0000FFULL;
  x = (x | x << 8) & 0x100F00F00F00F00FULL;
  x = (x | x << 4) & 0x10C30C30C30C30C3ULL;
  return (x | x << 2) & 0x1249249249249249ULL;
}

struct Keyed {
  std::uint64_t key;  ///< 33 bits: the place of the triangle's middle along a space-filling curve
  Index triangle;
};

void radix_sort(std::vector<Keyed>& items) {
  std::vector<Keyed> other(items.size());
  for (int shift = 0; shift < 33; shift += 11) {
    std::array<std::size_t, 2048> start{};
    for (const Keyed& k : items) ++start[(k.key >> shift) & 2047];
    std::size_t sum = 0;
    for (std::size_t& s : start) s = std::exchange(sum, sum + s);
    for (const Keyed& k : items) other[start[(k.key >> shift) & 2047]++] = k;
    items.swap(other);
  }
}

}  // namespace

/// Sorted along a Z-shaped curve and split where the highest bit changes: C. Lauterbach and others, Comput.
/// Graph. Forum 28(2), 2009.
class RayScene::Builder {
 public:
  explicit Builder(RayScene& scene) : scene_(scene) {}
  void build();

 private:
  void sort();
  Index split(Index begin, Index end) const;
  Index node(Index begin, Index end);
  void enclose(Node& n, Index begin, Index end) const;
  void flatten(Node& n, Index begin, Index end) const;
  void merge(Node& n, const Node& a, const Node& b) const;

  RayScene& scene_;
  std::vector<Keyed> keys_;
  float slack_ = 0;
};

void RayScene::Builder::sort() {
  const Vec3 low = scene_.centre_ - Vec3::Constant(scene_.size_ / 2);
  const double step = scene_.size_ > 0 ? 2048 / (3 * scene_.size_) : 0;
  keys_.reserve(scene_.triangles_.size());
  for (std::size_t i = 0; i < scene_.triangles_.size(); ++i) {
    const Triangle& t = scene_.triangles_[i];
    const Vec3 m = scene_.vertices_[t[0]] + scene_.vertices_[t[1]] + scene_.vertices_[t[2]] - 3 * low;
    std::uint64_t key = 0;
    for (int k = 0; k < 3; ++k)
      key |= spread(static_cast<std::uint64_t>(std::clamp(m[k] * step, 0.0, 2047.0))) << k;
    keys_.push_back({key, static_cast<Index>(i)});
  }
  radix_sort(keys_);
}

/// Where the second half begins.
Index RayScene::Builder::split(Index begin, Index end) const {
  const std::uint64_t first = keys_[begin].key, last = keys_[end - 1].key;
  if (first == last) return begin + (end - begin) / 2;
  const std::uint64_t bit = std::bit_floor(first ^ last);
  const auto at = std::partition_point(keys_.begin() + begin, keys_.begin() + end,
                                       [bit](const Keyed& k) { return (k.key & bit) == 0; });
  return static_cast<Index>(at - keys_.begin());
}

void RayScene::Builder::enclose(Node& n, Index begin, Index end) const {
  n.low.fill(std::numeric_limits<float>::max());
  n.high.fill(std::numeric_limits<float>::lowest());
  for (Index i = begin; i < end; ++i)
    for (const Index v : scene_.triangles_[keys_[i].triangle]) {
      const Vec3 p = scene_.vertices_[v] - scene_.centre_;
      for (std::size_t k = 0; k < 3; ++k) {
        const auto x = static_cast<float>(p[static_cast<int>(k)]);
        n.low[k] = std::min(n.low[k], x - slack_);
        n.high[k] = std::max(n.high[k], x + slack_);
      }
    }
}

void RayScene::Builder::flatten(Node& n, Index begin, Index end) const {
  Vec3 sum = Vec3::Zero();
  for (Index i = begin; i < end; ++i) {
    const Triangle& t = scene_.triangles_[keys_[i].triangle];
    const Vec3& a = scene_.vertices_[t[0]];
    sum += (scene_.vertices_[t[1]] - a).cross(scene_.vertices_[t[2]] - a);
  }
  const double length = sum.norm();
  if (!(length > 0)) return;
  const Eigen::Vector3f axis = (sum / length).cast<float>();
  const auto each = [&](auto&& use) {
    for (Index i = begin; i < end; ++i)
      for (const Index v : scene_.triangles_[keys_[i].triangle])
        use(Eigen::Vector3f((scene_.vertices_[v] - scene_.centre_).cast<float>()));
  };
  const Eigen::Vector3f about =
      (Eigen::Map<const Eigen::Vector3f>(n.low.data()) + Eigen::Map<const Eigen::Vector3f>(n.high.data())) /
      2;
  float bottom = std::numeric_limits<float>::max(), top = std::numeric_limits<float>::lowest(), radius2 = 0;
  each([&](const Eigen::Vector3f& p) {
    const Eigen::Vector3f d = p - about;
    const float x = axis.dot(d);
    bottom = std::min(bottom, x);
    top = std::max(top, x);
    radius2 = std::max(radius2, (d - x * axis).squaredNorm());
  });
  Eigen::Map<Eigen::Vector3f>(n.middle.data()) = about + (bottom + top) / 2 * axis;
  Eigen::Map<Eigen::Vector3f>(n.axis.data()) = axis;
  n.half_height = (top - bottom) / 2 + 2 * slack_;
  n.radius = std::sqrt(radius2) + 2 * slack_;
}

void RayScene::Builder::merge(Node& n, const Node& a, const Node& b) const {
  const auto in = [](const std::array<float, 3>& x) { return Eigen::Map<const Eigen::Vector3f>(x.data()); };
  if (!std::isfinite(a.radius) || !std::isfinite(b.radius)) return;
  const Eigen::Vector3f sum = in(a.axis) * (a.radius * a.radius) + in(b.axis) * (b.radius * b.radius);
  const float length = sum.norm();
  if (!(length > 0.2F * (a.radius * a.radius + b.radius * b.radius))) return;
  const Eigen::Vector3f axis = sum / length;
  const Eigen::Vector3f about = (in(n.low) + in(n.high)) / 2;
  float bottom = std::numeric_limits<float>::max(), top = std::numeric_limits<float>::lowest(), radius = 0;
  for (const Node* c : {&a, &b}) {
    const float cosine = std::min(std::abs(axis.dot(in(c->axis))), 1.0F);
    const float sine = axis.cross(in(c->axis)).norm() + 1e-6F;
    const Eigen::Vector3f d = in(c->middle) - about;
    const float x = axis.dot(d), half = c->half_height * cosine + c->radius * sine;
    bottom = std::min(bottom, x - half);
    top = std::max(top, x + half);
    radius = std::max(radius, (d - x * axis).norm() + c->radius + c->half_height * sine);
  }
  Eigen::Map<Eigen::Vector3f>(n.middle.data()) = about + (bottom + top) / 2 * axis;
  Eigen::Map<Eigen::Vector3f>(n.axis.data()) = axis;
  n.half_height = (top - bottom) / 2 + 2 * slack_;
  n.radius = radius + 2 * slack_;
}

Index RayScene::Builder::node(Index begin, Index end) {
  const auto here = static_cast<Index>(scene_.nodes_.size());
  scene_.nodes_.emplace_back();
  Node n;
  if (end - begin <= leaf_size) {
    enclose(n, begin, end);
    n.other = begin;
    n.count = end - begin;
  } else {
    const Index middle = split(begin, end);
    node(begin, middle);
    n.other = node(middle, end);
    const Node &a = scene_.nodes_[here + 1], &b = scene_.nodes_[n.other];
    for (std::size_t k = 0; k < 3; ++k) {
      n.low[k] = std::min(a.low[k], b.low[k]);
      n.high[k] = std::max(a.high[k], b.high[k]);
    }
  }
  if (end - begin <= flat_size)
    flatten(n, begin, end);
  else
    merge(n, scene_.nodes_[here + 1], scene_.nodes_[n.other]);
  scene_.nodes_[here] = n;
  return here;
}

void RayScene::Builder::build() {
  Box box;
  for (const Vec3& v : scene_.vertices_) box.add(v);
  scene_.centre_ = box.centre();
  scene_.size_ = box.size().maxCoeff();
  slack_ = static_cast<float>(float_loss * scene_.size_);
  sort();
  const auto n = static_cast<Index>(keys_.size());
  scene_.nodes_.reserve(n);
  node(0, n);
  scene_.nodes_.shrink_to_fit();
  scene_.order_.reserve(n);
  for (const Keyed& k : keys_) scene_.order_.push_back(k.triangle);
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

std::array<float, 4> RayScene::about_centre(const Vec3& p) const {
  const Vec3 o = p - centre_;
  return {static_cast<float>(o.x()), static_cast<float>(o.y()), static_cast<float>(o.z()), 0};
}

/// Lower bounds of the squared distances to what two nodes hold.
RayScene::Pair RayScene::distances2(const Node& a, const Node& b, const std::array<float, 4>& point) {
  const Four p = read(point.data()), zero{};
  const Four low_a = read(a.low.data()), high_a = read(a.high.data());
  const Four low_b = read(b.low.data()), high_b = read(b.high.data());
  const Columns out(most(most(low_a - p, p - high_a), zero), most(most(low_b - p, p - high_b), zero));
  const Four d2 = out.x * out.x + out.y * out.y + out.z * out.z;
  const Columns v(p - read(a.middle.data()), p - read(b.middle.data()));
  const Columns axis(read(a.axis.data()), read(b.axis.data()));
  const Four half_height = fourths(low_a, low_b), radius = fourths(high_a, high_b);
  const Four x = v.x * axis.x + (v.y * axis.y + v.z * axis.z);
  const Four up = most(most(x, -x) - half_height, zero);
  const Four lateral = v.x * v.x + (v.y * v.y + v.z * v.z) - x * x;
  const Four aside =
      most(Four{std::sqrt(std::max(lateral[0], 0.0F)), std::sqrt(std::max(lateral[1], 0.0F))} - radius, zero);
  // Rounding of v² − x² costs a few 10⁻⁷ of the squared distance.
  const Four both = most(d2, (up * up + aside * aside) * (1 - 1e-5F));
  return {both[0], both[1]};
}

std::optional<RayScene::Near> RayScene::nearest(const Vec3& to, double within) const {
  struct Waiting {
    float distance2;
    Index node;
  };
  const std::array<float, 4> p = about_centre(to);
  double best = within * within;
  Near near;
  std::array<Waiting, stack_size> stack;
  std::size_t depth = 0;
  stack[depth++] = {distances2(nodes_[0], nodes_[0], p).first, 0};
  while (depth > 0) {
    const Waiting w = stack[--depth];
    if (static_cast<double>(w.distance2) >= best) continue;
    const Node& node = nodes_[w.node];
    if (node.count == 0) {
      const Pair d2 = distances2(nodes_[w.node + 1], nodes_[node.other], p);
      Waiting a{d2.first, w.node + 1}, b{d2.second, node.other};
      if (a.distance2 < b.distance2) std::swap(a, b);
      if (static_cast<double>(a.distance2) < best) stack[depth++] = a;
      if (static_cast<double>(b.distance2) < best) stack[depth++] = b;
      continue;
    }
    for (Index k = 0; k < node.count; ++k) {
      const Index i = order_[node.other + k];
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
  const std::array<float, 4> p = about_centre(from);
  const double least2 = least * least;
  double known2 = enough * enough;
  std::array<Index, stack_size> stack;
  std::size_t depth = 0;
  stack[depth++] = 0;
  while (depth > 0) {
    const Index here = stack[--depth];
    const Node& node = nodes_[here];
    if (node.count == 0) {
      const Pair d2 = distances2(nodes_[here + 1], nodes_[node.other], p);
      const bool first = static_cast<double>(d2.first) < known2,
                 second = static_cast<double>(d2.second) < known2;
      if (first && second) {
        stack[depth++] = d2.first < d2.second ? node.other : here + 1;
        stack[depth++] = d2.first < d2.second ? here + 1 : node.other;
      } else if (first || second) {
        stack[depth++] = first ? here + 1 : node.other;
      }
      continue;
    }
    for (Index k = 0; k < node.count; ++k) {
      const Triangle& t = triangles_[order_[node.other + k]];
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
  std::array<float, 4> p{};
  double within2 = 0;
  const auto set = [&](double r, double give) {
    touch.radius = r;
    centre = at - r * normal;
    p = about_centre(centre);
    const double within = std::max(r - std::max(give, slack.least), 0.0);
    within2 = within * within;
  };
  set(radius, slack.first);
  struct Waiting {
    float distance2;
    unsigned shrunk;  ///< how often the ball had shrunk when it was measured
    Index node;
  };
  unsigned shrunk = 0;
  std::array<Waiting, stack_size> stack;
  std::size_t depth = 0;
  const auto wait = [&](const Waiting& w) {
    if (static_cast<double>(w.distance2) < within2) stack[depth++] = w;
  };
  const auto measured = [&](Index node) {
    return Waiting{distances2(nodes_[node], nodes_[node], p).first, shrunk, node};
  };
  wait(measured(0));
  double before = radius;
  while (true) {
    if (depth == 0) {
      if (touch.radius == before) break;
      before = touch.radius;
      wait(measured(0));
      continue;
    }
    Waiting here = stack[--depth];
    if (here.shrunk != shrunk) here = measured(here.node);
    if (static_cast<double>(here.distance2) >= within2) continue;
    const Node& node = nodes_[here.node];
    if (node.count == 0) {
      const Pair d2 = distances2(nodes_[here.node + 1], nodes_[node.other], p);
      const Waiting a{d2.first, shrunk, here.node + 1}, b{d2.second, shrunk, node.other};
      wait(a.distance2 < b.distance2 ? b : a);
      wait(a.distance2 < b.distance2 ? a : b);
      continue;
    }
    for (Index k = 0; k < node.count; ++k) {
      const Index i = order_[node.other + k];
      const Triangle& t = triangles_[i];
      // Each step takes the ball through the point that lies deepest in it; a few lead to the tangent one.
      for (int turn = 0; turn < 60; ++turn) {
        const Vec3 q = nearest_on_triangle(centre, vertices_[t[0]], vertices_[t[1]], vertices_[t[2]]);
        if ((q - centre).squaredNorm() >= within2) break;
        if (normal.dot(q - centre) > slack.beside * touch.radius &&
            this->normal(i).dot(normal) > slack.beside)
          break;
        const Vec3 to = at - q;
        const double lower = to.squaredNorm() / (2 * normal.dot(to));
        if (!(lower > 0) || lower >= touch.radius * (1 - 1e-12)) break;
        set(lower, slack.relative * lower);
        ++shrunk;
        touch.triangle = i;
        touch.at = q;
      }
    }
  }
  return touch;
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
  const std::array<float, 4> o = about_centre(from);
  const Four origin = read(o.data());
  Four inverse{};
  for (int k = 0; k < 3; ++k) {
    const double d = direction[k];
    inverse[k] = static_cast<float>(1 / (std::abs(d) < 1e-18 ? std::copysign(1e-18, d) : d));
  }
  double best = std::numeric_limits<double>::infinity();
  Index found = none;
  /// Where it enters two nodes; infinite when it passes by.
  const auto entries = [&](const Node& a, const Node& b) {
    const Four low_a = (read(a.low.data()) - origin) * inverse,
               high_a = (read(a.high.data()) - origin) * inverse;
    const Four low_b = (read(b.low.data()) - origin) * inverse,
               high_b = (read(b.high.data()) - origin) * inverse;
    const Columns in(least(low_a, high_a), least(low_b, high_b)),
        out(most(low_a, high_a), most(low_b, high_b));
    const Four near = most(most(in.x, in.y), most(in.z, Four{}));
    // Widened by what three roundings can lose: T. Ize, J. Comput. Graph. Tech. 2(2), 2013.
    const Four far = least(least(out.x, out.y), out.z) * 1.0000008F;
    constexpr float never = std::numeric_limits<float>::infinity();
    const Four at = near <= far ? near : Four{never, never, never, never};
    return Pair{at[0], at[1]};
  };
  struct Waiting {
    float at;
    Index node;
  };
  std::array<Waiting, stack_size> stack;
  std::size_t depth = 0;
  if (const float at = entries(nodes_[0], nodes_[0]).first; at < std::numeric_limits<float>::infinity())
    stack[depth++] = {at, 0};
  while (depth > 0) {
    const Waiting waiting = stack[--depth];
    if (static_cast<double>(waiting.at) * (1 - 1e-6) > best) continue;
    const Node& node = nodes_[waiting.node];
    if (node.count == 0) {
      const Pair at = entries(nodes_[waiting.node + 1], nodes_[node.other]);
      Waiting a{at.first, waiting.node + 1}, b{at.second, node.other};
      if (a.at < b.at) std::swap(a, b);
      if (a.at < std::numeric_limits<float>::infinity()) stack[depth++] = a;
      if (b.at < std::numeric_limits<float>::infinity()) stack[depth++] = b;
      continue;
    }
    for (Index k = 0; k < node.count; ++k) {
      const Index i = order_[node.other + k];
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
