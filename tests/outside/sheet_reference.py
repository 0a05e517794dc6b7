"""Nests the same job on whole sheets with this project and with the
general-purpose packing library `spyrrow` driven sheet by sheet, in turn, with
the same wall time (start-up included) and one worker each, and checks both
with shapely.

    cargo build --release --examples
    pip install spyrrow==0.9.0 shapely==2.2.0
    python tests/outside/sheet_reference.py FILE SECONDS SEEDS [FIRST]

FILE is a job of `strip_reference.py` with one size of sheet. The library lays
parts on an open strip as wide as a sheet's room: a set of parts fits the sheet
where its strip is no longer than the room. For each sheet it is given as much
of what is left as fills the sheet to a share, of long parts and of small ones
alike; the share goes up where they fit and down where they do not, and where
no set fitted, the parts that lie inside the room stay. Prints the sheets of
each, and how full the last one is by area and by length. A wall time is the
one thing here that is not reproducible.
"""

import json
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

from shapely import affinity
from shapely.geometry import Polygon

from strip_reference import faults, packed, read

PROGRAM = pathlib.Path(__file__).parents[2] / "target/release/examples/nest_data"
# Share of a sheet first tried, steps of the share, and solves for a sheet.
FIRST, UP, DOWN, SOLVES = 0.80, 0.015, 0.025, 3


def ours(path, seconds, seed, margin):
    start = time.time()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [PROGRAM, path, "long", folder, str(seed), "--time-limit", str(seconds)],
            check=True, capture_output=True, env={**os.environ, "RAYON_NUM_THREADS": "1"},
        )
        found = json.loads(next(pathlib.Path(folder).glob("*.json")).read_text())
    wall = time.time() - start
    return [
        [affinity.translate(Polygon(p["points"]), -margin, -margin) for p in s["parts"]]
        for s in found["sheets"]
    ], wall


def chosen(left, parts, area):
    """How many of each kind fill `area`: of every kind the same share, as near
    as whole parts allow."""
    total = sum(parts[k][1] * n for k, n in left.items())
    share = min(1.0, area / total)
    counts = {k: int(share * n) for k, n in left.items()}
    filled = sum(parts[k][1] * n for k, n in counts.items())
    # The kinds that lost the most to rounding come next.
    owed = sorted(left, key=lambda k: -parts[k][1] * (share * left[k] - counts[k]))
    for k in owed:
        if counts[k] < left[k] and filled + parts[k][1] <= area * (1 + 1e-9):
            counts[k] += 1
            filled += parts[k][1]
    return {k: n for k, n in counts.items() if n}


def library(parts, length, width, gap, seconds, seed):
    """Sheets as lists of (kind, polygon)."""
    start = time.time()
    left = {k: n for k, (_, _, n) in enumerate(parts)}
    sheets, share, load = [], FIRST, 1.0
    room = length * width
    outlines = [outline for outline, _, _ in parts]

    def filled(laid):
        return sum(parts[k][1] for k, _ in laid)

    while left:
        area = sum(parts[k][1] * n for k, n in left.items())
        ahead = max(1, -(-area // (share * room)))
        until = time.time() + (start + seconds - time.time()) / ahead
        best, inside, tried = None, None, set()
        for turn in range(SOLVES):
            counts = chosen(left, parts, min(area, share * room))
            key = tuple(sorted(counts.items()))
            if key in tried:
                break
            tried.add(key)
            begun = time.time()
            budget = max(1, int((until - begun) / (SOLVES - turn) - load))
            _, laid = packed("sheet", outlines, counts, width, gap, None, budget, seed)
            load = max(0.0, time.time() - begun - budget)
            kept = [(k, p) for k, p in laid if p.bounds[2] <= length]
            if len(kept) == len(laid):
                best = laid
                if counts == left:
                    break
                share += UP
            else:
                inside = max(inside or [], kept, key=filled)
                share -= DOWN
                if best:
                    break
        sheet = max(best or [], inside or [], key=filled)
        assert sheet, "nothing fits"
        for k, _ in sheet:
            left[k] -= 1
        left = {k: n for k, n in left.items() if n}
        sheets.append([p for _, p in sheet])
    return sheets, time.time() - start


def told(sheets, length, width):
    """Sheets, and the last one's fill by area and length, in per cent."""
    last = min(sheets, key=lambda s: sum(p.area for p in s))
    area = 100 * sum(p.area for p in last) / (length * width)
    used = 100 * max(p.bounds[2] for p in last) / length
    return len(sheets), area, used


def main():
    path, seconds, seeds = pathlib.Path(sys.argv[1]), float(sys.argv[2]), int(sys.argv[3])
    first = int(sys.argv[4]) if len(sys.argv) > 4 else 1
    data, outlines, width, gap, _ = read(path)
    margin = data["edge_margin"]
    length = data["stock"][0]["w"] - 2 * margin
    parts = [(o, Polygon(o).area, n) for o, n in outlines]
    count = sum(n for _, _, n in parts)
    print(f"{path.stem}, {seconds:.0f} s and one worker each, one line a seed: sheets, fill of the last by area and length")
    rows = ([], [])
    for seed in range(first, first + seeds):
        line = []
        tries = (
            lambda: ours(path, seconds, seed, margin),
            lambda: library(parts, length, width, gap, seconds, seed),
        )
        for k, lay in enumerate(tries):
            sheets, wall = lay()
            assert sum(map(len, sheets)) == count, (k, sum(map(len, sheets)), count)
            bad = sum(faults(s, width, length, gap) for s in sheets)
            found = told(sheets, length, width)
            rows[k].append(found)
            line.append(f"{found[0]} sheets, last {found[1]:.1f} % and {found[2]:.1f} %, faults {bad}, {wall:.0f} s")
        print(f"seed {seed}: ours {line[0]}; library {line[1]}", flush=True)
    for name, found in zip(("ours", "library"), rows):
        columns = [
            f"{statistics.median(c):.1f} ({min(c):.1f} to {max(c):.1f})" for c in zip(*found)
        ]
        print(f"{name}: sheets {columns[0]}, last by area {columns[1]} %, by length {columns[2]} %")


if __name__ == "__main__":
    main()
