// SPDX-License-Identifier: GPL-3.0-or-later
// Clean closed meshes for damage: closed forms, the demo molds, and the open mesh set where it is present.
#pragma once

#include <pourwright/intake.hpp>

#include "support/corruption.hpp"
#include "support/shapes.hpp"

#include <filesystem>
#include <string>
#include <vector>

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
    for (int k = 0; k < 24; ++k)
      p.push_back({30 + 10 * std::cos(2 * pi * k / 24), 10 * std::sin(2 * pi * k / 24)});
    return revolve(p, 48, true);
  }());
  add("hollow ball", joined({sphere(30, 40), turned(sphere(20, 32))}));
  add("two balls", joined({sphere(20, 32), sphere(15, 32, {60, 0, 0})}));
  add("terrain",
      terrain(36, 36, 2, -10, [](int i, int j) { return 3 * std::sin(i * 0.5) * std::cos(j * 0.4); }));
  add("boxes that overlap", joined({corruption::subdivided(box({0, 0, 0}, {40, 30, 20}), 500),
                                    corruption::subdivided(box({31, 11, 7}, {60, 41, 35}), 500)}));
  add("a pillar on a floor", joined({corruption::subdivided(box({-30, -30, 0}, {30, 30, 4}), 500),
                                     moved(revolve({{0, 0}, {9, 0}, {9, 20}, {0, 20}}, 40),
                                           [](const Vec3& p) { return Vec3(p + Vec3(3, 2, 4)); })}));
  const auto read = [&](const std::filesystem::path& path) {
    auto file = pourwright::read_mesh_file(path);
    if (!file || file->soup.triangles.size() > most_triangles) return;
    if (pourwright::make_surface(file->soup).census.closed())
      add(path.filename().string(), std::move(file->soup));
  };
  for (const auto& folder : {repository / "meshes", repository / "../shared/meshes/solids",
                             repository / "../shared/meshes/moulds"}) {
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
  bool few_deleted = false;  // at most 1 % of the faces
  void (*apply)(corruption::Vandal&, TriangleSoup&);
};

/// Two to four kinds of damage, each as strong as chance has it.
inline void combined(corruption::Vandal& v, TriangleSoup& s) {
  const auto kinds = 2 + v.index(3);
  for (std::size_t k = 0; k < kinds; ++k) switch (v.index(11)) {
      case 0:
        v.remove_scattered(s, v.uniform(0.001, 0.05));
        break;
      case 1:
        v.remove_patches(s, v.uniform(0.001, 0.03), 1 + static_cast<int>(v.index(5)));
        break;
      case 2:
        v.flip(s, v.uniform(0.01, 0.5));
        break;
      case 3:
        v.duplicate(s, v.uniform(0.01, 0.1));
        break;
      case 4:
        v.move_corners(s, v.uniform(0.01, 0.1), v.uniform(0.001, 0.05));
        break;
      case 5:
        v.make_t_junctions(s, v.uniform(0.01, 0.1));
        break;
      case 6:
        v.add_crumbs(s, 5 + static_cast<int>(v.index(30)));
        break;
      case 7:
        v.add_sheets(s, 1 + static_cast<int>(v.index(4)));
        break;
      case 8:
        v.flip_patch(s, v.uniform(0.01, 0.4));
        break;
      case 9:
        v.refine_patch(s, v.uniform(0.02, 0.2), v.uniform(0, 0.05));
        break;
      default:
        v.add_membranes(s, 1, v.uniform(0.002, 0.02));
        break;
    }
}

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
      {"the body twice", false,
       [](Vandal&, S& s) {
         s = shapes::joined({s, s});
       }},
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
      {"a side missing", false, [](Vandal& v, S& s) { v.remove_side(s); }},
      {"a finer patch with holes", false, [](Vandal& v, S& s) { v.refine_patch(s, 0.1, 0.02); }},
      {"chains of T-junctions", false,
       [](Vandal& v, S& s) {
         for (int k = 0; k < 3; ++k) v.make_t_junctions(s, 0.1);
       }},
      {"a flipped patch, holes", false,
       [](Vandal& v, S& s) {
         v.flip_patch(s, 0.2);
         v.remove_patches(s, 0.005, 3);
       }},
      {"2 membranes", false, [](Vandal& v, S& s) { v.add_membranes(s, 2, 0.01); }},
      {"on a table", false, [](Vandal& v, S& s) { v.add_table(s, 0.01); }},
      {"a copy 0.1 % off", false, [](Vandal& v, S& s) { v.add_copy(s, 1e-3); }},
      {"corners apart by rounding", false, [](Vandal& v, S& s) { v.unweld(s, 1e-6); }},
      {"noise of 0.02 %", false,
       [](Vandal& v, S& s) { v.shake(s, 2e-4 * pourwright::bounds(s).size().norm()); }},
      {"noise of 0.1 %, holes", false,
       [](Vandal& v, S& s) {
         v.shake(s, 1e-3 * pourwright::bounds(s).size().norm());
         v.remove_patches(s, 0.005, 3);
       }},
      {"combined at random", false, &combined},
  };
  return list;
}

/// Of the size, one standard deviation of a scan's noise.
inline double scan_noise(corruption::Vandal& v, const TriangleSoup& s, double low = 2e-4,
                         double high = 1e-3) {
  return v.uniform(low, high) * pourwright::bounds(s).size().norm();
}

/// Noise as scanners and scan programs leave it; a run of its own.
inline const std::vector<Damage>& noises() {
  using corruption::Vandal;
  using S = TriangleSoup;
  static constexpr auto nowhere = [](const pourwright::Vec3&) { return false; };
  static const std::vector<Damage> list{
      {"noise", false, [](Vandal& v, S& s) { v.fuse(s, scan_noise(v, s), 0, nowhere); }},
      {"noise, one side clean", false, [](Vandal& v, S& s) { v.shake_half(s, scan_noise(v, s)); }},
      {"noise over 1 edge", false, [](Vandal& v, S& s) { v.fuse(s, scan_noise(v, s), 1, nowhere); }},
      {"noise over 1.6 edges", false, [](Vandal& v, S& s) { v.fuse(s, scan_noise(v, s), 3, nowhere); }},
      {"noise over 2.6 edges", false, [](Vandal& v, S& s) { v.fuse(s, scan_noise(v, s), 8, nowhere); }},
      {"noise, clean base", false,
       [](Vandal& v, S& s) {
         const pourwright::Box box = pourwright::bounds(s);
         const double base = box.low.z() + 1e-3 * box.size().z();
         v.fuse(s, scan_noise(v, s), static_cast<int>(v.index(3)),
                [&](const pourwright::Vec3& p) { return p.z() < base; });
       }},
      {"noise, trimmed rim", false,
       [](Vandal& v, S& s) {
         const pourwright::Box box = pourwright::bounds(s);
         const double rim = box.high.z() - 1e-3 * box.size().z();
         v.fuse(s, scan_noise(v, s), static_cast<int>(v.index(3)),
                [&](const pourwright::Vec3& p) { return p.z() > rim; });
       }},
      {"noise, bites out of the rim", false,
       [](Vandal& v, S& s) {
         v.fuse(s, scan_noise(v, s), static_cast<int>(v.index(2)), nowhere);
         v.bite_rim(s, v.uniform(0.01, 0.03) * pourwright::bounds(s).size().norm(), 2);
       }},
      {"noise, holes", false,
       [](Vandal& v, S& s) {
         v.fuse(s, scan_noise(v, s), static_cast<int>(v.index(4)), nowhere);
         v.remove_patches(s, 0.005, 3);
       }},
  };
  return list;
}

}  // namespace known
