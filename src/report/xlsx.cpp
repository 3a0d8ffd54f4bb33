// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/xlsx.hpp"

#include "report/layout.hpp"

#include <array>

#include <fmt/format.h>

namespace pourwright::xlsx {
namespace {

constexpr std::size_t longest_cell = 32'000;  // the format's limit is 32,767

// ---- the container: files stored one after the other, their directory behind (PKWARE APPNOTE 6.3) ------

/// CRC-32 of ISO 3309.
std::uint32_t checksum(std::string_view bytes) {
  static const std::array<std::uint32_t, 256> table = [] {
    std::array<std::uint32_t, 256> t{};
    for (std::uint32_t i = 0; i < 256; ++i) {
      std::uint32_t c = i;
      for (int bit = 0; bit < 8; ++bit) c = (c & 1) != 0 ? 0xEDB88320u ^ (c >> 1) : c >> 1;
      t[i] = c;
    }
    return t;
  }();
  std::uint32_t c = ~0u;
  for (const char byte : bytes) c = table[(c ^ static_cast<unsigned char>(byte)) & 0xff] ^ (c >> 8);
  return ~c;
}

class Archive {
 public:
  void add(std::string_view name, std::string_view content) {
    const std::size_t at = out_.size();
    const std::string facts = described(name, content);
    put(out_, 0x04034b50, 4);
    out_ += facts;
    put(out_, 0, 2);
    out_ += name;
    out_ += content;
    put(directory_, 0x02014b50, 4);
    put(directory_, 20, 2);
    directory_ += facts;
    for (int zero = 0; zero < 6; ++zero) put(directory_, 0, 2);
    put(directory_, at, 4);
    directory_ += name;
    ++files_;
  }

  std::string bytes() && {
    const std::size_t at = out_.size();
    out_ += directory_;
    put(out_, 0x06054b50, 4);
    put(out_, 0, 4);
    put(out_, files_, 2);
    put(out_, files_, 2);
    put(out_, directory_.size(), 4);
    put(out_, at, 4);
    put(out_, 0, 2);
    return std::move(out_);
  }

 private:
  static void put(std::string& to, std::size_t value, int bytes) {
    for (int i = 0; i < bytes; ++i) to.push_back(static_cast<char>((value >> (8 * i)) & 0xff));
  }
  /// What both headers say: version 2.0, no flags, stored, of 1 January 1980, which is no date at all.
  static std::string described(std::string_view name, std::string_view content) {
    std::string out;
    put(out, 20, 2);
    put(out, 0, 6);
    put(out, 0x21, 2);
    put(out, checksum(content), 4);
    put(out, content.size(), 4);
    put(out, content.size(), 4);
    put(out, name.size(), 2);
    return out;
  }

