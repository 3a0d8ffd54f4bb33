// SPDX-License-Identifier: GPL-3.0-or-later
// The words of the contract, spelled out once more by hand.
#include <pourwright/door.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("words of the enums") {
  CHECK(name(UnitFrom::assumed) == "assumed");
  CHECK(name(UnitFrom::option) == "option");
  CHECK(name(UnitFrom::file) == "file");
  CHECK(name(Reading::mold) == "mold");
  CHECK(name(Reading::piece) == "piece");
  CHECK(name(Reading::scan) == "scan");
  CHECK(name(CavityKind::open) == "open");
  CHECK(name(CavityKind::pool) == "pool");
  CHECK(name(CavityKind::sealed) == "sealed");
  CHECK(name(DrainKind::bottom) == "bottom");
  CHECK(name(DrainKind::side) == "side");
  CHECK(name(ThinKind::fin) == "fin");
  CHECK(name(ThinKind::lip) == "lip");
  CHECK(name(ThinKind::neck) == "neck");
  CHECK(name(ThinKind::plate) == "plate");
  CHECK(name(ThinKind::tip) == "tip");
  CHECK(name(WallsOf::piece) == "piece");
  CHECK(name(WallsOf::mold) == "mold");
  CHECK(name(Opening::fill_plane) == "fill-plane");
  CHECK(name(Opening::flat_top) == "flat-top");
  CHECK(name(Opening::nowhere) == "nowhere");
  CHECK(name(Mending::doubled_faces) == "doubled-faces");
  CHECK(name(Mending::shared_faces) == "shared-faces");
  CHECK(name(Mending::flat_faces) == "flat-faces");
  CHECK(name(Mending::t_junctions) == "t-junctions");
  CHECK(name(Mending::cracks) == "cracks");
  CHECK(name(Mending::inner_sheets) == "inner-sheets");
  CHECK(name(Mending::flipped_faces) == "flipped-faces");
  CHECK(name(Mending::fragments) == "fragments");
  CHECK(name(Mending::loose_sheets) == "loose-sheets");
  CHECK(name(Mending::table) == "table");
  CHECK(name(Mending::missing_sides) == "missing-sides");
  CHECK(name(Mending::holes_closed) == "holes-closed");
  CHECK(name(Mending::wrapped) == "wrapped");
  CHECK(name(Mending::gap_closed) == "gap-closed");
  CHECK(name(Mending::united) == "united");
  CHECK(name(Mending::copies_dropped) == "copies-dropped");
  CHECK(name(Mending::shells_turned) == "shells-turned");
}
