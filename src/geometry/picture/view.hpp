// SPDX-License-Identifier: GPL-3.0-or-later
// What rays from far away meet: one sample for each quarter of a point.
#pragma once

#include <pourwright/drawing.hpp>
#include <pourwright/mesh.hpp>

#include "geometry/mesh/ray_scene.hpp"
#include "geometry/walls/skin.hpp"

#include <functional>
#include <optional>
#include <vector>

namespace pourwright::picture {

/// Parallel rays. Screen x runs along `right`, y along `down`, depth along `ahead`; all three unit vectors
/// square to each other.
struct Camera {
  Vec3 right = Vec3::UnitX(), down = -Vec3::UnitZ(), ahead = Vec3::UnitY();
  Vec3 middle = Vec3::Zero();  ///< is seen in the middle of the view
  double scale = 1;            ///< points to a millimetre
  int width = 0, height = 0;   ///< points

  drawing::At on_screen(const Vec3& p) const {
    return {width / 2.0 + (p - middle).dot(right) * scale, height / 2.0 + (p - middle).dot(down) * scale};
  }
};

/// Which way one looks: `azimuth` from the mold's front to its right side, `height` above level, in degrees.
Camera looking(const Vec3& up, double azimuth, double height);
/// As large as fits, with room left round it.
void fit(Camera& camera, const std::vector<const std::vector<Vec3>*>& points, int width, int height,
         double room);

/// A surface that can be looked at.
class Seen {
 public:
  static Expected<Seen> make(const TriangleSoup& soup);
  const RayScene& scene() const { return *scene_; }
  const thickness::Skin& skin() const { return *skin_; }
  const TriangleSoup& soup() const { return *soup_; }

 private:
  const TriangleSoup* soup_ = nullptr;
  std::optional<RayScene> scene_;
  std::optional<thickness::Skin> skin_;
};

struct Sample {
  float depth = 0;                                   ///< mm along `ahead` from the middle
  Index triangle = none;                             ///< none: nothing is met
  Eigen::Vector3f normal = Eigen::Vector3f::Zero();  ///< towards the eye
  bool met() const { return triangle != none; }
};

/// Twice as many samples each way as points.
struct Samples {
  int width = 0, height = 0;  ///< of the grid of samples
  std::vector<Sample> list;
  const Sample& at(int x, int y) const {
    return list[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
  }
};
inline constexpr int fine = 2;

Samples look(const Seen& seen, const Camera& camera, int jobs);
/// The place a sample shows.
Vec3 place_of(const Camera& camera, double x, double y, double depth);

/// How strongly a line shows at each sample, 0 to 1: where surfaces end, one stands before another, or two
/// meet in an edge.
std::vector<float> outlines(const Samples& samples, const Camera& camera);

/// Calls work(row) for every row, in as many threads.
void by_rows(int rows, int jobs, const std::function<void(int)>& work);

}  // namespace pourwright::picture
