"""The largest frame in an opening by scipy's linear program, built from the raw places on the walls."""

import json
import sys

from scipy.optimize import linprog

LIMIT = 0.01  # greatest lean and run


def largest(problem):
    groups = problem["groups"]
    count = max(groups) + 1
    # Unknowns: width, height, lean, run, then left and lower of each group.
    unknowns = 4 + 2 * count
    rows, right = [], []

    def at_most(terms, bound):
        row = [0.0] * unknowns
        for index, weight in terms:
            row[index] += weight
        rows.append(row)
        right.append(bound)

    c = problem["clearance"]
    for side, depth, along, at in problem["stations"]:
        left = 4 + 2 * groups[depth]
        lower = left + 1
        if side == "left wall":
            at_most([(left, -1), (2, -along)], -(at + c))
        elif side == "right wall":
            at_most([(left, 1), (0, 1), (2, along)], at - c)
        elif side == "floor":
            at_most([(lower, -1), (3, -along)], -(at + (0 if problem["on_floor"] else c)))
        else:
            at_most([(lower, 1), (1, 1), (3, along)], at - c)
    shape = problem["shape"]
    lean = (0, 0) if shape == "plumb" else (-LIMIT, LIMIT)
    run = (-LIMIT, LIMIT) if shape == "turned" else (0, 0)
    equal = [[0, 0, 1, 1] + [0] * (2 * count)] if shape == "turned" else None
    found = linprog(
        [-1 / problem["wide"], -1 / problem["high"]] + [0] * (2 + 2 * count),
        A_ub=rows,
        b_ub=right,
        A_eq=equal,
        b_eq=[0] if equal else None,
        bounds=[(0, None), (0, None), lean, run] + [(None, None)] * (2 * count),
        method="highs",
    )
    return {"width": found.x[0], "height": found.x[1], "score": -found.fun}


json.dump([largest(one) for one in json.load(sys.stdin)], sys.stdout)
