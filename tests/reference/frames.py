"""Solves frames with OpenSees and PyNite: JSON on standard input, JSON on standard output.

A frame (N, mm, rad):
  nodes     [[x, y, z], ...]
  beams     [{nodes: [i, j], depth: [x, y, z], A, E, G, J, Iy, Iz, Ay, Az (shear areas or null),
              offsets: [[..], [..]] or null, springs: [[node-side stiffness x 6], [..]] or null, pins: bool}]
  held      [[node, [six of true or false]], ...]
  grounded  [[node, component, stiffness], ...]
  links     [[node, node, [six stiffnesses], [six natural readings]], ...]   between nodes at one place, global axes
  forces    [[node, [six]], ...]
  uniform   [[beam, [x, y, z] per length], ...]
Answer for each: {opensees: [[six] per node], pynite: the same, or null where PyNite has no such thing}.

Local axes as in the project: y = depth x x, z = x x y.
"""

import json
import os
import sys
from math import atan2, degrees

import numpy as np

DIRECTIONS = ("X", "Y", "Z")


def axes(frame, beam):
    a, b = (np.array(frame["nodes"][n]) for n in beam["nodes"])
    if beam["offsets"]:
        a, b = a + beam["offsets"][0], b + beam["offsets"][1]
    x = (b - a) / np.linalg.norm(b - a)
    y = np.cross(beam["depth"], x)
    y /= np.linalg.norm(y)
    return x, y, np.cross(x, y)


class OpenSees:
    """One frame in OpenSees; tags are handed out by a counter."""

    def __init__(self, frame):
        import openseespy.opensees as ops

        self.ops, self.frame, self.last = ops, frame, 10 * len(frame["nodes"]) + 10
        ops.wipe()
        ops.model("basic", "-ndm", 3, "-ndf", 6)
        for k, at in enumerate(frame["nodes"]):
            ops.node(k + 1, *at)
        for node, held in frame["held"]:
            ops.fix(node + 1, *map(int, held))
        self.beam_tags = [self.beam(beam) for beam in frame["beams"]]
        for node, component, stiffness in frame["grounded"]:
            ground = self.new_node(frame["nodes"][node])
            ops.fix(ground, 1, 1, 1, 1, 1, 1)
            self.zero_length(ground, node + 1, {component: stiffness}, {})
        for a, b, stiffness, natural in frame["links"]:
            self.zero_length(a + 1, b + 1, dict(enumerate(stiffness)), dict(enumerate(natural)))
        self.load()

    def tag(self):
        self.last += 1
        return self.last

    def new_node(self, at):
        tag = self.tag()
        self.ops.node(tag, *at)
        return tag

    def zero_length(self, a, b, stiffness, natural, orient=()):
        ops, materials = self.ops, []
        for component, value in stiffness.items():
            material = self.tag()
            ops.uniaxialMaterial("Elastic", material, value)
            if natural.get(component):
                # OpenSees adds the initial strain to the reading: force = k (reading + strain).
                ops.uniaxialMaterial("InitStrainMaterial", self.tag(), material, -natural[component])
                material = self.last
            materials.append(material)
        turned = ("-orient", *orient) if len(orient) else ()
        directions = [component + 1 for component in stiffness]
        ops.element("zeroLength", self.tag(), a, b, "-mat", *materials, "-dir", *directions, *turned)

    def beam(self, beam):
        ops, frame = self.ops, self.frame
        x, y, _ = axes(frame, beam)
        ends = [n + 1 for n in beam["nodes"]]
        for end in (0, 1):
            if beam["springs"] and any(beam["springs"][end]):
                inner = self.new_node(frame["nodes"][beam["nodes"][end]])
                pair = (ends[0], inner) if end == 0 else (inner, ends[1])
                self.zero_length(*pair, dict(enumerate(beam["springs"][end])), {}, [*x, *y])
                ends[end] = inner
        transformation, tag = self.tag(), self.tag()
        arms = ("-jntOffset", *beam["offsets"][0], *beam["offsets"][1]) if beam["offsets"] else ()
        ops.geomTransf("Linear", transformation, *beam["depth"], *arms)
        A, E, G, J, Iy, Iz = (beam[k] for k in ("A", "E", "G", "J", "Iy", "Iz"))
        if beam["Ay"]:
            ops.element("ElasticTimoshenkoBeam", tag, *ends, E, G, A, J, Iy, Iz, beam["Ay"], beam["Az"], transformation)
        else:
            free = ("-releasez", 3, "-releasey", 3) if beam["pins"] else ()
            ops.element("elasticBeamColumn", tag, *ends, A, E, G, J, Iy, Iz, transformation, *free)
        return tag

    def load(self):
        ops, frame = self.ops, self.frame
        ops.timeSeries("Constant", 1)
        ops.pattern("Plain", 1, 1)
        for node, force in frame["forces"]:
            ops.load(node + 1, *force)
        for beam, load in frame["uniform"]:
            x, y, z = (float(np.dot(axis, load)) for axis in axes(frame, frame["beams"][beam]))
            ops.eleLoad("-ele", self.beam_tags[beam], "-type", "-beamUniform", y, z, x)

    def solve(self):
        ops = self.ops
        ops.constraints("Plain")
        ops.numberer("RCM")
        ops.system("UmfPack")
        ops.test("NormDispIncr", 1e-9, 10, 0)
        ops.algorithm("Newton")
        ops.integrator("LoadControl", 1.0)
        ops.analysis("Static", "-noWarnings")
        if ops.analyze(1) != 0:
            raise RuntimeError("OpenSees did not solve the frame")
        return [ops.nodeDisp(k + 1) for k in range(len(self.frame["nodes"]))]


