// SPDX-License-Identifier: GPL-3.0-or-later
// The half widths of volumes. Law: independent doubts of holes add in part as squares, all else as sums; a
// capacity is measured again with its holes closed so as to hold least and most where one of them reaches its
// brim.
#include "pipeline/doubt.hpp"

#include "geometry/mesh/points.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright {

Volume rounding(const Box& box, Area surface) {
  const double farthest = std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff());
  return cubic_millimetres(farthest * 0x1p-24 * in_square_millimetres(surface));
}

Interval<Volume> wider(Interval<Volume> v, Volume doubt) {
  v.low = std::max(Volume(), v.low - doubt);
  v.high += doubt;
  return v;
}

Interval<Volume> wider(Interval<Volume> v, Volume doubt, const Doubts& reasons) {
  if (!(doubt > Volume())) return v;
  v = wider(std::move(v), doubt);
  Volume all;
  for (const auto& [text, part] : reasons) all += part;
  for (const auto& [text, part] : reasons)
    if (all > Volume() && v.value > Volume()) v.reasons.push_back({text, part / all * (doubt / v.value)});
  std::stable_sort(v.reasons.begin(), v.reasons.end(),
                   [](const Reason& a, const Reason& b) { return a.share > b.share; });
  return v;
}

Interval<Volume> wider(Interval<Volume> v, double scale_doubt) {
  if (!(scale_doubt > 0)) return v;
  v.low -= v.value * scale_doubt;
  v.high += v.value * scale_doubt;
  v.reasons.insert(v.reasons.begin(), {"the scale, from one known size", scale_doubt});
  return v;
}

double half_width(const Interval<Volume>& v) {
  return v.value > Volume() ? std::max(v.high - v.value, v.value - v.low) / v.value : 0.0;
}

namespace {

/// Half width from how the same cavity fares in the variants: found again by its middle.
std::optional<Volume> spread(const Cavity& c, const Vec3& middle, const std::vector<CavityResult>& variants) {
  double low = in_cubic_millimetres(c.capacity.value), high = low;
  for (const CavityResult& v : variants) {
    const Cavity* same = nullptr;
    double off = 0;
    for (const Cavity& o : v.cavities.list()) {
      const double distance = (v.cavities.wetted(o.id).middle - middle).norm();
      if (o.kind != c.kind || o.filled != c.filled || (same != nullptr && distance >= off)) continue;
      same = &o;
      off = distance;
    }
    if (same == nullptr) return std::nullopt;
    const double value = in_cubic_millimetres(same->capacity.value);
    low = std::min(low, value);
    high = std::max(high, value);
  }
  const double own = in_cubic_millimetres(c.capacity.value);
  if (high - low > 0.5 * own) return std::nullopt;  // not the same cavity
  return cubic_millimetres(high - low);
}

/// Closed holes that lie at the wall of the cavity; of those, whether one reaches up to its brim and how far
/// its height may be off there.
struct AtWall {
  std::vector<Volume> doubts;
  bool at_brim = false;
  Length level;
};
AtWall patches_at(const Cavity& c, const Box& wall, const std::vector<Patched>& patches, const Vec3& up) {
  AtWall out;
  const Vec3 brim_at = vec3(c.brim_at);
  for (const Patched& p : patches) {
    const Vec3 hair = Vec3::Constant(1e-9 * p.box.size().norm());
    if (((p.box.low - hair).array() > wall.high.array()).any() ||
        ((p.box.high + hair).array() < wall.low.array()).any())
      continue;
    out.doubts.push_back(p.doubt);
    double top = 0;
    for (int k = 0; k < 3; ++k) top += std::max(p.box.low[k] * up[k], p.box.high[k] * up[k]);
    if (c.kind == CavityKind::sealed || top < in_millimetres(c.brim) - 1e-6 * wall.size().norm()) continue;
    out.at_brim |= !p.creased;
    out.level = std::max(out.level, p.level);
    // Where the liquid runs out over the closing, the rim may have been as high as what is left beside it.
    const bool spills = ((p.box.low - brim_at).array() <= hair.array()).all() &&
                        ((brim_at - p.box.high).array() <= hair.array()).all();
    if (spills) out.level = std::max(out.level, millimetres(top) - c.brim);
  }
  return out;
}

}  // namespace

std::vector<Volume> capacity_doubts(const Measurable& m, const CavityResult& found,
                                    const CavityOptions& options) {
  const std::vector<Cavity>& list = found.cavities.list();
  std::vector<Volume> out;
  const Vec3 up = options.up.normalized();
  std::vector<bool> at_brim;
  for (const Cavity& c : list) {
    const AtWall w = patches_at(c, found.cavities.wetted(c.id).box, m.patches, up);
    // The lowest dent of a rim lies a few deviations below it.
    const Length level = w.level + m.noise.spread * 4.0;
    const double shift = in_square_millimetres(c.opening) * in_millimetres(level);
    out.push_back(together(w.doubts) + m.rest + m.noise.volume + cubic_millimetres(shift));
    at_brim.push_back(w.at_brim);
  }
  if (std::find(at_brim.begin(), at_brim.end(), true) == at_brim.end()) return out;
  CavityOptions plain = options;
  plain.look_further = false;
  plain.tilts.clear();
  plain.fill_to = {};
  std::vector<CavityResult> variants;
  for (const ClosedBody& s : m.solid_variants)
    if (auto v = find_cavities(s, plain)) variants.push_back(std::move(*v));
  for (const OpenSurface& s : m.scan_variants)
    if (auto v = find_cavities(s, plain)) variants.push_back(std::move(*v));
  if (variants.size() != 2) return out;
  for (std::size_t i = 0; i < out.size(); ++i)
    if (at_brim[i])
      if (const auto s = spread(list[i], found.cavities.wetted(list[i].id).middle, variants)) out[i] += *s;
  return out;
}

}  // namespace pourwright
