"""Every nested sheet, measured from its written drawing.

    check_sheets.py OUT JOB

From sheets/*.dxf by ezdxf and shapely: part to part at least the gap, part to
edge at least the margin (both from the job), holes, marks and letters inside
their part, every part there once, turned and shifted but never flipped. Holes
and marks come before their outline; each part's label is one block, whole or
told; names on the picture stand clear; no letter lies where a doubler hides it;
job, stock and thickness are told.
Prints a table; exits 1 on a fault.
"""
import re
import sys
from itertools import combinations

import numpy as np
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

import geometry as geo
from drawings import Output, area, flatten_profile, read_dxf
from lengths import mm
from outlines import in_order
from reading import holes_first, off_doublers, pictured, texts_lie_well

SAGITTA_MM = 0.002       # of flattened arcs
SLACK_MM = 0.01          # of both chords and of written digits
SAME_MM = 0.01           # a placed outline lies on its part's outline within this


def lay_on(profile, part, mirrored=False):
    """Largest gap of a placed profile's corners from a part's, turned and
    shifted; any corner may be written first."""
    if len(profile) != len(part):
        return np.inf
    a, b = part, profile
    if mirrored:
        # Mirrored and run the other way round: a bulge belongs to the corner
        # its piece leaves, so it moves on by one.
        a = np.column_stack([a[:, 0], -a[:, 1], np.roll(a[:, 2], -1)])[::-1]
        a = np.column_stack([a[:, :2], np.roll(part[:, 2][::-1], -1)])
    # Start at each corner whose longest pieces and bulges agree.
    n = len(a)
    size = lambda p: np.linalg.norm(np.roll(p[:, :2], -1, axis=0) - p[:, :2], axis=1)
    la, lb = size(a), size(b)
    starts = np.arange(n)
    for j in np.argsort(lb)[::-1][:8]:
        i = (starts + j) % n
        starts = starts[(np.abs(la[i] - lb[j]) < 2 * SAME_MM) & (np.abs(a[i, 2] - b[j, 2]) < 1e-3)]
    best = np.inf
    for k in starts:
        turned = np.roll(a, -k, axis=0)
        if np.abs(turned[:, 2] - b[:, 2]).max() < 1e-3:
            best = min(best, geo.rigid_fit(turned[:, :2], b[:, :2])[2].max())
            if best < SAME_MM:
                break
    return best


def identify(profile, parts, left, written):
    """Name of the part of this shape, first among those still to be found; of
    parts of one shape the one whose name is `written` in it."""
    here = area(flatten_profile(profile, SAGITTA_MM))
    found, flipped = [], []
    for name, (outline, size) in parts.items():
        if abs(abs(here) - abs(size)) > 1e-4 * abs(size) + 1.0:
            continue
        if lay_on(profile, outline) < SAME_MM:
            found.append(name)
        elif lay_on(profile, outline, mirrored=True) < SAME_MM:
            flipped.append(name)
    for name in sorted(found, key=lambda n: n not in written):
        if name in left:
            return name, found
    return (found[0] if found else None), (found or [f"{n} flipped" for n in flipped])


def inside(polygon, shapes, what, name, faults):
    """Shapes of a part lie in it."""
    grown = polygon.buffer(SLACK_MM)
    for shape in shapes:
        if not grown.covers(shape):
            faults.append(f"{name}: {what} outside the part near {shape.centroid.coords[0]}")


