// SPDX-License-Identifier: GPL-3.0-or-later
// The coefficients are small strays from what is believed: of the density, of each mold, of the residue.
// Records of pours see only their sum, cups and water fills pin down their parts; the model keeps track of
// which is which.
#include <pourwright/learn.hpp>

#include "workshop/learn/linear_model.hpp"
#include "workshop/learn/practice.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

using learn::LinearModel;
using learn::Observation;
using learn::Prediction;

constexpr std::size_t most_molds = 60;  ///< poured now or earlier; further ones add time, not knowledge

/// One pour in the model's terms.
struct Pour {
  const Record* record;
  const TestPour* pour;
  Observation observed;
  double base = 0;  ///< grams expected before anything is learned
};

class Model {
 public:
  Model(const std::vector<MoldToPour>& molds, const Estimate<Density>& density) : density_(density) {
    for (const MoldToPour& m : molds) {
      const double grams = in_millilitres(m.capacity.value) * in_grams_per_millilitre(density.value);
      add_mold(m.mold, grams, std::max(m.capacity.u / m.capacity.value, 1e-4));
    }
    now_ = grams_.size();
  }

  /// Takes a pour in unless it says too little: more than one mold of unknown size, or too many molds in all.
  bool take(const Record& record) {
    const auto& p = std::get<TestPour>(record.what);
    const double need = (p.mixed - p.left).in_grams();
    double known = 0;
    const PouredMold* unknown = nullptr;
    for (const PouredMold& m : p.molds) {
      const auto it = place_.find(m.mold);
      if (it != place_.end()) {
        known += grams_[it->second] * m.copies;
      } else {
        if (unknown != nullptr || grams_.size() >= most_molds) return false;
        unknown = &m;
      }
    }
    if (unknown != nullptr) {
      const double rest = need - known - learn::residue_per_cup_g * p.cups;
      if (!(rest > 0.05 * need)) return false;
      // Its size is known from this pour alone: it then says nothing until the mold is poured again.
      add_mold(unknown->mold, rest / unknown->copies, 0.3);
    }
    pours_.push_back({&record, &p, {}, 0});
    return true;
  }

  void prepare() {
    for (Pour& p : pours_) {
      std::vector<std::pair<std::size_t, int>> copies;
      for (const PouredMold& m : p.pour->molds) copies.emplace_back(place_.at(m.mold), m.copies);
      double base = 0;
      p.observed.x = row(copies, p.pour->cups, base);
      p.observed.w = deviation(base, p.pour->cups, p.pour->scale_step);
      p.base = base + learn::residue_per_cup_g * p.pour->cups + learn::residue_share * base;
      p.observed.y = (p.pour->mixed - p.pour->left).in_grams() - p.base;
    }
  }

  std::vector<double> row(const std::vector<std::pair<std::size_t, int>>& copies, int cups,
                          double& base) const {
    std::vector<double> x(grams_.size() + fixed_terms, 0);
    base = 0;
    for (const auto& [mold, n] : copies) {
      x[fixed_terms + mold] = grams_[mold] * n;
      base += grams_[mold] * n;
    }
    x[density_term] = x[share_term] = base;
    x[cup_term] = cups;
    return x;
  }

  static double deviation(double base, int cups, Mass step) {
    const double step_g = step > Mass() ? step.in_grams() : learn::unsaid_step_g;
    return std::sqrt(std::pow(learn::scatter_share * base, 2) +
                     learn::scatter_per_cup_g * learn::scatter_per_cup_g * cups +
                     step_g * step_g / 3);  // mixed and left, each full and empty
  }

  LinearModel fit(const Pour* without = nullptr) const {
    std::vector<double> sd(grams_.size() + fixed_terms);
    sd[density_term] = std::max(density_.u / density_.value, 1e-4);
    sd[share_term] = learn::residue_share_u;
    sd[cup_term] = learn::residue_per_cup_u;
    std::copy(sd_.begin(), sd_.end(), sd.begin() + fixed_terms);
    std::vector<Observation> observations;
    for (const Pour& p : pours_)
      if (&p != without) observations.push_back(p.observed);
    return LinearModel(std::move(sd), learn::scatter_log_sd, observations);
  }

  std::vector<Pour>& pours() { return pours_; }
  bool is_now(const std::string& mold) const {
    const auto it = place_.find(mold);
    return it != place_.end() && it->second < now_;
  }
  std::vector<double> unit(std::size_t term) const {
    std::vector<double> x(grams_.size() + fixed_terms, 0);
    x[term] = 1;
    return x;
  }
  double grams(std::size_t mold) const { return grams_[mold]; }

  static constexpr std::size_t density_term = 0, share_term = 1, cup_term = 2, fixed_terms = 3;

 private:
  void add_mold(const std::string& mold, double grams, double sd) {
    place_.emplace(mold, grams_.size());
    grams_.push_back(grams);
    sd_.push_back(sd);
  }

  const Estimate<Density>& density_;
  std::map<std::string, std::size_t> place_;
  std::vector<double> grams_, sd_;  ///< of one copy; relative
  std::size_t now_ = 0;
  std::vector<Pour> pours_;
};

/// Mean of a normal given that it is above `least`.
double mean_above(double mean, double sd, double least) {
  const double z = (least - mean) / sd;
  const double tail = std::erfc(z / std::numbers::sqrt2) / 2;
  if (tail < 1e-12) return least + sd / std::max(z, 1.0);
  return mean + sd * std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi) / tail;
}

