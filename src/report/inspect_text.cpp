// SPDX-License-Identifier: GPL-3.0-or-later
// What inspect shows: the walls, what may snap and what helps, how it leaves the mold.
#include <pourwright/numbers.hpp>
#include <pourwright/report_inspect.hpp>

#include "report/phrases.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr std::size_t most_spots = 6;

std::string mm(Length l) {
  const double v = in_millimetres(l);
  if (v > 0 && v < 0.01) return "<0.01 mm";
  return fmt::format("{} mm", fixed(v, v < 1 ? 2 : v < 20 ? 1 : 0));
}

std::string cm2(Area a) {
  const double v = in_square_millimetres(a);
  return v < 1000 ? significant(v, 3) + " mm²" : fmt::format("{} cm²", fixed(v / 100, v < 1e5 ? 1 : 0));
}

std::string place(const Point& p) {
  const auto n = [](double v) { return fixed(std::abs(v) < 0.05 ? 0.0 : v, 1); };
  return fmt::format("({}, {}, {})", n(p[0]), n(p[1]), n(p[2]));
}

/// "+z", or the direction in numbers.
std::string direction(const Point& d) {
  static constexpr std::string_view axes = "xyz";
  for (std::size_t k = 0; k < 3; ++k)
    if (std::abs(d[k]) > 0.99985) return fmt::format("{}{}", d[k] > 0 ? '+' : '-', axes[k]);
  const auto n = [](double v) { return fixed(std::abs(v) < 0.005 ? 0.0 : v, 2); };
  return fmt::format("({}, {}, {})", n(d[0]), n(d[1]), n(d[2]));
}

/// A direction whose sign says nothing.
std::string axis(const Point& d) {
  const std::string s = direction(d[2] < 0 ? Point{-d[0], -d[1], -d[2]} : d);
  return s[0] == '+' || s[0] == '-' ? s.substr(1) : s;
}

std::string percent(double share) {
  return fmt::format("{} %", fixed(100 * share, share < 0.0995 ? 1 : 0));
}

/// Thickness against share of the surface, a bar for each bin.
std::string bars(const Walls& w, bool unicode) {
  static constexpr std::string_view block[] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
  static constexpr std::string_view plain = ".:-=+*#@";
  const double most = *std::max_element(w.histogram.share.begin(), w.histogram.share.end());
  std::string s;
  for (const double share : w.histogram.share) {
    if (!(share > 0)) {
      s += ' ';
      continue;
    }
    const auto level = static_cast<std::size_t>(std::clamp(share / most * 8 - 1e-9, 0.0, 7.0));
    if (unicode)
      s += block[level];
    else
      s += plain[level];
  }
  return s;
}

class InspectPage {
 public:
  InspectPage(const InspectReport& report, const TextStyle& style) : r_(report), page_(style) {}

  std::string take() {
    for (std::size_t i = 0; i < r_.files.size(); ++i) {
      if (i > 0) page_.line();
      file(r_.files[i]);
    }
    const bool any = std::any_of(r_.files.begin(), r_.files.end(), [](const InspectRow& f) {
      return f.measured.ok() && f.walls && f.walls->of == WallsOf::piece && !f.spots.empty();
    });
    std::string_view label = "Take care";
    if (any)
      for (const std::string& c : r_.cautions) say(std::exchange(label, {}), c);
    return page_.take();
  }

 private:
  void say(std::string_view label, const std::string& text, bool warning = false) {
    page_.entry(label, localized(text, page_.style().decimal), warning);
  }

  void file(const InspectRow& f) {
    const MeasureRow& m = f.measured;
    const std::string what = !m.ok()                                   ? "not inspected"
                             : f.walls && f.walls->of == WallsOf::mold ? "the mold's own walls"
                             : m.read_as(Reading::piece)               ? "the piece"
                                                                       : "the piece cast in it";
    page_.title(file_name(m.path), what);
    if (!m.ok()) {
      say("Problem", m.error->text, true);
      if (!m.error->hint.empty()) say("", m.error->hint);
      return;
    }
    if (f.walls) walls(f);
    if (f.release) release(*f.release, m.read_as(Reading::piece));
    air(m);
    rest(m.notes);
    std::string_view label = "Limits";
    for (const LimitRow& l : f.limits)
      say(std::exchange(label, {}),
          fmt::format("{} {}: {}", l.limit, l.exceeded ? "is exceeded" : "is kept", l.text), l.exceeded);
  }

