// SPDX-License-Identifier: GPL-3.0-or-later
// The largest ball that touches the surface from inside at a point (J. Ma, S. W. Bae, S. Choi, Vis. Comput.
// 28, 2012), and beside an edge the one it grows to along the flow of the distance (A. Lieutier,
// Comput.-Aided Des. 36, 2004). Law: a place finds the same bits whatever was asked before; a wall's own
// thickness does not depend on where the body lies nor on how its triangles are numbered, beyond rounding.
#include "geometry/walls/inscribed_ball.hpp"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

namespace pourwright::thickness {
namespace {

/// A tangent plane of the ball: through `at`, square to the unit vector `out` from the centre.
struct Contact {
  Vec3 at, out;
};

/// Centre of the smallest ball around at most a handful of points on the unit sphere: pushing a ball's centre
/// the other way frees it from these contacts fastest, and the length is how fast it then grows. Zero when
/// they hold it from all sides. Iterative (M. Bădoiu, K. Clarkson, 2003, refined by a final exact step over
/// pairs and triples).
Vec3 smallest_around(const std::vector<Contact>& contacts) {
  const auto holds = [&](const Vec3& m, double r2) {
    return std::all_of(contacts.begin(), contacts.end(), [&](const Contact& c) {
      return (c.out - m).squaredNorm() <= r2 * (1 + 1e-9) + 1e-12;
    });
  };
  const std::size_t n = contacts.size();
  if (n == 1) return contacts[0].out;
  Vec3 best = Vec3::Zero();
  double best_r2 = 1;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i + 1; j < n; ++j) {
      const Vec3 m = (contacts[i].out + contacts[j].out) / 2;
      const double r2 = (contacts[i].out - m).squaredNorm();
      if (r2 < best_r2 && holds(m, r2)) best = m, best_r2 = r2;
    }
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i + 1; j < n; ++j)
      for (std::size_t k = j + 1; k < n; ++k) {
        // The plane through three points of the unit sphere; its point nearest to the origin is their
        // circle's centre.
        const Vec3& a = contacts[i].out;
        const Vec3 w = (contacts[j].out - a).cross(contacts[k].out - a);
        const double w2 = w.squaredNorm();
        if (w2 < 1e-16) continue;
        const Vec3 m = w * (w.dot(a) / w2);
        const double r2 = (a - m).squaredNorm();
        if (r2 < best_r2 && holds(m, r2)) best = m, best_r2 = r2;
      }
  return best;
}

/// How far, relative to its radius, a ball may overlap the surface: when its contact is decided, so that no
/// other way through the triangles finds another; on facets that stand for a curve; while it flows off an
/// edge.
constexpr double settled = 1e-9, coarse = 0.025, loose = 5e-3;
/// Facets within 35° of where the ball touches stand for the curve it touches.
const double close_by = std::cos(35 * std::numbers::pi / 180);

bool face_each_other(const Vec3& out_a, const Vec3& out_b) {
  return out_a.dot(out_b) <= wall_cosine;
}

class Search {
 public:
  Search(const RayScene& scene, const Skin& skin, const Patience& patience, Clearances& known)
      : scene_(scene), skin_(skin), patience_(patience), known_(known) {}

  std::optional<Ball> run(const Vec3& at, const Vec3& normal, double facet) const;

 private:
  std::optional<Ball> touching(const Vec3& at, const Vec3& normal, double facet, Contact& other) const;
  double beside_an_edge(std::vector<Contact> contacts, Vec3 c, double r, double enough) const;
  bool lies_on_planes(const std::vector<Contact>& contacts, const Vec3& c, double r) const;
  std::vector<Contact> on_corners(std::vector<Contact> contacts, const Vec3& c, double r) const;
  double up_to_the_wall(const Vec3& at, const Vec3& normal, double ray, Index triangle) const;
  Contact contact(Index triangle, const Vec3& touch, const Vec3& centre) const;

  const RayScene& scene_;
  const Skin& skin_;
  const Patience patience_;
  Clearances& known_;
};

/// Where the surface is smooth its normal says where the ball touches better than the nearest point, which is
/// taken before a ball with slack has settled; the skin's, for the nearest point may lie on an edge of two
/// facets.
Contact Search::contact(Index triangle, const Vec3& touch, const Vec3& centre) const {
  const Vec3 out = (touch - centre).normalized(), n = skin_.normal(touch, triangle);
  return {touch, n.dot(out) > 0.9 ? n : out};
}

