"""An output folder made by geometry.py itself, to prove the checks: they must
pass it, and must fail it once it is spoilt. Not a check of the tool."""
import copy
import functools
import json
import math
import pickle

import ezdxf
import numpy as np
from shapely.geometry import Point, Polygon

import geometry as geo
from drawings import area
from lengths import mm

PLACE = ((0.3, 40.0, 25.0), (-1.1, 10.0, 900.0), (0.0, 0.0, 0.0))   # turns and shifts of parts


def bend_rows(strip, flat, a, b):
    """Bend lines from a to b along the flat edge: u, flat ends, and kn, tg (Darboux),
    turn, stretch, and what the line gains along the edge and square to it."""
    n = int(math.ceil((b - a) / 50.0)) + 1
    s = np.linspace(a, b, n)
    u = np.interp(s, flat.along, flat.u)
    sp = geo.spline(flat.along, flat.u)
    u = sp(s)
    d, dd = strip.edge.derivative(1)(u), strip.edge.derivative(2)(u)
    speed = np.linalg.norm(d, axis=1)
    N = strip.normal(u)
    kn = (dd * N).sum(1) / speed**2
    h = 0.5
    B = lambda q: np.cross(strip.normal(q), unit(strip.edge.derivative()(q)))
    q0, q1 = np.clip(u - h, flat.u[0], None), np.clip(u + h, None, flat.u[-1])
    tg = ((B(q1) - B(q0)) / (q1 - q0)[:, None] * N).sum(1) / speed
    out = geo.spline(flat.along, flat.outboard)(s)
    ruling = geo.spline(flat.along, flat.ruling)(s)
    T = geo.spline(flat.along, flat.outboard).derivative()(s)
    T /= np.linalg.norm(T, axis=1)[:, None]
    left = np.column_stack([-T[:, 1], T[:, 0]])
    inn = out + ruling * (strip.width / (ruling * left).sum(1))[:, None]
    T = unit(d)
    stretch = speed / geo.spline(flat.u, flat.along).derivative()(u) - 1
    kg = (dd * np.cross(N, T)).sum(1) / speed**2
    turn = kg - geo.spline(flat.along, flat.bend)(s) / (1 + stretch)
    # Flat and in space the line is as long; its angle to the edge differs.
    reach, flat_T = np.linalg.norm(inn - out, axis=1), geo.spline(flat.along, flat.outboard).derivative()(s)
    turned = lambda g, T: reach[:, None] * np.column_stack([c := (g * T).sum(1), np.sqrt(1 - c * c)])
    shift = turned(strip.ruling(u), T) - turned(ruling, unit(flat_T))
    return s, u, out, inn, np.column_stack([kn, tg, turn, stretch, shift])


def place(strip, flat, p):
    """u and the length along the ruling, of flat places."""
    C, G = geo.spline(flat.u, flat.outboard), geo.spline(flat.u, flat.ruling)
    middle = flat.outboard + strip.width / 2 * flat.ruling
    u = np.array([flat.u[np.argmin(np.linalg.norm(middle - q, axis=1))] for q in p])
    cross = lambda a, b: a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    for _ in range(20):
        r = p - C(u)
        f = cross(r, G(u))
        u = u - f / (cross(r, G.derivative()(u)) - cross(C.derivative()(u), G(u)))
    return u, ((p - C(u)) * G(u)).sum(1)


def true_curves(strip, flat, a, b, inn, holes):
    """The sides and the holes of a piece in space: name, places, axes of holes."""
    u, v = place(strip, flat, np.vstack([flat.point(np.array([q]), np.zeros(1))[0] for q in
                                         np.linspace(a, b, int((b - a) / 25.0) + 2)]))
    out = strip.edge(u)
    edge = geo.spline(flat.along, flat.inboard)
    lo, hi = (nearest(flat, strip.width, p) for p in (inn[0], inn[-1]))
    u, v = place(strip, flat, edge(np.linspace(lo, hi, len(out))))
    back = (strip.edge(u) + v[:, None] * strip.ruling(u))[::-1]
    w = np.linspace(0.0, 1.0, 9)[:, None]
    sides = [("outboard edge", out), ("aft end", out[-1] + w * (back[0] - out[-1])),
             ("inboard edge", back), ("fore end", back[-1] + w * (out[0] - back[-1]))]
    u, v = place(strip, flat, holes)
    at = strip.edge(u) + v[:, None] * strip.ruling(u)
    rate = strip.edge.derivative()(u) + v[:, None] * strip.ruling.derivative()(u)
    return sides, at, unit(np.cross(rate, strip.ruling(u)))

