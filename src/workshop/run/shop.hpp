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

/// Which plan is better: least residue, then soonest done, then fewest returns to a lighter base, then orders
/// kept together. The number of batches is the same wherever two are compared.
struct Merit {
  std::int64_t residue = 0;
  std::int64_t finish = 0;
  int back = 0;    ///< times a lighter base follows a darker one
  int spread = 0;  ///< over all orders: batches it lies in
  auto operator<=>(const Merit&) const = default;
};
Merit merit_of(const RunOrder& order, const std::vector<RunBatch>& batches);
std::int64_t residue_of(const RunOrder& order, const std::vector<RunBatch>& batches);
int spread_of(const RunOrder& order, const std::vector<RunBatch>& batches);

/// The hands at work, batch after batch in a given order. A batch is poured as soon as its molds are free and
/// it can be cleaned up before the next break or evening. Until then the hands take out what is hard, first
/// what the batch waits for; else they finish what is out, which can be left and taken up again; else they
/// wait.
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
  struct Finishing {
    std::int64_t each, left;  ///< seconds of one, and of the one in hand
    int batch, pour, count;
  };
  std::int64_t stretch_end() const;
  bool fits(std::int64_t seconds) const { return now_ + seconds <= stretch_end(); }
  void leave_break();
  std::int64_t hard_at(std::int64_t poured, std::int64_t day, std::int64_t demold) const;
  bool has_molds(const std::vector<int>& needs, std::int64_t places) const;
  std::size_t hardest(const std::vector<int>& needs, std::int64_t places) const;
  void step(const std::vector<int>& needs, std::int64_t places, std::int64_t until,
            std::vector<RunTask>* tasks);
  void take_out(std::size_t which, std::vector<RunTask>* tasks);
  void note_pieces(RunWork kind, int batch, int pour, int count, std::int64_t seconds,
                   std::vector<RunTask>* tasks) const;
  void finish_pieces(std::int64_t until, std::vector<RunTask>* tasks);
  void clean(bool lighter_next, std::vector<RunTask>* tasks);
  void work(RunWork kind, int batch, std::int64_t seconds, std::vector<RunTask>* tasks);

  const RunOrder* order_;
  std::int64_t now_ = 0, day_ = 0, night_ = 0;
  std::vector<int> free_;
  std::int64_t places_ = 0;  // of the shelf that are free
  std::vector<Setting> setting_;
  std::vector<Finishing> finishing_;
  int last_ = -1;
  int last_index_ = -1;
};

/// Seconds of work and waiting until everything is out.
std::int64_t finish_of(const RunOrder& order, const std::vector<RunBatch>& batches);
/// Seconds that hands are busy with one batch before its bucket is cleaned.
std::int64_t busy(const RunOrder& order, const RunBatch& batch);
std::int64_t whole_seconds(Duration d);
/// Seconds between two breaks, or of a day without any, at most; a day without end is beyond all measure.
std::int64_t longest_stretch(const RunLimits& limits);
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
