// SPDX-License-Identifier: GPL-3.0-or-later
// Which way up. Law: nobody's mold is turned without being asked; what another way would hold is told where
// it is more than a tenth more, and a leaning rim where leaning costs anything at all. Sweeps are what it
// costs, so none is made where the room round the body leaves nothing to be found.
#include "pipeline/ways.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Another way that holds no more than this is not worth a word.
constexpr double worth_telling = 1.1;
/// Nor what is a drop beside the body.
constexpr double least_gain = 0.02;
/// Rims are level to this, in degrees: what leans less is how files are rounded and benches stand.
constexpr double level_to = 0.5;
/// More than this is another way to stand, not a lean.
constexpr double most_lean = 15;
/// A level rim holds at least this much more, or it is not the rim that leans.
constexpr double gain_of_level = 1.002;

Volume held_now(const CavityResult& found) {
  Volume held;
  for (const Cavity& c : found.cavities.list())
    if (c.parent == 0 && c.kind != CavityKind::sealed) held += c.capacity.value;
  return held;
}

double degrees_between(const Vec3& a, const Vec3& b) {
  return std::acos(std::clamp(a.dot(b), -1.0, 1.0)) * 180 / std::numbers::pi;
}

/// The cavity that holds most; nothing when none is open.
const Cavity* largest(const CavityResult& found) {
  const Cavity* best = nullptr;
  for (const Cavity& c : found.cavities.list())
    if (c.kind != CavityKind::sealed && (best == nullptr || c.capacity.value > best->capacity.value))
      best = &c;
  return best;
}

template <class Body>
std::optional<LevelRim> leaning(const Body& body, const Vec3& normal, const AsItStands& now) {
  LevelRim rim{normal, degrees_between(normal, now.up), {}};
  if (rim.degrees < level_to) return std::nullopt;
  CavityOptions o;
  o.up = normal;
  o.look_further = false;
  const auto level = find_cavities(body, o);
  if (!level) return std::nullopt;
  rim.holds = held_now(*level);
  const double more = rim.degrees <= most_lean ? gain_of_level : worth_telling;
  if (!(rim.holds > now.holds * more)) return std::nullopt;
  return rim;
}

}  // namespace

Ways look_round(const ClosedBody& body, const CavityResult& found, const Vec3& up) {
  Ways ways;
  ways.now = {up.normalized(), held_now(found), body.volume().value};
  const Volume more = std::max(ways.now.holds * worth_telling, ways.now.body * least_gain);
  if (const auto others = other_ways(body, ways.now.up, more); !others.empty()) ways.axis = others.front();
  if (const Cavity* c = largest(found))
    if (const auto normal = rim_normal(body.vertices(), found.cavities.wetted(c->id).middle, ways.now.up))
      ways.rim = leaning(body, *normal, ways.now);
  return ways;
}

Ways look_round(const OpenSurface& scan, const CavityResult& found, const Vec3& up) {
  Ways ways;
  ways.now = {up.normalized(), held_now(found), {}};
  if (const auto pose = rim_up(scan)) ways.rim = leaning(scan, pose->up, ways.now);
  return ways;
}

std::string direction_text(const Vec3& up) {
  static constexpr std::array<char, 3> letters{'x', 'y', 'z'};
  for (int k = 0; k < 3; ++k)
    if (std::abs(up[k]) > 1 - 1e-12)
      return fmt::format("{}{}", up[k] > 0 ? '+' : '-', letters[static_cast<std::size_t>(k)]);
  const auto n = [](double v) { return std::abs(v) < 5e-5 ? 0.0 : v; };
  return fmt::format("{:.4g},{:.4g},{:.4g}", n(up.x()), n(up.y()), n(up.z()));
}

}  // namespace pourwright
