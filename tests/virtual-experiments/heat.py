"""Transient conduction with enthalpy on the bricks of a mesh: implicit, sparse, with a moving source.

Heat flows over places (points), not nodes: where filler touches steel both share a place. A brick takes part once it is
switched on, so heat does not cross a seam before its filler is laid.
"""

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import cg

from bricks import SHAPE, Bricks

AMBIENT_C = 20.0
FILM_MW_PER_MM2_K = 0.02  # still air and radiation, 20 W/(m² K): common practice, no source
_FACES = np.array([[0, 1, 2, 3], [4, 7, 6, 5], [0, 4, 5, 1], [1, 5, 6, 2], [2, 6, 7, 3], [3, 7, 4, 0]])


class Heat:
    """The temperature field of a mesh in time."""

    def __init__(self, mesh, steel, off=(), insulated=lambda points: False):
        """`off` names the parts not laid yet; `insulated` picks faces without loss (planes of symmetry)."""
        self.mesh, self.steel, self.insulated = mesh, steel, insulated
        self.conn = mesh.place_of_node[mesh.bricks]
        corners = mesh.xyz[mesh.bricks]
        bricks = Bricks(corners)
        self.point, self.point_volume = np.einsum("ga,eai->egi", SHAPE, corners), bricks.volume
        self.unit = np.einsum("egai,egbi,eg->eab", bricks.gradient, bricks.gradient, bricks.volume, optimize=True)
        self.table = steel.enthalpy_table()
        self.temperature = np.full(mesh.places, AMBIENT_C)
        self.enthalpy = np.zeros(mesh.places)
        self.energy_in = self.energy_lost = 0.0
        rows = np.repeat(self.conn, 8, axis=1).ravel()
        cols = np.tile(self.conn, (1, 8)).ravel()
        pattern = sp.csr_matrix((np.ones(len(rows)), (rows, cols)), shape=(mesh.places,) * 2)
        pattern.sort_indices()
        keys = np.repeat(np.arange(mesh.places), np.diff(pattern.indptr)) * mesh.places + pattern.indices
        self._slot = np.searchsorted(keys, rows.astype(np.int64) * mesh.places + cols)
        self._matrix = pattern
        self._diagonal = np.searchsorted(keys, np.arange(mesh.places) * (mesh.places + 1))
        self.on = ~np.isin(mesh.part_of_brick, list(off))
        self._renew()

    def switch_on(self, part):
        """Filler of a weld begins to take part."""
        self.on |= self.mesh.part_of_brick == part
        self._renew()

    def _renew(self):
        """Lumped volume and free surface of every place for the bricks that are on."""
        share = np.einsum("eg,ga->ea", self.point_volume, SHAPE) * self.on[:, None]
        self.volume = np.bincount(self.conn.ravel(), share.ravel(), self.mesh.places)
        faces = self.conn[self.on][:, _FACES].reshape(-1, 4)
        _, first, count = np.unique(np.sort(faces, axis=1), axis=0, return_index=True, return_counts=True)
        where = np.zeros((self.mesh.places, 3))
        where[self.mesh.place_of_node] = self.mesh.xyz
        self.surface = np.zeros(self.mesh.places)
        for face in faces[first[count == 1]]:
            p = where[face]
            if not self.insulated(p):
                self.surface[face] += np.linalg.norm(np.cross(p[2] - p[0], p[3] - p[1])) / 8

    def source(self, centre, radius, power_mw):
        """Nodal power of a torch: a ball of Gaussian density about a point, within the bricks that are on."""
        density = np.exp(-3 * ((self.point - centre) ** 2).sum(2) / radius**2) * self.point_volume * self.on[:, None]
        density *= power_mw / density.sum()
        return np.bincount(self.conn.ravel(), (density @ SHAPE).ravel(), self.mesh.places)

    def advance(self, step_s, power=None, film=FILM_MW_PER_MM2_K):
        """One implicit step: Newton on the temperatures, with the enthalpy kept exactly."""
        power = np.zeros(self.mesh.places) if power is None else power
        mass = np.maximum(self.volume, 1e-6) / step_s
        loss = film * self.surface
        temperature = self.temperature.copy()
        unit_on = self.unit * self.on[:, None, None]
        flat = unit_on.reshape(len(unit_on), 64)
        for _ in range(25):
            k = self.steel.conductivity(temperature[self.conn].mean(1))
            self._matrix.data = np.bincount(self._slot, (flat * k[:, None]).ravel(), self._matrix.nnz)
            enthalpy, slope = self._enthalpy(temperature)
            residual = power - loss * (temperature - AMBIENT_C) - self._matrix @ temperature - mass * (enthalpy - self.enthalpy)
            if np.abs(residual).sum() < 1e-4 * (np.abs(power).sum() + 1e-3 * mass.sum()):
                break
            self._matrix.data[self._diagonal] += mass * slope + loss
            inverse = sp.diags(1 / self._matrix.data[self._diagonal])
            change, _ = cg(self._matrix, residual, rtol=1e-5, maxiter=400, M=inverse)
            temperature += np.clip(change, -400, 400)
        self.energy_in += power.sum() * step_s
        self.energy_lost += (loss * (temperature - AMBIENT_C)).sum() * step_s
        self.temperature, self.enthalpy = temperature, self._enthalpy(temperature)[0]

    def _enthalpy(self, temperature):
        """Enthalpy per volume and its slope."""
        t, h = self.table
        at = np.clip(np.searchsorted(t, temperature) - 1, 0, len(t) - 2)
        slope = (h[at + 1] - h[at]) / (t[at + 1] - t[at])
        return h[at] + slope * (temperature - t[at]), slope

    def energy_error(self):
        """Heat stored and lost against heat put in, as a fraction of the heat put in."""
        stored = (self.enthalpy * self.volume).sum()
        return (stored + self.energy_lost) / self.energy_in - 1

    def quench(self):
        """Brings everything back to 20 °C at once: allowed when no place is warm enough to yield."""
        self.energy_lost += (self.enthalpy * self.volume).sum()
        self.temperature[:] = AMBIENT_C
        self.enthalpy[:] = 0
