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

constexpr double label_width = 168, hour_width = 124, right_margin = 28;
constexpr double head_height = 58, hands_height = 42, lane_height = 22, row_gap = 8, day_gap = 22;
constexpr std::string_view ink = "#1d2b36", soft_ink = "#5c6b77";

/// From light to dark like the bases, each a step darker also where there is no colour.
struct Fill {
  std::string_view colour, text;
};
constexpr std::array<Fill, 6> fills{{{"#f2ead6", ink},
                                     {"#d9c9a8", ink},
                                     {"#a9b8a0", ink},
                                     {"#7d958f", ink},
                                     {"#5a7a86", "#ffffff"},
                                     {"#3f5566", "#ffffff"}}};

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

/// A stretch that some copies of a mold set, on the day it is drawn.
struct Bar {
  int batch = 0, pour = 0, count = 0;
  double from = 0, to = 0;
  std::size_t lane = 0;
};

class Picture {
 public:
  explicit Picture(const RunReport& report) : r_(report), day_(report.order.limits.day.base()) {
    if (day_ <= 0) day_ = std::max(1.0, report.plan.finish.base());
    days_ = std::max(1, static_cast<int>(std::ceil(report.plan.finish.base() / day_ - 1e-9)));
    last_ = days_ == 1 ? std::min(day_, std::ceil(report.plan.finish.base() / 1800) * 1800) : day_;
    width_ = std::max(560.0, label_width + x_of(last_) + right_margin);
    lay_bars();
  }

