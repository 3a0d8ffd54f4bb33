// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/ledger.hpp>

#include "support/temporary_folder.hpp"
#include "workshop/ledger/samples.hpp"
#include "workshop/ledger/schema.hpp"

#include <fstream>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;
using samples::morning;

namespace {

Code code_of(const std::filesystem::path& file) {
  const auto ledger = Ledger::open(file);
  REQUIRE_FALSE(ledger);
  CHECK_FALSE(ledger.error().text.empty());
  CHECK_FALSE(ledger.error().hint.empty());
  return ledger.error().code;
}
std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
/// Straight to the file, past the ledger.
int run_sql(const std::filesystem::path& file, const std::string& sql) {
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(file.c_str(), &db) == SQLITE_OK);
  const int result = sqlite3_exec(db, sql.c_str(), nullptr, nullptr, nullptr);
  sqlite3_close(db);
  return result;
}

}  // namespace

TEST_CASE("every kind of record comes back as it was") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  {
    auto ledger = Ledger::open(file);
    REQUIRE(ledger);
    for (int i = 0; i < 8; ++i) REQUIRE(ledger->add(morning + i, samples::any(i)));
  }
  auto ledger = Ledger::open_to_read(file);
  REQUIRE(ledger);
  CHECK(*ledger->count() == 8);
  CHECK_FALSE(ledger->check());
  for (int i = 0; i < 8; ++i) {
    const auto r = ledger->record(i + 1);
    REQUIRE(r);
    CHECK(r->at == morning + i);
    CHECK(r->what == samples::any(i));
    CHECK_FALSE(r->withdrawn);
  }
  const auto none = ledger->record(9);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == Code::record_unknown);
}

TEST_CASE("queries find by kind, mold, mix, text and time, newest first") {
  const support::TemporaryFolder folder;
  auto ledger = Ledger::open(folder / "ledger.db");
  REQUIRE(ledger);
  for (int i = 0; i < 40; ++i) REQUIRE(ledger->add(morning + i * 60, samples::measured(i)));
  const auto ids = [&](const Query& q) {
    const auto found = ledger->records(q);
    REQUIRE(found);
    std::vector<std::int64_t> out;
    for (const Record& r : *found) out.push_back(r.id);
    return out;
  };
  Query q;
  CHECK(ids(q).size() == 40);
  CHECK(ids(q).front() == 40);
  q.kind = "pour";
  CHECK(ids(q).size() == 10);
  q.mold = "knob_six";
  q.mix = "boathouse-3.2";
  q.limit = 3;
  CHECK(ids(q) == std::vector<std::int64_t>{39, 35, 31});
  q.oldest_first = true;
  CHECK(ids(q) == std::vector<std::int64_t>{3, 7, 11});
  q.after = 7;
  CHECK(ids(q) == std::vector<std::int64_t>{11, 15, 19});
  q.mix = "slip-plaster";
  CHECK(ids(q).empty());
  Query sheets;
  sheets.kind = "sheet";
  sheets.text = "DISHES 3";  // 3, 31, 35, 39
  CHECK(ids(sheets) == std::vector<std::int64_t>{40, 36, 32, 4});
  sheets.text = "100%";  // not a pattern
  CHECK(ids(sheets).empty());
  Query early;
  early.from = morning + 60;
  early.until = morning + 180;
  CHECK(ids(early) == std::vector<std::int64_t>{3, 2});
  Query wrong;
  wrong.kind = "puor";
  CHECK(ledger->records(wrong).error().code == Code::usage);
}

TEST_CASE("records are never changed: a mistaken one is withdrawn") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  auto ledger = Ledger::open(file);
  REQUIRE(ledger);
  REQUIRE(ledger->add(morning, samples::water()));
  REQUIRE(ledger->add(morning, samples::water(1)));
  REQUIRE(ledger->add(morning + 1, Withdrawal{1, "the scale was not level"}));
  Query q;
  q.kind = "water";
  q.mold = "ripple_dish";
  CHECK(ledger->records(q)->size() == 1);
  q.withdrawn_too = true;
  REQUIRE(ledger->records(q)->size() == 2);
  CHECK(ledger->records(q)->back().withdrawn);
  CHECK(ledger->add(morning, Withdrawal{1, ""}).error().code == Code::record_invalid);  // twice
  CHECK(ledger->add(morning, Withdrawal{3, ""}).error().code == Code::record_invalid);  // itself a withdrawal
  CHECK(ledger->add(morning, Withdrawal{9, ""}).error().code == Code::record_unknown);
  CHECK(*ledger->count() == 3);
  CHECK(run_sql(file, "DELETE FROM record WHERE id = 1") == SQLITE_CONSTRAINT);
  CHECK(run_sql(file, "UPDATE water_fill SET water_ug = 1 WHERE id = 1") == SQLITE_CONSTRAINT);
  CHECK(run_sql(file, "UPDATE record SET at = 0") == SQLITE_CONSTRAINT);
  CHECK(run_sql(file, "DELETE FROM withdrawal") == SQLITE_CONSTRAINT);
}

