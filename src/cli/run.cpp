// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/run.hpp"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>
#include <pourwright/pipeline.hpp>

#include "cli/completion.hpp"
#include "cli/exit_status.hpp"
#include "cli/options.hpp"

namespace pourwright::cli {
namespace {

class Program {
 public:
  Program(const CommandLine& line, const Surroundings& around) : line_(line), around_(around) {}

  Outcome run() {
    if (line_.has("version")) {
      out_.out = fmt::format("pourwright {}, GPL-3.0-or-later\n", POURWRIGHT_VERSION);
      return out_;
    }
    if (line_.has("help") || line_.command.empty()) {
      out_.out = help_text(line_.command);
      if (!line_.has("help")) out_.exit_code = usage_error;
      return out_;
    }
    if (auto problem = style()) return refuse(*problem);
    if (line_.command == "mix") return run_mix();
    if (line_.command == "split") return run_split();
    if (line_.command == "explain") return run_explain();
    if (line_.command == "doctor") return run_doctor();
    if (line_.command == "completion") return run_completion();
#ifdef POURWRIGHT_GEOMETRY
    if (line_.command == "measure") return run_measure();
    if (line_.command == "card") return run_card();
#endif
    return refuse(fail(Code::format_not_built, fmt::format("this build cannot {}: it was made without the geometry wing", line_.command),
                       "install the geometry libraries and build again; mix and split work"));
  }

  Outcome refuse(const Problem& p) {
    out_.exit_code = exit_status(p.code);
    out_.err += problem_text(p);
    return out_;
  }

 private:
  std::string problem_text(const Problem& p) const {
    std::string s = fmt::format("pourwright: {} [{}]\n", p.text, info(p.code).slug);
    if (!p.hint.empty()) s += fmt::format("  → {}\n", p.hint);
    return s;
  }

  std::optional<Problem> style() {
    const std::string colour = line_.get("colour").value_or("auto");
    if (colour != "auto" && colour != "always" && colour != "never")
      return fail(Code::usage, fmt::format("--colour takes auto, always or never, not “{}”", colour));
    const std::string decimal = line_.get("decimal").value_or(around_.comma ? "comma" : "point");
    if (decimal != "point" && decimal != "comma")
      return fail(Code::usage, fmt::format("--decimal takes point or comma, not “{}”", decimal));
    style_.width = std::clamp(around_.terminal_width, 60, 100);
    style_.unicode = around_.utf8;
    style_.decimal = decimal == "comma" ? ',' : '.';
    style_.colour = colour == "always" ||
                    (colour == "auto" && !around_.no_colour && (around_.force_colour || around_.output_is_terminal));
    return std::nullopt;
  }

  // ---- options to settings -------------------------------------------------------------------------------

  /// Parses one option when it was given; remembers the first problem.
  template <class T, class Parse>
  void read(std::string_view option, std::optional<T>& into, Parse parse) {
    const auto text = line_.get(option);
    if (!text || problem_) return;
    auto v = parse(*text);
    if (v) into = *v;
    else problem_ = Problem{v.error().code, fmt::format("--{}: {}", option, v.error().text), v.error().hint};
  }

  static Expected<PigmentDose> parse_dose(const std::string& text) {
    const auto equals = text.rfind('=');
    if (equals == std::string::npos || equals == 0)
      return fail(Code::bad_quantity, fmt::format("“{}” is not NAME=DOSE", text), "for example Kelp=2%");
    const auto dose = parse_percent(text.substr(equals + 1));
    if (!dose) return dose.error();
    return PigmentDose{text.substr(0, equals), *dose};
  }

  static Expected<int> parse_count(const std::string& text) {
    int n = 0;
    const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), n);
    if (ec != std::errc{} || end != text.data() + text.size() || n < 1 || n > 1'000'000)
      return fail(Code::bad_number, fmt::format("“{}” is not a count", text), "give a whole number from 1 up");
    return n;
  }

