// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/pipeline_run.hpp>
#include <pourwright/report_csv.hpp>

#include "support/source_folder.hpp"
#include "support/temporary_folder.hpp"
#include "workshop/run/plan_check.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>

#include <doctest/doctest.h>

using namespace pourwright;

namespace {

namespace fs = std::filesystem;

fs::path file(const fs::path& folder, std::string_view name, std::string_view text) {
  std::ofstream(folder / name, std::ios::binary) << text;
  return folder / name;
}

/// Millilitres by file name, so that no mesh is needed.
MeasureMolds knowing(std::map<std::string, std::pair<double, int>> molds) {
  return [molds = std::move(molds)](const std::vector<MoldSource>& sources) {
    std::vector<Expected<MoldVolume>> out;
    for (const MoldSource& s : sources) {
      const auto it = molds.find(s.file.filename().string());
      if (it == molds.end())
        out.emplace_back(fail(Code::file_missing, "there is no file “" + s.file.string() + "”", ""));
      else
        out.emplace_back(
            MoldVolume{Interval<Volume>::exactly(millilitres(it->second.first)), it->second.second, {}});
    }
    return out;
  };
}

const std::map<std::string, std::pair<double, int>> demo{
    {"ripple_dish.stl", {93.3, 1}}, {"knob_six.stl", {105.7, 6}}, {"hull_planter.stl", {259.9, 1}},
    {"tide_tray.obj", {188.1, 1}},  {"ring_cone.ply", {31, 1}},   {"bookend_tern.stl", {274.3, 1}}};

void check_sums(const RunReport& r) {
  CHECK(testing::complaint(r.order, r.plan) == "");
  std::map<std::string, Mass> used;
  for (const RunBatchRow& b : r.batches) {
    Mass parts, cups, pieces;
    for (const Part& p : b.parts) parts += p.mass, used[p.name] += p.mass;
    for (const RunCupRow& c : b.cups) {
      cups += c.mix;
      for (const Part& p : c.pigments) used[p.name] += p.mass;
    }
    std::map<std::string, Mass> told;
    for (const RunPieceRow& p : b.pieces) {
      pieces += p.each * p.pours;
      Mass colours;
      for (const RunPieceRow::Colour& c : p.colours) colours += c.each, told[c.name] += c.each * p.pours;
      CHECK(p.colours.empty() == b.cups.empty());
      if (!p.colours.empty()) CHECK(colours == p.each);
    }
    for (const RunCupRow& c : b.cups) CHECK(told[c.name] <= c.mix);
    CHECK(parts == b.mix);
    CHECK((b.cups.empty() || cups == b.mix));
    CHECK(b.mix >= pieces + b.residue);
    CHECK(b.mix < pieces + b.residue + r.scale_step);
    CHECK(b.mix <= r.order.limits.bucket);
    CHECK(b.mix.in_micrograms() % r.scale_step.in_micrograms() == 0);
  }
  for (const ShoppingRow& s : r.shopping) {
    CHECK(s.need == used[s.name]);
    CHECK(s.buy == std::max(Mass(), s.need - s.stock));
    Mass bought;
    for (const auto& p : s.packs) bought += p.size * p.count;
    if (!s.packs.empty()) CHECK(bought >= s.buy);
  }
  CHECK(used.size() == r.shopping.size());
}

RunReport autumn(const RunSettings& settings = {}) {
  const auto r = run_from_file(source_folder() / "docs/examples/autumn/run.toml", settings, knowing(demo));
  REQUIRE_MESSAGE(r.has_value(), (r ? std::string() : r.error().text));
  return *r;
}

}  // namespace

TEST_CASE("the autumn order: as few batches as the copies of molds allow, and everything adds up") {
  const RunReport r = autumn();
  check_sums(r);
  CHECK(r.errors.empty());
  // Of everything one more in 25 is poured. Dishes and planters 25/4, cones 21/6, trays 13/3, knobs 38/6/2
  // with bookends 7/2.
  CHECK(r.batches.size() == 7 + 4 + 5 + 4);
  CHECK(r.plan.batches_proven);
  CHECK(r.plan.waste_proven);
  CHECK(r.plan.days == 2);  // with the finishing of all pieces
  std::map<std::string, int> pours;
  for (const RunBatchRow& b : r.batches)
    for (const RunPieceRow& p : b.pieces) pours[p.name] += p.pours;
  CHECK(pours == std::map<std::string, int>{{"ripple dish", 25},
                                            {"drawer knob", 7},
                                            {"hull planter", 9},
                                            {"tide tray", 13},
                                            {"ring cone", 21},
                                            {"bookend tern", 7}});
}

