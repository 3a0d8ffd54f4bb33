// SPDX-License-Identifier: GPL-3.0-or-later
// intake → surface → solid or scan → cavities, one file at a time. Reads as the paragraph it is: see
// `measure_one`.
#include "pipeline/measure.hpp"

#include <pourwright/cavity.hpp>
#include <pourwright/intake.hpp>

#include "pipeline/known_size.hpp"

#include <algorithm>
#include <atomic>
#include <thread>

#include <fmt/format.h>

namespace pourwright {
namespace {

Point point(const Vec3& v) {
  return {v.x(), v.y(), v.z()};
}

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
                     fmt::format("air is caught: {:.1f} ml above height {:.4g} mm; {}",
                                 in_millilitres(t.volume), in_millimetres(t.lip), vent),
                     true});
  }
}

std::size_t filled_count(const Cavities& cavities) {
  return static_cast<std::size_t>(std::count_if(cavities.list().begin(), cavities.list().end(),
                                                [](const Cavity& c) { return c.filled; }));
}

/// Adds what the fill setting makes of the filled cavities.
std::optional<Problem> pour_into(const Cavities& cavities, const FillLevel& fill, Measured& out) {
  Interval<Volume> sum;
  for (const Cavity& c : cavities.list()) {
    if (!c.filled) continue;
    const auto v = cavities.fill(c.id, fill);
    if (!v) return v.error();
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
    if (!surface.box.empty()) {
      if (auto problem = apply_known_size(surface)) return problem;
      note_unit(*file, surface.box, row_.notes);
    }

    if (!surface.box.empty()) row_.bounds = {{point(surface.box.low), point(surface.box.high)}};
    const bool scan = !surface.census.closed() && surface.census.boundary_edges > 0 &&
                      settings_.only != Only::solid &&
                      (settings_.read_as == ReadAs::decide || settings_.read_as == ReadAs::scan);
    auto problem = scan ? as_scan(std::move(surface)) : as_solid(std::move(surface));
    if (!problem) widen();
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
      now = size_now(*known, surface.box);
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
    return surface.census.closed() ? as_solid(std::move(surface)) : as_scan(std::move(surface));
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
    o.fill_to = settings_.fill_to == "brims" ? FillTo::brims
                : settings_.fill_to == "rim" ? FillTo::rim
                                             : FillTo::evidence;
    return o;
  }

  SolidOptions solid_options() {
    if (settings_.quick)
      row_.notes.push_back(
          {"overlap-not-checked", "quick: whether the surface overlaps itself was not checked", false});
    return {!settings_.quick};
  }

  std::optional<Problem> as_solid(Surface surface) {
    auto proven = prove_solid(std::move(surface), solid_options());
    if (!proven) return proven.error();
    append(std::move(proven->notes));
    const Solid& solid = proven->solid;
    if (settings_.only != Only::cavities) row_.solid = MeasureRow::Body{solid.volume(), solid.area()};
    out_.body = solid.volume();
    if (settings_.only == Only::solid) {
      row_.read_as = settings_.read_as == ReadAs::mold ? "mold" : "piece";
      return std::nullopt;
    }
    if (settings_.find_up) {
      const auto pose = choose_up(solid);
      if (!pose) return pose.error();
      face(*pose);
    }
    auto found = find_cavities(solid, cavity_options());
    if (!found) return found.error();
    take_cavities(*found);
    const bool mold = settings_.read_as == ReadAs::mold || settings_.read_as == ReadAs::scan ||
                      (settings_.read_as == ReadAs::decide && is_vessel(*found, solid.volume().value));
    row_.read_as = mold ? "mold" : "piece";
    return mold ? pour(found->cavities) : pour_piece();
  }

  std::optional<Problem> as_scan(Surface surface) {
    const std::size_t open_edges = surface.census.boundary_edges;
    if (settings_.find_up) {
      const auto pose = rim_up(surface);
      if (!pose) return pose.error();
      face(*pose);
    }
    auto open = take_open_surface(std::move(surface), up_, solid_options());
    if (!open) return open.error();
    append(std::move(open->notes));
    auto found = find_cavities(open->surface, cavity_options());
    if (!found) return found.error();
    if (filled_count(found->cavities) == 0)
      return fail(
          Code::not_closed,
          fmt::format("the surface is open ({} open edges) and holds nothing in this position", open_edges),
          "close it if it is a solid; if it is a scan of a mold, check --up");
    take_cavities(*found);
    row_.read_as = "scan";
    row_.notes.push_back(
        {"read-as-scan", "an open surface with a rim: read as a scan of the mold's inside", false});
    return pour(found->cavities);
  }

  /// Nearly every surface has dips that hold a drop; a mold is made to hold.
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

  void take_cavities(CavityResult& found) {
    const bool looked = !settings_.quick;
    for (const Cavity& c : found.cavities.list()) {
      row_.cavities.push_back(row(found.cavities, c, looked));
      if (c.filled) note_traps(c, row_.notes);
    }
    if (looked) {
      row_.drains.emplace();
      for (const Drain& d : found.drains)
        row_.drains->push_back({d.kind == Drain::Kind::bottom ? "bottom" : "side", d.would_hold,
                                d.kind == Drain::Kind::bottom ? std::optional(d.throat) : std::nullopt,
                                point(d.at)});
      row_.ceiling =
          MeasureRow::Overhead{found.ceiling.angle_degrees, found.ceiling.area, found.ceiling.share};
    }
    for (const TiltLoss& t : found.tilt) row_.tilt.push_back({t.degrees, t.azimuth_degrees, t.share});
    append(std::move(found.notes));
  }

  std::optional<Problem> pour(const Cavities& cavities) {
    const auto fill = parse_fill_level(settings_.fill);
    if (!fill) return fill.error();
    out_.cavities_filled = filled_count(cavities);
    auto problem = pour_into(cavities, *fill, out_);
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
  double scale_doubt_ = 0;  // relative, of volumes
};

}  // namespace

std::optional<Problem> problem_with(const MeasureSettings& settings) {
  const auto fill = parse_fill_level(settings.fill);
  if (!fill) return Problem{fill.error().code, "--fill: " + fill.error().text, fill.error().hint};
  if (!settings.known.empty()) {
    const auto known = parse_known_size(settings.known);
    if (!known) return Problem{known.error().code, "--known: " + known.error().text, known.error().hint};
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
  } catch (const std::bad_alloc&) {
    out.row.error = fail(Code::memory_limit, "there was not enough memory for this mesh",
                         "reduce the mesh, or use a larger machine");
  }
  if (out.row.error) {
    out.fill.reset();
    out.row.solid.reset();
    out.row.cavities.clear();
  }
  return out;
}

std::vector<Measured> measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  std::vector<Measured> out(files.size());
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  // The reader of further formats forks, which is safe only while there is one thread.
  const std::size_t wanted = settings.more_formats ? 1
                             : settings.jobs > 0   ? static_cast<std::size_t>(settings.jobs)
                                                   : cores;
  const std::size_t workers = std::min(wanted, files.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < files.size(); i = next++) out[i] = measure_one(files[i], settings);
  };
  if (workers <= 1) {
    work();
  } else {
    std::vector<std::jthread> threads;
    for (std::size_t k = 0; k < workers; ++k) threads.emplace_back(work);
  }
  return out;
}

MeasureReport measure_files(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  MeasureReport out;
  for (Measured& m : measure_all(files, settings)) out.files.push_back(std::move(m.row));
  return out;
}

}  // namespace pourwright
