// SPDX-License-Identifier: GPL-3.0-or-later
// What was learned, for programs.
#include <pourwright/report_learn.hpp>

#include "report/json_values.hpp"

namespace pourwright {
namespace {

using namespace json;

template <class T>
Json estimate(double value, double u, const Estimate<T>& e) {
  return {{"value", number(value)}, {"u", number(u)}, {"set_aside", e.set_aside}};
}
Json amount(const Uncertain& a) {
  return {{"value", number(a.value)}, {"u", number(a.u)}};
}

Json mold(const LearnedMoldRow& m) {
  Json j{{"mold", m.mold}, {"copies", m.copies}, {"water_fills", m.water_fills}, {"pours", m.pours}};
  j["file_mm3"] = m.file ? interval(*m.file) : Json(nullptr);
  j["capacity_mm3"] = m.capacity.value > Volume() ? estimate(in_cubic_millimetres(m.capacity.value),
                                                             in_cubic_millimetres(m.capacity.u), m.capacity)
                                                  : Json(nullptr);
  return j;
}

Json forecast(const Forecast& f, const LearnReport& r) {
  const double base = r.fixed_g / (1 + r.allowance.value());
  return {{"risk", f.risk.value()},
          {"pours", f.pours},
          {"of_these_molds", f.of_these_molds},
          {"expected_g", number(f.expected_g)},
          {"spread_g", number(f.spread_g)},
          {"batch_g", number(f.batch_g)},
          {"allowance", number(f.batch_g / base - 1)},
          {"residue_per_cup_g", amount(f.residue_per_cup_g)},
          {"residue_share", amount(f.residue_share)},
          {"scatter_share", number(f.scatter.value)},
          {"set_aside", f.set_aside}};
}

Json what_json(const What& what) {
  Json j{{"kind", kind_names[what.index()]}};
  if (const auto* w = std::get_if<WaterFill>(&what)) {
    j.update(
        {{"mold", w->mold}, {"water_g", grams(w->water)}, {"celsius", number(in_celsius(w->temperature))}});
    j["believed"] = w->believed;
  } else if (const auto* c = std::get_if<DensityCup>(&what)) {
    j.update({{"mix", c->mix}, {"volume_ml", number(in_millilitres(c->volume))}, {"mass_g", grams(c->mass)}});
    j["lot"] = c->lot.empty() ? Json(nullptr) : Json(c->lot);
    j["believed"] = c->believed;
  } else if (const auto* p = std::get_if<TestPour>(&what)) {
    Json molds = Json::array();
    for (const PouredMold& m : p->molds) molds.push_back({{"mold", m.mold}, {"copies", m.copies}});
    j.update({{"molds", std::move(molds)},
              {"mix", p->mix},
              {"ratio", p->ratio.value()},
              {"mixed_g", grams(p->mixed)},
              {"left_g", grams(p->left)},
              {"cups", p->cups},
              {"ran_short", p->ran_short}});
    j["room_c"] = p->room ? number(in_celsius(*p->room)) : Json(nullptr);
    j["defects"] = p->defects;
    j["lot"] = p->lot.empty() ? Json(nullptr) : Json(p->lot);
    j["believed"] = p->believed;
  } else if (const auto* w2 = std::get_if<Withdrawal>(&what)) {
    j.update({{"record", w2->record}, {"why", w2->why}});
  } else if (const auto* c2 = std::get_if<StockChange>(&what)) {
    j.update({{"supply", c2->supply}, {"change", name(c2->kind)}, {"mass_g", grams(c2->mass)}});
    const auto currency = find_currency(c2->currency);
    j["cost"] = c2->cost ? Json(amount_text(*c2->cost, currency ? *currency : Currency{c2->currency, 0}))
                         : Json(nullptr);
    j["currency"] = c2->cost ? Json(c2->currency) : Json(nullptr);
  } else if (const auto* l = std::get_if<LotOpened>(&what)) {
    j.update({{"supply", l->supply}, {"lot", l->lot}});
  } else {
    const auto& s = std::get<BatchSheet>(what);
    j.update({{"title", s.title}, {"mix", s.mix}});
  }
  return j;
}

Json record(const Record& r) {
  Json j{{"id", r.id}, {"at", moment_text(r.at)}, {"withdrawn", r.withdrawn}, {"text", record_text(r.what)}};
  j.update(what_json(r.what));
  return j;
}

}  // namespace

std::string learn_json(const LearnReport& r) {
  Json molds = Json::array();
  for (const LearnedMoldRow& m : r.molds) molds.push_back(mold(m));
  Json j{{"schema", "pourwright.learn/1"}};
  j["recorded"] = r.recorded ? record(*r.recorded) : Json(nullptr);
  j["material"] = {{"name", r.mix.name}, {"density_cups", r.density_cups}};
  j["material"]["density_g_per_ml"] =
      estimate(in_grams_per_millilitre(r.density.value), in_grams_per_millilitre(r.density.u), r.density);
  j["molds"] = std::move(molds);
  j["forecast"] = r.forecast ? forecast(*r.forecast, r) : Json(nullptr);
  j["fixed"] = {{"allowance", r.allowance.value()},
                {"batch_g", r.forecast ? number(r.fixed_g) : Json(nullptr)}};
  j["notes"] = notes(r.notes);
  return finish(j);
}

std::string stock_json(const std::vector<StockLevel>& levels) {
  Json list = Json::array();
  for (const StockLevel& level : levels) {
    const auto known = find_currency(level.currency);
    const bool priced = level.per_kilogram && known;
    list.push_back({{"name", level.supply},
                    {"g", grams(level.there)},
                    {"price_per_kg", priced ? Json(amount_text(*level.per_kilogram, *known)) : Json(nullptr)},
                    {"currency", priced ? Json(known->code) : Json(nullptr)},
                    {"to_count", level.short_of}});
  }
  return finish({{"schema", "pourwright.stock/1"}, {"stock", std::move(list)}});
}

std::string imported_json(const Imported& i) {
  return finish({{"schema", "pourwright.imported/1"}, {"added", i.added}, {"known", i.known}});
}

std::string checked_json(const std::vector<Record>& latest) {
  return finish({{"schema", "pourwright.checked/1"},
                 {"whole", true},
                 {"latest", latest.empty() ? Json(nullptr) : Json(latest.front().id)}});
}

std::string records_json(const std::vector<Record>& records) {
  Json list = Json::array();
  for (const Record& r : records) list.push_back(record(r));
  return finish({{"schema", "pourwright.records/1"}, {"records", std::move(list)}});
}

}  // namespace pourwright
