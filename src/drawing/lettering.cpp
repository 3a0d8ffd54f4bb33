// SPDX-License-Identifier: GPL-3.0-or-later
// A lettering of our own, as a pen on a drawing board makes it: lines and arcs, no font file. So a picture
// has the same bytes on a machine without fonts. It has ASCII, the accented letters of Latin-1 and Latin
// Extended-A, and the signs this program writes; anything else is an empty box here and itself in the SVG.
#include "drawing/lettering.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <string>

namespace pourwright::drawing {
namespace {

/// Units of the pen's grid in the size of the letters; capitals are 14 high, small letters 9.5.
constexpr double units = 20;
constexpr double side = 1.7;  ///< left free on both sides

/// M, L: to x y. O, A: an arc about x y with radii x y from degrees to degrees, begun anew or drawn on.
struct Letter {
  char32_t c;
  double width;
  std::string_view pen;
};

constexpr auto letters = std::to_array<Letter>({
    {' ', 2.6, ""},
    {'!', 0, "M0 14L0 4.4M0 0L0 .1"},
    {'"', 3, "M0 14L0 10.4M3 14L3 10.4"},
    {'#', 9, "M3 13L1.6 1M7.4 13L6 1M0 9L9 9M0 5L9 5"},
    {'$', 8.4, "O4.2 9.8 3.8 2.8 35 270A4.2 4.2 4 2.8 90 -150M4.2 15L4.2 -1"},
    {'%', 13, "O3 11 3 3 0 360O10 3 3 3 0 360M11 14L2 0"},
    {'&', 11, "M10.6 0L2.6 9.2A4.6 11.2 2.9 2.8 200 -20L1.4 6.2A4 3.4 4 3.4 135 330L10.4 6.4"},
    {'\'', 0, "M0 14L0 10.4"},
    {'(', 3.2, "O5.4 5.6 5.4 10 122 238"},
    {')', 3.2, "O-2.2 5.6 5.4 10 58 -58"},
    {'*', 6, "M3 13L3 6M0 11.3L6 7.7M6 11.3L0 7.7"},
    {'+', 8, "M4 9.6L4 1.6M0 5.6L8 5.6"},
    {',', 1, "M1 .2L0 -2.6"},
    {'-', 4.4, "M0 5L4.4 5"},
    {'.', 0, "M0 0L0 .1"},
    {'/', 6, "M0 -1.6L6 14.6"},
    {'0', 8.8, "O4.4 7 4.4 7 0 360"},
    {'1', 8.8, "M1.6 11.4L5 14L5 0"},
    {'2', 8.8, "O4.3 10 4.1 4 160 -36L.2 0L8.8 0"},
    {'3', 8.8, "O4.2 10.6 3.7 3.4 150 -90A4.2 3.6 4.4 3.6 90 -152"},
    {'4', 8.8, "M6.8 0L6.8 14L0 4L9.2 4"},
    {'5', 8.8, "M7.8 14L1.5 14L.9 7.4A4.2 4.5 4.5 4.5 138 -148"},
    {'6', 8.8, "O4.4 4.4 4.4 4.4 0 360M6.9 14L.75 6.8"},
    {'7', 8.8, "M0 14L8.8 14L3 0"},
    {'8', 8.8, "O4.4 10.7 3.6 3.3 0 360O4.4 3.7 4.4 3.7 0 360"},
    {'9', 8.8, "O4.4 9.6 4.4 4.4 0 360M1.9 0L8.05 7.2"},
    {':', 0, "M0 8.6L0 8.7M0 0L0 .1"},
    {';', 1, "M1 8.6L1 8.7M1 .2L0 -2.6"},
    {'<', 7.4, "M7.4 9.8L0 5.6L7.4 1.4"},
    {'=', 8, "M0 7.4L8 7.4M0 3.8L8 3.8"},
    {'>', 7.4, "M0 9.8L7.4 5.6L0 1.4"},
    {'?', 7, "O3.5 10.5 3.5 3.5 165 -50L3.5 5.6L3.5 4.4M3.5 0L3.5 .1"},
    {'@', 14, "O7 5 3 3.4 0 360M10 8.4L10 3.4A11.9 3.6 1.9 2 180 330A7 5 7 7.4 -12 290"},
    {'A', 11, "M0 0L5.5 14L11 0M2 4.6L9 4.6"},
    {'B', 8.8, "M0 7.4L5 7.4A5 10.7 3.4 3.3 -90 90L0 14L0 0L5 0A5 3.7 3.9 3.7 -90 90"},
    {'C', 11.4, "O6.7 7 6.7 7 46 314"},
    {'D', 10.4, "M0 0L0 14L3.8 14A3.8 7 6.7 7 90 -90L0 0"},
    {'E', 7.6, "M7.4 14L0 14L0 0L7.6 0M0 7.3L6.6 7.3"},
    {'F', 7.2, "M7.2 14L0 14L0 0M0 7.1L6.4 7.1"},
    {'G', 12.4, "O6.7 7 6.7 7 46 314M11.35 2L12 6.6L7.6 6.6"},
    {'H', 10, "M0 14L0 0M10 14L10 0M0 7.3L10 7.3"},
    {'I', 0, "M0 14L0 0"},
    {'J', 5.8, "M5.8 14L5.8 3.4A2.9 3.4 2.9 3.4 0 -165"},
    {'K', 9.2, "M0 14L0 0M8.8 14L0 5.2M3.2 8.3L9.2 0"},
    {'L', 7, "M0 14L0 0L7 0"},
    {'M', 12.2, "M0 0L.9 14L6.1 3L11.3 14L12.2 0"},
    {'N', 10, "M0 0L0 14L10 0L10 14"},
    {'O', 13.4, "O6.7 7 6.7 7 0 360"},
    {'P', 8.6, "M0 0L0 14L4.7 14A4.7 10.1 3.9 3.9 90 -90L0 6.2"},
    {'Q', 13.4, "O6.7 7 6.7 7 0 360M8.4 3.8L12.8 -1"},
    {'R', 9, "M0 0L0 14L4.7 14A4.7 10.1 3.9 3.9 90 -90L0 6.2M4.6 6.2L9 0"},
    {'S', 8.8, "O4.4 10.6 4 3.4 32 270A4.4 3.6 4.4 3.6 90 -153"},
    {'T', 10, "M0 14L10 14M5 14L5 0"},
    {'U', 9.6, "M0 14L0 4.8A4.8 4.8 4.8 4.8 180 360L9.6 14"},
    {'V', 10.6, "M0 14L5.3 0L10.6 14"},
    {'W', 15.6, "M0 14L3.9 0L7.8 14L11.7 0L15.6 14"},
    {'X', 9.6, "M.3 14L9.6 0M9.3 14L0 0"},
    {'Y', 10, "M0 14L5 6.6L10 14M5 6.6L5 0"},
    {'Z', 9, "M.4 14L9 14L0 0L9.2 0"},
    {'[', 3, "M3 15L0 15L0 -3L3 -3"},
    {'\\', 6, "M0 14.6L6 -1.6"},
    {']', 3, "M0 15L3 15L3 -3L0 -3"},
    {'^', 7, "M0 9L3.5 14L7 9"},
    {'_', 9, "M0 -2.4L9 -2.4"},
    {'`', 2, "M0 14L2 11.4"},
    {'a', 8.2, "O4.1 4.75 4.1 4.75 0 360M8.2 9.5L8.2 0"},
    {'b', 8.2, "M0 14.4L0 0O4.1 4.75 4.1 4.75 0 360"},
    {'c', 7.2, "O4.3 4.75 4.3 4.75 48 312"},
    {'d', 8.2, "O4.1 4.75 4.1 4.75 0 360M8.2 14.4L8.2 0"},
    {'e', 8.4, "M0 4.9L8.4 4.9A4.2 4.75 4.2 4.75 2 318"},
    {'f', 5.2, "O5 11.6 2.8 2.8 72 180L2.2 0M0 9.5L4.8 9.5"},
    {'g', 8.2, "O4.1 4.75 4.1 4.75 0 360M8.2 9.5L8.2 -.6A4.1 -.6 4.1 3.8 0 -155"},
    {'h', 7.6, "M0 14.4L0 0O3.8 5.7 3.8 3.8 180 0L7.6 0"},
    {'i', 0, "M0 9.5L0 0M0 13.2L0 13.3"},
    {'j', 2, "M2 9.5L2 -1.8A-.4 -1.8 2.4 2.4 0 -95M2 13.2L2 13.3"},
    {'k', 7.2, "M0 14.4L0 0M6.8 9.5L0 3.5M2.5 5.7L7.2 0"},
    {'l', 0, "M0 14.4L0 0"},
    {'m', 12.4, "M0 9.5L0 0O3.1 6.2 3.1 3.3 180 0L6.2 0O9.3 6.2 3.1 3.3 180 0L12.4 0"},
    {'n', 7.6, "M0 9.5L0 0O3.8 5.7 3.8 3.8 180 0L7.6 0"},
    {'o', 8.8, "O4.4 4.75 4.4 4.75 0 360"},
    {'p', 8.2, "M0 9.5L0 -4.4O4.1 4.75 4.1 4.75 0 360"},
    {'q', 8.2, "O4.1 4.75 4.1 4.75 0 360M8.2 9.5L8.2 -4.4"},
    {'r', 4.8, "M0 9.5L0 0O3.7 5.7 3.7 3.8 180 68"},
    {'s', 6.4, "O3.2 7.1 2.8 2.4 32 270A3.2 2.35 3.1 2.35 90 -152"},
    {'t', 5.2, "M2.2 13L2.2 2.6A4.8 2.6 2.6 2.6 180 285M0 9.5L4.9 9.5"},
    {'u', 7.6, "M0 9.5L0 3.8A3.8 3.8 3.8 3.8 180 360L7.6 3.8M7.6 9.5L7.6 0"},
    {'v', 7.8, "M0 9.5L3.9 0L7.8 9.5"},
    {'w', 12, "M0 9.5L3 0L6 9.5L9 0L12 9.5"},
    {'x', 7.2, "M.2 9.5L7.2 0M7 9.5L0 0"},
    {'y', 7.8, "M0 9.5L3.9 0M7.8 9.5L2.4 -4.2L.6 -4.4"},
    {'z', 7, "M.2 9.5L6.8 9.5L0 0L7.2 0"},
    {'{', 4, "M4 15L2.2 15L2.2 7L.4 6L2.2 5L2.2 -3L4 -3"},
    {'|', 0, "M0 15L0 -3"},
    {'}', 4, "M0 15L1.8 15L1.8 7L3.6 6L1.8 5L1.8 -3L0 -3"},
    {'~', 8, "O2 5 2 1.6 170 0O6 5.6 2 1.6 180 350"},
    {U'§', 6, "O3 11.2 2.6 2.4 20 270L5 7M3 8.8L1 7.4A3 5.8 2.8 2.6 140 280L5.6 6.4A3 1.4 2.6 2.4 80 -160"},
    {U'©', 13, "O6.5 7 6.5 6.6 0 360O6.5 7 3 3.2 50 310"},
    {U'°', 4.4, "O2.2 11.8 2.2 2.2 0 360"},
    {U'±', 8, "M4 11L4 4M0 7.5L8 7.5M0 0L8 0"},
    {U'²', 4.6, "O2.2 11.9 2.1 2.1 160 -36L.1 7L4.6 7"},
    {U'³', 4.6, "O2.2 12.2 2 1.8 150 -90A2.2 8.7 2.3 1.8 90 -150"},
    {U'µ', 7.6, "M0 9.5L0 -4.4M0 3.8A3.8 3.8 3.8 3.8 180 360L7.6 3.8M7.6 9.5L7.6 0"},
    {U'·', 0, "M0 5.4L0 5.5"},
    {U'×', 7, "M0 9.1L7 2.1M7 9.1L0 2.1"},
    {U'÷', 8, "M0 5.6L8 5.6M4 9.4L4 9.5M4 1.7L4 1.8"},
    {U'½', 12, "M0 12.6L2 14L2 7.4M10 14L2.4 0O9.6 4.4 2 2 160 -36L7.6 0L12 0"},
    {U'£', 9, "M9 0L0 0L2.2 0L2.2 9.6A5.4 10 3.2 4 185 35M0 6.6L6.4 6.6"},
    {U'€', 10, "O7 7 5.6 7 50 310M0 8.4L8.4 8.4M0 5.6L7.6 5.6"},
    {U'«', 7, "M3 8.4L0 5L3 1.6M7 8.4L4 5L7 1.6"},
    {U'»', 7, "M0 8.4L3 5L0 1.6M4 8.4L7 5L4 1.6"},
    {U'ß', 8, "M0 0L0 10.6A3.6 10.6 3.6 3.8 180 -60L3.6 7.4A4 3.8 4 3.8 90 -110"},
    {U'Æ', 14, "M0 0L7 14L14 14M7 14L7 0L14.2 0M2.4 4.6L7 4.6M7 7.3L13 7.3"},
    {U'æ', 13, "O3.4 4.75 3.4 4.75 0 360M6.8 9.5L6.8 0M6.8 4.9L13 4.9A9.9 4.75 3.1 4.75 2 318"},
    {U'Œ', 16, "O6 7 6 7 0 360M16 14L9.6 14L9.6 0L16.2 0M9.6 7.3L15 7.3"},
    {U'œ', 14, "O3.8 4.75 3.8 4.75 0 360M7.6 4.9L14 4.9A10.8 4.75 3.2 4.75 2 318"},
    {U'Ø', 13.4, "O6.7 7 6.7 7 0 360M1 -1L12.4 15"},
    {U'ø', 8.8, "O4.4 4.75 4.4 4.75 0 360M0 -1L8.8 10.5"},
    {U'Đ', 10.4, "M0 0L0 14L3.8 14A3.8 7 6.7 7 90 -90L0 0M-1.8 7L4 7"},
    {U'đ', 8.2, "O4.1 4.75 4.1 4.75 0 360M8.2 14.4L8.2 0M5 12L10 12"},
    {U'ð', 8.6, "O4.3 4.5 4.3 4.5 0 360M2 13.6L7 10A2 4.5 6.6 7 56 0M2 10.6L6.6 13.6"},
    {U'Þ', 8.4, "M0 14L0 0M0 11L4.6 11A4.6 7.4 3.8 3.6 90 -90L0 3.8"},
    {U'þ', 8.2, "M0 14.4L0 -4.4O4.1 4.75 4.1 4.75 0 360"},
    {U'Ł', 7, "M0 14L0 0L7 0M-1.6 6L4 9"},
    {U'ł', 1, "M.5 14.4L.5 0M-1.4 6L2.4 8.8"},
    {U'ı', 0, "M0 9.5L0 0"},
    {U'–', 8, "M0 5L8 5"},
    {U'—', 14, "M0 5L14 5"},
    {U'−', 8, "M0 5.6L8 5.6"},
    {U'‘', 1, "M1 14L0 11"},
    {U'’', 1, "M1 14L0 11"},
    {U'“', 4, "M1 14L0 11M4 14L3 11"},
    {U'”', 4, "M1 14L0 11M4 14L3 11"},
    {U'„', 4, "M1 .2L0 -2.6M4 .2L3 -2.6"},
    {U'…', 8, "M0 0L0 .1M4 0L4 .1M8 0L8 .1"},
    {U'→', 11, "M0 5.4L11 5.4M7.4 9L11 5.4L7.4 1.8"},
    {U'≈', 8, "O2 7.4 2 1.4 170 0O6 7.8 2 1.4 180 350O2 3.2 2 1.4 170 0O6 3.6 2 1.4 180 350"},
    {U'≤', 7.4, "M7.4 11L0 7L7.4 3M0 0L7.4 0"},
    {U'≥', 7.4, "M0 11L7.4 7L0 3M0 0L7.4 0"},
});

/// Marks over and under letters, about the middle; over capitals 4.5 higher.
constexpr auto marks = std::to_array<Letter>({
    {'`', 0, "M-1.8 13.6L.8 11.4"},
    {'\'', 0, "M1.8 13.6L-.8 11.4"},
    {'^', 0, "M-2.4 11.4L0 13.6L2.4 11.4"},
    {'~', 0, "O-1.5 12 1.5 1.1 170 0O1.5 12.5 1.5 1.1 180 350"},
    {':', 0, "M-2.1 12.6L-2.1 12.7M2.1 12.6L2.1 12.7"},
    {'o', 0, "O0 12.8 1.6 1.6 0 360"},
    {'v', 0, "M-2.4 13.6L0 11.4L2.4 13.6"},
    {'-', 0, "M-2.4 12.4L2.4 12.4"},
    {'u', 0, "O0 13.6 2.3 2 180 360"},
    {'.', 0, "M0 12.6L0 12.7"},
    {'"', 0, "M-.6 13.8L-1.8 11.4M2.6 13.8L1.4 11.4"},
    {',', 0, "M0 0L0 -1L1.2 -2A.2 -2.6 1.2 1.2 30 -120"},
    {';', 0, "M1 0L0 -1.4A1 -2 1.2 1.3 150 300"},
});

/// Letters of Unicode that are a letter and a mark, in threes: itself, the letter, the mark.
constexpr std::u32string_view accented =
    U"ÀA`ÁA'ÂA^ÃA~ÄA:ÅAoÇC,ÈE`ÉE'ÊE^ËE:ÌI`ÍI'ÎI^ÏI:ÑN~ÒO`ÓO'ÔO^ÕO~ÖO:ÙU`ÚU'ÛU^ÜU:ÝY'"
    U"àa`áa'âa^ãa~äa:åaoçc,èe`ée'êe^ëe:ìı`íı'îı^ïı:ñn~òo`óo'ôo^õo~öo:ùu`úu'ûu^üu:ýy'ÿy:"
    U"ĀA-āa-ĂAuăauĄA;ąa;ĆC'ćc'ĈC^ĉc^ĊC.ċc.ČCvčcvĎDvĒE-ēe-ĖE.ėe.ĘE;ęe;ĚEvěevĜG^ĝg^ĞGuğguĠG.ġg.ĢG,ĤH^ĥh^"
    U"ĨI~ĩı~ĪI-īı-ĬIuĭıuĮI;įi;İI.ĴJ^ĶK,ķk,ĹL'ĻL,ļl,ŃN'ńn'ŅN,ņn,ŇNvňnvŌO-ōo-ŎOuŏouŐO\"őo\"ŔR'ŕr'ŖR,ŗr,ŘRvřrv"
    U"ŚS'śs'ŜS^ŝs^ŞS,şs,ŠSvšsvŢT,ţt,ȘS,șs,ȚT,țt,ŤTvŨU~ũu~ŪU-ūu-ŬUuŭuuŮUoůuoŰU\"űu\"ŲU;ųu;ŴW^ŵw^ŶY^ŷy^ŸY:"
    U"ŹZ'źz'ŻZ.żz.ŽZvžzv";

template <std::size_t n>
const Letter* find_in(const std::array<Letter, n>& table, char32_t c) {
  const auto it = std::find_if(table.begin(), table.end(), [c](const Letter& l) { return l.c == c; });
  return it == table.end() ? nullptr : &*it;
}

struct Form {
  const Letter* letter = nullptr;
  const Letter* mark = nullptr;
};

Form form_of(char32_t c) {
  if (c == 0xA0 || c == 0x202F || c == 0x2009) c = ' ';
  if (const Letter* const l = find_in(letters, c)) return {l, nullptr};
  for (std::size_t i = 0; i < accented.size(); i += 3)
    if (accented[i] == c) return {find_in(letters, accented[i + 1]), find_in(marks, accented[i + 2])};
  return {};
}

constexpr Letter box{0, 8, "M0 0L0 14L8 14L8 0L0 0"};

/// Where the lines of a letter's pen go.
class Pen {
 public:
  Pen(std::vector<Ring>& lines, At at, double scale) : lines_(lines), at_(at), scale_(scale) {}

