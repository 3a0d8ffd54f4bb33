// SPDX-License-Identifier: GPL-3.0-or-later
// intake → surface → solid or scan → cavities, one file at a time. Reads as the paragraph it is: see
// `measure_one`.
#include "pipeline/measure.hpp"

#include <pourwright/cavity.hpp>
#include <pourwright/intake.hpp>

#include "pipeline/closing.hpp"
#include "pipeline/known_size.hpp"
#include "pipeline/look.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Décor pieces are a hand to an arm long. Outside that, some other unit would usually make sense.
void doubt_the_unit(const MeshFile& file, const Box& box, Notes& notes) {
  const double longest = box.size().maxCoeff();
  if (file.unit_from == UnitFrom::option || (longest >= 8 && longest <= 1500)) return;
  std::string better;
  for (const LengthUnit u : {LengthUnit::mm, LengthUnit::cm, LengthUnit::in, LengthUnit::m}) {
    const double would = longest / millimetres_in(file.unit) * millimetres_in(u);
    if (u != file.unit && would >= 20 && would <= 1000)
      better +=
          fmt::format("{}--unit {} would make it {:.4g} mm", better.empty() ? "" : ", ", name(u), would);
  }
  notes.push_back(
      {"unit-unlikely",
       fmt::format("the model is {:.3g} mm long{}{}", longest, longest < 8 ? ", tiny" : ", very large",
                   better.empty() ? "; check its unit (--unit)" : "; " + better),
       true});
}

std::string_view plural(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::mm:
      return "millimetres";
    case LengthUnit::cm:
      return "centimetres";
    case LengthUnit::m:
      return "metres";
    case LengthUnit::in:
      return "inches";
    case LengthUnit::ft:
      return "feet";
  }
  return "";
}

void note_unit(const MeshFile& file, const Box& box, Notes& notes) {
  const Vec3 s = box.size();
  const std::string size = fmt::format("{:.4g} × {:.4g} × {:.4g} mm", s.x(), s.y(), s.z());
  switch (file.unit_from) {
    case UnitFrom::assumed:
      notes.push_back({"unit-assumed", fmt::format("lengths taken as millimetres: {}", size), false});
      break;
    case UnitFrom::option:
      notes.push_back({"unit-given", fmt::format("lengths read as {}: {}", plural(file.unit), size), false});
      break;
    case UnitFrom::file:
      notes.push_back(
          {"unit-from-file", fmt::format("the file says {}: {}", plural(file.unit), size), false});
      break;
  }
  doubt_the_unit(file, box, notes);
}

CavityRow row(const Cavities& cavities, const Cavity& c, bool looked) {
  CavityRow r;
  r.id = c.id;
  r.parent = c.parent;
  r.kind = name(c.kind);
  r.filled = c.filled;
  r.capacity = c.capacity;
  r.brim = c.brim;
  r.floor = c.floor;
  r.opening = c.opening;
  r.usable = c.usable;
  if (looked) {
    r.air_traps.emplace();
    for (const AirTrap& t : c.air_traps)
      r.air_traps->push_back({t.volume, t.lip, point(t.vent), t.vent_length, t.tops});
  }
  if (c.filled)
    for (int k = 1; k <= 10; ++k) {
      const Length level = c.floor + (c.brim - c.floor) * (0.1 * k);
      const auto [volume, surface] = cavities.at_level(c.id, level);
      r.fill_table.push_back({volume / c.capacity.value, level, volume, surface});
    }
  return r;
}

/// A place as people read it: tenths of a micrometre are noise.
std::string place(const Vec3& p) {
  const auto n = [](double v) { return std::abs(v) < 5e-4 ? 0.0 : v; };
  return fmt::format("({:.4g}, {:.4g}, {:.4g})", n(p.x()), n(p.y()), n(p.z()));
}

