// SPDX-License-Identifier: GPL-3.0-or-later
// A run in whole micrograms and seconds: what each base's batches are packed from, and the hours of a
// sequence.
#pragma once

#include <pourwright/run.hpp>

#include <compare>
#include <cstdint>
#include <vector>

namespace pourwright::running {

using Pattern = std::vector<Placed>;  ///< kind: index into RunOrder::pours

/// Everything of one base; it is packed by itself.
struct Class {
  int base = 0;
  std::vector<int> pours;         ///< indices into RunOrder::pours
  std::vector<std::string> cups;  ///< of all its pours
  PackProblem problem;            ///< kinds: positions in `pours`
};

/// Checks the order and sorts it by base. Fails as plan_run does.
Expected<std::vector<Class>> classes_of(const RunOrder& order);

/// The batch without its hours.
RunBatch batch_of(const RunOrder& order, int base, const Pattern& pours);

/// Which plan is better: least residue, then soonest done, then orders kept together. The number of batches
/// is the same wherever two are compared.
struct Merit {
  std::int64_t residue = 0;
  std::int64_t finish = 0;
  int spread = 0;  ///< over all orders: batches it lies in
  auto operator<=>(const Merit&) const = default;
};
std::int64_t residue_of(const RunOrder& order, const std::vector<RunBatch>& batches);
int spread_of(const RunOrder& order, const std::vector<RunBatch>& batches);

/// The hands at work, batch after batch in a given order. A batch is poured as soon as its molds are free;
/// while they are not, the hands take out what is hard, first what the batch waits for; else they wait. A
/// batch is not begun when the day is too short to clean up after it.
class Hands {
 public:
  explicit Hands(const RunOrder& order);

  void pour(const RunBatch& batch, int index, std::vector<RunTask>* tasks = nullptr);
  /// Cleans the bucket and takes out what is left.
  std::int64_t finish(std::vector<RunTask>* tasks = nullptr);
  std::int64_t now() const { return now_; }

 private:
  struct Setting {
    std::int64_t ready;
    int batch, pour, mold, count;
  };
  bool fits_day(std::int64_t seconds) const;
  void sleep();
  void next_morning();
  void spend(std::int64_t seconds);
  bool has_molds(const std::vector<int>& needs, std::int64_t places) const;
  void make_room(const std::vector<int>& needs, std::int64_t places, std::vector<RunTask>* tasks);
  void take_out(std::size_t which, std::vector<RunTask>* tasks);
  void wait();
  void clean(bool lighter_next, std::vector<RunTask>* tasks);
  void work(RunWork kind, int batch, std::int64_t seconds, std::vector<RunTask>* tasks);

  const RunOrder* order_;
  std::int64_t now_ = 0, day_ = 0;
  std::vector<int> free_;
  std::int64_t places_ = 0;  // of the shelf that are free
  std::vector<Setting> setting_;
  int last_ = -1;
  int last_index_ = -1;
};

/// Seconds of work and waiting until everything is out.
std::int64_t finish_of(const RunOrder& order, const std::vector<RunBatch>& batches);
/// Seconds that hands are busy with one batch before its bucket is cleaned.
std::int64_t busy(const RunOrder& order, const RunBatch& batch);
std::int64_t whole_seconds(Duration d);
bool takes_time(const RunOrder& order);

/// The best of the given patterns: compared exhaustively when `limit` plans suffice (then `exhaustive`), else
/// improved from a greedy sequence by moving pieces and batches about.
struct Arranged {
  std::vector<RunBatch> batches;
  Merit merit;
  bool exhaustive = false;
};
Arranged arrange(const RunOrder& order, const std::vector<Class>& classes,
                 const std::vector<std::vector<Pattern>>& bins, int limit);

}  // namespace pourwright::running
