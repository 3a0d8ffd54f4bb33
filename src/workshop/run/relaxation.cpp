// SPDX-License-Identifier: GPL-3.0-or-later
// Column generation over patterns (Gilmore and Gomory, 1961). The law: doubles steer, whole numbers prove.
#include "workshop/run/relaxation.hpp"

#include <algorithm>
#include <cmath>

namespace pourwright::packing {
namespace {

__extension__ using Wide = __int128;

constexpr double tiny = 1e-9;
constexpr double whole = 1e9;  // what a dual value of 1 is as an integer
constexpr int pivots_between_inversions = 150;
constexpr int most_rounds = 4000;

}  // namespace

template <class Use>
void Relaxation::each_entry(int id, Use use) const {
  if (id < 0) {
    use(static_cast<std::size_t>(-1 - id), -1.0);
    return;
  }
  for (const Placed& p : columns_[static_cast<std::size_t>(id)])
    use(static_cast<std::size_t>(p.kind), static_cast<double>(p.count));
}

Relaxation::Relaxation(const Model& model, Patterns& patterns, Work& work)
    : model_(model), patterns_(patterns), work_(work), rows_(model.kinds()) {
  s_.inverse.assign(rows_ * rows_, 0);
  s_.value.assign(rows_, 0);
  s_.dual.assign(rows_, 0);
  // Each kind by itself: a basis that serves any demand.
  for (std::size_t k = 0; k < rows_; ++k) {
    const int most = std::max(1, model.most[k]);
    columns_.push_back({{static_cast<int>(k), most}});
    s_.basis.push_back(static_cast<int>(k));
    s_.inverse[k * rows_ + k] = 1.0 / most;
    s_.dual[k] = 1.0 / most;
  }
}

std::vector<double> Relaxation::direction(int id) const {
  std::vector<double> d(rows_, 0);
  each_entry(id, [&](std::size_t kind, double a) {
    for (std::size_t r = 0; r < rows_; ++r) d[r] += s_.inverse[r * rows_ + kind] * a;
  });
  return d;
}

double Relaxation::reduced_cost(int id) const {
  double cost = id < 0 ? 0 : 1;
  each_entry(id, [&](std::size_t kind, double a) { cost -= s_.dual[kind] * a; });
  return cost;
}

void Relaxation::pivot(std::size_t row, int id, const std::vector<double>& d) {
  const double cost = reduced_cost(id);
  double* const pivot_row = &s_.inverse[row * rows_];
  const double scale = 1.0 / d[row];
  for (std::size_t c = 0; c < rows_; ++c) pivot_row[c] *= scale;
  s_.value[row] *= scale;
  for (std::size_t r = 0; r < rows_; ++r) {
    if (r == row || d[r] == 0) continue;
    double* const other = &s_.inverse[r * rows_];
    for (std::size_t c = 0; c < rows_; ++c) other[c] -= d[r] * pivot_row[c];
    s_.value[r] -= d[r] * s_.value[row];
  }
  for (std::size_t c = 0; c < rows_; ++c) s_.dual[c] += cost * pivot_row[c];
  s_.basis[row] = id;
  work_.add(rows_ * rows_);
  if (++pivots_ % pivots_between_inversions == 0) invert();
}

bool Relaxation::primal_step(int id) {
  const std::vector<double> d = direction(id);
  std::size_t row = rows_;
  double step = 0;
  for (std::size_t r = 0; r < rows_; ++r) {
    if (d[r] <= 1e-7) continue;
    const double ratio = std::max(0.0, s_.value[r]) / d[r];
    if (row == rows_ || ratio < step - tiny || (ratio < step + tiny && d[r] > d[row])) row = r, step = ratio;
  }
  if (row == rows_) return false;
  pivot(row, id, d);
  return true;
}

// After the demand has changed, values may be negative while all reduced costs are still right.
void Relaxation::dual_phase() {
  std::vector<char> basic(columns_.size(), 0);
  std::vector<char> basic_surplus(rows_, 0);
  for (const int id : s_.basis)
    (id < 0 ? basic_surplus[static_cast<std::size_t>(-1 - id)] : basic[static_cast<std::size_t>(id)]) = 1;
  for (std::size_t rounds = 0; rounds < 4 * rows_ + 100; ++rounds) {
    const auto lowest = std::min_element(s_.value.begin(), s_.value.end());
    if (*lowest > -tiny) return;
    const auto row = static_cast<std::size_t>(lowest - s_.value.begin());
    const double* const rho = &s_.inverse[row * rows_];
    int entering = 0;
    double least = -1, steepest = 0;
    const auto consider = [&](int id) {
      double a = 0;
      each_entry(id, [&](std::size_t kind, double n) { a += rho[kind] * n; });
      if (a >= -1e-7) return;
      const double ratio = std::max(0.0, reduced_cost(id)) / -a;
      if (least < 0 || ratio < least - tiny || (ratio < least + tiny && a < steepest))
        least = ratio, steepest = a, entering = id;
    };
    for (std::size_t j = 0; j < columns_.size(); ++j)
      if (basic[j] == 0) consider(static_cast<int>(j));
    for (std::size_t k = 0; k < rows_; ++k)
      if (basic_surplus[k] == 0) consider(-1 - static_cast<int>(k));
    work_.add(columns_.size() * 8);
    if (least < 0) return;
    const auto flag = [&](int id) -> char& {
      return id < 0 ? basic_surplus[static_cast<std::size_t>(-1 - id)] : basic[static_cast<std::size_t>(id)];
    };
    flag(s_.basis[row]) = 0;
    flag(entering) = 1;
    pivot(row, entering, direction(entering));
  }
}

void Relaxation::refresh() {
  for (std::size_t r = 0; r < rows_; ++r) {
    double v = 0;
    for (std::size_t c = 0; c < rows_; ++c) v += s_.inverse[r * rows_ + c] * demand_[c];
    s_.value[r] = v;
  }
  std::fill(s_.dual.begin(), s_.dual.end(), 0.0);
  for (std::size_t r = 0; r < rows_; ++r)
    if (s_.basis[r] >= 0)
      for (std::size_t c = 0; c < rows_; ++c) s_.dual[c] += s_.inverse[r * rows_ + c];
  work_.add(2 * rows_ * rows_);
}

// Gauss and Jordan with row exchange, from the columns themselves: sheds what rounding the updates have
// gathered.
void Relaxation::invert() {
  const std::size_t n = rows_;
  std::vector<double> matrix(n * n, 0), inverse(n * n, 0);
  for (std::size_t r = 0; r < n; ++r) {
    each_entry(s_.basis[r], [&](std::size_t kind, double a) { matrix[kind * n + r] = a; });
    inverse[r * n + r] = 1;
  }
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t r = c + 1; r < n; ++r)
      if (std::abs(matrix[r * n + c]) > std::abs(matrix[best * n + c])) best = r;
    if (std::abs(matrix[best * n + c]) < 1e-11)
      return;  // keep the updated inverse; the certificate guards the rest
    if (best != c) {
      std::swap_ranges(&matrix[c * n], &matrix[c * n] + n, &matrix[best * n]);
      std::swap_ranges(&inverse[c * n], &inverse[c * n] + n, &inverse[best * n]);
    }
    const double scale = 1.0 / matrix[c * n + c];
    for (std::size_t k = 0; k < n; ++k) matrix[c * n + k] *= scale, inverse[c * n + k] *= scale;
    for (std::size_t r = 0; r < n; ++r) {
      const double f = matrix[r * n + c];
      if (r == c || f == 0) continue;
      for (std::size_t k = 0; k < n; ++k)
        matrix[r * n + k] -= f * matrix[c * n + k], inverse[r * n + k] -= f * inverse[c * n + k];
    }
  }
  s_.inverse = std::move(inverse);
  work_.add(n * n * n);
  refresh();
}

