// SPDX-License-Identifier: GPL-3.0-or-later
// Read → scale → close → decide the reading → find → fill → widen, one file at a time: `measure`, at the end,
// is that paragraph. Every step is a function from values to a value; notes are written once, from what they
// found.
#include "pipeline/measure.hpp"

#include "geometry/mesh/points.hpp"
#include "pipeline/doubt.hpp"
#include "pipeline/findings.hpp"
#include "pipeline/look.hpp"
#include "pipeline/reading.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

// ---- what the settings ask of a step -------------------------------------------------------------------

Vec3 up_of(const MeasureSettings& s) {
  return vec3(s.up).normalized();
}

bool wants_cavities(const MeasureSettings& s) {
  return s.only != Only::solid && s.read_as != Reading::piece;
}

/// Parting gaps that are closed when nobody says otherwise: a printing tolerance; of a very small model, or
/// one in metres, a small part of its length.
Length usual_gap(double longest) {
  return std::min(millimetres(0.1), millimetres(longest / 200));
}

ClosingOptions closing_options(const MeasureSettings& s, const Box& box) {
  ClosingOptions o;
  o.repair.close_holes = s.close_holes;
  o.repair.up = up_of(s);
  o.repair.up_known = !s.find_up && !s.level_rim;
  o.repair.may_have_rim = wants_cavities(s);
  o.find_up = s.find_up || s.level_rim;
  if (s.gap)
    o.gap = *s.gap;
  else if (!s.quick && wants_cavities(s))
    o.gap = usual_gap(box.empty() ? 0 : box.size().maxCoeff());
  o.prove_no_overlap = !s.quick;
  return o;
}

CavityOptions cavity_options(const MeasureSettings& s, const Findings& f) {
  CavityOptions o;
  o.up = f.pose ? f.pose->up : up_of(s);
  o.look_further = !s.quick;
  if (s.tilt_limit == 0 || f.census.triangles <= s.tilt_limit) o.tilts = s.tilts;
  o.find_lean = s.find_lean;
  o.fill_to = s.fill_to;
  if (s.dips)
    o.floor_detail = 0;
  else
    o.least_depth = f.closed->noise.spread * 6.0;  // from the lowest dent to the highest bump
  if (f.closed->gaps == Gaps::left) o.bridge = f.closed->gap;
  return o;
}

bool keeps_meshes(const MeasureSettings& s, const Findings& f) {
  const bool looks = s.inspection && !(s.inspection->in_short && f.census.triangles > most_for_card);
  return s.keep_mesh || looks;
}

// ---- read ----------------------------------------------------------------------------------------------

Expected<Surface> read(const std::filesystem::path& path, const MeasureSettings& s, Findings& f) {
  IntakeOptions options;
  options.unit = s.unit;
  options.more_formats = s.more_formats;
  auto file = read_mesh_file(path, options);
  if (!file) return file.error();
  f.unit = file->unit;
  f.unit_from = file->unit_from;
  f.usual = s.usual;
  f.file_notes = std::move(file->notes);
  Surface surface = make_surface(std::move(file->soup));
  f.census = surface.census;
  f.box = surface.box;
  return surface;
}

// ---- scale ---------------------------------------------------------------------------------------------

std::optional<Problem> measure_surface(Surface surface, const MeasureSettings& s, Findings& f);

/// What the unscaled surface holds to the brim.
Expected<double> capacity_now(const Surface& surface, const MeasureSettings& s) {
  MeasureSettings plain = s;
  plain.known.reset();
  plain.fill = {};
  plain.quick = true;
  Findings trial;
  trial.census = surface.census;
  if (auto problem = measure_surface(surface, plain, trial)) return *problem;
  return trial.poured ? in_cubic_millimetres(trial.poured->value) : 0.0;
}

/// Fragments and the table that were scanned along with it do not count.
Box box_of_body(const Surface& surface, const MeasureSettings& s) {
  if (surface.census.closed() && surface.census.oriented()) return surface.box;
  RepairOptions options;
  options.up = up_of(s);
  const auto repaired = repair(surface, options);
  return repaired ? repaired->surface.box : surface.box;
}

