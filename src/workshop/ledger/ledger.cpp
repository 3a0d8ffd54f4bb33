// SPDX-License-Identifier: GPL-3.0-or-later
// The records of a workshop. The law: records are only added; whoever is interrupted leaves the file as it
// was.
#include <pourwright/ledger.hpp>

#include "workshop/ledger/codec.hpp"
#include "workshop/ledger/schema.hpp"

#include <algorithm>
#include <iterator>
#include <unordered_map>

#include <fmt/format.h>

namespace pourwright {

using ledger::Database;
using ledger::Statement;
using ledger::Transaction;

/// The database and its prepared statements. Behind a pointer, so that statements may point at the database.
class Ledger::Store {
 public:
  explicit Store(Database db) : database(std::move(db)) {}

  Expected<std::int64_t> add(Moment at, const What& what);
  Expected<Record> load(std::int64_t id);

  const Database database;

 private:
  /// Prepared once, then reset for each use.
  Expected<Statement*> ready(const char* sql);
  Expected<What> load_what(std::int64_t id, std::string_view kind, std::string note);
  Expected<What> load_pour(std::int64_t id, std::string note);
  std::optional<Problem> put(std::int64_t id, const WaterFill& w);
  std::optional<Problem> put(std::int64_t id, const DensityCup& c);
  std::optional<Problem> put(std::int64_t id, const TestPour& p);
  std::optional<Problem> put(std::int64_t id, const Withdrawal& w);
  std::optional<Problem> put(std::int64_t id, const BatchSheet& s);
  std::optional<Problem> put(std::int64_t id, const StockChange& s);
  std::optional<Problem> put(std::int64_t id, const LotOpened& l);

