// SPDX-License-Identifier: GPL-3.0-or-later
// The scale of a mesh that has none, from one size that was measured on the real thing.
#pragma once

#include <pourwright/door.hpp>
#include <pourwright/mesh.hpp>

#include <functional>

namespace pourwright {

/// A mesh brought to its real size.
struct MeshScale {
  KnownSize known;
  double factor = 1;  ///< of lengths
  double doubt = 0;   ///< relative half width of volumes
};

/// What the mesh says the known size is now, mm or mm³. Each question is asked only when the known size needs
/// it: the box of the body without fragments and table, or what the mold holds.
struct SizesNow {
  std::function<Box()> box;
  std::function<Expected<double>()> capacity;
};
/// The scale that makes the known size come true. Fails when the size is nothing in this mesh.
Expected<MeshScale> scale_from(const KnownSize& known, const SizesNow& now);

/// O(n).
void apply(const MeshScale& scale, Surface& surface);

}  // namespace pourwright
