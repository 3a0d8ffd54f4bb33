// SPDX-License-Identifier: GPL-3.0-or-later
// What is a solid and what is refused, with the place and the reason.
#include <pourwright/solid.hpp>

#include "support/solid_bodies.hpp"
#include "support/solids.hpp"
#include "support/voxels.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

TriangleSoup welded(const std::vector<TriangleSoup>& parts) {
  Builder b;
  for (const TriangleSoup& s : parts) b.add(s);
  return b.take();
}

bool has_note(const SolidResult& r, std::string_view code, bool warning) {
  for (const Note& n : r.notes)
    if (n.code == code) return n.warning == warning;
  return false;
}

Problem refused(const TriangleSoup& s) {
  auto r = prove_solid(make_surface(s));
  REQUIRE_FALSE(r.has_value());
  CHECK(!r.error().hint.empty());
  return r.error();
}

bool mentions(const Problem& p, std::string_view words) {
  return p.text.find(words) != std::string::npos;
}

/// Does everything that does not depend on numbering stay the same?
void check_volume_in_any_order(const TriangleSoup& s, double volume) {
  for (std::uint32_t seed = 0; seed < 8; ++seed) {
    CAPTURE(seed);
    CHECK(volume_of(solid_of(seed == 0 ? s : renumbered(s, seed))) == doctest::Approx(volume).epsilon(1e-13));
  }
}

const TriangleSoup unit = box({0, 0, 0}, {1, 1, 1});

}  // namespace

TEST_CASE("an inverted file is turned and said to be") {
  const SolidResult r = proven(turned(box({0, 0, 0}, {1, 2, 3})));
  CHECK(volume_of(r.solid) == doctest::Approx(6).epsilon(1e-15));
  CHECK(has_note(r, "inverted", false));
  CHECK(r.solid.shells()[0].turned);
  const Vec3 n = [&] {
    const Triangle t = r.solid.triangles()[0];
    const auto& v = r.solid.vertices();
    return Vec3((v[t[1]] - v[t[0]]).cross(v[t[2]] - v[t[0]]).dot(v[t[0]] - Vec3(0.5, 1, 1.5)) *
                Vec3::UnitX());
  }();
  CHECK(n.x() > 0);  // outward now
  CHECK(proven(unit).notes.empty());
}

TEST_CASE("one inverted body among several") {
  const SolidResult r = proven(joined({unit, turned(box({3, 0, 0}, {5, 2, 2})), box({8, 0, 0}, {9, 1, 1})}));
  CHECK(volume_of(r.solid) == doctest::Approx(10).epsilon(1e-14));
  CHECK(has_note(r, "inverted", false));
  CHECK_FALSE(r.solid.shells()[0].turned);
  CHECK(r.solid.shells()[1].turned);
}

TEST_CASE("a hollow is taken off, also when the whole file is inverted, also with a body inside it") {
  const TriangleSoup outer = box({0, 0, 0}, {10, 10, 10}), hollow = turned(box({2, 2, 2}, {8, 8, 8})),
                     core = box({4, 4, 4}, {6, 6, 6});
  for (const bool inverted : {false, true}) {
    const TriangleSoup s = joined({outer, hollow}), c = joined({core, hollow, outer});
    const SolidResult r = proven(inverted ? turned(s) : s);
    CHECK(volume_of(r.solid) == doctest::Approx(1000 - 216).epsilon(1e-14));
    CHECK(has_note(r, "closed-void", false));
    CHECK(has_note(r, "inverted", false) == inverted);
    CHECK(r.solid.shells()[1].role == ShellRole::hollow);
    CHECK(r.solid.shells()[1].parent == 0);
    CHECK(r.solid.shells()[1].depth == 1);
    CHECK(in_cubic_millimetres(r.solid.shells()[1].enclosed) == doctest::Approx(216).epsilon(1e-14));
    CHECK(in_square_millimetres(r.solid.area()) == doctest::Approx(600 + 216).epsilon(1e-14));

    const SolidResult d = proven(inverted ? turned(c) : c);
    CHECK(volume_of(d.solid) == doctest::Approx(1000 - 216 + 8).epsilon(1e-14));
    CHECK(d.solid.shells()[0].depth == 2);
    CHECK(d.solid.shells()[0].parent == 1);
    CHECK(d.solid.shells()[0].role == ShellRole::body);
  }
}

