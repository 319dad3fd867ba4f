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
            place = start + s * along
            return np.linalg.norm(place - place.dot(axis) * axis) - main

        high = 20 * (main + radius)
        # The last crossing from far away inwards.
        grid = np.linspace(high, -high, 20001)
        signs = np.array([outside(s) for s in grid[::50]])
        k = np.argmax(signs < 0)
        low, high = grid[::50][k], grid[::50][k - 1]
        for _ in range(80):
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
