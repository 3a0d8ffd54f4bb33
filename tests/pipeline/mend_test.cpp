// SPDX-License-Identifier: GPL-3.0-or-later
// What `mend` writes is what was measured: measured again it gives the same number and nothing to mend.
#include <pourwright/mesh_output.hpp>
#include <pourwright/pipeline_run.hpp>

#include "support/known_meshes.hpp"
#include "support/source_folder.hpp"
#include "support/temporary_folder.hpp"

#include <cstdio>
#include <fstream>

#include <doctest/doctest.h>

using namespace pourwright;
namespace fs = std::filesystem;

namespace {

FoundFile named(const fs::path& path) {
  FoundFile file;
  file.path = path;
  return file;
}

MeasureRow measured_again(const fs::path& path) {
  MeasureSettings settings;
  settings.jobs = 1;
  settings.max_uncertainty = 1;
  return std::move(measure_files({named(path)}, settings).files.at(0));
}

/// Mends to a file and measures that. False when the first measurement refuses.
bool round_trip(const fs::path& in, const fs::path& out) {
  CAPTURE(in.string());
  MeasureSettings settings;
  settings.jobs = 1;
  settings.max_uncertainty = 1;
  const auto done = mend(named(in), out, false, true, settings);
  if (!done) return false;
  const MeasureRow again = measured_again(out);
  CHECK_MESSAGE(again.ok(), (again.error ? again.error->text : ""));
  if (!again.ok()) return true;
  for (const Mended& m : again.mended) MESSAGE(name(m.what));
  CHECK(again.mended.empty());
  // An STL keeps seven digits of each coordinate.
  const double close = out.extension() == ".stl" ? 1e-5 : 1e-9;
  if (done->row.solid && again.solid)
    CHECK(in_cubic_millimetres(again.solid->volume.value) ==
          doctest::Approx(in_cubic_millimetres(done->row.solid->volume.value)).epsilon(close));
  CHECK(again.reading->chosen == done->row.reading->chosen);
  if (done->row.fill && again.fill)
    CHECK(in_cubic_millimetres(again.fill->value) ==
          doctest::Approx(in_cubic_millimetres(done->row.fill->value)).epsilon(close));
  return true;
}

}  // namespace

TEST_CASE("mended files of the open mesh set measure the same and need no mending" *
          doctest::test_suite("long")) {
  const fs::path folder = source_folder() / "../shared/meshes/broken";
  if (!fs::is_directory(folder)) {
    std::printf("\n*** SKIPPED: the open mesh set is not beside the repository ***\n\n");
    return;
  }
  const support::TemporaryFolder out;
  std::size_t files = 0;
  for (const auto& e : fs::directory_iterator(folder)) {
    if (!looks_like_mesh_name(e.path())) continue;
    ++files;
    CHECK_MESSAGE(round_trip(e.path(), out / "again.ply"), e.path().string());
  }
  CHECK(files > 0);
}

TEST_CASE("so do damaged meshes, in every format") {
  const support::TemporaryFolder out;
  const std::vector<known::Mesh> meshes = known::meshes(source_folder());
  const auto& damages = known::damages();
  std::size_t answered = 0;
  for (std::uint32_t i = 0; i < 15; ++i) {
    TriangleSoup soup = meshes[2 * i % meshes.size()].soup;
    corruption::Vandal vandal(500 + i);
    const known::Damage& damage = damages[(3 * i) % damages.size()];
    CAPTURE(damage.name);
    CAPTURE(meshes[2 * i % meshes.size()].name);
    damage.apply(vandal, soup);
    const fs::path in = out / "in.ply";
    std::ofstream(in, std::ios::binary) << mesh_bytes(soup, OutputFormat::ply);
    answered += round_trip(in, out / (i % 3 == 0 ? "out.stl" : i % 3 == 1 ? "out.ply" : "out.obj")) ? 1 : 0;
  }
  CHECK(answered >= 14);
}
