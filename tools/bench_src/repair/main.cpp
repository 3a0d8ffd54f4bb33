// SPDX-License-Identifier: GPL-3.0-or-later
// Mending and proving, one measurement per process. tools/bench starts them.
//
//   pw_bench_repair soup IN OUT    writes IN with every defect of the corruption engine on 0.1 % of its
//   triangles pw_bench_repair proof FILE     the self-overlap proof on the mesh as read pw_bench_repair clean
//   FILE N   from the file to its cavities N times with mending and as often without, in turns
#include <pourwright/intake.hpp>
#include <pourwright/mesh_output.hpp>

#include "../cpu_time.hpp"
#include "geometry/mesh/self_overlap.hpp"
#include "pipeline/closing.hpp"
#include "support/corruption.hpp"

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>

namespace {

using namespace pourwright;

int soup(TriangleSoup mesh, const std::string& out) {
  constexpr double share = 0.001;
  corruption::Vandal v(1);
  const int few = static_cast<int>(share * static_cast<double>(mesh.triangles.size()));
  v.remove_patches(mesh, share, 8);
  v.remove_scattered(mesh, share);
  v.make_t_junctions(mesh, share);
  v.move_corners(mesh, share, 0.02);
  v.flip(mesh, share);
  v.duplicate(mesh, share);
  v.add_crumbs(mesh, few);
  v.add_sheets(mesh, 3);
  v.add_membranes(mesh, 2, share);
  const auto format = output_format(out);
  if (!format) return 1;
  std::ofstream(out, std::ios::binary) << mesh_bytes(mesh, *format);
  return 0;
}

int proof(const TriangleSoup& mesh) {
  const double before = bench::cpu_seconds();
  const bool overlaps = find_self_overlap(mesh.vertices, mesh.triangles).has_value();
  std::printf("{\"proof_s\": %.6f, \"overlaps\": %s}\n", bench::cpu_seconds() - before,
              overlaps ? "true" : "false");
  return 0;
}

/// CPU seconds of all that `measure` does to a mold, with or without asking whether it needs mending; below
/// zero when it fails.
double measured(const std::string& path, bool mending) {
  const double before = bench::cpu_seconds();
  auto file = read_mesh_file(path);
  if (!file) return -1;
  Surface surface = make_surface(std::move(file->soup));
  if (mending) {
    ClosingOptions options;
    options.gap = millimetres(0.1);
    const auto made = make_measurable(std::move(surface), options);
    if (!made || !made->solid || !made->mended.empty()) return -1;
    const auto found = find_cavities(*made->solid);
    if (!found || capacity_doubts(*made, *found, {}).empty()) return -1;
  } else {
    const auto proven = prove_solid(std::move(surface), {true});
    if (!proven || !find_cavities(proven->solid)) return -1;
  }
  return bench::cpu_seconds() - before;
}

int clean(const std::string& path, int rounds) {
  measured(path, true);  // warms the file cache and the allocator
  std::printf("{\"turns\": [");
  for (int i = 0; i < rounds; ++i) {
    const double without = measured(path, false), with = measured(path, true);
    if (without < 0 || with < 0) return 1;
    std::printf("%s[%.6f, %.6f]", i == 0 ? "" : ", ", without, with);
  }
  std::printf("]}\n");
  return 0;
}

}  // namespace

int main(int count, char** words) {
  const std::string what = count > 2 ? words[1] : "";
  if (what == "clean" && count == 4) return clean(words[2], std::atoi(words[3]));
  auto file =
      what.empty()
          ? Expected<MeshFile>(fail(Code::usage, "pw_bench_repair soup IN OUT | proof FILE | clean FILE N"))
          : read_mesh_file(words[2]);
  if (!file) {
    std::fprintf(stderr, "pw_bench_repair: %s\n", file.error().text.c_str());
    return 1;
  }
  if (what == "soup" && count == 4) return soup(std::move(file->soup), words[3]);
  if (what == "proof") return proof(file->soup);
  return 1;
}
