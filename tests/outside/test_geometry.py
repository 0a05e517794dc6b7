"""The independent geometry against closed forms, before it judges anything."""
import math

import numpy as np
import pytest
from scipy.spatial import cKDTree

import geometry as geo
from lengths import mm


def strip_from(fun, slope, n=61, length=1.0, width=180.0, rise=0.0, inset=0.0):
    """Fit n points of a closed form, as a survey would be fitted."""
    s = np.linspace(0.0, length, n)
    p = np.array([fun(q) for q in s])
    u = geo.chord_parameter(p)
    edge = geo.spline(u, p)
    fine = np.linspace(u[0], u[-1], 40 * (n - 1) + 1)
    m = geo.spline(u, np.array([slope(q) for q in s]))(fine)
    return geo.make_strip(fine, edge(fine), edge.derivative()(fine), m, inset, rise, width)


@pytest.mark.parametrize("text,value", [
    ("12.7 mm", 12.7), ("1/2 in", 12.7), ("5 ft 3 1/2 in", 1612.9), ("4 in", 101.6),
    ("1 3/4 in", 44.45), ("3.2 m", 3200.0), ("12 ft", 3657.6), ("-2 mm", -2.0)])
def test_lengths(text, value):
    assert mm(text) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize("slope,rise", [(0.1, 0.0), (0.1, 9.35), (-0.15, 9.35), (0.0, 9.35)])