def check_sheet(path, out, parts, left, gap, margin, clamped, faults):
    """One sheet; removes the parts found from `left`."""
    d = read_dxf(path, out.names)
    label = path.stem
    edges = [flatten_profile(p, SAGITTA_MM) for p in d.profiles["SHEET"]]
    edges += [Point(x, y).buffer(r, 256).exterior.coords for x, y, r in d.circles["SHEET"]]
    if not edges or (len(edges) > 1 and label not in clamped):
        faults.append(f"{label}: {len(edges)} stock edges")
        return
    edges = sorted((np.asarray(e) for e in edges), key=lambda e: -abs(area(e)))
    # The flattened arc of a remnant's edge may miss its furthest point.
    off = SAGITTA_MM if label in clamped else 1e-6
    if np.abs(edges[0].min(axis=0)).max() > off:
        faults.append(f"{label}: the sheet's corner is at {edges[0].min(axis=0)}, not the origin")
    # Holes of a remnant and clamps are no ground.
    whole = Polygon(edges[0], edges[1:])
    sheet = whole.difference(unary_union(clamped.get(label, [])))
    polygons, names = [], []
    for profile in d.profiles["CUT"]:
        ground = Polygon(flatten_profile(profile, SAGITTA_MM)).buffer(0)
        written = {word for text, x, y in d.texts["LABEL"] + d.texts["MARK"]
                   if ground.contains(Point(x, y)) for word in text.split()}
        name, maybe = identify(profile, parts, left, written)
        if name is None:
            faults.append(f"{label}: an outline is no part's ({', '.join(maybe) or 'unknown shape'})")
            name = "?"
        elif name not in left:
            faults.append(f"{label}: {name} is there too often")
        left.discard(name)
        polygon = Polygon(flatten_profile(profile, SAGITTA_MM))
        if not polygon.is_valid or area(flatten_profile(profile)) < 0:
            faults.append(f"{label}: {name}'s outline crosses itself or runs clockwise")
        polygons.append(polygon.buffer(0))
        names.append(name)
    ground = sheet.buffer(SLACK_MM)
    least_edge = min((sheet.boundary.distance(p) if ground.contains(p) else -1.0 for p in polygons),
                     default=np.inf)
    least_gap = min((a.distance(b) for a, b in combinations(polygons, 2)), default=np.inf)
    if least_edge < margin - SLACK_MM:
        faults.append(f"{label}: a part {least_edge:.3f} mm from the edge, margin {margin}")
    if least_gap < gap - SLACK_MM:
        faults.append(f"{label}: parts {least_gap:.3f} mm apart, gap {gap}")
    owners(d, polygons, names, label, faults)
    holes_first(d, label, faults)
    labelled(d, out, names, label, faults)
    pictured(d, polygons, names, label, faults)
    row = {s["name"]: s for s in out.summary["sheets"]}.get(label, {})
    if "thickness_mm" in row:
        told(d, out, row, faults)
    off_doublers(d, doublers(out), label, faults)
    print(f"{label:14}{len(polygons):6d}{least_gap:10.3f}{least_edge:10.3f}"
          f"{sum(p.area for p in polygons) / whole.area:8.1%}  {' '.join(in_order(names))}")


def owners(d, polygons, names, label, faults):
    """Holes, marks and names lie inside a part; its own as far as its drawing tells."""
    tree = STRtree(polygons)
    shapes = [("a hole", Point(x, y).buffer(r, 64)) for x, y, r in d.circles["HOLE"]]
    shapes += [("a hole", Polygon(flatten_profile(p))) for p in d.profiles["HOLE"]]
    shapes += [("a mark", LineString(s)) for s in d.strokes["MARK"]]
    shapes += [("a mark", Polygon(flatten_profile(p)).exterior) for p in d.profiles["MARK"]]
    for what, shape in shapes:
        near = tree.query(shape)
        if not any(polygons[i].buffer(SLACK_MM).covers(shape) for i in near):
            faults.append(f"{label}: {what} is not inside one part near {shape.centroid.coords[0]}")
    texts = d.texts["LABEL"] + d.texts["MARK"]
    for polygon, name in zip(polygons, names):
        if not any(name in text.split() and polygon.contains(Point(x, y)) for text, x, y in texts):
            faults.append(f"{label}: {name} has no name in it as text")


def doublers(out):
    """Areas of the doublers, mm2."""
    return [p["area_mm2"] for p in out.parts.values() if p["kind"] == "doubler"]


def labelled(d, out, names, label, faults):
    """Each part bears its whole label once, or the want of room is told."""
    rows = [out.parts[n] for n in names if n in out.parts]
    whole = texts_lie_well(d, rows, label, faults)
    warned = " ".join(w for w in out.summary["warnings"] if w.startswith("no room for "))
    for n in (p["name"] for p in rows):
        told_so = re.search(rf"\bon {re.escape(n)} `|more parts", warned)
        if whole.count(n) != 1 and not (told_so and n not in whole):
            faults.append(f"{label}: {whole.count(n)} labels of {n}, and no word of it")


