"""Random jobs through the command, every written sheet measured.

    random_jobs.py PLANKSHEER COUNT [FIRST]

Job number N (from FIRST, 1 by default) is drawn from a generator seeded with
N: an edge straight, round or S-shaped, plates, pieces, doublers, gap, margin,
kerf, rotation, seed, one to three sizes of stock in quantities, a remnant of
an odd shape with a hole, clamps. Each is built, and its sheets read back by
check_sheets: no overlap, no part lost or doubled, gap and margin kept from
parts, edges, holes and clamps. A job that is refused for want of stock is
counted, and is no fault (so is one whose short pieces leave no place for a
butt); any other refusal is. Ends with one line of counts;
exits 1 on a fault. A thousand jobs take some twenty minutes on two cores.
"""
import contextlib
import io
import math
import os
import random
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import ezdxf

import check_sheets

JOB = """
name = "random {number}"
[survey]
unit = "mm"
accuracy = "0 mm"
line = "covering-board-edge"
stern = "open"
[[survey.file]]
path = "edge.csv"
form = "points"
[bulwark]
height = "800 mm"
[base]
width = "{base:.1f} mm"
thickness = "12.7 mm"
alloy = "5086-H116"
bedding = "0 mm"
[top]
width = "{top:.1f} mm"
thickness = "12.7 mm"
alloy = "5086-H116"
slope = "level"
[section]
planking = "0 mm"
planking_inset = "0 mm"
weld_setback = "0 mm"
inwale = "20 mm"
cap_width = "{cap:.1f} mm"
cap_thickness = "44 mm"
overhang_outboard = "10 mm"
overhang_inboard = "10 mm"
[stanchions]
side = "4 in"
wall = "1/4 in"
alloy = "6061-T6"
spacing = "900 mm"
end_clearance = "300 mm"
[joints]
closing_allowance = "0 mm"
longest_piece = "{longest:.0f} mm"
{sheets}
[cutting]
process = "waterjet"
kerf = "1 mm"
gap = "{gap:.2f} mm"
edge_margin = "{margin:.2f} mm"
seed = {seed}
{rotation}
"""


def edge(rng, length):
    """Points of an edge on port, aft end first."""
    bend, wave = rng.uniform(-0.5, 0.5), rng.choice([0.0, rng.uniform(-0.3, 0.3)])
    rows = ["x,y,z,side,slope"]
    # So far out that no bend crosses the centreline.
    x, y = 0.0, 8000.0
    for i in range(41):
        rows.append(f"{x:.6f},{y:.6f},{700 + 40 * math.cos(i / 13):.6f},port,0")
        f = i / 40
        heading = bend * (f - 0.5) + wave * math.sin(2 * math.pi * f)
        x += length / 40 * math.cos(heading)
        y += length / 40 * math.sin(heading)
    return "\n".join(rows) + "\n"


def remnant(rng, path):
    """A piece of plate with a notch, a curved side and perhaps a hole."""
    length, width = rng.uniform(2000, 4500), rng.uniform(700, 1500)
    notch = rng.uniform(0, 0.4) * width
    drawing = ezdxf.new("R2000")
    space = drawing.modelspace()
    drawing.units = ezdxf.units.MM
    bulge = rng.choice([0.0, rng.uniform(-0.1, 0.1)])
    space.add_lwpolyline(
        [(0, 0, 0), (length, 0, 0), (length, width - notch, 0), (length - notch, width - notch, 0),
         (length - notch, width, 0), (0, width, bulge)],
        format="xyb", close=True, dxfattribs={"layer": "SHEET"})
    if rng.random() < 0.5:
        at = (rng.uniform(0.3, 0.6) * length, 0.35 * width)
        space.add_circle(at, rng.uniform(10, 0.2 * width), dxfattribs={"layer": "HOLE"})
    drawing.saveas(path)


def sheets(rng, folder):
    """Tables of the stock on offer; the last takes anything."""
    out = []
    plate = "thickness = \"12.7 mm\"\nalloy = \"5086-H116\"\n"

    def clamps():
        if rng.random() < 0.6:
            return ""
        one = [rng.uniform(0, 300), rng.uniform(0, 200), rng.uniform(30, 200), rng.uniform(30, 200)]
        return "clamps = [[" + ", ".join(f'"{v:.1f} mm"' for v in one) + "]]\n"

    if rng.random() < 0.5:
        remnant(rng, folder / "piece.dxf")
        out.append(f'[[sheet]]\nname = "piece"\nremnant = "piece.dxf"\n{plate}{clamps()}')
    for k in range(rng.randint(0, 2)):
        out.append(f'[[sheet]]\nname = "size {k}"\nlength = "{rng.uniform(2000, 6000):.0f} mm"\n'
                   f'width = "{rng.uniform(700, 2000):.0f} mm"\nquantity = {rng.randint(1, 3)}\n{plate}{clamps()}')
    out.append(f'[[sheet]]\nname = "large"\nlength = "6500 mm"\nwidth = "2000 mm"\n{plate}{clamps()}')
    return "\n".join(out)


def write(number, folder):
    """Writes job `number` into a folder."""
    rng = random.Random(number)
    margin, kerf = rng.choice([0.0, rng.uniform(0, 25)]), 1.0
    base, top = rng.uniform(150, 260), rng.uniform(115, 180)
    rotation = rng.choice([
        'rotation = "free"',
        f'rotation = "steps"\nangle_deg = {rng.choice([5, 30, 90, 180])}',
        f'rotation = "within"\nangle_deg = {rng.uniform(0, 30):.2f}'])
    (folder / "edge.csv").write_text(edge(rng, rng.uniform(2500, 14000)))
    (folder / "job.toml").write_text(JOB.format(
        number=number, base=base, top=top, cap=max(top, 4 * 25.4) + 20 + 20,
        longest=rng.uniform(900, 3500), gap=kerf + rng.uniform(0, 20), margin=margin,
        seed=rng.randint(0, 1000), rotation=rotation, sheets=sheets(rng, folder)))


def run(task):
    """One job: "held", "no stock", or what is wrong."""
    command, number = task
    with tempfile.TemporaryDirectory() as top:
        folder = Path(top)
        write(number, folder)
        done = subprocess.run(
            [command, "build", folder / "job.toml", "--out", folder / "out", "--quick", "--threads", "1"],
            capture_output=True, text=True)
        short = ("fits no sheet", "run out", "than a piece from the stock can span")
        if done.returncode == 1 and any(s in done.stderr for s in short):
            return number, "no stock", 0
        if done.returncode != 0:
            return number, f"exit {done.returncode}: {done.stderr.strip()}", 0
        told = io.StringIO()
        with contextlib.redirect_stdout(told):
            faults = check_sheets.main(folder / "out", folder / "job.toml")
        odd = "with remnants or clamps:" in told.getvalue()
        return number, "; ".join(faults) or "held", int(odd)


def main(command, count, first):
    """Runs all; returns the number of faults."""
    numbers = [(Path(command).resolve(), n) for n in range(first, first + count)]
    held = none = odd = 0
    faults = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for number, told, with_odd in pool.map(run, numbers, chunksize=4):
            held += told == "held"
            none += told == "no stock"
            odd += with_odd
            if told not in ("held", "no stock"):
                faults.append(f"job {number}: {told}")
    for f in faults:
        print("FAULT", f)
    print(f"{count} jobs: {held} held ({odd} with remnants or clamps in use), {none} refused for want of stock, "
          f"{len(faults)} faults")
    return len(faults) + (held == 0)


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 1) else 0)
