"""Every flat part folded back into space from its drawing and bend list alone.

    check_refold.py OUT [JOB]

Reads parts/NAME.dxf and lists/bends.csv, folds the plate about its bend lines
with the listed curvature and twist, and lays it rigidly on the member in
space (lists/members.csv). With JOB given, the base plates' points in space
are also set against geometry.py's own surface through faired-edge.csv.
Prints a table; exits 1 where a gap passes LIMIT_MM.

Along the flat outboard edge, seen on the upper face with inboard on the left
of travel: T forward along the edge, B inboard, N = T x B up, and
    T' = kg B + kn N,  B' = -kg T + tg N,  N' = -kn T - tg B
kn positive bends the plate towards its upper face; tg = B'.N. kg is the flat
edge's own curvature: folding does not change it.
"""
import sys

import numpy as np
from scipy.interpolate import make_interp_spline
from scipy.linalg import expm

import geometry as geo
from drawings import Output, read_csv
from outlines import distance_to_line, in_order, points_of

LIMIT_MM = 0.1
SURFACE_MM = 0.05
TWIST_SIGN = 1.0        # of the listed twist against tg as above
STEP_MM = 1.0           # of the frame along the edge


class Folded:
    """A part folded from its bend lines; flat points in, points in space out."""

    def __init__(self, rows, face):
        rows = sorted(rows, key=lambda r: r["along_mm"])
        s = np.array([r["along_mm"] for r in rows])
        flip = np.array([1.0, face])
        out = np.array([[r["outboard_x_mm"], r["outboard_y_mm"]] for r in rows]) * flip
        inn = np.array([[r["inboard_x_mm"], r["inboard_y_mm"]] for r in rows]) * flip
        kn = np.array([r["curvature_per_m"] for r in rows]) / 1000.0
        tg = TWIST_SIGN * np.radians([r["twist_deg_per_m"] for r in rows]) / 1000.0
        k = min(5, len(s) - 1 if len(s) % 2 == 0 else len(s) - 2)
        self.edge = make_interp_spline(s, out, k=k)
        self.line = make_interp_spline(s, inn - out, k=k)
        pad = 60.0            # oblique ends lie a little past the first and last line
        n = int(np.ceil((s[-1] - s[0] + 2 * pad) / STEP_MM))
        self.s = np.linspace(s[0] - pad, s[-1] + pad, n + 1)
        mid = (self.s[1:] + self.s[:-1]) / 2
        self.h = self.s[1] - self.s[0]
        d1, d2 = self.edge.derivative(1), self.edge.derivative(2)
        a, b = d1(mid), d2(mid)
        speed = np.linalg.norm(a, axis=1)
        kg = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / speed**3
        clip = np.clip(mid, s[0], s[-1])
        kn, tg = (make_interp_spline(s, f, k=k)(clip) for f in (kn, tg))
        self._integrate(kg, kn, tg, speed)

    def _integrate(self, kg, kn, tg, speed):
        """Frames and places at the nodes: each step is an exact screw of the
        curvatures at its middle (second order; 1 mm steps leave below 1e-6)."""
        m = len(kg)
        pose = np.eye(4)
        frames, places = np.empty((m + 1, 3, 3)), np.empty((m + 1, 3))
        frames[0], places[0] = np.eye(3), 0.0
        for i in range(m):
            h = self.h * speed[i]
            # Columns of the frame are T, B, N: F' = F W, W skew.
            W = np.array([[0, -kg[i], -kn[i], 1.0], [kg[i], 0, -tg[i], 0],
                          [kn[i], tg[i], 0, 0], [0, 0, 0, 0]]) * h
            pose = pose @ expm(W)
            frames[i + 1], places[i + 1] = pose[:3, :3], pose[:3, 3]
        self.frames, self.places = frames, places

    def locate(self, p):
        """Along the edge and along the bend line, of a flat point."""
        c, g = self.edge(self.s), self.line(self.s)
        r = p - c
        cross = r[:, 0] * g[:, 1] - r[:, 1] * g[:, 0]
        # The line that passes through the point, among those near it.
        near = np.linalg.norm(r, axis=1)
        change = np.flatnonzero(np.sign(cross[1:]) != np.sign(cross[:-1]))
        if not len(change):
            raise ValueError(f"no bend line passes through {p}")
        i = change[np.argmin(near[change])]
        w = cross[i] / (cross[i] - cross[i + 1])
        s = self.s[i] + w * self.h
        for _ in range(3):
            f = lambda q: (lambda r, g: r[0] * g[1] - r[1] * g[0])(p - self.edge(q), self.line(q))
            slope = (f(s + 0.01) - f(s - 0.01)) / 0.02
            s -= f(s) / slope
        g = self.line(s)
        return s, (p - self.edge(s)) @ g / (g @ g)

    def fold(self, p):
        """A flat point (upper-face view) in space."""
        s, v = self.locate(p)
        i = int(np.clip(round((s - self.s[0]) / self.h), 0, len(self.s) - 1))
        ds = s - self.s[i]
        # A short screw from the nearest node: at most half a step.
        d = self.edge.derivative()(s)
        d /= np.linalg.norm(d)
        g = self.line(s)
        along, inboard = g @ d, d[0] * g[1] - d[1] * g[0]
        j = min(i + 1, len(self.s) - 1) if ds >= 0 else max(i - 1, 0)
        w = abs(ds) / self.h
        X = (1 - w) * self.places[i] + w * self.places[j]
        F = (1 - w) * self.frames[i] + w * self.frames[j]
        return X + v * (along * F[:, 0] + inboard * F[:, 1])


