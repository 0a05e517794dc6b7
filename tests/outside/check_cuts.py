"""Paths, leads and remnants, measured from the written drawings.

    check_cuts.py OUT JOB [OFFSETS]

With ezdxf and shapely, from sheets/*.dxf, remnants/*.dxf and the parts' own
drawings laid where the summary says: paths half a kerf from the net profile
and of the area of its parallel, every part what falls out of the plate when
all is cut (where no tabs hold it), leads clear of every part and each about its
path in the file, holes before their outline, remnants in free ground, as many
strokes of the marker and as long as the summary says. OFFSETS is the program of
tests/outside/offsets: with it, the areas of
the paths are measured once more by another library. Prints a table; exits 1
on a fault.
"""
import math
import subprocess
import sys

import numpy as np
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from drawings import Output, flatten_profile, read_dxf
from lengths import mm
from reading import holes_first, leads_about_paths, loop

CHORD_MM = 0.0005        # of flattened arcs
SLACK_MM = 0.003         # of chords and written digits
IN_METAL_MM = 0.05      # a lead may touch its own profile
COARSE_MM = 0.02         # of arcs flattened for the other library, which grows as n^2


def part_leads(d):
    """Cuts that are one line with their leads, as profile and leads."""
    for layer in ("CUT", "HOLE"):
        strokes, d.strokes[layer] = d.strokes[layer], []
        for line in strokes:
            way = loop(line)
            if way is None:
                d.strokes[layer].append(line)
                continue
            at = int(np.flatnonzero((line == way[0]).all(axis=1))[0])
            d.profiles[layer].append(np.column_stack([way[:-1], np.zeros(len(way) - 1)]))
            d.strokes["LEAD"] += [s for s in (line[:at + 1], line[at + len(way) - 1:]) if len(s) > 1]


def turned(points, row):
    """Points of a part where the summary lays it."""
    a = math.radians(row["turn_deg"])
    c, s = math.cos(a), math.sin(a)
    return points @ np.array([[c, s], [-s, c]]) + [row["x_mm"], row["y_mm"]]


def net_parts(out, sheet):
    """Outline and metal (outline less holes) of every part of a sheet."""
    found = []
    for row in sheet["parts"]:
        d = out.part(row["name"])
        outline = Polygon(turned(flatten_profile(d.profiles["CUT"][0], CHORD_MM), row))
        holes = [Point(*turned(np.array([[x, y]]), row)[0]).buffer(r, 256)
                 for x, y, r in d.circles["HOLE"]]
        found.append((row["name"], outline, holes, outline.difference(unary_union(holes))))
    return found


def check_paths(label, d, parts, kerf, offsets, faults):
    """Closed paths against the parallels of their net profiles."""
    worst = 0.0
    pairs = []
    for profile in d.profiles["CUT"]:
        path = Polygon(flatten_profile(profile, CHORD_MM))
        own = [o for _, o, _, _ in parts if path.contains(o.representative_point())]
        if len(own) != 1:
            faults.append(f"{label}: a path goes round {len(own)} parts")
            continue
        pairs.append((path, own[0], kerf / 2))
    for profile in d.profiles["HOLE"]:
        path = Polygon(flatten_profile(profile, CHORD_MM))
        own = [h for _, _, holes, _ in parts for h in holes if h.contains(path.representative_point())]
        if len(own) != 1:
            faults.append(f"{label}: a path lies in {len(own)} holes")
            continue
        pairs.append((path, own[0], -kerf / 2))
    if offsets:
        second_opinion(label, pairs, offsets, faults)
    for path, net, by in pairs:
        exact = net.buffer(by, quad_segs=256).area
        if abs(path.area - exact) > 2 * SLACK_MM * net.length:
            faults.append(f"{label}: a path of {path.area:.2f} mm2, its parallel has {exact:.2f}")
        far = [net.exterior.distance(Point(p)) for p in path.exterior.segmentize(25).coords]
        off = max(abs(min(far) - abs(by)), abs(max(far) - abs(by)))
        worst = max(worst, off)
        if off > SLACK_MM + 0.002:
            faults.append(f"{label}: a path {min(far):.4f} to {max(far):.4f} mm off, half the kerf is {abs(by)}")
    return worst


