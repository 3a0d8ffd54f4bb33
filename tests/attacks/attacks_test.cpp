// SPDX-License-Identifier: GPL-3.0-or-later
// Meshes that are made to break the measuring, given to the built program.
//
//   POURWRIGHT_ATTACKS=400         how many meshes; 60 without it
//   POURWRIGHT_ATTACKS_SEED=7      others
//   POURWRIGHT_ATTACKS_FAMILY=plug of one family alone
//   POURWRIGHT_ATTACKS_LIST=1      a line for every mesh
#include "known_shortfalls.hpp"
#include "support/temporary_folder.hpp"
#include "verdict.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <map>

#include <doctest/doctest.h>

using namespace attacks;

namespace {

unsigned long setting(const char* name, unsigned long otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::strtoul(text, nullptr, 10);
}

struct Tally {
  std::array<std::size_t, verdicts> count{};
  std::vector<double> widths;  // of what was answered and is inside
  double seconds = 0;

  std::size_t of(Verdict v) const { return count[static_cast<std::size_t>(v)]; }
  std::size_t all() const {
    std::size_t n = 0;
    for (const std::size_t k : count) n += k;
    return n;
  }
  void add(const Judged& j) {
    ++count[static_cast<std::size_t>(j.verdict)];
    seconds += j.seconds;
    if (j.verdict <= Verdict::wide) widths.push_back(j.width);
  }
  double median_width() const {
    if (widths.empty()) return 0;
    std::vector<double> w(widths);
    std::nth_element(w.begin(), w.begin() + static_cast<std::ptrdiff_t>(w.size() / 2), w.end());
    return w[w.size() / 2];
  }
};

void print(const std::string& family, const Tally& t) {
  std::printf("| %s | %zu | %zu | %zu | %zu | %zu | %zu | %zu | %.2g %% | %.1f |\n", family.c_str(), t.all(),
              t.of(Verdict::right) + t.of(Verdict::wide), t.of(Verdict::refused),
              t.of(Verdict::refused_wrongly), t.of(Verdict::warned), t.of(Verdict::silent),
              t.of(Verdict::slow), 100 * t.median_width(), t.seconds);
}

/// How many of `cases` may have this verdict: a share, and one more than that for chance.
std::size_t allowed(double share, std::size_t cases) {
  return static_cast<std::size_t>(share * static_cast<double>(cases) + 1);
}

}  // namespace

TEST_CASE("the truth lies inside, or there is a word") {
  const support::TemporaryFolder folder;
  const std::size_t cases = setting("POURWRIGHT_ATTACKS", 60);
  const auto seed = static_cast<std::uint32_t>(setting("POURWRIGHT_ATTACKS_SEED", 20261130));
  const char* family = std::getenv("POURWRIGHT_ATTACKS_FAMILY");
  const bool list = setting("POURWRIGHT_ATTACKS_LIST", 0) != 0;
  std::map<std::string, Tally> by_family;
  Tally all;
  for (const Case& c : make_set(seed, cases, family == nullptr ? "" : family)) {
    const Judged j = judge(POURWRIGHT_PROGRAM, folder.path(), c);
    by_family[c.family].add(j);
    all.add(j);
    if (list || j.verdict > Verdict::refused)
      std::printf("%-16s %-22s %s | %s\n", name_of(j.verdict), c.name.c_str(), c.note.c_str(), j.why.c_str());
  }
  std::printf(
      "\n| family | cases | inside | refused | refused wrongly | wrong, warned | SILENT WRONG | slow | "
      "median "
      "width | seconds |\n|---|---|---|---|---|---|---|---|---|---|\n");
  for (const std::string& name : families())
    if (by_family.count(name) != 0) print(name, by_family[name]);
  print("all", all);
  CHECK(all.of(Verdict::silent) <= allowed(known_shortfalls::silent, cases));
  CHECK(all.of(Verdict::refused_wrongly) <= allowed(known_shortfalls::refused_wrongly, cases));
  CHECK(all.of(Verdict::slow) <= allowed(known_shortfalls::slow, cases));
}
