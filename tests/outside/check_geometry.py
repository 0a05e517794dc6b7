"""The exact job's parts against the plates worked out a second time.

    check_geometry.py JOB OUT

Starts from the job's survey (exact, tolerance 0) and compares with what was
written: every base and top part's outline laid on the flat pattern of
geometry.py where the lengths before it put it; edge lengths, width, chord,
area, hole rows; the run's total; the faired edge and the members in space.
Prints a table; exits 1 where anything is off by more than LIMIT_MM.
"""
import sys

import numpy as np

import geometry as geo
from drawings import Output, area, read_csv
from lengths import mm
from outlines import distance_to_line, in_order, length, points_of, resample, sides

LIMIT_MM = 0.05
RUN_LIMIT = 0.02 / 10_000.0   # sizes are held to 0.02 mm on 10 m
FAIR_MM = 0.01           # tolerance 0 gives the faired edge within this


def longest_match(outline, flat, width, at):
    """Lay an outline on the flat strip from length `at` on. Either long side
    may be the outboard one: the better fit wins."""
    best = None
    four = sides(outline)
    for k in (0, 2):
        out, _end, inb, _end2 = four[k:] + four[:k]
        total = length(out)
        n = 200
        target, _d = flat.point(np.linspace(at, at + total, n), np.zeros(n))
        R, t, gap = geo.rigid_fit(resample(out, n), target)
        if best is None or gap.max() < best[0]:
            best = (gap.max(), R, t, out, inb)
    return best


def check_plate(kind, out, strip, plate, joints):
    """One plate's parts along the run: rows of the table and faults."""
    flat = geo.flatten(strip)
    width, faults, rows = mm(plate["width"]), [], []
    names = in_order(n for n, p in out.parts.items() if p["kind"] == kind)
    butt = mm(joints["weld_gap"]) - mm(joints["shrinkage"])
    closing = mm(joints["closing_allowance"])
    fine = np.arange(0.0, flat.along[-1], 2.0)
    inboard, _d = flat.point(fine, np.full(len(fine), width))
    outboard, _d = flat.point(fine, np.zeros(len(fine)))
    at, allowed = 0.0, 0.0
    for name in names:
        profile = out.part(name).profiles["CUT"]
        if len(profile) != 1:
            faults.append(f"{name}: {len(profile)} outlines")
            continue
        pts = points_of(profile[0], out.face(name))
        extra = out.parts[name].get("allowance_mm", 0.0) or 0.0
        allowed += extra
        # The closing piece's allowance lies at the joint it is fitted to.
        start = at - extra if at > 0.0 else at
        gap, R, t, edge, inner = longest_match(pts, flat, width, start)
        place = lambda p: p @ R.T + t
        # The inboard side past its ends is not on the run: compare its middle.
        inside = place(resample(inner, 200))
        wide, _at = distance_to_line(inboard, inside[5:-5])
        mine = area_between(flat, width, start, start + length(edge), place(inner[[0, -1]]))
        theirs = area(pts)
        chord = np.linalg.norm(edge[-1] - edge[0])
        a, _d = flat.point(np.array([start, start + length(edge)]), np.zeros(2))
        chord_off = chord - np.linalg.norm(a[1] - a[0])
        holes = np.array([(c[0], c[1]) for c in out.part(name).circles["HOLE"]]).reshape(-1, 2)
        holes = place(holes * [1.0, out.face(name)]) if len(holes) else holes
        hole_off = check_holes(name, holes, outboard, inboard, plate.get("fasteners"), faults)
        rows.append((name, length(edge), extra, gap, wide.max(), chord_off, theirs - mine, hole_off))
        for what, value, limit in (("outboard edge", gap, LIMIT_MM), ("width", wide.max(), LIMIT_MM),
                                   ("chord", abs(chord_off), LIMIT_MM), ("holes", hole_off, LIMIT_MM),
                                   ("area mm2", abs(theirs - mine), LIMIT_MM * length(edge) / 2)):
            if not value <= limit:
                faults.append(f"{name}: {what} off by {value:.4f} (limit {limit:.3f})")
        at += length(edge) - extra + butt
    total = at - butt
    off = total - flat.along[-1]
    print(f"\n{kind}: run {flat.along[-1]:.4f} mm worked out, {total:.4f} mm written, off {off:+.4f}")
    print(f"{'part':8}{'edge mm':>12}{'extra':>8}{'edge gap':>10}{'width':>9}"
          f"{'chord':>9}{'area mm2':>10}{'holes':>9}")
    for r in rows:
        print(f"{r[0]:8}{r[1]:12.3f}{r[2]:8.1f}{r[3]:10.4f}{r[4]:9.4f}{r[5]:9.4f}{r[6]:10.2f}{r[7]:9.4f}")
    if not names:
        faults.append(f"{kind}: no parts")
    if abs(off) > max(LIMIT_MM, RUN_LIMIT * flat.along[-1]):
        faults.append(f"{kind}: the run is off by {off:+.4f} mm")
    if names and abs(allowed - closing) > 1e-6:
        faults.append(f"{kind}: closing allowance {allowed} mm in the parts, {closing} mm in the job")
    return faults


