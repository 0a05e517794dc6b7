"""The exact job's stanchions against tubes stood a second time.

    check_stanchions.py JOB OUT

The surfaces are geometry.py's, from the survey (exact, tolerance 0). Each
tube is taken where the list puts its outboard face; its seats, cuts, gaps and
length are worked out from the surfaces, with forward and inboard as the legend
of the list defines them, and its number from where it stands. Prints the
largest differences; exits 1 where any is beyond its limit.
"""
import sys

import numpy as np

import geometry as geo
from drawings import Output
from lengths import mm

PLACE_MM = 0.05     # of the outboard face on the plates
ANGLE_DEG = 0.02    # 0.04 mm over a 4 in tube
GAP_MM = 0.02
LENGTH_MM = 0.05
LIST_MM, LIST_DEG = 0.051, 0.0051   # the list rounds to 0.1 mm and 0.01 degrees


class Face:
    """A plate's face `above` its mid-thickness along the normal: u along, v
    inboard from the outboard edge."""

    def __init__(self, strip, above):
        self.strip, self.above = strip, above
        self.dedge, self.druling = strip.edge.derivative(), strip.ruling.derivative()

    def at(self, u, v):
        u, v = np.atleast_1d(u), np.atleast_1d(v)
        g = self.strip.ruling(u)
        along = self.dedge(u) + v[:, None] * self.druling(u)
        n = np.cross(along, g)
        n /= np.linalg.norm(n, axis=1)[:, None]
        return self.strip.edge(u) + v[:, None] * g + self.above * n

    def meet(self, points, axis, near):
        """Distance from each point along `axis` to the face (Newton, differences)."""
        u, v = np.full(len(points), near), np.full(len(points), 50.0)
        h = 1e-2
        for _ in range(12):
            p = self.at(u, v)
            du, dv = (self.at(u + h, v) - p) / h, (self.at(u, v + h) - p) / h
            matrix = np.stack([du, dv, np.broadcast_to(-axis, p.shape)], axis=2)
            s = ((p - points) @ axis)
            rest = p - points - s[:, None] * axis
            step = np.linalg.solve(matrix, -rest[:, :, None])[:, :, 0]
            u, v = u + step[:, 0], v + step[:, 1]
        return (self.at(u, v) - points) @ axis

    def edge_near(self, point):
        """u of the outboard edge nearest a point."""
        u = self.strip.u
        at = u[int(np.argmin(np.linalg.norm(self.at(u, np.zeros(len(u))) - point, axis=1)))]
        h = 1e-2
        for _ in range(12):
            p = self.at(at, 0.0)[0]
            d = (self.at(at + h, 0.0)[0] - p) / h
            at = at + (point - p) @ d / (d @ d)
        return float(at)


def faces(job, base, top):
    """The faces between which stanchions stand."""
    return (Face(base, mm(job["base"]["thickness"]) / 2), Face(top, -mm(job["top"]["thickness"]) / 2))


def cut(face, foot, axis, forward, inboard, near, side, head):
    """Angles, gap and height at the corners of the cut to a face."""
    half = side / 2
    k = np.linspace(0.0, 1.0, 21)[:-1]
    ring = np.concatenate([np.column_stack([-half + side * k, 0 * k]), np.column_stack([half + 0 * k, side * k]),
                           np.column_stack([half - side * k, side + 0 * k]), np.column_stack([-half + 0 * k, side - side * k])])
    points = foot + ring[:, :1] * forward + ring[:, 1:] * inboard
    up = face.meet(points, axis, near)
    a = np.column_stack([ring, np.ones(len(ring))])
    fit, *_ = np.linalg.lstsq(a, up, rcond=None)
    off = up - a @ fit
    touch = off.min() if head else off.max()
    corners = a[::20] @ fit + touch
    gap = (off.max() - off.min()) / np.sqrt(1 + fit[0]**2 + fit[1]**2)
    return np.degrees(np.arctan(fit[0])), np.degrees(np.arctan(fit[1])), gap, corners


def worked_out(lower, upper, job, row):
    """The figures of a stanchion from where its outboard face stands."""
    foot, head = (np.array([row[k][c] for c in "xyz"]) for k in ("foot_mm", "head_mm"))
    u, w = lower.edge_near(foot), upper.edge_near(head)
    axis = (head - foot) / np.linalg.norm(head - foot)
    d = lower.dedge(np.array([u]))[0]
    t = np.array([d[0], d[1], 0.0]) / np.hypot(d[0], d[1])
    n = np.array([-t[1], t[0], 0.0])
    # The chain goes aft on port, round the stern and forward on starboard:
    # forward is away from the stern's middle; on the centreline it is to port.
    forward = t if row["name"].endswith("S") else -t
    inboard = n - (n @ axis) * axis
    inboard /= np.linalg.norm(inboard)
    side = mm(job["stanchions"]["side"])
    f = cut(lower, foot, axis, forward, inboard, u, side, False)
    h = cut(upper, foot, axis, forward, inboard, w, side, True)
    return dict(
        at=u, off=max(np.linalg.norm(lower.at(u, 0.0)[0] - foot), np.linalg.norm(upper.at(w, 0.0)[0] - head),
                      abs((head - foot) @ t)),
        foot_rise_forward_deg=f[0], foot_rise_inboard_deg=f[1], foot_gap_mm=f[2],
        head_rise_forward_deg=h[0], head_rise_inboard_deg=h[1], head_gap_mm=h[2],
        foot_saw_tilt_deg=tilt(f), head_saw_tilt_deg=tilt(h),
        lean_outboard_deg=np.degrees(np.arctan2(-(axis @ n), axis[2])),
        length_mm=h[3].max() - f[3].min())


