"""A row of marks laid out many times, from one end and from the centre, with every act a little off."""

import json
import sys

import numpy as np

question = json.load(sys.stdin)
marks = np.array(question["marks"])
mark, length_off, centre_off = question["mark"], question["length"], question["centre"]
frames = question["frames"]
dice = np.random.default_rng(20261128)


def build(draw):
    """Errors of each mark about the true middle of the member, from the end and from the centre."""
    cut = 2000.0 + draw(length_off, frames)
    middle = cut / 2
    at = np.zeros((frames, len(marks)))
    last, where = np.zeros(frames), -1000.0
    for k, one in enumerate(marks):
        last = last + (one - where) + draw(mark, frames)
        at[:, k], where = last, one
    from_end = at - middle[:, None] - marks
    found = middle + draw(centre_off, frames)
    at = np.zeros((frames, len(marks)))
    for side in (1, -1):
        last, where = found, 0.0
        for k in sorted((k for k in range(len(marks)) if marks[k] * side > 0), key=lambda k: abs(marks[k])):
            last = last + (marks[k] - where) + draw(mark, frames)
            at[:, k], where = last, marks[k]
    for k in np.flatnonzero(marks == 0):
        at[:, k] = found
    return from_end, at - middle[:, None] - marks


normal = build(lambda off, count: dice.normal(0, off / 2, count))
limits = build(lambda off, count: dice.choice([-off, off], count))
json.dump(
    {
        "from_end": list(2 * normal[0].std(axis=0)),
        "from_centre": list(2 * normal[1].std(axis=0)),
        "worst_from_end": list(np.abs(limits[0]).max(axis=0)),
        "worst_from_centre": list(np.abs(limits[1]).max(axis=0)),
    },
    sys.stdout,
)
