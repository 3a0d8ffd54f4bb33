#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The open mesh set through the program: known molds and solids, broken ones, real ones, hostile ones.

The set is not part of the repository. It is looked for in ../shared/meshes beside it, or in $POURWRIGHT_OPEN_SET; without
it this test says so and ends with the code that ctest reports as skipped.
"""
import json
import os
import resource
import sys
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import checks
from support.program import OPEN_SET, SKIPPED, ProgramTest, main

SET = Path(os.environ.get("POURWRIGHT_OPEN_SET", OPEN_SET))
TOLERANCE = 2e-6       # where the manifest gives none: coordinates in files are floats of 24 bits
MEMORY = 512 << 20     # bytes that a small hostile file may cost at most
SLOW = 240             # seconds for one file on a loaded machine, sanitizers included


def entries(folder):
    listed = json.loads((SET / "MANIFEST.json").read_text(encoding="utf-8"))["files"]
    return [e for e in listed if e["path"].startswith(folder + "/")]


def unit(entry):
    return {"inch": "in"}.get(entry.get("truth", {}).get("units"), "mm")


class OpenSet(ProgramTest):
    def measure(self, entry, *options):
        run = self.program.run("measure", str(SET / entry["path"]), "--json", "--unit", unit(entry), *options, timeout=SLOW)
        document = self.document(run, "measure")
        checks.measured(self, document)
        seen = document["files"][0]
        if seen["ok"]:
            self.assertEqual(run.code, 0, str(run))
        else:
            self.assertNotEqual(run.code, 0, str(run))
            self.assertTrue(seen["error"]["text"], str(run))
        return seen

    def near(self, seen, expected, tolerance, what):
        if expected == 0:
            self.assertEqual(float(seen), 0, what)
        else:
            self.assertLessEqual(abs(float(seen) / expected - 1), tolerance, f"{what}: {seen} is not {expected} within {tolerance}")

    def cavities(self, entry, seen):
        """The filled cavities are the true ones: as many, each with its brim and capacity."""
        truth, tolerance = entry["truth"], entry["truth"].get("tolerance_rel", TOLERANCE)
        scale = 25.4 if unit(entry) == "in" else 1
        expected = sorted(((c["brim_z"] * scale, c["capacity_mm3"]) for c in truth["cavities"] if c["capacity_mm3"] > 0))
        filled = sorted((float(c["brim_z_mm"]), float(c["capacity_mm3"]["value"])) for c in seen["cavities"] if c["filled"])
        self.assertEqual(len(filled), len(expected), f"{entry['path']}: {filled} for {expected}")
        # A repair may move a brim by what it may change the volume.
        for (brim, capacity), (true_brim, true_capacity) in zip(filled, expected):
            self.near(brim, true_brim, max(tolerance, 1e-5), f"{entry['path']} brim")
            self.near(capacity, true_capacity, tolerance, entry["path"])
        self.near(sum(c for _, c in filled), truth["total_capacity_mm3"], tolerance, entry["path"])

    def test_molds(self):
        listed = entries("moulds")
        self.assertGreaterEqual(len(listed), 14)
        for entry in listed:
            with self.subTest(entry["path"]):
                seen, truth = self.measure(entry), entry["truth"]
                self.assertTrue(seen["ok"], seen["error"])
                self.assertEqual(seen["unit"], unit(entry))
                self.near(seen["solid"]["volume_mm3"]["value"], truth["solid_volume_mm3"], truth["tolerance_rel"], "solid")
                self.cavities(entry, seen)
                drained = [c for c in truth["cavities"] if c.get("drain")]
                self.assertEqual(seen["read_as"], "mold")
                self.assertEqual(seen["triangles"], entry["mesh"]["triangles"])
                voids = sum(float(c["capacity_mm3"]["value"]) for c in seen["cavities"] if c["kind"] == "sealed")
                self.near(voids, truth.get("void_volume_mm3", 0), truth["tolerance_rel"], "closed voids")
                for c in drained:
                    self.assertTrue(any(abs(float(d["would_hold_mm3"]) / c["if_plugged_mm3"] - 1) < 0.02 for d in seen["drains"]),
                                    f"the drain is not found: {seen['drains']}")

    def test_solids(self):
        listed = entries("solids")
        self.assertGreaterEqual(len(listed), 3)
        for entry in listed:
            with self.subTest(entry["path"]):
                seen = self.measure(entry)
                self.assertTrue(seen["ok"], seen["error"])
                self.near(seen["solid"]["volume_mm3"]["value"], entry["truth"]["solid_volume_mm3"],
                          entry["truth"].get("tolerance_rel", TOLERANCE), entry["path"])

    def test_broken(self):
        """Whatever is answered is right within what a repair can be expected to reach; the rest is refused with a reason."""
        listed, answered = entries("broken"), []
        self.assertGreaterEqual(len(listed), 14)
        for entry in listed:
            with self.subTest(entry["path"]):
                seen, truth = self.measure(entry), entry["truth"]
                if not seen["ok"]:
                    self.assertTrue(seen["error"]["hint"])
                    continue
                answered.append(entry["path"])
                if truth["kind"] == "mould":
                    self.assertIn(seen["read_as"], ("mold", "scan"))
                    self.cavities(entry, seen)
                if seen["solid"]:
                    self.near(seen["solid"]["volume_mm3"]["value"], truth.get("union_volume_mm3", truth.get("solid_volume_mm3")),
                              truth["tolerance_rel"], entry["path"])
        print(f"broken: {len(answered)} of {len(listed)} answered", file=sys.stderr)
        self.assertEqual(len(answered), len(listed), "a broken mesh that could be mended no longer is")

    def test_real(self):
        """Answered right or refused with a reason; what is clean and closed must be answered."""
        listed, answered = entries("real"), 0
        self.assertGreaterEqual(len(listed), 60)
        for entry in listed:
            with self.subTest(entry["path"]):
                options = ["--more-formats"] if entry["format"] in ("glb", "gltf") else []
                seen, truth, mesh = self.measure(entry, *options), entry.get("truth", {}), entry.get("mesh") or {}
                answered += seen["ok"]
                clean = (truth.get("kind") == "solid" and mesh.get("closed") and mesh.get("oriented") and mesh.get("self_intersecting_pairs") == 0
                         and mesh.get("nonmanifold_edges") == 0)
                if not seen["ok"]:
                    self.assertFalse(clean and seen["error"]["code"] != "format-not-built", f"refused: {seen['error']}")
                    continue
                volume = truth.get("solid_volume", truth.get("solid_volume_estimate"))
                if volume is not None and seen["solid"]:
                    # A glTF file is in metres by its standard; the manifest's volumes are in the file's unit.
                    scale = 1e9 if options and seen["unit_from"] == "file" else 1
                    self.near(seen["solid"]["volume_mm3"]["value"], volume * scale, truth["tolerance_rel"], entry["path"])
        print(f"real: {answered} of {len(listed)} answered", file=sys.stderr)

    def test_hostile(self):
        listed = entries("hostile")
        self.assertGreaterEqual(len(listed), 24)
        for entry in listed:
            for options in ([], ["--more-formats"], ["--quick"], ["--only", "solid"]):
                with self.subTest(f"{entry['path']} {options}"):
                    seen, expect = self.measure(entry, *options), entry["truth"]["expect"]
                    if expect == "reads correctly":
                        self.assertTrue(seen["ok"], seen["error"])
                        self.assertEqual(seen["triangles"], entry["truth"]["triangles"])
                        self.near(seen["solid"]["volume_mm3"]["value"], entry["truth"]["signed_volume"], TOLERANCE, "volume")
                        self.near(seen["solid"]["area_mm2"], entry["truth"]["surface_area"], TOLERANCE, "area")
                    elif expect.startswith("clear error,"):
                        self.assertFalse(seen["ok"], f"answered: {seen}")
                    else:
                        self.assertTrue(expect.startswith("clear error or a result with a warning"), expect)
                        if seen["ok"]:
                            self.assertTrue(any(n["warning"] for n in seen["notes"]) or seen["mended"], f"answered without a warning: {seen}")
        if b"__asan" not in Path(self.program.path).read_bytes():
            peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
            self.assertLess(peak, MEMORY)

    def test_the_same_for_any_number_of_jobs_and_any_time(self):
        runs = [self.program.run("measure", str(SET), "--json", "--quiet", *jobs, timeout=10 * SLOW) for jobs in (["-j", "1"], ["-j", "4"])]
        document = self.document(runs[0], "measure")
        self.assertEqual(len(document["files"]), len({f["path"] for f in document["files"]}))
        self.assertGreaterEqual(len(document["files"]), 110)
        self.assertEqual(runs[0].code, 1)
        self.assertEqual(runs[1].raw_out, runs[0].raw_out)

    def test_cards(self):
        run = self.program.run("card", str(SET), "--json", "--quiet", "--pigment", "Kelp=1%", timeout=10 * SLOW)
        self.assertEqual(run.code, 1)
        checks.card(self, self.document(run, "card"))


if __name__ == "__main__":
    if not (SET / "MANIFEST.json").is_file():
        print(f"SKIPPED: the open mesh set is not at {SET}. Nothing of it was tested.")
        sys.exit(SKIPPED)
    main()
