"""The elastic-plastic run of the scripts' own: Newton with line search on eight-node bricks with incompatible modes.

It answers as CalculiX does (README, verification) in a quarter of the time, since it takes the steps of the history whole.
Plasticity: von Mises, isotropic hardening, return along the radius (Simo and Hughes, Computational Inelasticity, 1998, box
3.2). Bricks: incompatible modes after Taylor, Beresford and Wilson, Int. J. Numer. Meth. Engng 10 (1976) 1211.
"""

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from material import POISSON
from mechanics import Motion

_CORNERS = np.array([[-1, -1, -1], [1, -1, -1], [1, 1, -1], [-1, 1, -1], [-1, -1, 1], [1, -1, 1], [1, 1, 1], [-1, 1, 1]], float)
BEARING_N_PER_MM = 2e4  # stiffness of a pair of nodes that bear on each other
BEARING_ONSET_MM = 0.002  # it grows over this depth
TOLERANCE = 1e-3
LEAST_TANGENT = 1e-3
MAX_ITERATIONS = 30
MAX_SPLITS = 6
_IDENTITY = np.array([1.0, 1, 1, 0, 0, 0])
_DEVIATOR = np.diag([1.0, 1, 1, 0.5, 0.5, 0.5]) - np.outer(_IDENTITY, _IDENTITY) / 3  # on strains with engineering shear


class Bricks:
    """Strain matrices of all bricks: 24 columns for the nodes, 9 for the incompatible modes."""

    def __init__(self, corners):
        count = len(corners)
        self.matrix = np.zeros((count, 8, 6, 33))
        self.volume = np.zeros((count, 8))
        self.shape = np.zeros((8, 8))
        middle = np.einsum("ai,eaj->eij", _CORNERS / 8, corners)
        inverse0, volume0 = np.linalg.inv(middle), np.linalg.det(middle)
        for g, r in enumerate(_CORNERS / np.sqrt(3)):
            factors = 1 + _CORNERS * r
            self.shape[g] = factors.prod(1) / 8
            slope = np.stack([_CORNERS[:, i] * np.delete(factors, i, 1).prod(1) for i in range(3)], 1) / 8
            jacobian = np.einsum("ai,eaj->eij", slope, corners)
            self.volume[:, g] = np.linalg.det(jacobian)
            gradient = np.einsum("eij,aj->eai", np.linalg.inv(jacobian), slope)
            ratio = volume0 / self.volume[:, g]
            modes = np.einsum("eij,aj->eai", inverse0, np.diag(-2 * r)) * ratio[:, None, None]
            self.matrix[:, g] = _strain_matrix(np.concatenate([gradient, modes], axis=1))


def _strain_matrix(gradient):
    """Strains xx, yy, zz, xy, yz, zx (engineering shear) from the gradients of the shape functions."""
    count, functions, _ = gradient.shape
    matrix = np.zeros((count, 6, functions, 3))
    for row, (i, j) in enumerate(((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))):
        matrix[:, row, :, i] = gradient[:, :, j]
        if i != j:
            matrix[:, row, :, j] = gradient[:, :, i]
    return matrix.reshape(count, 6, functions * 3)


class Plasticity:
    """Stress and tangent at points with given temperatures and plastic history."""

    def __init__(self, steel, points):
        self.steel = steel
        self.plastic, self.worked = np.zeros((points, 6)), np.zeros(points)  # plastic strain and its length
        t, elastic, strength = (np.array(c) for c in zip(*steel.softening))
        strain, rise = zip(*(next((s, r) for up_to, s, r in steel.hardening if x <= up_to) for x in t))
        first = np.maximum(strength * steel.yield_mpa, 0.2)
        self.columns = t, np.maximum(elastic * steel.elastic_mpa, 1.0), first, first * np.array(rise) / np.array(strain), first * (1 + np.array(rise))

    def at(self, temperature):
        """Properties for a field of temperatures; call it before `stress`."""
        t, *columns = self.columns
        modulus, self.first, self.slope, self.last = (np.interp(temperature, t, c) for c in columns)
        self.shear, self.bulk = modulus / (2 + 2 * POISSON), modulus / (3 - 6 * POISSON)
        self.free = self.steel.thermal_strain(temperature)

    def stress(self, strain):
        """Stress, tangent and the new plastic state for total strains since the start."""
        elastic = strain - self.plastic - (self.free - self.start_free)[:, None] * _IDENTITY
        pressure = self.bulk * elastic[:, :3].sum(1)
        deviator = 2 * self.shear[:, None] * (elastic @ _DEVIATOR)
        length = np.sqrt((deviator**2 @ np.array([1, 1, 1, 2, 2, 2])) + 1e-30)
        trial = np.sqrt(1.5) * length
        now = np.minimum(self.first + self.slope * self.worked, self.last)
        hard = np.where(now < self.last, self.slope, 0.0)
        step = np.maximum(trial - now, 0) / (3 * self.shear + hard)
        over = now + hard * step > self.last
        step = np.where(over, np.maximum(trial - self.last, 0) / (3 * self.shear), step)
        hard = np.where(over, 0.0, hard)
        shrink, yields = 3 * self.shear * step / trial, step > 0
        normal = deviator / length[:, None]
        stress = pressure[:, None] * _IDENTITY + (1 - shrink)[:, None] * deviator
        # The tangent alone, not the stress, is kept a little above zero: flowing metal would make it singular.
        keep = 2 * self.shear * np.maximum(1 - shrink, LEAST_TANGENT)
        along = np.where(yields, 2 * self.shear * np.maximum(hard / (3 * self.shear + hard), LEAST_TANGENT), keep)
        turn = along - keep
        tangent = self.bulk[:, None, None] * np.outer(_IDENTITY, _IDENTITY) + keep[:, None, None] * _DEVIATOR
        tangent += turn[:, None, None] * normal[:, :, None] * normal[:, None, :]
        flow = normal * np.sqrt(1.5) * step[:, None] * np.array([1, 1, 1, 2, 2, 2])
        return stress, tangent, (self.plastic + flow, self.worked + step)