TEST_CASE("a mold that cannot be measured is an entry, its pieces are left out") {
  auto molds = demo;
  molds.erase("ring_cone.ply");
  const auto r = run_from_file(source_folder() / "docs/examples/autumn/run.toml", {}, knowing(molds));
  REQUIRE(r.has_value());
  REQUIRE(r->errors.size() == 1);
  CHECK(r->errors[0].problem.code == Code::file_missing);
  CHECK(r->batches.size() == 16);
  check_sums(*r);
}

TEST_CASE("a shelf by its measures: as many stand on it as rows hold, and it is said when it binds") {
  support::TemporaryFolder folder;
  const auto planned = [&](const std::string& shelf, const std::string& stands, const MeasureMolds& measure) {
    return run_from_file(file(folder.path(), "run.toml",
                              "[bench]\nbucket = \"20 kg\"\nshelf = " + shelf + "\n[hours]\npour = \"1 s\"" +
                                  "\n[[mold]]\nkey = \"dish\"\nfile = \"dish.stl\"\ncopies = 40\n" + stands +
                                  "[[piece]]\nmold = \"dish\"\nwanted = 40\n"),
                         {}, measure);
  };
  const auto largest = [](const RunReport& r) {
    int most = 0;
    for (const RunBatchRow& b : r.batches) most = std::max(most, b.pieces[0].pours);
    return most;
  };
  const MeasureMolds measure = [](const std::vector<MoldSource>& sources) {
    MoldVolume v{Interval<Volume>::exactly(millilitres(60)), 1, {}};
    v.stands = {millimetres(140), millimetres(120)};
    return std::vector<Expected<MoldVolume>>(sources.size(), v);
  };
  // 8 by 3 of 14 x 12 cm, or 10 by 2 turned.
  const auto by_mesh = planned("\"120 x 40 cm\"", "", measure);
  REQUIRE(by_mesh.has_value());
  check_sums(*by_mesh);
  CHECK(largest(*by_mesh) <= 24);
  CHECK(by_mesh->batches.size() == 2);
  const auto advice = std::find_if(by_mesh->plan.advice.begin(), by_mesh->plan.advice.end(),
                                   [](const RunAdvice& a) { return a.limit == "shelf"; });
  REQUIRE(advice != by_mesh->plan.advice.end());
  CHECK(advice->batches_saved == 1);
  CHECK(std::any_of(by_mesh->notes.begin(), by_mesh->notes.end(), [](const Note& n) {
    return n.code == "limit-binds" && n.text.find("shelf would save 1 batch") != std::string::npos;
  }));
  // What the file says goes before the mesh; 24 + 20 stand on two boards.
  CHECK(planned("[\"120 x 40 cm\", \"100 x 40 cm\"]", "", measure)->batches.size() == 1);
  CHECK(planned("\"120 x 40 cm\"", "stands = \"30 x 40 cm\"\n", measure)->batches.size() == 10);
  CHECK(planned("\"120 x 40 cm\"", "stands = \"41 x 41 cm\"\n", measure).error().code == Code::does_not_fit);
  // In places.
  CHECK(planned("20", "", measure)->batches.size() == 2);
  CHECK(planned("20", "places = 2\n", measure)->batches.size() == 4);
  const auto unknown = planned("\"120 x 40 cm\"", "", knowing({{"dish.stl", {60, 1}}}));
  REQUIRE(!unknown.has_value());
  CHECK(unknown.error().code == Code::config_bad_value);
  CHECK(unknown.error().hint.find("stands") != std::string::npos);
}

