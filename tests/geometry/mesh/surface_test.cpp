// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/mesh.hpp>

#include "support/shapes.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

TEST_CASE("census of a clean box") {
  const Surface s = make_surface(box({0, 0, 0}, {1, 2, 3}));
  CHECK(s.census.triangles == 12);
  CHECK(s.census.shells == 1);
  CHECK(s.census.closed());
  CHECK(s.census.oriented());
  CHECK(s.census.edge_manifold());
  CHECK(s.box.size() == Vec3(1, 2, 3));
}

TEST_CASE("a missing, a flipped, a doubled and a degenerate face are counted") {
  TriangleSoup open = box({0, 0, 0}, {1, 1, 1});
  open.triangles.pop_back();
  CHECK(make_surface(open).census.boundary_edges == 3);
  CHECK_FALSE(make_surface(open).census.closed());

  TriangleSoup flipped = box({0, 0, 0}, {1, 1, 1});
  std::swap(flipped.triangles[5][0], flipped.triangles[5][1]);
  const Surface f = make_surface(flipped);
  CHECK(f.census.closed());
  CHECK(f.census.misoriented_edges == 3);

  TriangleSoup doubled = box({0, 0, 0}, {1, 1, 1});
  doubled.triangles.push_back(doubled.triangles[0]);
  const Surface d = make_surface(doubled);
  CHECK_FALSE(d.census.closed());
  CHECK(d.census.nonmanifold_edges == 3);

  TriangleSoup degenerate = box({0, 0, 0}, {1, 1, 1});
  degenerate.triangles.push_back({0, 0, 1});
  const Surface g = make_surface(degenerate);
  CHECK(g.census.degenerate == 1);
  CHECK(g.census.triangles == 13);
  CHECK(g.triangles.size() == 12);
  CHECK(g.census.closed());
}

TEST_CASE("shells are numbered by first triangle; two boxes sharing an edge are one") {
  const Surface s = make_surface(joined({box({0, 0, 0}, {1, 1, 1}), box({5, 0, 0}, {6, 1, 1})}));
  CHECK(s.census.shells == 2);
  CHECK(s.shell.front() == 0);
  CHECK(s.shell.back() == 1);
  Builder b;
  b.add(box({0, 0, 0}, {1, 1, 1}));
  b.add(box({1, 1, 0}, {2, 2, 1}));
  const Surface e = make_surface(b.take());
  CHECK(e.census.shells == 1);
  CHECK(e.census.nonmanifold_edges == 1);
  CHECK(e.census.closed());
  CHECK(e.census.oriented());
}

TEST_CASE("a fan of a thousand triangles round one vertex") {
  const Surface s = make_surface(revolve({{0, 0}, {10, 0}, {0, 5}}, 1000));
  CHECK(s.census.closed());
  CHECK(s.census.oriented());
  CHECK(s.census.triangles == 2000);
}