/// Shrinking ball: J. Ma, S. W. Bae, S. Choi, Vis. Comput. 28, 2012. A point inside the ball becomes its next
/// contact, and the radius falls until none is left.
std::optional<Ball> Search::touching(const Vec3& at, const Vec3& normal, double facet, Contact& other) const {
  const std::optional<RayScene::Hit> hit = scene_.first_exit(at, -normal);
  if (!hit || hit->distance <= 0) return {};
  Ball ball;
  ball.ray = hit->distance;
  ball.across = hit->triangle;
  double r = hit->distance / 2;
  double slack = settled * r;
  // A plane opposite that leans a little: the ball tangent to it, to begin with.
  const Vec3 facing = at - hit->distance * normal, opposite = skin_.normal(facing, hit->triangle);
  const double lean = -normal.dot(opposite);
  other = {facing, lean > 0.5 ? Vec3(-normal) : opposite};
  if (lean > 0.98) {
    r = hit->distance * lean / (1 + lean);
    other.out = opposite;
    // A facet stands for a piece of a curved surface: off its middle the ball leans over by up to the facet's
    // size.
    slack = std::clamp(facet, patience_.relative * r, coarse * r);
  }
  const double between = r;
  ball.diameter = 2 * r;
  const double give = std::max(slack, patience_.height);
  if (lean > 0.98 && known_.clear(scene_, at - r * normal, r - give, r - give / 2)) return ball;
  const RayScene::Touch touch = scene_.shrink(at, normal, r, {slack, settled, patience_.height, close_by});
  r = touch.radius;
  if (touch.triangle != none) {
    const Vec3 centre = at - r * normal;
    // A settled ball touches straight out of its centre; noise settles nothing.
    const Contact met = patience_.height > 0 ? contact(touch.triangle, touch.at, centre)
                                             : Contact{touch.at, (touch.at - centre).normalized()};
    // Hardly smaller than between the two planes that face each other, for something at its side: a wall
    // still.
    if (lean > 0.98 && r > (1 - coarse) * between && !face_each_other(normal, met.out))
      r = between;
    else
      other = met;
  }
  ball.diameter = 2 * r;
  return ball;
}

std::optional<Ball> Search::run(const Vec3& at, const Vec3& normal, double facet) const {
  Contact other;
  std::optional<Ball> ball = touching(at, normal, facet, other);
  if (!ball || face_each_other(normal, other.out)) return ball;
  const double r = ball->diameter / 2;
  const double across = up_to_the_wall(at, normal, ball->ray, ball->across);
  // What is found beside an edge is good to a few percent, and smaller where a taper ends: of two alike the
  // straight one is right.
  constexpr double alike = 1.08;
  // A ball that still grows when it is half as wide again was never between the two: they are the sides of a
  // relief, lower than half its width. At the thin end of a wedge of 40° it grows by a third.
  constexpr double relief = 1.5;
  const double beside = beside_an_edge({{at, normal}, other}, at - r * normal, r, relief * across / 2);
  ball->own = across <= beside * alike && beside < relief * across;
  ball->diameter = ball->own ? across : beside;
  return ball;
}

/// Whether there is surface where the ball touches the planes of its contacts.
bool Search::lies_on_planes(const std::vector<Contact>& contacts, const Vec3& c, double r) const {
  return std::all_of(contacts.begin(), contacts.end(), [&](const Contact& t) {
    return scene_.nearest(c + r * t.out, std::max(0.05 * r, 4 * patience_.height)).has_value();
  });
}

/// Each contact on the surface nearest to where it should be, without those that the ball does not reach.
std::vector<Contact> Search::on_corners(std::vector<Contact> contacts, const Vec3& c, double r) const {
  for (Contact& t : contacts)
    if (const auto near = scene_.nearest(c + r * t.out)) t = {near->at, (near->at - c).normalized()};
  std::erase_if(contacts, [&](const Contact& t) { return (t.at - c).norm() > r * 1.02; });
  return contacts;
}

/// Beside an edge the ball is small for want of room along the surface, not for want of wall. Pushed off the
/// edge it grows until two contacts face each other: the wall that the edge belongs to. The flow of the
/// distance from the surface (A. Lieutier, Comput.-Aided Des. 36, 2004), followed in steps from contact to
/// contact, no farther than until the radius is `enough`.
double Search::beside_an_edge(std::vector<Contact> contacts, Vec3 c, double r, double enough) const {
  static const double held = std::sqrt((1 + wall_cosine) / 2);
  // Two corners are a wall only straight across from each other; noise leaves nothing straight.
  const double pinched = patience_.height > 0 ? held : 0.1;
  int blocked = 0;
  bool corners = false;
  for (int turn = 0; turn < 40 && blocked < 8; ++turn) {
    if (r >= enough) return 2 * r;
    const Vec3 m = smallest_around(contacts);
    const double k = m.norm();
    if (k < (corners ? pinched : held)) {
      if (corners || lies_on_planes(contacts, c, r)) break;
      // The ball is past the end of a plane that it touched, and leans on corners there.
      std::vector<Contact> leaning = on_corners(contacts, c, r);
      if (leaning.empty()) break;
      contacts = std::move(leaning);
      corners = true;
      continue;
    }
    const Vec3 d = -m / k;
    const auto hit = scene_.first_exit(c, d);
    if (!hit) break;
    const double most = std::max(0.0, std::min((hit->distance - r) / (1 + k), (1.001 * enough - r) / k));
    const RayScene::Advance met = scene_.advance(c, r, d, k, most, {0, loose, patience_.height});
    const double s = met.way;
    Contact next{c + hit->distance * d, d};
    c += s * d;
    r += s * k;
    blocked = s < 1e-4 * r ? blocked + 1 : 0;
    if (met.triangle != none) {
      // What stops it at once is a corner between facets, not the plane of one. A ball that was found with
      // some slack may hold it.
      const Vec3 to = met.at - c;
      const double distance = to.norm();
      next = blocked > 0 || corners ? Contact{met.at, to / distance} : contact(met.triangle, met.at, c);
      r = std::min(r, distance);
    }
    std::erase_if(contacts, [&](const Contact& t) {
      return (t.at - c).dot(t.out) > r * 1.02 || t.out.dot(next.out) > 1 - 1e-6;
    });
    // Four hold a ball; the one that leans on it least goes.
    if (contacts.size() == 6)
      contacts.erase(
          std::max_element(contacts.begin(), contacts.end(),
                           [&](const Contact& x, const Contact& y) { return x.out.dot(m) < y.out.dot(m); }));
    contacts.push_back(next);
  }
  // The wall as measured from where the ball touches it last.
  const Contact& last = contacts.back();
  Contact other;
  const auto ball = touching(last.at, last.out, 0, other);
  if (ball && ball->diameter > 1.5 * r && face_each_other(last.out, other.out)) r = ball->diameter / 2;
  return 2 * r;
}

