"""Times the frame of 102 members in OpenSees and PyNite and puts it beside `cargo bench --bench structure`.

Run with the Python of `requirements.txt`, from anywhere in the repository, on a quiet machine:
    target/reference-venv/bin/python tests/reference/bench_frame.py
What is timed: the frame is described, nothing is factorised; then number, assemble, factorise and solve one load case.
The time to describe the frame (Python's, in the first two) is left out. The least of several runs is taken for each.
"""

import json
import os
import subprocess
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
COUNTS, SPACING, SIDE, E = (5, 4, 3), (800.0, 700.0, 900.0), 40.0, 210000.0
G, A, I, J = E / 2.6, SIDE**2, SIDE**4 / 12, 0.1406 * SIDE**4


def frame():
    """The generator of host-tool/engine/benches/structure.rs, node for node."""
    nodes, beams = [], []
    for k in range(60):
        at = (k % 5, k // 5 % 4, k // 20)
        nodes.append([at[i] * SPACING[i] for i in range(3)])

    def joint(at):
        return (at[2] * 4 + at[1]) * 5 + at[0]

    def member(start, axis, pieces):
        end = list(start)
        end[axis] += 1
        a, b = joint(start), joint(end)
        last = a
        for piece in range(1, pieces + 1):
            following = b
            if piece < pieces:
                t = piece / pieces
                nodes.append([nodes[a][i] + t * (nodes[b][i] - nodes[a][i]) for i in range(3)])
                following = len(nodes) - 1
            beams.append((last, following, axis == 2))
            last = following

    for k in range(3):
        for j in range(4):
            for i in range(5):
                if k > 0 and i < 4:
                    member((i, j, k), 0, 2)
                if k > 0 and j < 3:
                    member((i, j, k), 1, 2)
                if k < 2:
                    member((i, j, k), 2, 3)
    assert (len(beams), len(nodes)) == (244, 202)
    loads = [(20 + 7 * n, (300.0 - 90.0 * n, 50.0 * n, -200.0 - 10.0 * n, 1e4, 2e3 * n, -3e3)) for n in range(6)]
    return nodes, beams, loads


def opensees(system, nodes, beams, loads):
    import openseespy.opensees as ops

    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for k, at in enumerate(nodes):
        ops.node(k + 1, *at)
    for k in range(20):
        ops.fix(k + 1, 1, 1, 1, 1, 1, 1)
    ops.geomTransf("Linear", 1, 0, 0, 1)
    ops.geomTransf("Linear", 2, 1, 0, 0)
    for k, (a, b, upright) in enumerate(beams):
        ops.element("elasticBeamColumn", k + 1, a + 1, b + 1, A, E, G, J, I, I, 2 if upright else 1)
    ops.timeSeries("Constant", 1)
    ops.pattern("Plain", 1, 1)
    for node, force in loads:
        ops.load(node + 1, *force)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system(system)
    ops.algorithm("Linear")
    ops.integrator("LoadControl", 1.0)
    ops.analysis("Static", "-noWarnings")
    start = time.perf_counter()
    assert ops.analyze(1) == 0
    return time.perf_counter() - start, ops.nodeDisp(60)[0]


def pynite(nodes, beams, loads):
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("steel", E, G, 0.3, 0.0)
    model.add_section("bar", A, I, I, J)
    for k, at in enumerate(nodes):
        model.add_node(f"N{k}", *at)
    for k, (a, b, _) in enumerate(beams):
        model.add_member(f"B{k}", f"N{a}", f"N{b}", "steel", "bar")
    for k in range(20):
        model.def_support(f"N{k}", True, True, True, True, True, True)
    for node, force in loads:
        for direction, value in zip(("FX", "FY", "FZ", "MX", "MY", "MZ"), force):
            model.add_node_load(f"N{node}", direction, value)
    start = time.perf_counter()
    model.analyze_linear(log=False, sparse=True)
    return time.perf_counter() - start, float(model.nodes["N59"].DX["Combo 1"])


def ours():
    command = ["cargo", "bench", "-p", "coldsquare", "--bench", "structure", "--", "--noplot"]
    subprocess.run([*command, "102/prepare and solve"], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    folder = target / "criterion" / "frame 102_prepare and solve" / "new"
    sample = json.loads((folder / "sample.json").read_text())
    return min(t / n for t, n in zip(sample["times"], sample["iters"])) * 1e-9


def least(runs, solve):
    results = [solve() for _ in range(runs)]
    return min(r[0] for r in results), results[0][1]


def main():
    question = frame()
    rows = {"coldsquare": (ours(), None)}
    for system in ("SparseSYM", "BandSPD", "ProfileSPD", "UmfPack"):
        rows[f"OpenSees {system}"] = least(15, lambda s=system: opensees(s, *question))
    rows["PyNite sparse"] = least(5, lambda: pynite(*question))
    own = rows["coldsquare"][0]
    print(f"{'frame of 102 members, 1092 unknowns':<38}{'ms':>9}{'times ours':>12}  x of node 59, mm")
    for name, (seconds, moved) in rows.items():
        shown = "" if moved is None else f"{moved:.12f}"
        print(f"{name:<38}{seconds * 1e3:>9.3f}{seconds / own:>12.1f}  {shown}")


if __name__ == "__main__":
    main()
