"""Checks what `planksheer fair` tells against the survey and the written line.

    python check_fairness.py JOB_FOLDER FAIR_OUT

The moves are worked out again from the survey tables and faired-edge.csv by
cubic splines of SciPy: the foot of every measured point square to the line in
plan. Pictures must be well-formed and state their size in mm. Exit 1 on any
difference above 0.02 mm.
"""

import csv
import json
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize_scalar

TOLERANCE_MM = 0.02


def rows(path):
    lines = [line for line in path.read_text().splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


def main():
    job, out = Path(sys.argv[1]), Path(sys.argv[2])
    faults = []
    told = json.loads((out / "fairness.json").read_text())
    edge = [r for r in rows(out / "faired-edge.csv") if r["chain"] == "0"]
    t = np.array([float(r["t_mm"]) for r in edge])
    line = CubicSpline(t, np.array([[float(r[k]) for k in ("x_mm", "y_mm", "z_mm")] for r in edge]))
    moves = {(p["station"], p["side"]): p for p in told["points"]}
    worst = 0.0
    count = 0
    for name in ("port.csv", "starboard.csv"):
        for r in rows(job / name):
            p = np.array([float(r[k]) for k in ("x", "y", "z")])
            move = moves.get((r["name"], name[:-4]))
            if move is None:
                faults.append(f"{name}: {r['name']} is not told")
                continue

            def apart(s, p=p):
                return float(np.sum((line(s)[:2] - p[:2]) ** 2))

            near = t[np.argmin([apart(s) for s in t])]
            bounds = (max(t[0], near - 60.0), min(t[-1], near + 60.0))
            foot = minimize_scalar(apart, bounds=bounds, method="bounded", options={"xatol": 1e-7}).x
            along = line(foot, 1)[:2]
            along /= np.linalg.norm(along)
            outboard = np.array([along[1], -along[0]])
            by = line(foot) - p
            for key, value in (("base_out_mm", by[:2] @ outboard), ("base_up_mm", by[2])):
                worst = max(worst, abs(value - move[key]))
                if abs(value - move[key]) > TOLERANCE_MM:
                    faults.append(f"{r['name']}: {key} is told as {move[key]}, found {value:.3f}")
            count += 1
    for name in ("plan-and-profile.svg", "sighting.svg"):
        root = ET.parse(out / name).getroot()
        if not root.get("width", "").endswith("mm"):
            faults.append(f"{name}: no width in mm")
    report = (out / "fairness.txt").read_text()
    for heading in ("MOVES", "NOT FAIR", "DOUBTFUL FIGURES", "MEASURE AGAIN FIRST", "PORT AND STARBOARD"):
        if heading not in report:
            faults.append(f"fairness.txt has no {heading}")
    print(f"{count} points, moves agree within {worst:.4f} mm")
    for fault in faults:
        print(fault)
    return 1 if faults or count == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
