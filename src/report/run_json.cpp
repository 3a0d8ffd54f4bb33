// SPDX-License-Identifier: GPL-3.0-or-later
// Production runs and price lists for programs; money is text with the currency's decimals.
#include <pourwright/report_run.hpp>

#include "report/json_values.hpp"

namespace pourwright {
namespace {

using json::Json;

std::string_view name(RunWork work) {
  switch (work) {
    case RunWork::weigh:
      return "weigh";
    case RunWork::mix:
      return "mix";
    case RunWork::split:
      return "split";
    case RunWork::pour:
      return "pour";
    case RunWork::clean:
      return "clean";
    case RunWork::demold:
      return "demold";
    case RunWork::finish:
      return "finish";
  }
  return "";
}

/// Minutes of work since the first morning.
Json minute(const std::optional<Duration>& d) {
  return d ? json::number(in_minutes(*d)) : Json(nullptr);
}

Json batch(const RunBatchRow& b) {
  Json pieces = Json::array(), cups = Json::array();
  for (const RunPieceRow& p : b.pieces) {
    Json j{{"name", p.name},
           {"count", p.pours},
           {"g", json::grams(p.each)},
           {"total_g", json::grams(p.each * p.pours)}};
    j["order"] = p.order.empty() ? Json(nullptr) : Json(p.order);
    j["colours"] = Json::array();
    for (const RunPieceRow::Colour& c : p.colours)
      j["colours"].push_back({{"name", c.name}, {"g", json::grams(c.each)}});
    pieces.push_back(std::move(j));
  }
  for (const RunCupRow& c : b.cups)
    cups.push_back({{"name", c.name}, {"g", json::grams(c.mix)}, {"pigments", json::parts(c.pigments)}});
  Json j{{"id", b.id},
         {"colour", b.colour},
         {"material", b.material},
         {"mix_g", json::grams(b.mix)},
         {"residue_g", json::grams(b.residue)}};
  j["pieces"] = std::move(pieces);
  j["parts"] = json::parts(b.parts);
  j["ratio_weighed"] = b.ratio_weighed.value();
  j["cups"] = std::move(cups);
  j["start_min"] = minute(b.start);
  j["poured_min"] = minute(b.poured);
  j["out_min"] = minute(b.out);
  j["spare_min"] = minute(b.spare);
  return j;
}

Json shopping(const ShoppingRow& r, const Currency& currency) {
  Json packs = Json::array();
  for (const ShoppingRow::Pack& p : r.packs)
    packs.push_back({{"size_g", json::grams(p.size)}, {"count", p.count}});
  Json j{{"name", r.name},
         {"kind", name(r.kind)},
         {"need_g", json::grams(r.need)},
         {"stock_g", json::grams(r.stock)},
         {"buy_g", json::grams(r.buy)}};
  j["packs"] = std::move(packs);
  j["cost"] = r.cost ? Json(money_text(rounded(*r.cost, currency), currency)) : Json(nullptr);
  return j;
}

Json day(const RunReport& r) {
  const RunLimits& l = r.order.limits;
  Json breaks = Json::array();
  for (const RunBreak& b : l.breaks)
    breaks.push_back({{"from_min", in_minutes(b.from)}, {"to_min", in_minutes(b.to)}});
  Json j{{"starts_at_min", r.start_minute},
         {"length_min", in_minutes(l.day)},
         {"days", r.plan.days},
         {"finish_min", in_minutes(r.plan.finish)},
         {"proven", r.plan.day_proven},
         {"reserve", l.reserve.value()}};
  j["breaks"] = std::move(breaks);
  return j;
}

Json failures(const std::vector<CardReport::Failure>& list) {
  Json out = Json::array();
  for (const auto& f : list) {
    Json j;
    json::put_path(j, f.path);
    j.update(json::problem(f.problem));
    out.push_back(std::move(j));
  }
  return out;
}

Json line(const PriceLine& l, const Currency& c) {
  const auto text = [&](Money m) { return money_text(m, c); };
  Json j{{"name", l.name}, {"pieces", l.pieces}, {"material_g", json::grams(l.material_mass)}};
  j["cost"] = {{"material", text(l.material)},   {"pigment", text(l.pigment)}, {"waste", text(l.waste)},
               {"mold_wear", text(l.mold_wear)}, {"labour", text(l.labour)},   {"other", text(l.other)},
               {"total", text(l.total)}};
  j["fees"] = text(l.fees);
  j["list_price"] = text(l.list_price);
  j["price_net"] = text(l.net);
  j["tax"] = text(l.tax);
  j["price"] = text(l.price);
  j["price_low"] = text(l.price_low);
  j["price_high"] = text(l.price_high);
  j["wholesale_net"] = l.wholesale ? Json(text(*l.wholesale)) : Json(nullptr);
  j["wholesale_cost"] = text(l.shop_cost);
  j["margin"] = l.margin.value();
  j["markup"] = l.markup.value();
  j["break_even_pieces"] = l.break_even ? Json(*l.break_even) : Json(nullptr);
  return j;
}

}  // namespace

std::string run_json(const RunReport& r) {
  Json batches = Json::array(), shop = Json::array(), tasks = Json::array();
  for (const RunBatchRow& b : r.batches) batches.push_back(batch(b));
  for (const ShoppingRow& s : r.shopping) shop.push_back(shopping(s, r.currency));
  for (const RunTask& t : r.plan.tasks) {
    Json j{{"work", name(t.work)},
           {"batch", t.batch + 1},
           {"from_min", in_minutes(t.from)},
           {"to_min", in_minutes(t.to)}};
    if (t.work == RunWork::demold || t.work == RunWork::finish) {
      j["piece"] = r.order.pours[static_cast<std::size_t>(t.pour)].name;
      j["count"] = t.count;
    }
    tasks.push_back(std::move(j));
  }
  Json j{{"schema", "pourwright.run/1"}, {"title", r.title.empty() ? Json(nullptr) : Json(r.title)}};
  j["batches"] = std::move(batches);
  j["batch_count"] = r.batches.size();
  j["lower_bound"] = r.plan.lower_bound;
  j["proven"] = r.plan.batches_proven;
  j["waste_g"] = json::grams(r.plan.residue);
  j["waste_proven"] = r.plan.waste_proven;
  j["shopping"] = std::move(shop);
  j["from_stock"] = nullptr;
  if (r.from_stock) {
    Json pieces = Json::array();
    for (const FromStock::Row& p : r.from_stock->pieces)
      pieces.push_back({{"name", p.name}, {"pieces", p.pieces}});
    j["from_stock"] = {{"batches", r.from_stock->batches}, {"pieces", std::move(pieces)}};
  }
  j["day"] = r.plan.tasks.empty() ? Json(nullptr) : day(r);
  j["tasks"] = std::move(tasks);
  j["advice"] = Json::array();
  for (const RunAdvice& a : r.plan.advice)
    j["advice"].push_back(
        {{"limit", a.limit},
         {"mold", a.mold < 0 ? Json(nullptr) : Json(r.order.molds[static_cast<std::size_t>(a.mold)].name)},
         {"more", a.mold < 0 ? Json(nullptr) : Json(a.more)},
         {"batches_saved", a.batches_saved},
         {"saved_min", in_minutes(a.time_saved)},
         {"days_saved", a.days_saved}});
  j["cautions"] = r.cautions;
  j["notes"] = json::notes(r.notes);
  j["errors"] = failures(r.errors);
  return json::finish(j);
}

std::string price_json(const PriceReport& r) {
  const Currency& c = r.list.currency;
  Json lines = Json::array();
  for (std::size_t i = 0; i < r.list.lines.size(); ++i) {
    Json l = line(r.list.lines[i], c);
    l["surplus"] = r.basis[i].surplus;
    l["price_before"] = r.unchanged ? Json(money_text(r.unchanged->lines[i].price, c)) : Json(nullptr);
    lines.push_back(std::move(l));
  }
  Json j{{"schema", "pourwright.price/1"},
         {"title", r.title.empty() ? Json(nullptr) : Json(r.title)},
         {"currency", c.code}};
  j["lines"] = std::move(lines);
  j["order"] = {{"net", money_text(r.list.net, c)},
                {"tax", money_text(r.list.tax, c)},
                {"gross", money_text(r.list.gross, c)},
                {"tax_on", r.list.vat_on_total ? "total" : "line"},
                {"to_buy", r.to_buy ? Json(money_text(*r.to_buy, c)) : Json(nullptr)}};
  j["set"] = Json::array();
  for (const auto& change : r.changes) j["set"].push_back(change.what);
  j["notes"] = json::notes(r.notes);
  j["errors"] = failures(r.errors);
  return json::finish(j);
}

}  // namespace pourwright
