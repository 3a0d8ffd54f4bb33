// SPDX-License-Identifier: GPL-3.0-or-later
// Files to measures and cards. Volumes against formulas; the demo molds and words are tested through the
// program.
#include <pourwright/pipeline.hpp>

#include "support/shapes.hpp"
#include "support/temporary_folder.hpp"

#include <fstream>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

void write_mold(const std::filesystem::path& path, const TriangleSoup& soup) {
  std::ofstream out(path);
  out.precision(17);
  for (const Vec3& p : soup.vertices) out << "v " << p.x() << ' ' << p.y() << ' ' << p.z() << '\n';
  for (const Triangle& t : soup.triangles)
    out << "f " << t[0] + 1 << ' ' << t[1] + 1 << ' ' << t[2] + 1 << '\n';
}

/// Six-sided cups side by side, 20 mm deep, their rim flush or 6 mm below an outer rim.
TriangleSoup tray(double rim) {
  return shapes::cavity_block(3, 2, 15, 30, 0, {{10, 30}, {10, 10}, {0, 10}}, 16, rim > 0 ? 4 : 0, rim);
}
double one_cup() {
  return shapes::polygon_factor(16) * shapes::pi * 100 * 20;
}

struct Files : support::TemporaryFolder {
  Files() {
    write_mold(path() / "tray.obj", tray(6));
    write_mold(path() / "flush.obj", tray(0));
    write_mold(path() / "brick.obj", shapes::box({0, 0, 0}, {80, 30, 20}));
    std::ofstream(path() / "letter.stl") << "Dear workshop\n";
  }
  std::vector<FoundFile> named(std::initializer_list<const char*> names) const {
    std::vector<FoundFile> out;
    for (const char* n : names) out.push_back({path() / n, 0, {}});
    return out;
  }
};

double ml(const std::optional<Interval<Volume>>& v) {
  return v ? in_millilitres(v->value) : -1;
}

}  // namespace

TEST_CASE("Rows come in order for any number of jobs, failures among them") {
  const Files files;
  auto list = files.named({"tray.obj", "letter.stl", "brick.obj", "flush.obj", "tray.obj", "brick.obj"});
  list.push_back({"missing.stl", 0, fail(Code::file_missing, "gone", "look")});
  MeasureSettings s;
  const std::string expected = [&] {
    s.jobs = 1;
    return measure_json(measure_files(list, s));
  }();
  for (const int jobs : {0, 2, 3, 16}) {
    s.jobs = jobs;
    CHECK(measure_json(measure_files(list, s)) == expected);
  }
  const MeasureReport r = measure_files(list, s);
  REQUIRE(r.files.size() == 7);
  for (std::size_t i = 0; i < 7; ++i) CHECK(r.files[i].ok() == (i != 1 && i != 6));
  CHECK(r.files[6].error->text == "gone");
  CHECK(r.files[6].cavities.empty());
}

TEST_CASE("Both readings of a tray under a rim, and every fill level") {
  const Files files;
  MeasureSettings s;
  const auto filled = [&](const char* to, const char* level) {
    s.fill_to = *parse_fill_to(to);
    s.fill = *parse_fill_level(level);
    const MeasureReport r = measure_files(files.named({"tray.obj"}), s);
    REQUIRE_MESSAGE(r.files[0].ok(), (r.files[0].ok() ? "" : r.files[0].error->text));
    return ml(r.files[0].fill) * 1000;
  };
  const double six = 6 * one_cup(), deck = 90 * 60;
  CHECK(filled("brims", "brim") == doctest::Approx(six).epsilon(1e-12));
  CHECK(filled("rim", "brim") == doctest::Approx(six + deck * 6).epsilon(1e-12));
  CHECK(filled("brims", "-5mm") == doctest::Approx(six * 0.75).epsilon(1e-12));
  CHECK(filled("brims", "5mm") == doctest::Approx(six * 0.25).epsilon(1e-12));
  CHECK(filled("brims", "80%") == doctest::Approx(six * 0.8).epsilon(1e-9));
  CHECK(filled("rim", "-2mm") == doctest::Approx(six + deck * 4).epsilon(1e-12));
  CHECK(filled("2,5", "brim") == doctest::Approx(six / 3).epsilon(1e-12));
  CHECK(filled("7", "brim") == doctest::Approx(six + deck * 6).epsilon(1e-12));
  for (const auto& [to, says] : {std::pair("8", "no cavity 8"), std::pair("2,7", "lies in cavity 7")}) {
    s.fill_to = *parse_fill_to(to);
    const MeasureReport r = measure_files(files.named({"tray.obj"}), s);
    REQUIRE(r.files[0].error.has_value());
    CHECK(r.files[0].error->text.find(says) != std::string::npos);
  }
}

TEST_CASE("Settings that are wrong by themselves are refused before any file is opened") {
  CardSettings c;
  c.copies = 0;
  CHECK(pour_card({{"nowhere.stl", 0, {}}}, c).error().code == Code::usage);
}

TEST_CASE("A card weighs what is read as mold and as piece, and lists what failed") {
  const Files files;
  CardSettings s;
  s.copies = 2;
  auto list = files.named({"tray.obj", "brick.obj", "letter.stl", "flush.obj"});
  list[3].copies = 5;
  const auto card = pour_card(list, s);
  REQUIRE(card);
  REQUIRE(card->molds.size() == 3);
  REQUIRE(card->errors.size() == 1);
  CHECK(card->errors[0].path.ends_with("letter.stl"));
  CHECK(card->molds[0].copies == 2);
  CHECK(card->molds[2].copies == 5);
  CHECK(ml(card->molds[0].fill) == doctest::Approx(6 * one_cup() / 1000).epsilon(1e-12));
  CHECK(ml(card->molds[1].fill) == doctest::Approx(48).epsilon(1e-12));
  CHECK(card->molds[1].level == "the piece's own volume");
  CHECK(card->molds[0].how.starts_with("6 cavities, each to the brim"));
  Mass sum;
  for (const CardMold& m : card->molds) sum += m.weighed.mix.value;
  CHECK(sum == card->total.mix);
  CHECK(std::any_of(card->notes.begin(), card->notes.end(),
                    [](const Note& n) { return n.code == "density-not-measured"; }));
}

TEST_CASE("A card on which everything failed has no total and no cautions") {
  const Files files;
  const auto card = pour_card(files.named({"letter.stl"}), {});
  REQUIRE(card);
  CHECK(card->molds.empty());
  CHECK(card->total.mix == Mass());
  CHECK(card->cautions.empty());
  CHECK(card->errors.size() == 1);
}

TEST_CASE("A size that makes no sense is doubted, with the unit that would") {
  const support::TemporaryFolder folder;
  const auto notes_for = [&](double scale, std::optional<LengthUnit> unit = {}) {
    write_mold(folder / "box.obj", shapes::box({0, 0, 0}, Vec3(80, 30, 20) * scale));
    MeasureSettings s;
    s.unit = unit;
    std::string text;
    const MeasureReport report = measure_files({{folder / "box.obj", 0, {}}}, s);
    for (const Note& n : report.files[0].notes)
      if (n.code == "unit-unlikely") text = n.text;
    return text;
  };
  CHECK(notes_for(1).empty());
  CHECK(notes_for(1 / 25.4).find("--unit in would make it 80 mm") != std::string::npos);
  CHECK(notes_for(0.001).find("--unit m would make it 80 mm") != std::string::npos);
  CHECK(notes_for(100).find("very large") != std::string::npos);
  CHECK(notes_for(0.001, LengthUnit::mm).empty());  // said, so not doubted
}
