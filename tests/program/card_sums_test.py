#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""For random molds, ratios, scales and copies: the card's rows and parts add up, and nothing comes up short."""
import random
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import checks, meshes
from support.program import ProgramTest, main

ROUNDS = 120


class CardSums(ProgramTest):
    def test_random_trays(self):
        dice = random.Random(20261125)
        with tempfile.TemporaryDirectory(prefix="pourwright-sums-") as temporary:
            folder = Path(temporary)
            for n in range(ROUNDS):
                with self.subTest(n):
                    self.one(dice, folder)

    def one(self, dice, folder):
        words, fills = [], []
        for k in range(dice.randint(1, 6)):
            # Sizes that a float of the STL holds exactly, so that the volume is known to the bit.
            w, d, h = (dice.randint(8, 400) / 4 for _ in range(3))
            fills.append(w * d * h)
            meshes.write_stl(folder / f"mold {k}.stl", meshes.cup(w, d, h, wall=dice.randint(2, 40) / 4, floor=3).triangles())
            copies = dice.choice([0, 1, 2, 7, 40])
            words.append(f"mold {k}.stl" + (f":{copies}" if copies else ""))
        words += ["--read-as", "mold", "--scale-step", dice.choice(["0.01g", "0.05g", "0.1g", "0.2g", "0.5g", "1g", "2g", "5g", "0.03g", "0.7g"]),
                  "--ratio", f"{dice.uniform(0.5, 6):.{dice.randint(0, 6)}f}", "--density", f"{dice.uniform(1.2, 2.4):.3f}",
                  "--allowance", f"{dice.choice([0, 5, 8.5, 33])}%", "--copies", str(dice.randint(1, 9))]
        for name in dice.sample(["Kelp", "Rust", "Slate", "Chalk"], dice.randint(0, 3)):
            words += ["--pigment", f"{name}={dice.uniform(0, 0.9):.2f}%"]
        card = self.json("card", *words, cwd=folder, schema="card")
        self.assertEqual(card["errors"], [])
        self.assertEqual(len(card["molds"]), len(fills))
        for mold, fill in zip(card["molds"], fills):
            self.assertLessEqual(abs(float(mold["fill_mm3"]["value"]) - fill), 1e-9 * fill, str(words))
        checks.card(self, card)


if __name__ == "__main__":
    main()
