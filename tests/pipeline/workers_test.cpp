// SPDX-License-Identifier: GPL-3.0-or-later
// Children that break, hang, or run out of memory take their own file with them and nothing else.
#include "pipeline/workers.hpp"

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <numeric>

#include <doctest/doctest.h>
#include <unistd.h>

using namespace pourwright;

namespace {

std::vector<FoundFile> files(std::size_t n) {
  std::vector<FoundFile> out;
  for (std::size_t i = 0; i < n; ++i) out.push_back({std::to_string(i), 0, {}});
  return out;
}

std::vector<std::optional<Measured>> measured_by(const std::vector<FoundFile>& files,
                                                 const MeasureSettings& settings, std::size_t children,
                                                 const std::function<void(int)>& meanwhile) {
  std::vector<std::optional<Measured>> out(files.size());
  const auto one = [&](const FoundFile& f) {
    meanwhile(std::stoi(f.path.string()));
    Measured m;
    m.row.path = f.path.string();
    m.row.triangles = 1000 + std::stoul(f.path.string());
    return m;
  };
  std::vector<std::size_t> all(files.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  measure_in_children(files, all, settings, children, one, [&](std::size_t i, Measured m) {
    CHECK_FALSE(out[i]);
    out[i] = std::move(m);
  });
  return out;
}

}  // namespace

TEST_CASE("every file is measured once, and stands in its place") {
  for (const std::size_t children : {1, 2, 7, 200}) {
    const auto out = measured_by(files(40), {}, children, [](int) {});
    for (std::size_t i = 0; i < out.size(); ++i) {
      REQUIRE(out[i]);
      CHECK(out[i]->row.triangles == 1000 + i);
    }
  }
}

TEST_CASE("only the files asked for are measured") {
  std::vector<std::size_t> told;
  const auto one = [](const FoundFile&) { return Measured(); };
  measure_in_children(files(5), {3, 1}, {}, 1, one,
                      [&](std::size_t i, const Measured&) { told.push_back(i); });
  CHECK(told == std::vector<std::size_t>{3, 1});
}

TEST_CASE("every result is handed over once, and counted") {
  for (const int jobs : {1, 4}) {
    std::size_t told = 0, taken = 0;
    MeasureSettings settings;
    settings.jobs = jobs;
    settings.progress = [&](std::size_t done, std::size_t all) {
      CHECK(done == ++told);
      CHECK(done == taken);
      CHECK(all == 12);
    };
    measure_all(files(12), settings, [&](std::size_t i, const Measured& m) {
      ++taken;
      CHECK(m.row.path == std::to_string(i));
      CHECK(m.row.error->code == Code::file_missing);
    });
    CHECK(told == 12);
  }
}

TEST_CASE("a child that is ended leaves an error with its file") {
  const auto out = measured_by(files(30), {}, 3, [](int i) {
    ::signal(SIGSEGV, SIG_DFL);  // the test framework's own handler
    if (i == 4) std::raise(SIGSEGV);
    if (i == 5) std::raise(SIGKILL);
    if (i == 6) throw std::bad_alloc();
    if (i == 7) throw 1;
    if (i == 8) ::_exit(0);
  });
  const Code codes[] = {Code::internal, Code::memory_limit, Code::memory_limit, Code::internal,
                        Code::internal};
  for (std::size_t i = 0; i < out.size(); ++i) {
    REQUIRE(out[i]);
    CHECK(out[i]->row.error.has_value() == (i >= 4 && i <= 8));
    if (out[i]->row.error) CHECK(out[i]->row.error->code == codes[i - 4]);
    CHECK(out[i]->row.path == std::to_string(i));
  }
}

TEST_CASE("a file that takes too long is given up") {
  MeasureSettings settings;
  settings.limits.time = Duration(0.05);
  const auto out = measured_by(files(6), settings, 2, [](int i) {
    if (i == 2)
      for (std::atomic<int> k = 0;; ++k) {
      }
    if (i == 3) ::pause();  // takes no processor time at all
  });
  for (std::size_t i = 0; i < out.size(); ++i) {
    CHECK(out[i]->row.error.has_value() == (i == 2 || i == 3));
    if (out[i]->row.error) CHECK(out[i]->row.error->code == Code::time_limit);
  }
}

TEST_CASE("children that cannot even begin are not started for ever") {
  MeasureSettings settings;
  settings.limits.memory = 1;  // not even the next page of the stack
  std::vector<std::optional<Measured>> out(4);
  const auto one = [](const FoundFile&) {
    Measured m;
    m.row.path = std::string(64 << 20, 'x');  // more than a heap ever keeps for later
    return m;
  };
  measure_in_children(files(4), {0, 1, 2, 3}, settings, 2, one,
                      [&](std::size_t i, Measured m) { out[i] = std::move(m); });
  for (const auto& m : out)
#ifdef __SANITIZE_ADDRESS__
    if (m) CHECK(m->row.error.has_value());  // the sanitizer itself cannot live within the limit
#else
    if (m) CHECK(m->row.error->code == Code::memory_limit);
#endif
}
