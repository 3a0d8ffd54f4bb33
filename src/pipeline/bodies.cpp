// SPDX-License-Identifier: GPL-3.0-or-later
// Bodies of one file. Law: nothing is moved or joined here; what joining would change is told. Gaps are tried
// from narrow to wide, and the first that makes the bodies hold clearly more is the one between them.
#include "pipeline/bodies.hpp"

#include <pourwright/union.hpp>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// More bodies than this are an assembly, not a mold.
constexpr std::size_t most_bodies = 8;
/// And larger meshes are not joined on a guess.
constexpr std::size_t most_triangles = 200'000;
/// Gaps are tried up to this, or a twentieth of the file's length.
constexpr Length widest_gap = millimetres(5);
constexpr double gap_step = 2.5;
/// What joining must add to be worth a word: of what they hold apart, and of their material.
constexpr double clearly_more = 1.1, least_of_body = 0.02;
/// Halves of one mold agree in their outline to this.
constexpr double outline = 0.01;

Volume filled(const CavityResult& found) {
  Volume held;
  for (const Cavity& c : found.cavities.list())
    if (c.filled) held += c.capacity.value;
  return held;
}

std::optional<Volume> held_joined(const Surface& surface, Length gap, const CavityOptions& options) {
  auto united = unite_shells(surface, gap);
  if (!united) return std::nullopt;
  auto taken = take_closed(std::move(united->surface));
  if (!taken) return std::nullopt;
  CavityOptions plain;
  plain.up = options.up;
  plain.look_further = false;
  const auto found = find_cavities(taken->body, plain);
  if (!found) return std::nullopt;
  return filled(*found);
}

std::optional<Apart> find_apart(const ClosedBody& body, const Surface& surface, Volume held,
                                const CavityOptions& options, Length closed) {
  const Volume more = std::max(held * clearly_more, body.volume().value * least_of_body);
  const Length widest = std::min(widest_gap, millimetres(surface.box.size().maxCoeff() / 20));
  Length tried = closed;
  for (Length gap = std::max(closed, widest * 0.02) * gap_step; tried < widest; gap = gap * gap_step) {
    gap = std::min(gap, widest);
    tried = gap;
    const GapFound seen = find_gaps(surface, gap);
    if (seen.places == 0) continue;
    // As wide as it is, and a little for how it was rounded.
    const Length there = std::min(seen.widest * 1.05, widest);
    const auto holds = held_joined(surface, there, options);
    if (holds && *holds > more) return Apart{seen.widest, *holds};
  }
  return std::nullopt;
}

/// One closed shell that is material, as it lies.
struct LooseBody {
  Box box;
  double volume = 0;
  bool wet = false;
  Length brim;  ///< highest of the cavities that touch it
};

std::vector<LooseBody> parts_of(const Surface& surface, const CavityResult& found) {
  std::vector<LooseBody> parts(surface.census.shells);
  for (std::size_t t = 0; t < surface.triangles.size(); ++t) {
    LooseBody& p = parts[surface.shell[t]];
    const Triangle& k = surface.triangles[t];
    for (const Index v : k) p.box.add(surface.vertices[v]);
    p.volume += (surface.vertices[k[0]] - surface.box.centre())
                    .dot((surface.vertices[k[1]] - surface.box.centre())
                             .cross(surface.vertices[k[2]] - surface.box.centre())) /
                6;
  }
  for (const Cavity& c : found.cavities.list())
    if (c.filled)
      for (const Index t : found.cavities.wall(c.id)) {
        LooseBody& p = parts[surface.shell[t]];
        p.brim = p.wet ? std::max(p.brim, c.brim) : c.brim;
        p.wet = true;
      }
  std::erase_if(parts, [](const LooseBody& p) { return !(p.volume > 0); });
  return parts;
}

double reach(const Box& box, const Vec3& up) {
  double top = 0;
  for (int k = 0; k < 3; ++k) top += std::max(box.low[k] * up[k], box.high[k] * up[k]);
  return top;
}

/// Both stand beside each other, as high and with the same outline, and both spill below their top, where a
/// channel runs out of a side: the mouth of the mold that they make.
bool are_halves(const std::vector<LooseBody>& parts, const Vec3& up) {
  if (parts.size() != 2 || !parts[0].wet || !parts[1].wet) return false;
  const Box &a = parts[0].box, &b = parts[1].box;
  const Vec3 difference = (a.size() - b.size()).cwiseAbs();
  if (difference.maxCoeff() > outline * a.size().maxCoeff()) return false;
  if (std::abs(reach(a, up) - reach(b, up)) > outline * a.size().maxCoeff()) return false;
  bool beside = false;
  for (int k = 0; k < 3; ++k)
    if (std::abs(up[k]) < 0.5) beside |= a.high[k] <= b.low[k] || b.high[k] <= a.low[k];
  if (!beside) return false;
  return std::all_of(parts.begin(), parts.end(), [&](const LooseBody& p) {
    return in_millimetres(p.brim) < reach(p.box, up) - 0.02 * p.box.size().maxCoeff();
  });
}

}  // namespace

std::string gap_option(const Apart& apart) {
  // A little wider, rounded up to hundredths.
  return fmt::format("--gap {:.4g}mm", std::ceil(in_millimetres(apart.gap) * 105) / 100);
}

Bodies look_at_bodies(const ClosedBody& body, const CavityResult& found, const CavityOptions& options,
                      Length closed) {
  Bodies out;
  out.count = static_cast<std::size_t>(std::count_if(
      body.shells().begin(), body.shells().end(), [](const Shell& s) { return s.role == ShellRole::body; }));
  if (out.count < 2 || out.count > most_bodies || body.triangles().size() > most_triangles) return out;
  const Surface surface = make_surface({body.vertices(), body.triangles()});
  // Triangles that use one vertex twice are dropped there, and then numbers would not agree.
  if (surface.triangles.size() != body.triangles().size()) return out;
  const Volume held = filled(found);
  if (closed > Length()) out.apart = find_apart(body, surface, held, options, closed);
  if (!(held > Volume())) return out;
  const std::vector<LooseBody> parts = parts_of(surface, found);
  for (const LooseBody& p : parts)
    if (!p.wet) out.idle.push_back(p.box);
  if (out.idle.size() == parts.size()) out.idle.clear();
  out.side_by_side = are_halves(parts, options.up.normalized());
  return out;
}

}  // namespace pourwright
