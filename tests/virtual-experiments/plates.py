"""Joints of flat plates: the plain tee of two plates and the lap, welded along x with fillets."""

import numpy as np

from mesh import Mesh, even, graded, through
from welding import BEARING_CLEARANCE_MM, Pass, Setup, torch_radius

TACK_MM = 5.0
FUSED_MM = 1.0  # depth to which a fillet melts the edge of the plate that stands on the other


def plain_tee(case, settings):
    """A plate standing on the middle of another. Welds: "front" (z > 0) and "back"; the base lies in y < 0."""
    wall, stiff, leg = case["base_thickness_mm"], case["stiffener_thickness_mm"], case["leg_mm"]
    order, fine, layers = case["order"].split(), settings["mesh_fineness"], settings["layers_through_wall"]
    radius = torch_radius(case["heat_j_per_mm"], 1.5 * min(wall, stiff))
    half_width, length, height = case["base_width_mm"] / 2, case["length_mm"], case["stiffener_height_mm"]
    xs = even(0, length, max(3.0, 0.8 * radius) * 1.4 / fine)
    foot = through([-stiff / 2, FUSED_MM - stiff / 2, stiff / 2 - FUSED_MM, stiff / 2], stiff / 2)
    zs = [foot]
    for sign, name in ((1, "front"), (-1, "back")):
        toe = stiff / 2 + (leg if name in order else 0)
        outside = graded(toe, half_width, leg / 2 * 1.4 / fine, 1.4)
        zs.append(sign * np.concatenate([[stiff / 2 + leg / 2] if name in order else [], outside]))
    zs = np.unique(np.round(np.concatenate(zs), 6))
    ys = np.concatenate([[0, leg / 2], graded(leg, height, leg / 2 * 1.4 / fine, 1.5)])
    mesh = Mesh()
    mesh.block(xs, np.linspace(-wall, 0, layers + 1), zs, "base")
    melted = lambda y, z: y < leg / 2 and (z > stiff / 2 - FUSED_MM and "front" in order and "front" or
                                           z < FUSED_MM - stiff / 2 and "back" in order and "back") or None  # fmt: skip
    for part in (lambda weld: None if weld else "stiffener", lambda weld: weld, lambda weld: weld and weld + "-edge"):
        mesh.block(xs, ys, foot, lambda x, y, z, part=part: part(melted(y, z)))
    passes = []
    for name in order:
        sign = 1 if name == "front" else -1
        out, up = np.array([0, 0, sign]), np.array([0, 1, 0])
        root = lambda x, sign=sign: np.array([x, 0, sign * stiff / 2])
        mesh.fillet(name, xs, lambda x: (root(x), root(x) + leg * out, root(x) + leg * up))
        ends = [tuple(root(x) + leg / 3 * (out + up)) for x in (0, length)]
        passes.append(Pass(name, *ends, case["heat_j_per_mm"], case["speed_mm_s"], radius, name))
    mesh.finish()
    near = lambda part, axis, s: mesh.nodes(part, lambda *p: abs(p[axis] - s) < 1e-6)
    stations = {"front": near("base", 2, zs[-2]), "back": near("base", 2, zs[1]), "stiffener": near("stiffener", 1, ys[-2])}
    stations |= {"start": near("base", 0, xs[1]), "end": near("base", 0, xs[-2])}
    corner = lambda x, z: mesh.nodes("base", lambda X, Y, Z: abs(X - x) + abs(Y + wall) + abs(Z - z) < 1e-6)
    supports = [(corner(0, zs[0]), [1, 2, 3]), (corner(length, zs[0]), [2, 3]), (corner(0, zs[-1]), [2])]
    return _fillet_joint(mesh, passes, ["base", "stiffener"], stations, supports, _measure_tee)


def _measure_tee(motions):
    """How the two halves of the base fold up, how the stiffener leans against their mean, and how the whole bows."""
    front, back, web = (motions[k] for k in ("front", "back", "stiffener"))
    ends = motions["end"].rotation - motions["start"].rotation
    return {
        "base_folds_up_mrad": 1e3 * (back.rotation[0] - front.rotation[0]),
        "stiffener_leans_to_front_mrad": 1e3 * (web.rotation[0] - (front.rotation[0] + back.rotation[0]) / 2),
        "base_narrows_mm": back.displacement[2] - front.displacement[2],
        "ends_kink_towards_stiffener_mrad": 1e3 * ends[2],
        "shortening_mm": motions["start"].displacement[0] - motions["end"].displacement[0],
    }