Expected<std::optional<MeshScale>> find_scale(const Surface& surface, const MeasureSettings& s) {
  if (!s.known || surface.box.empty()) return std::optional<MeshScale>();
  const auto scale = scale_from(
      *s.known, {[&] { return box_of_body(surface, s); }, [&] { return capacity_now(surface, s); }});
  if (!scale) return scale.error();
  return std::optional(*scale);
}

// ---- close ---------------------------------------------------------------------------------------------

Box box_of(const std::vector<Vec3>& points) {
  Box box;
  for (const Vec3& p : points) box.add(p);
  return box;
}

/// Of what is measured.
Box box_of(const Measurable& m, const Box& before) {
  if (!m.dropped_parts()) return before;
  if (m.solid) return box_of(as_closed(*m.solid).vertices());
  return m.scan ? box_of(as_open(*m.scan).vertices()) : before;
}

// ---- find, and decide the reading ----------------------------------------------------------------------

/// The chance of the other answer where two are as likely.
constexpr double even_chances = 0.5;
/// A body that holds less of the whole standing another way is no mold that lies: housings and brackets do.
constexpr double clear_mold = 0.1;

/// A cavity as it is reported.
Cavity told(const Cavities& cavities, Cavity c, Volume rounding, Volume doubt, const Doubts& reasons) {
  if (c.filled)
    for (int k = 1; k <= 10; ++k) {
      const Length level = c.floor + (c.brim - c.floor) * (0.1 * k);
      const auto [volume, surface] = cavities.at_level(c.id, level);
      c.fill_table.push_back({volume / c.capacity.value, level, volume, surface});
    }
  c.capacity = wider(wider(std::move(c.capacity), rounding), doubt, reasons);
  return c;
}

/// What the mold would hold with its parting gaps left open.
Volume held_open(const ClosedBody& left_open, CavityOptions options) {
  options.look_further = options.find_lean = false;
  if (options.fill_to.kind == FillTo::Kind::chosen) options.fill_to = {};
  options.tilts.clear();
  options.bridge = {};
  const auto found = find_cavities(left_open, options);
  Volume held;
  if (found)
    for (const Cavity& c : found->cavities.list())
      if (c.filled) held += c.capacity.value;
  return held;
}

/// Only the volume is asked for, or only that could be told.
std::optional<Problem> read_without_cavities(const MeasureSettings& s, Findings& f) {
  if (f.closed->columns && wants_cavities(s))
    return fail(
        Code::overlaps_itself, "surfaces overlap in too many places to tell what the mold holds",
        f.census.shells == 1
            ? "smooth the surface in the scan program, or scan again; --only solid still gives the volume"
            : "unite the bodies in the modelling program; --only solid still gives the volume");
  Decision<Reading> d;
  d.chosen = s.read_as == Reading::mold && !f.closed->columns ? Reading::mold : Reading::piece;
  d.given = s.read_as.has_value();
  f.reading = std::move(d);
  return std::nullopt;
}

/// Another answer that pours something else, put first: it is not clear what is cast.
void cast_doubt(Decision<Reading>& reading, Alternative other) {
  reading.sure = false;
  reading.doubt = std::max(reading.doubt, even_chances);
  reading.others.insert(reading.others.begin(), std::move(other));
}

/// A mold that lies on its side holds nothing, and one whose halves lie apart neither; both look like pieces.
void doubt_the_piece(Findings& f) {
  if (!f.is(Reading::piece) || f.reading->given) return;
  if (f.bodies && f.bodies->apart)
    cast_doubt(*f.reading, {"bodies",
                            fmt::format("a mold of {} bodies that lie {:.2g} mm apart, joined",
                                        f.bodies->count, in_millimetres(f.bodies->apart->gap)),
                            gap_option(*f.bodies->apart), f.bodies->apart->holds});
  if (f.ways && f.ways->mold_when_turned) {
    const std::string up = direction_text(f.ways->axis->up);
    cast_doubt(*f.reading,
               {"up", fmt::format("a mold, standing with {} up", up), "--up " + up, f.ways->axis->holds});
  }
}

