// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/money.hpp>

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const Currency eur{"EUR", 2}, jpy{"JPY", 0}, kwd{"KWD", 3};

Amount amount(std::string_view text, const Currency& currency = eur) {
  const auto a = parse_amount(text, currency);
  REQUIRE_MESSAGE(a.has_value(), text);
  return *a;
}
std::string to_minor(std::string_view text, const Currency& currency, Rounding rule = Rounding::half_even) {
  return money_text(rounded(amount(text, currency), currency, rule), currency);
}

}  // namespace

TEST_CASE("currencies have the exponents of ISO 4217") {
  for (const auto& [code, exponent] : {std::pair{"USD", 2},
                                       {"EUR", 2},
                                       {"GBP", 2},
                                       {"JPY", 0},
                                       {"KRW", 0},
                                       {"KWD", 3},
                                       {"BHD", 3},
                                       {"MRU", 2},
                                       {"MGA", 2},
                                       {"CLF", 4},
                                       {"ZMW", 2},
                                       {"AED", 2}}) {
    const auto c = find_currency(code);
    REQUIRE_MESSAGE(c.has_value(), code);
    CHECK(c->exponent == exponent);
    CHECK(c->code == code);
  }
  CHECK(find_currency("eur")->code == "EUR");
  CHECK(!find_currency("EURO"));
  CHECK(find_currency("EUP").error().hint.find("did you mean") == 0);
  for (const char* nonsense : {"", "E", "XX", "AED AFN", "€"}) CHECK(!find_currency(nonsense));
}

// ISO 80000-1 rules A and B: the cases in which they differ, and one in which they do not.
TEST_CASE("halves go to the even digit, or up, as the rule says") {
  CHECK(to_minor("0.125", eur) == "0.12");
  CHECK(to_minor("0.125", eur, Rounding::half_up) == "0.13");
  CHECK(to_minor("2.665", eur) == "2.66");
  CHECK(to_minor("2.665", eur, Rounding::half_up) == "2.67");
  CHECK(to_minor("0.135", eur) == "0.14");
  CHECK(to_minor("0.135", eur, Rounding::half_up) == "0.14");
  CHECK(to_minor("-0.125", eur) == "-0.12");
  CHECK(to_minor("-0.125", eur, Rounding::half_up) == "-0.13");
  CHECK(to_minor("0.121", eur, Rounding::up) == "0.13");
  CHECK(to_minor("0.129", eur, Rounding::down) == "0.12");
  CHECK(to_minor("-0.121", eur, Rounding::up) == "-0.12");
  CHECK(to_minor("0.12", eur, Rounding::up) == "0.12");
  CHECK(to_minor("2.5", jpy) == "2");
  CHECK(to_minor("3.5", jpy) == "4");
  CHECK(to_minor("1.2345", kwd) == "1.234");
  // Rule B where it differs from A: ISO 80000-1 B.3 (from memory), and a data book that lists JIS Z 8401.
  const Currency tenths{"XXX", 1};
  CHECK(to_minor("12.25", tenths, Rounding::half_up) == "12.3");
  CHECK(to_minor("12.35", tenths, Rounding::half_up) == "12.4");
  CHECK(to_minor("123.455", eur, Rounding::half_up) == "123.46");
  const auto tens = [](std::int64_t m) {
    return rounded(Money::minor(m), Money::minor(10), Rounding::half_up).in_minor();
  };
  CHECK(tens(1225) == 1230);
  CHECK(tens(1235) == 1240);
}

TEST_CASE("to a price step") {
  const Money step = Money::minor(50);
  CHECK(rounded(Money::minor(1225), step, Rounding::half_even).in_minor() == 1200);
  CHECK(rounded(Money::minor(1225), step, Rounding::half_up).in_minor() == 1250);
  CHECK(rounded(Money::minor(1201), step, Rounding::up).in_minor() == 1250);
  CHECK(rounded(Money::minor(1250), step, Rounding::up).in_minor() == 1250);
}

TEST_CASE("amounts are read exactly and written back") {
  CHECK(amount_text(amount("1,30"), eur) == "1.30");
  CHECK(amount_text(amount("EUR 1.3"), eur) == "1.30");
  CHECK(amount_text(amount("1.30 eur"), eur) == "1.30");
  CHECK(amount_text(amount("0.0085"), eur) == "0.0085");
  CHECK(amount_text(amount("0.000000001"), eur) == "0.000000001");
  CHECK(amount_text(amount("1e3"), jpy) == "1000");
  CHECK(amount_text(amount("-7.1"), kwd) == "-7.100");
  CHECK(amount_text(amount("1.50000000000"), eur) == "1.50");
  CHECK(amount("0.1") * 3 == amount("0.3"));
  for (const char* nonsense :
       {"", "x", "1.2.3", "1,234.50", "nan", "USD 3", "1 EUR 2", "0.0000000001", "1e10", "1e400", "€"})
    CHECK_MESSAGE(!parse_amount(nonsense, eur), nonsense);
}

TEST_CASE("unit prices times quantities round once") {
  CHECK(to_minor("1.005", eur) == "1.00");
  // 326.4 g at 1.30/kg is 0.42432.
  CHECK(amount_text(cost_of(*parse_mass("326.4g"), amount("1.30")), eur) == "0.42432");
  CHECK(amount_text(cost_of(minutes(7), amount("24")), eur) == "2.80");
  CHECK(amount_text(amount("10") * *parse_percent("12.5%"), eur) == "1.25");
  CHECK(amount_text(proportion(amount("38000"), 2800, 3500), eur) == "30400.00");
  CHECK(Amount::of(Money::minor(1234), eur) == amount("12.34"));
  CHECK(Amount::of(Money::minor(1234), jpy) == amount("1234", jpy));
  CHECK(Amount::of(Money::minor(1234), kwd) == amount("1.234", kwd));
}

TEST_CASE("decimals as digits say whether they were cut") {
  CHECK(parse_decimal("1.25", 2)->digits == 125);
  CHECK(parse_decimal("1.25", 2)->exact);
  CHECK(parse_decimal("1.25", 1)->digits == 12);
  CHECK(!parse_decimal("1.25", 1)->exact);
  CHECK(parse_decimal("1.2500", 2)->exact);
  CHECK(parse_decimal("0.000", 0)->exact);
  CHECK(parse_decimal("1200", -2)->exact);
  CHECK(!parse_decimal("1e30", 0));
}

TEST_CASE("money and amounts come back from their text in every exponent") {
  std::mt19937_64 random(7);
  for (int i = 0; i < 3000; ++i)
    for (const Currency& c : {eur, jpy, kwd}) {
      const Money m = Money::minor(static_cast<std::int64_t>(random() % 2'000'000'000) - 1'000'000'000);
      const auto back = parse_amount(money_text(m, c), c);
      if (c.exponent == 0 && (m.in_minor() >= 1'000'000'000 || m.in_minor() <= -1'000'000'000)) continue;
      REQUIRE(back.has_value());
      CHECK(rounded(*back, c) == m);
      CHECK(*back == Amount::of(m, c));
    }
}

TEST_CASE("a doubtful thousand is refused with both readings") {
  const Currency eur{"EUR", 2};
  CHECK(parse_amount("1,000", eur).error().text.find("can be 1 or 1000") != std::string::npos);
  CHECK(parse_amount("1,000 EUR", eur).error().hint.starts_with("write 1 or 1000"));
  CHECK(parse_amount("0.0085", eur).has_value());
  CHECK(*parse_amount("1,30", eur) == *parse_amount("1.30", eur));
}
