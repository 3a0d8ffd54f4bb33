// SPDX-License-Identifier: GPL-3.0-or-later
// Which records of the ledger speak of a mold: those of its name whose file had the same content, or that
// named no file. The law: a record of another shape is never used, and that it was left out is said.
#include "pipeline/mix/evidence.hpp"

#include <pourwright/mesh_format.hpp>

#include "workshop/learn/practice.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <set>

#include <fmt/format.h>

namespace pourwright {

std::string mold_name(const std::string& path) {
  const std::string name = path.substr(path.find_last_of('/') + 1), ending = file_ending(name);
  if (promised_format(ending) == MeshFormat::unknown || ending.size() == name.size()) return name;
  return name.substr(0, name.size() - ending.size());
}

std::string content_key(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error)) return {};
  std::ifstream in(file, std::ios::binary);
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  std::vector<char> block(1 << 16);
  while (in.read(block.data(), static_cast<std::streamsize>(block.size())), in.gcount() > 0)
    for (std::streamsize i = 0; i < in.gcount(); ++i)
      hash = (hash ^ static_cast<unsigned char>(block[static_cast<std::size_t>(i)])) * 0x100000001b3ULL;
  return in.bad() || !in.eof() ? std::string() : fmt::format("{:016x}", hash);
}

namespace {

constexpr std::size_t most_fills = 50, most_cups = 50, most_lots = 50, most_pours_of_mold = 100,
                      most_pours_of_mix = 100;

/// Keeps a file's content key once it was needed: most cards need none.
class Contents {
 public:
  explicit Contents(const std::vector<MoldOfCard>& molds) : molds_(molds), keys_(molds.size()) {}
  /// Whether a record made with `content` is about this mold's file.
  bool same(std::size_t mold, const std::string& content) {
    if (content.empty()) return true;
    auto& key = keys_[mold];
    if (!key) key = content_key(molds_[mold].path);
    return key->empty() || *key == content;
  }

 private:
  const std::vector<MoldOfCard>& molds_;
  std::vector<std::optional<std::string>> keys_;
};

void note_changed_file(std::size_t records, Notes& notes) {
  if (records == 0) return;
  notes.push_back(
      {"mold-file-changed",
       fmt::format(
           "{} earlier record{} of a mold of this name belong{} to a file with other content and {} left out",
           records, records == 1 ? "" : "s", records == 1 ? "s" : "", records == 1 ? "is" : "are"),
       true});
}

}  // namespace

Expected<Evidence> gather(const Ledger& ledger, const Mix& mix, const std::vector<MoldOfCard>& molds) {
  Evidence e;
  e.fills.resize(molds.size());
  e.mold_notes.resize(molds.size());
  Contents contents(molds);
  Query q;
  q.kind = "cup";
  q.mix = mix.key;
  q.limit = most_cups;
  auto cups = ledger.records(q);
  if (!cups) return cups.error();
  e.cups = std::move(*cups);
  Query of_powder;
  of_powder.kind = "lot";
  of_powder.supply = mix.powder_name;
  of_powder.limit = most_lots;
  auto lots = ledger.records(of_powder);
  if (!lots) return lots.error();
  e.lots = std::move(*lots);

  Query filled;
  filled.kind = "water";
  filled.limit = most_fills;
  const auto all_fills = ledger.records(filled);
  if (!all_fills) return all_fills.error();
  for (const Record& r : *all_fills) {
    const auto& w = std::get<WaterFill>(r.what);
    e.others.emplace_back(w.mold,
                          millilitres(w.water.in_grams() * millilitres_per_gram(w.temperature, Air{})));
  }
  for (const MoldOfCard& m : molds)
    if (m.fill.value > Volume()) e.others.emplace_back(mold_name(m.path), m.fill.value);

  std::set<std::int64_t> seen, other_file;
  std::vector<std::string> names;
  for (const MoldOfCard& m : molds) names.push_back(mold_name(m.path));
  const auto concerns = [&](const Record& r) {
    const auto& p = std::get<TestPour>(r.what);
    const double stray = std::abs(p.ratio.value() / mix.ratio.value() - 1);
    if (p.ratio > Ratio() && stray > learn::ratio_strays) return false;
    for (const PouredMold& poured : p.molds) {
      const auto it = std::find(names.begin(), names.end(), poured.mold);
      if (it == names.end()) continue;
      const auto i = static_cast<std::size_t>(it - names.begin());
      if (!molds[i].full) return false;
      if (!contents.same(i, poured.content)) {
        other_file.insert(r.id);
        return false;
      }
    }
    return true;
  };
  const auto add_pours = [&](const Query& query) -> std::optional<Problem> {
    auto pours = ledger.records(query);
    if (!pours) return pours.error();
    for (Record& r : *pours)
      if (seen.insert(r.id).second && concerns(r)) e.pours.push_back(std::move(r));
    return std::nullopt;
  };
  q.kind = "pour";
  for (std::size_t i = 0; i < molds.size(); ++i) {
    if (names[i].empty()) continue;
    q.mold = names[i];
    q.limit = most_pours_of_mold;
    const std::size_t before = other_file.size();
    if (auto problem = add_pours(q)) return *problem;
    Query water;
    water.kind = "water";
    water.mold = names[i];
    water.limit = most_fills;
    auto fills = ledger.records(water);
    if (!fills) return fills.error();
    std::size_t changed = other_file.size() - before;
    for (Record& r : *fills) {
      if (!contents.same(i, std::get<WaterFill>(r.what).content))
        ++changed;
      else
        e.fills[i].push_back(std::move(r));
    }
    note_changed_file(changed, e.mold_notes[i]);
    if (!molds[i].full && !e.fills[i].empty()) {
      e.fills[i].clear();
      e.mold_notes[i].push_back(
          {"records-not-used", "the water fills of this mold were to the brim; this card fills it otherwise",
           false});
    }
  }
  q.mold.clear();
  q.limit = most_pours_of_mix;
  if (auto problem = add_pours(q)) return *problem;
  // Oldest first, so that the result does not depend on which query found a record.
  std::sort(e.pours.begin(), e.pours.end(), [](const Record& a, const Record& b) { return a.id < b.id; });
  return e;
}

bool Evidence::empty() const {
  return cups.empty() && pours.empty() &&
         std::all_of(fills.begin(), fills.end(), [](const auto& f) { return f.empty(); });
}

int Evidence::pours_of(const std::string& mold) const {
  return static_cast<int>(std::count_if(pours.begin(), pours.end(), [&](const Record& r) {
    const auto& molds = std::get<TestPour>(r.what).molds;
    return std::any_of(molds.begin(), molds.end(), [&](const PouredMold& m) { return m.mold == mold; });
  }));
}

std::string counted(int n, std::string_view one) {
  return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s");
}

std::string from_what(int measured, std::string_view name, int pours) {
  std::string s = measured > 0 ? counted(measured, name) : std::string();
  if (pours > 0) s += fmt::format("{}{}", s.empty() ? "" : " and ", counted(pours, "pour"));
  return s;
}

}  // namespace pourwright