def unit(a):
    return a / np.linalg.norm(a, axis=-1)[..., None]


@functools.lru_cache(maxsize=4)
def sound(pickled, pieces):
    """The base strip and all parts of a job, unspoilt: as slow to make as all checks of them."""
    job = pickle.loads(pickled)
    base, top = geo.strips_of_survey(job)
    butt = mm(job["joints"]["weld_gap"]) - mm(job["joints"]["shrinkage"])
    parts = []
    for kind, letter, strip, plate, face in (("base-plate", "B", base, job["base"], 1.0),
                                             ("top-plate", "T", top, job["top"], -1.0)):
        flat = geo.flatten(strip)
        size = (flat.along[-1] - butt * (pieces - 1)) / pieces
        for i in range(pieces):
            a = i * (size + butt)
            parts.append(one_part(strip, flat, a, a + size, plate, f"{letter}{i + 1}", kind, face, PLACE[i % 3]))
    return base, parts


def write(job, folder, pieces=4, spoil=None):
    """The parts of both plates, cut square to the ruling into equal pieces.
    `spoil`: function of (name, part dictionary) that damages one."""
    for sub in ("parts", "sheets", "lists"):
        (folder / sub).mkdir(parents=True, exist_ok=True)
    base, made = sound(pickle.dumps(job), pieces)
    parts, bends, members, placed = [], [], [], []
    for part in copy.deepcopy(made):
        if spoil:
            spoil(part["name"], part)
        bends += part.pop("bends")
        members += part.pop("members")
        save(folder, part)
        placed.append(part)
        parts.append({k: part[k] for k in ("name", "kind", "face", "material", "place", "refold_gap_mm",
                                           "area_mm2", "thickness_mm")})
    save_sheet(folder, placed)
    (folder / "summary.json").write_text(json.dumps({"parts": parts, "sheets": [{"name": "sheet-1"}], "warnings": []}))
    write_list(folder / "lists" / "bends.csv", bends)
    write_list(folder / "lists" / "members.csv", members)
    line = base.line[::5]
    t = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line[:, :2], axis=0), axis=1))])
    g = base.ruling(base.u)[::5]
    slope = g[:, 2] / np.hypot(g[:, 0], g[:, 1])
    write_list(folder / "faired-edge.csv", [
        dict(chain=0, length=0, t_mm=t[i], x_mm=p[0], y_mm=p[1], z_mm=p[2], slope=slope[i])
        for i, p in enumerate(line)])


def one_part(strip, flat, a, b, plate, name, kind, face, where):
    s, u, out, inn, rates = bend_rows(strip, flat, a, b)
    turn, dx, dy = where
    c, q = math.cos(turn), math.sin(turn)
    R = np.array([[c, -q], [q, c]])
    lay = lambda p: (p @ R.T + [dx, dy]) * [1.0, face]
    fine = np.linspace(a, b, int((b - a) / 6.0) + 2)
    edge = geo.spline(flat.along, flat.outboard)(fine)
    lo, hi = (nearest(flat, strip.width, p) for p in (inn[0], inn[-1]))
    back, _d = flat.point(np.linspace(hi, lo, len(fine)), np.full(len(fine), strip.width))
    pts = lay(np.vstack([edge, back]))
    rows = plate["fasteners"]
    at = np.arange(a + 100, b - 100, 240.0)
    holes = np.vstack([flat.point(at, np.full(len(at), mm(rows["outboard_row"])))[0],
                       flat.point(at + 120, np.full(len(at), strip.width - mm(rows["inboard_row"])))[0]])
    sides, bored, axes = true_curves(strip, flat, a, b, inn, holes)
    across = ("outboard", "quarter", "middle", "three_quarters", "inboard")
    flat_ends = {e: lay(out + (inn - out) * k / 4) for k, e in enumerate(across)}
    bends = [{"part": name, "along_mm": s[i] - a,
              **{f"{e}_{c}_mm": f[i, k] for e, f in flat_ends.items() for k, c in enumerate("xy")},
              "curvature_per_m": r[0] * 1e3, "twist_deg_per_m": math.degrees(r[1]) * 1e3,
              "turn_deg_per_m": math.degrees(r[2]) * 1e3, "stretch_mm_per_m": r[3] * 1e3,
              "shift_along_mm": r[4], "shift_across_mm": r[5]} for i, r in enumerate(rates)]
    blank = dict(axis_x="", axis_y="", axis_z="", diameter_mm="")
    diameter = mm(rows["diameter"])
    members = [dict(part=name, curve=side, x_mm=p[0], y_mm=p[1], z_mm=p[2], **blank)
               for side, places in sides for p in places]
    members += [dict(part=name, curve=f"hole {i + 1}", x_mm=p[0], y_mm=p[1], z_mm=p[2], axis_x=n[0],
                     axis_y=n[1], axis_z=n[2], diameter_mm=diameter)
                for i, (p, n) in enumerate(zip(bored, axes))]
    return dict(
        name=name, kind=kind, face="upper" if face > 0 else "lower", refold_gap_mm=0.0,
        material=plate["alloy"], place=f"sta {a:.0f} mm to {b:.0f} mm",
        area_mm2=abs(area(pts)), outline=pts if area(pts) > 0 else pts[::-1], holes=lay(holes),
        diameter=diameter, thickness_mm=mm(plate["thickness"]), bends=bends, members=members)


