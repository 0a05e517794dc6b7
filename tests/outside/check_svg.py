"""Checks every SVG file of an output folder against the DXF beside it.

    python check_svg.py OUT

Well-formed XML; width and height in mm equal to the view box, so that one
unit is one millimetre; the outer profiles as large as those of the DXF, to a
thousandth of a millimetre, and placed inside the page; open lines not filled;
bars of 100 mm and 4 in on every part; job, stock and thickness in a sheet's
title. Exit 1 on any failure.
"""
import json
import math
import re
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf

NS = "{http://www.w3.org/2000/svg}"
UNIT_MM = {1: 25.4, 4: 1.0}
TOLERANCE_MM = 1e-3
TOKEN = re.compile(r"[MLAZ]|-?[0-9.]+(?:e-?[0-9]+)?")


class Bad(Exception):
    """What is wrong with a file."""


def need(condition, what):
    if not condition:
        raise Bad(what)


class Box:
    def __init__(self):
        self.lo, self.hi = [math.inf, math.inf], [-math.inf, -math.inf]

    def take(self, x, y):
        self.lo = [min(self.lo[0], x), min(self.lo[1], y)]
        self.hi = [max(self.hi[0], x), max(self.hi[1], y)]

    def size(self):
        return [h - l for l, h in zip(self.lo, self.hi)]

    def take_arc(self, centre, radius, start, sweep):
        """Points along an arc, its quarters among them."""
        for k in range(-8, 9):
            a = k * math.pi / 2
            if 0 <= (a - start) * math.copysign(1, sweep) <= abs(sweep):
                self.take(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a))


def svg_arc(p, q, r, large, sweep):
    """Centre, radius, start and sweep of a circular A command (y down)."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    chord = math.hypot(dx, dy)
    h = math.sqrt(max(0.0, r * r - chord * chord / 4))
    side = 1 if large == sweep else -1
    # With sweep 1 and a small arc the centre lies to the right of the chord
    # as seen on the page, which is to the left in y-down coordinates.
    cx = (p[0] + q[0]) / 2 - dy / chord * h * -side
    cy = (p[1] + q[1]) / 2 + dx / chord * h * -side
    start = math.atan2(p[1] - cy, p[0] - cx)
    turn = math.atan2(q[1] - cy, q[0] - cx) - start
    if sweep and turn < 0:
        turn += 2 * math.pi
    if not sweep and turn > 0:
        turn -= 2 * math.pi
    need((abs(turn) > math.pi + 1e-6) == bool(large) or abs(abs(turn) - math.pi) < 1e-3, "an arc of the wrong size")
    return (cx, cy), r, start, turn


def path_box(d, box):
    tokens = TOKEN.findall(d)
    i, at, first = 0, None, None
    while i < len(tokens):
        c = tokens[i]
        if c in "ML":
            at = (float(tokens[i + 1]), float(tokens[i + 2]))
            first = at if c == "M" else first
            box.take(*at)
            i += 3
        elif c == "A":
            r, r2, turn, large, sweep, x, y = map(float, tokens[i + 1:i + 8])
            need(r == r2 and turn == 0.0, "an arc that is not circular")
            to = (x, y)
            centre, radius, start, swept = svg_arc(at, to, r, int(large), int(sweep))
            end = (centre[0] + radius * math.cos(start + swept), centre[1] + radius * math.sin(start + swept))
            need(math.dist(end, to) < 1e-3, "an arc that misses its end")
            box.take_arc(centre, radius, start, swept)
            box.take(*to)
            at = to
            i += 8
        else:
            need(c == "Z", f"path command {c}")
            at = first
            i += 1
    return tokens[-1] == "Z"


def fill_of(element, layer, rules):
    """What an element of a layer's group is filled with, by the style sheet."""
    fill = element.get("fill", "#000")
    kind = element.tag.removeprefix(NS)
    names = {kind, *("." + c for c in element.get("class", "").split())}
    weight = -1
    for selectors, body in rules:
        told = re.search(r"(?:^|;)fill:([^;]+)", body)
        for selector in selectors.split(",") if told else []:
            *group, own = selector.split()
            if own in names and (not group or group == ["." + layer]):
                strong = selector.count(".") * 10 + len(group)
                if strong >= weight:
                    weight, fill = strong, told.group(1)
    return fill


def check_fills(root):
    """Open lines enclose nothing. How many there are."""
    style = "".join(e.text or "" for e in root.iter(NS + "style"))
    rules = [(s.strip(), b) for s, b in re.findall(r"([^{}]+)\{([^}]*)\}", style)]
    count = 0
    for g in root.iter(NS + "g"):
        for p in g.iter(NS + "path"):
            if not p.get("d").rstrip().endswith("Z"):
                count += 1
                need(fill_of(p, g.get("class"), rules) == "none", f"an open line on {g.get('class')} is filled")
                need(p.get("fill") == "none", "an open line that is filled where styles are not read")
    return count


