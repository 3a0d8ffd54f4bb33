// SPDX-License-Identifier: GPL-3.0-or-later
#include "pipeline/closing.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

std::string reason_of(std::string_view code) {
  if (code == "holes-closed") return "what closed holes may have hidden";
  if (code == "missing-sides") return "a missing side closed flat";
  if (code == "cracks" || code == "t-junctions") return "cracks that were joined";
  if (code == "fragments" || code == "loose-sheets" || code == "inner-sheets")
    return "fragments that were dropped";
  if (code == "wrapped") return "a skin drawn round the surface";
  return "damage that was mended";
}

std::string volume_text(Volume v) {
  const double ml = std::abs(in_millilitres(v));
  if (ml < 0.1) return fmt::format("{:.2g} mm³", ml * 1000);
  return fmt::format("{:.2g} ml", ml);
}

/// One sentence that a person understands: what was done, the doubtful first, and what it may be worth.
void note_repair(const Repaired& r, Volume volume, Notes& notes) {
  if (r.steps.empty()) return;
  std::string text;
  std::size_t told = 0;
  for (const RepairStep& s : r.steps) {
    if (told++ == 4 && r.steps.size() > 5) {
      text += fmt::format("; and {} more kinds of damage", r.steps.size() - 4);
      break;
    }
    text += (text.empty() ? "" : "; ") + s.text;
    const auto share = [&](Volume v) { return volume > Volume() ? std::abs(v / volume) : 0; };
    if (share(s.change) >= 1e-4)
      text += fmt::format(": {}{}, {:.2g} %", s.change < Volume() ? "−" : "+", volume_text(s.change),
                          100 * share(s.change));
    if (share(s.doubt) >= 1e-4)
      text += fmt::format(" (±{}, {:.2g} %)", volume_text(s.doubt), 100 * share(s.doubt));
  }
  notes.push_back({"mended", text, volume > Volume() && r.doubt / volume >= 0.01});
}

Volume enclosed(const Surface& s) {
  return cubic_millimetres(std::abs(measure(s.vertices, s.triangles, s.box.centre()).volume));
}

/// A body inside another of nearly its size is more likely the same surface twice than material in material.
void doubt_inner_copies(Measurable& out) {
  const std::vector<Shell>& shells = as_closed(*out.solid).shells();
  Volume doubt;
  for (const Shell& s : shells)
    if (s.role == ShellRole::redundant && s.parent != none && s.enclosed > shells[s.parent].enclosed * 0.9)
      doubt += shells[s.parent].enclosed - s.enclosed;
  if (!(doubt > Volume())) return;
  out.rest += doubt;
  out.reasons.emplace_back("a body that is there twice, not quite in one place", doubt);
}

void note_union(const United& united, const ClosingOptions& options, Measurable& out) {
  const bool told = united.gaps > 0 && united.widest > options.gap * 1e-5;
  if (united.gaps > 0 && !told) out.notes.push_back({"united", "bodies that touch were united", false});
  if (told) {
    out.mended.push_back({"gap-closed", united.gaps, united.gap_volume});
    out.notes.push_back({"gap-closed",
                         fmt::format("bodies lie less than {:.3g} mm apart and were joined: the gap between "
                                     "them, {}, was closed",
                                     in_millimetres(options.gap), volume_text(united.gap_volume)),
                         false});
  }
  if (united.contacts > 0) {
    const std::size_t bodies = united.bodies;
    out.mended.push_back({"united", bodies, -united.overlap});
    const std::string what = bodies > 1 ? fmt::format("{} bodies overlap or touch and were united", bodies)
                                        : std::string("the surface cut or touched itself and was put right");
    const bool counts = united.overlap > united.volume * 1e-5;
    out.notes.push_back(
        {"united", what + (counts ? fmt::format("; {} was there twice", volume_text(united.overlap)) : ""),
         false});
  }
  if (united.copies > 0) {
    out.mended.push_back({"copies-dropped", united.copies, Volume()});
    out.rest += united.copies_add;
    out.reasons.emplace_back("a body that is there twice, not quite in one place", united.copies_add);
    out.notes.push_back(
        {"united",
         fmt::format("{} there twice, not quite in one place; one was kept, the other would add {}",
                     united.copies == 1 ? "a body is" : fmt::format("{} bodies are", united.copies),
                     volume_text(united.copies_add)),
         true});
  }
  if (united.turned > 0) {
    out.mended.push_back({"shells-turned", united.turned, Volume()});
    out.notes.push_back(
        {"inverted",
         fmt::format("{} inside out and turned",
                     united.turned == 1 ? "1 shell was" : fmt::format("{} shells were", united.turned)),
         false});
  }
}

