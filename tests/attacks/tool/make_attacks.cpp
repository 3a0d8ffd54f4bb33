// SPDX-License-Identifier: GPL-3.0-or-later
// Writes attack meshes and a manifest with their truth into a folder:
//   make_attacks FOLDER SEED COUNT [FAMILY]
#include "support/attack_meshes.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>

#include <nlohmann/json.hpp>

namespace {

nlohmann::json entry(const attacks::Case& c, const std::string& path, std::size_t bytes) {
  nlohmann::json truth{{"units", "mm"}};
  if (c.solid) truth["solid_volume_mm3"] = *c.solid;
  if (c.capacity) truth["total_capacity_mm3"] = *c.capacity;
  if (c.least_wall || c.median_wall) {
    truth["inspect"] = nlohmann::json::object();
    if (c.least_wall) truth["inspect"]["min_mm"] = *c.least_wall;
    if (c.median_wall) truth["inspect"]["median_mm"] = *c.median_wall;
  }
  const char* expect[] = {"answer", "refuse", "either"};
  nlohmann::json out{{"path", path},
                     {"bytes", bytes},
                     {"category", c.family},
                     {"truth", truth},
                     {"note", c.note},
                     {"options", c.options},
                     {"expect", expect[static_cast<std::size_t>(c.expect)]},
                     {"tolerance_rel", c.tolerance},
                     {"alternatives", nullptr}};
  if (!c.alternatives.empty()) out["alternatives"] = c.alternatives;
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4 || argc > 5) {
    std::cerr << "usage: make_attacks FOLDER SEED COUNT [FAMILY]\nfamilies:";
    for (const std::string& name : attacks::families()) std::cerr << ' ' << name;
    std::cerr << '\n';
    return 64;
  }
  const std::filesystem::path folder = argv[1];
  const std::string family = argc == 5 ? argv[4] : "";
  const auto& names = attacks::families();
  if (!family.empty() && std::find(names.begin(), names.end(), family) == names.end()) {
    std::cerr << "no such family: " << family << '\n';
    return 64;
  }
  nlohmann::json files = nlohmann::json::array();
  for (const attacks::Case& c :
       attacks::make_set(static_cast<std::uint32_t>(std::strtoul(argv[2], nullptr, 10)),
                         std::strtoul(argv[3], nullptr, 10), family)) {
    const std::string path = c.family + '/' + c.name + attacks::ending(c.form),
                      bytes = attacks::file_bytes(c);
    std::filesystem::create_directories(folder / c.family);
    std::ofstream(folder / path, std::ios::binary) << bytes;
    files.push_back(entry(c, path, bytes.size()));
  }
  std::ofstream(folder / "MANIFEST.json") << nlohmann::json{{"files", files}}.dump(1) << '\n';
  return 0;
}