/// The ball between this face and the plane of the one straight opposite, when they face each other; it may
/// stick out past an edge that both share, as at the thin end of a wedge.
double Search::up_to_the_wall(const Vec3& at, const Vec3& normal, double ray, Index triangle) const {
  const Vec3 n = scene_.normal(triangle);
  if (!face_each_other(normal, n)) return std::numeric_limits<double>::infinity();
  const double r = -ray * normal.dot(n) / (1 - normal.dot(n));
  // The plane counts only where there is surface.
  const Vec3 touch = at - r * normal + r * n;
  if (!scene_.nearest(touch, std::max(0.05 * r, patience_.height)))
    return std::numeric_limits<double>::infinity();
  return 2 * r;
}

}  // namespace

namespace {

/// Points closer to each other than half a cell lie in one of the eight cells nearest to either: their
/// numbers, the point's own first.
std::array<std::uint64_t, 8> cells_around(const Vec3& at, double cell) {
  std::array<std::array<std::uint64_t, 2>, 3> near{};
  for (std::size_t k = 0; k < 3; ++k) {
    // A ball of hardly any size has cells beyond number.
    const double x = std::clamp(at[static_cast<int>(k)] / cell, -4e18, 4e18), own = std::floor(x);
    near[k] = {static_cast<std::uint64_t>(static_cast<std::int64_t>(own)),
               static_cast<std::uint64_t>(static_cast<std::int64_t>(x - own < 0.5 ? own - 1 : own + 1))};
  }
  std::array<std::uint64_t, 8> out{};
  for (std::size_t i = 0; i < 8; ++i)
    out[i] = (near[0][i & 1] * 0x9E3779B97F4A7C15 ^ near[1][i >> 1 & 1] * 0xC2B2AE3D27D4EB4F ^
              near[2][i >> 2] * 0x165667B19E3779F9) *
             0xD6E8FEB86659FD93;
  return out;
}

/// The entry of a table of so many bits for one of these numbers.
template <int bits, class Known>
Known& entry(std::vector<Known>& known, std::uint64_t number) {
  if (known.empty()) known.resize(std::size_t{1} << bits);
  return known[number >> (64 - bits)];
}

}  // namespace

bool Clearances::clear(const RayScene& scene, const Vec3& at, double least, double enough) {
  if (!(least > 0)) return false;
  constexpr int bits = 13;
  constexpr double certain = 1e-9;
  // Cells about as wide as twice what a search spares its neighbours.
  const auto cells = cells_around(at, std::exp2(std::ilogb(enough - least) + 1));
  for (const std::uint64_t c : cells) {
    const Known& known = entry<bits>(known_, c);
    // Less what rounding may have added, so that the search would say the same.
    const double spare = known.distance * (1 - certain) - least;
    if (spare > 0 && (at - known.at).squaredNorm() <= spare * spare) return true;
  }
  const double distance = scene.clearance(at, least, enough);
  if (distance < least) return false;
  entry<bits>(known_, cells[0]) = {at, distance};
  return true;
}

std::optional<Ball> inscribed_ball(const RayScene& scene, const Skin& skin, const Vec3& at, Index triangle,
                                   const Patience& patience, Clearances& known) {
  const Search search(scene, skin, patience, known);
  const double facet = scene.facet_radius(triangle);
  const Vec3 normal = skin.normal(at, triangle);
  auto ball = search.run(at, normal, facet);
  // Right at a sharp edge a normal that leans may point out of the body.
  if (!ball) ball = search.run(at, scene.normal(triangle), facet);
  if (ball) ball->normal = normal;
  return ball;
}

}  // namespace pourwright::thickness
