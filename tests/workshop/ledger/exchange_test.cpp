// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/ledger.hpp>

#include "support/temporary_folder.hpp"
#include "workshop/ledger/csv.hpp"
#include "workshop/ledger/samples.hpp"

#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using samples::morning;

namespace {

std::vector<Record> all(const Ledger& ledger) {
  Query q;
  q.limit = 10'000;
  q.oldest_first = q.withdrawn_too = true;
  auto records = ledger.records(q);
  REQUIRE(records);
  return *records;
}

struct Two {
  support::TemporaryFolder folder;
  Ledger from = *Ledger::open(folder / "from.db");
  Ledger to = *Ledger::open(folder / "to.db");
};

void fill(Ledger& ledger) {
  for (int i = 0; i < 40; ++i) REQUIRE(ledger.add(morning + i, samples::any(i)));
  REQUIRE(ledger.add(morning, samples::cup(1)));  // the same cup twice in one second is two cups
  REQUIRE(ledger.add(morning, samples::cup(1)));
  WaterFill odd = samples::water();
  odd.mold = "=SUM(A1), \"dish\"";
  odd.note = "'=1+1\n-2";
  REQUIRE(ledger.add(morning + 99, odd));
  DensityCup uneven = samples::cup();
  uneven.volume = millilitres(207.3);
  REQUIRE(ledger.add(morning + 99, uneven));
  REQUIRE(ledger.add(morning + 100, Withdrawal{2, "@tare forgotten"}));
}

template <class Export, class Import>
void check_exchange(Export export_as, Import import_as) {
  Two t;
  fill(t.from);
  // A record of its own first, so that the numbers differ between the two.
  REQUIRE(t.to.add(1, samples::cup(500)));
  const auto text = export_as(t.from);
  REQUIRE(text);
  const auto first = import_as(t.to, *text);
  REQUIRE(first);
  CHECK(first->added == 45);
  CHECK(first->known == 0);
  const auto a = all(t.from), b = all(t.to);
  REQUIRE(b.size() == a.size() + 1);
  for (std::size_t i = 0; i < a.size(); ++i) {
    CAPTURE(i);
    CHECK(b[i + 1].at == a[i].at);
    CHECK(b[i + 1].withdrawn == a[i].withdrawn);
    if (const auto* w = std::get_if<Withdrawal>(&b[i + 1].what)) {
      CHECK(w->record == 3);
      CHECK(w->why == "@tare forgotten");
    } else {
      CHECK(b[i + 1].what == a[i].what);
    }
  }
  const auto again = import_as(t.to, *text);
  REQUIRE(again);
  CHECK(again->added == 0);
  CHECK(again->known == 45);
  CHECK_FALSE(t.to.check());
}

}  // namespace

TEST_CASE("JSON out and in, twice") {
  check_exchange(export_json, import_json);
}

TEST_CASE("CSV out and in, twice") {
  check_exchange(export_csv, import_csv);
}

TEST_CASE("an import is all or nothing and says where it stopped") {
  Two t;
  fill(t.from);
  std::string csv = *export_csv(t.from);
  const std::size_t at = csv.rfind("boathouse-3.2,,,,200");
  REQUIRE(at != std::string::npos);
  csv.replace(at, 20, "boathouse-3.2,,,,2oo");
  const auto bad = import_csv(t.to, csv);
  REQUIRE_FALSE(bad);
  CHECK(bad.error().code == Code::record_invalid);
  CHECK(bad.error().text.find("line ") != std::string::npos);
  CHECK(bad.error().text.find("volume_ml") != std::string::npos);
  CHECK(*t.to.count() == 0);
  for (const char* text : {"", "[]", "{}", "{\"schema\":\"pourwright.ledger/1\"}",
                           "{\"schema\":\"pourwright.card/1\",\"records\":[]}",
                           "{\"schema\":\"pourwright.ledger/1\",\"records\":[3]}",
                           "{\"schema\":\"pourwright.ledger/"
                           "1\",\"records\":[{\"at\":\"2026-10-12T09:30:00Z\",\"kind\":\"cup\"}]}"}) {
    CAPTURE(text);
    const auto refused = import_json(t.to, text);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == Code::record_invalid);
    CHECK_FALSE(refused.error().hint.empty());
  }
  for (const char* text : {"", "id,at,colour\n", "id,at,kind\n1,2026-10-12T09:30:00Z,cup,4\n",
                           "id,at,kind\n1,\"2026", "id,at\n1,\"a\"b\n"}) {
    CAPTURE(text);
    const auto refused = import_csv(t.to, text);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == Code::record_invalid);
  }
  CHECK(*t.to.count() == 0);
}

TEST_CASE("any bytes given as an import are refused or taken, nothing else") {
  Two t;
  fill(t.from);
  const std::string json = *export_json(t.from), csv = *export_csv(t.from);
  std::mt19937_64 random(65);
  for (int i = 0; i < 2000; ++i) {
    std::string text = i % 2 == 0 ? json : csv;
    for (int k = 0; k < 1 + i % 5; ++k) text[random() % text.size()] = static_cast<char>(random());
    if (i % 7 == 0) text.resize(random() % text.size());
    auto result = i % 2 == 0 ? import_json(t.to, text) : import_csv(t.to, text);
    if (!result) REQUIRE(result.error().code == Code::record_invalid);
  }
  CHECK_FALSE(t.to.check());
}

TEST_CASE("cells of a table come back as they were") {
  for (const char* text :
       {"", "plain", "a,b", "say \"no\"", "=1+1", "-5", "'quoted'", "'=x", "@a", "two\nlines", "'"}) {
    CAPTURE(text);
    const auto rows = ledger::parse_csv("x," + ledger::csv_cell(text) + "\r\nnext,row\n");
    REQUIRE(rows);
    REQUIRE(rows->size() == 2);
    CHECK(ledger::plain_cell((*rows)[0].cells[1]) == text);
  }
}