  std::string out_, directory_;
  std::size_t files_ = 0;
};

// ---- the documents in it -------------------------------------------------------------------------------

constexpr std::string_view xml_head = "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n";
#define PW_MAIN "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
#define PW_OFFICE "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
#define PW_PACKAGE "http://schemas.openxmlformats.org/package/2006/"
#define PW_TYPE "application/vnd.openxmlformats-officedocument.spreadsheetml."

std::string as_cell(std::string_view text) {
  std::string out;
  for (const char c : harmless(text.substr(0, longest_cell))) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  // The two code points that XML does not allow.
  for (const std::string_view forbidden : {"\xEF\xBF\xBE", "\xEF\xBF\xBF"})
    for (auto at = out.find(forbidden); at != std::string::npos; at = out.find(forbidden))
      out.replace(at, 3, "?");
  return out;
}

std::size_t style(const Cell& c) {
  return static_cast<std::size_t>(c.look) * 2 + (c.input ? 1 : 0);
}

void add_cell(std::string& out, const Cell& c, std::size_t row, std::size_t index) {
  const std::string place = fmt::format("<c r=\"{}{}\" s=\"{}\"", column(index), row + 1, style(c));
  if (!c.formula.empty())
    out += fmt::format("{}{}><f>{}</f><v>{}</v></c>", place, c.number ? "" : " t=\"str\"", as_cell(c.formula),
                       as_cell(c.text));
  else if (c.number)
    out += fmt::format("{}><v>{}</v></c>", place, c.text);
  else if (!c.text.empty())
    out += fmt::format("{} t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>", place,
                       as_cell(c.text));
  else
    out += place + "/>";
}

std::string sheet_xml(const Sheet& sheet) {
  std::string out(xml_head);
  out += "<worksheet xmlns=\"" PW_MAIN "\"><sheetViews><sheetView workbookViewId=\"0\">";
  if (sheet.frozen_rows > 0 || sheet.frozen_columns > 0) {
    out += "<pane";
    if (sheet.frozen_columns > 0) out += fmt::format(" xSplit=\"{}\"", sheet.frozen_columns);
    if (sheet.frozen_rows > 0) out += fmt::format(" ySplit=\"{}\"", sheet.frozen_rows);
    out += fmt::format(" topLeftCell=\"{}{}\" activePane=\"{}\" state=\"frozen\"/>",
                       column(sheet.frozen_columns), sheet.frozen_rows + 1,
                       sheet.frozen_rows == 0      ? "topRight"
                       : sheet.frozen_columns == 0 ? "bottomLeft"
                                                   : "bottomRight");
  }
  out += "</sheetView></sheetViews>";
  if (!sheet.widths.empty()) {
    out += "<cols>";
    for (std::size_t i = 0; i < sheet.widths.size(); ++i)
      out += fmt::format("<col min=\"{0}\" max=\"{0}\" width=\"{1}\" customWidth=\"1\"/>", i + 1,
                         sheet.widths[i]);
    out += "</cols>";
  }
  out += "<sheetData>";
  for (std::size_t r = 0; r < sheet.rows.size(); ++r) {
    out += fmt::format("<row r=\"{}\">", r + 1);
    for (std::size_t c = 0; c < sheet.rows[r].size(); ++c) add_cell(out, sheet.rows[r][c], r, c);
    out += "</row>";
  }
  return out + "</sheetData></worksheet>";
}

/// One format for every look, and the same in blue for what is meant to be changed.
std::string styles_xml(int decimals) {
  const std::string money = decimals > 0 ? "0." + std::string(static_cast<std::size_t>(decimals), '0') : "0";
  std::string out(xml_head);
  out += fmt::format("<styleSheet xmlns=\"" PW_MAIN
                     "\"><numFmts count=\"2\"><numFmt numFmtId=\"164\" formatCode=\"{}\"/>"
                     "<numFmt numFmtId=\"165\" formatCode=\"{}00\"/></numFmts>",
                     money, decimals > 0 ? money : money + ".");
  out +=
      "<fonts count=\"6\"><font><sz val=\"11\"/><name val=\"Calibri\"/></font>"
      "<font><b/><sz val=\"11\"/><name val=\"Calibri\"/></font>"
      "<font><b/><sz val=\"14\"/><name val=\"Calibri\"/></font>"
      "<font><sz val=\"11\"/><color rgb=\"FF595959\"/><name val=\"Calibri\"/></font>"
      "<font><sz val=\"11\"/><color rgb=\"FF0033CC\"/><name val=\"Calibri\"/></font>"
      "<font><b/><sz val=\"11\"/><color rgb=\"FF0033CC\"/><name val=\"Calibri\"/></font></fonts>"
      "<fills count=\"3\"><fill><patternFill patternType=\"none\"/></fill>"
      "<fill><patternFill patternType=\"gray125\"/></fill>"
      "<fill><patternFill patternType=\"solid\"><fgColor rgb=\"FFE8EDF2\"/></patternFill></fill></fills>"
      "<borders count=\"2\"><border/><border><left/><right/><top style=\"thin\"/><bottom/></border></borders>"
      "<cellStyleXfs count=\"1\"><xf/></cellStyleXfs>";
  struct Format {
    int number, font, fill, border;
    bool wrap;
  };
  // In the order of Look; 0, 1, 2 and 10 are the format's own "as it comes", "0", "0.00" and "0.00%".
  constexpr std::array<Format, 10> formats{{{0, 0, 0, 0, false},
                                            {0, 2, 0, 0, false},
                                            {0, 1, 2, 0, true},
                                            {0, 3, 0, 0, false},
                                            {164, 0, 0, 0, false},
                                            {165, 0, 0, 0, false},
                                            {2, 0, 0, 0, false},
                                            {10, 0, 0, 0, false},
                                            {1, 0, 0, 0, false},
                                            {164, 1, 0, 1, false}}};
  out += fmt::format("<cellXfs count=\"{}\">", 2 * formats.size());
  for (const Format& f : formats)
    for (const bool input : {false, true})
      out += fmt::format(
          "<xf numFmtId=\"{}\" fontId=\"{}\" fillId=\"{}\" borderId=\"{}\" xfId=\"0\" "
          "applyNumberFormat=\"1\" "
          "applyFont=\"1\" applyFill=\"1\" applyBorder=\"1\"{}",
          f.number,
          !input        ? f.font
          : f.font == 1 ? 5
                        : 4,
          f.fill, f.border,
          f.wrap ? " applyAlignment=\"1\"><alignment wrapText=\"1\" vertical=\"top\"/></xf>" : "/>");
  return out + "</cellXfs></styleSheet>";
}

}  // namespace

Cell words(std::string_view text, Look look) {
  return {std::string(text), {}, false, look, false};
}

Cell number(std::string_view digits, Look look, bool input) {
  return {std::string(digits), {}, true, look, input};
}

Cell formula(std::string_view text, double value, Look look) {
  return {fmt::format("{}", value), std::string(text), true, look, false};
}

Cell formula(std::string_view text, std::string_view value, Look look) {
  return {std::string(value), std::string(text), false, look, false};
}

std::string column(std::size_t index) {
  std::string out;
  for (std::size_t i = index + 1; i > 0; i = (i - 1) / 26)
    out.insert(out.begin(), static_cast<char>('A' + (i - 1) % 26));
  return out;
}

std::string workbook(const std::vector<Sheet>& sheets, int money_decimals) {
  std::string types(xml_head), book(xml_head), relations(xml_head);
  types += "<Types xmlns=\"" PW_PACKAGE
           "content-types\"><Default Extension=\"rels\" "
           "ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
           "<Default Extension=\"xml\" ContentType=\"application/xml\"/>"
           "<Override PartName=\"/xl/workbook.xml\" ContentType=\"" PW_TYPE
           "sheet.main+xml\"/><Override PartName=\"/xl/styles.xml\" ContentType=\"" PW_TYPE "styles+xml\"/>";
  book += "<workbook xmlns=\"" PW_MAIN "\" xmlns:r=\"" PW_OFFICE "\"><sheets>";
  relations +=
      "<Relationships xmlns=\"" PW_PACKAGE "relationships\"><Relationship Id=\"rId1\" Type=\"" PW_OFFICE
      "/styles\" Target=\"styles.xml\"/>";
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    types += fmt::format("<Override PartName=\"/xl/worksheets/sheet{}.xml\" ContentType=\"" PW_TYPE
                         "worksheet+xml\"/>",
                         i + 1);
    book += fmt::format("<sheet name=\"{}\" sheetId=\"{}\" r:id=\"rId{}\"/>", sheets[i].name, i + 1, i + 2);
    relations += fmt::format("<Relationship Id=\"rId{}\" Type=\"" PW_OFFICE
                             "/worksheet\" Target=\"worksheets/sheet{}.xml\"/>",
                             i + 2, i + 1);
  }
  Archive out;
  out.add("[Content_Types].xml", types + "</Types>");
  out.add("_rels/.rels", std::string(xml_head) +
                             "<Relationships xmlns=\"" PW_PACKAGE
                             "relationships\"><Relationship Id=\"rId1\" Type=\"" PW_OFFICE
                             "/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>");
  out.add("xl/workbook.xml", book + "</sheets><calcPr calcId=\"191029\" fullCalcOnLoad=\"1\"/></workbook>");
  out.add("xl/_rels/workbook.xml.rels", relations + "</Relationships>");
  out.add("xl/styles.xml", styles_xml(money_decimals));
  for (std::size_t i = 0; i < sheets.size(); ++i)
    out.add(fmt::format("xl/worksheets/sheet{}.xml", i + 1), sheet_xml(sheets[i]));
  return std::move(out).bytes();
}

}  // namespace pourwright::xlsx
