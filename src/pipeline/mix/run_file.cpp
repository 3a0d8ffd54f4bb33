// SPDX-License-Identifier: GPL-3.0-or-later
// The run file, TOML to values; its format is in docs/run.md. The law: an unknown key is an error that names
// the nearest known one, so that a misspelt limit is never ignored.
#include "pipeline/mix/run_file.hpp"

#include "workshop/material/entry.hpp"
#include "workshop/material/supply.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

namespace pourwright::run_file {
namespace {

using material::Entry;
using material::money;
using material::parse_pack;
using material::place;
using material::Range;

const Range<Mass> mass_range{Mass(), Mass::grams(1e7), "0 to 10 t", "\"2.4 kg\""};
const Range<Mass> step_range{Mass::micrograms(100), Mass::grams(1000), "0.0001 g to 1 kg", "\"1 g\""};
const Range<Mass> pour_range{Mass::micrograms(100), Mass::grams(1e6), "0.0001 g to 1000 kg", "\"250 g\""};
const Range<Volume> volume_range{cubic_millimetres(1), millilitres(1e6), "1 mm3 to 1000 l", "\"58 ml\""};
const Range<Duration> time_range{Duration(), minutes(60 * 24), "0 to 24 h", "\"3 min\""};
const Range<Duration> long_range{Duration(), minutes(60 * 24 * 30), "0 to 30 d", "\"45 min\""};
const Range<Ratio> share_range{Ratio(), Ratio::percent(100), "0 to 100 %", "\"5 %\""};
const Range<Ratio> reserve_range{Ratio(), Ratio::percent(90), "0 to 90 %", "\"25 %\""};
const Range<Ratio> dose_range{Ratio(), Ratio::percent(20), "0 to 20 %", "\"2 %\""};
const Range<Ratio> markup_range{Ratio(), Ratio::percent(10'000), "0 to 10000 %", "\"120 %\""};

/// "Chalk = 3 %"
Expected<PigmentDose> parse_accent(std::string_view text) {
  const auto equals = text.rfind('=');
  if (equals == std::string_view::npos)
    return fail(Code::bad_quantity, fmt::format("“{}” is not COLOUR = SHARE", text));
  const auto share = parse_percent(text.substr(equals + 1));
  if (!share) return share.error();
  std::string_view name = text.substr(0, equals);
  while (!name.empty() && name.back() == ' ') name.remove_suffix(1);
  if (name.empty() || *share <= Ratio() || *share >= Ratio::percent(100))
    return fail(Code::bad_quantity,
                fmt::format("“{}” is not a colour and a share between 0 and 100 %", text));
  return PigmentDose{std::string(name), *share};
}

template <class T, class Parse>
std::vector<T> parsed_lines(Entry& entry, std::string_view key, std::string_view example, Parse parse) {
  std::vector<T> out;
  for (const std::string& line : entry.lines(key)) {
    const auto v = parse(line);
    if (v)
      out.push_back(*v);
    else
      entry.refuse(key, fmt::format("“{}”: {}", key, v.error().text),
                   fmt::format("write it like {} = [{}]", key, example));
  }
  return out;
}

/// A word of the door, when it is there.
template <class T>
std::optional<T> maybe(Entry& entry, std::string_view key, Expected<T> (*parse)(std::string_view)) {
  if (!entry.has(key)) return std::nullopt;
  const std::string text = entry.text(key, "");
  const auto v = parse(text);
  if (v) return *v;
  entry.refuse(key, fmt::format("“{}”: {}", key, v.error().text), v.error().hint);
  return std::nullopt;
}

std::optional<Ratio> maybe_percent(Entry& entry, std::string_view key, const Range<Ratio>& range) {
  if (!entry.has(key)) return std::nullopt;
  return entry.percent(key, range);
}
std::optional<Duration> maybe_time(Entry& entry, std::string_view key, const Range<Duration>& range) {
  if (!entry.has(key)) return std::nullopt;
  return entry.duration(key, range);
}

/// "120 x 40 cm"
Expected<std::array<Length, 2>> parse_rectangle(std::string_view text) {
  const auto bad = [&] {
    return fail(Code::bad_quantity, fmt::format("“{}” is not a width and a depth up to 100 m", text));
  };
  while (text.ends_with(' ')) text.remove_suffix(1);
  auto times = text.find('x');
  std::size_t width = 1;
  if (times == std::string_view::npos) times = text.find("×"), width = std::string_view("×").size();
  if (times == std::string_view::npos) return bad();
  const std::string second(text.substr(times + width));
  std::string first(text.substr(0, times));
  // The unit may stand once, at the end.
  const auto unit = std::find_if(second.rbegin(), second.rend(), [](char c) { return c < 'a' || c > 'z'; });
  if (const auto last = first.find_last_not_of(' ');
      last != std::string::npos && first[last] >= '0' && first[last] <= '9')
    first += second.substr(static_cast<std::size_t>(second.rend() - unit));
  const auto w = parse_length(first), d = parse_length(second);
  if (!w || !d || unit == second.rbegin()) return bad();
  for (const Length l : {*w, *d})
    if (!(l > Length() && l <= millimetres(1e5))) return bad();
  return std::array<Length, 2>{*w, *d};
}

/// Places by number, or boards by their size.
void read_shelf(const toml::table& table, Entry& e, File& file) {
  const toml::node* const node = table.get("shelf");
  if (node == nullptr || node->is_integer()) {
    file.limits.shelf = e.count("shelf", 0, 100'000, 0);
    return;
  }
  const std::vector<std::string> boards =
      node->is_array() ? e.lines("shelf") : std::vector<std::string>{e.text("shelf", "")};
  for (const std::string& text : boards)
    if (const auto board = parse_rectangle(text))
      file.boards.push_back(*board);
    else
      e.refuse("shelf", fmt::format("“shelf”: {}", board.error().text),
               "write it like shelf = \"120 x 40 cm\", or in places, like shelf = 24");
}

std::optional<Problem> read_bench(const toml::table& table, File& file) {
  Entry e(table, "[bench]", file.label);
  RunLimits& l = file.limits;
  l.bucket = e.mass("bucket", mass_range, Mass());
  l.scale = e.mass("scale", mass_range, Mass());
  if (e.has("scale-step")) file.scale_step = e.mass("scale-step", step_range);
  l.bucket_residue = e.mass("bucket-residue", mass_range, l.bucket_residue);
  l.cup_residue = e.mass("cup-residue", mass_range, l.cup_residue);
  read_shelf(table, e, file);
  l.never_lighter = e.choice("colour-order", {"rounds", "once"}, 0) == 1;
  return e.finish();
}

/// "08:30", in minutes.
std::optional<int> hour_of_day(std::string_view s) {
  const auto digit = [&](std::size_t i) { return s[i] >= '0' && s[i] <= '9' ? s[i] - '0' : 99; };
  if (s.size() != 5 || s[2] != ':' || digit(3) > 5) return std::nullopt;
  const int minute = (digit(0) * 10 + digit(1)) * 60 + digit(3) * 10 + digit(4);
  return minute < 24 * 60 ? std::optional(minute) : std::nullopt;
}

/// "12:30 45 min" or "12:30-13:15", counted from the start of the day.
std::optional<RunBreak> parse_break(std::string_view text, int start) {
  const auto from = hour_of_day(text.substr(0, 5));
  if (!from || text.size() == 5) return std::nullopt;
  std::string_view rest = text.substr(5);
  while (rest.starts_with(' ')) rest.remove_prefix(1);
  constexpr int whole_day = 24 * 60;
  const int begins = (*from - start + whole_day) % whole_day;
  Duration lasts;
  if (rest.starts_with('-') || rest.starts_with("–")) {
    rest.remove_prefix(rest.starts_with('-') ? 1 : std::string_view("–").size());
    while (rest.starts_with(' ')) rest.remove_prefix(1);
    const auto to = hour_of_day(rest);
    if (!to) return std::nullopt;
    lasts = minutes((*to - *from + whole_day) % whole_day);
  } else {
    const auto given = parse_duration(rest);
    if (!given) return std::nullopt;
    lasts = *given;
  }
  if (!(lasts > Duration() && lasts <= minutes(whole_day))) return std::nullopt;
  return RunBreak{minutes(begins), minutes(begins) + lasts};
}

void read_breaks(Entry& e, File& file) {
  RunLimits& l = file.limits;
  for (const std::string& text : e.lines("breaks")) {
    const auto b = parse_break(text, file.start_minute);
    if (!b)
      e.refuse("breaks", fmt::format("“breaks”: “{}” is not an hour and how long it lasts", text),
               "write it like breaks = [\"12:30 45 min\"], or [\"12:30-13:15\"]");
    else if (l.day <= Duration() || b->to > l.day)
      e.refuse("breaks", fmt::format("“breaks”: “{}” lies outside the working day", text),
               "the day begins at “start” and lasts “day”");
    else
      l.breaks.push_back(*b);
  }
  std::sort(l.breaks.begin(), l.breaks.end(),
            [](const RunBreak& a, const RunBreak& b) { return a.from < b.from; });
}

std::optional<Problem> read_hours(const toml::table& table, File& file) {
  Entry e(table, "[hours]", file.label);
  RunLimits& l = file.limits;
  const std::string start = e.text("start", "08:00");
  if (const auto minute = hour_of_day(start))
    file.start_minute = *minute;
  else
    e.refuse("start", fmt::format("“start” is “{}”, not an hour of the day", start),
             "write it like start = \"08:30\"");
  l.day = e.duration("day", time_range, l.day);
  read_breaks(e, file);
  l.reserve = e.percent("reserve", reserve_range, l.reserve);
  l.weigh = e.duration("weigh", time_range, l.weigh);
  l.mix = e.duration("mix", time_range, l.mix);
  l.split = e.duration("split", time_range, l.split);
  l.rinse = e.duration("rinse", time_range, l.rinse);
  l.wash = e.duration("wash", time_range, l.wash);
  file.pour = e.duration("pour", time_range, file.pour);
  file.handling = e.duration("demold", time_range, file.handling);
  return e.finish();
}

void read_size(Entry& e, Mold& m) {
  m.file = e.text("file", "", 400);
  if (e.has("holds")) m.holds = e.volume("holds", volume_range);
  if (e.has("mix")) m.mix = e.mass("mix", pour_range);
  const int given = (m.file.empty() ? 0 : 1) + (m.holds ? 1 : 0) + (m.mix ? 1 : 0);
  if (given != 1)
    e.refuse(given == 0       ? "file"
             : m.file.empty() ? "mix"
                              : "file",
             fmt::format("mold “{}” says {} what one pour takes", m.key, given == 0 ? "nowhere" : "twice"),
             "give one of file = \"mold.stl\", holds = \"58 ml\" or mix = \"120 g\"");
}

Expected<Mold> read_mold(const toml::table& table, const File& file) {
  Entry e(table, "[[mold]]", file.label);
  Mold m;
  m.key = e.key("key");
  m.name = e.text("name", m.key);
  read_size(e, m);
  m.how.fill = maybe(e, "fill", parse_fill_level);
  m.how.fill_to = maybe(e, "fill-to", parse_fill_to);
  m.how.read_as = maybe(e, "read-as", parse_reading);
  m.how.unit = maybe(e, "unit", parse_length_unit);
  m.how.up = maybe(e, "up", parse_direction);
  m.copies = static_cast<int>(e.count("copies", 1, 10'000, 1));
  m.pieces = static_cast<int>(e.count("pieces", 1, 10'000, 0));
  m.demold = maybe_time(e, "demold-time", long_range);
  m.pour = maybe_time(e, "pour", time_range);
  m.handling = maybe_time(e, "demold", time_range);
  m.places = static_cast<int>(e.count("places", 1, 1'000, 1));
  if (e.has("stands")) {
    const auto stands = parse_rectangle(e.text("stands", ""));
    if (stands)
      m.stands = *stands;
    else
      e.refuse("stands", fmt::format("“stands”: {}", stands.error().text),
               "write it like stands = \"14 x 12 cm\"");
  }
  m.cost = money(e, "cost", file.currency);
  m.pulls = static_cast<int>(e.count("pulls", 1, 1'000'000, 0));
  if (m.cost > Amount() && m.pulls == 0)
    e.refuse("cost", fmt::format("mold “{}” has a cost but no “pulls”", m.key),
             "say how many pours it lasts, like pulls = 60");
  if (auto p = e.finish()) return *p;
  return m;
}

Expected<Piece> read_piece(const toml::table& table, const File& file) {
  Entry e(table, "[[piece]]", file.label);
  Piece p;
  p.mold = e.required("mold", "\"dish\"");
  p.name = e.text("name", p.mold);
  p.wanted = static_cast<int>(e.count("wanted", 0, 20'000, 1));
  p.colour = e.text("colour", "");
  p.material = e.text("material", "");
  p.order = e.text("order", "");
  p.accents = parsed_lines<PigmentDose>(e, "accents", "\"Chalk = 3 %\"", parse_accent);
  Ratio sum;
  std::set<std::string_view> cups{p.colour};
  for (const PigmentDose& a : p.accents) {
    sum = sum + a.dose;
    if (!cups.insert(a.name).second)
      e.refuse("accents", fmt::format("“{}” is named twice for one piece", a.name),
               "name each colour once, and not the base among the accents");
  }
  if (sum >= Ratio::percent(100))
    e.refuse("accents", "the accents leave nothing for the base colour",
             "their shares must stay below 100 %");
  p.leftovers =
      e.percent("leftovers", Range<Ratio>{Ratio(), Ratio::percent(60), "0 to 60 %", "\"20 %\""}, Ratio());
  p.finishing = maybe_time(e, "finishing", time_range);
  if (e.has("packaging")) p.packaging = money(e, "packaging", file.currency);
  if (e.has("shipping")) p.shipping = money(e, "shipping", file.currency);
  p.markup = maybe_percent(e, "markup", markup_range);
  p.margin = maybe_percent(e, "margin", share_range);
  if (auto problem = e.finish()) return *problem;
  const auto same = [&](const Mold& m) { return m.key == p.mold; };
  if (std::any_of(file.molds.begin(), file.molds.end(), same)) return p;
  std::vector<std::string> keys;
  for (const Mold& m : file.molds) keys.push_back(m.key);
  const std::string_view near = nearest_name(p.mold, keys);
  return fail(Code::config_bad_value,
              fmt::format("{}: there is no mold “{}”", place(file.label, table.source().begin), p.mold),
              near.empty() ? "name the key of a [[mold]]" : fmt::format("did you mean “{}”?", near));
}

Expected<Colour> read_colour(const toml::table& table, const File& file) {
  Entry e(table, "[[colour]]", file.label);
  Colour c;
  c.name = e.required("name", "\"Kelp\"");
  c.dose = e.percent("dose", dose_range);
  if (auto p = e.finish()) return *p;
  return c;
}

Expected<Supply> read_supply(const toml::table& table, const File& file) {
  Entry e(table, "[[supply]]", file.label);
  Supply s;
  s.name = e.required("name", "\"mineral powder\"");
  if (e.has("stock")) s.stock = e.mass("stock", mass_range, Mass());
  const auto pack = [&](bool priced) {
    return [&, priced](const std::string& line) { return parse_pack(line, file.currency, priced); };
  };
  s.packs = parsed_lines<PackSize>(e, "packs", "\"5 kg = 17.50\"", pack(false));
  s.bought = parsed_lines<PackSize>(e, "bought", "\"25 kg = 61.00\"", pack(true));
  if (e.has("price")) s.price_per_kilogram = money(e, "price", file.currency);
  if (auto p = e.finish()) return *p;
  return s;
}

std::optional<Problem> read_price(const toml::table& table, File& file) {
  Entry e(table, "[price]", file.label);
  PriceTerms t;
  e.has("currency");
  t.currency = file.currency;
  t.labour_per_hour = money(e, "labour", t.currency);
  t.failed = e.percent("failed", share_range, Ratio());
  t.overhead = e.percent("overhead", markup_range, Ratio());
  t.fees = e.percent("fees", share_range, Ratio());
  t.fees_on_gross = e.choice("fees-on", {"net", "gross"}, 0) == 1;
  t.fee_per_sale = money(e, "fee-per-sale", t.currency);
  file.packaging = money(e, "packaging", t.currency);
  file.shipping = money(e, "shipping", t.currency);
  file.surplus_charged = e.choice("surplus", {"kept", "charged"}, 0) == 1;
  t.discount = maybe_percent(e, "discount", share_range);
  t.wholesale_discount = maybe_percent(e, "wholesale-discount", share_range);
  t.vat = e.percent("vat", share_range, Ratio());
  t.markup = maybe_percent(e, "markup", markup_range);
  t.margin = maybe_percent(e, "margin", share_range);
  t.wholesale_markup = maybe_percent(e, "wholesale-markup", markup_range);
  const Amount step = money(e, "round-to", t.currency);
  t.round_to = rounded(step, t.currency);
  if (Amount::of(t.round_to, t.currency) != step)
    e.refuse("round-to", fmt::format("“round-to” is finer than the smallest coin in {}", t.currency.code),
             "a price is a multiple of it, like round-to = \"0.50\"");
  constexpr Rounding rules[] = {Rounding::half_even, Rounding::half_up, Rounding::up, Rounding::down};
  t.rounding = rules[e.choice("rounding", {"half-even", "half-up", "up", "down"}, 0)];
  t.vat_on_total = e.choice("vat-on", {"line", "total"}, 0) == 1;
  file.terms = t;
  return e.finish();
}

/// The currency is needed to read every other amount.
Expected<Currency> currency_of(const toml::table& root, std::string_view label) {
  const toml::node_view<const toml::node> node = root["price"]["currency"];
  const auto code = node.value<std::string>();
  if (!code) return Currency{};
  auto c = find_currency(*code);
  if (c) return c;
  return fail(Code::config_bad_value,
              fmt::format("{}: {}", place(label, node.node()->source().begin), c.error().text),
              c.error().hint);
}

template <class T>
std::optional<Problem> read_each(const std::vector<const toml::table*>& tables,
                                 Expected<T> (*read)(const toml::table&, const File&), const File& file,
                                 std::vector<T>& into) {
  for (const toml::table* table : tables) {
    auto item = read(*table, file);
    if (!item) return item.error();
    into.push_back(std::move(*item));
  }
  return std::nullopt;
}

template <class T, class Name>
std::optional<Problem> refuse_twins(const std::vector<T>& list, std::string_view what, std::string_view label,
                                    Name name) {
  std::set<std::string_view> seen;
  for (const T& item : list)
    if (!seen.insert(name(item)).second)
      return fail(Code::config_bad_value, fmt::format("{}: two {} are called “{}”", label, what, name(item)),
                  "give one of them another name");
  return std::nullopt;
}

/// A colour without a dose is poured without pigment, which nobody means who gave one to its near namesake.
std::optional<Problem> refuse_slipped_colours(const File& file) {
  std::vector<std::string> known;
  for (const Colour& c : file.colours) known.push_back(c.name);
  const auto wrong = [&](const Piece& p, const std::string& colour) -> std::optional<Problem> {
    if (colour.empty() || std::find(known.begin(), known.end(), colour) != known.end()) return std::nullopt;
    const std::string_view near = nearest_name(colour, known);
    if (near.empty()) return std::nullopt;
    return fail(
        Code::config_bad_value,
        fmt::format("{}: “{}” is to be “{}”, which no [[colour]] is called", file.label, p.name, colour),
        fmt::format("did you mean “{}”?", near));
  };
  for (const Piece& p : file.pieces) {
    if (auto problem = wrong(p, p.colour)) return problem;
    for (const PigmentDose& a : p.accents)
      if (auto problem = wrong(p, a.name)) return problem;
  }
  return std::nullopt;
}

void usual_limits(RunLimits& l) {
  l.weigh = minutes(4);
  l.mix = minutes(3);
  l.split = minutes(1);
  l.rinse = minutes(2);
  l.wash = minutes(5);
  l.day = minutes(8 * 60);
  l.reserve = Ratio::percent(25);
  l.bucket_residue = Mass::grams(12);
  l.cup_residue = Mass::grams(3);
}

Expected<File> read(const toml::table& root, std::string_view label) {
  File file;
  file.label = label;
  usual_limits(file.limits);
  Entry e(root, "a run file", label);
  file.title = e.text("title", "");
  file.material = e.text("material", "");
  file.workshop = e.text("workshop", "", 400);
  file.read_as = maybe(e, "read-as", parse_reading);
  if (e.has("room-celsius")) file.room = celsius(e.number("room-celsius", -10, 50, 20));
  file.colour_order = e.lines("colours");
  file.allowance = maybe_percent(e, "allowance", share_range);
  const toml::table *bench = e.table("bench"), *hours = e.table("hours"), *price = e.table("price");
  const auto molds = e.tables("mold"), pieces = e.tables("piece"), colours = e.tables("colour"),
             supplies = e.tables("supply");
  if (auto p = e.finish()) return *p;
  const auto currency = currency_of(root, label);
  if (!currency) return currency.error();
  file.currency = *currency;
  file.currency_given = root["price"]["currency"].is_string();
  if (bench != nullptr)
    if (auto p = read_bench(*bench, file)) return *p;
  if (hours != nullptr)
    if (auto p = read_hours(*hours, file)) return *p;
  if (price != nullptr)
    if (auto p = read_price(*price, file)) return *p;
  if (auto p = read_each(molds, read_mold, file, file.molds)) return *p;
  if (auto p =
          refuse_twins(file.molds, "molds", label, [](const Mold& m) -> std::string_view { return m.key; }))
    return *p;
  if (auto p = read_each(pieces, read_piece, file, file.pieces)) return *p;
  if (auto p = read_each(colours, read_colour, file, file.colours)) return *p;
  if (auto p = refuse_twins(file.colours, "colours", label,
                            [](const Colour& c) -> std::string_view { return c.name; }))
    return *p;
  if (auto p = refuse_slipped_colours(file)) return *p;
  if (auto p = read_each(supplies, read_supply, file, file.supplies)) return *p;
  if (auto p = refuse_twins(file.supplies, "supplies", label,
                            [](const Supply& s) -> std::string_view { return s.name; }))
    return *p;
  for (Mold& m : file.molds)
    if (!m.how.read_as) m.how.read_as = file.read_as;
  if (file.pieces.empty())
    return fail(Code::config_bad_value, fmt::format("{}: no piece is wanted", label),
                "add a [[piece]] with its mold");
  return file;
}

}  // namespace

Expected<File> parse(std::string_view text, std::string_view label) {
  const auto table = material::parse_toml(text, label);
  if (!table) return table.error();
  return read(*table, label);
}

}  // namespace pourwright::run_file
