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

TEST_CASE("a mesh far from the origin is moved to it for single precision, and stays for double") {
  const auto at = [](double far) {
    return shapes::moved(shapes::box({0, 0, 0}, {10, 20, 30}),
                         [far](const Vec3& p) { return Vec3(p + Vec3(far, 0, 0)); });
  };
  // Area over volume is 11/30: single precision loses far · 2⁻²⁴ · 11/30, against 10⁻⁵, which is at 458 mm.
  for (const auto& [far, moves] : {std::pair(340.0, false), std::pair(680.0, true), std::pair(3e6, true)}) {
    CAPTURE(far);
    const auto out = fitted_bytes(at(far), OutputFormat::stl);
    REQUIRE(out);
    CHECK(out->moved.isZero() == !moves);
    CHECK(out->moved == Vec3(out->moved.array().round()));
    const auto back =
        read_mesh_bytes(std::as_bytes(std::span(out->bytes.data(), out->bytes.size())), "a.stl");
    REQUIRE(back);
    const Surface s = make_surface(back->soup);
    CHECK(s.census.closed());
    CHECK(measure(s.vertices, s.triangles, s.box.centre()).volume == doctest::Approx(6000).epsilon(1e-6));
    for (const OutputFormat format : {OutputFormat::ply, OutputFormat::obj}) {
      const auto exact = fitted_bytes(at(far), format);
      REQUIRE(exact);
      CHECK(exact->moved.isZero());
      CHECK(exact->bytes == mesh_bytes(at(far), format));
    }
  }
}

TEST_CASE("no number is written that is not finite") {
  const TriangleSoup huge =
      shapes::moved(shapes::box({0, 0, 0}, {1, 1, 1}), [](const Vec3& p) { return Vec3(p * 1e39); });
  CHECK(fitted_bytes(huge, OutputFormat::stl).error().code == Code::coordinate_not_finite);
  CHECK(fitted_bytes(huge, OutputFormat::ply));
  for (const double bad : {std::nan(""), HUGE_VAL}) {
    TriangleSoup s = shapes::box({0, 0, 0}, {1, 1, 1});
    s.vertices[3].y() = bad;
    for (const OutputFormat format : {OutputFormat::stl, OutputFormat::ply, OutputFormat::obj})
      CHECK_FALSE(fitted_bytes(s, format));
  }
}
