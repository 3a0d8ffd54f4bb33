// SPDX-License-Identifier: GPL-3.0-or-later
// `learn` as people type it.
#include "cli/run.hpp"
#include "support/temporary_folder.hpp"

#include <fstream>
#include <iterator>
#include <sstream>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

using namespace pourwright::cli;

namespace {

struct Workshop {
  support::TemporaryFolder folder;
  Surroundings around;
  Workshop() { around.now = 1'791'797'400; }
  Outcome run(const std::string& text) const {
    std::istringstream in(text);
    std::vector<std::string> words{std::istream_iterator<std::string>(in), {}};
    words.push_back("--workshop");
    words.push_back(folder.path().string());
    return pourwright::cli::run(words, around);
  }
  nlohmann::json document(const std::string& text) const {
    const Outcome o = run(text + " --json");
    CAPTURE(text);
    REQUIRE(nlohmann::json::accept(o.out));
    return nlohmann::json::parse(o.out);
  }
};

}  // namespace

TEST_CASE("water, cup and pour are recorded and the estimates follow") {
  Workshop w;
  const auto water = w.document("learn water molds/bowl.stl --grams 418.2g --celsius 18 --scale-step 0.1g");
  CHECK(water["recorded"]["id"] == 1);
  CHECK(water["recorded"]["at"] == "2026-10-12T09:30:00Z");
  CHECK(water["molds"][0]["mold"] == "bowl");
  // Tanaka's water at 18 °C weighed in air: 418.2 g are 419.2 ml.
  CHECK(water["molds"][0]["capacity_mm3"]["value"].get<double>() == doctest::Approx(419'250).epsilon(2e-4));
  const auto cup = w.document("learn cup --ml 200 --grams 372g");
  CHECK(cup["material"]["density_cups"] == 1);
  const auto before = cup["forecast"]["batch_g"].get<double>();
  CHECK(before > 790);
  const auto pour = w.document("learn pour bowl --mixed 820g --left 31g --room 17C --cups 1");
  CHECK(pour["recorded"]["mixed_g"] == 820);
  CHECK(pour["recorded"]["room_c"] == 17);
  CHECK(pour["forecast"]["pours"] == 1);
  CHECK(pour["forecast"]["batch_g"].get<double>() < before);
  CHECK(w.document("learn list")["records"].size() == 3);
  CHECK(w.document("learn list --kind pour")["records"].size() == 1);
  CHECK(w.document("learn withdraw 3 --note spilt")["forecast"]["pours"] == 0);
  CHECK(w.run("learn check").exit_code == 0);
  CHECK(std::filesystem::exists(w.folder / "ledger.db"));
  CHECK_FALSE(std::filesystem::exists(w.folder / "ledger.db-wal"));
}

TEST_CASE("an export brought into another workshop is the same workshop") {
  Workshop a, b;
  a.run("learn water bowl --grams 418.2g --celsius 18");
  a.run("learn cup --ml 200 --grams 372g");
  a.run("learn pour bowl:2 --mixed 1640g --left 60g");
  for (const std::string form : {"csv", "json"}) {
    std::ofstream(b.folder / "records") << a.run("learn export " + form).out;
    const auto first = b.document("learn import " + (b.folder / "records").string());
    CHECK(first["added"].get<int>() + first["known"].get<int>() == 3);
  }
  CHECK(b.document("learn show bowl") == a.document("learn show bowl"));
}

TEST_CASE("what is missing or wrong is said, and nothing is recorded") {
  Workshop w;
  struct {
    const char* line;
    int exit_code;
  } lines[] = {
      {"learn water --grams 418.2g", 64},
      {"learn water bowl", 64},
      {"learn water bowl --grams 418.2g --celsius 180", 65},
      {"learn water bowl dish --grams 418.2g", 64},
      {"learn water bowl --grams -3", 65},
      {"learn cup --grams 372g", 64},
      {"learn cup --ml 200 --grams 3720g", 65},
      {"learn cup --ml 200 --grams 372g --material none", 64},
      {"learn pour bowl --mixed 820g", 64},
      {"learn pour bowl --mixed 820g --left 820g", 65},
      {"learn pour bowl bowl --mixed 820g --left 20g", 65},
      {"learn withdraw", 64},
      {"learn withdraw 5", 66},
      {"learn export xml", 64},
      {"learn export", 66},
      {"learn import nowhere.csv", 66},
      {"learn check", 66},
      {"learn list --kind puor", 64},
      {"learn wtaer bowl", 64},
  };
  for (const auto& [line, exit_code] : lines) {
    CAPTURE(line);
    const Outcome o = w.run(line);
    CHECK(o.exit_code == exit_code);
    CHECK(o.out.empty());
    CHECK(o.err.find("→") != std::string::npos);
  }
  CHECK(w.document("learn list")["records"].empty());
}

TEST_CASE(
    "without a workshop folder the ledger lies with the program's data, and without that it is asked for") {
  support::TemporaryFolder home;
  Surroundings around;
  const auto run_in = [&](const std::string& folder) {
    around.data_folder = folder;
    return run({"learn", "cup", "--ml", "200", "--grams", "372"}, around);
  };
  CHECK(run_in((home / "share" / "pourwright").string()).exit_code == 0);
  CHECK(std::filesystem::exists(home / "share" / "pourwright" / "ledger.db"));
  CHECK(run_in("").exit_code == 64);
}
