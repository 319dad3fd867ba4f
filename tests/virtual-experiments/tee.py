"""A bar standing on a rail: a square tube, a flat bar or an angle on a square tube.

The rail runs along x; the bar stands on its top face, along y. Welds: "front" (z > 0) and "back" run along the rail,
"right" (x > 0) and "left" across it. A bar as wide as the rail is flush with it: front and back are then butt welds on
the flush faces, right through the wall; all others are fillets that melt into half of the wall's foot. An angle has its heel
to the front left: its legs lie along "front" and "left".
"""

import numpy as np

from mesh import Mesh, graded, through, tube
from welding import BEARING_CLEARANCE_MM, Pass, Setup, torch_radius

TACK_MM = 5.0
FUSED_MM = 1.0  # depth to which a fillet melts the foot of a solid bar
UPRIGHT = lambda p: (p[1], p[0], p[2])  # (station, u, w) -> x = u, y = station, z = w


def tee(case, settings):
    """Builds the joint for the welds of `order`.

    Before the first weld the seams in `tacks` are tacked: at both ends when they will be welded, else in the middle.
    """
    geometry = _Geometry(case, settings)
    mesh = Mesh()
    geometry.rail(mesh)
    geometry.bar(mesh)
    order, tacked = case["order"].split(), case["tacks"].split()
    runs = {name: geometry.weld(mesh, name) for name in geometry.seams}
    passes = [runs[name] for name in order]
    mesh.finish()
    ties, contacts = _joined(mesh, runs.values(), geometry.half)
    half, first, last = geometry.half, geometry.xs[0], geometry.xs[-1]
    corner = lambda y, z: mesh.nodes("rail", lambda X, Y, Z: (abs(X - first) + abs(Y - y) + abs(Z - z)) < 1e-6)
    supports = [(corner(-half, -half), [1, 2, 3]), (corner(-half, half), [1, 2]), (corner(half, -half), [1])]
    section = lambda part, axis, s: mesh.nodes(part, lambda *xyz: abs(xyz[axis] - s) < 1e-6)
    stations = {
        "left": section("rail", 0, geometry.xs[1]),
        "right": section("rail", 0, geometry.xs[-2]),
        "bar": section("bar", 1, geometry.ys[-2]),
    }
    return Setup(
        mesh, passes, [t for name in tacked for t in _tacks(runs[name], name in order)], supports, stations, _measure,
        ties=ties, contacts=contacts, edges={name: name + "-edge" for name in runs},
        tack_runs=[runs[name] for name in runs if name not in order],
    )  # fmt: skip


def _tacks(run, welded):
    """Tacks of one seam, as stretches of its run."""
    length = run.length()
    starts = (0.0, length - TACK_MM) if welded else ((length - TACK_MM) / 2,)
    return [(run.name, start, start + TACK_MM) for start in starts]


def _measure(motions):
    """How the rail's ends moved against each other, and the bar against the mean of both."""
    left, right, bar = (motions[k] for k in ("left", "right", "bar"))
    turn, mean = right.rotation - left.rotation, (right.rotation + left.rotation) / 2
    lean = bar.rotation - mean
    foot = lambda m: m.at((0.0, 0.0, 0.0))
    move = foot(bar) - (foot(left) + foot(right)) / 2
    return {
        "rail_kink_towards_bar_mrad": 1e3 * turn[2],
        "rail_kink_to_front_mrad": -1e3 * turn[1],
        "rail_twist_mrad": 1e3 * turn[0],
        "rail_shortening_mm": foot(left)[0] - foot(right)[0],
        "bar_lean_to_right_mrad": -1e3 * lean[2],
        "bar_lean_to_front_mrad": 1e3 * lean[0],
        "bar_twist_mrad": 1e3 * lean[1],
        "bar_sinks_mm": -move[1],
        "bar_moves_right_mm": move[0],
        "bar_moves_front_mm": move[2],
    }


def _joined(mesh, passes, half):
    """Ties of filler (and of melted edges) to the members, and contact under the bar's foot."""
    ties, feet = [], [mesh.nodes("bar", lambda x, y, z: abs(y - half) < 1e-6)]
    for one in passes:
        ties.append(mesh.ties(mesh.nodes(one.part), ["rail", "bar"]))
        edge = mesh.nodes(one.part + "-edge")
        held = mesh.ties(edge, ["bar"])
        ties.append(held)
        free = np.setdiff1d(edge, held[:, 0])
        feet.append(free[abs(mesh.xyz[free, 1] - half) < 1e-6])
    feet = np.concatenate(feet)
    below = mesh.twins(feet, "rail")
    return np.concatenate(ties), [(below[below >= 0], feet[below >= 0], (0.0, 1.0, 0.0), BEARING_CLEARANCE_MM)]


