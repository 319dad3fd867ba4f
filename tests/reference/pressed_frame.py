"""A frame of square tubes pressed and let go, as thin walls that yield: what a general finite element program says.

Two rails along x with uprights and bars between them, all of square tube without corner radii, every joint welded all
round. A stiff beam lies along the top rail: the rail is pressed at two places and held back at two blocks, so the
forces are in balance on the rail itself. x = 0 and z = 0 are planes of symmetry; a quarter of the frame is modelled.

Reads a question from standard input (JSON, mm, N, MPa), writes an input deck, runs `ccx`, answers (JSON):

    {"width": 1000, "between": 600, "rail": [40, 3], "upright": [40, 3], "bar": [20, 2], "bars": [100, 300],
     "ends": 480, "blocks": 420, "presses": 140, "packing": 40, "youngs_modulus": 210000, "poisson_ratio": 0.3,
     "yield": 235, "hardening": 0.01, "forces": [9000, 11000]}

`width` is over the uprights, `between` from rail to rail (centre lines), `bars` are the centres at x > 0; `ends`, `blocks`
and `presses` are the distances from the middle of the ends that a bow is measured between, of the blocks and of the places
pressed. Each force (N, the whole frame) is
put on and taken off again, one after the other. The answer is {"loaded": [{"travel": .., "top": .., "bottom": ..}],
"released": [...]}: how far the middle of the top rail moved against the blocks, and how far the middle of each rail
moved against its ends, all as the press moves.

The walls are 20-node bricks, one through the wall: what CalculiX makes of shells before it solves them. With
`"linear": true` 8-node bricks with incompatible modes, quicker, to see what the mesh does.
"""

import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

LARGEST = 24.0  # longest edge along a member, mm
ACROSS = 9.0  # widest element across a wall, mm


def frame_boxes(q):
    """Members as (axis, centre across in x or y, size, wall, from, to)."""
    half, apart = q["width"] / 2, q["between"] / 2
    rail, thick = q["rail"]
    boxes = [("x", sign * apart, rail, thick, 0.0, half) for sign in (1, -1)]
    inner = apart - rail / 2
    size, wall = q["upright"]
    boxes.append(("y", half - size / 2, size, wall, -inner, inner))
    size, wall = q["bar"]
    boxes += [("y", x, size, wall, -inner, inner) for x in q["bars"]]
    return boxes


