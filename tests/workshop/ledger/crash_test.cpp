// SPDX-License-Identifier: GPL-3.0-or-later
// The promises to somebody whose power, disk or patience ends: a record that was acknowledged is there
// afterwards, and the ledger is whole.
#include <pourwright/ledger.hpp>

#include "support/faulty_disk.hpp"
#include "support/temporary_folder.hpp"
#include "workshop/ledger/samples.hpp"

#include <algorithm>
#include <random>

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace pourwright;
using samples::morning;
using support::FaultyDisk;

namespace {

constexpr int records_per_run = 12;

/// Opens the ledger, adds records and tells each acknowledged number through the pipe. The exit status: 2
/// when the disk would not take more, 3 for any other refusal.
int add_and_tell(const std::filesystem::path& file, int pipe, int records, int offset = 0) {
  auto ledger = Ledger::open(file);
  if (!ledger) return info(ledger.error().code).kind == Kind::io ? 2 : 3;
  for (int i = 0; i < records; ++i) {
    const auto id = ledger->add(morning + i + offset, samples::any(i + offset));
    if (!id) return info(id.error().code).kind == Kind::io ? 2 : 3;
    if (write(pipe, &*id, sizeof *id) != sizeof *id) return 4;
  }
  return 0;
}

struct Ended {
  int status = 0;
  std::vector<std::int64_t> acknowledged;
};

template <class Work>
pid_t start(int pipe, Work work) {
  const pid_t child = fork();
  if (child == 0) _exit(work(pipe));
  return child;
}

std::vector<std::int64_t> read_ids(int pipe) {
  std::vector<std::int64_t> ids;
  for (std::int64_t id = 0; read(pipe, &id, sizeof id) == sizeof id;) ids.push_back(id);
  close(pipe);
  return ids;
}

template <class Work>
Ended in_child(Work work) {
  int ends[2];
  REQUIRE(pipe(ends) == 0);
  const pid_t child = start(ends[1], work);
  REQUIRE(child > 0);
  close(ends[1]);
  Ended e;
  e.acknowledged = read_ids(ends[0]);
  REQUIRE(waitpid(child, &e.status, 0) == child);
  return e;
}

bool was_killed(const Ended& e) {
  return WIFSIGNALED(e.status) && WTERMSIG(e.status) == SIGKILL;
}

/// Whole, with every acknowledged record as it was given and at most one more per writer.
void check_whole(const std::filesystem::path& file, const std::vector<std::int64_t>& acknowledged) {
  auto ledger = Ledger::open(file);
  REQUIRE(ledger);
  REQUIRE_FALSE(ledger->check());
  const auto count = ledger->count();
  REQUIRE(count);
  REQUIRE(*count >= std::ssize(acknowledged));
  REQUIRE(*count <= std::ssize(acknowledged) + 1);
  for (const std::int64_t id : acknowledged) {
    const auto r = ledger->record(id);
    REQUIRE(r);
    REQUIRE(r->what == samples::any(static_cast<int>(r->at - morning)));
  }
  REQUIRE(ledger->add(morning + 1000, samples::any(1000)));  // and it goes on
}

}  // namespace

TEST_CASE("killed at every single change of the disk, whole or half written") {
  int kills = 0, changes = 0;
  for (const auto fault : {FaultyDisk::Fault::kill, FaultyDisk::Fault::torn}) {
    for (int at = 1;; ++at) {
      CAPTURE(at);
      const support::TemporaryFolder folder;
      const auto file = folder / "ledger.db";
      const Ended e = in_child([&](int pipe) {
        const FaultyDisk disk(fault, at);
        return add_and_tell(file, pipe, records_per_run);
      });
      check_whole(file, e.acknowledged);
      if (WIFEXITED(e.status)) {
        REQUIRE(WEXITSTATUS(e.status) == 0);
        REQUIRE(e.acknowledged.size() == records_per_run);
        // Syncs and truncations cannot be half done: a torn run may pass one and end well.
        if (fault == FaultyDisk::Fault::kill) changes = at;
        if (at >= changes) break;
        continue;
      }
      REQUIRE(was_killed(e));
      ++kills;
    }
  }
  MESSAGE("killed " << kills << " times");
  CHECK(kills >= 200);
}