class Solid:
    """The state of a joint: displacements, incompatible modes and plastic strains."""

    def __init__(self, setup, steel, temperature):
        mesh = setup.mesh
        self.setup, self.mesh, self.count = setup, mesh, len(mesh.xyz)
        master = np.arange(self.count)
        master[setup.ties[:, 0]] = setup.ties[:, 1]
        self.master, self.conn = master, master[mesh.bricks]
        self.bricks = Bricks(mesh.xyz[mesh.bricks])
        self.rows = (3 * self.conn[:, :, None] + np.arange(3)).reshape(len(self.conn), 24)
        self.points = self.bricks.matrix.reshape(len(self.conn), 48, 33)
        self.u, self.modes = np.zeros(3 * self.count), np.zeros((len(self.conn), 9))
        self.law = Plasticity(steel, 8 * len(self.conn))
        self.temperature = temperature
        self.law.start_free = steel.thermal_strain(self._at_points(temperature))
        self._pattern()
        self.hold(setup.supports)

    def _at_points(self, nodal):
        """Temperatures at the integration points."""
        return (nodal[self.mesh.bricks] @ self.bricks.shape.T).ravel()

    def _pattern(self):
        """The places of all entries of the stiffness in a sparse matrix, bearing pairs included."""
        self.pairs = [(np.array(lower) if lower is not None else None, np.array(upper), np.array(n), c) for lower, upper, n, c in self.setup.contacts]
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
        weighted = stress.reshape(-1, 8, 6) * self.bricks.volume[:, :, None]
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
            push = np.where(soft, depth**2 / (2 * BEARING_ONSET_MM), np.maximum(depth - BEARING_ONSET_MM / 2, 0)) * BEARING_N_PER_MM
            stiff = np.where(soft, depth / BEARING_ONSET_MM, depth >= BEARING_ONSET_MM) * BEARING_N_PER_MM
            nodal -= np.bincount(dofs.ravel(), (push[:, None] * direction).ravel(), 3 * self.count)
            self.bearing.append(stiff[:, None, None] * np.outer(direction, direction))
        return nodal, force[:, 24:]

    def _condensed(self, inner):
        """Stiffness and residual with the incompatible modes taken out of every brick."""
        weighted = self.tangent.reshape(-1, 8, 6, 6) * self.bricks.volume[:, :, None, None]
        product = (weighted @ self.bricks.matrix).reshape(-1, 48, 33)
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
        u, modes = self.u.copy(), self.modes.copy()
        force, inner = self._forces(u, modes)
        for iteration in range(MAX_ITERATIONS):
            residual = -np.where(self.held, 0, force)
            inner_size = np.abs(inner).max() if iteration == 0 else inner_size
            reference = np.linalg.norm(self.scale) + 1.0
            if iteration and np.linalg.norm(residual) < TOLERANCE * reference and np.linalg.norm(inner) < TOLERANCE * reference:
                self.u, self.modes = u, modes
                return iteration
            extra = self._condensed(inner)
            right = np.where(self.held, 0, residual + extra)
            du = splu(self.matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}).solve(right)
            inverse, coupling = self.back
            dm = -(inverse @ (inner + (coupling @ du[self.rows][:, :, None])[:, :, 0])[:, :, None])[:, :, 0]
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
