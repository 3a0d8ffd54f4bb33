// SPDX-License-Identifier: GPL-3.0-or-later
// From a planned run to a price list: what every piece takes of the material, of the hands' time and of its
// mold.
#include "pipeline/mix/prepare_run.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

namespace pourwright {
namespace run_file {
namespace {

/// What one kilogram costs: as said, else the average of what was bought, else in the packs that this order
/// has to buy, else in the largest pack.
Expected<Amount> per_kilogram(const Supply& s, const std::vector<ShoppingRow>& shopping) {
  constexpr std::int64_t kilogram = 1'000'000'000;
  if (s.price_per_kilogram) return *s.price_per_kilogram;
  if (!s.bought.empty()) {
    AverageCost stock;
    for (const PackSize& b : s.bought) stock.add(b.size.in_micrograms(), *b.price);
    return stock.worth(kilogram);
  }
  if (s.paid) return *s.paid;
  for (const ShoppingRow& row : shopping)
    if (row.name == s.name && row.cost && *row.cost > Amount()) {
      Mass bought;
      for (const auto& pack : row.packs) bought += pack.size * pack.count;
      return proportion(*row.cost, kilogram, bought.in_micrograms());
    }
  const PackSize* largest = nullptr;
  for (const PackSize& p : s.packs)
    if (p.price && (largest == nullptr || p.size > largest->size)) largest = &p;
  if (largest != nullptr) return proportion(*largest->price, kilogram, largest->size.in_micrograms());
  return fail(Code::config_bad_value, fmt::format("supply “{}” has no price", s.name),
              "add price, bought or packs with prices to its [[supply]]");
}

class Costs {
 public:
  Costs(const File& file, const Prepared& prepared, const RunPlan& plan,
        const std::vector<ShoppingRow>& shopping)
      : file_(file), prepared_(prepared), plan_(plan), shopping_(shopping) {}

  Expected<std::vector<PriceBasis>> basis() {
    share_out_batches();
    std::vector<PriceBasis> out;
    for (std::size_t k = 0; k < prepared_.sources.size(); ++k) {
      auto basis = basis_of(k);
      if (!basis) return basis.error();
      out.push_back(std::move(*basis));
    }
    return out;
  }

  Expected<std::vector<PriceMaterial>> materials() {
    std::vector<PriceMaterial> out;
    for (const ChosenMix& chosen : prepared_.mixes) {
      auto material = material_of(chosen.mix);
      if (!material) return material.error();
      out.push_back(std::move(*material));
    }
    return out;
  }

 private:
  Expected<Amount> price_of(const std::string& name) {
    const auto it = std::find_if(file_.supplies.begin(), file_.supplies.end(),
                                 [&](const Supply& s) { return s.name == name; });
    if (it != file_.supplies.end()) return per_kilogram(*it, shopping_);
    std::vector<std::string> names;
    for (const Supply& s : file_.supplies) names.push_back(s.name);
    const std::string_view near = nearest_name(name, names);
    return fail(Code::config_bad_value, fmt::format("{}: nothing says what “{}” costs", file_.label, name),
                near.empty() ? fmt::format("add a [[supply]] with name = \"{}\" and its price", name)
                             : fmt::format("is the [[supply]] “{}” meant?", near));
  }

  Expected<PriceMaterial> material_of(const Mix& mix) {
    PriceMaterial out{mix.name, {}};
    for (const Proportion& p : proportions(mix)) {
      // Chips are cast from what was left of earlier batches, which has been paid.
      const auto price = p.kind == ComponentKind::chips ? Expected<Amount>(Amount()) : price_of(p.name);
      if (!price) return price.error();
      out.parts.push_back({p.name, p.millionths, *price});
    }
    return out;
  }

  Expected<Amount> mix_per_kilogram(const Mix& mix) {
    const auto material = material_of(mix);
    if (!material) return material.error();
    return per_kilogram(*material);
  }