TEST_CASE("a body inside the material of another is counted once, with a warning") {
  const SolidResult r = proven(joined({box({0, 0, 0}, {10, 10, 10}), box({2, 2, 2}, {4, 4, 4})}));
  CHECK(volume_of(r.solid) == doctest::Approx(1000).epsilon(1e-14));
  CHECK(has_note(r, "body-inside-body", true));
  CHECK(r.solid.shells()[1].role == ShellRole::redundant);
  CHECK(r.solid.triangles().size() == 12);
  // A void inside that inner body does not reach through the outer one's material.
  const SolidResult t = proven(
      joined({box({0, 0, 0}, {10, 10, 10}), box({2, 2, 2}, {8, 8, 8}), turned(box({4, 4, 4}, {5, 5, 5}))}));
  CHECK(volume_of(t.solid) == doctest::Approx(1000).epsilon(1e-14));
}

TEST_CASE("a void in a void contradicts itself") {
  const Problem p = refused(joined(
      {box({0, 0, 0}, {10, 10, 10}), turned(box({2, 2, 2}, {8, 8, 8})), turned(box({4, 4, 4}, {5, 5, 5}))}));
  CHECK(p.code == Code::shells_contradict);
  CHECK(mentions(p, "shell 3"));
}

TEST_CASE("bodies that touch without being one surface are refused") {
  for (const Vec3& at :
       {Vec3(1, 0, 0), Vec3(1, 1, 0), Vec3(1, 1, 1), Vec3(0.5, 0.5, 1), Vec3(1, 0.25, 0.25)}) {
    const TriangleSoup other = box(at, at + Vec3(2, 2, 2));
    const Problem p = refused(joined({unit, other}));
    CHECK(p.code == Code::overlaps_itself);
    CHECK(mentions(p, "mm"));
  }
  CHECK(refused(welded({unit, box({1, 0, 0}, {2, 1, 1})})).code ==
        Code::overlaps_itself);  // a shared face, welded
  // Edges that cross in a point, on the diagonal of neither.
  const TriangleSoup roof = right_tetrahedron(2, 2, 2);
  CHECK(refused(joined({roof, moved(turned(roof), [](const Vec3& p) { return Vec3(p.x(), p.y(), -p.z()); })}))
            .code == Code::overlaps_itself);
}

TEST_CASE("bodies that share a welded edge or vertex are accepted") {
  const SolidResult edge = proven(welded({unit, box({1, 1, 0}, {3, 3, 1})}));
  CHECK(volume_of(edge.solid) == doctest::Approx(5).epsilon(1e-14));
  CHECK(has_note(edge, "shared-edges", false));
  CHECK(edge.solid.shells().size() == 1);
  const SolidResult vertex = proven(welded({unit, box({1, 1, 1}, {3, 3, 3})}));
  CHECK(volume_of(vertex.solid) == doctest::Approx(9).epsilon(1e-14));
  CHECK(vertex.solid.shells().size() == 2);
  check_volume_in_any_order(welded({unit, box({1, 1, 0}, {3, 3, 1}), box({3, 3, 1}, {4, 4, 2})}), 6);
}

