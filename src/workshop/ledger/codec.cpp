// SPDX-License-Identifier: GPL-3.0-or-later
// Records as JSON and back. The law: what was written is read back equal, and what cannot be true is refused
// with the field's name.
#include "workshop/ledger/codec.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright::ledger {
namespace {

/// Reads the fields of one object; the first mistake is kept.
class Fields {
 public:
  explicit Fields(const Json& object) : object_(object) {}

  std::string text(const char* name) {
    const Json* j = find(name);
    if (j == nullptr) return {};
    if (!j->is_string()) return wrong(name, "is not a text"), std::string();
    return j->get<std::string>();
  }
  double number(const char* name, double fallback) {
    const Json* j = find(name);
    if (j == nullptr) return fallback;
    // A mass of 9e12 g is the most that whole micrograms can hold.
    if (!j->is_number() || !(std::abs(j->get<double>()) < 9e12))
      return wrong(name, "is not a number in range"), fallback;
    return j->get<double>();
  }
  Mass mass(const char* name) { return Mass::grams(number(name, 0)); }
  std::int64_t whole(const char* name, std::int64_t fallback) {
    const double v = number(name, static_cast<double>(fallback));
    if (v != std::floor(v)) return wrong(name, "is not a whole number"), fallback;
    return static_cast<std::int64_t>(v);
  }
  int count(const char* name) {
    const std::int64_t n = whole(name, 1);
    if (n < 1 || n > 1'000'000) return wrong(name, "is not a count from 1 to 1000000"), 1;
    return static_cast<int>(n);
  }
  Ratio ratio(const char* name) {
    const double v = number(name, 0);
    if (!(std::abs(v) <= 1e6)) return wrong(name, "is out of range"), Ratio();
    return Ratio::of(v);
  }
  bool flag(const char* name) {
    const Json* j = find(name);
    if (j != nullptr && !j->is_boolean()) wrong(name, "is neither true nor false");
    return j != nullptr && j->is_boolean() && j->get<bool>();
  }
  std::optional<Temperature> temperature(const char* name) {
    if (find(name) == nullptr) return std::nullopt;
    return celsius(number(name, 0));
  }
  const Json& list(const char* name) {
    static const Json none = Json::array();
    const Json* j = find(name);
    if (j == nullptr) return none;
    if (!j->is_array() || j->size() > 1000) return wrong(name, "is not a list of up to 1000"), none;
    return *j;
  }
  void wrong(std::string_view name, std::string_view why) {
    if (!problem_)
      problem_ = fail(Code::record_invalid, fmt::format("“{}” {}", name, why), "correct it in the file");
  }
  const std::optional<Problem>& problem() const { return problem_; }

 private:
  const Json* find(const char* name) const {
    if (!object_.is_object()) return nullptr;
    const auto it = object_.find(name);
    return it == object_.end() || it->is_null() ? nullptr : &*it;
  }
  const Json& object_;
  std::optional<Problem> problem_;
};

void put(Json& j, const char* name, const std::string& text) {
  if (!text.empty()) j[name] = text;
}
void put(Json& j, const char* name, Mass m) {
  if (m != Mass()) j[name] = m.in_grams();
}

Json water_json(const WaterFill& w) {
  Json j{{"kind", "water"}, {"mold", w.mold}};
  put(j, "content", w.content);
  j["water_g"] = w.water.in_grams();
  j["celsius"] = in_celsius(w.temperature);
  put(j, "scale_step_g", w.scale_step);
  put(j, "note", w.note);
  if (w.believed) j["believed"] = true;
  return j;
}

Json cup_json(const DensityCup& c) {
  // To the nanolitre: from mm³ to ml and back is not exact in binary, and an import must know its own export.
  const double ml = std::round(in_millilitres(c.volume) * 1e6) / 1e6;
  Json j{{"kind", "cup"}, {"mix", c.mix}, {"volume_ml", ml}, {"mass_g", c.mass.in_grams()}};
  put(j, "scale_step_g", c.scale_step);
  put(j, "note", c.note);
  put(j, "lot", c.lot);
  if (c.believed) j["believed"] = true;
  return j;
}

Json pour_json(const TestPour& p) {
  Json molds = Json::array();
  for (const PouredMold& m : p.molds) {
    Json one{{"mold", m.mold}, {"copies", m.copies}};
    put(one, "content", m.content);
    molds.push_back(std::move(one));
  }
  Json j{{"kind", "pour"},
         {"molds", std::move(molds)},
         {"mix", p.mix},
         {"ratio", p.ratio.value()},
         {"mixed_g", p.mixed.in_grams()},
         {"left_g", p.left.in_grams()},
         {"cups", p.cups}};
  if (p.ran_short) j["ran_short"] = true;
  if (p.room) j["room_c"] = in_celsius(*p.room);
  put(j, "scale_step_g", p.scale_step);
  put(j, "defects", p.defects);
  put(j, "note", p.note);
  put(j, "lot", p.lot);
  if (p.believed) j["believed"] = true;
  return j;
}

constexpr std::array<std::string_view, 3> stock_words{"bought", "used", "counted"};

Json stock_json(const StockChange& c) {
  Json j{{"kind", "stock"}, {"supply", c.supply}, {"change", name(c.kind)}, {"mass_g", c.mass.in_grams()}};
  if (c.cost) j["cost"] = amount_text(*c.cost, Currency{c.currency, 0});
  put(j, "currency", c.currency);
  put(j, "note", c.note);
  return j;
}

Expected<What> stock_from(Fields& f) {
  StockChange c;
  c.supply = f.text("supply");
  if (const auto kind = ledger::stock_kind(f.text("change")))
    c.kind = *kind;
  else
    f.wrong("change", "is not bought, used or counted");
  c.mass = f.mass("mass_g");
  c.currency = f.text("currency");
  c.note = f.text("note");
  if (const std::string cost = f.text("cost"); !cost.empty()) {
    const auto amount = parse_amount(cost, Currency{c.currency, 0});
    if (amount)
      c.cost = *amount;
    else
      f.wrong("cost", "is not an amount like 61.00");
  }
  return What(std::move(c));
}

Expected<What> pour_from(Fields& f) {
  TestPour p;
  for (const Json& one : f.list("molds")) {
    Fields m(one);
    p.molds.push_back({m.text("mold"), m.text("content"), m.count("copies")});
    if (m.problem()) return *m.problem();
  }
  p.mix = f.text("mix");
  p.ratio = f.ratio("ratio");
  p.mixed = f.mass("mixed_g");
  p.left = f.mass("left_g");
  p.cups = f.count("cups");
  p.ran_short = f.flag("ran_short");
  p.room = f.temperature("room_c");
  p.scale_step = f.mass("scale_step_g");
  p.defects = f.text("defects");
  p.note = f.text("note");
  p.lot = f.text("lot");
  p.believed = f.flag("believed");
  return What(p);
}

}  // namespace

