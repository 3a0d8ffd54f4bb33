// SPDX-License-Identifier: GPL-3.0-or-later
// From triangles as read to something that can be measured: mended, united, proven; with what that leaves in
// doubt.
#pragma once

#include <pourwright/cavity.hpp>
#include <pourwright/noise.hpp>
#include <pourwright/pipeline.hpp>
#include <pourwright/repair.hpp>
#include <pourwright/solid.hpp>
#include <pourwright/union.hpp>

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace pourwright {

struct ClosingOptions {
  RepairOptions repair;
  Length gap;
  bool find_up = false;  ///< the rim of a scan says which way is up
  bool prove_no_overlap = true;
};

/// Why a volume is in doubt, and by how much.
using Doubts = std::vector<std::pair<std::string, Volume>>;

/// What became of bodies that lie closer than the gap.
enum class Gaps : std::uint8_t {
  absent,  ///< there are none, or only those that rounding leaves between touching bodies
  closed,  ///< with plates; the bodies as they were are in `left_open`
  left,    ///< seen, but they could not be joined
};

struct Measurable {
  std::optional<AnyBody> solid;             ///< this,
  std::optional<AnyBody> left_open;         ///< the same with its parting gaps, when some were closed
  std::optional<AnyOpenSurface> scan;       ///< or this,
  std::optional<Interval<Volume>> columns;  ///< or only a volume
  std::vector<ClosedBody> solid_variants;   ///< holes closed so as to enclose least, and most
  std::vector<OpenSurface> scan_variants;
  std::vector<Patched> patches;  ///< the closed holes
  Noise noise;
  std::optional<Pose> pose;  ///< of a scan, when it was looked for
  Volume doubt;              ///< half width of the enclosed volume
  Volume rest;               ///< of which neither holes nor noise
  Doubts reasons;            ///< largest first

  // What was done.
  std::vector<RepairStep> steps;
  Volume mending_doubt;          ///< half width of all steps together
  Volume enclosed;               ///< that the steps' shares are shares of; zero for a scan
  std::optional<United> united;  ///< when bodies were united, without its surface
  Gaps gaps = Gaps::absent;
  Length gap;    ///< bodies nearer than this were joined, or were to be
  Notes proven;  ///< what the proof noticed

  bool dropped_parts() const;  ///< fragments, sheets or the table are no longer in it
};

/// Mends, unites and proves. A healthy surface is only proven.
Expected<Measurable> make_measurable(Surface surface, const ClosingOptions& options);

/// What was done, counted; a gap that was closed only when `joined` bodies are what is measured.
std::vector<Mended> mended_by(const Measurable& m, bool joined);
/// The same as sentences.
Notes closing_notes(const Measurable& m, bool joined, std::optional<Volume> left_open_holds);

}  // namespace pourwright
