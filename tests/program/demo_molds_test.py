#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The demo molds through the program, against what their description says they hold (meshes/expected.json)."""
import json
import math
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support.program import ROOT, ProgramTest, main

MESHES = ROOT / "meshes"
EXPECTED = json.loads((MESHES / "expected.json").read_text(encoding="utf-8"))
MOLDS = {m["file"]: m for m in EXPECTED["molds"]}
NEAR = 1e-9   # relative; the expected values are exact for the faceted geometry, ours carry rounding


class DemoMolds(ProgramTest):
    def near(self, seen, expected, what, relative=NEAR):
        self.assertLessEqual(abs(float(seen) - expected), relative * abs(expected), f"{what}: {seen} is not {expected}")

    def measured(self, name, *options):
        return self.json("measure", str(MESHES / name), *options, schema="measure")["files"][0]

    def test_all_are_there(self):
        there = {p.name for p in MESHES.iterdir() if p.suffix in (".stl", ".obj", ".ply")}
        self.assertEqual(there, set(MOLDS))
        self.assertEqual(len(MOLDS), 7)

    def test_solids_and_cavities(self):
        for name, mold in MOLDS.items():
            if mold["read_as"] == "scan":
                continue
            with self.subTest(name):
                seen = self.measured(name)
                for key in ("unit", "triangles", "shells", "closed", "read_as", "bounds_mm"):
                    self.assertEqual(seen[key], mold[key], key)
                self.near(seen["solid"]["volume_mm3"]["value"], mold["solid_volume_mm3"], "solid volume")
                self.near(seen["solid"]["area_mm2"], mold["area_mm2"], "area", 1e-6)   # given to 0.001 mm²
                low, high = (float(seen["solid"]["volume_mm3"][k]) for k in ("low", "high"))
                self.assertTrue(low <= mold["solid_volume_mm3"] <= high, "the truth lies outside the interval")
                self.cavities(seen, mold)

    def cavities(self, seen, mold):
        """Every cavity that is expected is there, and those that are filled are exactly the expected ones."""
        rest = list(seen["cavities"])
        for expected in mold["cavities"]:
            found = next((c for c in rest if c["kind"] == expected["kind"]
                          and abs(float(c["capacity_mm3"]["value"]) - expected["capacity_mm3"]) <= NEAR * expected["capacity_mm3"]
                          and abs(float(c["brim_z_mm"]) - expected["brim_z_mm"]) < 1e-9
                          and abs(float(c["floor_z_mm"]) - expected["floor_z_mm"]) < 1e-9), None)
            # The tray's slots join below its brim: a pool that is filled as one mold is an open cavity to its maker.
            if found is None and expected["kind"] == "open":
                found = next((c for c in rest if c["kind"] == "pool" and c["filled"]
                              and abs(float(c["capacity_mm3"]["value"]) - expected["capacity_mm3"]) <= NEAR * expected["capacity_mm3"]), None)
            self.assertIsNotNone(found, f"{expected['name']}: not among {rest}")
            rest.remove(found)
            self.assertEqual(found["filled"], expected["filled"], expected["name"])
            low, high = (float(found["capacity_mm3"][k]) for k in ("low", "high"))
            self.assertTrue(low <= expected["capacity_mm3"] <= high, f"{expected['name']}: outside {low}..{high}")
        self.assertEqual([c for c in rest if c["filled"]], [])
        slots = mold["cavities"][0].get("slots_mm3", [])
        self.assertEqual(len(rest), len(slots))
        for seen_slot, slot in zip(sorted(float(c["capacity_mm3"]["value"]) for c in rest), sorted(slots)):
            self.near(seen_slot, slot, "slot")

    def test_air_traps(self):
        for name, mold in MOLDS.items():
            for expected in mold["cavities"]:
                if mold["read_as"] == "scan" or not expected["filled"]:
                    continue
                with self.subTest(name):
                    traps = [t for c in self.measured(name)["cavities"] if c["filled"] for t in c["air_traps"]]
                    self.assertEqual(len(traps), len(expected.get("air_traps", [])))
                    for trap, truth in zip(traps, expected.get("air_traps", [])):
                        self.near(trap["volume_mm3"], truth["volume_mm3"], "trapped air", 1e-9)
                        self.near(trap["lip_z_mm"], truth["lip_z_mm"], "lip")
                        self.near(trap["vent_mm"][2], truth["top_z_mm"], "top")

    def workshop(self, strength):
        """A folder with the house mix as somebody measured it, in MPa at its demold time."""
        folder = tempfile.TemporaryDirectory(prefix="pourwright-strength-")
        self.addCleanup(folder.cleanup)
        (Path(folder.name) / "mine.toml").write_text(
            'default-mix = "mine"\n[[mix]]\nkey = "mine"\nname = "Mine"\npowder = "mineral powder"\nliquid = "acrylic liquid"\nratio = 3.2\n'
            f'density = "1.86 g/mL"\nworking-time = "14 min"\ndemold-time = "45 min"\nmin-wall = "3 mm"\nflexural-at-demold-mpa = {strength}\n', encoding="utf-8")
        return folder.name

    def inspected(self, name, *options):
        r = self.json("inspect", str(MESHES / name), *options, schema="inspect")
        return r, r["files"][0]

    def test_fins_are_a_high_risk_early_and_a_low_one_after_the_advised_wait(self):
        mold, measured = MOLDS["tide_tray.obj"], self.workshop(0.63)
        for room in ("20C", "17C", "26C"):
            with self.subTest(room):
                workshop = ("--room", room, "--workshop", measured)
                report, early = self.inspected("tide_tray.obj", "--age", "45min" if room != "26C" else "30min", *workshop)
                self.assertTrue(report["demold"]["strength_measured"])
                spots = early["walls"]["spots"]
                self.assertEqual(len([s for s in spots if s["kind"] == "fin"]), mold["fins"])
                for s in spots:
                    self.assertEqual(s["risk"], "high")
                    self.near(s["thickness_mm"], mold["fin_mm"], "fin", 0.02)
                    self.assertIsNotNone(s["wait_until_min"])
                    self.assertIsNone(s["against_rest"])
                wait = max(s["wait_until_min"] for s in spots)
                self.assertTrue(45 < wait < 1440)
                report, late = self.inspected("tide_tray.obj", "--age", f"{wait} min", *workshop)
                self.assertEqual({s["risk"] for s in late["walls"]["spots"]}, {"low"})
                self.assertEqual([s["help"] for s in late["walls"]["spots"] if s["help"]], [])
                self.assertEqual(bool(report["notes"]), room != "20C")

    def test_nobody_measured_the_mix_so_fins_are_ranked(self):
        for options in ((), ("--age", "45min"), ("--room", "17C"), ("--age", "3h")):
            report, tray = self.inspected("tide_tray.obj", *options)
            self.assertFalse(report["demold"]["strength_measured"])
            spots = tray["walls"]["spots"]
            self.assertNotIn("high", {s["risk"] for s in spots})
            order = [s["stress_mpa"] for s in spots if not s["feather"]]
            self.assertEqual([round(x, 2) for x in order], sorted((round(x, 2) for x in order), reverse=True))
            for s in spots:  # fins of one thickness are strained alike by a finger
                self.near(s["against_rest"], 1, "against the rest", 0.02)
                self.near(s["pry_mpa"], 6 * 0.51 / float(s["typical_mm"]) ** 2, "a finger on a long fin", 0.05)
        _, early = self.inspected("tide_tray.obj", "--age", "20min")
        self.assertEqual({s["risk"] for s in early["walls"]["spots"]}, {"high"})
        self.assertEqual({s["wait_until_min"] for s in early["walls"]["spots"]}, {45})

    def test_foot_of_the_ring_cone_is_undercut(self):
        # The mold hangs over the foot between the shoulder, of radius 17, and the neck of 12, 4 mm apart; 80 corners.
        mold = MOLDS["ring_cone.ply"]
        _, cone = self.inspected("ring_cone.ply")
        release = cone["release"]
        shoulder, neck, n = mold["shoulder_mm"] / 2, mold["neck_mm"] / 2, 80
        side = 2 * n * math.sin(math.pi / n) * (shoulder + neck) / 2
        self.near(release["undercut_mm2"], side * math.hypot((shoulder - neck) * math.cos(math.pi / n), 4), "undercut", 1e-3)
        self.near(release["undercut_depth_mm"], shoulder - neck, "depth", 0.01)
        self.assertFalse(release["leaves_rigid"])
        self.assertTrue(release["leaves_flexible"])
        self.near(max(u["stretch"] for u in release["undercuts"]), (shoulder - neck) / neck, "stretch", 0.03)
        self.assertLess(release["two_parts"]["undercut_share"], 1e-3)
        self.assertLess(abs(release["two_parts"]["axis"][2]), 0.1)
        code = self.program.run("inspect", str(MESHES / "ring_cone.ply"), "--fail-if", "depth>4mm").code
        self.assertEqual(code, 2)

    def test_knobs_both_readings(self):
        knobs = MOLDS["knob_six.stl"]
        for options, total, count in ((["--fill-to", "brims"], knobs["six_brims_mm3"], 6), (["--fill-to", "rim"], knobs["flooded_to_rim_mm3"], 1),
                                      ([], knobs["six_brims_mm3"], 6)):
            seen = self.measured("knob_six.stl", *options)
            self.assertEqual(sum(c["filled"] for c in seen["cavities"]), count)
            self.near(seen["fill_mm3"]["value"], total, f"filled {options}")
            card = self.json("card", str(MESHES / "knob_six.stl"), *options, schema="card")
            self.near(card["molds"][0]["fill_mm3"]["value"], total, f"card {options}")

    def test_grams(self):
        """The masses in expected.json are of the mix alone; the card adds the allowance and whole steps."""
        self.assertEqual(EXPECTED["density_g_per_ml"], 1.86)
        for name, mold in MOLDS.items():
            if mold["read_as"] == "scan":
                continue
            with self.subTest(name):
                grams = sum(c["mass_g"] for c in mold["cavities"] if c["filled"])
                card = self.json("card", str(MESHES / name), "--allowance", "0%", "--scale-step", "0.01g", "--workshop",
                                 str(ROOT / "docs/examples/tern"), schema="card")
                self.assertLess(abs(float(card["total"]["mix_g"]) - grams), 0.05 * len(mold["cavities"]) + 0.05)

    def test_piece_reading(self):
        mold = MOLDS["ring_cone.ply"]
        card = self.json("card", str(MESHES / "ring_cone.ply"), "--read-as", "piece", schema="card")
        self.near(card["molds"][0]["fill_mm3"]["value"], mold["solid_volume_mm3"], "as a piece")

    def test_the_scan_is_answered_within_its_tolerance_or_refused_with_a_reason(self):
        scan = MOLDS["shell_scan.ply"]["cavities"][0]
        run = self.program.run("measure", str(MESHES / "shell_scan.ply"), "--json")
        seen = self.document(run, "measure")["files"][0]
        if seen["ok"]:
            self.assertEqual(run.code, 0)
            self.assertEqual(seen["read_as"], "scan")
            filled = [c for c in seen["cavities"] if c["filled"]]
            self.assertEqual(len(filled), 1)
            self.near(filled[0]["capacity_mm3"]["value"], scan["capacity_mm3"], "scan", scan["tolerance_rel"])
            low, high = (float(filled[0]["capacity_mm3"][k]) for k in ("low", "high"))
            self.assertTrue(low <= scan["capacity_mm3"] <= high, "the truth lies outside the interval")
        else:
            self.assertEqual(run.code, 65)
            self.assertTrue(seen["error"]["text"] and seen["error"]["hint"])

    def test_other_formats_of_the_same_mold_agree(self):
        """Turned and in other units, a mold stays the mold it is."""
        plain = self.measured("ripple_dish.stl")
        inches = self.measured("ripple_dish.stl", "--unit", "in")
        self.near(inches["solid"]["volume_mm3"]["value"], float(plain["solid"]["volume_mm3"]["value"]) * 25.4**3, "in inches")


if __name__ == "__main__":
    main()
