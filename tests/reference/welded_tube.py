"""A square tube as a solid body, with strips of its walls shrinking: what a general finite element program says.

Reads a question from standard input (JSON, mm, N, MPa), writes an input deck, runs `ccx`, answers with the movement
of the tube's middle and end (JSON). Strips shrink along the tube by an eigenstrain, as the metal beside a weld does
once it is cold (inherent strain). Everything is elastic, at once.

    {"side": 40, "wall": 3, "outer_radius": 6, "length": 1000, "youngs_modulus": 210000, "poisson_ratio": 0.3,
     "strips": [{"face": "front" or "top", "from": 0, "to": 1000, "centre": 0, "width": 12, "force": 34400}]}

`force` is what the strip would pull with if its ends were held: E times eigenstrain times width times wall. `centre`
is across the face, from its middle. x runs along the tube, y to the top, z to the front. The answer is
{"bow_top", "bow_front", "shortening"}: how far the middle stands out to the top and to the front of the line between
the ends, and by how much the ends come together.
"""

import json
import math
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ALONG = 10.0  # length of an element along the tube, mm
CORNER = 1  # elements round a corner
LARGEST = 12.0  # widest element across a flat, mm
DIRECTIONS = {"front": 0, "top": 1, "back": 2, "bottom": 3}


def flat_cuts(half, strips):
    """Places across one flat where elements meet."""
    cuts = {-half, half}
    for strip in strips:
        cuts |= {strip["centre"] - strip["width"] / 2, strip["centre"] + strip["width"] / 2}
    cuts = sorted(cuts)
    if cuts[0] < -half or cuts[-1] > half:
        sys.exit("a strip must lie on the flat of its face")
    fine = [cuts[0]]
    for low, high in zip(cuts, cuts[1:]):
        pieces = max(1, math.ceil((high - low) / LARGEST))
        fine += [low + (high - low) * (k + 1) / pieces for k in range(pieces)]
    return fine


def perimeter(question):
    """Elements round the section: for each a function from (0..1 along it, 0..1 through the wall) to (y, z), its face
    and where on the face its middle lies."""
    half, radius, wall = question["side"] / 2, question["outer_radius"], question["wall"]
    centre = half - radius
    elements = []
    for face, number in DIRECTIONS.items():
        angle = number * math.pi / 2
        # Local axes of the face: outwards and, turning from front to top, along it.
        out, along = (math.sin(angle), math.cos(angle)), (math.cos(angle), -math.sin(angle))

        def place(outwards, sideways, out=out, along=along):
            return tuple(o * outwards + a * sideways for o, a in zip(out, along))

        cuts = flat_cuts(centre, [s for s in question["strips"] if s["face"] == face])
        for low, high in zip(cuts, cuts[1:]):
            elements.append(
                (
                    lambda s, t, low=low, high=high, place=place: place(half - wall * (1 - t), low + (high - low) * s),
                    face,
                    (low + high) / 2,
                )
            )
        for k in range(CORNER):

            def corner(s, t, k=k, place=place):
                turn = (k + s) / CORNER * math.pi / 2
                reach = radius - wall * (1 - t)
                return place(centre + reach * math.cos(turn), centre + reach * math.sin(turn))

            elements.append((corner, None, None))
    return elements


