// SPDX-License-Identifier: GPL-3.0-or-later
// Regions of thin wall and how they stand on the thick body: a net of places, its connected parts, and
// shortest ways over it from where they are held (E. W. Dijkstra, Numer. Math. 1, 1959). Law: a region is
// named by how it is held and how far it stands out; lengths are good to the spacing of the net.
#include "geometry/walls/thin_spots.hpp"

#include "geometry/mesh/edges.hpp"
#include "geometry/mesh/median.hpp"
#include "geometry/mesh/point_grid.hpp"

#include <cmath>
#include <numbers>
#include <queue>

#include <Eigen/Eigenvalues>

namespace pourwright::thickness {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
/// Neighbours lie within so many spacings: places spread at random by area leave gaps of up to about two.
constexpr double reach_of_a_neighbour = 2.2;
/// Fewer places than this are no region.
constexpr std::size_t least_places = 4;

/// Two places lie on one sheet of surface; those of the two sides of a wall or a gap do not.
bool same_sheet(const WallSample& a, const WallSample& b) {
  return a.normal.dot(b.normal) > -0.25;
}

/// Measurements around thin places, denser than the rest, and which of them are neighbours.
struct Net {
  std::vector<WallSample> places;
  std::vector<Vec3> points;
  std::vector<bool> thin;
  std::vector<Index> start, neighbour;  ///< neighbour[start[i] … start[i+1]) of place i
  double spacing = 0;

  template <class Visit>
  void each_neighbour(Index i, Visit&& visit) const {
    for (Index k = start[i]; k < start[i + 1]; ++k) visit(neighbour[k]);
  }
};

/// The thin samples and the thick ones beside them, with further places measured between.
class NetMaker {
 public:
  explicit NetMaker(const SpotSearch& search) : search_(search) {}
  Net make();

 private:
  std::vector<Index> concerned(double& thin_area) const;
  void add_between(Index sample, Net& net, double spacing) const;
  bool across_a_gap(const Net& net, Index a, Index b) const;
  void link(Net& net) const;
  void smooth(Net& net) const;

