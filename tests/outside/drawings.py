"""Reads the written drawings with ezdxf, strictly, into plain mm geometry."""
import csv
import json
import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import ezdxf
import numpy as np

LAYERS = ("CUT", "HOLE", "MARK", "LABEL", "SHEET", "LEAD")
OPEN_ARCS = ("CUT", "HOLE", "LEAD")      # stretches between tabs, leads, both in one
SCALE = {1: 25.4, 4: 1.0}        # $INSUNITS: inches, millimetres


@dataclass
class Item:
    """A shape in the file's order, mm and degrees."""

    layer: str
    closed: bool
    points: np.ndarray       # a circle's centre, a text's corner; arcs as chords
    text: str = ""
    turn: float = 0.0
    height: float = 0.0


@dataclass
class Drawing:
    """Shapes of one file by plain layer name, mm."""

    profiles: dict = field(default_factory=lambda: {k: [] for k in LAYERS})  # [(x, y, bulge)]
    circles: dict = field(default_factory=lambda: {k: [] for k in LAYERS})   # (x, y, r)
    strokes: dict = field(default_factory=lambda: {k: [] for k in LAYERS})   # points
    texts: dict = field(default_factory=lambda: {k: [] for k in LAYERS})     # (text, x, y)
    order: list = field(default_factory=list)                                # Item


def layer_names(job):
    """Written name to plain name: the job may rename layers."""
    names = {k: k for k in LAYERS}
    for plain, style in job.get("output", {}).get("layers", {}).items():
        names.pop(plain, None)
        names[style["name"]] = plain
    return names


def read_dxf(path, names=None):
    """One drawing. Anything not foreseen by the design is an error."""
    names = names or {k: k for k in LAYERS}
    doc = ezdxf.readfile(path)
    scale = SCALE[doc.header["$INSUNITS"]]
    out = Drawing()
    for e in doc.modelspace():
        layer, kind = names[e.dxf.layer], e.dxftype()
        if kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                v, closed = [tuple(q) for q in e.get_points("xyb")], e.closed
            else:
                v = [(q.dxf.location.x, q.dxf.location.y, q.dxf.bulge) for q in e.vertices]
                closed = e.is_closed
            a = np.array(v, float) * [scale, scale, 1.0]
            out.order.append(Item(layer, closed, flatten_profile(a) if closed else flatten_open(a)))
            if closed:
                out.profiles[layer].append(a)
            else:
                assert layer in OPEN_ARCS or not a[:, 2].any(), f"{path}: open polyline with arcs"
                out.strokes[layer].append(flatten_open(a))
        elif kind == "CIRCLE":
            c = e.dxf.center
            out.circles[layer].append((c.x * scale, c.y * scale, e.dxf.radius * scale))
            out.order.append(Item(layer, True, np.array([[c.x, c.y]]) * scale))
        elif kind == "LINE":
            a, b = e.dxf.start, e.dxf.end
            out.strokes[layer].append(np.array([[a.x, a.y], [b.x, b.y]]) * scale)
        elif kind == "TEXT":
            p = e.dxf.insert
            out.texts[layer].append((e.dxf.text, p.x * scale, p.y * scale))
            out.order.append(Item(layer, True, np.array([[p.x, p.y]]) * scale,
                                  e.dxf.text, e.dxf.rotation, e.dxf.height * scale))
        else:
            raise ValueError(f"{path}: a {kind} on {e.dxf.layer}")
    return out


def flatten_profile(v, sagitta=0.002, longest=None):
    """Closed profile with bulges to points (first not repeated). Chord error
    at most `sagitta`; straight pieces divided to `longest` if given."""
    pts = []
    n = len(v)
    for i in range(n):
        (x0, y0, b), (x1, y1, _b) = v[i], v[(i + 1) % n]
        dx, dy = x1 - x0, y1 - y0
        c = math.hypot(dx, dy)
        if b == 0.0 or c == 0.0:
            k = max(1, math.ceil(c / longest)) if longest else 1
            pts += [(x0 + dx * j / k, y0 + dy * j / k) for j in range(k)]
            continue
        sweep = 4.0 * math.atan(b)
        r = c * (1 + b * b) / (4 * abs(b))
        h = c * (1 - b * b) / (4 * b)
        cx, cy = (x0 + x1) / 2 - dy / c * h, (y0 + y1) / 2 + dx / c * h
        k = max(1, math.ceil(abs(sweep) / (2 * math.acos(max(-1.0, 1 - sagitta / r)))))
        if longest:
            k = max(k, math.ceil(abs(sweep) * r / longest))
        a = math.atan2(y0 - cy, x0 - cx)
        pts += [(cx + r * math.cos(a + sweep * j / k), cy + r * math.sin(a + sweep * j / k))
                for j in range(k)]
    return np.array(pts)


def flatten_open(v, sagitta=0.0005):
    """Open line with bulges to points."""
    if not v[:-1, 2].any():
        return v[:, :2]
    out = []
    for a, b in zip(v[:-1], v[1:]):
        out.append(flatten_profile(np.array([a, [b[0], b[1], 0.0]]), sagitta)[:-1] if a[2] else a[None, :2])
    return np.vstack([*out, v[-1:, :2]])


def area(points):
    """Signed area of a polygon, mm2."""
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def read_csv(path):
    """Rows of a list, comments skipped, numbers as floats where they are."""
    with open(path, encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(line for line in f if line.strip() and line[0] != "#"))
    for row in rows:
        for k, v in row.items():
            try:
                row[k] = float(v)
            except (TypeError, ValueError):
                pass
    return rows


class Output:
    """An output folder: the summary, parts and lists."""

    def __init__(self, folder, job):
        self.folder = Path(folder)
        self.job = tomllib.loads(Path(job).read_text(encoding="utf-8")) if job else {}
        self.names = layer_names(self.job)
        self.summary = json.loads((self.folder / "summary.json").read_text(encoding="utf-8"))
        self.parts = {p["name"]: p for p in self.summary["parts"]}

    def part(self, name):
        """Drawing of a part."""
        return read_dxf(self.folder / "parts" / f"{name}.dxf", self.names)

    def face(self, name):
        """+1 where the drawing shows the upper face, -1 the lower (mirrored)."""
        return {"upper": 1.0, "lower": -1.0}[self.parts[name]["face"]]

    def list(self, name):
        """Rows of lists/NAME.csv."""
        return read_csv(self.folder / "lists" / f"{name}.csv")
