// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/price.hpp>

#include <numeric>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

const Currency currency_eur{"EUR", 2};
Amount euro(std::string_view text) {
  return *parse_amount(text, currency_eur);
}
Ratio percent(std::string_view text) {
  return *parse_percent(text);
}

std::vector<std::int64_t> minors(const std::vector<Money>& money) {
  std::vector<std::int64_t> out;
  for (const Money m : money) out.push_back(m.in_minor());
  return out;
}

}  // namespace

TEST_CASE("weighted average cost") {
  // Periodic: 2000 at 10, 500 at 11, 1000 at 12.50; 2800 sold: cost 30400, 7600 left (a published worked
  // example).
  AverageCost stock;
  stock.add(2000, euro("20000"));
  stock.add(500, euro("5500"));
  stock.add(1000, euro("12500"));
  CHECK(amount_text(stock.worth(1), currency_eur) == "10.857142857");
  CHECK(rounded(stock.take(2800), currency_eur) == Money::minor(3'040'000));
  CHECK(rounded(stock.value(), currency_eur) == Money::minor(760'000));
  CHECK(stock.quantity() == 700);
  // 80 units for 690: 8.625 each, 20 of them 172.50 (Accounting Principles: A Business Perspective, exhibit
  // 55).
  AverageCost other;
  other.add(80, euro("690"));
  CHECK(amount_text(other.worth(1), currency_eur) == "8.625");
  other.take(60);
  CHECK(amount_text(other.value(), currency_eur) == "172.50");
  // Moving: 310 at 9, 160 sold, 350 at 11: 10.40 each.
  AverageCost moving;
  moving.add(310, euro("2790"));
  moving.take(160);
  moving.add(350, euro("3850"));
  CHECK(amount_text(moving.worth(1), currency_eur) == "10.40");
  CHECK(AverageCost().worth(5) == Amount());
}

TEST_CASE("joint costs lose no cent") {
  // Activity-based: set-up 50000 by 100 to 200, inspection 30000 by 150 to 50: A bears 39167, B 40833.
  const auto setup = spread(Money::minor(50'000), {100, 200}),
             inspection = spread(Money::minor(30'000), {150, 50});
  CHECK((setup[0] + inspection[0]).in_minor() == 39'167);
  CHECK((setup[1] + inspection[1]).in_minor() == 40'833);
  CHECK(minors(spread(Money::minor(100), {1, 1, 1})) == std::vector<std::int64_t>{34, 33, 33});
  CHECK(minors(spread(Money::minor(-100), {1, 1, 1})) == std::vector<std::int64_t>{-34, -33, -33});
  std::mt19937_64 random(2);
  for (int i = 0; i < 1000; ++i) {
    std::vector<std::int64_t> weights(1 + random() % 9);
    for (auto& w : weights) w = static_cast<std::int64_t>(random() % 1000);
    weights[0] += 1;
    const Money total = Money::minor(static_cast<std::int64_t>(random() % 2'000'001) - 1'000'000);
    const std::int64_t sum = std::accumulate(weights.begin(), weights.end(), std::int64_t{0});
    Money added;
    const auto shares = spread(total, weights);
    for (std::size_t k = 0; k < shares.size(); ++k) {
      added += shares[k];
      CHECK(std::abs(shares[k].in_minor() * sum - total.in_minor() * weights[k]) < sum);
    }
    CHECK(added == total);
  }
}

TEST_CASE("tax within a price: a sixth at 20 % (HMRC Notice 700)") {
  CHECK(tax_within(Money::minor(7200), percent("20")) == Money::minor(1200));
  CHECK(tax_within(Money::minor(12100), percent("21")) == Money::minor(2100));
  CHECK(tax_within(Money::minor(999), percent("0")) == Money());
}

TEST_CASE("tax of a line in tenths of a penny, as HMRC Notice 700 section 17.5 has it") {
  const Currency tenths{"GBP", 3};  // a line in thousandths of a pound
  const Amount tax = *parse_amount("0.8676", tenths);
  CHECK(money_text(rounded(tax, tenths), tenths) == "0.868");
  CHECK(money_text(rounded(tax, currency_eur), currency_eur) == "0.87");
}
