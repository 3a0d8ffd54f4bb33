// SPDX-License-Identifier: GPL-3.0-or-later
// One mix through several techniques. Every gram is followed: plain, with pigment, poured, stuck, left.
#include <pourwright/split.hpp>

#include "workshop/recipe/steps.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// What a step hands on: a mix with pigments in it.
struct Tinted {
  Mass mass;                              ///< pigment included
  std::map<std::string, double> pigment;  ///< grams in it
  double pigment_g() const {
    double sum = 0;
    for (const auto& [name, g] : pigment) sum += g;
    return sum;
  }
  Ratio dose() const {
    const double plain = mass.in_grams() - pigment_g();
    return plain > 0 ? Ratio::of(pigment_g() / plain) : Ratio{};
  }
};

Mass whole_steps(Mass m, Mass step) {
  return step * (m.in_micrograms() / step.in_micrograms());
}

class StepByStep {
 public:
  StepByStep(Mass total, const SplitPlan& plan, const SplitOptions& options)
      : plan_(plan), options_(options), bucket_(total) {
    out_.mix = total;
    clock_ = plan.mixing;
  }

  Expected<PlannedSplit> run() {
    if (plan_.steps.empty()) return fail(Code::usage, "there is no step to follow", "name at least one cup");
    for (std::size_t i = 0; i < plan_.steps.size(); ++i)
      if (auto problem = follow(plan_.steps[i], i)) return *problem;
    out_.left += rest_.mass;
    out_.bucket = bucket_;
    return std::move(out_);
  }

 private:
  std::optional<Problem> follow(const SplitStep& step, std::size_t index) {
    FilledStep done;
    done.name = step.name;
    done.technique = step.technique;
    if (auto problem = take(step, index, done)) return problem;
    if (auto problem = fill(step, done)) return problem;
    pour(step, done);
    done.bucket = bucket_;
    tell_time(step, done);
    out_.steps.push_back(std::move(done));
    return std::nullopt;
  }

  std::optional<Problem> take(const SplitStep& step, std::size_t index, FilledStep& done) {
    Mass wanted = step.carry && !step.rest ? Mass{} : bucket_;
    if (step.take) wanted = *step.take;
    if (step.share) wanted = whole_steps(out_.mix * *step.share, options_.scale_step);
    if (wanted < Mass{} || wanted > bucket_)
      return fail(Code::amount_not_positive,
                  fmt::format("“{}” takes {} g of plain mix, but {} g are there", step.name,
                              fixed(wanted.in_grams(), 1), fixed(bucket_.in_grams(), 1)),
                  "take less, or mix more");
    if (step.carry && (index == 0 || rest_.mass <= Mass{}))
      return fail(Code::amount_not_positive, fmt::format("nothing was left for “{}” to carry on", step.name),
                  "let the step before pour less than it has, or take plain mix");
    bucket_ = bucket_ - wanted;
    done.plain = wanted;
    if (step.carry) {
      done.carried = rest_.mass;
      done.carried_pigment = rest_.dose();
      warn_of_dark(step);
    } else {
      out_.left += rest_.mass;
      rest_ = {};
    }
    return std::nullopt;
  }

  std::optional<double> lightness_of(const std::string& pigment) const {
    for (const Pigment& p : options_.known)
      if (p.name == pigment) return p.lightness;
    return std::nullopt;
  }

  /// A trace of a dark pigment shows in a lighter colour.
  void warn_of_dark(const SplitStep& step) {
    for (const auto& [dark, grams] : rest_.pigment)
      for (const Cup& cup : step.cups)
        for (const PigmentDose& d : cup.pigments) {
          const auto before = lightness_of(dark), now = lightness_of(d.name);
          if (!before || !now || *now <= *before + 5 || grams <= 0) continue;
          out_.notes.push_back(
              {"light-after-dark",
               fmt::format("“{}” tints with {} what has {} in it: pour light colours before dark ones.",
                           step.name, d.name, dark),
               true});
          return;
        }
  }

  std::optional<Problem> fill(const SplitStep& step, FilledStep& done) {
    const Mass there = done.plain + done.carried;
    SplitOptions options = options_;
    options.pigment_ceiling = std::max(Ratio{}, options_.pigment_ceiling - share_carried(done));
    if (auto problem = check_cups(step)) return problem;
    auto split = split_mix(there, step.cups, options);
    if (!split) {
      Problem problem = split.error();
      if (problem.code == Code::pigment_over_ceiling && done.carried > Mass{})
        problem.text +=
            fmt::format(", because {} % is in it already", fixed(share_carried(done).in_percent(), 2));
      return problem;
    }
    done.cups = std::move(split->cups);
    done.aside = split->aside;
    done.residue = there - split->mix;  // less than a step of the scale, and what is left of master batches
    for (Note& n : split->notes)
      if (n.code != "rounded-down" || done.carried == Mass{}) out_.notes.push_back(std::move(n));
    return std::nullopt;
  }

  static Ratio share_carried(const FilledStep& done) {
    const double all = (done.plain + done.carried).in_grams();
    return all > 0 ? Ratio::of(done.carried_pigment.value() * done.carried.in_grams() / all) : Ratio{};
  }

  static std::optional<Problem> check_cups(const SplitStep& step) {
    const std::size_t n = step.cups.size();
    if (step.technique == Technique::side_by_side && n != 2)
      return fail(Code::usage,
                  fmt::format("“{}” pours two colours side by side, but has {} cups", step.name, n),
                  "give it two cups");
    if ((step.technique == Technique::veins || step.technique == Technique::layered) && n < 2)
      return fail(Code::usage, fmt::format("“{}” needs at least two cups", step.name),
                  step.technique == Technique::veins ? "a base and an accent" : "one for each colour");
    return std::nullopt;
  }

