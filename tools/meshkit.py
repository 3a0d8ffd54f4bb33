# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangle meshes on an integer grid: building, exact volumes, proofs and file writers.

Every coordinate is an integer count of 1/grid mm. With grid = 4096 each one is a float32 exactly (values
below 4096 mm), so what is written to a file is what was computed here, vertices weld bit for bit, and volumes
are integer arithmetic without rounding. Standard library only.
"""
import math
import struct
from collections import defaultdict
from fractions import Fraction

GRID = 4096


def ring_area2(points):
    """Twice the signed plan area of a closed ring (counterclockwise from above is positive)."""
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(points, points[1:] + points[:1]))


def between(outer, inner, t):
    """A ring part of the way from one to the other; a ring with twice the points gives every second one."""
    if len(outer) == 2 * len(inner):
        outer = outer[::2]
    return [tuple(round(a + (b - a) * t) for a, b in zip(p, q)) for p, q in zip(outer, inner)]


def circle(radius, count, start=0.0):
    return [(radius * math.cos(start + 2 * math.pi * i / count),
             radius * math.sin(start + 2 * math.pi * i / count)) for i in range(count)]


def round_corner(x, y, half_x, half_y, radius):
    """Moves a point of a rectangle's outline onto the same rectangle with rounded corners."""
    cx = max(-half_x + radius, min(half_x - radius, x))
    cy = max(-half_y + radius, min(half_y - radius, y))
    dx, dy = x - cx, y - cy
    if dx == 0 or dy == 0:
        return x, y
    length = math.hypot(dx, dy)
    return cx + radius * dx / length, cy + radius * dy / length


