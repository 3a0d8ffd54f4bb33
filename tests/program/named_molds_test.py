#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Molds that have no file, and that one reckoning stands behind every command that weighs for a mold."""
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import meshes
from support.program import ROOT, ProgramTest, main

TERN = ROOT / "docs/examples/tern"


class Bench(ProgramTest):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory(prefix="pourwright-named-")
        self.folder = Path(self.temporary.name).resolve()
        self.shop = self.folder / "shop"
        self.shop.mkdir()
        text = (TERN / "tern.toml").read_text(encoding="utf-8")
        (self.shop / "tern.toml").write_text(text, encoding="utf-8")

    def tearDown(self):
        self.temporary.cleanup()

    def run_(self, *words, code=0):
        run = self.program.run(*map(str, words), cwd=self.folder)
        self.assertEqual(run.code, code, str(run))
        return run

    def shop_json(self, *words, schema=None):
        return self.json(*map(str, words), "--workshop", "shop", cwd=self.folder, schema=schema)

    def learn(self, *words):
        return self.run_("learn", *words, "--workshop", "shop")

    def run_file(self, mold, more="", price=False):
        path = self.folder / "order.toml"
        path.write_text('[bench]\nbucket = "2.4 kg"\nscale-step = "0.01 g"\n[[mold]]\nkey = "m"\n' + mold + more
                        + '[[piece]]\nname = "piece"\nmold = "m"\nwanted = 1\n'
                        + ('[price]\nlabour = "24"\nmarkup = "50 %"\n[[supply]]\nname = "acrylic liquid"\nprice = "8.00"\n'
                           '[[supply]]\nname = "mineral powder"\nprice = "2.40"\n' if price else ""), encoding="utf-8")
        return path


class Names(Bench):
    def test_a_water_fill_makes_a_mold(self):
        self.learn("water", "daisy tray", "--grams", "93.1g", "--celsius", "16")
        card = self.shop_json("daisy tray", schema="card")
        mold = card["molds"][0]
        self.assertEqual((mold["path"], mold["copies"]), ("daisy tray", 1))
        self.assertAlmostEqual(float(mold["fill_mm3"]["value"]), 93290, delta=60)
        self.assertLess(mold["fill_mm3"]["low"], mold["fill_mm3"]["value"])
        self.assertLess(float(mold["fill_mm3"]["high"]), 1.05 * float(mold["fill_mm3"]["value"]))
        self.assertIn("mold-by-name", [n["code"] for n in mold["notes"]])
        four = self.shop_json("card", "Daisy Tray:4", schema="card")["molds"][0]
        self.assertEqual((four["path"], four["copies"]), ("daisy tray", 4))
        self.assertIn("daisy tray", self.run_("daisy tray", "--workshop", "shop").out)
        half = self.shop_json("daisy tray", "--fill", "50%", schema="card")["molds"][0]
        self.assertAlmostEqual(float(half["fill_mm3"]["value"]), 46645, delta=30)
        self.run_("daisy tray", "--workshop", "shop", "--fill", "-2mm", code=64)
        self.run_("daisy tray", "--workshop", "shop", "--fill", "200ml", code=64)

    def test_one_word_is_enough(self):
        self.learn("water", "daisy", "--grams", "93.1g")
        self.assertEqual(self.shop_json("daisy", schema="card")["molds"][0]["path"], "daisy")
        self.assertIn("did you mean “daisy”", self.run_("dasy", "--workshop", "shop", code=64).err)
        self.assertIn("measure", self.run_("messure", "--workshop", "shop", code=64).err)
        self.run_("daisy", code=64)  # not in this workshop

    def test_a_misspelt_name_gets_the_near_one(self):
        self.learn("water", "daisy tray", "--grams", "93.1g")
        for words in (["card", "daisy tary"], ["daisy tary"], ["run", "daisy tary"], ["leftover", "daisy tary", "--grams", "90g"]):
            run = self.run_(*words, "--workshop", "shop", code=66)
            self.assertIn("daisy tray", run.err, words)

    def test_a_file_goes_first_and_what_looks_like_one_stays_an_error(self):
        self.learn("water", "daisy tray", "--grams", "93.1g")
        self.learn("water", "bowl.stl", "--grams", "50g")
        for name in ("bowl.stl", "./daisy tray", "daisy tray.stl", "molds/daisy tray", "daisy tray.toml"):
            self.run_("card", name, "--workshop", "shop", code=66)
        self.assertEqual(self.shop_json("card", "bowl", schema="card")["molds"][0]["path"], "bowl")
        meshes.write_stl(self.folder / "daisy tray", meshes.cup(60, 40, 30, wall=5, floor=5).triangles())
        mold = self.shop_json("card", "daisy tray", "--no-learned", schema="card")["molds"][0]
        self.assertAlmostEqual(float(mold["fill_mm3"]["value"]), 72000, delta=1)

    def test_names_and_files_share_a_card(self):
        self.learn("water", "daisy tray", "--grams", "93.1g")
        meshes.write_stl(self.folder / "cup.stl", meshes.cup(60, 40, 30, wall=5, floor=5).triangles())
        card = self.shop_json("card", "cup.stl", "daisy tray:2", "cup.stl", schema="card")
        self.assertEqual([m["path"] for m in card["molds"]], ["cup.stl", "daisy tray", "cup.stl"])
        self.assertEqual([m["copies"] for m in card["molds"]], [1, 2, 1])

    def test_run_price_and_leftover_know_it_too(self):
        self.learn("water", "daisy tray", "--grams", "93.1g")
        path = self.run_file('file = "daisy tray"\n', price=True)
        each = self.shop_json("run", path, schema="run")["batches"][0]["pieces"][0]["g"]
        self.assertGreater(each, 93.2 * 1.8)
        self.assertEqual(self.shop_json("price", path, schema="price")["lines"][0]["material_g"], each)
        again = self.shop_json("run", "daisy tray:3", "--mixer-max", "2.4kg", schema="run")["batches"]
        self.assertEqual(sum(p["count"] for b in again for p in b["pieces"]), 3)
        left = self.shop_json("leftover", "daisy tray", "--grams", "220g", schema="leftover")
        self.assertIn("daisy tray", [m["name"] for m in left["leftovers"]["molds"]])
        self.assertIn("[file-missing]", self.run_("run", self.run_file('file = "daisy trya"\n'), "--workshop", "shop", code=66).err)


