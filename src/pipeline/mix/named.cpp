// SPDX-License-Identifier: GPL-3.0-or-later
// Molds without a file: a water fill under a name is all that is known of them. The law: a file goes before a
// name, and what looks like a file is never taken for a name.
#include <pourwright/mesh_format.hpp>
#include <pourwright/pipeline_learn.hpp>

#include "pipeline/mix/evidence.hpp"

#include <algorithm>
#include <charconv>
#include <set>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// In lower case and without blanks at its ends: how a name is compared.
std::string as_compared(std::string_view name) {
  while (!name.empty() && name.front() == ' ') name.remove_prefix(1);
  while (!name.empty() && name.back() == ' ') name.remove_suffix(1);
  std::string out(name);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

bool has_ledger(const MixSettings& settings) {
  std::error_code error;
  return !settings.ledger.empty() && std::filesystem::exists(settings.ledger, error);
}

}  // namespace

bool looks_like_file(const std::string& name) {
  if (name.empty() || name.find('/') != std::string::npos || name.find('\\') != std::string::npos)
    return true;
  const std::string ending = file_ending(name);
  return promised_format(ending) != MeshFormat::unknown || ending == ".toml" || ending == ".csv";
}

Expected<std::vector<std::string>> filled_molds(const MixSettings& settings) {
  std::vector<std::string> out;
  if (!has_ledger(settings)) return out;
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  Query q;
  q.kind = "water";
  q.limit = 5000;
  const auto records = ledger->records(q);
  if (!records) return records.error();
  std::set<std::string> names;
  for (const Record& r : *records) names.insert(std::get<WaterFill>(r.what).mold);
  out.assign(names.begin(), names.end());
  return out;
}

Expected<std::optional<NamedMold>> named_mold(const std::string& name, const MixSettings& settings) {
  if (looks_like_file(name) || !has_ledger(settings)) return std::optional<NamedMold>();
  const auto names = filled_molds(settings);
  if (!names) return names.error();
  const std::string wanted = as_compared(name);
  const auto known = std::find_if(names->begin(), names->end(),
                                  [&](const std::string& n) { return as_compared(n) == wanted; });
  if (known == names->end()) return std::optional<NamedMold>();
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  Query q;
  q.kind = "water";
  q.mold = *known;
  const auto fills = ledger->records(q);
  if (!fills) return fills.error();
  const Estimate<Volume> holds = capacity_of(std::nullopt, *fills);
  if (!(holds.value > Volume())) return std::optional<NamedMold>();
  const Volume half = holds.u * wide;
  return std::optional<NamedMold>(
      NamedMold{*known,
                {holds.value,
                 std::max(holds.value - half, holds.value * 0.5),
                 holds.value + half,
                 {{from_what(static_cast<int>(fills->size()), "water fill", 0), half / holds.value}}},
                static_cast<int>(fills->size())});
}

Note note_by_name(const NamedMold& mold) {
  return {"mold-by-name",
          fmt::format("known by {} alone, without a file: {} ml ±{:.2g} %, to the brim",
                      from_what(mold.fills, "water fill", 0), fixed(in_millilitres(mold.holds.value), 1),
                      100 * ((mold.holds.high - mold.holds.value) / mold.holds.value)),
          false};
}

std::optional<Problem> find_by_name(std::vector<FoundFile>& files, const MixSettings& settings) {
  for (FoundFile& file : files) {
    if (!file.problem || file.problem->code != Code::file_missing) continue;
    std::string name = file.path.string();
    auto mold = named_mold(name, settings);
    if (!mold) return mold.error();
    int copies = 0;
    if (const auto colon = name.rfind(':'); !*mold && colon != std::string::npos && colon > 0) {
      // "daisy tray:4"
      const char* const last = name.data() + name.size();
      const auto [end, ec] = std::from_chars(name.data() + colon + 1, last, copies);
      if (ec == std::errc{} && end == last && copies > 0) {
        name.resize(colon);
        mold = named_mold(name, settings);
        if (!mold) return mold.error();
      }
    }
    if (*mold) {
      file = {(*mold)->name, copies, std::nullopt, true};
      continue;
    }
    if (looks_like_file(name)) continue;
    const auto names = filled_molds(settings);
    if (!names) return names.error();
    if (const std::string_view near = nearest_name(name, *names); !near.empty())
      file.problem->hint = fmt::format("did you mean “{}”, a mold that was filled with water?", near);
  }
  return std::nullopt;
}

}  // namespace pourwright