  /// The hands' time for a batch and what stays in its bucket, by the grams of its pieces.
  void share_out_batches() {
    joint_ms_.assign(prepared_.sources.size(), 0);
    own_ms_.assign(prepared_.sources.size(), 0);
    residue_.assign(prepared_.sources.size(), Mass());
    std::vector<std::int64_t> joint(plan_.batches.size(), 0);
    for (const RunTask& t : plan_.tasks) {
      const std::int64_t ms = std::llround((t.to - t.from).base() * 1000);
      if (t.work == RunWork::finish) continue;  // each piece brings its own
      if (t.work == RunWork::demold)
        own_ms_[static_cast<std::size_t>(t.pour)] += ms;
      else if (t.work != RunWork::pour)
        joint[static_cast<std::size_t>(t.batch)] += ms;
    }
    for (std::size_t b = 0; b < plan_.batches.size(); ++b) {
      const RunBatch& batch = plan_.batches[b];
      std::vector<std::int64_t> weights;
      for (const Placed& p : batch.pours)
        weights.push_back(
            (prepared_.order.pours[static_cast<std::size_t>(p.kind)].mix * p.count).in_micrograms());
      const auto time = largest_remainder(joint[b], weights),
                 left = largest_remainder(batch.residue.in_micrograms(), weights);
      for (std::size_t i = 0; i < weights.size(); ++i) {
        const auto k = static_cast<std::size_t>(batch.pours[i].kind);
        joint_ms_[k] += time[i];
        residue_[k] += Mass::micrograms(left[i]);
        own_ms_[k] += batch.pours[i].count * std::llround(prepared_.order.pours[k].pour.base() * 1000);
      }
    }
  }

  /// The pigment in one piece of `mass`.
  Expected<Amount> pigment(const Piece& piece, Mass mass) {
    Amount sum;
    std::vector<PigmentDose> cups = piece.accents;
    cups.push_back({piece.colour, base_share(piece)});
    for (const PigmentDose& cup : cups)
      for (const Colour& c : file_.colours) {
        if (c.name != cup.name || c.dose <= Ratio()) continue;
        const auto price = price_of(c.name);
        if (!price) return price.error();
        sum += cost_of(mass * cup.dose * c.dose, *price);
      }
    return sum;
  }

  /// Good pieces beyond those wanted: of what is made, what replaces spoilt ones is none.
  std::int64_t surplus(std::int64_t made, std::int64_t wanted) const {
    const std::int64_t whole = 1'000'000, good = whole - file_.terms->failed.in_millionths();
    if (good <= 0) return 0;
    return std::max<std::int64_t>(0, made - (wanted * whole + good - 1) / good);
  }

  Expected<PriceBasis> basis_of(std::size_t k) {
    const Source& s = prepared_.sources[k];
    const RunPour& pour = prepared_.order.pours[k];
    const auto mix = mix_per_kilogram(prepared_.mixes[s.mix].mix);
    if (!mix) return mix.error();
    const std::int64_t made = std::int64_t{pour.count} * s.pieces_per_pour;
    const auto per_piece = [&](Mass m) {
      return Mass::micrograms(multiply_divide(m.in_micrograms(), 1, s.pieces_per_pour));
    };
    PriceBasis out;
    out.material = s.mix;
    PriceItem& item = out.item;
    item.name = pour.name;
    item.pieces = s.piece->wanted;
    item.material = per_piece(pour.mix);
    item.per_kilogram = *mix;
    item.low = std::min(item.material, per_piece(s.mass.low));
    item.high = std::max(item.material, per_piece(s.mass.high));
    const auto colour = pigment(*s.piece, item.material);
    if (!colour) return colour.error();
    item.pigment = *colour;
    item.residue = Mass::micrograms(multiply_divide(residue_[k].in_micrograms(), 1, made));
    item.mold = s.mold->cost;
    item.pulls = std::int64_t{s.mold->pulls} * s.pieces_per_pour;
    const double milliseconds = static_cast<double>(multiply_divide(joint_ms_[k] + own_ms_[k], 1, made));
    item.labour = Duration(milliseconds / 1000) + s.piece->finishing.value_or(Duration());
    item.packaging = s.piece->packaging.value_or(file_.packaging);
    item.shipping = s.piece->shipping.value_or(file_.shipping);
    out.surplus = surplus(made, item.pieces);
    if (file_.surplus_charged) item.surplus = out.surplus;
    item.markup = s.piece->markup;
    item.margin = s.piece->margin;
    return out;
  }

  const File& file_;
  const Prepared& prepared_;
  const RunPlan& plan_;
  const std::vector<ShoppingRow>& shopping_;
  std::vector<std::int64_t> joint_ms_, own_ms_;
  std::vector<Mass> residue_;
};

/// "powder.price=1.30", "labour=30", "margin=45%".
class Changes {
 public:
  Changes(File& file, const Prepared& prepared) : file_(file), prepared_(prepared) {}