/// Whether what is taken for a piece would be taken for a mold standing the other way.
bool is_mold_when_turned(const ClosedBody& solid, const OtherWay& way) {
  CavityOptions o;
  o.up = way.up;
  o.look_further = false;
  const auto turned = find_cavities(solid, o);
  if (!turned) return false;
  const ReadingEvidence e = evidence_from(solid, *turned, way.up, {});
  return e.held > (e.held + e.body) * clear_mold && decide_reading(e).chosen == Reading::mold;
}

void look_at_alternatives(const MeasureSettings& s, const ClosedBody& solid, Findings& f) {
  if (s.read_as == Reading::piece || s.read_as == Reading::scan) return;
  const CavityOptions options = cavity_options(s, f);
  if (!s.gap && !s.quick)
    f.bodies =
        look_at_bodies(solid, *f.found, options, f.closed->gaps == Gaps::left ? Length() : f.closed->gap);
  if (!s.up_given && !s.find_up && !s.level_rim) {
    f.ways = look_round(solid, *f.found, options.up);
    if (f.ways->axis && f.is(Reading::piece) && !f.reading->given)
      f.ways->mold_when_turned = is_mold_when_turned(solid, *f.ways->axis);
  }
  doubt_the_piece(f);
}

std::optional<Problem> find_in_solid(const MeasureSettings& s, Findings& f) {
  const ClosedBody& solid = as_closed(*f.closed->solid);
  if (s.find_up || s.level_rim) {
    const auto pose = s.find_up ? choose_up(solid) : rim_up(solid, up_of(s));
    if (!pose) return pose.error();
    f.pose = *pose;
  }
  auto found = std::visit([&](const auto& body) { return find_cavities(body, cavity_options(s, f)); },
                          *f.closed->solid);
  if (!found) return found.error();
  f.found = std::move(*found);
  f.reading = decide_reading(evidence_from(solid, *f.found, cavity_options(s, f).up, s.read_as));
  look_at_alternatives(s, solid, f);
  return std::nullopt;
}

std::optional<Problem> find_in_scan(const MeasureSettings& s, Findings& f) {
  auto found = std::visit([&](const auto& scan) { return find_cavities(scan, cavity_options(s, f)); },
                          *f.closed->scan);
  if (!found) return found.error();
  const auto& list = found->cavities.list();
  if (std::none_of(list.begin(), list.end(), [](const Cavity& c) { return c.filled; }))
    return fail(Code::not_closed,
                fmt::format("the surface is open ({} open edges) and holds nothing in this position",
                            f.census.boundary_edges),
                "close it if it is a solid (--close-holes all); if it is a scan of a mold, check --up");
  f.found = std::move(*found);
  f.reading = Decision<Reading>{Reading::scan};
  f.reading->why.push_back("an open surface with a rim");
  if (!s.up_given && !s.find_up && !s.level_rim)
    f.ways = look_round(as_open(*f.closed->scan), *f.found, cavity_options(s, f).up);
  return std::nullopt;
}

std::optional<Problem> find(const MeasureSettings& s, Findings& f) {
  f.looked_further = !s.quick;
  if (f.closed->scan) return find_in_scan(s, f);
  if (f.closed->columns || s.only == Only::solid) return read_without_cavities(s, f);
  return find_in_solid(s, f);
}

// ---- fill and widen ------------------------------------------------------------------------------------

/// The solid whose volume is told: bodies that hold nothing need no joining, unless it was asked for.
const ClosedBody& told_body(const Findings& f) {
  return as_closed(f.joined || !f.closed->left_open ? *f.closed->solid : *f.closed->left_open);
}

void widen_body(Findings& f) {
  const Measurable& m = *f.closed;
  if (m.columns) f.body = *m.columns;
  if (!m.solid) return;
  const ClosedBody& solid = told_body(f);
  f.area = solid.area();
  f.body = wider(wider(solid.volume(), rounding(f.box, solid.area())), m.doubt, m.reasons);
}

Area wetted_side(const Findings& f) {
  const Measurable& m = *f.closed;
  if (m.solid) return as_closed(*m.solid).area();
  const OpenSurface& scan = as_open(*m.scan);
  return square_millimetres(measure(scan.vertices(), scan.triangles(), f.box.centre()).area);
}