  void walls(const InspectRow& f) {
    const Walls& w = *f.walls;
    say("Walls", fmt::format("thinnest {} at {}; 5 % under {}, half under {} ({} places)", mm(w.min),
                             place(w.min_at), mm(w.p05), mm(w.median), w.samples));
    if (w.histogram.share.size() > 1 && w.histogram.step > Length()) {
      const double span =
          in_millimetres(w.histogram.step) * static_cast<double>(w.histogram.share.size() - 1);
      page_.line(left("", 12) + bars(w, page_.style().unicode));
      const std::string top = localized(significant(span, 3) + " mm+", page_.style().decimal);
      page_.line(page_.faint(left("", 12) + left("0", static_cast<int>(w.histogram.share.size()) - 1) + top));
    }
    if (w.thin_share > 0)
      say("Thin", fmt::format("{} or {} of the surface is under {} mm ({})", cm2(w.thin_area),
                              percent(w.thin_share), significant(in_millimetres(w.limit), 3),
                              f.limit_from == "option" ? "--min-wall" : "for " + f.limit_from));
    else
      say("Thin", fmt::format("nothing is under {} mm", significant(in_millimetres(w.limit), 3)));
    if (f.spots.empty()) return;
    const bool of_piece = w.of == WallsOf::piece;
    spots(f.spots, of_piece);
    if (!of_piece) return;
    demold(f.spots);
    advice(f.spots);
  }

  void spots(const std::vector<SpotRow>& list, bool of_piece) {
    phrases::Rows rows{{"spot", "thick", "reach", "width"}};
    if (of_piece) rows[0].insert(rows[0].end(), {"stress", "risk"});
    rows[0].emplace_back("where");
    const char decimal = page_.style().decimal;
    for (std::size_t i = 0; i < std::min(list.size(), most_spots); ++i) {
      const SpotRow& s = list[i];
      const ThinSpot& t = s.spot;
      std::vector<std::string> row{fmt::format("{} {}", i + 1, name(t.kind)), mm(t.thickness),
                                   mm(t.kind == ThinKind::plate ? t.span : t.reach), mm(t.width)};
      if (of_piece)
        row.insert(row.end(), {s.feather ? std::string("chips") : fixed(s.stress.worst_mpa(), 2) + " MPa",
                               std::string(name(s.risk))});
      row.push_back(place(t.at));
      for (std::string& cell : row) cell = localized(std::move(cell), decimal);
      rows.push_back(std::move(row));
    }
    page_.line();
    phrases::table(page_, rows, {.indent = 2, .warned = [&](std::size_t i) {
                                   return of_piece && i > 0 && list[i - 1].risk == Risk::high;
                                 }});
    if (list.size() > most_spots)
      page_.line(page_.faint(fmt::format("  and {} more, less strained", list.size() - most_spots)));
    page_.line();
  }

  void demold(const std::vector<SpotRow>& list) {
    const DemoldTime& t = r_.time;
    say("Demold", fmt::format("taken out {} after pouring, in a room of {} °C", duration_text(t.age),
                              significant(in_celsius(t.room), 3)));
    for (const Note& n : r_.notes) say("", n.text, n.warning);
    const std::string_view assumed =
        r_.strength.demold_assumed ? "; a demold time of 45 min was assumed" : "";
    const std::string strength = significant(t.strength_mpa, 2);
    if (r_.strength.measured)
      say("", fmt::format("strength then about {} MPa, from {}{}", strength, r_.strength.from, assumed));
    else
      say("", fmt::format("nobody measured how strong this mix is then, so this is an order, not a forecast: "
                          "{}; low would hold even at {} MPa, from {}{}",
                          first_to_snap(list), strength, r_.strength.from, assumed));
    const Handling& h = r_.handling;
    say("",
        fmt::format(
            "against peeling the mold off with {} N per mm of edge, a finger {} mm wide that pushes the tip "
            "with {} N, and its own weight; the risk is low where the mix bears {} times that stress",
            significant(h.peel_n_per_mm, 3), significant(in_millimetres(h.pry_contact), 3),
            significant(h.pry_n, 3), significant(h.safety, 3)));
  }

  static std::string first_to_snap(const std::vector<SpotRow>& list) {
    const SpotRow& first = list.front();
    if (first.feather) return "nothing but edges that chip";
    const std::string_view kind = name(first.spot.kind);
    if (!first.against_rest) return fmt::format("the {} is the one place that may snap", kind);
    const auto like_it = std::count_if(list.begin(), list.end(), [&](const SpotRow& s) {
      return !s.feather && s.stress.worst_mpa() * 1.05 > first.stress.worst_mpa();
    });
    if (like_it > 1) return fmt::format("spots 1 to {} snap first, strained alike", like_it);
    return fmt::format("{} 1 snaps first, strained {:.1f} times as much as the others", kind,
                       *first.against_rest);
  }