  /// What leaves the cups, in which order, and what stays.
  void pour(const SplitStep& step, FilledStep& done) {
    const Mass grain = options_.scale_step;
    std::vector<Mass> can(done.cups.size());
    Mass most;
    for (std::size_t i = 0; i < can.size(); ++i) {
      const Mass full = done.cups[i].mix + done.cups[i].pigment, stays = std::min(plan_.residue, full);
      done.residue += stays;
      if (stays == full && full > Mass{})
        out_.notes.push_back(
            {"colour-short",
             fmt::format("“{}” holds {} g, and as much stays in a cup: none of it is poured.",
                         done.cups[i].name, fixed(full.in_grams(), 1)),
             true});
      can[i] = full - stays;
      most += can[i];
    }
    std::vector<Mass> out = can;
    if (step.pour && *step.pour < most) {
      std::vector<std::int64_t> weights;
      for (const Mass m : can) weights.push_back(m.in_micrograms());
      const auto steps = largest_remainder(step.pour->in_micrograms() / grain.in_micrograms(), weights);
      for (std::size_t i = 0; i < out.size(); ++i) out[i] = std::min(can[i], grain * steps[i]);
    } else if (step.pour && *step.pour > most) {
      out_.notes.push_back({"colour-short",
                            fmt::format("“{}” is to pour {} g, but its cups give {} g.", step.name,
                                        fixed(step.pour->in_grams(), 1), fixed(most.in_grams(), 1)),
                            true});
    }
    hand_on(done, can, out);
    done.order = order_of(step, out);
  }

  void hand_on(FilledStep& done, const std::vector<Mass>& can, const std::vector<Mass>& out) {
    Tinted next;
    const double before = (done.plain + done.carried).in_grams();
    for (std::size_t i = 0; i < out.size(); ++i) {
      done.poured += out[i];
      const Mass left = can[i] - out[i];
      next.mass += left;
      const FilledCup& cup = done.cups[i];
      const double share = left.in_grams() / std::max(1e-9, (cup.mix + cup.pigment).in_grams());
      for (const auto& [name, grams] :
           done.carried > Mass{} ? rest_.pigment : std::map<std::string, double>())
        next.pigment[name] += grams * cup.mix.in_grams() / before * share;
      for (const Part& p : cup.pigments) next.pigment[p.name] += p.mass.in_grams() * share;
    }
    done.left = next.mass;
    rest_ = std::move(next);
  }

  std::vector<Pouring> order_of(const SplitStep& step, const std::vector<Mass>& out) const {
    std::vector<Pouring> order;
    if (step.technique == Technique::layered) return layers(step, out);
    for (std::size_t i = 0; i < out.size(); ++i) order.push_back({i, out[i], 1});
    if (step.technique != Technique::veins) return order;
    const auto base = std::max_element(out.begin(), out.end()) - out.begin();
    std::rotate(order.begin(), order.begin() + base, order.begin() + base + 1);
    for (std::size_t i = 1; i < order.size(); ++i) order[i].portions = step.portions > 0 ? step.portions : 5;
    return order;
  }

  /// In turn, so that no colour lies on itself while another is still to come.
  std::vector<Pouring> layers(const SplitStep& step, const std::vector<Mass>& out) const {
    const std::size_t cups = out.size(),
                      n = std::max(cups,
                                   step.portions > 0 ? static_cast<std::size_t>(step.portions) : 2 * cups);
    std::vector<std::vector<Mass>> portions(cups);
    for (std::size_t i = 0; i < cups; ++i) {
      const std::size_t turns = n / cups + (i < n % cups ? 1 : 0);
      const Mass whole = whole_steps(out[i], options_.scale_step);
      portions[i] = largest_remainder(whole, std::vector<double>(turns, 1.0), options_.scale_step);
      portions[i].back() += out[i] - whole;
    }
    std::vector<Pouring> order;
    for (std::size_t k = 0; k < n; ++k) order.push_back({k % cups, portions[k % cups][k / cups], 1});
    return order;
  }

  void tell_time(const SplitStep& step, FilledStep& done) {
    done.from = clock_;
    const auto cups = static_cast<double>(step.cups.size());
    clock_ += step.time > Duration() ? step.time : minutes(cups + 1);
    done.to = clock_;
    if (plan_.working_time <= Duration() || clock_ <= plan_.working_time) return;
    if (done.from < plan_.working_time)
      out_.notes.push_back(
          {"past-working-time",
           fmt::format("“{}” ends {} min after the powder went in; the mix can be poured for {} min.",
                       step.name, fixed(in_minutes(clock_), 0), fixed(in_minutes(plan_.working_time), 0)),
           true});
    else
      out_.notes.push_back(
          {"past-working-time",
           fmt::format("“{}” begins after the mix has ceased to pour: give it a batch of its own.",
                       step.name),
           true});
  }

  const SplitPlan& plan_;
  const SplitOptions& options_;
  Mass bucket_;
  Tinted rest_;
  Duration clock_;
  PlannedSplit out_;
};

}  // namespace

std::string_view name(Technique technique) {
  constexpr std::string_view names[] = {"solid", "veins", "side by side", "layered"};
  return names[static_cast<std::size_t>(technique)];
}

Expected<PlannedSplit> plan_split(Mass total, const SplitPlan& plan, const SplitOptions& options) {
  if (options.scale_step <= Mass{} || options.scale_step > recipe::coarsest)
    return fail(Code::bad_quantity, "a scale's step is not a weight", "give it like 1 g or 0.01 g");
  if (total > recipe::heaviest)
    return fail(Code::bad_quantity, "the mix to split is more than 1000 t", "check the unit");
  return StepByStep(total, plan, options).run();
}

}  // namespace pourwright
