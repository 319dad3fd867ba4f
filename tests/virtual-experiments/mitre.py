"""A mitre: two square tubes cut at 45 degrees and welded along the seam.

The seam lies in the plane x = 0, the corner points to +y, front is +z. The joint is its own mirror image, so one leg is
modelled; a bead of the full heat on the seam gives half of it to each leg. Seams: "outer", "inner", "front", "back".
"""

import numpy as np

from mesh import Mesh, graded, through, tube
from welding import BEARING_CLEARANCE_MM, Pass, Setup, torch_radius

TACK_MM = 5.0
ROOT2 = np.sqrt(2.0)
SEAMS = ("outer", "inner", "front", "back")


def mitre(case, settings):
    """Builds the corner. `order` lists the seams, `tacks` the seams with a tack (at their middle), `clamped` is 0 or 1.

    With no gap, edges that are not welded yet bear on each other; with a gap they are free.
    """
    fine, layers = settings["mesh_fineness"], settings["layers_through_wall"]
    half, wall, order = case["side_mm"] / 2, case["wall_mm"], case["order"].split()
    tacks = case["tacks"].split()
    radius = torch_radius(case["heat_j_per_mm"], wall)
    near, step, flat = radius / 2.5 / fine, 0.9 * max(radius, 3.0) / fine * 1.4, half - wall
    first = 1.5 * ROOT2
    xs = np.concatenate([[0, first], graded(first, 4.5 * half * 2, near * ROOT2 * 1.2, 1.38)[1:]])
    tack = TACK_MM / 2
    across_front = through([-flat, -tack / ROOT2, tack / ROOT2, flat], step / ROOT2)
    across_outer = through([-flat, -tack, tack, flat], step)
    quiet = through([-flat, 0, flat], 0.55 * flat)
    welded = lambda name, lines: lines if name in order or name in tacks else quiet
    lines = {"+u": welded("outer", across_outer), "-u": welded("inner", across_outer),
             "+w": welded("front", across_front), "-w": welded("back", across_front)}  # fmt: skip
    place = lambda p: _place(p, 3.0 * half)
    used = [s for s in SEAMS if s in order or s in tacks]
    mesh = Mesh()
    seam_of = lambda u, w: "outer" if u > flat else "inner" if u < -flat else "front" if w > flat else "back"
    cells = lambda name: (lambda x, u, w: name(seam_of(u, w)) if x < first else None)
    tube(mesh, lambda x, u, w: "leg" if x > first else None, xs, half, half, wall, lines, place, layers)
    tube(mesh, cells(lambda s: s if s in used else None), xs[:2], half, half, wall, lines, place, layers)
    tube(mesh, cells(lambda s: s + "-edge"), xs[:2], half, half, wall, lines, place, layers)
    mesh.finish()
    return _setup(case, mesh, used, order, tacks, half, xs, radius)


def _place(point, reach):
    """(distance from the seam along the leg, u outward, w to the front) -> x, y, z; the sections lean over near the seam."""
    along, u, w = point
    s = along - u * max(0.0, 1 - along / reach)
    return ((s + u) / ROOT2, (u - s) / ROOT2, w)


def _setup(case, mesh, used, order, tacks, half, xs, radius):
    on_plane = lambda part: mesh.nodes(part, lambda x, y, z: abs(x) < 1e-6)
    fillers = np.concatenate([mesh.nodes(s) for s in used])
    edges = np.concatenate([mesh.nodes(s + "-edge") for s in SEAMS])
    plane = np.concatenate([on_plane(s) for s in used])
    contact = [(None, np.concatenate([on_plane(s + "-edge") for s in SEAMS]), (1.0, 0.0, 0.0), BEARING_CLEARANCE_MM)]
    place = lambda x, u, w: np.array(_place((x, u, w), 3.0 * half))
    at = lambda p: mesh.nodes("leg", lambda x, y, z: abs(x - p[0]) + abs(y - p[1]) + abs(z - p[2]) < 1e-5)
    low, high = at(place(xs[-1], -half, -half)), at(place(xs[-1], half, -half))
    free = [(plane, [1]), (low, [2, 3]), (high, [3])]
    section = lambda s: _section(mesh, s)
    clamp = [(plane, [1]), (section(xs[-2]), [1, 2, 3])]
    passes = [_pass(case, name, half, radius) for name in used]
    middle = {p.name: p.length() / 2 for p in passes}
    seams = [(s, middle[s] - TACK_MM / 2, middle[s] + TACK_MM / 2) for s in tacks]
    return Setup(
        mesh, [p for name in order for p in passes if p.name == name], seams, clamp if case["clamped"] else free,
        {"leg": section(xs[-3])}, _measure, released=free if case["clamped"] else None,
        ties=mesh.ties(np.concatenate([fillers, edges]), ["leg"]), contacts=contact if case["gap_mm"] == 0 else [],
        insulated=lambda p: (abs(p[:, 0]) < 1e-6).all(), heat_share=0.5,
        edges={s: s + "-edge" for s in used}, tack_runs=[p for p in passes if p.name not in order],
    )  # fmt: skip


def _section(mesh, along):
    """Nodes of the leg at a station beyond the part whose sections lean over."""
    return mesh.nodes("leg", lambda x, y, z: abs((x - y) / ROOT2 - along) < 1e-5)


def _pass(case, name, half, radius):
    """A seam's run: outer and inner from front to back, the faces from the outer corner to the inner one.

    The torch goes along the middle of the wall, since a butt weld melts right through.
    """
    u, w, mid = half * ROOT2, half, half - case["wall_mm"] / 2
    runs = {
        "outer": ((0, mid * ROOT2, w), (0, mid * ROOT2, -w)), "inner": ((0, -mid * ROOT2, w), (0, -mid * ROOT2, -w)),
        "front": ((0, u, mid), (0, -u, mid)), "back": ((0, u, -mid), (0, -u, -mid)),
    }  # fmt: skip
    return Pass(name, *runs[name], case["heat_j_per_mm"], case["speed_mm_s"], radius, name)


def _measure(motions):
    """The mirrored leg moves as its image: the angle between the legs changes by twice what one turns."""
    leg = motions["leg"]
    return {
        "corner_opens_mrad": 2e3 * leg.rotation[2],
        "legs_fold_to_front_mrad": -2e3 * leg.rotation[1],
        "legs_come_nearer_mm": -2 * leg.at((0.0, 0.0, 0.0))[0],
    }
