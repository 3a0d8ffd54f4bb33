// SPDX-License-Identifier: GPL-3.0-or-later
// A workshop from five answers. The law: the folder is there whole or not at all, nothing that exists is
// written over, and no number that was not answered passes as the workshop's own.
#include <pourwright/pipeline_learn.hpp>
#include <pourwright/pipeline_run.hpp>
#include <pourwright/pipeline_setup.hpp>

#include "workshop/material/entry.hpp"

#include <cerrno>
#include <fstream>
#include <system_error>

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view workshop_file = "workshop.toml", config_name = "config.toml";
constexpr std::string_view house_key = "house";
constexpr int steps_carried = 5000;  // of a bench scale: 5 kg in grams, 500 g in tenths

std::string_view plain_answer(std::string_view s) {
  while (!s.empty() && (s.front() == ' ' || s.front() == '\t')) s.remove_prefix(1);
  while (!s.empty() && (s.back() == ' ' || s.back() == '\t' || s.back() == '\r')) s.remove_suffix(1);
  return s;
}

/// The pieces between commas; a comma between digits is a decimal comma.
std::vector<std::string_view> pieces_of(std::string_view text) {
  const auto digit = [&](std::size_t i) { return i < text.size() && text[i] >= '0' && text[i] <= '9'; };
  std::vector<std::string_view> out;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    const bool end =
        i == text.size() || text[i] == ';' || (text[i] == ',' && !(i > 0 && digit(i - 1) && digit(i + 1)));
    if (!end) continue;
    if (const std::string_view piece = plain_answer(text.substr(from, i - from)); !piece.empty())
      out.push_back(piece);
    from = i + 1;
  }
  return out;
}

/// As a TOML basic string.
std::string toml_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\')
      out += fmt::format("\\{}", c);
    else if (u < 0x20 || u == 0x7f)
      out += fmt::format("\\u{:04x}", u);
    else
      out += c;
  }
  return out + "\"";
}

/// What a table's density at the usual ratio becomes at another one: liquid of 1.05 and powder of 2.63 g/ml
/// (hemihydrate: Wirsching, Ullmann's, from memory) by the mixture rule, with as much air as makes the
/// table's value.
Density density_at(const Mix& usual, Ratio ratio) {
  const auto rule = [](double r) { return (1 + r) / (1 / 1.05 + r / 2.63); };
  return usual.density * (rule(ratio.value()) / rule(usual.ratio.value()));
}

std::string scale_entries(const std::vector<Scale>& scales, Notes& notes) {
  std::string out;
  for (std::size_t i = 0; i < scales.size(); ++i) {
    const Scale& s = scales[i];
    const bool said = s.capacity > Mass();
    const Mass capacity = said ? s.capacity : s.step * steps_carried;
    const auto grams = [](Mass m) { return grams_text(m, m) + " g"; };
    const std::string name = scales.size() == 1 ? "Scale" : fmt::format("Scale {}", i + 1);
    out += fmt::format("\n[[scale]]\nkey = \"scale-{}\"\nname = \"{}\"\nstep = \"{}\"\ncapacity = \"{}\"{}\n",
                       i + 1, name, grams(s.step), grams(capacity),
                       said ? "" : "   # not said: 5000 steps are taken");
    if (!said)
      notes.push_back(
          {"scale-capacity-assumed",
           fmt::format("{} is taken to carry {}; write in the file what yours does", name, grams(capacity)),
           false});
  }
  return out;
}

