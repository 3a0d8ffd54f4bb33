// SPDX-License-Identifier: GPL-3.0-or-later
// Fills cavities and casts what they hold. Law: the cast bodies' volumes are the cavities' at those levels.
#include "pipeline/filling.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
namespace {

Expected<FillLevel> shared_out(const Cavities& cavities, const FillLevel& level) {
  double held = 0;
  int count = 0;
  for (const Cavity& c : cavities.list())
    if (c.filled) held += in_cubic_millimetres(c.capacity.value), ++count;
  if (level.kind != FillLevel::Kind::volume || count < 2) return level;
  if (level.value > held * (1 + 1e-9))
    return fail(
        Code::fill_out_of_range,
        fmt::format("the cavities hold {:.4g} ml, less than {:.4g} ml", held / 1000, level.value / 1000),
        "ask for no more than they hold, or --fill brim");
  return FillLevel{FillLevel::Kind::share, std::min(1.0, level.value / held)};
}

/// What looks up above a level: the film that runs out over the rim, and the fill plane itself.
double level_area_above(const TriangleSoup& piece, const Vec3& up, Length level) {
  double area = 0;
  for (const Triangle& t : piece.triangles) {
    const Vec3 &p = piece.vertices[t[0]], &q = piece.vertices[t[1]], &r = piece.vertices[t[2]];
    const Vec3 n = (q - p).cross(r - p) / 2;
    const double lowest = std::min({p.dot(up), q.dot(up), r.dot(up)});
    if (n.dot(up) > 0 && lowest > in_millimetres(level)) area += n.dot(up);
  }
  return area;
}

constexpr Length film = millimetres(1e-3);

template <class Body>
Casting cast_all(const Body& body, const Cavities& cavities, const Filling& filling,
                 const CastingOptions& options) {
  Casting out;
  for (const Filled& f : filling.each) {
    const Cavity& c = cavities.at(f.cavity);
    const auto cast_to = [&](Length level) {
      return options.without_air ? cast_piece_without_air(body, cavities, c.id, level)
                                 : cast_piece(body, cavities, c.id, level);
    };
    auto piece = cast_to(f.level);
    Length level = f.level;
    const Length below = f.level - film;
    if (piece && options.without_film && below > c.floor &&
        level_area_above(*piece, options.up, below) > in_square_millimetres(c.opening) * (1 + 1e-6)) {
      piece = cast_to(below);
      level = below;
    }
    if (!piece) continue;
    out.pieces.push_back(std::move(*piece));
    out.levels.push_back(level);
  }
  return out;
}

}  // namespace

Expected<Filling> fill(const Cavities& cavities, const FillLevel& level) {
  const auto shared = shared_out(cavities, level);
  if (!shared) return shared.error();
  Filling out;
  for (const Cavity& c : cavities.list()) {
    if (!c.filled) continue;
    const auto v = cavities.fill(c.id, *shared);
    if (!v) return v.error();
    const Length at = *cavities.level(c.id, *shared);
    out.each.push_back({c.id, at});
    out.sum.value += v->value;
    out.sum.low += v->low;
    out.sum.high += v->high;
    out.sum.reasons = v->reasons;
    out.deepest = std::max(out.deepest, at - c.floor);
  }
  return out;
}

Casting cast(const ClosedBody& body, const Cavities& cavities, const Filling& filling,
             const CastingOptions& options) {
  return cast_all(body, cavities, filling, options);
}
Casting cast(const OpenSurface& body, const Cavities& cavities, const Filling& filling,
             const CastingOptions& options) {
  return cast_all(body, cavities, filling, options);
}

}  // namespace pourwright
