// SPDX-License-Identifier: GPL-3.0-or-later
// Look-ups in the list of mesh formats. It stands on the ground floor because both wings name files.
#include <pourwright/mesh_format.hpp>

#include <vector>

namespace pourwright {

// A format is the number of its row.
static_assert([] {
  for (std::size_t i = 0; i < mesh_formats.size(); ++i)
    if (static_cast<std::size_t>(mesh_formats[i].format) != i) return false;
  return true;
}());

const MeshFormatInfo& info_of(MeshFormat format) {
  return mesh_formats[static_cast<std::size_t>(format)];
}

std::string file_ending(std::string_view path) {
  const std::string_view name = path.substr(path.find_last_of('/') + 1);
  const std::size_t dot = name.find_last_of('.');
  if (dot == std::string_view::npos) return {};
  std::string ending(name.substr(dot));
  for (char& c : ending)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return ending;
}

MeshFormat promised_format(std::string_view ending) {
  for (const MeshFormatInfo& f : mesh_formats)
    if (!ending.empty() && f.ending == ending) return f.format;
  return MeshFormat::unknown;
}

std::string own_endings() {
  std::vector<std::string_view> endings;
  for (const MeshFormatInfo& f : mesh_formats)
    if (f.own && !f.ending.empty()) endings.push_back(f.ending);
  std::string out;
  for (std::size_t i = 0; i < endings.size(); ++i) {
    if (i > 0) out += i + 1 == endings.size() ? " or " : ", ";
    out += endings[i];
  }
  return out;
}

}  // namespace pourwright