TEST_CASE("rejects are poured and shopped for, the reserve and breaks are kept, finishing is planned") {
  const support::TemporaryFolder folder;
  const auto planned = [&](const std::string& hours, const std::string& piece, const std::string& price) {
    return run_from_file(file(folder.path(), "run.toml",
                              "[bench]\nbucket = \"2 kg\"\n[hours]\n" + hours +
                                  "[[mold]]\nkey = \"dish\"\nmix = \"100 g\"\ncopies = 10\n" +
                                  "[[piece]]\nmold = \"dish\"\nwanted = 24\n" + piece + price),
                         {}, {});
  };
  const auto whole = [](const RunReport& r) {
    int pours = 0;
    Mass need;
    for (const RunBatchRow& b : r.batches) pours += b.pieces[0].pours;
    for (const ShoppingRow& s : r.shopping) need += s.need;
    CHECK(need >= Mass::grams(100) * pours);
    return pours;
  };
  const auto bare = planned("", "", "");
  REQUIRE(bare);
  CHECK(whole(*bare) == 24);
  const std::string price = "[price]\nmarkup = \"60 %\"\nfailed = ";
  const auto spoilt = planned("", "", price + "\"8 %\"\n");
  REQUIRE(spoilt);
  CHECK(whole(*spoilt) == 27);  // 24 / 0.92 = 26.1
  CHECK(whole(*planned("", "", price + "\"4 %\"\n")) == 25);
  CHECK(whole(*planned("", "", price + "\"0 %\"\n")) == 24);
  CHECK(whole(*planned("", "", price + "\"50 %\"\n")) == 48);
  CHECK(planned("", "", price + "\"100 %\"\n").error().code == Code::config_bad_value);
  CHECK(planned("", "", price + "\"99.9 %\"\n").error().code == Code::config_bad_value);

  // 12 min, of which three quarters: 9 less 3 of mixing for molds of 2 min.
  const auto slow = planned("pour = \"2 min\"\n", "", "");
  REQUIRE(slow);
  CHECK(slow->batches[0].pieces[0].pours == 3);
  REQUIRE(slow->batches[0].spare);
  CHECK(*slow->batches[0].spare >= minutes(3));
  CHECK(planned("pour = \"2 min\"\nreserve = \"0 %\"\n", "", "")->batches[0].pieces[0].pours == 4);
  const auto late = planned("pour = \"9 min\"\n", "", "");
  REQUIRE_FALSE(late);
  CHECK(late.error().text.find("reserve") != std::string::npos);

  const auto rests = planned("breaks = [\"12:30 45 min\", \"10:00-10:15\"]\n", "finishing = \"9 min\"\n", "");
  REQUIRE(rests);
  CHECK(testing::complaint(rests->order, rests->plan) == "");
  REQUIRE(rests->order.limits.breaks.size() == 2);
  CHECK(rests->order.limits.breaks[0].from == minutes(120));
  CHECK(rests->order.limits.breaks[1].to == minutes(315));
  Duration finishing;
  for (const RunTask& t : rests->plan.tasks)
    if (t.work == RunWork::finish) finishing = finishing + (t.to - t.from);
  CHECK(finishing == minutes(24 * 9));
  for (const std::string bad :
       {"\"12:30\"", "\"noon 1 h\"", "\"12:30 0 min\"", "\"07:00 30 min\"", "\"15:50-16:10\"",
        "\"12:00 1 h\", \"12:30 1 h\"", "\"\"", "\"12:30 -5 min\"", "\"25:00 1 h\""}) {
    const auto refused = planned("breaks = [" + bad + "]\n", "", "");
    REQUIRE_MESSAGE(!refused.has_value(), bad);
  }
  for (const std::string twice : {"\"Chalk = 3 %\", \"Chalk = 5 %\"", "\"Kelp = 3 %\""}) {
    const auto refused = planned("", "colour = \"Kelp\"\naccents = [" + twice + "]\n", "");
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().text.find("twice") != std::string::npos);
  }
  CHECK_FALSE(planned("day = \"0 min\"\nbreaks = [\"12:30 1 h\"]\n", "", ""));
}

TEST_CASE("a larger bucket on the command line and an allowance count") {
  RunSettings s;
  s.mixer_max = Mass::grams(1500);
  CHECK(autumn(s).order.limits.bucket == Mass::grams(1500));
  s.mix.allowance = Ratio::percent(0);
  CHECK(autumn(s).order.pours[0].mix < autumn().order.pours[0].mix);
}

