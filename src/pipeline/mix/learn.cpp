// SPDX-License-Identifier: GPL-3.0-or-later
// The ledger as the commands use it: record, look up, report what is known.
#include "pipeline/mix/evidence.hpp"

#include <algorithm>
#include <fstream>
#include <set>

#include <fmt/format.h>

namespace pourwright {
namespace {

/// What people add who do not reckon it; shown beside the forecast.
const Ratio common_allowance = Ratio::percent(5);

/// A mold that was poured but neither measured nor filled with water: its pours alone, so a third either way.
Estimate<Volume> from_pours(const Evidence& e, const std::string& mold, const Estimate<Density>& density) {
  std::vector<double> sizes;
  for (const Record& r : e.pours) {
    const auto& p = std::get<TestPour>(r.what);
    if (p.molds.size() == 1 && p.molds[0].mold == mold)
      sizes.push_back((p.mixed - p.left).in_grams() / in_grams_per_millilitre(density.value) /
                      p.molds[0].copies);
  }
  Estimate<Volume> out;
  if (sizes.empty()) return out;
  std::nth_element(sizes.begin(), sizes.begin() + std::ssize(sizes) / 2, sizes.end());
  out.value = millilitres(sizes[sizes.size() / 2]);
  out.u = out.value * 0.3;
  return out;
}

/// The molds of the latest records, in the order of their names.
Expected<std::vector<MoldOfCard>> recorded_molds(const Ledger& ledger) {
  std::set<std::string> names;
  for (const char* kind : {"water", "pour"}) {
    Query q;
    q.kind = kind;
    const auto records = ledger.records(q);
    if (!records) return records.error();
    for (const Record& r : *records) {
      if (const auto* w = std::get_if<WaterFill>(&r.what)) names.insert(w->mold);
      if (const auto* p = std::get_if<TestPour>(&r.what))
        for (const PouredMold& m : p->molds) names.insert(m.mold);
    }
  }
  std::vector<MoldOfCard> out;
  constexpr std::size_t most = 50;
  for (const std::string& name : names)
    if (out.size() < most) out.push_back({name, 1, {}, true});
  return out;
}

}  // namespace

Expected<LearnReport> learn_report(const std::vector<LearnSubject>& subjects, const MixSettings& settings) {
  const auto chosen = choose_mix(settings);
  if (!chosen) return chosen.error();
  LearnReport out;
  out.mix = chosen->mix;
  out.allowance = chosen->allowance.value_or(common_allowance);
  out.cups = settings.cups;
  out.density = density_of(chosen->mix, {});
  std::error_code error;
  if (settings.ledger.empty() || !std::filesystem::exists(settings.ledger, error)) {
    out.notes.push_back(
        {"nothing-recorded",
         "nothing is recorded yet: fill a mold with water, weigh a cup of mix, or record a pour", false});
    return out;
  }
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  std::vector<MoldOfCard> molds;
  for (const LearnSubject& s : subjects)
    molds.push_back({s.path, s.copies, s.mesh.value_or(Interval<Volume>{}), true});
  if (molds.empty()) {
    auto known = recorded_molds(*ledger);
    if (!known) return known.error();
    molds = std::move(*known);
  }
  auto evidence = gather(*ledger, chosen->mix, molds);
  if (!evidence) return evidence.error();
  Evidence& e = *evidence;
  out.density = density_of(chosen->mix, e.cups);
  out.notes = out.density.notes;
  std::erase_if(e.cups, [&](const Record& r) {
    const auto& odd = out.density.set_aside;
    return std::find(odd.begin(), odd.end(), r.id) != odd.end();
  });
  out.density_cups = static_cast<int>(e.cups.size());
  std::vector<MoldToPour> pouring;
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < molds.size(); ++i) {
    LearnedMoldRow row;
    row.mold = mold_name(molds[i].path);
    row.copies = molds[i].copies;
    row.water_fills = static_cast<int>(e.fills[i].size());
    row.pours = e.pours_of(row.mold);
    if (molds[i].fill.value > Volume()) row.file = molds[i].fill;
    if (row.file || row.water_fills > 0 || row.pours > 0) {
      row.capacity = row.file || row.water_fills > 0 ? capacity_of(row.file, e.fills[i], e.others)
                                                     : from_pours(e, row.mold, out.density);
      if (!(row.capacity.value > Volume())) {
        out.molds.push_back(std::move(row));
        continue;
      }
      pouring.push_back({row.mold, row.copies, row.capacity});
      which.push_back(out.molds.size());
      out.notes.insert(out.notes.end(), row.capacity.notes.begin(), row.capacity.notes.end());
    }
    out.notes.insert(out.notes.end(), e.mold_notes[i].begin(), e.mold_notes[i].end());
    out.molds.push_back(std::move(row));
  }
  if (pouring.empty()) return out;
  const PourPlan plan{settings.cups,         chosen->mix.density,    chosen->mix.density_spread.value(),
                      chosen->density_given, chosen->habits.residue, settings.risk};
  auto forecast = forecast_need(pouring, plan, {e.cups, e.pours, e.lots});
  if (!forecast) return forecast.error();
  out.notes.insert(out.notes.end(), forecast->notes.begin(), forecast->notes.end());
  out.density = forecast->density;
  for (std::size_t i = 0; i < which.size(); ++i) {
    out.molds[which[i]].capacity = forecast->capacities[i];
    out.fixed_g += (forecast->capacities[i].value * forecast->density.value).in_grams() * pouring[i].copies;
  }
  out.fixed_g *= 1 + out.allowance.value();
  if (which.size() == out.molds.size()) out.forecast = std::move(*forecast);
  return out;
}

