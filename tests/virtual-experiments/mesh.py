"""Meshes of eight-node bricks: tubes, plates and fillets built from blocks, joined by coordinates within a part.

A part is one member ("rail", "bar") or the filler of one weld ("front"). Nodes of different parts never merge: the
mechanical run ties filler to steel, and the thermal run lets heat through where filler has been laid.
"""

import numpy as np


class Mesh:
    """Nodes, bricks and the part of each brick. Call `finish` once all blocks are in."""

    def __init__(self):
        self._index = {}
        self._xyz = []
        self._part_of_node = []
        self._bricks = []
        self._part_of_brick = []

    def node(self, part, point):
        """The node of a part at a point, made when it is new."""
        key = (part,) + tuple(int(round(c * 1e4)) for c in point)
        if key not in self._index:
            self._index[key] = len(self._xyz)
            self._xyz.append(tuple(map(float, point)))
            self._part_of_node.append(part)
        return self._index[key]

    def brick(self, part, corners):
        """Adds a brick of eight corners: four round one face, then the four opposite."""
        p = np.array(corners, float)
        volume = np.dot(np.cross(p[1] - p[0], p[3] - p[0]), p[4] - p[0])
        order = (0, 1, 2, 3, 4, 5, 6, 7) if volume > 0 else (4, 5, 6, 7, 0, 1, 2, 3)
        self._bricks.append([self.node(part, corners[i]) for i in order])
        self._part_of_brick.append(part)

    def block(self, xs, ys, zs, part, place=lambda p: p):
        """Adds a grid of bricks. `part` is a name or a function of the brick's centre (None leaves a hole)."""
        for x0, x1 in zip(xs, xs[1:]):
            for y0, y1 in zip(ys, ys[1:]):
                for z0, z1 in zip(zs, zs[1:]):
                    name = part((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2) if callable(part) else part
                    if name is None:
                        continue
                    quad = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
                    self.brick(name, [place((x, y, z)) for z in (z0, z1) for x, y in quad])

    def fillet(self, part, along, section):
        """Adds a fillet: each slice is a triangle cut in three bricks.

        `section(s)` gives the root, the toe on the first leg and the toe on the second, as points at path position s.
        """
        for s0, s1 in zip(along, along[1:]):
            rings = [_fillet_ring(*map(np.array, section(s))) for s in (s0, s1)]
            for quad in ((0, 1, 6, 2), (1, 3, 5, 6), (2, 6, 5, 4)):
                self.brick(part, [tuple(r[i]) for r in rings for i in quad])

    def finish(self):
        """Freezes the mesh into arrays."""
        self.xyz = np.array(self._xyz)
        self.bricks = np.array(self._bricks)
        self.part_of_node = np.array(self._part_of_node)
        self.part_of_brick = np.array(self._part_of_brick)
        points, self.place_of_node = np.unique(np.round(self.xyz, 4), axis=0, return_inverse=True)
        self.places = len(points)
        return self

    def nodes(self, part, condition=lambda x, y, z: True):
        """The nodes of a part for which a condition on the arrays x, y, z holds."""
        hit = (self.part_of_node == part) & condition(*self.xyz.T)
        return np.flatnonzero(hit)

    def twins(self, nodes, part):
        """For each node the node of a part at the same place, or -1."""
        at = np.full(self.places, -1)
        own = np.flatnonzero(self.part_of_node == part)
        at[self.place_of_node[own]] = own
        return at[self.place_of_node[nodes]]

    def ties(self, nodes, parts):
        """Pairs of nodes and their twins in the first of the parts that has one; nodes without a twin are left out."""
        partner = np.full(len(nodes), -1)
        for part in parts:
            partner = np.where(partner < 0, self.twins(nodes, part), partner)
        return np.column_stack([nodes, partner])[partner >= 0]


def _fillet_ring(root, toe1, toe2):
    """Root, middles of the legs, toes, middle of the face and middle of the triangle."""
    return [root, (root + toe1) / 2, (root + toe2) / 2, toe1, toe2, (toe1 + toe2) / 2, (root + toe1 + toe2) / 3]


def tube(mesh, part, along, half_u, half_w, wall, lines, place, layers=1):
    """Adds a rectangular tube with sharp corners.

    `along` are the stations; `lines` gives for each face ("+u", "-u", "+w", "-w") the grid lines across it between its
    corners, ends included. `place` turns (station, u, w) into x, y, z. `layers` counts the bricks through the wall.
    """
    layer = np.linspace(0, wall, layers + 1)
    u_pos, w_pos = half_u - wall + layer, half_w - wall + layer
    u_neg, w_neg = -u_pos[::-1], -w_pos[::-1]
    grids = {"+u": (u_pos, lines["+u"]), "-u": (u_neg, lines["-u"]), "+w": (lines["+w"], w_pos), "-w": (lines["-w"], w_neg)}
    for u, w in list(grids.values()) + [(u, w) for u in (u_pos, u_neg) for w in (w_pos, w_neg)]:
        mesh.block(along, u, w, part, place)


def even(start, stop, size):
    """Lines from start to stop, evenly spaced by about `size`."""
    count = max(1, int(round(abs(stop - start) / size)))
    return np.linspace(start, stop, count + 1)


def graded(start, stop, first, growth=1.35, largest=1e9):
    """Lines from start to stop whose spacing begins near `first` and grows."""
    steps, size = [], first
    while sum(steps) < abs(stop - start) - 0.3 * size:
        steps.append(min(size, largest))
        size *= growth
    steps = np.array(steps) * abs(stop - start) / sum(steps)
    return start + np.sign(stop - start) * np.concatenate([[0], np.cumsum(steps)])


def both_ways(lines):
    """Lines mirrored about zero; `lines` begin at zero."""
    return np.concatenate([-np.array(lines)[:0:-1], lines])


def through(points, size):
    """Lines through all the points, with even steps of at most about `size` between them."""
    points = np.unique(np.round(points, 6))
    parts = [even(a, b, size)[:-1] for a, b in zip(points, points[1:])]
    return np.concatenate(parts + [points[-1:]])
