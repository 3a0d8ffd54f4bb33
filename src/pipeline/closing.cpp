// SPDX-License-Identifier: GPL-3.0-or-later
// Mends, unites and proves. Law: what can be proven free of overlap is; what cannot be is united exactly and
// proven again; what even that refuses has a volume by columns and nothing else. Every step leaves its doubt.
#include "pipeline/closing.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright {
namespace {

std::string reason_of(Mending what) {
  switch (what) {
    case Mending::holes_closed:
      return "what closed holes may have hidden";
    case Mending::missing_sides:
      return "a missing side closed flat";
    case Mending::cracks:
    case Mending::t_junctions:
      return "cracks that were joined";
    case Mending::fragments:
    case Mending::loose_sheets:
    case Mending::inner_sheets:
      return "fragments that were dropped";
    case Mending::wrapped:
      return "a skin drawn round the surface";
    default:
      return "damage that was mended";
  }
}

Volume enclosed_by(const Surface& s) {
  return cubic_millimetres(std::abs(measure(s.vertices, s.triangles, s.box.centre()).volume));
}

constexpr std::string_view twice = "a body that is there twice, not quite in one place";

/// A body inside another of nearly its size is more likely the same surface twice than material in material.
void doubt_inner_copies(Measurable& out) {
  const std::vector<Shell>& shells = as_closed(*out.solid).shells();
  Volume doubt;
  for (const Shell& s : shells)
    if (s.role == ShellRole::redundant && s.parent != none && s.enclosed > shells[s.parent].enclosed * 0.9)
      doubt += shells[s.parent].enclosed - s.enclosed;
  if (!(doubt > Volume())) return;
  out.rest += doubt;
  out.reasons.emplace_back(twice, doubt);
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

/// Joined by more than rounding keeps apart.
bool truly_joined(const United& united, Length gap) {
  return united.gaps > 0 && united.widest > gap * 1e-5;
}

void take_union(United united, AnyBody body, Measurable& out) {
  out.solid = std::move(body);
  if (united.copies > 0) {
    out.rest += united.copies_add;
    out.reasons.emplace_back(twice, united.copies_add);
  }
  out.united = std::move(united);
  out.united->surface = {};
}

/// What was proven of a surface, and whether there are gaps to close.
struct FirstLook {
  std::optional<Surface> kept;  ///< as it was, for uniting
  bool unite = false;
};
Expected<FirstLook> look_first(Surface surface, const ClosingOptions& options, Measurable& out) {
  const bool several = surface.census.shells > 1 && options.gap > Length();
  FirstLook look;
  if (options.prove_no_overlap || several) look.kept = surface;
  auto first = closed_body(std::move(surface), options.prove_no_overlap);
  if (!first) {
    const Code code = first.error().code;
    look.unite = options.prove_no_overlap && (code == Code::overlaps_itself || code == Code::not_oriented ||
                                              code == Code::shells_contradict);
    if (!look.unite) return first.error();
    return look;
  }
  if (several) {
    // As proven: shells that faced the wrong way have been turned.
    const ClosedBody& body = as_closed(first->body);
    Surface facing_out = make_surface({body.vertices(), body.triangles()});
    look.unite = find_gaps(facing_out, options.gap).places > 0;
    if (look.unite) look.kept = std::move(facing_out);
  }
  out.solid = std::move(first->body);
  out.proven = std::move(first->notes);
  doubt_inner_copies(out);
  return look;
}

/// Proves, or unites what cuts or touches itself, or nearly so, and proves that.
std::optional<Problem> prove(Surface surface, const ClosingOptions& options, Measurable& out) {
  out.gap = options.gap;
  if (options.gap > Length()) surface = bodies_apart(std::move(surface));
  auto look = look_first(std::move(surface), options, out);
  if (!look) return look.error();
  if (!look->unite) return std::nullopt;
  auto united = unite_shells(*look->kept, options.gap);
  const bool joined = static_cast<bool>(united);
  if (!united && options.gap > Length() && !out.solid) united = unite_shells(*look->kept);
  if (!united) {
    if (out.solid)
      out.gaps = Gaps::left;
    else
      out.columns = volume_by_columns(*look->kept);
    return std::nullopt;
  }
  auto proven = proven_union(std::move(united->surface));
  if (!proven && united->gaps > 0) {  // joining failed; the bodies may still be measured as they are
    if (out.solid) {
      out.gaps = Gaps::left;
      return std::nullopt;
    }
    united = unite_shells(*look->kept);
    if (united) proven = proven_union(std::move(united->surface));
    if (united && proven) out.gaps = Gaps::left;
  }
  if (!proven) return proven.error();
  if (!joined) out.gaps = Gaps::left;
  if (truly_joined(*united, options.gap)) {
    out.gaps = Gaps::closed;
    if (!out.solid)
      if (auto plain = unite_shells(std::move(*look->kept)))
        if (auto p = proven_union(std::move(plain->surface))) out.solid = std::move(p->body);
    out.left_open = std::move(out.solid);
  }
  take_union(std::move(*united), std::move(proven->body), out);
  return std::nullopt;
}

/// A scan with a real rim.
std::optional<Problem> take_scan(Repaired& repaired, const ClosingOptions& options, Measurable& out) {
  Vec3 up = options.repair.up;
  if (options.find_up) {
    const auto pose = rim_up(repaired.surface);
    if (!pose) return pose.error();
    out.pose = *pose;
    up = pose->up;
  }
  const auto take = [&](auto open) -> std::optional<Problem> {
    if (!open) return open.error();
    out.scan = std::move(open->surface);
    out.proven = std::move(open->notes);
    return std::nullopt;
  };
  auto problem = options.prove_no_overlap ? take(prove_open_surface(std::move(repaired.surface), up))
                                          : take(take_open_surface(std::move(repaired.surface), up));
  if (problem) return problem;
  for (auto* variant : {&repaired.least, &repaired.most})
    if (*variant)
      if (auto v = take_open_surface(std::move(**variant), up))
        out.scan_variants.push_back(std::move(v->surface));
  return std::nullopt;
}

/// A skin round what nothing else closes.
std::optional<Problem> wrap_it(Repaired& repaired) {
  auto wrapped = wrap(repaired.surface);
  if (!wrapped) return wrapped.error();
  repaired.steps.insert(repaired.steps.begin(),
                        {Mending::wrapped, 1, repaired.surface.census.misoriented_at, Volume(),
                         wrapped->doubt, "nothing else closed it: a skin was drawn round it"});
  repaired.doubt += wrapped->doubt;
  repaired.surface = std::move(wrapped->surface);
  repaired.least.reset();
  repaired.most.reset();
  return std::nullopt;
}

std::optional<Problem> take_closed(Repaired& repaired, const ClosingOptions& options, Measurable& out) {
  const Census& census = repaired.surface.census;
  if (!census.closed() || !census.oriented())
    if (auto problem = wrap_it(repaired)) return problem;
  out.enclosed = enclosed_by(repaired.surface);
  if (auto problem = prove(std::move(repaired.surface), options, out)) return problem;
  if (!out.solid) return std::nullopt;
  out.enclosed = as_closed(*out.solid).volume().value;
  for (auto* variant : {&repaired.least, &repaired.most})
    if (*variant)
      if (auto v = take_closed(std::move(**variant))) out.solid_variants.push_back(std::move(v->body));
  return std::nullopt;
}

}  // namespace

bool Measurable::dropped_parts() const {
  return std::any_of(steps.begin(), steps.end(), [](const RepairStep& s) {
    return s.what == Mending::fragments || s.what == Mending::loose_sheets || s.what == Mending::table;
  });
}

Expected<Measurable> make_measurable(Surface surface, const ClosingOptions& options) {
  auto repaired = repair(std::move(surface), options.repair);
  if (!repaired) return repaired.error();
  Measurable out;
  out.noise = find_noise(repaired->surface);
  const bool open = repaired->surface.census.boundary_edges > 0;
  auto problem = open ? take_scan(*repaired, options, out) : take_closed(*repaired, options, out);
  if (problem) return *problem;
  out.patches = std::move(repaired->patches);
  out.steps = std::move(repaired->steps);
  out.mending_doubt = repaired->doubt;
  out.doubt = repaired->doubt + out.rest + out.noise.volume;
  for (const RepairStep& s : out.steps) {
    if (s.doubt > Volume()) out.reasons.emplace_back(reason_of(s.what), s.doubt);
    if (s.what != Mending::holes_closed) out.rest += s.doubt;
  }
  if (out.noise.volume > Volume()) out.reasons.emplace_back("noise of the surface", out.noise.volume);
  std::stable_sort(out.reasons.begin(), out.reasons.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

}  // namespace pourwright