def check_pieces(label, d, parts, sheet, half, faults):
    """What falls out of the plate along all cuts, against the parts."""
    rings = [LineString(np.vstack([p, p[:1]])) for layer in ("CUT", "HOLE")
             for p in (flatten_profile(q, CHORD_MM) for q in d.profiles[layer])]
    rings += [LineString(s) for layer in ("CUT", "LEAD") for s in d.strokes[layer]]
    cuts = [r.buffer(half, quad_segs=16) for r in rings]
    cuts += [Point(x, y).buffer(r + half, 64).difference(Point(x, y).buffer(max(r - half, 0.0), 64))
             for x, y, r in d.circles["HOLE"]]
    swept = unary_union(cuts)
    left = sheet.difference(swept)
    pieces = list(left.geoms) if left.geom_type == "MultiPolygon" else [left]
    tree = STRtree(pieces)
    worst = 0.0
    for name, _, _, metal in parts:
        inner = metal.buffer(-IN_METAL_MM)
        own = [pieces[i] for i in tree.query(inner.representative_point(), predicate="within")]
        if len(own) != 1:
            faults.append(f"{label}: {name} does not fall out as one piece")
            continue
        off = own[0].symmetric_difference(metal).area / metal.length
        worst = max(worst, off)
        same = own[0].buffer(SLACK_MM).covers(metal) and metal.buffer(SLACK_MM).covers(own[0])
        if not same:
            faults.append(f"{label}: {name} as cut is over {SLACK_MM} mm off, in the mean {off:.4f} mm")
    return worst


def second_opinion(label, pairs, offsets, faults):
    """Areas of the parallels by geo-offset, of outlines with coarser arcs."""
    lines = []
    for _, net, by in pairs:
        ring = np.array(net.simplify(COARSE_MM).exterior.coords)[:-1]
        lines.append(" ".join(f"{v:.6f}" for v in [by, *ring.ravel()]))
    told = subprocess.run([offsets], input="\n".join(lines), capture_output=True, text=True, check=True)
    for (path, net, _), line in zip(pairs, told.stdout.splitlines(), strict=True):
        other, loops = line.split()
        if loops != "1" or abs(path.area - float(other)) > (COARSE_MM + SLACK_MM) * net.length:
            faults.append(f"{label}: a path of {path.area:.2f} mm2, geo-offset says {other} in {loops}")


def check_leads(label, d, parts, sheet, half, clearance, faults):
    """Every lead keeps its distances and lies on the sheet."""
    least = [np.inf, np.inf]
    core = STRtree([metal.buffer(-IN_METAL_MM) for _, _, _, metal in parts])
    for lead in d.strokes["LEAD"]:
        line = LineString(lead)
        far = sorted(metal.distance(line) for _, _, _, metal in parts)
        least = [min(least[0], far[0]), min([least[1], *far[1:2]])]
        if far[0] < half - SLACK_MM:
            faults.append(f"{label}: a lead {far[0]:.3f} mm from its part near {lead[0]}")
        if len(core.query(line, predicate="intersects")):
            faults.append(f"{label}: a lead in the metal of a part near {lead[0]}")
        if len(far) > 1 and far[1] < half + clearance - SLACK_MM:
            faults.append(f"{label}: a lead {far[1]:.3f} mm from another part near {lead[0]}")
        if sheet.exterior.distance(line) < half or not sheet.contains(line):
            faults.append(f"{label}: a lead runs off the sheet near {lead[0]}")
    return least


