// SPDX-License-Identifier: GPL-3.0-or-later
// Limits that users set: read strictly, held against plain values.
#include <pourwright/pipeline_inspect.hpp>

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

enum class Unit : std::uint8_t { millimetres, degrees, megapascals, millilitres, area_or_share, risk };

struct Figure {
  std::string_view name;
  Limited what;
  Unit unit;
  std::string_view example;
};
constexpr std::array kinds{
    Figure{"wall", Limited::wall, Unit::millimetres, "wall<2mm"},
    Figure{"p05", Limited::p05, Unit::millimetres, "p05<3mm"},
    Figure{"median", Limited::median, Unit::millimetres, "median<5mm"},
    Figure{"thin", Limited::thin, Unit::area_or_share, "thin>5%"},
    Figure{"stress", Limited::stress, Unit::megapascals, "stress>0.5MPa"},
    Figure{"risk", Limited::risk, Unit::risk, "risk>=watch"},
    Figure{"draft", Limited::draft, Unit::degrees, "draft<1deg"},
    Figure{"undercut", Limited::undercut, Unit::area_or_share, "undercut>10mm2"},
    Figure{"depth", Limited::depth, Unit::millimetres, "depth>0.5mm"},
    Figure{"trap", Limited::trap, Unit::millilitres, "trap>1ml"},
    Figure{"ceiling", Limited::ceiling, Unit::area_or_share, "ceiling>5%"},
};

std::string_view without_blanks(std::string_view s) {
  while (!s.empty() && s.front() == ' ') s.remove_prefix(1);
  while (!s.empty() && s.back() == ' ') s.remove_suffix(1);
  return s;
}

/// A number whose unit may be left out.
Expected<double> with_unit(std::string_view text, std::initializer_list<std::string_view> units,
                           std::string_view example) {
  for (const std::string_view u : units)
    if (text.ends_with(u)) {
      text = without_blanks(text.substr(0, text.size() - u.size()));
      break;
    }
  auto v = parse_number(text);
  if (!v) return fail(v.error().code, v.error().text, fmt::format("for example {}", example));
  return v;
}

std::optional<Problem> read_value(std::string_view text, const Figure& kind, Limit& limit) {
  const auto take = [&](const Expected<double>& v) -> std::optional<Problem> {
    if (!v) return v.error();
    limit.value = *v;
    return std::nullopt;
  };
  switch (kind.unit) {
    case Unit::millimetres: {
      const auto v = parse_length(text);
      if (!v) return v.error();
      limit.value = in_millimetres(*v);
      return std::nullopt;
    }
    case Unit::millilitres: {
      const auto v = parse_volume(text);
      if (!v) return v.error();
      limit.value = in_millilitres(*v);
      return std::nullopt;
    }
    case Unit::degrees:
      return take(with_unit(text, {"degrees", "deg", "°"}, kind.example));
    case Unit::megapascals:
      return take(with_unit(text, {"MPa", "mpa", "N/mm2", "N/mm²"}, kind.example));
    case Unit::area_or_share: {
      limit.is_share = text.ends_with('%');
      if (limit.is_share) {
        const auto v = parse_percent(text);
        if (!v) return v.error();
        limit.value = v->value();
        return std::nullopt;
      }
      const bool square_centimetres = text.ends_with("cm2") || text.ends_with("cm²");
      auto problem = take(with_unit(text, {"mm2", "mm²", "cm2", "cm²"}, kind.example));
      if (square_centimetres) limit.value *= 100;
      return problem;
    }
    case Unit::risk:
      for (const Risk r : {Risk::low, Risk::watch, Risk::high})
        if (text == name(r)) {
          limit.value = static_cast<double>(r);
          return std::nullopt;
        }
      return fail(Code::usage, fmt::format("“{}” is no risk", text), "it is low, watch or high");
  }
  return std::nullopt;
}

bool holds(double found, Limit::Sign sign, double value) {
  switch (sign) {
    case Limit::Sign::less:
      return found < value;
    case Limit::Sign::at_most:
      return found <= value;
    case Limit::Sign::more:
      return found > value;
    case Limit::Sign::at_least:
      return found >= value;
    case Limit::Sign::equal:
      return found == value;
  }
  return false;
}

struct Found {
  double value = 0;
  std::string text;
};

std::string mm(Length l) {
  return fmt::format("{:.4g} mm", in_millimetres(l));
}

Found of_walls(Limited what, const InspectRow& row, bool share) {
  const Walls& w = *row.walls;
  const auto worst = [&](auto value) {
    double most = 0;
    for (const SpotRow& s : row.spots) most = std::max(most, value(s));
    return most;
  };
  switch (what) {
    case Limited::p05:
      return {in_millimetres(w.p05), "5 % of the surface is thinner than " + mm(w.p05)};
    case Limited::median:
      return {in_millimetres(w.median), "half of the surface is thinner than " + mm(w.median)};
    case Limited::thin:
      return {share ? w.thin_share : in_square_millimetres(w.thin_area),
              fmt::format("{:.4g} mm² or {:.3g} % of the surface is thinner than {}",
                          in_square_millimetres(w.thin_area), 100 * w.thin_share, mm(w.limit))};
    case Limited::stress: {
      const double s = worst([](const SpotRow& r) { return r.stress.worst_mpa(); });
      return {s, fmt::format("the largest stress is {:.3g} MPa", s)};
    }
    case Limited::risk: {
      const double r = worst([](const SpotRow& s) { return static_cast<double>(s.risk); });
      return {r, fmt::format("the highest risk is {}", name(static_cast<Risk>(r)))};
    }
    default:
      return {in_millimetres(w.min), "the thinnest wall is " + mm(w.min)};
  }
}

