// SPDX-License-Identifier: GPL-3.0-or-later
// The words on the picture of a mold: what it takes first, then size and reading, then what each mark means.
// Marks that do not occur get no words, so that the legend explains only what is there.
#include <pourwright/report_picture.hpp>

#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

using phrases::millilitre_text;

std::string size_text(const MeasureRow& row) {
  if (!row.bounds) return {};
  const auto& [low, high] = *row.bounds;
  return fmt::format("{:.4g} × {:.4g} × {:.4g} mm", high[0] - low[0], high[1] - low[1], high[2] - low[2]);
}

std::string up_text(const Point& up) {
  static constexpr std::string_view axes[] = {"x", "y", "z"};
  for (std::size_t k = 0; k < 3; ++k)
    if (std::abs(up[k]) > 1 - 1e-9) return fmt::format("{}{} is up", up[k] < 0 ? "-" : "+", axes[k]);
  return fmt::format("({:.3g}, {:.3g}, {:.3g}) is up", up[0], up[1], up[2]);
}

/// The levels of what is filled, when they can be said in one.
std::string level_text(const MeasureRow& row) {
  std::optional<double> below;
  for (const Cavity& c : row.cavities) {
    if (!c.level) continue;
    const double mm = in_millimetres(c.brim - *c.level);
    if (below && std::abs(*below - mm) > 0.05) return "level";
    below = mm;
  }
  if (!below) return {};
  return *below < 0.05 ? std::string("level: the brim")
                       : fmt::format("level: {:.3g} mm below the brim", *below);
}

std::string thickness_text(Length l) {
  const double mm = in_millimetres(l);
  if (mm < 0.1) return "under 0.1 mm";
  return fmt::format("{} mm", fixed(mm, mm < 10 ? 1 : 0));
}

void mark_words(PictureWords& w, const MeasureRow& row) {
  Volume air;
  std::size_t filled = 0, vents = 0;
  bool full = false;
  for (const Cavity& c : row.cavities) {
    if (!c.filled) continue;
    ++filled;
    full |= c.level && in_millimetres(c.brim - *c.level) < 0.05;
    vents += c.air_traps.size();
    for (const AirTrap& t : c.air_traps) air += t.volume;
  }
  w.level = level_text(row);
  if (filled > 0) w.spill = full ? "runs over here first" : "would run over here first";
  if (vents > 0) w.vent = fmt::format("air stays under here, {}: vent it", millilitre_text(air));
  if (row.drains && !row.drains->empty() && !row.read_as(Reading::piece)) {
    const Drain& d = row.drains->front();
    w.drain = d.kind == DrainKind::bottom
                  ? fmt::format("leaks out here: plugged it would hold {}", millilitre_text(d.would_hold))
                  : std::string("a hole in the side");
  }
}

}  // namespace

PictureWords picture_words(const MeasureRow& row, const std::optional<Walls>& walls,
                           const std::string& why_not, const TextStyle& style) {
  PictureWords w;
  const bool piece = row.read_as(Reading::piece);
  const bool filled = row.fill && row.fill->value > Volume() && !piece;
  w.decimal = style.decimal;
  w.title = harmless(file_name(row.path));
  const std::string reading = piece                        ? "the piece itself"
                              : row.read_as(Reading::scan) ? "scan of a mold"
                                                           : "mold";
  w.under.push_back(
      localized(fmt::format("{}, {}, {}", size_text(row), reading, up_text(row.up)), style.decimal));
  std::string unit;
  if (row.unit_from == UnitFrom::assumed) unit = fmt::format("lengths taken as {}", name(row.unit));
  const std::size_t mended = row.mended.size();
  if (mended > 0) unit += fmt::format("{}drawn as mended", unit.empty() ? "" : "; ");
  if (!unit.empty()) w.under.push_back(unit);
  if (row.fill)
    w.figures.push_back(
        {piece ? "volume" : "fill", localized(millilitre_text(row.fill->value), style.decimal)});
  w.body = piece ? "piece" : row.read_as(Reading::scan) ? "scanned surface" : "mold";
  if (filled) w.liquid = "what is poured";
  w.mold = piece    ? "The piece"
           : filled ? "The mold as it is filled, seen through"
                    : "The mold: it holds nothing as it stands";
  w.top = "From above";
  w.section = walls    ? "Section A-A, upright through the thinnest wall"
              : filled ? "Section A-A, upright through the lowest point"
                       : "Section A-A, upright";
  mark_words(w, row);
  w.level = localized(w.level, style.decimal);
  w.vent = localized(w.vent, style.decimal);
  w.drain = localized(w.drain, style.decimal);
  if (!walls) {
    w.piece = filled ? "The piece" : piece ? "From below" : "The mold from below";
    if (!why_not.empty()) w.notes.push_back(why_not);
    return w;
  }
  const bool of_mold = walls->of == WallsOf::mold;
  w.piece = of_mold ? "The mold by its wall thickness" : "The piece by its wall thickness";
  w.thickness = "wall, mm";
  w.thinnest = localized(fmt::format("thinnest: {}", thickness_text(walls->min)), style.decimal);
  if (walls->min < walls->limit) {
    const double percent = 100 * walls->thin_share;
    w.thin = localized(
        fmt::format("thinner than {}: {} % of the surface", thickness_text(walls->limit),
                    percent < 0.1 ? std::string("under 0.1") : fixed(percent, percent < 9.95 ? 1 : 0)),
        style.decimal);
  }
  return w;
}

void add_card_words(PictureWords& words, const CardReport& card, const CardMold& mold,
                    const TextStyle& style) {
  words.figures.push_back(
      {mold.copies == 1 ? std::string("to weigh") : fmt::format("to weigh for {} copies", mold.copies),
       phrases::grams(mold.weighed.mix.value, card.scale_step, style)});
}

}  // namespace pourwright
