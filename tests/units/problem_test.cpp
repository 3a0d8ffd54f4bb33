// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/problem.hpp>

#include <set>
#include <string>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("every code has an entry of its own, in stage order") {
  const auto codes = all_codes();
  REQUIRE(codes.size() == static_cast<std::size_t>(Code::internal) + 1);
  for (std::size_t i = 0; i < codes.size(); ++i) {
    CHECK(static_cast<std::size_t>(codes[i].code) == i);
    CHECK(&info(codes[i].code) == &codes[i]);
  }
}

TEST_CASE("slugs are unique kebab-case words") {
  std::set<std::string_view> seen;
  for (const CodeInfo& c : all_codes()) {
    CAPTURE(c.slug);
    CHECK(seen.insert(c.slug).second);
    CHECK(c.slug.find_first_not_of("abcdefghijklmnopqrstuvwxyz-") == std::string_view::npos);
    CHECK_FALSE(c.slug.empty());
    CHECK(c.slug.front() != '-');
    CHECK(c.slug.back() != '-');
  }
}

TEST_CASE("every long text is a sentence that says more than the slug") {
  for (const CodeInfo& c : all_codes()) {
    CAPTURE(c.slug);
    CHECK(c.explain.size() > 40);
    CHECK(c.explain.back() == '.');
  }
}

TEST_CASE("Expected holds a value or the problem") {
  const Expected<int> good = 7;
  REQUIRE(good);
  CHECK(*good == 7);
  const Expected<int> bad = fail(Code::bad_number, "text", "hint");
  REQUIRE_FALSE(bad);
  CHECK(bad.error().code == Code::bad_number);
  CHECK(bad.error().text == "text");
  CHECK(bad.error().hint == "hint");
}
