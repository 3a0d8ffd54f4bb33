// SPDX-License-Identifier: GPL-3.0-or-later
// SQLite behind types: statements, transactions, and its error codes as problems.
#include "workshop/ledger/database.hpp"

#include <cerrno>
#include <system_error>

#include <fmt/format.h>

namespace pourwright::ledger {
namespace {

constexpr int patience_ms = 5000;

/// A path as SQLite's URI form wants it: only there can a file be declared unchanging.
std::string uri(const std::filesystem::path& file) {
  std::string out = "file:";
  for (const char c : std::filesystem::absolute(file).string()) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       c == '/' || c == '.' || c == '-' || c == '_';
    out += plain ? std::string(1, c)
                 : fmt::format("%{:02X}", static_cast<unsigned>(static_cast<unsigned char>(c)));
  }
  return out;
}

Problem problem_of(int result, int system_error, std::string_view detail, const std::filesystem::path& file) {
  const std::string name = fmt::format("the ledger “{}”", file.string());
  const auto unwritable = [&] {
    return fail(Code::ledger_unwritable, fmt::format("{} cannot be used: {}", name, detail),
                "check that its folder exists and may be written, or name another with --workshop");
  };
  switch (result & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return fail(Code::ledger_busy, fmt::format("{} is held by another program", name),
                  "nothing was written; try again");
    case SQLITE_FULL:
      return fail(Code::ledger_full, fmt::format("{} cannot grow: the disk is full", name),
                  "nothing was written; make room and try again");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_ERROR:  // our statements are fixed, so it is the tables that are not as they were made
      return fail(Code::ledger_corrupt, fmt::format("{} is damaged: {}", name, detail),
                  "put a copy back, or move it away and run `pourwright learn import` with your last export");
    case SQLITE_NOMEM:
      return fail(Code::memory_limit, fmt::format("not enough memory to read {}", name));
    case SQLITE_IOERR:
      if (system_error == ENOSPC || system_error == EFBIG || system_error == EDQUOT)
        return fail(Code::ledger_full,
                    fmt::format("{} cannot grow: {}", name, std::generic_category().message(system_error)),
                    "nothing was written; make room and try again");
      return unwritable();
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return unwritable();
    case SQLITE_CONSTRAINT:
    case SQLITE_MISMATCH:
    case SQLITE_TOOBIG:
      return fail(Code::record_invalid, fmt::format("{} refuses the record: {}", name, detail),
                  "check its values");
    default:
      return fail(Code::internal, fmt::format("{}: {} ({})", name, detail, result));
  }
}

}  // namespace

Expected<Database> Database::open_as(const std::filesystem::path& file, int access, std::string_view suffix) {
  sqlite3* raw = nullptr;
  const int flags = access | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI | SQLITE_OPEN_EXRESCODE;
  const int result = sqlite3_open_v2((uri(file) + std::string(suffix)).c_str(), &raw, flags, nullptr);
  Database database(raw, file);
  if (result != SQLITE_OK) return database.problem(result);
  sqlite3_busy_timeout(raw, patience_ms);
  sqlite3_limit(raw, SQLITE_LIMIT_LENGTH, 16 << 20);
  // A file from elsewhere must not run its own code or rewrite the schema by stealth.
  sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  if (auto problem =
          database.run("PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA foreign_keys=ON"))
    return *problem;
  const auto version = database.number("PRAGMA user_version");
  if (!version) return version.error();
  return database;
}

Expected<Database> Database::open(const std::filesystem::path& file, Mode mode) {
  if (mode == Mode::create) return open_as(file, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, "");
  const auto refused = [](const Expected<Database>& d) {
    return !d && d.error().code == Code::ledger_unwritable;
  };
  // With the right to write, though nothing is written: the last to close can then clear the log away.
  auto database = open_as(file, SQLITE_OPEN_READWRITE, "");
  if (database) {
    if (auto problem = database->run("PRAGMA query_only=ON")) return *problem;
    return database;
  }
  if (refused(database)) database = open_as(file, SQLITE_OPEN_READONLY, "");
  std::error_code none;
  // Where the folder cannot be written there is no place for locks, and nobody else can be writing either.
  if (refused(database) && !std::filesystem::exists(file.string() + "-wal", none))
    database = open_as(file, SQLITE_OPEN_READONLY, "?immutable=1");
  return database;
}

void Database::guard_schema(bool on) const {
  sqlite3_db_config(handle_.get(), SQLITE_DBCONFIG_DEFENSIVE, on ? 1 : 0, nullptr);
}

Expected<Statement> Database::prepare(std::string_view sql) const {
  sqlite3_stmt* raw = nullptr;
  const int result =
      sqlite3_prepare_v2(handle_.get(), sql.data(), static_cast<int>(sql.size()), &raw, nullptr);
  Statement statement(raw, this);
  if (result != SQLITE_OK) return problem(result);
  return statement;
}

std::optional<Problem> Database::run(const char* sql) const {
  const int result = sqlite3_exec(handle_.get(), sql, nullptr, nullptr, nullptr);
  if (result == SQLITE_OK) return std::nullopt;
  return problem(result);
}

Expected<std::int64_t> Database::number(std::string_view sql) const {
  auto statement = prepare(sql);
  if (!statement) return statement.error();
  const auto row = statement->next();
  if (!row) return row.error();
  return *row ? statement->integer(0) : 0;
}

Problem Database::problem(int result) const {
  if (handle_ == nullptr) return problem_of(SQLITE_NOMEM, 0, "", file_);
  return problem_of(result, sqlite3_system_errno(handle_.get()), sqlite3_errmsg(handle_.get()), file_);
}

Expected<bool> Statement::next() {
  if (bound_ != SQLITE_OK) return database_->problem(bound_);
  const int result = sqlite3_step(handle_.get());
  if (result == SQLITE_ROW) return true;
  if (result == SQLITE_DONE) return false;
  return database_->problem(result);
}

std::optional<Problem> Statement::done() {
  const auto row = next();
  if (!row) return row.error();
  return std::nullopt;
}

std::string Statement::text(int column) const {
  const auto* bytes = sqlite3_column_text(handle_.get(), column);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column));
  return bytes == nullptr ? std::string() : std::string(reinterpret_cast<const char*>(bytes), size);
}

}  // namespace pourwright::ledger