std::optional<StockChange::Kind> stock_kind(std::string_view word) {
  const auto at = std::find(stock_words.begin(), stock_words.end(), word);
  if (at == stock_words.end()) return std::nullopt;
  return static_cast<StockChange::Kind>(at - stock_words.begin());
}

namespace {

void put_steps(Json& j, const BatchSheet& s) {
  put(j, "residue_g", s.residue);
  j["mixing_s"] = s.mixing.base();
  j["steps"] = Json::array();
  for (const auto& step : s.steps) {
    Json one{{"name", step.name}, {"technique", step.technique}, {"plain_g", step.plain.in_grams()}};
    one["shares"] = Json::array();
    for (const Ratio share : step.shares) one["shares"].push_back(share.value());
    if (step.all) one["all"] = true;
    if (step.carry) one["carry"] = true;
    put(one, "pour_g", step.pour);
    if (step.portions > 0) one["portions"] = step.portions;
    if (step.time > Duration()) one["time_s"] = step.time.base();
    j["steps"].push_back(std::move(one));
  }
}

/// Nothing but a number may stand among the shares.
BatchSheet::Step step_from(Fields& p) {
  BatchSheet::Step step;
  step.name = p.text("name");
  step.technique = p.text("technique");
  for (const Json& share : p.list("shares")) {
    const double v = share.is_number() ? share.get<double>() : 0;
    if (!(v > 0 && v <= 1)) p.wrong("shares", "are not numbers above 0, up to 1");
    step.shares.push_back(v > 0 && v <= 1 ? Ratio::of(v) : Ratio());
  }
  step.plain = p.mass("plain_g");
  step.all = p.flag("all");
  step.carry = p.flag("carry");
  step.pour = p.mass("pour_g");
  step.portions = static_cast<int>(std::clamp<std::int64_t>(p.whole("portions", 0), 0, 1000));
  step.time = Duration(std::clamp(p.number("time_s", 0), 0.0, 1e6));
  return step;
}

}  // namespace

Json sheet_json(const BatchSheet& s) {
  Json j{{"title", s.title},
         {"ratio", s.ratio.value()},
         {"density_g_per_ml", in_grams_per_millilitre(s.density)},
         {"allowance", s.allowance.value()},
         {"scale_step_g", s.scale_step.in_grams()}};
  if (s.room) j["room_c"] = in_celsius(*s.room);
  j["parts"] = j["molds"] = j["cups"] = Json::array();
  for (const auto& a : s.parts) {
    Json part{{"name", a.name}, {"g", a.mass.in_grams()}};
    if (a.kind) part["kind"] = pourwright::name(*a.kind);
    j["parts"].push_back(std::move(part));
  }
  for (const auto& m : s.molds)
    j["molds"].push_back({{"mold", m.mold}, {"copies", m.copies}, {"g", m.mix.in_grams()}});
  for (const auto& c : s.cups) {
    Json doses = Json::array();
    for (const auto& d : c.doses) doses.push_back({{"pigment", d.pigment}, {"dose", d.dose.value()}});
    j["cups"].push_back(
        {{"name", c.name}, {"share", c.share.value()}, {"g", c.mix.in_grams()}, {"doses", std::move(doses)}});
  }
  put(j, "dry_colour", s.dry_colour);
  if (!s.steps.empty()) put_steps(j, s);
  return j;
}

