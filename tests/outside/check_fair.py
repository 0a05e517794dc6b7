"""Does fairing bring the demo hull nearer to the truth than the survey was?

    check_fair.py JOB OUT TRUTH.csv

Distances from the known true edge, square to it in plan and vertically: of
the surveyed points, and of the faired edge. Prints rms and ratio; exits 1
unless the faired edge is the nearer, plan and height taken together.
"""
import sys

import numpy as np

import geometry as geo
from drawings import read_csv


def truth_of(path):
    """The true edge as a spline over s (port positive), and its s range."""
    rows = read_csv(path)
    s = np.array([r["s_mm"] for r in rows])[::-1]
    p = np.array([[r["x_mm"], r["y_mm"], r["z_mm"], r["slope"]] for r in rows])[::-1]
    return geo.spline(s, p), s


def misses(truth, s, points):
    """Distance in plan (outboard or inboard) and in height from the truth."""
    line = truth(s)[:, :2]
    at = np.array([s[int(np.argmin(((line - q[:2]) ** 2).sum(1)))] for q in points])
    d = truth.derivative()
    for _ in range(8):
        t = d(at)[:, :2]
        at = np.clip(at + ((points[:, :2] - truth(at)[:, :2]) * t).sum(1) / (t * t).sum(1), s[0], s[-1])
    t, _n = geo.plan_frame(d(at))
    r = points[:, :3] - truth(at)[:, :3]
    return t[:, 0] * r[:, 1] - t[:, 1] * r[:, 0], r[:, 2], at


def rms(a):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(a))))


def main(job_path, folder, truth_path):
    """Run; returns the faults."""
    truth, s = truth_of(truth_path)
    rows = geo.read_points(geo.read_job(job_path))
    measured = np.column_stack([rows["x"], rows["y"], rows["z"]])
    lines = read_csv(f"{folder}/faired-edge.csv")
    faired = np.array([[r["x_mm"], r["y_mm"], r["z_mm"]] for r in lines])
    was, now, faults = misses(truth, s, measured), misses(truth, s, faired), []
    both = lambda m: np.concatenate([m[0], m[1]])
    print(f"{'':10}{'survey rms':>12}{'faired rms':>12}{'faired max':>12}{'ratio':>8}")
    for what, a, b in (("plan", was[0], now[0]), ("height", was[1], now[1]), ("both", both(was), both(now))):
        ratio = rms(b) / rms(a)
        print(f"{what:10}{rms(a):9.3f} mm{rms(b):9.3f} mm{np.abs(b).max():9.3f} mm{ratio:8.3f}")
        if what == "both" and not ratio < 1.0:
            faults.append(f"the faired edge is no nearer to the truth, ratio {ratio:.3f}")
    slope = np.array([r["slope"] for r in lines]) - truth(now[2])[:, 3]
    print(f"slope: rms {rms(slope):.5f}, largest {np.abs(slope).max():.5f}")
    for f in faults:
        print("FAULT", f)
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(*sys.argv[1:4]) else 0)
