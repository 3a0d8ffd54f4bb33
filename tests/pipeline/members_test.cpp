// SPDX-License-Identifier: GPL-3.0-or-later
// That the compiler finds all members of a struct, in order, whatever they are made of.
#include "pipeline/members.hpp"

#include <pourwright/door.hpp>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

struct One {
  int only = 7;
};

struct Nested {
  int a = 1;
  std::array<double, 3> three{1, 2, 3};
  std::optional<std::string> word{};
  std::vector<One> list{};
  One one{};
  bool last = true;
};

}  // namespace

TEST_CASE("members are counted, whatever they are made of") {
  CHECK(count_members<One>() == 1);
  CHECK(count_members<Nested>() == 6);
  CHECK(count_members<Drain>() == 6);
  CHECK(count_members<Decision<Reading>>() == 6);
}

TEST_CASE("they come as references, in the order of their declaration") {
  Nested n;
  const auto all = members(n);
  CHECK(std::get<0>(all) == 1);
  std::get<2>(all) = "word";
  std::get<5>(all) = false;
  CHECK(n.word == "word");
  CHECK_FALSE(n.last);

  const Nested fixed;
  CHECK(&std::get<1>(members(fixed)) == &fixed.three);
}