def area_between(flat, width, a, b, ends):
    """Area of the flat strip from a to b, its inboard corners at `ends`."""
    s = np.linspace(a, b, 2001)
    out, _d = flat.point(s, np.zeros(len(s)))
    # Inboard corners: their own places along the inboard edge.
    lo, hi = sorted(along_of(flat, q) for q in ends)
    q = np.linspace(lo, hi, 2001)
    inn, _d = flat.point(q, np.full(len(q), width))
    return area(np.vstack([out, inn[::-1]]))


def along_of(flat, point):
    """Length along the strip at which a flat point is square to its edge."""
    s = flat.along[int(np.argmin(np.linalg.norm(flat.outboard - point, axis=1)))]
    for _ in range(30):
        c, d = flat.point(np.array([s]), np.zeros(1))
        s += float((point - c[0]) @ d[0])
    return s


def check_holes(name, holes, outboard, inboard, rows, faults):
    """Largest miss of the holes from their two rows; spacing and both rows used."""
    if rows is None or not len(holes):
        if rows is not None:
            faults.append(f"{name}: no fastener holes")
        return 0.0
    d_out, at = distance_to_line(outboard, holes)
    d_in, _at = distance_to_line(inboard, holes)
    miss_out, miss_in = np.abs(d_out - mm(rows["outboard_row"])), np.abs(d_in - mm(rows["inboard_row"]))
    outer = miss_out < miss_in
    if outer.all() or not outer.any():
        faults.append(f"{name}: holes in one row only")
    for pick in (outer, ~outer):
        step = np.diff(np.sort(at[pick]))
        if len(step) and step.min() < 20.0:
            faults.append(f"{name}: two holes {step.min():.1f} mm apart in a row")
    return float(np.minimum(miss_out, miss_in).max())


def check_space(out, strips, faults):
    """Members' points in space against the surfaces, and the faired edge."""
    rows = out.list("members")
    for kind, strip in strips.items():
        pts = np.array([[r["x_mm"], r["y_mm"], r["z_mm"]] for r in rows
                        if out.parts[str(r["part"])]["kind"] == kind])
        gap = geo.distance_to_strip(strip, pts)
        print(f"{kind}: {len(pts)} points in space, largest distance from the surface {gap.max():.4f} mm")
        if not gap.max() <= LIMIT_MM:
            faults.append(f"{kind}: points in space {gap.max():.4f} mm off the surface")


def check_faired(out, job, faults):
    """faired-edge.csv on the fit of the survey's points."""
    p = geo.read_points(job)
    pts = np.column_stack([p["x"], p["y"], p["z"]])
    u = geo.chord_parameter(pts)
    edge = geo.spline(u, pts)
    rows = read_csv(out.folder / "faired-edge.csv")
    theirs = np.array([[r["x_mm"], r["y_mm"], r["z_mm"]] for r in rows])
    fine = np.linspace(u[0], u[-1], 20 * len(u))
    line = edge(fine)
    at = np.array([fine[int(np.argmin(((line - q) ** 2).sum(1)))] for q in theirs])
    for _ in range(10):
        d = edge.derivative()(at)
        at = np.clip(at + ((theirs - edge(at)) * d).sum(1) / (d * d).sum(1), u[0], u[-1])
    gap = np.linalg.norm(edge(at) - theirs, axis=1).max()
    print(f"faired edge: {len(rows)} rows, largest distance from the fit {gap:.5f} mm")
    if not gap <= FAIR_MM:
        faults.append(f"faired edge {gap:.4f} mm off the fit")


def main(job_path, folder):
    """Run all; returns the faults."""
    job, out = geo.read_job(job_path), Output(folder, job_path)
    base, top = geo.strips_of_survey(job)
    faults = []
    check_faired(out, job, faults)
    check_space(out, {"base-plate": base, "top-plate": top}, faults)
    faults += check_plate("base-plate", out, base, job["base"], job["joints"])
    faults += check_plate("top-plate", out, top, job["top"], job["joints"])
    for f in faults:
        print("FAULT", f)
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1], sys.argv[2]) else 0)
