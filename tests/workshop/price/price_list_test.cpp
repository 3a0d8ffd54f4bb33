// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/price.hpp>

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const Currency eur{"EUR", 2}, jpy{"JPY", 0}, kwd{"KWD", 3}, clf{"CLF", 4};
Amount euros(std::string_view text) {
  return *parse_amount(text, eur);
}
Ratio in_percent(std::string_view text) {
  return *parse_percent(text);
}

PriceItem item(std::string_view materials) {
  PriceItem i;
  i.name = "dish";
  i.per_kilogram = euros(materials);
  i.material = i.low = i.high = Mass::grams(1000);
  return i;
}

PriceLine only(const PriceItem& i, const PriceTerms& t) {
  const auto list = price_list({i}, t);
  REQUIRE(list.has_value());
  REQUIRE(list->lines.size() == 1);
  return list->lines[0];
}

}  // namespace

TEST_CASE("cost 40 and markup 50 % is price 60, margin 33.33 %") {
  PriceTerms t;
  t.markup = in_percent("50");
  const PriceLine line = only(item("40"), t);
  CHECK(line.price == Money::minor(6000));
  CHECK(fixed(line.margin.in_percent(), 2) == "33.33");
  CHECK(line.markup == in_percent("50"));
  CHECK(line.tax == Money());
}

