// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/intake.hpp>
#include <pourwright/mesh_output.hpp>
#include <pourwright/solid.hpp>

#include "support/shapes.hpp"

#include <span>

#include <doctest/doctest.h>

using namespace pourwright;

TEST_CASE("what is written is read back: exactly as PLY and OBJ, to 32 bits as STL") {
  const TriangleSoup mesh = shapes::moved(shapes::sphere(17.3, 24),
                                          [](const Vec3& p) { return Vec3(p + Vec3(1.0 / 3, 1e3, -7.7)); });
  const double volume = measure(mesh.vertices, mesh.triangles, Vec3(0, 1e3, 0)).volume;
  for (const auto& [format, name, tolerance] :
       {std::tuple{OutputFormat::stl, "a.stl", 1e-5}, std::tuple{OutputFormat::ply, "a.ply", 0.0},
        std::tuple{OutputFormat::obj, "a.OBJ", 0.0}}) {
    CHECK(*output_format(name) == format);
    const std::string bytes = mesh_bytes(mesh, format);
    const auto back = read_mesh_bytes(std::as_bytes(std::span(bytes.data(), bytes.size())), name);
    REQUIRE_MESSAGE(back.has_value(), (back ? std::string() : back.error().text));
    REQUIRE(back->soup.triangles.size() == mesh.triangles.size());
    CHECK(make_surface(back->soup).census.closed());
    const double again = measure(back->soup.vertices, back->soup.triangles, Vec3(0, 1e3, 0)).volume;
    CHECK(std::abs(again / volume - 1) <= (tolerance > 0 ? tolerance : 1e-15));
    if (tolerance == 0) {
      for (std::size_t t = 0; t < mesh.triangles.size(); ++t)
        for (std::size_t k = 0; k < 3; ++k)
          CHECK(back->soup.vertices[back->soup.triangles[t][k]] == mesh.vertices[mesh.triangles[t][k]]);
    }
  }
  CHECK_FALSE(output_format("a.txt").has_value());
  CHECK_FALSE(output_format("a").has_value());
}