/// What a maker has to do about air that cannot leave.
void note_traps(const Cavity& c, Notes& notes) {
  for (const AirTrap& t : c.air_traps) {
    if (t.volume < c.capacity.value * 1e-4) continue;
    std::string vent = t.vent_length ? fmt::format("a vent {:.3g} mm long at {} lets it out",
                                                   in_millimetres(*t.vent_length), place(t.vent))
                                     : "its top is at " + place(t.vent);
    if (t.tops > 1) vent += fmt::format(", and {} more tops", t.tops - 1);
    notes.push_back({"air-trap",
                     fmt::format("air is caught: {} above height {:.4g} mm; {}",
                                 in_millilitres(t.volume) < 0.05
                                     ? fmt::format("{:.2g} mm³", in_cubic_millimetres(t.volume))
                                     : fmt::format("{:.1f} ml", in_millilitres(t.volume)),
                                 in_millimetres(t.lip), vent),
                     true});
  }
}

/// No file is believed to be better than single precision, which most formats keep and most programs write:
/// what moving every vertex by half a unit in the last place of the farthest coordinate may do to a volume.
Volume rounding(const Box& box, Area surface) {
  const double farthest = std::max(box.low.cwiseAbs().maxCoeff(), box.high.cwiseAbs().maxCoeff());
  return cubic_millimetres(farthest * 0x1p-24 * in_square_millimetres(surface));
}

void widen_by(Interval<Volume>& v, Volume doubt) {
  v.low = std::max(Volume(), v.low - doubt);
  v.high += doubt;
}

std::size_t filled_count(const Cavities& cavities) {
  return static_cast<std::size_t>(std::count_if(cavities.list().begin(), cavities.list().end(),
                                                [](const Cavity& c) { return c.filled; }));
}

/// A volume is what the whole mold takes: several cavities share it in proportion to what they hold.
Expected<FillLevel> shared_out(const Cavities& cavities, const FillLevel& fill) {
  if (fill.kind != FillLevel::Kind::volume || filled_count(cavities) < 2) return fill;
  double held = 0;
  for (const Cavity& c : cavities.list())
    if (c.filled) held += in_cubic_millimetres(c.capacity.value);
  if (fill.value > held * (1 + 1e-9))
    return fail(
        Code::fill_out_of_range,
        fmt::format("the cavities hold {:.4g} ml, less than {:.4g} ml", held / 1000, fill.value / 1000),
        "ask for no more than they hold, or --fill brim");
  return FillLevel{FillLevel::Kind::share, std::min(1.0, fill.value / held)};
}

/// Adds what the fill setting makes of the filled cavities.
std::optional<Problem> pour_into(const Cavities& cavities, const FillLevel& fill, Measured& out) {
  Interval<Volume> sum;
  for (const Cavity& c : cavities.list()) {
    if (!c.filled) continue;
    const auto v = cavities.fill(c.id, fill);
    if (!v) return v.error();
    out.row.cavities[static_cast<std::size_t>(c.id - 1)].level = *cavities.level(c.id, fill);
    sum.value += v->value;
    sum.low += v->low;
    sum.high += v->high;
    sum.reasons = v->reasons;
    out.deepest = std::max(out.deepest, *cavities.level(c.id, fill) - c.floor);
  }
  out.fill = sum;
  return std::nullopt;
}

class OneFile {
 public:
  OneFile(const MeasureSettings& settings, Measured& out)
      : settings_(settings),
        out_(out),
        row_(out.row),
        up_(Vec3(settings.up[0], settings.up[1], settings.up[2]).normalized()) {}

  std::optional<Problem> run(const std::filesystem::path& path) {
    IntakeOptions intake;
    intake.unit = settings_.unit;
    intake.more_formats = settings_.more_formats;
    auto file = read_mesh_file(path, intake);
    if (!file) return file.error();
    row_.unit = name(file->unit);
    row_.unit_from = file->unit_from == UnitFrom::file     ? "file"
                     : file->unit_from == UnitFrom::option ? "option"
                                                           : "assumed";
    row_.notes = std::move(file->notes);

    Surface surface = make_surface(std::move(file->soup));
    row_.triangles = surface.census.triangles;
    row_.shells = surface.census.shells;
    row_.closed = surface.census.closed();
    if (!surface.box.empty())
      if (auto problem = apply_known_size(surface)) return problem;
    const auto place = static_cast<std::ptrdiff_t>(row_.notes.size());
    auto problem = run_surface(std::move(surface));
    if (!box_.empty()) {  // without what was dropped
      Notes said;
      note_unit(*file, box_, said);
      row_.notes.insert(row_.notes.begin() + place, said.begin(), said.end());
      row_.bounds = {{point(box_.low), point(box_.high)}};
    }
    if (!problem) widen();
    if (!problem) problem = too_uncertain();
    return problem;
  }

