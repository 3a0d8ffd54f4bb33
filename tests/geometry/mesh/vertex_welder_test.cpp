// SPDX-License-Identifier: GPL-3.0-or-later
#include "geometry/mesh/vertex_welder.hpp"

#include <map>
#include <random>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

template <class Scalar>
void compare_with_map(std::size_t count, std::uint32_t values, std::size_t expected) {
  using Welder = VertexWelder<Scalar>;
  std::mt19937 random(42);
  std::vector<typename Welder::Point> points(count);
  for (auto& p : points)
    for (Scalar& x : p) x = static_cast<Scalar>(random() % values) / Scalar{8} - Scalar{1};
  Welder welder(expected);
  std::vector<Index> indices(count);
  for (std::size_t i = 0; i < count; i += Welder::batch)
    welder.add(&points[i], std::min(Welder::batch, count - i), &indices[i]);

  std::map<typename Welder::Point, Index> brute;
  for (std::size_t i = 0; i < count; ++i) {
    const auto [it, fresh] = brute.try_emplace(points[i], static_cast<Index>(brute.size()));
    REQUIRE(indices[i] == it->second);  // numbered by first use
  }
  CHECK(welder.size() == brute.size());
  const std::vector<Vec3> vertices = std::move(welder).take(2);
  for (const auto& [p, i] : brute) CHECK(vertices[i] == Vec3(p[0], p[1], p[2]) * 2);
}

}  // namespace

TEST_CASE("the welder agrees with an ordered map") {
  compare_with_map<float>(20'000, 20, 10);
  compare_with_map<float>(20'000, 1'000'000, 10);  // the table grows many times
  compare_with_map<double>(20'000, 20, 100'000);
  compare_with_map<double>(20'000, 1'000'000, 5'000);
  compare_with_map<double>(0, 1, 0);
}

TEST_CASE("nothing is merged by distance: neighbouring floats stay apart") {
  VertexWelder<float> welder(8);
  const float one = 1, next = std::nextafter(1.0f, 2.0f);
  const std::array<VertexWelder<float>::Point, 3> points{{{one, 0, 0}, {next, 0, 0}, {one, 0, 0}}};
  std::array<Index, 3> out{};
  welder.add(points.data(), points.size(), out.data());
  CHECK(out == std::array<Index, 3>{0, 1, 0});
}

TEST_CASE("minus zero is zero") {
  CHECK(std::bit_cast<std::uint32_t>(positive_zero(-0.0f)) == 0);
  CHECK(std::bit_cast<std::uint64_t>(positive_zero(-0.0)) == 0);
  CHECK(positive_zero(-1.5) == -1.5);
}

TEST_CASE("welding in place joins equal vertices, drops unused ones and keeps the order") {
  std::vector<Vec3> vertices{{9, 9, 9}, {0, 0, 0}, {1, 0, 0}, {-0.0, 0, -0.0},
                             {5, 5, 5}, {0, 1, 0}, {1, 0, 0}};
  std::vector<Triangle> triangles{{1, 2, 5}, {6, 3, 5}};
  weld_in_place(vertices, triangles);
  CHECK(vertices == std::vector<Vec3>{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}});
  CHECK(triangles == std::vector<Triangle>{{0, 1, 2}, {1, 0, 2}});

  std::vector<Vec3> lone{{-0.0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
  std::vector<Triangle> one{{2, 1, 0}};
  weld_in_place(lone, one);
  CHECK(one == std::vector<Triangle>{{2, 1, 0}});
  CHECK_FALSE(std::signbit(lone[0].x()));
  std::vector<Vec3> nothing{{1, 2, 3}};
  std::vector<Triangle> empty;
  weld_in_place(nothing, empty);
  CHECK(nothing.empty());
}

TEST_CASE("welding in place agrees with an ordered map") {
  std::mt19937 random(1);
  std::vector<Vec3> vertices(5000);
  for (Vec3& v : vertices)
    v = Vec3(static_cast<double>(random() % 12), static_cast<double>(random() % 12),
             static_cast<double>(random() % 12)) *
        0.1;
  std::vector<Triangle> triangles(3000);
  for (Triangle& t : triangles)
    for (Index& v : t) v = static_cast<Index>(random() % vertices.size());
  const auto before_vertices = vertices;
  const auto before_triangles = triangles;
  weld_in_place(vertices, triangles);
  for (std::size_t i = 0; i < triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k)
      CHECK(vertices[triangles[i][k]] == before_vertices[before_triangles[i][k]]);
  std::map<std::array<double, 3>, int> distinct;
  for (const Vec3& v : vertices) CHECK(++distinct[{v[0], v[1], v[2]}] == 1);
}

TEST_CASE("points made to collide cannot slow the table for long") {
  // Brute search for points whose hash falls on few slots of a small table under the first seed.
  std::vector<VertexWelder<float>::Point> points;
  for (std::uint32_t i = 0; points.size() < 4'000 && i < 100'000'000; ++i) {
    const VertexWelder<float>::Point p{static_cast<float>(i % 4096), static_cast<float>(i / 4096), 0};
    if ((weld::hash(p, 0xA0761D6478BD642Fu) & 0x3FFF) == 0) points.push_back(p);
  }
  REQUIRE(points.size() == 4'000);
  VertexWelder<float> welder(0);
  std::vector<Index> out(points.size());
  for (std::size_t i = 0; i < points.size(); i += 80) welder.add(&points[i], 80, &out[i]);
  for (std::size_t i = 0; i < points.size(); ++i) CHECK(out[i] == i);
}
