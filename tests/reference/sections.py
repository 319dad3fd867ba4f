"""Angles, channels and tubes by finite elements (sectionproperties): JSON on standard input, JSON on standard output.

Input: [{kind: "angle" | "channel" | "tube", sizes...}], mm. Answer for each, about the centroid, y to the right and
z up: area, iy = integral z2, iz = integral y2, iyz, i1, i2, j, shear_y, shear_z, plastic_y, plastic_z, centroid [y, z]
from the lower left corner, shear_centre [y, z] from the centroid.
"""

import json
import sys

from sectionproperties.analysis import Section
from sectionproperties.pre.library import angle_section, channel_section, rectangular_hollow_section

CORNER = 32


def geometry(s):
    if s["kind"] == "angle":
        return angle_section(s["depth"], s["width"], s["thickness"], s["root"], s["toe"], CORNER)
    if s["kind"] == "channel":
        return channel_section(s["depth"], s["width"], s["flange"], s["web"], s["root"], CORNER)
    return rectangular_hollow_section(s["depth"], s["width"], s["wall"], s["outer_radius"], CORNER)


def answer(s):
    shape = geometry(s)
    shape.create_mesh(mesh_sizes=[s["mesh"]])
    section = Section(shape)
    section.calculate_geometric_properties()
    section.calculate_warping_properties()
    section.calculate_plastic_properties()
    iy, iz, iyz = section.get_ic()
    i1, i2 = section.get_ip()
    shear_y, shear_z = section.get_as()
    plastic_y, plastic_z = section.get_s()
    centroid, shear_centre = section.get_c(), section.get_sc()
    values = dict(area=section.get_area(), iy=iy, iz=iz, iyz=iyz, i1=i1, i2=i2, j=section.get_j())
    values |= dict(shear_y=shear_y, shear_z=shear_z, plastic_y=plastic_y, plastic_z=plastic_z)
    values |= dict(centroid=list(centroid), shear_centre=[s - c for s, c in zip(shear_centre, centroid)])
    return {name: [float(v) for v in value] if isinstance(value, list) else float(value) for name, value in values.items()}


if __name__ == "__main__":
    json.dump([answer(s) for s in json.load(sys.stdin)], sys.stdout)
