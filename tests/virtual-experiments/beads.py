"""Beads on a single member: along a plate, across and along a square tube. The bead melts the steel; no filler is added."""

import numpy as np

from mesh import Mesh, both_ways, even, graded, through, tube
from welding import Pass, Setup, torch_radius

ALONG_X = lambda p: p


def plate(case, settings):
    """A bead along the middle of a flat plate that is kept from bending: the known case for the tendon force.

    Half of the plate, y >= 0. The strain is taken over the middle third.
    """
    fine, layers = settings["mesh_fineness"], settings["layers_through_wall"]
    length, width, wall = case["length_mm"], case["width_mm"], case["wall_mm"]
    radius = torch_radius(case["heat_j_per_mm"], wall)
    near = radius / 2.5 / fine
    xs = even(0, length, radius * 1.2 / fine)
    ys = np.concatenate([even(0, 3 * near, near), graded(3 * near, width / 2, near, 1.4)[1:]])
    mesh = Mesh()
    mesh.block(xs, ys, np.linspace(0, wall, layers + 1), "plate")
    mesh.finish()
    a, b = (xs[np.argmin(abs(xs - length * k))] for k in (0.35, 0.65))
    at = lambda s: mesh.nodes("plate", lambda x, y, z: abs(x - s) < 1e-6)
    flat = mesh.nodes("plate", lambda x, y, z: z < 1e-6)
    middle = mesh.nodes("plate", lambda x, y, z: y < 1e-6)
    pin = mesh.nodes("plate", lambda x, y, z: (y < 1e-6) & (z < 1e-6) & (x < 1e-6))
    weights = {k: _row_weights(mesh.xyz[at(s)]) for k, s in (("a", a), ("b", b))}

    def measure(motions):
        mean = {k: (motions[k].displacements[:, 0] * weights[k]).sum() for k in weights}
        force = -(mean["b"] - mean["a"]) / (b - a) * 210000 * width * wall / 1e3
        return {"tendon_kn": force, "tendon_kn_per_j_per_mm": force / case["heat_j_per_mm"]}

    bead = Pass("bead", (0, 0, wall), (length, 0, wall), case["heat_j_per_mm"], case["speed_mm_s"], radius)
    return Setup(
        mesh, [bead], [], [(flat, [3]), (middle, [2]), (pin, [1])], {"a": at(a), "b": at(b)}, measure,
        insulated=lambda p: (abs(p[:, 1]) < 1e-6).all(), heat_share=0.5,
    )  # fmt: skip


def _row_weights(points):
    """Weights that turn nodal values over a plate's section into their mean over the width."""
    ys = np.unique(np.round(points[:, 1], 6))
    share = np.gradient(ys)
    share[0], share[-1] = (ys[1] - ys[0]) / 2, (ys[-1] - ys[-2]) / 2
    one = share[np.searchsorted(ys, np.round(points[:, 1], 6))]
    return one / one.sum()


def across(case, settings):
    """A bead across the top face of a square tube: half of the tube, x >= 0, the bead at x = 0 running along z."""
    fine, layers = settings["mesh_fineness"], settings["layers_through_wall"]
    side, wall, width = case["side_mm"], case["wall_mm"], case["weld_length_mm"]
    centre = case.get("offset_mm", 0.0)
    half, radius = side / 2, torch_radius(case["heat_j_per_mm"], wall)
    near, reach = radius / 2.5 / fine, 2.5 * side
    xs = np.concatenate([even(0, 4 * near, near), graded(4 * near, reach, near, 1 + 0.3 / fine)[1:]])
    flat = half - wall
    top = through([-flat, flat] + [e for e in (centre - width / 2, centre + width / 2) if abs(e) < flat], 0.6 * radius / fine)
    wallside = flat - graded(0, 2 * flat, near * 1.5, 1.4)
    lines = {"+u": top, "-u": even(-flat, flat, flat / 2.5), "+w": np.sort(wallside), "-w": np.sort(wallside)}
    mesh = Mesh()
    tube(mesh, "tube", xs, half, half, wall, lines, ALONG_X, layers)
    mesh.finish()
    plane = mesh.nodes("tube", lambda x, y, z: x < 1e-6)
    far = mesh.nodes("tube", lambda x, y, z: abs(x - xs[-3]) < 1e-6)
    corner = lambda sign: mesh.nodes("tube", lambda x, y, z: (x < 1e-6) & (y < -half + 1e-6) & (sign * z > half - 1e-6))

    def measure(motions):
        end = motions["far"]
        return {
            "kink_towards_bead_mrad": 2e3 * end.rotation[2],
            "kink_sideways_mrad": -2e3 * end.rotation[1],
            "shortening_mm": -2 * end.at((end.centre[0], 0, 0))[0],
        }

    run = [(0, half, centre - width / 2), (0, half, centre + width / 2)]
    bead = Pass("bead", *run, case["heat_j_per_mm"], case["speed_mm_s"], radius)
    return Setup(
        mesh, [bead], [], [(plane, [1]), (corner(1), [2, 3]), (corner(-1), [2])], {"far": far}, measure,
        insulated=lambda p: (abs(p[:, 0]) < 1e-6).all(), heat_share=0.5,
    )  # fmt: skip