  const SpotSearch& search_;
};

std::vector<Index> NetMaker::concerned(double& thin_area) const {
  std::vector<Vec3> points;
  for (const WallSample& s : search_.samples) points.push_back(s.at);
  const double radius = reach_of_a_neighbour * search_.spacing;
  const PointGrid grid(points, radius);
  std::vector<bool> marked(points.size());
  for (Index i = 0; i < points.size(); ++i) {
    if (search_.samples[i].ball >= search_.limit) continue;
    thin_area += search_.samples[i].area;
    grid.around(points[i], radius, [&](Index j) {
      if (same_sheet(search_.samples[i], search_.samples[j])) marked[j] = true;
    });
  }
  std::vector<Index> out;
  for (Index i = 0; i < points.size(); ++i)
    if (marked[i]) out.push_back(i);
  return out;
}

void NetMaker::add_between(Index sample, Net& net, double spacing) const {
  const WallSample& s = search_.samples[sample];
  const Vec3 u = s.normal.unitOrthogonal(), v = s.normal.cross(u);
  const int steps = static_cast<int>(std::ceil(0.75 * search_.spacing / spacing));
  for (int i = -steps; i <= steps; ++i)
    for (int j = -steps; j <= steps; ++j) {
      if (i == 0 && j == 0) continue;
      const Vec3 at = s.at + spacing * (i * u + j * v);
      const auto near = search_.scene.nearest(at, 0.4 * spacing);
      if (!near || search_.scene.normal(near->triangle).dot(s.normal) < 0.5) continue;
      WallSample place;
      place.at = search_.scene.off_the_edges(near->at, near->triangle);
      place.normal = search_.scene.normal(near->triangle);
      place.triangle = near->triangle;
      net.places.push_back(place);
    }
}

/// Thins out places closer than 0.7 spacings on one sheet; earlier ones stay.
std::vector<WallSample> thinned(const std::vector<WallSample>& places, double spacing) {
  std::vector<Vec3> points;
  for (const WallSample& s : places) points.push_back(s.at);
  const PointGrid grid(points, 0.7 * spacing);
  std::vector<bool> gone(places.size());
  std::vector<WallSample> out;
  for (Index i = 0; i < places.size(); ++i) {
    if (gone[i]) continue;
    out.push_back(places[i]);
    grid.around(points[i], 0.7 * spacing, [&](Index j) {
      if (j > i && places[j].area == 0 && same_sheet(places[i], places[j])) gone[j] = true;
    });
  }
  return out;
}

/// The rims of two fins face the same way, but between them there is no surface. On the faces of a wall the
/// normals tell.
bool NetMaker::across_a_gap(const Net& net, Index a, Index b) const {
  if (net.places[a].own && net.places[b].own) return false;
  const double apart = (net.points[a] - net.points[b]).norm();
  return apart > net.spacing && !search_.scene.nearest((net.points[a] + net.points[b]) / 2, 0.4 * apart);
}

void NetMaker::link(Net& net) const {
  net.points.clear();
  for (const WallSample& s : net.places) net.points.push_back(s.at);
  const double radius = reach_of_a_neighbour * net.spacing;
  const PointGrid grid(net.points, radius);
  net.start.push_back(0);
  for (Index i = 0; i < net.points.size(); ++i) {
    grid.around(net.points[i], radius, [&](Index j) {
      if (j != i && same_sheet(net.places[i], net.places[j]) && !across_a_gap(net, i, j))
        net.neighbour.push_back(j);
    });
    net.start.push_back(static_cast<Index>(net.neighbour.size()));
  }
}

/// A place that nearly all its neighbours contradict is a slip of the measurement.
void NetMaker::smooth(Net& net) const {
  std::vector<bool> out = net.thin;
  for (Index i = 0; i < net.points.size(); ++i) {
    std::size_t all = 0, other = 0;
    net.each_neighbour(i, [&](Index j) {
      ++all;
      other += net.thin[j] != net.thin[i];
    });
    if (all >= 5 && 5 * other >= 4 * all) out[i] = !net.thin[i];
  }
  net.thin = std::move(out);
}

Net NetMaker::make() {
  Net net;
  double thin_area = 0;
  const std::vector<Index> around = concerned(thin_area);
  if (around.empty()) return net;
  // A body that is thin for the most part is described well enough by the samples it has, unless they lie
  // farther apart than its walls are thin.
  const double share = static_cast<double>(around.size()) / static_cast<double>(search_.samples.size());
  net.spacing = share > 0.5 && search_.spacing < search_.limit
                    ? search_.spacing
                    : std::clamp(std::sqrt(thin_area / static_cast<double>(search_.further)),
                                 search_.spacing / 4, search_.spacing / 1.8);
  for (const Index i : around) net.places.push_back(search_.samples[i]);
  if (net.spacing < search_.spacing) {
    for (const Index i : around) add_between(i, net, net.spacing);
    net.places = thinned(net.places, net.spacing);
    std::vector<WallSample> measured;
    for (const WallSample& s : net.places) {
      if (s.area > 0) {
        measured.push_back(s);
      } else if (auto m = search_.measure({s.at, s.triangle})) {
        m->area = 0;
        measured.push_back(*m);
      }
    }
    net.places = std::move(measured);
    search_.agree(net.places, net.spacing);
  }
  link(net);
  for (const WallSample& s : net.places) net.thin.push_back(s.ball < search_.limit);
  smooth(net);
  return net;
}

/// Regions: thin neighbours, and thin places straight across a wall from each other.
std::vector<std::vector<Index>> regions_of(const Net& net) {
  DisjointSets sets(net.points.size());
  const PointGrid grid(net.points, reach_of_a_neighbour * net.spacing);
  for (Index i = 0; i < net.points.size(); ++i) {
    if (!net.thin[i]) continue;
    net.each_neighbour(i, [&](Index j) {
      if (net.thin[j]) sets.unite(i, j);
    });
    if (!net.places[i].own) continue;
    const Vec3 across = net.points[i] - net.places[i].ball * net.places[i].normal;
    grid.around(across, 1.5 * net.spacing, [&](Index j) {
      if (net.thin[j] && net.places[j].normal.dot(net.places[i].normal) < -0.5) sets.unite(i, j);
    });
  }
  std::vector<Index> set;
  std::move(sets).number(set);
  std::vector<std::vector<Index>> all(net.points.size());
  for (Index i = 0; i < net.points.size(); ++i)
    if (net.thin[i]) all[set[i]].push_back(i);
  std::erase_if(all, [&](const std::vector<Index>& r) {
    // Without one of the first samples it is smaller than what they can tell of.
    return r.size() < least_places ||
           std::none_of(r.begin(), r.end(), [&](Index i) { return net.places[i].area > 0; });
  });
  return all;
}

/// Extents of points along their principal axes, the longest first.
struct Extents {
  Vec3 middle = Vec3::Zero(), size = Vec3::Zero();
  Eigen::Matrix3d axes = Eigen::Matrix3d::Identity();  ///< columns
};
Extents extents_of(const std::vector<Vec3>& points) {
  Extents e;
  for (const Vec3& p : points) e.middle += p / static_cast<double>(points.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vec3& p : points) spread += (p - e.middle) * (p - e.middle).transpose();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
  e.axes = solver.eigenvectors().rowwise().reverse();
  for (int k = 0; k < 3; ++k) {
    double low = infinite, high = -infinite;
    for (const Vec3& p : points) {
      const double x = e.axes.col(k).dot(p - e.middle);
      low = std::min(low, x);
      high = std::max(high, x);
    }
    e.size[k] = high - low;
  }
  return e;
}

/// One region and how it stands on the thick body.
class Region {
 public:
  Region(const SpotSearch& search, const Net& net, const std::vector<Index>& places)
      : search_(search), net_(net), places_(places) {}
  ThinSpot describe();

