"""Line drawings by a library that knows nothing of us: written for us to read, and ours read back."""
import io
import json
import sys

import ezdxf

UNITS = {"mm": 4, "in": 1, "m": 6}


def write(question):
    """One drawing of lines, of polylines in a plane and in space, and of things that are no centre lines."""
    document = ezdxf.new(question["version"])
    document.header["$INSUNITS"] = UNITS[question["unit"]]
    model = document.modelspace()
    for part in question["parts"]:
        layer = {"layer": part["layer"]}
        points = part["points"]
        if part["as"] == "line":
            model.add_line(*points, dxfattribs=layer)
        elif part["as"] == "polyline in space":
            model.add_polyline3d(points, close=part["closed"], dxfattribs=layer)
        elif question["version"] == "R12":
            model.add_polyline2d([point[:2] for point in points], close=part["closed"], dxfattribs=layer)
        else:
            model.add_lwpolyline([point[:2] for point in points], close=part["closed"], dxfattribs=layer)
    model.add_circle((50, 50), 10, dxfattribs={"layer": "HOLES"})
    model.add_text("a remark", dxfattribs={"layer": "WORDS"})
    text = io.StringIO()
    document.write(text)
    return {"text": text.getvalue()}


def read(question):
    """The lines and polylines of each layer, the words, and what the library finds wrong."""
    document = ezdxf.read(io.StringIO(question["text"]))
    faults = document.audit()
    lines, polylines, words = [], [], []
    for entity in document.modelspace():
        layer = entity.dxf.layer
        if entity.dxftype() == "LINE":
            lines.append({"layer": layer, "from": list(entity.dxf.start), "to": list(entity.dxf.end)})
        elif entity.dxftype() == "POLYLINE":
            points = [list(vertex.dxf.location) for vertex in entity.vertices]
            polylines.append({"layer": layer, "closed": entity.is_closed, "points": points})
        elif entity.dxftype() == "TEXT":
            words.append(entity.dxf.text)
    errors = [str(error) for error in faults.errors + faults.fixes]
    return {"lines": lines, "polylines": polylines, "words": words, "errors": errors}


question = json.load(sys.stdin)
json.dump({"write": write, "read": read}[question["do"]](question), sys.stdout)