std::string workshop_text(const SetupAnswers& a, Notes& notes) {
  const Mix usual = *find_mix(built_in_catalogue(), built_in_catalogue().default_mix);
  const Ratio ratio = a.ratio.value_or(usual.ratio);
  const auto minutes_of = [](Duration d) { return fmt::format("{:.0f} min", in_minutes(d)); };
  const auto mark = [](bool said) { return said ? "" : "   # common practice"; };
  std::string out = fmt::format(
      "# A workshop, made by `pourwright setup`. `pourwright mix --template` shows every line that may stand "
      "here.\n\n"
      "default-mix = \"{0}\"\n\n[[mix]]\nkey = \"{0}\"\nname = \"House mix\"\n",
      house_key);
  out +=
      fmt::format("liquid = {}\npowder = {}\n", toml_string(a.liquid.empty() ? usual.liquid_name : a.liquid),
                  toml_string(a.powder.empty() ? usual.powder_name : a.powder));
  out += fmt::format("ratio = {:.6g}{}\n", ratio.value(), mark(a.ratio.has_value()));
  out +=
      fmt::format("density = \"{} g/mL\"   # a table's; what `pourwright learn cup` records goes before it\n",
                  fixed(in_grams_per_millilitre(density_at(usual, ratio)), 2));
  out += fmt::format("density-from = \"generic\"\ndensity-spread = \"{:.3g} %\"\n",
                     usual.density_spread.in_percent());
  out += fmt::format("working-time = \"{}\"{}\ndemold-time = \"{}\"{}\n", minutes_of(usual.working_time),
                     mark(false), minutes_of(usual.demold_time), mark(false));
  out += fmt::format("pigment-ceiling = \"{:.3g} %\"{}\n", usual.pigment_ceiling.in_percent(), mark(false));
  out += "cautions = [";
  for (const std::string& c : usual.cautions)
    out += toml_string(c) + (&c == &usual.cautions.back() ? "" : ", ");
  return out + "]\n" + scale_entries(a.scales, notes);
}

/// The answers as the file's own reader sees them, before anything is written.
std::optional<Problem> check_answers(const SetupAnswers& a, const std::string& text) {
  const Mix usual = *find_mix(built_in_catalogue(), built_in_catalogue().default_mix);
  const std::string liquid = a.liquid.empty() ? usual.liquid_name : a.liquid,
                    powder = a.powder.empty() ? usual.powder_name : a.powder;
  if (plain_answer(liquid).empty() || plain_answer(powder).empty() || liquid == powder)
    return fail(Code::usage, "liquid and powder need a name each",
                "for example: acrylic liquid, mineral powder");
  if (a.scales.size() > 20) return fail(Code::usage, "more than 20 scales", "name those you use");
  const auto parsed = parse_catalogue(text, "the answers");
  if (!parsed) return parsed.error();
  if (!a.cup) return std::nullopt;
  return implausible(DensityCup{std::string(house_key), a.cup->volume, a.cup->mass, Mass(), ""});
}

std::optional<Problem> is_place(const fs::path& folder) {
  std::error_code error;
  const fs::file_status there = fs::status(folder, error);
  if (fs::exists(there) && !fs::is_directory(there))
    return fail(Code::output_exists, fmt::format("“{}” is a file, not a folder", folder.string()),
                "name another folder");
  return std::nullopt;
}

Problem not_written(const fs::path& path, const std::error_code& error) {
  return fail(Code::output_failed, fmt::format("“{}” cannot be written: {}", path.string(), error.message()),
              "check the folder, its permissions and the space left");
}

/// File and first record, into a folder that is there.
std::optional<Problem> fill_folder(const fs::path& folder, const SetupAnswers& a, const std::string& text,
                                   std::int64_t now) {
  if (auto problem = write_file(folder / workshop_file, text, false)) return problem;
  if (!a.cup) return std::nullopt;
  MixSettings settings;
  settings.workshop = folder;
  settings.ledger = folder / "ledger.db";
  const auto kept = add_record(
      settings, now, DensityCup{std::string(house_key), a.cup->volume, a.cup->mass, Mass(), "first cup"});
  if (kept) return std::nullopt;
  std::error_code error;
  fs::remove(folder / workshop_file, error);
  return kept.error();
}

