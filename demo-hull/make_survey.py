"""Makes the demo survey: an invented wooden workboat and a tape's errors.

    python3 make_survey.py [FOLDER]      (default: this file's folder)

Writes port.csv, starboard.csv (what a surveyor would have booked) and
truth.csv (the edge the errors were added to). Needs numpy only. Every figure
is invented; truth.md documents the formulas. Same seed, same bytes.

Millimetres and radians. x forward from the rudder stock, y to port, z up from
the baseline. s is the distance along the symmetric plan curve, zero at the
stern's middle, positive along port, negative along starboard.
"""
import sys
from pathlib import Path

import numpy as np

SEED = 19
NOISE_MM = 0.8          # standard deviation of one measured ordinate
ROUND_MM = 1.0          # a tape read to the nearest millimetre

# Plan curve: its curvature, 1/mm, as a closed formula of s (see curvature()).
STERN_RADIUS = 1800.0   # radius at the stern's middle
STERN_REACH = 2904.8    # s where the stern's curvature has died away to 1/e
MIDSHIP_CURV = 1.6623e-5
BOW_CURV = 1.04563e-4   # added towards the bow's shoulder
BOW_S, BOW_W = 12000.0, 1600.0
HALF_LENGTH = 17021.9   # s at the stem end
BULWARK_END = 16780.0   # s where the bulwark stops against the knightheads:
                        # further on, plates of both sides would overlap
STERN_X = -600.0        # the stern's middle lies aft of the rudder stock

# Sheer of the edge over X = (x - LOW_X) / SHEER_SCALE: a quartic, so every
# derivative is smooth; 750 mm up at the stem, 280 mm at the stern.
LOW_X, LOW_Z, SHEER_SCALE = 6000.0, 1450.0, 8900.0
SHEER = (567.2, 122.8, 60.0)          # of X^2, X^3, X^4

# Deck: a parabola of 150 mm over a half-beam of 2250 mm at every station.
ROUND_UP, HALF_BEAM = 150.0, 2250.0

# What makes starboard differ: fuller amidships, lower near the quarter.
FULLER_MM, FULLER_S, FULLER_W = 9.0, -8500.0, 2400.0
LOWER_MM, LOWER_S, LOWER_W = 5.0, -3400.0, 1300.0

# Bulwark over x: height and lean, blended along a half cosine.
HEIGHT_AFT, HEIGHT_FORE = 760.0, 900.0
LEAN_AFT, LEAN_FORE = 2.0, 9.0
X_FORE = 14900.0


def curvature(s):
    """Plan curvature, 1/mm."""
    a = np.abs(s)
    stern = (1.0 / STERN_RADIUS - MIDSHIP_CURV) * np.exp(-((a / STERN_REACH) ** 4))
    bow = BOW_CURV / (1.0 + np.exp(-(a - BOW_S) / BOW_W))
    return MIDSHIP_CURV + stern + bow


def _tables():
    """Heading, x, y over 0..HALF_LENGTH by 5-point Gauss in 1 mm cells."""
    n = 17030
    edges = np.linspace(0.0, float(n), n + 1)
    g, w = np.polynomial.legendre.leggauss(5)
    g, w = (g + 1.0) / 2.0, w / 2.0
    # Angle through the middle of a cell to each Gauss point is found with
    # Gauss again on the part of the cell before it.
    before = edges[:-1, None, None] + g[None, :, None] * g[None, None, :]
    part = g[None, :] * (curvature(before) @ w)
    turn = np.concatenate([[0.0], np.cumsum(curvature(edges[:-1, None] + g) @ w)])
    heading = np.pi / 2.0 - (turn[:-1, None] + part)
    x = np.concatenate([[0.0], np.cumsum(np.cos(heading) @ w)])
    y = np.concatenate([[0.0], np.cumsum(np.sin(heading) @ w)])
    return edges, np.pi / 2.0 - turn, STERN_X + x, y


_S, _HEADING, _X, _Y = _tables()


def _hermite(a, f, d):
    """Cubic Hermite between the millimetre nodes: error below 1e-9 mm."""
    i = np.clip(a.astype(int), 0, len(_S) - 2)
    u = a - i
    f0, f1, d0, d1 = f[i], f[i + 1], d[i], d[i + 1]
    return (f0 * (1 + 2 * u) * (1 - u) ** 2 + d0 * u * (1 - u) ** 2
            + f1 * u * u * (3 - 2 * u) - d1 * u * u * (1 - u))


def sheer(x):
    """Height of the symmetric edge, mm, and its slope over x."""
    q = (x - LOW_X) / SHEER_SCALE
    a, b, c = SHEER
    return (LOW_Z + a * q**2 + b * q**3 + c * q**4,
            (2 * a * q + 3 * b * q**2 + 4 * c * q**3) / SHEER_SCALE)