  static Expected<Point> parse_up(const std::string& text) {
    static constexpr std::string_view axes = "xyz";
    if (text.size() == 2 && (text[0] == '+' || text[0] == '-') && axes.find(text[1]) != std::string_view::npos) {
      Point p{0, 0, 0};
      p[axes.find(text[1])] = text[0] == '+' ? 1 : -1;
      return p;
    }
    if (text.size() == 1 && axes.find(text[0]) != std::string_view::npos) {
      Point p{0, 0, 0};
      p[axes.find(text[0])] = 1;
      return p;
    }
    Point p{0, 0, 0};
    std::string_view rest = text;
    for (std::size_t k = 0; k < 3; ++k) {
      const auto comma = rest.find(k < 2 ? ',' : '\0');
      const auto v = parse_number(rest.substr(0, comma));
      if (!v || (k < 2 && comma == std::string_view::npos))
        return fail(Code::bad_quantity, fmt::format("“{}” is not a direction", text), "use +z, -y or three numbers like 0,0,1");
      p[k] = *v;
      rest = comma == std::string_view::npos ? std::string_view() : rest.substr(comma + 1);
    }
    if (!(p[0] * p[0] + p[1] * p[1] + p[2] * p[2] > 1e-300))
      return fail(Code::bad_quantity, fmt::format("“{}” points nowhere", text), "use +z, -y or three numbers like 0,0,1");
    return p;
  }

  static auto one_of(std::vector<std::string> words) {
    return [words = std::move(words)](const std::string& text) -> Expected<std::string> {
      if (std::find(words.begin(), words.end(), text) != words.end()) return text;
      const std::string_view near = nearest_name(text, words);
      std::string all;
      for (const std::string& w : words) all += (all.empty() ? "" : ", ") + w;
      return fail(Code::usage, fmt::format("“{}” is not one of {}", text, all),
                  near.empty() ? std::string() : fmt::format("did you mean “{}”?", near));
    };
  }

  MixSettings mix_settings() {
    MixSettings s;
    s.workshop = line_.get("workshop").value_or("");
    s.material = line_.get("material").value_or("");
    read("ratio", s.ratio, [](const std::string& t) { return parse_ratio(t); });
    read("density", s.density, [](const std::string& t) { return parse_density(t); });
    read("allowance", s.allowance, [](const std::string& t) { return parse_percent(t); });
    read("scale-step", s.scale_step, [](const std::string& t) { return parse_mass(t); });
    for (const std::string& text : line_.all("pigment")) {
      const auto dose = parse_dose(text);
      if (dose) s.pigments.push_back(*dose);
      else if (!problem_) problem_ = dose.error();
    }
    return s;
  }

  MeasureSettings measure_settings() {
    MeasureSettings s;
    read("unit", s.unit, [](const std::string& t) { return parse_length_unit(t); });
    std::optional<std::string> as, only, fill_to;
    read("read-as", as, one_of({"mold", "piece", "scan"}));
    if (as) s.read_as = *as == "mold" ? ReadAs::mold : *as == "piece" ? ReadAs::piece : ReadAs::scan;
    read("only", only, one_of({"solid", "cavities", "all"}));
    if (only) s.only = *only == "solid" ? Only::solid : *only == "cavities" ? Only::cavities : Only::all;
    read("fill-to", fill_to, one_of({"brims", "rim"}));
    if (fill_to) s.fill_to = *fill_to;
    std::optional<Point> up;
    read("up", up, parse_up);
    if (up) s.up = *up;
    std::optional<int> jobs;
    read("jobs", jobs, parse_count);
    if (jobs) s.jobs = *jobs;
    s.fill = line_.get("fill").value_or("brim");
    s.quick = line_.has("quick");
    s.more_formats = line_.has("more-formats");
    return s;
  }

  // ---- commands ------------------------------------------------------------------------------------------

  Outcome run_mix() {
    if (line_.has("list")) return list_mixes();
    MixRequest request;
    read("ml", request.volume, [](const std::string& t) { return parse_volume(t); });
    read("grams", request.total, [](const std::string& t) { return parse_mass(t); });
    read("liquid", request.liquid, [](const std::string& t) { return parse_mass(t); });
    const MixSettings settings = mix_settings();
    if (problem_) return refuse(*problem_);
    if (!line_.arguments.empty()) return refuse(stray(line_.arguments[0]));
    const auto r = mix(request, settings);
    if (!r) return refuse(r.error());
    Recipe shown = r->recipe;
    shown.notes.insert(shown.notes.begin(), r->chosen.notes.begin(), r->chosen.notes.end());
    out_.out = line_.has("json") ? mix_json(shown) : mix_text(r->chosen.mix, shown, r->cautions, r->chosen.scale_step, style_);
    return out_;
  }

