// SPDX-License-Identifier: GPL-3.0-or-later
// Records change a card's numbers only with a note that names the number replaced, and never those the user
// gave.
#include <pourwright/pipeline_learn.hpp>

#include "support/demo_workshop.hpp"
#include "support/temporary_folder.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fstream>

#include <doctest/doctest.h>
#include <sqlite3.h>

using namespace pourwright;

namespace {

const Note* find(const Notes& notes, std::string_view code) {
  const auto it = std::find_if(notes.begin(), notes.end(), [&](const Note& n) { return n.code == code; });
  return it == notes.end() ? nullptr : &*it;
}

struct Bench {
  support::TemporaryFolder folder;
  MixSettings settings;
  std::filesystem::path mesh = folder / "dish.stl";
  Bench() {
    settings.workshop = support::demo_workshop();
    settings.ledger = folder / "ledger.db";
    std::ofstream(mesh) << "solid dish\nendsolid dish\n";
  }
  std::int64_t add(const What& what) {
    const auto r = add_record(settings, 1'791'797'400, what);
    REQUIRE(r);
    return r->id;
  }
  void water(double grams, std::string content = {}) {
    add(WaterFill{"dish", std::move(content), Mass::grams(grams), celsius(20), Mass::grams(0.1), ""});
  }
  void cup(double grams) {
    add(DensityCup{"boathouse-3.2", millilitres(200), Mass::grams(grams), Mass::grams(0.1), ""});
  }
  std::int64_t pour(double mixed, double left, std::string mold = "dish") {
    TestPour p;
    p.molds = {{std::move(mold), "", 1}};
    p.mix = "boathouse-3.2";
    p.ratio = Ratio::of(3.2);
    p.mixed = Mass::grams(mixed);
    p.left = Mass::grams(left);
    p.scale_step = Mass::grams(1);
    return add(p);
  }
  MoldOfCard mold(bool full = true) const {
    return {mesh.string(), 1, {millilitres(150), millilitres(149.9), millilitres(150.1), {}}, full};
  }
  BatchNeed card(bool full = true) {
    const auto chosen = choose_mix(settings);
    REQUIRE(chosen);
    auto need = batch_need(*chosen, {mold(full)}, settings);
    REQUIRE(need);
    return std::move(*need);
  }
};

}  // namespace

TEST_CASE("a mold is known by its file's name") {
  CHECK(mold_name("molds/ripple_dish.stl") == "ripple_dish");
  CHECK(mold_name("ripple_dish") == "ripple_dish");
  CHECK(mold_name("a.b/Dish.v2.STL") == "Dish.v2");
  CHECK(mold_name("dish.v2") == "dish.v2");
  CHECK(mold_name(".stl") == ".stl");
}

TEST_CASE("no ledger, or one that holds nothing of this card, changes nothing") {
  Bench b;
  const auto before = b.card();
  CHECK_FALSE(before.learned);
  b.add(WaterFill{"other", "", Mass::grams(10), celsius(20), Mass(), ""});
  b.add(DensityCup{"slip-plaster", millilitres(200), Mass::grams(316), Mass(), ""});
  CHECK_FALSE(b.card().learned);
  CHECK(b.card().allowance == before.allowance);
  CHECK(b.card().notes.empty());
  CHECK_FALSE(batch_need(*choose_mix(b.settings), {}, b.settings));
}

TEST_CASE("water fills change the capacity, with a note that has both numbers") {
  Bench b;
  b.water(143);
  b.water(143.4);
  const auto l = b.card();
  CHECK(in_millilitres(l.fills[0].value) == doctest::Approx(143.8).epsilon(0.005));
  CHECK(l.fills[0].low < l.fills[0].value);
  CHECK(l.fills[0].value < l.fills[0].high);
  const Note* n = find(l.mold_notes[0], "capacity-learned");
  REQUIRE(n);
  CHECK(n->text.find("2 water fills") != std::string::npos);
  CHECK(n->text.find("150.0 ml") != std::string::npos);
  CHECK(l.mix.density == grams_per_millilitre(1.86));
  CHECK(l.added.code == "allowance-forecast");
}

TEST_CASE("another filling level leaves water fills and pours out, and says so") {
  Bench b;
  b.water(143);
  b.pour(310, 20);
  const auto l = b.card(false);
  CHECK(l.fills[0].value == millilitres(150));
  CHECK(find(l.mold_notes[0], "records-not-used"));
  CHECK(l.forecast.pours == 0);
}

TEST_CASE("records of another file under the same name are left out with a warning") {
  Bench b;
  b.water(120, "0123456789abcdef");
  b.water(143, content_key(b.mesh));
  const auto l = b.card();
  CHECK(in_millilitres(l.fills[0].value) > 142);
  const Note* n = find(l.mold_notes[0], "mold-file-changed");
  REQUIRE(n);
  CHECK(n->warning);
  std::ofstream(b.mesh) << "solid dish2\nendsolid dish2\n";
  CHECK(b.card().fills[0].value == millilitres(150));
}

TEST_CASE("cups change the density, pours the allowance; what the user gives stands") {
  Bench b;
  b.cup(365);
  b.cup(366);
  for (int i = 0; i < 10; ++i) b.pour(300, 20 + i % 3);
  auto l = b.card();
  CHECK(l.mix.density_from == DensityFrom::records);
  CHECK(l.mix.density < grams_per_millilitre(1.86));
  REQUIRE(find(l.notes, "density-learned"));
  CHECK(find(l.notes, "density-learned")->text.find("1.86") != std::string::npos);
  CHECK(l.added.code == "allowance-learned");
  CHECK(l.added.text.find("10 pours") != std::string::npos);
  CHECK(l.added.text.find("1 time in 100") != std::string::npos);
  // The batch is what the allowance makes of the fill.
  const double base = (l.fills[0].value * l.mix.density).in_grams();
  CHECK(base * (1 + l.allowance.value()) == doctest::Approx(l.forecast.batch_g).epsilon(1e-6));
  CHECK(l.forecast.batch_g > 280);
  CHECK(l.forecast.batch_g < 296);

  b.settings.allowance = Ratio::percent(7);
  l = b.card();
  CHECK(l.allowance == Ratio::percent(7));
  CHECK(l.allowance_fixed);
  CHECK(l.added.code == "allowance-given");
  CHECK(l.running_short(Mass::grams(base * 1.07)).chance ==
        doctest::Approx(l.forecast.chance_of_short(base * 1.07)));
  b.settings.allowance.reset();
  b.settings.density = grams_per_millilitre(1.9);
  CHECK(b.card().mix.density == grams_per_millilitre(1.9));
  b.settings.density.reset();
  b.settings.ratio = Ratio::of(2.6);  // pours and cups were at 3.2
  CHECK_FALSE(b.card().learned);
}

TEST_CASE("a withdrawn record no longer counts") {
  Bench b;
  const auto id = b.pour(300, 20);
  CHECK(b.card().learned);
  b.add(Withdrawal{id, "spilt"});
  CHECK_FALSE(b.card().learned);
}

TEST_CASE("a workshop is looked over: what it holds, and whether its records are whole") {
  Bench b;
  CHECK(look_over(b.settings)->ledger.empty());
  b.pour(300, 20);
  const auto whole = look_over(b.settings);
  REQUIRE(whole);
  CHECK(whole->records == 1);
  CHECK_FALSE(whole->damage);
  CHECK(whole->scales == load_catalogue(b.settings.workshop)->scales.size());
  std::ofstream(b.settings.ledger) << std::string(4096, 'x');
  CHECK(look_over(b.settings)->damage);
  b.settings.workshop = "no such folder";
  CHECK_FALSE(look_over(b.settings));
}

TEST_CASE("a damaged ledger is a warning, and the card is as without one") {
  Bench b;
  std::ofstream(b.settings.ledger) << std::string(4096, 'x');
  const auto l = b.card();
  CHECK(l.fills[0].value == millilitres(150));
  CHECK_FALSE(l.learned);
  REQUIRE(find(l.notes, "ledger-not-used"));
  CHECK(find(l.notes, "ledger-not-used")->warning);
}

TEST_CASE("a batch by volume takes the learned density") {
  Bench b;
  b.cup(360);
  const auto r = mix({millilitres(100), {}, {}}, b.settings);
  REQUIRE(r);
  CHECK(r->chosen.mix.density < grams_per_millilitre(1.85));
  CHECK(find(r->chosen.notes, "density-learned"));
  b.settings.ledger.clear();
  CHECK(mix({millilitres(100), {}, {}}, b.settings)->chosen.mix.density == grams_per_millilitre(1.86));
}

TEST_CASE("the report knows a mold from its pours alone") {
  Bench b;
  for (int i = 0; i < 5; ++i) b.pour(300, 20 + i % 3, "bowl");
  const auto r = learn_report({}, b.settings);
  REQUIRE(r);
  REQUIRE(r->molds.size() == 1);
  CHECK(r->molds[0].mold == "bowl");
  CHECK(r->molds[0].pours == 5);
  REQUIRE(r->forecast);
  CHECK(r->forecast->expected_g == doctest::Approx(279).epsilon(0.01));
  CHECK(learn_report({{"unknown.stl", 1, {}}}, b.settings)->forecast.has_value() == false);
}

// A ledger of a million pours answers a card in under 50 ms more than an empty one.
TEST_CASE("a million pours" * doctest::test_suite("long")) {
#if defined(__SANITIZE_ADDRESS__)
  return;
#endif
  Bench b;
  b.water(143);
  sqlite3* db = nullptr;
  REQUIRE(sqlite3_open(b.settings.ledger.c_str(), &db) == SQLITE_OK);
  REQUIRE(sqlite3_exec(db,
                       "PRAGMA synchronous=OFF; BEGIN;"
                       "CREATE TEMP TABLE n AS WITH RECURSIVE c(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM "
                       "c WHERE i < 1000001) SELECT i FROM c;"
                       "INSERT INTO record SELECT i, 1791797400 + i, 'pour', '' FROM n;"
                       "INSERT INTO test_pour SELECT i, 'boathouse-3.2', 3200000, 300000000, 20000000 + "
                       "1000000 * (i % 3), 1, 0, NULL, 1000000, '', '', 0 FROM n;"
                       "INSERT INTO test_pour_mold SELECT i, 0, CASE i % 4 WHEN 0 THEN 'dish' ELSE 'mold' || "
                       "i % 97 END, '', 1, 'boathouse-3.2' FROM n;"
                       "COMMIT",
                       nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(db);
  double quickest = 1e9;
  for (int i = 0; i < 7; ++i) {
    const auto start = std::chrono::steady_clock::now();
    const auto l = b.card();
    quickest =
        std::min(quickest,
                 std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count());
    CHECK(l.forecast.of_these_molds >= 100);
  }
  MESSAGE("a card takes " << quickest << " ms more with a million pours");
}