struct BodyResult {
  AnyBody body;
  Notes notes;
};
Expected<BodyResult> closed_body(Surface surface, bool prove) {
  if (prove) {
    auto solid = prove_solid(std::move(surface));
    if (!solid) return solid.error();
    return BodyResult{std::move(solid->solid), std::move(solid->notes)};
  }
  auto closed = take_closed(std::move(surface));
  if (!closed) return closed.error();
  return BodyResult{std::move(closed->body), std::move(closed->notes)};
}

/// The union, proven. Rounding to doubles may leave contacts far below anything that counts; the union itself
/// was exact.
Expected<BodyResult> proven_union(Surface surface) {
  auto proven = closed_body(surface, true);
  if (!proven && proven.error().code == Code::overlaps_itself) return closed_body(std::move(surface), false);
  return proven;
}

void note_left(const ClosingOptions& options, Measurable& out) {
  out.gap_left = options.gap;
  out.notes.push_back(
      {"gap-left",
       fmt::format("bodies lie less than {:.3g} mm apart, and could not be joined: liquid may run "
                   "out between them",
                   in_millimetres(options.gap)),
       true});
}

/// Proves, or unites what cuts or touches itself, or nearly so, and proves that.
std::optional<Problem> prove(Surface surface, const ClosingOptions& options, Measurable& out) {
  if (options.gap > Length()) surface = bodies_apart(std::move(surface));
  const bool several = surface.census.shells > 1 && options.gap > Length();
  std::optional<Surface> kept;
  if (options.prove_no_overlap || several) kept = surface;
  auto first = closed_body(std::move(surface), options.prove_no_overlap);
  std::size_t gaps = 0;
  if (first) {
    if (several) {
      // As proven: shells that faced the wrong way have been turned.
      Surface facing_out =
          make_surface({as_closed(first->body).vertices(), as_closed(first->body).triangles()});
      gaps = find_gaps(facing_out, options.gap).places;
      if (gaps > 0) kept = std::move(facing_out);
    }
    out.solid = std::move(first->body);
    doubt_inner_copies(out);
    std::move(first->notes.begin(), first->notes.end(), std::back_inserter(out.notes));
    if (gaps == 0) return std::nullopt;
  } else {
    const Code code = first.error().code;
    if (!options.prove_no_overlap ||
        (code != Code::overlaps_itself && code != Code::not_oriented && code != Code::shells_contradict))
      return first.error();
  }
  auto united = unite_shells(*kept, options.gap);
  bool left = false;
  if (!united && options.gap > Length() && !out.solid) {
    united = unite_shells(*kept);
    left = static_cast<bool>(united);
  }
  if (!united) {
    if (out.solid) {
      note_left(options, out);
      return std::nullopt;
    }
    out.columns = volume_by_columns(*kept);
    out.notes.push_back(
        {"columns", "surfaces overlap and could not be united: the volume was measured by columns", true});
    return std::nullopt;
  }
  auto proven = proven_union(std::move(united->surface));
  if (!proven && united->gaps > 0) {  // joining failed; the bodies may still be measured as they are
    if (out.solid) {
      note_left(options, out);
      return std::nullopt;
    }
    united = unite_shells(*kept);
    if (united) proven = proven_union(std::move(united->surface));
    if (united && proven) note_left(options, out);
  }
  if (!proven) return proven.error();
  if (left) note_left(options, out);
  if (united->gaps > 0 && united->widest > options.gap * 1e-5) {
    if (!out.solid)
      if (auto plain = unite_shells(std::move(*kept)))
        if (auto p = proven_union(std::move(plain->surface))) out.solid = std::move(p->body);
    out.left_open = std::move(out.solid);
  }
  out.solid = std::move(proven->body);
  note_union(*united, options, out);
  return std::nullopt;
}

Volume total(const std::vector<std::pair<std::string, Volume>>& reasons) {
  Volume sum;
  for (const auto& [text, v] : reasons) sum += v;
  return sum;
}

/// Half width from how the same cavity fares in the variants: found again by its lowest point.
std::optional<Volume> spread(const Cavity& c, const std::vector<CavityResult>& variants) {
  double low = in_cubic_millimetres(c.capacity.value), high = low;
  for (const CavityResult& v : variants) {
    const Cavity* same = nullptr;
    for (const Cavity& o : v.cavities.list())
      if (o.kind == c.kind && o.filled == c.filled &&
          (same == nullptr || (o.middle - c.middle).norm() < (same->middle - c.middle).norm()))
        same = &o;
    if (same == nullptr) return std::nullopt;
    const double value = in_cubic_millimetres(same->capacity.value);
    low = std::min(low, value);
    high = std::max(high, value);
  }
  const double own = in_cubic_millimetres(c.capacity.value);
  if (high - low > 0.5 * own) return std::nullopt;  // not the same cavity
  return cubic_millimetres(high - low);
}

std::optional<Problem> take_scan(Surface surface, const Vec3& up, bool prove, Measurable& out) {
  const auto take = [&](auto open) -> std::optional<Problem> {
    if (!open) return open.error();
    out.scan = std::move(open->surface);
    out.notes = std::move(open->notes);
    return std::nullopt;
  };
  return prove ? take(prove_open_surface(std::move(surface), up))
               : take(take_open_surface(std::move(surface), up));
}

}  // namespace

