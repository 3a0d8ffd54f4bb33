#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A workshop by questions or options, where it is remembered, and which workshop a command uses."""
import os
import pty
import shutil
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import meshes
from support.program import ROOT, ProgramTest, main

TERN = ROOT / "docs/examples/tern"
NOBODY = "a mix nobody has weighed"


class Setup(ProgramTest):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory(prefix="pourwright-setup-")
        self.folder = Path(self.temporary.name).resolve()
        self.config = self.folder / "settings"
        self.env = {"XDG_CONFIG_HOME": str(self.config), "HOME": str(self.folder / "home")}
        (self.folder / "molds").mkdir()
        self.cup = self.folder / "molds" / "cup.stl"
        meshes.write_stl(self.cup, meshes.cup(60, 40, 30, wall=5, floor=5).triangles())

    def tearDown(self):
        self.temporary.cleanup()

    def run_(self, *words, code=0, env=None):
        run = self.program.run(*map(str, words), cwd=self.folder, env=self.env if env is None else env)
        self.assertEqual(run.code, code, str(run))
        return run

    def card(self, *words, env=None):
        return self.json("card", *map(str, words), cwd=self.folder, env=self.env if env is None else env, schema="card")

    def asked(self, typed, *words):
        """On a terminal of its own: what stands there in the end, and the exit code."""
        master, slave = pty.openpty()
        env = {"LC_ALL": "C.UTF-8", "PATH": os.environ["PATH"], "TERM": "xterm", **self.env}
        process = subprocess.Popen([self.program.path, "setup", *words], cwd=self.folder, env=env, stdin=slave, stdout=slave, stderr=slave)
        os.close(slave)
        os.write(master, typed.encode())
        seen = b""
        end = time.monotonic() + 60
        while time.monotonic() < end:
            try:
                block = os.read(master, 4096)
            except OSError:  # the other side is closed
                break
            if not block:
                break
            seen += block
        os.close(master)
        return seen.decode("utf-8", "replace"), process.wait(timeout=60)

    def test_without_a_workshop_nobody_has_weighed_the_mix(self):
        card = self.card(self.cup)["material"]
        self.assertFalse(card["weighed"])
        self.assertIn("not weighed", card["density_from"])
        self.assertAlmostEqual(float(card["density_spread"]), 0.07)
        self.assertIsNone(card["workshop"])
        text = self.run_(self.cup).out
        self.assertIn(NOBODY, text.splitlines()[0])
        self.assertIn(NOBODY, " ".join(text[text.index("Accuracy"):].split())[:200])
        self.assertNotIn("cup test ±", text)
        self.assertIn(NOBODY, self.run_("mix", "--liquid", "102g").out.splitlines()[0])
        weighed = self.run_(self.cup, "--workshop", TERN).out
        self.assertNotIn(NOBODY, weighed)
        # A narrow page breaks the title, and loses nothing of it.
        self.assertTrue(self.card(self.cup, "--workshop", TERN)["material"]["weighed"])

    def test_a_template_is_marked_until_a_cup_was_weighed(self):
        (self.folder / "shop").mkdir()
        self.run_("mix", "--template", "-o", "shop/mine.toml")
        self.assertFalse(self.card(self.cup, "--workshop", "shop")["material"]["weighed"])
        self.assertIn(NOBODY, self.run_("learn", "--workshop", "shop").out)
        self.run_("learn", "cup", "--ml", "200", "--grams", "372g", "--workshop", "shop")
        card = self.card(self.cup, "--workshop", "shop")["material"]
        self.assertTrue(card["weighed"])
        self.assertEqual(card["density_from"], "records")
        self.assertNotIn(NOBODY, self.run_(self.cup, "--workshop", "shop").out)
        self.assertNotIn(NOBODY, self.run_("learn", "--workshop", "shop").out)

    def test_by_options(self):
        made = self.json("setup", "shop", "--ratio", "2,9", "--scale", "1 g to 5 kg", "--scale", "0.01g to 200g", "--liquid-name", 'the "white"',
                         "--powder-name", "dust\\stone", "--ml", "200", "--grams", "372g", cwd=self.folder, env=self.env, schema="setup")
        self.assertEqual((made["did"], made["folder"]), ("made", str(self.folder / "shop")))
        self.assertTrue(made["weighed"])
        card = self.card(self.cup)
        self.assertEqual(card["material"]["workshop"], str(self.folder / "shop"))
        self.assertEqual([p["name"] for p in card["total"]["parts"]], ['the "white"', "dust\\stone"])
        self.assertAlmostEqual(float(card["material"]["ratio"]), 2.9)
        self.assertEqual(card["material"]["density_from"], "records")
        self.assertEqual(self.card(f"{self.cup}:9")["scale"], "Scale 1")
        for words in (["card", self.cup], ["mix", "--liquid", "102g"], ["split", "--grams", "300", "--cup", "a"], ["leftover", "--grams", "86g"],
                      ["learn"], ["run", "molds"], ["blend", "--base", "#ece7db"]):
            self.assertIn("workshop shop", self.run_(*words).out.splitlines()[0], words)
            self.assertNotIn("workshop shop", self.run_(*words, "--workshop", "none").out, words)
        doctor = self.json("doctor", cwd=self.folder, env=self.env, schema="doctor")["workshop"]
        self.assertEqual((doctor["folder"], doctor["remembered"], doctor["records"]), (str(self.folder / "shop"), True, 1))
        self.assertIn("remembered", self.run_("doctor").out)
        self.assertEqual([m["name"] for m in self.json("mix", "--list", cwd=self.folder, env=self.env)["mixes"]][-1], "House mix")

    def test_what_is_remembered_is_the_persons_own(self):
        self.run_("setup", "shop")
        for part in (self.config, self.config / "pourwright"):
            self.assertEqual(stat.S_IMODE(part.stat().st_mode), 0o700, part)
        self.assertFalse((self.folder / "home").exists())
        # A variable that is no absolute path does not count; HOME does then.
        self.assertIsNone(self.card(self.cup, env={"XDG_CONFIG_HOME": "settings"})["material"]["workshop"])
        self.assertIsNone(self.card(self.cup, env={"XDG_CONFIG_HOME": "settings", "HOME": "."})["material"]["workshop"])
        self.run_("setup", "other", env={"XDG_CONFIG_HOME": "settings", "HOME": str(self.folder / "home")})
        self.assertTrue((self.folder / "home/.config/pourwright/config.toml").is_file())
        self.assertEqual(self.run_("setup", "other", code=64, env={"XDG_CONFIG_HOME": "", "HOME": "home"}).out, "")
        self.assertEqual(self.json("setup", "--forget", cwd=self.folder, env=self.env, schema="setup")["folder"], str(self.folder / "shop"))
        self.assertIsNone(self.card(self.cup)["material"]["workshop"])
        self.assertIsNone(self.json("setup", "--forget", cwd=self.folder, env=self.env, schema="setup")["folder"])

    def test_nothing_is_written_over(self):
        self.run_("setup", TERN)
        self.assertEqual(self.card(self.cup)["material"]["name"], "Boathouse 3.2")
        before = {p.name: p.read_bytes() for p in TERN.iterdir()}
        self.run_("setup", TERN, "--ratio", "3", code=73)
        self.assertEqual({p.name: p.read_bytes() for p in TERN.iterdir()}, before)
        self.run_("setup", self.cup, code=73)
        (self.folder / "full").mkdir()
        (self.folder / "full" / "notes.txt").write_text("mine")
        self.run_("setup", "full")
        self.assertEqual((self.folder / "full" / "notes.txt").read_text(), "mine")
        for words in (["--ratio", "0"], ["--ratio", "400"], ["--scale", "0g"], ["--scale", "5kg to 1g"], ["--scale", ""], ["--ml", "200"],
                      ["--ml", "200", "--grams", "37200g"], ["--liquid-name", "x", "--powder-name", "x"], ["--liquid-name", "a" * 200],
                      ["--liquid-name", " "]):
            run = self.program.run("setup", "never", *words, cwd=self.folder, env=self.env)
            self.assertIn(run.code, (64, 65, 78), str(run))
            self.assertEqual([p.name for p in self.folder.iterdir() if "never" in p.name], [], words)
        os.chmod(self.folder / "molds", 0o500)
        if os.geteuid() != 0:
            self.run_("setup", "molds/shop", code=73)

    def test_a_workshop_that_is_gone_is_told(self):
        self.run_("setup", "shop")
        shutil.move(self.folder / "shop", self.folder / "elsewhere")
        for words in (["card", self.cup], ["mix", "--ml", "5"], ["doctor"], ["leftover", "--grams", "5g"]):
            self.assertIn("setup", self.run_(*words, code=78).err)
            self.run_(*words, "--workshop", "none")
        self.run_("measure", self.cup)
        (self.config / "pourwright/config.toml").write_text("workshp = 3\n")
        self.assertIn("config.toml:1", self.run_("mix", "--ml", "5", code=78).err)
        (self.config / "pourwright/config.toml").write_text('workshop = "shop"\n')
        self.run_("mix", "--ml", "5", code=78)
        self.run_("setup", "elsewhere")
        self.run_("mix", "--ml", "5")

    def test_the_files_own_workshop_goes_first(self):
        self.run_("setup", "shop", "--ratio", "2.8")
        molds = self.folder / "molds"
        shutil.copy(TERN / "tern.toml", molds)
        for words in ([self.cup], [f"{self.cup}:2"], [molds], ["molds/cup.stl"]):
            card = self.card(*words)["material"]
            self.assertEqual(card["name"], "Boathouse 3.2", words)
            self.assertIn("workshop molds", self.run_(*words).out.splitlines()[0])
        self.assertEqual(self.card(self.cup, "--workshop", "shop")["material"]["name"], "House mix")
        self.assertIsNone(self.card(self.cup, "--workshop", "none")["material"]["workshop"])
        # Records go where the cards look for them.
        self.run_("learn", "water", self.cup, "--grams", "71.9g", "--celsius", "18")
        self.assertTrue((molds / "ledger.db").is_file())
        self.assertFalse((self.folder / "shop" / "ledger.db").exists())
        # A run file lies there too, and one names yet another workshop.
        run = '[bench]\nbucket = "1 kg"\n[[mold]]\nkey = "cup"\nfile = "cup.stl"\n[[piece]]\nmold = "cup"\n'
        (molds / "run.toml").write_text(run)
        self.assertIn("workshop molds", self.run_("run", "molds/run.toml").out.splitlines()[0])
        (molds / "other.toml").write_text('workshop = "../shop"\n' + run)
        other = self.run_("run", "molds/other.toml").out
        self.assertNotIn("workshop", other.splitlines()[0])
        self.assertEqual(self.json("run", "molds/other.toml", cwd=self.folder, env=self.env)["batches"][0]["material"], "House mix")
        # One with a mistake is not passed over in silence.
        (molds / "tern.toml").write_text("[[mix]]\nkeey = \"a\"\n")
        self.assertIn("tern.toml:2", self.run_("card", self.cup, code=78).err)
        # Two workshops for one card are a question.
        (self.folder / "more").mkdir()
        shutil.copy(TERN / "tern.toml", molds)
        shutil.copy(TERN / "tern.toml", self.folder / "more")
        shutil.copy(self.cup, self.folder / "more")
        self.assertIn("two workshops", self.run_("card", self.cup, "more/cup.stl", code=64).err)
        self.run_("card", self.cup, "more/cup.stl", "--workshop", "more")

    def test_five_questions(self):
        seen, code = self.asked("shop\nwhite, dust\n2.9\n1 g to 5 kg; 0,01 g to 200 g\n200 ml = 372 g\n")
        self.assertEqual(code, 0, seen)
        self.assertEqual(sum(f"{n}  " in seen for n in range(1, 6)), 5)
        card = self.card(self.cup)
        self.assertEqual([p["name"] for p in card["total"]["parts"]], ["white", "dust"])
        self.assertEqual(card["material"]["density_from"], "records")

    def test_enter_takes_what_stands_in_brackets(self):
        seen, code = self.asked("\n\n\n\n\n")
        self.assertEqual(code, 0, seen)
        self.assertTrue((self.folder / "home/casting/workshop.toml").is_file(), seen)
        card = self.card(self.cup)
        self.assertFalse(card["material"]["weighed"])
        self.assertIn(NOBODY, self.run_(self.cup).out.splitlines()[0] + self.run_(self.cup).out.splitlines()[1])

    def test_what_is_not_understood_is_asked_again(self):
        seen, code = self.asked("shop\nonly one\nwhite, dust\nmuch\n2.9\n1 g to 5 kg\n200 ml\n200 ml = 372 g\n")
        self.assertEqual(code, 0, seen)
        self.assertIn("not two names", seen)
        self.assertTrue(self.card(self.cup)["material"]["weighed"])

    def test_an_end_of_input_writes_nothing(self):
        seen, code = self.asked("shop\nwhite, dust\n\x04")
        self.assertEqual(code, 64, seen)
        self.assertFalse((self.folder / "shop").exists())
        self.assertFalse(self.config.exists())

    def test_nobody_is_asked_without_a_terminal(self):
        self.assertIn("setup", self.run_("setup", code=64).err)


if __name__ == "__main__":
    main()