def tilt(c):
    """Angle of the cut plane from upright on a saw table that the tube's
    outboard face lies on."""
    normal = np.array([-np.tan(np.radians(c[0])), -np.tan(np.radians(c[1])), 1.0])
    return np.degrees(np.arcsin(-normal[1] / np.linalg.norm(normal)))


def check_numbers(rows, places, ends, spacing, faults):
    """From forward on each side, and the same numbers as far from the fore ends."""
    side = {letter: {int(r["name"][:-1]): (r, u) for r, u in zip(rows, places) if r["name"][-1] == letter}
            for letter in "PSC"}
    for letter, sign in (("P", 1.0), ("S", -1.0)):
        of = side[letter]
        if sorted(of) != list(range(1, len(of) + 1)):
            faults.append(f"{letter}: numbers {sorted(of)}")
        along = [sign * of[k][1] for k in sorted(of)]
        if not of or any(b <= a for a, b in zip(along, along[1:])):
            faults.append(f"{letter}: the numbers do not run from forward")
        y = [of[k][0]["foot_mm"]["y"] for k in sorted(of)]
        if any(sign * v <= 0 for v in y):
            faults.append(f"{letter}: a stanchion on the other side")
    for k in side["P"].keys() & side["S"].keys():
        apart = (side["P"][k][1] - ends[0]) - (ends[1] - side["S"][k][1])
        if not abs(apart) < spacing / 2:
            faults.append(f"{k}P stands {apart:.0f} mm further from forward than {k}S")
    for r, _u in side["C"].values():
        if abs(r["foot_mm"]["y"]) > 60:
            faults.append(f"{r['name']} stands off the centreline")


LIMITS = dict(foot_rise_forward_deg=ANGLE_DEG, foot_rise_inboard_deg=ANGLE_DEG, foot_saw_tilt_deg=ANGLE_DEG,
              head_rise_forward_deg=ANGLE_DEG, head_rise_inboard_deg=ANGLE_DEG, head_saw_tilt_deg=ANGLE_DEG,
              foot_gap_mm=GAP_MM, head_gap_mm=GAP_MM, lean_outboard_deg=ANGLE_DEG, length_mm=LENGTH_MM)


def check(job, base, top, rows):
    """Faults of the stanchions of a summary."""
    lower, upper = faces(job, base, top)
    faults, places, worst = [], [], dict.fromkeys(LIMITS, 0.0)
    for row in rows:
        own = worked_out(lower, upper, job, row)
        places.append(own["at"])
        if not own["off"] <= PLACE_MM:
            faults.append(f"{row['name']}: stands {own['off']:.3f} mm off the plates' edges")
        for key, limit in LIMITS.items():
            off = abs(row[key] - own[key])
            worst[key] = max(worst[key], off)
            if not off <= limit:
                faults.append(f"{row['name']}: {key} {row[key]:.4f}, worked out {own[key]:.4f}")
    check_numbers(rows, places, (base.u[0], base.u[-1]), mm(job["stanchions"]["spacing"]), faults)
    print(f"{len(rows)} stanchions; largest differences:")
    for key, off in worst.items():
        print(f"  {key:24}{off:9.5f}  (limit {LIMITS[key]})")
    return faults


def check_list(out, faults):
    """The list has the summary's figures."""
    rows = {str(r["stanchion"]): r for r in out.list("stanchions")}
    if set(rows) != {r["name"] for r in out.summary["stanchions"]}:
        faults.append("the list names other stanchions than the summary")
    for s in out.summary["stanchions"]:
        r = rows.get(s["name"], {})
        pairs = {k: k for k in LIMITS if k != "length_mm"} | {"length_mm": "length_long_points_mm"}
        for key, column in pairs.items():
            limit = LIST_MM if key == "length_mm" else LIST_DEG
            if not abs(s[key] - float(r.get(column, np.nan))) <= limit:
                faults.append(f"{s['name']}: {column} {r.get(column)} in the list, {s[key]} in the summary")
    if not (out.folder / "lists" / "stanchions-legend.txt").is_file():
        faults.append("no legend goes with the list")


def main(job_path, folder):
    """Run all; returns the faults."""
    job, out = geo.read_job(job_path), Output(folder, job_path)
    base, top = geo.strips_of_survey(job)
    faults = check(job, base, top, out.summary["stanchions"])
    check_list(out, faults)
    for f in faults:
        print("FAULT", f)
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1], sys.argv[2]) else 0)
