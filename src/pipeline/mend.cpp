// SPDX-License-Identifier: GPL-3.0-or-later
// mend: the mesh as it was measured, or the cast pieces, written to files.
#include <pourwright/mesh_output.hpp>
#include <pourwright/pipeline_run.hpp>

#include "pipeline/measure.hpp"

#include <fmt/format.h>

namespace pourwright {

Expected<MendResult> mend(const FoundFile& file, const std::filesystem::path& out, bool piece, bool overwrite,
                          const MeasureSettings& settings) {
  const auto format = output_format(out);
  if (!format) return format.error();
  MeasureSettings keeping = settings;
  keeping.keep_mesh = true;
  Measured m = measure_one(file, keeping);
  if (m.row.error) return *m.row.error;
  if (!piece && m.mesh.triangles.empty())
    return fail(Code::overlaps_itself, "there is no closed mesh to write; only the volume could be told",
                "unite the bodies in the modelling program");
  if (piece && m.pieces.empty())
    return fail(Code::holds_nothing, "no cavity of this file is filled, so there is no cast piece",
                "check --up, or write the mesh itself without --piece");
  MendResult result;
  std::vector<const TriangleSoup*> bodies;
  if (piece)
    for (const TriangleSoup& p : m.pieces) bodies.push_back(&p);
  else
    bodies.push_back(&m.mesh);
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    std::filesystem::path name = out;
    if (bodies.size() > 1)
      name.replace_filename(fmt::format("{}-{}{}", out.stem().string(), i + 1, out.extension().string()));
    if (auto problem = write_file(name, mesh_bytes(*bodies[i], *format), overwrite)) return *problem;
    result.written.push_back(name.string());
  }
  result.row = std::move(m.row);
  return result;
}

}  // namespace pourwright
