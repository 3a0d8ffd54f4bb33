// SPDX-License-Identifier: GPL-3.0-or-later
// The whole ledger out as JSON or CSV, and back in without doubling what is there.
#include "workshop/ledger/codec.hpp"
#include "workshop/ledger/csv.hpp"

#include <algorithm>
#include <functional>
#include <unordered_map>

#include <fmt/format.h>

namespace pourwright {
namespace {

using ledger::Column;
using ledger::columns;
using ledger::Json;

/// Every record, oldest first, a few thousand at a time.
std::optional<Problem> for_each(const Ledger& ledger, const std::function<void(const Record&)>& take) {
  Query q;
  q.oldest_first = q.withdrawn_too = true;
  q.limit = 5000;
  for (;;) {
    const auto some = ledger.records(q);
    if (!some) return some.error();
    for (const Record& r : *some) take(r);
    if (some->size() < q.limit) return std::nullopt;
    q.after = some->back().id;
  }
}

Json full_json(const Record& r) {
  Json j{{"id", r.id}, {"at", moment_text(r.at)}};
  j.update(ledger::to_json(r.what));
  return j;
}

/// A record's identity for the import: 128 bits of its moment and content, its number left out. Two hashes,
/// because 64 bits alone would drop a record by chance once in some hundred thousand ledgers of a million
/// records.
struct Identity {
  std::uint64_t a = 0, b = 0;
  bool operator==(const Identity&) const = default;
};
struct IdentityHash {
  std::size_t operator()(const Identity& i) const { return i.a; }
};
Identity identity_of(std::string_view text) {
  Identity id{0xcbf29ce484222325ULL, 0x9e3779b97f4a7c15ULL};
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    id.a = (id.a ^ byte) * 0x100000001b3ULL;  // FNV-1a
    id.b = (id.b + byte) * 0xff51afd7ed558ccdULL;
    id.b ^= id.b >> 29;
  }
  return id;
}

struct Incoming {
  std::int64_t id = 0;  ///< its number in the export; 0: none
  Moment at = 0;
  What what;
};

/// A withdrawal's identity is that of the record it withdraws: numbers differ from ledger to ledger.
Identity identity_of(Moment at, const What& what, const Identity* withdrawn) {
  std::string text = fmt::format("{} ", at);
  if (const auto* w = std::get_if<Withdrawal>(&what); w != nullptr && withdrawn != nullptr)
    return identity_of(text + fmt::format("withdrawal {:x} {:x} {}", withdrawn->a, withdrawn->b, w->why));
  return identity_of(text + ledger::to_json(what).dump());
}

/// The records that are there, by identity: how often, and under which numbers.
class Known {
 public:
  std::optional<Problem> read(const Ledger& ledger) {
    std::unordered_map<std::int64_t, Identity> by_id;
    return for_each(ledger, [&](const Record& r) {
      const Identity* target = nullptr;
      if (const auto* w = std::get_if<Withdrawal>(&r.what))
        if (const auto it = by_id.find(w->record); it != by_id.end()) target = &it->second;
      const Identity id = identity_of(r.at, r.what, target);
      by_id.emplace(r.id, id);
      ids_[id].push_back(r.id);
    });
  }
  /// The number of the n-th record of this identity (n from 0), 0 when there are fewer.
  std::int64_t find(const Identity& id, std::size_t n) const {
    const auto it = ids_.find(id);
    return it == ids_.end() || n >= it->second.size() ? 0 : it->second[n];
  }

 private:
  std::unordered_map<Identity, std::vector<std::int64_t>, IdentityHash> ids_;
};

Expected<Imported> bring_in(Ledger& ledger, std::vector<Incoming> incoming) {
  Known known;
  if (auto problem = known.read(ledger)) return *problem;
  std::unordered_map<Identity, std::size_t, IdentityHash> seen;
  std::unordered_map<std::int64_t, Identity> by_old_id;
  std::unordered_map<std::int64_t, std::int64_t> here;  // old number → number in this ledger
  std::vector<NewRecord> first, withdrawals;
  std::vector<std::int64_t> first_old;
  std::vector<const Incoming*> late;
  Imported out;
  for (const Incoming& r : incoming) {
    if (std::holds_alternative<Withdrawal>(r.what)) {
      late.push_back(&r);
      continue;
    }
    const Identity id = identity_of(r.at, r.what, nullptr);
    if (r.id > 0) by_old_id.emplace(r.id, id);
    if (const std::int64_t there = known.find(id, seen[id]++); there > 0) {
      here[r.id] = there;
      ++out.known;
      continue;
    }
    first.push_back({r.at, r.what});
    first_old.push_back(r.id);
  }
  for (const Incoming* r : late) {
    const std::int64_t target = std::get<Withdrawal>(r->what).record;
    const auto it = by_old_id.find(target);
    if (it == by_old_id.end())
      return fail(Code::record_invalid,
                  fmt::format("record {} withdraws {}, which is not in the file", r->id, target),
                  "bring in the whole export");
    const Identity id = identity_of(r->at, r->what, &it->second);
    if (known.find(id, seen[id]++) > 0)
      ++out.known;
    else
      withdrawals.push_back({r->at, r->what});
  }
  // The numbers that new records will get are not known before they are added: withdrawals name their place.
  std::unordered_map<std::int64_t, std::int64_t> place;
  for (std::size_t i = 0; i < first.size(); ++i) place[first_old[i]] = static_cast<std::int64_t>(i) + 1;
  for (NewRecord& w : withdrawals) {
    auto& target = std::get<Withdrawal>(w.what).record;
    const auto old = here.find(target);
    target = old != here.end() ? old->second : -place[target];
    first.push_back(std::move(w));
  }
  out.added = first.size();
  if (first.empty()) return out;
  const auto ids = ledger.add_all(first);
  if (!ids) return ids.error();
  return out;
}

Expected<Incoming> incoming(const Json& j, std::string_view place) {
  const auto at_place = [&](Problem p) {
    p.text = fmt::format("{}: {}", place, p.text);
    return p;
  };
  if (!j.is_object())
    return at_place(fail(Code::record_invalid, "this is not a record", "bring in an export of a ledger"));
  Incoming in;
  if (const auto it = j.find("id"); it != j.end() && it->is_number_integer()) in.id = it->get<std::int64_t>();
  const auto at = j.find("at");
  const auto moment = parse_moment(at != j.end() && at->is_string() ? at->get<std::string>() : std::string());
  if (!moment) return at_place(moment.error());
  in.at = *moment;
  auto what = ledger::from_json(j);
  if (!what) return at_place(what.error());
  in.what = std::move(*what);
  return in;
}

}  // namespace