 private:
  /// One size of the real thing gives a scan its scale.
  std::optional<Problem> apply_known_size(Surface& surface) {
    if (settings_.known.empty()) return std::nullopt;
    const auto known = parse_known_size(settings_.known);
    if (!known) return known.error();
    double now = 0;
    if (known->kind == KnownSize::Kind::capacity) {
      MeasureSettings plain = settings_;
      plain.known.clear();
      plain.fill = "brim";
      plain.quick = true;
      Measured trial;
      Surface copy = surface;
      OneFile once(plain, trial);
      if (auto problem = once.run_surface(std::move(copy))) return problem;
      now = trial.fill ? in_cubic_millimetres(trial.fill->value) : 0;
    } else {
      now = size_now(*known, size_of_body(surface));
    }
    if (!(now > 0))
      return fail(Code::usage, "the size that --known names is zero in this file", "name another size");
    const double f = scale_for(*known, now);
    for (Vec3& p : surface.vertices) p *= f;
    surface.box.low *= f;
    surface.box.high *= f;
    scale_doubt_ = (known->kind == KnownSize::Kind::capacity ? 1 : 3) * known->doubt;
    row_.notes.push_back(
        {"scale-known",
         fmt::format("scaled by {:.6g} so that {}; the last digit given leaves ±{:.2g} % of volume", f,
                     settings_.known, 100 * scale_doubt_),
         false});
    return std::nullopt;
  }

  /// Fragments and the table that were scanned along with it do not count.
  Box size_of_body(const Surface& surface) const {
    if (surface.census.closed() && surface.census.oriented()) return surface.box;
    RepairOptions options;
    options.up = up_;
    const auto repaired = repair(surface, options);
    return repaired ? repaired->surface.box : surface.box;
  }

  static Box box_of(const std::vector<Vec3>& points) {
    Box box;
    for (const Vec3& p : points) box.add(p);
    return box;
  }

  /// Everything in proportion to the doubt about the scale.
  void widen() {
    if (!(scale_doubt_ > 0)) return;
    const auto wider = [&](Interval<Volume>& v) {
      v.low -= v.value * scale_doubt_;
      v.high += v.value * scale_doubt_;
      v.reasons.insert(v.reasons.begin(), {"the scale, from one known size", scale_doubt_});
    };
    if (row_.solid) wider(row_.solid->volume);
    for (CavityRow& c : row_.cavities) wider(c.capacity);
    for (auto* v : {&out_.fill, &out_.body, &row_.fill})
      if (*v) wider(**v);
  }

  std::optional<Problem> run_surface(Surface surface) {
    box_ = surface.box;
    auto closing = closing_options(surface.box.empty() ? 0 : surface.box.size().maxCoeff());
    if (!closing) return closing.error();
    const std::size_t open_edges = surface.census.boundary_edges;
    auto made = make_measurable(std::move(surface), *closing);
    if (!made) return made.error();
    const bool dropped = std::any_of(made->mended.begin(), made->mended.end(), [](const MendRow& m) {
      return m.code == "fragments" || m.code == "loose-sheets" || m.code == "table";
    });
    if (dropped && made->solid) box_ = box_of(as_closed(*made->solid).vertices());
    if (dropped && made->scan) box_ = box_of(as_open(*made->scan).vertices());
    row_.mended = std::move(made->mended);
    noise_ = made->noise.spread;
    append(std::move(made->notes));
    if (made->pose) face(*made->pose);
    if (made->columns) return as_volume(*made->columns);
    return made->scan ? as_scan(*made, open_edges) : as_solid(*made);
  }