class OneReckoning(Bench):
    def each(self, mold, named):
        """Grams that go into one mold, as the four commands have it."""
        options = ("--scale-step", "0.01g")
        card = self.shop_json("card", named, *options, schema="card")
        kept = card["running_short"]["residue_g"] if card.get("running_short") else 0
        path = self.run_file(mold, price=True)
        run = self.shop_json("run", path, *options, schema="run")["batches"][0]["pieces"][0]["g"]
        price = self.shop_json("price", path, *options, schema="price")["lines"][0]["material_g"]
        left = self.shop_json("leftover", named, "--grams", f"{float(run) + 1:.2f}g", schema="leftover")["leftovers"]["molds"]
        return float(card["total"]["mix_g"]) - float(kept), float(run), float(price), float(next(m for m in left if m["name"] == named)["each_g"])

    def same(self, four):
        for other in four[1:]:
            self.assertAlmostEqual(four[0], other, delta=0.06, msg=str(four))

    def test_grams_per_piece_are_the_same_everywhere(self):
        self.learn("water", "daisy tray", "--grams", "93.1g", "--celsius", "16")
        before = self.each('file = "daisy tray"\n', "daisy tray")
        self.same(before)
        # Records change all four alike.
        self.learn("cup", "--ml", "200", "--grams", "381g")
        denser = self.each('file = "daisy tray"\n', "daisy tray")
        self.same(denser)
        self.assertGreater(denser[1], before[1] * 1.005)
        self.learn("water", "daisy tray", "--grams", "94.6g", "--celsius", "16")
        self.same(self.each('file = "daisy tray"\n', "daisy tray"))
        for left in (9, 11, 8):
            self.learn("pour", "daisy tray", "--mixed", "193g", "--left", f"{left}g")
        self.same(self.each('file = "daisy tray"\n', "daisy tray"))

    def test_a_mesh_too(self):
        meshes.write_stl(self.folder / "cup.stl", meshes.cup(60, 40, 30, wall=5, floor=5).triangles())
        self.learn("water", "cup.stl", "--grams", "72.6g", "--celsius", "18")
        self.learn("cup", "--ml", "200", "--grams", "377g")
        card = self.shop_json("card", "cup.stl", "--scale-step", "0.01g", schema="card")
        run = self.shop_json("run", self.run_file('file = "cup.stl"\n'), schema="run")
        poured = float(card["total"]["mix_g"]) - float(card["running_short"]["residue_g"])
        self.assertAlmostEqual(poured, float(run["batches"][0]["pieces"][0]["g"]), delta=0.06)
        codes = [n["code"] for n in run["notes"]]
        for code in ("capacity-learned", "density-learned", "run-allowance"):
            self.assertIn(code, codes)

    def test_a_folder_keeps_the_working_time(self):
        (self.folder / "molds").mkdir()
        for i in range(3):
            meshes.write_stl(self.folder / f"molds/{i}.stl", meshes.cup(20, 20, 10, wall=3, floor=3).triangles())
        run = self.shop_json("run", "molds", "--copies", "20", "--mixer-max", "5kg", "--room", "20C", schema="run")
        counts = [sum(p["count"] for p in b["pieces"]) for b in run["batches"]]
        self.assertEqual(sum(counts), 60)
        self.assertLessEqual(max(counts) * 40, 14 * 60)
        self.assertGreater(len(counts), 1)
        self.assertIn("pour-time-assumed", [n["code"] for n in run["notes"]])

    def test_a_card_looks_at_time_bucket_and_scale(self):
        meshes.write_stl(self.folder / "small.stl", meshes.cup(20, 20, 10, wall=3, floor=3).triangles())
        meshes.write_stl(self.folder / "large.stl", meshes.cup(200, 130, 40, wall=5, floor=5).triangles())

        def codes(*words):
            card = self.shop_json("card", *words, "--read-as", "mold", schema="card")
            return {n["code"] for n in card["notes"]} | {n["code"] for m in card["molds"] for n in m["notes"]}
        self.assertIn("too-slow-to-pour", codes("small.stl:60"))
        self.assertNotIn("too-slow-to-pour", codes("small.stl:6"))
        self.assertIn("bucket-too-small", codes("large.stl:2"))
        self.assertNotIn("bucket-too-small", codes("large.stl"))
        # On a scale of 5 kg the cup counts too, and the pigment is part of the mix.
        pigment = ("--pigment", "Kelp=3%")
        mix = float(self.shop_json("card", "large.stl", *pigment, "--read-as", "mold", schema="card")["total"]["mix_g"])
        self.assertNotIn("scale-overloaded", codes("large.stl", *pigment, "--cup-weight", f"{4990 - mix:.0f}g"))
        self.assertIn("scale-overloaded", codes("large.stl", *pigment, "--cup-weight", f"{5010 - mix:.0f}g"))
        self.assertEqual(self.run_("card", "small.stl:60", "--strict", "--workshop", "shop", code=1).code, 1)


if __name__ == "__main__":
    main()