 private:
  void walk_from_the_root();
  bool slip(Index place) const;
  void measure_thickness(ThinSpot& spot) const;
  void without_root(ThinSpot& spot) const;
  void with_root(ThinSpot& spot) const;
  bool root_goes_round(const Extents& root) const;
  double between_two_roots(const Extents& root, double thick) const;
  double to_the_edge(Index place, const Vec3& outward) const;

  const SpotSearch& search_;
  const Net& net_;
  const std::vector<Index>& places_;
  std::vector<double> walked_;  ///< by place of the net
  std::vector<Vec3> root_of_;   ///< where the way to the place begins
  std::vector<Vec3> root_;      ///< halfway between a thin place and a thick neighbour
  std::vector<Index> at_root_;  ///< the thin places there
};

/// Where the thin sheet and the thick body meet, between two neighbouring places: on both their planes, when
/// these cross nearby, else halfway.
Vec3 meeting_point(const WallSample& a, const WallSample& b) {
  const Vec3 middle = (a.at + b.at) / 2;
  const double c = a.normal.dot(b.normal);
  if (std::abs(c) > 0.9) return middle;
  const double da = a.normal.dot(a.at - middle), db = b.normal.dot(b.at - middle);
  const Vec3 shift = ((da - c * db) * a.normal + (db - c * da) * b.normal) / (1 - c * c);
  return shift.norm() < (a.at - b.at).norm() ? Vec3(middle + shift) : middle;
}

/// Shortest ways over the surface from the thick body: E. W. Dijkstra, 1959, over the net.
void Region::walk_from_the_root() {
  walked_.assign(net_.points.size(), infinite);
  root_of_.assign(net_.points.size(), Vec3::Zero());
  using Item = std::pair<double, Index>;
  std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
  for (const Index i : places_) {
    net_.each_neighbour(i, [&](Index j) {
      if (net_.thin[j]) return;
      const Vec3 meet = meeting_point(net_.places[i], net_.places[j]);
      const double d = (net_.points[i] - meet).norm();
      if (d < walked_[i]) walked_[i] = d, root_of_[i] = meet;
    });
    if (walked_[i] < infinite) {
      at_root_.push_back(i);
      root_.push_back(root_of_[i]);
      queue.emplace(walked_[i], i);
    }
  }
  while (!queue.empty()) {
    const double d = queue.top().first;
    const Index i = queue.top().second;
    queue.pop();
    if (d > walked_[i]) continue;
    net_.each_neighbour(i, [&](Index j) {
      if (!net_.thin[j]) return;
      // As straight as the way has been so far: zigzags of the net are not the surface's.
      const double step = (net_.points[j] - net_.points[i]).norm();
      const double straight = (net_.points[j] - root_of_[i]).norm();
      const double way = d + step > 1.15 * straight ? d + step : straight;
      if (way < walked_[j] && way > d) {
        walked_[j] = way;
        root_of_[j] = root_of_[i];
        queue.emplace(way, j);
      }
    });
  }
}

/// Thinner than those round it by more than a taper can be: a slip of the measurement.
bool Region::slip(Index place) const {
  std::vector<double> round, apart;
  net_.each_neighbour(place, [&](Index j) {
    if (net_.places[j].normal.dot(net_.places[place].normal) < 0.7) return;
    round.push_back(net_.places[j].ball);
    apart.push_back((net_.points[j] - net_.points[place]).norm());
  });
  return round.size() >= 4 && median(round) > 1.2 * net_.places[place].ball + 1.2 * median(apart);
}

void Region::measure_thickness(ThinSpot& spot) const {
  const bool any_own =
      std::any_of(places_.begin(), places_.end(), [&](Index i) { return net_.places[i].own; });
  std::vector<double> all, root;
  const WallSample* least = nullptr;
  for (const Index i : places_) {
    const WallSample& s = net_.places[i];
    if (s.own != any_own) continue;
    all.push_back(s.ball);
    if ((least == nullptr || s.ball < least->ball) && !slip(i)) least = &s;
  }
  if (least == nullptr) least = &net_.places[places_.front()];
  for (const Index i : at_root_)
    if (net_.places[i].own == any_own) root.push_back(net_.places[i].ball);
  spot.thickness = millimetres(std::max(least->ball, search_.least));
  spot.at = least->at;
  spot.normal = least->normal;
  spot.typical = std::max(millimetres(median(all)), spot.thickness);
  spot.at_root = root.empty() ? spot.typical : millimetres(median(root));
  double area = 0;
  for (const Index i : places_) area += net_.places[i].area;
  spot.area = square_millimetres(area);
  spot.samples = all.size();
}

/// Thin everywhere: held at its middle, it stands out to its farthest end.
void Region::without_root(ThinSpot& spot) const {
  std::vector<Vec3> points;
  for (const Index i : places_) points.push_back(net_.points[i]);
  const Extents e = extents_of(points);
  spot.kind = ThinSpot::Kind::plate;
  spot.reach = millimetres(e.size[0] / 2);
  spot.width = millimetres(e.size[1]);
  spot.span = millimetres(e.size[1]);
  Index far = places_.front();
  for (const Index i : places_)
    if ((net_.points[i] - e.middle).norm() > (net_.points[far] - e.middle).norm()) far = i;
  spot.end = net_.points[far];
}

/// The thick body all round a region in the middle, or the region all round a thick body.
bool Region::root_goes_round(const Extents& root) const {
  if (root.size[1] < std::max(3 * search_.limit, 0.3 * root.size[0])) return false;
  constexpr std::size_t sectors = 16;
  std::array<bool, sectors> seen{};
  for (const Vec3& p : root_) {
    const Vec3 d = p - root.middle;
    const double a =
        std::atan2(d.dot(root.axes.col(1)) / root.size[1], d.dot(root.axes.col(0)) / root.size[0]);
    seen[static_cast<std::size_t>((a / (2 * std::numbers::pi) + 0.5) * (sectors - 1e-9))] = true;
  }
  return std::count(seen.begin(), seen.end(), true) >= 13;
}

/// The way from one thick part to another that the region joins; zero when it has one root.
double Region::between_two_roots(const Extents& root, double thick) const {
  double before = -infinite, behind = infinite, first = infinite, last = -infinite;
  for (const Vec3& p : root_) {
    const double at = (p - root.middle).dot(root.axes.col(0));
    (at < 0 ? before : behind) = at < 0 ? std::max(before, at) : std::min(behind, at);
    first = std::min(first, at);
    last = std::max(last, at);
  }
  const double free = behind - before;
  return std::isfinite(free) && free > 0.5 * (last - first) && free > thick ? free : 0;
}

/// How far the surface goes on beyond the last place.
double Region::to_the_edge(Index place, const Vec3& outward) const {
  const Vec3& at = net_.points[place];
  const auto near = search_.scene.nearest(at + 2 * net_.spacing * outward);
  return near ? std::clamp(outward.dot(near->at - at), 0.0, 2 * net_.spacing) : 0;
}

void Region::with_root(ThinSpot& spot) const {
  const bool any_own =
      std::any_of(places_.begin(), places_.end(), [&](Index i) { return net_.places[i].own; });
  Index far = none;
  for (const Index i : places_)
    if (walked_[i] < infinite && net_.places[i].own == any_own && (far == none || walked_[i] > walked_[far]))
      far = i;
  if (far == none) return without_root(spot);
  const Vec3 outward = (net_.points[far] - root_of_[far]).normalized();
  const Extents root = extents_of(root_);
  const double thick = in_millimetres(spot.typical);
  spot.end = net_.points[far];
  double reach = walked_[far];
  const double off_middle = (net_.points[far] - root.middle).norm();
  if (root_goes_round(root) && off_middle < 0.3 * root.size[0]) {
    spot.kind = ThinSpot::Kind::plate;
    spot.reach = millimetres(reach);
    spot.span = millimetres(2 * reach);
    spot.width = millimetres(root.size[0]);
    return;
  }
  if (const double free = between_two_roots(root, thick); free > 0) {
    spot.kind = ThinSpot::Kind::neck;
    spot.reach = millimetres(reach);
    spot.span = millimetres(free);
    spot.width = millimetres(in_square_millimetres(spot.area) / (2 * free));
    return;
  }
  const double edge = to_the_edge(far, outward);
  reach += edge;
  spot.end += edge * outward;
  spot.outward = outward;
  spot.reach = spot.span = millimetres(reach);
  if (root_goes_round(root)) {
    spot.kind = ThinSpot::Kind::lip;
    spot.width = millimetres(in_square_millimetres(spot.area) / (2 * reach));
    return;
  }
  const double width = root.size[0];
  spot.width = millimetres(width);
  spot.kind = width <= 2 * thick || reach > 1.5 * width ? ThinSpot::Kind::tip : ThinSpot::Kind::fin;
}

ThinSpot Region::describe() {
  ThinSpot spot;
  walk_from_the_root();
  measure_thickness(spot);
  if (root_.empty())
    without_root(spot);
  else
    with_root(spot);
  return spot;
}

/// Bending under the same push at the end of a strip goes as reach / (width · thickness²); beyond twice its
/// reach the width does not help. A sheet held all round bears it about four times better.
double exposure(const ThinSpot& s) {
  const double t = std::max(in_millimetres(s.typical), 1e-6), reach = in_millimetres(s.reach);
  const double width = std::max(std::min(in_millimetres(s.width), 2 * reach), 1e-6);
  return reach / (width * t * t) * (s.outward.isZero() ? 0.25 : 1.0);
}

}  // namespace

std::vector<ThinSpot> find_thin_spots(const SpotSearch& search) {
  const Net net = NetMaker(search).make();
  if (net.places.empty()) return {};
  std::vector<ThinSpot> out;
  for (const std::vector<Index>& region : regions_of(net)) {
    // Places on a rough surface that agree on nothing are no spot.
    if (search.least > 0 &&
        std::none_of(region.begin(), region.end(), [&](Index i) { return net.places[i].own; }))
      continue;
    out.push_back(Region(search, net, region).describe());
    if (in_millimetres(out.back().thickness) >= search.limit) out.pop_back();
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const ThinSpot& a, const ThinSpot& b) { return exposure(a) > exposure(b); });
  return out;
}

}  // namespace pourwright::thickness
