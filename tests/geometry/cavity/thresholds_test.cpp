// SPDX-License-Identifier: GPL-3.0-or-later
// Every threshold of the room on the smallest mesh that shows it: one case on either side, close enough that
// half the number, or twice it, would change one of the answers.
#include <pourwright/cavity.hpp>

#include "support/solids.hpp"

#include <doctest/doctest.h>

using namespace pourwright;
using namespace shapes;

namespace {

double mm3_at_bounds(Volume v) {
  return in_cubic_millimetres(v);
}

CavityResult find(const TriangleSoup& s, CavityOptions options = {}) {
  auto r = find_cavities(solid_of(s), options);
  REQUIRE(r.has_value());
  return *r;
}

CavityResult plain(const TriangleSoup& s, CavityOptions options = {}) {
  options.look_further = false;
  return find(s, options);
}

/// Two pits of 2 × 4 × 2 side by side, the wall between them lower than the rim by `lower`, times `k`.
TriangleSoup two_pits(double lower, double k = 1) {
  const auto s = bricks({0, 1, 3, 4, 6, 7}, {0, 1, 5, 6}, {0, 1, 3 - lower, 3}, [](int i, int j, int z) {
    const bool pit = (i == 1 || i == 3) && j == 1;
    return z == 0 || (z == 1 && !pit) || (z == 2 && !pit && !(i == 2 && j == 1));
  });
  return moved(s, [k](const Vec3& p) { return Vec3(k * p); });
}

/// Prisms of 1 mm depth sunk side by side into a block, one for each volume.
TriangleSoup pits(const std::vector<double>& volumes) {
  std::vector<double> xs{0, 1};
  for (const double v : volumes) {
    xs.push_back(xs.back() + v);
    xs.push_back(xs.back() + 1);
  }
  return bricks(xs, {0, 1, 2, 3}, {0, 1, 2},
                [](int i, int j, int k) { return k == 0 || i % 2 == 0 || j != 1; });
}

}  // namespace

TEST_CASE("highest_plateau: in a small body a ten-thousandth of the diagonal is one level") {
  const double size = bounds(two_pits(0.1)).size().norm();
  // A millimetre long or a micrometre: the three decimals of a text file have no part in it.
  for (const double k : {1.0 / size, 1e-3 / size}) {
    CHECK(plain(two_pits(0.7e-4 * size, k)).cavities.list().size() == 2);
    CHECK(plain(two_pits(1.5e-4 * size, k)).cavities.list().size() == 3);  // and the pool they join
  }
  // From ten millimetres on it is the option, whose reason is the third decimal.
  const double k = 100 / size;
  CHECK(plain(two_pits(0.7e-3 / k, k)).cavities.list().size() == 2);
  CHECK(plain(two_pits(1.5e-3 / k, k)).cavities.list().size() == 3);
}

TEST_CASE("good_part: small cavities are listed when together they are three tenths of all") {
  CavityOptions o;
  o.floor_detail = 0.05;
  std::vector<double> third{65}, quarter{75};
  third.insert(third.end(), 9, 35.0 / 9);
  quarter.insert(quarter.end(), 6, 25.0 / 6);
  CHECK(plain(pits(third), o).cavities.list().size() == 10);
  CHECK(plain(pits(quarter), o).cavities.list().size() == 1);
}

TEST_CASE("uncounted: dips below a millionth of all are not even counted") {
  const auto dips = [](double share) {
    for (const Note& n : plain(pits({1000, 1000 * share})).notes)
      if (n.code == "floor-detail") return true;
    return false;
  };
  CHECK(dips(1.5e-6));
  CHECK_FALSE(dips(0.7e-6));
}

TEST_CASE(
    "one_place: cavities whose middles differ by less than a millionth of the size are numbered as if "
    "level") {
  // Two cups one behind the other; the one behind is shifted to the left by `share` of the size.
  const auto first_is_behind = [](double share) {
    const double size = Vec3(4, 7, 2).norm(), d = share * size;
    const auto s =
        bricks({0, 1, 1 + d, 3, 3 + d, 4 + d}, {0, 1, 3, 4, 6, 7}, {0, 1, 2}, [](int i, int j, int k) {
          const bool front = j == 1 && (i == 2 || i == 3), behind = j == 3 && (i == 1 || i == 2);
          return k == 0 || !(front || behind);
        });
    const auto r = plain(s);
    REQUIRE(r.cavities.list().size() == 2);
    return r.cavities.wetted(1).middle.y() > 3.5;
  };
  CHECK(first_is_behind(1.5e-6));
  CHECK_FALSE(first_is_behind(0.7e-6));
}

