"""Writes an exact job: a closed-form boat, surveyed without error.

    make_exact_job.py FOLDER [long|butts]

Unequal sides, sheer, slope that twists, lean, a round stern. `long`: pieces
as long as a 12 x 12 m test sheet holds, level top plate. `butts`: pieces of
at most 3 m, a top plate that rises 3 degrees inboard, a closing allowance.

The plan is given by its heading over the distance s from the stern's middle
(port negative), a closed formula; places come of Gauss quadrature.
"""
import sys
from pathlib import Path

import numpy as np

S_PORT, S_STARBOARD = -15300.0, 15000.0
POINTS_A_SIDE = 61


def heading(s):
    """Direction of travel in plan, rad: athwart at the stern's middle."""
    return (-np.pi / 2 + 1.40 * np.tanh(s / 2300.0) + 2.5e-5 * s + 0.45 * (s / 15000.0) ** 5
            + 0.012 * np.tanh((s - 7000.0) / 3500.0) + 0.012 * np.tanh(2.0))


def plan(s):
    """x, y at ascending s, y = 0 at s = 0."""
    g, w = np.polynomial.legendre.leggauss(12)
    knots = np.concatenate([np.arange(S_PORT, 0.0, 50.0), np.arange(0.0, S_STARBOARD + 50.0, 50.0)])
    half = np.diff(knots)[:, None] / 2
    at = knots[:-1, None] + half * (g + 1)
    zero = int(np.searchsorted(knots, 0.0))
    out = []
    for f in (np.cos, np.sin):
        table = np.concatenate([[0.0], np.cumsum((f(heading(at)) * half) @ w)])
        table -= table[zero]
        i = np.clip(np.searchsorted(knots, s, side="right") - 1, 0, len(knots) - 2)
        h = (s - knots[i])[:, None] / 2
        out.append(table[i] + (f(heading(knots[i][:, None] + h * (g + 1))) * h) @ w)
    return out[0] - 400.0, out[1]


def boat(s):
    """Edge, slope, inboard normal, height and lean (rad) at s."""
    s = np.asarray(s, float)
    x, y = plan(s)
    q = (x - 5200.0) / 9000.0
    z = 1400.0 + 560.0 * q**2 + 130.0 * q**3 + 8.0 * np.tanh(s / 5000.0)
    a = heading(s)
    return dict(x=x, y=y, z=z, nx=-np.sin(a), ny=np.cos(a),
                slope=0.075 + 0.04 * np.cos(s / 3100.0 + 0.4) + 0.01 * np.tanh(s / 4000.0),
                height=820.0 + 60.0 * np.cos(s / 4900.0) - 15.0 * np.tanh(s / 6000.0),
                lean=np.radians(5.0 - 3.0 * np.cos(s / 5000.0)))


def places():
    """s of the survey's points, closer towards the ends and round the stern."""
    u = (np.arange(POINTS_A_SIDE) + 0.5) / (POINTS_A_SIDE - 0.5)
    side = u - 0.4 * np.sin(2 * np.pi * u) / (2 * np.pi)
    return np.concatenate([S_PORT * side[::-1], S_STARBOARD * side])


HEAD = "x,y,z,side,bulwark_height,lean_deg,inboard_x,inboard_y,inboard_z,knuckle,name\n"


def survey(folder):
    """port.csv and starboard.csv, both from the bow aft."""
    s = places()
    b = boat(s)
    for side, pick in (("port", s < 0), ("starboard", s > 0)):
        index = np.flatnonzero(pick)
        if side == "starboard":
            index = index[::-1]
        rows = []
        for k, i in enumerate(index):
            v = [b["x"][i], b["y"][i], b["z"][i], side, b["height"][i], np.degrees(b["lean"][i]),
                 b["x"][i] + 180 * b["nx"][i], b["y"][i] + 180 * b["ny"][i],
                 b["z"][i] + 180 * b["slope"][i], "", f"{side[0].upper()}{k + 1}"]
            rows.append(",".join(q if isinstance(q, str) else f"{q:.9f}" for q in v))
        text = f"# Exact points of a boat that is a formula.\n{HEAD}" + "\n".join(rows) + "\n"
        (folder / f"{side}.csv").write_text(text, encoding="ascii", newline="\n")


JOB = """\
# Exact test job: made by make_exact_job.py from formulas.
name = "Exact test hull"
date = "2025-05-01"
note = "A formula, not a boat."
show = "mm"

[survey]
unit = "mm"
stations = "forward"
accuracy = "0 mm"
line = "covering-board-edge"
mirrored = false
stern = "round"
stem = "square"
[[survey.file]]
path = "port.csv"
form = "points"
side = "port"
[[survey.file]]
path = "starboard.csv"
form = "points"
side = "starboard"

[fairing]
base = "0 mm"
top = "0 mm"

[bulwark]
height = "800 mm"
from = "covering-board"
to = "top-plate"
lean_deg = 5

[base]
width = "180 mm"
thickness = "1/2 in"
alloy = "5086-H116"
bedding = "3 mm"
[base.fasteners]
diameter = "13 mm"
spacing = "250 mm"
outboard_row = "35 mm"
inboard_row = "35 mm"
clear_of_stanchion = "20 mm"
clear_of_butt = "50 mm"

[top]
width = "130 mm"
thickness = "1/2 in"
alloy = "5086-H116"
{top_slope}
[top.fasteners]
diameter = "9 mm"
spacing = "300 mm"
outboard_row = "25 mm"
inboard_row = "25 mm"
clear_of_stanchion = "15 mm"
clear_of_butt = "40 mm"

[section]
planking = "25 mm"
planking_inset = "10 mm"
weld_setback = "2 mm"
inwale = "22 mm"
cap_width = "8 in"
cap_thickness = "1 3/4 in"
overhang_outboard = "12 mm"
overhang_inboard = "10 mm"

[stanchions]
side = "4 in"
wall = "1/4 in"
alloy = "6061-T6"
spacing = "600 mm"
end_clearance = "150 mm"
stand = "plumb"

[joints]
weld_gap = "2.5 mm"
shrinkage = "1 mm"
clear_of_stanchion = "75 mm"
stagger = "300 mm"
longest_piece = "{longest}"
closing_allowance = "{closing}"

[[sheet]]
name = "test sheet"
length = "12 m"
width = "12 m"
thickness = "1/2 in"
alloy = "5086-H116"

[cutting]
process = "test"
kerf = "1 mm"
gap = "6 mm"
edge_margin = "10 mm"
rotation = "free"
effort = "quick"

[prices]
currency = "USD"
per_kg = {{ "5086-H116" = 10.0 }}
scrap_per_kg = 1.0

[output]
dxf = "R2000"
dxf_units = "mm"
outline_tolerance = "0.005 mm"
"""

KINDS = {
    "long": dict(top_slope='slope = "level"', longest="11 m", closing="0 mm"),
    "butts": dict(top_slope="slope_deg = 3", longest="3 m", closing="50 mm"),
}


def write(folder, kind="long"):
    """The whole job; returns the job file's path."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    survey(folder)
    (folder / "job.toml").write_text(JOB.format(**KINDS[kind]), encoding="ascii", newline="\n")
    return folder / "job.toml"


if __name__ == "__main__":
    print(write(sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "long"))
