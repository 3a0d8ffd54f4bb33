#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every document keeps its schema, is alone on standard output, and its numbers agree with each other."""
import json
import os
import sys
import tempfile
import unittest
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import checks, meshes
from support.program import OPEN_SET, ROOT, SCHEMAS, ProgramTest, main, schema_errors

DEMO = ROOT / "meshes"


class Documents(ProgramTest):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="pourwright-schema-")
        self.addCleanup(folder.cleanup)
        self.folder = Path(folder.name)

    def files(self):
        cup = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()
        meshes.write_stl(self.folder / "cup.stl", cup)
        meshes.write_stl(self.folder / "tray.stl", meshes.row_of_cups([20, 30, 25], 40, 18, rim=3).triangles())
        meshes.write_stl(self.folder / "brick.stl", meshes.Blocks([80], [30], [20]).fill([0], [0], [0]).triangles())
        meshes.write_stl(self.folder / "open.stl", cup[7:])
        meshes.write_stl(self.folder / "sheet.stl", [((0, 0, 0), (40, 0, 0), (40, 30, 0)), ((0, 0, 0), (40, 30, 0), (0, 30, 0))])
        (self.folder / "empty.stl").touch()
        return [str(self.folder / n) for n in ("cup.stl", "tray.stl", "brick.stl")]

    def test_measure_demo_molds(self):
        for options in ([], ["--quick"], ["--only", "solid"], ["--only", "cavities"], ["--fill", "50%"], ["--up", "-y"],
                        ["--read-as", "piece"], ["--fill-to", "rim"], ["--unit", "cm"]):
            run = self.program.run("measure", str(DEMO), "--json", *options)
            self.assertIn(run.code, (0, 1), str(run))
            document = self.document(run, "measure")
            self.assertEqual([f["path"] for f in document["files"]], sorted(f["path"] for f in document["files"]))
            self.assertEqual(run.code, 0 if all(f["ok"] for f in document["files"]) else 1)
            checks.measured(self, document)

    def test_inspect_demo_molds(self):
        for options in ([], ["--of", "mold"], ["--quick"], ["--age", "45min", "--room", "17C"], ["--read-as", "piece"],
                        ["--min-wall", "6mm", "--material", "casting-plaster"], ["--pull", "+x", "--stretch", "10%"], ["--unit", "cm"],
                        ["--fail-if", "wall<2mm", "--fail-if", "undercut>5%"]):
            run = self.program.run("inspect", str(DEMO), "--json", *options)
            self.assertIn(run.code, (0, 1, 2), str(run))
            document = self.document(run, "inspect")
            exceeded = False
            for f in document["files"]:
                if not f["ok"]:
                    continue
                exceeded = exceeded or any(l["exceeded"] for l in f["limits"])
                release, walls = f["release"], f["walls"]
                if release:
                    self.assertLessEqual(release["undercut_mm2"], release["wall_mm2"])
                    self.assertLessEqual(release["best_undercut_mm2"], release["undercut_mm2"])
                    self.assertAlmostEqual(float(sum(u["area_mm2"] for u in release["undercuts"])), float(release["undercut_mm2"]), 3)
                    self.assertEqual(release["leaves_rigid"], release["undercut_mm2"] == 0)
                if walls:
                    self.assertLessEqual(walls["min_mm"], walls["p05_mm"])
                    self.assertLessEqual(walls["p05_mm"], walls["median_mm"])
                    for spot in walls["spots"]:
                        if walls["of"] == "piece":
                            self.assertEqual(spot["stress_mpa"], max(spot["peel_mpa"], spot["pry_mpa"], spot["weight_mpa"]))
                            self.assertEqual(spot["risk"] == "low", not spot["help"])
            self.assertEqual(run.code == 2, exceeded, str(run))

    def test_card_demo_molds(self):
        for options in ([], ["--copies", "7"], ["--pigment", "Kelp=1.3%", "--pigment", "Chalk=0.7%"], ["--scale-step", "5g"],
                        ["--scale-step", "0.01g"], ["--scale-step", "0.03g"], ["--ratio", "2.37"], ["--allowance", "0%"],
                        ["--material", "casting-plaster"], ["--density", "1.8"], ["--liquid", "400g"],
                        ["--workshop", str(ROOT / "docs/examples/tern"), "--material", "boathouse-terrazzo", "--pigment", "Rust=2%"], ["--fill", "-1mm"], ["--read-as", "piece"]):
            run = self.program.run("card", str(DEMO), "--json", *options)
            self.assertIn(run.code, (0, 1), str(run))
            checks.card(self, self.document(run, "card"))

    def test_errors_are_documents_too(self):
        cup, tray, _ = self.files()
        missing = str(self.folder / "missing.stl")
        for words in (["measure", missing], ["measure", str(self.folder / "empty.stl")], ["measure", str(self.folder / "open.stl")],
                      ["measure", str(self.folder / "sheet.stl")], ["measure", cup, missing, tray]):
            checks.measured(self, self.document(self.program.run(*words, "--json"), "measure"))
        for words in (["card", missing], ["card", cup, missing], ["card", str(self.folder / "open.stl"), tray]):
            checks.card(self, self.document(self.program.run(*words, "--json"), "card"))
        for words in (["card"], ["card", cup, "--no-such-option"], ["card", cup, "--ratio", "x"], ["measure", cup, "--fill", "x"],
                      ["mix"], ["mix", "--ml", "0"], ["split", "--grams", "5"], ["explain", "nothing"], ["completion", "tcsh"],
                      ["nonsense"], ["card", cup, "--workshop", missing], ["mix", "--grams", "1", "--ml", "1"]):
            document = self.document(self.program.run(*words, "--json"), "error")
            self.assertTrue(document["error"]["text"])

    def test_quiet_leaves_the_document_alone(self):
        cup, *_ = self.files()
        run = self.program.run("measure", cup, str(self.folder / "missing.stl"), "--json", "--quiet")
        self.assertEqual(run.err, "")
        self.document(run, "measure")

    def test_mix(self):
        for amount in (["--liquid", "102g"], ["--liquid", "0.37kg"], ["--ml", "250"], ["--ml", "8floz"], ["--grams", "1.2kg"],
                       ["--grams", "0.000649kg"]):
            for options in ([], ["--pigment", "Kelp=2%"], ["--scale-step", "1g"], ["--scale-step", "0.001g"], ["--ratio", "1.37"],
                            ["--material", "casting-plaster"]):
                checks.mix(self, self.json("mix", *amount, *options, schema="mix"))

    def test_split(self):
        for words in (["--cup", "sea=60%,Kelp=2%", "--cup", "foam=40%,Chalk=1%"],
                      ["--cup", "a=33.3%", "--cup", "b=33.3%", "--cup", "c"],
                      ["--cup", "a=1%,Kelp=0.01%", "--cup", "b,Rust=2.9%"], ["--scale-step", "1g", "--cup", "a=50%", "--cup", "b"]):
            for grams in ("640g", "500.55g", "1.234567kg"):
                checks.split(self, self.json("split", "--grams", grams, *words, schema="split"))

    def test_blend(self):
        palette = ["--base", "#ece7db", "--swatch", "Kelp=2%:#5f8a62", "--swatch", "Rust=2%:lab(47 30 27)"]
        for words in ([], ["--pigment", "Kelp=1%"], ["--pigment", "Kelp=1%", "--pigment", "Rust=4%"],
                      ["--target", "#9a9468"], ["--target", "#000000", "--material", "casting-plaster"]):
            blend = self.json("blend", *palette, *words, schema="blend")
            self.assertEqual(blend["target"] is None, "--target" not in words)
            self.assertLessEqual(sum(p["dose"] for p in blend["pigments"]), Decimal("0.05"))

    def test_learn(self):
        cup, *_ = self.files()
        bench = ["--workshop", str(self.folder)]
        for words in (["water", cup, "--grams", "72g", "--celsius", "18"], ["cup", "--ml", "200", "--grams", "372g"],
                      ["pour", cup + ":2", "--mixed", "300g", "--left", "22g", "--room", "17C", "--defects", "a chip"],
                      ["pour", "elsewhere", "--mixed", "300g", "--short"], ["withdraw", "4", "--note", "mistaken"],
                      ["show"], ["show", cup], ["show", "nowhere"]):
            learned = self.json("learn", *words, *bench, schema="learn")
            self.assertEqual(learned["recorded"] is None, words[0] == "show")
        self.assertEqual([r["id"] for r in self.json("learn", "list", *bench, schema="records")["records"]], [5, 4, 3, 2, 1])
        self.json("learn", "check", *bench, schema="checked")
        export = self.folder / "records.csv"
        export.write_bytes(self.program.run("learn", "export", "csv", *bench).raw_out)
        self.assertEqual(self.json("learn", "import", str(export), *bench, schema="imported"),
                         {"schema": "pourwright.imported/1", "added": 0, "known": 5})
        card = self.json("card", cup, *bench, schema="card")
        self.assertEqual(card["material"]["density_from"], "records")
        self.assertLessEqual({"capacity-learned", "density-learned", "allowance-learned"}, set(checks.codes_in(card)))
        self.assertEqual(self.json("card", cup, "--no-learned", *bench, schema="card")["running_short"]["pours"], 0)

    def test_the_other_documents(self):
        explained = self.json("explain", schema="explain")
        self.assertGreater(len(explained["codes"]), 60)
        self.assertEqual(len({c["code"] for c in explained["codes"]}), len(explained["codes"]))
        self.assertEqual(self.json("explain", "not-closed", schema="explain")["codes"][0]["code"], "not-closed")
        self.json("doctor", schema="doctor")
        self.json("--version", schema="version")
        mixes = self.json("mix", "--list", schema="mixes")
        self.assertIn(mixes["default"], [m["key"] for m in mixes["mixes"]])
        self.assertIn("default-mix", self.json("mix", "--template", schema="template")["text"])
        new = self.folder / "new" / "mine.toml"
        new.parent.mkdir()
        self.assertEqual(self.json("mix", "--template", "-o", str(new), schema="template")["path"], str(new))
        self.assertEqual(self.json("mix", "--list", "--workshop", str(new.parent), schema="mixes")["default"], "house")
        tern = str(ROOT / "docs/examples/tern")
        plan = self.json("split", str(ROOT / "docs/examples/plans/dishes.toml"), "--workshop", tern, schema="plan")
        checks.plan(self, plan)
        for words in (["--technique", "veins"], ["--technique", "layered", "--portions", "7", "--pour", "300g", "--residue", "3g"],
                      ["--technique", "side-by-side"], ["--liquid", "102g"]):
            amount = [] if "--liquid" in words else ["--grams", "640g"]
            checks.split(self, self.json("split", "--cup", "a=70%,Kelp=1%", "--cup", "b,Chalk=1.5%", *amount, *words, schema="split"))
        left = self.json("leftover", "--grams", "86g", "--workshop", tern, schema="leftover")
        used = sum(m["count"] * Decimal(m["each_g"]) for m in left["leftovers"]["molds"])
        self.assertEqual(used + left["leftovers"]["chips_g"], left["left_g"])
        bench = ["--workshop", str(new.parent)]
        self.json("mix", "--liquid", "102g", "--pigment", "Moss=1%", "--record", "moss test", *bench, schema="mix")
        self.assertEqual(self.json("records", *bench, schema="sheets")["sheets"][0]["title"], "moss test")
        self.json("records", "moss", "--dry", "sage", *bench, schema="sheets")
        again = self.json("repeat", "moss", "--liquid", "204g", *bench, schema="repeat")
        checks.sums(self, again["parts"], again["mix_g"], "repeat")
        for words in (["--grams", "900g", "--material", "boathouse-terrazzo", "--pigment", "Slate=1.5%"], ["--ml", "8floz", "--us"]):
            checks.mix(self, self.json("mix", *words, "--workshop", tern, schema="mix"))
        for shell in ("bash", "zsh", "fish"):
            self.json("completion", shell, schema="completion")

    def test_names_that_are_not_utf8(self):
        self.files()
        raw = os.fsencode(self.folder) + b"/caf\xe9\n\x1b[31m.stl"
        os.rename(self.folder / "cup.stl", raw)
        document = self.document(self.program.run("measure", raw, "--json"), "measure")
        import base64
        self.assertEqual(base64.b64decode(document["files"][0]["path_base64"]), raw)
        self.assertIn("\ufffd", document["files"][0]["path"])
        card = self.document(self.program.run("card", raw, "--json"), "card")
        self.assertEqual(base64.b64decode(card["molds"][0]["path_base64"]), raw)
        text = self.program.run("card", raw)
        self.assertNotIn(b"\x1b", text.raw_out + text.raw_err)

    def test_every_note_is_explained(self):
        known = {c["code"] for c in self.json("explain", schema="explain")["codes"]}
        seen = set()
        # The open set's real scans are measured where their volumes are checked.
        rooms = [str(DEMO), *(str(OPEN_SET / room) for room in ("broken", "moulds", "hostile") if (OPEN_SET / room).is_dir())]
        for words in (["measure"], ["measure", "--unit", "in", "--quick"], ["card", "--material", "casting plaster", "--ratio", "2"]):
            document = self.document(self.program.run(*words, *rooms, "--json", "--quiet"))
            seen |= set(checks.codes_in(document))
        self.assertGreater(len(seen), 5)
        self.assertEqual(seen - known, set(), "codes that `pourwright explain` does not know")