TEST_CASE("killed from outside at moments of no choosing, again and again on the same ledger") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  std::mt19937 random(6);
  std::vector<std::int64_t> acknowledged;
  int unacknowledged = 0;
  // Where a child is slow to start (a busy machine, a sanitizer) it is given longer, so that some get to
  // write.
  std::uint32_t longest = 12'000;  // microseconds
  for (int round = 0; round < 200; ++round) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t child =
        start(ends[1], [&](int pipe) { return add_and_tell(file, pipe, 1'000'000, round * 1000); });
    REQUIRE(child > 0);
    close(ends[1]);
    usleep(static_cast<useconds_t>(random() % longest));
    REQUIRE(kill(child, SIGKILL) == 0);
    int status = 0;
    REQUIRE(waitpid(child, &status, 0) == child);
    const auto ids = read_ids(ends[0]);
    acknowledged.insert(acknowledged.end(), ids.begin(), ids.end());
    if (std::ssize(acknowledged) < round && longest < 500'000) longest += longest / 8;
    if (round % 20 != 19) continue;
    auto ledger = Ledger::open(file);
    REQUIRE(ledger);
    REQUIRE_FALSE(ledger->check());
    unacknowledged = static_cast<int>(*ledger->count() - std::ssize(acknowledged));
    REQUIRE(unacknowledged >= 0);
    REQUIRE(unacknowledged <= round + 1);
    for (const std::int64_t id : acknowledged) REQUIRE(ledger->record(id));
  }
  CHECK(acknowledged.size() > 20);
}

TEST_CASE("four processes at once lose nothing and keep each record whole") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  constexpr int writers = 4, each = 60;
  std::vector<pid_t> children;
  std::vector<int> pipes;
  for (int w = 0; w < writers; ++w) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    children.push_back(start(ends[1], [&, w](int pipe) { return add_and_tell(file, pipe, each, w * 1000); }));
    close(ends[1]);
    pipes.push_back(ends[0]);
  }
  std::vector<std::int64_t> all;
  for (int w = 0; w < writers; ++w) {
    const auto ids = read_ids(pipes[static_cast<std::size_t>(w)]);
    CHECK(std::is_sorted(ids.begin(), ids.end()));
    all.insert(all.end(), ids.begin(), ids.end());
    int status = 0;
    REQUIRE(waitpid(children[static_cast<std::size_t>(w)], &status, 0) > 0);
    CHECK(WIFEXITED(status));
    CHECK(WEXITSTATUS(status) == 0);
  }
  std::sort(all.begin(), all.end());
  REQUIRE(all.size() == writers * each);
  CHECK(std::adjacent_find(all.begin(), all.end()) == all.end());
  check_whole(file, all);
}

TEST_CASE("a writer that is held up too long is told to try again") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  auto ledger = Ledger::open(file);
  REQUIRE(ledger);
  sqlite3* holder = nullptr;
  REQUIRE(sqlite3_open(file.c_str(), &holder) == SQLITE_OK);
  REQUIRE(sqlite3_exec(holder, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr) == SQLITE_OK);
  const auto refused = ledger->add(morning, samples::cup());
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Code::ledger_busy);
  CHECK(info(refused.error().code).kind == Kind::temporary);
  CHECK(*ledger->count() == 0);  // reading goes on meanwhile
  sqlite3_close(holder);
  CHECK(ledger->add(morning, samples::cup()));
}

TEST_CASE("a disk that fills up at any change: an error that says so, and a whole ledger") {
  int filled = 0;
  for (int at = 1;; ++at) {
    CAPTURE(at);
    const support::TemporaryFolder folder;
    const auto file = folder / "ledger.db";
    std::vector<std::int64_t> acknowledged;
    bool full = false;
    {
      const FaultyDisk disk(FaultyDisk::Fault::full, at);
      auto ledger = Ledger::open(file);
      if (!ledger) {
        full = true;
        REQUIRE(ledger.error().code == Code::ledger_full);
      }
      for (int i = 0; ledger && i < records_per_run; ++i) {
        const auto id = ledger->add(morning + i, samples::any(i));
        if (id) {
          acknowledged.push_back(*id);
          continue;
        }
        full = true;
        REQUIRE(id.error().code == Code::ledger_full);
        REQUIRE(info(id.error().code).kind == Kind::io);
      }
    }
    check_whole(file, acknowledged);
    if (!full) break;
    ++filled;
  }
  MESSAGE("filled up at " << filled << " places");
  CHECK(filled >= 100);
}

TEST_CASE("a limit on the size of files ends the same way") {
  for (const rlim_t limit : {4'096, 20'000, 60'000, 90'000, 120'000, 200'000}) {
    CAPTURE(limit);
    const support::TemporaryFolder folder;
    const auto file = folder / "ledger.db";
    const Ended e = in_child([&](int pipe) {
      signal(SIGXFSZ, SIG_IGN);
      const rlimit r{limit, limit};
      if (setrlimit(RLIMIT_FSIZE, &r) != 0) return 5;
      return add_and_tell(file, pipe, 100'000);
    });
    REQUIRE(WIFEXITED(e.status));
    CHECK(WEXITSTATUS(e.status) == 2);
    check_whole(file, e.acknowledged);
  }
}
