# SPDX-License-Identifier: GPL-3.0-or-later
"""Production runs: 200 packing problems to be proven, and folders of 1,000 molds, cold and warm."""
import random
import shutil
import subprocess
from statistics import mean

PROBLEMS, PIECES, MOLDS, TRIANGLES = 100, 120, 1000, 10_000
# Milliseconds of processor time that a problem may take, seconds none may take, files a second of a folder.
GOALS = {"proven_share": 0.95, "proven_within_s": 2.0, "worst_s": 10.0, "cold_per_core": 60, "warm": 3000, "growth": 1.5}


def uniform(draw, pieces):
    """Sizes of 20 to 100 in bins of 150 (E. Falkenauer, J. Heuristics 2, 1996)."""
    return [draw.randint(20, 100) for _ in range(pieces)], 150


def triplets(draw, pieces):
    """Every bin of 1000 full with three pieces (Falkenauer's, too): the fewest bins are known."""
    sizes = []
    while len(sizes) < pieces:
        a = draw.randint(380, 490)
        b = draw.randint(250, (1000 - a) // 2)
        if 1000 - a - b < 500:
            sizes += [a, b, 1000 - a - b]
    draw.shuffle(sizes)
    return sizes, 1000


def packed(run, program, folder, kind, make):
    rows = []
    for seed in range(PROBLEMS):
        sizes, most = make(random.Random(seed), PIECES)
        table = folder / "pieces.csv"
        table.write_text("".join(f"p{i},{s}\n" for i, s in enumerate(sizes)))
        r = run(program, "run", "--pieces", table, "--mixer-max", str(most), "--json")
        document = r.json
        for batch in document["batches"]:
            if sum(p["total_g"] for p in batch["pieces"]) > most:
                raise SystemExit(f"bench: {kind} {seed}: a batch is too heavy")
        if sum(p["count"] for b in document["batches"] for p in b["pieces"]) != len(sizes):
            raise SystemExit(f"bench: {kind} {seed}: pieces are missing")
        if document["lower_bound"] > document["batch_count"] or (make is triplets and document["lower_bound"] > len(sizes) // 3):
            raise SystemExit(f"bench: {kind} {seed}: the bound is wrong")
        rows.append((document["proven"], r.cpu))
    return {"name": kind, "problems": len(rows), "proven": sum(p for p, _ in rows),
            "in_time": sum(p and t < GOALS["proven_within_s"] for p, t in rows),
            "mean_s": mean(t for _, t in rows), "worst_s": max(t for _, t in rows)}


def folder_of_molds(make_molds, data):
    molds = data / "molds"
    if sum(1 for _ in molds.rglob("*.stl")) != MOLDS:
        shutil.rmtree(molds, ignore_errors=True)
        subprocess.run([make_molds, molds, str(MOLDS), str(TRIANGLES)], check=True)
    return molds


def of_folder(run, program, data, molds):
    cache = data / "cache"

    def measured(words, kept):
        if not kept:
            shutil.rmtree(cache, ignore_errors=True)
        return run(program, *words, "--json", "--cache", cache)
    words = ["run", molds, "--mixer-max", "5kg"]
    few = run(program, "run", molds / "0", "--mixer-max", "5kg", "--json", "--cache", "none")
    cold = measured(words, kept=False)
    warm = min((measured(words, kept=True) for _ in range(5)), key=lambda r: r.wall)
    alone = run(program, *words, "--json", "--cache", "none", "-j", "1")
    if not cold.json == warm.json == alone.json:
        raise SystemExit("bench: the folder gave another answer from the cache, or with another number of jobs")
    card_cold = measured(["card", molds], kept=False)
    card_warm = min((measured(["card", molds], kept=True) for _ in range(5)), key=lambda r: r.wall)
    shutil.rmtree(cache, ignore_errors=True)
    return {"molds": MOLDS, "triangles": TRIANGLES, "cold_per_core": MOLDS / cold.cpu, "cold_wall_s": cold.wall,
            "warm": MOLDS / warm.wall, "card_cold_per_core": MOLDS / card_cold.cpu, "card_warm": MOLDS / card_warm.wall,
            "rss_of_100": few.rss, "rss": cold.rss, "growth": cold.rss / few.rss}


def measure(run, program, make_molds, data):
    """`run` starts a program and measures it, as tools/bench does."""
    data.mkdir(parents=True, exist_ok=True)
    problems = [packed(run, program, data, "uniform", uniform), packed(run, program, data, "triplets", triplets)]
    return {"problems": problems, "folder": of_folder(run, program, data, folder_of_molds(make_molds, data))}


def goals(result):
    """What, measured, "below" or "above", the goal."""
    problems, folder = result["problems"], result["folder"]
    share = sum(p["in_time"] for p in problems) / sum(p["problems"] for p in problems)
    return [(f"problems of {PIECES} pieces proven within 2 s, share", share, "above", GOALS["proven_share"]),
            ("the slowest of them, CPU s", max(p["worst_s"] for p in problems), "below", GOALS["worst_s"]),
            ("run of 1,000 molds, cold, files a CPU second", folder["cold_per_core"], "above", GOALS["cold_per_core"]),
            ("the same from the cache, files a second", folder["warm"], "above", GOALS["warm"]),
            ("its peak memory over that of 100 molds", folder["growth"], "below", GOALS["growth"])]


def show(result):
    print(f"\nFewest batches for {PIECES} pieces, CPU s")
    print(f"  {'':<18}{'problems':>10}{'proven':>8}{'< 2 s':>8}{'mean':>8}{'worst':>8}")
    for p in result["problems"]:
        print(f"  {p['name']:<18}{p['problems']:>10}{p['proven']:>8}{p['in_time']:>8}{p['mean_s']:>8.2f}{p['worst_s']:>8.2f}")
    f = result["folder"]
    print(f"\nFolder of {f['molds']} molds of {f['triangles']} triangles, files a second")
    print(f"  {'':<18}{'cold, a core':>14}{'warm':>10}{'peak memory':>14}")
    print(f"  {'run':<18}{f['cold_per_core']:>14.0f}{f['warm']:>10.0f}{f['rss'] / 1e6:>11.1f} MB")
    print(f"  {'card':<18}{f['card_cold_per_core']:>14.0f}{f['card_warm']:>10.0f}")
