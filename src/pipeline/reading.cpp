// SPDX-License-Identifier: GPL-3.0-or-later
// Mold or piece. Law: nearly every surface has dips that hold a drop; a mold is made to hold. The measure is
// what its filled cavities hold, as a share of that and the material together.
#include "pipeline/reading.hpp"

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Two parts in a hundred lie far from both sides: what figures and hardware hold in their folds and sockets
/// stays below one part in a hundred as a rule, and a mold's wall would have to be some fifty times its
/// cavity to fall below two.
constexpr double least_share = 0.02;
/// Within a factor of two of that border the decision is not called sure.
constexpr double border = 2;

}  // namespace

ReadingEvidence evidence_from(const CavityResult& found, Volume body, std::optional<Reading> given) {
  ReadingEvidence e;
  e.given = given;
  e.body = body;
  for (const Cavity& c : found.cavities.list())
    if (c.filled) e.held += c.capacity.value;
  for (const Drain& d : found.drains)
    if (d.kind == DrainKind::bottom) e.drained += d.would_hold;
  return e;
}

Decision<Reading> decide_reading(const ReadingEvidence& e) {
  const Volume held = e.held + e.drained, all = held + e.body;
  const double share = all > Volume() ? held / all : 0.0;
  Decision<Reading> d;
  d.given = e.given.has_value();
  const bool mold = e.given ? *e.given != Reading::piece : held > all * least_share;
  d.chosen = mold ? Reading::mold : Reading::piece;
  d.sure = d.given || share <= least_share / border || share > least_share * border;
  d.why.push_back(fmt::format("it holds {:.2g} % of what it and its cavities take up", 100 * share));
  if (mold)
    d.others.push_back({"reading", "the piece itself", "--read-as piece", e.body});
  else if (e.held > Volume())
    d.others.push_back({"reading", "a mold", "--read-as mold", e.held});
  return d;
}

}  // namespace pourwright
