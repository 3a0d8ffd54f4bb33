// SPDX-License-Identifier: GPL-3.0-or-later
// The day plan as a picture. Plain shapes and text, no script, nothing fetched.
#include <pourwright/report_run.hpp>

#include "report/layout.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include <fmt/format.h>

namespace pourwright {
namespace {

constexpr double label_width = 150, hour_width = 110, row_height = 26, head_height = 44, gap = 18;
// From light to dark like the bases; told apart by the numbers on them as well.
constexpr std::array<std::string_view, 6> fills{"#e9dcc3", "#d79a6b", "#9fc5a8",
                                                "#7f9fbd", "#a78bb0", "#6b7280"};

std::string as_markup(std::string_view text) {
  std::string out;
  for (const char c : harmless(text)) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else
      out += c;
  }
  return out;
}

class Picture {
 public:
  explicit Picture(const RunReport& report) : r_(report), day_(report.order.limits.day.base()) {
    if (day_ <= 0) day_ = std::max(1.0, report.plan.finish.base());
    days_ = std::max(1, static_cast<int>(std::ceil(report.plan.finish.base() / day_ - 1e-9)));
    last_ = days_ == 1 ? std::min(day_, std::ceil(report.plan.finish.base() / 1800) * 1800) : day_;
  }

  std::string svg() {
    for (int d = 0; d < days_; ++d) frame(d);
    molds();
    hands();
    const double width = label_width + x_of(last_) + 24, height = days_ * day_height() + legend_height();
    legend(days_ * day_height());
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 "
        "{0:.0f} {1:.0f}\" "
        "font-family=\"sans-serif\" font-size=\"12\">\n<title>{2}</title>\n<rect width=\"100%\" "
        "height=\"100%\" fill=\"#ffffff\"/>\n{3}</svg>\n",
        width, height, as_markup(r_.title.empty() ? "Day plan" : r_.title), body_);
  }

 private:
  static double x_of(double second) { return second / 3600 * hour_width; }
  double day_height() const {
    return head_height + row_height * static_cast<double>(1 + r_.order.molds.size()) + gap;
  }
  double legend_height() const { return 34; }
  double row_y(int day, std::size_t row) const {
    return day * day_height() + head_height + row_height * static_cast<double>(row);
  }
  std::string_view fill(int base) const { return fills[static_cast<std::size_t>(base) % fills.size()]; }
  std::string_view fill_of(int batch) const {
    return fill(r_.plan.batches[static_cast<std::size_t>(batch)].base);
  }

