// SPDX-License-Identifier: GPL-3.0-or-later
// Looking at a surface by rays. Law: every sample is decided by itself, or between two or four of its
// neighbours that lie on one face, so threads change nothing. What is thinner than a point and lies between
// rays may be missed; nothing is shown that is not there.
#include "geometry/picture/view.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numbers>
#include <thread>

namespace pourwright::picture {
namespace {

/// Normals of neighbours on one face turn less than 8°; beyond 30° they meet in an edge.
const float one_face = std::cos(8 * std::numbers::pi_v<float> / 180);
const float edge_cosine = std::cos(30 * std::numbers::pi_v<float> / 180);

/// Two neighbours of a sample.
using Ends = std::array<std::array<int, 2>, 2>;

class Looking {
 public:
  Looking(const Seen& seen, const Camera& camera, int jobs)
      : seen_(seen), camera_(camera), jobs_(jobs), back_(2 * seen.scene().size()) {
    for (const Vec3& p : seen.soup().vertices)
      nearest_ = std::min(nearest_, (p - camera.middle).dot(camera.ahead));
    out_.width = fine * camera.width;
    out_.height = fine * camera.height;
    out_.list.resize(static_cast<std::size_t>(out_.width) * static_cast<std::size_t>(out_.height));
  }

  Samples run() {
    by_rows((out_.height + 1) / 2, jobs_, [&](int row) {
      for (int x = 0; x < out_.width; x += 2) at(x, 2 * row) = traced(x, 2 * row);
    });
    by_rows((out_.height + 1) / 2, jobs_, [&](int row) {
      for (int x = 1; x < out_.width; x += 2) between(x, 2 * row, Ends{{{x - 1, 2 * row}, {x + 1, 2 * row}}});
    });
    by_rows(out_.height / 2, jobs_, [&](int row) {
      for (int x = 0; x < out_.width; ++x) between(x, 2 * row + 1, Ends{{{x, 2 * row}, {x, 2 * row + 2}}});
    });
    return std::move(out_);
  }

 private:
  Sample& at(int x, int y) {
    return out_.list[static_cast<std::size_t>(y) * static_cast<std::size_t>(out_.width) +
                     static_cast<std::size_t>(x)];
  }
  Sample traced(int x, int y) const {
    const double start = nearest_ - back_;
    const Vec3 from = place_of(camera_, (x + 0.5) / fine, (y + 0.5) / fine, start);
    const auto hit = seen_.scene().first_hit(from, camera_.ahead);
    Sample s;
    if (!hit) return s;
    s.triangle = hit->triangle;
    s.depth = static_cast<float>(start + hit->distance);
    s.normal = seen_.skin().normal(from + hit->distance * camera_.ahead, hit->triangle).cast<float>();
    if (s.normal.dot(camera_.ahead.cast<float>()) > 0) s.normal = -s.normal;
    return s;
  }
  void between(int x, int y, const Ends& ends) {
    for (const auto& e : ends)
      if (e[0] >= out_.width || e[1] >= out_.height) {
        at(x, y) = traced(x, y);
        return;
      }
    const Sample a = at(ends[0][0], ends[0][1]), b = at(ends[1][0], ends[1][1]);
    if (!a.met() && !b.met()) return;
    if (!a.met() || !b.met() || !one(a, b, ends)) {
      at(x, y) = traced(x, y);
      return;
    }
    Sample s = a;
    s.depth = (a.depth + b.depth) / 2;
    s.normal = (a.normal + b.normal).normalized();
    at(x, y) = s;
  }
  /// Both lie on one triangle, or on faces that go on into each other.
  bool one(const Sample& a, const Sample& b, const Ends& ends) const {
    if (a.triangle == b.triangle) return true;
    if (a.normal.dot(b.normal) < one_face) return false;
    const double pitch = 1 / (fine * camera_.scale);
    const Vec3 across =
        pitch * ((ends[1][0] - ends[0][0]) * camera_.right + (ends[1][1] - ends[0][1]) * camera_.down) +
        static_cast<double>(b.depth - a.depth) * camera_.ahead;
    return std::abs(a.normal.cast<double>().dot(across)) < 0.3 * across.norm() && across.norm() < 12 * pitch;
  }

