// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/walls/ray_scene.hpp"

#include <cmath>
#include <utility>

#if __has_include(<embree4/rtcore.h>)
#include <embree4/rtcore.h>
#else
#include <embree3/rtcore.h>
#endif

namespace pourwright {
namespace {

/// What Embree 3 and 4 name differently.
void intersect(RTCScene scene, RTCRayHit& ray) {
#if RTC_VERSION_MAJOR >= 4
  rtcIntersect1(scene, &ray);
#else
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  rtcIntersect1(scene, &context, &ray);
#endif
}

/// Single precision loses this much of a coordinate, relative to the size of the scene.
constexpr double float_loss = 4 * 5.97e-8;

}  // namespace

struct RayScene::Impl {
  std::span<const Vec3> vertices;
  std::span<const Triangle> triangles;
  Vec3 centre = Vec3::Zero();
  double size = 0;
  RTCDevice device = nullptr;
  RTCScene scene = nullptr;

  Impl() = default;
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;
  ~Impl() {
    if (scene != nullptr) rtcReleaseScene(scene);
    if (device != nullptr) rtcReleaseDevice(device);
  }

  bool build();
  RTCRayHit ray(const Vec3& from, const Vec3& direction, double beyond) const;
  std::optional<Hit> hit(const RTCRayHit& found, const Vec3& from, const Vec3& direction,
                         double& slope) const;
};

bool RayScene::Impl::build() {
  Box box;
  for (const Vec3& v : vertices) box.add(v);
  centre = box.centre();
  size = box.size().norm();
  // One thread: the work is shared out over files, not within one.
  device = rtcNewDevice("threads=1,set_affinity=0");
  if (device == nullptr) return false;
  scene = rtcNewScene(device);
  // Without ROBUST a few rays in a million pass between two triangles of a closed mesh.
  rtcSetSceneFlags(scene, RTC_SCENE_FLAG_ROBUST);
  rtcSetSceneBuildQuality(scene, RTC_BUILD_QUALITY_MEDIUM);
  RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
  auto* corner = static_cast<float*>(rtcSetNewGeometryBuffer(
      geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float), vertices.size()));
  bool complete = corner != nullptr;
  if (complete) {
    for (const Vec3& v : vertices)
      for (int k = 0; k < 3; ++k) *corner++ = static_cast<float>(v[k] - centre[k]);
    rtcSetSharedGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, triangles.data(), 0,
                               sizeof(Triangle), triangles.size());
    rtcCommitGeometry(geometry);
    rtcAttachGeometry(scene, geometry);
  }
  rtcReleaseGeometry(geometry);
  if (complete) rtcCommitScene(scene);
  return complete && rtcGetDeviceError(device) == RTC_ERROR_NONE;
}

Expected<RayScene> RayScene::build(std::span<const Vec3> vertices, std::span<const Triangle> triangles) {
  auto impl = std::make_shared<Impl>();
  impl->vertices = vertices;
  impl->triangles = triangles;
  if (!impl->build())
    return fail(Code::memory_limit, "There is not enough memory to search this mesh for thin walls.",
                "Measure it on a machine with more memory, or simplify the mesh first.");
  RayScene out;
  out.impl_ = std::move(impl);
  return out;
}

RTCRayHit RayScene::Impl::ray(const Vec3& from, const Vec3& direction, double beyond) const {
  const Vec3 o = from - centre;
  RTCRayHit r{};
  r.ray.org_x = static_cast<float>(o.x());
  r.ray.org_y = static_cast<float>(o.y());
  r.ray.org_z = static_cast<float>(o.z());
  r.ray.dir_x = static_cast<float>(direction.x());
  r.ray.dir_y = static_cast<float>(direction.y());
  r.ray.dir_z = static_cast<float>(direction.z());
  r.ray.tnear = static_cast<float>(beyond);
  r.ray.tfar = std::numeric_limits<float>::infinity();
  // A library built with ray masks sees nothing through a mask of zero.
  r.ray.mask = 0xFFFFFFFFu;
  r.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  r.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
  return r;
}