Expected<Measurable> make_measurable(Surface surface, const ClosingOptions& options) {
  auto repaired = repair(std::move(surface), options.repair);
  if (!repaired) return repaired.error();
  Measurable out;
  out.noise = find_noise(repaired->surface);
  const Census census = repaired->surface.census;
  Vec3 up = options.repair.up;
  Volume volume = enclosed(repaired->surface);
  std::optional<Problem> problem;
  if (census.boundary_edges > 0) {
    if (options.find_up) {
      const auto pose = rim_up(repaired->surface);
      if (!pose) return pose.error();
      out.pose = *pose;
      up = pose->up;
    }
    if ((problem = take_scan(std::move(repaired->surface), up, options.prove_no_overlap, out)))
      return *problem;
    for (auto* variant : {&repaired->least, &repaired->most})
      if (*variant)
        if (auto v = take_open_surface(std::move(**variant), up))
          out.scan_variants.push_back(std::move(v->surface));
  } else {
    if (!census.closed() || !census.oriented()) {
      auto wrapped = wrap(repaired->surface);
      if (!wrapped) return wrapped.error();
      repaired->steps.insert(repaired->steps.begin(),
                             {"wrapped", 1, census.misoriented_at, Volume(), wrapped->doubt,
                              "nothing else closed it: a skin was drawn round it"});
      repaired->doubt += wrapped->doubt;
      repaired->surface = std::move(wrapped->surface);
      repaired->least.reset();
      repaired->most.reset();
    }
    if ((problem = prove(std::move(repaired->surface), options, out))) return *problem;
    if (out.solid) volume = as_closed(*out.solid).volume().value;
    for (auto* variant : {&repaired->least, &repaired->most})
      if (*variant && out.solid)
        if (auto v = take_closed(std::move(**variant))) out.solid_variants.push_back(std::move(v->body));
  }
  out.patches = std::move(repaired->patches);
  out.doubt = repaired->doubt + out.rest + out.noise.volume;
  for (const RepairStep& s : repaired->steps) {
    out.mended.push_back({s.code, s.count, s.change});
    if (s.doubt > Volume()) out.reasons.emplace_back(reason_of(s.code), s.doubt);
    if (s.code != "holes-closed") out.rest += s.doubt;
  }
  if (out.noise.volume > Volume()) out.reasons.emplace_back("noise of the surface", out.noise.volume);
  std::stable_sort(out.reasons.begin(), out.reasons.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  Notes notes;
  note_repair(*repaired, out.scan ? Volume() : volume, notes);
  out.notes.insert(out.notes.begin(), notes.begin(), notes.end());
  return out;
}

namespace {

/// Closed holes that lie at the wall of the cavity; of those, whether one reaches up to its brim and how far
/// its height may be off there.
struct AtWall {
  std::vector<Volume> doubts;
  bool at_brim = false;
  Length level;
};
AtWall patches_at(const Cavity& c, const std::vector<Patched>& patches, const Vec3& up) {
  AtWall out;
  for (const Patched& p : patches) {
    const Vec3 hair = Vec3::Constant(1e-9 * p.box.size().norm());
    if (((p.box.low - hair).array() > c.wall.high.array()).any() ||
        ((p.box.high + hair).array() < c.wall.low.array()).any())
      continue;
    out.doubts.push_back(p.doubt);
    double top = 0;
    for (int k = 0; k < 3; ++k) top += std::max(p.box.low[k] * up[k], p.box.high[k] * up[k]);
    if (c.kind == CavityKind::sealed || top < in_millimetres(c.brim) - 1e-6 * c.wall.size().norm()) continue;
    out.at_brim |= !p.creased;
    out.level = std::max(out.level, p.level);
    // Where the liquid runs out over the closing, the rim may have been as high as what is left beside it.
    const bool spills = ((p.box.low - c.brim_at).array() <= hair.array()).all() &&
                        ((c.brim_at - p.box.high).array() <= hair.array()).all();
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
    const AtWall w = patches_at(c, m.patches, up);
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
      if (const auto s = spread(list[i], variants)) out[i] += *s;
  return out;
}

void add_doubt(Interval<Volume>& v, Volume doubt,
               const std::vector<std::pair<std::string, Volume>>& reasons) {
  if (!(doubt > Volume())) return;
  v.low = std::max(Volume(), v.low - doubt);
  v.high += doubt;
  const Volume all = total(reasons);
  for (const auto& [text, part] : reasons)
    if (all > Volume() && v.value > Volume()) v.reasons.push_back({text, part / all * (doubt / v.value)});
  std::stable_sort(v.reasons.begin(), v.reasons.end(),
                   [](const Reason& a, const Reason& b) { return a.share > b.share; });
}

}  // namespace pourwright