  Outcome list_mixes() {
    const auto catalogue = load_catalogue(line_.get("workshop").value_or(""));
    if (!catalogue) return refuse(catalogue.error());
    for (const Mix& m : catalogue->mixes)
      out_.out += fmt::format("{:<26}{:>6.6g} : 1  {:>5} g/ml  {}{}\n", m.name, m.ratio.value(),
                              fixed(in_grams_per_millilitre(m.density), 2), m.description,
                              m.key == catalogue->default_mix ? " (default)" : "");
    return out_;
  }

  static Problem stray(const std::string& word) {
    return fail(Code::usage, fmt::format("“{}” is not expected here", word), "quantities follow their option: --liquid 102g");
  }

  Expected<Cup> parse_cup(const std::string& text) const {
    Cup cup;
    std::string_view rest = text;
    for (bool first = true; !rest.empty() || first; first = false) {
      // A comma between digits is a decimal comma: "Kelp=1,5%".
      std::size_t comma = 0;
      for (; comma < rest.size(); ++comma) {
        const auto digit = [&](std::size_t i) { return i < rest.size() && rest[i] >= '0' && rest[i] <= '9'; };
        if (rest[comma] == ',' && !(comma > 0 && digit(comma - 1) && digit(comma + 1))) break;
      }
      const std::string piece(rest.substr(0, comma));
      rest = comma < rest.size() ? rest.substr(comma + 1) : std::string_view();
      if (first) {
        const auto equals = piece.rfind('=');
        cup.name = piece.substr(0, equals);
        if (cup.name.empty()) return fail(Code::usage, fmt::format("the cup “{}” has no name", text), "write NAME=SHARE, for example sea=60%");
        if (equals != std::string::npos) {
          const auto share = parse_percent(piece.substr(equals + 1));
          if (!share) return share.error();
          cup.share = *share;
        }
      } else {
        const auto dose = parse_dose(piece);
        if (!dose) return dose.error();
        cup.pigments.push_back(*dose);
      }
    }
    return cup;
  }

  Outcome run_split() {
    std::optional<Mass> total, pigment_step;
    read("grams", total, [](const std::string& t) { return parse_mass(t); });
    read("pigment-step", pigment_step, [](const std::string& t) { return parse_mass(t); });
    const MixSettings settings = mix_settings();
    if (problem_) return refuse(*problem_);
    if (!line_.arguments.empty()) return refuse(stray(line_.arguments[0]));
    if (!total) return refuse(fail(Code::usage, "say how much mix there is: --grams", "for example --grams 640g"));
    const auto chosen = choose_mix(settings);
    if (!chosen) return refuse(chosen.error());
    std::vector<Cup> cups;
    for (const std::string& text : line_.all("cup")) {
      const auto cup = parse_cup(text);
      if (!cup) return refuse(cup.error());
      cups.push_back(*cup);
    }
    SplitOptions options;
    options.scale_step = chosen->scale_step;
    if (pigment_step) options.pigment_step = *pigment_step;
    options.pigment_ceiling = chosen->mix.pigment_ceiling;
    const auto r = split_mix(*total, cups, options);
    if (!r) return refuse(r.error());
    out_.out = line_.has("json") ? split_json(*r) : split_text(*r, style_);
    return out_;
  }

#ifdef POURWRIGHT_GEOMETRY
  /// Exit code and messages of a batch: a single file's own code, 1 for some of several.
  void settle(std::size_t files, const std::vector<std::pair<std::string, Problem>>& failures, bool warned) {
    if (failures.size() == 1 && files == 1) out_.exit_code = exit_status(failures[0].second.code);
    else if (!failures.empty() || (warned && line_.has("strict"))) out_.exit_code = some_failed;
    if (line_.has("json") && !line_.has("quiet"))
      for (const auto& [path, p] : failures) out_.err += fmt::format("pourwright: {}: {} [{}]\n", path, p.text, info(p.code).slug);
  }

