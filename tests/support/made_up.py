# SPDX-License-Identifier: GPL-3.0-or-later
"""Molds and pieces made up from families with a few numbers each, drawn with printed seeds: what they are is known
because they were made as that. Triangles are tuples of points (mm), outward; +z is up."""
import math
import random

from support.meshes import Blocks

N = 48  # facets round


def ring(r, z, n=N, flat=1.0, lobes=0.0):
    """Points round; `flat` squeezes it along y, `lobes` waves its radius."""
    out = []
    for k in range(n):
        a = 2 * math.pi * k / n
        q = r * (1 + lobes * math.cos(6 * a))
        out.append((q * math.cos(a), flat * q * math.sin(a), z))
    return out


def revolve(profile, n=N, flat=1.0, lobes=0.0):
    """Material lies left of the profile (r to the right, z up): up along the outside, down along the inside."""
    rings = [ring(r, z, n, flat, lobes) if r > 0 else [(0.0, 0.0, z)] * n for r, z in profile]
    out = []
    for p, q in zip(rings, rings[1:]):
        for k in range(n):
            j = (k + 1) % n
            out += [t for t in ((p[k], p[j], q[j]), (p[k], q[j], q[k])) if len(set(t)) == 3]
    return out


def arc(r, z, a, b, steps=12):
    """From angle a to b (degrees from level) about (0, z)."""
    out = []
    for i in range(steps + 1):
        t = math.radians(a + (b - a) * i / steps)
        x = r * math.cos(t)
        out.append((0.0 if abs(x) < 1e-9 * r else x, z + r * math.sin(t)))
    return out


def closed_ring(profile, n=N):
    return revolve(profile + profile[:1], n)


def block_with(inner, half_x, half_y, top, bottom, n=N):
    """A block round a cavity whose profile runs down from its rim to the axis; its deck is a fan to the outline."""
    corner = math.atan2(half_y, half_x)
    angles = [2 * math.pi * k / n for k in range(n)] + [corner, math.pi - corner, math.pi + corner, -corner + 2 * math.pi]
    angles = sorted(set(round(a, 12) for a in angles))
    m = len(angles)

    def out_at(a, z):
        c, s = math.cos(a), math.sin(a)
        t = min(half_x / abs(c) if abs(c) > 1e-12 else 1e9, half_y / abs(s) if abs(s) > 1e-12 else 1e9)
        return (c * t, s * t, z)

    def in_at(r, a, z):
        return (r * math.cos(a), r * math.sin(a), z) if r > 0 else (0.0, 0.0, z)
    rings = [[(0.0, 0.0, bottom)] * m, [out_at(a, bottom) for a in angles], [out_at(a, top) for a in angles]]
    rings += [[in_at(r, a, z) for a in angles] for r, z in inner]
    out = []
    for p, q in zip(rings, rings[1:]):
        for k in range(m):
            j = (k + 1) % m
            out += [t for t in ((p[k], p[j], q[j]), (p[k], q[j], q[k])) if len(set(t)) == 3]
    return out


def moved(triangles, x=0.0, y=0.0, z=0.0):
    return [tuple((p[0] + x, p[1] + y, p[2] + z) for p in t) for t in triangles]


def turned_over(triangles):
    """Half a turn about x: upside down."""
    return [tuple((p[0], -p[1], -p[2]) for p in t) for t in triangles]


def on_its_side(triangles):
    """A quarter turn about x: what looked up looks along −y."""
    return [tuple((p[0], -p[2], p[1]) for p in t) for t in triangles]


