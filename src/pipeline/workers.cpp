// SPDX-License-Identifier: GPL-3.0-or-later
// Files measured in child processes that share one counter. A child that is ended by a limit or a fault
// costs its own file only; results come through pipes and do not depend on how many children there are.
#include "pipeline/workers.hpp"

#include "pipeline/codec.hpp"

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <new>

#include <fcntl.h>
#include <fmt/format.h>
#include <malloc.h>
#include <poll.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

namespace pourwright {
namespace {

constexpr std::size_t nothing = static_cast<std::size_t>(-1);
constexpr std::size_t most_children = 256;
constexpr int out_of_memory = 12;
constexpr int most_rounds = 4;
constexpr double clock_per_processor = 10;  // a file on a slow disk, or a busy machine

/// In memory that parent and children share.
struct Board {
  std::atomic<std::size_t> next{0};
  std::array<std::atomic<std::size_t>, most_children> at{};  ///< the file each child is at
};

class SharedBoard {
 public:
  SharedBoard() {
    void* const p = ::mmap(nullptr, sizeof(Board), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (p == MAP_FAILED) return;
    board_ = new (p) Board;
    for (auto& at : board_->at) at = nothing;
  }
  SharedBoard(const SharedBoard&) = delete;
  SharedBoard& operator=(const SharedBoard&) = delete;
  ~SharedBoard() {
    if (board_ != nullptr) ::munmap(board_, sizeof(Board));
  }
  Board* get() const { return board_; }

 private:
  Board* board_ = nullptr;
};

struct Head {
  std::size_t index = 0, size = 0;
};

void limit_time(double seconds) {
  const auto set = [](int which, double s) {
    itimerval t{};
    t.it_value.tv_sec = static_cast<time_t>(s);
    t.it_value.tv_usec = static_cast<suseconds_t>((s - static_cast<double>(t.it_value.tv_sec)) * 1e6);
    ::setitimer(which, &t, nullptr);
  };
  set(ITIMER_PROF, seconds);
  set(ITIMER_REAL, seconds * clock_per_processor);
}

class Child {
 public:
  Child(Board& board, std::size_t number, int out, const FileLimits& limits)
      : board_(board), number_(number), out_(out), limits_(limits) {}

  /// Nothing gets past here: what stands above on the stack is the parent's.
  [[noreturn]] void work(const std::vector<FoundFile>& files, const std::vector<std::size_t>& which,
                         const std::function<Measured(const FoundFile&)>& measure) noexcept {
    try {
      measure_all(files, which, measure);
    } catch (const std::bad_alloc&) {
      ::_exit(out_of_memory);
    } catch (...) {
      ::_exit(1);
    }
    ::_exit(0);
  }

 private:
  void measure_all(const std::vector<FoundFile>& files, const std::vector<std::size_t>& which,
                   const std::function<Measured(const FoundFile&)>& measure) {
    // The parent's handlers are not ours, and without it there is nobody to tell.
    for (const int s : {SIGINT, SIGTERM, SIGHUP, SIGPIPE, SIGALRM, SIGPROF}) ::signal(s, SIG_DFL);
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    // One mesh after the other takes as much: what is freed is kept for the next.
    ::mallopt(M_MMAP_THRESHOLD, 32 << 20);
    ::mallopt(M_TRIM_THRESHOLD, 64 << 20);
    if (limits_.memory > 0) {
      const rlimit l{static_cast<rlim_t>(limits_.memory), static_cast<rlim_t>(limits_.memory)};
      ::setrlimit(RLIMIT_AS, &l);
    }
    const double seconds = limits_.time.base();
    for (std::size_t k = board_.next++; k < which.size(); k = board_.next++) {
      board_.at[number_] = which[k];
      if (seconds > 0) limit_time(seconds);
      const std::string bytes = codec::bytes_of(measure(files[which[k]]));
      limit_time(0);
      const Head head{which[k], bytes.size()};
      send({reinterpret_cast<const char*>(&head), sizeof head});
      send(bytes);
    }
    board_.at[number_] = nothing;
  }

  void send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t n = ::write(out_, bytes.data(), bytes.size());
      if (n < 0 && errno != EINTR) ::_exit(1);
      if (n > 0) bytes.remove_prefix(static_cast<std::size_t>(n));
    }
  }

  Board& board_;
  std::size_t number_;
  int out_;
  const FileLimits& limits_;
};

Problem why_it_ended(int status, const FileLimits& limits) {
  if (WIFSIGNALED(status)) {
    const int s = WTERMSIG(status);
    if (s == SIGPROF || s == SIGALRM)
      return fail(Code::time_limit,
                  fmt::format("measuring it took longer than the {:.4g} s that one file may take",
                              limits.time.base()),
                  "reduce the mesh, or give it more with --time-limit");
    if (s == SIGKILL)
      return fail(Code::memory_limit, "the system ended the process that measured it: memory ran out",
                  "reduce the mesh, or use a larger machine");
    return fail(Code::internal, fmt::format("measuring it broke down with signal {}", s),
                "please report it, with the mesh if you can");
  }
  if (WIFEXITED(status) && WEXITSTATUS(status) == out_of_memory)
    return fail(Code::memory_limit, "there was not enough memory for this mesh",
                "reduce the mesh, or give it more with --memory-limit");
  return fail(Code::internal, "measuring it broke down", "please report it, with the mesh if you can");
}

class Pool {
 public:
  Pool(const std::vector<FoundFile>& files, std::vector<std::size_t> missing, const MeasureSettings& settings,
       const std::function<Measured(const FoundFile&)>& measure, const TakeMeasured& take)
      : files_(files),
        settings_(settings),
        measure_(measure),
        take_(take),
        missing_(std::move(missing)),
        settled_(files.size(), 1) {
    for (const std::size_t i : missing_) settled_[i] = 0;
  }