def block_outline(half_x, half_y, radius, count, groove=0.0):
    """Rounded rectangle at even angles, starting on +x. A groove is a V cut at both ends, on y = 0."""
    points = []
    for c, s in circle(1, count):
        reach = min(half / abs(along) for half, along in ((half_x, c), (half_y, s)) if abs(along) > 1e-9)
        points.append(round_corner(c * reach, s * reach, half_x, half_y, radius))
    if groove:
        for at, side in ((0, 1), (count // 2, -1)):
            points[at] = (side * (half_x - groove), 0.0)
            points[at - 1] = (side * half_x, -side * 0.75 * groove)
            points[at + 1] = (side * half_x, side * 0.75 * groove)
    return points


def arc(r, z, radius, start_deg, end_deg, steps):
    """Profile points (r, z) on an arc, both ends included."""
    angles = (math.radians(start_deg + (end_deg - start_deg) * i / steps) for i in range(steps + 1))
    return [(r + radius * math.cos(a), z + radius * math.sin(a)) for a in angles]


def line(a, b, steps):
    """Profile points from a to b without b."""
    return [tuple(p + (q - p) * i / steps for p, q in zip(a, b)) for i in range(steps)]


class Mesh:
    """Faces of three or four corners; each corner is a point of three grid integers."""

    def __init__(self, grid=GRID):
        self.grid = grid
        self.faces = []

    def snap(self, x, y, z):
        return round(x * self.grid), round(y * self.grid), round(z * self.grid)

    def ring(self, plan, z, x0=0.0, y0=0.0):
        return [self.snap(x0 + x, y0 + y, z) for x, y in plan]

    def face(self, *corners, flip=False):
        """Corners counterclockwise seen from the void. Repeated ones drop out: a quad may be a triangle."""
        kept = [p for i, p in enumerate(corners) if p != corners[i - 1]]
        if len(kept) < 3:
            return
        self.faces.append(tuple(reversed(kept)) if flip else tuple(kept))

    def quad(self, a, b, c, d):
        """One flat quad, or two triangles along a–c when rounding has bent it."""
        if det(minus(b, a), minus(c, a), minus(d, a)) == 0 and len({a, b, c, d}) == 4:
            self.face(a, b, c, d)
        else:
            self.face(a, b, c)
            self.face(a, c, d)

    def strip(self, a, b, flip=False, quads=False):
        """Joins two rings. A walk over underside, outer wall, top, cavity wall, floor faces the void."""
        n = len(a)
        if n == 2 * len(b):
            for j in range(len(b)):
                m, k = 2 * j + 1, (j + 1) % len(b)
                self.face(a[m - 1], a[m], b[j], flip=flip)
                self.face(a[m], a[(m + 1) % n], b[k], flip=flip)
                self.face(a[m], b[k], b[j], flip=flip)
            return
        assert n == len(b)
        for i in range(n):
            k = (i + 1) % n
            if quads:
                self.quad(a[i], a[k], b[k], b[i])
            else:
                self.face(a[i], a[k], b[k], flip=flip)
                self.face(a[i], b[k], b[i], flip=flip)

    def walk(self, rings, quads=False):
        for a, b in zip(rings, rings[1:]):
            self.strip(a, b, quads=quads)

    def fill(self, ring, up):
        """Closes a level ring with rings of half as many points each, so that no long needles arise."""
        n = len(ring)
        centre = tuple(round(sum(p[k] for p in ring) / n) for k in range(3))
        while len(ring) > 24 and len(ring) % 2 == 0:
            inner = between(ring, [centre] * (len(ring) // 2), min(0.4, 15.0 / len(ring)))
            self.strip(ring, inner, flip=not up)
            ring = inner
        for i, p in enumerate(ring):
            self.face(p, ring[(i + 1) % len(ring)], centre, flip=not up)

    def triangles(self):
        for f in self.faces:
            for k in range(1, len(f) - 1):
                yield f[0], f[k], f[k + 1]

    def indexed(self):
        """Points in order of first use, faces as indices."""
        index = {}
        faces = [tuple(index.setdefault(p, len(index)) for p in f) for f in self.faces]
        return list(index), faces

    def millimetres(self, p):
        return tuple(c / self.grid for c in p)

    def cubic(self, value):
        """Grid units cubed, as an exact fraction, to mm³."""
        return Fraction(value) / self.grid ** 3

    def bounds(self):
        points, _ = self.indexed()
        return [[f(p[k] for p in points) / self.grid for k in range(3)] for f in (min, max)]


def minus(p, q):
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


def cross(u, v):
    return u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]


def det(u, v, w):
    c = cross(u, v)
    return c[0] * w[0] + c[1] * w[1] + c[2] * w[2]


# ---- exact volumes -----------------------------------------------------------------------------------------

def stack_volume(mesh, rings):
    """Sum over a walk of rings of the prismatoid law dz (A0 + 4 Am + A1) / 6, exact for a strip of triangles.

    The middle section of a strip runs through the middles of its rungs and of its diagonals. Going down
    counts negative, so a walk from the bottom over the top into a cavity gives the solid, and its part below
    the brim minus the cavity.
    """
    twelfths = 0
    for a, b in zip(rings, rings[1:]):
        dz = b[0][2] - a[0][2]
        if dz == 0:
            continue
        n = len(a)
        middle = []
        for i in range(n):
            k = (i + 1) % n
            middle += [(a[i][0] + b[i][0], a[i][1] + b[i][1]), (a[i][0] + b[k][0], a[i][1] + b[k][1])]
        twelfths += dz * (ring_area2(a) + ring_area2(middle) + ring_area2(b))
    return mesh.cubic(Fraction(twelfths, 12))


def smooth_volume(profile, plan_area):
    """The same without facets: profile (…, z) finely stepped, plan_area(profile point) from a formula."""
    total = 0.0
    for p, q in zip(profile, profile[1:]):
        mid = tuple((a + b) / 2 for a, b in zip(p, q))
        total += (q[-1] - p[-1]) / 6 * (plan_area(p) + 4 * plan_area(mid) + plan_area(q))
    return total


def signed_volume(mesh):
    """Divergence sum over the triangles, exact."""
    return mesh.cubic(Fraction(sum(det(a, b, c) for a, b, c in mesh.triangles()), 6))


def area(mesh):
    return math.fsum(math.sqrt(sum(c * c for c in cross(minus(b, a), minus(c_, a))))
                     for a, b, c_ in mesh.triangles()) / 2 / mesh.grid ** 2


# ---- proofs ------------------------------------------------------------------------------------------------

def census(mesh):
    """Counts what a good mesh has none of, and its Euler characteristic."""
    faces = list(mesh.triangles())
    edges = defaultdict(int)
    fans = defaultdict(dict)
    flat = sum(1 for a, b, c in faces if cross(minus(b, a), minus(c, a)) == (0, 0, 0))
    repeated_edges = 0
    for a, b, c in faces:
        for p, q, r in ((a, b, c), (b, c, a), (c, a, b)):
            repeated_edges += (p, q) in edges
            edges[p, q] += 1
            fans[p][q] = r
    boundary = [e for e in edges if (e[1], e[0]) not in edges]
    split = sum(1 for fan in fans.values() if not single_fan(fan))
    undirected = len({frozenset(e) for e in edges})
    return {"triangles": len(faces), "vertices": len(fans), "euler": len(fans) - undirected + len(faces),
            "boundary_edges": len(boundary), "boundary_loops": count_loops(boundary),
            "repeated_directed_edges": repeated_edges, "zero_area": flat, "split_vertices": split,
            "duplicates": len(faces) - len({frozenset(f) for f in faces})}


def single_fan(fan):
    """True if the triangles round a vertex form one closed or one open fan."""
    starts = set(fan) - set(fan.values())
    if len(starts) > 1:
        return False
    first = starts.pop() if starts else next(iter(fan))
    at, steps = first, 0
    while at in fan and steps < len(fan):
        at, steps = fan[at], steps + 1
    return steps == len(fan)


def count_loops(boundary):
    after = dict(boundary)
    loops = 0
    while after:
        loops += 1
        at = next(iter(after))
        while at in after:
            at = after.pop(at)
    return loops


def slices(mesh):
    """Cuts the bare triangles between all vertex heights; yields (z0, z1, weight, loops of (area, x, y)).

    Between vertex heights a polyhedron's section area is quadratic in z, so the open three-point rule with
    weights 2/3, -1/3, 2/3 at 1/4, 1/2 and 3/4 integrates it exactly. Nothing is known here of how the mesh
    was made.
    """
    faces = list(mesh.triangles())
    heights = sorted({p[2] for f in faces for p in f})
    starting = defaultdict(list)
    for f in faces:
        low, high = min(p[2] for p in f), max(p[2] for p in f)
        if low < high:
            starting[low].append((high, f))
    active = []
    for z0, z1 in zip(heights, heights[1:]):
        active = [entry for entry in active if entry[0] > z0] + starting[z0]
        for t, weight in ((0.25, 2 / 3), (0.5, -1 / 3), (0.75, 2 / 3)):
            yield z0, z1, weight, section([f for _, f in active], z0 + (z1 - z0) * t, mesh.grid)


def section(faces, z, grid):
    after, where = {}, {}
    for a, b, c in faces:
        for p, q in ((a, b), (b, c), (c, a)):
            if (p[2] < z) != (q[2] < z):
                edge = (p, q) if p < q else (q, p)
                if edge not in where:
                    t = (z - edge[0][2]) / (edge[1][2] - edge[0][2])
                    where[edge] = tuple((edge[0][k] + (edge[1][k] - edge[0][k]) * t) / grid for k in (0, 1))
                if p[2] < z:
                    up = edge
                else:
                    down = edge
        after[down] = up
    loops = []
    while after:
        at, loop = next(iter(after)), []
        while at in after:
            loop.append(where[at])
            at = after.pop(at)
        loops.append((math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in zip(loop, loop[1:] + loop[:1])) / 2,
                      sum(p[0] for p in loop) / len(loop), sum(p[1] for p in loop) / len(loop)))
    return loops


def sliced_void(mesh, regions):
    """Volume of void inside the outermost section loop for each (low z, high z, accepts(x, y)), in mm³."""
    parts = [[] for _ in regions]
    for z0, z1, weight, loops in slices(mesh):
        outside = max(loops)
        for part, (low, high, accepts) in zip(parts, regions):
            if low <= z0 / mesh.grid and z1 / mesh.grid <= high:
                void = -math.fsum(a for a, x, y in loops if (a, x, y) != outside and accepts(x, y))
                part.append(void * weight * (z1 - z0) / mesh.grid)
    return [math.fsum(part) for part in parts]


# ---- files -------------------------------------------------------------------------------------------------

def stl_bytes(mesh, title):
    faces = list(mesh.triangles())
    out = [title.encode().ljust(80, b" "), struct.pack("<I", len(faces))]
    for a, b, c in faces:
        n = cross(minus(b, a), minus(c, a))
        length = math.sqrt(sum(k * k for k in n))
        corners = [k / mesh.grid for p in (a, b, c) for k in p]
        out.append(struct.pack("<12fH", *(k / length for k in n), *corners, 0))
    return b"".join(out)


def ply_bytes(mesh, title, kind):
    points, faces = mesh.indexed()
    head = ["ply", "format binary_little_endian 1.0", "comment " + title, f"element vertex {len(points)}"]
    head += [f"property {kind} {axis}" for axis in "xyz"]
    head += [f"element face {len(faces)}", "property list uchar int vertex_indices", "end_header", ""]
    code = "<3d" if kind == "double" else "<3f"
    out = ["\n".join(head).encode()]
    out += [struct.pack(code, *mesh.millimetres(p)) for p in points]
    out += [struct.pack(f"<B{len(f)}i", len(f), *f) for f in faces]
    return b"".join(out)


def obj_bytes(mesh, title):
    points, faces = mesh.indexed()
    out = ["# " + title]
    out += ["v " + " ".join(f"{c / mesh.grid:.3f}".rstrip("0").rstrip(".") for c in p) for p in points]
    out += ["f " + " ".join(str(i + 1) for i in f) for f in faces]
    return ("\n".join(out) + "\n").encode()
