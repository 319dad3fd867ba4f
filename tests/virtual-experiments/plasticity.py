"""Stress of steel that yields: von Mises, isotropic hardening, return along the radius.

Source: Simo and Hughes, Computational Inelasticity, 1998, box 3.2. Strains and stresses are rows xx, yy, zz, xy, yz, zx; the
shears of strains are engineering shears.
"""

import numpy as np

from material import POISSON

#: The tangent, not the stress, is kept this share of the elastic one: flowing metal would make it singular.
LEAST_TANGENT = 1e-3
_IDENTITY = np.array([1.0, 1, 1, 0, 0, 0])
_DEVIATOR = np.diag([1.0, 1, 1, 0.5, 0.5, 0.5]) - np.outer(_IDENTITY, _IDENTITY) / 3
_TWICE_SHEAR = np.array([1.0, 1, 1, 2, 2, 2])


class Plasticity:
    """Stress and tangent at points with given temperatures and plastic history."""

    def __init__(self, steel, start):
        """`start` are the temperatures at which the points are free of strain."""
        self.steel, self.start = steel, steel.thermal_strain(start)
        self.plastic, self.worked = np.zeros((len(start), 6)), np.zeros(len(start))  # plastic strain and its length
        t, elastic, strength = (np.array(c) for c in zip(*steel.softening))
        strain, rise = zip(*(next((s, r) for up_to, s, r in steel.hardening if x <= up_to) for x in t))
        first = np.maximum(strength * steel.yield_mpa, 0.2)
        modulus, rise = np.maximum(elastic * steel.elastic_mpa, 1.0), first * np.array(rise)
        self.columns = t, modulus, first, rise / np.array(strain), first + rise

    def at(self, temperature):
        """Takes the properties for temperatures; `stress` goes by them."""
        t, *columns = self.columns
        modulus, self.first, self.slope, self.last = (np.interp(temperature, t, c) for c in columns)
        self.shear, self.bulk = modulus / (2 + 2 * POISSON), modulus / (3 - 6 * POISSON)
        self.free = self.steel.thermal_strain(temperature) - self.start

    def stress(self, strain):
        """Stress, tangent and the new plastic state for total strains since the start."""
        elastic = strain - self.plastic - self.free[:, None] * _IDENTITY
        pressure = self.bulk * elastic[:, :3].sum(1)
        deviator = 2 * self.shear[:, None] * (elastic @ _DEVIATOR)
        length = np.sqrt((deviator**2 @ _TWICE_SHEAR) + 1e-30)
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
        keep = 2 * self.shear * np.maximum(1 - shrink, LEAST_TANGENT)
        along = np.where(yields, 2 * self.shear * np.maximum(hard / (3 * self.shear + hard), LEAST_TANGENT), keep)
        turn = along - keep
        tangent = self.bulk[:, None, None] * np.outer(_IDENTITY, _IDENTITY) + keep[:, None, None] * _DEVIATOR
        tangent += turn[:, None, None] * normal[:, :, None] * normal[:, None, :]
        flow = normal * np.sqrt(1.5) * step[:, None] * _TWICE_SHEAR
        return stress, tangent, (self.plastic + flow, self.worked + step)
