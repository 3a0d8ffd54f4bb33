// SPDX-License-Identifier: GPL-3.0-or-later
// Sheets as the bytes of an .xlsx file, by libxlsxwriter. The law: words go in as strings and only
// `Cell::formula` as a formula, so that a name from outside that begins with = + - or @ stays a name; and
// nothing in the file tells when it was made. The library writes to a path alone (until its version 1.1.5),
// so it is given a file in memory.
#include "report/xlsx.hpp"

#include "report/layout.hpp"

#include <array>
#include <cerrno>

#include <fmt/format.h>
#include <sys/mman.h>
#include <unistd.h>
#include <xlsxwriter.h>

namespace pourwright::xlsx {
namespace {

constexpr std::size_t longest_cell = 32'000;   // the format's limit is 32,767
constexpr std::int64_t no_date = 315'532'800;  // 1 January 1980, which is the first that the container knows
constexpr lxw_color_t blue = 0x0033CC, faint = 0x595959, head = 0xE8EDF2;

/// Fit for XML and no longer than a cell may be: the two code points that harmless text may hold and XML may
/// not.
std::string as_cell(std::string_view text) {
  std::string out = harmless(text.substr(0, longest_cell));
  for (const std::string_view forbidden : {"\xEF\xBF\xBE", "\xEF\xBF\xBF"})
    for (auto at = out.find(forbidden); at != std::string::npos; at = out.find(forbidden))
      out.replace(at, 3, "?");
  return out;
}

/// One format for every look, and the same in blue for what is meant to be changed.
class Formats {
 public:
  Formats(lxw_workbook* book, int decimals) {
    const std::string money =
        decimals > 0 ? "0." + std::string(static_cast<std::size_t>(decimals), '0') : "0";
    const std::string fine = (decimals > 0 ? money : money + ".") + "00";
    for (std::size_t look = 0; look < by_look_.size(); ++look)
      for (const bool input : {false, true}) {
        lxw_format* f = by_look_[look][input ? 1 : 0] = workbook_add_format(book);
        dress(f, static_cast<Look>(look), money, fine);
        if (input) format_set_font_color(f, blue);
      }
  }
  lxw_format* of(const Cell& c) const { return by_look_[static_cast<std::size_t>(c.look)][c.input ? 1 : 0]; }

 private:
  static void dress(lxw_format* f, Look look, const std::string& money, const std::string& fine) {
    switch (look) {
      case Look::plain:
        return;
      case Look::title:
        format_set_bold(f);
        return format_set_font_size(f, 14);
      case Look::head:
        format_set_bold(f);
        format_set_bg_color(f, head);
        format_set_text_wrap(f);
        return format_set_align(f, LXW_ALIGN_VERTICAL_TOP);
      case Look::faint:
        return format_set_font_color(f, faint);
      case Look::money:
        return format_set_num_format(f, money.c_str());
      case Look::fine:
        return format_set_num_format(f, fine.c_str());
      case Look::decimal:
        return format_set_num_format(f, "0.00");
      case Look::percent:
        return format_set_num_format(f, "0.00%");
      case Look::whole:
        return format_set_num_format(f, "0");
      case Look::total:
        format_set_bold(f);
        format_set_top(f, LXW_BORDER_THIN);
        return format_set_num_format(f, money.c_str());
    }
  }
  std::array<std::array<lxw_format*, 2>, static_cast<std::size_t>(Look::total) + 1> by_look_{};
};

lxw_error put(lxw_worksheet* sheet, lxw_row_t row, lxw_col_t column, const Cell& cell, lxw_format* format) {
  const std::string* const words = std::get_if<std::string>(&cell.content);
  const std::string text = words != nullptr ? as_cell(*words) : std::string();
  const std::string formula = "=" + cell.formula;
  if (!cell.formula.empty())
    return words != nullptr
               ? worksheet_write_formula_str(sheet, row, column, formula.c_str(), format, text.c_str())
               : worksheet_write_formula_num(sheet, row, column, formula.c_str(), format,
                                             std::get<double>(cell.content));
  if (words == nullptr)
    return worksheet_write_number(sheet, row, column, std::get<double>(cell.content), format);
  return text.empty() ? worksheet_write_blank(sheet, row, column, format)
                      : worksheet_write_string(sheet, row, column, text.c_str(), format);
}

lxw_error fill(lxw_worksheet* into, const Sheet& sheet, const Formats& formats) {
  worksheet_freeze_panes(into, static_cast<lxw_row_t>(sheet.frozen_rows),
                         static_cast<lxw_col_t>(sheet.frozen_columns));
  for (std::size_t c = 0; c < sheet.widths.size(); ++c)
    worksheet_set_column(into, static_cast<lxw_col_t>(c), static_cast<lxw_col_t>(c), sheet.widths[c],
                         nullptr);
  for (std::size_t r = 0; r < sheet.rows.size(); ++r)
    for (std::size_t c = 0; c < sheet.rows[r].size(); ++c) {
      const Cell& cell = sheet.rows[r][c];
      const lxw_error e =
          put(into, static_cast<lxw_row_t>(r), static_cast<lxw_col_t>(c), cell, formats.of(cell));
      if (e != LXW_NO_ERROR) return e;
    }
  return LXW_NO_ERROR;
}

/// A file without a name, in memory.
class MemoryFile {
 public:
  MemoryFile() : fd_(::memfd_create("spreadsheet", MFD_CLOEXEC)) {}
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;
  ~MemoryFile() {
    if (fd_ >= 0) ::close(fd_);
  }
  explicit operator bool() const { return fd_ >= 0; }
  std::string path() const { return fmt::format("/proc/self/fd/{}", fd_); }
  /// All that was written to it.
  std::string bytes() const {
    std::string out;
    std::array<char, 16384> block{};
    for (off_t at = 0;;) {
      const ssize_t n = ::pread(fd_, block.data(), block.size(), at);
      if (n < 0 && errno == EINTR) continue;
      if (n <= 0) return out;
      out.append(block.data(), static_cast<std::size_t>(n));
      at += n;
    }
  }

 private:
  int fd_;
};

Problem failed(std::string_view why) {
  return fail(Code::output_failed, fmt::format("the spreadsheet could not be packed: {}", why),
              "make room in the folder for temporary files (TMPDIR)");
}

}  // namespace

std::string column(std::size_t index) {
  std::string out;
  for (std::size_t i = index + 1; i > 0; i = (i - 1) / 26)
    out.insert(out.begin(), static_cast<char>('A' + (i - 1) % 26));
  return out;
}

Expected<std::string> workbook(const std::vector<Sheet>& sheets, int money_decimals) {
  const MemoryFile file;
  if (!file) return failed("no memory");
  lxw_workbook* const book = workbook_new(file.path().c_str());
  if (book == nullptr) return failed("no memory");
  lxw_doc_properties properties{};
  properties.created = no_date;
  workbook_set_properties(book, &properties);
  const Formats formats(book, money_decimals);
  lxw_error error = LXW_NO_ERROR;
  for (const Sheet& sheet : sheets) {
    lxw_worksheet* const into = workbook_add_worksheet(book, sheet.name.c_str());
    const lxw_error e = into == nullptr ? LXW_ERROR_MEMORY_MALLOC_FAILED : fill(into, sheet, formats);
    if (error == LXW_NO_ERROR) error = e;
  }
  const lxw_error closed = workbook_close(book);  // frees it, too
  if (error == LXW_NO_ERROR) error = closed;
  if (error != LXW_NO_ERROR) return failed(lxw_strerror(error));
  return file.bytes();
}

}  // namespace pourwright::xlsx