TEST_CASE("what cannot be true is not recorded, and nothing of a batch with one such record is") {
  const support::TemporaryFolder folder;
  auto ledger = Ledger::open(folder / "ledger.db");
  REQUIRE(ledger);
  TestPour more_left = samples::pour();
  more_left.left = more_left.mixed;
  TestPour nowhere = samples::pour();
  nowhere.molds.clear();
  TestPour twice = samples::pour();
  twice.molds[1].mold = twice.molds[0].mold;
  WaterFill ice = samples::water();
  ice.temperature = celsius(-1);
  WaterFill bell = samples::water();
  bell.mold = "ripple\adish";
  WaterFill latin = samples::water();
  latin.note = "caf\xe9";
  DensityCup heavy = samples::cup();
  heavy.mass = Mass::grams(3720);
  BatchSheet untitled = samples::sheet();
  untitled.title.clear();
  for (const What& what : {What(more_left), What(nowhere), What(twice), What(ice), What(bell), What(latin),
                           What(heavy), What(untitled), What(Withdrawal{})}) {
    const auto refused = ledger->add(morning, what);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == Code::record_invalid);
    CHECK_FALSE(refused.error().hint.empty());
  }
  CHECK_FALSE(ledger->add_all({{morning, samples::cup()}, {morning, heavy}}));
  CHECK(*ledger->count() == 0);
}

TEST_CASE("a ledger of the first version is brought up to date with its records") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  REQUIRE(run_sql(file, std::string(ledger::schema_steps()[0]) +
                            "INSERT INTO record (at, kind, note) VALUES (1791797400, 'water', 'old');"
                            "INSERT INTO water_fill VALUES (1, 'ripple_dish', '', 141000000, 18.0, 100000);"
                            "PRAGMA application_id=1349481842; PRAGMA user_version=1") == SQLITE_OK);
  const auto old = Ledger::open_to_read(file);
  REQUIRE_FALSE(old);
  CHECK(old.error().hint.find("up to date") != std::string::npos);
  auto ledger = Ledger::open(file);
  REQUIRE(ledger);
  CHECK(std::get<WaterFill>(ledger->record(1)->what).water == Mass::grams(141));
  CHECK(ledger->add(morning, samples::sheet()));
  const auto stock = ledger->add(morning, samples::stock());
  REQUIRE(stock);
  CHECK(ledger->record(*stock)->what == What(samples::stock()));
  const auto lot = ledger->add(morning, samples::lot());
  REQUIRE(lot);
  CHECK(ledger->record(*lot)->what == What(samples::lot()));
  CHECK(std::get<TestPour>(ledger->record(*ledger->add(morning, samples::pour(2)))->what) ==
        samples::pour(2));
  CHECK_FALSE(ledger->check());
  // Only the change of version may touch what describes the tables.
  CHECK(run_sql(file, "INSERT INTO record (at, kind, note) VALUES (1, 'nonsense', '')") != SQLITE_OK);
}

TEST_CASE("lots are found by what they are of; one without a name is refused") {
  const support::TemporaryFolder folder;
  auto ledger = Ledger::open(folder / "ledger.db");
  REQUIRE(ledger);
  for (int i = 0; i < 3; ++i) REQUIRE(ledger->add(morning + i, samples::lot(i)));
  REQUIRE(ledger->add(morning, LotOpened{"plaster", "7", ""}));
  Query q;
  q.kind = "lot";
  CHECK(ledger->records(q)->size() == 4);
  q.supply = "mineral powder";
  REQUIRE(ledger->records(q)->size() == 3);
  CHECK(std::get<LotOpened>(ledger->records(q)->front().what).lot == "B-2");
  CHECK(ledger->add(morning, LotOpened{"plaster", "", ""}).error().code == Code::record_invalid);
  CHECK(ledger->add(morning, LotOpened{"", "7", ""}).error().code == Code::record_invalid);
}

