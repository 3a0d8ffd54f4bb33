#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Unions of overlapping bodies against a second library, manifold-3d run by node. Both are given the same points.

Skipped, loudly, where node or the library is missing; it is put there with
  npm install --prefix build/peer manifold-3d
"""
import json
import math
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests")]
from support import meshes, program  # noqa: E402

LIBRARY = ROOT / "build/peer/node_modules/manifold-3d/manifold.js"
SKIPPED = 77
PEER = """
import { readFileSync } from 'node:fs';
const [library, input] = process.argv.slice(2);
const m = await (await import(library)).default();
m.setup();
const volumes = JSON.parse(readFileSync(input)).map(bodies => {
  const solids = bodies.map(b => m.Manifold.ofMesh(new m.Mesh({
    numProp: 3, vertProperties: Float32Array.from(b.points.flat()), triVerts: Uint32Array.from(b.faces.flat())})));
  return m.Manifold.union(solids).volume();
});
console.log(JSON.stringify(volumes));
"""


def ring_body(profile, around):
    """The (radius, height) profile turned about z, from axis to axis."""
    points = [(0, 0, profile[0][1])]
    for r, z in profile[1:-1]:
        points += [(r * math.cos(2 * math.pi * k / around), r * math.sin(2 * math.pi * k / around), z)
                   for k in range(around)]
    points.append((0, 0, profile[-1][1]))
    last, rows, faces = len(points) - 1, len(profile) - 2, []
    for k in range(around):
        n = (k + 1) % around
        faces += [(0, 1 + n, 1 + k), (last, last - around + k, last - around + n)]
        for i in range(rows - 1):
            a, b = 1 + i * around + k, 1 + i * around + n
            faces += [(a, b, b + around), (a, b + around, a + around)]
    return points, faces


def body(dice):
    kind = dice.randrange(3)
    r = dice.uniform(6, 12)
    if kind == 0:
        return ring_body([(0, -r), *((r * math.sin(math.pi * i / 10), -r * math.cos(math.pi * i / 10))
                                     for i in range(1, 10)), (0, r)], 20)
    if kind == 1:
        return ring_body([(0, -15), (r / 2, -15), (r / 2, 15), (0, 15)], 24)
    return ring_body([(0, -r), (r, -r), (r, r), (0, r)], 4)


def placed(dice):
    """Turned and moved, on coordinates that single precision holds exactly."""
    points, faces = body(dice)
    axis = [dice.gauss(0, 1) for _ in range(3)]
    length = math.hypot(*axis)
    x, y, z = (c / length for c in axis)
    angle, by = dice.uniform(0, 3), [dice.uniform(-9, 9) for _ in range(3)]
    c, s = math.cos(angle), math.sin(angle)
    t = 1 - c
    rows = ((t * x * x + c, t * x * y - s * z, t * x * z + s * y), (t * x * y + s * z, t * y * y + c, t * y * z - s * x),
            (t * x * z - s * y, t * y * z + s * x, t * z * z + c))
    turned = [tuple(round((sum(a * p for a, p in zip(row, q)) + d) * 4096) / 4096 for row, d in zip(rows, by))
              for q in points]
    return {"points": turned, "faces": faces}


def scenes():
    dice = random.Random(5)
    out = [[placed(dice) for _ in range(2 + i % 5)] for i in range(24)]
    # On a grid: shared faces, edges and corners.
    for i in range(8):
        cubes = []
        for _ in range(3 + i % 3):
            points, faces = ring_body([(0, 0), (1, 0), (1, 1), (0, 1)], 4)
            corner = {(1, 0): (0, 0), (0, 1): (8, 0), (-1, 0): (8, 8), (0, -1): (0, 8), (0, 0): (4, 4)}
            by = [4 * dice.randrange(4) for _ in range(3)]
            cubes.append({"points": [(corner[round(x), round(y)][0] + by[0], corner[round(x), round(y)][1] + by[1],
                                      8 * z + by[2]) for x, y, z in points], "faces": faces})
        out.append(cubes)
    return out


def skip(why):
    print(f"*** SKIPPED: {why} ***")
    sys.exit(SKIPPED)


class Unions(program.ProgramTest):
    def test_volumes_agree(self):
        with tempfile.TemporaryDirectory() as folder:
            folder, all_scenes = Path(folder), scenes()
            (folder / "peer.mjs").write_text(PEER)
            (folder / "scenes.json").write_text(json.dumps(all_scenes))
            done = subprocess.run(["node", folder / "peer.mjs", LIBRARY, folder / "scenes.json"], check=True,
                                  capture_output=True, timeout=120)
            theirs = json.loads(done.stdout)
            names = []
            for i, bodies in enumerate(all_scenes):
                names.append(folder / f"{i:02}.stl")
                meshes.write_stl(names[-1], [[b["points"][v] for v in f] for b in bodies for f in b["faces"]])
            document = self.json("measure", "--only", "solid", "--gap", "0mm", *names)
            self.assertEqual(len(document["files"]), len(theirs))
            for row, peer in zip(document["files"], theirs):
                ours = {k: float(row["solid"]["volume_mm3"][k]) for k in ("value", "low", "high")}
                self.assertAlmostEqual(ours["value"] / peer, 1, delta=1e-6, msg=row["path"])
                self.assertLess((ours["high"] - ours["low"]) / peer, 1e-4, msg=row["path"])


if __name__ == "__main__":
    if shutil.which("node") is None:
        skip("node is not installed")
    if not LIBRARY.is_file():
        skip("manifold-3d is not there: npm install --prefix build/peer manifold-3d")
    program.main()
