"""How a section of a member moved."""

import numpy as np


class Motion:
    """The rigid motion that fits the nodes of a section best: displacement of its centre (mm) and small rotations (rad)."""

    def __init__(self, points, displacements):
        self.centre = points.mean(0)
        arm = points - self.centre
        moved = displacements - displacements.mean(0)
        rows = np.zeros((len(points), 3, 3))  # rotation cross arm, written as rows times rotation
        rows[:, 0, 1], rows[:, 0, 2] = arm[:, 2], -arm[:, 1]
        rows[:, 1, 0], rows[:, 1, 2] = -arm[:, 2], arm[:, 0]
        rows[:, 2, 0], rows[:, 2, 1] = arm[:, 1], -arm[:, 0]
        self.rotation = np.linalg.lstsq(rows.reshape(-1, 3), moved.ravel(), rcond=None)[0]
        self.displacement = displacements.mean(0)
        self.displacements = displacements

    def at(self, point):
        """The displacement of a point that moves with the section."""
        return self.displacement + np.cross(self.rotation, np.asarray(point, float) - self.centre)
