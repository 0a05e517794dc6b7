"""A strip's written outline taken apart: its four sides by its four corners."""
import re

import numpy as np
from scipy.spatial import cKDTree

from drawings import flatten_profile

CORNER_DEG = 25.0      # edges turn by far less at a vertex, ends by far more


def in_order(names):
    """B2 before B10."""
    return sorted(names, key=lambda n: [int(w) if w.isdigit() else w for w in re.split(r"(\d+)", n)])


def points_of(profile, face, longest=5.0):
    """Points of a profile seen on the upper face, counter-clockwise."""
    pts = flatten_profile(profile, sagitta=2e-4, longest=longest)
    return pts if face > 0 else (pts * [1.0, -1.0])[::-1]


def sides(pts):
    """Points split at the corners: [edge, end, edge, end], counter-clockwise,
    the longest side first. Raises where there are not four corners."""
    d = np.roll(pts, -1, axis=0) - pts
    keep = np.linalg.norm(d, axis=1) > 1e-9
    pts, d = pts[keep], d[keep]
    a = np.arctan2(d[:, 1], d[:, 0])
    turn = (a - np.roll(a, 1) + np.pi) % (2 * np.pi) - np.pi
    corners = np.flatnonzero(np.abs(turn) > np.radians(CORNER_DEG))
    if len(corners) != 4:
        raise ValueError(f"{len(corners)} corners, not 4")
    out = []
    for k in range(4):
        i, j = corners[k], corners[(k + 1) % 4]
        index = np.arange(i, j + 1) if j > i else np.r_[np.arange(i, len(pts)), np.arange(0, j + 1)]
        out.append(pts[index])
    lengths = [length(s) for s in out]
    k = int(np.argmax(lengths))
    return out[k:] + out[:k]


def length(pts):
    """Length of a polyline."""
    return float(np.linalg.norm(np.diff(pts, axis=0), axis=1).sum())


def resample(pts, n):
    """n points at equal lengths along a polyline."""
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(pts, axis=0), axis=1))])
    q = np.linspace(0.0, s[-1], n)
    return np.column_stack([np.interp(q, s, pts[:, k]) for k in range(2)])


def distance_to_line(line, pts):
    """Distance of points from a polyline, and the length along it of the
    nearest place."""
    a, d = line[:-1], np.diff(line, axis=0)
    l2 = np.maximum((d * d).sum(1), 1e-30)
    s = np.concatenate([[0.0], np.cumsum(np.sqrt(l2))])
    # Pieces that may hold the nearest place: next to the nearest of many
    # samples, no further apart than 2 mm.
    n = np.maximum(1, np.ceil(np.sqrt(l2) / 2.0)).astype(int)
    owner = np.repeat(np.arange(len(d)), n)
    frac = (np.arange(len(owner)) - np.repeat(np.cumsum(n) - n, n)) / n[owner]
    near = owner[cKDTree(a[owner] + frac[:, None] * d[owner]).query(pts)[1]]
    out, at = np.full(len(pts), np.inf), np.zeros(len(pts))
    for step in (-2, -1, 0, 1, 2):
        k = np.clip(near + step, 0, len(d) - 1)
        w = np.clip(((pts - a[k]) * d[k]).sum(1) / l2[k], 0.0, 1.0)
        r = np.linalg.norm(a[k] + w[:, None] * d[k] - pts, axis=1)
        at = np.where(r < out, s[k] + w * np.sqrt(l2[k]), at)
        out = np.minimum(out, r)
    return out, at