std::optional<Problem> make_workshop(const fs::path& folder, const SetupAnswers& a, const std::string& text,
                                     std::int64_t now) {
  std::error_code error;
  if (fs::is_directory(folder, error)) return fill_folder(folder, a, text, now);
  fs::create_directories(folder.parent_path(), error);
  if (error) return not_written(folder.parent_path(), error);
  const fs::path beside =
      folder.parent_path() / fmt::format(".{}.{}", folder.filename().string(), ::getpid());
  if (!fs::create_directory(beside, error)) return not_written(beside, error);
  auto problem = fill_folder(beside, a, text, now);
  if (!problem) {
    fs::rename(beside, folder, error);
    if (error) problem = not_written(folder, error);
  }
  if (problem) fs::remove_all(beside, error);
  return problem;
}

/// A missing folder of the person's own is made for them alone, as the XDG Base Directory Specification has
/// it.
std::optional<Problem> make_private(const fs::path& folder) {
  std::error_code error;
  if (fs::is_directory(folder, error)) return std::nullopt;
  if (folder.has_parent_path() && folder.parent_path() != folder)
    if (auto problem = make_private(folder.parent_path())) return problem;
  if (::mkdir(folder.c_str(), 0700) == 0 || errno == EEXIST) return std::nullopt;
  return not_written(folder, std::error_code(errno, std::generic_category()));
}

std::optional<Problem> remember(const fs::path& folder, const fs::path& config) {
  if (auto problem = make_private(config)) return problem;
  return write_file(
      config / config_name,
      fmt::format("# Written by `pourwright setup`; `pourwright setup --forget` takes it back.\n"
                  "workshop = {}\n",
                  toml_string(folder.string())),
      true);
}

std::optional<Mix> house_mix(const fs::path& folder) {
  MixSettings settings;
  settings.workshop = folder;
  settings.ledger = folder / "ledger.db";
  auto chosen = choose_mix(settings);
  if (!chosen) return std::nullopt;
  use_learned_density(settings, *chosen);
  return chosen->mix;
}

Expected<std::string> small_text(const fs::path& path) {
  std::error_code error;
  const auto size = fs::file_size(path, error);
  std::string text(error || size > 65536 ? 0 : static_cast<std::size_t>(size), '\0');
  std::ifstream in(path, std::ios::binary);
  if (error || size > 65536 || !in.read(text.data(), static_cast<std::streamsize>(text.size())))
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read", path.string()),
                "`pourwright setup FOLDER` writes it anew; --workshop none does without");
  return text;
}

/// What is written there, whether or not it still exists.
Expected<std::optional<fs::path>> written_workshop(const fs::path& config) {
  const fs::path path = config / config_name;
  std::error_code error;
  if (config.empty() || !fs::exists(path, error)) return std::optional<fs::path>();
  const auto text = small_text(path);
  if (!text) return text.error();
  const std::string label = path.string();
  const auto table = material::parse_toml(*text, label);
  if (!table) return table.error();
  material::Entry entry(*table, "the program's settings", label);
  const std::string workshop = entry.text("workshop", "", 4096);
  if (!workshop.empty() && !fs::path(workshop).is_absolute())
    entry.refuse("workshop", "“workshop” is no absolute path", "`pourwright setup FOLDER` writes it anew");
  if (auto problem = entry.finish()) return *problem;
  if (workshop.empty()) return std::optional<fs::path>();
  return std::optional<fs::path>(workshop);
}

}  // namespace

Expected<std::pair<std::string, std::string>> parse_part_names(std::string_view text) {
  const auto names = pieces_of(text);
  if (names.size() != 2)
    return fail(Code::usage, fmt::format("“{}” is not two names", text),
                "for example: acrylic liquid, mineral powder");
  return std::pair{std::string(names[0]), std::string(names[1])};
}