class Schemas(unittest.TestCase):
    """That the schemas and checks above can fail."""

    def test_damaged_documents_are_refused(self):
        whole = {"schema": "pourwright.mix/1", "mix_g": Decimal("4.2"), "ratio_asked": Decimal("3.2"), "ratio_weighed": 3,
                 "parts": [{"name": "liquid", "kind": "liquid", "g": 1}, {"name": "powder", "kind": "powder", "g": Decimal("3.2")}], "notes": [],
                 "material": {"name": "x", "ratio": 3, "density_g_per_ml": 2, "density_from": "given", "density_spread": 0,
                              "weighed": True, "workshop": None, "working_min": None,
                              "demold_min": 45, "times_at_c": 20},
                 "scale": None, "scale_step_g": 1, "cost": None, "cautions": []}
        self.assertEqual(schema_errors(whole), [])
        for change in ({"mix_g": "4.2"}, {"mix_g": None}, {"extra": 1}, {"parts": []}, {"schema": "pourwright.mix/2"},
                       {"notes": [{"code": "x", "text": "y"}]}):
            self.assertNotEqual(schema_errors({**whole, **change}), [], change)
        for key in whole:
            self.assertNotEqual(schema_errors({k: v for k, v in whole.items() if k != key}), [], key)

    def test_every_schema_is_strict_everywhere(self):
        def objects(schema, place):
            if isinstance(schema, dict):
                if schema.get("type") == "object" and "properties" in schema and place[-1:] not in (["then"], ["else"]):
                    yield place, schema
                for key, value in schema.items():
                    yield from objects(value, place + [key])
            elif isinstance(schema, list):
                for i, value in enumerate(schema):
                    yield from objects(value, place + [i])
        files = sorted(SCHEMAS.glob("*.schema.json"))
        self.assertGreaterEqual(len(files), 10)
        for file in files:
            schema = json.loads(file.read_text(encoding="utf-8"))
            self.assertEqual(schema["properties"]["schema"], {"const": f"pourwright.{file.name.split('.')[0]}/1"})
            for place, found in objects(schema, []):
                self.assertIs(found.get("additionalProperties"), False, f"{file.name} {place}")
                self.assertTrue(set(found.get("required", [])) <= set(found["properties"]), f"{file.name} {place}")
                self.assertTrue(found.get("required"), f"{file.name} {place}")


if __name__ == "__main__":
    main()
