// SPDX-License-Identifier: GPL-3.0-or-later
// Mold or piece. Laws: nearly every surface has dips that hold a drop, and a mold is made to hold, so the
// first measure is what the filled cavities hold, as a share of that and the material together. What holds
// much with thin walls all round may as well be a cast vessel: a bowl, a tray, a planter. Their inside and
// outside run along each other; a mold's outside is a block. The doubt is the chance that the other answer is
// right, and where it counts the decision is not sure.
#include "pipeline/reading.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Two parts in a hundred lie far from both sides: what figures and hardware hold in their folds and sockets
/// stays below one part in a hundred as a rule, and a mold's wall would have to be some fifty times its
/// cavity to fall below two.
constexpr double least_share = 0.02;
/// Within a factor of two of that border the decision is not called sure.
constexpr double border = 2;
/// Less doubt than this is not asked about.
constexpr double asked_from = 0.1;
/// Below this share walls are so thick that nobody takes the body for a vessel, and none are looked at.
constexpr double vessel_share = 0.3;

// Likeness to a vessel: the share it holds, and what the walls say for it or against. The numbers were set on
// one half of the made-up shapes of tests/pipeline/decision_test.cpp and hold on the other.
constexpr double for_slanting = 0.3;    ///< outer sides that do not stand upright: a block has none
constexpr double against_uneven = 0.6;  ///< walls behind which the outside runs elsewhere
constexpr double for_thin = 3;          ///< walls thinner than `usual_wall` of the size
constexpr double usual_wall = 0.075;    ///< of the cube root of the whole volume
constexpr double most_for_thin = 0.15;
constexpr double against_flange = 0.25;  ///< a level rim wider than the wall is thick, as on a thin mold
constexpr double against_several = 0.2;  ///< equal cavities
constexpr double vessel_from = 0.675;    ///< here the doubt is `asked_from`,
constexpr double vessel_even = 0.775;    ///< here it is even

double vessel_likeness(const ReadingEvidence& e, double share) {
  const WallShape& w = *e.shape;
  const double size = std::cbrt(in_cubic_millimetres(e.held + e.body));
  const double thin = size > 0 ? for_thin * (usual_wall - in_millimetres(w.wall) / size) : 0.0;
  double x = share + for_slanting * (1 - w.upright) - against_uneven * (1 - w.along) +
             std::clamp(thin, -most_for_thin, most_for_thin);
  x -= against_flange * std::clamp(w.rim - 1.5, 0.0, 1.0);
  if (w.equal > 1) x -= against_several;
  return x;
}

/// Even chances at no step, `asked_from` after one: less by the same factor with every further one.
double doubt_after(double steps) {
  return 0.5 * std::pow(asked_from / 0.5, std::max(0.0, steps));
}

double vessel_doubt(double likeness) {
  return doubt_after((vessel_even - likeness) / (vessel_even - vessel_from));
}

void say_why(const ReadingEvidence& e, double share, Decision<Reading>& d) {
  d.why.push_back(fmt::format("it holds {:.2g} % of what it and its cavities take up", 100 * share));
  if (!e.shape) return;
  const WallShape& w = *e.shape;
  d.why.push_back(fmt::format("its outside runs along {:.0f} % of its inside", 100 * w.along));
  d.why.push_back(fmt::format("{:.0f} % of its outer sides stand upright", 100 * w.upright));
  d.why.push_back(fmt::format("its walls are {:.3g} mm thick as a rule", in_millimetres(w.wall)));
  if (w.rim > 1.5) d.why.push_back("its rim is wider than its walls are thick");
  if (w.equal > 1) d.why.push_back(fmt::format("{} of its cavities hold the same", w.equal));
}

}  // namespace

ReadingEvidence evidence_from(const ClosedBody& body, const CavityResult& found, const Vec3& up,
                              std::optional<Reading> given) {
  ReadingEvidence e;
  e.given = given;
  e.body = body.volume().value;
  for (const Cavity& c : found.cavities.list())
    if (c.filled) e.held += c.capacity.value;
  for (const Drain& d : found.drains)
    if (d.kind == DrainKind::bottom) e.drained += d.would_hold;
  if (!given && e.held > (e.held + e.body) * vessel_share) e.shape = wall_shape(body, found, up);
  return e;
}

Decision<Reading> decide_reading(const ReadingEvidence& e) {
  const Volume held = e.held + e.drained, all = held + e.body;
  const double share = all > Volume() ? held / all : 0.0;
  Decision<Reading> d;
  d.given = e.given.has_value();
  const bool mold = e.given ? *e.given != Reading::piece : held > all * least_share;
  d.chosen = mold ? Reading::mold : Reading::piece;
  if (!d.given && share > 0)
    d.doubt = doubt_after(std::abs(std::log2(share / least_share)) / std::log2(border));
  d.sure = d.given || share <= least_share / border || share > least_share * border;
  if (!d.given && e.shape) {
    d.doubt = std::max(d.doubt, vessel_doubt(vessel_likeness(e, share)));
    d.sure = d.sure && d.doubt < asked_from;
  }
  say_why(e, share, d);
  if (mold)
    d.others.push_back({"reading", "the piece itself", "--read-as piece", e.body});
  else if (e.held > Volume())
    d.others.push_back({"reading", "a mold", "--read-as mold", e.held});
  weigh_company(d, e.molds, e.pieces);
  return d;
}

void weigh_company(Decision<Reading>& d, int molds, int pieces) {
  if (d.given || d.sure || molds + pieces == 0) return;
  // Every file of the one kind is worth as much as the first doubt was: k of them make odds of k + 1 to one.
  const double odds = (1 - d.doubt) / d.doubt * (d.chosen == Reading::piece ? 1.0 + pieces : 1.0 + molds) /
                      (d.chosen == Reading::piece ? 1.0 + molds : 1.0 + pieces);
  d.doubt = 1 / (1 + odds);
  d.sure = d.doubt < asked_from;
  const int alike = d.chosen == Reading::piece ? pieces : molds;
  if (d.sure) d.why.push_back(fmt::format("the {} other files are {}s too", alike, name(d.chosen)));
}

}  // namespace pourwright
