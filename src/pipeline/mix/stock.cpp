// SPDX-License-Identifier: GPL-3.0-or-later
// What stands on the shelf: bought, counted, used, and taken by every pour that was recorded since.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/price.hpp>

#include <algorithm>
#include <iterator>
#include <limits>
#include <map>

namespace pourwright {
namespace {

constexpr std::int64_t kilogram = 1'000'000'000;

class Shelf {
 public:
  void apply(const StockChange& c) {
    if (c.kind == StockChange::Kind::used) return take(c.mass);
    if (c.kind == StockChange::Kind::counted) return count(c.mass);
    there_ += c.mass;
    if (!c.cost) return add_at_average(c.mass);
    // Prices of two currencies have no average: the later one counts.
    if (currency_ != c.currency) stock_ = AverageCost();
    currency_ = c.currency;
    stock_.add(c.mass.in_micrograms(), *c.cost);
  }

  void take(Mass mass) {
    if (mass > there_) short_of_ = true;
    mass = std::min(mass, there_);
    there_ = there_ - mass;
    // The price outlives the last gram.
    if (stock_.quantity() > mass.in_micrograms()) stock_.take(mass.in_micrograms());
  }

  StockLevel level(const std::string& supply) const {
    StockLevel out{supply, there_, std::nullopt, currency_, short_of_};
    if (stock_.quantity() > 0) out.per_kilogram = stock_.worth(kilogram);
    return out;
  }

 private:
  void count(Mass mass) {
    if (mass > there_)
      add_at_average(mass - there_);
    else
      take(there_ - mass);
    there_ = mass;
    short_of_ = false;
  }

  void add_at_average(Mass mass) {
    if (stock_.quantity() > 0) stock_.add(mass.in_micrograms(), stock_.worth(mass.in_micrograms()));
  }

  Mass there_;
  AverageCost stock_;
  std::string currency_;
  bool short_of_ = false;
};

/// Every record of a kind that stands, oldest first.
Expected<std::vector<Record>> all_of(const Ledger& ledger, std::string kind, std::int64_t after) {
  Query q;
  q.kind = std::move(kind);
  q.oldest_first = true;
  q.after = after;
  q.limit = 5000;
  std::vector<Record> out;
  for (;;) {
    auto some = ledger.records(q);
    if (!some) return some.error();
    std::move(some->begin(), some->end(), std::back_inserter(out));
    if (some->size() < q.limit) return out;
    q.after = out.back().id;
  }
}

/// The parts of what was mixed, by the mix's proportions and the ratio that was weighed.
void take_pour(const TestPour& pour, const Catalogue& catalogue, std::map<std::string, Shelf>& shelves) {
  const auto mix = std::find_if(catalogue.mixes.begin(), catalogue.mixes.end(),
                                [&](const Mix& m) { return m.key == pour.mix; });
  if (mix == catalogue.mixes.end()) return;
  Mix as_weighed = *mix;
  if (pour.ratio > Ratio()) as_weighed.ratio = pour.ratio;
  const std::vector<Proportion> parts = proportions(as_weighed);
  std::int64_t whole = 0;
  for (const Proportion& p : parts) whole += p.millionths;
  for (const Proportion& p : parts) {
    const auto shelf = shelves.find(p.name);
    if (shelf == shelves.end() || whole <= 0) continue;
    shelf->second.take(Mass::micrograms(multiply_divide(pour.mixed.in_micrograms(), p.millionths, whole)));
  }
}

}  // namespace

Expected<std::vector<StockLevel>> stock_levels(const MixSettings& settings) {
  std::vector<StockLevel> out;
  std::error_code error;
  if (settings.ledger.empty() || !std::filesystem::exists(settings.ledger, error)) return out;
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  const auto changes = all_of(*ledger, "stock", 0);
  if (!changes) return changes.error();
  if (changes->empty()) return out;
  const auto pours = all_of(*ledger, "pour", changes->front().id);
  if (!pours) return pours.error();
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  std::map<std::string, Shelf> shelves;
  auto pour = pours->begin();
  const auto pour_until = [&](std::int64_t id) {
    for (; pour != pours->end() && pour->id < id; ++pour)
      take_pour(std::get<TestPour>(pour->what), *catalogue, shelves);
  };
  for (const Record& r : *changes) {
    pour_until(r.id);
    const auto& change = std::get<StockChange>(r.what);
    shelves[change.supply].apply(change);
  }
  pour_until(std::numeric_limits<std::int64_t>::max());
  for (const auto& [supply, shelf] : shelves) out.push_back(shelf.level(supply));
  return out;
}

}  // namespace pourwright
