"""An output folder made by geometry.py itself, to prove the checks: they must
pass it, and must fail it once it is spoilt. Not a check of the tool."""
import json
import math

import ezdxf
import numpy as np
from shapely.geometry import Point, Polygon

import geometry as geo
from drawings import area
from lengths import mm

PLACE = ((0.3, 40.0, 25.0), (-1.1, 10.0, 900.0), (0.0, 0.0, 0.0))   # turns and shifts of parts


def bend_rows(strip, flat, a, b):
    """Bend lines from a to b along the flat edge: flat ends, kn, tg (Darboux)."""
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
    return s, u, out, inn, kn, tg, ruling


def unit(a):
    return a / np.linalg.norm(a, axis=-1)[..., None]


def write(job, folder, pieces=4, spoil=None):
    """The parts of both plates, cut square to the ruling into equal pieces.
    `spoil`: function of (name, part dictionary) that damages one."""
    for sub in ("parts", "sheets", "lists"):
        (folder / sub).mkdir(parents=True, exist_ok=True)
    base, top = geo.strips_of_survey(job)
    butt = mm(job["joints"]["weld_gap"]) - mm(job["joints"]["shrinkage"])
    parts, bends, members, placed = [], [], [], []
    for kind, letter, strip, plate, face in (("base-plate", "B", base, job["base"], 1.0),
                                             ("top-plate", "T", top, job["top"], -1.0)):
        flat = geo.flatten(strip)
        total = flat.along[-1]
        size = (total - butt * (pieces - 1)) / pieces
        for i in range(pieces):
            a = i * (size + butt)
            part = one_part(strip, flat, a, a + size, plate, f"{letter}{i + 1}", kind, face, PLACE[i % 3])
            if spoil:
                spoil(part["name"], part)
            bends += part.pop("bends")
            members += part.pop("members")
            save(folder, part)
            placed.append(part)
            parts.append({k: part[k] for k in ("name", "kind", "face", "refold_gap_mm", "area_mm2")})
    save_sheet(folder, placed)
    (folder / "summary.json").write_text(json.dumps({"parts": parts, "sheets": [{"name": "sheet-1"}]}))
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
    s, u, out, inn, kn, tg, ruling = bend_rows(strip, flat, a, b)
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
    reach = np.linalg.norm(inn - out, axis=1)
    X, Y = strip.edge(u), strip.edge(u) + reach[:, None] * strip.ruling(u)
    lo_, li_ = lay(out), lay(inn)
    return dict(
        name=name, kind=kind, face="upper" if face > 0 else "lower", refold_gap_mm=0.0,
        area_mm2=abs(area(pts)), outline=pts if area(pts) > 0 else pts[::-1], holes=lay(holes),
        diameter=mm(rows["diameter"]),
        bends=[dict(part=name, along_mm=s[i] - a, outboard_x_mm=lo_[i, 0], outboard_y_mm=lo_[i, 1],
                    inboard_x_mm=li_[i, 0], inboard_y_mm=li_[i, 1], curvature_per_m=kn[i] * 1e3,
                    twist_deg_per_m=math.degrees(tg[i]) * 1e3) for i in range(len(s))],
        members=[dict(part=name, x_mm=f[0], y_mm=f[1], X_mm=p[0], Y_mm=p[1], Z_mm=p[2])
                 for F, P in ((lo_, X), (li_, Y)) for f, p in zip(F, P)])


def nearest(flat, width, point):
    s = flat.along[int(np.argmin(np.linalg.norm(flat.inboard - point, axis=1)))]
    for _ in range(30):
        c, d = flat.point(np.array([s]), np.zeros(1))
        s += float((point - c[0]) @ d[0])
    return s


def save(folder, part):
    doc = ezdxf.new("R2000", units=4)
    for layer in ("CUT", "HOLE"):
        doc.layers.add(layer)
    msp = doc.modelspace()
    for x, y in part["holes"]:
        msp.add_circle((x, y), part["diameter"] / 2, dxfattribs={"layer": "HOLE"})
    msp.add_lwpolyline(part["outline"], close=True, dxfattribs={"layer": "CUT"})
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
        msp.add_text(part["name"], height=5, dxfattribs={"layer": "LABEL", "insert": middle})
    msp.add_lwpolyline([(0, 0), (right, 0), (right, y - gap + margin), (0, y - gap + margin)],
                       close=True, dxfattribs={"layer": "SHEET"})
    doc.saveas(folder / "sheets" / "sheet-1.dxf")


def write_list(path, rows):
    keys = list(rows[0])
    lines = [",".join(keys)] + [",".join(f"{r[k]:.6f}" if isinstance(r[k], float) else str(r[k])
                                         for k in keys) for r in rows]
    path.write_text("\n".join(lines) + "\n")
