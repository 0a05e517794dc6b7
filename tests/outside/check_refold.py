"""Every flat part folded back into space from its drawing and bend list alone.

    check_refold.py OUT [JOB [PART...]]

Reads parts/NAME.dxf and lists/bends.csv, folds the drawn outline and holes by
the listed rows, and lays them rigidly on the member's true edges, ends and
hole axes (lists/members.csv): the nearest place on each true curve, and from
each true curve the nearest place of the drawing. With JOB given, the base
plates' curves are also set against geometry.py's own surface through
faired-edge.csv. Prints a table; exits 1 where a gap passes what the outline
tolerance explains, or differs from the one that the summary says.

How a row is read, seen on the upper face with inboard on the left of travel:
a flat point lies at the part w of the row's line, on the quartic through its
five listed places (w = 0 outboard, 1/4, 1/2, 3/4, 1 inboard). Along the
outboard edge the frame T forward, B inboard, N = T x B up turns, by length in space, as
    T' = kg B + kn N,  B' = -kg T + tg N,  N' = -kn T - tg B
kg the flat edge's own curvature over 1 + stretch, plus the listed turn; the
edge in space is 1 + stretch times as long as the flat one. In space the line
is straight: its flat chord, plus shift_along T + shift_across B; the point
lies at the part w of it.
"""
import sys

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

import geometry as geo
from drawings import Output, flatten_profile, read_csv
from lengths import mm
from outlines import in_order

BEYOND_MM = 0.03        # of a gap over the outline tolerance
SAID_MM = 0.005         # of our gap against the summary's, and the part of the
SAID_PART = 0.05        # outline tolerance by which fits on other places differ
SURFACE_MM = 0.05
ACROSS = ("outboard", "quarter", "middle", "three_quarters", "inboard")
STEP_MM = 1.0           # of the frame along the edge
PAD_MM = 5.0            # arcs may pass the last bend line by the outline tolerance
APART_MM = 5.0          # of the places compared


class Folded:
    """A part folded from its bend lines; flat points in, points in space out."""

    def __init__(self, rows, face):
        rows = sorted(rows, key=lambda r: r["along_mm"])
        s = np.array([r["along_mm"] for r in rows])
        flip = np.array([1.0, face])
        places = np.array([[[r[f"{e}_x_mm"], r[f"{e}_y_mm"]] for e in ACROSS] for r in rows]) * flip
        rates = np.array([[r["curvature_per_m"], np.radians(r["twist_deg_per_m"]),
                           np.radians(r["turn_deg_per_m"]), r["stretch_mm_per_m"]]
                          for r in rows]) / 1000.0
        self.across = CubicSpline(s, places)
        self.edge = CubicSpline(s, places[:, 0])
        self.shift = CubicSpline(s, [[r["shift_along_mm"], r["shift_across_mm"]] for r in rows])
        n = int(np.ceil((s[-1] - s[0] + 2 * PAD_MM) / STEP_MM))
        self.s = np.linspace(s[0] - PAD_MM, s[-1] + PAD_MM, n + 1)
        self.h = self.s[1] - self.s[0]
        mid = (self.s[1:] + self.s[:-1]) / 2
        kn, tg, turn, stretch = CubicSpline(s, rates)(mid).T
        a, b = self.edge(mid, 1), self.edge(mid, 2)
        step = np.linalg.norm(a, axis=1) * (1 + stretch) * self.h
        flat = cross(a, b) / (a * a).sum(1) * self.h
        self._integrate(flat + turn * step, kn * step, tg * step, step)

    def _integrate(self, kg, kn, tg, step):
        """Frames and places at the nodes. Each step turns about the axis of
        the curvatures at its middle (second order: steps of 1 mm leave less
        than a micrometre) and moves along the chord of the turn."""
        m = len(kg)
        w = np.column_stack([tg, -kn, kg])     # turn in T, B, N
        turns = Rotation.from_rotvec(w).as_matrix()
        halves = Rotation.from_rotvec(w / 2).as_matrix()
        frames, places = np.empty((m + 1, 3, 3)), np.empty((m + 1, 3))
        frames[0], places[0] = np.eye(3), 0.0
        for i in range(m):
            places[i + 1] = places[i] + step[i] * (frames[i] @ halves[i][:, 0])
            frames[i + 1] = frames[i] @ turns[i]
        self.places = CubicSpline(self.s, places)
        self.frames = CubicSpline(self.s, frames)

    def locate(self, p):
        """Along the edge, and the part w of the bend line, of flat points."""
        s, w = self.s[cKDTree(self.across(self.s)[:, 2]).query(p)[1]], np.full(len(p), 0.5)
        mix = lambda basis, s, d: np.einsum("ij,ijk->ik", basis, self.across(s, d))
        for _ in range(20):
            basis, rate = shares(w)
            r = p - mix(basis, s, 0)
            by_s, by_w = mix(basis, s, 1), mix(rate, s, 0)
            det = cross(by_s, by_w)
            s = np.clip(s + cross(r, by_w) / det, self.s[0], self.s[-1])
            w = w + cross(by_s, r) / det
        miss = np.linalg.norm(p - mix(shares(w)[0], s, 0), axis=1)
        if miss.max() > 1e-6:
            raise ValueError(f"no bend line passes through {p[np.argmax(miss)]}")
        return s, w

    def at(self, s, w):
        """Places in space, and the plate's normals, at parts of lines."""
        def line(s):
            T, chord = self.edge(s, 1), self.across(s)[:, 4] - self.across(s)[:, 0]
            T /= np.linalg.norm(T, axis=1)[:, None]
            flat = np.column_stack([(chord * T).sum(1), cross(T, chord)]) + self.shift(s)
            return np.einsum("ij,ikj->ik", flat, self.frames(s)[:, :, :2])
        rate = self.places(s, 1) + w[:, None] * (line(s + 0.5) - line(s - 0.5))
        normal = np.cross(rate, line(s))
        return (self.places(s) + w[:, None] * line(s),
                normal / np.linalg.norm(normal, axis=1)[:, None])

    def fold(self, p):
        """Flat points (upper-face view) in space, with normals."""
        return self.at(*self.locate(p))


