// SPDX-License-Identifier: GPL-3.0-or-later
// What all commands share: options become settings, each text is read once and the first that is wrong is
// the one that is told; files are found; width, units and decimal sign are settled for all that is shown.
#include "cli/session.hpp"

#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_run.hpp>
#include <pourwright/pipeline_setup.hpp>

#include "cli/cautions.hpp"
#include "cli/exit_status.hpp"

#include <algorithm>
#include <charconv>
#include <tuple>

#include <fmt/format.h>

namespace pourwright::cli {

Session::Session(const CommandLine& line, const Surroundings& around)
    : line_(line), now_(around.now), utc_offset_(around.utc_offset), around_(around) {
  std::optional<std::string> colour, decimal;
  read("colour", colour, one_of({"auto", "always", "never"}));
  read("decimal", decimal, one_of({"point", "comma"}));
  style_.width = std::clamp(around.terminal_width, 60, 100);
  style_.unicode = around.utf8;
  style_.us = line.has("us");
  style_.decimal = decimal.value_or(around.comma ? "comma" : "point") == "comma" ? ',' : '.';
  style_.colour = colour == "always" || (colour.value_or("auto") == "auto" && !around.no_colour &&
                                         (around.force_colour || around.output_is_terminal));
}

void Session::complain(std::string_view option, const Problem& p) {
  if (!problem_) problem_ = Problem{p.code, fmt::format("--{}: {}", option, p.text), p.hint};
}

std::optional<std::string> Session::ask(const std::string& question) {
  const std::string all = for_terminal(std::exchange(told_, {}) + question, style_.unicode);
  return around_.ask ? around_.ask(all) : std::nullopt;
}

void Session::tell(const std::string& text) {
  told_ += text + "\n";
}

namespace {

/// The folder in which a file lies that is named on the line, as far as it is there.
std::optional<std::filesystem::path> folder_of(std::string word) {
  std::error_code error;
  if (!std::filesystem::exists(word, error)) {
    const auto colon = word.rfind(':');  // "dish.stl:4"
    if (colon == std::string::npos || colon == 0) return std::nullopt;
    word.resize(colon);
    if (!std::filesystem::exists(word, error)) return std::nullopt;
  }
  const std::filesystem::path path(word);
  if (std::filesystem::is_directory(path, error)) return path;
  return path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
}

/// The words of a line that name files.
std::vector<std::string> words_for_files(const CommandLine& line) {
  std::vector<std::string> out = line.arguments;
  if (line.command == "learn" && !out.empty()) out.erase(out.begin());
  if (const auto pieces = line.get("pieces"); pieces && line.command == "run") out.push_back(*pieces);
  const bool takes_files =
      one_of({"card", "inspect", "split", "learn", "run", "price"})(line.command).has_value();
  return takes_files ? out : std::vector<std::string>();
}

}  // namespace

void Session::find_workshop(MixSettings& s) {
  if (const auto named = line_.get("workshop")) {
    if (*named == "none" || named->empty())
      s.workshop_from = WorkshopFrom::left;
    else
      s.workshop = *named;
    return;
  }
  for (const std::string& word : words_for_files(line_)) {
    const auto folder = folder_of(word);
    if (!folder || !is_workshop(*folder)) continue;
    std::error_code error;
    if (!s.workshop.empty() && !std::filesystem::equivalent(s.workshop, *folder, error)) {
      if (!problem_)
        problem_ = fail(Code::usage,
                        fmt::format("the files lie in two workshops, “{}” and “{}”", s.workshop.string(),
                                    folder->string()),
                        "name the one to use with --workshop");
      return;
    }
    s.workshop = *folder;
    s.workshop_from = WorkshopFrom::beside;
  }
  if (s.workshop.empty()) {
    const auto remembered = remembered_workshop(around_.config_folder);
    if (!remembered) {
      if (!problem_) problem_ = remembered.error();
    } else if (*remembered) {
      s.workshop = **remembered;
      s.workshop_from = WorkshopFrom::remembered;
    }
  }
  if (s.workshop.empty()) return;
  found_ = s.workshop.string();
  say_workshop(found_);
}

void Session::say_workshop(const std::string& used) {
  style_.workshop.clear();
  if (used.empty() || used != found_) return;
  std::error_code error;
  const auto whole = std::filesystem::absolute(used, error).lexically_normal();
  const auto name = whole.has_filename() ? whole.filename() : whole.parent_path().filename();
  style_.workshop = name.empty() ? used : name.string();
}

MixSettings Session::mix_settings() {
  MixSettings s;
  find_workshop(s);
  s.material = line_.get("material").value_or("");
  read("ratio", s.ratio, [](const std::string& t) { return parse_ratio(t); });
  read("density", s.density, [](const std::string& t) { return parse_density(t); });
  read("allowance", s.allowance, [](const std::string& t) { return parse_percent(t); });
  read("scale-step", s.scale_step, [](const std::string& t) { return parse_mass(t); });
  if (!line_.has("no-learned")) {
    const std::filesystem::path folder =
        s.workshop.empty() ? std::filesystem::path(around_.data_folder) : workshop_folder(s.workshop);
    if (!folder.empty()) s.ledger = folder / "ledger.db";
  }
  std::optional<Ratio> risk;
  read("risk", risk, [](const std::string& t) { return parse_percent(t); });
  if (risk) s.risk = *risk;
  std::optional<int> cups;
  read("cups", cups, parse_count);
  if (cups) s.cups = *cups;
  read("room", s.room, [](const std::string& t) { return parse_temperature(t); });
  read("residue", s.residue, [](const std::string& t) { return parse_mass(t); });
  std::optional<Ratio> uncertainty;
  read("max-uncertainty", uncertainty, [](const std::string& t) { return parse_percent(t); });
  if (uncertainty) s.max_uncertainty = uncertainty->value();
  read("cup-weight", s.cup, [](const std::string& t) { return parse_mass(t); });
  for (const std::string& text : line_.all("pigment")) {
    const auto dose = parse_dose(text);
    if (dose)
      s.pigments.push_back(*dose);
    else
      complain("pigment", dose.error());
  }
  return s;
}

TextStyle Session::style_for(const Habits& habits) const {
  TextStyle style = style_;
  style.us = style.us || habits.us_units;
  return style;
}

TextStyle Session::style_for(const Habits& habits, const std::vector<std::string>& cautions) const {
  TextStyle style = style_for(habits);
  style.cautions_known = !line_.has("cautions") && seen_today(around_, cautions);
  return style;
}

MeasureSettings Session::measure_settings() {
  MeasureSettings s;
  read("unit", s.unit, [](const std::string& t) { return parse_length_unit(t); });
  std::optional<std::string> only;
  read("read-as", s.read_as, parse_reading);
  read("only", only, one_of({"solid", "cavities", "all"}));
  if (only) s.only = *only == "solid" ? Only::solid : *only == "cavities" ? Only::cavities : Only::all;
  std::optional<FillTo> fill_to;
  read("fill-to", fill_to, parse_fill_to);
  if (fill_to) s.fill_to = *fill_to;
  s.dips = line_.has("dips");
  s.find_up = line_.get("up") == "auto";
  s.level_rim = line_.get("up") == "rim";
  std::optional<Point> up;
  if (!s.find_up && !s.level_rim) read("up", up, parse_direction);
  if (up) s.up = *up;
  s.up_given = up.has_value();
  read("known", s.known, parse_known_size);
  if (line_.has("tilt")) s.tilts = {0.5, 1, 2};
  s.find_lean = line_.has("tilt");
  std::optional<int> jobs;
  read("jobs", jobs, parse_count);
  if (jobs) s.jobs = *jobs;
  std::optional<FillLevel> fill;
  read("fill", fill, parse_fill_level);
  if (fill) s.fill = *fill;
  s.quick = line_.has("quick");
  std::optional<CloseHoles> holes;
  read("close-holes", holes, parse_close_holes);
  if (holes) s.close_holes = *holes;
  read("gap", s.gap, parse_gap);
  std::optional<Ratio> uncertainty;
  read("max-uncertainty", uncertainty, [](const std::string& t) { return parse_percent(t); });
  if (uncertainty) s.max_uncertainty = uncertainty->value();
  s.more_formats = line_.has("more-formats");
  std::optional<Duration> time;
  read("time-limit", time, [](const std::string& t) { return parse_time_limit(t); });
  if (time) s.limits.time = *time;
  std::optional<std::int64_t> memory;
  read("memory-limit", memory, parse_bytes);
  if (memory) s.limits.memory = *memory;
  if (!line_.has("quiet")) s.progress = around_.progress;
  return s;
}

MeasureSettings Session::remembering_settings() {
  MeasureSettings s = measure_settings();
  const std::string where = line_.get("cache").value_or(around_.cache_folder);
  if (where != "none") s.cache = where;
  s.program = around_.build;
  if (around_.resumable) around_.resumable(!s.cache.empty());
  return s;
}

Expected<std::vector<FoundFile>> Session::files() const {
#ifdef POURWRIGHT_GEOMETRY
  if (line_.arguments.empty())
    return fail(Code::usage, "no mold file was given",
                fmt::format("for example: pourwright {} bowl.stl", line_.command));
  return find_files(line_.arguments);
#else
  return fail(Code::format_not_built, "this build cannot read meshes");
#endif
}

Expected<std::vector<FoundFile>> Session::files_and_names(const MixSettings& settings) const {
  auto found = files();
  if (!found) return found;
  if (auto problem = find_by_name(*found, settings)) return *problem;
  // A first word that is neither file nor mold may have been meant as a command.
  if (line_.unsure && !found->empty() && found->front().problem) {
    Problem problem = *line_.unsure;
    if (found->front().problem->hint.find("filled with water") != std::string::npos)
      problem.hint = found->front().problem->hint;
    return problem;
  }
  return found;
}

std::string Session::said(const std::string& path, const Problem& p) const {
  std::string text = "pourwright: ";
  if (!path.empty() && p.text.find("“" + path) == std::string::npos) text += path + ": ";
  text += fmt::format("{} [{}]", p.text, info(p.code).slug);
  std::string lines = for_terminal(text, style_.unicode) + "\n";
  if (!p.hint.empty()) lines += for_terminal("  → " + p.hint, style_.unicode) + "\n";
  return lines;
}

Outcome Session::refuse(const Problem& p) const {
  Outcome out;
  out.exit_code = exit_status(p.code);
  if (json()) out.out = problem_json(p);
  out.err = said({}, p);
  return out;
}

void Session::settle(Outcome& out, const Tally& tally) const {
  if (tally.failures.size() == 1 && tally.files == 1)
    out.exit_code = exit_status(tally.failures[0].second.code);
  else if (!tally.failures.empty() || (tally.warned && line_.has("strict")))
    out.exit_code = some_failed;
  const bool in_report = !json() && !out.out.empty();
  if (json() && line_.has("quiet")) return;
  // What has to be answered is said where somebody may see it, also when the report goes to a file.
  for (const auto& [path, p] : tally.failures)
    if (!in_report || p.code == Code::reading_in_doubt || p.code == Code::output_exists ||
        p.code == Code::output_failed)
      out.err += said(path, p);
}

std::optional<Problem> Session::keep_sheet(const MixSettings& settings,
                                           const std::function<BatchSheet(const std::string&)>& make,
                                           Notes& notes) const {
  const auto title = line_.get("record");
  if (!title) return std::nullopt;
  const auto kept = add_record(settings, now(), make(*title));
  if (!kept) return kept.error();
  notes.push_back(
      {"recorded", fmt::format("kept as sheet {}: pourwright records {}", kept->id, kept->id), false});
  return std::nullopt;
}

std::optional<Problem> Session::write_where(std::string_view option, std::string_view text) const {
  const auto where = line_.get(option);
  if (!where) return std::nullopt;
  return write_file(*where, text, line_.has("force"));
}

#ifdef POURWRIGHT_GEOMETRY
std::optional<Problem> Session::write_pictures_of(const std::vector<FoundFile>& files,
                                                  PictureSettings settings, Tally& tally) const {
  PicturePlaces places;
  places.overwrite = line_.has("force");
  for (const auto& [option, ending, names] :
       {std::tuple("png", ".png", &places.png), std::tuple("svg", ".svg", &places.svg)}) {
    const auto out = line_.get(option);
    if (!out) continue;
    auto all = picture_names(files, *out, ending);
    if (!all) return all.error();
    *names = std::move(*all);
  }
  if (places.png.empty() && places.svg.empty()) return std::nullopt;
  settings.style = style_;
  settings.measure.progress = {};
  const auto problems = write_pictures(files, settings, places);
  for (std::size_t i = 0; i < problems.size(); ++i) {
    const std::string path = files[i].path.string();
    const bool told = std::any_of(tally.failures.begin(), tally.failures.end(),
                                  [&](const auto& failure) { return failure.first == path; });
    if (problems[i] && !told) tally.failures.emplace_back(path, *problems[i]);
  }
  return std::nullopt;
}
#endif

int Session::strict(const Notes& notes) const {
  return line_.has("strict") && has_warning(notes) ? some_failed : done;
}

bool has_warning(const Notes& notes) {
  return std::any_of(notes.begin(), notes.end(), [](const Note& n) { return n.warning; });
}

Expected<PigmentDose> parse_dose(const std::string& text) {
  const auto equals = text.rfind('=');
  if (equals == std::string::npos || equals == 0)
    return fail(Code::bad_quantity, fmt::format("“{}” is not NAME=DOSE", text), "for example Kelp=2%");
  const auto dose = parse_percent(text.substr(equals + 1));
  if (!dose) return dose.error();
  return PigmentDose{text.substr(0, equals), *dose};
}

Expected<int> parse_count(const std::string& text) {
  int n = 0;
  const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (ec != std::errc{} || end != text.data() + text.size() || n < 1 || n > 1'000'000)
    return fail(Code::bad_number, fmt::format("“{}” is not a count", text), "give a whole number from 1 up");
  return n;
}

Expected<Duration> parse_time_limit(const std::string& text) {
  const auto d = parse_duration(text);
  if (d && !(*d >= Duration(0.01) && *d <= Duration(1e6)))
    return fail(Code::bad_quantity, fmt::format("“{}” is no time to give a file", text),
                "for example 90s or 10min");
  return d;
}

Expected<std::int64_t> parse_bytes(const std::string& text) {
  static constexpr std::pair<std::string_view, double> units[] = {
      {"KB", 1e3}, {"MB", 1e6}, {"GB", 1e9}, {"TB", 1e12}, {"B", 1}};
  std::string_view number = text;
  double unit = 1e6;
  for (const auto& [name, size] : units)
    if (number.ends_with(name)) {
      number.remove_suffix(name.size());
      unit = size;
      break;
    }
  while (number.ends_with(' ')) number.remove_suffix(1);
  const auto n = parse_number(number);
  if (!n || !(*n * unit >= 1e6 && *n * unit <= 1e15))
    return fail(Code::bad_quantity, fmt::format("“{}” is no amount of memory", text),
                "for example 500MB or 4GB");
  return static_cast<std::int64_t>(*n * unit);
}

Expected<Length> parse_wall(const std::string& text) {
  const auto v = parse_length(text);
  if (v && (*v <= Length() || *v > millimetres(1000)))
    return fail(Code::bad_quantity, fmt::format("“{}” is no thickness", text),
                "give one above 0 and up to 1 m, like 2mm");
  return v;
}

Expected<Duration> parse_age(const std::string& text) {
  const auto v = parse_duration(text);
  if (v && (*v <= Duration() || *v > minutes(30 * 24 * 60)))
    return fail(Code::bad_quantity, fmt::format("“{}” is no age to demold at", text),
                "give one up to 30 days, like 45min");
  return v;
}

Problem stray(const std::string& word) {
  return fail(Code::usage, fmt::format("“{}” is not expected here", word),
              "quantities follow their option: --liquid 102g");
}

}  // namespace pourwright::cli
