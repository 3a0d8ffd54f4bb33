// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of the ledger, step by step from the first version, and the checks before a file is believed.
#include "workshop/ledger/schema.hpp"

#include <array>

#include <fmt/format.h>

namespace pourwright::ledger {
namespace {

constexpr std::int64_t application = 0x506f7572;  // "Pour"

/// Files up to this size have all their pages checked each time they are opened to be written.
constexpr std::uintmax_t checked_size = 4 << 20;

constexpr const char* records_of_measurement = R"sql(
CREATE TABLE record (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at INTEGER NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('water', 'cup', 'pour', 'withdrawal', 'sheet')),
  note TEXT NOT NULL
) STRICT;
CREATE INDEX record_by_time ON record (at, id);

CREATE TABLE water_fill (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  mold TEXT NOT NULL CHECK (mold <> ''),
  content TEXT NOT NULL,
  water_ug INTEGER NOT NULL CHECK (water_ug > 0),
  celsius REAL NOT NULL,
  step_ug INTEGER NOT NULL CHECK (step_ug >= 0)
) STRICT;
CREATE INDEX water_fill_by_mold ON water_fill (mold, id);

CREATE TABLE density_cup (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  mix TEXT NOT NULL CHECK (mix <> ''),
  volume_mm3 REAL NOT NULL CHECK (volume_mm3 > 0),
  mass_ug INTEGER NOT NULL CHECK (mass_ug > 0),
  step_ug INTEGER NOT NULL CHECK (step_ug >= 0)
) STRICT;
CREATE INDEX density_cup_by_mix ON density_cup (mix, id);

CREATE TABLE test_pour (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  mix TEXT NOT NULL CHECK (mix <> ''),
  ratio_ppm INTEGER NOT NULL CHECK (ratio_ppm >= 0),
  mixed_ug INTEGER NOT NULL CHECK (mixed_ug > 0),
  left_ug INTEGER NOT NULL CHECK (left_ug >= 0 AND left_ug < mixed_ug),
  cups INTEGER NOT NULL CHECK (cups >= 1),
  ran_short INTEGER NOT NULL CHECK (ran_short IN (0, 1)),
  room_celsius REAL,
  step_ug INTEGER NOT NULL CHECK (step_ug >= 0),
  defects TEXT NOT NULL
) STRICT;
CREATE INDEX test_pour_by_mix ON test_pour (mix, id);

CREATE TABLE test_pour_mold (
  pour INTEGER NOT NULL REFERENCES test_pour (id),
  place INTEGER NOT NULL,
  mold TEXT NOT NULL CHECK (mold <> ''),
  content TEXT NOT NULL,
  copies INTEGER NOT NULL CHECK (copies >= 1),
  mix TEXT NOT NULL,
  PRIMARY KEY (pour, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX test_pour_mold_by_mix ON test_pour_mold (mold, mix, pour);
CREATE INDEX test_pour_mold_by_mold ON test_pour_mold (mold, pour);

CREATE TABLE withdrawal (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  record INTEGER NOT NULL UNIQUE REFERENCES record (id)
) STRICT;

CREATE TRIGGER record_kept BEFORE DELETE ON record BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER record_fixed BEFORE UPDATE ON record BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
CREATE TRIGGER water_fill_kept BEFORE DELETE ON water_fill BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER water_fill_fixed BEFORE UPDATE ON water_fill
  BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
CREATE TRIGGER density_cup_kept BEFORE DELETE ON density_cup BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER density_cup_fixed BEFORE UPDATE ON density_cup
  BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
CREATE TRIGGER test_pour_kept BEFORE DELETE ON test_pour BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER test_pour_fixed BEFORE UPDATE ON test_pour
  BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
CREATE TRIGGER test_pour_mold_kept BEFORE DELETE ON test_pour_mold BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER test_pour_mold_fixed BEFORE UPDATE ON test_pour_mold
  BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
CREATE TRIGGER withdrawal_kept BEFORE DELETE ON withdrawal BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER withdrawal_fixed BEFORE UPDATE ON withdrawal
  BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
)sql";

constexpr const char* batch_sheets = R"sql(
CREATE TABLE sheet (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  mix TEXT NOT NULL CHECK (mix <> ''),
  body TEXT NOT NULL
) STRICT;
CREATE INDEX sheet_by_mix ON sheet (mix, id);
CREATE TRIGGER sheet_kept BEFORE DELETE ON sheet BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER sheet_fixed BEFORE UPDATE ON sheet BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
)sql";

// The list of kinds is part of the first table's text, which is changed in place as SQLite's page on ALTER
// TABLE describes; the new table makes other connections read the schema again.
constexpr const char* stock_changes = R"sql(
PRAGMA writable_schema=ON;
UPDATE sqlite_schema SET sql = replace(sql, '''sheet'')', '''sheet'', ''stock'')')
  WHERE type = 'table' AND name = 'record';
PRAGMA writable_schema=RESET;
CREATE TABLE stock (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  supply TEXT NOT NULL CHECK (supply <> ''),
  change TEXT NOT NULL CHECK (change IN ('bought', 'used', 'counted')),
  mass_ug INTEGER NOT NULL CHECK (mass_ug >= 0),
  cost_billionths INTEGER CHECK (cost_billionths >= 0),
  currency TEXT NOT NULL
) STRICT;
CREATE INDEX stock_by_supply ON stock (supply, id);
CREATE TRIGGER stock_kept BEFORE DELETE ON stock BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER stock_fixed BEFORE UPDATE ON stock BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
)sql";