Expected<BatchSheet> sheet_from_json(const Json& object) {
  Fields f(object);
  BatchSheet s;
  s.title = f.text("title");
  s.ratio = f.ratio("ratio");
  s.density = grams_per_millilitre(f.number("density_g_per_ml", 0));
  s.allowance = f.ratio("allowance");
  s.scale_step = f.mass("scale_step_g");
  s.room = f.temperature("room_c");
  s.dry_colour = f.text("dry_colour");
  std::optional<Problem> inner;
  const auto each = [&](const char* name, auto take) {
    for (const Json& one : f.list(name)) {
      Fields part(one);
      take(part);
      if (part.problem() && !inner) inner = part.problem();
    }
  };
  each("parts", [&](Fields& p) {
    const std::string kind = p.text("kind");
    const auto known = part_kind(kind);
    if (!known && !kind.empty()) p.wrong("kind", "is not liquid, powder, pigment, component or water");
    s.parts.push_back({p.text("name"), known, p.mass("g")});
  });
  each("molds", [&](Fields& p) { s.molds.push_back({p.text("mold"), p.count("copies"), p.mass("g")}); });
  each("cups", [&](Fields& p) {
    BatchSheet::Cup cup{p.text("name"), p.ratio("share"), p.mass("g"), {}};
    for (const Json& one : p.list("doses")) {
      Fields d(one);
      cup.doses.push_back({d.text("pigment"), d.ratio("dose")});
      if (d.problem() && !inner) inner = d.problem();
    }
    s.cups.push_back(std::move(cup));
  });
  s.residue = f.mass("residue_g");
  s.mixing = Duration(std::clamp(f.number("mixing_s", 0), 0.0, 1e6));
  each("steps", [&](Fields& p) { s.steps.push_back(step_from(p)); });
  if (inner) return *inner;
  if (f.problem()) return *f.problem();
  return s;
}

Json to_json(const What& what) {
  if (const auto* w = std::get_if<WaterFill>(&what)) return water_json(*w);
  if (const auto* c = std::get_if<DensityCup>(&what)) return cup_json(*c);
  if (const auto* p = std::get_if<TestPour>(&what)) return pour_json(*p);
  if (const auto* w = std::get_if<Withdrawal>(&what)) {
    Json j{{"kind", "withdrawal"}, {"record", w->record}};
    put(j, "note", w->why);
    return j;
  }
  if (const auto* c = std::get_if<StockChange>(&what)) return stock_json(*c);
  if (const auto* l = std::get_if<LotOpened>(&what)) {
    Json j{{"kind", "lot"}, {"supply", l->supply}, {"lot", l->lot}};
    put(j, "note", l->note);
    return j;
  }
  const auto& s = std::get<BatchSheet>(what);
  Json j{{"kind", "sheet"}, {"mix", s.mix}, {"sheet", sheet_json(s)}};
  put(j, "note", s.note);
  return j;
}

Expected<What> from_json(const Json& object) {
  Fields f(object);
  const std::string kind = f.text("kind");
  Expected<What> what = fail(Code::record_invalid, fmt::format("“{}” is not a kind of record", kind),
                             "the kinds are water, cup, pour, withdrawal, sheet, stock and lot");
  if (kind == "water") {
    const Temperature at = f.temperature("celsius").value_or(celsius(20));
    what = What(WaterFill{f.text("mold"), f.text("content"), f.mass("water_g"), at, f.mass("scale_step_g"),
                          f.text("note"), f.flag("believed")});
  } else if (kind == "cup") {
    what = What(DensityCup{f.text("mix"), millilitres(f.number("volume_ml", 0)), f.mass("mass_g"),
                           f.mass("scale_step_g"), f.text("note"), f.text("lot"), f.flag("believed")});
  } else if (kind == "pour") {
    what = pour_from(f);
  } else if (kind == "lot") {
    what = What(LotOpened{f.text("supply"), f.text("lot"), f.text("note")});
  } else if (kind == "stock") {
    what = stock_from(f);
  } else if (kind == "withdrawal") {
    what = What(Withdrawal{f.whole("record", 0), f.text("note")});
  } else if (kind == "sheet") {
    const Json empty = Json::object();
    const bool there = object.is_object() && object.contains("sheet");
    auto sheet = sheet_from_json(there ? object.at("sheet") : empty);
    if (!sheet) return sheet.error();
    sheet->mix = f.text("mix");
    sheet->note = f.text("note");
    what = What(std::move(*sheet));
  }
  if (f.problem()) return *f.problem();
  if (!what) return what.error();
  if (auto problem = implausible(*what)) return *problem;
  return what;
}

}  // namespace pourwright::ledger

namespace pourwright {

std::string_view name(StockChange::Kind kind) {
  return ledger::stock_words[static_cast<std::size_t>(kind)];
}

}  // namespace pourwright
