"""The catalogue of virtual experiments, the most telling first. `run` goes through it from the top.

A case's name says what it is; the rest are its inputs. To add one, add a line. A name, once in the table, keeps its meaning.
"""

import hashlib

import beads
import mitre
import plates
import tee

#: kind -> function that builds the joint
BUILDERS = {"plate": beads.plate, "across": beads.across, "along": beads.along, "tee": tee.tee, "mitre": mitre.mitre,
            "plain-tee": plates.plain_tee, "lap": plates.lap}  # fmt: skip

CATALOGUE = []


def set_aside(name):
    """A third of the cases, by a hash of the name: not to be looked at while a model is fitted."""
    return hashlib.sha256(name.encode()).digest()[0] % 3 == 0


def _add(name, kind, steel="S235", fine=1.2, time_factor=1.0, layers=1, solver="own", verification=False, **inputs):
    inputs.setdefault("speed_mm_s", 7.0)
    settings = {"mesh_fineness": fine, "time_step_factor": time_factor, "layers_through_wall": layers, "solver": solver}
    CATALOGUE.append(
        {"name": name, "kind": kind, "steel": steel, "verification": verification, "inputs": inputs, "settings": settings}
    )


def _plate(name, wall, heat, **more):
    _add(name, "plate", fine=1.4, verification=True, length_mm=200.0, width_mm=200.0, wall_mm=wall, heat_j_per_mm=heat, **more)


def _across(side, wall, heat, length=None, **more):
    width = side if length is None else length
    tail = "" if length is None else f"-{length:g}mm"
    tail += "".join(f"-{k}" for k in [more.get("steel")] if k) + (f"-off{more['offset_mm']:g}" if "offset_mm" in more else "")
    _add(f"across-{side:g}x{wall:g}-{heat:g}{tail}", "across", side_mm=side, wall_mm=wall, heat_j_per_mm=heat,
         weld_length_mm=float(width), **more)  # fmt: skip


def _along(side, wall, heat, length, **more):
    tail = "".join(f"-{k}" for k in [more.get("steel")] if k) + (f"-off{more['offset_mm']:g}" if "offset_mm" in more else "")
    _add(f"along-{side:g}x{wall:g}-{heat:g}-{length:g}mm{tail}", "along", side_mm=side, wall_mm=wall, heat_j_per_mm=heat,
         weld_length_mm=float(length), **more)  # fmt: skip


def _verification(solver):
    """The known case; then mesh, time step, layers and yield on three joints; then the other solver."""
    tube = dict(side_mm=40.0, wall_mm=2.0, heat_j_per_mm=120.0, weld_length_mm=40.0)
    foot = dict(rail_side_mm=40, rail_wall_mm=2, bar_section="tube", bar_along_mm=30, bar_across_mm=30, bar_wall_mm=2, leg_mm=3.0,
                order="front", tacks="front back", weld_length_mm=0.0, heat_j_per_mm=120.0)  # fmt: skip
    corner = dict(side_mm=40, wall_mm=2, heat_j_per_mm=120.0, order="outer inner", tacks="outer inner", gap_mm=0.0, clamped=0)
    variants = {
        "": {}, "-mesh-halved": {"fine": 2.4}, "-time-halved": {"time_factor": 0.5}, "-two-layers": {"layers": 2},
        "-yield-355": {"steel": "S355"},
    }  # fmt: skip
    if solver == "own":
        _plate("verify-plate-2", 2.0, 120.0)
        _plate("verify-plate-4", 4.0, 250.0)
    else:
        variants = {"-calculix": {"solver": "calculix"}}
    for variant, settings in variants.items():
        for kind, inputs in (("across", tube), ("tee", foot), ("mitre", corner)):
            _add(f"verify-{kind}{variant}", kind, verification=True, **settings, **inputs)


def _tee(rail, wall, bar, heat, order, section="tube", bar_wall=None, leg=3.0, weld=0.0, tacks=None, **more):
    """A bar on a square rail. `bar` is a square's side or (along the rail, across it); `weld` the length of short welds.

    Without `tacks` the bar is tacked where it will be welded.
    """
    along, across = bar if isinstance(bar, tuple) else (bar, bar)
    size = {"tube": f"{along:g}", "flat bar": f"flat{along:g}x{across:g}", "angle": f"angle{along:g}x{across:g}"}[section]
    name = f"tee-{rail:g}x{wall:g}-{size}-{heat:g}-{order.replace(' ', '-')}" + (f"-{weld:g}mm" if weld else "")
    name += f"-tacks-{tacks.replace(' ', '-')}" if tacks else ""
    name += f"-{more['steel']}" if "steel" in more else ""
    _add(name, "tee", tacks=tacks or order, rail_side_mm=rail, rail_wall_mm=wall, bar_section=section, bar_along_mm=along, bar_across_mm=across,
         bar_wall_mm=wall if bar_wall is None else bar_wall, leg_mm=leg, order=order, weld_length_mm=weld,
         heat_j_per_mm=heat, **more)  # fmt: skip


