#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cards as a terminal shows them: one mold on one screen, cautions once a day, no line wider than the page."""
import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import tempfile
import termios
import unicodedata
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import meshes
from support.program import ROOT, ProgramTest, main

NOON, DAY = 1795953600, 86400
ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
DEMO = ["ripple_dish.stl", "knob_six.stl", "hull_planter.stl", "tide_tray.obj", "ring_cone.ply", "bookend_tern.stl"]
WORKSHOP = str(ROOT / "docs/examples/tern")


def cells(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


class Terminal(ProgramTest):
    def setUp(self):
        temporary = tempfile.TemporaryDirectory(prefix="pourwright-terminal-")
        self.addCleanup(temporary.cleanup)
        self.state = Path(temporary.name)

    def shown(self, *words, columns=80, rows=24, now=NOON, cwd=ROOT / "meshes", env=None):
        """Lines on a terminal of this size, without their colours."""
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        surroundings = {"LC_ALL": "C.UTF-8", "TERM": "xterm-256color", "PATH": os.environ["PATH"], "HOME": str(self.state), "XDG_STATE_HOME": str(self.state),
                        "XDG_CACHE_HOME": str(self.state / "cache"), "SOURCE_DATE_EPOCH": str(now), **(env or {})}
        surroundings.update({k: v for k, v in os.environ.items() if k.endswith("SAN_OPTIONS")})
        process = subprocess.Popen([self.program.path, *words], cwd=cwd, env=surroundings, stdin=subprocess.DEVNULL,
                                   stdout=theirs, stderr=subprocess.PIPE)
        os.close(theirs)
        out = b""
        while True:
            try:
                block = os.read(ours, 1 << 16)
            except OSError:  # the other end is closed
                break
            if not block:
                break
            out += block
        os.close(ours)
        errors = process.communicate(timeout=900)[1]
        self.assertIn(process.returncode, (0, 1), errors.decode())
        self.assertNotIn(b"runtime error", errors)
        return ESCAPE.sub("", out.decode().replace("\r\n", "\n")).rstrip("\n").split("\n")

    def test_one_mold_is_one_screen(self):
        for mold in DEMO:
            for when in ("first card of a day", "a further card"):
                with self.subTest(mold, when=when):
                    lines = self.shown(mold, "--workshop", WORKSHOP)
                    self.assertLessEqual(len(lines), 24 if when == "a further card" else 32, "\n".join(lines))
            self.state = self.state / "next"

    def test_cautions_in_full_once_a_day_and_never_absent(self):
        first, second = (self.shown("ripple_dish.stl") for _ in range(2))
        self.assertIn("wear a mask", "\n".join(first))
        self.assertNotIn("wear a mask", "\n".join(second))
        self.assertEqual([1], [sum("--cautions" in line for line in second)])
        self.assertIn("Take care", second[-1])
        self.assertEqual(first, self.shown("ripple_dish.stl", "--cautions"))
        self.assertEqual(first, self.shown("ripple_dish.stl", now=NOON + DAY))
        # A mix that says more than was shown today says all.
        self.assertIn("wear a mask", "\n".join(self.shown("mix", "--liquid", "900g", "--material", "casting plaster", now=NOON + DAY)))

    def test_what_is_piped_does_not_depend_on_the_day(self):
        piped = [self.program.run("ripple_dish.stl", cwd=ROOT / "meshes", env={"XDG_STATE_HOME": str(self.state)}).out for _ in range(2)]
        self.shown("ripple_dish.stl")
        piped.append(self.program.run("ripple_dish.stl", cwd=ROOT / "meshes", env={"XDG_STATE_HOME": str(self.state)}).out)
        self.assertIn("wear a mask", piped[0])
        self.assertEqual([piped[0]] * 2, piped[1:])

    def test_nothing_is_wider_than_the_page_or_cut(self):
        with tempfile.TemporaryDirectory(prefix="pourwright-names-") as folder:
            names = ["ein sehr langer Name für eine kleine Form mit vielen Wörtern und noch einigen mehr.stl", "n" * 120 + ".stl",
                     "シダの葉の型.stl", "a.stl"] + [f"dish {k:02}.stl" for k in range(26)]
            for name in names:
                meshes.write_stl(Path(folder) / name, meshes.cup(60, 40, 30, wall=5, floor=5).triangles())
            for columns in (60, 80, 120):
                for words in (["card", "."], ["card", names[0]], ["card", names[1]], ["measure", "."], ["inspect", names[1]],
                              ["run", ".", "--mixer-max", "2kg"]):
                    with self.subTest(columns=columns, words=words):
                        lines = self.shown(*words, columns=columns, cwd=folder)
                        for line in lines:
                            self.assertLessEqual(cells(line), min(columns, 100), line)
                        self.assertNotIn("…", "".join(lines))
                        bare = "".join("".join(lines).split())
                        for name in names if "." in words else words[-1:]:
                            self.assertIn("".join(name.split()), bare)


if __name__ == "__main__":
    main()
