// SPDX-License-Identifier: GPL-3.0-or-later
// Other ways a body could stand, and what it would hold there: the axis directions, and its rim level.
#pragma once

#include <pourwright/cavity.hpp>
#include <pourwright/door.hpp>

#include <optional>
#include <string>

namespace pourwright {

/// The body as it stands.
struct AsItStands {
  Vec3 up = Vec3::UnitZ();
  Volume holds;  ///< in cavities to their outermost brims
  Volume body;   ///< of the material; nothing for a scan
};

struct LevelRim {
  Vec3 up = Vec3::UnitZ();
  double degrees = 0;  ///< by which it leans as it stands
  Volume holds;        ///< standing level
};

struct Ways {
  AsItStands now;
  std::optional<OtherWay> axis;  ///< the axis direction that holds most, when that is clearly more
  std::optional<LevelRim> rim;   ///< when it leans, and holds more level
  /// Of a body that as it stands is taken for the piece: turned to `axis` it would be taken for a mold.
  bool mold_when_turned = false;
};

/// Six directions and the rim; sweeps only where the body could hold more. `found` is how it stands now.
Ways look_round(const ClosedBody& body, const CavityResult& found, const Vec3& up);
/// A scan's rim is its border.
Ways look_round(const OpenSurface& scan, const CavityResult& found, const Vec3& up);

/// "-y", "0.17,0,0.98": as --up takes it.
std::string direction_text(const Vec3& up);

}  // namespace pourwright
