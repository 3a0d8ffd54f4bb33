// SPDX-License-Identifier: GPL-3.0-or-later
// The coefficients are small strays from what is believed: of the density, of each mold, of the residue.
// Records of pours see only their sum, cups and water fills pin down their parts; the model keeps track of
// which is which, record by record in the order they were made.
#include <pourwright/learn.hpp>

#include "workshop/learn/beliefs.hpp"
#include "workshop/learn/practice.hpp"
#include "workshop/learn/readings.hpp"
#include "workshop/learn/slips.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>

#include <fmt/format.h>

namespace pourwright {
namespace {

using learn::Beliefs;
using learn::Observation;
using learn::Prediction;

constexpr std::size_t most_molds = 60;  ///< with pours; further ones add time, not knowledge

/// One pour in the model's terms.
struct Pour {
  const Record* record;
  const TestPour* pour;
};

class Model {
 public:
  Model(const std::vector<MoldToPour>& molds, const PourPlan& plan, const PourHistory& history)
      : molds_(molds), plan_(plan), history_(history) {
    residue_ = plan.residue > Mass() ? plan.residue.in_grams() : learn::residue_per_cup_g;
    for (const Record& r : history.pours) take(r);
  }

  /// Every record in turn. Pours that the earlier ones find incredible are set aside.
  Beliefs follow(Forecast& out) {
    Beliefs b(prior(), learn::scatter_log_sd, learn::odd_share, flat_density());
    std::vector<std::pair<std::int64_t, std::function<void()>>> events;
    std::vector<const Pour*> credible;
    std::string open;
    bool any = false;
    const auto step_to = [&](const std::string& lot, double unsaid) {
      if (!plan_.same_lots && any)
        b.stray(density_term, lot.empty()   ? unsaid
                              : lot == open ? learn::density_strays_in_lot
                                            : learn::lot_strays);
      if (!lot.empty()) open = lot;
    };
    for (const Record& r : history_.lots)
      events.emplace_back(
          r.id, [&, lot = std::get<LotOpened>(r.what).lot] { step_to(lot, learn::density_strays); });
    for (const Record& r : history_.cups)
      events.emplace_back(r.id, [&] {
        const auto& cup = std::get<DensityCup>(r.what);
        step_to(cup.lot, learn::density_strays_to_cup);
        b.observe(cup_seen(cup));
        any = true;
        ++out.cups;
      });
    for (const Pour& p : pours_)
      events.emplace_back(p.record->id, [&] {
        if (!believable(b, p, out)) return;
        step_to(p.pour->lot, learn::density_strays);
        any = true;
        b.observe(pour_seen(*p.pour));
        credible.push_back(&p);
        ++out.pours;
        out.of_these_molds += is_of_these(*p.pour);
      });
    std::stable_sort(events.begin(), events.end(),
                     [](const auto& x, const auto& y) { return x.first < y.first; });
    for (const auto& event : events) event.second();
    // The next pour is one more step away; a lot that was opened since has been stepped to already.
    step_to(open, learn::density_strays);
    out.lot = open;
    note_drift(credible, out);
    b.keep_above(cup_term, -residue_);
    b.keep_above(share_term, -learn::residue_share);
    return b;
  }

  /// The batch for the molds that are poured now.
  Observation next() const {
    Observation o;
    double base = 0, unknown = 0;
    o.x.assign(terms(), 0);
    for (const MoldToPour& m : molds_) {
      const double grams = grams_now(m) * m.copies;
      base += grams;
      const auto it = place_.find(m.mold);
      if (it != place_.end())
        o.x[fixed_terms + it->second] += grams;
      else
        unknown += std::pow(grams * relative_u(m), 2);
    }
    complete(o, base, plan_.cups);
    o.own = std::sqrt(unknown);
    return o;
  }

  double believed(double base, int cups) const {
    return base + residue_ * cups + learn::residue_share * base;
  }
  double base_now() const {
    double base = 0;
    for (const MoldToPour& m : molds_) base += grams_now(m) * m.copies;
    return base;
  }
  double residue() const { return residue_; }

