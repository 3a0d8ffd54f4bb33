#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program decides about a file (mold or piece, which way up, one mold or several bodies, its unit), and who is
asked where it cannot: on molds and pieces made up with printed seeds, on the demo molds, on the open mesh set.

usage: decisions_test.py PROGRAM [unittest arguments]; with --write after PROGRAM the table of docs/accuracy.md is renewed
"""
import math
import os
import pty
import random
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import made_up, meshes
from support.program import OPEN_SET, ROOT, ProgramTest, main

SEED = "2026"
PAGE = ROOT / "docs" / "accuracy.md"
START, END = "<!-- measured by tests/program/decisions_test.py -->\n", "<!-- end of decisions -->\n"
WRITE = "--write" in sys.argv
if WRITE:
    sys.argv.remove("--write")


def asked(row):
    """Whether a card would ask what this file is."""
    piece = row["read_as"] == "piece"
    return any(d["about"] == "reading" or piece and d["about"] in ("up", "bodies") for d in row["doubt"])


def verdict(row, truth):
    if not row["ok"]:
        return "refused"
    if asked(row):
        return "asked"
    if row["read_as"] == "mold" and truth == "piece" and not row["fill_mm3"]["value"]:
        return "refused"  # a card says that it leaks, and names --read-as piece
    return "right" if row["read_as"] == truth else "wrong"


class Decisions(ProgramTest):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        cls.folder = Path(cls.temporary.name)

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def write(self, name, triangles):
        path = self.folder / name
        meshes.write_stl(path, triangles)
        return str(path)

    def measured(self, *arguments, **how):
        return self.json("measure", *arguments, schema="measure", **how)["files"]

    def codes(self, row):
        return {n["code"] for n in row["notes"]}

    def about(self, row, what):
        return [d for d in row["doubt"] if d["about"] == what]

    # ---- how often it is right

    def judge(self, paths, truths):
        """In one run; a file that fails is a row as well."""
        run = self.program.run("measure", *paths, "--json", timeout=1800)
        rows = self.document(run, "measure")["files"]
        return [verdict(row, truth) for row, truth in zip(rows, truths)]

    def test_made_up_molds_and_pieces(self):
        lines, everything = [], []
        for truth, families in (("mold", made_up.MOLDS), ("piece", made_up.PIECES)):
            for family, (make, count) in families.items():
                drawn = made_up.drawn(family, make, count, SEED)
                paths = [self.write(f"{truth} {family} {k:02}.stl", t) for k, (_, t) in enumerate(drawn)]
                seen = self.judge(paths, [truth] * count)
                # Even numbers set the rule, odd ones did not.
                for half, name in ((seen[0::2], "set on"), (seen[1::2], "not seen")):
                    everything += [(truth, name, v) for v in half]
                    lines.append((truth, family, name, half))
                for (seed, _), v in zip(drawn, seen):
                    print(f"{seed}: {v}")
        for truth in ("mold", "piece"):
            mine = [v for t, _, v in everything if t == truth]
            self.assertGreaterEqual(len(mine), 60)
            held_out = [v for t, name, v in everything if t == truth and name == "not seen"]
            self.assertLessEqual(held_out.count("wrong") / len(held_out), 0.05, truth)
        molds = [v for t, _, v in everything if t == "mold"]
        self.assertLessEqual(molds.count("asked") / len(molds), 0.15)
        self.assertEqual(molds.count("wrong"), 0)
        self.table(lines)

    def table(self, lines):
        rows = {}
        for truth, family, name, half in lines:
            rows.setdefault((truth, family), []).append(half)
        text = "| what it is | files | right | asked | refused | wrong, with the other number beside it |\n|---|---|---|---|---|---|\n"
        total = {}

        def line(label, verdicts, key):
            nonlocal text
            text += f"| {label} | {len(verdicts)} | " + " | ".join(
                str(verdicts.count(v)) for v in ("right", "asked", "refused", "wrong")) + " |\n"
            total.setdefault(key, []).extend(verdicts)
        for (truth, family), (seen, unseen) in rows.items():
            line(f"{truth}: {family}", seen + unseen, truth)
        for half, label in ((0, "of these, the half that set the rule"), (1, "the other half")):
            line(label, [v for parts in rows.values() for v in parts[half]], "half")
        for label, verdicts in self.known_sets():
            line(label, verdicts, "known")
        whole = total["mold"] + total["piece"] + total["known"]
        line("everything", whole, "all")
        self.assertLessEqual(whole.count("asked") / len(whole), 0.15)
        page = PAGE.read_text(encoding="utf-8")
        before, rest = page.split(START)
        _, after = rest.split(END)
        if WRITE:
            PAGE.write_text(before + START + text + END + after, encoding="utf-8")
        elif OPEN_SET.is_dir():
            self.assertEqual(rest.split(END)[0], text)

    def known_sets(self):
        demo = sorted(p for p in (ROOT / "meshes").iterdir() if p.suffix in (".stl", ".obj", ".ply"))
        truths = ["scan" if "scan" in p.name else "mold" for p in demo]
        sets = [("the demo molds", self.judge([str(p) for p in demo], truths))]
        self.assertEqual(set(sets[0][1]), {"right"})
        for name, truth in (("moulds", "mold"), ("solids", "piece")):
            files = sorted(str(p) for p in (OPEN_SET / name).glob("*")) if OPEN_SET.is_dir() else []
            if files:
                sets.append((f"open set, {name}", self.judge(files, [truth] * len(files))))
                self.assertEqual(set(sets[-1][1]), {"right"}, name)
        broken = sorted((OPEN_SET / "broken").glob("*")) if OPEN_SET.is_dir() else []
        if broken:
            truths = ["mold" if any(w in p.name for w in ("tray", "hemisphere", "cup", "undercut", "ring")) else "piece" for p in broken]
            sets.append(("open set, broken", self.judge([str(p) for p in broken], truths)))
        real = sorted(str(p) for p in (OPEN_SET / "real").glob("*")) if OPEN_SET.is_dir() else []
        if real:
            # Parts, figures and scans of things: nobody cast in any of them; a plate with a pocket could be a mold.
            sets.append(("open set, real", ["right" if v == "refused" else v for v in self.judge(real, ["piece"] * len(real))]))
        return sets

    # ---- mold or piece

    def bowl(self):
        r, t = 60.0, 4.0
        outer = made_up.arc(r, 0, -90, 0)
        return self.write("bowl.stl", made_up.revolve(outer + [(r - t, 0.0)] + made_up.arc(r - t, 0, 0, -90)[1:]))

    def test_a_bowl_is_asked_about(self):
        bowl = self.bowl()
        row, = self.measured(bowl)
        other, = self.about(row, "reading")
        amounts = {"mold": row["fill_mm3"]["value"], "piece": other["fill_mm3"]}
        self.assertAlmostEqual(float(amounts["mold"]) / (2 / 3 * math.pi * 56 ** 3), 1, delta=0.02)
        self.assertAlmostEqual(float(amounts["piece"]) / (2 / 3 * math.pi * (60 ** 3 - 56 ** 3)), 1, delta=0.02)
        for strict in ([], ["--strict"]):
            card = self.json("card", bowl, *strict, code=65, schema="card")
            self.assertEqual(card["molds"], [])
            error, = card["errors"]
            self.assertEqual(error["code"], "reading-in-doubt")
            by_option = {a["option"]: a for a in error["doubt"]}
            self.assertEqual(set(by_option), {"--read-as mold", "--read-as piece"})
            for option, a in by_option.items():
                alone = self.json("card", bowl, *option.split(), schema="card")
                self.assertEqual(a["mix_g"], alone["total"]["mix_g"])
                self.assertEqual(a["parts"], alone["total"]["parts"])
        piped = self.program.run("card", bowl)
        self.assertEqual(piped.code, 65)
        self.assertIn("reading-in-doubt", piped.err)
        for option in ("--read-as mold", "--read-as piece"):
            self.assertIn(option, piped.out)

    def on_a_terminal(self, *arguments):
        terminal, other = pty.openpty()
        try:
            run = self.program.run(*arguments, stdout=other, env={"TERM": "xterm"})
            os.close(other)
            text = b""
            while True:
                try:
                    part = os.read(terminal, 1 << 16)
                except OSError:
                    break
                if not part:
                    break
                text += part
        finally:
            os.close(terminal)
        return run.code, text.decode("utf-8")

    def test_on_a_terminal_it_is_a_question(self):
        bowl = self.bowl()
        code, text = self.on_a_terminal("card", bowl, "--colour", "never")
        self.assertEqual(code, 0)
        for word in ("a mold", "the piece itself", "--read-as mold", "--read-as piece", "Say which"):
            self.assertIn(word, text)
        code, text = self.on_a_terminal("card", bowl, "--strict")
        self.assertEqual(code, 65)

    def test_only_the_mold_in_doubt_is_left_out(self):
        cup = self.write("cup.stl", meshes.cup(60, 40, 30, wall=5, floor=5).triangles())
        card = self.json("card", self.bowl(), cup, code=1, schema="card")
        self.assertEqual([Path(m["path"]).name for m in card["molds"]], ["cup.stl"])
        self.assertEqual([e["code"] for e in card["errors"]], ["reading-in-doubt"])
        alone = self.json("card", cup, schema="card")
        self.assertEqual(card["total"], alone["total"])

    def test_one_word_settles_a_folder(self):
        bowl = self.bowl()
        shop = self.folder / "shop"
        shop.mkdir(exist_ok=True)
        for word, volume in (("mold", 2 / 3 * math.pi * 56 ** 3), ("piece", 2 / 3 * math.pi * (60 ** 3 - 56 ** 3))):
            (shop / "shop.toml").write_text(f'[workshop]\nread-as = "{word}"\n', encoding="utf-8")
            card = self.json("card", bowl, "--workshop", str(shop), schema="card")
            self.assertAlmostEqual(float(card["molds"][0]["fill_mm3"]["value"]) / volume, 1, delta=0.02)
            run = self.folder / f"{word}.toml"
            run.write_text(f'read-as = "{word}"\n[[mold]]\nkey = "b"\nfile = "bowl.stl"\n[[piece]]\nmold = "b"\n', encoding="utf-8")
            self.json("run", str(run), "--mixer-max", "2kg", schema="run")
        (shop / "shop.toml").write_text('[workshop]\nread-as = "mould"\n', encoding="utf-8")
        self.json("card", bowl, "--workshop", str(shop), code=78)
        run = self.folder / "open.toml"
        run.write_text('[[mold]]\nkey = "b"\nfile = "bowl.stl"\n[[piece]]\nmold = "b"\n', encoding="utf-8")
        failed = self.program.run("run", str(run), "--mixer-max", "2kg")
        self.assertNotEqual(failed.code, 0)
        self.assertIn("--read-as piece", failed.out + failed.err)
        for option in ("mold", "piece"):
            self.json("run", str(run), "--mixer-max", "2kg", "--read-as", option, schema="run")

    def test_an_error_about_a_drain_names_the_piece(self):
        planter = made_up.closed_ring([(4.0, 0.0), (40.0, 0.0), (50.0, 80.0), (45.0, 80.0), (35.0, 5.0), (4.0, 5.0)])
        card = self.json("card", self.write("planter.stl", planter), code=65, schema="card")
        self.assertIn("--read-as piece", card["errors"][0]["hint"])

    # ---- which way up

    def test_a_mold_on_its_side_is_no_piece(self):
        block = made_up.block_with(made_up.arc(28.0, 0, 0, -90), 40.0, 36.0, 0.0, -36.0)
        upright, = self.measured(self.write("block.stl", block))
        lying = self.write("lying.stl", made_up.on_its_side(block))
        row, = self.measured(lying)
        up, = self.about(row, "up")
        self.assertEqual(up["option"], "--up -y")
        self.assertAlmostEqual(float(up["fill_mm3"]) / float(upright["fill_mm3"]["value"]), 1, delta=1e-4)
        card = self.json("card", lying, code=65, schema="card")
        self.assertEqual({a["option"] for a in card["errors"][0]["doubt"]}, {"--read-as piece", "--up -y"})
        turned, = self.measured(lying, "--up", "-y")
        self.assertEqual((turned["read_as"], turned["doubt"]), ("mold", []))
        # Upright nothing is said about other ways.
        self.assertEqual(upright["doubt"], [])

    def test_a_deeper_underside_is_told(self):
        two = meshes.Blocks([6, 50, 6], [6, 40, 6], [22, 6, 8]).fill(range(3), range(3), range(3))
        two.clear([1], [1], [0]).clear([1], [1], [2])
        row, = self.measured(self.write("two sided.stl", two.triangles()))
        self.assertEqual(row["read_as"], "mold")
        up, = self.about(row, "up")
        self.assertEqual(up["option"], "--up -z")
        self.assertAlmostEqual(float(up["fill_mm3"]), 50 * 40 * 22, delta=1)
        self.assertIn("holds-more-turned", self.codes(row))

    def test_a_leaning_rim_is_told_in_degrees(self):
        block = made_up.block_with([(30.0, 0.0), (30.0, -25.0), (0.0, -25.0)], 45.0, 45.0, 0.0, -32.0)
        level, = self.measured(self.write("level.stl", block))
        self.assertEqual(level["doubt"], [])
        for degrees in (0.6, 3.0, 11.0, -7.0):
            path = self.write("leaning.stl", made_up.leaning(block, degrees))
            row, = self.measured(path)
            told = [d for d in self.about(row, "up") if d["option"] == "--up rim"]
            self.assertEqual(len(told), 1, row["doubt"])
            self.assertIn(f"{abs(degrees):.1f}°", told[0]["says"])
            stood, = self.measured(path, "--up", "rim")
            self.assertAlmostEqual(float(stood["fill_mm3"]["value"]) / float(level["fill_mm3"]["value"]), 1, delta=1e-4)
            self.assertEqual(self.about(stood, "up"), [])
        row, = self.measured(self.write("hair.stl", made_up.leaning(block, 0.3)))
        self.assertEqual(row["doubt"], [])

    # ---- bodies

    def two_parts(self, gap):
        """A cup of a foot and a ring above it."""
        foot = made_up.revolve([(0.0, -5.0), (40.0, -5.0), (40.0, 10.0), (30.0, 10.0), (30.0, 0.0), (0.0, 0.0)])
        upper = made_up.closed_ring([(40.0, 10 + gap), (40.0, 40 + gap), (30.0, 40 + gap), (30.0, 10 + gap)])
        return foot + upper

    def test_parts_that_lie_apart_are_no_piece(self):
        joined, = self.measured(self.write("joined.stl", self.two_parts(0.0)))
        for gap in (0.3, 1.0):
            path = self.write("apart.stl", self.two_parts(gap))
            row, = self.measured(path)
            told, = self.about(row, "bodies")
            self.assertAlmostEqual(float(told["fill_mm3"]) / float(joined["fill_mm3"]["value"]), 1, delta=0.05)
            self.assertIn("bodies-apart", self.codes(row))
            again, = self.measured(path, *told["option"].split())
            self.assertAlmostEqual(float(again["fill_mm3"]["value"]) / float(told["fill_mm3"]), 1, delta=0.01)

    def test_a_body_that_plays_no_part_is_mentioned(self):
        cup = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()
        brick = meshes.Blocks([10], [12], [14]).fill([0], [0], [0]).triangles()
        row, = self.measured(self.write("with a brick.stl", cup + meshes.moved(brick, (100, 0, 0))))
        idle = [n for n in row["notes"] if n["code"] == "body-idle"]
        self.assertEqual(len(idle), 1)
        self.assertIn("10 × 12 × 14 mm", idle[0]["text"])
        inside, = self.measured(self.write("core.stl", cup + meshes.moved(brick, (25, 20, 15))))
        self.assertNotIn("body-idle", self.codes(inside))

    def test_halves_side_by_side_are_told(self):
        # Half a bottle each: a trough with a channel out of its side.
        half = meshes.Blocks([8, 50, 8], [8, 20, 10, 20, 8], [8, 10, 14]).fill(range(3), range(5), range(3))
        half.clear([1], range(1, 4), [2]).clear([2], [2], [2])
        one = half.triangles()
        two = made_up.moved([tuple((-p[0], p[1], p[2]) for p in reversed(t)) for t in one], x=-20)
        # A pool is left below the channel, so that both hold something.
        row, = self.measured(self.write("opened.stl", one + two))
        self.assertNotIn("halves-side-by-side", self.codes(row))  # it holds nothing at all: the channel is as deep
        half.clear([1], range(1, 4), [1])
        one = half.triangles()
        two = made_up.moved([tuple((-p[0], p[1], p[2]) for p in reversed(t)) for t in one], x=-20)
        row, = self.measured(self.write("opened deeper.stl", one + two))
        self.assertIn("halves-side-by-side", self.codes(row))
        cups = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()
        row, = self.measured(self.write("two cups.stl", cups + meshes.moved(cups, (100, 0, 0))))
        self.assertNotIn("halves-side-by-side", self.codes(row))

    # ---- unit

    def test_every_unlikely_size_is_told(self):
        cup = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()

        def scaled(name, k):
            return self.write(name, [tuple(tuple(k * c for c in p) for p in t) for t in cup])
        metres = self.program.run("card", scaled("metres.stl", 0.001))
        self.assertEqual(metres.code, 64)
        self.assertIn("--unit m", metres.err)
        huge = self.program.run("card", scaled("huge.stl", 1000))
        self.assertIn("“huge.stl”", huge.err)
        for k in (0.1, 1 / 25.4):
            row, = self.measured(scaled("small.stl", k))
            self.assertIn("unit-unlikely", self.codes(row))

    def test_what_is_likely_comes_from_the_workshop(self):
        shop = self.folder / "beads"
        shop.mkdir(exist_ok=True)
        (shop / "shop.toml").write_text("".join(f'[[leftover]]\nkey = "b{ml}"\nholds = "{ml} ml"\n' for ml in (60, 240)), encoding="utf-8")
        cup = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()
        third = self.write("third.stl", [tuple(tuple(c / 3 for c in p) for p in t) for t in cup])

        def unit_notes(*options):
            card = self.json("card", third, *options, schema="card")
            return [n["text"] for n in card["molds"][0]["notes"] if n["code"] == "unit-unlikely"]
        self.assertEqual(unit_notes(), [])
        told, = unit_notes("--workshop", str(shop))
        self.assertIn("--unit", told)


if __name__ == "__main__":
    main()
