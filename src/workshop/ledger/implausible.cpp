// SPDX-License-Identifier: GPL-3.0-or-later
// What a record must satisfy before it is kept: once in, it is there for good.
#include <pourwright/ledger.hpp>

#include <cmath>
#include <set>

#include <fmt/format.h>

namespace pourwright {
namespace {

Problem invalid(std::string text, std::string hint) {
  return fail(Code::record_invalid, std::move(text), std::move(hint));
}

/// Valid UTF-8 of at most `longest` bytes without control characters but line breaks.
bool is_clean(std::string_view s, std::size_t longest) {
  if (s.size() > longest) return false;
  for (std::size_t i = 0; i < s.size();) {
    const auto c = static_cast<unsigned char>(s[i]);
    if (c < 0x80) {
      if ((c < 0x20 && c != '\n') || c == 0x7f) return false;
      ++i;
      continue;
    }
    const std::size_t n = c >= 0xf0 && c <= 0xf4 ? 4 : c >= 0xe0 ? 3 : c >= 0xc2 ? 2 : 0;
    if (n == 0 || c > 0xf4 || i + n > s.size()) return false;
    std::uint32_t v = c & (0xffU >> (n + 1));
    for (std::size_t k = 1; k < n; ++k) {
      const auto b = static_cast<unsigned char>(s[i + k]);
      if ((b & 0xc0) != 0x80) return false;
      v = v << 6 | (b & 0x3fU);
    }
    if ((n == 3 && v < 0x800) || (n == 4 && v < 0x10000) || (v >= 0xd800 && v < 0xe000)) return false;
    i += n;
  }
  return true;
}

std::optional<Problem> check_text(std::string_view what, std::string_view text, bool required,
                                  std::size_t longest = 2000) {
  if (required && text.empty()) return invalid(fmt::format("the record has no {}", what), "give one");
  if (!is_clean(text, longest))
    return invalid(fmt::format("the {} is longer than {} bytes or holds control characters", what, longest),
                   "shorten it");
  return std::nullopt;
}

std::optional<Problem> check_mass(std::string_view what, Mass m, bool zero_allowed = false) {
  constexpr Mass heaviest = Mass::micrograms(1'000'000'000'000'000);
  if (m < Mass() || (m == Mass() && !zero_allowed) || m > heaviest)
    return invalid(fmt::format("the {} is not between nothing and 1000 t", what),
                   "give it in grams, like 418.2g");
  return std::nullopt;
}

std::optional<Problem> first(std::initializer_list<std::optional<Problem>> problems) {
  for (const auto& p : problems)
    if (p) return p;
  return std::nullopt;
}

std::optional<Problem> check(const WaterFill& w) {
  const double t = in_celsius(w.temperature);
  // The formula for the density of water holds from 0 to 40 °C.
  if (!(t >= 0 && t <= 40))
    return invalid("the water is not between 0 and 40 °C", "measure it: --celsius 18");
  return first({check_text("mold's name", w.mold, true, 300),
                check_text("content key", w.content, false, 100), check_mass("water's mass", w.water),
                check_mass("scale's step", w.scale_step, true), check_text("note", w.note, false)});
}

std::optional<Problem> check(const DensityCup& c) {
  const double ml = in_millilitres(c.volume);
  if (!(ml > 0 && ml <= 1e9))
    return invalid("the cup's volume is not more than nothing", "give it like --ml 200");
  if (auto p = first({check_text("mix", c.mix, true, 100), check_mass("cup's mass", c.mass),
                      check_mass("scale's step", c.scale_step, true), check_text("note", c.note, false),
                      check_text("lot", c.lot, false, 100)}))
    return p;
  const double density = c.mass.in_grams() / ml;
  if (!(density >= 0.3 && density <= 5))
    return invalid(fmt::format("{:.3g} g/ml is no density of a poured mix", density),
                   "check the cup's volume and whether the empty cup was taken off the weight");
  return std::nullopt;
}

std::optional<Problem> check(const TestPour& p) {
  if (p.molds.empty() || p.molds.size() > 1000)
    return invalid("the pour names no mold", "name the molds that were poured");
  std::set<std::string_view> names;
  for (const PouredMold& m : p.molds) {
    if (auto problem = first(
            {check_text("mold's name", m.mold, true, 300), check_text("content key", m.content, false, 100)}))
      return problem;
    if (m.copies < 1 || m.copies > 1'000'000)
      return invalid("a mold was poured less than once", "give the copies poured");
    if (!names.insert(m.mold).second)
      return invalid(fmt::format("“{}” is named twice in one pour", m.mold),
                     "name it once with its copies, like bowl.stl:4");
  }
  if (p.cups < 1 || p.cups > 10'000)
    return invalid("the number of cups is not from 1 up", "give the cups that were used");
  if (p.ratio < Ratio() || p.ratio > Ratio::of(1000))
    return invalid("the ratio is not between 0 and 1000", "give it like 3.2");
  if (p.room && !(in_celsius(*p.room) >= -30 && in_celsius(*p.room) <= 60))
    return invalid("the room is not between -30 and 60 °C", "give it like --room 17C");
  if (auto problem =
          first({check_text("mix", p.mix, true, 100), check_mass("mass mixed", p.mixed),
                 check_mass("mass left", p.left, true), check_mass("scale's step", p.scale_step, true),
                 check_text("defects", p.defects, false), check_text("note", p.note, false),
                 check_text("lot", p.lot, false, 100)}))
    return problem;
  if (p.left >= p.mixed)
    return invalid("as much is left as was mixed", "give what is left in the cups after pouring");
  return std::nullopt;
}

std::optional<Problem> check(const StockChange& c) {
  if (auto p = first({check_text("supply's name", c.supply, true, 300),
                      check_mass("mass", c.mass, c.kind == StockChange::Kind::counted),
                      check_text("currency", c.currency, c.cost.has_value(), 3),
                      check_text("note", c.note, false)}))
    return p;
  if (c.cost && c.kind != StockChange::Kind::bought)
    return invalid("only what is bought has a cost", "leave the cost out");
  constexpr Amount most = Amount::billionths(1'000'000'000'000'000'000);
  if (c.cost && (*c.cost < Amount() || *c.cost >= most))
    return invalid("the cost is negative, or a thousand million and more", "give it like 61.00");
  return std::nullopt;
}

std::optional<Problem> check(const LotOpened& l) {
  return first({check_text("supply's name", l.supply, true, 300), check_text("lot", l.lot, true, 100),
                check_text("note", l.note, false)});
}

std::optional<Problem> check(const Withdrawal& w) {
  if (w.record < 1)
    return invalid("the record to withdraw has no number", "`pourwright learn list` shows the numbers");
  return check_text("reason", w.why, false);
}

std::optional<Problem> check(const BatchSheet& s) {
  const double d = in_grams_per_millilitre(s.density);
  if (!(d >= 0 && d < 100))
    return invalid("the sheet's density is no density", "give g/ml of the poured mix");
  if (s.parts.size() > 1000 || s.molds.size() > 1000 || s.cups.size() > 1000)
    return invalid("the sheet is too long", "split it");
  if (auto p = first({check_text("title", s.title, true, 300), check_text("mix", s.mix, true, 100),
                      check_text("dry colour", s.dry_colour, false), check_text("note", s.note, false)}))
    return p;
  for (const auto& part : s.parts)
    if (auto p =
            first({check_text("part's name", part.name, true, 300), check_mass("part", part.mass, true)}))
      return p;
  for (const auto& m : s.molds) {
    if (auto p = first({check_text("mold's name", m.mold, true, 300), check_mass("mold's mix", m.mix, true)}))
      return p;
    if (m.copies < 1) return invalid("a mold was poured less than once", "give the copies poured");
  }
  for (const auto& c : s.cups) {
    if (auto p = first({check_text("cup's name", c.name, true, 300), check_mass("cup's mix", c.mix, true)}))
      return p;
    for (const auto& d2 : c.doses)
      if (auto p = check_text("pigment's name", d2.pigment, true, 300)) return p;
  }
  std::size_t cups = 0;
  for (const auto& step : s.steps) {
    cups += step.shares.size();
    if (auto p =
            first({check_text("step's name", step.name, true, 300),
                   check_text("step's technique", step.technique, true, 100),
                   check_mass("step's mix", step.plain, true), check_mass("step's pour", step.pour, true)}))
      return p;
  }
  if (!s.steps.empty() && cups != s.cups.size())
    return invalid("the sheet's steps do not name its cups", "give each step the shares of its cups");
  return check_mass("residue", s.residue, true);
}

}  // namespace

std::optional<Problem> implausible(const What& what) {
  return std::visit([](const auto& w) { return check(w); }, what);
}

}  // namespace pourwright
