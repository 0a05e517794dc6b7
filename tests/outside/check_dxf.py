"""Checks every DXF file of an output folder with ezdxf, strictly.

    python check_dxf.py OUT [--layers CUT=OUTSIDE,HOLE=INSIDE]

Each file of parts/ and sheets/ must load without recovery and audit with no
error and no fix; units, layers, closed profiles, arcs, areas and hole counts
must match summary.json. Prints one line a file; exit 1 on any failure.
"""
import argparse
import json
import logging
import math
import sys
from pathlib import Path

import ezdxf

LAYERS = ("CUT", "HOLE", "MARK", "LABEL", "SHEET", "LEAD")
UNIT_MM = {1: 25.4, 4: 1.0}      # $INSUNITS
LENGTH_MM = 1e-4                 # written to nine decimals, read as float
AREA_RATIO = 1e-8


said = []


class Listener(logging.Handler):
    """Keeps what the reader warns of: a warning is a failure here."""

    def emit(self, record):
        said.append(record.getMessage())


logging.getLogger("ezdxf").addHandler(Listener(level=logging.WARNING))


class Bad(Exception):
    """What is wrong with a file."""


def need(condition, what):
    if not condition:
        raise Bad(what)


def pieces(vertices):
    n = len(vertices)
    for i in range(n):
        yield vertices[i], vertices[(i + 1) % n]


def area_mm2(vertices):
    """Signed area of a closed profile with bulges: polygon and segments."""
    total = 0.0
    for (x0, y0, b), (x1, y1, _) in pieces(vertices):
        total += (x0 * y1 - x1 * y0) / 2
        chord = math.hypot(x1 - x0, y1 - y0)
        if b != 0.0 and chord > 0.0:
            sweep = 4 * math.atan(b)
            radius = chord * (1 + b * b) / (4 * abs(b))
            total += radius * radius * (sweep - math.sin(sweep)) / 2
    return total


def read(path, plain):
    """Shapes by plain layer name, mm, after the strict checks."""
    said.clear()
    doc = ezdxf.readfile(path)
    auditor = doc.audit()
    need(not said, f"the reader warns: {said[:2]}")
    need(not auditor.errors, f"audit errors: {[str(e.message) for e in auditor.errors][:3]}")
    need(not auditor.fixes, f"audit fixes: {[str(e.message) for e in auditor.fixes][:3]}")
    need(doc.dxfversion in ("AC1009", "AC1015"), f"version {doc.dxfversion}")
    units = doc.header.get("$INSUNITS")
    need(units in UNIT_MM, f"$INSUNITS is {units}")
    need(doc.header.get("$MEASUREMENT") == (1 if units == 4 else 0), "$MEASUREMENT contradicts $INSUNITS")
    mm = UNIT_MM[units]
    shapes = {k: {"profiles": [], "circles": [], "strokes": [], "texts": []} for k in LAYERS}
    used = set()
    for e in doc.modelspace():
        need(e.dxf.layer in plain, f"a {e.dxftype()} on the layer {e.dxf.layer}")
        used.add(e.dxf.layer)
        on = shapes[plain[e.dxf.layer]]
        kind = e.dxftype()
        if kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                need(doc.dxfversion == "AC1015", "an LWPOLYLINE in release 12")
                points, closed = [tuple(p) for p in e.get_points("xyb")], e.closed
            else:
                points = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in e.vertices]
                closed = e.is_closed
            points = [(x * mm, y * mm, b) for x, y, b in points]
            on["profiles" if closed else "strokes"].append(points)
        elif kind == "CIRCLE":
            on["circles"].append((e.dxf.center.x * mm, e.dxf.center.y * mm, e.dxf.radius * mm))
        elif kind == "TEXT":
            need(0.0 <= e.dxf.rotation < 360.0, f"a text turned by {e.dxf.rotation} degrees")
            on["texts"].append((e.dxf.text, e.dxf.insert.x * mm, e.dxf.insert.y * mm))
        else:
            raise Bad(f"an entity of the kind {kind}")
    table = {layer.dxf.name for layer in doc.layers}
    spare = table - used - {"0", "Defpoints"}
    need(not spare, f"layers with nothing on them: {sorted(spare)}")
    return doc, shapes