def _mitre(side, wall, heat, order, tacks="outer inner", gap=0.0, clamped=0, **more):
    name = f"mitre-{side:g}x{wall:g}-{heat:g}-{order.replace(' ', '-')}"
    name += "" if tacks == "outer inner" else f"-tacks-{tacks.replace(' ', '-')}"
    name += ("-gap" if gap else "") + ("-clamped" if clamped else "") + (f"-{more['steel']}" if "steel" in more else "")
    _add(name, "mitre", side_mm=side, wall_mm=wall, heat_j_per_mm=heat, order=order, tacks=tacks, gap_mm=gap, clamped=clamped,
         **more)  # fmt: skip


def _plain_tee(base, stiffener, heat, order, leg=4.0, width=100.0, **more):
    name = f"plaintee-{base:g}-{stiffener:g}-{heat:g}-{order.replace(' ', '-')}" + (f"-{more['steel']}" if "steel" in more else "")
    _add(name, "plain-tee", layers=2, base_thickness_mm=base, stiffener_thickness_mm=stiffener, base_width_mm=width, length_mm=80.0,
         stiffener_height_mm=50.0, leg_mm=leg, order=order, heat_j_per_mm=heat, **more)  # fmt: skip


def _lap(wall, heat, leg, overlap=20.0, **more):
    name = f"lap-{wall:g}-{heat:g}-{overlap:g}mm" + (f"-{more['steel']}" if "steel" in more else "")
    _add(name, "lap", layers=2, thickness_mm=wall, leg_mm=leg, overlap_mm=overlap, free_width_mm=60.0, length_mm=80.0,
         heat_j_per_mm=heat, **more)  # fmt: skip


def _first():
    """One or two of every kind and size."""
    for side, wall, heat in [(40, 2, 80), (40, 2, 160), (20, 1.5, 60), (60, 3, 180)]:
        _across(side, wall, heat)
    _tee(40, 2, 30, 120, "front")
    _tee(40, 2, 30, 120, "front", tacks="front back")
    _tee(40, 2, 25, 120, "right", tacks="right left")
    _mitre(40, 3, 200, "outer")
    _mitre(40, 2, 80, "front")
    _tee(40, 2, 30, 120, "right")
    _along(40, 2, 120, 40)
    _along(20, 1.5, 60, 60)
    _mitre(30, 2, 100, "inner")
    _mitre(40, 2, 120, "front back")
    _mitre(40, 2, 120, "outer")
    _tee(40, 2, 40, 120, "front", tacks="front back")
    _across(40, 2, 120, 20)
    _mitre(40, 2, 120, "outer inner")
    _tee(40, 2, 20, 120, "front", tacks="front back")
    _across(30, 2, 120)
    _along(60, 3, 180, 60)


def _second():
    """Orders, clamps and gaps; more sizes; the other steels."""
    _mitre(40, 2, 120, "outer inner front back")
    _mitre(40, 2, 120, "front back outer inner")
    _tee(40, 2, 30, 120, "front back")
    _tee(40, 2, 40, 120, "right", tacks="right left")
    _across(40, 2, 120, steel="1.4301")
    _along(40, 2, 80, 20)
    _mitre(40, 2, 120, "outer", clamped=1)
    _tee(40, 2, 30, 80, "front", leg=2.5)
    _across(60, 4, 300)
    _mitre(30, 2, 100, "outer inner")
    _mitre(60, 3, 180, "front back")
    _tee(40, 2, 30, 120, "right left")
    _across(50, 1.5, 80)
    _across(40, 2, 120, 12, offset_mm=12.0)
    _mitre(40, 2, 120, "outer", gap=0.5)
    _tee(40, 2, (5, 30), 120, "right", "flat bar", 0.0)
    _along(40, 2, 120, 120)
    _tee(60, 3, 40, 180, "front", leg=4.0)
    _mitre(40, 2, 120, "front outer back inner")
    _tee(30, 2, 20, 100, "front", tacks="front back")
    _tee(40, 2, (30, 20), 120, "front", "angle", 3.0, weld=15.0)
    _plain_tee(6.0, 6.0, 300, "front")
    _lap(3.0, 180, 3.0)
    _tee(40, 2, 30, 120, "front right back left")
    _mitre(40, 2, 120, "front back", clamped=1)
    _tee(40, 2, 30, 120, "front back right left")


