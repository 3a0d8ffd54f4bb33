# SPDX-License-Identifier: GPL-3.0-or-later
"""The lines of tools/bench on mending and on the self-overlap proof."""
from statistics import median

TARGETS = ["pw_bench_repair", "pw_bench_cgal"]
LEAST_RATIO, MOST_SECONDS, MOST_BYTES, MOST_SLOWER = 2.0, 15.0, 1.5e9, 1.05


def measure(build, data, run, make, rounds):
    """`run` starts a process and measures it, `make` makes a mesh of the benchmark."""
    clean = make("torus", "1M", ".stl")[0]
    ours, peer = [], []
    for _ in range(rounds):
        ours.append(run(build / "pw_bench_repair", "proof", clean).json)
        peer.append(run(build / "pw_bench_cgal", clean).json)
    bowl = make("bowl", "1M", ".stl")[0]
    turns = run(build / "pw_bench_repair", "clean", bowl, 2 * rounds + 1).json["turns"]
    soup = data / "soup1M.ply"
    run(build / "pw_bench_repair", "soup", clean, soup)
    mended = run(build / "pourwright", "measure", "--json", "--only", "solid", "--max-uncertainty", "50%", soup)
    truth = run(build / "pourwright", "measure", "--json", "--only", "solid", "--quick", clean)
    said = mended.json["files"][0]["solid"]["volume_mm3"]
    value = truth.json["files"][0]["solid"]["volume_mm3"]["value"]
    return {"proof_s": median(r["proof_s"] for r in ours),
            "clean_without_s": median(a for a, _ in turns), "clean_with_s": median(b for _, b in turns),
            "clean_ratio": median(b / a for a, b in turns),
            "peer_s": median(r["build_s"] + r["proof_s"] for r in peer),
            "agree": all(o["overlaps"] == p["overlaps"] for o, p in zip(ours, peer)),
            "soup_s": mended.cpu, "soup_bytes": mended.rss,
            "soup_inside": said["low"] <= value <= said["high"], "soup_error": said["value"] / value - 1}


def show(m):
    print(f"\nSelf-overlap proof, clean 1M: {m['proof_s']:.2f} s; CGAL with its mesh {m['peer_s']:.2f} s, "
          f"{m['peer_s'] / m['proof_s']:.1f} ×; same answer: {'yes' if m['agree'] else 'NO'}")
    print(f"From a clean 1M mold to its cavities: {m['clean_without_s']:.2f} s, with looking for damage "
          f"{m['clean_with_s']:.2f} s, {m['clean_ratio']:.3f} ×")
    print(f"1M soup, every defect on 0.1 %: {m['soup_s']:.1f} s CPU, {m['soup_bytes'] / 1e6:.0f} MB, off by "
          f"{1e6 * m['soup_error']:+.1f} ppm, truth inside the interval: {'yes' if m['soup_inside'] else 'NO'}")


def goals(m):
    return [("self-overlap proof, share of CGAL's time", m["proof_s"] / m["peer_s"], 1 / LEAST_RATIO),
            ("clean 1M mold, with mending per without", m["clean_ratio"], MOST_SLOWER),
            ("1M soup mended, CPU s", m["soup_s"], MOST_SECONDS),
            ("1M soup mended, GB", m["soup_bytes"] / 1e9, MOST_BYTES / 1e9)]