def cut_area(shapes):
    return sum(abs(area_mm2(p)) for p in shapes["CUT"]["profiles"])


def hole_count(shapes):
    return len(shapes["HOLE"]["circles"]) + len(shapes["HOLE"]["profiles"])


def hole_area(shapes):
    circles = sum(math.pi * r * r for _, _, r in shapes["HOLE"]["circles"])
    return circles + sum(abs(area_mm2(p)) for p in shapes["HOLE"]["profiles"])


def same_area(got, want, what):
    need(abs(got - want) <= AREA_RATIO * max(want, 1.0) + 1e-3, f"{what} {got:.4f} mm2, not {want:.4f}")


def common(shapes):
    cut = shapes["CUT"]
    need(not cut["strokes"], "an open line on CUT")
    need(not cut["circles"] or not cut["profiles"], "circles and profiles mixed on CUT")
    need(not shapes["HOLE"]["strokes"], "an open line on HOLE")
    for profile in cut["profiles"]:
        need(area_mm2(profile) > 0, "an outer profile that runs clockwise")
        for (x0, y0, _), (x1, y1, _) in pieces(profile):
            need(math.hypot(x1 - x0, y1 - y0) > 1e-6, "two vertices of a profile in one place")


def check_part(path, part, plain):
    _, shapes = read(path, plain)
    common(shapes)
    need(len(shapes["CUT"]["profiles"]) == 1, "not one closed profile on CUT")
    profile = shapes["CUT"]["profiles"][0]
    need(not shapes["SHEET"]["profiles"], "a stock edge on a part")
    need(len(profile) == part["vertices"], f"{len(profile)} vertices, not {part['vertices']}")
    same_area(cut_area(shapes), part["area_mm2"], "area")
    same_area(cut_area(shapes) - hole_area(shapes), part["net_area_mm2"], "net area")
    need(hole_count(shapes) == part["holes"], f"{hole_count(shapes)} holes, not {part['holes']}")
    need(shapes["MARK"]["strokes"], "nothing on MARK")
    arcs = sum(1 for v in profile if v[2] != 0.0)
    return f"{len(profile)} vertices, {arcs} arcs, {part['holes']} holes", arcs


def check_sheet(path, sheet, parts, plain):
    _, shapes = read(path, plain)
    common(shapes)
    stock = shapes["SHEET"]["profiles"]
    need(len(stock) == 1, "not one stock edge")
    xs, ys = [v[0] for v in stock[0]], [v[1] for v in stock[0]]
    need(abs(min(xs)) < LENGTH_MM and abs(min(ys)) < LENGTH_MM, "the stock does not begin at the origin")
    need(abs(max(xs) - sheet["length_mm"]) < LENGTH_MM, "stock length")
    need(abs(max(ys) - sheet["width_mm"]) < LENGTH_MM, "stock width")
    low = min(v[i] for s in shapes.values() for p in s["profiles"] + s["strokes"] for v in p for i in (0, 1))
    low = min([low] + [v[i] for s in shapes.values() for v in s["texts"] for i in (1, 2)])
    need(low > -LENGTH_MM, f"a coordinate of {low:.3f} mm")
    on = [parts[p["name"]] for p in sheet["parts"]]
    need(len(shapes["CUT"]["profiles"]) == len(on), f"{len(shapes['CUT']['profiles'])} profiles, not {len(on)}")
    same_area(cut_area(shapes), sum(p["area_mm2"] for p in on), "area of the parts")
    same_area(cut_area(shapes) - hole_area(shapes), sheet["used_area_mm2"], "net area of the parts")
    need(hole_count(shapes) == sum(p["holes"] for p in on), "hole count")
    same_area(sheet["length_mm"] * sheet["width_mm"], sheet["sheet_area_mm2"], "sheet area")
    need(abs(sheet["used_area_mm2"] / sheet["sheet_area_mm2"] - sheet["yield"]) < 1e-9, "yield")
    notes = " ".join(t[0] for t in shapes["LABEL"]["texts"])
    for word in ("NET SIZE", sheet["material"], "kerf", "gap", "margin", "Heaviest part"):
        need(word in notes, f"the sheet does not say `{word}`")
    return f"{len(on)} parts, yield {sheet['yield']:.3f}"