  std::unordered_map<const char*, Statement> statements_;
};

Expected<Statement*> Ledger::Store::ready(const char* sql) {
  const auto known = statements_.find(sql);
  if (known != statements_.end()) {
    known->second.reset();
    return &known->second;
  }
  auto statement = database.prepare(sql);
  if (!statement) return statement.error();
  return &statements_.emplace(sql, std::move(*statement)).first->second;
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const WaterFill& w) {
  auto s = ready("INSERT INTO water_fill VALUES (?, ?, ?, ?, ?, ?, ?)");
  if (!s) return s.error();
  (*s)->bind(1, id).bind(2, w.mold).bind(3, w.content).bind(4, w.water.in_micrograms());
  (*s)->bind(5, in_celsius(w.temperature)).bind(6, w.scale_step.in_micrograms());
  return (*s)->bind(7, std::int64_t{w.believed}).done();
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const DensityCup& c) {
  auto s = ready("INSERT INTO density_cup VALUES (?, ?, ?, ?, ?, ?, ?)");
  if (!s) return s.error();
  (*s)->bind(1, id).bind(2, c.mix).bind(3, in_cubic_millimetres(c.volume)).bind(4, c.mass.in_micrograms());
  (*s)->bind(5, c.scale_step.in_micrograms()).bind(6, c.lot);
  return (*s)->bind(7, std::int64_t{c.believed}).done();
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const TestPour& p) {
  auto s = ready("INSERT INTO test_pour VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  if (!s) return s.error();
  (*s)->bind(1, id).bind(2, p.mix).bind(3, p.ratio.in_millionths()).bind(4, p.mixed.in_micrograms());
  (*s)->bind(5, p.left.in_micrograms()).bind(6, std::int64_t{p.cups}).bind(7, std::int64_t{p.ran_short});
  if (p.room)
    (*s)->bind(8, in_celsius(*p.room));
  else
    (*s)->bind_null(8);
  (*s)->bind(9, p.scale_step.in_micrograms()).bind(10, p.defects).bind(11, p.lot);
  if (auto problem = (*s)->bind(12, std::int64_t{p.believed}).done()) return problem;
  for (std::size_t i = 0; i < p.molds.size(); ++i) {
    auto m = ready("INSERT INTO test_pour_mold VALUES (?, ?, ?, ?, ?, ?)");
    if (!m) return m.error();
    const PouredMold& mold = p.molds[i];
    (*m)->bind(1, id).bind(2, static_cast<std::int64_t>(i)).bind(3, mold.mold).bind(4, mold.content);
    if (auto problem = (*m)->bind(5, std::int64_t{mold.copies}).bind(6, p.mix).done()) return problem;
  }
  return std::nullopt;
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const Withdrawal& w) {
  const auto target = load(w.record);
  if (!target) return target.error();
  if (target->withdrawn)
    return fail(Code::record_invalid, fmt::format("record {} is withdrawn already", w.record),
                "nothing to do");
  if (std::holds_alternative<Withdrawal>(target->what))
    return fail(Code::record_invalid, fmt::format("record {} is itself a withdrawal", w.record),
                "record the measurement again instead");
  auto s = ready("INSERT INTO withdrawal VALUES (?, ?)");
  if (!s) return s.error();
  return (*s)->bind(1, id).bind(2, w.record).done();
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const BatchSheet& sheet) {
  auto s = ready("INSERT INTO sheet VALUES (?, ?, ?)");
  if (!s) return s.error();
  return (*s)->bind(1, id).bind(2, sheet.mix).bind(3, ledger::sheet_json(sheet).dump()).done();
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const StockChange& c) {
  auto s = ready("INSERT INTO stock VALUES (?, ?, ?, ?, ?, ?)");
  if (!s) return s.error();
  (*s)->bind(1, id).bind(2, c.supply).bind(3, name(c.kind)).bind(4, c.mass.in_micrograms());
  if (c.cost)
    (*s)->bind(5, static_cast<std::int64_t>(c.cost->in_billionths()));
  else
    (*s)->bind_null(5);
  return (*s)->bind(6, c.currency).done();
}

std::optional<Problem> Ledger::Store::put(std::int64_t id, const LotOpened& l) {
  auto s = ready("INSERT INTO lot VALUES (?, ?, ?)");
  if (!s) return s.error();
  return (*s)->bind(1, id).bind(2, l.supply).bind(3, l.lot).done();
}

namespace {

const std::string& note_of(const What& what) {
  if (const auto* w = std::get_if<Withdrawal>(&what)) return w->why;
  if (const auto* w = std::get_if<WaterFill>(&what)) return w->note;
  if (const auto* c = std::get_if<DensityCup>(&what)) return c->note;
  if (const auto* p = std::get_if<TestPour>(&what)) return p->note;
  if (const auto* s = std::get_if<StockChange>(&what)) return s->note;
  if (const auto* l = std::get_if<LotOpened>(&what)) return l->note;
  return std::get<BatchSheet>(what).note;
}

}  // namespace

Expected<std::int64_t> Ledger::Store::add(Moment at, const What& what) {
  if (auto problem = implausible(what)) return *problem;
  auto s = ready("INSERT INTO record (at, kind, note) VALUES (?, ?, ?)");
  if (!s) return s.error();
  (*s)->bind(1, at).bind(2, kind_names[what.index()]).bind(3, note_of(what));
  if (auto problem = (*s)->done()) return *problem;
  const std::int64_t id = database.last_id();
  if (auto problem = std::visit([&](const auto& w) { return put(id, w); }, what)) return *problem;
  return id;
}

Expected<What> Ledger::Store::load_pour(std::int64_t id, std::string note) {
  auto s = ready(
      "SELECT mix, ratio_ppm, mixed_ug, left_ug, cups, ran_short, room_celsius, step_ug, defects, "
      "lot, believed FROM test_pour WHERE id = ?");
  if (!s) return s.error();
  const auto row = (*s)->bind(1, id).next();
  if (!row) return row.error();
  TestPour p;
  p.mix = (*s)->text(0);
  p.ratio = Ratio::millionths((*s)->integer(1));
  p.mixed = Mass::micrograms((*s)->integer(2));
  p.left = Mass::micrograms((*s)->integer(3));
  p.cups = static_cast<int>((*s)->integer(4));
  p.ran_short = (*s)->integer(5) != 0;
  if (!(*s)->is_null(6)) p.room = celsius((*s)->real(6));
  p.scale_step = Mass::micrograms((*s)->integer(7));
  p.defects = (*s)->text(8);
  p.lot = (*s)->text(9);
  p.believed = (*s)->integer(10) != 0;
  p.note = std::move(note);
  auto m = ready("SELECT mold, content, copies FROM test_pour_mold WHERE pour = ? ORDER BY place");
  if (!m) return m.error();
  (*m)->bind(1, id);
  for (;;) {
    const auto mold = (*m)->next();
    if (!mold) return mold.error();
    if (!*mold) break;
    p.molds.push_back({(*m)->text(0), (*m)->text(1), static_cast<int>((*m)->integer(2))});
  }
  return What(std::move(p));
}

Expected<What> Ledger::Store::load_what(std::int64_t id, std::string_view kind, std::string note) {
  if (kind == "pour") return load_pour(id, std::move(note));
  const char* sql =
      kind == "water"
          ? "SELECT mold, content, water_ug, celsius, step_ug, believed FROM water_fill WHERE id = ?"
      : kind == "cup"
          ? "SELECT mix, volume_mm3, mass_ug, step_ug, lot, believed FROM density_cup WHERE id = ?"
      : kind == "lot"        ? "SELECT supply, lot FROM lot WHERE id = ?"
      : kind == "withdrawal" ? "SELECT record FROM withdrawal WHERE id = ?"
      : kind == "stock" ? "SELECT supply, change, mass_ug, cost_billionths, currency FROM stock WHERE id = ?"
                        : "SELECT mix, body FROM sheet WHERE id = ?";
  auto ready_one = ready(sql);
  if (!ready_one) return ready_one.error();
  Statement& s = **ready_one;
  const auto row = s.bind(1, id).next();
  if (!row) return row.error();
  if (!*row)
    return fail(
        Code::ledger_corrupt,
        fmt::format("the ledger “{}” is damaged: record {} has no content", database.file().string(), id),
        "put a copy back, or move it away and run `pourwright learn import` with your last export");
  if (kind == "water")
    return What(WaterFill{s.text(0), s.text(1), Mass::micrograms(s.integer(2)), celsius(s.real(3)),
                          Mass::micrograms(s.integer(4)), std::move(note), s.integer(5) != 0});
  if (kind == "lot") return What(LotOpened{s.text(0), s.text(1), std::move(note)});
  if (kind == "cup")
    return What(DensityCup{s.text(0), cubic_millimetres(s.real(1)), Mass::micrograms(s.integer(2)),
                           Mass::micrograms(s.integer(3)), std::move(note), s.text(4), s.integer(5) != 0});
  if (kind == "withdrawal") return What(Withdrawal{s.integer(0), std::move(note)});
  if (kind == "stock") {
    StockChange c{s.text(0),
                  ledger::stock_kind(s.text(1)).value_or(StockChange::Kind::bought),
                  Mass::micrograms(s.integer(2)),
                  {},
                  s.text(4),
                  std::move(note)};
    if (!s.is_null(3)) c.cost = Amount::billionths(s.integer(3));
    return What(std::move(c));
  }
  auto sheet = ledger::sheet_from_json(ledger::Json::parse(s.text(1), nullptr, false));
  if (!sheet) return sheet.error();
  sheet->mix = s.text(0);
  sheet->note = std::move(note);
  return What(std::move(*sheet));
}

Expected<Record> Ledger::Store::load(std::int64_t id) {
  auto s = ready(
      "SELECT at, kind, note, EXISTS (SELECT 1 FROM withdrawal w WHERE w.record = r.id) "
      "FROM record r WHERE id = ?");
  if (!s) return s.error();
  const auto row = (*s)->bind(1, id).next();
  if (!row) return row.error();
  if (!*row)
    return fail(Code::record_unknown, fmt::format("there is no record {}", id),
                "`pourwright learn list` shows the numbers");
  Record r;
  r.id = id;
  r.at = (*s)->integer(0);
  r.withdrawn = (*s)->integer(3) != 0;
  const std::string kind = (*s)->text(1);
  auto what = load_what(id, kind, (*s)->text(2));
  if (!what) return what.error();
  r.what = std::move(*what);
  return r;
}

Ledger::Ledger(std::unique_ptr<Store> store) : store_(std::move(store)) {}
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;
Ledger::~Ledger() = default;

Expected<Ledger> Ledger::open(const std::filesystem::path& file) {
  auto database = Database::open(file, Database::Mode::create);
  if (!database) return database.error();
  if (auto problem = ledger::settle_schema(*database, true)) return *problem;
  return Ledger(std::make_unique<Store>(std::move(*database)));
}

Expected<Ledger> Ledger::open_to_read(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::exists(file, error))
    return fail(Code::file_missing, fmt::format("there is no ledger “{}”", file.string()),
                "`pourwright learn` makes one with the first record");
  auto database = Database::open(file, Database::Mode::read);
  if (!database) return database.error();
  if (auto problem = ledger::settle_schema(*database, false)) return *problem;
  return Ledger(std::make_unique<Store>(std::move(*database)));
}

Expected<std::int64_t> Ledger::add(Moment at, const What& what) {
  auto ids = add_all({{at, what}});
  if (!ids) return ids.error();
  return ids->front();
}

Expected<std::vector<std::int64_t>> Ledger::add_all(const std::vector<NewRecord>& records) {
  Transaction transaction(store_->database);
  if (auto problem = transaction.begin()) return *problem;
  std::vector<std::int64_t> ids;
  for (const NewRecord& r : records) {
    What what = r.what;
    if (auto* w = std::get_if<Withdrawal>(&what);
        w != nullptr && w->record < 0 && w->record >= -std::ssize(ids))
      w->record = ids[static_cast<std::size_t>(-w->record - 1)];
    const auto id = store_->add(r.at, what);
    if (!id) return id.error();
    ids.push_back(*id);
  }
  if (auto problem = transaction.commit()) return *problem;
  return ids;
}

namespace {

struct Clause {
  std::string sql;
  std::vector<std::variant<std::int64_t, std::string>> values;
  void with(std::string_view condition, std::variant<std::int64_t, std::string> value) {
    sql += fmt::format(" AND {}", condition);
    values.push_back(std::move(value));
  }
};

/// Whether the words fit together is the caller's to know; a kind that has no such field finds nothing.
Clause clause_for(const Query& q) {
  Clause c;
  std::string id = "r.id", from = "record r";
  const bool pour_of_mold = q.kind == "pour" && !q.mold.empty();
  const auto join = [&](const char* table, const char* key) {
    id = fmt::format("k.{}", key);
    from = fmt::format("{} k CROSS JOIN record r ON r.id = k.{}", table, key);
  };
  if (pour_of_mold)
    join("test_pour_mold", "pour");
  else if (q.kind == "water" && !q.mold.empty())
    join("water_fill", "id");
  else if (!q.mix.empty() && q.kind == "cup")
    join("density_cup", "id");
  else if (!q.mix.empty() && q.kind == "pour")
    join("test_pour", "id");
  else if (q.kind == "sheet")
    join("sheet", "id");
  else if (q.kind == "lot")
    join("lot", "id");
  c.sql = fmt::format("SELECT {} FROM {} WHERE 1", id, from);
  if (id == "r.id" && !q.kind.empty()) c.with("r.kind = ?", q.kind);
  if (!q.mold.empty()) c.with(id == "r.id" ? "NULL = ?" : "k.mold = ?", q.mold);
  if (!q.mix.empty()) c.with(id == "r.id" ? "NULL = ?" : "k.mix = ?", q.mix);
  if (!q.supply.empty()) c.with(q.kind == "lot" ? "k.supply = ?" : "NULL = ?", q.supply);
  if (!q.text.empty() && q.kind == "sheet") {
    // instr and not LIKE: what people type may hold % or _.
    c.with("(instr(lower(k.body), lower(?)) > 0", q.text);
    c.values.emplace_back(q.text);
    c.sql += " OR instr(lower(r.note), lower(?)) > 0)";
  }
  if (q.after > 0) c.with(id + " > ?", q.after);
  if (q.from) c.with("r.at >= ?", *q.from);
  if (q.until) c.with("r.at < ?", *q.until);
  if (!q.withdrawn_too) c.sql += " AND NOT EXISTS (SELECT 1 FROM withdrawal w WHERE w.record = r.id)";
  c.sql += fmt::format(" ORDER BY {} {} LIMIT {}", id, q.oldest_first ? "ASC" : "DESC", q.limit);
  return c;
}

}  // namespace

Expected<std::vector<Record>> Ledger::records(const Query& query) const {
  if (!query.kind.empty() &&
      std::find(std::begin(kind_names), std::end(kind_names), query.kind) == std::end(kind_names))
    return fail(Code::usage, fmt::format("“{}” is not a kind of record", query.kind),
                "the kinds are water, cup, pour, withdrawal, sheet, stock and lot");
  const Clause clause = clause_for(query);
  auto found = store_->database.prepare(clause.sql);
  if (!found) return found.error();
  for (std::size_t i = 0; i < clause.values.size(); ++i)
    std::visit([&](const auto& v) { found->bind(static_cast<int>(i) + 1, v); }, clause.values[i]);
  std::vector<Record> out;
  for (;;) {
    const auto row = found->next();
    if (!row) return row.error();
    if (!*row) return out;
    auto record = store_->load(found->integer(0));
    if (!record) return record.error();
    out.push_back(std::move(*record));
  }
}

Expected<Record> Ledger::record(std::int64_t id) const {
  return store_->load(id);
}

Expected<std::int64_t> Ledger::count() const {
  return store_->database.number("SELECT count(*) FROM record");
}

std::optional<Problem> Ledger::check() const {
  const auto damaged = [&](std::string_view why) {
    return fail(Code::ledger_corrupt,
                fmt::format("the ledger “{}” is damaged: {}", store_->database.file().string(), why),
                "put a copy back, or move it away and run `pourwright learn import` with your last export");
  };
  auto pages = store_->database.prepare("PRAGMA integrity_check(1)");
  if (!pages) return pages.error();
  const auto row = pages->next();
  if (!row) return row.error();
  if (*row && pages->text(0) != "ok") return damaged(pages->text(0));
  const auto strays = store_->database.number("SELECT count(*) FROM pragma_foreign_key_check");
  if (!strays) return strays.error();
  if (*strays > 0) return damaged(fmt::format("{} rows belong to no record", *strays));
  const auto hollow = store_->database.number(
      "SELECT count(*) FROM record r WHERE NOT EXISTS (SELECT 1 FROM water_fill k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM density_cup k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM test_pour k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM withdrawal k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM sheet k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM stock k WHERE k.id = r.id) "
      "AND NOT EXISTS (SELECT 1 FROM lot k WHERE k.id = r.id)");
  if (!hollow) return hollow.error();
  if (*hollow > 0) return damaged(fmt::format("{} records have no content", *hollow));
  return std::nullopt;
}

}  // namespace pourwright
