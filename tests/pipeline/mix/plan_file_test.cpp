// SPDX-License-Identifier: GPL-3.0-or-later
#include <pourwright/pipeline_split.hpp>

#include "support/demo_workshop.hpp"

#include <fstream>

#include <doctest/doctest.h>
#include <unistd.h>

using namespace pourwright;
namespace fs = std::filesystem;

namespace {

const std::string step = "[[step]]\ncups = [\"all, Kelp = 2 %\"]\n";

class PlanFile {
 public:
  explicit PlanFile(const std::string& text)
      : path_(fs::temp_directory_path() / ("pourwright-plan-" + std::to_string(::getpid()) + ".toml")) {
    std::ofstream(path_, std::ios::binary) << text;
  }
  ~PlanFile() {
    std::error_code ignored;
    fs::remove(path_, ignored);
  }
  PlanFile(const PlanFile&) = delete;
  PlanFile& operator=(const PlanFile&) = delete;
  std::optional<Problem> read(SplitRequest& r, MixSettings& s) const { return read_split_plan(path_, r, s); }

 private:
  fs::path path_;
};

Problem problem_of(const std::string& text) {
  SplitRequest r;
  MixSettings s;
  const auto problem = PlanFile(text).read(r, s);
  REQUIRE_MESSAGE(problem, text);
  return *problem;
}
bool contains(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("the example plan: every gram is followed") {
  SplitRequest r;
  MixSettings s;
  REQUIRE_FALSE(read_split_plan(source_folder() / "docs/examples/plans/dishes.toml", r, s));
  CHECK(r.title == "Kelp dishes, slate knobs");
  CHECK(r.total == Mass::grams(1150));
  CHECK(s.material == "Boathouse 3.2");
  REQUIRE(r.plan.steps.size() == 2);
  CHECK(r.plan.steps[0].technique == Technique::veins);
  CHECK(r.plan.steps[0].take == Mass::grams(800));
  CHECK(r.plan.steps[0].portions == 5);
  CHECK(r.plan.steps[1].carry);
  CHECK(r.plan.steps[1].rest);
  s.workshop = support::demo_workshop();
  const auto report = split(r, s);
  REQUIRE(report);
  Mass in = report->plan.mix, out = report->plan.left + report->plan.bucket;
  for (const FilledStep& f : report->plan.steps) {
    for (const FilledCup& c : f.cups) in += c.pigment;
    out += f.poured + f.residue;
  }
  CHECK(in == out);
  CHECK(report->plan.bucket == Mass());
}

TEST_CASE("what the command line says goes before the file") {
  SplitRequest r;
  MixSettings s;
  r.liquid = Mass::grams(200);
  r.plan.residue = Mass::grams(5);
  s.material = "boathouse-fine";
  REQUIRE_FALSE(
      PlanFile("grams = \"500 g\"\nresidue = \"2 g\"\nmaterial = \"slip-plaster\"\n" + step).read(r, s));
  CHECK_FALSE(r.total);
  CHECK(r.liquid == Mass::grams(200));
  CHECK(r.plan.residue == Mass::grams(5));
  CHECK(s.material == "boathouse-fine");
}

TEST_CASE("mistakes are named with line and column, and what was probably meant") {
  CHECK(contains(problem_of("title = \"x\"\n").text, "no step"));
  CHECK(contains(problem_of("gram = \"500 g\"\n" + step).hint, "grams"));
  CHECK(contains(problem_of("grams = \"500 g\"\nliquid = \"100 g\"\n" + step).text, "contradict"));
  CHECK(contains(problem_of(step + "technique = \"vein\"\n").text, ":3:13"));
  CHECK(contains(problem_of(step + "drops = 4\n").text, "veins"));
  CHECK(contains(problem_of(step + "technique = \"veins\"\nlayers = 4\n").text, "layered"));
  CHECK(contains(problem_of(step + "take = \"640\"\n").text, "take"));
  CHECK(contains(problem_of(step + "take = \"120 %\"\n").text, "take"));
  CHECK(contains(problem_of("[[step]]\nname = \"a\"\n").text, "no cups"));
  CHECK(contains(problem_of("[[step]]\ncups = [\"a = 50 %, Kelp\"]\n").text, "NAME=DOSE"));
  CHECK(problem_of("[[step]\n").code == Code::config_syntax);
  SplitRequest r;
  MixSettings s;
  CHECK(read_split_plan("nowhere.toml", r, s)->code == Code::file_missing);
}