def mesh(question):
    """Nodes by half-grid index (round, through, along), and elements with their strip (or None)."""
    around = perimeter(question)
    lengths = round(question["length"] / ALONG)
    nodes, elements = {}, []
    count = 2 * len(around)
    for index, (place, _, _) in enumerate(around):
        for s in (0, 1):
            for t in (0, 1, 2):
                y, z = place(s / 2, t / 2)
                for k in range(2 * lengths + 1):
                    if (s % 2) + (t % 2) + (k % 2) <= 1:
                        nodes[(2 * index + s, t, k)] = (k * ALONG / 2, y, z)
    for index, (_, face, middle) in enumerate(around):
        for k in range(lengths):
            x = (k + 0.5) * ALONG
            strip = next(
                (
                    number
                    for number, strip in enumerate(question["strips"])
                    if strip["face"] == face
                    and strip["from"] < x < strip["to"]
                    and abs(middle - strip["centre"]) < strip["width"] / 2
                ),
                None,
            )
            i, j = 2 * index, 2 * k

            def at(a, b, c, i=i, j=j):
                return ((i + a) % count, b, j + c)

            corners = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0), (0, 0, 2), (2, 0, 2), (2, 2, 2), (0, 2, 2)]
            sides = [(0, 1), (1, 2), (2, 3), (3, 0), (4, 5), (5, 6), (6, 7), (7, 4), (0, 4), (1, 5), (2, 6), (3, 7)]
            middles = [tuple((p + q) // 2 for p, q in zip(corners[a], corners[b])) for a, b in sides]
            elements.append(([at(*c) for c in corners + middles], strip))
    return nodes, elements


def right_handed(nodes, element):
    """Whether the first edge, the second and the way along the tube follow the right hand."""
    a, b, d, e = (nodes[element[k]] for k in (0, 1, 3, 4))
    u, v, w = ([q - p for p, q in zip(a, other)] for other in (b, d, e))
    cross = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return sum(c * d for c, d in zip(cross, w)) > 0


# The same element seen from the other side: swaps the ends of the second direction.
MIRRORED = [3, 2, 1, 0, 7, 6, 5, 4, 10, 9, 8, 11, 14, 13, 12, 15, 19, 18, 17, 16]


def section_nodes(nodes, k):
    """All corner and middle nodes of the section at one place along the tube."""
    return [key for key in nodes if key[2] == k]


def deck(question):
    nodes, elements = mesh(question)
    number = {key: n + 1 for n, key in enumerate(nodes)}
    last = max(key[2] for key in nodes)
    lines = ["*NODE, NSET=ALL"]
    lines += [f"{number[key]},{x:.9g},{y:.9g},{z:.9g}" for key, (x, y, z) in nodes.items()]
    groups = {}
    for index, (keys, strip) in enumerate(elements):
        if not right_handed(nodes, keys):
            keys = [keys[m] for m in MIRRORED]
        groups.setdefault(strip, []).append((index + 1, [number[key] for key in keys]))
    for strip, members in groups.items():
        lines.append(f"*ELEMENT, TYPE=C3D20R, ELSET={name(strip)}")
        for index, ids in members:
            lines += [",".join(map(str, [index] + ids[:10])) + ",", ",".join(map(str, ids[10:]))]
    lines += ["*ORIENTATION, NAME=AXES", "1,0,0,0,1,0"]
    modulus, poisson = question["youngs_modulus"], question["poisson_ratio"]
    for strip in groups:
        shrinks = 0.0
        if strip is not None:
            found = question["strips"][strip]
            shrinks = found["force"] / (modulus * found["width"] * question["wall"])
        lines += [f"*MATERIAL, NAME={name(strip)}", "*ELASTIC", f"{modulus},{poisson}"]
        # One degree colder shortens the strip along the tube by its eigenstrain.
        lines += ["*EXPANSION, TYPE=ORTHO, ZERO=0", f"{shrinks:.12g},0,0"]
        lines.append(f"*SOLID SECTION, ELSET={name(strip)}, MATERIAL={name(strip)}, ORIENTATION=AXES")
    # Held just enough: a point in three directions, one at the far end in two, a third against turning.
    a, b = (0, 2, 0), (0, 2, last)
    c = max(section_nodes(nodes, 0), key=lambda key: math.dist(nodes[key], nodes[a]) if key[1] == 2 else 0)
    turn = 2 if abs(nodes[c][2] - nodes[a][2]) > abs(nodes[c][1] - nodes[a][1]) else 3
    lines += ["*BOUNDARY", f"{number[a]},1,3", f"{number[b]},2,3", f"{number[c]},{turn},{turn}"]
    lines += ["*INITIAL CONDITIONS, TYPE=TEMPERATURE", "ALL,0"]
    lines += ["*STEP", "*STATIC", "*TEMPERATURE", "ALL,-1"]
    for title, k in sections(last):
        lines += [f"*NSET, NSET={title}"] + [f"{number[key]}," for key in section_nodes(nodes, k)]
    for title, _ in sections(last):
        lines += [f"*NODE PRINT, NSET={title}", "U"]
    lines += ["*END STEP", ""]
    keys = {n: key for key, n in number.items()}
    return "\n".join(lines), nodes, keys, last


def name(strip):
    return "PLAIN" if strip is None else f"STRIP{strip}"


def sections(last):
    middle = last // 2 - last // 2 % 2
    return [("NSTART", 0), ("NMIDDLE", middle), ("NEND", last)]


def read(text, keys, last):
    """Mean movement of each section, over the nodes on the middle of its wall's corners."""
    moved = {}
    for line in text.splitlines():
        words = line.split()
        if len(words) == 4 and words[0].isdigit():
            key = keys[int(words[0])]
            moved[key] = tuple(map(float, words[1:]))
    means = []
    for _, k in sections(last):
        here = [move for key, move in moved.items() if key[2] == k]
        if not here:
            sys.exit("ccx printed no movements")
        means.append([sum(part) / len(here) for part in zip(*here)])
    return means


def main():
    program = shutil.which("ccx")
    if program is None:
        sys.exit("ccx is not installed (Debian package calculix-ccx): the comparison cannot be made")
    question = json.load(sys.stdin)
    text, _, keys, last = deck(question)
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "tube.inp").write_text(text)
        run = subprocess.run([program, "tube"], cwd=folder, capture_output=True, text=True)
        results = Path(folder, "tube.dat")
        if run.returncode != 0 or not results.exists():
            sys.exit(f"ccx failed:\n{run.stdout[-2000:]}\n{run.stderr[-2000:]}")
        start, middle, end = read(results.read_text(), keys, last)
    answer = {
        "bow_top": middle[1] - (start[1] + end[1]) / 2,
        "bow_front": middle[2] - (start[2] + end[2]) / 2,
        "shortening": start[0] - end[0],
    }
    json.dump(answer, sys.stdout)


main()
