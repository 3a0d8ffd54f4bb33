// SPDX-License-Identifier: GPL-3.0-or-later
// Damaged triangles made into a closed surface, or a scan with one real rim. Every change is counted with its
// place, its effect and what it leaves in doubt: docs/algorithms/{repair,interval}.md.
#pragma once

#include <pourwright/mesh.hpp>

#include <optional>
#include <string>
#include <vector>

namespace pourwright {

/// Which open borders are closed.
struct CloseHoles {
  enum class Which : std::uint8_t {
    decide,  ///< all but a scan's rim: geometric, see docs/algorithms/repair.md
    nothing,
    all,
    up_to,  ///< those whose extent is at most `size`
  };
  Which which = Which::decide;
  Length size;
};
/// "decide", "none", "all", or a size: "up-to 12mm", "up-to=12mm", "12mm".
Expected<CloseHoles> parse_close_holes(std::string_view text);

struct RepairOptions {
  CloseHoles close_holes;
  Vec3 up = Vec3::UnitZ();
  bool up_known = true;      ///< false: a rim may face any way
  bool may_have_rim = true;  ///< false: a solid is wanted, so `decide` closes everything
};

/// One kind of change, counted.
struct RepairStep {
  std::string code;  ///< stable kebab-case word
  std::size_t count = 0;
  Vec3 at = Vec3::Zero();  ///< place of the largest
  Volume change;  ///< effect on the enclosed volume; of holes: of the chosen closing against a flat one
  Volume doubt;   ///< half width that this step alone leaves
  std::string text = {};  ///< "closed 3 holes, the largest 10 mm"
};

/// A closed hole and what it alone leaves in doubt.
struct Patched {
  Box box;
  Volume doubt;
  Length level;          ///< by how much its heights may be off
  bool creased = false;  ///< sharp edges were continued across it: its heights are theirs
};
/// Half width of a sum of independent doubts of which a part, the common bias of all closings, does not
/// cancel.
Volume together(const std::vector<Volume>& doubts);

struct Repaired {
  Surface surface;  ///< closed, or open with a rim that was meant
  bool changed = false;
  std::vector<RepairStep> steps;
  Volume doubt;                  ///< half width of the volume's interval, all steps together
  std::vector<Patched> patches;  ///< of the step "holes-closed"
  /// The same surface with every hole closed so as to enclose least and most; empty when the difference is
  /// nothing. They show what a hole in a rim may do to the brim.
  std::optional<Surface> least, most;
};

/// Mends what its census shows to be damaged. A healthy surface comes back as it is, at no cost. Fails only
/// when nothing is left to measure. O(n log n); holes cost by their length.
Expected<Repaired> repair(Surface surface, const RepairOptions& options = {});

struct Wrapped {
  Surface surface;  ///< closed, shrunk back by the offset
  Volume doubt;     ///< half width
};
/// A closed skin round a soup that nothing else closes.
Expected<Wrapped> wrap(const Surface& surface);

}  // namespace pourwright