def shares(w):
    """Lagrange's polynomials of five even places at w, and their rates."""
    nodes = np.linspace(0.0, 1.0, 5)
    basis, rate = np.ones((len(w), 5)), np.zeros((len(w), 5))
    for k in range(5):
        for other in np.delete(nodes, k):
            gap = nodes[k] - other
            rate[:, k] = (rate[:, k] * (w - other) + basis[:, k]) / gap
            basis[:, k] *= (w - other) / gap
    return basis, rate


def cross(a, b):
    """Of vectors in the plane."""
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


class Member:
    """The true curves of a part: closely sampled, and its holes."""

    def __init__(self, rows):
        self.curves, holes = {}, []
        for r in rows:
            p = [r["x_mm"], r["y_mm"], r["z_mm"]]
            if str(r["curve"]).startswith("hole"):
                holes.append(p + [r["axis_x"], r["axis_y"], r["axis_z"], r["diameter_mm"]])
            else:
                self.curves.setdefault(r["curve"], []).append(p)
        self.holes = np.array(holes).reshape(-1, 7)
        self.curves = {k: spread(np.array(v)) for k, v in self.curves.items()}
        self.boundary = np.vstack([*self.curves.values()])
        self.lines = Lines(list(self.curves.values()))

    def corners(self):
        """Ends of the outboard edge, then of the inboard edge, along t."""
        out, inn = self.curves["outboard edge"], self.curves["inboard edge"]
        return np.array([out[0], out[-1], inn[-1], inn[0]])


def spread(p):
    """Places at most APART_MM apart on the curve through places along it."""
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])
    return CubicSpline(s, p)(np.linspace(0.0, s[-1], int(np.ceil(s[-1] / APART_MM)) + 1))


class Lines:
    """Polylines (sagitta of 5 mm steps: 1e-3 mm at 3 m)."""

    def __init__(self, pieces):
        self.a = np.vstack([p[:-1] for p in pieces])
        self.d = np.vstack([np.diff(p, axis=0) for p in pieces])
        self.tree = cKDTree(self.a + self.d / 2)

    def off(self, points):
        """From the nearest places to points."""
        near = self.tree.query(points, k=4)[1]
        d = self.d[near]
        r = points[:, None] - self.a[near]
        w = np.clip((r * d).sum(2) / (d * d).sum(2), 0.0, 1.0)
        off = r - w[..., None] * d
        return off[np.arange(len(points)), np.argmin((off * off).sum(2), axis=1)]

    def furthest(self, points):
        """Largest distance of points."""
        return float(np.linalg.norm(self.off(points), axis=1).max())


def laid(member, drawn, start):
    """The motion that lays drawn points on the member's boundary: squares of
    distances from the nearest places least, from a start by its corners."""
    R, t, _gap = geo.rigid_fit(*start)
    centre = drawn.mean(axis=0)
    reach = np.linalg.norm(drawn - centre, axis=1).max()

    def moved(x, p):
        p = (p - centre) @ Rotation.from_rotvec(x[:3] / reach).as_matrix().T + centre + x[3:]
        return p @ R.T + t
    fit = least_squares(lambda x: member.lines.off(moved(x, drawn)).ravel(), np.zeros(6),
                        xtol=1e-12, ftol=1e-12, diff_step=1e-5, x_scale=1.0)
    return lambda p: moved(fit.x, p)