class _Geometry:
    """Sizes and grid lines of the joint."""

    def __init__(self, case, settings):
        fine, self.layers = settings["mesh_fineness"], settings["layers_through_wall"]
        self.case, self.half, self.wall = case, case["rail_side_mm"] / 2, case["rail_wall_mm"]
        self.c, self.d = case["bar_along_mm"] / 2, case["bar_across_mm"] / 2
        self.bar_wall, self.section = case["bar_wall_mm"], case["bar_section"]
        self.fused = self.bar_wall / 2 if self.section != "flat bar" else FUSED_MM
        self.flush, self.leg = abs(self.d - self.half) < 1e-6, case["leg_mm"]
        # heat runs off through three walls, not two: as in a plate half as thick again
        self.radius = torch_radius(case["heat_j_per_mm"], 1.5 * self.wall)
        scale = 1.4 / fine
        self.near, self.step = self.leg / 2 * min(1, scale), max(3.0, 0.8 * self.radius) * scale
        self.seams = list(dict.fromkeys((case["order"] + " " + case["tacks"]).split()))
        order = self.seams
        self.xs = self._lines(self.c, [k in order for k in ("left", "right")], {"front", "back"} & set(order))
        flat = self.half - self.wall
        lines = self._lines(self.d, [k in order for k in ("back", "front")], {"left", "right"} & set(order), flat)
        self.top = lines
        self.ys = np.concatenate([
            self.half + np.arange(0, 2) * self.leg / 2,
            graded(self.half + self.leg, self.half + 2.2 * max(self.c, self.d) * 2, self.near * 1.2, 1.45),
        ])  # fmt: skip

    def _lines(self, half_bar, welded, along, flat=None):
        """Grid lines in one direction: fine at the bar's walls, even where a weld runs along them, graded outside."""
        inner = [half_bar - self.fused] + ([] if self.section == "flat bar" else [half_bar - self.bar_wall])
        marks = [-half_bar, half_bar] + inner + [-i for i in inner]
        flush = self.flush and flat is not None
        if flush:
            marks = [-flat, flat]
        if along:
            marks += [-TACK_MM / 2, TACK_MM / 2]
        short = self.case["weld_length_mm"] / 2
        if along and short and short < half_bar:
            marks += [-short, short]
        room = [through(marks, self.step if along else 1.8 * self.step)]
        for sign, weld in zip((-1, 1), () if flush else welded):
            toe = half_bar + (self.leg if weld else 0)
            if flat is None:
                outer = graded(toe, max(2.4 * self.half * 2, half_bar + 3 * self.half), self.near * 1.3, 1.42)
            else:
                outer = graded(toe, flat, self.near * 1.3, 1.4) if toe < flat - 1e-6 else np.array([flat])
            room.append(sign * np.concatenate([[half_bar + self.leg / 2] if weld else [], outer]))
        return np.unique(np.round(np.concatenate(room), 6))

    def rail(self, mesh):
        flat = self.half - self.wall
        side = np.unique(np.round(flat - graded(0, 2 * flat, 2.0 * self.near, 1.6), 6))
        bottom = through([-flat, 0, flat], 0.7 * flat)
        lines = {"+u": self.top, "-u": bottom, "+w": side, "-w": side}
        tube(mesh, "rail", self.xs, self.half, self.half, self.wall, lines, lambda p: p, self.layers)

    def bar(self, mesh):
        """The bar. Where a weld melts its foot there are the filler and, in the same place, the edge that it replaces."""
        for part in (lambda weld: None if weld else "bar", lambda weld: weld, lambda weld: weld and weld + "-edge"):
            self._bar_cells(mesh, lambda y, x, z, part=part: part(self._melted_by(y, x, z)))

    def _bar_cells(self, mesh, part):
        inside = lambda lines, half: lines[abs(lines) <= half + 1e-6]
        if self.section == "tube":
            on_x, on_z = inside(self.top, self.d - self.bar_wall), inside(self.xs, self.c - self.bar_wall)
            lines = {"+u": on_x, "-u": on_x, "+w": on_z, "-w": on_z}
            tube(mesh, part, self.ys, self.c, self.d, self.bar_wall, lines, UPRIGHT, 2)
            return
        filled = lambda x, z: self.section == "flat bar" or x < self.bar_wall - self.c or z > self.d - self.bar_wall
        shape = lambda y, x, z: part(y, x, z) if filled(x, z) else None
        mesh.block(self.ys, inside(self.xs, self.c), inside(self.top, self.d), shape, UPRIGHT)

    def _melted_by(self, y, x, z):
        """The weld that melts a cell of the bar, or None."""
        if y > self.half + self.leg / 2:
            return None
        for name in self.seams:
            sign = 1 if name in ("front", "right") else -1
            along, across, half_along, half_across = (x, z, self.c, self.d) if name in ("front", "back") else (z, x, self.d, self.c)
            depth = self.bar_wall if self.flush and name in ("front", "back") else self.fused
            if sign * across > half_across - depth and abs(along) < self._half_run(half_along):
                return name
        return None

    def weld(self, mesh, name):
        """Adds the filler of a weld and returns its pass. The four runs go round the bar, front from left to right."""
        h, c, d, leg = self.half, self.c, self.d, self.leg
        sign = 1 if name in ("front", "right") else -1
        along_rail = name in ("front", "back")
        if along_rail and self.flush:
            return self._pass(name, (-sign * c, h, sign * h), (sign * c, h, sign * h))
        if along_rail:
            along, root = self.xs[abs(self.xs) <= self._half_run(c) + 1e-6], lambda s: (s, h, sign * d)
            out = np.array([0, 0, sign])
        else:
            lines = np.union1d(self.top, [-d, d]) if self.flush else self.top
            along = lines[abs(lines) <= self._half_run(d) + 1e-6]
            root, out = (lambda s: (sign * c, h, s)), np.array([sign, 0, 0])
        up = np.array([0, 1, 0])
        mesh.fillet(name, along, lambda s: (root(s), root(s) + leg * out, root(s) + leg * up))
        start, end = (root(along[i]) + leg / 3 * (out + up) for i in (0, -1))
        if name in ("right", "back"):
            start, end = end, start
        return self._pass(name, start, end)

    def _half_run(self, half_bar):
        """Half the length of a weld: along the whole side of the bar, or a short weld in its middle."""
        return min(half_bar, self.case["weld_length_mm"] / 2) if self.case["weld_length_mm"] else half_bar

    def _pass(self, name, start, end):
        return Pass(name, tuple(start), tuple(end), self.case["heat_j_per_mm"], self.case["speed_mm_s"], self.radius, name)