  /// Spots that are helped alike are told once.
  void advice(const std::vector<SpotRow>& list) {
    std::string_view label = "Help";
    const auto alike = [](const SpotRow& a, const SpotRow& b) {
      return !a.help.empty() && !b.help.empty() && a.feather == b.feather &&
             (a.feather || a.spot.kind == b.spot.kind);
    };
    std::size_t told = 0;
    for (std::size_t i = 0; i < list.size() && told < 3; ++i) {
      const SpotRow& s = list[i];
      const auto here = list.begin() + static_cast<std::ptrdiff_t>(i);
      const auto same = [&](const SpotRow& o) { return alike(s, o); };
      if (s.help.empty() || std::any_of(list.begin(), here, same)) continue;
      ++told;
      const auto others = std::count_if(here + 1, list.end(), same);
      std::string text =
          fmt::format("{} {}{}: {}", name(s.spot.kind), i + 1,
                      s.feather ? std::string() : fmt::format(", strained most by {}", s.stress.worst_load()),
                      fmt::join(s.help, "; or "));
      if (others > 0 && s.feather)
        text += fmt::format("; so do {} more", others);
      else if (others > 0)
        text += others == 1 ? "; the other needs no more" : "; the others need no more";
      say(std::exchange(label, {}), text);
    }
    if (told == 0) say(label, "nothing needed: no spot is more than a low risk then");
  }

  void release(const Release& r, bool is_piece) {
    const std::string from = r.opening == Opening::fill_plane ? "out of the opening"
                             : r.opening == Opening::flat_top ? "out of the flat top, taken for the opening"
                                                              : "no opening known";
    if (r.pull.undercut > Area()) {
      say("Release",
          fmt::format("pulled along {}, {}: {} or {} of the wall is undercut, up to {} deep at {}",
                      direction(r.pull.direction), from, cm2(r.pull.undercut), percent(r.pull.share),
                      mm(r.pull.depth), place(r.pull.places.empty() ? Point{} : r.pull.places[0].at)),
          !r.leaves_flexible);
      double need = 0;
      for (const Undercut& u : r.pull.places) need = std::max(need, u.stretch);
      say("", need > 5 ? std::string("no mold in one piece lets go of it, not even a flexible one")
                       : fmt::format("a rigid mold in one piece does not let go of it; a flexible one must "
                                     "stretch by {:.0f} % there, {} than the {:.0f} % it is taken to bear",
                                     100 * need, r.leaves_flexible ? "less" : "more", 100 * r.stretch));
    } else {
      say("Release",
          fmt::format("pulled along {}, {}: no undercut; least draft {}° at {}{}",
                      direction(r.pull.direction), from, fixed(r.pull.min_draft_degrees, 1),
                      place(r.pull.min_draft_at),
                      r.pull.min_draft_degrees < 1 ? ", little for a rigid mold (1 to 3° are usual)" : ""));
    }
    const bool less = r.best.undercut < r.pull.undercut * 0.8;
    const bool steeper =
        r.best.undercut == r.pull.undercut && r.best.min_draft_degrees >= r.pull.min_draft_degrees + 1;
    if (less || steeper)
      say("Best pull",
          fmt::format("along {}{}: {}, least draft {}°", direction(r.best.direction),
                      r.best_is_turned && is_piece ? ", poured from that side" : "",
                      r.best.undercut > Area() ? cm2(r.best.undercut) + " undercut" : "no undercut",
                      fixed(r.best.min_draft_degrees, 1)));
    if (r.parting && r.pull.undercut > Area())
      say("Two parts",
          fmt::format("a mold that opens along {} leaves {}", axis(r.parting->axis),
                      r.parting->share < 5e-4 ? std::string("no undercut")
                                              : percent(r.parting->share) + " of the surface undercut"));
  }

  void air(const MeasureRow& m) {
    if (m.read_as(Reading::piece)) return;
    if (m.ceiling && m.ceiling->share >= 5e-4)
      say("Ceilings", fmt::format("{} or {} of the wall hangs over flatter than {:.0f}°: bubbles stay there",
                                  cm2(m.ceiling->area), percent(m.ceiling->share), m.ceiling->angle_degrees));
  }

  /// Warnings, and assumptions beyond those that every measurement makes.
  void rest(const Notes& notes) {
    for (const bool warning : {false, true}) {
      std::string_view label = warning ? "Watch" : "Assumed";
      for (const Note& n : notes)
        if (n.warning == warning && n.topic != Topic::walls) say(std::exchange(label, {}), n.text, warning);
    }
  }

  const InspectReport& r_;
  Page page_;
};

}  // namespace

std::string duration_text(Duration d) {
  const auto minutes = static_cast<long>(std::lround(in_minutes(d)));
  if (minutes < 60) return fmt::format("{} min", minutes);
  if (minutes % 60 == 0) return fmt::format("{} h", minutes / 60);
  return fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

std::string inspect_text(const InspectReport& report, const TextStyle& style) {
  return InspectPage(report, style).take();
}

}  // namespace pourwright