  void follow(std::string_view pen, double dx, double dy) {
    rest_ = pen;
    while (!rest_.empty()) {
      const char what = rest_.front();
      rest_.remove_prefix(1);
      if (what == 'M' || what == 'O') lines_.emplace_back();
      if (what == 'M' || what == 'L') {
        const double x = next(), y = next();
        to(x + dx, y + dy);
      } else {
        const double x = next(), y = next(), rx = next(), ry = next(), from = next(), end = next();
        // Enough chords that they lie within a twentieth of a point of the arc.
        const double r = std::max(rx, ry) * scale_, turn = std::abs(end - from) * std::numbers::pi / 180;
        const int chords = std::clamp(static_cast<int>(turn * std::sqrt(r / 0.4)) + 2, 2, 90);
        for (int k = 0; k <= chords; ++k) {
          const double a = (from + (end - from) * k / chords) * std::numbers::pi / 180;
          to(x + dx + rx * std::cos(a), y + dy + ry * std::sin(a));
        }
      }
    }
  }

 private:
  double next() {
    while (rest_.starts_with(' ')) rest_.remove_prefix(1);
    double v = 0;
    const auto [end, error] = std::from_chars(rest_.data(), rest_.data() + rest_.size(), v);
    rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()));
    return v;
  }
  void to(double x, double y) { lines_.back().push_back({at_.x + x * scale_, at_.y - y * scale_}); }

