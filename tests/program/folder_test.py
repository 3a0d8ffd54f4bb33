#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Folders of molds: what is remembered, runs that are killed and begun again, files that break or take too long."""
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import unittest
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support.meshes import row_of_cups, write_stl
from support.program import ProgramTest, main

MOLDS = 60


def folder_of_molds(folder, count=MOLDS):
    """Rows of cups that take a little time each, none like another, some in folders within; two are no meshes."""
    draw = random.Random(7)
    for i in range(count):
        place = folder / f"shelf {i % 4}"
        place.mkdir(exist_ok=True, parents=True)
        write_stl(place / f"mold {i:03}.stl",
                  row_of_cups([draw.randint(10, 40) for _ in range(40)], 20 + i, 15, rim=i % 3).triangles())
    (folder / "broken.stl").write_bytes(b"\0" * 80 + (1000).to_bytes(4, "little") + b"\1" * 300)
    (folder / "letter.obj").write_text("Dear workshop\n")


class Folders(ProgramTest):
    def setUp(self):
        place = tempfile.TemporaryDirectory(prefix="pourwright-folder-")
        self.addCleanup(place.cleanup)
        self.place = Path(place.name)
        self.molds = self.place / "molds"
        folder_of_molds(self.molds)

    def cache(self, name="cache"):
        return str(self.place / name)

    def entries(self, name="cache"):
        # Beside the entries lies which file on the disk holds which content, once a file is old enough for that.
        return sum(len(names) for place, _, names in os.walk(self.cache(name)) if not Path(place).name.startswith("files-"))

    def run_words(self, cache, *more):
        return ["run", str(self.molds), "--mixer-max", "2.4kg", "--json", "--cache", cache, *more]

    def test_the_second_run_says_the_same_from_what_it_knows(self):
        for command in ("card", "run"):
            words = [command, str(self.molds), "--json", *(["--mixer-max", "2.4kg"] if command == "run" else [])]
            plain = self.program.run(*words, "--cache", "none")
            self.assertEqual(plain.code, 1, str(plain))
            # The two that are no meshes; and one that no batch can fill.
            self.assertEqual(Counter(e["code"] for e in self.document(plain, command)["errors"]),
                             Counter({"no-triangles": 2, **({"does-not-fit": 1} if command == "run" else {})}))
            first = self.program.run(*words, "--cache", self.cache(command))
            second = self.program.run(*words, "--cache", self.cache(command))
            self.assertEqual((first.raw_out, second.raw_out), (plain.raw_out, plain.raw_out))
            for jobs in ("1", "2", "3", "8"):
                self.assertEqual(self.program.run(*words, "--cache", "none", "-j", jobs).raw_out, plain.raw_out)
            self.assertEqual(self.entries(command), MOLDS + 2)

    def test_inspect_remembers_too(self):
        words = ["inspect", str(self.molds / "shelf 1"), "--json"]
        plain, first, second = (self.program.run(*words, "--cache", where) for where in ("none", self.cache(), self.cache()))
        self.assertEqual(plain.code, 0, str(plain))
        self.assertEqual((first.raw_out, second.raw_out), (plain.raw_out, plain.raw_out))
        self.assertEqual(self.entries(), MOLDS // 4)
        # What a mold is held against is no part of what is remembered of it; where walls count as thin is.
        self.assertEqual(self.program.run(*words, "--age", "30min", "--cache", self.cache()).raw_out,
                         self.program.run(*words, "--age", "30min", "--cache", "none").raw_out)
        self.assertEqual(self.entries(), MOLDS // 4)
        self.program.run(*words, "--min-wall", "7mm", "--cache", self.cache())
        self.assertEqual(self.entries(), MOLDS // 2)

    def test_the_usual_place(self):
        for env, where in (({"XDG_CACHE_HOME": self.cache("xdg")}, "xdg/pourwright"), ({"HOME": self.cache("home")}, "home/.cache/pourwright"),
                           ({"HOME": self.cache("other"), "XDG_CACHE_HOME": "not/absolute"}, "other/.cache/pourwright")):
            run = self.program.run("card", str(self.molds / "shelf 0"), env=env)
            self.assertEqual(run.code, 0, str(run))
            self.assertEqual(self.entries(where), MOLDS // 4)

    def test_what_changes_is_measured_again(self):
        words = ["card", str(self.molds / "shelf 0"), "--json", "--cache", self.cache()]
        before = self.json(*words, schema="card")
        changed = self.molds / "shelf 0" / "mold 000.stl"
        about = changed.stat()
        # As a program would that saves twice within a second: the same length, the same date.
        write_stl(changed, row_of_cups([25] * 40, 30, 15).triangles())
        self.assertEqual(changed.stat().st_size, about.st_size)
        os.utime(changed, ns=(about.st_atime_ns, about.st_mtime_ns))
        after = self.json(*words, schema="card")
        fresh = self.json(*words[:-1], "none", schema="card")
        self.assertEqual(after, fresh)
        fills = [[m["fill_mm3"] for m in d["molds"]] for d in (before, after)]
        self.assertNotEqual(fills[0][0], fills[1][0])
        self.assertEqual(fills[0][1:], fills[1][1:])

    def test_killed_at_any_moment_and_begun_again(self):
        reference = self.program.run(*self.run_words("none"))
        start = time.perf_counter()
        self.program.run(*self.run_words(self.cache("timing")))
        whole = time.perf_counter() - start
        draw = random.Random(11)
        picture = self.place / "list.json"
        known = []
        for _ in range(10):
            with open(picture, "wb") as out:
                child = subprocess.Popen([self.program.path, *self.run_words(self.cache())], stdout=out, stderr=subprocess.DEVNULL,
                                         env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"})
                time.sleep(draw.uniform(0, whole / 3))
                child.kill()
                child.wait()
            # Nothing half: either it was done before, or it has said nothing.
            self.assertIn(picture.read_bytes(), (b"", reference.raw_out))
            known.append(self.entries())
        self.assertEqual(known, sorted(known))
        self.assertGreater(known[-1], 0, "never got anywhere: the kills tell nothing")
        for jobs in ("1", "2", "8"):
            again = self.program.run(*self.run_words(self.cache(), "-j", jobs))
            self.assertEqual((again.code, again.raw_out), (reference.code, reference.raw_out))

    def test_no_child_outlives_a_killed_run(self):
        child = subprocess.Popen([self.program.path, *self.run_words("none")], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        time.sleep(0.05)
        child.kill()
        child.wait()
        # The pipe ends only when nobody holds it any more.
        self.assertEqual(child.stdout.read(), b"")
        child.stdout.close()

    def test_interrupted_it_says_how_to_go_on(self):
        reference = self.program.run(*self.run_words("none", "--quiet"))
        for cache, goes_on in ((self.cache(), True), ("none", False)):
            for sign, code in ((signal.SIGINT, 130), (signal.SIGTERM, 143)):
                said = None
                for wait in (0.04, 0.08, 0.16, 0.02, 0.3):  # a busy machine may not have begun, or be done
                    child = subprocess.Popen([self.program.path, *self.run_words(cache, "--quiet")], stdout=subprocess.PIPE,
                                             stderr=subprocess.PIPE)
                    time.sleep(wait)
                    child.send_signal(sign)
                    out, said = child.communicate(timeout=60)
                    if child.returncode == code and said:
                        break
                    if cache != "none":
                        self.cache_away(cache)
                else:
                    self.fail(f"never met at work with {sign}")
                self.assertEqual(out, b"")
                self.assertIn(b"interrupted", said)
                self.assertEqual(b" run " + str(self.molds).encode() + b" --mixer-max 2.4kg" in said, goes_on, said)
                if goes_on:  # as it stands there, pasted into a shell
                    again = subprocess.run(said.decode().splitlines()[-1].strip(), shell=True, capture_output=True, check=False,
                                           env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"})
                    self.assertEqual((again.returncode, again.stdout), (reference.code, reference.raw_out))
                if cache != "none":
                    self.cache_away(cache)

    @staticmethod
    def cache_away(folder):
        for root, _, names in os.walk(folder):
            for name in names:
                os.unlink(os.path.join(root, name))

    def test_outputs_are_written_once(self):
        out = self.place / "day.svg"
        file = self.place / "run.toml"
        file.write_text('[bench]\nbucket = "2 kg"\n[hours]\n[[mold]]\nkey = "a"\nfile = "molds/shelf 0/mold 000.stl"\n'
                        '[[piece]]\nmold = "a"\nwanted = 3\n')
        words = ["run", str(file), "--cache", self.cache(), "--svg", str(out)]
        self.assertEqual(self.program.run(*words).code, 0)
        about = out.stat()
        # As if it had been ended between the picture and the text.
        self.assertEqual(self.program.run(*words).code, 0)
        self.assertEqual((out.stat().st_mtime_ns, out.stat().st_ino), (about.st_mtime_ns, about.st_ino))

    def test_one_that_takes_too_long_is_an_entry(self):
        slow = self.place / "slow"
        slow.mkdir()
        write_stl(slow / "quick.stl", row_of_cups([20], 20, 15).triangles())
        write_stl(slow / "slow.stl", row_of_cups([3] * 9000, 20, 15, rim=1).triangles())
        words = ["card", str(slow), "--json", "--cache", self.cache(), "--time-limit"]
        run = self.program.run(*words, "0.1s")
        self.assertEqual(run.code, 1, str(run))
        document = self.document(run, "card")
        self.assertEqual([e["code"] for e in document["errors"]], ["time-limit"])
        self.assertEqual(len(document["molds"]), 1)
        # It is not remembered as hopeless.
        self.assertEqual(self.program.run(*words, "10min").code, 0)
        alone = self.program.run("card", str(slow / "slow.stl"), "--time-limit", "0.1s", "--cache", "none")
        self.assertEqual(alone.code, 124, str(alone))
        out = self.place / "mended.stl"
        mended = self.program.run("mend", str(slow / "slow.stl"), "-o", str(out), "--time-limit", "0.1s")
        self.assertEqual(mended.code, 124, str(mended))
        self.assertFalse(out.exists())
        self.assertEqual(self.program.run("mend", str(slow / "quick.stl"), "-o", str(out)).code, 0)
        self.assertTrue(out.exists())
        for bad in ("0s", "never", "-1s", "nan"):
            self.assertEqual(self.program.run("card", str(slow), "--time-limit", bad).code, 64)

    def test_progress_only_where_somebody_watches(self):
        self.assertEqual(self.program.run("card", str(self.molds / "shelf 0"), "--cache", "none").err, "")
        main_end, other_end = os.openpty()
        with open(other_end, "wb") as terminal:
            child = subprocess.Popen([self.program.path, "card", str(self.molds / "shelf 0"), "--cache", "none"], stdout=subprocess.DEVNULL,
                                     stderr=terminal, env={"PATH": os.environ["PATH"], "TERM": "xterm"})
            child.wait()
        said = os.read(main_end, 1 << 16)
        os.close(main_end)
        self.assertIn(b" of 15 files measured", said)
        self.assertTrue(said.endswith(b"\r\x1b[K"), said)


if __name__ == "__main__":
    main()
