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

constexpr std::size_t default_cases = 60;
constexpr unsigned long default_seed = 20261130;

known_shortfalls::Shortfall known(const std::string& family) {
  for (const auto& s : known_shortfalls::list)
    if (family == s.family) return s;
  return {"", 0, 0, ""};
}

/// The default run, family by family: not worse than what is known.
void check_default(const std::map<std::string, Tally>& by_family) {
  for (const auto& [family, t] : by_family) {
    CAPTURE(family);
    const auto k = known(family);
    CHECK(t.of(Verdict::silent) <= k.silent);
    CHECK(t.of(Verdict::silent) + t.of(Verdict::refused_wrongly) <= k.silent + k.refused_wrongly);
    CHECK(t.of(Verdict::slow) == 0);
    if (t.of(Verdict::silent) < k.silent || t.of(Verdict::refused_wrongly) < k.refused_wrongly)
      std::printf("%s does better than the list of known shortfalls says: shorten it\n", family.c_str());
  }
}

/// Other seeds: shares as in the default run, with room for chance.
void check_others(const Tally& all) {
  const auto k = known_shortfalls::total();
  const auto allowed = [&](std::size_t of_default) {
    return 1 + all.all() * of_default * 3 / (2 * default_cases);
  };
  CHECK(all.of(Verdict::silent) <= allowed(k.silent));
  CHECK(all.of(Verdict::silent) + all.of(Verdict::refused_wrongly) <= allowed(k.silent + k.refused_wrongly));
  CHECK(all.of(Verdict::slow) <= 1 + all.all() / 100);
}

}  // namespace

TEST_CASE("the truth lies inside, or there is a word") {
  const support::TemporaryFolder folder;
  const std::size_t cases = setting("POURWRIGHT_ATTACKS", default_cases);
  const auto seed = static_cast<std::uint32_t>(setting("POURWRIGHT_ATTACKS_SEED", default_seed));
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
  if (cases == default_cases && seed == default_seed && family == nullptr)
    check_default(by_family);
  else if (family == nullptr)
    check_others(all);
}