def along(case, settings):
    """A bead along the top face of a square tube, centred in its length. Half of the tube when it runs in the middle."""
    fine, layers = settings["mesh_fineness"], settings["layers_through_wall"]
    side, wall, run, offset = case["side_mm"], case["wall_mm"], case["weld_length_mm"], case.get("offset_mm", 0.0)
    half, radius = side / 2, torch_radius(case["heat_j_per_mm"], wall)
    near, flat, symmetric = radius / 2.5 / fine, half - wall, offset == 0
    step = radius * (0.8 if run < 60 else 1.2) / fine
    inside = even(0, run / 2, step)
    free = max(2.0 * side, 50)
    xs = both_ways(np.concatenate([inside, graded(run / 2, run / 2 + free, step, 1.35)[1:]]))
    beside = lambda room: np.concatenate([even(0, 3 * near, near), graded(3 * near, room, near * 1.2, 1.4)[1:]])
    top = beside(flat) if symmetric else np.concatenate([(offset - beside(flat + offset))[::-1], (offset + beside(flat - offset))[1:]])
    low = 0 if symmetric else -flat
    lines = {"+u": top, "-u": even(low, flat, flat / 2.5), "+w": even(-flat, flat, flat / 3), "-w": even(-flat, flat, flat / 3)}
    mesh = Mesh()
    if symmetric:
        _half_tube(mesh, xs, half, wall, lines, layers)
    else:
        tube(mesh, "tube", xs, half, half, wall, lines, ALONG_X, layers)
    mesh.finish()
    at = lambda s: mesh.nodes("tube", lambda x, y, z: abs(x - s) < 1e-6)
    bottom = lambda s, w: mesh.nodes("tube", lambda x, y, z: (abs(x - s) < 1e-6) & (y < -half + 1e-6) & (abs(z - w) < 1e-6))
    supports = [(bottom(xs[0], half), [1, 2]), (bottom(xs[-1], half), [2])]
    plane = mesh.nodes("tube", lambda x, y, z: abs(z) < 1e-6)
    if symmetric:
        supports.append((plane, [3]))
    else:
        supports += [(bottom(xs[0], half), [3]), (bottom(xs[-1], half), [3]), (bottom(xs[0], -half), [2])]

    def measure(motions):
        turn = motions["right"].rotation - motions["left"].rotation
        nearer = [motions[k].at((motions[k].centre[0], 0, 0))[0] for k in ("left", "right")]
        found = {"kink_towards_bead_mrad": 1e3 * turn[2], "shortening_mm": nearer[0] - nearer[1]}
        return found if symmetric else {**found, "kink_sideways_mrad": -1e3 * turn[1], "twist_mrad": 1e3 * turn[0]}

    bead = Pass("bead", (-run / 2, half, offset), (run / 2, half, offset), case["heat_j_per_mm"], case["speed_mm_s"], radius)
    return Setup(
        mesh, [bead], [], supports, {"left": at(xs[2]), "right": at(xs[-3])}, measure,
        insulated=lambda p: symmetric and (abs(p[:, 2]) < 1e-6).all(), heat_share=0.5 if symmetric else 1.0,
    )  # fmt: skip


def _half_tube(mesh, xs, half, wall, lines, layers):
    """The half z >= 0 of a square tube."""
    layer = np.linspace(half - wall, half, layers + 1)
    faces = [(layer, lines["+u"]), (-layer[::-1], lines["-u"]), (lines["+w"], layer), (layer, layer), (-layer[::-1], layer)]
    for u, w in faces:
        mesh.block(xs, u, w, "tube")
