"""The bulwark's plates, worked out a second time.

Written from the design's words, not from the tool's source: its own curve
fit, its own offset, its own flattening. mm and radians; x forward, y to port,
z up. A chain runs from the port fore end aft, round the stern and forward
along starboard: the boat is on its left.

How the design's words are read here (each reading is one line of code below):
  * The covering board is straight across, rising by `slope` square to the
    edge in plan.
  * The reference line lies on the board, inboard of the surveyed line by
    planking inset + planking + weld setback (level distance, square to the
    edge in plan). The base plate's outboard edge lies on it.
  * The plate's mid-thickness lies bedding + t/2 above the board along the
    board's normal at the reference line, and is ruled along the board's slope.
  * The top line is edge + height (vertical) + height * tan(lean) outboard, a
    3D curve of its own. The top plate's reference line lies inboard of it by
    the same level distance, square to the top line in plan; the mid-thickness
    lies t/2 under the upper face along its normal.
  * Width is along the plate, square to the plate's outboard edge.
"""
import csv
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.integrate import cumulative_simpson
from scipy.interpolate import make_interp_spline
from scipy.spatial import cKDTree

from lengths import mm

GAUSS_V, GAUSS_W = (lambda g: ((g[0] + 1) / 2, g[1] / 2))(np.polynomial.legendre.leggauss(8))


# ---- Reading ---------------------------------------------------------------

def read_job(path):
    """The job file as a dictionary, with its folder under `_folder`."""
    path = Path(path)
    job = tomllib.loads(path.read_text(encoding="utf-8"))
    job["_folder"] = path.parent
    return job


def read_points(job):
    """Rows of the point tables as one chain: dictionary of arrays."""
    sides = {}
    for entry in job["survey"]["file"]:
        text = (job["_folder"] / entry["path"]).read_text(encoding="utf-8").splitlines()
        for row in csv.DictReader(line for line in text if line.strip() and line[0] != "#"):
            side = row.get("side") or entry["side"]
            sides.setdefault(side, []).append(row)
    rows = sides["port"] + sides["starboard"][::-1]
    keys = ("x", "y", "z", "bulwark_height", "lean_deg", "inboard_x", "inboard_y", "inboard_z")
    return {k: np.array([float(r[k]) for r in rows]) for k in keys}


# ---- Curves ----------------------------------------------------------------

def spline(u, f):
    """Quintic through every point, not-a-knot ends."""
    return make_interp_spline(u, f, k=5)


def chord_parameter(p):
    """Cumulated chord length."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])


def plan_frame(d):
    """Unit tangent and inboard normal (left) in plan, of a derivative."""
    t = d[:, :2] / np.linalg.norm(d[:, :2], axis=1)[:, None]
    return t, np.column_stack([-t[:, 1], t[:, 0]])


def slope_at_points(rows, edge, u):
    """Rise inboard per unit, square to the edge in plan, of in-board points.

    The board is straight across and the in-board point lies on it: taken at
    the place on the edge from which it is square.
    """
    inboard = np.column_stack([rows["inboard_x"], rows["inboard_y"], rows["inboard_z"]])
    at = u.copy()
    for _ in range(20):
        p, d = edge(at), edge.derivative()(at)
        t, _n = plan_frame(d)
        miss = np.einsum("ij,ij->i", inboard[:, :2] - p[:, :2], t)
        at = np.clip(at + 0.7 * miss / np.linalg.norm(d[:, :2], axis=1), u[0] - 300, u[-1] + 300)
    p, d = edge(at), edge.derivative()(at)
    _t, n = plan_frame(d)
    across = np.einsum("ij,ij->i", inboard[:, :2] - p[:, :2], n)
    return at, (inboard[:, 2] - p[:, 2]) / across


# ---- Strips ----------------------------------------------------------------

@dataclass
class Strip:
    """Mid-thickness of a plate: edge(u) + v ruling(u), ruling of unit length."""

    u: np.ndarray          # dense parameter
    edge: object           # spline of the outboard edge on the mid-thickness
    ruling: object         # spline of the unit ruling, towards inboard
    width: float           # square to the edge, along the plate
    line: np.ndarray       # the faired line it came from, at u

    def normal(self, u):
        """Unit normal at the outboard edge, up."""
        n = np.cross(self.edge.derivative()(u), self.ruling(u))
        return n / np.linalg.norm(n, axis=-1)[..., None]


def make_strip(u, line, dline, slope, inset, rise, width):
    """A strip inboard of `line` by `inset`, its middle `rise` along the normal."""
    _t, n = plan_frame(dline)
    g = np.column_stack([n, slope])
    face = line + inset * g                        # the reference line on the face
    unit = g / np.linalg.norm(g, axis=1)[:, None]
    along = spline(u, face).derivative()(u)
    up = np.cross(along, unit)
    up /= np.linalg.norm(up, axis=1)[:, None]
    middle = face + rise * up
    return Strip(u, spline(u, middle), spline(u, unit), width, line)


def inset_of(job):
    """Level distance from the surveyed line to the reference line, mm."""
    s = job["section"]
    if job["survey"]["line"] == "outside-of-planking":
        return mm(s["planking"]) + mm(s["weld_setback"])
    return mm(s["planking_inset"]) + mm(s["planking"]) + mm(s["weld_setback"])


def base_strip(job, u, line, dline, slope):
    """The base plate's mid-thickness."""
    plate = job["base"]
    rise = mm(plate["bedding"]) + mm(plate["thickness"]) / 2
    return make_strip(u, line, dline, slope, inset_of(job), rise, mm(plate["width"]))