TEST_CASE("a table of pieces: grams as given, batches within the mixer") {
  const support::TemporaryFolder folder;
  RunSettings s;
  s.mixer_max = Mass::grams(100);
  const auto path = file(folder.path(), "p.csv",
                         "name;grams;count\na;70;1\nb;60;1\nc;50;1\nd;33;3\ne;11;1\nf;7;1\ng;3;1\n");
  const auto r = run_pieces(path, s);
  REQUIRE(r.has_value());
  CHECK(r->batches.size() == 4);
  CHECK(r->plan.lower_bound == 4);
  CHECK(r->plan.tasks.empty());
  CHECK(run_svg(*r).empty());
  check_sums(*r);
  s.mix.allowance = Ratio::percent(50);
  CHECK(run_pieces(path, s).error().code == Code::does_not_fit);
  s.mixer_max.reset();
  CHECK(run_pieces(path, s).error().code == Code::usage);
  s.mixer_max = Mass::grams(100);
  CHECK(run_pieces(folder.path() / "none.csv", s).error().code == Code::file_missing);
  CHECK(run_pieces(folder.path(), s).error().code == Code::file_unreadable);
}

TEST_CASE("off the scale's step: a batch is never above the mixer") {
  const support::TemporaryFolder folder;
  RunSettings s;
  s.mixer_max = *parse_mass("10.07g");
  const auto r = run_pieces(file(folder.path(), "p.csv", "a,5.03,4\nb,4.99,3\n"), s);
  REQUIRE(r.has_value());
  check_sums(*r);
  for (const RunBatchRow& b : r->batches) CHECK(b.mix <= *s.mixer_max);
}

TEST_CASE("prices: lines in the file's order, what-ifs change what they name, mistakes are refused") {
  const fs::path run = source_folder() / "docs/examples/autumn/run.toml";
  const auto plain = prices_from_file(run, {}, {}, knowing(demo));
  REQUIRE(plain.has_value());
  REQUIRE(plain->list.lines.size() == 6);
  CHECK(plain->list.lines[0].name == "ripple dish");
  CHECK(plain->list.lines[1].pieces == 36);
  for (const PriceLine& l : plain->list.lines) {
    CHECK(l.price.in_minor() % 50 == 0);
    CHECK(l.material + l.pigment + l.waste + l.mold_wear + l.labour + l.other == l.total);
  }
  const auto dearer = prices_from_file(run, {}, {"powder.price=130", "margin=50%"}, knowing(demo));
  REQUIRE(dearer.has_value());
  REQUIRE(dearer->unchanged.has_value());
  CHECK(dearer->unchanged->lines[0].price == plain->list.lines[0].price);
  CHECK(dearer->list.lines[0].price > plain->list.lines[0].price);
  for (const char* wrong :
       {"powder", "powdr.price=1", "powder.price=x", "powder.price=-1", "colour=red", "margin=lots"})
    CHECK_MESSAGE(prices_from_file(run, {}, {wrong}, knowing(demo)).error().code == Code::usage, wrong);
  CHECK(prices_from_file(run, {}, {"margin=99%"}, knowing(demo)).error().code == Code::price_impossible);
}

TEST_CASE("an output file is whole or as it was") {
  const support::TemporaryFolder folder;
  const fs::path path = folder.path() / "day.svg";
  CHECK(!write_file(path, "one", false));
  CHECK(write_file(path, "two", false)->code == Code::output_exists);
  std::string text;
  std::ifstream(path) >> text;
  CHECK(text == "one");
  CHECK(!write_file(path, "two", true));
  std::ifstream(path) >> text;
  CHECK(text == "two");
  CHECK(write_file(folder.path() / "none" / "day.svg", "x", false)->code == Code::output_failed);
  CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()) == 1);
}

TEST_CASE("the picture names no mold's tags, and the table disarms formulas") {
  RunReport r = autumn();
  r.title = "<script>&\"";
  r.order.molds[0].name = "</text><script>alert(1)</script>";
  const std::string svg = run_svg(r);
  CHECK(svg.find("<script") == std::string::npos);
  CHECK(svg.find("&lt;script&gt;&amp;") != std::string::npos);
  PriceReport p;
  p.list.lines.emplace_back();
  p.list.lines[0].name = "=HYPERLINK(\"x\")";
  CHECK(price_csv(p).find("\"'=HYPERLINK(\"\"x\"\")\"") != std::string::npos);
}