  Observation only(std::size_t term) const {
    Observation o;
    o.x.assign(terms(), 0);
    o.x[term] = 1;
    return o;
  }
  std::optional<std::size_t> term_of(const std::string& mold) const {
    const auto it = place_.find(mold);
    if (it == place_.end()) return std::nullopt;
    return fixed_terms + it->second;
  }

  static constexpr std::size_t density_term = 0, share_term = 1, cup_term = 2, measure_term = 3,
                               fixed_terms = 4;

 private:
  std::size_t terms() const { return fixed_terms + grams_.size(); }
  double grams_now(const MoldToPour& m) const {
    return in_millilitres(m.capacity.value) * in_grams_per_millilitre(plan_.density);
  }
  static double relative_u(const MoldToPour& m) { return std::max(m.capacity.u / m.capacity.value, 1e-4); }
  double flat_density() const { return plan_.same_lots ? 0 : std::max(plan_.spread, 0.002); }

  std::vector<double> prior() const {
    std::vector<double> sd(terms());
    sd[density_term] = plan_.same_lots ? std::max(plan_.spread, 0.002) : 1e-4;
    sd[share_term] = learn::residue_share_u;
    sd[cup_term] = plan_.residue > Mass()
                       ? std::max(learn::residue_stated_u * residue_, learn::residue_stated_least_u)
                       : learn::residue_per_cup_u;
    sd[measure_term] = learn::cup_always;
    std::copy(sd_.begin(), sd_.end(), sd.begin() + fixed_terms);
    return sd;
  }

  void add_mold(const std::string& mold, double grams, double sd) {
    place_.emplace(mold, grams_.size());
    grams_.push_back(grams);
    sd_.push_back(sd);
  }

  /// Takes a pour in unless it says too little: more than one mold of unknown size, or too many molds in all.
  void take(const Record& record) {
    const auto& p = std::get<TestPour>(record.what);
    const double need = (p.mixed - p.left).in_grams();
    double known = 0;
    const PouredMold* unknown = nullptr;
    for (const PouredMold& m : p.molds) {
      if (place_.find(m.mold) == place_.end()) {
        const auto now =
            std::find_if(molds_.begin(), molds_.end(), [&](const MoldToPour& k) { return k.mold == m.mold; });
        if ((now == molds_.end() && unknown != nullptr) || grams_.size() >= most_molds) return;
        if (now == molds_.end()) {
          unknown = &m;
          continue;
        }
        add_mold(m.mold, grams_now(*now), relative_u(*now));
      }
      known += grams_[place_.at(m.mold)] * m.copies;
    }
    if (unknown != nullptr) {
      const double rest = need - known - residue_ * p.cups;
      if (!(rest > 0.05 * need)) return;
      // Its size is known from this pour alone: it then says nothing until the mold is poured again.
      add_mold(unknown->mold, rest / unknown->copies, 0.3);
    }
    pours_.push_back({&record, &p});
  }

  void complete(Observation& o, double base, int cups) const {
    o.x[density_term] = o.x[share_term] = base;
    o.x[cup_term] = cups;
    o.w = std::sqrt(std::pow(learn::scatter_share * base, 2) +
                    learn::scatter_per_cup_g * learn::scatter_per_cup_g * cups);
    o.odd_by = learn::odd_by * base;
  }

  double base_of(const TestPour& p) const {
    double base = 0;
    for (const PouredMold& m : p.molds) base += grams_[place_.at(m.mold)] * m.copies;
    return base;
  }

  Observation pour_seen(const TestPour& p) const {
    Observation o;
    o.x.assign(terms(), 0);
    for (const PouredMold& m : p.molds) {
      const std::size_t place = place_.at(m.mold);
      o.x[fixed_terms + place] += grams_[place] * m.copies;
    }
    const double base = base_of(p);
    complete(o, base, p.cups);
    // Mixed and left are both read full and empty.
    o.own = learn::weighing_u(p.scale_step) * std::numbers::sqrt2;
    o.y = (p.mixed - p.left).in_grams() - believed(base, p.cups);
    o.at_least = p.ran_short;
    return o;
  }