  Expected<ClosingOptions> closing_options(double longest) {
    ClosingOptions o;
    const auto holes = parse_close_holes(settings_.close_holes);
    if (!holes) return holes.error();
    o.repair.close_holes = *holes;
    o.repair.up = up_;
    o.repair.up_known = !settings_.find_up;
    o.repair.may_have_rim = settings_.only != Only::solid && settings_.read_as != ReadAs::piece;
    o.find_up = settings_.find_up;
    if (!settings_.gap.empty()) {
      const auto gap = parse_length(settings_.gap);
      if (!gap) return gap.error();
      o.gap = *gap;
    } else if (!settings_.quick && settings_.only != Only::solid && settings_.read_as != ReadAs::piece) {
      // A slicer's tolerance; of a very small model, or one in metres, a small part of its length.
      o.gap = std::min(millimetres(0.1), millimetres(longest / 200));
    }
    o.prove_no_overlap = !settings_.quick;
    if (settings_.quick)
      row_.notes.push_back(
          {"overlap-not-checked", "quick: whether the surface overlaps itself was not checked", false});
    return o;
  }

  /// What overlaps beyond uniting has a volume, but nothing can be said of what it holds.
  std::optional<Problem> as_volume(const Interval<Volume>& volume) {
    if (settings_.only != Only::solid && settings_.read_as != ReadAs::piece)
      return fail(Code::overlaps_itself, "surfaces overlap in too many places to tell what the mold holds",
                  "unite the bodies in the modelling program; --only solid still gives the volume");
    row_.solid = MeasureRow::Body{volume, std::nullopt};
    out_.body = volume;
    row_.read_as = "piece";
    return pour_piece();
  }

  /// A number that nobody can rely on is not given.
  std::optional<Problem> too_uncertain() {
    const auto share = [](const Interval<Volume>& v) {
      return v.value > Volume() ? std::max(v.high - v.value, v.value - v.low) / v.value : 0.0;
    };
    const bool bad_body = row_.solid && share(row_.solid->volume) > settings_.max_uncertainty;
    const bool bad_fill = out_.fill && share(*out_.fill) > settings_.max_uncertainty;
    if (!bad_body && !bad_fill) return std::nullopt;
    if (!bad_fill && row_.read_as != "piece") {
      row_.solid.reset();
      out_.body.reset();
      row_.notes.push_back(
          {"solid-uncertain", "the volume of the mold itself is too uncertain to be told", false});
      return std::nullopt;
    }
    const Interval<Volume>& v = bad_fill ? *out_.fill : row_.solid->volume;
    const bool gap_left =
        std::any_of(row_.notes.begin(), row_.notes.end(), [](const Note& n) { return n.code == "gap-left"; });
    return fail(
        Code::too_uncertain,
        fmt::format("the volume can only be told to ±{:.0f} %{}", std::ceil(100 * share(v)),
                    v.reasons.empty() ? "" : ": " + v.reasons[0].text),
        fmt::format(
            "{}, or fill the mold with water and weigh it; --max-uncertainty {:.0f}% would allow it",
            gap_left ? "join the bodies in the modelling program, leave the gap between them open (--gap 0mm)"
                     : "close the surface in the scan program, scan again",
            std::ceil(100 * share(v))));
  }

  void face(const Pose& pose) {
    up_ = pose.up;
    row_.up = point(up_);
    row_.notes.push_back({"up-chosen", pose.why, false});
  }

  CavityOptions cavity_options() const {
    CavityOptions o;
    o.up = up_;
    o.look_further = !settings_.quick;
    if (settings_.tilt_limit == 0 || row_.triangles <= settings_.tilt_limit) o.tilts = settings_.tilts;
    o.find_lean = settings_.find_lean;
    if (auto fill_to = parse_fill_to(settings_.fill_to)) o.fill_to = std::move(*fill_to);
    if (settings_.dips)
      o.floor_detail = 0;
    else
      o.least_depth = noise_ * 6.0;  // from the lowest dent to the highest bump
    return o;
  }

