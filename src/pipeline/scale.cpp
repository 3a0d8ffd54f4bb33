// SPDX-License-Identifier: GPL-3.0-or-later
// One size of the real thing gives a scan its scale. Law: lengths by the ratio, so a capacity by its cube
// root; the last digit that was typed leaves three times its share of a length in doubt of a volume, once of
// a capacity.
#include "pipeline/scale.hpp"

#include "geometry/mesh/points.hpp"

#include <cmath>

namespace pourwright {
namespace {

/// An extent of the box, or the distance of two points.
double length_now(const KnownSize& known, const SizesNow& now) {
  switch (known.kind) {
    case KnownSize::Kind::x:
      return now.box().size().x();
    case KnownSize::Kind::y:
      return now.box().size().y();
    case KnownSize::Kind::z:
      return now.box().size().z();
    case KnownSize::Kind::longest:
      return now.box().size().maxCoeff();
    case KnownSize::Kind::between:
      return (vec3(known.p) - vec3(known.q)).norm();
    case KnownSize::Kind::capacity:
      break;
  }
  return 0;
}

}  // namespace

Expected<MeshScale> scale_from(const KnownSize& known, const SizesNow& now) {
  const bool cubic = known.kind == KnownSize::Kind::capacity;
  double size = 0;
  if (cubic) {
    const auto capacity = now.capacity();
    if (!capacity) return capacity.error();
    size = *capacity;
  } else {
    size = length_now(known, now);
  }
  if (!(size > 0))
    return fail(Code::usage, "the size that --known names is zero in this file", "name another size");
  const double ratio = known.size / size;
  return MeshScale{known, cubic ? std::cbrt(ratio) : ratio, (cubic ? 1 : 3) * known.doubt};
}

void apply(const MeshScale& scale, Surface& surface) {
  for (Vec3& p : surface.vertices) p *= scale.factor;
  surface.box.low *= scale.factor;
  surface.box.high *= scale.factor;
}

}  // namespace pourwright
