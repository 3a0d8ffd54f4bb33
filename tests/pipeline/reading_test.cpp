// SPDX-License-Identifier: GPL-3.0-or-later
// Mold or piece, by what is held; the border and what is not sure about it.
#include "pipeline/reading.hpp"

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

/// A body of a litre whose cavities hold this share of it and the body together.
Decision<Reading> holding(double share, std::optional<Reading> given = {}) {
  ReadingEvidence e;
  e.given = given;
  e.body = millilitres(1000);
  e.held = millilitres(1000 * share / (1 - share));
  return decide_reading(e);
}

}  // namespace

TEST_CASE("what holds more than a fiftieth is a mold, and near that border nobody is sure") {
  CHECK(holding(0).chosen == Reading::piece);
  CHECK(holding(0.019).chosen == Reading::piece);
  CHECK(holding(0.021).chosen == Reading::mold);
  CHECK(holding(0.5).chosen == Reading::mold);
  for (const double share : {0.0, 0.009, 0.041, 0.5}) CHECK(holding(share).sure);
  for (const double share : {0.011, 0.019, 0.021, 0.039}) CHECK_FALSE(holding(share).sure);
}

TEST_CASE("what the user says is sure, and the other reading stands beside it") {
  const auto piece = holding(0.5, Reading::piece), mold = holding(0.001, Reading::mold);
  CHECK(piece.chosen == Reading::piece);
  CHECK(mold.chosen == Reading::mold);
  for (const auto& d : {piece, mold}) {
    CHECK(d.given);
    CHECK(d.sure);
    REQUIRE(d.others.size() == 1);
  }
  CHECK(in_millilitres(*piece.others[0].fill) == doctest::Approx(1000));
  CHECK(piece.others[0].option == "--read-as mold");
  CHECK(in_millilitres(*mold.others[0].fill) == doctest::Approx(1000));
  CHECK(holding(0).others.empty());
}

TEST_CASE("what would stand in it with its drains plugged counts as held") {
  ReadingEvidence e;
  e.body = millilitres(100);
  e.drained = millilitres(40);
  CHECK(decide_reading(e).chosen == Reading::mold);
}

namespace {

/// A litre in all, `share` of it held, with these walls.
Decision<Reading> walled(double share, WallShape shape, int molds = 0, int pieces = 0) {
  ReadingEvidence e;
  e.held = millilitres(1000 * share);
  e.body = millilitres(1000 * (1 - share));
  e.shape = shape;
  e.molds = molds;
  e.pieces = pieces;
  return decide_reading(e);
}

const WallShape bowl{1, 0, millimetres(6), 1, 1};
const WallShape block{0.4, 1, millimetres(12), 2, 1};

}  // namespace

TEST_CASE("a thin body whose outside runs along its inside may be either; a block is a mold") {
  const auto either = walled(0.75, bowl);
  CHECK(either.chosen == Reading::mold);
  CHECK_FALSE(either.sure);
  CHECK(either.doubt == doctest::Approx(0.5));
  REQUIRE(either.others.size() == 1);
  CHECK(in_millilitres(*either.others[0].fill) == doctest::Approx(250));
  CHECK(walled(0.5, block).sure);
  CHECK(walled(0.5, block).doubt < 0.01);
}

TEST_CASE("what speaks for a mold lowers the doubt") {
  const double before = walled(0.5, bowl).doubt;
  for (const auto change : {+[](WallShape& w) { w.upright = 1; }, +[](WallShape& w) { w.along = 0.5; },
                            +[](WallShape& w) { w.wall = millimetres(11); }, +[](WallShape& w) { w.rim = 4; },
                            +[](WallShape& w) { w.equal = 4; }}) {
    WallShape w = bowl;
    change(w);
    CHECK(walled(0.5, w).doubt < before);
  }
}

TEST_CASE("the doubt is even at the border and a tenth at a factor of two from it") {
  CHECK(holding(0.02).doubt == doctest::Approx(0.5));
  CHECK(holding(0.01).doubt == doctest::Approx(0.1));
  CHECK(holding(0.04).doubt == doctest::Approx(0.1));
  CHECK(holding(0.5, Reading::piece).doubt == 0);
}

TEST_CASE("files that are sure count for those that are not, and for no others") {
  CHECK_FALSE(walled(0.75, bowl, 3, 0).sure);
  CHECK(walled(0.75, bowl, 12, 0).sure);
  CHECK(walled(0.75, bowl, 12, 0).doubt == doctest::Approx(1.0 / 14));
  // The other kind makes it less sure still.
  CHECK(walled(0.75, bowl, 0, 3).doubt > 0.5);
  Decision<Reading> given = walled(0.75, bowl);
  given.given = true;
  given.sure = true;
  const double doubt = given.doubt;
  weigh_company(given, 0, 40);
  CHECK(given.doubt == doubt);
}
