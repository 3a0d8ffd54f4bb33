// SPDX-License-Identifier: GPL-3.0-or-later
// One known size → a factor and what its last digit leaves open.
#include "pipeline/scale.hpp"

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

/// A body of 10 × 20 × 40 mm that holds 8 mm³.
Expected<MeshScale> scaled(const char* text) {
  Box box;
  box.add({0, 0, 0});
  box.add({10, 20, 40});
  return scale_from(*parse_known_size(text), {[&] { return box; }, [] { return Expected<double>(8.0); }});
}

}  // namespace

TEST_CASE("lengths scale by the ratio, capacities by its cube root") {
  CHECK(scaled("x=30mm")->factor == doctest::Approx(3));
  CHECK(scaled("y=30mm")->factor == doctest::Approx(1.5));
  CHECK(scaled("longest=80mm")->factor == doctest::Approx(2));
  CHECK(scaled("0,0,0,3,4,0=10mm")->factor == doctest::Approx(2));
  CHECK(scaled("capacity=216mm3")->factor == doctest::Approx(3));
}

TEST_CASE("the last digit of a length is doubted three times in a volume, that of a capacity once") {
  CHECK(scaled("x=30mm")->doubt == doctest::Approx(3 * 0.5 / 30));
  CHECK(scaled("x=30.0mm")->doubt == doctest::Approx(3 * 0.05 / 30));
  CHECK(scaled("capacity=216mm3")->doubt == doctest::Approx(0.5 / 216));
}

TEST_CASE("a size that is nothing in this file scales nothing") {
  const SizesNow flat{[] { return Box{Vec3::Zero(), {0, 1, 1}}; }, [] { return Expected<double>(0.0); }};
  CHECK_FALSE(scale_from(*parse_known_size("x=30mm"), flat));
  CHECK_FALSE(scale_from(*parse_known_size("capacity=30ml"), flat));
}