TEST_CASE("flood_share and step_share: which reading of a pool is poured") {
  // Two pits 10 long and 2 deep in a tray 21 long and 2·`ratio` deep. The widths of pits and tray are chosen
  // so that the pits hold `share` of it all; the narrower lies in the middle of the wider.
  const auto pool_is_filled = [](double share, double ratio) {
    const double wider = (1 / share - 1) * 20 / (21 * ratio);  // tray to pits
    const double pit = wider < 1 ? 10 : 10 / wider, tray = wider < 1 ? 10 * wider : 10;
    const double inner = std::min(pit, tray) / 2;
    const auto s = bricks({0, 1, 11, 12, 22, 23}, {0, 1, 6 - inner, 6 + inner, 11, 12},
                          {0, 1, 3, 3 + 2 * ratio}, [&](int i, int j, int k) {
                            const bool wide = j > 0 && j < 4, narrow = j == 2;
                            const bool in_pit = (i == 1 || i == 3) && (pit < tray ? narrow : wide);
                            const bool in_tray = i > 0 && i < 4 && (pit < tray ? wide : narrow);
                            return !((k == 1 && in_pit) || (k == 2 && in_tray));
                          });
    const auto r = plain(s);
    REQUIRE(r.cavities.list().size() == 3);
    const Cavity& pool = r.cavities.list().back();
    CHECK((mm3_at_bounds(r.cavities.at(1).capacity.value) + mm3_at_bounds(r.cavities.at(2).capacity.value)) /
              mm3_at_bounds(pool.capacity.value) ==
          doctest::Approx(share));
    return pool.filled;
  };
  CHECK_FALSE(pool_is_filled(0.65, 1.5));  // a flood over a deck, though it is the deeper
  CHECK(pool_is_filled(0.55, 1.5));        // close: the tray is deeper than the pits
  CHECK(pool_is_filled(0.35, 0.7));        // steps in a floor, though they are the deeper
  CHECK_FALSE(pool_is_filled(0.45, 0.7));  // close: the pits are deeper
}

TEST_CASE("least_air: a ten-millionth of the cavity caught is no air trap") {
  // A chimney of w × w × w, closed above, at the end of a side cave of a cup of 10 × 10 × 10.
  const auto traps = [](double share) {
    const double w = std::cbrt(share * 1000);
    const auto s = bricks({0, 1, 11, 12 - w, 12, 13}, {0, 1, 6, 6 + w, 11, 12}, {0, 1, 5, 6, 6 + w, 11},
                          [](int i, int j, int k) {
                            const bool cup = i == 1 && j > 0 && j < 4 && k > 0;
                            const bool cave = (i == 2 || i == 3) && j == 2 && k == 2;
                            const bool chimney = i == 3 && j == 2 && k == 3;
                            return !(cup || cave || chimney);
                          });
    const auto r = find(s);
    REQUIRE(r.cavities.list().size() == 1);
    return r.cavities.at(1).air_traps.size();
  };
  CHECK(traps(1.5e-7) == 1);
  CHECK(traps(0.7e-7) == 0);
}

TEST_CASE("least_top: a ripple of a tenth of a pocket's height wants no vent of its own") {
  // Beside a cup, a chamber that liquid closes at 5: its roof is at 16, at 15 behind a beam, and `rise` lower
  // at the beam.
  const auto tops = [](double rise) {
    const auto s = bricks({0, 1, 11, 13, 15, 16, 18, 19}, {0, 1, 11, 12}, {0, 1, 5, 15 - rise, 15, 16, 20},
                          [](int i, int j, int k) {
                            if (j != 1 || k == 0) return true;
                            const int roof[] = {0, 6, 2, 5, 3, 4, 0};  // layers below that are void
                            return k >= roof[i];
                          });
    const auto r = find(s);
    REQUIRE(r.cavities.list().size() == 1);
    REQUIRE(r.cavities.at(1).air_traps.size() == 1);
    CHECK(in_millimetres(r.cavities.at(1).air_traps[0].lip) == 5);
    return r.cavities.at(1).air_traps[0].tops;
  };
  CHECK(tops(1.5) == 2);
  CHECK(tops(0.8) == 1);
}