  std::vector<Ring>& lines_;
  At at_;
  double scale_;
  std::string_view rest_;
};

double advance(char32_t c) {
  const Form f = form_of(c);
  return (f.letter != nullptr ? f.letter->width : box.width) + 2 * side;
}

}  // namespace

std::vector<char32_t> letters_of(std::string_view text) {
  std::vector<char32_t> out;
  for (std::size_t i = 0; i < text.size();) {
    const auto byte = [&](std::size_t k) { return static_cast<std::uint8_t>(text[k]); };
    const std::uint8_t b = byte(i);
    const std::size_t length = b < 0x80                ? 1
                               : b >= 0xC2 && b < 0xE0 ? 2
                               : b >= 0xE0 && b < 0xF0 ? 3
                               : b >= 0xF0 && b < 0xF5 ? 4
                                                       : 0;
    char32_t c = length == 1 ? b : length == 0 ? 0 : b & (0xFF >> (length + 1));
    std::size_t k = 1;
    for (; k < length && i + k < text.size() && (byte(i + k) & 0xC0) == 0x80; ++k)
      c = c << 6 | (byte(i + k) & 0x3F);
    static constexpr std::array<char32_t, 5> least = {0, 0, 0x80, 0x800, 0x10000};
    const bool whole =
        length > 0 && k == length && c >= least[length] && c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF);
    out.push_back(whole ? c : U'\uFFFD');
    i += whole ? length : 1;
  }
  return out;
}