/// The cavities with their intervals, and what is poured.
std::optional<Problem> fill_and_widen(const MeasureSettings& s, Findings& f) {
  if (!f.found) return std::nullopt;
  const Cavities& cavities = f.found->cavities;
  const Volume rounded = rounding(f.box, wetted_side(f));
  const Doubts& reasons = f.closed->reasons;
  const std::vector<Volume> doubts = capacity_doubts(*f.closed, *f.found, cavity_options(s, f));
  for (std::size_t i = 0; i < cavities.list().size(); ++i)
    f.cavities.push_back(told(cavities, cavities.list()[i], rounded, doubts[i], reasons));
  if (f.is(Reading::piece)) {
    // The card pours the piece, not what its dips would hold.
    for (Cavity& c : f.cavities) c.filled = false;
    return std::nullopt;
  }
  auto filling = fill(cavities, s.fill);
  if (!filling) return filling.error();
  Volume doubt;
  for (const Filled& one : filling->each) {
    const auto i = static_cast<std::size_t>(one.cavity - 1);
    f.cavities[i].level = one.level;
    doubt += doubts[i];
  }
  f.poured = wider(wider(filling->sum, rounded), doubt, reasons);
  f.filling = std::move(*filling);
  return std::nullopt;
}

void widen_by_scale(Findings& f) {
  if (!f.scale) return;
  const double doubt = f.scale->doubt;
  for (auto* v : {&f.body, &f.poured})
    if (*v) *v = wider(std::move(**v), doubt);
  for (Cavity& c : f.cavities) c.capacity = wider(std::move(c.capacity), doubt);
}

/// Modelling programs leave no noise, and no open rim.
bool is_scanned(const Findings& f) {
  return f.closed->scan || f.closed->noise.spread > Length();
}

/// A number that nobody can rely on is not given.
std::optional<Problem> refuse_the_uncertain(const MeasureSettings& s, Findings& f) {
  const bool bad_body = f.body && s.only != Only::cavities && half_width(*f.body) > s.max_uncertainty;
  const bool bad_fill = f.poured && half_width(*f.poured) > s.max_uncertainty;
  if (!bad_body && !bad_fill) return std::nullopt;
  if (!bad_fill && !f.is(Reading::piece)) {
    f.body_untold = true;
    return std::nullopt;
  }
  const Interval<Volume>& v = bad_fill ? *f.poured : *f.body;
  const double percent = std::ceil(100 * half_width(v));
  return fail(
      Code::too_uncertain,
      fmt::format("the volume can only be told to ±{:.0f} %{}", percent,
                  v.reasons.empty() ? "" : ": " + v.reasons[0].text),
      fmt::format(
          "{}, or fill the mold with water and weigh it; --max-uncertainty {:.0f}% would allow it",
          f.closed->gaps == Gaps::left
              ? "join the bodies in the modelling program, leave the gap between them open (--gap 0mm)"
          : is_scanned(f) ? "close or smooth the surface in the scan program, scan again"
                          : "mend the model where the notes say, export it again",
          percent));
}

// ---- the paragraph -------------------------------------------------------------------------------------

/// A surface of the right size: close → decide the reading → find → fill → widen.
std::optional<Problem> measure_surface(Surface surface, const MeasureSettings& s, Findings& f) {
  f.box = surface.box;
  f.overlap_skipped = s.quick;
  auto closed = make_measurable(std::move(surface), closing_options(s, f.box));
  if (!closed) return closed.error();
  f.closed = std::move(*closed);
  f.pose = f.closed->pose;
  f.box = box_of(*f.closed, f.box);
  if (auto problem = find(s, f)) return problem;
  f.joined = !f.closed->left_open || s.gap || f.is(Reading::mold);
  if (f.is(Reading::mold) && f.found && f.closed->left_open)
    f.left_open_holds = held_open(as_closed(*f.closed->left_open), cavity_options(s, f));
  widen_body(f);
  if (auto problem = fill_and_widen(s, f)) return problem;
  if (f.is(Reading::piece)) f.poured = f.body;
  widen_by_scale(f);
  return refuse_the_uncertain(s, f);
}