def lap(case, settings):
    """Two plates that overlap, one fillet along the edge of the upper one: "front". The lower plate runs on to z > 0."""
    wall, leg = case["thickness_mm"], case["leg_mm"]
    fine, layers = settings["mesh_fineness"], settings["layers_through_wall"]
    radius = torch_radius(case["heat_j_per_mm"], 1.5 * wall)
    overlap, free, length = case["overlap_mm"], case["free_width_mm"], case["length_mm"]
    small = leg / 2 * 1.4 / fine
    xs = even(0, length, max(3.0, 0.8 * radius) * 1.4 / fine)
    under = -graded(0, overlap, small, 1.4)[::-1]
    lower = np.concatenate([under[:-1], [0, leg / 2], graded(leg, free, small, 1.4)])
    upper = np.concatenate([-graded(overlap, overlap + free, overlap / 3, 1.4)[:0:-1], under])
    mesh = Mesh()
    mesh.block(xs, np.linspace(-wall, 0, layers + 1), lower, "lower")
    melted = lambda y, z: "front" if y < leg / 2 and z > under[-2] else None
    for part in (lambda weld: None if weld else "upper", lambda weld: weld, lambda weld: weld and weld + "-edge"):
        mesh.block(xs, through([0, leg / 2, leg, wall], wall / layers), upper, lambda x, y, z, part=part: part(melted(y, z)))
    out, up = np.array([0, 0, 1]), np.array([0, 1, 0])
    root = lambda x: np.array([x, 0.0, 0.0])
    mesh.fillet("front", xs, lambda x: (root(x), root(x) + leg * out, root(x) + leg * up))
    mesh.finish()
    ends = [tuple(root(x) + leg / 3 * (out + up)) for x in (0, length)]
    bead = Pass("front", *ends, case["heat_j_per_mm"], case["speed_mm_s"], radius, "front")
    near = lambda part, axis, s: mesh.nodes(part, lambda *p: abs(p[axis] - s) < 1e-6)
    stations = {"lower": near("lower", 2, lower[-2]), "upper": near("upper", 2, upper[1])}
    stations |= {"start": near("lower", 0, xs[1]), "end": near("lower", 0, xs[-2])}
    corner = lambda x, z: mesh.nodes("lower", lambda X, Y, Z: abs(X - x) + abs(Y + wall) + abs(Z - z) < 1e-6)
    supports = [(corner(0, free), [1, 2, 3]), (corner(length, free), [2, 3]), (corner(0, lower[0]), [2])]
    return _fillet_joint(mesh, [bead], ["lower", "upper"], stations, supports, _measure_lap)


def _measure_lap(motions):
    lower, upper = motions["lower"], motions["upper"]
    ends = motions["end"].rotation - motions["start"].rotation
    return {
        "plates_fold_towards_weld_mrad": 1e3 * (upper.rotation[0] - lower.rotation[0]),
        "joint_narrows_mm": upper.at((0, 0, 0))[2] - lower.at((0, 0, 0))[2],
        "lower_ends_kink_mrad": 1e3 * ends[2],
        "shortening_mm": motions["start"].displacement[0] - motions["end"].displacement[0],
    }


def _fillet_joint(mesh, passes, members, stations, supports, measure):
    """Ties, contact in the plane y = 0 and tacks at both ends of every weld."""
    fillers = [mesh.ties(mesh.nodes(p.part), members) for p in passes]
    edges = [mesh.ties(mesh.nodes(p.part + "-edge"), members[1:]) for p in passes]
    ties = np.concatenate(fillers + edges)
    feet = np.concatenate([mesh.nodes(p, lambda x, y, z: abs(y) < 1e-6) for p in [members[1]] + [p.part + "-edge" for p in passes]])
    feet = np.setdiff1d(feet, ties[:, 0])
    below = mesh.twins(feet, members[0])
    contact = (below[below >= 0], feet[below >= 0], (0.0, 1.0, 0.0), BEARING_CLEARANCE_MM)
    tacks = [(p.name, a, a + TACK_MM) for p in passes for a in (0.0, p.length() - TACK_MM)]
    return Setup(mesh, passes, tacks, supports, stations, measure, ties=ties, contacts=[contact],
                 edges={p.part: p.part + "-edge" for p in passes})  # fmt: skip
