// SPDX-License-Identifier: GPL-3.0-or-later
// Closed surfaces that overlap, touch or nearly touch made into the boundary of one body.
//
//   bodies_apart       bodies that share vertices or edges become shells of their own
//   find_gaps          where shells look at each other across less than a gap
//   unite_shells       everything that is wrapped at least once, as one surface
//   volume_by_columns  the volume alone, for what cannot be united
//
// Shapes: in, a closed and consistently oriented Surface of any number of shells; out, the same without
// overlap. Units: millimetres. Errors: not_closed when the precondition fails; overlaps_itself when uniting
// would cost too much or rounding leaves no closed surface; nothing is half done. Complexity: O(n log n +
// contacts + places where contacts cross); budgets end in an error, never in a guess. Source: winding numbers
// of exact arrangements, docs/algorithms/union.md.
#pragma once

#include <pourwright/mesh.hpp>

namespace pourwright {

struct United {
  Surface surface;
  std::size_t contacts = 0;  ///< pairs of triangles that cut or touched
  std::size_t bodies = 0;    ///< shells that took part
  Vec3 at = Vec3::Zero();    ///< one contact
  std::size_t turned = 0;    ///< shells that faced the wrong way
  std::size_t copies = 0;    ///< shells that nearly repeat another one; dropped
  Volume copies_add;         ///< what they would add
  Volume volume;             ///< of the result
  Volume overlap;            ///< how much of the shells' volume was counted more than once
  std::size_t gaps = 0;      ///< places where a parting gap was closed
  Volume gap_volume;         ///< what closing gaps added
  Length widest;             ///< gap closed, at most; rounding alone keeps some bodies apart
};

/// Everything inside at least one outward-facing shell becomes one body, exactly: crossings, shared faces,
/// edges and points, bodies inside bodies, and surfaces that cut themselves. Voids stay. With a gap, plates
/// are laid first between shells that face each other across less than it. Precondition: closed and
/// consistently oriented. Coordinates of new vertices are rounded to doubles, nothing else. O(n log n +
/// contacts).
Expected<United> unite_shells(Surface surface, Length gap = {});

struct GapFound {
  std::size_t places = 0;  ///< pairs of faces that look at each other across less than the gap
  Volume volume;           ///< between them
  Length widest;
};
/// Parting gaps between the shells of a closed, outward-facing surface. O(n log n); nothing for a single
/// shell.
GapFound find_gaps(const Surface& surface, Length gap);

/// Bodies that share edges or vertices but are each closed by themselves get vertices of their own, and so
/// become shells of their own. Costs nothing for a single body. O(n).
Surface bodies_apart(Surface surface);

/// Volume of what is wrapped at least once, by vertical columns at two resolutions; for what cannot be
/// united. The half width is a multiple of the difference of the two.
Interval<Volume> volume_by_columns(const Surface& surface);

}  // namespace pourwright