Expected<std::string> open_lot(const MixSettings& settings, const Mix& mix) {
  Query q;
  q.kind = "lot";
  q.supply = mix.powder_name;
  q.limit = 1;
  const auto latest = find_records(settings, q);
  if (!latest) return latest.error();
  return latest->empty() ? std::string() : std::get<LotOpened>(latest->front().what).lot;
}

Expected<Record> add_record(const MixSettings& settings, Moment at, const What& what) {
  if (settings.ledger.empty())
    return fail(Code::usage, "there is no place for the ledger",
                "name the workshop's folder with --workshop");
  if (auto problem = implausible(what)) return *problem;
  std::error_code error;
  if (std::holds_alternative<Withdrawal>(what) && !std::filesystem::exists(settings.ledger, error))
    return fail(Code::record_unknown, "nothing is recorded yet", "`pourwright learn list` shows the records");
  if (settings.ledger.has_parent_path())
    std::filesystem::create_directories(settings.ledger.parent_path(), error);
  auto ledger = Ledger::open(settings.ledger);
  if (!ledger) return ledger.error();
  const auto id = ledger->add(at, what);
  if (!id) return id.error();
  return ledger->record(*id);
}

Expected<std::vector<Record>> find_records(const MixSettings& settings, const Query& query) {
  std::error_code error;
  if (settings.ledger.empty() || !std::filesystem::exists(settings.ledger, error))
    return std::vector<Record>{};
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  return ledger->records(query);
}

std::optional<Problem> check_ledger(const MixSettings& settings) {
  const auto ledger = Ledger::open_to_read(settings.ledger);
  return ledger ? ledger->check() : ledger.error();
}

Expected<SelfDescription::Workshop> look_over(const MixSettings& settings) {
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  SelfDescription::Workshop out;
  out.folder = settings.workshop.string();
  out.remembered = settings.workshop_from == WorkshopFrom::remembered;
  for (const Mix& mix : catalogue->mixes) {
    const auto& known = built_in_catalogue().mixes;
    if (std::none_of(known.begin(), known.end(), [&](const Mix& k) {
          return k.key == mix.key && k.name == mix.name && k.ratio == mix.ratio && k.density == mix.density;
        }))
      out.mixes.push_back(mix.name);
  }
  out.pigments = catalogue->pigments.size();
  out.scales = catalogue->scales.size();
  out.leftover_molds = catalogue->leftovers.size();
  out.supplies = catalogue->supplies.size();
  std::error_code error;
  if (!std::filesystem::exists(settings.ledger, error)) return out;
  out.ledger = settings.ledger.string();
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger)
    out.damage = ledger.error();
  else if ((out.damage = ledger->check()); !out.damage) {
    const auto count = ledger->count();
    if (count)
      out.records = *count;
    else
      out.damage = count.error();
  }
  return out;
}

Expected<std::string> export_ledger(const MixSettings& settings, std::string_view form) {
  if (form != "json" && form != "csv")
    return fail(Code::usage, fmt::format("a ledger is not exported as “{}”", form), "say json or csv");
  const auto ledger = Ledger::open_to_read(settings.ledger);
  if (!ledger) return ledger.error();
  return form == "json" ? export_json(*ledger) : export_csv(*ledger);
}

Expected<Imported> import_ledger(const MixSettings& settings, const std::filesystem::path& file) {
  constexpr std::uintmax_t largest = 512 << 20;
  std::error_code error;
  if (!std::filesystem::exists(file, error))
    return fail(Code::file_missing, fmt::format("there is no file “{}”", file.string()),
                "name an export of a ledger");
  const auto size = std::filesystem::file_size(file, error);
  if (error || size > largest)
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read as an export", file.string()),
                "it must be a plain file of at most 512 MB");
  std::string text(static_cast<std::size_t>(size), '\0');
  std::ifstream in(file, std::ios::binary);
  if (!in.read(text.data(), static_cast<std::streamsize>(size)))
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read", file.string()),
                "check its permissions");
  if (settings.ledger.has_parent_path())
    std::filesystem::create_directories(settings.ledger.parent_path(), error);
  auto ledger = Ledger::open(settings.ledger);
  if (!ledger) return ledger.error();
  const auto start = text.find_first_not_of(" \t\r\n\xEF\xBB\xBF");
  return start != std::string::npos && text[start] == '{' ? import_json(*ledger, text)
                                                          : import_csv(*ledger, text);
}

}  // namespace pourwright
