// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/intake/text_reader.hpp"

#include <algorithm>

#include <doctest/doctest.h>

using namespace pourwright::intake;

namespace {

/// Gives a few bytes at a time, so that every edge of the window is met.
class Drip final : public ByteSource {
 public:
  explicit Drip(std::string text, std::size_t step) : text_(std::move(text)), step_(step) {}
  std::size_t read(char* into, std::size_t n) override {
    const std::size_t got = std::min({n, step_, text_.size() - at_});
    std::memcpy(into, text_.data() + at_, got);
    at_ += got;
    return got;
  }

 private:
  std::string text_;
  std::size_t step_, at_ = 0;
};

}  // namespace

TEST_CASE("words and lines come out whole whatever the window holds") {
  const std::string text = "\xEF\xBB\xBFone two\r\n\tthree\r\rfour\v five\n\nsix";
  for (const std::size_t step : {1u, 2u, 3u, 1000u}) {
    ByteWindow window(std::make_unique<Drip>(text, step), text.size());
    TextReader reader(window);
    std::string seen;
    while (true) {
      const char c = reader.peek();
      if (c == '\0') break;
      if (TextReader::ends_line(c)) {
        reader.take_line_end();
        seen += "|";
        continue;
      }
      seen += std::string(reader.word()) + "," + std::to_string(reader.line()) + ";";
      reader.take_word();
    }
    CHECK(reader.at_end());
    CHECK(seen == "one,1;two,1;|three,2;||four,4;five,4;||six,6;");
    CHECK(window.position() == text.size());
    CHECK(window.remaining() == 0);
  }
}

TEST_CASE("lines of any length and kind are skipped") {
  for (const std::string end : {"\n", "\r\n", "\r"}) {
    const std::string text = std::string(700'001, 'x') + "\\" + end + end + "y" + end + "z";
    ByteWindow window(std::make_unique<Drip>(text, 10'007), text.size());
    TextReader reader(window);
    CHECK(reader.skip_line() == '\\');
    CHECK(reader.line() == 2);
    reader.skip_line();
    CHECK(reader.peek() == 'y');
    CHECK(reader.skip_line() == 'y');
    CHECK(reader.peek() == 'z');
    CHECK(reader.line() == 4);
    CHECK(reader.skip_line() == 'z');
    CHECK(reader.at_end());
  }
}

TEST_CASE("a run of blanks longer than the window") {
  const std::string text = std::string(600'000, ' ') + "7 " + std::string(300'000, '\t');
  ByteWindow window(std::make_unique<Drip>(text, 100'000), text.size());
  TextReader reader(window);
  double x = 0;
  CHECK(reader.peek() == '7');
  CHECK(reader.number(x) == Parsed::ok);
  CHECK(x == 7);
  CHECK(reader.at_end());
}

TEST_CASE("a number must end where it ends") {
  const auto number = [](const std::string& text) {
    ByteWindow window(std::make_unique<Drip>(text, 1), text.size());
    TextReader reader(window);
    double x = 0;
    reader.peek();
    return reader.number(x);
  };
  CHECK(number("1.5 ") == Parsed::ok);
  CHECK(number("1.5\n") == Parsed::ok);
  CHECK(number("1.5") == Parsed::ok);
  CHECK(number("1,5") == Parsed::missing);
  CHECK(number("1.5mm") == Parsed::missing);
  CHECK(number("nan") == Parsed::not_finite);
}

TEST_CASE("messages stay printable") {
  CHECK(printable("Größe 1.stl") == "Größe 1.stl");
  CHECK(printable("a\x01\x7F\n\xFF\xC0\x80z") == "a??????z");
  CHECK(printable("\xED\xA0\x80") == "???");  // a lone surrogate
  CHECK(printable("\xF0\x9F\x8D\xB6") == "\xF0\x9F\x8D\xB6");
  CHECK(printable("\xF0\x9F\x8D") == "???");
  CHECK(excerpt(std::string(1000, 'a')).size() < 40);
  CHECK(is_word("EndSolid", "endsolid"));
  CHECK_FALSE(is_word("endsoli", "endsolid"));
}

TEST_CASE("skipping bytes across windows") {
  ByteWindow window(std::make_unique<Drip>(std::string(1'000'000, 'a') + "b", 65'537), 1'000'001);
  CHECK(window.skip(999'999));
  CHECK(window.want(2));
  CHECK(std::string(window.cursor, 2) == "ab");
  CHECK_FALSE(window.want(3));
  CHECK(window.have() == 2);
  CHECK(window.skip(2));
  CHECK(window.at_end());
  CHECK_FALSE(window.skip(1));
  CHECK(window.skip(0));
}