  void take_body(const ClosedBody& solid, const Measurable& made) {
    Interval<Volume> volume = solid.volume();
    widen_by(volume, rounding_ = rounding(box_, solid.area()));
    add_doubt(volume, made.doubt, made.reasons);
    if (settings_.only != Only::cavities) row_.solid = MeasureRow::Body{volume, solid.area()};
    out_.body = volume;
    if (keeps()) out_.mesh = {solid.vertices(), solid.triangles()};
  }

  std::optional<Problem> as_solid(const Measurable& made) {
    const ClosedBody& solid = as_closed(*made.solid);
    take_body(solid, made);
    if (settings_.only == Only::solid) {
      if (made.left_open && settings_.gap.empty()) take_body(as_closed(*made.left_open), made);
      row_.read_as = settings_.read_as == ReadAs::mold ? "mold" : "piece";
      return std::nullopt;
    }
    if (settings_.find_up) {
      const auto pose = choose_up(solid);
      if (!pose) return pose.error();
      face(*pose);
    }
    CavityOptions options = cavity_options();
    options.bridge = made.gap_left;
    auto found = std::visit([&](const auto& body) { return find_cavities(body, options); }, *made.solid);
    if (!found) return found.error();
    take_cavities(*found, made);
    const bool mold = settings_.read_as == ReadAs::mold || settings_.read_as == ReadAs::scan ||
                      (settings_.read_as == ReadAs::decide && is_vessel(*found, solid.volume().value));
    row_.read_as = mold ? "mold" : "piece";
    if (mold) {
      if (made.left_open) note_left_open(as_closed(*made.left_open));
      keep_pieces(solid, found->cavities);
      return pour(found->cavities, made);
    }
    // Bodies that hold nothing need no joining: what they enclose is asked for.
    if (made.left_open && settings_.gap.empty()) {
      take_body(as_closed(*made.left_open), made);
      std::erase_if(row_.notes, [](const Note& n) { return n.code == "gap-closed"; });
      std::erase_if(row_.mended, [](const MendRow& m) { return m.code == "gap-closed"; });
    }
    // Nor is anything poured into it that could leak.
    std::erase_if(row_.notes, [](const Note& n) {
      return n.code == "gap-left" || n.code == "drain" || n.code == "side-hole";
    });
    // The card pours the piece, not what its dips would hold.
    for (CavityRow& c : row_.cavities) {
      if (c.filled) out_.would_hold += c.capacity.value;
      c.filled = false;
    }
    return pour_piece();
  }

  /// The other reading of a gap that was closed.
  void note_left_open(const ClosedBody& solid) {
    CavityOptions plain = cavity_options();
    plain.look_further = plain.find_lean = false;
    if (plain.fill_to.kind == FillTo::Kind::chosen) plain.fill_to = {};
    plain.tilts.clear();
    const auto found = find_cavities(solid, plain);
    Volume held;
    if (found)
      for (const Cavity& c : found->cavities.list())
        if (c.filled) held += c.capacity.value;
    for (Note& n : row_.notes)
      if (n.code == "gap-closed")
        n.text += fmt::format("; left open the mold would hold {:.1f} ml (--gap 0mm)", in_millilitres(held));
  }

  std::optional<Problem> as_scan(const Measurable& made, std::size_t open_edges) {
    const OpenSurface& scan = as_open(*made.scan);
    auto found =
        std::visit([&](const auto& surface) { return find_cavities(surface, cavity_options()); }, *made.scan);
    if (!found) return found.error();
    if (filled_count(found->cavities) == 0)
      return fail(
          Code::not_closed,
          fmt::format("the surface is open ({} open edges) and holds nothing in this position", open_edges),
          "close it if it is a solid (--close-holes all); if it is a scan of a mold, check --up");
    rounding_ =
        rounding(box_, square_millimetres(measure(scan.vertices(), scan.triangles(), box_.centre()).area));
    take_cavities(*found, made);
    if (keeps()) out_.mesh = {scan.vertices(), scan.triangles()};
    keep_pieces(scan, found->cavities);
    row_.read_as = "scan";
    row_.notes.push_back(
        {"read-as-scan", "an open surface with a rim: read as a scan of the mold's inside", false});
    return pour(found->cavities, made);
  }

