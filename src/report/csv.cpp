// SPDX-License-Identifier: GPL-3.0-or-later
// Tables for spreadsheets (RFC 4180). The law: numbers are the JSON's, and no word from outside becomes a
// formula.
#include "report/csv.hpp"

#include <pourwright/report_csv.hpp>

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {

void Table::separate() {
  if (!fresh_) out_ += decimal_ == ',' ? ';' : ',';
  fresh_ = false;
}

Table& Table::words(std::string_view text) {
  separate();
  std::string s(text);
  if (!s.empty() && std::string_view("=+-@\t\r").find(s[0]) != std::string_view::npos) s.insert(0, 1, '\'');
  if (s.find_first_of(",;\"\r\n") == std::string::npos) {
    out_ += s;
    return *this;
  }
  out_ += '"';
  for (const char c : s) out_ += c == '"' ? "\"\"" : std::string(1, c);
  out_ += '"';
  return *this;
}

Table& Table::number(std::string digits) {
  separate();
  if (decimal_ == ',') std::replace(digits.begin(), digits.end(), '.', ',');
  out_ += digits;
  return *this;
}

Table& Table::end() {
  out_ += "\r\n";
  fresh_ = true;
  return *this;
}

namespace {

std::string exact_grams(Mass m) {
  return grams_text(m, Mass::micrograms(1));
}
std::string millilitres_text(Volume v) {
  return fmt::format("{:.4f}", in_millilitres(v));
}
std::string decimals_text(double v, int decimals) {
  return fmt::format("{:.{}f}", std::abs(v) < 0.5 * std::pow(10.0, -decimals) ? 0.0 : v, decimals);
}
std::string minutes_text(const std::optional<Duration>& d) {
  return d ? decimals_text(in_minutes(*d), 2) : std::string();
}

}  // namespace

std::string card_csv(const CardReport& r, char decimal) {
  std::vector<std::string> head{"path",         "copies", "fill_ml",   "fill_low_ml",
                                "fill_high_ml", "mix_g",  "mix_low_g", "mix_high_g"};
  for (const Part& p : r.total.parts) head.push_back(p.name + "_g");
  head.emplace_back("error");
  Table t(decimal, head);
  // Parts of a row by the name that heads their column.
  const auto parts = [&](const std::vector<Part>& list) {
    for (const Part& column : r.total.parts) {
      const auto it =
          std::find_if(list.begin(), list.end(), [&](const Part& p) { return p.name == column.name; });
      t.number(it == list.end() ? "" : exact_grams(it->mass));
    }
  };
  for (const CardMold& m : r.molds) {
    t.words(m.path).number(fmt::format("{}", m.copies));
    for (const Volume v : {m.fill.value, m.fill.low, m.fill.high}) t.number(millilitres_text(v));
    for (const Mass g : {m.weighed.mix.value, m.weighed.mix.low, m.weighed.mix.high})
      t.number(exact_grams(g));
    parts(m.weighed.parts);
    t.words("").end();
  }
  for (const auto& e : r.errors) {
    t.words(e.path);
    for (std::size_t i = 1; i + 1 < head.size(); ++i) t.words("");
    t.words(e.problem.text).end();
  }
  if (r.molds.empty()) return t.take();
  t.words("total")
      .words("")
      .words("")
      .words("")
      .words("")
      .number(exact_grams(r.total.mix))
      .words("")
      .words("");
  parts(r.total.parts);
  return t.words("").end().take();
}

std::string inspect_csv(const InspectReport& r, char decimal) {
  Table t(decimal, {"path",          "walls_of",      "wall_min_mm",   "wall_p05_mm",     "wall_median_mm",
                    "thin_limit_mm", "thin_mm2",      "thin_share",    "spots",           "worst_stress_mpa",
                    "highest_risk",  "min_draft_deg", "undercut_mm2",  "undercut_share",  "undercut_depth_mm",
                    "air_caught_ml", "ceiling_mm2",   "ceiling_share", "limits_exceeded", "error"});
  const auto mm = [](Length l) { return decimals_text(in_millimetres(l), 3); };
  const auto mm2 = [](Area a) { return decimals_text(in_square_millimetres(a), 2); };
  for (const InspectRow& f : r.files) {
    t.words(f.measured.path);
    if (f.walls) {
      const Walls& w = *f.walls;
      t.words(name(w.of)).number(mm(w.min)).number(mm(w.p05)).number(mm(w.median)).number(mm(w.limit));
      t.number(mm2(w.thin_area)).number(decimals_text(w.thin_share, 5));
      t.number(fmt::format("{}", f.spots.size()));
      double stress = 0;
      Risk risk = Risk::low;
      for (const SpotRow& s : f.spots)
        stress = std::max(stress, s.stress.worst_mpa()), risk = std::max(risk, s.risk);
      if (w.of == WallsOf::piece)
        t.number(decimals_text(stress, 4)).words(name(risk));
      else
        t.words("").words("");
    } else {
      for (int i = 0; i < 10; ++i) t.words("");
    }
    if (f.release)
      t.number(decimals_text(f.release->pull.min_draft_degrees, 2))
          .number(mm2(f.release->pull.undercut))
          .number(decimals_text(f.release->pull.share, 5))
          .number(mm(f.release->pull.depth));
    else
      t.words("").words("").words("").words("");
    Volume air;
    bool looked = !f.measured.cavities.empty();
    for (const Cavity& c : f.measured.cavities) {
      if (!c.filled) continue;
      looked &= f.measured.drains.has_value();
      for (const AirTrap& trap : c.air_traps) air += trap.volume;
    }
    t.number(looked ? millilitres_text(air) : "");
    t.number(f.measured.ceiling ? mm2(f.measured.ceiling->area) : "");
    t.number(f.measured.ceiling ? decimals_text(f.measured.ceiling->share, 5) : "");
    std::string exceeded;
    for (const LimitRow& l : f.limits)
      if (l.exceeded) exceeded += (exceeded.empty() ? "" : " ") + l.limit;
    t.words(exceeded).words(f.measured.error ? f.measured.error->text : "").end();
  }
  return t.take();
}

std::string run_csv(const RunReport& r, char decimal) {
  Table t(decimal, {"batch", "colour", "material", "start_min", "poured_min", "out_min", "batch_mix_g",
                    "piece", "order", "pours", "each_g", "total_g"});
  for (const RunBatchRow& b : r.batches)
    for (const RunPieceRow& p : b.pieces) {
      t.number(fmt::format("{}", b.id)).words(b.colour).words(b.material);
      t.number(minutes_text(b.start))
          .number(minutes_text(b.poured))
          .number(minutes_text(b.out))
          .number(exact_grams(b.mix));
      t.words(p.name).words(p.order).number(fmt::format("{}", p.pours));
      t.number(exact_grams(p.each)).number(exact_grams(p.each * p.pours)).end();
    }
  return t.take();
}

std::string price_csv(const PriceReport& r, char decimal) {
  const Currency& c = r.list.currency;
  Table t(decimal, {"name",      "pieces",    "material_g", "material",      "pigment",           "waste",
                    "mold_wear", "labour",    "other",      "cost",          "price_net",         "tax",
                    "price",     "price_low", "price_high", "wholesale_net", "break_even_pieces", "currency",
                    "margin",    "markup",    "fees",       "list_price",    "wholesale_cost"});
  for (const PriceLine& l : r.list.lines) {
    t.words(l.name)
        .number(fmt::format("{}", l.pieces))
        .number(grams_text(l.material_mass, Mass::grams(0.01)));
    for (const Money m : {l.material, l.pigment, l.waste, l.mold_wear, l.labour, l.other, l.total, l.net,
                          l.tax, l.price, l.price_low, l.price_high})
      t.number(money_text(m, c));
    t.number(l.wholesale ? money_text(*l.wholesale, c) : "");
    t.number(l.break_even ? fmt::format("{}", *l.break_even) : "");
    t.words(c.code).number(fixed(l.margin.value(), 4)).number(fixed(l.markup.value(), 4));
    for (const Money m : {l.fees, l.list_price, l.shop_cost}) t.number(money_text(m, c));
    t.end();
  }
  return t.take();
}

}  // namespace pourwright