def top_strip(job, u, line, dline, deck_slope):
    """The top plate's mid-thickness, from the line of its upper face."""
    plate = job["top"]
    if "slope_deg" in plate:
        slope = np.full(len(u), np.tan(np.radians(plate["slope_deg"])))
    else:
        slope = deck_slope if plate.get("slope") == "deck" else np.zeros(len(u))
    # Height is to the upper face at its outboard edge: the inset does not
    # change the edge's height.
    _t, n = plan_frame(dline)
    edge = line + inset_of(job) * np.column_stack([n, np.zeros(len(u))])
    dedge = spline(u, edge).derivative()(u)
    return make_strip(u, edge, dedge, slope, 0.0, -mm(plate["thickness"]) / 2, mm(plate["width"]))


def strips_of_survey(job, dense=40):
    """Base and top strips from the survey's points (exact survey, tolerance 0)."""
    rows = read_points(job)
    p = np.column_stack([rows["x"], rows["y"], rows["z"]])
    u = chord_parameter(p)
    edge = spline(u, p)
    at, slope = slope_at_points(rows, edge, u)
    slope = spline(at, slope)
    _t, n = plan_frame(edge.derivative()(u))
    out = -n * (rows["bulwark_height"] * np.tan(np.radians(rows["lean_deg"])))[:, None]
    top = spline(u, p + np.column_stack([out, rows["bulwark_height"]]))
    fine = np.concatenate([np.linspace(a, b, dense, endpoint=False) for a, b in zip(u, u[1:])]
                          + [[u[-1]]])
    return (base_strip(job, fine, edge(fine), edge.derivative()(fine), slope(fine)),
            top_strip(job, fine, top(fine), top.derivative()(fine), slope(fine)))


OVERRUN_MM = 2.0


def strip_of_faired(job, rows, dense=8):
    """Base strip from rows of faired-edge.csv: t_mm, x_mm, y_mm, z_mm, slope. It runs on a
    little past its ends: the normal of a twisted end leans along the edge by lift times
    twist, which puts a plate's corner that much past the last row."""
    t, p, slope = rows["t_mm"], np.column_stack([rows[k] for k in ("x_mm", "y_mm", "z_mm")]), rows["slope"]
    edge, slope = spline(t, p), spline(t, slope)
    u = np.linspace(t[0] - OVERRUN_MM, t[-1] + OVERRUN_MM, (len(t) - 1) * dense + 1)
    return base_strip(job, u, edge(u), edge.derivative()(u), slope(u))


# ---- Flattening ------------------------------------------------------------

@dataclass
class FlatStrip:
    """The flat pattern of a strip, seen on its upper face, inboard on the left
    of travel: outboard edge, inboard edge square to it, lengths along it."""

    u: np.ndarray
    outboard: np.ndarray
    inboard: np.ndarray
    ruling: np.ndarray
    along: np.ndarray      # length of the flat outboard edge from the start
    true_along: np.ndarray  # length of the edge in space
    strain: np.ndarray     # largest lengthwise strain of a cross-section
    bend: np.ndarray       # geodesic curvature of the flat outboard edge

    def point(self, along, across):
        """Flat place, and the edge's direction, at a length along."""
        f = spline(self.along, self.outboard)
        d = f.derivative()(along)
        d = d / np.linalg.norm(d, axis=-1)[..., None]
        return f(along) + np.asarray(across)[..., None] * np.stack([-d[..., 1], d[..., 0]], -1), d