def check_part(name, out, bends, members, faults):
    """Largest gap of one part, edges then holes."""
    face, drawing, member = out.face(name), out.part(name), Member(members)
    profile = max(drawing.profiles["CUT"], key=lambda v: abs(np.ptp(v[:, 0]) * np.ptp(v[:, 1])))
    flat = flatten_profile(profile, sagitta=2e-4, longest=APART_MM) * [1.0, face]
    body = Folded(bends, face)
    drawn, _n = body.fold(flat)
    first, last = (np.array([f(r["along_mm"] for r in bends)]) for f in (min, max))
    # The rows' first and last lines may lie past oblique ends: a start only.
    ends = np.array([body.at(s, np.array([w]))[0][0] for s, w in
                     ((first, 0.0), (last, 0.0), (first, 1.0), (last, 1.0))])
    lay = laid(member, drawn, (ends, member.corners()))
    drawn = lay(drawn)
    gap = member.lines.furthest(drawn)
    back = Lines([np.vstack([drawn, drawn[:1]])]).furthest(member.boundary)
    holes = check_holes(name, drawing.circles["HOLE"], face, body, lay, member, out, faults)
    step = max(r2["along_mm"] - r1["along_mm"] for r1, r2 in zip(bends, bends[1:]))
    if step > 50.0 + 1e-3:
        faults.append(f"{name}: bend lines {step:.2f} mm apart")
    return max(gap, back), holes, step


def check_holes(name, circles, face, body, lay, member, out, faults):
    """Furthest that a hole's rim, at either face, lies from the true one's."""
    if len(circles) != len(member.holes):
        faults.append(f"{name}: {len(circles)} holes drawn, the member has {len(member.holes)}")
        return np.inf
    if not circles:
        return 0.0
    circles = np.array(circles)
    place, normal = body.fold(circles[:, :2] * [1.0, face])
    half = out.parts[name].get("thickness_mm", 0.0) / 2
    near = cKDTree(member.holes[:, :3]).query(lay(place))[1]
    if len(set(near)) != len(near):
        faults.append(f"{name}: two holes on one")
    true = member.holes[near]
    rims = [np.linalg.norm(lay(place + side * normal) - true[:, :3] - side * true[:, 3:6], axis=1)
            for side in (half, -half)]
    return float((np.maximum(*rims) + np.abs(2 * circles[:, 2] - true[:, 6]) / 2).max())


def main(folder, job_path=None, *names):
    """Run all parts, or those named; returns the faults."""
    out = Output(folder, job_path)
    bends, members = {}, {}
    for r in out.list("bends"):
        bends.setdefault(str(r["part"]), []).append(r)
    for r in out.list("members"):
        members.setdefault(str(r["part"]), []).append(r)
    faults = []
    print(f"{'part':10}{'edges mm':>10}{'holes mm':>10}{'summary':>9}{'step':>7}")
    outline = mm(out.job.get("output", {}).get("outline_tolerance", "0.05 mm"))
    limit, like = outline + BEYOND_MM, SAID_MM + SAID_PART * outline
    for name in names or in_order(out.parts):
        if name not in bends or name not in members:
            faults.append(f"{name}: no bend lines or no curves in space")
            continue
        try:
            edges, holes, step = check_part(name, out, bends[name], members[name], faults)
        except ValueError as e:
            faults.append(f"{name}: {e}")
            continue
        gap, said = max(edges, holes), out.parts[name]["refold_gap_mm"]
        print(f"{name:10}{edges:10.4f}{holes:10.4f}{said:9.4f}{step:7.1f}")
        if not gap <= limit:
            faults.append(f"{name}: {gap:.4f} mm off the member, {limit:.3f} mm is explained")
        if not abs(gap - said) <= like:
            faults.append(f"{name}: {gap:.4f} mm off the member, the summary says {said:.4f} mm")
    if job_path and not names:
        check_surface(out, geo.read_job(job_path), members, faults)
    for f in faults:
        print("FAULT", f)
    return faults


def check_surface(out, job, members, faults):
    """Base plates' edges, ends and holes in space on the surface rebuilt from the faired edge."""
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
        p = np.array([[r["x_mm"], r["y_mm"], r["z_mm"]] for r in points])
        gap = np.min([geo.distance_to_strip(s, p) for s in strips], axis=0).max()
        worst = max(worst, gap)
        if not gap <= SURFACE_MM:
            faults.append(f"{name}: {gap:.4f} mm off the surface through the faired edge")
    print(f"base plates: largest distance from the surface through the faired edge {worst:.4f} mm")


if __name__ == "__main__":
    sys.exit(1 if main(*sys.argv[1:]) else 0)