def check_remnants(out, sheet, stock, parts, gap, faults):
    """Remnants in free ground, the gap from every part."""
    least = np.inf
    metal = unary_union([o for _, o, _, _ in parts])
    for row in sheet["remnants"]:
        d = read_dxf(out.folder / row["file"])
        if len(d.profiles["SHEET"]) != 1:
            faults.append(f"{row['file']}: {len(d.profiles['SHEET'])} edges")
            continue
        move = [row["x_mm"], row["y_mm"]]
        rings = [flatten_profile(p, CHORD_MM) + move for p in d.profiles["SHEET"] + d.profiles["HOLE"]]
        piece = Polygon(rings[0], rings[1:])
        if not piece.is_valid or abs(piece.area - row["area_mm2"]) > 1.0:
            faults.append(f"{row['file']}: not sound, or {piece.area:.1f} mm2, not {row['area_mm2']}")
        far = piece.distance(metal)
        least = min(least, far)
        if far < gap - SLACK_MM:
            faults.append(f"{row['file']}: {far:.3f} mm from a part, the gap is {gap}")
        if not stock.buffer(SLACK_MM).covers(piece):
            faults.append(f"{row['file']}: not on its sheet")
        texts = " ".join(t for t, _, _ in d.texts["LABEL"])
        if "THICKNESS" not in texts or f"ALLOY {sheet['material']}" not in texts:
            faults.append(f"{row['file']}: does not say what it is of")
    return least


def check_marks(label, d, figures, faults):
    """Strokes on layer MARK, counted and measured."""
    strokes = d.strokes["MARK"]
    length = sum(np.hypot(*np.diff(s[:, :2], axis=0).T).sum() for s in strokes)
    if len(strokes) != figures["mark_strokes"] or abs(length - figures["mark_length_mm"]) > 1e-4 * length + 0.01:
        faults.append(f"{label}: {len(strokes)} strokes of {length:.1f} mm are marked, "
                      f"{figures['mark_strokes']} of {figures['mark_length_mm']} mm are told")


def main(folder, job_path, offsets=None):
    """Run all; returns the faults."""
    out, faults = Output(folder, job_path), []
    cutting = out.summary["cutting"]
    kerf, gap = out.summary["job"]["kerf_mm"], out.summary["job"]["gap_mm"]
    clearance = mm(out.job["cutting"].get("lead_clearance", "1 mm"))
    compensated = cutting["paths"] == "compensated"
    print(f"{'sheet':10}{'off by':>8}{'lead own':>10}{'other':>8}{'remnants':>10}{'least mm':>10}")
    for sheet in out.summary["sheets"]:
        label = sheet["name"]
        d = read_dxf(out.folder / "sheets" / f"{label}.dxf", out.names)
        holes_first(d, label, faults)
        leads_about_paths(d, label, faults)
        if out.job["cutting"].get("lead_paths") == "joined":
            if d.profiles["CUT"] or d.strokes["LEAD"]:
                faults.append(f"{label}: {len(d.strokes['LEAD'])} leads apart from their path")
            part_leads(d)
        stock = Polygon(d.profiles["SHEET"][0][:, :2])
        parts = net_parts(out, sheet)
        off = check_paths(label, d, parts, kerf, offsets, faults) if compensated else 0.0
        if compensated and not sheet["cutting"]["tabs"] and not sheet["cutting"]["holes_to_drill"]:
            fallen = check_pieces(label, d, parts, stock, kerf / 2, faults)
            print(f"{label:10}parts as cut {fallen:.5f} mm off in the mean at most")
        half = kerf / 2 if compensated else 0.0
        leads = check_leads(label, d, parts, stock, half, clearance + kerf / 2 - half, faults)
        if cutting["leads"] != "none" and not d.strokes["LEAD"]:
            faults.append(f"{label}: no leads")
        check_marks(label, d, sheet["cutting"], faults)
        least = check_remnants(out, sheet, stock, parts, gap, faults)
        print(f"{label:10}{off:8.4f}{leads[0]:10.3f}{leads[1]:8.3f}{len(sheet['remnants']):10d}{least:10.3f}")
    for f in faults:
        print("FAULT", f)
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(*sys.argv[1:4]) else 0)
