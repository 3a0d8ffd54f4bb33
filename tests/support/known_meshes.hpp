// SPDX-License-Identifier: GPL-3.0-or-later
// Clean closed meshes for damage: closed forms, the demo molds, and the open mesh set where it is present.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <pourwright/intake.hpp>

#include "support/corruption.hpp"
#include "support/shapes.hpp"

namespace known {

using pourwright::TriangleSoup;

struct Mesh {
  std::string name;
  pourwright::TriangleSoup soup;
};

inline std::vector<Mesh> meshes(const std::filesystem::path& repository, std::size_t most_triangles = 13000) {
  using namespace shapes;
  std::vector<Mesh> out;
  const auto add = [&](std::string name, TriangleSoup s) {
    out.push_back({std::move(name), corruption::subdivided(std::move(s), 2000)});
  };
  add("sphere", sphere(30, 48));
  add("box", box({0, 0, 0}, {40, 30, 20}));
  add("flat box", box({0, 0, 0}, {80, 60, 6}));
  add("cylinder", revolve({{0, 0}, {20, 0}, {20, 50}, {0, 50}}, 64));
  add("cone", revolve({{0, 0}, {25, 0}, {0, 60}}, 48));
  add("cup", revolve({{0, 0}, {25, 0}, {25, 40}, {21, 40}, {21, 4}, {0, 4}}, 64));
  add("bowl", [] {
    std::vector<Station> p{{0, 0}, {30, 0}, {44, 30}};
    for (const Station& s : arc(40, 0, 44, -0.36, -pi / 2, 14)) p.push_back(s);
    p.back().r = 0;
    return revolve(p, 48);
  }());
  add("ring", revolve({{20, 0}, {35, 0}, {35, 12}, {20, 12}}, 56, true));
  add("torus", [] {
    std::vector<Station> p;
    for (int k = 0; k < 24; ++k) p.push_back({30 + 10 * std::cos(2 * pi * k / 24), 10 * std::sin(2 * pi * k / 24)});
    return revolve(p, 48, true);
  }());
  add("hollow ball", joined({sphere(30, 40), turned(sphere(20, 32))}));
  add("two balls", joined({sphere(20, 32), sphere(15, 32, {60, 0, 0})}));
  add("terrain", terrain(36, 36, 2, -10, [](int i, int j) { return 3 * std::sin(i * 0.5) * std::cos(j * 0.4); }));
  const auto read = [&](const std::filesystem::path& path) {
    auto file = pourwright::read_mesh_file(path);
    if (!file || file->soup.triangles.size() > most_triangles) return;
    if (pourwright::make_surface(file->soup).census.closed()) add(path.filename().string(), std::move(file->soup));
  };
  for (const auto& folder : {repository / "meshes", repository / "../shared/meshes/solids", repository / "../shared/meshes/moulds"}) {
    std::error_code missing;
    std::vector<std::filesystem::path> files;
    for (const auto& e : std::filesystem::directory_iterator(folder, missing))
      if (pourwright::looks_like_mesh_name(e.path())) files.push_back(e.path());
    std::sort(files.begin(), files.end());
    for (const auto& f : files) read(f);
  }
  return out;
}

struct Damage {
  std::string name;
  bool few_deleted = false;   // at most 1 % of the faces
  void (*apply)(corruption::Vandal&, TriangleSoup&);
};

inline const std::vector<Damage>& damages() {
  using corruption::Vandal;
  using S = TriangleSoup;
  static const std::vector<Damage> list{
      {"0.1 % scattered", true, [](Vandal& v, S& s) { v.remove_scattered(s, 0.001); }},
      {"1 % scattered", true, [](Vandal& v, S& s) { v.remove_scattered(s, 0.01); }},
      {"5 % scattered", false, [](Vandal& v, S& s) { v.remove_scattered(s, 0.05); }},
      {"0.1 % in a patch", true, [](Vandal& v, S& s) { v.remove_patches(s, 0.001, 1); }},
      {"1 % in four patches", true, [](Vandal& v, S& s) { v.remove_patches(s, 0.01, 4); }},
      {"1 % in a patch", true, [](Vandal& v, S& s) { v.remove_patches(s, 0.01, 1); }},
      {"5 % in two patches", false, [](Vandal& v, S& s) { v.remove_patches(s, 0.05, 2); }},
      {"1 % flipped", false, [](Vandal& v, S& s) { v.flip(s, 0.01); }},
      {"20 % flipped", false, [](Vandal& v, S& s) { v.flip(s, 0.2); }},
      {"50 % flipped", false, [](Vandal& v, S& s) { v.flip(s, 0.5); }},
      {"4 % doubled", false, [](Vandal& v, S& s) { v.duplicate(s, 0.04); }},
      {"5 % corners off by 1 %", false, [](Vandal& v, S& s) { v.move_corners(s, 0.05, 0.01); }},
      {"20 % corners off by 5 %", false, [](Vandal& v, S& s) { v.move_corners(s, 0.2, 0.05); }},
      {"5 % T-junctions", false, [](Vandal& v, S& s) { v.make_t_junctions(s, 0.05); }},
      {"20 crumbs", false, [](Vandal& v, S& s) { v.add_crumbs(s, 20); }},
      {"3 sheets", false, [](Vandal& v, S& s) { v.add_sheets(s, 3); }},
      {"the body twice", false, [](Vandal&, S& s) { s = shapes::joined({s, s}); }},
      {"scan", false,
       [](Vandal& v, S& s) {
         v.remove_scattered(s, 0.005);
         v.remove_patches(s, 0.01, 3);
         v.flip(s, 0.05);
         v.duplicate(s, 0.02);
         v.add_crumbs(s, 10);
       }},
      {"everything", false,
       [](Vandal& v, S& s) {
         v.remove_scattered(s, 0.01);
         v.flip(s, 0.05);
         v.duplicate(s, 0.02);
         v.make_t_junctions(s, 0.02);
         v.move_corners(s, 0.02, 0.01);
         v.add_crumbs(s, 10);
         v.add_sheets(s, 1);
       }},
  };
  return list;
}

}  // namespace known
