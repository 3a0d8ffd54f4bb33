// SPDX-License-Identifier: GPL-3.0-or-later
// One pair of hands through the days of a run: they mix, pour, wait and take out, in whole seconds. The law:
// nothing is poured that could not be taken out or would set in the bucket.
#include "workshop/run/shop.hpp"

#include <algorithm>

namespace pourwright::running {

Hands::Hands(const RunOrder& order) : order_(&order), day_(whole_seconds(order.limits.day)) {
  for (const RunMold& m : order.molds) free_.push_back(m.copies);
  places_ = order.limits.shelf > 0 ? order.limits.shelf : std::int64_t{1} << 62;
}

bool Hands::fits_day(std::int64_t seconds) const {
  return day_ == 0 || now_ % day_ + seconds <= day_;
}

/// Over night everything gets hard.
void Hands::sleep() {
  for (Setting& s : setting_) s.ready = std::min(s.ready, now_);
}

void Hands::next_morning() {
  now_ = (now_ / day_ + 1) * day_;
  sleep();
}

void Hands::spend(std::int64_t seconds) {
  now_ += seconds;
  if (seconds > 0 && day_ > 0 && now_ % day_ == 0) sleep();
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
  spend(seconds);
}

void Hands::take_out(std::size_t which, std::vector<RunTask>* tasks) {
  Setting& s = setting_[which];
  const auto mold = static_cast<std::size_t>(s.mold);
  const std::int64_t seconds = whole_seconds(order_->molds[mold].handling);
  if (!fits_day(seconds)) next_morning();
  if (tasks != nullptr) {
    const Duration from(static_cast<double>(now_)), to(static_cast<double>(now_ + seconds));
    RunTask* const last = tasks->empty() ? nullptr : &tasks->back();
    const bool goes_on = last != nullptr && last->work == RunWork::demold && last->batch == s.batch &&
                         last->pour == s.pour && last->to == from;
    if (goes_on)
      last->to = to, ++last->count;
    else
      tasks->push_back({RunWork::demold, s.batch, s.pour, 1, from, to});
  }
  ++free_[mold];
  places_ += order_->molds[mold].place;
  if (--s.count == 0) setting_.erase(setting_.begin() + static_cast<std::ptrdiff_t>(which));
  spend(seconds);
}

void Hands::wait() {
  std::int64_t soonest = setting_.front().ready;
  for (const Setting& s : setting_) soonest = std::min(soonest, s.ready);
  if (day_ > 0 && soonest >= (now_ / day_ + 1) * day_)
    next_morning();
  else
    now_ = std::max(now_, soonest);
}

/// One piece out of its mold, or the wait for one to be hard.
void Hands::make_room(const std::vector<int>& needs, std::int64_t places, std::vector<RunTask>* tasks) {
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
  if (best == setting_.size())
    wait();
  else
    take_out(best, tasks);
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
  while (!has_molds(needs, places)) make_room(needs, places, tasks);
  if (!fits_day(busy(*order_, batch) + std::max(whole_seconds(l.rinse), whole_seconds(l.wash))))
    next_morning();
  work(RunWork::weigh, index, whole_seconds(l.weigh), tasks);
  work(RunWork::mix, index, whole_seconds(l.mix), tasks);
  work(RunWork::split, index, whole_seconds(l.split) * static_cast<std::int64_t>(batch.cups.size()), tasks);
  work(RunWork::pour, index, pouring, tasks);
  for (const Placed& p : batch.pours) {
    const int mold = order_->pours[static_cast<std::size_t>(p.kind)].mold;
    if (mold < 0) continue;
    free_[static_cast<std::size_t>(mold)] -= p.count;
    setting_.push_back({now_ + whole_seconds(order_->molds[static_cast<std::size_t>(mold)].demold), index,
                        p.kind, mold, p.count});
  }
  places_ -= places;
  last_ = batch.base;
  last_index_ = index;
}

std::int64_t Hands::finish(std::vector<RunTask>* tasks) {
  clean(true, tasks);
  const std::vector<int> nothing(free_.size(), 0);
  while (!setting_.empty()) make_room(nothing, 0, tasks);
  return now_;
}

}  // namespace pourwright::running