def told(d, out, row, faults):
    """A written sheet says of which job it is and what it is cut from; its
    parts bear their name to be read on a picture of it."""
    said = " ".join(t for t, _, _ in d.texts["LABEL"])
    thick = (f"{row['thickness_mm']:.1f}", f"{row['thickness_mm'] / 25.4:.3f} in")
    for words in (out.summary["job"]["name"], row["stock"], row["material"]):
        if words not in said:
            faults.append(f"{row['name']}: does not say `{words}`")
    if not any(t in said for t in thick):
        faults.append(f"{row['name']}: does not say how thick it is")
    plates = [p["name"] for p in row["parts"] if out.parts[p["name"]]["kind"] != "doubler"]
    large = {n: max((i.height for i in d.order if i.text == n), default=0.0) for n in plates}
    narrow = min(mm(out.job[k].get("width", "5 in")) for k in ("base", "top") if k in out.job)
    if plates and sorted(large.values())[len(plates) // 2] < min(row["length_mm"] / 160, 0.2 * narrow):
        faults.append(f"{row['name']}: names of parts are too small for a picture: {large}")


def check_part(name, out, faults):
    """A part's own drawing: one outline, all else inside it. Its outline."""
    d = out.part(name)
    holes_first(d, name, faults)
    labelled(d, out, [name], name, faults)
    if len(d.profiles["CUT"]) != 1:
        faults.append(f"{name}: {len(d.profiles['CUT'])} outlines")
        return None
    outline = d.profiles["CUT"][0]
    pts = flatten_profile(outline, SAGITTA_MM)
    polygon = Polygon(pts)
    inside(polygon, [Point(x, y).buffer(r, 64) for x, y, r in d.circles["HOLE"]], "a hole", name, faults)
    inside(polygon, [LineString(s) for s in d.strokes["MARK"]], "a mark", name, faults)
    return outline, area(pts)


def main(folder, job_path):
    """Run all; returns the faults."""
    out, faults = Output(folder, job_path), []
    gap, margin = mm(out.job["cutting"]["gap"]), mm(out.job["cutting"]["edge_margin"])
    parts = {n: check_part(n, out, faults) for n in in_order(out.parts)}
    marked = sum(off_doublers(out.part(n), doublers(out), n, faults)
                 for n, p in out.parts.items() if p["kind"] == "base-plate")
    if marked != len(doublers(out)):
        faults.append(f"{marked} doublers marked on base plates, there are {len(doublers(out))}")
    parts = {n: v for n, v in parts.items() if v is not None}
    left = set(parts)
    # Sheets that may have holes, by name, with their clamps.
    clamps = {}
    for stock in out.job["sheet"]:
        boxes = [[mm(v) for v in c] for c in stock.get("clamps", [])]
        clamps[stock.get("name")] = [box(x, y, x + l, y + w) for x, y, l, w in boxes]
    odd = {s.get("name") for s in out.job["sheet"] if "remnant" in s or "clamps" in s}
    clamped = {s["name"]: clamps[s["stock"]] for s in out.summary["sheets"] if s.get("stock") in odd}
    if clamped:
        print("with remnants or clamps:", " ".join(sorted(clamped)))
    print(f"{'sheet':14}{'parts':>6}{'gap mm':>10}{'edge mm':>10}{'filled':>8}")
    paths = sorted((out.folder / "sheets").glob("*.dxf"))
    for path in paths:
        check_sheet(path, out, parts, left, gap, margin, clamped, faults)
    if len(paths) != len(out.summary["sheets"]):
        faults.append(f"{len(paths)} sheet drawings, {len(out.summary['sheets'])} in the summary")
    if left:
        faults.append(f"on no sheet: {', '.join(in_order(left))}")
    for f in faults:
        print("FAULT", f)
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1], sys.argv[2]) else 0)
