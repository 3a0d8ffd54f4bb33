// SPDX-License-Identifier: GPL-3.0-or-later
// A folder of molds, no two alike: pw_molds FOLDER COUNT TRIANGLES
#include "shapes.hpp"

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>

int main(int argc, char** argv) {
  if (argc != 4) return 64;
  const std::filesystem::path folder = argv[1];
  const unsigned long count = std::strtoul(argv[2], nullptr, 10);
  const bench::Mesh bowl = bench::make("bowl", std::strtoul(argv[3], nullptr, 10));
  for (unsigned long i = 0; i < count; ++i) {
    bench::Mesh mold = bowl;
    // From 60 to 140 % in width, and in height at another pace.
    const float wide = 0.6F + 0.8F * static_cast<float>(i % 101) / 101,
                high = 0.6F + 0.8F * static_cast<float>(i * 7 % 1009) / 1009;
    for (auto& v : mold.vertices) v = {v[0] * wide, v[1] * wide, v[2] * high};
    const std::filesystem::path place = folder / std::to_string(i / 100);
    std::filesystem::create_directories(place);
    const std::string name = std::to_string(i + 10'000).substr(1) + ".stl";
    if (!bench::write(mold, (place / ("mold" + name)).string())) {
      std::fprintf(stderr, "pw_molds: cannot write mold%s\n", name.c_str());
      return 1;
    }
  }
  return 0;
}