TEST_CASE("a body that is inside out along a shared edge is refused, not subtracted") {
  for (std::uint32_t seed = 0; seed < 6; ++seed) {
    const TriangleSoup s = welded({box({0, 0, 0}, {2, 2, 2}), turned(box({2, 2, 0}, {3, 3, 2}))});
    const Problem p = refused(seed == 0 ? s : renumbered(s, seed));
    CHECK(p.code == Code::not_oriented);
    CHECK(mentions(p, "(2, 2, 1)"));
  }
  // Likewise a smaller body inside a larger one that shares an edge with it.
  Builder b;
  b.add(prism({{0, 0}, {6, -4}, {6, 4}}, 5));
  b.add(prism({{0, 0}, {3, -0.5}, {3, 0.5}}, 5));
  CHECK(refused(b.take()).code == Code::overlaps_itself);  // its ends lie in the other's ends
}

TEST_CASE("shells that touch in a vertex nest rightly wherever the vertex is") {
  // A small tetrahedron in each corner of a box: as a void, as a doubled body, and outside on the corner.
  for (int corner = 0; corner < 8; ++corner) {
    CAPTURE(corner);
    const Vec3 s(corner & 1 ? 1 : -1, corner & 2 ? 1 : -1, corner & 4 ? 1 : -1);
    const bool mirrored = s.prod() < 0;
    const TriangleSoup seat = moved(
        [] {
          Builder t;
          const Vec3 o(0, 0, 0), a(1, 0.5, 0.5), b(0.5, 1, 0.5), c(0.5, 0.5, 1);
          t.triangle(o, b, a);
          t.triangle(o, a, c);
          t.triangle(o, c, b);
          t.triangle(a, b, c);
          return t.take();
        }(),
        [&](const Vec3& p) { return Vec3(p.cwiseProduct(s)); });
    const TriangleSoup inner = mirrored ? turned(seat) : seat;
    const TriangleSoup outside = turned(moved(inner, [](const Vec3& p) { return Vec3(-p); }));
    const TriangleSoup block = box((2 * s).cwiseMin(0), (2 * s).cwiseMax(0));
    const double small = volume_of(solid_of(inner));
    CHECK(small == doctest::Approx(1.0 / 12).epsilon(1e-14));
    check_volume_in_any_order(welded({block, turned(inner)}), 8 - small);
    check_volume_in_any_order(welded({block, inner}), 8);
    check_volume_in_any_order(welded({block, outside}), 8 + small);
    check_volume_in_any_order(welded({block, turned(outside)}), 8 + small);  // inside out, and turned
  }
}

TEST_CASE("a shell that touches another with every vertex it has") {
  // A cube with a pyramid on each face; the tetrahedron on four of the cube's corners lies inside and shares
  // them all.
  Builder b;
  const auto corner = [](int k) { return Vec3(k & 1 ? 1 : -1, k & 2 ? 1 : -1, k & 4 ? 1 : -1); };
  const int face[6][4] = {{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}};
  for (const auto& f : face) {
    const Vec3 apex = (corner(f[0]) + corner(f[2])) * 0.75;
    for (int k = 0; k < 4; ++k) b.triangle(corner(f[k]), corner(f[(k + 1) % 4]), apex);
  }
  const double star = 8 + 6 * 4 * 0.5 / 3, tetra = 8.0 / 3;
  const TriangleSoup outer = b.take();
  Builder t;
  t.triangle(corner(7), corner(1), corner(2));
  t.triangle(corner(7), corner(2), corner(4));
  t.triangle(corner(7), corner(4), corner(1));
  t.triangle(corner(1), corner(4), corner(2));
  TriangleSoup inner = t.take();
  const bool outward = measure(inner.vertices, inner.triangles, Vec3::Zero()).volume > 0;
  check_volume_in_any_order(welded({outer, outward ? turned(inner) : inner}), star - tetra);
  check_volume_in_any_order(welded({outer, outward ? inner : turned(inner)}), star);
}

