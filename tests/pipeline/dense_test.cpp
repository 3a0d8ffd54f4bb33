// SPDX-License-Identifier: GPL-3.0-or-later
// Surfaces that overlap beyond uniting: a volume by columns, and no more than that is claimed.
#include <pourwright/mesh_output.hpp>
#include <pourwright/pipeline.hpp>

#include "support/shapes.hpp"
#include "support/temporary_folder.hpp"

#include <algorithm>
#include <fstream>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("a torus that passes through itself is measured by columns, without an area" *
          doctest::test_suite("long")) {
  const support::TemporaryFolder folder;
  FoundFile file;
  file.path = folder / "spindle.ply";
  std::ofstream(file.path, std::ios::binary)
      << mesh_bytes(shapes::spindle(20, 30, 48, 80), OutputFormat::ply);
  MeasureSettings settings;
  settings.jobs = 1;
  settings.read_as = Reading::piece;
  const MeasureRow row = measure_files({file}, settings).files.at(0);
  REQUIRE(row.ok());
  CHECK(std::any_of(row.notes.begin(), row.notes.end(),
                    [](const Note& n) { return n.code == "columns" && n.warning; }));
  REQUIRE(row.solid);
  CHECK_FALSE(row.solid->area);
  CHECK(in_cubic_millimetres(row.solid->volume.value) ==
        doctest::Approx(shapes::spindle_volume(20, 30)).epsilon(6e-3));  // facets take 0.4 %
  REQUIRE_FALSE(row.solid->volume.reasons.empty());

  settings.read_as = Reading::mold;
  const MeasureRow mold = measure_files({file}, settings).files.at(0);
  REQUIRE_FALSE(mold.ok());
  CHECK(mold.error->code == Code::overlaps_itself);
}