  std::optional<Problem> apply(const std::string& text) {
    const auto equals = text.find('=');
    if (equals == std::string::npos) return wrong(text, "it is not NAME=VALUE");
    std::string name = text.substr(0, equals);
    const std::string value = text.substr(equals + 1);
    if (name == "labor") name = "labour";
    if (name.ends_with(".price")) return supply_price(text, name.substr(0, name.size() - 6), value);
    PriceTerms& t = *file_.terms;
    const std::pair<std::string_view, Amount*> amounts[] = {{"labour", &t.labour_per_hour},
                                                            {"fee-per-sale", &t.fee_per_sale},
                                                            {"shipping", &file_.shipping},
                                                            {"packaging", &file_.packaging}};
    for (const auto& [key, into] : amounts)
      if (name == key) {
        if (key == "shipping" || key == "packaging") forget_own(key);
        return set(text, parse_amount(value, t.currency), *into);
      }
    const std::pair<std::string_view, std::optional<Ratio>*> maybe[] = {
        {"discount", &t.discount},
        {"wholesale-markup", &t.wholesale_markup},
        {"wholesale-discount", &t.wholesale_discount}};
    for (const auto& [key, into] : maybe)
      if (name == key) {
        t.wholesale_markup = key.starts_with("wholesale") ? std::nullopt : t.wholesale_markup;
        t.wholesale_discount = key.starts_with("wholesale") ? std::nullopt : t.wholesale_discount;
        return set(text, parse_percent(value), into->emplace());
      }
    const std::pair<std::string_view, Ratio*> shares[] = {
        {"failed", &t.failed}, {"overhead", &t.overhead}, {"fees", &t.fees}, {"vat", &t.vat}};
    for (const auto& [key, into] : shares)
      if (name == key) return set(text, parse_percent(value), *into);
    if (name == "markup" || name == "margin") {
      Ratio share;
      if (auto p = set(text, parse_percent(value), share)) return p;
      t.markup = name == "markup" ? std::optional(share) : std::nullopt;
      t.margin = name == "margin" ? std::optional(share) : std::nullopt;
      return std::nullopt;
    }
    static const std::vector<std::string> known{
        "labour",   "failed", "overhead", "fees",     "fee-per-sale",     "vat",
        "markup",   "margin", "discount", "shipping", "wholesale-markup", "wholesale-discount",
        "packaging"};
    const std::string_view near = nearest_name(name, known);
    if (!near.empty()) return wrong(text, fmt::format("is “{}” meant?", near));
    return wrong(text, fmt::format("it can be NAME.price of a supply, {}", fmt::join(known, ", ")));
  }

 private:
  /// What holds for all goes before what a piece says.
  void forget_own(std::string_view key) {
    for (Piece& p : file_.pieces) (key == "shipping" ? p.shipping : p.packaging).reset();
  }
  static Problem wrong(const std::string& text, std::string_view why) {
    return fail(Code::usage, fmt::format("“{}” cannot be set: {}", text, why),
                "for example --set powder.price=1.30");
  }
  template <class T>
  static std::optional<Problem> set(const std::string& text, const Expected<T>& value, T& into) {
    if (!value) return wrong(text, value.error().text);
    if (*value < T()) return wrong(text, "it is negative");
    into = *value;
    return std::nullopt;
  }

  std::optional<Problem> supply_price(const std::string& text, const std::string& name,
                                      const std::string& value) {
    Amount price;
    if (auto p = set(text, parse_amount(value, file_.currency), price)) return p;
    std::vector<std::string> targets;
    for (const ChosenMix& m : prepared_.mixes) {
      if (name == "powder") targets.push_back(m.mix.powder_name);
      if (name == "liquid") targets.push_back(m.mix.liquid_name);
    }
    if (targets.empty()) targets.push_back(name);
    std::vector<std::string> names{"powder", "liquid"};
    bool found = false;
    for (Supply& s : file_.supplies) {
      names.push_back(s.name);
      if (std::find(targets.begin(), targets.end(), s.name) == targets.end()) continue;
      s.price_per_kilogram = price;
      found = true;
    }
    if (found) return std::nullopt;
    const std::string_view near = nearest_name(name, names);
    return wrong(text, near.empty() ? "no supply is called so"
                                    : fmt::format("no supply is called so; did you mean “{}”?", near));
  }

