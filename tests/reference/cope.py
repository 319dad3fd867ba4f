"""The end of a tube cut to another tube: where each line on its outside meets the other's surface, by bisection."""

import json
import sys

import numpy as np


def curve(radius, main, degrees, offset, points):
    angle = np.radians(degrees)
    axis = np.array([1.0, 0.0, 0.0])  # of the main tube
    along = np.array([np.cos(angle), 0.0, np.sin(angle)])
    side = np.array([0.0, 1.0, 0.0])
    across = np.cross(side, along)
    if across[0] > 0:
        across = -across  # towards the blunt side
    found = []
    for phi in np.linspace(0, 2 * np.pi, points + 1):
        start = offset * side + radius * (np.cos(phi) * across + np.sin(phi) * side)

        def outside(s):
            place = start + np.atleast_1d(s)[:, None] * along
            return np.linalg.norm(place - np.outer(place @ axis, axis), axis=1) - main

        # The first crossing from far away inwards.
        high = 5 * (main + radius)
        grid = np.linspace(high, -high, 40001)
        k = np.argmax(outside(grid) < 0)
        low, high = grid[k], grid[k - 1]
        for _ in range(60):
            middle = (low + high) / 2
            if outside(middle) < 0:
                low = middle
            else:
                high = middle
        found.append(low)
    found = np.array(found)
    return list(found - found.min())


question = json.load(sys.stdin)
json.dump([curve(one["radius"], one["main"], one["degrees"], one["offset"], one["points"]) for one in question], sys.stdout)