def lines(wanted, largest):
    """Grid lines through all wanted places, no further apart than `largest`."""
    places = sorted({round(w, 6) for w in wanted})
    grid = [places[0]]
    for low, high in zip(places, places[1:]):
        pieces = max(1, -(-(high - low) // largest))
        grid += [round(low + (high - low) * (k + 1) / pieces, 6) for k in range(int(pieces))]
    return grid


def grids(q, boxes):
    xs, ys, zs = {0.0}, set(), {0.0}
    for axis, centre, size, wall, low, high in boxes:
        across = [centre - size / 2, centre - size / 2 + wall, centre + size / 2 - wall, centre + size / 2]
        (ys if axis == "x" else xs).update(across)
        (xs if axis == "x" else ys).update([low, high])
        zs |= {size / 2 - wall, size / 2}
    xs.add(q["ends"])
    for middle in (q["presses"], q["blocks"]):
        xs |= {middle - q["packing"] / 2, middle + q["packing"] / 2}
    xs = {x for x in xs if x >= 0.0}
    return lines(xs, LARGEST), lines(ys, LARGEST), lines(zs, ACROSS)


def in_wall(box, x, y, z):
    axis, centre, size, wall, low, high = box
    along, beside = (x, y) if axis == "x" else (y, x)
    if not low < along < high:
        return False
    out = max(abs(beside - centre), abs(z))
    return size / 2 - wall < out < size / 2


def mesh(q):
    """Nodes by doubled grid index, and elements of eight corner and twelve side nodes."""
    boxes = frame_boxes(q)
    gx, gy, gz = grids(q, boxes)
    corners = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0), (0, 0, 2), (2, 0, 2), (2, 2, 2), (0, 2, 2)]
    sides = [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4), (0, 4), (1, 5), (2, 6), (3, 7)]
    middles = [tuple((p + r) // 2 for p, r in zip(corners[a], corners[b])) for a, b in sides]
    shape = corners if q.get("linear") else corners + middles
    elements = []
    for i, (x0, x1) in enumerate(zip(gx, gx[1:])):
        for j, (y0, y1) in enumerate(zip(gy, gy[1:])):
            for k, (z0, z1) in enumerate(zip(gz, gz[1:])):
                at = ((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2)
                if any(in_wall(box, *at) for box in boxes):
                    elements.append([(2 * i + a, 2 * j + b, 2 * k + c) for a, b, c in shape])

    def place(grid, index):
        low = grid[index // 2]
        return low if index % 2 == 0 else (low + grid[index // 2 + 1]) / 2

    used = sorted({key for element in elements for key in element})
    nodes = {key: (place(gx, key[0]), place(gy, key[1]), place(gz, key[2])) for key in used}
    return nodes, elements


def near(a, b):
    return abs(a - b) < 1e-6


def deck(q):
    nodes, elements = mesh(q)
    number = {key: n + 1 for n, key in enumerate(nodes)}
    half, apart = q["width"] / 2, q["between"] / 2
    rail, thick = q["rail"]
    sets = {name: [] for name in ("XSYM", "ZSYM", "HOLD", "PRESS", "BLOCK", "READ")}
    for key, (x, y, z) in nodes.items():
        n = number[key]
        if near(x, 0.0):
            sets["XSYM"].append(n)
        if near(z, 0.0):
            sets["ZSYM"].append(n)
    # Over the web, where a packing carries.
    web = [key for key, (x, y, z) in nodes.items() if z > rail / 2 - thick - 1e-6 and abs(y - apart) <= rail / 2 + 1e-6]
    for name, middle, face in (("PRESS", q["presses"], apart + rail / 2), ("BLOCK", q["blocks"], apart - rail / 2)):
        sets[name] = [
            number[key]
            for key in web
            if near(nodes[key][1], face) and abs(nodes[key][0] - middle) <= q["packing"] / 2 + 1e-6
        ]
    # One point is held in y: the forces are in balance.
    hold = min(nodes, key=lambda key: abs(nodes[key][0] - half) + abs(nodes[key][1] + apart) + abs(nodes[key][2]))
    sets["HOLD"] = [number[hold]]

    def on_line(x, y):
        """The corner node on the outside of the wall, at mid-depth of the rail."""
        return number[min(nodes, key=lambda k: abs(nodes[k][0] - x) + abs(nodes[k][1] - y) + abs(nodes[k][2] - rail / 2))]

    readings = {
        "top": (on_line(0.0, apart), on_line(q["ends"], apart)),
        "bottom": (on_line(0.0, -apart), on_line(q["ends"], -apart)),
        "travel": (on_line(0.0, apart), on_line(q["blocks"], apart)),
    }
    sets["READ"] = sorted({n for pair in readings.values() for n in pair})
    kind = "C3D8I" if q.get("linear") else "C3D20R"
    text = ["*NODE, NSET=ALL"]
    text += [f"{number[key]},{x:.9g},{y:.9g},{z:.9g}" for key, (x, y, z) in nodes.items()]
    text.append(f"*ELEMENT, TYPE={kind}, ELSET=METAL")
    for index, element in enumerate(elements):
        ids = [number[key] for key in element]
        if len(ids) == 8:
            text.append(",".join(map(str, [index + 1] + ids)))
        else:
            text += [",".join(map(str, [index + 1] + ids[:10])) + ",", ",".join(map(str, ids[10:]))]
    for name, members in sets.items():
        text.append(f"*NSET, NSET={name}")
        text += [",".join(map(str, members[k : k + 12])) for k in range(0, len(members), 12)]
    modulus, slope = q["youngs_modulus"], q["hardening"]
    rising = modulus * slope / (1 - slope)
    text += ["*MATERIAL, NAME=STEEL", "*ELASTIC", f"{modulus},{q['poisson_ratio']}"]
    text += ["*PLASTIC, HARDENING=KINEMATIC", f"{q['yield']},0", f"{q['yield'] + 0.2 * rising},0.2"]
    text += ["*SOLID SECTION, ELSET=METAL, MATERIAL=STEEL"]
    text += ["*BOUNDARY", "XSYM,1,1", "ZSYM,3,3", "HOLD,2,2"]
    for force in q["forces"]:
        for size in (force, 0.0):
            text += ["*STEP, INC=200", "*STATIC", "0.2,1.,1e-4,0.25" if size else "0.5,1.,1e-4,0.5", "*CLOAD, OP=NEW"]
            for name, sign in (("PRESS", -1.0), ("BLOCK", 1.0)):
                # A quarter of the frame carries a quarter of the force.
                each = sign * size / 4 / len(sets[name])
                text += [f"{n},2,{each:.9g}" for n in sets[name]]
            text += ["*NODE PRINT, NSET=READ, FREQUENCY=9999", "U", "*END STEP"]
    return "\n".join(text) + "\n", readings


def printed(text):
    """Displacements in y by node, one table a step, in order."""
    tables = []
    for line in text.splitlines():
        if line.strip().startswith("displacements"):
            tables.append({})
        words = line.split()
        if len(words) == 4 and tables:
            tables[-1][int(words[0])] = float(words[2])
    return tables


def main():
    question = json.load(sys.stdin)
    program = shutil.which("ccx") or sys.exit("ccx is not installed (Debian: calculix-ccx)")
    text, readings = deck(question)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "frame.inp").write_text(text)
        done = subprocess.run([program, "-i", "frame"], cwd=folder, capture_output=True, text=True)
        result = Path(folder) / "frame.dat"
        tables = printed(result.read_text()) if result.exists() else []
    if len(tables) != 2 * len(question["forces"]):
        sys.exit(f"ccx ended after {len(tables)} tables:\n{done.stdout[-3000:]}")
    answers = [{name: table[b] - table[a] for name, (a, b) in readings.items()} for table in tables]
    json.dump({"loaded": answers[::2], "released": answers[1::2]}, sys.stdout)


if __name__ == "__main__":
    main()