Expected<std::string> export_json(const Ledger& ledger) {
  std::string out = "{\"schema\":\"pourwright.ledger/1\",\"records\":[";
  bool first = true;
  const auto problem = for_each(ledger, [&](const Record& r) {
    out += first ? "\n" : ",\n";
    out += full_json(r).dump();
    first = false;
  });
  if (problem) return *problem;
  return out + "\n]}\n";
}

Expected<std::string> export_csv(const Ledger& ledger) {
  std::string out;
  for (const Column& c : columns) out += fmt::format("{}{}", out.empty() ? "" : ",", c.name);
  out += "\r\n";
  const auto problem = for_each(ledger, [&](const Record& r) {
    const Json j = full_json(r);
    for (std::size_t i = 0; i < std::size(columns); ++i) {
      if (i > 0) out += ',';
      const auto it = j.find(std::string(columns[i].name));
      if (it == j.end()) continue;
      // Numbers may be negative (a cold room); only texts are shielded from spreadsheets.
      if (it->is_string())
        out += ledger::csv_cell(it->get<std::string>());
      else if (it->is_number())
        out += it->dump();
      else
        out += ledger::csv_cell(it->dump());
    }
    out += "\r\n";
  });
  if (problem) return *problem;
  return out;
}

Expected<Imported> import_json(Ledger& ledger, std::string_view text) {
  const Json root = Json::parse(text, nullptr, false);
  if (!root.is_object() || root.value("schema", Json()) != "pourwright.ledger/1" ||
      !root.contains("records") || !root.at("records").is_array())
    return fail(Code::record_invalid, "this is not the JSON export of a ledger",
                "it begins with {\"schema\":\"pourwright.ledger/1\"");
  std::vector<Incoming> all;
  for (const Json& j : root.at("records")) {
    auto in = incoming(j, fmt::format("record {} of the file", all.size() + 1));
    if (!in) return in.error();
    all.push_back(std::move(*in));
  }
  return bring_in(ledger, std::move(all));
}

Expected<Imported> import_csv(Ledger& ledger, std::string_view text) {
  const auto rows = ledger::parse_csv(text);
  if (!rows) return rows.error();
  if (rows->empty())
    return fail(Code::record_invalid, "the CSV file is empty", "bring in the CSV export of a ledger");
  std::vector<const Column*> order;
  for (const std::string& name : rows->front().cells) {
    const auto* c =
        std::find_if(std::begin(columns), std::end(columns), [&](const Column& k) { return k.name == name; });
    if (c == std::end(columns))
      return fail(Code::record_invalid, fmt::format("the first line names an unknown column “{}”", name),
                  "keep the heading of the export");
    order.push_back(c);
  }
  std::vector<Incoming> all;
  for (std::size_t r = 1; r < rows->size(); ++r) {
    const auto& row = (*rows)[r];
    const std::string place = fmt::format("line {}", row.line);
    if (row.cells.size() > order.size())
      return fail(Code::record_invalid, fmt::format("{}: more cells than the heading has", place),
                  "quote cells that hold commas");
    Json j = Json::object();
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      if (row.cells[i].empty()) continue;
      const std::string cell = ledger::plain_cell(row.cells[i]);
      Json value = order[i]->text ? Json(cell) : Json::parse(cell, nullptr, false);
      if (value.is_discarded())
        return fail(Code::record_invalid,
                    fmt::format("{}: “{}” cannot be read as {}", place, cell, order[i]->name),
                    "numbers have a decimal point");
      j[std::string(order[i]->name)] = std::move(value);
    }
    auto in = incoming(j, place);
    if (!in) return in.error();
    all.push_back(std::move(*in));
  }
  return bring_in(ledger, std::move(all));
}

}  // namespace pourwright
