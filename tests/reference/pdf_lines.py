"""Straight lines and rectangles of a PDF, in millimetres from the lower left corner of each page."""

import json
import sys

import numpy as np
from pypdf import PdfReader
from pypdf.generic import ContentStream

MM = 25.4 / 72


def matrix(operands):
    a, b, c, d, e, f = (float(one) for one in operands)
    return np.array([[a, b, 0], [c, d, 0], [e, f, 1]])


def walk(content, resources, reader, now, lines):
    stack, path, here = [], [], None
    place = lambda x, y: (np.array([float(x), float(y), 1]) @ now)[:2] * MM
    for operands, operator in content.operations:
        name = operator.decode()
        if name == "q":
            stack.append(now)
        elif name == "Q":
            now = stack.pop()
        elif name == "cm":
            now = matrix(operands) @ now
        elif name == "m":
            here = place(*operands)
        elif name == "l":
            there = place(*operands)
            path.append([*here, *there])
            here = there
        elif name == "re":
            x, y, w, h = (float(one) for one in operands)
            corners = [place(x, y), place(x + w, y), place(x + w, y + h), place(x, y + h)]
            path += [[*corners[k], *corners[(k + 1) % 4]] for k in range(4)]
        elif name in ("S", "s", "B", "b"):
            lines += path
            path = []
        elif name in ("f", "F", "f*", "n"):
            path = []
        elif name == "Do":
            form = resources["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                inner = matrix(form.get("/Matrix", [1, 0, 0, 1, 0, 0])) @ now
                walk(ContentStream(form, reader), form.get("/Resources", resources), reader, inner, lines)


reader = PdfReader(sys.stdin.read().strip().strip('"'))
pages = []
for page in reader.pages:
    lines = []
    walk(ContentStream(page.get_contents(), reader), page["/Resources"], reader, np.eye(3), lines)
    box = page.mediabox
    pages.append({"size": [float(box.width) * MM, float(box.height) * MM], "lines": [list(map(float, one)) for one in lines]})
json.dump(pages, sys.stdout)
