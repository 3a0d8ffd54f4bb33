// SPDX-License-Identifier: GPL-3.0-or-later
// What materials cost and in which packs they come, where the run file is silent: from the workshop's own
// catalogue. The law: what the file itself says is never changed, and `run` and `price` see the same.
#include "pipeline/mix/prepare_run.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace pourwright::run_file {
namespace {

bool has_price(const Supply& s) {
  const auto priced = [](const PackSize& p) { return p.price.has_value(); };
  return s.price_per_kilogram || !s.bought.empty() || s.paid ||
         std::any_of(s.packs.begin(), s.packs.end(), priced);
}

}  // namespace

void use_stock_and_prices(File& file, const RunSettings& settings, Notes& notes) {
  MixSettings own = settings.mix;
  if (own.workshop.empty() && !file.workshop.empty()) own.workshop = file.folder / file.workshop;
  // What is wrong with the catalogue is said when the mix is chosen.
  const auto loaded = own.workshop.empty() ? Expected<Catalogue>(Catalogue()) : load_catalogue(own.workshop);
  const Catalogue catalogue = loaded ? *loaded : Catalogue();
  const Currency theirs = catalogue.habits ? catalogue.habits->currency : file.currency;
  if (!file.currency_given && theirs.exponent == file.currency.exponent) {
    file.currency = theirs;
    if (file.terms) file.terms->currency = theirs;
  }
  use_ledger(file, settings, notes);
  if (catalogue.supplies.empty()) return;
  if (theirs.code != file.currency.code) {
    notes.push_back({"workshop-prices-not-used",
                     fmt::format("the workshop's prices are in {}, this file's in {}: they were not used",
                                 theirs.code, file.currency.code),
                     true});
    return;
  }
  for (const SupplyPrice& s : catalogue.supplies) {
    auto supply = std::find_if(file.supplies.begin(), file.supplies.end(),
                               [&](const Supply& mine) { return mine.name == s.name; });
    if (supply == file.supplies.end())
      supply = file.supplies.insert(supply, Supply{s.name, std::nullopt, {}, {}, std::nullopt, std::nullopt});
    const bool silent = !has_price(*supply);
    if (supply->packs.empty()) supply->packs = s.packs;
    if (silent && s.per_kilogram) supply->price_per_kilogram = s.per_kilogram;
  }
}

}  // namespace pourwright::run_file
