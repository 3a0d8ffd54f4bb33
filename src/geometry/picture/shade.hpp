// SPDX-License-Identifier: GPL-3.0-or-later
// From samples to points of colour.
#pragma once

#include <pourwright/picture.hpp>

#include "geometry/mesh/point_grid.hpp"
#include "geometry/picture/view.hpp"

#include <optional>

namespace pourwright::picture {

/// The colours of the house: paper warm and light, molds a cool see-through grey-green, what is poured a warm
/// clay. They differ in lightness too.
inline constexpr drawing::Ink paper = drawing::ink(0xf7f4ed), panel = drawing::ink(0xfffdf9),
                              frame = drawing::ink(0xe2dccf), text_ink = drawing::ink(0x26343a),
                              soft_ink = drawing::ink(0x66736f), mold_ink = drawing::ink(0x7f9a94),
                              mold_line = drawing::ink(0x33474a), clay = drawing::ink(0xd58d5f),
                              clay_top = drawing::ink(0xe9bd97), clay_line = drawing::ink(0x7a4526),
                              alarm = drawing::ink(0x9c2a4b), water = drawing::ink(0x2f6f8f);

/// The mold as if of glass, with what is poured inside it. Either may be missing.
drawing::Raster glass(const Samples* mold, const Samples* piece, const Camera& camera, const Vec3& up,
                      int jobs);
/// A solid body.
drawing::Raster solid(const Samples& body, const Camera& camera, const Vec3& up, const drawing::Ink& ink,
                      const drawing::Ink& line, int jobs);

/// Thickness between the places where it was measured.
class ThicknessField {
 public:
  explicit ThicknessField(const std::vector<ThicknessAt>& places, double spacing);
  /// mm; nothing where no place nearby looks the same way.
  std::optional<double> at(const Vec3& p, const Vec3& normal) const;

 private:
  const std::vector<ThicknessAt>& places_;
  double spacing_;
  std::vector<Vec3> points_;
  PointGrid grid_;
};

/// A body coloured by thickness up to `most`; what is thinner than `limit` is hatched and has an outline.
drawing::Raster by_thickness(const Samples& body, const Camera& camera, const ThicknessField& field,
                             double most, std::optional<double> limit, int jobs);
/// How dark a hatching line is at a point of a sheet: 0 to 1.
double hatch_at(double x, double y);
/// The ink of hatching that shows on a tone.
drawing::Ink hatch_on(const drawing::Ink& tone);

}  // namespace pourwright::picture