  std::string svg() {
    for (int d = 0; d < days_; ++d) {
      frame(d);
      molds(d);
      hands(d);
      y_ = bottom_ + day_gap;
    }
    legend();
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.0f}\" height=\"{1:.0f}\" viewBox=\"0 0 "
        "{0:.0f} {1:.0f}\" font-family=\"sans-serif\" font-size=\"12\">\n<title>{2}</title>\n"
        "<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n{3}</svg>\n",
        width_, y_, as_markup(title()), body_);
  }

 private:
  static double x_of(double second) { return second / 3600 * hour_width; }
  std::string title() const { return r_.title.empty() ? "Day plan" : r_.title; }
  const Fill& fill(int base) const { return fills[static_cast<std::size_t>(base) % fills.size()]; }
  const Fill& fill_of(int batch) const { return fill(r_.plan.batches[static_cast<std::size_t>(batch)].base); }
  /// More bases than colours: the second round has a dashed edge.
  std::string edge(int batch) const {
    return edge_of_base(r_.plan.batches[static_cast<std::size_t>(batch)].base);
  }
  static std::string edge_of_base(int base) {
    return fmt::format(
        " stroke=\"{}\" stroke-width=\"0.8\"{}", ink,
        static_cast<std::size_t>(base) / fills.size() % 2 == 1 ? " stroke-dasharray=\"3 2\"" : "");
  }

  void text(double x, double y, std::string_view s, std::string_view more = {},
            std::string_view colour = ink) {
    body_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" fill=\"{}\"{}>{}</text>\n", x, y, colour, more,
                         as_markup(s));
  }
  void box(double x, double y, double w, double h, std::string_view colour, std::string_view hint,
           std::string_view more = {}) {
    body_ += fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\"{}>",
                         x, y, std::max(0.8, w), h, colour, more);
    body_ +=
        hint.empty() ? std::string("</rect>\n") : fmt::format("<title>{}</title></rect>\n", as_markup(hint));
  }
  void line(double x1, double y1, double x2, double y2, std::string_view colour) {
    body_ += fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\"/>\n",
                         x1, y1, x2, y2, colour);
  }
  std::string hour(double second) const {
    const int minute = r_.start_minute + static_cast<int>(second / 60 + 0.5);
    return fmt::format("{:02}:{:02}", minute / 60 % 24, minute % 60);
  }

  /// What ends in the next day's frame is drawn in each.
  template <class Draw>
  void by_day(double from, double to, Draw draw) const {
    for (int d = static_cast<int>(from / day_); d < days_ && d * day_ < to; ++d) {
      const double a = std::max(from, d * day_), b = std::min(to, (d + 1) * day_);
      if (b > a) draw(d, a - d * day_, b - d * day_);
    }
  }

  /// From the end of the pour until the last of its pieces is out; what sets beside it lies in another lane.
  void lay_bars() {
    const std::size_t molds = r_.order.molds.size();
    std::map<std::pair<int, int>, double> out;
    for (const RunTask& t : r_.plan.tasks)
      if (t.work == RunWork::demold) out[{t.batch, t.pour}] = t.to.base();
    bars_.assign(static_cast<std::size_t>(days_), std::vector<std::vector<Bar>>(molds));
    for (std::size_t i = 0; i < r_.batches.size(); ++i)
      for (const Placed& p : r_.plan.batches[i].pours) {
        const RunPour& pour = r_.order.pours[static_cast<std::size_t>(p.kind)];
        const int batch = static_cast<int>(i);
        if (pour.mold < 0 || !r_.batches[i].poured) continue;
        by_day(r_.batches[i].poured->base(), out[{batch, p.kind}], [&](int d, double a, double b) {
          bars_[static_cast<std::size_t>(d)][static_cast<std::size_t>(pour.mold)].push_back(
              {batch, p.kind, p.count, a, b, 0});
        });
      }
    lanes_.assign(static_cast<std::size_t>(days_), std::vector<std::size_t>(molds, 1));
    for (std::size_t d = 0; d < bars_.size(); ++d)
      for (std::size_t m = 0; m < molds; ++m) {
        std::vector<double> free;
        std::stable_sort(bars_[d][m].begin(), bars_[d][m].end(),
                         [](const Bar& a, const Bar& b) { return a.from < b.from; });
        for (Bar& bar : bars_[d][m]) {
          while (bar.lane < free.size() && free[bar.lane] > bar.from + 1e-6) ++bar.lane;
          if (bar.lane == free.size()) free.push_back(0);
          free[bar.lane] = bar.to;
        }
        lanes_[d][m] = std::max<std::size_t>(1, free.size());
      }
  }

  void frame(int day) {
    const auto d = static_cast<std::size_t>(day);
    hands_y_ = y_ + head_height;
    double y = hands_y_ + hands_height + row_gap;
    mold_y_.clear();
    for (const std::size_t lanes : lanes_[d]) {
      mold_y_.push_back(y);
      y += static_cast<double>(lanes) * lane_height + row_gap;
    }
    bottom_ = y;
    text(12, y_ + 25, days_ > 1 ? fmt::format("{}, day {} of {}", title(), day + 1, days_) : title(),
         " font-size=\"16\" font-weight=\"bold\"");
    if (day == days_ - 1)
      text(width_ - right_margin, y_ + 25,
           fmt::format("{} {}, done at {}", r_.batches.size(), r_.batches.size() == 1 ? "batch" : "batches",
                       hour(r_.plan.finish.base() - day * day_)),
           " text-anchor=\"end\"", soft_ink);
    for (std::size_t m = 0; m < mold_y_.size(); m += 2)
      box(0, mold_y_[m] - row_gap / 2, width_,
          (m + 1 < mold_y_.size() ? mold_y_[m + 1] : bottom_) - mold_y_[m], "#f4f6f7", "");
    for (double s = 0; s <= last_ + 1; s += 1800) {
      const double x = label_width + x_of(s);
      const bool whole_hour = std::fmod(s, 3600) == 0;
      line(x, hands_y_ - (whole_hour ? 8 : 2), x, bottom_, whole_hour ? "#c3cbd1" : "#e7ebee");
      if (whole_hour) text(x, hands_y_ - 13, hour(s), " text-anchor=\"middle\" font-size=\"11\"", soft_ink);
    }
    text(12, hands_y_ + 20, "at work", " font-weight=\"bold\"");
    for (std::size_t m = 0; m < mold_y_.size(); ++m) {
      const RunMold& mold = r_.order.molds[m];
      text(12, mold_y_[m] + 15, shortened(mold.name, 19, true), " font-weight=\"bold\"");
      text(label_width - 10, mold_y_[m] + 15, fmt::format("× {}", mold.copies), " text-anchor=\"end\"",
           soft_ink);
    }
  }

  /// One thing after the other: a batch is pale while it is weighed, mixed and split, full while it is
  /// poured.
  void hands(int day) {
    for (const RunBreak& b : r_.order.limits.breaks)
      if (b.from.base() < last_)
        box(label_width + x_of(b.from.base()), hands_y_, x_of(std::min(last_, b.to.base()) - b.from.base()),
            hands_height, "#e7ebee", "break");
    static constexpr std::array<std::string_view, 7> words{"weigh", "mix",      "split", "pour",
                                                           "clean", "take out", "finish"};
    for (const RunTask& t : r_.plan.tasks) {
      const std::string hint =
          fmt::format("{}, batch {}", words[static_cast<std::size_t>(t.work)], t.batch + 1);
      by_day(t.from.base(), t.to.base(), [&](int d, double a, double b) {
        if (d != day) return;
        const double x = label_width + x_of(a), w = x_of(b - a);
        if (t.work == RunWork::clean)
          box(x, hands_y_ + 9, w, 12, "#c9d0d6", hint);
        else if (t.work == RunWork::demold || t.work == RunWork::finish)
          box(x, hands_y_ + 32, w, 9, fill_of(t.batch).colour, hint,
              edge(t.batch) + (t.work == RunWork::finish ? " fill-opacity=\"0.45\"" : ""));
        else
          box(x, hands_y_ + 2, w, 26, fill_of(t.batch).colour, hint,
              t.work == RunWork::pour ? "" : " fill-opacity=\"0.45\"");
      });
    }
    for (std::size_t i = 0; i < r_.batches.size(); ++i) {
      const RunBatchRow& b = r_.batches[i];
      if (!b.start || !b.poured) continue;
      by_day(b.start->base(), b.poured->base(), [&](int d, double from, double to) {
        if (d != day) return;
        const double x = label_width + x_of(from), w = x_of(to - from);
        box(x, hands_y_ + 2, w, 26, "none", fmt::format("batch {}: {}", b.id, b.colour),
            edge(static_cast<int>(i)));
        // On paper of its own, because half of it may be pale and half dark.
        if (w < 12) return;
        const double plate = std::min(w - 2, b.id > 9 ? 19.0 : 13.0);
        box(x + w / 2 - plate / 2, hands_y_ + 7, plate, 16, "#ffffff", "", " fill-opacity=\"0.85\" rx=\"3\"");
        text(x + w / 2, hands_y_ + 19.5, fmt::format("{}", b.id),
             " text-anchor=\"middle\" font-weight=\"bold\"");
      });
    }
  }

  void molds(int day) {
    const auto& rows = bars_[static_cast<std::size_t>(day)];
    for (std::size_t m = 0; m < rows.size(); ++m)
      for (const Bar& bar : rows[m]) {
        const double x = label_width + x_of(bar.from), w = x_of(bar.to - bar.from),
                     y = mold_y_[m] + lane_height * static_cast<double>(bar.lane);
        const Fill& f = fill_of(bar.batch);
        box(x, y + 1, w, lane_height - 2, f.colour,
            fmt::format("batch {}: {} × {}", bar.batch + 1, bar.count,
                        r_.order.pours[static_cast<std::size_t>(bar.pour)].name),
            edge(bar.batch) + " rx=\"3\"");
        if (w >= (bar.batch + 1 > 9 ? 26 : 18))
          text(x + 6, y + 15.5, fmt::format("{}", bar.batch + 1), " font-weight=\"bold\"", f.text);
        if (w >= 56)
          text(x + w - 6, y + 15.5, fmt::format("× {}", bar.count), " text-anchor=\"end\"", f.text);
      }
  }

  void legend() {
    double x = 12;
    const auto room = [&](double needed) {
      if (x > 12 && x + needed > width_ - right_margin) x = 12, y_ += 24;
    };
    const auto entry = [&](std::string_view colour, std::string_view words, std::string_view more,
                           double height) {
      const double needed = 24 + 6.8 * cells(words) + 18;
      room(needed);
      box(x, y_ + 4 + (14 - height) / 2, 16, height, colour, "", more);
      text(x + 22, y_ + 15.5, words);
      x += needed;
    };
    std::vector<char> used(r_.order.bases.size(), 0);
    for (const RunBatch& b : r_.plan.batches) used[static_cast<std::size_t>(b.base)] = 1;
    for (std::size_t base = 0; base < used.size(); ++base)
      if (used[base] != 0)
        entry(fill(static_cast<int>(base)).colour, r_.order.bases[base].name,
              edge_of_base(static_cast<int>(base)), 14);
    entry("#c9d0d6", "cleaning", "", 12);
    const std::string small = fmt::format(" stroke=\"{}\" stroke-width=\"0.8\"", ink);
    entry("#ffffff", "taking out", small, 9);
    const std::string_view words =
        "pale: weighing, mixing, splitting, finishing; full: pouring; below: which batch sets in how many "
        "molds";
    room(6.4 * cells(words));
    text(x, y_ + 15.5, words, "", soft_ink);
    y_ += 34;
  }

  const RunReport& r_;
  double day_ = 0, last_ = 0, width_ = 0;
  int days_ = 1;
  std::vector<std::vector<std::vector<Bar>>> bars_;  // by day and mold
  std::vector<std::vector<std::size_t>> lanes_;
  double y_ = 0, hands_y_ = 0, bottom_ = 0;  // of the day that is drawn
  std::vector<double> mold_y_;
  std::string body_;
};

}  // namespace

std::string run_svg(const RunReport& report) {
  if (report.plan.tasks.empty()) return {};
  return Picture(report).svg();
}

}  // namespace pourwright
