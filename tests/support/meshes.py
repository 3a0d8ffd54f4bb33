# SPDX-License-Identifier: GPL-3.0-or-later
"""Small meshes for runs of the program: molds made of boxes on a grid, whose volumes are known by counting."""
import struct
from itertools import accumulate


class Blocks:
    """Cells of material on a grid with the given cell sizes (mm). Cells that touch along an edge only are not allowed."""

    def __init__(self, xs, ys, zs):
        self.edges = [list(accumulate(sizes, initial=0)) for sizes in (xs, ys, zs)]
        self.full = set()

    def fill(self, xs, ys, zs):
        self.full |= {(i, j, k) for i in xs for j in ys for k in zs}
        return self

    def clear(self, xs, ys, zs):
        self.full -= {(i, j, k) for i in xs for j in ys for k in zs}
        return self

    def volume(self):
        e = self.edges
        return sum((e[0][i + 1] - e[0][i]) * (e[1][j + 1] - e[1][j]) * (e[2][k + 1] - e[2][k]) for i, j, k in self.full)

    def triangles(self):
        """Outward-facing triangles of the cells' free faces."""
        out = []
        for cell in sorted(self.full):
            for axis in range(3):
                for side in (0, 1):
                    beyond = list(cell)
                    beyond[axis] += 2 * side - 1
                    if tuple(beyond) in self.full:
                        continue
                    u, v = (axis + 1) % 3, (axis + 2) % 3
                    corners = []
                    for du, dv in ((0, 0), (1, 0), (1, 1), (0, 1)):
                        at = list(cell)
                        at[axis] += side
                        at[u] += du
                        at[v] += dv
                        corners.append(tuple(self.edges[a][at[a]] for a in range(3)))
                    a, b, c, d = corners if side else reversed(corners)
                    out += [(a, b, c), (a, c, d)]
        return out


def cup(width, depth, height, wall, floor):
    """A box that holds width × depth × height mm."""
    cup_ = Blocks([wall, width, wall], [wall, depth, wall], [floor, height])
    return cup_.fill(range(3), range(3), range(2)).clear([1], [1], [1])


def row_of_cups(widths, depth, height, rim=0, wall=4, floor=5):
    """Cups side by side in one block; with a rim, a wall of that height runs round all of them."""
    xs = [wall]
    for w in widths:
        xs += [w, wall]
    block = Blocks(xs, [wall, depth, wall], [floor, height] + ([rim] if rim else []))
    block.fill(range(len(xs)), range(3), range(2)).clear(range(1, len(xs), 2), [1], [1])
    if rim:
        block.fill(range(len(xs)), range(3), [2]).clear(range(1, len(xs) - 1), [1], [2])
    return block


def moved(triangles, by):
    return [tuple(tuple(c + d for c, d in zip(p, by)) for p in t) for t in triangles]


def write_stl(path, triangles):
    with open(path, "wb") as f:
        f.write(b"\0" * 80 + struct.pack("<I", len(triangles)))
        for t in triangles:
            f.write(struct.pack("<12fH", 0, 0, 0, *[c for p in t for c in p], 0))


def write_obj(path, triangles):
    known = {}
    faces = [[known.setdefault(p, len(known) + 1) for p in t] for t in triangles]
    with open(path, "w", encoding="utf-8") as f:
        f.writelines(f"v {x!r} {y!r} {z!r}\n" for x, y, z in known)
        f.writelines("f {} {} {}\n".format(*face) for face in faces)
