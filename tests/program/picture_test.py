#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures by the built program: names and folders, the same bytes twice, words that attack the markup."""
import json
import shutil
import struct
import sys
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree
import zlib
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support.program import ROOT, ProgramTest, main

MESHES = ROOT / "meshes"


def points(png):
    """Width, height and the rows of an eight-bit PNG without interlacing."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, data, size, channels = 8, b"", None, None
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at:at + 8])
        body = png[at + 8:at + 8 + length]
        assert zlib.crc32(kind + body) == struct.unpack(">I", png[at + 8 + length:at + 12 + length])[0]
        if kind == b"IHDR":
            width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", body)
            assert depth == 8 and interlaced == 0
            size, channels = (width, height), {2: 3, 6: 4}[colour]
        if kind == b"IDAT":
            data += body
        at += 12 + length
    raw, line, rows, before = zlib.decompress(data), size[0] * channels, [], bytes(size[0] * channels)
    for y in range(size[1]):
        kind, now = raw[y * (line + 1)], bytearray(raw[y * (line + 1) + 1:(y + 1) * (line + 1)])
        for i in range(line):
            left = now[i - channels] if i >= channels else 0
            up, corner = before[i], before[i - channels] if i >= channels else 0
            if kind == 1:
                now[i] = now[i] + left & 255
            elif kind == 2:
                now[i] = now[i] + up & 255
            elif kind == 3:
                now[i] = now[i] + (left + up) // 2 & 255
            elif kind == 4:
                p = left + up - corner
                near = min((abs(p - left), 0, left), (abs(p - up), 1, up), (abs(p - corner), 2, corner))[2]
                now[i] = now[i] + near & 255
        before = bytes(now)
        rows.append(before)
    return size, channels, rows


class Pictures(ProgramTest):
    def setUp(self):
        place = tempfile.TemporaryDirectory(prefix="pourwright-picture-")
        self.addCleanup(place.cleanup)
        self.place = Path(place.name)

    def texts(self, path):
        root = ElementTree.parse(path).getroot()
        return [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]

    def test_one_mold_twice(self):
        for command in ("card", "measure", "inspect"):
            made = []
            for k in range(2):
                png, svg = self.place / f"{command}{k}.png", self.place / f"{command}{k}.svg"
                run = self.program.run(command, str(MESHES / "ring_cone.ply"), "--png", str(png), "--svg", str(svg),
                                       "-j", str(k + 1), cwd=self.place)
                self.assertEqual(run.code, 0, run)
                made.append((png.read_bytes(), svg.read_bytes()))
            self.assertEqual(made[0], made[1])
            size, channels, rows = points(made[0][0])
            self.assertEqual(size, (1600, 1200))
            # Paper, mold, liquid and ink are all there, in shares a person would call a picture.
            count = {}
            for row in rows[::4]:
                for i in range(0, len(row), 4 * channels):
                    count[row[i:i + 3]] = count.get(row[i:i + 3], 0) + 1
            total = sum(count.values())
            self.assertGreater(count.get(bytes.fromhex("f7f4ed"), 0) / total, 0.1)
            self.assertGreater(count.get(bytes.fromhex("fffdf9"), 0) / total, 0.3)
            self.assertGreater(count.get(bytes.fromhex("d58d5f"), 0) / total, 0.001)
            texts = self.texts(self.place / f"{command}0.svg")
            self.assertIn("ring_cone.ply", texts)
            self.assertIn("30.9 ml", texts)
            self.assertEqual(any(t.endswith(" g") for t in texts), command == "card")

    def test_the_card_says_the_same_grams(self):
        document = self.program.run("card", str(MESHES / "ring_cone.ply:3"), "--json", "--svg", str(self.place / "x.svg"))
        grams = json.loads(document.out, parse_float=str)["molds"][0]["mix_g"]["value"]
        self.assertIn(f"{grams} g", self.texts(self.place / "x.svg"))

    def test_names_that_attack(self):
        for name in ('<b>&".stl', "</text>'x.stl".replace("/", "|"), "a\nb.stl", "öß 中 .stl", "\udcff\udcfe.stl"):
            shutil.copy(MESHES / "knob_six.stl", self.place / name)
        run = self.program.run("measure", str(self.place), "--svg", str(self.place / "out") + "/", "--quick")
        self.assertEqual(run.code, 0, run)
        made = sorted((self.place / "out").iterdir())
        self.assertEqual(len(made), 5)
        for path in made:
            self.assertGreater(len(self.texts(path)), 8)
        self.assertIn('<b>&".stl', [t for p in made for t in self.texts(p)])

    def test_a_picture_for_each_mold(self):
        for folder in ("a", "b"):
            (self.place / folder).mkdir()
            shutil.copy(MESHES / "knob_six.stl", self.place / folder / "knob.stl")
        (self.place / "a" / "broken.stl").write_bytes(b"solid nothing")
        files = [str(self.place / "a"), str(self.place / "b")]
        refused = self.program.run("measure", *files, "--png", str(self.place / "one.png"))
        self.assertEqual(refused.code, 64, refused)
        self.assertIn("{name}", refused.err)
        run = self.program.run("measure", *files, "--png", str(self.place / "p" / "{name} seen.png"), "--quick")
        self.assertEqual(run.code, 1, run)
        self.assertEqual(sorted(p.name for p in (self.place / "p").iterdir()), ["knob seen.png", "knob-2 seen.png"])

    def test_what_is_there_is_kept(self):
        there = self.place / "there.png"
        there.write_text("mine")
        run = self.program.run("measure", str(MESHES / "knob_six.stl"), "--quick", "--png", str(there))
        self.assertEqual((run.code, there.read_text()), (73, "mine"), run)
        self.assertIn("--force", run.err)
        self.assertEqual(self.program.run("measure", str(MESHES / "knob_six.stl"), "--quick", "--force", "--png", str(there)).code, 0)
        nowhere = self.program.run("measure", str(MESHES / "knob_six.stl"), "--quick", "--png", str(self.place / "no" / "x.png"))
        self.assertEqual(nowhere.code, 73, nowhere)

    def test_readings_and_what_holds_nothing(self):
        for more in (["--read-as", "piece"], ["--up", "-z"], ["--up", "0.3,0.2,1"], ["--fill", "-4mm", "--decimal", "comma"]):
            out = self.place / ("".join(more) + ".svg")
            run = self.program.run("measure", str(MESHES / "knob_six.stl"), "--svg", str(out), *more)
            self.assertEqual(run.code, 0, run)
            self.assertGreater(len(self.texts(out)), 8)
        self.assertIn("level: 4 mm below the brim", self.texts(out))
        self.assertTrue(any(t.endswith(" ml") and "," in t for t in self.texts(out)))


if __name__ == "__main__":
    main()