TEST_CASE("open, flipped, doubled, pierced and flat surfaces are refused") {
  TriangleSoup open = box({0, 0, 0}, {2, 2, 2});
  std::erase_if(open.triangles, [&](const Triangle& t) {
    return open.vertices[t[0]].z() == 2 && open.vertices[t[1]].z() == 2 && open.vertices[t[2]].z() == 2;
  });
  const Problem p = refused(open);
  CHECK(p.code == Code::not_closed);
  CHECK(mentions(p, "4 open edges"));
  CHECK(mentions(p, ", 2) mm"));  // the place is on the missing lid's border

  TriangleSoup flipped = unit;
  std::swap(flipped.triangles[5][0], flipped.triangles[5][1]);
  CHECK(refused(flipped).code == Code::not_oriented);
  CHECK(mentions(refused(flipped), "3 edges"));

  TriangleSoup doubled = unit;
  doubled.triangles.push_back(doubled.triangles[0]);
  CHECK(refused(doubled).code == Code::not_closed);
  doubled.triangles.push_back({doubled.triangles[0][0], doubled.triangles[0][2], doubled.triangles[0][1]});
  CHECK(refused(doubled).code != Code::no_volume);
  TriangleSoup twice = unit;
  twice.triangles.insert(twice.triangles.end(), unit.triangles.begin(), unit.triangles.end());
  CHECK(refused(twice).code == Code::overlaps_itself);

  // A post through the floor of a tray, not united with it.
  CHECK(refused(joined({tray({0, 0, 0}, {20, 20, 10}, {2, 2, 2}, {18, 18, 10}), box({9, 9, 1}, {11, 11, 6})}))
            .code == Code::overlaps_itself);

  Builder pillow;
  pillow.triangle({0, 0, 0}, {1, 0, 0}, {0, 1, 0});
  pillow.triangle({1, 0, 0}, {0, 0, 0}, {0, 1, 0});
  CHECK(refused(pillow.take()).code == Code::overlaps_itself);
  Builder flat;
  flat.triangle({0, 0, 0}, {1, 0, 0}, {0, 1, 0});
  flat.triangle({1, 0, 0}, {0, 0, 0}, {0, 1, 0});
  const auto r = take_closed(make_surface(flat.take()));
  REQUIRE_FALSE(r.has_value());
  CHECK(r.error().code == Code::no_volume);
  CHECK(refused({}).code == Code::no_triangles);
}

// Only the proof makes the stronger types, and they stand wherever the weaker ones do.
static_assert(!std::is_default_constructible_v<Solid> && !std::is_default_constructible_v<ClosedBody>);
static_assert(!std::is_constructible_v<Solid, ClosedBody> && !std::is_assignable_v<Solid&, ClosedBody>);
static_assert(!std::is_constructible_v<ProvenOpenSurface, OpenSurface> &&
              !std::is_assignable_v<ProvenOpenSurface&, OpenSurface>);
static_assert(std::is_convertible_v<Solid, ClosedBody> &&
              std::is_convertible_v<ProvenOpenSurface, OpenSurface>);

TEST_CASE("a closed body may overlap itself: it has measures, but it is no solid") {
  const TriangleSoup crossed = joined({box({0, 0, 0}, {10, 1, 1}), box({4, -5, 0}, {6, 5, 1})});
  CHECK(refused(crossed).code == Code::overlaps_itself);
  const auto taken = take_closed(make_surface(crossed));
  REQUIRE(taken.has_value());
  // What lies twice is counted twice.
  CHECK(in_cubic_millimetres(taken->body.volume().value) == doctest::Approx(10 + 20).epsilon(1e-14));
  CHECK(in_square_millimetres(taken->body.area()) == doctest::Approx(42 + 64).epsilon(1e-14));
  CHECK(taken->body.shells().size() == 2);
  CHECK(taken->body.triangles().size() == crossed.triangles.size());

  // Where there is no overlap both say the same.
  const TriangleSoup plain = sphere(10, 24);
  const auto weak = take_closed(make_surface(plain));
  REQUIRE(weak.has_value());
  const Solid strong = proven(plain).solid;
  CHECK(in_cubic_millimetres(weak->body.volume().value) == volume_of(strong));
  CHECK(weak->body.triangles() == strong.triangles());
  const AnyBody either = strong;
  CHECK(as_closed(either).triangles() == strong.triangles());

  // What the other proof refuses is refused here as well.
  CHECK(take_closed(make_surface({})).error().code == Code::no_triangles);
  TriangleSoup holed = plain;
  holed.triangles.pop_back();
  CHECK(take_closed(make_surface(holed)).error().code == Code::not_closed);
}

