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
#include <vector>

namespace pourwright {

struct ClosingOptions {
  RepairOptions repair;
  Length gap;
  bool find_up = false;  ///< the rim of a scan says which way is up
  bool prove_no_overlap = true;
};

struct Measurable {
  std::optional<AnyBody> solid;             ///< this,
  std::optional<AnyBody> left_open;         ///< the same with its parting gaps, when some were closed
  std::optional<AnyOpenSurface> scan;       ///< or this,
  std::optional<Interval<Volume>> columns;  ///< or only a volume
  Length gap_left;  ///< bodies lie closer than this, but could not be joined; zero when there are none
  std::vector<ClosedBody> solid_variants;  ///< holes closed so as to enclose least, and most
  std::vector<OpenSurface> scan_variants;
  std::vector<Patched> patches;  ///< the closed holes
  Noise noise;
  std::optional<Pose> pose;                             ///< of a scan, when it was looked for
  Volume doubt;                                         ///< half width of the enclosed volume
  Volume rest;                                          ///< of which neither holes nor noise
  std::vector<std::pair<std::string, Volume>> reasons;  ///< largest first
  std::vector<MendRow> mended;
  Notes notes;
};

/// Mends, unites and proves. A healthy surface is only proven.
Expected<Measurable> make_measurable(Surface surface, const ClosingOptions& options);

/// The half width that mending leaves to the capacity of each cavity of `found`, in its order.
std::vector<Volume> capacity_doubts(const Measurable& measurable, const CavityResult& found,
                                    const CavityOptions& options);

/// Widens by `doubt` on both sides and says why; reasons stay in order of size.
void add_doubt(Interval<Volume>& v, Volume doubt, const std::vector<std::pair<std::string, Volume>>& reasons);

}  // namespace pourwright