def test_cone(slope, rise):
    """Edge a circular arc in plan at one height, constant slope: a cone.

    Inboard rises: apex height m R, slant radius sqrt(R^2 + (m R)^2) = R sec a;
    the flat angle is plan angle * cos a. The mid-thickness is the cone moved
    by `rise` along its normal: its edge lies at plan radius R + rise sin a.
    """
    R, angle, w = 5000.0, 1.6, 180.0
    a = math.atan(slope)
    s = strip_from(lambda q: (R * math.cos(q), R * math.sin(q), 0.0), lambda q: slope,
                   length=angle, rise=rise)
    f = geo.flatten(s)
    edge_radius = R + rise * math.sin(a)
    slant, flat_angle = edge_radius / math.cos(a), angle * math.cos(a)
    assert f.along[-1] == pytest.approx(edge_radius * angle, abs=1e-4)
    assert f.bend[len(f.bend) // 2] == pytest.approx(1 / slant, abs=1e-10)
    inner = np.linalg.norm(np.diff(f.inboard, axis=0), axis=1).sum()
    assert inner == pytest.approx((slant - w) * flat_angle, abs=1e-3)
    chord = np.linalg.norm(f.outboard[-1] - f.outboard[0])
    assert chord == pytest.approx(2 * slant * math.sin(flat_angle / 2), abs=1e-3)
    assert f.strain.max() < 1e-9


@pytest.mark.parametrize("hollow", [1, -1])
def test_cylinder(hollow):
    """Straight in plan, circular sheer: length (R -+ t/2) angle, and straight."""
    R, half = 40000.0, 0.125
    fun = lambda q: (-R * math.sin(q - half), 2000.0, hollow * (R - R * math.cos(q - half)))
    s = strip_from(fun, lambda q: 0.0, length=2 * half, rise=6.35)
    f = geo.flatten(s)
    assert f.along[-1] == pytest.approx((R - hollow * 6.35) * 2 * half, abs=1e-4)
    assert np.abs(f.outboard[:, 1]).max() < 1e-6
    assert f.strain.max() < 1e-12


def test_twisted_ribbon():
    """Slope turning evenly along a straight edge; twist tau. Lengthwise rate
    sqrt(1 + tau^2 v^2): the least-squares straight line over 0..w is
    1 + tau^2/2 (w v - w^2/6) to leading order (v^2 -> w v - w^2/6)."""
    tau, w, L = 2e-4, 180.0, 3000.0
    angle = lambda q: tau * (q - L / 2)
    s = strip_from(lambda q: (-q, 0.0, 0.0), lambda q: math.tan(angle(q)), length=L, width=w)
    f = geo.flatten(s)
    assert f.along[-1] == pytest.approx(L * (1 - tau**2 * w**2 / 12), abs=2e-4)
    inner = np.linalg.norm(np.diff(f.inboard, axis=0), axis=1).sum()
    assert inner == pytest.approx(L * (1 + tau**2 * w**2 * (5 / 12)), abs=2e-3)
    # Residual tau^2/2 (x^2 - w^2/12) about the middle: largest at the edges,
    # reached to 90 % at the outermost of eight Gauss places.
    assert 0.8 < f.strain.max() / (tau**2 / 2 * w**2 / 6) < 1.01


def test_oblique_edge_is_square_wide():
    """A plane strip whose rulings are not square to its edge: a straight edge
    climbing at p on a plane of slope m. Flat, it is a straight strip of the
    full width, and the ruling keeps its true angle."""
    p, m, L = 0.1, 0.2, 2000.0
    s = strip_from(lambda q: (-q, 0.0, p * q), lambda q: m, n=12, length=L)
    f = geo.flatten(s)
    assert f.along[-1] == pytest.approx(L * math.sqrt(1 + p * p), abs=1e-6)
    T = (f.outboard[-1] - f.outboard[0]) / f.along[-1]
    cos = p * m / math.sqrt((1 + p * p) * (1 + m * m))
    assert f.ruling[5] @ T == pytest.approx(cos, abs=1e-9)
    assert np.allclose(np.linalg.norm(f.inboard - f.outboard, axis=1), 180.0)


def test_level_plan_is_itself():
    """No slope, no sheer: the flat is the plan, here of an ellipse."""
    fun = lambda q: (5000 * math.cos(q), 2200 * math.sin(q), 700.0)
    s = strip_from(fun, lambda q: 0.0, n=121, length=math.pi, rise=9.35, inset=37.0)
    f = geo.flatten(s)
    plan = s.edge(f.u)[:, :2]
    _R, _t, gap = geo.rigid_fit(f.outboard, plan)
    assert gap.max() < 1e-3


def test_rigid_fit_never_mirrors():
    a = np.array([[0.0, 0], [10, 0], [10, 4], [0, 5]])
    _R, _t, gap = geo.rigid_fit(a, a * [1, -1])
    assert gap.max() > 0.5
    c, s = math.cos(0.3), math.sin(0.3)
    assert geo.rigid_fit(a, a @ np.array([[c, s], [-s, c]]) + 7)[2].max() < 1e-12


def test_distance_to_strip():
    """Points lifted off a cone's mid-thickness by 2.5 mm."""
    s = strip_from(lambda q: (3000 * math.cos(q), 3000 * math.sin(q), 0.0), lambda q: 0.1,
                   length=1.2)
    u = s.u[200:1800:400]
    p = s.edge(u) + 90 * s.ruling(u) + 2.5 * s.normal(u)
    assert geo.distance_to_strip(s, p) == pytest.approx(np.full(len(u), 2.5), abs=1e-5)


def test_fit_of_the_exact_boat(tmp_path):
    """The exact job's points, fitted, against the formula they came from."""
    import make_exact_job as exact
    job = geo.read_job(exact.write(tmp_path))
    base, top = geo.strips_of_survey(job)
    s = np.linspace(exact.S_PORT, exact.S_STARBOARD, 120001)
    b = exact.boat(s)
    true = np.column_stack([b["x"], b["y"], b["z"]])
    assert reach(true, base.line) < 2e-3
    out = b["height"] * np.tan(b["lean"])
    true_top = true + np.column_stack([-b["nx"] * out, -b["ny"] * out, b["height"]])
    edge = top.line                       # moved in by the inset, level
    along = np.gradient(true_top, s, axis=0)
    _t, n = geo.plan_frame(along)
    assert reach(true_top + np.column_stack([37 * n, 0 * s]), edge) < 2e-3
    for strip in (base, top):
        f = geo.flatten(strip)
        assert f.along[-1] == pytest.approx(f.true_along[-1], abs=0.05)
        assert f.strain.max() < 1e-5


def reach(dense, points):
    """Largest distance of points from a finely sampled curve."""
    i = np.clip(cKDTree(dense).query(points[::7])[1], 1, len(dense) - 2)
    t = dense[i + 1] - dense[i - 1]
    t /= np.linalg.norm(t, axis=1)[:, None]
    d = points[::7] - dense[i]
    return np.linalg.norm(d - np.einsum("ij,ij->i", d, t)[:, None] * t, axis=1).max()