def check_planned(path, sheet, plain):
    """A sheet with leads or paths off the net size: sound as a file, and as
    many pierces as the summary says. check_cuts.py measures it."""
    _, shapes = read(path, plain)
    cuts = hole_count(shapes) + sum(len(shapes[k]["strokes"]) for k in ("CUT", "HOLE")) + len(shapes["CUT"]["profiles"])
    need(cuts == sheet["cutting"]["pierces"], f"{cuts} cuts, not {sheet['cutting']['pierces']}")
    return f"{cuts} cuts, {len(shapes['LEAD']['strokes'])} leads"


def check_remnant(path, row, plain):
    _, shapes = read(path, plain)
    edges, holes = shapes["SHEET"]["profiles"], shapes["HOLE"]["profiles"]
    need(len(edges) == 1, "not one edge")
    need(len(edges[0]) + sum(map(len, holes)) == row["corners"], "corners")
    need(abs(abs(area_mm2(edges[0])) - hole_area(shapes) - row["area_mm2"]) < 1.0, "area")
    return f"{row['corners']} corners"


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("out", type=Path)
    ask.add_argument("--layers", default="", help="renamed layers, CUT=NAME,...")
    args = ask.parse_args()
    renamed = dict(p.split("=", 1) for p in args.layers.split(",") if p)
    plain = {renamed.get(k, k): k for k in LAYERS}
    summary = json.loads((args.out / "summary.json").read_text(encoding="utf-8"))
    parts = {p["name"]: p for p in summary["parts"]}
    sheets = {s["name"]: s for s in summary["sheets"]}
    failed, arcs, files = 0, 0, 0

    def one(folder, name, check):
        nonlocal failed, files
        path = args.out / folder / f"{name}.dxf"
        files += 1
        try:
            print(f"ok    {path}: {check(path)}")
        except (Bad, OSError, ezdxf.DXFError) as e:
            failed += 1
            print(f"FAIL  {path}: {e}")

    def part(p):
        def check(path):
            nonlocal arcs
            text, count = check_part(path, p, plain)
            arcs += count
            return text
        return check

    for name, p in parts.items():
        one("parts", name, part(p))
    for name, s in sheets.items():
        if summary["cutting"]["paths"] != "net" or summary["cutting"]["leads"] != "none":
            one("sheets", name, lambda path, s=s: check_planned(path, s, plain))
        else:
            one("sheets", name, lambda path, s=s: check_sheet(path, s, parts, plain))
        for row in s["remnants"]:
            stem = Path(row["file"]).stem
            one("remnants", stem, lambda path, row=row: check_remnant(path, row, {k: k for k in LAYERS}))
    for folder, known in (("parts", parts), ("sheets", sheets)):
        for path in sorted((args.out / folder).glob("*.dxf")):
            if path.stem not in known:
                failed += 1
                print(f"FAIL  {path}: not in summary.json")
    placed = sorted(p["name"] for s in summary["sheets"] for p in s["parts"])
    if placed != sorted(parts):
        failed += 1
        print("FAIL  the sheets do not hold every part once")
    if arcs == 0:
        failed += 1
        print("FAIL  no arc in any part")
    print(f"{files} files, {failed} failures, {arcs} arcs")
    return 1 if failed or not files else 0


if __name__ == "__main__":
    sys.exit(main())
