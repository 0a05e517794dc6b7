"""Smoothing splines by SciPy and NumPy, for src/fair/tests/reference.rs.

    python tests/outside/smoothing_reference.py            checks the stored figures
    python tests/outside/smoothing_reference.py --write    writes them anew

fixtures/smoothing/reference.json holds invented points and, for several
balances lambda, the curves that minimise sum (y - f)^2 + lambda * integral of
a squared derivative:

cubic    the second derivative, by scipy.interpolate.make_smoothing_spline
quintic  the third derivative, over the quintic splines with knots at the
         points except the first two and last two inner ones: the design matrix
         by SciPy's B-splines, the penalty by ten Gauss points a piece, solved
         densely by an orthogonal factor (numpy.linalg.lstsq)

Needs numpy and scipy.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import BSpline, make_smoothing_spline

STORED = Path(__file__).resolve().parents[2] / "fixtures" / "smoothing" / "reference.json"
SAME = 1e-10


def points():
    """Unevenly spaced, a wave with a rough error that needs no generator."""
    k = np.arange(28)
    x = 4.0 * k + 1.3 * np.sin(2.1 * k)
    y = 30.0 * np.sin(x / 31.0) + 0.004 * x**2 + np.sin(37.0 * k) * np.cos(11.0 * k)
    return x, y


def quintic(x, y, lam, at):
    knots = np.concatenate([[x[0]] * 6, x[3:-3], [x[-1]] * 6])
    count = len(knots) - 6
    nodes, weights = np.polynomial.legendre.leggauss(10)
    breaks = np.unique(knots)
    rows = [BSpline.design_matrix(x, knots, 5).toarray()]
    third = [BSpline(knots, np.eye(count)[i], 5).derivative(3) for i in range(count)]
    for a, b in zip(breaks[:-1], breaks[1:]):
        t = 0.5 * (a + b) + 0.5 * (b - a) * nodes
        scale = np.sqrt(lam * weights * 0.5 * (b - a))
        rows.append(scale[:, None] * np.stack([d(t) for d in third], axis=1))
    matrix = np.concatenate(rows)
    right = np.concatenate([y, np.zeros(len(matrix) - len(y))])
    c = np.linalg.lstsq(matrix, right, rcond=None)[0]
    return BSpline(knots, c, 5)(at)


def reference():
    x, y = points()
    at = np.linspace(x[0], x[-1], 61)
    cases = []
    for lam in (0.5, 40.0, 5e4):
        curve = make_smoothing_spline(x, y, lam=lam)
        cases.append({"kind": "cubic", "lambda": lam, "values": curve(at).tolist()})
    for lam in (5.0, 5e3, 5e6):
        cases.append({"kind": "quintic", "lambda": lam, "values": quintic(x, y, lam, at).tolist()})
    return {"x": x.tolist(), "y": y.tolist(), "at": at.tolist(), "cases": cases}


def main():
    now = reference()
    if sys.argv[1:] == ["--write"]:
        STORED.parent.mkdir(exist_ok=True)
        STORED.write_text(json.dumps(now, indent=1) + "\n")
        return
    stored = json.loads(STORED.read_text())
    size = np.ptp(now["y"])
    for key in ("x", "y", "at"):
        assert np.max(np.abs(np.subtract(stored[key], now[key]))) <= SAME * size, key
    assert len(stored["cases"]) == len(now["cases"])
    for a, b in zip(stored["cases"], now["cases"]):
        assert (a["kind"], a["lambda"]) == (b["kind"], b["lambda"])
        off = np.max(np.abs(np.subtract(a["values"], b["values"]))) / size
        print(f"{a['kind']:8} lambda {a['lambda']:10g}: {off:.1e} of the range")
        assert off <= SAME, a["kind"]


main()