  /// A rim that is level but for rounding lets a film out over it, of no thickness that matters; it would be
  /// all that the walls' measure sees. An inspection then stays a micrometre below.
  template <class Body>
  std::pair<Expected<TriangleSoup>, Length> cast_for(const Body& body, const Cavities& cavities,
                                                     const Cavity& c, Length level) const {
    const auto cast = [&](Length to) {
      return settings_.without_air ? cast_piece_without_air(body, cavities, c.id, to)
                                   : cast_piece(body, cavities, c.id, to);
    };
    auto piece = cast(level);
    const Length below = level - millimetres(1e-3);
    if (!piece || !settings_.inspection || below <= c.floor) return {std::move(piece), level};
    double top = 0;
    for (const Triangle& t : piece->triangles) {
      const Vec3 &p = piece->vertices[t[0]], &q = piece->vertices[t[1]], &r = piece->vertices[t[2]];
      const Vec3 n = (q - p).cross(r - p) / 2;
      const double lowest = std::min({p.dot(up_), q.dot(up_), r.dot(up_)});
      if (n.dot(up_) > 0 && lowest > in_millimetres(below)) top += n.dot(up_);
    }
    if (top <= in_square_millimetres(c.opening) * (1 + 1e-6)) return {std::move(piece), level};
    return {cast(below), below};
  }

  bool keeps() const {
    // Not those that a card leaves alone.
    const bool looks =
        settings_.inspection && !(settings_.inspection->in_short && row_.triangles > most_for_card);
    return settings_.keep_mesh || looks;
  }

  /// The cast body of each filled cavity, at the fill level asked for.
  template <class Body>
  void keep_pieces(const Body& body, const Cavities& cavities) {
    const auto asked = parse_fill_level(settings_.fill);
    if (!keeps() || !asked) return;
    const auto fill = shared_out(cavities, *asked);
    if (!fill) return;
    for (const Cavity& c : cavities.list()) {
      if (!c.filled) continue;
      const auto level = cavities.level(c.id, *fill);
      if (!level) continue;  // said where the fill is
      auto [piece, at] = cast_for(body, cavities, c, *level);
      if (!piece) continue;
      out_.pieces.push_back(std::move(*piece));
      out_.levels.push_back(at);
    }
  }

  /// Nearly every surface has dips that hold a drop; a mold is made to hold. The measure is what its filled
  /// cavities hold, as a share of that and the material together. Two parts in a hundred lie far from both
  /// sides: what figures and hardware hold in their folds and sockets stays below one part in a hundred as a
  /// rule, and a mold's wall would have to be some fifty times its cavity to fall below two.
  static bool is_vessel(const CavityResult& found, Volume body) {
    constexpr double least_share = 0.02;
    Volume held;
    for (const Cavity& c : found.cavities.list())
      if (c.filled) held += c.capacity.value;
    for (const Drain& d : found.drains)
      if (d.kind == Drain::Kind::bottom) held += d.would_hold;
    return held > (held + body) * least_share;
  }

  void append(Notes notes) { std::move(notes.begin(), notes.end(), std::back_inserter(row_.notes)); }

  void take_cavities(CavityResult& found, const Measurable& made) {
    const bool looked = !settings_.quick;
    doubts_ = capacity_doubts(made, found, cavity_options());
    for (const Cavity& c : found.cavities.list()) {
      row_.cavities.push_back(row(found.cavities, c, looked));
      widen_by(row_.cavities.back().capacity, rounding_);
      add_doubt(row_.cavities.back().capacity, doubts_[row_.cavities.size() - 1], made.reasons);
      if (c.filled) note_traps(c, row_.notes);
    }
    if (looked) {
      row_.drains.emplace();
      for (const Drain& d : found.drains)
        row_.drains->push_back({d.kind == Drain::Kind::bottom ? "bottom" : "side", d.would_hold,
                                d.throat > Area() ? std::optional(d.throat) : std::nullopt, point(d.at)});
      row_.ceiling =
          MeasureRow::Overhead{found.ceiling.angle_degrees, found.ceiling.area, found.ceiling.share};
    }
    if (found.lean)
      row_.notes.push_back(
          {"lean",
           fmt::format("leaning it by {:.0f}° while pouring, so that {} points up, lets the caught air out",
                       found.lean->degrees, place(found.lean->up)),
           false});
    for (const TiltLoss& t : found.tilt) row_.tilt.push_back({t.degrees, t.azimuth_degrees, t.share});
    append(std::move(found.notes));
  }