double Relaxation::total() const {
  double sum = 0;
  for (std::size_t r = 0; r < rows_; ++r)
    if (s_.basis[r] >= 0) sum += s_.value[r];
  return sum;
}

std::vector<std::int64_t> Relaxation::whole_duals() const {
  std::vector<std::int64_t> out;
  for (const double y : s_.dual)
    out.push_back(y > 0 ? static_cast<std::int64_t>(std::min(y, 2.0) * whole) : 0);
  return out;
}

int Relaxation::entering_surplus() const {
  const auto lowest = std::min_element(s_.dual.begin(), s_.dual.end());
  return *lowest < -tiny ? static_cast<int>(lowest - s_.dual.begin()) : -1;
}

Certificate Relaxation::certify(const Counts& demand, const std::vector<std::int64_t>& worth,
                                std::int64_t best) const {
  Wide sum = 0;
  for (std::size_t k = 0; k < rows_; ++k) sum += Wide{worth[k]} * demand[k];
  const std::int64_t at_least = std::max<std::int64_t>(1, best);
  return {worth, at_least, static_cast<int>((sum + at_least - 1) / at_least)};
}

Certificate Relaxation::solve(const Counts& demand, int allowed) {
  demand_.assign(demand.begin(), demand.end());
  refresh();
  dual_phase();
  Certificate out{std::vector<std::int64_t>(rows_, 0), 1, 0};
  for (int round = 0; round < most_rounds && !work_.exhausted();) {
    if (const int kind = entering_surplus(); kind >= 0) {
      if (!primal_step(-1 - kind)) break;
      continue;
    }
    ++round;
    const auto worth = whole_duals();
    const Patterns::Best best = patterns_.best(worth, demand);
    Certificate now = certify(demand, worth, best.bound);
    const bool better = now.bins >= out.bins;
    if (better) out = std::move(now);
    if (out.bins > allowed || total() <= allowed + 1e-7) break;
    if (static_cast<double>(best.worth) <= whole * (1 + 1e-8)) break;
    columns_.push_back(best.pattern);
    if (!primal_step(static_cast<int>(columns_.size()) - 1)) break;
  }
  return out;
}

std::vector<Relaxation::Share> Relaxation::shares() const {
  std::vector<Share> out;
  for (std::size_t r = 0; r < rows_; ++r)
    if (s_.basis[r] >= 0 && s_.value[r] > 1e-6)
      out.push_back({&columns_[static_cast<std::size_t>(s_.basis[r])], s_.value[r]});
  std::stable_sort(out.begin(), out.end(), [](const Share& a, const Share& b) { return a.value > b.value; });
  return out;
}

}  // namespace pourwright::packing
