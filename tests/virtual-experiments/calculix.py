"""The same mechanical run by CalculiX, as a check: writes its deck, runs it, reads how sections moved."""

import os
import re
import subprocess
import time

import numpy as np

from motion import Motion

CONTACT_STIFFNESS_N_PER_MM = 2e4  # per pair of nodes
TYPICAL_FORCE_N = 5.0  # residuals are judged against this, also while nothing is hot yet
TEMPERATURE_TOLERANCE_C = 0.5  # changes smaller than this are not written again


def solver_version():
    """For example 'CalculiX 2.20'."""
    out = subprocess.run(["ccx", "-v"], capture_output=True, text=True).stdout
    found = re.search(r"Version (\S+)", out)
    return f"CalculiX {found.group(1)}" if found else "CalculiX, version not told"


def solve(setup, steel, steps, folder):
    """Runs the deck in a folder. Returns {label: {station: Motion}}."""
    write_deck(setup, steel, steps, os.path.join(folder, "job.inp"))
    started = time.time()
    env = dict(os.environ, OMP_NUM_THREADS="1")
    run = subprocess.run(["nice", "-n", "19", "ccx", "job"], cwd=folder, env=env, capture_output=True, text=True)
    if "Job finished" not in run.stdout:
        tail = "\n".join((run.stdout + run.stderr).splitlines()[-15:])
        raise RuntimeError(f"the solver stopped after {time.time() - started:.0f} s:\n{tail}")
    labels = [step.label for step in steps]
    return read_motions(os.path.join(folder, "job.dat"), setup, labels)


def write_deck(setup, steel, steps, path):
    """The whole deck: mesh, ties, contacts, material, and one static step for each state of the history."""
    mesh = setup.mesh
    lines = ["*NODE,NSET=NALL"]
    lines += [f"{i},{x:.6f},{y:.6f},{z:.6f}" for i, (x, y, z) in enumerate(mesh.xyz, 1)]
    lines.append("*ELEMENT,TYPE=C3D8I,ELSET=EALL")
    lines += [f"{i}," + ",".join(map(str, brick + 1)) for i, brick in enumerate(mesh.bricks, 1)]
    lines += steel.deck() + ["*SOLID SECTION,ELSET=EALL,MATERIAL=STEEL"]
    contact_lines, ground = _contacts(setup)
    lines += contact_lines
    for filler, base in setup.ties:
        for axis in (1, 2, 3):
            lines += ["*EQUATION", "2", f"{filler + 1},{axis},1.,{base + 1},{axis},-1."]
    watched = np.unique(np.concatenate(list(setup.stations.values()))) + 1
    lines += ["*NSET,NSET=WATCHED"] + [f"{n}," for n in watched]
    lines += ["*INITIAL CONDITIONS,TYPE=TEMPERATURE"] + [f"{i},{t:.2f}" for i, t in enumerate(steps[0].temperature, 1)]
    lines += [f"{n},20." for n in ground]
    lines += ["*BOUNDARY"] + [f"{n},1,3" for n in ground] + _supports(setup.supports)
    written = steps[0].temperature.copy()
    for step in steps[1:]:
        lines += ["*STEP,INC=200", "*CONTROLS,PARAMETERS=TIME INCREMENTATION", "6,10,9,24,12,4,,6,,"]
        lines += ["*CONTROLS,PARAMETERS=FIELD", f"0.005,0.02,,{TYPICAL_FORCE_N}"]
        lines += ["*STATIC,SOLVER=SPOOLES", "1.,1.,1e-3,1."]
        if step.release:
            lines += ["*BOUNDARY,FIXED,OP=NEW"] + [f"{n},1,3" for n in ground] + _supports(setup.released)
        changed = np.flatnonzero(np.abs(step.temperature - written) > TEMPERATURE_TOLERANCE_C)
        if len(changed) or not step.release:
            lines += ["*TEMPERATURE"] + [f"{i + 1},{step.temperature[i]:.2f}" for i in (changed if len(changed) else [0])]
        written[changed] = step.temperature[changed]
        lines += ["*NODE PRINT,NSET=WATCHED,FREQUENCY=99999", "U", "*END STEP"]
    with open(path, "w") as out:
        out.write("\n".join(lines) + "\n")


def _contacts(setup):
    """Gap elements for the pairs of nodes that may touch, and the ground nodes made for them."""
    lines, ground = [], []
    element, node = len(setup.mesh.bricks), len(setup.mesh.xyz)
    for number, (lower, upper, direction, clearance) in enumerate(setup.contacts):
        if lower is None:
            lower = np.arange(node, node + len(upper))
            lines.append("*NODE")
            lines += [f"{n + 1},{x:.6f},{y:.6f},{z:.6f}" for n, (x, y, z) in zip(lower, setup.mesh.xyz[upper])]
            ground += [n + 1 for n in lower]
            node += len(upper)
        lines.append(f"*ELEMENT,TYPE=GAPUNI,ELSET=GAP{number}")
        lines += [f"{element + k},{a + 1},{b + 1}" for k, (a, b) in enumerate(zip(lower, upper), 1)]
        element += len(upper)
        x, y, z = direction
        lines += [f"*GAP,ELSET=GAP{number}", f"{clearance},{x},{y},{z},,{CONTACT_STIFFNESS_N_PER_MM},0.001"]
    return lines, ground


def _supports(supports):
    """Boundary lines of (nodes, directions)."""
    return [f"{n + 1},{axis},{axis}" for nodes, axes in supports for n in np.atleast_1d(nodes) for axis in axes]


def read_motions(path, setup, labels):
    """The motions of all stations at the end of every labelled step."""
    found = {}
    with open(path) as lines:
        for line in lines:
            if line.startswith(" displacements"):
                table = found.setdefault(float(line.split()[-1]), {})
            elif line.strip():
                words = line.split()
                table[int(words[0]) - 1] = [float(w) for w in words[1:4]]
    motions = {}
    for number, label in enumerate(labels):
        if label is None:
            continue
        moved = found[min(found, key=lambda t: abs(t - number))]
        stations = setup.stations.items()
        motions[label] = {k: Motion(setup.mesh.xyz[n], np.array([moved[i] for i in n])) for k, n in stations}
    return motions