def _third():
    """The rest of the sizes."""
    for side, wall, heat in [(25, 2, 100), (40, 3, 200), (60, 2, 120), (40, 4, 400), (20, 2, 50), (50, 3, 120), (30, 1.5, 100)]:
        _across(side, wall, heat)
    for side, wall, heat, length in [(30, 2, 120, 30), (60, 4, 300, 120), (40, 2, 160, 80), (40, 3, 200, 40), (25, 2, 60, 100)]:
        _along(side, wall, heat, length)
    _across(40, 2, 120, 10)
    _across(60, 3, 180, 30)
    _across(40, 2, 120, steel="S355")
    _across(30, 2, 80, steel="1.4301")
    _along(40, 2, 120, 40, steel="1.4301")
    _along(40, 2, 120, 40, offset_mm=15.0)
    _along(40, 2, 120, 120, steel="S355")
    _tee(40, 2, 40, 120, "front back")
    _tee(40, 2, 40, 120, "right left")
    _tee(40, 2, 16, 120, "front")
    _tee(60, 3, 30, 180, "right", leg=4.0)
    _tee(40, 2, 30, 120, "front", steel="1.4301")
    _tee(40, 2, (5, 30), 120, "right left", "flat bar", 0.0)
    _tee(40, 2, (30, 5), 120, "front", "flat bar", 0.0)
    _tee(40, 2, 40, 120, "front back right left")
    _tee(40, 2, (30, 20), 120, "left", "angle", 3.0, weld=10.0)
    _tee(40, 2, (20, 30), 120, "front", "angle", 3.0, weld=15.0)
    _plain_tee(4.0, 4.0, 200, "front back")
    _plain_tee(10.0, 6.0, 500, "front", leg=5.0)
    _lap(2.0, 120, 2.0)
    _lap(5.0, 300, 4.0, overlap=30.0)
    _mitre(20, 1.5, 60, "outer inner")
    _mitre(20, 1.5, 60, "front back")
    _mitre(60, 3, 180, "outer inner")
    _mitre(40, 2, 120, "inner")
    _mitre(40, 2, 120, "front")
    _mitre(40, 2, 120, "front", gap=0.5)
    _mitre(40, 2, 120, "inner outer front back")
    _mitre(40, 2, 120, "outer inner front back", clamped=1)
    _mitre(40, 2, 120, "front", tacks="front back")
    _mitre(40, 2, 120, "outer", steel="1.4301")


def _fourth():
    """More of everything: a model wants its inputs varied one at a time and together."""
    for side, wall, heat in [(50, 2, 100), (40, 2, 200), (60, 3, 300), (30, 3, 180), (50, 3, 250), (25, 1.5, 70)]:
        _across(side, wall, heat)
    for side, wall, heat, length in [(50, 2, 100, 50), (25, 1.5, 70, 25), (60, 3, 300, 100), (40, 2, 60, 60), (50, 3, 250, 80)]:
        _along(side, wall, heat, length)
    for heat in (60, 160):
        _tee(40, 2, 30, heat, "front", tacks="front back", leg=2.5 if heat < 100 else 3.5)
        _tee(40, 2, 30, heat, "right", tacks="right left", leg=2.5 if heat < 100 else 3.5)
    for rail, wall, bar, heat, leg in [(50, 2, 30, 120, 3.0), (60, 3, 40, 200, 4.0), (30, 1.5, 20, 80, 2.5), (50, 3, 40, 180, 4.0)]:
        _tee(rail, wall, bar, heat, "front", tacks="front back", leg=leg)
        _tee(rail, wall, bar, heat, "right", tacks="right left", leg=leg)
        _tee(rail, wall, bar, heat, "front back right left", leg=leg)
    _tee(40, 2, 30, 120, "right front left back")
    _tee(40, 2, 30, 120, "front right")
    _tee(40, 2, 30, 120, "front back", steel="S355")
    _tee(40, 2, 30, 120, "front", tacks="front back", weld=15.0)
    _tee(40, 2, 30, 120, "right left", steel="1.4301")
    _tee(40, 2, (5, 30), 120, "front back right left", "flat bar", 0.0)
    _tee(40, 2, (6, 40), 150, "right", "flat bar", 0.0, tacks="right left")
    _tee(50, 3, (40, 20), 150, "front", "angle", 3.0, leg=4.0, weld=20.0)
    _tee(50, 3, (40, 20), 150, "front left", "angle", 3.0, leg=4.0)
    for side, wall, heat in [(50, 2, 120), (30, 1.5, 80), (50, 3, 200), (25, 2, 90)]:
        _mitre(side, wall, heat, "outer")
        _mitre(side, wall, heat, "front")
        _mitre(side, wall, heat, "inner outer front back")
    _mitre(40, 2, 120, "outer front inner back")
    _mitre(40, 2, 120, "front back inner outer")
    _mitre(40, 2, 120, "front", clamped=1)
    _mitre(40, 2, 120, "inner", gap=0.5)
    _mitre(40, 2, 120, "front back", gap=0.5)
    _mitre(40, 2, 120, "outer inner", steel="S355")
    _mitre(40, 2, 120, "front back", steel="1.4301")
    for plates in (8.0, 10.0, 12.0):
        _plain_tee(plates, plates, 1190, "front", leg=8.0, speed_mm_s=5.8)
    _plain_tee(5.0, 5.0, 250, "front")
    _plain_tee(3.0, 3.0, 150, "front", leg=3.0)
    _plain_tee(6.0, 6.0, 300, "front", steel="1.4301")
    _lap(4.0, 240, 4.0)
    _lap(3.0, 180, 3.0, steel="1.4301")


_first()
_verification("own")
_second()
_third()
_fourth()
_verification("calculix")
BY_NAME = {case["name"]: case for case in CATALOGUE}