bool can_letter(std::string_view text) {
  const auto all = letters_of(text);
  return std::all_of(all.begin(), all.end(), [](char32_t c) { return form_of(c).letter != nullptr; });
}

double pen_width(double size, bool bold) {
  return size * (bold ? 0.125 : 0.078);
}

double width_of(std::string_view text, double size, bool) {
  double width = 0;
  for (const char32_t c : letters_of(text)) width += advance(c);
  return width * size / units;
}

std::vector<Ring> lettered(std::string_view text, At at, double size) {
  std::vector<Ring> lines;
  const double scale = size / units;
  double x = side;
  for (const char32_t c : letters_of(text)) {
    const Form f = form_of(c);
    const Letter& l = f.letter != nullptr ? *f.letter : box;
    Pen pen(lines, at, scale);
    pen.follow(l.pen, x, 0);
    const bool capital = l.c >= 'A' && l.c <= 'Z',
               below = f.mark != nullptr && (f.mark->c == ',' || f.mark->c == ';');
    if (f.mark != nullptr) pen.follow(f.mark->pen, x + l.width / 2, capital && !below ? 4.5 : 0);
    x += l.width + 2 * side;
  }
  return lines;
}

std::string fitted(std::string_view text, double size, double width, bool bold) {
  if (width_of(text, size, bold) <= width) return std::string(text);
  const auto letters = letters_of(text);
  double left = width - advance(U'…') * size / units;
  std::size_t head = 0, tail = 0;
  // From both ends by turns, as long as there is room.
  std::vector<std::size_t> ends{0};  // bytes up to each letter
  for (std::size_t i = 0, k = 0; k < letters.size(); ++k) {
    const auto b = static_cast<std::uint8_t>(text[i]);
    i += letters[k] == U'\uFFFD' && b != 0xEF ? 1 : b < 0x80 ? 1 : b < 0xE0 ? 2 : b < 0xF0 ? 3 : 4;
    ends.push_back(std::min(i, text.size()));
  }
  while (head + tail < letters.size()) {
    const bool front = head <= tail;
    const double next = advance(letters[front ? head : letters.size() - 1 - tail]) * size / units;
    if (next > left) break;
    left -= next;
    ++(front ? head : tail);
  }
  return std::string(text.substr(0, ends[head])) + "…" +
         std::string(text.substr(ends[letters.size() - tail]));
}

}  // namespace pourwright::drawing
