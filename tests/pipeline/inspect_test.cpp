// SPDX-License-Identifier: GPL-3.0-or-later
// From a file to walls, release and risk; each stage has its own closed forms in its own tests.
#include <pourwright/pipeline_inspect.hpp>

#include "pipeline/codec.hpp"
#include "pipeline/measure.hpp"
#include "support/shapes.hpp"
#include "support/temporary_folder.hpp"

#include <fstream>

#include <Eigen/Geometry>
#include <doctest/doctest.h>

using namespace pourwright;

namespace {

void write(const std::filesystem::path& path, const TriangleSoup& soup) {
  std::ofstream out(path);
  out.precision(17);
  for (const Vec3& p : soup.vertices) out << "v " << p.x() << ' ' << p.y() << ' ' << p.z() << '\n';
  for (const Triangle& t : soup.triangles)
    out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << '\n';
}

struct Molds : support::TemporaryFolder {
  Molds() {
    // Tapered cups: 20 deep, radius 9 at the bottom and 10 at the brim; the other way round; and six of the
    // first.
    write(path() / "cup.obj", shapes::cavity_block(1, 1, 20, 30, 0, {{10, 30}, {9, 10}, {0, 10}}, 64));
    write(path() / "caught.obj", shapes::cavity_block(1, 1, 20, 30, 0, {{9, 30}, {10, 10}, {0, 10}}, 64));
    write(path() / "six.obj", shapes::cavity_block(3, 2, 20, 30, 0, {{10, 30}, {9, 10}, {0, 10}}, 64));
    write(path() / "frustum.obj", shapes::revolve({{0, 0}, {45, 0}, {40, 30}, {0, 30}}, 64));
    write(path() / "plate.obj", shapes::box({0, 0, 0}, {80, 60, 2}));
    std::ofstream(path() / "letter.stl") << "Dear workshop\n";
  }
  InspectRow inspect(const char* name, const InspectSettings& s = {}) const {
    const auto r = inspect_files({{path() / name, 0, {}}}, s);
    REQUIRE(r.has_value());
    return r->files.at(0);
  }
};

double side(double top, double bottom, double depth) {
  const double a = std::cos(shapes::pi / 64);
  return 64 * std::sin(shapes::pi / 64) * (top + bottom) * std::hypot((top - bottom) * a, depth);
}

bool noted(const InspectRow& row, std::string_view code) {
  return std::any_of(row.measured.notes.begin(), row.measured.notes.end(),
                     [&](const Note& n) { return n.code == code; });
}

}  // namespace

TEST_CASE("a mold that lies askew in single precision gives the piece of the straight one" *
          doctest::test_suite("long")) {
  // Its rim is level only up to rounding; the piece must not get a film over it.
  const Molds molds;
  const InspectRow straight = molds.inspect("cup.obj");
  for (int turn = 1; turn <= 8; ++turn) {
    CAPTURE(turn);
    const Eigen::Quaterniond q(Eigen::AngleAxisd(0.4 * turn, Vec3(0.3, 0.5, 0.1 * turn).normalized()));
    TriangleSoup soup = shapes::cavity_block(1, 1, 20, 30, 0, {{10, 30}, {9, 10}, {0, 10}}, 64);
    for (Vec3& p : soup.vertices) p = (q * p).cast<float>().cast<double>();
    write(molds.path() / "askew.obj", soup);
    InspectSettings settings;
    const Vec3 up = q * Vec3::UnitZ();
    settings.measure.up = {up.x(), up.y(), up.z()};
    const InspectRow askew = molds.inspect("askew.obj", settings);
    REQUIRE(askew.walls);
    REQUIRE(askew.release);
    CHECK(in_millimetres(askew.walls->min) ==
          doctest::Approx(in_millimetres(straight.walls->min)).epsilon(0.02));
    CHECK(in_millimetres(askew.walls->p05) ==
          doctest::Approx(in_millimetres(straight.walls->p05)).epsilon(0.02));
    // The fill plane may lie below the rim by a plateau: 0.001 mm round a rim of 20 mm.
    CHECK(std::abs(in_square_millimetres(askew.release->wall - straight.release->wall)) <
          0.001 * 20.1 * shapes::pi);
    CHECK(in_square_millimetres(askew.release->pull.undercut) < 1e-3);
  }
}

TEST_CASE("the piece of a mold is inspected, its fill plane being the opening") {
  const Molds molds;
  const InspectRow cup = molds.inspect("cup.obj");
  REQUIRE(cup.measured.ok());
  REQUIRE(cup.release);
  CHECK(cup.release->opening == Opening::fill_plane);
  CHECK(in_square_millimetres(cup.release->opening_area) ==
        doctest::Approx(shapes::polygon_factor(64) * shapes::pi * 100));
  CHECK(cup.release->pull.undercut == Area());
  CHECK(cup.release->pull.min_draft_degrees ==
        doctest::Approx(std::atan(std::cos(shapes::pi / 64) / 20) * 180 / shapes::pi).epsilon(1e-4));
  CHECK(in_square_millimetres(cup.release->wall) ==
        doctest::Approx(side(10, 9, 20) + shapes::polygon_factor(64) * shapes::pi * 81).epsilon(1e-6));
  REQUIRE(cup.walls);
  CHECK(cup.walls->of == WallsOf::piece);
  CHECK(cup.limit_from == "Generic mineral composite");
  CHECK(in_millimetres(cup.walls->limit) == 3);

  const InspectRow caught = molds.inspect("caught.obj");
  REQUIRE(caught.release);
  CHECK(in_square_millimetres(caught.release->pull.undercut) ==
        doctest::Approx(side(9, 10, 20)).epsilon(1e-6));
  CHECK_FALSE(caught.release->leaves_rigid);
  CHECK(caught.release->leaves_flexible);  // 1 mm over a radius of 9
  CHECK(noted(caught, "undercut"));
  InspectSettings stiff;
  stiff.stretch = Ratio::percent(5);
  CHECK_FALSE(molds.inspect("caught.obj", stiff).release->leaves_flexible);
}