TEST_CASE("a scan that cuts itself is taken for an open surface, and for no proven one") {
  // A leaf folded over, whose tip is pushed through it again.
  Builder leaf;
  leaf.triangle({0, 0, 0}, {4, 0, 0}, {0, 4, 0});
  leaf.triangle({4, 0, 0}, {0.5, 0.5, 1}, {0, 4, 0});
  leaf.triangle({4, 0, 0}, {0.5, 0.6, -1}, {0.5, 0.5, 1});
  const TriangleSoup folded = leaf.take();
  REQUIRE(take_open_surface(make_surface(folded), Vec3::UnitZ()).has_value());
  const auto refusal = prove_open_surface(make_surface(folded), Vec3::UnitZ());
  REQUIRE_FALSE(refusal.has_value());
  CHECK(refusal.error().code == Code::overlaps_itself);
  const TriangleSoup bowl = revolve({{40, 40}, {30, 10}, {0, 0}}, 24);
  CHECK(prove_open_surface(make_surface(bowl), Vec3::UnitZ()).has_value());
}

TEST_CASE("random cells: the volume is the number of cells, however they touch, nest and enclose") {
  for (std::uint32_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const voxels::Grid g = voxels::random_grid(7, 0.2 + 0.07 * (seed % 10), false, seed);
    const SolidResult r = proven(voxels::soup_of(g));
    CHECK(volume_of(r.solid) == doctest::Approx(g.volume()).epsilon(1e-13));
    double sum = 0;
    for (const Shell& s : r.solid.shells()) {
      CHECK_FALSE(s.turned);
      CHECK(s.role != ShellRole::redundant);
      sum += (s.role == ShellRole::hollow ? -1 : 1) * in_cubic_millimetres(s.enclosed);
    }
    CHECK(sum == doctest::Approx(g.volume()).epsilon(1e-13));
    const SolidResult inverted = proven(turned(voxels::soup_of(g)));
    CHECK(volume_of(inverted.solid) == doctest::Approx(g.volume()).epsilon(1e-13));
  }
}

TEST_CASE("a scan with one rim is taken, a holed or torn one is not") {
  auto inner = arc(40, 0, 40, 0, -pi / 2, 24);
  inner.front() = {40, 40};
  inner.back() = {0, 0};
  const TriangleSoup bowl = revolve(inner, 48);
  const auto take = [](const TriangleSoup& s) { return take_open_surface(make_surface(s), Vec3::UnitZ()); };
  REQUIRE(take(bowl).has_value());
  CHECK(take(bowl)->notes.empty());
  REQUIRE(take(turned(bowl)).has_value());
  CHECK(take(turned(bowl))->notes.size() == 1);
  TriangleSoup holed = bowl;
  holed.triangles.erase(holed.triangles.begin() + 600);
  REQUIRE_FALSE(take(holed).has_value());
  CHECK(take(holed).error().code == Code::not_closed);
  CHECK_FALSE(
      take(joined({bowl, moved(bowl, [](const Vec3& p) { return Vec3(p + Vec3(100, 0, 0)); })})).has_value());
  TriangleSoup flipped = bowl;
  std::swap(flipped.triangles[600][0], flipped.triangles[600][1]);
  CHECK_FALSE(take(flipped).has_value());
  // A box with a small hole is not a mold with a rim.
  TriangleSoup pricked = sphere(10, 48);
  pricked.triangles.erase(pricked.triangles.begin() + 300);
  CHECK_FALSE(take(pricked).has_value());
}
