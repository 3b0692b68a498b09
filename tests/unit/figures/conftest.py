"""What a drawing holds: read as XML, with every place that something is drawn at."""

import re
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from evenrow.figures.svg import WIDTH, width_of

SVG = "{http://www.w3.org/2000/svg}"
_TOKEN = re.compile(r"[A-Za-z]|-?\d+(?:\.\d+)?")
#: Numbers that each command of a path takes, and where its end stands among them.
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "q": 4, "c": 6, "a": 7, "z": 0}


def read(svg):
    """Return the root element; fails where the text is no XML or a coordinate no number."""
    bare = re.sub(r"(aria-label|data-\w+)=\"[^\"]*\"", "", re.sub(r">[^<]+<", "><", svg))
    assert not re.search(r"\b(nan|inf|None)\b", bare)
    return ElementTree.fromstring(svg)


def texts(root):
    return [element.text for element in root.iter(f"{SVG}text")]


def ends(d):
    """Return where each command of a path ends."""
    tokens = _TOKEN.findall(d)
    x = y = 0.0
    start = (0.0, 0.0)
    found, at, command = [], 0, ""
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
        low = command.lower()
        values = [float(token) for token in tokens[at : at + _TAKES[low]]]
        at += _TAKES[low]
        base = (x, y) if command.islower() else (0.0, 0.0)
        if low == "z":
            x, y = start
        elif low == "h":
            x = base[0] + values[0]
        elif low == "v":
            y = base[1] + values[0]
        else:
            x, y = base[0] + values[-2], base[1] + values[-1]
        if low == "m":
            start = (x, y)
            command = "l" if command == "m" else "L"
        found.append((x, y))
    return found


def places(root):
    """Return every place that something is drawn at; a text counts with both its ends."""
    found = []
    inside = {id(e) for defs in root.iter(f"{SVG}defs") for e in defs.iter()}
    for element in root.iter():
        if id(element) in inside:
            continue
        name, get = element.tag.removeprefix(SVG), element.get
        if name == "path":
            found += ends(get("d"))
        elif name in ("polyline", "polygon"):
            found += [tuple(map(float, pair.split(","))) for pair in get("points").split()]
        elif name == "rect":
            x, y = float(get("x")), float(get("y"))
            found += [(x, y), (x + float(get("width")), y + float(get("height")))]
        elif name == "circle" and get("class") != "er-hit":
            x, y, r = (float(get(key)) for key in ("cx", "cy", "r"))
            found += [(x - r, y - r), (x + r, y + r)]
        elif name == "text":
            x, y = float(get("x")), float(get("y"))
            wide = width_of(element.text or "")
            back = {"middle": 0.5, "end": 1.0}.get(get("text-anchor"), 0.0) * wide
            if get("transform"):
                found += [(x, y - back), (x, y - back + wide)]
            else:
                found += [(x - back, y), (x - back + wide, y)]
    return found


def outside(root, slack=1.0):
    """Return the places outside the view box."""
    left, top, width, height = map(float, root.get("viewBox").split())
    assert (left, top, width) == (0.0, 0.0, WIDTH)
    return [
        (x, y)
        for x, y in places(root)
        if not (-slack <= x <= width + slack and -slack <= y <= height + slack)
    ]


@pytest.fixture(scope="session")
def drawn():
    """The functions that look into a drawing."""
    return SimpleNamespace(read=read, texts=texts, ends=ends, places=places, outside=outside)