def pynite(frame):
    if frame["links"] or any(b["offsets"] or b["springs"] or b["Ay"] for b in frame["beams"]):
        return None
    from Pynite import FEModel3D

    model = FEModel3D()
    for k, at in enumerate(frame["nodes"]):
        model.add_node(f"N{k}", *at)
    for k, beam in enumerate(frame["beams"]):
        E, G = beam["E"], beam["G"]
        model.add_material(f"M{k}", E, G, E / (2 * G) - 1, 0.0)
        model.add_section(f"S{k}", beam["A"], beam["Iy"], beam["Iz"], beam["J"])
        name = f"B{k}"
        model.add_member(name, *(f"N{n}" for n in beam["nodes"]), f"M{k}", f"S{k}")
        own = model.members[name].T()[:3, :3]
        y = axes(frame, beam)[1]
        model.members[name].rotation = degrees(atan2(np.dot(y, own[2]), np.dot(y, own[1])))
        assert np.allclose(model.members[name].T()[1, :3], y, atol=1e-9), "PyNite's axes are not turned as wanted"
        if beam["pins"]:
            model.def_releases(name, Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    for node, held in frame["held"]:
        model.def_support(f"N{node}", *held)
    for node, component, stiffness in frame["grounded"]:
        direction = ("D" if component < 3 else "R") + DIRECTIONS[component % 3]
        model.def_support_spring(f"N{node}", direction, stiffness)
    for node, force in frame["forces"]:
        for component, value in enumerate(force):
            if value:
                kind = "F" if component < 3 else "M"
                model.add_node_load(f"N{node}", kind + DIRECTIONS[component % 3], value)
    for beam, load in frame["uniform"]:
        for component, value in enumerate(load):
            if value:
                model.add_member_dist_load(f"B{beam}", "F" + DIRECTIONS[component], value, value)
    model.analyze_linear(log=False)
    combination = "Combo 1"
    nodes = (model.nodes[f"N{k}"] for k in range(len(frame["nodes"])))
    return [[float(getattr(n, f"{kind}{d}")[combination]) for kind in "DR" for d in DIRECTIONS] for n in nodes]


def main():
    frames = json.load(sys.stdin)
    # OpenSees greets on the file descriptors: keep the answer apart from that.
    answer = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    json.dump([{"opensees": OpenSees(f).solve(), "pynite": pynite(f)} for f in frames], answer)


if __name__ == "__main__":
    main()