def nearest(flat, width, point):
    s = flat.along[int(np.argmin(np.linalg.norm(flat.inboard - point, axis=1)))]
    for _ in range(30):
        c, d = flat.point(np.array([s]), np.zeros(1))
        s += float((point - c[0]) @ d[0])
    return s


def label(part):
    seen = {"upper": "above", "lower": "below"}[part["face"]]
    return (f"{part['name']} {part['kind']}, seen from {seen}, {part['material']} "
            f"{part['thickness_mm']} mm, qty 1, {part['place']}")


def save(folder, part):
    doc = ezdxf.new("R2000", units=4)
    for layer in ("CUT", "HOLE"):
        doc.layers.add(layer)
    msp = doc.modelspace()
    for x, y in part["holes"]:
        msp.add_circle((x, y), part["diameter"] / 2, dxfattribs={"layer": "HOLE"})
    msp.add_lwpolyline(part["outline"], close=True, dxfattribs={"layer": "CUT"})
    msp.add_text(label(part), height=0.1, dxfattribs={"layer": "LABEL", "insert": part["holes"][0]})
    doc.saveas(folder / "parts" / f"{part['name']}.dxf")


def save_sheet(folder, parts, gap=6.0, margin=10.0):
    """All parts on one large sheet, one above the other, half of them turned."""
    doc = ezdxf.new("R2000", units=4)
    msp = doc.modelspace()
    y, right = margin, 0.0
    for i, part in enumerate(parts):
        turn = 0.0 if i % 2 else math.pi
        shape = part.get("on_sheet", part["outline"]) @ np.array([[math.cos(turn), math.sin(turn)],
                                                                  [-math.sin(turn), math.cos(turn)]])
        shape = np.roll(shape, 2 * i, axis=0) - shape.min(axis=0) + [part.get("left", margin), y]
        y = shape[:, 1].max() + gap
        right = max(right, shape[:, 0].max() + margin)
        msp.add_lwpolyline(shape, close=True, dxfattribs={"layer": "CUT"})
        middle = (shape[0] + shape[len(shape) // 2]) / 2
        for x in np.linspace(0, 1, 400):      # a place for the name inside the part
            q = shape[0] + x * (shape[len(shape) // 2] - shape[0])
            if Polygon(shape).contains(Point(q)):
                middle = q
                break
        msp.add_text(label(part), height=0.1, dxfattribs={"layer": "LABEL", "insert": middle})
    msp.add_lwpolyline([(0, 0), (right, 0), (right, y - gap + margin), (0, y - gap + margin)],
                       close=True, dxfattribs={"layer": "SHEET"})
    doc.saveas(folder / "sheets" / "sheet-1.dxf")


def write_list(path, rows):
    keys = list(rows[0])
    lines = [",".join(keys)] + [",".join(f"{r[k]:.8f}" if isinstance(r[k], float) else str(r[k])
                                         for k in keys) for r in rows]
    path.write_text("\n".join(lines) + "\n")
