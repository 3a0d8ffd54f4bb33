// SPDX-License-Identifier: GPL-3.0-or-later
// From what people type or drop to files.
#include <pourwright/intake.hpp>
#include <pourwright/pipeline.hpp>

#include <algorithm>
#include <charconv>
#include <system_error>

#include <fmt/format.h>

namespace pourwright {
namespace {

namespace fs = std::filesystem;

bool exists(const std::string& name) {
  std::error_code ec;
  return !name.empty() && fs::exists(fs::path(name), ec);
}

std::string percent_decoded(std::string_view s) {
  std::string out;
  for (std::size_t i = 0; i < s.size(); ++i) {
    unsigned value = 0;
    if (s[i] == '%' && i + 2 < s.size() &&
        std::from_chars(s.data() + i + 1, s.data() + i + 3, value, 16).ptr == s.data() + i + 3) {
      out.push_back(static_cast<char>(value));
      i += 2;
    } else {
      out.push_back(s[i]);
    }
  }
  return out;
}

std::string without_trailing_blanks(std::string s) {
  while (!s.empty() && (s.back() == ' ' || s.back() == '\n' || s.back() == '\r' || s.back() == '\t'))
    s.pop_back();
  return s;
}

/// The name as it stands first; then without what terminals and file managers add when a file is dropped on
/// them.
std::string understood(const std::string& given) {
  if (exists(given)) return given;
  std::string s = without_trailing_blanks(given);
  if (exists(s)) return s;
  if (s.size() >= 2 && s.front() == s.back() && (s.front() == '\'' || s.front() == '"'))
    s = s.substr(1, s.size() - 2);
  if (exists(s)) return s;
  if (s.starts_with("file://")) {
    std::string path = percent_decoded(std::string_view(s).substr(7));
    if (path.starts_with("localhost/")) path.erase(0, 9);
    if (exists(path)) return path;
  }
  std::string unescaped;
  for (std::size_t i = 0; i < s.size(); ++i)
    if (s[i] != '\\' || i + 1 == s.size())
      unescaped.push_back(s[i]);
    else
      unescaped.push_back(s[++i]);
  if (exists(unescaped)) return unescaped;
  return given;
}

Problem missing(const std::string& given) {
  const fs::path path(given);
  std::vector<std::string> neighbours;
  std::error_code ec;
  const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
  for (fs::directory_iterator it(folder, ec), end; !ec && it != end && neighbours.size() < 1000;
       it.increment(ec))
    neighbours.push_back(it->path().filename().string());
  const std::string_view near = nearest_name(path.filename().string(), neighbours);
  return fail(Code::file_missing, fmt::format("there is no file or folder “{}”", given),
              near.empty() ? "check the name and the folder" : fmt::format("did you mean “{}”?", near));
}

Expected<std::vector<fs::path>> walk(const fs::path& folder) {
  std::vector<fs::path> out;
  std::error_code ec;
  fs::recursive_directory_iterator it(folder, fs::directory_options::skip_permission_denied, ec), end;
  if (ec)
    return fail(Code::file_unreadable, fmt::format("the folder “{}” cannot be opened", folder.string()),
                ec.message());
  for (; it != end; it.increment(ec)) {
    if (ec) break;
    const bool hidden = it->path().filename().string().starts_with(".");
    if (it->is_directory(ec)) {
      if (hidden) it.disable_recursion_pending();
    } else if (!hidden && looks_like_mesh_name(it->path())) {
      out.push_back(it->path());
    }
  }
  std::sort(out.begin(), out.end());
  if (out.empty())
    return fail(Code::nothing_found, fmt::format("the folder “{}” holds no mesh file", folder.string()),
                "meshes end in " + own_endings());
  return out;
}

}  // namespace

std::vector<FoundFile> find_files(const std::vector<std::string>& arguments) {
  std::vector<FoundFile> out;
  for (const std::string& argument : arguments) {
    std::string name = understood(argument);
    int copies = 0;
    if (!exists(name)) {
      // "mold.stl:4" asks for four copies.
      const std::string said = without_trailing_blanks(argument);
      const auto colon = said.rfind(':');
      if (colon != std::string::npos && colon + 1 < said.size()) {
        const char* const last = said.data() + said.size();
        const auto [end, ec] = std::from_chars(said.data() + colon + 1, last, copies);
        const std::string bare = understood(said.substr(0, colon));
        if (ec == std::errc{} && end == last && copies > 0 && exists(bare))
          name = bare;
        else
          copies = 0;
      }
    }
    std::error_code ec;
    if (!exists(name)) {
      out.push_back({argument, 0, missing(argument)});
    } else if (fs::is_directory(name, ec)) {
      const auto found = walk(name);
      if (!found)
        out.push_back({name, 0, found.error()});
      else
        for (const fs::path& p : *found) out.push_back({p, copies});
    } else {
      out.push_back({name, copies});
    }
  }
  return out;
}

}  // namespace pourwright