def dxf_box(path):
    doc = ezdxf.readfile(path)
    units = doc.header.get("$INSUNITS")
    need(units in UNIT_MM, f"the DXF's $INSUNITS is {units}")
    mm = UNIT_MM[units]
    box, profiles = Box(), 0
    for e in doc.modelspace():
        if e.dxftype() == "LWPOLYLINE":
            v = [tuple(p) for p in e.get_points("xyb")]
        elif e.dxftype() == "POLYLINE":
            v = [(q.dxf.location.x, q.dxf.location.y, q.dxf.bulge) for q in e.vertices]
        else:
            continue
        if e.dxf.layer != "CUT" or len(v) < 2:
            continue
        closed = e.closed if e.dxftype() == "LWPOLYLINE" else e.is_closed
        profiles += 1
        for (x0, y0, b), (x1, y1, _) in zip(v, v[1:] + (v[:1] if closed else [])):
            x0, y0, x1, y1 = x0 * mm, y0 * mm, x1 * mm, y1 * mm
            box.take(x0, y0)
            chord = math.hypot(x1 - x0, y1 - y0)
            if b != 0.0 and chord > 0:
                r, sweep = chord * (1 + b * b) / (4 * abs(b)), 4 * math.atan(b)
                h = chord * (1 - b * b) / (4 * b)
                c = ((x0 + x1) / 2 - (y1 - y0) / chord * h, (y0 + y1) / 2 + (x1 - x0) / chord * h)
                box.take_arc(c, r, math.atan2(y0 - c[1], x0 - c[0]), sweep)
    lo, hi = (doc.header[k] for k in ("$EXTMIN", "$EXTMAX"))
    return box, profiles, [(hi[i] - lo[i]) * mm for i in (0, 1)]


def check(path, part, row):
    root = ET.parse(path).getroot()
    need(root.tag == NS + "svg", "not an svg element")
    size = []
    for key in ("width", "height"):
        need(root.get(key, "").endswith("mm"), f"{key} is not in mm")
        size.append(float(root.get(key)[:-2]))
    view = [float(v) for v in root.get("viewBox").split()]
    need(view[:2] == [0.0, 0.0] and view[2:] == size, "the view box is not the page in mm")
    need(root.find(NS + "title") is not None and root.find(NS + "title").text.strip(), "no title")
    check_fills(root)
    title = root.find(NS + "title").text
    for words in row:
        need(words in title, f"the title does not say `{words}`")
    box, profiles = Box(), 0
    cut = [g for g in root.iter(NS + "g") if g.get("class") == "cut"]
    need(len(cut) == 1, "not one group of outer profiles")
    for p in cut[0].iter(NS + "path"):
        path_box(p.get("d"), box)
        profiles += 1
    want, count, extents = dxf_box(path.with_suffix(".dxf"))
    need(profiles == count, f"{profiles} profiles, {count} in the DXF")
    for i, name in enumerate(("length", "width")):
        off = box.size()[i] - want.size()[i]
        need(abs(off) < TOLERANCE_MM, f"{name} of the profiles is off by {off:.4f} mm")
        need(size[i] >= extents[i] - TOLERANCE_MM, f"the page is smaller than the drawing's {name}")
        need(box.lo[i] >= 0 and box.hi[i] <= size[i], "a profile runs off the page")
    bars = sorted(float(e.get("data-length-mm")) for e in root.iter(NS + "line") if e.get("data-length-mm"))
    if part:
        need(bars == [100.0, 101.6], f"bars of {bars} mm")
        for e in root.iter(NS + "line"):
            if e.get("data-length-mm"):
                long = float(e.get("x2")) - float(e.get("x1"))
                need(abs(long - float(e.get("data-length-mm"))) < 1e-5, "a bar of the wrong length")
    else:
        pad = [s - e for s, e in zip(size, extents)]
        need(abs(pad[0] - pad[1]) < TOLERANCE_MM, "the page is not the drawing and an even margin")
    return f"{size[0]:.1f} x {size[1]:.1f} mm, {profiles} profiles"


def main():
    out = Path(sys.argv[1])
    failed, files = 0, 0
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    inches = "in thick" in "".join(p.read_text(encoding="utf-8") for p in sorted((out / "sheets").glob("*-1.svg")))
    thick = lambda s: f"{s['thickness_mm'] / 25.4:.3f} in thick" if inches else f"{s['thickness_mm']:.1f} mm thick"
    rows = {s["name"]: (summary["job"]["name"], s["stock"], s["material"], thick(s)) for s in summary["sheets"]}
    for folder in ("parts", "sheets"):
        for path in sorted((out / folder).glob("*.svg")):
            files += 1
            try:
                print(f"ok    {path}: {check(path, folder == 'parts', rows.get(path.stem, ()) if folder == 'sheets' else ())}")
            except (Bad, OSError, ET.ParseError, ezdxf.DXFError) as e:
                failed += 1
                print(f"FAIL  {path}: {e}")
        for path in (out / folder).glob("*.dxf"):
            if not path.with_suffix(".svg").exists():
                failed += 1
                print(f"FAIL  {path}: no SVG beside it")
    print(f"{files} files, {failed} failures")
    return 1 if failed or not files else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: check_svg.py OUT")
    sys.exit(main())