TEST_CASE("several cavities are inspected together, at the level they are filled to") {
  const Molds molds;
  const InspectRow six = molds.inspect("six.obj");
  REQUIRE(six.release);
  CHECK(in_square_millimetres(six.release->opening_area) ==
        doctest::Approx(6 * shapes::polygon_factor(64) * shapes::pi * 100));
  CHECK(six.release->pull.undercut == Area());
  InspectSettings half;
  half.measure.fill = *parse_fill_level("-10mm");
  const InspectRow lower = molds.inspect("six.obj", half);
  REQUIRE(lower.release);
  CHECK(in_square_millimetres(lower.release->opening_area) ==
        doctest::Approx(6 * shapes::polygon_factor(64) * shapes::pi * 9.5 * 9.5));
}

TEST_CASE("a piece file is the piece, its flat top the opening unless another side is better") {
  const Molds molds;
  const InspectRow r = molds.inspect("frustum.obj");
  CHECK(r.measured.read_as(Reading::piece));
  REQUIRE(r.release);
  CHECK(r.release->opening == Opening::flat_top);
  CHECK(r.release->pull.undercut > Area());
  CHECK(r.release->best_is_turned);
  CHECK(r.release->best.direction[2] < -0.999);
  CHECK(r.release->best.undercut == Area());
  InspectSettings turned;
  turned.measure.up = {0, 0, -1};
  CHECK(molds.inspect("frustum.obj", turned).release->pull.undercut == Area());
}

TEST_CASE("the mold's own walls can be asked for, where there is a mold") {
  const Molds molds;
  InspectSettings s;
  s.of_mold = true;
  const InspectRow mold = molds.inspect("cup.obj", s);
  REQUIRE(mold.walls);
  CHECK(mold.walls->of == WallsOf::mold);
  CHECK(mold.release);
  for (const SpotRow& spot : mold.spots) CHECK(spot.help.empty());
  const InspectRow piece = molds.inspect("frustum.obj", s);
  CHECK_FALSE(piece.walls);
  CHECK(noted(piece, "mold-not-there"));
}

TEST_CASE("limits are held against each file, and a file that fails does not hold up the others") {
  const Molds molds;
  InspectSettings s;
  s.limits = {*parse_limit("undercut>10%"), *parse_limit("wall<1mm")};
  const auto r = inspect_files({{molds.path() / "caught.obj", 0, {}},
                                {molds.path() / "letter.stl", 0, {}},
                                {molds.path() / "cup.obj", 0, {}}},
                               s);
  REQUIRE(r);
  REQUIRE(r->files.size() == 3);
  REQUIRE(r->files[0].limits.size() == 2);
  CHECK(r->files[0].limits[0].exceeded);
  CHECK(r->files[1].measured.error);
  CHECK(r->files[1].limits.empty());
  CHECK_FALSE(r->files[2].limits[0].exceeded);
}

TEST_CASE("an inspection survives the way through a child process and the cache") {
  const Molds molds;
  MeasureSettings s;
  s.inspection.emplace();
  const Measured m = measure_one({molds.path() / "caught.obj", 0, {}}, s);
  REQUIRE(m.release);
  REQUIRE(m.walls);
  CHECK(m.mesh.triangles.empty());
  CHECK(m.pieces.empty());
  const std::string bytes = codec::bytes_of(m);
  const auto back = codec::measured_from(bytes);
  REQUIRE(back);
  CHECK(codec::bytes_of(*back) == bytes);
  CHECK(back->release->pull.undercut == m.release->pull.undercut);
  CHECK(back->release->pull.places.size() == m.release->pull.places.size());
  CHECK(back->walls->min == m.walls->min);
  CHECK(back->walls->spots.size() == m.walls->spots.size());
  // Other questions are other entries.
  MeasureSettings other = s;
  other.inspection->limit = millimetres(2);
  CHECK(codec::bytes_of(other) != codec::bytes_of(s));
  other = s;
  other.inspection.reset();
  CHECK(codec::bytes_of(other) != codec::bytes_of(s));
}

TEST_CASE("the card says in one line what inspect would say at length") {
  const Molds molds;
  const auto card = pour_card({{molds.path() / "caught.obj", 0, {}}, {molds.path() / "cup.obj", 0, {}}}, {});
  REQUIRE(card);
  const auto count = [&](std::size_t i, std::string_view code) {
    const Notes& n = card->molds.at(i).notes;
    return std::count_if(n.begin(), n.end(), [&](const Note& x) { return x.code == code; });
  };
  CHECK(count(0, "undercut") == 1);
  CHECK(count(1, "undercut") == 0);
  CardSettings quick;
  quick.measure.quick = true;
  const auto sooner = pour_card({{molds.path() / "caught.obj", 0, {}}}, quick);
  REQUIRE(sooner);
  for (const Note& n : sooner->molds.at(0).notes) CHECK(n.code != "undercut");
}