/// A pour that ran short needed more than was mixed: how much more is expected, from the others and itself in
/// turn.
void complete_short_pours(Model& model) {
  const auto any = std::any_of(model.pours().begin(), model.pours().end(),
                               [](const Pour& p) { return p.pour->ran_short; });
  constexpr int rounds = 6;
  for (int i = 0; any && i < rounds; ++i) {
    const LinearModel fitted = model.fit();
    for (Pour& p : model.pours()) {
      if (!p.pour->ran_short) continue;
      const Prediction expected = fitted.predict(p.observed.x, p.observed.w);
      const double least = (p.pour->mixed - p.pour->left).in_grams() - p.base;
      p.observed.y = mean_above(expected.mean(), expected.sd(), least);
    }
  }
}

/// The pour that the others least expect goes, when its chance is less than about one in 300,000, up to one
/// in five.
void set_contradictions_aside(Model& model, Forecast& out) {
  constexpr double unbelievable = 4.7;
  auto& pours = model.pours();
  const std::size_t most = pours.size() / 5;
  for (std::size_t gone = 0; gone < most; ++gone) {
    const LinearModel fitted = model.fit();
    const auto stray = [&](const Pour& p) {
      const Prediction e = fitted.predict(p.observed.x, 0);
      return std::abs(p.observed.y - e.mean()) / p.observed.w;
    };
    const auto worst = std::max_element(pours.begin(), pours.end(),
                                        [&](const Pour& a, const Pour& b) { return stray(a) < stray(b); });
    const Prediction others = model.fit(&*worst).predict(worst->observed.x, worst->observed.w);
    if (std::abs(worst->observed.y - others.mean()) < unbelievable * others.sd()) return;
    const std::int64_t id = worst->record->id;
    out.set_aside.push_back(id);
    out.notes.push_back(
        {"record-set-aside",
         fmt::format("pour {} used {:.0f} g where the others let expect {:.0f} g; it is left out; withdraw "
                     "it if it was "
                     "a mistake, or record another",
                     id, (worst->pour->mixed - worst->pour->left).in_grams(), worst->base + others.mean()),
         true});
    pours.erase(worst);
  }
}

Uncertain amount(const Prediction& p, double believed) {
  return {believed + p.mean(), p.sd()};
}

std::optional<Problem> check(const std::vector<MoldToPour>& molds, int cups, const Estimate<Density>& density,
                             Ratio risk) {
  if (molds.empty())
    return fail(Code::amount_not_positive, "there is no mold to mix for", "name at least one mold");
  if (molds.size() > most_molds)
    return fail(Code::usage, fmt::format("more than {} molds in one batch", most_molds), "split the batch");
  if (cups < 1 || cups > 10'000)
    return fail(Code::usage, "the number of cups is not from 1 up", "give the cups that will be used");
  if (!(density.value > Density()) || !std::isfinite(in_grams_per_millilitre(density.value)))
    return fail(Code::amount_not_positive, "the density is not more than nothing",
                "give the density of the poured mix");
  if (risk < Ratio::percent(0.01) || risk > Ratio::percent(50))
    return fail(Code::bad_number, "the chance of running short is not between 0.01 % and 50 %",
                "1 % is usual");
  for (const MoldToPour& m : molds)
    if (m.copies < 1 || !(m.capacity.value > Volume()) || !std::isfinite(in_millilitres(m.capacity.value)))
      return fail(Code::amount_not_positive, fmt::format("“{}” holds nothing that could be weighed", m.mold),
                  "check its capacity");
  return std::nullopt;
}

}  // namespace

Expected<Forecast> forecast_need(const std::vector<MoldToPour>& molds, int cups,
                                 const Estimate<Density>& density, const std::vector<Record>& pours,
                                 Ratio risk) {
  if (auto problem = check(molds, cups, density, risk)) return *problem;
  Forecast out;
  out.risk = risk;
  Model model(molds, density);
  for (const Record& r : pours) model.take(r);
  model.prepare();
  complete_short_pours(model);
  set_contradictions_aside(model, out);
  const LinearModel fitted = model.fit();

  std::vector<std::pair<std::size_t, int>> copies;
  for (std::size_t i = 0; i < molds.size(); ++i) copies.emplace_back(i, molds[i].copies);
  double base = 0;
  const std::vector<double> x = model.row(copies, cups, base);
  const double w = Model::deviation(base, cups, Mass());
  const double believed = base + learn::residue_per_cup_g * cups + learn::residue_share * base;
  const Prediction next = fitted.predict(x, w);
  out.expected_g = believed + next.mean();
  out.spread_g = next.sd();
  out.batch_g = believed + next.quantile_above(risk.value());
  out.scatter = {fitted.mean_s() * w / base, 0};
  out.residue_per_cup_g = amount(fitted.predict(model.unit(Model::cup_term), 0), learn::residue_per_cup_g);
  out.residue_share = amount(fitted.predict(model.unit(Model::share_term), 0), learn::residue_share);
  const Uncertain dense = amount(fitted.predict(model.unit(Model::density_term), 0), 1);
  out.density = density;
  out.density.value = density.value * dense.value;
  out.density.u = density.value * dense.u;
  for (std::size_t i = 0; i < molds.size(); ++i) {
    const Uncertain size = amount(fitted.predict(model.unit(Model::fixed_terms + i), 0), 1);
    Estimate<Volume> capacity = molds[i].capacity;
    capacity.value = molds[i].capacity.value * size.value;
    capacity.u = molds[i].capacity.value * size.u;
    out.fill_g +=
        in_millilitres(capacity.value) * in_grams_per_millilitre(out.density.value) * molds[i].copies;
    out.capacities.push_back(std::move(capacity));
  }
  out.pours = static_cast<int>(model.pours().size());
  for (const Pour& p : model.pours())
    out.of_these_molds += std::any_of(p.pour->molds.begin(), p.pour->molds.end(),
                                      [&](const PouredMold& m) { return model.is_now(m.mold); });
  return out;
}

}  // namespace pourwright
