// SPDX-License-Identifier: GPL-3.0-or-later
// Several files at once: from the cache, in threads, or in child processes.
#include "pipeline/cache.hpp"
#include "pipeline/measure.hpp"
#include "pipeline/workers.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// Takes what is there and counts it.
class Desk {
 public:
  Desk(std::size_t files, const MeasureSettings& settings, const TakeMeasured& take)
      : settings_(settings), take_(take), done_(files, 0) {}

  void settle(std::size_t index, Measured measured) {
    const std::lock_guard lock(one_at_a_time_);
    if (done_[index] != 0) return;
    done_[index] = 1;
    take_(index, std::move(measured));
    if (settings_.progress) settings_.progress(++count_, done_.size());
  }
  /// Indices of the files without a result.
  std::vector<std::size_t> missing() const {
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < done_.size(); ++i)
      if (done_[i] == 0) out.push_back(i);
    return out;
  }

 private:
  const MeasureSettings& settings_;
  const TakeMeasured& take_;
  std::mutex one_at_a_time_;
  std::vector<char> done_;
  std::size_t count_ = 0;
};

/// Measures a file unless its content is known. A file that changed meanwhile is not remembered.
Measured measure_or_find(const FoundFile& file, const MeasureSettings& settings, const Cache& cache) {
  if (file.problem) return measure_one(file, settings);
  const auto key = cache.key(file.path);
  if (key)
    if (auto known = cache.find(*key, file.path)) {
      cache.keep_stamp(*key);
      return std::move(*known);
    }
  Measured measured = measure_one(file, settings);
  if (key && cache.key(file.path) == key) cache.keep(*key, measured);
  return measured;
}

void measure_in_threads(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                        const Cache& cache, std::size_t workers, Desk& desk) {
  const std::vector<std::size_t> missing = desk.missing();
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t k = next++; k < missing.size(); k = next++)
      desk.settle(missing[k], measure_or_find(files[missing[k]], settings, cache));
  };
  workers = std::min(workers, missing.size());
  if (workers <= 1) {
    work();
  } else {
    std::vector<std::jthread> threads;
    for (std::size_t k = 0; k < workers; ++k) threads.emplace_back(work);
  }
}

}  // namespace

namespace {

/// What it would take as the piece, behind an error about a mold.
std::string or_the_piece(const MeasureRow& row) {
  const std::string takes =
      row.solid ? fmt::format(", which takes {:.1f} ml", in_millilitres(row.solid->volume.value))
                : std::string();
  return fmt::format("; --read-as piece when the file is the piece itself{}", takes);
}

}  // namespace

std::optional<Problem> in_doubt(const MeasureRow& row) {
  if (!row.ok() || !row.reading || row.reading->sure || !row.fill) return std::nullopt;
  const bool piece = row.read_as(Reading::piece);
  std::string text = fmt::format("this may be {}, {:.1f} ml", piece ? "the piece itself" : "a mold",
                                 in_millilitres(row.fill->value));
  std::string hint = fmt::format("say which: --read-as {}", name(row.reading->chosen));
  for (const Alternative& other : row.reading->others) {
    if (!other.fill) continue;
    text += fmt::format(", or {}, {:.1f} ml", other.says, in_millilitres(*other.fill));
    hint += " or " + other.option;
  }
  return fail(Code::reading_in_doubt, std::move(text), std::move(hint));
}

std::optional<Problem> holds_nothing(const MeasureRow& row) {
  if (row.read_as(Reading::piece) || (row.fill && row.fill->value > Volume())) return std::nullopt;
  for (const Drain& d : row.drains.value_or(std::vector<Drain>()))
    if (d.kind == DrainKind::bottom)
      return fail(Code::holds_nothing, "this mold holds nothing: it leaks through a drain",
                  fmt::format("plug it at ({:.4g}, {:.4g}, {:.4g}), where its section is {:.3g} mm²; then it "
                              "holds {:.1f} ml{}",
                              d.at[0], d.at[1], d.at[2], in_square_millimetres(*d.throat),
                              in_millilitres(d.would_hold), or_the_piece(row)));
  return fail(Code::holds_nothing, "nothing in this mold holds liquid in the position given",
              "check --up" + or_the_piece(row));
}

void measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                 const TakeMeasured& take) {
  const Cache cache(settings);
  Desk desk(files.size(), settings, take);
  for (std::size_t i = 0; i < files.size(); ++i)
    if (!files[i].problem)
      if (auto known = cache.recall(files[i].path)) desk.settle(i, std::move(*known));
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  const std::size_t wanted = settings.jobs > 0 ? static_cast<std::size_t>(settings.jobs) : cores;
  // Meshes are not sent from process to process.
  if (!settings.keep_mesh) {
    MeasureSettings limits = settings;
    if (limits.limits.time == Duration()) limits.limits.time = usual_time;
    const auto one = [&](const FoundFile& file) { return measure_or_find(file, settings, cache); };
    const auto settle = [&](std::size_t index, Measured m) { desk.settle(index, std::move(m)); };
    measure_in_children(files, desk.missing(), limits, wanted, one, settle);
  }
  // The reader of further formats forks, which is safe only while there is one thread.
  measure_in_threads(files, settings, cache, settings.more_formats ? 1 : wanted, desk);
}

std::vector<Measured> measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  std::vector<Measured> out(files.size());
  measure_all(files, settings, [&](std::size_t index, Measured m) { out[index] = std::move(m); });
  return out;
}

}  // namespace pourwright
