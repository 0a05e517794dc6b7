"""Flattened strips against a general mesh-flattening library (libigl).

    cargo run --release --example flat_strips > strips.json
    python tests/outside/flatten_reference.py strips.json

Both results are judged on the same triangles by one formula, the sum over
triangles of area * ((s1 - 1)^2 + (s2 - 1)^2) with s1, s2 the singular values
of the map from space to the flat (Poisson's ratio 0). Asserted for every
strip: our energy at most 1.001 times the library's best, our largest stretch
at most 1.02 times the library's, at least ten times faster in total. Needs
numpy and libigl.
"""

import json
import sys
import time

import igl
import numpy as np

ENERGY_RATIO = 1.001
STRETCH_RATIO = 1.02
SPEED_RATIO = 10.0
# The library's iteration stops when a round lowers the energy by less than
# this part. Every round is one more chance for it to do better than we do.
SETTLED = 1e-7
ROUNDS_MOST = 400


def triangles(along, across):
    """Cells split along alternating diagonals, so that no direction is
    favoured; seen from above they run counter-clockwise."""
    out = []
    for i in range(along):
        for j in range(across):
            a = i * (across + 1) + j
            b, c, d = a + across + 1, a + across + 2, a + 1
            if (i + j) % 2 == 0:
                out += [(a, b, c), (a, c, d)]
            else:
                out += [(a, b, d), (b, c, d)]
    return np.array(out, dtype=np.int64)


def cross(a, b):
    """Third component of the vector product of plane vectors."""
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def judge(space, flat, faces):
    """Energy and largest stretch (space against flat) of a flat pattern."""
    p, q = space[faces], flat[faces]
    e1, e2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    length = np.linalg.norm(e1, axis=1)
    x2 = np.einsum("ij,ij->i", e1, e2) / length
    y2 = np.linalg.norm(np.cross(e1, e2), axis=1) / length
    area = 0.5 * length * y2
    d1, d2 = q[:, 1] - q[:, 0], q[:, 2] - q[:, 0]
    # Gradient of the map in the triangle's own orthonormal frame.
    column1 = d1 / length[:, None]
    column2 = (d2 - column1 * x2[:, None]) / y2[:, None]
    s = np.linalg.svd(np.stack([column1, column2], axis=2), compute_uv=False)
    turned_over = cross(d1, d2) <= 0
    assert not turned_over.any(), "a triangle of the flat is turned over"
    energy = float(np.sum(area * ((s[:, 0] - 1) ** 2 + (s[:, 1] - 1) ** 2)))
    return energy, float(np.max(np.abs(1 / s - 1)))


def start(space, faces):
    """Conformal first guess (two points pinned), scaled to the true area."""
    ends = np.array([0, len(space) - 1], dtype=np.int64)
    gap = np.linalg.norm(space[ends[1]] - space[ends[0]])
    flat, _ = igl.lscm(space, faces, ends, np.array([[0.0, 0.0], [gap, 0.0]]))
    p, q = space[faces], flat[faces]
    true = np.linalg.norm(np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]), axis=1).sum()
    signed = cross(q[:, 1] - q[:, 0], q[:, 2] - q[:, 0]).sum()
    if signed < 0:
        flat = flat * np.array([1.0, -1.0])
    return np.ascontiguousarray(flat * np.sqrt(true / abs(signed)))


def by_arap(space, faces):
    """As-rigid-as-possible: local and global steps in turn, which minimise
    the same sum over triangles."""
    begin = time.perf_counter()
    flat = start(space, faces)
    data = igl.ARAPData()
    data.energy = igl.ARAP_ENERGY_TYPE_ELEMENTS
    data.max_iter = 50
    pin, at = np.array([len(space) // 2], dtype=np.int64), flat[[len(space) // 2]]
    igl.arap_precomputation(space, faces, 2, pin, data)
    state = {"flat": flat}

    def more():
        state["flat"] = np.ascontiguousarray(igl.arap_solve(at, data, state["flat"])[:, :2])
        return state["flat"]

    return rounds(space, faces, more, begin)


def rounds(space, faces, more, begin):
    """Best energy and its stretch, and the seconds spent in the library."""
    spent = time.perf_counter() - begin
    best = (np.inf, np.inf)
    for _ in range(ROUNDS_MOST):
        begin = time.perf_counter()
        flat = more()
        spent += time.perf_counter() - begin
        now = judge(space, flat, faces)
        if not now[0] < best[0] * (1 - SETTLED):
            break
        best = now
    return best[0], best[1], spent


def main(path):
    with open(path, encoding="utf-8") as file:
        strips = json.load(file)
    failures, ours_total, theirs_total = [], 0.0, 0.0
    for strip in strips:
        space, flat = np.array(strip["space"]), np.array(strip["flat"])
        faces = triangles(strip["along"], strip["across"])
        energy, stretch = judge(space, flat, faces)
        best, best_stretch, spent = by_arap(space, faces)
        ours = strip["milliseconds"] / 1e3
        ours_total, theirs_total = ours_total + ours, theirs_total + spent
        print(f"{strip['name']:>15}: energy {energy:.6g} mm2 against {best:.6g}, "
              f"x{energy / best:.6f}; stretch {stretch:.4g} against {best_stretch:.4g}, "
              f"x{stretch / best_stretch:.4f}; {1e3 * ours:.2f} ms against "
              f"{1e3 * spent:.0f} ms", flush=True)
        if energy > ENERGY_RATIO * best:
            failures.append(f"{strip['name']}: energy {energy / best:.6f} times")
        if stretch > STRETCH_RATIO * best_stretch:
            failures.append(f"{strip['name']}: stretch {stretch / best_stretch:.4f} times")
    ratio = theirs_total / ours_total
    print(f"in all: {1e3 * ours_total:.1f} ms against {1e3 * theirs_total:.0f} ms, "
          f"{ratio:.0f} times faster")
    if ratio < SPEED_RATIO:
        failures.append(f"only {ratio:.1f} times faster")
    if failures:
        sys.exit("FAILED\n" + "\n".join(failures))
    print("all hold")


if __name__ == "__main__":
    main(sys.argv[1])