  void text(double x, double y, std::string_view s, std::string_view more = {}) {
    body_ +=
        fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" fill=\"#1f2933\"{}>{}</text>\n", x, y, more, as_markup(s));
  }
  void box(double x, double y, double w, double h, std::string_view colour, std::string_view hint,
           std::string_view more = {}) {
    body_ += fmt::format(
        "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" "
        "fill=\"{}\"{}><title>{}</title></rect>\n",
        x, y, std::max(0.8, w), h, colour, more, as_markup(hint));
  }

  void frame(int day) {
    const double top = day * day_height(), bottom = row_y(day, 1 + r_.order.molds.size());
    text(8, top + 18,
         days_ > 1          ? fmt::format("Day {}", day + 1)
         : r_.title.empty() ? "Day plan"
                            : r_.title,
         " font-weight=\"bold\"");
    for (double s = 0; s <= last_ + 1; s += 1800) {
      const double x = label_width + x_of(s);
      const bool whole_hour = std::fmod(s, 3600) == 0;
      body_ +=
          fmt::format("<line x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" y2=\"{2:.1f}\" stroke=\"{3}\"/>\n",
                      x, top + head_height - 4, bottom, whole_hour ? "#c3cad2" : "#e6eaee");
      const int minute = r_.start_minute + static_cast<int>(s / 60);
      if (whole_hour)
        text(x, top + head_height - 9, fmt::format("{:02}:{:02}", minute / 60 % 24, minute % 60),
             " text-anchor=\"middle\" font-size=\"11\"");
    }
    text(8, row_y(day, 0) + 17, "hands");
    for (std::size_t m = 0; m < r_.order.molds.size(); ++m)
      text(8, row_y(day, m + 1) + 17,
           shortened(fmt::format("{} ({})", r_.order.molds[m].name, r_.order.molds[m].copies), 22, true));
  }

  /// A stretch of work seconds may end in the next day's frame; it is drawn in each.
  template <class Draw>
  void by_day(double from, double to, Draw draw) const {
    for (int d = static_cast<int>(from / day_); d < days_ && d * day_ < to; ++d) {
      const double a = std::max(from, d * day_), b = std::min(to, (d + 1) * day_);
      if (b > a) draw(d, a - d * day_, b - d * day_);
    }
  }

  void hands() {
    for (const RunTask& t : r_.plan.tasks) {
      const bool pouring = t.work != RunWork::clean && t.work != RunWork::demold;
      const std::string_view colour = t.work == RunWork::clean ? "#d5dbe1" : fill_of(t.batch);
      static constexpr std::array<std::string_view, 6> words{"weigh", "mix",   "split",
                                                             "pour",  "clean", "take out"};
      const std::string hint =
          fmt::format("{}, batch {}", words[static_cast<std::size_t>(t.work)], t.batch + 1);
      by_day(t.from.base(), t.to.base(), [&](int d, double a, double b) {
        const double h = pouring ? row_height - 6 : t.work == RunWork::demold ? 8 : row_height - 14;
        const double y = row_y(d, 0) + (t.work == RunWork::demold ? row_height - 11 : 3);
        box(label_width + x_of(a), y, x_of(b - a), h, colour, hint,
            pouring                     ? ""
            : t.work == RunWork::demold ? " stroke=\"#52606d\" stroke-width=\"0.7\""
                                        : "");
      });
    }
    for (std::size_t i = 0; i < r_.batches.size(); ++i) {
      const RunBatchRow& b = r_.batches[i];
      if (!b.start || !b.poured) continue;
      by_day(b.start->base(), b.poured->base(), [&](int d, double from, double to) {
        box(label_width + x_of(from), row_y(d, 0) + 3, x_of(to - from), row_height - 6, "none",
            fmt::format("batch {}: {}", b.id, b.colour), " stroke=\"#1f2933\" stroke-width=\"0.9\"");
        text(label_width + x_of((from + to) / 2), row_y(d, 0) + 17, fmt::format("{}", b.id),
             " text-anchor=\"middle\" font-weight=\"bold\" font-size=\"11\"");
      });
    }
  }

  /// From the end of the pour until the last of its pieces is out.
  void molds() {
    std::map<std::pair<int, int>, double> out;
    for (const RunTask& t : r_.plan.tasks)
      if (t.work == RunWork::demold) out[{t.batch, t.pour}] = t.to.base();
    std::vector<std::vector<std::pair<double, double>>> lanes(r_.order.molds.size());
    for (std::size_t i = 0; i < r_.batches.size(); ++i)
      for (const Placed& p : r_.plan.batches[i].pours) {
        const RunPour& pour = r_.order.pours[static_cast<std::size_t>(p.kind)];
        if (pour.mold < 0 || !r_.batches[i].poured) continue;
        const double from = r_.batches[i].poured->base(), to = out[{static_cast<int>(i), p.kind}];
        by_day(from, to, [&](int d, double a, double b) {
          const double y = row_y(d, static_cast<std::size_t>(pour.mold) + 1);
          box(label_width + x_of(a), y + 4, x_of(b - a), row_height - 8, fill_of(static_cast<int>(i)),
              fmt::format("batch {}: {} × {}", i + 1, p.count, pour.name),
              " fill-opacity=\"0.75\" stroke=\"#52606d\" stroke-width=\"0.7\"");
          if (x_of(b - a) > 34)
            text(label_width + x_of((a + b) / 2), y + 17, fmt::format("{} × {}", i + 1, p.count),
                 " text-anchor=\"middle\" font-size=\"10\"");
        });
      }
  }

  void legend(double y) {
    double x = 8;
    std::vector<char> used(r_.order.bases.size(), 0);
    for (const RunBatch& b : r_.plan.batches) used[static_cast<std::size_t>(b.base)] = 1;
    for (std::size_t base = 0; base < used.size(); ++base) {
      if (used[base] == 0) continue;
      const std::string& name = r_.order.bases[base].name;
      box(x, y + 4, 14, 14, fill(static_cast<int>(base)), name, " stroke=\"#1f2933\" stroke-width=\"0.7\"");
      text(x + 19, y + 15, name);
      x += 36 + 7.5 * cells(name);
    }
    box(x, y + 7, 14, 8, "#d5dbe1", "clean");
    text(x + 19, y + 15, "clean");
    text(x + 70, y + 15, "in the rows of molds: batch × pieces setting");
  }

  const RunReport& r_;
  double day_ = 0, last_ = 0;
  int days_ = 1;
  std::string body_;
};

}  // namespace

std::string run_svg(const RunReport& report) {
  if (report.plan.tasks.empty()) return {};
  return Picture(report).svg();
}

}  // namespace pourwright
