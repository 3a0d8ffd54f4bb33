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

/// What the file says in fractions of a currency that has none; a slip of the currency, or a unit price.
void say_fractions(const File& file, Notes& notes) {
  if (file.currency.exponent > 0) return;
  std::vector<std::string> odd;
  const auto look = [&](std::string_view what, const std::optional<Amount>& a) {
    if (a && Amount::of(rounded(*a, file.currency), file.currency) != *a)
      odd.push_back(fmt::format("{} {}", what, amount_text(*a, file.currency)));
  };
  if (file.terms) {
    look("labour", file.terms->labour_per_hour);
    look("fee-per-sale", file.terms->fee_per_sale);
  }
  look("packaging", file.packaging);
  look("shipping", file.shipping);
  for (const Mold& m : file.molds) look(fmt::format("the cost of “{}”", m.name), m.cost);
  for (const Piece& p : file.pieces) {
    look(fmt::format("packaging of “{}”", p.name), p.packaging);
    look(fmt::format("shipping of “{}”", p.name), p.shipping);
  }
  for (const Supply& s : file.supplies) {
    look(fmt::format("“{}”", s.name), s.price_per_kilogram);
    for (const std::vector<PackSize>* list : {&s.packs, &s.bought})
      for (const PackSize& p : *list) look(fmt::format("a pack of “{}”", s.name), p.price);
  }
  if (odd.empty()) return;
  const std::size_t more = odd.size() > 3 ? odd.size() - 3 : 0;
  odd.resize(odd.size() - more);
  notes.push_back({"money-finer-than-coin",
                   fmt::format("{} has no half units: {}{} taken as said, and only prices are whole; is the "
                               "currency right?",
                               file.currency.code, fmt::join(odd, ", "),
                               more > 0 ? fmt::format(" and {} more", more) : std::string()),
                   true});
}

}  // namespace

void use_stock_and_prices(File& file, const RunSettings& settings, Notes& notes) {
  const MixSettings own =
      file.workshop.empty() ? settings.mix : with_workshop_of_file(settings.mix, file.folder / file.workshop);
  // What is wrong with the catalogue is said when the mix is chosen.
  const auto loaded = own.workshop.empty() ? Expected<Catalogue>(Catalogue()) : load_catalogue(own.workshop);
  const Catalogue catalogue = loaded ? *loaded : Catalogue();
  const Currency theirs = catalogue.habits ? catalogue.habits->currency : file.currency;
  if (!file.currency_given && theirs.exponent == file.currency.exponent) {
    file.currency = theirs;
    if (file.terms) file.terms->currency = theirs;
  }
  say_fractions(file, notes);
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