  File& file_;
  const Prepared& prepared_;
};

struct Listed {
  std::vector<PriceBasis> basis;
  std::vector<PriceMaterial> materials;
  PriceList list;
};

Expected<Listed> listed(const File& file, const Prepared& prepared, const RunPlan& plan,
                        const std::vector<ShoppingRow>& shopping) {
  Costs costs(file, prepared, plan, shopping);
  auto basis = costs.basis();
  if (!basis) return basis.error();
  auto materials = costs.materials();
  if (!materials) return materials.error();
  std::vector<PriceItem> items;
  for (const PriceBasis& b : *basis) items.push_back(b.item);
  auto list = price_list(items, *file.terms);
  if (!list) return list.error();
  return Listed{std::move(*basis), std::move(*materials), std::move(*list)};
}

/// Sold for less than it costs, and made beyond what is wanted.
void say_losses(const Listed& l, const File& file, Notes& notes) {
  const Currency& c = file.currency;
  const auto text = [&](Money m) { return money_text(m, c); };
  for (std::size_t i = 0; i < l.list.lines.size(); ++i) {
    const PriceLine& line = l.list.lines[i];
    if (line.net < line.total)
      notes.push_back({"price-below-cost",
                       fmt::format("{}: {} net is less than the {} it costs", line.name, text(line.net),
                                   text(line.total)),
                       true});
    if (line.wholesale && *line.wholesale < line.shop_cost)
      notes.push_back({"wholesale-below-cost",
                       fmt::format("{}: {} net to a shop is less than the {} it costs without fees and "
                                   "shipping",
                                   line.name, text(*line.wholesale), text(line.shop_cost)),
                       true});
    else if (line.wholesale && *line.wholesale < line.total)
      notes.push_back({"wholesale-below-cost",
                       fmt::format("{}: {} net to a shop is less than the {} it costs with the fees and "
                                   "shipping of a sale; if you pay those for a shop too, it loses",
                                   line.name, text(*line.wholesale), text(line.total)),
                       true});
    const std::int64_t over = l.basis[i].surplus;
    if (over > 0)
      notes.push_back(
          {"surplus-pieces",
           file.surplus_charged
               ? fmt::format("{}: {} made beyond the {} wanted; their cost is in the price", line.name, over,
                             line.pieces)
               : fmt::format(
                     "{}: {} made beyond the {} wanted, {} of cost; the price is that of a piece that "
                     "is sold, these pay for themselves when they are",
                     line.name, over, line.pieces, text((line.total - line.fees) * over)),
           false});
  }
}

/// The packs to buy, as far as they have a price.
std::optional<Money> to_buy(const std::vector<ShoppingRow>& shopping, const Currency& currency) {
  std::optional<Amount> sum;
  for (const ShoppingRow& row : shopping)
    if (row.cost) sum = sum.value_or(Amount()) + *row.cost;
  return sum ? std::optional(rounded(*sum, currency)) : std::nullopt;
}

}  // namespace
}  // namespace run_file

Expected<PriceReport> prices_from_file(const std::filesystem::path& path, const RunSettings& settings,
                                       const std::vector<std::string>& changes, const MeasureMolds& measure) {
  auto file = run_file::load(path);
  if (!file) return file.error();
  if (!file->terms)
    return fail(Code::config_bad_value, fmt::format("{}: there is no [price] in it", file->label),
                "add [price] with currency, labour and markup or margin; see docs/run.md");
  Notes of_stock;
  run_file::use_stock_and_prices(*file, settings, of_stock);
  const auto prepared = run_file::prepare(*file, settings, measure);
  if (!prepared) return prepared.error();
  RunOptions options;
  options.advise = false;
  const auto plan = plan_run(prepared->order, options);
  if (!plan) return plan.error();
  PriceReport out;
  out.title = file->title;
  out.workshop = prepared->mixes.front().mix.workshop;
  out.notes = prepared->notes;
  for (Note& note : of_stock)
    if (note.warning) out.notes.push_back(std::move(note));
  out.errors = prepared->errors;
  const std::vector<ShoppingRow> shopping = run_file::sheet(*file, *prepared, *plan).shopping;
  if (!changes.empty()) {
    auto before = run_file::listed(*file, *prepared, *plan, shopping);
    if (!before) return before.error();
    out.unchanged = std::move(before->list);
  }
  for (const std::string& change : changes) {
    if (auto p = run_file::Changes(*file, *prepared).apply(change)) return *p;
    out.changes.push_back({change});
  }
  auto list = run_file::listed(*file, *prepared, *plan, shopping);
  if (!list) return list.error();
  run_file::say_losses(*list, *file, out.notes);
  out.to_buy = run_file::to_buy(shopping, file->currency);
  out.terms = *file->terms;
  out.list = std::move(list->list);
  out.basis = std::move(list->basis);
  out.materials = std::move(list->materials);
  return out;
}

}  // namespace pourwright
