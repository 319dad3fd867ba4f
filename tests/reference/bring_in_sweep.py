"""Whether a box goes into a channel, by brute force: every pose of a grid of tilts, ways in and heights is tested for
contact with sampled outlines, and poses that touch nothing are joined with their neighbours."""

import json
import sys

import numpy as np
from scipy.ndimage import label


def outlines(height, depth, tilt, z):
    """Lowest and highest point of the tilted box at each z from its innermost corner inwards (z <= 0)."""
    a, b = np.array([0.0, 0.0]), np.array([height, 0.0])
    corners = np.array([[0, 0], [0, depth], [height, depth], [height, 0]], float)
    turned = np.stack([corners[:, 1] * np.cos(tilt) - corners[:, 0] * np.sin(tilt), corners[:, 0] * np.cos(tilt) + corners[:, 1] * np.sin(tilt)], 1)
    turned[:, 0] -= turned[:, 0].max()
    middle = turned[:, 1].mean()
    turned[:, 1] -= middle
    edge = []
    for k in range(4):
        p, q = turned[k], turned[(k + 1) % 4]
        share = np.linspace(0, 1, 3000)[:, None]
        edge.append(p + share * (q - p))
    edge = np.concatenate(edge)
    low = np.full(len(z), np.inf)
    high = np.full(len(z), -np.inf)
    index = np.clip(np.round((edge[:, 0] - z[0]) / (z[1] - z[0])).astype(int), 0, len(z) - 1)
    np.minimum.at(low, index, edge[:, 1])
    np.maximum.at(high, index, edge[:, 1])
    return low, high


def goes(channel, height, depth, floor_outside):
    channel = np.array(channel)
    end = channel[-1, 0]
    fine = 0.5
    z_in = np.arange(0, end + fine / 2, fine)
    floor = np.interp(z_in, channel[:, 0], channel[:, 1])
    top = np.interp(z_in, channel[:, 0], channel[:, 2])
    steep = np.arange(15.5, 75.1, 0.5)
    tilts = np.radians(np.concatenate([-steep[::-1], np.arange(-15, 15.01, 0.1), steep]))
    ways = np.arange(0, end + 1, 2.0)
    lowest, highest = channel[:, 1].min(), channel[:, 2].max()
    heights = np.arange(lowest, highest, 1.0)
    free = np.zeros((len(tilts), len(ways), len(heights)), bool)
    z_box = np.arange(-(height + depth) - fine, fine / 2, fine)
    for i, tilt in enumerate(tilts):
        low, high = outlines(height, depth, tilt, z_box)
        for j, way in enumerate(ways):
            shift = int(round(way / fine))
            count = min(shift + 1, len(z_in))
            # The box from z = 0 to its innermost corner at `way`.
            part = slice(len(z_box) - count, len(z_box))
            under, over = low[part], high[part]
            up = np.max(floor[:count] - under) if way > 0 else -np.inf
            down = np.min(top[:count] - over) if way > 0 else np.inf
            if floor_outside and way > 0 and count < len(z_box):
                up = max(up, floor[0] - low[: len(z_box) - count].min())
            free[i, j] = (heights >= up) & (heights <= down)
    free[:, 0, :] = True
    names, _ = label(free, structure=np.ones((3, 3, 3)))
    straight = np.argmin(np.abs(tilts))
    inside = set(names[straight, -1][free[straight, -1]])
    outside = set(names[:, 0].ravel())
    return bool((inside & outside) - {0})


question = json.load(sys.stdin)
json.dump([goes(one["channel"], one["height"], one["depth"], one["floor_outside"]) for one in question], sys.stdout)
