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