  const Seen& seen_;
  const Camera& camera_;
  int jobs_;
  double back_, nearest_ = std::numeric_limits<double>::infinity();
  Samples out_;
};

}  // namespace

Expected<Seen> Seen::make(const TriangleSoup& soup) {
  Seen out;
  out.soup_ = &soup;
  auto scene = RayScene::build(soup.vertices, soup.triangles);
  if (!scene) return scene.error();
  out.scene_ = std::move(*scene);
  out.skin_.emplace(soup.vertices, soup.triangles);
  return out;
}

void by_rows(int rows, int jobs, const std::function<void(int)>& work) {
  std::atomic<int> next{0};
  const auto go_on = [&] {
    for (int row = next++; row < rows; row = next++) work(row);
  };
  if (jobs <= 1) return go_on();
  std::vector<std::jthread> threads;
  for (int k = 1; k < jobs; ++k) threads.emplace_back(go_on);
  go_on();
}

/// The file's x axis runs to the right when one looks from the front; when it is up, its y axis does.
Camera looking(const Vec3& up, double azimuth, double height) {
  const Vec3 u = up.normalized();
  Vec3 x = std::abs(u.x()) < 0.9 ? Vec3::UnitX() : Vec3::UnitY();
  x = (x - x.dot(u) * u).normalized();
  const Vec3 back = u.cross(x);
  const double a = azimuth * std::numbers::pi / 180, h = height * std::numbers::pi / 180;
  Camera c;
  const Vec3 level = -std::sin(a) * x + std::cos(a) * back;  // away from the eye
  c.right = std::cos(a) * x + std::sin(a) * back;
  c.ahead = std::cos(h) * level - std::sin(h) * u;
  c.down = c.ahead.cross(c.right);
  return c;
}

void fit(Camera& camera, const std::vector<const std::vector<Vec3>*>& points, int width, int height,
         double room) {
  Box box;  // in the camera's own directions
  for (const auto* list : points)
    for (const Vec3& p : *list) box.add({p.dot(camera.right), p.dot(camera.down), p.dot(camera.ahead)});
  camera.width = width;
  camera.height = height;
  if (box.empty()) return;
  const Vec3 c = box.centre(), size = box.size();
  camera.middle = c.x() * camera.right + c.y() * camera.down + c.z() * camera.ahead;
  const double least = std::max(size.maxCoeff(), 1e-300) * 1e-6;
  camera.scale = std::min((width - 2 * room) / std::max(size.x(), least),
                          (height - 2 * room) / std::max(size.y(), least));
}

Vec3 place_of(const Camera& camera, double x, double y, double depth) {
  return camera.middle + (x - camera.width / 2.0) / camera.scale * camera.right +
         (y - camera.height / 2.0) / camera.scale * camera.down + depth * camera.ahead;
}

Samples look(const Seen& seen, const Camera& camera, int jobs) {
  return Looking(seen, camera, jobs).run();
}

std::vector<float> outlines(const Samples& samples, const Camera& camera) {
  const int w = samples.width, h = samples.height;
  std::vector<float> out(samples.list.size());
  const auto pitch = static_cast<float>(1 / (fine * camera.scale));
  const auto mark = [&](int x, int y, float strength) {
    float& to = out[static_cast<std::size_t>(y) * static_cast<std::size_t>(w) + static_cast<std::size_t>(x)];
    to = std::max(to, strength);
  };
  // A step off the plane of the nearer one, of more than three samples' width.
  const auto breaks = [&](const Sample& a, const Sample& b, const Eigen::Vector3f& aside) -> float {
    if (a.met() != b.met()) return 1;
    if (!a.met() || a.triangle == b.triangle) return 0;
    const Eigen::Vector3f across = pitch * aside + (b.depth - a.depth) * camera.ahead.cast<float>();
    if (std::abs(a.normal.dot(across)) > 3 * pitch && std::abs(b.normal.dot(across)) > 3 * pitch) return 1;
    return a.normal.dot(b.normal) < edge_cosine ? 0.55F : 0;
  };
  const Eigen::Vector3f right = camera.right.cast<float>(), down = camera.down.cast<float>();
  for (int y = 0; y < h; ++y)
    for (int x = 0; x < w; ++x) {
      const Sample& here = samples.at(x, y);
      const auto meet = [&](int nx, int ny, const Eigen::Vector3f& aside) {
        const Sample& there = samples.at(nx, ny);
        const float strength = breaks(here, there, aside);
        if (strength == 0) return;
        mark(x, y, strength);
        mark(nx, ny, strength);
      };
      if (x + 1 < w) meet(x + 1, y, right);
      if (y + 1 < h) meet(x, y + 1, down);
    }
  return out;
}

}  // namespace pourwright::picture