std::optional<Problem> measure(const std::filesystem::path& path, const MeasureSettings& s, Findings& f) {
  auto surface = read(path, s, f);
  if (!surface) return surface.error();
  auto scale = find_scale(*surface, s);
  if (!scale) return scale.error();
  f.scale = *scale;
  if (f.scale) apply(*f.scale, *surface);
  return measure_surface(std::move(*surface), s, f);
}

// ---- what is handed out --------------------------------------------------------------------------------

MeasureRow row_of(const Findings& f, const MeasureSettings& s) {
  MeasureRow row;
  row.unit = f.unit;
  row.unit_from = f.unit_from;
  row.triangles = f.census.triangles;
  row.shells = f.census.shells;
  row.closed = f.census.closed();
  row.reading = f.reading;
  row.up = point(f.pose ? f.pose->up : up_of(s));
  if (!f.box.empty()) row.bounds = {{point(f.box.low), point(f.box.high)}};
  if (f.body && !f.body_untold && (s.only != Only::cavities || f.closed->columns))
    row.solid = MeasureRow::Body{*f.body, f.area};
  row.cavities = f.cavities;
  row.fill = f.poured;
  if (f.found && f.looked_further) {
    row.drains = f.found->drains;
    row.ceiling = f.found->ceiling;
  }
  if (f.found) row.tilt = f.found->tilt;
  if (f.closed) row.mended = mended_by(*f.closed, f.joined);
  row.doubt = doubts_of(f);
  row.notes = notes_of(f);
  return row;
}

void keep_meshes(const Findings& f, const MeasureSettings& s, Measured& out) {
  if (!f.closed || !keeps_meshes(s, f)) return;
  const Measurable& m = *f.closed;
  if (m.solid)
    out.mesh = {told_body(f).vertices(), told_body(f).triangles()};
  else if (m.scan)
    out.mesh = {as_open(*m.scan).vertices(), as_open(*m.scan).triangles()};
  if (!f.filling) return;
  const CastingOptions options{vec3(out.row.up), s.without_air, s.without_film || s.inspection.has_value()};
  Casting casting = m.scan ? cast(as_open(*m.scan), f.found->cavities, *f.filling, options)
                           : cast(as_closed(*m.solid), f.found->cavities, *f.filling, options);
  out.pieces = std::move(casting.pieces);
  out.levels = std::move(casting.levels);
}

Measured handed_out(const Findings& f, const MeasureSettings& s, std::optional<Problem> problem) {
  Measured out;
  out.row = row_of(f, s);
  if (f.filling) {
    out.cavities_filled = f.filling->each.size();
    out.deepest = f.filling->deepest;
  }
  if (problem) {
    out.row.solid.reset();
    out.row.fill.reset();
    out.row.cavities.clear();
    out.row.error = std::move(problem);
    return out;
  }
  keep_meshes(f, s, out);
  if (s.inspection) look(out, *s.inspection);
  if (!s.keep_mesh) {
    out.mesh = {};
    out.pieces.clear();
  }
  return out;
}

}  // namespace

Measured measure_one(const FoundFile& file, const MeasureSettings& settings) {
  Measured out;
  Findings findings;
  try {
    auto problem = file.problem ? file.problem : measure(file.path, settings, findings);
    out = handed_out(findings, settings, std::move(problem));
  } catch (const std::bad_alloc&) {
    Findings read;  // what was read is told all the same
    read.unit = findings.unit;
    read.unit_from = findings.unit_from;
    read.census = findings.census;
    read.box = findings.box;
    findings = {};
    out = handed_out(read, settings,
                     fail(Code::memory_limit, "there was not enough memory for this mesh",
                          "reduce the mesh, or use a larger machine"));
  }
  out.row.path = file.path.string();
  return out;
}

MeasureReport measure_files(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  MeasureReport out;
  for (Measured& m : measure_all(files, settings)) out.files.push_back(std::move(m.row));
  return out;
}

}  // namespace pourwright
