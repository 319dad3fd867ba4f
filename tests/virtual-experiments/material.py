"""Properties of the steels against temperature.

Units here and in every other module: tonne, mm, s, N, mJ, degrees Celsius. The source of each property stands beside it;
the README lists them in one table.
"""

from dataclasses import dataclass

import numpy as np

#: Above this temperature the steel has no strength worth counting and its thermal strain no longer grows.
SOFT_C = 1200.0
#: Hotter steel is taken to be this hot in the mechanical run; nothing changes beyond.
LIQUID_C = 1700.0
#: The temperature given to filler that has not been laid yet: in the tables below it has next to no stiffness. (CalculiX
#: 2.20 gets the thermal strain wrong when a node begins above 2100 °C.)
ABSENT_C = 1900.0

DENSITY_T_PER_MM3 = 7.85e-9
LATENT_HEAT_MJ_PER_T = 270e6  # 270 kJ/kg; value from memory, spread evenly over the melting range
POISSON = 0.3


@dataclass(frozen=True)
class Steel:
    """One steel: tables for the mechanical run, functions for the thermal one."""

    name: str
    yield_mpa: float
    #: modulus at 20 °C
    elastic_mpa: float
    #: (°C, fraction of the modulus at 20 °C, fraction of the yield at 20 °C)
    softening: tuple
    #: (up to °C, plastic strain at the end of hardening, rise of the stress by then as a fraction of the yield)
    hardening: tuple
    #: (solidus, liquidus) in °C
    melting_c: tuple
    stainless: bool

    def thermal_strain(self, temperature_c):
        """Free strain on heating from 20 °C, dimensionless."""
        t = np.minimum(np.asarray(temperature_c, float), SOFT_C)
        if self.stainless:  # EN 1993-1-2:2005, annex C, C.3.1
            elongation = lambda t: (16 + 4.79e-3 * t - 1.243e-6 * t**2) * t * 1e-6
            return elongation(t) - elongation(20.0)
        low = 1.2e-5 * t + 0.4e-8 * t**2 - 2.416e-4  # EN 1993-1-2:2005, 3.4.1.1
        return np.where(t <= 750, low, np.where(t <= 860, 1.1e-2, 2e-5 * t - 6.2e-3))

    def conductivity(self, temperature_c):
        """Thermal conductivity in mW/(mm K), which is W/(m K)."""
        t = np.asarray(temperature_c, float)
        solidus, liquidus = self.melting_c
        if self.stainless:  # annex C, C.3.3
            solid = 14.6 + 1.27e-2 * np.minimum(t, solidus)
        else:  # 3.4.1.3
            solid = np.where(t < 800, 54 - 3.33e-2 * t, 27.3)
        # The stirring of the pool carries heat as if its conductivity were about doubled: common practice, no source.
        return solid * (1 + np.clip((t - solidus) / (liquidus - solidus), 0, 1))

    def specific_heat(self, temperature_c):
        """Specific heat without latent heat, in mJ/(t K), which is 1e-6 times J/(kg K)."""
        t = np.asarray(temperature_c, float)
        if self.stainless:  # annex C, C.3.2
            t = np.minimum(t, 1200)
            return (450 + 0.280 * t - 2.91e-4 * t**2 + 1.34e-7 * t**3) * 1e6
        c = np.full_like(t, 650.0)  # 3.4.1.2
        c = np.where(t < 900, 545 + 17820 / (np.where(t == 731, 732, t) - 731), c)
        c = np.where(t < 735, 666 + 13002 / (738 - np.minimum(t, 735)), c)
        c = np.where(t < 600, 425 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3, c)
        return c * 1e6

    def enthalpy_table(self):
        """Temperatures and the enthalpy per volume above 20 °C (mJ/mm³), strictly rising, latent heat included."""
        t = np.concatenate([np.arange(20, 1600, 5.0), np.arange(1600, 6001, 100.0)])
        mid = (t[1:] + t[:-1]) / 2
        c = self.specific_heat(mid)
        solidus, liquidus = self.melting_c
        c = c + np.where((mid > solidus) & (mid < liquidus), LATENT_HEAT_MJ_PER_T / (liquidus - solidus), 0)
        return t, np.concatenate([[0.0], np.cumsum(c * np.diff(t))]) * DENSITY_T_PER_MM3

    def deck(self):
        """The material as lines of a CalculiX input deck."""
        lines = ["*MATERIAL,NAME=STEEL", "*ELASTIC"]
        lines += [f"{max(k * self.elastic_mpa, 1):.1f},{POISSON},{t}" for t, k, _ in self.softening]
        lines += ["*EXPANSION,ZERO=20."]
        warm = [30, *range(100, 701, 100), 750, 800, 860, 930, *range(1000, 1801, 100), ABSENT_C]
        for t in warm:
            lines.append(f"{float(self.thermal_strain(t)) / (t - 20):.6e},{t}")
        lines.append("*PLASTIC")
        for t, _, k in self.softening:
            stress = max(k * self.yield_mpa, 0.2)
            strain, rise = next((strain, rise) for up_to, strain, rise in self.hardening if t <= up_to)
            lines += [f"{stress:.3f},0.,{t}", f"{stress * (1 + rise):.3f},{strain},{t}"]
        return lines


def _carbon(name, yield_mpa):
    """EN 1993-1-2:2005, table 3.1 (k_y and k_E). Hardening by 25 % up to 4 % of strain below 400 °C after annex A.

    From 400 °C the standard has no hardening; 10 % is kept there, since the solver needs some slope. Beyond 1100 °C the standard goes to nothing at 1200 °C; here 1 % is kept, and 0.02 % for filler not laid yet.
    """
    table = (
        (20, 1.0, 1.0), (100, 1.0, 1.0), (200, 0.9, 1.0), (300, 0.8, 1.0), (400, 0.7, 1.0), (500, 0.6, 0.78),
        (600, 0.31, 0.47), (700, 0.13, 0.23), (800, 0.09, 0.11), (900, 0.0675, 0.06), (1000, 0.045, 0.04),
        (1100, 0.0225, 0.02), (SOFT_C, 0.01, 0.01), (LIQUID_C, 0.01, 0.01), (ABSENT_C, 0.0002, 0.001),
    )  # fmt: skip
    return Steel(name, yield_mpa, 210000.0, table, ((300, 0.04, 0.25), (ABSENT_C, 0.04, 0.10)), (1450.0, 1510.0), False)


#: EN 1993-1-2:2005, annex C, table C.1 for 1.4301 (k_0.2p and k_E; values from memory, see the README). Yield of
#: cold-rolled strip from EN 1993-1-4:2006, table 2.1. Hardening by 40 % over
#: 10 % of strain up to 600 °C: value from memory.
_STAINLESS = Steel(
    "1.4301",
    230.0,
    200000.0,
    (
        (20, 1.0, 1.0), (100, 0.96, 0.82), (200, 0.92, 0.68), (300, 0.88, 0.64), (400, 0.84, 0.60), (500, 0.80, 0.54),
        (600, 0.76, 0.49), (700, 0.71, 0.40), (800, 0.63, 0.27), (900, 0.45, 0.14), (1000, 0.20, 0.06),
        (1100, 0.10, 0.03), (SOFT_C, 0.01, 0.01), (LIQUID_C, 0.01, 0.01), (ABSENT_C, 0.0002, 0.001),
    ),  # fmt: skip
    ((600, 0.10, 0.40), (ABSENT_C, 0.10, 0.10)),
    (1400.0, 1455.0),
    True,
)

STEELS = {s.name: s for s in (_carbon("S235", 235.0), _carbon("S355", 355.0), _STAINLESS)}
