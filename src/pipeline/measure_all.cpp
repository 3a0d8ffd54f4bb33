// SPDX-License-Identifier: GPL-3.0-or-later
// Several files at once: from the cache, in threads, or in child processes.
#include "pipeline/cache.hpp"
#include "pipeline/measure.hpp"
#include "pipeline/workers.hpp"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>

namespace pourwright {
namespace {

constexpr Duration usual_time = minutes(10);

/// Measures a file unless it is known. A file that changed meanwhile is not remembered.
Measured measure_or_recall(const FoundFile& file, const MeasureSettings& settings, const Cache& cache) {
  if (file.problem) return measure_one(file, settings);
  const auto key = cache.key(file.path);
  if (key)
    if (auto known = cache.find(*key, file.path)) return std::move(*known);
  Measured measured = measure_one(file, settings);
  if (key && cache.key(file.path) == key) cache.keep(*key, measured);
  return measured;
}

void measure_in_threads(const std::vector<FoundFile>& files, const MeasureSettings& settings,
                        const Cache& cache, std::size_t workers, std::vector<std::optional<Measured>>& out) {
  std::atomic<std::size_t> next{0};
  std::mutex telling;
  std::size_t done = 0;
  const auto work = [&] {
    for (std::size_t i = next++; i < files.size(); i = next++) {
      if (!out[i]) out[i] = measure_or_recall(files[i], settings, cache);
      const std::lock_guard lock(telling);
      if (settings.progress) settings.progress(++done, files.size());
    }
  };
  if (workers <= 1) {
    work();
  } else {
    std::vector<std::jthread> threads;
    for (std::size_t k = 0; k < workers; ++k) threads.emplace_back(work);
  }
}

}  // namespace

std::vector<Measured> measure_all(const std::vector<FoundFile>& files, const MeasureSettings& settings) {
  const Cache cache(settings);
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  const std::size_t wanted = settings.jobs > 0 ? static_cast<std::size_t>(settings.jobs) : cores;
  const bool limited = settings.limits.time > Duration() || settings.limits.memory > 0;
  std::vector<std::optional<Measured>> measured(files.size());
  bool all = false;
  // Meshes are not sent from process to process.
  if (!settings.keep_mesh && (files.size() > 1 || limited)) {
    MeasureSettings limits = settings;
    if (limits.limits.time == Duration() && files.size() > 1) limits.limits.time = usual_time;
    const auto one = [&](const FoundFile& file) { return measure_or_recall(file, settings, cache); };
    all = measure_in_children(files, limits, std::min(wanted, files.size()), one, measured);
  }
  // The reader of further formats forks, which is safe only while there is one thread.
  if (!all)
    measure_in_threads(files, settings, cache, settings.more_formats ? 1 : std::min(wanted, files.size()),
                       measured);
  std::vector<Measured> out;
  for (auto& m : measured) out.push_back(std::move(*m));
  return out;
}

}  // namespace pourwright