  Observation cup_seen(const DensityCup& cup) const {
    Observation o;
    o.x.assign(terms(), 0);
    o.x[density_term] = o.x[measure_term] = 1;
    const learn::Reading r = learn::cup_reading(cup);
    const double stated = in_grams_per_millilitre(plan_.density);
    o.y = r.value / stated - 1;
    o.own = r.u / stated;
    return o;
  }

  /// Less likely than about one in 300,000, and by more than a tenth: somebody slipped.
  bool believable(const Beliefs& b, const Pour& p, Forecast& out) const {
    constexpr double unbelievable = 4.7, least = 0.1;
    if (p.pour->believed) return true;
    const Observation seen = pour_seen(*p.pour);
    const Prediction expected = b.predict(seen);
    const double off = seen.y - expected.mean();
    const double awaited = believed(base_of(*p.pour), p.pour->cups) + expected.mean();
    if (seen.at_least && off < 0) return true;
    if (std::abs(off) < unbelievable * expected.sd() || std::abs(off) < least * awaited) return true;
    const double used = (p.pour->mixed - p.pour->left).in_grams();
    const int copies = p.pour->molds.size() == 1 ? p.pour->molds[0].copies : 1;
    const std::string slip = learn::likely_slip(learn::Weighed::pour, used, awaited, 1, copies);
    out.set_aside.push_back(p.record->id);
    out.notes.push_back(
        {"record-set-aside",
         fmt::format("pour {} used {} g where {} g were to be expected{}; it is left out: withdraw it if it "
                     "was a mistake, or record it again with --believe",
                     p.record->id, fixed(used, used < 100 ? 1 : 0), fixed(awaited, awaited < 100 ? 1 : 0),
                     slip.empty() ? std::string() : " (" + slip + "?)"),
         true});
    return false;
  }

  /// The latest pours together against those before them, as if nothing had strayed.
  void note_drift(const std::vector<const Pour*>& pours, Forecast& out) const {
    constexpr std::size_t latest = 5, before = 5;
    constexpr double noticed = 2.6;  // of a hundred steady workshops one is bothered
    if (plan_.same_lots || pours.size() < latest + before) return;
    Beliefs steady(prior(), learn::scatter_log_sd, learn::odd_share, flat_density());
    const std::size_t from = pours.size() - latest;
    for (std::size_t i = 0; i < from; ++i) steady.observe(pour_seen(*pours[i]->pour));
    Observation sum;
    sum.x.assign(terms(), 0);
    double scatter = 0, own = 0, base = 0, odd = 0;
    for (std::size_t i = from; i < pours.size(); ++i) {
      const Observation o = pour_seen(*pours[i]->pour);
      for (std::size_t k = 0; k < o.x.size(); ++k) sum.x[k] += o.x[k];
      sum.y += o.y;
      scatter += o.w * o.w;
      own += o.own * o.own + learn::odd_share * o.odd_by * o.odd_by;
      odd += learn::odd_share * o.odd_by;
      base += base_of(*pours[i]->pour);
    }
    sum.w = std::sqrt(scatter);
    sum.own = std::sqrt(own);
    const Prediction expected = steady.predict(sum);
    const double off = sum.y - odd - expected.mean();
    if (std::abs(off) < noticed * expected.sd()) return;
    out.notes.push_back(
        {"density-drifts",
         fmt::format(
             "the latest {} pours took {:.1f} % {} than those before let expect: another lot of powder? "
             "Say so (pourwright learn lot NAME) and weigh a cup; until then every pour is followed",
             latest, 100 * std::abs(off) / base, off > 0 ? "more" : "less"),
         true});
  }