constexpr const char* lots_and_belief = R"sql(
PRAGMA writable_schema=ON;
UPDATE sqlite_schema SET sql = replace(sql, '''stock'')', '''stock'', ''lot'')')
  WHERE type = 'table' AND name = 'record';
PRAGMA writable_schema=RESET;
ALTER TABLE water_fill ADD COLUMN believed INTEGER NOT NULL DEFAULT 0 CHECK (believed IN (0, 1));
ALTER TABLE density_cup ADD COLUMN lot TEXT NOT NULL DEFAULT '';
ALTER TABLE density_cup ADD COLUMN believed INTEGER NOT NULL DEFAULT 0 CHECK (believed IN (0, 1));
ALTER TABLE test_pour ADD COLUMN lot TEXT NOT NULL DEFAULT '';
ALTER TABLE test_pour ADD COLUMN believed INTEGER NOT NULL DEFAULT 0 CHECK (believed IN (0, 1));
CREATE TABLE lot (
  id INTEGER PRIMARY KEY REFERENCES record (id),
  supply TEXT NOT NULL CHECK (supply <> ''),
  lot TEXT NOT NULL CHECK (lot <> '')
) STRICT;
CREATE INDEX lot_by_supply ON lot (supply, id);
CREATE TRIGGER lot_kept BEFORE DELETE ON lot BEGIN SELECT RAISE(ABORT, 'records stay'); END;
CREATE TRIGGER lot_fixed BEFORE UPDATE ON lot BEGIN SELECT RAISE(ABORT, 'records stay as they are'); END;
)sql";

constexpr std::array steps{records_of_measurement, batch_sheets, stock_changes, lots_and_belief};
constexpr auto newest = static_cast<std::int64_t>(steps.size());

Problem not_a_ledger(const Database& database, std::string_view why) {
  return fail(Code::ledger_corrupt, fmt::format("“{}” is not a ledger: {}", database.file().string(), why),
              "name the right file or folder with --workshop, or move this file away");
}

/// The version, or why the file is no ledger of ours. 0: nothing in it yet.
Expected<std::int64_t> version_of(const Database& database) {
  // One statement, so that all three are of the same moment while another process creates the tables.
  auto facts = database.prepare(
      "SELECT count(*), (SELECT user_version FROM pragma_user_version), "
      "(SELECT application_id FROM pragma_application_id) FROM sqlite_schema");
  if (!facts) return facts.error();
  const auto row = facts->next();
  if (!row) return row.error();
  const std::int64_t things = facts->integer(0), version = facts->integer(1), id = facts->integer(2);
  if (version == 0 && id == 0 && things == 0) return std::int64_t{0};
  if (id != application) return not_a_ledger(database, "another program's tables are in it");
  if (version > newest)
    return fail(Code::ledger_too_new,
                fmt::format("the ledger “{}” is of version {}; this program knows up to {}",
                            database.file().string(), version, newest),
                "use the newer program, or export there and import here");
  if (version < 1) return not_a_ledger(database, "it has no version");
  return version;
}

std::optional<Problem> check_pages(const Database& database) {
  std::error_code error;
  if (const auto size = std::filesystem::file_size(database.file(), error); error || size > checked_size)
    return std::nullopt;
  auto statement = database.prepare("PRAGMA quick_check(1)");
  if (!statement) return statement.error();
  const auto row = statement->next();
  if (!row) return row.error();
  if (*row && statement->text(0) == "ok") return std::nullopt;
  return fail(Code::ledger_corrupt,
              fmt::format("the ledger “{}” is damaged: {}", database.file().string(), statement->text(0)),
              "put a copy back, or move it away and run `pourwright learn import` with your last export");
}

std::optional<Problem> bring_up_to_date(const Database& database) {
  Transaction transaction(database);
  if (auto problem = transaction.begin()) return problem;
  // Another process may have done it while this one waited for the lock.
  const auto version = version_of(database);
  if (!version) return version.error();
  database.guard_schema(false);
  for (auto v = static_cast<std::size_t>(*version); v < steps.size(); ++v)
    if (auto problem = database.run(steps[v])) return problem;
  database.guard_schema(true);
  const std::string stamp =
      fmt::format("PRAGMA application_id={}; PRAGMA user_version={}", application, newest);
  if (auto problem = database.run(stamp.c_str())) return problem;
  return transaction.commit();
}

/// Two processes that create the file together can meet here, and SQLite does not wait for this one.
std::optional<Problem> use_write_ahead_log(const Database& database) {
  constexpr int tries = 50;
  for (int i = 0;; ++i) {
    auto problem = database.run("PRAGMA journal_mode=WAL");
    if (!problem || problem->code != Code::ledger_busy || i == tries) return problem;
    sqlite3_sleep(20);
  }
}

}  // namespace

std::span<const char* const> schema_steps() {
  return steps;
}

std::optional<Problem> settle_schema(const Database& database, bool update) {
  const auto version = version_of(database);
  if (!version) return version.error();
  if (!update) {
    if (*version == newest) return std::nullopt;
    return fail(Code::ledger_unwritable,
                fmt::format("the ledger “{}” is of the older version {}", database.file().string(), *version),
                "record something with `pourwright learn`: that brings it up to date");
  }
  if (auto problem = use_write_ahead_log(database)) return problem;
  // FULL: a commit is on the disk before it is reported, so that it outlives a power cut as well.
  if (auto problem = database.run("PRAGMA synchronous=FULL")) return problem;
  if (*version < newest)
    if (auto problem = bring_up_to_date(database)) return problem;
  return check_pages(database);
}

}  // namespace pourwright::ledger
