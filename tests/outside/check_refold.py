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
edge's own curvature where the surface is developable. Elsewhere the bend
lines warp against each other by n = g'.N = (g.T) kn + (g.B) tg (g along the
line), a place v along a line runs faster by (n v)^2/2, and the plate in its
least stretched state has that taken out of its flat edge as a straight line
in v: v^2 -> L v - L^2/6. Folding gives it back: kg grows by n^2 L/2 (the edge
of a twisted ribbon is a helix), the edge's length by n^2 L^2/12.
"""
import sys

import numpy as np
from scipy.interpolate import make_interp_spline
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

import geometry as geo
from drawings import Output, read_csv
from lengths import mm
from outlines import distance_to_line, in_order, points_of

LIMIT_MM = 0.1
SURFACE_MM = 0.05
TWIST_SIGN = 1.0        # of the listed twist against tg as above
STEP_MM = 1.0           # of the frame along the edge
PAD_MM = 60.0           # oblique ends lie a little past the first and last bend line


class Folded:
    """A part folded from its bend lines; flat points in, points in space out."""

    def __init__(self, rows, face):
        rows = sorted(rows, key=lambda r: r["along_mm"])
        s = np.array([r["along_mm"] for r in rows])
        flip = np.array([1.0, face])
        out = np.array([[r["outboard_x_mm"], r["outboard_y_mm"]] for r in rows]) * flip
        inn = np.array([[r["inboard_x_mm"], r["inboard_y_mm"]] for r in rows]) * flip
        listed = np.array([[r["curvature_per_m"], TWIST_SIGN * np.radians(r["twist_deg_per_m"])]
                           for r in rows]) / 1000.0
        k = min(5, len(s) - 1 if len(s) % 2 == 0 else len(s) - 2)
        self.edge = make_interp_spline(s, out, k=k)
        self.line = make_interp_spline(s, inn - out, k=k)
        n = int(np.ceil((s[-1] - s[0] + 2 * PAD_MM) / STEP_MM))
        self.s = np.linspace(s[0] - PAD_MM, s[-1] + PAD_MM, n + 1)
        self.h = self.s[1] - self.s[0]
        mid = (self.s[1:] + self.s[:-1]) / 2
        a, b = self.edge.derivative(1)(mid), self.edge.derivative(2)(mid)
        speed = np.linalg.norm(a, axis=1)
        kg = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / speed**3
        kn, tg = make_interp_spline(s, listed, k=k)(np.clip(mid, s[0], s[-1])).T
        along, inboard, reach = self.lean(mid)
        warp = along * kn + inboard * tg
        kg = kg + warp**2 * reach / (2 * inboard)
        self._integrate(kg, kn, tg, speed * (1 + inboard * warp**2 * reach**2 / 12) * self.h)

    def lean(self, s):
        """Bend line's direction along and square to the flat edge; its length."""
        d, g = self.edge.derivative()(s), self.line(s)
        d = d / np.linalg.norm(d, axis=1)[:, None]
        reach = np.linalg.norm(g, axis=1)
        g = g / reach[:, None]
        return (g * d).sum(1), d[:, 0] * g[:, 1] - d[:, 1] * g[:, 0], reach

    def _integrate(self, kg, kn, tg, step):
        """Frames and places at the nodes. Each step turns about the axis of
        the curvatures at its middle (second order: steps of 1 mm leave less
        than a micrometre) and moves along the chord of the turn."""
        m = len(kg)
        w = np.column_stack([tg, -kn, kg]) * step[:, None]     # turn in T, B, N
        turns = Rotation.from_rotvec(w).as_matrix()
        halves = Rotation.from_rotvec(w / 2).as_matrix()
        frames, places = np.empty((m + 1, 3, 3)), np.empty((m + 1, 3))
        frames[0], places[0] = np.eye(3), 0.0
        for i in range(m):
            places[i + 1] = places[i] + step[i] * (frames[i] @ halves[i][:, 0])
            frames[i + 1] = frames[i] @ turns[i]
        self.frames, self.places = frames, places

    def locate(self, p):
        """Along the edge, and the part of the bend line, of flat points."""
        s = self.s[cKDTree(self.edge(self.s) + self.line(self.s) / 2).query(p)[1]]
        dedge, dline = self.edge.derivative(), self.line.derivative()
        cross = lambda a, b: a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        for _ in range(20):
            r, g = p - self.edge(s), self.line(s)
            f = cross(r, g)
            df = -cross(dedge(s), g) + cross(r, dline(s))
            s = np.clip(s - f / df, self.s[0], self.s[-1])
        r, g = p - self.edge(s), self.line(s)
        miss = np.abs(cross(r, g)) / np.linalg.norm(g, axis=1)
        if miss.max() > 1e-6:
            raise ValueError(f"no bend line passes through {p[np.argmax(miss)]}")
        return s, (r * g).sum(1) / np.linalg.norm(g, axis=1)

    def fold(self, p):
        """Flat points (upper-face view) in space."""
        s, v = self.locate(p)
        i = np.clip(((s - self.s[0]) / self.h).astype(int), 0, len(self.s) - 2)
        w = ((s - self.s[i]) / self.h)[:, None]
        X = (1 - w) * self.places[i] + w * self.places[i + 1]
        F = (1 - w[:, :, None]) * self.frames[i] + w[:, :, None] * self.frames[i + 1]
        along, inboard, _reach = self.lean(s)
        return X + v[:, None] * (along[:, None] * F[:, :, 0] + inboard[:, None] * F[:, :, 1])


def check_part(name, out, bends, members, faults):
    """Gap of one part: flat corners on the drawing, folded points on the member."""
    face = out.face(name)
    outline = points_of(out.part(name).profiles["CUT"][0], face, longest=20.0)
    closed = np.vstack([outline, outline[:1]])
    flat = np.array([[r["x_mm"], r["y_mm"]] for r in members]) * [1.0, face]
    space = np.array([[r["X_mm"], r["Y_mm"], r["Z_mm"]] for r in members])
    on_line, _at = distance_to_line(closed, flat)
    body = Folded(bends, face)
    folded = body.fold(flat)
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
    drawn = mm(out.job.get("output", {}).get("outline_tolerance", "0.05 mm")) + 0.002
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