  void run(std::size_t count) {
    count = std::min(count, most_children);
    if (shared_.get() == nullptr) return;
    // A child may be ended between two files, holding one that it has not begun: those go round again.
    for (int round = 0; round < most_rounds && !missing_.empty(); ++round) {
      workers_.clear();
      shared_.get()->next = 0;
      for (std::size_t k = 0; k < std::min(count, missing_.size()); ++k) {
        workers_.emplace_back();
        if (!start(k)) return;
      }
      while (std::any_of(workers_.begin(), workers_.end(), [](const Worker& w) { return w.in >= 0; }))
        if (!listen()) return;
      std::erase_if(missing_, [&](std::size_t i) { return settled_[i] != 0; });
    }
  }

  ~Pool() {
    for (Worker& w : workers_)
      if (w.in >= 0) {
        ::kill(w.pid, SIGKILL);
        end(w);
      }
  }

 private:
  struct Worker {
    pid_t pid = -1;
    int in = -1;
    std::string bytes;
  };

  bool start(std::size_t number) {
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) return false;
    shared_.get()->at[number] = nothing;
    const pid_t pid = ::fork();
    if (pid == 0) {
      ::close(ends[0]);
      Child(*shared_.get(), number, ends[1], settings_.limits).work(files_, missing_, measure_);
    }
    ::close(ends[1]);
    if (pid < 0) {
      ::close(ends[0]);
      return false;
    }
    workers_[number] = {pid, ends[0], {}};
    return true;
  }

  int end(Worker& w) {
    ::close(w.in);
    w.in = -1;
    int status = 0;
    while (::waitpid(w.pid, &status, 0) < 0 && errno == EINTR) {
    }
    return status;
  }

  bool listen() {
    std::vector<pollfd> waiting;
    std::vector<std::size_t> numbers;
    for (std::size_t k = 0; k < workers_.size(); ++k)
      if (workers_[k].in >= 0) {
        waiting.push_back({workers_[k].in, POLLIN, 0});
        numbers.push_back(k);
      }
    if (::poll(waiting.data(), waiting.size(), -1) < 0) return errno == EINTR;
    for (std::size_t i = 0; i < waiting.size(); ++i)
      if (waiting[i].revents != 0 && !hear(numbers[i])) return false;
    return true;
  }

  bool hear(std::size_t number) {
    Worker& w = workers_[number];
    std::array<char, 1 << 16> block;
    const ssize_t n = ::read(w.in, block.data(), block.size());
    if (n < 0) return errno == EINTR || errno == EAGAIN;
    if (n > 0) {
      w.bytes.append(block.data(), static_cast<std::size_t>(n));
      take_whole(w.bytes);
      return true;
    }
    const int status = end(w);
    const std::size_t at = shared_.get()->at[number];
    if (at != nothing && at < settled_.size() && settled_[at] == 0) {
      Measured failed;
      failed.row.path = files_[at].path.string();
      failed.row.up = settings_.up;
      failed.row.error = why_it_ended(status, settings_.limits);
      settle(at, std::move(failed));
    }
    // One that ended without having begun anything would only be followed by more of its kind.
    return at == nothing || shared_.get()->next >= missing_.size() || start(number);
  }

  void take_whole(std::string& bytes) {
    std::size_t from = 0;
    Head head;
    while (bytes.size() - from >= sizeof head) {
      std::memcpy(&head, bytes.data() + from, sizeof head);
      if (head.size > bytes.size() - from - sizeof head) break;
      auto measured = codec::measured_from(std::string_view(bytes).substr(from + sizeof head, head.size));
      if (measured && head.index < settled_.size()) settle(head.index, std::move(*measured));
      from += sizeof head + head.size;
    }
    bytes.erase(0, from);
  }

  void settle(std::size_t index, Measured measured) {
    if (settled_[index] != 0) return;
    settled_[index] = 1;
    take_(index, std::move(measured));
  }

  const std::vector<FoundFile>& files_;
  const MeasureSettings& settings_;
  const std::function<Measured(const FoundFile&)>& measure_;
  const TakeMeasured& take_;
  SharedBoard shared_;
  std::vector<std::size_t> missing_;
  std::vector<char> settled_;
  std::vector<Worker> workers_;
};

}  // namespace

void measure_in_children(const std::vector<FoundFile>& files, std::vector<std::size_t> missing,
                         const MeasureSettings& settings, std::size_t count,
                         const std::function<Measured(const FoundFile&)>& measure, const TakeMeasured& take) {
  Pool(files, std::move(missing), settings, measure, take).run(count);
}

}  // namespace pourwright