  bool is_of_these(const TestPour& p) const {
    return std::any_of(p.molds.begin(), p.molds.end(), [&](const PouredMold& m) {
      return std::any_of(molds_.begin(), molds_.end(), [&](const MoldToPour& k) { return k.mold == m.mold; });
    });
  }

  const std::vector<MoldToPour>& molds_;
  const PourPlan& plan_;
  const PourHistory& history_;
  double residue_ = 0;                        ///< believed of each cup, g
  std::map<std::string, std::size_t> place_;  ///< of molds with pours
  std::vector<double> grams_, sd_;            ///< of one copy; relative
  std::vector<Pour> pours_;
};

std::optional<Problem> check(const std::vector<MoldToPour>& molds, const PourPlan& plan) {
  if (molds.empty())
    return fail(Code::amount_not_positive, "there is no mold to mix for", "name at least one mold");
  if (plan.cups < 1 || plan.cups > 10'000)
    return fail(Code::usage, "the number of cups is not from 1 up", "give the cups that will be used");
  if (!(plan.density > Density()) || !std::isfinite(in_grams_per_millilitre(plan.density)))
    return fail(Code::amount_not_positive, "the density is not more than nothing",
                "give the density of the poured mix");
  if (plan.risk < Ratio::percent(0.01) || plan.risk > Ratio::percent(50))
    return fail(Code::bad_number, "the chance of running short is not between 0.01 % and 50 %",
                "1 % is usual");
  for (const MoldToPour& m : molds)
    if (m.copies < 1 || !(m.capacity.value > Volume()) || !std::isfinite(in_millilitres(m.capacity.value)))
      return fail(Code::amount_not_positive, fmt::format("“{}” holds nothing that could be weighed", m.mold),
                  "check its capacity");
  return std::nullopt;
}

}  // namespace

double Forecast::chance_of_short(double grams) const {
  Prediction p;
  for (const Part& part : need) p.pieces.push_back({part.weight, part.mean_g, part.sd_g});
  return std::clamp(p.above(grams), 0.0, 1.0);
}

Expected<Forecast> forecast_need(const std::vector<MoldToPour>& molds, const PourPlan& plan,
                                 const PourHistory& history) {
  if (auto problem = check(molds, plan)) return *problem;
  Forecast out;
  out.risk = plan.risk;
  Model model(molds, plan, history);
  const Beliefs beliefs = model.follow(out);
  const Observation next = model.next();
  const double base = model.base_now(), believed = model.believed(base, plan.cups);
  const Prediction need = beliefs.predict(next);
  out.expected_g = believed + need.mean();
  out.spread_g = need.sd();
  out.batch_g = believed + need.quantile_above(plan.risk.value());
  for (const Prediction::Piece& p : need.pieces) out.need.push_back({p.weight, believed + p.mean, p.sd});
  out.scatter = {beliefs.mean_s() * next.w / base, 0};
  const auto learned = [&](std::size_t term, double from) {
    const Prediction p = beliefs.predict(model.only(term));
    return Uncertain{from + p.mean(), p.sd()};
  };
  out.residue_per_cup_g = learned(Model::cup_term, model.residue());
  out.residue_share = learned(Model::share_term, learn::residue_share);
  out.residue_g = out.residue_per_cup_g.value * plan.cups + out.residue_share.value * base;
  const Uncertain dense = learned(Model::density_term, 1);
  out.density.value = plan.density * dense.value;
  out.density.u = plan.density * dense.u;
  out.density.records = out.cups;
  for (const MoldToPour& m : molds) {
    Estimate<Volume> capacity = m.capacity;
    if (const auto term = model.term_of(m.mold)) {
      const Uncertain size = learned(*term, 1);
      capacity.value = m.capacity.value * size.value;
      capacity.u = m.capacity.value * size.u;
    }
    out.fill_g += in_millilitres(capacity.value) * in_grams_per_millilitre(out.density.value) * m.copies;
    out.capacities.push_back(std::move(capacity));
  }
  return out;
}

}  // namespace pourwright
