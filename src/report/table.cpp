// SPDX-License-Identifier: GPL-3.0-or-later
// Columns for a narrow page. The law: columns never touch, no line is wider than the page, and no name is
// cut: one that is too long stands on lines of its own above its numbers.
#include "report/phrases.hpp"

#include <algorithm>

namespace pourwright::phrases {
namespace {

constexpr int column_gap = 2, most_loose = 4;

class Table {
 public:
  Table(Page& page, const Rows& rows, const TableStyle& style)
      : page_(page), style_(style), widths_(rows[0].size(), 0) {
    for (const auto& row : rows) {
      rows_.emplace_back();
      for (const std::string& cell : row) rows_.back().push_back(page.shown(cell));
      for (std::size_t k = 0; k < row.size(); ++k)
        widths_[k] = std::max(widths_[k], cells(rows_.back()[k]) + (k > 0 ? column_gap : 0));
    }
    for (std::size_t k = 1; k < widths_.size(); ++k) numbers_ += widths_[k];
  }

  void write() {
    const int room = page_.style().width - style_.indent;
    const bool fits = numbers_ + column_gap <= room;
    if (fits) spread(room);
    for (std::size_t i = 0; i < rows_.size(); ++i) {
      if (fits)
        columns(i, room);
      else if (i > 0 || !style_.heading)
        labelled(i, room);
      if (style_.after && (i > 0 || !style_.heading)) style_.after(i);
    }
  }

 private:
  void say(std::size_t i, const std::string& text) {
    const std::string line = left("", style_.indent) + text.substr(0, text.find_last_not_of(' ') + 1);
    page_.line(i == 0 && style_.heading            ? page_.faint(line)
               : style_.warned && style_.warned(i) ? page_.warn(line)
               : style_.bold                       ? page_.bold(line)
                                                   : line);
  }

  /// What is left over loosens the columns, up to a point.
  void spread(int room) {
    widths_[0] = std::min(widths_[0], room - numbers_);
    const int count = static_cast<int>(widths_.size()) - 1;
    if (count < 1) return;
    const int loose = std::clamp((room - numbers_ - widths_[0]) / count, 0, most_loose);
    for (std::size_t k = 1; k < widths_.size(); ++k) widths_[k] += loose;
  }

  void columns(std::size_t i, int room) {
    std::string name = rows_[i][0];
    if (cells(name) > widths_[0]) {
      for (const std::string& line : wrapped(name, room)) say(i, line);
      name.clear();
    }
    std::string line = left(name, widths_[0]);
    for (std::size_t k = 1; k < rows_[i].size(); ++k) line += right(rows_[i][k], widths_[k]);
    say(i, line);
  }

  /// Where the numbers alone are too wide: each with its heading, in lines under the name.
  void labelled(std::size_t i, int room) {
    for (const std::string& line : wrapped(rows_[i][0], room)) say(i, line);
    std::string text;
    for (std::size_t k = 1; k < rows_[i].size(); ++k)
      if (!rows_[i][k].empty())
        text +=
            (text.empty() ? "" : ", ") + (style_.heading ? rows_[0][k] + " " : std::string()) + rows_[i][k];
    for (const std::string& line : wrapped(text, room - column_gap)) say(i, left("", column_gap) + line);
  }

  Page& page_;
  const TableStyle& style_;
  Rows rows_;
  std::vector<int> widths_;
  int numbers_ = 0;
};

}  // namespace

void table(Page& page, const Rows& rows, const TableStyle& style) {
  Table(page, rows, style).write();
}

}  // namespace pourwright::phrases
