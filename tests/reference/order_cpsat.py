"""The best order of welding by a general constraint solver (OR-Tools CP-SAT).

Question: {"cases": [{"moments": [[x, y, ...], ...], "before": [[first, then], ...]}, ...]}
Answer: {"peaks": [least possible greatest |component| of any prefix sum, or null when it was not proved], ...}

The largest component instead of the length keeps the question linear, which is what the solver is made for.
"""

import json
import sys

from ortools.sat.python import cp_model

LIMIT_S = 6.0


def least_peak(moments, before):
    n = len(moments)
    model = cp_model.CpModel()
    # at[i][p]: weld i stands at place p.
    at = [[model.NewBoolVar("") for _ in range(n)] for _ in range(n)]
    for i in range(n):
        model.AddExactlyOne(at[i])
        model.AddExactlyOne(at[j][i] for j in range(n))
    places = [sum(p * at[i][p] for p in range(n)) for i in range(n)]
    for first, then in before:
        model.Add(places[first] < places[then])
    peak = model.NewIntVar(0, sum(abs(c) for m in moments for c in m), "peak")
    for k in range(len(moments[0])):
        total = 0
        for p in range(n):
            total = total + sum(moments[i][k] * at[i][p] for i in range(n))
            model.Add(total <= peak)
            model.Add(-total <= peak)
    model.Minimize(peak)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = LIMIT_S
    status = solver.Solve(model)
    return int(solver.ObjectiveValue()) if status == cp_model.OPTIMAL else None


question = json.load(sys.stdin)
print(json.dumps({"peaks": [least_peak(c["moments"], c["before"]) for c in question["cases"]]}))
