// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/pipeline_inspect.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

/// A piece whose every figure is known.
InspectRow piece() {
  InspectRow row;
  Walls w;
  w.min = millimetres(2.4);
  w.p05 = millimetres(2.6);
  w.median = millimetres(9);
  w.limit = millimetres(3);
  w.thin_area = square_millimetres(1200);
  w.thin_share = 0.12;
  SpotRow spot;
  spot.stress.pry_mpa = 0.4;
  spot.stress.peel_mpa = 0.5;
  spot.risk = Risk::watch;
  row.spots = {spot, SpotRow()};
  row.walls = w;
  Release r;
  r.pull.undercut = square_millimetres(500);
  r.pull.share = 0.05;
  r.pull.depth = millimetres(1.5);
  r.pull.min_draft_degrees = -3;
  row.release = r;
  Cavity c;
  c.filled = true;
  c.air_traps.push_back({millilitres(2), {}, {}, {}, 1});
  c.air_traps.push_back({millilitres(1), {}, {}, {}, 1});
  row.measured.drains.emplace();
  row.measured.cavities = {c};
  row.measured.ceiling = Ceiling{15, square_millimetres(80), 0.01};
  return row;
}

bool exceeded(const char* text, const InspectRow& row = piece()) {
  const auto limit = parse_limit(text);
  REQUIRE_MESSAGE(limit.has_value(), text);
  const auto checked = check_limit(*limit, row);
  REQUIRE_MESSAGE(checked.has_value(), text);
  CHECK(checked->limit == text);
  CHECK_FALSE(checked->text.empty());
  return checked->exceeded;
}

}  // namespace

TEST_CASE("every figure can be limited, on both sides of its value") {
  for (const char* text : {"wall<2.5mm",  "wall<=2.4mm",  "wall < 0.25 cm", "p05<2.7",          "median<10mm",
                           "thin>11%",    "thin>1100mm2", "thin>=12cm2",    "stress>0.45MPa",   "stress>0.45",
                           "risk>=watch", "risk=watch",   "risk>low",       "draft<1deg",       "draft<-2°",
                           "draft<0",     "undercut>4%",  "undercut>499",   "undercut>=500mm²", "depth>1.4mm",
                           "trap>2.9ml",  "trap>=3",      "ceiling>0.5%",   "ceiling>79mm2",    "wall<2,5mm"})
    CHECK_MESSAGE(exceeded(text), text);
  for (const char* text :
       {"wall<2.3mm", "wall<2.4mm", "p05<2.5", "median<8mm", "thin>13%", "thin>1300mm2", "thin>13cm2",
        "stress>0.55", "risk>watch", "risk=high", "risk>=high", "draft<-4deg", "undercut>5%", "undercut>500",
        "depth>1.6mm", "trap>3.1ml", "ceiling>2%", "ceiling>81"})
    CHECK_MESSAGE(!exceeded(text), text);
}

TEST_CASE("what is no limit is refused with what to write instead") {
  for (const char* text :
       {"",        "wall",     "wall2mm",     "<2mm",        "wal<2mm",     "wall<",     "wall<2kg",
        "wall<2g", "wall<nan", "wall<inf",    "wall<-2mm",   "wall=2mm",    "wall<<2mm", "wall<2mm<3mm",
        "risk>5",  "risk<",    "risk>Watch",  "undercut>5g", "draft<1 rad", "trap>1mm",  "stress>1MPax",
        "wall>=",  "thin>-5%", "wall<1,000.5"}) {
    const auto limit = parse_limit(text);
    CHECK_MESSAGE(!limit.has_value(), text);
    if (!limit) {
      CHECK_FALSE(limit.error().hint.empty());
      CHECK(limit.error().text.find(text) != std::string::npos);
    }
  }
  CHECK(parse_limit("undrcut>5%").error().hint.find("undercut") != std::string::npos);
}

TEST_CASE("a piece without thin places has no stress and a low risk") {
  InspectRow row = piece();
  row.spots.clear();
  CHECK_FALSE(exceeded("stress>0", row));
  CHECK_FALSE(exceeded("risk>low", row));
  row.measured.cavities.clear();
  CHECK_FALSE(exceeded("trap>0ml", row));
}

TEST_CASE("what was not measured is neither kept nor exceeded") {
  InspectRow row = piece();
  row.measured.drains.reset();
  CHECK_FALSE(check_limit(*parse_limit("trap>1ml"), row));
  row.measured.ceiling.reset();
  CHECK_FALSE(check_limit(*parse_limit("ceiling>1%"), row));
  row.walls->of = WallsOf::mold;
  CHECK(check_limit(*parse_limit("wall<2mm"), row));
  CHECK_FALSE(check_limit(*parse_limit("risk>low"), row));
  CHECK_FALSE(check_limit(*parse_limit("stress>1"), row));
  row.walls.reset();
  row.release.reset();
  CHECK_FALSE(check_limit(*parse_limit("wall<2mm"), row));
  CHECK_FALSE(check_limit(*parse_limit("undercut>1"), row));
}
