// SPDX-License-Identifier: GPL-3.0-or-later
// mend: the mesh as it was measured, or the cast pieces, written to files.
#include <pourwright/mesh_output.hpp>
#include <pourwright/pipeline_run.hpp>

#include "pipeline/measure.hpp"
#include "pipeline/workers.hpp"

#include <fmt/format.h>

namespace pourwright {

namespace {

/// Where so many bodies are written.
std::vector<std::filesystem::path> names_of(const std::filesystem::path& out, std::size_t bodies) {
  if (bodies == 1) return {out};
  std::vector<std::filesystem::path> names;
  for (std::size_t i = 1; i <= bodies; ++i)
    names.push_back(out.parent_path() /
                    fmt::format("{}-{}{}", out.stem().string(), i, out.extension().string()));
  return names;
}

/// Writes what was measured; of the meshes only how many there were is handed on.
std::optional<Problem> write_bodies(Measured& m, const std::filesystem::path& out, OutputFormat format,
                                    bool piece, bool overwrite) {
  if (m.row.error) return m.row.error;
  if (!piece && m.mesh.triangles.empty())
    return fail(Code::overlaps_itself, "there is no closed mesh to write; only the volume could be told",
                "unite the bodies in the modelling program");
  if (piece && m.pieces.empty())
    return fail(Code::holds_nothing, "no cavity of this file is filled, so there is no cast piece",
                "check --up, or write the mesh itself without --piece");
  std::vector<const TriangleSoup*> bodies;
  if (piece)
    for (const TriangleSoup& p : m.pieces) bodies.push_back(&p);
  else
    bodies.push_back(&m.mesh);
  const auto names = names_of(out, bodies.size());
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    const auto fitted = fitted_bytes(*bodies[i], format);
    if (!fitted) return fitted.error();
    if (!fitted->moved.isZero())
      m.row.notes.push_back(
          {"recentred",
           fmt::format("{} was moved by ({:.0f}, {:.0f}, {:.0f}) mm: so far from the origin "
                       "an STL file would lose digits",
                       names[i].filename().string(), fitted->moved.x(), fitted->moved.y(), fitted->moved.z()),
           false});
    if (auto problem = write_file(names[i], fitted->bytes, overwrite)) return *problem;
  }
  m.bodies_written = bodies.size();
  return std::nullopt;
}

}  // namespace

Expected<MendResult> mend(const FoundFile& file, const std::filesystem::path& out, bool piece, bool overwrite,
                          const MeasureSettings& settings) {
  const auto format = output_format(out);
  if (!format) return format.error();
  MeasureSettings keeping = settings;
  keeping.keep_mesh = true;
  const auto mended = [&](const FoundFile& f) {
    Measured m = measure_one(f, keeping);
    if (auto problem = write_bodies(m, out, *format, piece, overwrite)) m.row.error = std::move(problem);
    return m;
  };
  // The child measures and writes; one that is ended by a limit has written nothing or whole files.
  std::optional<Measured> m;
  MeasureSettings limits = settings;
  if (limits.limits.time == Duration()) limits.limits.time = usual_time;
  measure_in_children({file}, {0}, limits, 1, mended, [&](std::size_t, Measured one) { m = std::move(one); });
  if (!m) m = mended(file);
  if (m->row.error) return *m->row.error;
  MendResult result;
  for (const auto& name : names_of(out, m->bodies_written)) result.written.push_back(name.string());
  result.row = std::move(m->row);
  return result;
}

}  // namespace pourwright