TEST_CASE("stock comes in, goes out and is counted; what makes no sense is refused") {
  const support::TemporaryFolder folder;
  auto ledger = Ledger::open(folder / "ledger.db");
  REQUIRE(ledger);
  for (int i = 0; i < 6; ++i) REQUIRE(ledger->add(morning + i, samples::stock(i)));
  Query q;
  q.kind = "stock";
  CHECK(ledger->records(q)->size() == 6);
  StockChange nothing = samples::stock(), paid = samples::stock(1), nameless = samples::stock(),
              currency = samples::stock();
  nothing.mass = Mass();
  paid.cost = Amount::billionths(1);
  nameless.supply.clear();
  currency.currency.clear();
  for (const StockChange& wrong : {nothing, paid, nameless, currency})
    CHECK(ledger->add(morning, wrong).error().code == Code::record_invalid);
  StockChange empty = samples::stock(2);
  empty.mass = Mass();
  CHECK(ledger->add(morning, empty));
}

TEST_CASE("later versions and other programs' files are left alone") {
  const support::TemporaryFolder folder;
  const auto later = folder / "later.db", other = folder / "other.db", text = folder / "text.db";
  { REQUIRE(Ledger::open(later)); }
  REQUIRE(run_sql(later, "PRAGMA user_version=99") == SQLITE_OK);
  REQUIRE(run_sql(other, "CREATE TABLE mine (x)") == SQLITE_OK);
  std::ofstream(text) << std::string(5000, 'x');
  const std::string before = bytes_of(later) + bytes_of(other) + bytes_of(text);
  CHECK(code_of(later) == Code::ledger_too_new);
  CHECK(code_of(other) == Code::ledger_corrupt);
  CHECK(code_of(text) == Code::ledger_corrupt);
  CHECK(bytes_of(later) + bytes_of(other) + bytes_of(text) == before);
  CHECK(code_of(folder / "no" / "such" / "ledger.db") == Code::ledger_unwritable);
  CHECK(Ledger::open_to_read(folder / "absent.db").error().code == Code::file_missing);
}

// 1200 damaged copies: opening must give a whole ledger or a Problem that says what to do; never a crash or a
// lie.
TEST_CASE("a damaged file is refused, and what is read from one that is not is true") {
  const support::TemporaryFolder folder;
  const auto whole = folder / "whole.db", damaged = folder / "damaged.db";
  {
    auto ledger = Ledger::open(whole);
    REQUIRE(ledger);
    for (int i = 0; i < 60; ++i) REQUIRE(ledger->add(morning + i, samples::any(i)));
  }
  const std::string good = bytes_of(whole);
  REQUIRE(good.size() > 20'000);
  std::mt19937_64 random(74);
  int refused = 0;
  for (int round = 0; round < 1200; ++round) {
    std::string bad = good;
    if (round % 3 == 0)
      bad.resize(random() % bad.size());
    else
      for (int k = 0; k < (round % 3 == 1 ? 1 : 40); ++k)
        bad[random() % bad.size()] = static_cast<char>(random());
    std::filesystem::remove(folder / "damaged.db-wal");
    std::filesystem::remove(folder / "damaged.db-shm");
    std::ofstream(damaged, std::ios::binary | std::ios::trunc) << bad;
    auto ledger = Ledger::open(damaged);
    if (!ledger) {
      ++refused;
      REQUIRE_FALSE(ledger.error().text.empty());
      CAPTURE(ledger.error().text);
      CHECK(ledger.error().code != Code::internal);
      continue;
    }
    Query all;
    all.limit = 1000;
    const auto records = ledger->records(all);
    if (!records) {
      ++refused;
      CHECK(records.error().code != Code::internal);
    }
  }
  CHECK(refused > 600);
}

TEST_CASE("a ledger in a folder that cannot be written is read all the same") {
  const support::TemporaryFolder folder;
  const auto file = folder / "ledger.db";
  {
    auto ledger = Ledger::open(file);
    REQUIRE(ledger);
    REQUIRE(ledger->add(morning, samples::cup()));
  }
  std::filesystem::permissions(folder.path(),
                               std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
  auto ledger = Ledger::open_to_read(file);
  REQUIRE(ledger);
  CHECK(*ledger->count() == 1);
  std::filesystem::permissions(folder.path(), std::filesystem::perms::owner_all);
}
