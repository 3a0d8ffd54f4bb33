#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The errors that docs/accuracy.md states, measured again on the program itself, files and command line included.

Shapes of revolution are written with n segments; their exact volume is that of the smooth frusta through the profile
times f(n) = n/(2π)·sin(2π/n), the area of the regular n-gon in its circle.

usage: accuracy_check.py PROGRAM ROOT [--write]     --write renews the table
"""
import json
import math
import pathlib
import re
import struct
import subprocess
import sys
import tempfile

PI, N = math.pi, 180
START, END = "<!-- measured by tests/docs/accuracy_check.py -->\n", "<!-- end -->\n"


def polygon_factor(n=N):
    return n / (2 * PI) * math.sin(2 * PI / n)


def frusta(profile):
    return sum(PI * (z1 - z0) / 3 * (r0 * r0 + r0 * r1 + r1 * r1) for (r0, z0), (r1, z1) in zip(profile, profile[1:]))


# ---- meshes: a list of points and a list of triangles of their numbers

def revolve(profile, n=N):
    """Material lies left of the profile: up along the outside, down along the inside, r = 0 at both ends."""
    points, faces, ring = [], [], []
    for r, z in profile:
        first = len(points)
        count = 1 if r == 0 else n
        points += [(r * math.cos(2 * PI * k / n), r * math.sin(2 * PI * k / n), z) for k in range(count)]
        ring.append([first + k % count for k in range(n + 1)])
    for p, q in zip(ring, ring[1:]):
        for k in range(n):
            faces += [t for t in ((p[k], p[k + 1], q[k + 1]), (p[k], q[k + 1], q[k])) if len(set(t)) == 3]
    return points, faces


def box(low, high, inward=False):
    points = [tuple((low, high)[i >> axis & 1][axis] for axis in range(3)) for i in range(8)]
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (3, 2, 6, 7), (2, 0, 4, 6), (1, 3, 7, 5)]
    faces = [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]
    return points, [(a, c, b) for a, b, c in faces] if inward else faces


def joined(*parts):
    points, faces = [], []
    for more_points, more_faces in parts:
        faces += [tuple(len(points) + i for i in t) for t in more_faces]
        points += more_points
    return points, faces


def moved(mesh, move):
    return [move(*p) for p in mesh[0]], mesh[1]


def cup(inner, wall=5, below=5):
    """`inner` runs from the rim down to the axis."""
    outer, low = max(r for r, _ in inner) + wall, min(z for _, z in inner) - below
    return revolve([(0, low), (outer, low), (outer, inner[0][1]), *inner])


def arc(r, centre_z, a, b, steps, centre_r=0.0):
    return [(centre_r + r * math.cos(t), centre_z + r * math.sin(t))
            for t in (a + (b - a) * i / steps for i in range(steps + 1))]


def write_ply(path, mesh):
    points, faces = mesh
    with open(path, "w", encoding="ascii") as out:
        out.write(f"ply\nformat ascii 1.0\nelement vertex {len(points)}\nproperty double x\nproperty double y\n"
                  f"property double z\nelement face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n")
        out.writelines(f"{x!r} {y!r} {z!r}\n" for x, y, z in points)
        out.writelines(f"3 {a} {b} {c}\n" for a, b, c in faces)


def write_stl(path, mesh):
    points, faces = mesh
    body = b"".join(struct.pack("<12fH", 0, 0, 0, *points[a], *points[b], *points[c], 0) for a, b, c in faces)
    pathlib.Path(path).write_bytes(bytes(80) + struct.pack("<I", len(faces)) + body)


# ---- measuring

class Table:
    def __init__(self, program, folder):
        self.program, self.folder, self.rows = program, folder, []

    def measured(self, path, *options):
        done = subprocess.run([self.program, "measure", "--json", *options, path], check=True, capture_output=True, timeout=300)
        return json.loads(done.stdout)["files"][0]

    def row(self, what, mesh, formula, wanted, get, *options, write=write_ply):
        path = pathlib.Path(self.folder) / ("shape.stl" if write is write_stl else "shape.ply")
        write(path, mesh)
        got, wanted = get(self.measured(path, *options)), wanted if isinstance(wanted, list) else [wanted]
        assert len(got) == len(wanted), (what, got, wanted)
        self.add(what, formula, max(abs(g / w - 1) for g, w in zip(got, wanted)))

    def add(self, what, formula, error):
        self.rows.append((what, formula, error))


def solid(file):
    return [file["solid"]["volume_mm3"]["value"]]


def capacities(file):
    return [c["capacity_mm3"]["value"] for c in file["cavities"]]


def fill(file):
    return [file["fill_mm3"]["value"]]


def closed_forms(t):
    f = polygon_factor()
    cone = [(30, 60), (20, 0), (0, 0)]
    cone_ml = f * PI * 60 / 3 * (900 + 600 + 400)
    bowl = arc(40, 40, 0, -PI / 2, 90)
    bowl[0], bowl[-1] = (40, 40), (0, 0)
    bowl_ml = f * frusta(bowl[::-1])
    ball = [(0, -30), *arc(30, 0, -PI / 2, PI / 2, 90)[1:-1], (0, 30)]
    t.row("piece: box 60 × 40 × 25 with a closed void 10 × 10 × 10", joined(box((0, 0, 0), (60, 40, 25)), box((20, 10, 5), (30, 20, 15), True)),
          "a·b·c − 1000", 59000, solid, "--only", "solid")
    t.row("piece: ball, radius 30", revolve(ball), "frusta · f", f * frusta(ball), solid, "--only", "solid")
    t.row("piece: cone 20/30 × 60", revolve([(0, 0), (20, 0), (30, 60), (0, 60)]), "f·πh/3·(R² + Rr + r²)", cone_ml, solid, "--only", "solid")
    t.row("bowl, half a ball, radius 40", cup(bowl), "frusta · f", bowl_ml, capacities)
    t.row("the same from a binary STL (single precision)", cup(bowl), "frusta · f", bowl_ml, capacities, write=write_stl)
    t.row("cone cup 20/30 × 60", cup(cone), "f·πh/3·(R² + Rr + r²)", cone_ml, capacities)
    t.row("the same, filled 35 mm high", cup(cone), "the same up to 35 mm", f * frusta([(20, 0), (20 + 35 / 6, 35)]), fill, "--fill", "35mm")
    t.row("the same, 37 m from the origin", moved(cup(cone), lambda x, y, z: (x + 1e4, y - 3e4, z + 2e4)), "as before", cone_ml, capacities)
    t.row("stepped cup", cup([(40, 35), (40, 25), (25, 25), (25, 10), (10, 10), (10, 0), (0, 0)]), "f·π·Σ r²h",
          f * PI * (1600 * 10 + 625 * 15 + 100 * 10), capacities)
    t.row("cup with a post under the brim", cup([(40, 30), (40, 0), (15, 0), (15, 20), (0, 20)]), "f·π·(R²h − r²k)",
          f * PI * (1600 * 30 - 225 * 20), capacities)
    a = math.radians(10)
    t.row("cup leaning by 10°", moved(cup([(30, 50), (30, 0), (0, 0)]), lambda x, y, z: (x * math.cos(a) + z * math.sin(a), y, z * math.cos(a) - x * math.sin(a))),
          "f·πR²·(h − R·tan 10°)", f * PI * 900 * (50 - 30 * math.tan(a)), capacities)
    nested = [f * PI * 400 * 20, f * PI * 600 * 15]
    t.row("two cavities in one another and the pool they join", cup([(40, 30), (40, 20), (35, 20), (35, 5), (25, 5), (25, 20), (20, 20), (20, 0), (0, 0)]),
          "f·π·Σ r²h each", sorted([*nested, sum(nested) + f * PI * 1600 * 10]), lambda m: sorted(capacities(m)))
    t.row("cup with a box floating in it", joined(cup([(40, 60), (40, 0), (0, 0)]), box((-5, -5, 20), (5, 5, 40))), "f·πR²h − a·b·c",
          f * PI * 1600 * 60 - 2000, capacities)


def demo_molds(t, root):
    """Against what make_meshes computed from the description in integer arithmetic."""
    known = json.loads((root / "meshes/expected.json").read_text())
    for mold in known["molds"]:
        if not mold["closed"]:
            continue
        m = t.measured(root / "meshes" / mold["file"])
        errors = [abs(solid(m)[0] / mold["solid_volume_mm3"] - 1)]
        for c in mold["cavities"]:
            errors.append(min(abs(g / c["capacity_mm3"] - 1) for g in capacities(m)))
        t.add(f"demo mold {mold['file']}", "`meshes/expected.json`", max(errors))


def bound(error):
    """The next power of ten, at least 1e-14: what is below depends on the machine's sine and cosine."""
    return max(1e-14, 10.0 ** math.ceil(math.log10(error))) if error > 0 else 1e-14


def main():
    program, root = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    page = root / "docs/accuracy.md"
    with tempfile.TemporaryDirectory() as folder:
        t = Table(program, folder)
        closed_forms(t)
        demo_molds(t, root)
    text = page.read_text(encoding="utf-8")
    before, rest = text.split(START)
    table, after = rest.split(END)
    if "--write" in sys.argv[3:]:
        table = "| shape | exact value | error, relative |\n|---|---|---|\n"
        table += "".join(f"| {what} | {formula} | < {bound(e):.0e} |\n" for what, formula, e in t.rows)
        page.write_text(before + START + table + END + after, encoding="utf-8")
    stated = {what: float(limit) for what, limit in re.findall(r"^\| (.+?) \| .* \| < (\S+) \|$", table, flags=re.M)}
    failures = 0
    for what, _, error in t.rows:
        good = what in stated and error < stated[what]
        failures += not good
        print(f"{error:9.2e}  {'below ' + format(stated[what], '.0e') if what in stated else 'not in the table'}"
              f"{'' if good else '  FAILED'}  {what}")
    failures += len(set(stated) - {r[0] for r in t.rows})
    print(f"{len(t.rows)} shapes, {failures} failures")
    return 1 if failures or not t.rows else 0


sys.exit(main())
