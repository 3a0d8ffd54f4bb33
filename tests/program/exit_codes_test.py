#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exit codes: what schedulers and scripts act on."""
import os
import re
import signal
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import meshes
from support.program import ROOT, ProgramTest, main


class ExitCodes(ProgramTest):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory(prefix="pourwright-exit-")
        cls.addClassCleanup(cls.temporary.cleanup)
        cls.folder = Path(cls.temporary.name)
        cup = meshes.cup(60, 40, 30, wall=5, floor=5).triangles()
        meshes.write_stl(cls.folder / "cup.stl", cup)
        meshes.write_stl(cls.folder / "twice.stl", meshes.cup(30, 40, 30, wall=5, floor=5).triangles())
        meshes.write_stl(cls.folder / "tiny.stl", meshes.cup(2.5, 1.5, 1.25, wall=0.25, floor=0.25).triangles())
        meshes.write_stl(cls.folder / "open.stl", cup[7:])
        meshes.write_stl(cls.folder / "sheet.stl", [((0, 0, 0), (40, 0, 0), (40, 30, 0)), ((0, 0, 0), (40, 30, 0), (0, 30, 0))])
        (cls.folder / "empty.stl").touch()
        (cls.folder / "letter.stl").write_text("Dear workshop,\n", encoding="utf-8")
        (cls.folder / "folder").mkdir()
        for name, text in (("syntax", "[[mix]\n"), ("key", '[[mix]]\nratoi = 3\n'), ("value", '[[mix]]\nkey = "a"\nratio = -1\n')):
            (cls.folder / name).mkdir()
            (cls.folder / name / "mixes.toml").write_text(text, encoding="utf-8")

    def code(self, expected, *words, says=None, **how):
        run = self.program.run(*words, cwd=self.folder, **how)
        self.assertEqual(run.code, expected, str(run))
        if expected not in (0, 1):
            self.assertTrue(run.err.strip(), f"nothing on standard error: {run}")
        if says:
            self.assertIn(f"[{says}]", run.err, str(run))
        return run

    def test_0_done(self):
        for words in ("card cup.stl", "measure cup.stl twice.stl", "cup.stl", "mix --liquid 102g", "split --grams 500 --cup a=50% --cup b",
                      "explain not-closed", "doctor", "completion zsh", "--help", "card --help", "--version", "mix --list"):
            self.code(0, *words.split())

    def test_2_every_limit_that_help_names_can_be_reached_and_kept(self):
        tray = str(ROOT / "meshes" / "tide_tray.obj")
        reached = {"wall": "<2.5mm", "p05": "<3mm", "median": "<20mm", "thin": ">5%", "stress": ">0.3MPa", "risk": ">=watch",
                   "draft": "<1deg", "undercut": ">=0mm2", "depth": ">=0mm", "trap": ">=0ml", "ceiling": ">=0%"}
        kept = {"wall": "<2mm", "p05": "<1mm", "median": "<5mm", "thin": ">50%", "stress": ">1MPa", "risk": ">high",
                "draft": "<-1deg", "undercut": ">0mm2", "depth": ">0.5mm", "trap": ">1ml", "ceiling": ">50%"}
        row = " ".join(self.code(0, "inspect", "--help").out.split()).split("exit code 2 when it is so: ")[1].split(";")[0]
        self.assertEqual({re.match("[a-z0-9]+", word).group() for word in row.replace("'", "").split(", ")}, set(reached))
        self.assertEqual(set(kept), set(reached))
        run = self.code(2, "inspect", tray, *[w for k, v in reached.items() for w in ("--fail-if", k + v)])
        for k, v in reached.items():
            self.assertIn(f"{k}{v} is exceeded", run.err)
        run = self.code(0, "inspect", tray, *[w for k, v in kept.items() for w in ("--fail-if", k + v)])
        for k, v in kept.items():
            self.assertIn(f"{k}{v} is kept", run.out)
        for bad in ("wall", "wall<", "wall<2kg", "wall=2mm", "wall<-1mm", "risk>=hi", "draft<2mm", "trap>1g", "thin>5%%", ""):
            self.code(64, "inspect", tray, "--fail-if", bad, says="usage")

    def test_2_a_limit_exceeded(self):
        self.code(0, "inspect", "cup.stl", "--fail-if", "wall<5mm", "--fail-if", "undercut>0")
        run = self.code(2, "inspect", "cup.stl", "--fail-if", "wall<5mm", "--fail-if", "draft<1deg")
        self.assertIn("draft<1deg", run.err)
        self.assertNotIn("wall<5mm", run.err)
        # One file's failure does not hide what was found of the others.
        self.code(2, "inspect", "cup.stl", "missing.stl", "--fail-if", "draft<1deg", "--json")
        self.code(1, "inspect", "cup.stl", "missing.stl", "--fail-if", "wall<1mm", "--json")
        self.code(66, "inspect", "missing.stl", "--fail-if", "wall<1mm")
        self.code(64, "inspect", "cup.stl", "--fail-if", "wal<1mm", says="usage")
        self.code(64, "inspect", "cup.stl", "--of", "cup", says="usage")
        self.code(64, "measure", "cup.stl", "--fail-if", "wall<1mm", says="usage")

    def test_1_some_failed_and_the_others_measured(self):
        for bad in ("sheet.stl", "empty.stl", "missing.stl", "folder", "letter.stl"):
            for command in ("measure", "card"):
                run = self.code(1, command, "cup.stl", bad, "twice.stl", "--json")
                document = self.document(run, command)
                if command == "measure":
                    self.assertEqual([f["ok"] for f in document["files"]], [True, False, True])
                    self.assertEqual(document["files"][0]["cavities"][0]["capacity_mm3"]["value"], 72000)
                    self.assertEqual(document["files"][2]["cavities"][0]["capacity_mm3"]["value"], 36000)
                else:
                    self.assertEqual([m["fill_mm3"]["value"] for m in document["molds"]], [72000, 36000])
                    self.assertEqual(len(document["errors"]), 1)
                self.code(1, command, "cup.stl", bad)
        self.code(1, "measure", "sheet.stl", "empty.stl")

    def test_1_a_warning_when_strict(self):
        # Nobody has weighed the mix that is built in; a workshop's own has a cup test.
        self.code(1, "card", "cup.stl", "--strict")
        self.code(0, "card", "cup.stl:9", "--strict", "--workshop", str(ROOT / "docs/examples/tern"))
        self.code(0, "card", "tiny.stl")
        self.code(1, "card", "tiny.stl", "--strict")
        self.code(1, "measure", "tiny.stl", "--strict")
        self.code(1, "card", "cup.stl", "--scale-step", "10g", "--strict")
        self.code(0, "mix", "--grams", "30", "--scale-step", "1g")
        self.code(1, "mix", "--grams", "30", "--scale-step", "1g", "--strict")
        self.code(1, "split", "--grams", "30", "--scale-step", "1g", "--cup", "a=50%", "--cup", "b", "--strict")

    def test_64_usage(self):
        for words in ("", "card", "measure", "mix", "split", "cadr", "card cup.stl --nonsense", "card cup.stl --fill", "card cup.stl --fill nonsense",
                      "card cup.stl --ratio -1", "card cup.stl --ratio 0", "card cup.stl --ratio nan", "card cup.stl --ratio 0x10", "card cup.stl --density 0",
                      "card cup.stl --copies 0", "card cup.stl --copies 1.5", "card cup.stl --scale-step 0g", "card cup.stl --allowance -1%",
                      "card cup.stl --unit yard", "card cup.stl --up 0,0,0", "card cup.stl --read-as mould", "card cup.stl -j 0",
                      "card cup.stl --material nothing", "card cup.stl --fill 99mm", "card cup.stl --fill -99mm", "card cup.stl --pigment Kelp",
                      "card cup.stl --pigment Kelp=99%", "card cup.stl --colour pink", "card cup.stl --decimal dot", "measure cup.stl --only walls",
                      "mix --ml 0", "mix --grams -5", "mix --grams 1e300", "mix --liquid 5mm", "mix --liquid 1 --grams 1", "mix extra --ml 5",
                      "split --grams 500", "split --grams 500 --cup a=50%", "split --grams 500 --cup a=50% --cup a=50%", "split --grams 500 --cup =50%",
                      "explain nothing", "explain usage usage", "completion", "completion tcsh", "doctor now"):
            self.code(64, *words.split())

    def test_65_bad_data(self):
        for name, slug in (("sheet.stl", "not-closed"), ("empty.stl", "file-empty"), ("letter.stl", "file-malformed")):
            for command in ("measure", "card"):
                self.code(65, command, name, says=slug)
                self.document(self.code(65, command, name, "--json"), command)
        self.code(65, "measure", "open.stl", "--close-holes", "none", says="not-closed")
        self.code(65, "card", "cup.stl", "--up", "x", "--read-as", "mold", says="holds-nothing")

    def test_66_missing(self):
        for command in ("measure", "card"):
            self.code(66, command, "missing.stl", says="file-missing")
            self.code(66, command, "folder", says="nothing-found")
            self.code(66, command, "", says="file-missing")

    def test_74_unreadable(self):
        os.mkfifo(self.folder / "pipe.stl")
        self.addCleanup(os.unlink, self.folder / "pipe.stl")
        self.code(74, "measure", "pipe.stl", says="file-unreadable", timeout=20)
        self.code(74, "measure", "/dev/zero", says="file-unreadable", timeout=20)
        if os.geteuid() != 0:
            secret = self.folder / "secret.stl"
            secret.touch(0)
            self.addCleanup(os.unlink, secret)
            self.code(74, "measure", "secret.stl", says="file-unreadable")

    def test_74_output_that_takes_nothing(self):
        for words in (["card", "cup.stl"], ["measure", "cup.stl", "--json"], ["--help"], ["mix", "--liquid", "5"]):
            with open("/dev/full", "wb") as full:
                self.code(74, *words, stdout=full)
            run = subprocess.run(["sh", "-c", 'exec "$0" "$@" >&-', self.program.path, *words], cwd=self.folder, stdin=subprocess.DEVNULL,
                                 stderr=subprocess.PIPE, timeout=60, check=False)
            self.assertEqual(run.returncode, 74, run.stderr)
            self.assertIn(b"standard output", run.stderr)

    def test_a_closed_pipe_is_no_bug(self):
        reader, writer = os.pipe()
        os.close(reader)
        with os.fdopen(writer, "wb") as pipe:
            run = subprocess.run([self.program.path, "card", "cup.stl"], cwd=self.folder, stdin=subprocess.DEVNULL, stdout=pipe,
                                 stderr=subprocess.PIPE, timeout=60, check=False)
        self.assertIn(run.returncode, (-signal.SIGPIPE, 74))

    def test_78_configuration(self):
        for name, slug in (("syntax", "config-syntax"), ("key", "config-unknown-key"), ("value", "config-bad-value"), ("nowhere", "config-missing")):
            for words in (["card", "cup.stl"], ["mix", "--ml", "5"], ["mix", "--list"], ["split", "--grams", "5", "--cup", "a"]):
                self.code(78, *words, "--workshop", name, says=slug)

    def test_options_of_the_contract_are_taken_by_every_command(self):
        shared = "--json --quiet -j 2".split()
        for words in ("card cup.stl", "measure cup.stl", "mix --ml 5", "split --grams 5 --cup a", "explain usage", "doctor", "completion fish"):
            self.document(self.code(0, *words.split(), *shared))
            self.code(0, words.split()[0], "--help", *shared)
        weighing = "--material casting-plaster --ratio 3 --density 1.8 --allowance 5% --scale-step 0.1g --workshop folder".split()
        for words in ("card cup.stl --copies 2", "measure cup.stl --copies 2", "mix --ml 500", "split --grams 500 --cup a"):
            self.code(0, *words.split(), *weighing)
        geometry = "--unit mm --read-as mold --up +z --fill brim".split()
        for words in ("card cup.stl", "measure cup.stl"):
            self.code(0, *words.split(), *geometry)

    def test_order_of_words_does_not_matter(self):
        expected = self.program.run("card", "cup.stl", "--json", cwd=self.folder).out
        for words in ("cup.stl --json", "--json cup.stl", "--json card cup.stl", "-j 2 card --json cup.stl", "card --json -- cup.stl", "-q --json -j1 cup.stl",
                      "--ratio 3.2 --json card cup.stl"):
            self.assertEqual(self.code(0, *words.split()).out, expected, words)

    def test_names_that_look_like_options_or_commands(self):
        for name in ("card", "mix.stl", "-dash.stl"):
            (self.folder / name).write_bytes((self.folder / "cup.stl").read_bytes())
            self.addCleanup(os.unlink, self.folder / name)
        for words in (["card", "card"], ["mix.stl"], ["card", "./-dash.stl"], ["card", "--", "-dash.stl"], ["--", "-dash.stl"]):
            self.code(0, *words)


class WorkshopAlone(ProgramTest):
    """What a build without the geometry wing says; run with --without-geometry."""

    def test_69(self):
        for command in ("card", "measure"):
            run = self.program.run(command, str(ROOT / "meshes" / "ripple_dish.stl"), "--json")
            self.assertEqual(run.code, 69, str(run))
            self.document(run, "error")

    def test_the_rest_works(self):
        for words in ("mix --liquid 102g", "split --grams 500 --cup a", "doctor", "explain", "completion bash", "mix --list"):
            self.json(*words.split())


if __name__ == "__main__":
    alone = "--without-geometry" in sys.argv
    if alone:
        sys.argv.remove("--without-geometry")
        del ExitCodes
    else:
        del WorkshopAlone
    main()
