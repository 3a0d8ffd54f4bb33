// SPDX-License-Identifier: GPL-3.0-or-later
// The commands and options, each once: parsing, --help, completion and the list of options that a command
// does not take all read these tables. What is misspelt is refused with the nearest name; nothing is
// guessed.
#include "cli/options.hpp"

#include <pourwright/units.hpp>

#include <algorithm>
#include <array>
#include <filesystem>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

namespace pourwright::cli {
namespace {

constexpr std::string_view geometry = "card measure inspect mend run price";
constexpr std::string_view weighing =
    "card leftover records repeat measure inspect mend mix split learn run price";
constexpr std::string_view recipes = "card mix learn run price";

constexpr std::array options{
    OptionInfo{"ml", "VOLUME",
               "how much mix, by volume (250ml, 8floz); of learn cup and setup: what the cup holds",
               "mix learn setup"},
    OptionInfo{"grams", "MASS",
               "how much mix in all, by mass (640g, 1.2kg); of learn and setup: what was weighed",
               "mix split learn leftover repeat setup"},
    OptionInfo{"liquid", "MASS", "the liquid already in the cup (102g): everything follows from it",
               "mix card split repeat"},
    OptionInfo{"list", "", "the mixes that are known", "mix"},
    OptionInfo{"template", "", "a commented file to start your own workshop from (-o FILE)", "mix"},
    OptionInfo{"cup", "NAME=SHARE[,PIGMENT=DOSE]",
               "a cup of the split; one may leave out its share and takes the rest", "split"},
    OptionInfo{"technique", "solid|veins|side-by-side|layered",
               "how the cups get into the mold (default solid)", "split"},
    OptionInfo{"portions", "N", "layers in all, or drops of each vein", "split"},
    OptionInfo{"pour", "MASS", "what goes into the molds; the rest is left over", "split"},
    OptionInfo{"residue", "MASS", "what stays in every cup that is poured from (3g)", "split", weighing},
    OptionInfo{"record", "TITLE", "keep this batch as a sheet that can be found and repeated",
               "card mix split repeat"},
    OptionInfo{"dry", "TEXT", "how the batch of this sheet looked once dry", "records"},
    OptionInfo{"base", "COLOUR", "how the mix dries without pigment (#ece7db)", "blend"},
    OptionInfo{"swatch", "NAME=DOSE:COLOUR", "a dried piece with one pigment in it (Kelp=2%:#5f8a62)",
               "blend"},
    OptionInfo{"target", "COLOUR", "look for the doses that dry nearest to it", "blend"},
    OptionInfo{"pigment-step", "MASS", "step of the scale that weighs pigment (default 0.01g)", "split"},
    OptionInfo{"celsius", "T", "of the water that filled the mold (default 20)", "learn"},
    OptionInfo{"mixed", "MASS", "what was mixed for the pour", "learn"},
    OptionInfo{"left", "MASS", "what was left in the cups after it", "learn"},
    OptionInfo{"short", "", "the molds were not full", "learn"},
    OptionInfo{"defects", "TEXT", "what was wrong with the pieces", "learn"},
    OptionInfo{"note", "TEXT", "kept with the record", "learn"},
    OptionInfo{"lot", "NAME", "of the powder it was mixed from (default: the one opened last)", "learn"},
    OptionInfo{"believe", "", "it is right, however far from what was to be expected", "learn"},
    OptionInfo{"kind", "water|cup|pour|sheet|stock|lot", "only records of this kind", "learn"},
    OptionInfo{"cost", "MONEY", "what was paid for it (61.00, 61.00EUR)", "learn"},
    OptionInfo{"room", "T", "temperature of the room (17C, 63F): times follow it",
               "card inspect mix split repeat learn run", weighing},
    OptionInfo{"cup-weight", "MASS", "what the mixing cup weighs; cup and mix must not exceed the scale",
               "card mix split repeat", weighing},
    OptionInfo{"us", "", "ounces and fluid ounces beside grams and millilitres",
               "card mix split leftover repeat records"},
    OptionInfo{"cautions", "", "all cautions in full; a terminal shows them once a day",
               "card mix repeat run", weighing},
    OptionInfo{"cups", "N", "cups the batch is mixed in (default 1)", "card learn", weighing},
    OptionInfo{"risk", "PERCENT", "chance of running short that the batch leaves (1%)", "card learn",
               weighing},
    OptionInfo{"no-learned", "", "leave the workshop's records out of account", "card mix", weighing},
    OptionInfo{"material", "NAME", "which mix (default: the workshop's first choice)",
               "card inspect mix split leftover blend learn run price", weighing},
    OptionInfo{"ratio", "R", "powder per liquid by mass (3.2)", "card mix learn run price setup", weighing},
    OptionInfo{"liquid-name", "NAME", "what you call the liquid (default: acrylic liquid)", "setup"},
    OptionInfo{"powder-name", "NAME", "what you call the powder (default: mineral powder)", "setup"},
    OptionInfo{"scale", "STEP[ to MOST]",
               "a scale's step and what it carries (\"1 g to 5 kg\"); can be given again", "setup"},
    OptionInfo{"forget", "", "remember no workshop any more", "setup"},
    OptionInfo{"density", "D", "density of the poured mix in g/ml (1.82)",
               "card inspect mix leftover learn run price", weighing},
    OptionInfo{"allowance", "PERCENT", "a fixed share is added, instead of what the forecast asks for",
               recipes, weighing},
    OptionInfo{"pigment", "NAME=DOSE", "pigment as a share of the mix (Kelp=2%)", "card mix blend learn",
               "measure split"},
    OptionInfo{"scale-step", "MASS", "the step your scale reads (default 0.1g, or the workshop's scale)",
               "card mix split leftover repeat learn run price", weighing},
    OptionInfo{"copies", "N", "copies of every mold; FILE:N for one of them", "card run", geometry},
    OptionInfo{"fill", "LEVEL", "brim, -2mm (below the brim), 35mm (above the floor), 80% or 180ml",
               geometry},
    OptionInfo{"fill-table", "", "add a table of level, volume and free surface", "card measure"},
    OptionInfo{"fill-to", "brims|rim|1,3",
               "cavities each to its own brim, flooded to the outer rim, or only those with these numbers",
               geometry},
    OptionInfo{"dips", "", "list dips too small to be cavities too", "measure"},
    OptionInfo{"unit", "mm|cm|m|in|ft", "the unit of the file", geometry},
    OptionInfo{"read-as", "mold|piece|scan", "what the file shows (default: decided and said)", geometry},
    OptionInfo{"up", "AXIS", "which way is up: +x -x +y -y +z -z, X,Y,Z, rim or auto (default +z)", geometry},
    OptionInfo{"known", "x=118mm",
               "one known size, for a scan without scale: x, y, z, longest, capacity=186ml, or two points",
               geometry},
    OptionInfo{"tilt", "", "what a bench 0.5, 1 and 2 degrees off level costs, and the lean that frees air",
               "measure"},
    OptionInfo{"of", "piece|mold", "whose walls: the cast piece's (default) or the mold's own", "inspect"},
    OptionInfo{"min-wall", "LENGTH", "thinner than this is thin (default: the mix's, 3mm)", "inspect"},
    OptionInfo{"age", "TIME",
               "when the piece leaves the mold, from pouring (45min; default: the mix's demold time)",
               "inspect"},
    OptionInfo{"pull", "AXIS", "which way the piece is pulled (default: out of the opening)", "inspect"},
    OptionInfo{"stretch", "PERCENT", "what a flexible mold bears to be widened (default 50%)", "inspect"},
    OptionInfo{"fail-if", "LIMIT",
               "exit code 2 when it is so: 'wall<2mm', p05, median, thin>5%, stress>0.5MPa, risk>=watch, "
               "draft<1deg, "
               "undercut>10mm2, depth>0.5mm, trap>1ml, ceiling>5%; can be given again",
               "inspect"},
    OptionInfo{"only", "solid|cavities|all", "limit the work", "measure"},
    OptionInfo{"close-holes", "up-to SIZE|all|none",
               "holes to close; up-to 12mm closes those no wider (default: all but a scan's rim)", geometry},
    OptionInfo{"gap", "LENGTH",
               "join bodies that face each other across less than this (default 0.1mm; 0mm joins none)",
               geometry},
    OptionInfo{"max-uncertainty", "PERCENT", "refuse a volume less certain than this (10%)", geometry},
    OptionInfo{"quick", "", "leave out the proof that the surface does not overlap itself", geometry},
    OptionInfo{"more-formats", "", "read glTF, AMF, X3D and COLLADA too; for files you trust", geometry},
    OptionInfo{"workshop", "DIR|none",
               "folder with your own mixes, pigments and scales (*.toml); none: not even the one remembered",
               "card inspect mix split leftover records repeat blend learn run price doctor", weighing},
    OptionInfo{
        "pieces", "FILE.csv|N",
        "a table name,grams[,count] instead of molds; needs --mixer-max; of split and repeat: how many",
        "run split repeat"},
    OptionInfo{"mixer-max", "MASS", "most that one batch may weigh (2.4kg)", "run", "price"},
    OptionInfo{"png", "OUT", "write a picture of the mold; of several, a folder/ or {name}.png",
               "card measure inspect"},
    OptionInfo{"svg", "OUT", "a drawing that can be enlarged: the mold, of run the day plan",
               "card measure inspect run"},
    OptionInfo{"set", "NAME=VALUE", "what if: powder.price=1.30, labour=30, margin=45%; can be given again",
               "price"},
    OptionInfo{"csv", "OUT", "write a table for spreadsheets", "card inspect run price"},
    OptionInfo{"xlsx", "OUT", "write the list as a spreadsheet with live formulas", "price"},
    OptionInfo{"force", "", "replace an output file that exists", "card measure inspect run price mend mix"},
    OptionInfo{"output", "OUT",
               "the file to write (-o OUT): .stl, .ply or .obj; of mix --template the new file", "mend mix"},
    OptionInfo{"piece", "", "write the cast piece of each filled cavity instead of the mold", "mend"},
    OptionInfo{"without-air", "", "leave out of the piece what caught air keeps from filling", "mend"},
    OptionInfo{"cache", "DIR|none", "where measured molds are remembered", "card inspect run price",
               geometry},
    OptionInfo{"time-limit", "TIME", "most that one file may take (10min)", geometry},
    OptionInfo{"memory-limit", "SIZE", "most memory that one file may take (4GB)", geometry},
    OptionInfo{"jobs", "N", "files at once (-j N)", geometry, "*"},
    OptionInfo{"json", "", "one JSON document on standard output", "*"},
    OptionInfo{"quiet", "", "nothing but the result", "*"},
    OptionInfo{"colour", "auto|always|never", "colour on the terminal (also --color)", "*"},
    OptionInfo{"decimal", "point|comma", "decimal sign shown", "*"},
    OptionInfo{"strict", "", "a warning makes the exit code 1",
               "card measure inspect mend mix split blend learn run price"},
    OptionInfo{"help", "", "this text", "*"},
    OptionInfo{"version", "", "name, version and licence", "*"},
};

constexpr std::array commands{
    CommandInfo{"card", "FILE…", "what to weigh for one or several molds",
                "pourwright card bowl.stl\n"
                "pourwright tray.obj:4 knob.stl:12 --allowance 8%\n"
                "pourwright dish.ply --fill -2mm --ratio 3.0 --density 1.82\n"},
    CommandInfo{"measure", "FILE…", "the geometry only: volume, cavities, how sure",
                "pourwright measure bowl.stl\n"
                "pourwright measure molds/ --json\n"
                "pourwright measure box.stl --unit in --up -y\n"},
    CommandInfo{"inspect", "FILE…", "thin walls, what snaps at early demolding, draft and undercut",
                "pourwright inspect tray.obj\n"
                "pourwright inspect tray.obj --age 45min --room 17C\n"
                "pourwright inspect molds/ --fail-if 'wall<2mm' --fail-if 'risk>=high' --json\n"},
    CommandInfo{"mend", "FILE -o OUT", "write the mended mesh, or the cast piece",
                "pourwright mend scan.ply -o mended.ply\n"
                "pourwright mend bowl.stl --piece -o piece.stl\n"},
    CommandInfo{"mix", "", "a recipe from millilitres, grams, or the liquid already in the cup",
                "pourwright mix --liquid 102g\n"
                "pourwright mix --ml 250\n"
                "pourwright mix --grams 1.2kg --pigment Kelp=2% --room 17C\n"
                "pourwright mix --template -o workshop/mine.toml\n"},
    CommandInfo{
        "split", "[PLAN.toml]", "one mix over several cups by colour",
        "pourwright split --grams 640g --cup \"sea=60%,Kelp=2%\" --cup \"foam=40%,Chalk=1%\"\n"
        "pourwright split --grams 500 --cup vein=15%,Slate=3% --cup base\n"
        "pourwright split --liquid 102g --technique veins --cup base=85%,Chalk=1% --cup vein=15%,Slate=2%\n"
        "pourwright split plan.toml --record \"October dishes\"\n"},
    CommandInfo{"leftover", "[NAME…]", "which small molds take what is left of a batch",
                "pourwright leftover --grams 86g --workshop shop\n"
                "pourwright leftover \"daisy tray\" --grams 86g\n"},
    CommandInfo{"records", "[WHAT]", "batch sheets: all, or by number, day, or a word in them",
                "pourwright records\n"
                "pourwright records \"12 October\"\n"
                "pourwright records kelp\n"
                "pourwright records 14 --dry \"matte sage, a touch lighter than the swatch\"\n"},
    CommandInfo{"repeat", "WHAT", "an earlier batch once more, in another size",
                "pourwright repeat \"12 October\" --pieces 12\n"
                "pourwright repeat 14 --liquid 102g --record \"October dishes, again\"\n"},
    CommandInfo{
        "blend", "", "what colour a mix of pigments dries to, or the doses for a colour",
        "pourwright blend --base \"#ece7db\" --swatch \"Kelp=2%:#5f8a62\" --pigment Kelp=1%\n"
        "pourwright blend --base \"#ece7db\" --swatch \"Kelp=2%:#5f8a62\" --swatch \"Rust=2%:#a9583a\" "
        "--target \"#9a9468\"\n"},
    CommandInfo{"learn", "WHAT …", "record water fills, cups, pours and stock, and see what they teach",
                "pourwright learn water bowl.stl --grams 418.2g --celsius 18\n"
                "pourwright learn cup --ml 200 --grams 372g\n"
                "pourwright learn pour bowl.stl:4 --mixed 3200g --left 85g --room 17C\n"
                "pourwright learn lot B-2031\n"
                "pourwright learn bought \"mineral powder\" --grams 25kg --cost 61.00\n"
                "pourwright learn stock\n"
                "pourwright learn show bowl.stl\n"
                "pourwright learn list --kind pour\n"
                "pourwright learn withdraw 12 --note \"tare forgotten\"\n"
                "pourwright learn export csv > records.csv\n"
                "pourwright learn import records.csv\n"
                "pourwright learn check\n"},
    CommandInfo{"run", "FOLDER|RUN.toml", "a production run: batches, order of the day, shopping list",
                "pourwright run autumn.toml\n"
                "pourwright run autumn.toml --svg day.svg\n"
                "pourwright run molds/ --copies 4 --mixer-max 2.4kg\n"
                "pourwright run --pieces pieces.csv --mixer-max 2400g\n"},
    CommandInfo{"price", "FOLDER|RUN.toml", "the price list of a product line",
                "pourwright price autumn.toml\n"
                "pourwright price autumn.toml --set powder.price=1.30 --set margin=50%\n"},
    CommandInfo{"setup", "[FOLDER]", "a workshop of your own by five questions or options; it is remembered",
                "pourwright setup\n"
                "pourwright setup ~/casting --ratio 3.2 --scale \"1 g to 5 kg\" --scale \"0.01 g to 200 g\"\n"
                "pourwright setup ~/casting --ml 200 --grams 372g\n"
                "pourwright setup --forget\n"},
    CommandInfo{"explain", "CODE", "what an error or note code means and what to do",
                "pourwright explain not-closed\n"},
    CommandInfo{"doctor", "", "what this build can do, and whether a workshop's files and records are whole",
                "pourwright doctor\n"
                "pourwright doctor --workshop shop\n"},
    CommandInfo{"completion", "bash|zsh|fish", "a completion script for your shell",
                "pourwright completion bash > ~/.local/share/bash-completion/completions/pourwright\n"},
};

bool lists(std::string_view list, std::string_view command) {
  if (list == "*") return true;
  for (std::string_view rest = list; !rest.empty();) {
    const auto end = rest.find(' ');
    if (rest.substr(0, end) == command) return true;
    rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
  }
  return false;
}

bool takes(const OptionInfo& o, std::string_view command) {
  return lists(o.commands, command) || lists(o.also, command);
}

/// Whether the word after this one belongs to it.
bool wants_value(std::string_view word) {
  if (word == "-j") return true;
  return std::any_of(options.begin(), options.end(), [&](const OptionInfo& o) {
    return !o.value.empty() && word.starts_with("--") &&
           (word.substr(2) == o.name || (o.name == "colour" && word == "--color"));
  });
}

bool is_command(std::string_view word) {
  return std::any_of(commands.begin(), commands.end(), [&](const CommandInfo& c) { return c.name == word; });
}

std::vector<std::string> command_names() {
  std::vector<std::string> out;
  for (const CommandInfo& c : commands) out.emplace_back(c.name);
  return out;
}

/// The command may follow options: "--json -j 2 card x" is understood too. `unsure` is what to say when the
/// first word, taken for a mold, turns out to be none.
std::string take_command(std::vector<std::string>& words, std::optional<Problem>& unsure) {
  if (words.empty()) return std::string();
  std::size_t i = 0;
  while (i < words.size() && words[i].size() > 1 && words[i][0] == '-' && words[i] != "--")
    i += wants_value(words[i]) ? 2 : 1;
  if (i < words.size() && is_command(words[i])) {
    std::string command = words[i];
    words.erase(words.begin() + static_cast<std::ptrdiff_t>(i));
    return command;
  }
  const std::string& first = words[0];
  std::error_code ec;
  // A word that is no file but nearly a command was meant as one.
  if (!first.starts_with("-") && first.find_first_of("./\\: ") == std::string::npos &&
      !std::filesystem::exists(first, ec)) {
    const std::vector<std::string> names = command_names();
    const std::string_view near = nearest_name(first, names);
    unsure = fail(Code::usage, fmt::format("there is no command and no file “{}”", first),
                  near.empty() ? "see pourwright --help" : fmt::format("did you mean “{}”?", near));
    return "card";
  }
  return i >= words.size() ? "" : "card";  // options alone name no file
}

Problem unknown_option(std::string_view word, std::string_view command) {
  const std::string name(word.substr(0, word.find('=')));
  std::vector<std::string> names;
  std::string_view elsewhere;
  for (const OptionInfo& o : options) {
    if (takes(o, command))
      names.push_back("--" + std::string(o.name));
    else if (name == "--" + std::string(o.name))
      elsewhere = o.commands;
  }
  if (!elsewhere.empty())
    return fail(Code::usage, fmt::format("{} does not take {}", command, name),
                fmt::format("it belongs to: {}", elsewhere));
  const std::string_view near = nearest_name(name, names);
  return fail(Code::usage, fmt::format("{} has no option {}", command, name),
              near.empty() ? fmt::format("see pourwright {} --help", command)
                           : fmt::format("did you mean {}?", near));
}

}  // namespace

std::span<const OptionInfo> option_table() {
  return options;
}
std::span<const CommandInfo> command_table() {
  return commands;
}

std::optional<std::string> CommandLine::get(std::string_view name) const {
  const auto [first, last] = options.equal_range(name);
  if (first == last) return std::nullopt;
  return std::prev(last)->second;
}

std::vector<std::string> CommandLine::all(std::string_view name) const {
  std::vector<std::string> out;
  const auto [first, last] = options.equal_range(name);
  for (auto it = first; it != last; ++it) out.push_back(it->second);
  return out;
}

namespace {

/// "help", "help card" and "card help" are what --help says.
void take_help(std::vector<std::string>& words) {
  std::error_code error;
  if (words.empty() || words.size() > 2 || std::filesystem::exists("help", error)) return;
  if (words[0] == "help") {
    words.erase(words.begin());
    if (!words.empty() && !is_command(words[0])) return;  // refused, with the command that was meant
  } else if (words.size() == 2 && words[1] == "help" && is_command(words[0])) {
    words.pop_back();
  } else {
    return;
  }
  words.emplace_back("--help");
}

/// "--close-holes up-to 12mm": the one value that is two words.
void join_up_to(std::vector<std::string>& words) {
  for (std::size_t i = 0; i + 1 < words.size() && words[i] != "--"; ++i) {
    const bool apart = i > 0 && words[i - 1] == "--close-holes" && words[i] == "up-to";
    if (!apart && words[i] != "--close-holes=up-to") continue;
    words[i] += " " + words[i + 1];
    words.erase(words.begin() + static_cast<std::ptrdiff_t>(i) + 1);
  }
}

}  // namespace

Expected<CommandLine> parse_command_line(const std::vector<std::string>& given) {
  std::vector<std::string> words = given;
  take_help(words);
  join_up_to(words);
  CommandLine line;
  line.command = take_command(words, line.unsure);
  const std::string parsed_as = line.command.empty() ? "card" : line.command;

  CLI::App app;
  app.set_help_flag();
  app.allow_extras();
  std::map<std::string, std::vector<std::string>, std::less<>> values;
  std::map<std::string, bool, std::less<>> switches;
  for (const OptionInfo& o : options) {
    if (!takes(o, parsed_as)) continue;
    std::string names = "--" + std::string(o.name);
    if (o.name == "jobs") names = "-j," + names;
    if (o.name == "output") names = "-o," + names;
    if (o.name == "quiet") names = "-q," + names;
    if (o.name == "help") names = "-h," + names;
    if (o.name == "colour") names += ",--color";
    if (o.value.empty()) app.add_flag(names, switches[std::string(o.name)]);
    // One value for each time it is given: the parser must not swallow the file names that follow.
    else
      app.add_option(names, values[std::string(o.name)])
          ->allow_extra_args(false)
          ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  }
  std::vector<std::string> reversed(words.rbegin(), words.rend());
  try {
    app.parse(reversed);
  } catch (const CLI::ParseError& e) {
    return fail(Code::usage, std::string(e.what()), fmt::format("see pourwright {} --help", parsed_as));
  }
  bool options_ended = false;
  for (const std::string& extra : app.remaining()) {
    if (extra == "--" && !options_ended)
      options_ended = true;
    else if (!options_ended && extra.size() > 1 && extra[0] == '-')
      return line.unsure ? *line.unsure : unknown_option(extra, parsed_as);
    else
      line.arguments.push_back(extra);
  }
  for (const auto& [name, on] : switches)
    if (on) line.options.emplace(name, "");
  for (const auto& [name, list] : values)
    for (const std::string& v : list) line.options.emplace(name, v);
  return line;
}

namespace {

/// Text from `column` on, flowed to the width of a narrow terminal.
std::string flowed(std::string head, std::size_t column, std::string_view text) {
  constexpr std::size_t width = 80;
  const auto cells = [](std::string_view s) {  // code points; help has no wide or combining ones
    return static_cast<std::size_t>(
        std::count_if(s.begin(), s.end(), [](char c) { return (c & 0xC0) != 0x80; }));
  };
  std::string out, line = std::move(head);
  if (cells(line) + 1 > column) {
    out = line + "\n";
    line.clear();
  }
  line += std::string(column - cells(line), ' ');
  bool fresh = true;
  while (!text.empty()) {
    const std::size_t end = text.find(' ');
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    if (!fresh && cells(line) + 1 + cells(word) > width) {
      out += line + "\n";
      line = std::string(column, ' ');
      fresh = true;
    }
    if (!fresh) line += ' ';
    line += word;
    fresh = false;
  }
  return out + line + "\n";
}

}  // namespace

std::string help_text(std::string_view command) {
  std::string out;
  const auto named =
      std::find_if(commands.begin(), commands.end(), [&](const CommandInfo& c) { return c.name == command; });
  if (named == commands.end()) {
    out += "pourwright reads a casting mold as a 3D mesh and says what to weigh and pour.\n\n";
    out += "  pourwright bowl.stl                 the pour card of one mold\n";
    out += "  pourwright molds/ --copies 2        of every mold in a folder\n";
    out += "  pourwright mix --liquid 102g        the powder for the liquid in the cup\n\n";
    for (const CommandInfo& c : commands)
      out += flowed(fmt::format("  {:<11}{}", c.name, c.arguments), 29, c.help);
    out += "\npourwright COMMAND --help shows the options of a command.\nNothing is sent anywhere.\n";
    return out;
  }
  out += fmt::format("pourwright {}{}{}\n{}\n\n", named->name, named->arguments.empty() ? "" : " ",
                     named->arguments, named->help);
  for (std::string_view rest = named->examples; !rest.empty();) {
    const auto end = rest.find('\n');
    out += fmt::format("  {}\n", rest.substr(0, end));
    rest.remove_prefix(end + 1);
  }
  out += '\n';
  for (const OptionInfo& o : options) {
    if (!lists(o.commands, named->name)) continue;
    out += flowed(fmt::format("  --{}{}{}", o.name, o.value.empty() ? "" : " ", o.value), 32, o.help);
  }
  return out;
}

}  // namespace pourwright::cli
