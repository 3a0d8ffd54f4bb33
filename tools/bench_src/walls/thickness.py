# SPDX-License-Identifier: GPL-3.0-or-later
"""The lines of tools/bench on thickness: the peer's on bodies of known thickness, growth, and all of inspect."""
import subprocess
from math import log2
from statistics import median

TARGETS = ["pw_bench_walls", "pw_bench_sdf"]
KNOWN = {"slab": 4, "shell": 3, "rod": 6, "ring": 12}  # mm
SIZES = {"10k": 10_000, "100k": 100_000, "1M": 1_000_000}
LEAST_RATIO, MOST_SECONDS, MOST_BYTES, MOST_GROWTH = 100, 6.0, 400, 1.5


def measure(build, data, run, make, rounds):
    """`run` starts a process and measures it, `make` makes a mesh of the benchmark."""
    def body(name, size):
        path = data / f"{name}{size}.stl"
        subprocess.run([build / "pw_bench_walls", "make", name, str(SIZES[size]), path], check=True)
        return path
    bodies = []
    for name, truth in KNOWN.items():
        path = body(name, "100k")
        ours = [run(build / "pw_bench_walls", "measure", path).json for _ in range(rounds)]
        peer = run(build / "pw_bench_sdf", path).json
        took = median(r["walls_s"] for r in ours)
        bodies.append({"name": name, "triangles": ours[0]["triangles"], "walls_s": took, "peer_s": peer["walls_s"],
                       "ratio": peer["walls_s"] / took, "places": ours[0]["values"], "peer_places": peer["values"],
                       **{f"{who}_{what}_error": r[f"{what}_mm"] / truth - 1
                          for who, r in (("our", ours[0]), ("peer", peer)) for what in ("median", "min")}})
    growth = []
    for size in SIZES:
        path = body("ring", size)
        runs = [run(build / "pw_bench_walls", "measure", path).json for _ in range(rounds)]
        growth.append({"triangles": runs[0]["triangles"], "walls_s": min(r["walls_s"] for r in runs)})
    whole = []
    for shape in ("bowl", "wavy", "torus"):
        path = make(shape, "1M", ".stl")[0]
        r = run(build / "pourwright", "inspect", "--json", path)
        n = r.json["files"][0]["triangles"]
        whole.append({"name": path.name, "triangles": n, "cpu_s": r.cpu, "bytes": r.rss / n})
    return {"bodies": bodies, "growth": growth, "inspect": whole}


def exponent(growth):
    """Of n in the time, over n·log n: 1 when it grows just so, from the last step, where starting costs least."""
    a, b = growth[-2:]
    steps = [g["triangles"] * log2(g["triangles"]) for g in (a, b)]
    return log2(b["walls_s"] / a["walls_s"]) / log2(steps[1] / steps[0])


def show(m):
    print("\nThickness of bodies that have one by formula, and CGAL's shape diameter on the same triangles")
    print(f"  {'body':<8}{'triangles':>11}{'ours':>9}{'CGAL':>9}{'ratio':>8}{'median, ours':>14}{'CGAL':>9}"
          f"{'least, ours':>13}{'CGAL':>9}")
    for b in m["bodies"]:
        print(f"  {b['name']:<8}{b['triangles']:>11}{1e3 * b['walls_s']:>6.0f} ms{b['peer_s']:>7.1f} s{b['ratio']:>8.0f}"
              f"{100 * b['our_median_error']:>+12.2f} %{100 * b['peer_median_error']:>+7.2f} %"
              f"{100 * b['our_min_error']:>+11.2f} %{100 * b['peer_min_error']:>+7.2f} %")
    print("  growth of the ring: " + ", ".join(f"{g['triangles']} in {1e3 * g['walls_s']:.0f} ms" for g in m["growth"]) +
          f"; (n log n) to the power {exponent(m['growth']):.2f}")
    for w in m["inspect"]:
        print(f"  inspect {w['name']}: {w['cpu_s']:.2f} s CPU, {w['bytes']:.0f} B per triangle")


def goals(m):
    """What, measured, "below" or "above", the goal."""
    bodies = m["bodies"]
    worse = max(max(abs(b[f"our_{k}_error"]) - abs(b[f"peer_{k}_error"]) for k in ("median", "min")) for b in bodies)
    return [("thickness, CGAL's time over ours, least", min(b["ratio"] for b in bodies), "above", LEAST_RATIO),
            ("its error less CGAL's, worst, %", 100 * worse, "below", 0.01),
            ("its growth as a power of n log n", exponent(m["growth"]), "below", MOST_GROWTH),
            ("inspect of a 1M mesh, CPU s", max(w["cpu_s"] for w in m["inspect"]), "below", MOST_SECONDS),
            ("bytes per triangle of that", max(w["bytes"] for w in m["inspect"]), "below", MOST_BYTES)]
