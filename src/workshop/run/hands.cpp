// SPDX-License-Identifier: GPL-3.0-or-later
// One pair of hands through the days of a run: they mix, pour, wait, take out and finish, in whole seconds.
// The law: nothing is begun that cannot be ended before the hands rest, and nothing comes out before its
// time, of which nights and breaks are a part but no more than they last.
#include "workshop/run/shop.hpp"

#include <algorithm>

namespace pourwright::running {
namespace {

constexpr std::int64_t never = std::int64_t{1} << 60;

}  // namespace

Hands::Hands(const RunOrder& order)
    : order_(&order), day_(whole_seconds(order.limits.day)), night_(whole_seconds(order.limits.night)) {
  for (const RunMold& m : order.molds) free_.push_back(m.copies);
  places_ = order.limits.shelf > 0 ? order.limits.shelf : never;
}

/// The next break or evening.
std::int64_t Hands::stretch_end() const {
  if (day_ == 0) return never;
  const std::int64_t today = now_ - now_ % day_;
  for (const RunBreak& b : order_->limits.breaks)
    if (today + whole_seconds(b.from) > now_) return today + whole_seconds(b.from);
  return today + day_;
}

void Hands::leave_break() {
  if (day_ == 0) return;
  const std::int64_t today = now_ - now_ % day_;
  for (const RunBreak& b : order_->limits.breaks)
    if (now_ >= today + whole_seconds(b.from) && now_ < today + whole_seconds(b.to))
      now_ = today + whole_seconds(b.to);
}

/// When what was poured on `day` is hard, on the clock that stands still at night.
std::int64_t Hands::hard_at(std::int64_t poured, std::int64_t day, std::int64_t demold) const {
  if (day_ == 0) return poured + demold;
  const std::int64_t hard = poured + day * night_ + demold, whole = day_ + night_;
  return hard / whole * day_ + std::min(hard % whole, day_);
}

bool Hands::has_molds(const std::vector<int>& needs, std::int64_t places) const {
  if (places > places_) return false;
  for (std::size_t m = 0; m < needs.size(); ++m)
    if (needs[m] > free_[m]) return false;
  return true;
}

void Hands::work(RunWork kind, int batch, std::int64_t seconds, std::vector<RunTask>* tasks) {
  if (tasks != nullptr && seconds > 0)
    tasks->push_back({kind, batch, -1, 0, Duration(static_cast<double>(now_)),
                      Duration(static_cast<double>(now_ + seconds))});
  now_ += seconds;
}

/// Longer by so much, when the hands go on with what they did and have not slept over it.
void Hands::note_pieces(RunWork kind, int batch, int pour, int count, std::int64_t seconds,
                        std::vector<RunTask>* tasks) const {
  if (tasks == nullptr) return;
  const Duration from(static_cast<double>(now_)), to(static_cast<double>(now_ + seconds));
  const bool morning = day_ > 0 && now_ % day_ == 0;
  if (!morning && !tasks->empty()) {
    RunTask& last = tasks->back();
    if (last.work == kind && last.batch == batch && last.pour == pour && last.to == from) {
      last.to = to;
      last.count += count;
      return;
    }
  }
  tasks->push_back({kind, batch, pour, count, from, to});
}

void Hands::take_out(std::size_t which, std::vector<RunTask>* tasks) {
  Setting& s = setting_[which];
  const auto mold = static_cast<std::size_t>(s.mold);
  const std::int64_t seconds = whole_seconds(order_->molds[mold].handling);
  note_pieces(RunWork::demold, s.batch, s.pour, 1, seconds, tasks);
  ++free_[mold];
  places_ += order_->molds[mold].place;
  const std::int64_t finishing = whole_seconds(order_->pours[static_cast<std::size_t>(s.pour)].finishing);
  if (finishing > 0) finishing_.push_back({finishing, finishing, s.batch, s.pour, 1});
  if (--s.count == 0) setting_.erase(setting_.begin() + static_cast<std::ptrdiff_t>(which));
  now_ += seconds;
}

/// First come, first finished.
void Hands::finish_pieces(std::int64_t until, std::vector<RunTask>* tasks) {
  if (finishing_.empty()) return;
  std::size_t done = 0;
  for (leave_break(); done < finishing_.size() && now_ < until; leave_break()) {
    Finishing& f = finishing_[done];
    const std::int64_t seconds = std::min(f.left, std::min(until, stretch_end()) - now_);
    f.left -= seconds;
    note_pieces(RunWork::finish, f.batch, f.pour, f.left == 0 ? 1 : 0, seconds, tasks);
    now_ += seconds;
    if (f.left == 0) ++done;
    if (done == finishing_.size()) break;  // the last second is not the end of a break
  }
  finishing_.erase(finishing_.begin(), finishing_.begin() + static_cast<std::ptrdiff_t>(done));
}

/// What is hard, first what the next batch waits for, first what has been so longest; none: their number.
std::size_t Hands::hardest(const std::vector<int>& needs, std::int64_t places) const {
  std::size_t best = setting_.size();
  bool best_wanted = false;
  for (std::size_t i = 0; i < setting_.size(); ++i) {
    const Setting& s = setting_[i];
    if (s.ready > now_) continue;
    const auto mold = static_cast<std::size_t>(s.mold);
    const bool wanted = places > places_ || needs[mold] > free_[mold];
    const bool better = best == setting_.size() || (wanted && !best_wanted) ||
                        (wanted == best_wanted && s.ready < setting_[best].ready);
    if (better) best = i, best_wanted = wanted;
  }
  return best;
}

/// One piece out of its mold; or finishing, or waiting, until the next is hard or `until`.
void Hands::step(const std::vector<int>& needs, std::int64_t places, std::int64_t until,
                 std::vector<RunTask>* tasks) {
  const std::size_t best = hardest(needs, places);
  if (best < setting_.size()) {
    const auto mold = static_cast<std::size_t>(setting_[best].mold);
    if (fits(whole_seconds(order_->molds[mold].handling))) {
      take_out(best, tasks);
      return;
    }
    until = std::min(until, stretch_end());
  }
  for (const Setting& s : setting_)
    if (s.ready > now_) until = std::min(until, s.ready);
  finish_pieces(until, tasks);
  now_ = std::max(now_, until);
}

void Hands::clean(bool lighter_next, std::vector<RunTask>* tasks) {
  if (last_ < 0) return;
  work(RunWork::clean, last_index_, whole_seconds(lighter_next ? order_->limits.wash : order_->limits.rinse),
       tasks);
}

void Hands::pour(const RunBatch& batch, int index, std::vector<RunTask>* tasks) {
  clean(batch.base < last_, tasks);
  const RunLimits& l = order_->limits;
  std::vector<int> needs(free_.size(), 0);
  std::int64_t places = 0;
  std::int64_t pouring = 0;
  for (const Placed& p : batch.pours) {
    const RunPour& pour = order_->pours[static_cast<std::size_t>(p.kind)];
    pouring += p.count * whole_seconds(pour.pour);
    if (pour.mold < 0) continue;
    needs[static_cast<std::size_t>(pour.mold)] += p.count;
    places += p.count * order_->molds[static_cast<std::size_t>(pour.mold)].place;
  }
  const std::int64_t whole = busy(*order_, batch) + std::max(whole_seconds(l.rinse), whole_seconds(l.wash));
  for (leave_break();; leave_break()) {
    const bool ready = has_molds(needs, places);
    if (ready && fits(whole)) break;
    step(needs, places, ready ? stretch_end() : never, tasks);
  }
  const std::int64_t today = day_ > 0 ? now_ / day_ : 0;
  work(RunWork::weigh, index, whole_seconds(l.weigh), tasks);
  work(RunWork::mix, index, whole_seconds(l.mix), tasks);
  work(RunWork::split, index, whole_seconds(l.split) * static_cast<std::int64_t>(batch.cups.size()), tasks);
  work(RunWork::pour, index, pouring, tasks);
  for (const Placed& p : batch.pours) {
    const int mold = order_->pours[static_cast<std::size_t>(p.kind)].mold;
    if (mold < 0) continue;
    free_[static_cast<std::size_t>(mold)] -= p.count;
    const std::int64_t demold = whole_seconds(order_->molds[static_cast<std::size_t>(mold)].demold);
    setting_.push_back({hard_at(now_, today, demold), index, p.kind, mold, p.count});
  }
  places_ -= places;
  last_ = batch.base;
  last_index_ = index;
}

std::int64_t Hands::finish(std::vector<RunTask>* tasks) {
  clean(true, tasks);
  const std::vector<int> nothing(free_.size(), 0);
  while (!setting_.empty()) {
    leave_break();
    step(nothing, 0, never, tasks);
  }
  finish_pieces(never, tasks);
  return now_;
}

}  // namespace pourwright::running