def truth(s):
    """The true edge: x, y, z, slope, inboard normal (nx, ny) at signed s."""
    s = np.atleast_1d(np.asarray(s, float))
    a, sign = np.abs(s), np.where(s < 0.0, -1.0, 1.0)
    heading = _hermite(a, _HEADING, -curvature(_S))
    x = _hermite(a, _X, np.cos(_HEADING))
    y = _hermite(a, _Y, np.sin(_HEADING))
    k = curvature(s)
    # Port half: tangent towards the bow (cos, sin), inboard on its right.
    tx, ty = np.cos(heading), np.sin(heading)
    z, dz = sheer(x)
    # Deck through the edge: z(x, y) = sheer(x) + c (Y(x)^2 - y^2).
    c = ROUND_UP / HALF_BEAM**2
    y_over_tx = np.where(a < 1.0, 1.0 / k, y / np.where(a < 1.0, 1.0, tx))
    slope = ty * (dz + 2 * c * ty * y_over_tx) + tx * 2 * c * y
    # Starboard's difference, square to the edge in plan, and down.
    q = (s - FULLER_S) / FULLER_W
    bump = FULLER_MM * np.exp(-q * q)
    dbump = -2.0 * q / FULLER_W * bump * sign      # per unit of a
    low = LOWER_MM * np.exp(-(((s - LOWER_S) / LOWER_W) ** 2))
    nx, ny = ty, -tx                               # inboard, port half
    # The edge bends towards inboard: moved out, it runs faster by 1 + k bump.
    rx, ry = tx * (1 + k * bump) - dbump * nx, ty * (1 + k * bump) - dbump * ny
    r = np.hypot(rx, ry)
    return dict(s=s, x=x - bump * nx, y=sign * (y - bump * ny), z=z - low,
                slope=slope, nx=ry / r, ny=-sign * rx / r)


def blend(x, aft, fore):
    """From aft at the stern to fore at the stem along a half cosine."""
    q = np.clip((x - STERN_X) / (X_FORE - STERN_X), 0.0, 1.0)
    return aft + (fore - aft) * (1.0 - np.cos(np.pi * q)) / 2.0


def places(n):
    """Where the surveyor measured: n distances from the stern to the knightheads, about
    340 mm apart round the stern and 800 mm along the side."""
    u = np.linspace(0.0, 1.0, 4001)
    step = 1.0 / (340.0 + 480.0 / (1.0 + np.exp(-(u * BULWARK_END - 4200.0) / 700.0))
                  - 250.0 / (1.0 + np.exp(-(u * BULWARK_END - 15500.0) / 500.0)))
    count = np.concatenate([[0.0], np.cumsum((step[1:] + step[:-1]) / 2.0)])
    return np.interp(np.linspace(0.0, count[-1], n), count, u) * BULWARK_END


def read(rng, value):
    """A measured ordinate: the true one, an error, the tape's last mark."""
    return np.round((value + rng.normal(0.0, NOISE_MM, len(value))) / ROUND_MM) * ROUND_MM


def survey(rng, side, s):
    """Rows of a point table, from the bow aft."""
    t = truth(s)
    reach = np.round(180.0 + rng.uniform(-6.0, 6.0, len(s)))
    x, y, z = (read(rng, t[k]) for k in "xyz")
    if side == "port":
        y[-1] = 0.0                       # on the centreline by definition
    ix, iy, iz = (read(rng, v) for v in (
        t["x"] + reach * t["nx"], t["y"] + reach * t["ny"], t["z"] + reach * t["slope"]))
    height = read(rng, blend(t["x"], HEIGHT_AFT, HEIGHT_FORE))
    lean = np.round(blend(t["x"], LEAN_AFT, LEAN_FORE) + rng.normal(0.0, 0.08, len(s)), 1)
    rows = []
    for i in range(len(s)):
        name = f"{side[0].upper()}{i + 1}"
        rows.append(f"{x[i]:.0f},{y[i] + 0.0:.0f},{z[i]:.0f},{side},{height[i]:.0f},{lean[i]:.1f},"
                    f"{ix[i]:.0f},{iy[i]:.0f},{iz[i]:.0f},,{name}")
    return rows


HEAD = """\
# {side} side of an INVENTED workboat: no such boat was ever measured.
# Top of the covering board at its outboard edge, in order from the bow aft.
# mm; x forward of the rudder stock, y to port of the centreline, z above the baseline.
# inboard_*: a second point on the covering board, about 180 mm inboard, square to the edge.
# Made by make_survey.py, seed {seed}; see truth.md.
x,y,z,side,bulwark_height,lean_deg,inboard_x,inboard_y,inboard_z,knuckle,name
"""


def main(folder):
    """Write the three tables."""
    rng = np.random.default_rng(SEED)
    s = places(27)[::-1]
    # Starboard was measured on another day, at places of its own.
    jitter = rng.uniform(-60.0, 60.0, len(s) - 1)
    jitter[0] = 0.0
    sides = {"port": s, "starboard": -(s[:-1] + jitter)}
    for side, at in sides.items():
        rows = survey(rng, side, at)
        text = HEAD.format(side=side.capitalize(), seed=SEED) + "\n".join(rows) + "\n"
        (folder / f"{side}.csv").write_text(text, encoding="ascii", newline="\n")
    dense = np.linspace(BULWARK_END, -BULWARK_END, 1679)
    t = truth(dense)
    lines = ["# True edge of an invented boat (truth.md): from the port knighthead round to starboard.",
             "side,s_mm,x_mm,y_mm,z_mm,slope"]
    for i, q in enumerate(dense):
        side = "starboard" if q < 0.0 else "port"
        lines.append(f"{side},{q:.3f},{t['x'][i]:.4f},{t['y'][i]:.4f},{t['z'][i]:.4f},{t['slope'][i]:.7f}")
    (folder / "truth.csv").write_text("\n".join(lines) + "\n", encoding="ascii", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
