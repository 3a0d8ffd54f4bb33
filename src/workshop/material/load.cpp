// SPDX-License-Identifier: GPL-3.0-or-later
// The workshop folder on top of the built-in catalogue, and looking things up.
#include <pourwright/file_content.hpp>
#include <pourwright/material.hpp>

#include <algorithm>
#include <fstream>
#include <system_error>

#include <fmt/format.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t largest_file = 1 << 20;

Expected<std::vector<fs::path>> catalogue_files(const fs::path& folder) {
  std::error_code error;
  if (fs::is_regular_file(folder, error)) return std::vector<fs::path>{folder};
  std::vector<fs::path> files;
  const auto end = fs::directory_iterator();
  auto it = fs::directory_iterator(folder, error);
  for (; !error && it != end; it.increment(error))
    if (it->path().extension() == ".toml") files.push_back(it->path());
  if (error)
    return fail(
        Code::config_missing,
        fmt::format("the workshop folder “{}” cannot be opened: {}", folder.string(), error.message()),
        "check the path, or leave --workshop out to use the built-in mixes");
  std::sort(files.begin(), files.end());
  return files;
}

Expected<std::string> file_text(const fs::path& path) {
  std::error_code error;
  const auto unreadable = [&](std::string_view why) {
    return fail(Code::file_unreadable, fmt::format("“{}” cannot be read: {}", path.string(), why),
                "correct it, or move it out of the workshop folder");
  };
  if (!fs::is_regular_file(path, error)) return unreadable("it is not a regular file");
  const auto size = fs::file_size(path, error);
  if (error) return unreadable(error.message());
  if (size > largest_file) return unreadable("a catalogue of more than 1 MB is refused");
  std::string text(static_cast<std::size_t>(size), '\0');
  std::ifstream in(path, std::ios::binary);
  if (!in.read(text.data(), static_cast<std::streamsize>(size)))
    return unreadable("the disk did not give it");
  if (const std::string_view content = content_name(text, size); !content.empty())
    return fail(Code::config_syntax, fmt::format("“{}” is {}, not a TOML file", path.string(), content),
                content_hint(content, "the workshop's .toml file"));
  return text;
}

enum class FileOf : std::uint8_t { nothing, catalogue, order };

/// What a TOML file is about, by its headings; it may have mistakes elsewhere. Run files and colour plans may
/// lie in the same folder.
FileOf about(std::string_view text) {
  FileOf seen = FileOf::nothing;
  for (std::string_view rest = text; !rest.empty();) {
    const std::size_t end = rest.find('\n');
    std::string_view line = rest.substr(0, end);
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
    while (!line.empty() && (line.front() == ' ' || line.front() == '\t')) line.remove_prefix(1);
    for (const std::string_view head : {"[[piece]]", "[[mold]]", "[[step]]"})
      if (line.starts_with(head)) return FileOf::order;
    for (const std::string_view head :
         {"default-mix", "[workshop]", "[[mix]]", "[[pigment]]", "[[scale]]", "[[leftover]]", "[handling]"})
      if (line.starts_with(head)) seen = FileOf::catalogue;
  }
  return seen;
}

const std::string& identity(const SupplyPrice& supply) {
  return supply.name;
}
template <class T>
const std::string& identity(const T& item) {
  return item.key;
}

template <class T>
void overlay(std::vector<T>& base, std::vector<T> top) {
  for (T& item : top) {
    const auto same = [&](const T& other) { return identity(other) == identity(item); };
    const auto it = std::find_if(base.begin(), base.end(), same);
    if (it == base.end())
      base.push_back(std::move(item));
    else
      *it = std::move(item);
  }
}

/// Letters and digits in lower case; a point or comma only between digits, where it makes another number.
std::string plain(std::string_view s) {
  const auto digit = [&](std::size_t i) { return i < s.size() && s[i] >= '0' && s[i] <= '9'; };
  std::string out;
  for (std::size_t i = 0; i < s.size(); ++i) {
    const char c = s[i];
    if (c >= 'A' && c <= 'Z')
      out.push_back(static_cast<char>(c - 'A' + 'a'));
    else if ((c >= 'a' && c <= 'z') || digit(i) || static_cast<unsigned char>(c) >= 0x80)
      out.push_back(c);
    else if ((c == '.' || c == ',') && i > 0 && digit(i - 1) && digit(i + 1))
      out.push_back('.');
  }
  return out;
}

}  // namespace

bool is_workshop(const fs::path& folder) {
  std::error_code error;
  if (!fs::is_directory(folder, error)) return false;
  const auto files = catalogue_files(folder);
  return files && std::any_of(files->begin(), files->end(), [](const fs::path& path) {
           const auto text = file_text(path);
           return text && about(*text) == FileOf::catalogue;
         });
}

Expected<Catalogue> load_catalogue(const fs::path& folder) {
  Catalogue catalogue = built_in_catalogue();
  if (folder.empty()) return catalogue;
  const auto files = catalogue_files(folder);
  if (!files) return files.error();
  std::string default_from;
  for (const fs::path& path : *files) {
    const auto text = file_text(path);
    if (!text) return text.error();
    if (about(*text) == FileOf::order) continue;
    auto layer = parse_catalogue(*text, path.string());
    if (!layer) return layer.error();
    overlay(catalogue.mixes, std::move(layer->mixes));
    overlay(catalogue.pigments, std::move(layer->pigments));
    overlay(catalogue.scales, std::move(layer->scales));
    if (layer->handling) catalogue.handling = layer->handling;
    overlay(catalogue.leftovers, std::move(layer->leftovers));
    overlay(catalogue.supplies, std::move(layer->supplies));
    if (layer->habits) catalogue.habits = layer->habits;
    if (layer->default_mix.empty()) continue;
    catalogue.default_mix = layer->default_mix;
    default_from = path.string();
  }
  const auto standard = find_mix(catalogue, catalogue.default_mix);
  if (!standard)
    return fail(Code::config_bad_value,
                fmt::format("{}: default-mix: {}", default_from, standard.error().text),
                standard.error().hint);
  catalogue.default_mix = standard->key;
  return catalogue;
}

Expected<Mix> find_mix(const Catalogue& catalogue, std::string_view name) {
  const std::string wanted = plain(name);
  std::vector<std::string> known;
  for (const Mix& mix : catalogue.mixes)
    if (mix.key == name) return mix;
  for (const Mix& mix : catalogue.mixes) {
    if (!wanted.empty() && (plain(mix.key) == wanted || plain(mix.name) == wanted)) return mix;
    known.push_back(mix.key);
    known.push_back(mix.name);
  }
  const std::string_view nearest = nearest_name(name, known);
  return fail(Code::unknown_name, fmt::format("there is no mix called “{}”", name),
              nearest.empty() ? "`pourwright mix --list` shows the mixes that are known"
                              : fmt::format("did you mean “{}”?", nearest));
}

const Pigment* find_pigment(const Catalogue& catalogue, std::string_view name) {
  const std::string wanted = plain(name);
  for (const Pigment& p : catalogue.pigments)
    if (p.key == name || (!wanted.empty() && (plain(p.key) == wanted || plain(p.name) == wanted))) return &p;
  return nullptr;
}

}  // namespace pourwright
