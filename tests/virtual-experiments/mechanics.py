"""The mechanical run: Newton with line search on bricks with incompatible modes, in small strain.

It takes the steps of a history whole and halves one only when it finds no equilibrium. CalculiX answers the same (README,
verification) but takes five times as long.
"""

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from bricks import SHAPE, Bricks
from motion import Motion
from plasticity import Plasticity

BEARING_N_PER_MM = 2e4  # stiffness of a pair of nodes that bear on each other
BEARING_ONSET_MM = 0.002  # it grows over this depth
TOLERANCE = 1e-4  # of the residual, against the forces of all bricks
MAX_ITERATIONS = 30
MAX_SPLITS = 6


def solve(setup, steel, steps):
    """Goes through the history. Returns {label: {station: Motion}} and the number of Newton iterations."""
    state = Solid(setup, steel, steps[0].temperature)
    motions, iterations = {}, 0
    for step in steps[1:]:
        if step.release:
            state.hold(setup.released)
        iterations += state.advance(step.temperature)
        if step.label:
            moved = state.u.reshape(-1, 3)[state.master]
            motions[step.label] = {k: Motion(setup.mesh.xyz[n], moved[n]) for k, n in setup.stations.items()}
    return motions, iterations


class Solid:
    """The state of a joint: displacements, incompatible modes and plastic strains."""

    def __init__(self, setup, steel, temperature):
        mesh = setup.mesh
        self.setup, self.mesh, self.count = setup, mesh, len(mesh.xyz)
        master = np.arange(self.count)
        master[setup.ties[:, 0]] = setup.ties[:, 1]
        self.master, self.conn = master, master[mesh.bricks]
        bricks = Bricks(mesh.xyz[mesh.bricks])
        self.volume = bricks.volume
        #: strains at the points: 24 columns for the nodes of a brick, 9 for its incompatible modes
        both = [np.concatenate([bricks.gradient[:, g], bricks.modes(g)], axis=1) for g in range(8)]
        self.matrix_at = np.stack([_strain_matrix(b) for b in both], axis=1)
        self.rows = (3 * self.conn[:, :, None] + np.arange(3)).reshape(len(self.conn), 24)
        self.points = self.matrix_at.reshape(len(self.conn), 48, 33)
        self.u, self.modes = np.zeros(3 * self.count), np.zeros((len(self.conn), 9))
        self.law = Plasticity(steel, self._at_points(temperature))
        self.temperature = temperature
        self._pattern()
        self.hold(setup.supports)

    def _at_points(self, nodal):
        """Temperatures at the integration points."""
        return (nodal[self.mesh.bricks] @ SHAPE.T).ravel()

    def _pattern(self):
        """The places of all entries of the stiffness in a sparse matrix, bearing pairs included."""
        self.pairs = [(lower, upper, np.array(normal), clearance) for lower, upper, normal, clearance in self.setup.contacts]
        i, j = [np.repeat(self.rows, 24, 1).ravel()], [np.tile(self.rows, (1, 24)).ravel()]
        for lower, upper, normal, _ in self.pairs:
            dofs = self._pair_dofs(lower, upper)
            i.append(np.repeat(dofs, dofs.shape[1], 1).ravel())
            j.append(np.tile(dofs, (1, dofs.shape[1])).ravel())
        size = 3 * self.count
        i, j = np.concatenate(i + [np.arange(size)]), np.concatenate(j + [np.arange(size)])
        keys = j.astype(np.int64) * size + i
        unique, self.slot = np.unique(keys, return_inverse=True)
        self.matrix = sp.csc_matrix(
            (np.zeros(len(unique)), unique % size, np.searchsorted(unique, np.arange(size + 1, dtype=np.int64) * size)),
            shape=(size, size),
        )

    def _pair_dofs(self, lower, upper):
        up = 3 * self.master[upper][:, None] + np.arange(3)
        return up if lower is None else np.concatenate([up, 3 * self.master[lower][:, None] + np.arange(3)], axis=1)

    def hold(self, supports):
        """Holds nodes where they are now, in the given directions. Tied and unused freedoms are held as well."""
        self.held = np.ones(3 * self.count, bool)
        self.held[np.unique(self.rows)] = False
        for nodes, axes in supports:
            for axis in axes:
                self.held[3 * self.master[np.atleast_1d(nodes)] + axis - 1] = True

    def _forces(self, u, modes):
        """Strains to stresses to forces on nodes and modes; keeps what the stiffness needs."""
        both = np.concatenate([u[self.rows], modes], axis=1)
        strain = (self.points @ both[:, :, None]).reshape(-1, 6)
        stress, tangent, self.trial = self.law.stress(strain)
        weighted = stress.reshape(-1, 8, 6) * self.volume[:, :, None]
        force = (weighted.reshape(-1, 1, 48) @ self.points)[:, 0]
        self.tangent = tangent
        nodal = np.bincount(self.rows.ravel(), force[:, :24].ravel(), 3 * self.count)
        self.scale = np.bincount(self.rows.ravel(), np.abs(force[:, :24]).ravel(), 3 * self.count)
        self.bearing = []
        for lower, upper, normal, clearance in self.pairs:
            dofs = self._pair_dofs(lower, upper)
            direction = normal if lower is None else np.concatenate([normal, -normal])
            depth = -(clearance + u[dofs] @ direction)
            soft = (depth > 0) & (depth < BEARING_ONSET_MM)
            firm = np.maximum(depth - BEARING_ONSET_MM / 2, 0)
            push = BEARING_N_PER_MM * np.where(soft, depth**2 / (2 * BEARING_ONSET_MM), firm)
            stiff = BEARING_N_PER_MM * np.where(soft, depth / BEARING_ONSET_MM, depth >= BEARING_ONSET_MM)
            nodal -= np.bincount(dofs.ravel(), (push[:, None] * direction).ravel(), 3 * self.count)
            self.bearing.append(stiff[:, None, None] * np.outer(direction, direction))
        return nodal, force[:, 24:]

    def _condensed(self, inner):
        """Stiffness and residual with the incompatible modes taken out of every brick."""
        weighted = self.tangent.reshape(-1, 8, 6, 6) * self.volume[:, :, None, None]
        product = (weighted @ self.matrix_at).reshape(-1, 48, 33)
        full = self.points.transpose(0, 2, 1) @ product
        inverse = np.linalg.inv(full[:, 24:, 24:])
        carry = full[:, :24, 24:] @ inverse
        self.back = inverse, full[:, 24:, :24]
        extra = np.bincount(self.rows.ravel(), (carry @ inner[:, :, None]).ravel(), 3 * self.count)
        values = [(full[:, :24, :24] - carry @ full[:, 24:, :24]).ravel()] + [b.ravel() for b in self.bearing]
        big = np.where(self.held, 1e12, 1e-3)
        self.matrix.data = np.bincount(self.slot, np.concatenate(values + [big]), self.matrix.nnz)
        return extra

    def advance(self, temperature, splits=0):
        """Goes to new temperatures; halves the step when Newton does not get there. Returns the iterations used."""
        self.law.at(self._at_points(temperature))
        used = self._newton()
        if used is None:
            if splits == MAX_SPLITS:
                raise RuntimeError("no equilibrium found, however small the step")
            middle = (self.temperature + temperature) / 2
            return MAX_ITERATIONS + self.advance(middle, splits + 1) + self.advance(temperature, splits + 1)
        self.law.plastic, self.law.worked = self.trial
        self.temperature = temperature
        return used

    def _newton(self):
        """Iterates to equilibrium and takes it over; returns the number of iterations, or None without success."""
        u, modes = self.u.copy(), self.modes.copy()
        force, inner = self._forces(u, modes)
        for iteration in range(MAX_ITERATIONS):
            residual = -np.where(self.held, 0, force)
            allowed = TOLERANCE * (np.linalg.norm(self.scale) + 1.0)
            if iteration and max(np.linalg.norm(residual), np.linalg.norm(inner)) < allowed:
                self.u, self.modes = u, modes
                return iteration
            extra = self._condensed(inner)
            right = np.where(self.held, 0, residual + extra)
            factors = splu(self.matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
            du = factors.solve(right)
            inverse, coupling = self.back
            pull = inner + (coupling @ du[self.rows][:, :, None])[:, :, 0]
            dm = -(inverse @ pull[:, :, None])[:, :, 0]
            u, modes, force, inner = self._search(u, modes, du, dm, residual, inner)
        return None

    def _search(self, u, modes, du, dm, residual, inner):
        """Shortens the step while the work of the residual along it has not come down."""
        start = residual @ du - (inner * dm).sum()
        share, low, high = 1.0, (0.0, start), None
        for _ in range(6):
            force, within = self._forces(u + share * du, modes + share * dm)
            work = -np.where(self.held, 0, force) @ du - (within * dm).sum()
            if abs(work) <= 0.7 * abs(start):
                break
            if work * start > 0:
                if share >= 1.0:
                    break
                low = (share, work)
            else:
                high = (share, work)
            if high is None:
                share = min(1.0, 2 * share)
                continue
            guess = low[0] + (high[0] - low[0]) * low[1] / (low[1] - high[1])
            share = float(np.clip(guess, low[0] + 0.15 * (high[0] - low[0]), high[0] - 0.15 * (high[0] - low[0])))
        return u + share * du, modes + share * dm, force, within


def _strain_matrix(gradient):
    """Rows of strains from the displacements of functions with these gradients (brick, function, direction)."""
    count, functions, _ = gradient.shape
    matrix = np.zeros((count, 6, functions, 3))
    for row, (i, j) in enumerate(((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))):
        matrix[:, row, :, i] = gradient[:, :, j]
        matrix[:, row, :, j] = gradient[:, :, i]
    return matrix.reshape(count, 6, functions * 3)