TEST_CASE("least_cubes: columns say nothing of what is smaller than sixteen of them") {
  // A leaking cup of a × a × a in a block of 100 × 100, which 320 columns see (it has a passage): 4000 cubes
  // of 0.3125 mm are 122 mm³.
  const auto told = [](double volume) {
    const double a = std::cbrt(volume);
    const auto s = bricks({0, 40, 40 + a, 100}, {0, 40, 41, 41.002, 40 + a, 100}, {0, 1, 2, 1 + a},
                          [](int i, int j, int k) {
                            const bool cup = i == 1 && j > 0 && j < 4 && k > 0;
                            return !(cup || (i == 0 && j == 2 && k == 1));
                          });
    return find(s).unheld.size();
  };
  CHECK(told(160) == 1);
  CHECK(told(90) == 0);
}

TEST_CASE("narrow_throat: a passage below a twentieth of the section drains, a wider one is a tube") {
  const auto drains = [](double share) {
    const double w = std::sqrt(share) * 40;
    const auto s = bricks({0, 5, 25 - w / 2, 25 + w / 2, 45, 50}, {0, 5, 25 - w / 2, 25 + w / 2, 45, 50},
                          {0, 5, 40}, [](int i, int j, int k) {
                            const bool in = i > 0 && i < 4 && j > 0 && j < 4;
                            return k == 0 ? !(i == 2 && j == 2) : !in;
                          });
    return find(s).drains.size();
  };
  CHECK(drains(0.04) == 1);
  CHECK(drains(0.06) == 0);
}

TEST_CASE("straight: a drain a twentieth wider at its upper end is closed there, flush with the floor") {
  // A bore of 4 × 4 through a floor of 6, drafted on one side to 4 × 4·f.
  const auto held = [](double f) {
    const auto s =
        bricks({0, 5, 23, 27, 45, 50}, {0, 5, 23, 27, 45, 50}, {0, 6, 40}, [](int i, int j, int k) {
          const bool in = i > 0 && i < 4 && j > 0 && j < 4;
          return k == 0 ? !(i == 2 && j == 2) : !in;
        });
    const auto r = find(moved(s, [f](const Vec3& p) {
      const bool end = p.z() == 6 && p.x() == 27 && p.y() >= 23 && p.y() <= 27;
      return end ? Vec3(23 + 4 * f, p.y(), p.z()) : p;
    }));
    REQUIRE(r.drains.size() == 1);
    return mm3_at_bounds(r.drains[0].would_hold) - 40.0 * 40 * 34;
  };
  CHECK(std::abs(held(1.03)) < 1e-6);
  CHECK(held(1.08) > 4 * 4 * 5);  // closed near its lower end, so that the bore holds as well
}

TEST_CASE("most_holes: the lowest six are plugged") {
  // `n` holes side by side in a wall 1 mm thick, all up to z = 7, each 0.1 mm lower than the next.
  const auto holes = [](int n) {
    std::vector<double> ys{0, 1}, zs{0, 1};
    for (int h = 0; h < n; ++h) {
      ys.push_back(ys.back() + 2);
      ys.push_back(ys.back() + 1);
      zs.push_back(5 + 0.1 * h);
    }
    ys.insert(ys.end(), {ys.back() + 2, ys.back() + 3});
    zs.insert(zs.end(), {7, 20});
    const int walls = static_cast<int>(ys.size()) - 2;
    const auto s = bricks({0, 1, 11, 12}, ys, zs, [&](int i, int j, int k) {
      const bool in = i == 1 && j > 0 && j < walls && k > 0;
      const bool hole = i == 2 && j % 2 == 0 && j > 0 && j < walls && k >= 1 + j / 2 && k <= n + 1;
      return !(in || hole);
    });
    return find(s).drains.size();
  };
  CHECK(holes(4) == 4);
  CHECK(holes(7) == 6);
}

TEST_CASE("clearly_more: a mold is turned when it holds a fiftieth more the other way up") {
  const auto turned = [](double f) {
    const auto s = bricks({0, 1, 11, 12}, {0, 1, 11, 12}, {0, 10 * f, 10 * f + 1, 10 * f + 11},
                          [](int i, int j, int k) { return i != 1 || j != 1 || k == 1; });
    const auto pose = choose_up(solid_of(s));
    REQUIRE(pose.has_value());
    return pose->up.z() < 0;
  };
  CHECK(turned(1.03));
  CHECK_FALSE(turned(1.013));
}

TEST_CASE("slack_share: a volume that is the capacity but for its last digits is the brim") {
  const auto r = plain(pits({10}));
  const double v = mm3_at_bounds(r.cavities.at(1).capacity.value);
  CHECK(r.cavities.level(1, {FillLevel::Kind::volume, v * (1 + 0.7e-9)}).has_value());
  CHECK_FALSE(r.cavities.level(1, {FillLevel::Kind::volume, v * (1 + 1.5e-9)}).has_value());
}