Expected<std::vector<Scale>> parse_scales(std::string_view text) {
  std::vector<Scale> out;
  for (const std::string_view piece : pieces_of(text)) {
    std::size_t to = piece.find(" to "), width = 4;
    if (to == std::string_view::npos) to = piece.find('='), width = 1;
    std::string_view first = plain_answer(piece.substr(0, to));
    if (first.ends_with(" up")) first = plain_answer(first.substr(0, first.size() - 3));
    const auto step = parse_mass(first);
    if (!step) return step.error();
    Scale scale;
    scale.step = *step;
    if (to != std::string_view::npos) {
      const auto most = parse_mass(plain_answer(piece.substr(to + width)));
      if (!most) return most.error();
      scale.capacity = *most;
    }
    if (scale.step <= Mass() || (to != std::string_view::npos && scale.capacity < scale.step))
      return fail(Code::bad_quantity, fmt::format("“{}” is no scale", piece),
                  "say its step, and what it carries: 1 g to 5 kg");
    out.push_back(std::move(scale));
  }
  if (out.empty())
    return fail(Code::bad_quantity, "no scale was named", "say its step, and what it carries: 1 g to 5 kg");
  return out;
}

Expected<FirstCup> parse_first_cup(std::string_view text) {
  const auto equals = text.find('=');
  if (equals == std::string_view::npos)
    return fail(Code::bad_quantity, fmt::format("“{}” is not VOLUME = MASS", text),
                "for example 200 ml = 372 g");
  const auto volume = parse_volume(plain_answer(text.substr(0, equals)));
  if (!volume) return volume.error();
  const auto mass = parse_mass(plain_answer(text.substr(equals + 1)));
  if (!mass) return mass.error();
  return FirstCup{*volume, *mass};
}

Expected<SetupReport> set_up(const SetupAnswers& answers, std::int64_t now, const fs::path& config) {
  if (answers.folder.empty())
    return fail(Code::usage, "say where the workshop shall be", "for example: pourwright setup ~/casting");
  if (config.empty())
    return fail(
        Code::usage,
        "there is no place to remember a workshop: neither HOME nor XDG_CONFIG_HOME is an absolute path",
        "set one of them, or name the workshop each time with --workshop");
  std::error_code error;
  fs::path folder = fs::absolute(answers.folder, error).lexically_normal();
  if (!folder.has_filename()) folder = folder.parent_path();
  if (auto problem = is_place(folder)) return *problem;
  SetupReport out;
  out.folder = folder.string();
  if (is_workshop(folder)) {
    if (answers.any())
      return fail(Code::output_exists, fmt::format("“{}” is a workshop already", folder.string()),
                  "change its files, or leave the answers out to have it remembered as it is");
    const auto catalogue = load_catalogue(folder);
    if (!catalogue) return catalogue.error();
    out.did = SetupReport::Did::found;
  } else {
    const std::string text = workshop_text(answers, out.notes);
    if (auto problem = check_answers(answers, text)) return *problem;
    if (auto problem = make_workshop(folder, answers, text, now)) return *problem;
    out.file = (folder / workshop_file).string();
    if (answers.cup)
      out.cup = grams_per_millilitre(answers.cup->mass.in_grams() / in_millilitres(answers.cup->volume));
  }
  if (auto problem = remember(folder, config)) {
    problem->hint =
        fmt::format("the workshop is there, but not remembered: name it with --workshop {}", folder.string());
    return *problem;
  }
  out.mix = house_mix(folder);
  return out;
}

Expected<std::optional<fs::path>> remembered_workshop(const fs::path& config) {
  auto written = written_workshop(config);
  if (!written || !*written) return written;
  std::error_code error;
  if (!fs::is_directory(**written, error))
    return fail(
        Code::config_missing,
        fmt::format("the workshop that is remembered, “{}”, is not there", (*written)->string()),
        "`pourwright setup FOLDER` remembers another, `pourwright setup --forget` none; --workshop none does "
        "without this once");
  return written;
}

Expected<SetupReport> forget_workshop(const fs::path& config) {
  SetupReport out;
  out.did = SetupReport::Did::forgotten;
  // What cannot be read is taken away all the same.
  if (const auto written = written_workshop(config); written && *written) out.folder = (*written)->string();
  std::error_code error;
  if (!config.empty()) fs::remove(config / config_name, error);
  if (error) return not_written(config / config_name, error);
  return out;
}

}  // namespace pourwright
