"""Integration over eight-node bricks: shape functions, their gradients and volumes at the eight points of a brick."""

import numpy as np

_CORNERS = np.array([[-1, -1, -1], [1, -1, -1], [1, 1, -1], [-1, 1, -1], [-1, -1, 1], [1, -1, 1], [1, 1, 1], [-1, 1, 1]], float)
_POINTS = _CORNERS / np.sqrt(3)

#: value of each shape function (columns) at each point (rows)
SHAPE = (1 + _POINTS[:, None, :] * _CORNERS).prod(2) / 8


class Bricks:
    """Gradients of the shape functions and volumes at the points of many bricks, given as corners (brick, 8, 3)."""

    def __init__(self, corners):
        self.gradient = np.zeros((len(corners), 8, 8, 3))
        self.volume = np.zeros((len(corners), 8))
        for g, point in enumerate(_POINTS):
            jacobian = np.einsum("ai,eaj->eij", _slope(point), corners)
            self.volume[:, g] = np.linalg.det(jacobian)
            self.gradient[:, g] = np.einsum("eij,aj->eai", np.linalg.inv(jacobian), _slope(point))
        middle = np.einsum("ai,eaj->eij", _slope(np.zeros(3)), corners)
        self._inverse, self._volume = np.linalg.inv(middle), np.linalg.det(middle)

    def modes(self, g):
        """Gradients at one point of the three modes that let a brick bend (Taylor, Beresford and Wilson 1976)."""
        bend = np.diag(-2 * _POINTS[g])
        ratio = self._volume / self.volume[:, g]
        return np.einsum("eij,aj->eai", self._inverse, bend) * ratio[:, None, None]


def _slope(point):
    """Derivatives of the shape functions by the three coordinates of the unit brick."""
    factors = 1 + _CORNERS * point
    return np.stack([_CORNERS[:, i] * np.delete(factors, i, 1).prod(1) for i in range(3)], 1) / 8