  Outcome run_measure() {
    const MeasureSettings settings = measure_settings();
    if (problem_) return refuse(*problem_);
    const auto files = files_given();
    if (!files) return refuse(files.error());
    const MeasureReport r = measure_files(*files, settings);
    out_.out = line_.has("json") ? measure_json(r) : measure_text(r, style_);
    std::vector<std::pair<std::string, Problem>> failures;
    bool warned = false;
    for (const MeasureRow& f : r.files) {
      if (f.error) failures.emplace_back(f.path, *f.error);
      warned |= std::any_of(f.notes.begin(), f.notes.end(), [](const Note& n) { return n.warning; });
    }
    settle(r.files.size(), failures, warned);
    return out_;
  }

  Outcome run_card() {
    CardSettings settings;
    settings.measure = measure_settings();
    settings.mix = mix_settings();
    std::optional<int> copies;
    read("copies", copies, parse_count);
    if (copies) settings.copies = *copies;
    if (problem_) return refuse(*problem_);
    const auto files = files_given();
    if (!files) return refuse(files.error());
    const auto r = pour_card(*files, settings);
    if (!r) return refuse(r.error());
    out_.out = line_.has("json") ? card_json(*r) : card_text(*r, style_);
    std::vector<std::pair<std::string, Problem>> failures;
    for (const auto& e : r->errors) failures.emplace_back(e.path, e.problem);
    bool warned = std::any_of(r->notes.begin(), r->notes.end(), [](const Note& n) { return n.warning; });
    for (const CardMold& m : r->molds) warned |= std::any_of(m.notes.begin(), m.notes.end(), [](const Note& n) { return n.warning; });
    settle(files->size(), failures, warned);
    return out_;
  }

  Expected<std::vector<FoundFile>> files_given() const {
    if (line_.arguments.empty())
      return fail(Code::usage, "no mold file was given", fmt::format("for example: pourwright {} bowl.stl", line_.command));
    return find_files(line_.arguments);
  }
#endif

  Outcome run_explain() {
    std::vector<std::string> slugs;
    for (const CodeInfo& c : all_codes()) slugs.emplace_back(c.slug);
    if (line_.arguments.empty()) {
      for (const CodeInfo& c : all_codes()) out_.out += fmt::format("{}\n", c.slug);
      return out_;
    }
    for (const CodeInfo& c : all_codes())
      if (c.slug == line_.arguments[0]) {
        out_.out = fmt::format("{}\n\n{}\n", c.slug, c.explain);
        return out_;
      }
    const std::string_view near = nearest_name(line_.arguments[0], slugs);
    return refuse(fail(Code::usage, fmt::format("there is no code “{}”", line_.arguments[0]),
                       near.empty() ? "pourwright explain lists them all" : fmt::format("did you mean “{}”?", near)));
  }

  Outcome run_doctor() {
#ifdef POURWRIGHT_GEOMETRY
    constexpr bool with_geometry = true;
#else
    constexpr bool with_geometry = false;
#endif
    out_.out = fmt::format("pourwright {}\ngeometry wing   {}\nmesh formats    {}\n", POURWRIGHT_VERSION,
                           with_geometry ? "built in" : "left out", with_geometry ? "stl obj ply off 3mf" : "none");
    const auto catalogue = load_catalogue(line_.get("workshop").value_or(""));
    if (!catalogue) return refuse(catalogue.error());
    out_.out += fmt::format("mixes           {}\n", catalogue->mixes.size());
    return out_;
  }

  Outcome run_completion() {
    const auto script = completion_script(line_.arguments.empty() ? "" : line_.arguments[0]);
    if (!script) return refuse(script.error());
    out_.out = *script;
    return out_;
  }

  const CommandLine& line_;
  const Surroundings& around_;
  TextStyle style_;
  std::optional<Problem> problem_;
  Outcome out_;
};

}  // namespace

Outcome run(const std::vector<std::string>& words, const Surroundings& around) {
  const auto line = parse_command_line(words);
  if (!line) return Program(CommandLine{}, around).refuse(line.error());
  return Program(*line, around).run();
}

}  // namespace pourwright::cli
