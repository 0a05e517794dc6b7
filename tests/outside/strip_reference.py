"""Lays the same parts on an open strip with this project and with the
general-purpose packing library `spyrrow`, in turn, with the same wall time
(start-up included) and one worker each, and checks both with shapely.

    cargo build --release --examples
    pip install spyrrow==0.9.0 shapely==2.2.0
    python tests/outside/strip_reference.py DATA SECONDS SEEDS [NAME ...]

DATA is a folder of sets: the classic strip sets (`strip_height`, `items` of
`outline`, `quantity`, `angles_deg`) and jobs (`min_separation`, `edge_margin`,
`stock`, `items` of `poly`, `demand`). Prints density in per cent: median,
least and greatest over the seeds, and the published best where the set has
one. A wall time is the one thing here that is not reproducible.
"""

import json
import pathlib
import statistics
import subprocess
import sys
import time

import spyrrow
from shapely import affinity
from shapely.geometry import Polygon
from shapely.strtree import STRtree

PROGRAM = pathlib.Path(__file__).parents[2] / "target/release/examples/strip_data"
# Coordinates are rounded when written; the library works in single precision.
OVERLAP = 1e-4  # share of a part's area, and of its extent at the strip's edge


def read(path):
    """Parts as [(outline, quantity)], width, gap and angles of a set."""
    data = json.loads(path.read_text())
    strip = "strip_height" in data
    outline, count = ("outline", "quantity") if strip else ("poly", "demand")
    parts = [([tuple(p) for p in i[outline]], i[count]) for i in data["items"]]
    if strip:
        return data, parts, data["strip_height"], 0.0, data["items"][0]["angles_deg"]
    width = data["stock"][0]["h"] - 2 * data["edge_margin"]
    return data, parts, width, data["min_separation"], None


def faults(polygons, width, length, gap):
    """Pairs that overlap or are nearer than the gap, and parts outside."""
    bad = 0
    for p in polygons:
        x0, y0, x1, y1 = p.bounds
        slack = OVERLAP * min(x1 - x0, y1 - y0)
        bad += x0 < -slack or y0 < -slack or x1 > length + slack or y1 > width + slack
    tree = STRtree(polygons)
    for i, p in enumerate(polygons):
        for j in tree.query(p.buffer(gap)):
            if i < j:
                q = polygons[j]
                deep = p.intersection(q).area > OVERLAP * min(p.area, q.area)
                bad += bool(deep or p.distance(q) < 0.999 * gap - 1e-9)
    return bad


def ours(path, seconds, seed):
    start = time.time()
    out = subprocess.run(
        [PROGRAM, path, str(seconds), str(seed)], capture_output=True, text=True, check=True
    )
    wall = time.time() - start
    found = json.loads(out.stdout)
    polygons = [Polygon(p["points"]) for p in found["parts"]]
    return found["length"], polygons, wall


def packed(name, outlines, counts, width, gap, angles, seconds, seed):
    """The library's strip: its length, and (kind, polygon) of every part; as
    many of each kind as `counts` says, by index into `outlines`."""
    items = [
        spyrrow.Item(str(k), outlines[k] + [outlines[k][0]], demand=n, allowed_orientations=angles)
        for k, n in counts.items()
    ]
    instance = spyrrow.StripPackingInstance(name, strip_height=width, items=items)
    config = spyrrow.StripPackingConfig(
        early_termination=False,
        total_computation_time=int(seconds),
        num_workers=1,
        seed=seed,
        min_items_separation=gap or None,
    )
    found = instance.solve(config)
    laid = []
    for p in found.placed_items:
        k = int(p.id)
        turned = affinity.rotate(Polygon(outlines[k]), p.rotation, origin=(0, 0))
        laid.append((k, affinity.translate(turned, *p.translation)))
    return found.width, laid


def library(name, parts, width, gap, angles, seconds, seed):
    start = time.time()
    outlines = [outline for outline, _ in parts]
    counts = {k: n for k, (_, n) in enumerate(parts)}
    length, laid = packed(name, outlines, counts, width, gap, angles, seconds, seed)
    return length, [p for _, p in laid], time.time() - start


def main():
    folder, seconds, seeds = pathlib.Path(sys.argv[1]), float(sys.argv[2]), int(sys.argv[3])
    names = sys.argv[4:] or sorted(p.stem for p in folder.glob("*.json"))
    print(f"density in %, {seconds:.0f} s and one worker each, {seeds} seeds: median (least to greatest)")
    means = ([], [])
    for name in names:
        path = folder / f"{name}.json"
        data, parts, width, gap, angles = read(path)
        area = sum(Polygon(o).area * n for o, n in parts)
        count = sum(n for _, n in parts)
        rows, walls, bad = ([], []), ([], []), [0, 0]
        for seed in range(1, seeds + 1):
            tries = (
                lambda: ours(path, seconds, seed),
                lambda: library(name, parts, width, gap, angles, seconds, seed),
            )
            for k, lay in enumerate(tries):
                length, polygons, wall = lay()
                assert len(polygons) == count, (name, k, len(polygons), count)
                bad[k] += faults(polygons, width, length, gap)
                rows[k].append(100 * area / (length * width))
                walls[k].append(wall)
        published = data.get("published_density_pct", {}).get("best2025")
        tell = [f"{statistics.median(r):.2f} ({min(r):.2f} to {max(r):.2f})" for r in rows]
        print(
            f"{name}: ours {tell[0]}, library {tell[1]}, published best {published or '-'}; "
            f"faults {bad[0]} and {bad[1]}; wall {max(walls[0]):.1f} and {max(walls[1]):.1f} s",
            flush=True,
        )
        for k in range(2):
            means[k].append(statistics.median(rows[k]))
    print(f"mean of medians: ours {statistics.mean(means[0]):.2f}, library {statistics.mean(means[1]):.2f}")


if __name__ == "__main__":
    main()
