"""From a joint and its welds to a history of temperatures: tacks, passes in their order, cooling between them."""

from dataclasses import dataclass, field
from typing import Callable, Optional

import numpy as np

from heat import AMBIENT_C, Heat
from material import ABSENT_C, DENSITY_T_PER_MM3, LIQUID_C

#: Cooling goes on until no place is warmer; from here everything is brought to 20 °C in one step.
COLD_C = 180.0
#: Filler takes its place this far behind the torch.
LAID_BEHIND_MM = 1.0
#: Parts that bear on each other begin this far apart: at zero the solver cannot tell touching from not touching.
BEARING_CLEARANCE_MM = 0.003


@dataclass
class Pass:
    """One bead: a straight run of the torch. `part` is its filler, None when the bead melts only the steel."""

    name: str
    start: tuple
    end: tuple
    heat_j_per_mm: float
    speed_mm_s: float
    radius_mm: float
    part: Optional[str] = None

    def length(self):
        return float(np.linalg.norm(np.subtract(self.end, self.start)))

    def position(self, points):
        """How far along the run points lie, in mm."""
        return (points - self.start) @ np.subtract(self.end, self.start) / self.length()


@dataclass
class Setup:
    """A joint ready to be welded."""

    mesh: object
    passes: list
    #: (weld, from mm, to mm) along its run: filler there from the start
    tacks: list
    #: (nodes, directions 1 to 3) held all the time, or until release when `released` is given
    supports: list
    #: name of a section -> its nodes
    stations: dict
    #: motions of the stations -> results with their units
    measure: Callable
    #: the supports after the clamps are let go
    released: Optional[list] = None
    #: pairs (filler node, steel node) that move together
    ties: np.ndarray = field(default_factory=lambda: np.zeros((0, 2), int))
    #: (lower nodes, upper nodes, direction from lower to upper, clearance in mm); lower None means the ground
    contacts: list = field(default_factory=list)
    #: filler part -> part of the steel's edges that the weld melts away and replaces; they fill the same place
    edges: dict = field(default_factory=dict)
    #: runs of seams that are only tacked
    tack_runs: list = field(default_factory=list)
    #: faces that lie on a plane of symmetry
    insulated: Callable = lambda points: False
    #: share of the heat that the model holds: 0.5 when the bead lies on a plane of symmetry
    heat_share: float = 1.0


@dataclass
class Step:
    """The state at the end of one mechanical step."""

    temperature: np.ndarray
    label: Optional[str] = None
    release: bool = False


def torch_radius(heat_j_per_mm, wall_mm):
    """Radius of the ball of heat: the half width that a line of heat melts in a plate of this wall, kept within 2.5 to 7 mm.

    The peak beside a line source in a thin plate is sqrt(2 / (pi e)) Q / (2 rho c t y): Rosenthal 1946, thin-plate solution.
    """
    half_width = 0.484 * heat_j_per_mm * 1e3 / (2 * DENSITY_T_PER_MM3 * 650e6 * wall_mm * 1480)
    return float(np.clip(2.0 * half_width, 2.5, 7.0))


def history(setup, steel, time_factor=1.0):
    """Runs the passes through the thermal model. Returns the mechanical steps and a few facts about the heat."""
    mesh = setup.mesh
    runs = setup.passes + setup.tack_runs
    fillers = [p.part for p in runs if p.part]
    tacked = {name for name, _, _ in setup.tacks}
    off = [f for f in fillers if f not in tacked and f not in setup.edges] + list(setup.edges.values())
    heat = Heat(mesh, steel, off=off, insulated=setup.insulated)
    present = ~np.isin(mesh.part_of_node, fillers)
    by_name = {p.name: p for p in runs}
    for name, low, high in setup.tacks:
        _lay(setup, by_name[name], low - 1e-3, high + 1e-3, present)
    steps = [Step(np.where(present, AMBIENT_C, ABSENT_C))]
    peak, errors = np.full(mesh.places, AMBIENT_C), []

    def record(label=None):
        np.maximum(peak, heat.temperature, out=peak)
        capped = np.minimum(heat.temperature[mesh.place_of_node], LIQUID_C)
        steps.append(Step(np.where(present, capped, ABSENT_C), label))

    for weld in setup.passes:
        if weld.part:
            heat.switch_on(weld.part)
        for position in _torch(heat, weld, setup.heat_share, time_factor):
            if weld.part:
                _lay(setup, weld, -1e9, position - LAID_BEHIND_MM, present)
            record()
        if weld.part:
            _lay(setup, weld, -1e9, 1e9, present)
        _cool(heat, record, time_factor)
        errors.append(abs(heat.energy_error()))
        heat.quench()
        record(weld.name)
    if setup.released is not None:
        steps.append(Step(steps[-1].temperature, "released", True))
    facts = {"peak_temperature_c": round(float(peak.max())), "energy_error": float(f"{max(errors):.1e}")}
    facts["net_heat_in_j"] = round(heat.energy_in / 1e3 / setup.heat_share, 1)
    return steps, facts


def _torch(heat, weld, share, time_factor):
    """Moves the torch along its run; yields its position at the end of every mechanical step."""
    length, direction = weld.length(), np.subtract(weld.end, weld.start) / weld.length()
    count = max(3, int(round(length / (0.65 * max(3.5, weld.radius_mm) * time_factor))))
    inner = 3
    step_s = length / weld.speed_mm_s / count / inner
    power = weld.heat_j_per_mm * weld.speed_mm_s * 1e3 * share
    for k in range(count):
        for j in range(inner):
            centre = weld.start + direction * length * (k * inner + j + 0.5) / (count * inner)
            heat.advance(step_s, heat.source(centre, weld.radius_mm, power))
        yield length * (k + 1) / count


def _cool(heat, record, time_factor):
    """Cools in steps that grow, until the whole joint is cold enough to be brought to 20 °C at once."""
    step_s = 0.25 * time_factor
    while heat.temperature.max() > COLD_C:
        for _ in range(2):
            heat.advance(step_s / 2)
        record()
        step_s *= 1 + 0.45 * time_factor


def _lay(setup, weld, low, high, present):
    """Lays the filler of a weld between two positions along its run, and takes away the edges that it replaces."""
    position = weld.position(setup.mesh.xyz)
    inside = (position >= low) & (position <= high)
    parts = setup.mesh.part_of_node
    present |= inside & (parts == weld.part)
    if weld.part in setup.edges:
        present &= ~(inside & (parts == setup.edges[weld.part]))