def check_part(name, out, bends, members, faults):
    """Gap of one part: flat corners on the drawing, folded points on the member."""
    face = out.face(name)
    outline = points_of(out.part(name).profiles["CUT"][0], face, longest=20.0)
    closed = np.vstack([outline, outline[:1]])
    flat = np.array([[r["x_mm"], r["y_mm"]] for r in members]) * [1.0, face]
    space = np.array([[r["X_mm"], r["Y_mm"], r["Z_mm"]] for r in members])
    on_line, _at = distance_to_line(closed, flat)
    body = Folded(bends, face)
    folded = np.array([body.fold(p) for p in flat])
    _R, _t, gap = geo.rigid_fit(folded, space)
    step = max(r2["along_mm"] - r1["along_mm"] for r1, r2 in zip(bends, bends[1:]))
    if step > 50.0 + 1e-6:
        faults.append(f"{name}: bend lines {step:.2f} mm apart")
    return gap.max(), on_line, step, len(flat)


def main(folder, job_path=None):
    """Run all; returns the faults."""
    out = Output(folder, job_path)
    bends, members = {}, {}
    for r in out.list("bends"):
        bends.setdefault(str(r["part"]), []).append(r)
    for r in out.list("members"):
        members.setdefault(str(r["part"]), []).append(r)
    faults = []
    print(f"{'part':10}{'gap mm':>9}{'summary':>9}{'drawing':>9}{'points':>8}{'step':>7}")
    tolerance = out.job.get("output", {}).get("outline_tolerance", "0.05 mm")
    from lengths import mm
    drawn = mm(tolerance) + 0.002
    for name in in_order(out.parts):
        if name not in bends or name not in members:
            faults.append(f"{name}: no bend lines or no points in space")
            continue
        gap, on_line, step, n = check_part(name, out, bends[name], members[name], faults)
        # Points of a net end inside a fit allowance are not on the outline.
        allowed = (out.parts[name].get("allowance_mm") or 0.0) > 0.0
        off = np.sort(on_line)[int(0.8 * len(on_line))] if allowed else on_line.max()
        said = out.parts[name]["refold_gap_mm"]
        print(f"{name:10}{gap:9.4f}{said:9.4f}{off:9.4f}{n:8d}{step:7.1f}")
        if not gap <= LIMIT_MM:
            faults.append(f"{name}: refold gap {gap:.4f} mm")
        if not off <= drawn:
            faults.append(f"{name}: points of the flat edge {off:.4f} mm off the drawing")
    if job_path:
        check_surface(out, geo.read_job(job_path), members, faults)
    for f in faults:
        print("FAULT", f)
    return faults


def check_surface(out, job, members, faults):
    """Base plates' points in space on the surface rebuilt from the faired edge."""
    rows = read_csv(out.folder / "faired-edge.csv")
    strips = []
    for key in sorted({(r["chain"], r["length"]) for r in rows}):
        pick = [r for r in rows if (r["chain"], r["length"]) == key]
        strips.append(geo.strip_of_faired(job, {k: np.array([r[k] for r in pick]) for k in
                                                ("t_mm", "x_mm", "y_mm", "z_mm", "slope")}))
    worst = 0.0
    for name, points in members.items():
        if out.parts[name]["kind"] != "base-plate":
            continue
        p = np.array([[r["X_mm"], r["Y_mm"], r["Z_mm"]] for r in points])
        gap = np.min([geo.distance_to_strip(s, p) for s in strips], axis=0).max()
        worst = max(worst, gap)
        if not gap <= SURFACE_MM:
            faults.append(f"{name}: {gap:.4f} mm off the surface through the faired edge")
    print(f"base plates: largest distance from the surface through the faired edge {worst:.4f} mm")


if __name__ == "__main__":
    sys.exit(1 if main(*sys.argv[1:3]) else 0)