def leaning(triangles, degrees):
    """About y."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [tuple((c * p[0] + s * p[2], p[1], -s * p[0] + c * p[2]) for p in t) for t in triangles]


# ---- molds: a form hollowed out of a body that is made to hold it

def dome(d):
    r = d.uniform(12, 55)
    return arc(r, 0, 0, -90)


def cone(d):
    r, h = d.uniform(12, 40), d.uniform(15, 70)
    return [(r, 0.0), (r * d.uniform(0.3, 0.8), -h), (0.0, -h)]


def knob(d):
    r, h, neck = d.uniform(12, 22), d.uniform(8, 16), d.uniform(5, 9)
    return [(neck, 0.0), (neck, -h)] + [(x, z) for x, z in arc(r, -h - math.sqrt(r * r - neck * neck), math.degrees(math.acos(neck / r)), -90)][1:]


def disc(d):
    r, h = d.uniform(25, 60), d.uniform(6, 16)
    return [(r, 0.0), (r * 0.98, -h), (0.0, -h)]


def deepest(inner):
    return min(z for _, z in inner)


def widest(inner):
    return max(r for r, _ in inner)


def mold_block(d):
    inner = d.choice([dome, cone, knob, disc])(d)
    wall, floor = d.uniform(5, 15), d.uniform(4, 14)
    half = widest(inner) + wall
    return block_with(inner, half * d.uniform(1, 1.3), half, 0.0, deepest(inner) - floor)


def mold_cylinder(d):
    inner = d.choice([dome, cone, knob, disc])(d)
    wall, floor = d.uniform(4, 14), d.uniform(4, 14)
    r, low = widest(inner) + wall, deepest(inner) - floor
    return revolve([(0.0, low), (r, low), (r, 0.0), *inner])


def mold_plate(d):
    """Several cavities in one plate, as boxes."""
    across, along = d.randint(2, 4), d.randint(1, 3)
    w, l, wall = d.uniform(18, 40), d.uniform(18, 50), d.uniform(4, 10)
    xs, ys = [wall] + [w, wall] * across, [wall] + [l, wall] * along
    plate = Blocks(xs, ys, [d.uniform(4, 9), d.uniform(8, 22)])
    plate.fill(range(len(xs)), range(len(ys)), range(2))
    for i in range(1, len(xs), 2):
        plate.clear([i], range(1, len(ys), 2), [1])
    return plate.triangles()


def mold_box(d):
    """A coaster or a bar in a box."""
    wall = d.uniform(6, 16)
    w, l, h = d.uniform(40, 120), d.uniform(40, 120), d.uniform(8, 30)
    return Blocks([wall, w, wall], [wall, l, wall], [d.uniform(5, 12), h]).fill(range(3), range(3), range(2)).clear([1], [1], [1]).triangles()


def mold_stepped(d):
    """A cavity with a step in it under a raised rim."""
    wall, step = d.uniform(5, 12), d.uniform(6, 14)
    w, l = d.uniform(40, 90), d.uniform(40, 120)
    b = Blocks([wall, step, w, step, wall], [wall, step, l, step, wall], [d.uniform(5, 10), d.uniform(5, 15), d.uniform(4, 12)])
    return b.fill(range(5), range(5), range(3)).clear(range(2, 3), range(2, 3), [1]).clear(range(1, 4), range(1, 4), [2]).triangles()


def mold_cored(d):
    """A planter upside down: the core that makes its hollow stands in the middle."""
    r, h, t, wall, floor = d.uniform(30, 60), d.uniform(35, 80), d.uniform(5, 9), d.uniform(5, 12), d.uniform(5, 10)
    top, core = r * d.uniform(0.75, 0.95), r * 0.95 - t
    return revolve([(0.0, -floor), (r + wall, -floor), (r + wall, h), (top, h), (r, 0.0), (core, 0.0),
                    (core * 0.9, h - t * 1.5), (0.0, h - t * 1.5)])


def mold_shell(d):
    """Printed thin, with a flange round its rim."""
    r, t, flange = d.uniform(25, 60), d.uniform(1.6, 3), d.uniform(9, 18)
    inner = arc(r, 0, 0, -90)
    outer = [(x, z) for x, z in arc(r + t, 0, -90, math.degrees(-math.asin(t / (r + t))))]
    return revolve(outer + [(r + flange, -t), (r + flange, 0.0)] + inner)


# ---- pieces: what came out of such molds

def piece_bowl(d):
    r, t = d.uniform(30, 80), d.uniform(3, 7)
    low = d.uniform(10, 35)  # degrees above straight down where the foot begins
    outer = [(0.0, 0.0)] + [(x, z) for x, z in arc(r, 0, -90 + low, 0)]
    outer[0] = (0.0, outer[1][1])
    floor = outer[1][1] + t
    a = math.degrees(math.asin(max(-1.0, floor / (r - t))))
    return revolve(outer + [(r - t, 0.0)] + arc(r - t, 0, 0, a)[1:] + [(0.0, floor)], flat=d.choice([1.0, 1.0, 0.8]))


def piece_tray(d):
    w, l, h, t = d.uniform(90, 160), d.uniform(110, 260), d.uniform(15, 32), d.uniform(3, 5.5)
    if d.random() < 0.5:
        return Blocks([t, w, t], [t, l, t], [t, h - t]).fill(range(3), range(3), range(2)).clear([1], [1], [1]).triangles()
    slant = d.uniform(3, 12)

    def frame(half_w, half_l, z):
        return [(half_w, half_l, z), (-half_w, half_l, z), (-half_w, -half_l, z), (half_w, -half_l, z)]
    rings = [[(0.0, 0.0, 0.0)] * 4, frame(w / 2 - slant, l / 2 - slant, 0.0), frame(w / 2, l / 2, h),
             frame(w / 2 - t, l / 2 - t, h), frame(w / 2 - t - slant, l / 2 - t - slant, t), [(0.0, 0.0, t)] * 4]
    out = []
    for p, q in zip(rings, rings[1:]):
        for k in range(4):
            j = (k + 1) % 4
            out += [x for x in ((p[k], p[j], q[j]), (p[k], q[j], q[k])) if len(set(x)) == 3]
    return out


def piece_cup(d):
    r, h, t = d.uniform(30, 48), d.uniform(60, 110), d.uniform(3.5, 5.5)
    foot = r * d.uniform(0.7, 1.0)
    return revolve([(0.0, 0.0), (foot, 0.0), (r, h), (r - t, h), (foot - t, t * 1.3), (0.0, t * 1.3)])


def piece_planter(d):
    r, h, t = d.uniform(40, 80), d.uniform(50, 120), d.uniform(4, 7)
    foot = r * d.uniform(0.6, 0.95)
    lobes = d.choice([0.0, 0.04])
    if d.random() < 0.5:  # with a hole to drain
        hole = d.uniform(3, 7)
        return closed_ring([(hole, 0.0), (foot, 0.0), (r, h), (r - t, h), (foot - t, t), (hole, t)])
    return revolve([(0.0, 0.0), (foot, 0.0), (r, h), (r - t, h), (foot - t, t), (0.0, t)], lobes=lobes)


def piece_knob(d):
    r, h, neck = d.uniform(12, 24), d.uniform(8, 16), d.uniform(5, 9)
    z = h + math.sqrt(r * r - neck * neck)
    ball = [p for p in arc(r, z, -math.degrees(math.acos(neck / r)), 90)]
    screw = d.uniform(1.8, 2.5)
    if d.random() < 0.4:  # with a blind hole for a screw, from below
        return revolve([(0.0, h * 0.8), (screw, h * 0.8), (screw, 0.0), (neck, 0.0)] + ball)
    return revolve([(0.0, 0.0), (neck, 0.0)] + ball)


def piece_block(d):
    """A bookend, a brick, a step: solid boxes on boxes."""
    a, b = d.uniform(30, 90), d.uniform(30, 120)
    x = Blocks([a, d.uniform(8, 30)], [b], [d.uniform(8, 25), d.uniform(20, 90)])
    return x.fill(range(2), [0], [0]).fill([1], [0], [1]).triangles()


def piece_coaster(d):
    """A disc with a rounded edge, some with a dip of a millimetre or two in the middle."""
    r, h = d.uniform(40, 60), d.uniform(7, 14)
    edge = [(r + x - h / 2, z) for x, z in arc(h / 2, h / 2, -90, 90, 8)]
    dip = d.choice([0.0, 0.0, 0.08])
    middle = [(r * 0.7, h), (r * 0.66, h - dip * h), (0.0, h - dip * h)] if dip else [(0.0, h)]
    return revolve([(0.0, 0.0)] + edge + middle)


def piece_figure(d):
    """Balls and cones stacked, as a turned figure."""
    profile, z = [(0.0, 0.0)], 0.0
    for _ in range(d.randint(2, 5)):
        r, h = d.uniform(8, 35), d.uniform(10, 40)
        profile += [(r * d.uniform(0.5, 1), z), (r, z + h / 2), (r * d.uniform(0.4, 0.9), z + h)]
        z += h + 0.5
    return revolve(profile + [(0.0, z + 3)])


def piece_candle_holder(d):
    """A thick block with a socket for a candle."""
    half, h, r, deep = d.uniform(25, 45), d.uniform(25, 60), d.uniform(10.5, 12), d.uniform(14, 20)
    return block_with([(r, 0.0), (r, -deep), (0.0, -deep)], half, half, 0.0, -h)


MOLDS = {"a form in a block": (mold_block, 16), "a form in a round body": (mold_cylinder, 16),
         "a plate with cavities": (mold_plate, 12), "a box with one cavity": (mold_box, 12),
         "a stepped cavity under a rim": (mold_stepped, 10), "a planter over its core": (mold_cored, 8),
         "a thin shell with a flange": (mold_shell, 6)}
PIECES = {"bowls": (piece_bowl, 8), "trays": (piece_tray, 8), "cups": (piece_cup, 8), "planters": (piece_planter, 8),
          "knobs": (piece_knob, 14), "blocks and bookends": (piece_block, 12), "coasters": (piece_coaster, 14),
          "turned figures": (piece_figure, 14)}


def drawn(family, make, count, seed):
    """Numbered, each from a seed of its own."""
    return [(f"{seed}/{family}/{k}", make(random.Random(f"{seed}/{family}/{k}"))) for k in range(count)]
