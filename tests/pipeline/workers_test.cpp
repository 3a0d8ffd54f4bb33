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
  CHECK(measure_in_children(files, settings, children, one, out));
  return out;
}

}  // namespace

TEST_CASE("every file is measured once, and stands in its place") {
  for (const std::size_t children : {1, 2, 7, 200}) {
    std::size_t told = 0;
    MeasureSettings settings;
    settings.progress = [&](std::size_t done, std::size_t all) {
      CHECK(done == ++told);
      CHECK(all == 40);
    };
    const auto out = measured_by(files(40), settings, children, [](int) {});
    for (std::size_t i = 0; i < out.size(); ++i) {
      REQUIRE(out[i]);
      CHECK(out[i]->row.triangles == 1000 + i);
    }
    CHECK(told == 40);
  }
}

TEST_CASE("results that are there already stay") {
  std::vector<std::optional<Measured>> out(3);
  out[1].emplace();
  const auto one = [](const FoundFile& f) {
    Measured m;
    m.row.path = f.path.string() + " measured";
    return m;
  };
  CHECK(measure_in_children(files(3), {}, 2, one, out));
  CHECK(out[0]->row.path == "0 measured");
  CHECK(out[1]->row.path.empty());
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
    m.row.path = std::string(1 << 22, 'x');
    return m;
  };
  measure_in_children(files(4), settings, 2, one, out);
  for (const auto& m : out)
#ifdef __SANITIZE_ADDRESS__
    if (m) CHECK(m->row.error.has_value());  // the sanitizer itself cannot live within the limit
#else
    if (m) CHECK(m->row.error->code == Code::memory_limit);
#endif
}
