// SPDX-License-Identifier: GPL-3.0-or-later
// The little of SQLite that the ledger needs, with its errors as Problems.
#pragma once

#include <pourwright/units.hpp>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include <sqlite3.h>

namespace pourwright::ledger {

struct Close {
  void operator()(sqlite3* db) const { sqlite3_close_v2(db); }
};
struct Finalize {
  void operator()(sqlite3_stmt* s) const { sqlite3_finalize(s); }
};

/// A prepared statement. Bind from 1, then `next()` until it is false or fails.
class Statement {
 public:
  Statement& bind(int i, std::int64_t v) { return keep(sqlite3_bind_int64(handle_.get(), i, v)); }
  Statement& bind(int i, double v) { return keep(sqlite3_bind_double(handle_.get(), i, v)); }
  Statement& bind(int i, std::string_view v) {
    return keep(sqlite3_bind_text64(handle_.get(), i, v.data(), v.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
  }
  Statement& bind_null(int i) { return keep(sqlite3_bind_null(handle_.get(), i)); }

  /// Ready to be bound and run again.
  void reset() {
    sqlite3_reset(handle_.get());
    sqlite3_clear_bindings(handle_.get());
    bound_ = SQLITE_OK;
  }
  Expected<bool> next();
  /// For statements that give no row.
  std::optional<Problem> done();

  std::int64_t integer(int column) const { return sqlite3_column_int64(handle_.get(), column); }
  double real(int column) const { return sqlite3_column_double(handle_.get(), column); }
  bool is_null(int column) const { return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL; }
  std::string text(int column) const;

 private:
  friend class Database;
  Statement(sqlite3_stmt* handle, const class Database* database) : handle_(handle), database_(database) {}
  Statement& keep(int result) {
    if (result != SQLITE_OK && bound_ == SQLITE_OK) bound_ = result;
    return *this;
  }
  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
  const class Database* database_;
  int bound_ = SQLITE_OK;
};

class Database {
 public:
  enum class Mode : std::uint8_t { create, read };
  static Expected<Database> open(const std::filesystem::path& file, Mode mode);

  Expected<Statement> prepare(std::string_view sql) const;
  /// One or several statements without values.
  std::optional<Problem> run(const char* sql) const;
  Expected<std::int64_t> number(std::string_view sql) const;
  /// Whether statements may write to the tables that describe the tables: guarded, but for changes of
  /// version.
  void guard_schema(bool on) const;
  std::int64_t last_id() const { return sqlite3_last_insert_rowid(handle_.get()); }
  Problem problem(int result) const;
  const std::filesystem::path& file() const { return file_; }

 private:
  static Expected<Database> open_as(const std::filesystem::path& file, int access, std::string_view suffix);
  Database(sqlite3* handle, std::filesystem::path file) : handle_(handle), file_(std::move(file)) {}
  std::unique_ptr<sqlite3, Close> handle_;
  std::filesystem::path file_;
};

/// Rolled back unless committed.
class Transaction {
 public:
  explicit Transaction(const Database& database) : database_(database) {}
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  ~Transaction() {
    if (open_) (void)database_.run("ROLLBACK");
  }
  /// Takes the write lock at once: two writers then queue instead of one failing half way.
  std::optional<Problem> begin() {
    auto problem = database_.run("BEGIN IMMEDIATE");
    open_ = !problem;
    return problem;
  }
  std::optional<Problem> commit() {
    auto problem = database_.run("COMMIT");
    if (!problem) open_ = false;
    return problem;
  }

 private:
  const Database& database_;
  bool open_ = false;
};

}  // namespace pourwright::ledger