  std::optional<Problem> pour(const Cavities& cavities, const Measurable& made) {
    const auto asked = parse_fill_level(settings_.fill);
    if (!asked) return asked.error();
    const auto fill = shared_out(cavities, *asked);
    if (!fill) return fill.error();
    out_.cavities_filled = filled_count(cavities);
    auto problem = pour_into(cavities, *fill, out_);
    if (problem) return problem;
    Volume doubt;
    for (std::size_t i = 0; i < doubts_.size(); ++i)
      if (cavities.list()[i].filled) doubt += doubts_[i];
    widen_by(*out_.fill, rounding_);
    add_doubt(*out_.fill, doubt, made.reasons);
    row_.fill = out_.fill;
    return problem;
  }

  std::optional<Problem> pour_piece() {
    out_.fill = out_.body;
    return std::nullopt;
  }

  const MeasureSettings& settings_;
  Measured& out_;
  MeasureRow& row_;
  Vec3 up_;
  double scale_doubt_ = 0;      // relative, of volumes
  Box box_;                     // of what is measured, scaled
  Length noise_;                // of the surface, one standard deviation
  Volume rounding_;             // what its coordinates leave in doubt
  std::vector<Volume> doubts_;  // what mending leaves to each cavity, in their order
};

}  // namespace

std::optional<Problem> problem_with(const MeasureSettings& settings) {
  if (const auto gap = parse_length(settings.gap.empty() ? "0mm" : settings.gap); gap && *gap < Length())
    return fail(Code::bad_quantity, fmt::format("--gap: {} is less than nothing", settings.gap),
                "give the widest gap to close, such as 0.1mm, or 0mm to close none");
  const auto fill = parse_fill_level(settings.fill);
  if (!fill) return Problem{fill.error().code, "--fill: " + fill.error().text, fill.error().hint};
  const auto fill_to = parse_fill_to(settings.fill_to);
  if (!fill_to)
    return Problem{fill_to.error().code, "--fill-to: " + fill_to.error().text, fill_to.error().hint};
  if (!settings.known.empty()) {
    const auto known = parse_known_size(settings.known);
    if (!known) return Problem{known.error().code, "--known: " + known.error().text, known.error().hint};
  }
  const auto holes = parse_close_holes(settings.close_holes);
  if (!holes) return Problem{holes.error().code, "--close-holes: " + holes.error().text, holes.error().hint};
  if (!settings.gap.empty()) {
    const auto gap = parse_length(settings.gap);
    if (!gap) return Problem{gap.error().code, "--gap: " + gap.error().text, gap.error().hint};
  }
  return std::nullopt;
}

Measured measure_one(const FoundFile& file, const MeasureSettings& settings) {
  Measured out;
  out.row.path = file.path.string();
  const Vec3 up = Vec3(settings.up[0], settings.up[1], settings.up[2]).normalized();
  out.row.up = point(up);
  try {
    out.row.error = file.problem ? file.problem : OneFile(settings, out).run(file.path);
    if (settings.inspection && !out.row.error) look(out, *settings.inspection);
  } catch (const std::bad_alloc&) {
    out.row.error = fail(Code::memory_limit, "there was not enough memory for this mesh",
                         "reduce the mesh, or use a larger machine");
  }
  if (out.row.error) {
    out.fill.reset();
    out.row.solid.reset();
    out.row.fill.reset();
    out.row.cavities.clear();
  }
  if (!settings.keep_mesh) {
    out.mesh = {};
    out.pieces.clear();
  }
  return out;
}

MeasureReport measure_files(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  MeasureReport out;
  for (Measured& m : measure_all(files, settings)) out.files.push_back(std::move(m.row));
  return out;
}

}  // namespace pourwright