Found of_release(Limited what, const Pull& r, bool share) {
  switch (what) {
    case Limited::draft:
      return {r.min_draft_degrees, fmt::format("the least draft is {:.3g}°", r.min_draft_degrees)};
    case Limited::depth:
      return {in_millimetres(r.depth),
              fmt::format("the deepest undercut is {:.3g} mm", in_millimetres(r.depth))};
    default:
      return {share ? r.share : in_square_millimetres(r.undercut),
              fmt::format("{:.4g} mm² or {:.3g} % of the wall is undercut", in_square_millimetres(r.undercut),
                          100 * r.share)};
  }
}

std::optional<Found> of_cavities(Limited what, const MeasureRow& m, bool share) {
  if (what == Limited::ceiling) {
    if (!m.ceiling) return std::nullopt;
    return Found{share ? m.ceiling->share : in_square_millimetres(m.ceiling->area),
                 fmt::format("{:.4g} mm² or {:.3g} % of the wall is ceiling",
                             in_square_millimetres(m.ceiling->area), 100 * m.ceiling->share)};
  }
  Volume caught;
  for (const Cavity& c : m.cavities) {
    if (!c.filled) continue;
    if (!m.drains) return std::nullopt;  // air was not looked for
    for (const AirTrap& t : c.air_traps) caught += t.volume;
  }
  return Found{in_millilitres(caught), fmt::format("{:.3g} ml of air are caught", in_millilitres(caught))};
}

}  // namespace

Expected<Limit> parse_limit(std::string_view text) {
  Limit limit;
  limit.text = text;
  const auto sign = text.find_first_of("<>=");
  const auto complain = [&](std::string why, std::string hint) {
    return fail(Code::usage, fmt::format("“{}”: {}", text, why), std::move(hint));
  };
  if (sign == std::string_view::npos)
    return complain("a limit needs <, <=, >, >= or =",
                    "for example --fail-if 'wall<2mm'; quote it for the shell");
  const std::string_view word = without_blanks(text.substr(0, sign));
  const auto kind = std::find_if(kinds.begin(), kinds.end(), [&](const Figure& k) { return k.name == word; });
  if (kind == kinds.end()) {
    std::vector<std::string> names;
    for (const Figure& k : kinds) names.emplace_back(k.name);
    const std::string_view near = nearest_name(word, names);
    return complain(fmt::format("there is no limit on “{}”", word),
                    near.empty() ? fmt::format("limits are on {}", fmt::join(names, ", "))
                                 : fmt::format("did you mean “{}”?", near));
  }
  limit.what = kind->what;
  const bool or_equal = sign + 1 < text.size() && text[sign + 1] == '=';
  limit.sign = text[sign] == '='   ? Limit::Sign::equal
               : text[sign] == '<' ? (or_equal ? Limit::Sign::at_most : Limit::Sign::less)
                                   : (or_equal ? Limit::Sign::at_least : Limit::Sign::more);
  if (text[sign] == '=' && kind->unit != Unit::risk)
    return complain("a measured value is never exactly equal to another",
                    fmt::format("for example {}", kind->example));
  const std::string_view value = without_blanks(text.substr(sign + (or_equal && text[sign] != '=' ? 2 : 1)));
  if (value.empty()) return complain("the value is missing", fmt::format("for example {}", kind->example));
  if (auto problem = read_value(value, *kind, limit))
    return complain(problem->text,
                    problem->hint.empty() ? fmt::format("for example {}", kind->example) : problem->hint);
  if (!(limit.value >= 0) && kind->unit != Unit::degrees)
    return complain("a limit below zero is never reached", fmt::format("for example {}", kind->example));
  return limit;
}

Expected<LimitRow> check_limit(const Limit& limit, const InspectRow& row) {
  std::optional<Found> found;
  switch (limit.what) {
    case Limited::draft:
    case Limited::undercut:
    case Limited::depth:
      if (row.release) found = of_release(limit.what, row.release->pull, limit.is_share);
      break;
    case Limited::trap:
    case Limited::ceiling:
      found = of_cavities(limit.what, row.measured, limit.is_share);
      break;
    case Limited::stress:
    case Limited::risk:
      if (row.walls && row.walls->of == WallsOf::mold)
        return fail(Code::usage,
                    fmt::format("“{}” is about the piece, and the mold's walls were asked for", limit.text),
                    "leave out --of mold");
      [[fallthrough]];
    default:
      if (row.walls) found = of_walls(limit.what, row, limit.is_share);
  }
  if (!found)
    return fail(Code::usage, fmt::format("“{}” cannot be checked: it was not measured", limit.text),
                "leave out --quick and --only, or this limit");
  return LimitRow{limit.text, holds(found->value, limit.sign, limit.value), found->text};
}

}  // namespace pourwright