TEST_CASE("the margin asked for is the margin got, fees and all") {
  PriceTerms t;
  t.margin = in_percent("40");
  t.fees = in_percent("10");
  const PriceLine line = only(item("50"), t);
  CHECK(line.net == Money::minor(10'000));  // 50 cost, 10 fees, 40 kept
  CHECK(line.total == Money::minor(6'000));
  CHECK(line.other == Money::minor(1'000));
  CHECK(line.margin == in_percent("40"));
  t.margin.reset();
  t.markup = in_percent("100");
  const PriceLine marked = only(item("40"), t);
  CHECK(marked.net == Money::minor(10'000));  // 2·(40 + 10)
  CHECK(marked.markup == in_percent("100"));
}

TEST_CASE("the makers' habit: twice the cost to shops, twice that to people") {
  PriceTerms t;  // common practice, told without a source
  t.wholesale_markup = in_percent("100");
  t.markup = in_percent("300");
  const PriceLine line = only(item("4.15"), t);
  CHECK(line.wholesale == Money::minor(830));
  CHECK(line.net == Money::minor(1660));
}

TEST_CASE("a piece's whole cost, by hand") {
  PriceItem i = item("0.42432");
  i.pigment = euros("0.06");
  i.residue = Mass::micrograms(47'134'238);  // 0.02
  i.mold = euros("38");
  i.pulls = 76;           // 0.50
  i.labour = minutes(7);  // 2.80 at 24 an hour
  i.packaging = euros("0.60");
  PriceTerms t;
  t.labour_per_hour = euros("24");
  t.failed = in_percent("5");
  t.overhead = in_percent("10");
  t.vat = in_percent("21");
  t.markup = in_percent("100");
  t.round_to = Money::minor(50);
  t.rounding = Rounding::up;
  const PriceLine line = only(i, t);
  // Made: 0.42432 + 0.06 + 0.02 + 0.50 + 2.80 = 3.80432; spoilt 3.80432/19 = 0.20022737; with
  // packaging 4.60454737; overhead 0.46045474; 5.06500211 in all. Net 10.13000422, with tax 12.2573, up
  // to 12.50.
  CHECK(line.total == Money::minor(507));
  CHECK(line.material == Money::minor(43));  // 42.4 and the largest remainder
  CHECK(line.waste == Money::minor(22));
  CHECK(line.labour == Money::minor(280));
  CHECK(line.price == Money::minor(1250));
  CHECK(line.tax == Money::minor(217));
  CHECK(line.net == Money::minor(1033));
  // 10.33 - (5.06500211 - 0.50) = 5.76499789 a piece; 38 / 5.765 = 6.59.
  REQUIRE(line.break_even.has_value());
  CHECK(*line.break_even == 7);
}

TEST_CASE("fees on the price with tax, a fee for each sale, shipping and a discount, by hand") {
  PriceItem i = item("8");
  i.packaging = euros("0.60");
  i.shipping = euros("4.40");
  PriceTerms t;
  t.fees = in_percent("10");
  t.fees_on_gross = true;
  t.fee_per_sale = euros("0.30");
  t.vat = in_percent("20");
  t.margin = in_percent("40");
  // 8.00 + 0.60 + 4.40 = 13.00, with the fee 13.30; a tenth of the price with tax is 12 % of the net one:
  // net 13.30/(1 − 0.40 − 0.12) = 27.7083, with tax 33.25, tax 33.25/6 = 5.54, net 27.71; fees 3.325 + 0.30.
  const PriceLine line = only(i, t);
  CHECK(line.price == Money::minor(3325));
  CHECK(line.tax == Money::minor(554));
  CHECK(line.net == Money::minor(2771));
  CHECK(line.fees == Money::minor(362));  // 3.625, halves to even
  CHECK(line.total == Money::minor(1662));
  CHECK(fixed(line.margin.in_percent(), 1) == "40.0");
  CHECK(line.shop_cost == Money::minor(860));
  CHECK(line.list_price == line.price);
  // A third off: 22.17 with tax, tax 3.70 (3.695), net 18.47; fees 2.217 + 0.30; cost 15.517.
  t.discount = in_percent("33.333333");
  const PriceLine cheap = only(i, t);
  CHECK(cheap.list_price == Money::minor(3325));
  CHECK(cheap.price == Money::minor(2217));
  CHECK(cheap.tax == Money::minor(370));
  CHECK(cheap.net == Money::minor(1847));
  CHECK(cheap.total == Money::minor(1552));
  // To a shop for half the net list price, discount or not: 27.71/2 = 13.855, halves to even.
  t.wholesale_discount = in_percent("50");
  CHECK(only(i, t).wholesale == Money::minor(1386));
  t.discount.reset();
  CHECK(only(i, t).wholesale == Money::minor(1386));
  t.wholesale_discount = in_percent("80");
  CHECK(*only(i, t).wholesale < only(i, t).shop_cost);
}

TEST_CASE("fees on net and fees on gross are one without tax, and cost more with it") {
  PriceTerms t;
  t.fees = in_percent("8");
  t.markup = in_percent("50");
  const Money net = only(item("20"), t).price;
  t.fees_on_gross = true;
  CHECK(only(item("20"), t).price == net);
  t.vat = in_percent("19");
  const PriceLine gross = only(item("20"), t);
  t.fees_on_gross = false;
  CHECK(gross.net > only(item("20"), t).net);
  // 20·1.5/(1 − 1.5·0.08·1.19) = 34.9976.
  CHECK(gross.net == Money::minor(3500));
  t.fees_on_gross = true;
  t.fees = in_percent("60");  // 1.5·0.6·1.19 of the net price: nothing is left
  CHECK(price_list({item("20")}, t).error().code == Code::price_impossible);
}

TEST_CASE("pieces nobody ordered are paid by those that are sold, when it is asked for") {
  PriceItem i = item("10");
  i.pieces = 33;
  PriceTerms t;
  CHECK(only(i, t).total == Money::minor(1000));
  i.surplus = 3;  // 36 are made at 10.00 for 33 that are sold
  CHECK(only(i, t).total == Money::minor(1091));
  CHECK(only(i, t).waste == Money::minor(91));
  t.failed = in_percent("50");  // one more of each is spoilt
  CHECK(only(i, t).total == Money::minor(2091));
}

TEST_CASE("an uncertain volume shows as a range of prices") {
  PriceItem i = item("10");
  i.low = Mass::grams(900);
  i.high = Mass::grams(1200);
  PriceTerms t;
  t.markup = in_percent("100");
  const PriceLine line = only(i, t);
  CHECK(line.price_low == Money::minor(1800));
  CHECK(line.price == Money::minor(2000));
  CHECK(line.price_high == Money::minor(2400));
}

TEST_CASE("tax line by line and of the total: three times a third differ, and it is said which") {
  PriceTerms t;
  t.vat = in_percent("20");
  PriceItem i = item("0.333");  // net 0.33, tax 0.07 each
  i.pieces = 3;
  const auto by_line = price_list({i, i, i}, t);
  CHECK(by_line->tax == by_line->lines[0].tax * 9);
  t.vat_on_total = true;
  const auto total = price_list({i, i, i}, t);
  CHECK(total->net == by_line->net);
  CHECK(total->tax == Money::minor(59));  // 20 % of 2.97 is 0.594
  CHECK(by_line->tax == Money::minor(63));
  CHECK(total->gross == total->net + total->tax);
}

TEST_CASE("the sum of parts is the total and net plus tax the price, in every currency exponent") {
  std::mt19937_64 random(9);
  const auto some = [&](std::uint64_t n) { return static_cast<std::int64_t>(random() % n); };
  for (int round = 0; round < 2000; ++round)
    for (const Currency& c : {eur, jpy, kwd, clf}) {
      const std::int64_t scale = c.exponent == 0 ? 150'000'000'000 : 1'000'000'000;
      const auto amount = [&] { return Amount::billionths(some(static_cast<std::uint64_t>(5 * scale))); };
      std::vector<PriceItem> items(1 + random() % 4);
      for (PriceItem& i : items) {
        i.pieces = 1 + some(40);
        i.per_kilogram = amount();
        i.material = Mass::micrograms(1 + some(2'000'000'000));
        i.low = i.material * Ratio::percent(90);
        i.high = i.material * Ratio::percent(110);
        i.pigment = amount();
        i.residue = Mass::micrograms(some(400'000'000));
        i.mold = amount() * 20;
        i.pulls = some(80);
        i.labour = Duration(static_cast<double>(some(900)));
        i.packaging = amount();
        i.shipping = amount();
        i.surplus = some(4);
      }
      PriceTerms t;
      t.currency = c;
      t.labour_per_hour = amount() * 5;
      t.failed = Ratio::millionths(some(90'000));
      t.overhead = Ratio::millionths(some(200'000));
      t.fees = Ratio::millionths(some(100'000));
      t.fees_on_gross = some(2) == 0;
      t.fee_per_sale = amount();
      t.vat = Ratio::millionths(some(250'000));
      if (some(3) == 0) t.discount = Ratio::millionths(some(900'000));
      if (some(3) == 0) t.wholesale_discount = Ratio::millionths(some(900'000));
      if (some(2) == 0)
        t.markup = Ratio::millionths(some(2'000'000));
      else
        t.margin = Ratio::millionths(some(600'000));
      t.round_to = Money::minor(some(3) * 25);
      t.vat_on_total = some(2) == 0;
      const auto list = price_list(items, t);
      REQUIRE(list.has_value());
      Money net, tax;
      for (const PriceLine& l : list->lines) {
        CHECK(l.material + l.pigment + l.waste + l.mold_wear + l.labour + l.other == l.total);
        CHECK(l.net + l.tax == l.price);
        CHECK(l.price_low <= l.price);
        CHECK(l.price <= l.price_high);
        if (t.round_to > Money()) CHECK(l.list_price.in_minor() % t.round_to.in_minor() == 0);
        CHECK(l.price <= l.list_price);
        if (!t.discount) CHECK(l.price == l.list_price);
        CHECK(l.shop_cost <= l.total);
        net += l.net * l.pieces;
        tax += l.tax * l.pieces;
      }
      CHECK(list->net == net);
      if (!t.vat_on_total) CHECK(list->tax == tax);
      CHECK(list->net + list->tax == list->gross);
    }
}

TEST_CASE("prices that cannot be are refused") {
  PriceTerms t;
  t.margin = in_percent("95");
  t.fees = in_percent("5");
  CHECK(price_list({item("1")}, t).error().code == Code::price_impossible);
  t.markup = in_percent("10");
  CHECK(price_list({item("1")}, t).error().code == Code::usage);
  t = {};
  t.failed = in_percent("100");
  CHECK(price_list({}, t).error().code == Code::price_impossible);
  t = {};
  t.markup = in_percent("10");
  t.wholesale_markup = t.wholesale_discount = in_percent("10");
  CHECK(price_list({item("1")}, t).error().code == Code::usage);
  t = {};
  t.discount = in_percent("100");
  CHECK(price_list({item("1")}, t).error().code == Code::price_impossible);
  t = {};
  t.markup = in_percent("2000");
  t.fees = in_percent("5");
  CHECK(price_list({item("1")}, t).error().code == Code::price_impossible);
}