def flatten(strip):
    """Least lengthwise stretch, ruling by ruling.

    With X = C(u) + v G(u) in the plane, G a unit vector at angle psi,
    X_u = p G + (q - v psi') G', G' square to G: the metric's cross term p is
    met exactly, and the rate square to the ruling is a straight line in v.
    In space that rate is lam(v) = |S_u - (S_u.g) g|, a straight line in v
    where the surface is developable; elsewhere the straight line of least
    squares over the width is taken, which is the strip of least stretch as
    long as it is narrow against its radii (stress across the width is nil).
    """
    u = strip.u
    d, g, dg = strip.edge.derivative()(u), strip.ruling(u), strip.ruling.derivative()(u)
    p = np.einsum("ij,ij->i", d, g)
    reach = strip.width * np.linalg.norm(d, axis=1) / np.sqrt(
        np.maximum(np.einsum("ij,ij->i", d, d) - p * p, 1e-12))
    v = reach[:, None] * GAUSS_V[None, :]
    su = d[:, None, :] + v[:, :, None] * dg[:, None, :]
    su = su - np.einsum("ijk,ik->ij", su, g)[:, :, None] * g[:, None, :]
    lam = np.linalg.norm(su, axis=2)
    # Least squares on 1 and x = v / reach - 1/2 (orthogonal over the width).
    x = GAUSS_V - 0.5
    mean = lam @ GAUSS_W
    tilt = (lam * x) @ GAUSS_W / ((x * x) @ GAUSS_W)
    q = mean - tilt / 2
    dpsi = tilt / reach            # rate of q over v
    strain = np.abs(lam / (mean[:, None] + tilt[:, None] * x) - 1).max(axis=1)
    # G at angle psi; travel direction E = G turned right by 90 degrees.
    # X_u = C' + v G' and G' = psi' * left(G) = -psi' E, so psi' = -dpsi.
    psi = np.pi / 2 - cumulative_simpson(dpsi, x=u, initial=0)
    G = np.column_stack([np.cos(psi), np.sin(psi)])
    E = np.column_stack([np.sin(psi), -np.cos(psi)])
    dC = p[:, None] * G + q[:, None] * E
    C = cumulative_simpson(dC, x=u, axis=0, initial=0)
    speed = np.linalg.norm(dC, axis=1)
    along = cumulative_simpson(speed, x=u, initial=0)
    true = cumulative_simpson(np.linalg.norm(d, axis=1), x=u, initial=0)
    T = dC / speed[:, None]
    left = np.column_stack([-T[:, 1], T[:, 0]])
    heading = np.unwrap(np.arctan2(T[:, 1], T[:, 0]))
    bend = spline(u, heading).derivative()(u) / speed
    return FlatStrip(u, C, C + strip.width * left, G, along, true, strain, bend)


# ---- Comparing -------------------------------------------------------------

def rigid_fit(a, b):
    """Turn and shift (never a mirror) that lays points a on b: (R, t, gaps)."""
    ca, cb = a.mean(axis=0), b.mean(axis=0)
    U, _s, Vt = np.linalg.svd((a - ca).T @ (b - cb))
    D = np.eye(a.shape[1])
    D[-1, -1] = np.sign(np.linalg.det(Vt.T @ U.T))
    R = Vt.T @ D @ U.T
    t = cb - R @ ca
    return R, t, np.linalg.norm(a @ R.T + t - b, axis=1)


def distance_to_strip(strip, points):
    """Distance of points in space from a strip's surface (rulings extended)."""
    u = strip.u
    mid = strip.edge(u) + strip.width / 2 * strip.ruling(u)
    at = u[cKDTree(mid).query(points)[1]]
    dedge, druling = strip.edge.derivative(), strip.ruling.derivative()
    for _ in range(12):            # onto the ruling that passes under the point
        g = strip.ruling(at)
        r = points - strip.edge(at)
        v = (r * g).sum(1)[:, None]
        s = dedge(at) + v * druling(at)
        s = s - (s * g).sum(1)[:, None] * g
        at = np.clip(at + ((r - v * g) * s).sum(1) / (s * s).sum(1), u[0], u[-1])
    g = strip.ruling(at)
    r = points - strip.edge(at)
    return np.linalg.norm(r - (r * g).sum(1)[:, None] * g, axis=1)