/// The hit in double precision; `slope` is the ray against the outward normal, positive where it leaves.
std::optional<RayScene::Hit> RayScene::Impl::hit(const RTCRayHit& found, const Vec3& from,
                                                 const Vec3& direction, double& slope) const {
  if (found.hit.geomID == RTC_INVALID_GEOMETRY_ID) return {};
  const Triangle& t = triangles[found.hit.primID];
  const Vec3& a = vertices[t[0]];
  const Vec3 n = (vertices[t[1]] - a).cross(vertices[t[2]] - a);
  slope = n.dot(direction);
  const double in_float = found.ray.tfar, in_double = n.dot(a - from) / slope;
  // Nearly along the triangle the plane says little; the two agree wherever it says much.
  const bool trust = std::abs(in_double - in_float) <= 1e-3 * (std::abs(in_float) + 1e-3 * size);
  return Hit{found.hit.primID, trust ? in_double : in_float};
}

std::optional<RayScene::Hit> RayScene::first_hit(const Vec3& from, const Vec3& direction,
                                                 double beyond) const {
  RTCRayHit r = impl_->ray(from, direction, beyond);
  intersect(impl_->scene, r);
  double slope = 0;
  return impl_->hit(r, from, direction, slope);
}

std::optional<RayScene::Hit> RayScene::first_exit(const Vec3& from, const Vec3& direction) const {
  double beyond = 0;
  // Each turn passes at least one triangle; those entered lie at the start, so a few turns are plenty.
  for (int turn = 0; turn < 64; ++turn) {
    RTCRayHit r = impl_->ray(from, direction, beyond);
    intersect(impl_->scene, r);
    double slope = 0;
    const std::optional<Hit> h = impl_->hit(r, from, direction, slope);
    if (!h || slope > 0) return h;
    beyond = std::nextafter(r.ray.tfar, std::numeric_limits<float>::infinity());
  }
  return {};
}

namespace {

struct Search {
  std::span<const Vec3> vertices;
  std::span<const Triangle> triangles;
  Vec3 to;
  double slack;  ///< what the culling in single precision may lose
  double best;   ///< squared
  RayScene::Near near;
};

bool visit(RTCPointQueryFunctionArguments* args) {
  Search& s = *static_cast<Search*>(args->userPtr);
  const Triangle& t = s.triangles[args->primID];
  const Vec3 at = nearest_on_triangle(s.to, s.vertices[t[0]], s.vertices[t[1]], s.vertices[t[2]]);
  const double d = (at - s.to).squaredNorm();
  // Of triangles that share the point the first wins, in whichever order they come.
  if (d > s.best || (d == s.best && args->primID >= s.near.triangle)) return false;
  s.best = d;
  s.near = {args->primID, at, 0};
  args->query->radius = static_cast<float>(std::sqrt(d) * (1 + 1e-6) + s.slack);
  return true;
}

}  // namespace

std::optional<RayScene::Near> RayScene::nearest(const Vec3& to, double within) const {
  const double reach = std::min(within, 4 * impl_->size + (to - impl_->centre).norm());
  Search s{impl_->vertices, impl_->triangles, to, float_loss * impl_->size, reach * reach, {}};
  const Vec3 o = to - impl_->centre;
  RTCPointQuery query{};
  query.x = static_cast<float>(o.x());
  query.y = static_cast<float>(o.y());
  query.z = static_cast<float>(o.z());
  query.time = 0;
  query.radius = static_cast<float>(reach * (1 + 1e-6) + s.slack);
  RTCPointQueryContext context;
  rtcInitPointQueryContext(&context);
  rtcPointQuery(impl_->scene, &query, &context, visit, &s);
  if (s.near.triangle == none) return {};
  s.near.distance = std::sqrt(s.best);
  return s.near;
}

Vec3 nearest_on_triangle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c) {
  const Vec3 ab = b - a, ac = c - a, ap = p - a;
  const double d1 = ab.dot(ap), d2 = ac.dot(ap);
  if (d1 <= 0 && d2 <= 0) return a;
  const Vec3 bp = p - b;
  const double d3 = ab.dot(bp), d4 = ac.dot(bp);
  if (d3 >= 0 && d4 <= d3) return b;
  const double vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return a + ab * (d1 / (d1 - d3));
  const Vec3 cp = p - c;
  const double d5 = ab.dot(cp), d6 = ac.dot(cp);
  if (d6 >= 0 && d5 <= d6) return c;
  const double vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return a + ac * (d2 / (d2 - d6));
  const double va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
  const double sum = va + vb + vc;
  return a + ab * (vb / sum) + ac * (vc / sum);
}

}  // namespace pourwright
