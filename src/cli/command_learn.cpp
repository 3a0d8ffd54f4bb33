// SPDX-License-Identifier: GPL-3.0-or-later
// learn: what was measured at the bench goes in, what it teaches comes out.
#include <pourwright/pipeline_learn.hpp>

#include "cli/session.hpp"

#include <charconv>

#include <fmt/format.h>

namespace pourwright::cli {
namespace {

/// "bowl.stl:4" is four copies of bowl.stl; a file of that very name goes first.
FoundFile named_mold(const std::string& word) {
  const auto colon = word.rfind(':');
  std::error_code error;
  if (colon != std::string::npos && colon > 0 && !std::filesystem::exists(word, error))
    if (const auto n = parse_count(word.substr(colon + 1))) return {word.substr(0, colon), *n, {}};
  return {word, 0, {}};
}

/// The mesh of a mold whose file is there and can be measured; nothing else stops anybody from learning.
std::optional<Interval<Volume>> mesh_of(const FoundFile& mold) {
#ifdef POURWRIGHT_GEOMETRY
  std::error_code error;
  if (!std::filesystem::is_regular_file(mold.path, error)) return std::nullopt;
  const MeasureReport r = measure_files({mold}, MeasureSettings{});
  if (r.files.size() != 1 || !r.files[0].ok()) return std::nullopt;
  if (r.files[0].fill) return r.files[0].fill;
  if (r.files[0].solid) return r.files[0].solid->volume;
#else
  (void)mold;
#endif
  return std::nullopt;
}

Expected<std::vector<FoundFile>> named_molds(const Session& session, std::string_view what) {
  std::vector<FoundFile> out;
  const std::vector<std::string>& words = session.line().arguments;
  for (std::size_t i = 1; i < words.size(); ++i) out.push_back(named_mold(words[i]));
  if (out.empty() && !what.empty())
    return fail(Code::usage, fmt::format("say which mold: learn {} MOLD", what),
                fmt::format("for example: pourwright learn {} bowl.stl", what));
  return out;
}

Outcome report(Session& session, const MixSettings& settings, const std::vector<FoundFile>& molds,
               std::optional<Record> recorded) {
  std::vector<LearnSubject> subjects;
  for (const FoundFile& m : molds)
    subjects.push_back({m.path.string(), m.copies > 0 ? m.copies : 1, mesh_of(m)});
  auto r = learn_report(subjects, settings);
  if (!r) return session.refuse(r.error());
  r->recorded = std::move(recorded);
  Outcome out;
  out.out = session.json() ? learn_json(*r) : learn_text(*r, session.style());
  out.exit_code = session.strict(r->notes);
  return out;
}

Outcome record(Session& session, const MixSettings& settings, const What& what,
               const std::vector<FoundFile>& molds, const std::vector<StockChange>& besides = {}) {
  auto added = add_record(settings, session.now(), what);
  if (!added) return session.refuse(added.error());
  for (const StockChange& change : besides)
    if (const auto also = add_record(settings, session.now(), change); !also)
      return session.refuse(also.error());
  return report(session, settings, molds, std::move(*added));
}

template <class T>
std::optional<Problem> required(const std::optional<T>& value, std::string_view option,
                                std::string_view example) {
  if (value) return std::nullopt;
  return fail(Code::usage, fmt::format("--{} is missing", option), fmt::format("for example: {}", example));
}

Outcome learn_water(Session& session, const MixSettings& settings) {
  std::optional<Mass> grams;
  std::optional<Temperature> temperature;
  session.read("grams", grams, [](const std::string& t) { return parse_mass(t); });
  session.read("celsius", temperature, [](const std::string& t) { return parse_temperature(t); });
  if (session.problem()) return session.refuse(*session.problem());
  const auto molds = named_molds(session, "water");
  if (!molds) return session.refuse(molds.error());
  if (molds->size() > 1) return session.refuse(stray(session.line().arguments[2]));
  if (auto p = required(grams, "grams", "pourwright learn water bowl.stl --grams 418.2g --celsius 18"))
    return session.refuse(*p);
  WaterFill fill{mold_name(molds->front().path.string()),
                 content_key(molds->front().path),
                 *grams,
                 temperature.value_or(celsius(20)),
                 settings.scale_step.value_or(Mass()),
                 session.line().get("note").value_or(""),
                 session.line().has("believe")};
  Outcome out = record(session, settings, fill, *molds);
  if (!temperature && out.exit_code == 0 && !session.json())
    out.out +=
        "Note       the water was taken to be at 20 °C; 5 °C more or less would change the volume by 0.15 "
        "%\n";
  return out;
}

/// As said, else the one that was opened last.
Expected<std::string> lot_of(const Session& session, const MixSettings& settings, const Mix& mix) {
  if (const auto lot = session.line().get("lot")) return *lot;
  return open_lot(settings, mix);
}

Outcome learn_cup(Session& session, const MixSettings& settings) {
  std::optional<Volume> volume;
  std::optional<Mass> grams;
  session.read("ml", volume, [](const std::string& t) { return parse_volume(t); });
  session.read("grams", grams, [](const std::string& t) { return parse_mass(t); });
  if (session.problem()) return session.refuse(*session.problem());
  if (session.line().arguments.size() > 1) return session.refuse(stray(session.line().arguments[1]));
  const std::string_view example = "pourwright learn cup --ml 200 --grams 372g";
  if (auto p = required(volume, "ml", example)) return session.refuse(*p);
  if (auto p = required(grams, "grams", example)) return session.refuse(*p);
  const auto chosen = choose_mix(settings);
  if (!chosen) return session.refuse(chosen.error());
  const auto lot = lot_of(session, settings, chosen->mix);
  if (!lot) return session.refuse(lot.error());
  return record(session, settings,
                DensityCup{chosen->mix.key, *volume, *grams, settings.scale_step.value_or(Mass()),
                           session.line().get("note").value_or(""), *lot, session.line().has("believe")},
                {});
}

Outcome learn_lot(Session& session, const MixSettings& settings) {
  const std::vector<std::string>& words = session.line().arguments;
  if (words.size() < 2)
    return session.refuse(fail(Code::usage, "say which lot: learn lot NAME",
                               "for example: pourwright learn lot B-2031, as it stands on the bag"));
  if (words.size() > 2) return session.refuse(stray(words[2]));
  const auto chosen = choose_mix(settings);
  if (!chosen) return session.refuse(chosen.error());
  return record(session, settings,
                LotOpened{chosen->mix.powder_name, words[1], session.line().get("note").value_or("")}, {});
}

/// A pour's own record has liquid and powder; what pigment it took is a change of stock.
std::vector<StockChange> pigments_used(const MixSettings& settings, const TestPour& pour) {
  std::vector<StockChange> out;
  for (const PigmentDose& p : settings.pigments)
    if (const Mass mass = pour.mixed * p.dose; mass > Mass())
      out.push_back({p.name, StockChange::Kind::used, mass, {}, {}, pour.note});
  return out;
}

Outcome learn_pour(Session& session, const MixSettings& settings) {
  TestPour pour;
  std::optional<Mass> mixed, left;
  session.read("mixed", mixed, [](const std::string& t) { return parse_mass(t); });
  session.read("left", left, [](const std::string& t) { return parse_mass(t); });
  session.read("room", pour.room, [](const std::string& t) { return parse_temperature(t); });
  if (session.problem()) return session.refuse(*session.problem());
  const auto molds = named_molds(session, "pour");
  if (!molds) return session.refuse(molds.error());
  const std::string_view example = "pourwright learn pour bowl.stl --mixed 820g --left 31g";
  if (auto p = required(mixed, "mixed", example)) return session.refuse(*p);
  pour.ran_short = session.line().has("short");
  if (!left && pour.ran_short) left = Mass();
  if (auto p = required(left, "left", example)) return session.refuse(*p);
  const auto chosen = choose_mix(settings);
  if (!chosen) return session.refuse(chosen.error());
  for (const FoundFile& m : *molds)
    pour.molds.push_back({mold_name(m.path.string()), content_key(m.path), m.copies > 0 ? m.copies : 1});
  pour.mix = chosen->mix.key;
  pour.ratio = chosen->mix.ratio;
  pour.mixed = *mixed;
  pour.left = *left;
  pour.cups = settings.cups;
  pour.scale_step = settings.scale_step.value_or(Mass());
  pour.defects = session.line().get("defects").value_or("");
  pour.note = session.line().get("note").value_or("");
  const auto lot = lot_of(session, settings, chosen->mix);
  if (!lot) return session.refuse(lot.error());
  pour.lot = *lot;
  pour.believed = session.line().has("believe");
  return record(session, settings, pour, *molds, pigments_used(settings, pour));
}

/// "61.00", in the currency of the workshop, or with its code.
Expected<Currency> currency_of(std::string_view text, const MixSettings& settings) {
  std::string code;
  for (const char c : text)
    if ((c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z')) code.push_back(c);
  if (!code.empty()) return find_currency(code);
  const auto catalogue = load_catalogue(settings.workshop);
  if (!catalogue) return catalogue.error();
  return catalogue->habits ? catalogue->habits->currency : Currency{};
}

Outcome stock(Session& session, const MixSettings& settings) {
  const auto levels = stock_levels(settings);
  if (!levels) return session.refuse(levels.error());
  Outcome out;
  out.out = session.json() ? stock_json(*levels) : stock_text(*levels, session.style());
  return out;
}

Outcome learn_change(Session& session, const MixSettings& settings, StockChange::Kind kind) {
  std::optional<Mass> grams;
  session.read("grams", grams, [](const std::string& t) { return parse_mass(t); });
  if (session.problem()) return session.refuse(*session.problem());
  const std::vector<std::string>& words = session.line().arguments;
  const std::string example = fmt::format("pourwright learn {} \"mineral powder\" --grams 5kg", name(kind));
  if (words.size() < 2)
    return session.refuse(
        fail(Code::usage, fmt::format("say of what: learn {} NAME", name(kind)), "for example: " + example));
  if (words.size() > 2) return session.refuse(stray(words[2]));
  if (auto p = required(grams, "grams", example)) return session.refuse(*p);
  StockChange change{words[1], kind, *grams, {}, {}, session.line().get("note").value_or("")};
  if (const auto cost = session.line().get("cost")) {
    const auto currency = currency_of(*cost, settings);
    if (!currency) return session.refuse(currency.error());
    const auto amount = parse_amount(*cost, *currency);
    if (!amount) return session.refuse(amount.error());
    change.cost = *amount;
    change.currency = currency->code;
  }
  const auto added = add_record(settings, session.now(), change);
  if (!added) return session.refuse(added.error());
  return stock(session, settings);
}

Expected<std::int64_t> record_number(const Session& session, std::string_view verb) {
  const std::vector<std::string>& words = session.line().arguments;
  std::int64_t id = 0;
  if (words.size() == 2) {
    const auto [end, ec] = std::from_chars(words[1].data(), words[1].data() + words[1].size(), id);
    if (ec == std::errc{} && end == words[1].data() + words[1].size() && id > 0) return id;
  }
  return fail(Code::usage, fmt::format("say which record: learn {} NUMBER", verb),
              "`pourwright learn list` shows the numbers");
}

Outcome learn_withdraw(Session& session, const MixSettings& settings) {
  const auto id = record_number(session, "withdraw");
  if (!id) return session.refuse(id.error());
  return record(session, settings, Withdrawal{*id, session.line().get("note").value_or("")}, {});
}

Outcome learn_list(Session& session, const MixSettings& settings) {
  Query q;
  std::optional<std::string> kind;
  session.read("kind", kind, one_of({"water", "cup", "pour", "sheet", "stock", "lot"}));
  if (session.problem()) return session.refuse(*session.problem());
  if (session.line().arguments.size() > 1) return session.refuse(stray(session.line().arguments[1]));
  q.kind = kind.value_or("");
  q.withdrawn_too = true;
  const auto records = find_records(settings, q);
  if (!records) return session.refuse(records.error());
  Outcome out;
  out.out =
      session.json() ? records_json(*records) : records_text(*records, session.utc_offset(), session.style());
  return out;
}

Outcome learn_export(Session& session, const MixSettings& settings) {
  const std::vector<std::string>& words = session.line().arguments;
  if (words.size() > 2) return session.refuse(stray(words[2]));
  const auto text = export_ledger(settings, words.size() == 2 ? words[1] : "json");
  if (!text) return session.refuse(text.error());
  Outcome out;
  out.out = *text;
  return out;
}

Outcome learn_import(Session& session, const MixSettings& settings) {
  const std::vector<std::string>& words = session.line().arguments;
  if (words.size() != 2)
    return session.refuse(
        fail(Code::usage, "say which file: learn import FILE", "an export of a ledger, JSON or CSV"));
  const auto done = import_ledger(settings, words[1]);
  if (!done) return session.refuse(done.error());
  Outcome out;
  out.out = session.json() ? imported_json(*done) : imported_text(*done);
  return out;
}

Outcome learn_check(Session& session, const MixSettings& settings) {
  if (auto problem = check_ledger(settings)) return session.refuse(*problem);
  Query all;
  all.limit = 1;
  all.withdrawn_too = true;
  const auto latest = find_records(settings, all);
  if (!latest) return session.refuse(latest.error());
  Outcome out;
  out.out = session.json() ? checked_json(*latest) : checked_text(*latest);
  return out;
}

}  // namespace

Outcome run_learn(Session& session) {
  const MixSettings settings = session.mix_settings();
  if (session.problem()) return session.refuse(*session.problem());
  const std::vector<std::string>& words = session.line().arguments;
  const std::string what = words.empty() ? "show" : words[0];
  if (what == "water") return learn_water(session, settings);
  if (what == "cup") return learn_cup(session, settings);
  if (what == "pour") return learn_pour(session, settings);
  if (what == "lot") return learn_lot(session, settings);
  for (const auto kind : {StockChange::Kind::bought, StockChange::Kind::used, StockChange::Kind::counted})
    if (what == name(kind)) return learn_change(session, settings, kind);
  if (what == "stock") {
    if (words.size() > 1) return session.refuse(stray(words[1]));
    return stock(session, settings);
  }
  if (what == "withdraw") return learn_withdraw(session, settings);
  if (what == "list") return learn_list(session, settings);
  if (what == "export") return learn_export(session, settings);
  if (what == "import") return learn_import(session, settings);
  if (what == "check") return learn_check(session, settings);
  if (what == "show") {
    const auto molds = named_molds(session, "");
    if (!molds) return session.refuse(molds.error());
    return report(session, settings, *molds, std::nullopt);
  }
  static const std::vector<std::string> known{"water",    "cup",     "pour",   "show",  "list",
                                              "withdraw", "export",  "import", "check", "bought",
                                              "used",     "counted", "stock",  "lot"};
  const std::string_view near = nearest_name(what, known);
  return session.refuse(fail(
      Code::usage, fmt::format("learn does not know “{}”", what),
      near.empty()
          ? "it takes water, cup, pour, lot, bought, used, counted, stock, show, list, withdraw, export, "
            "import or check"
          : fmt::format("did you mean “{}”?", near)));
}

}  // namespace pourwright::cli
