"""Makes the drawings of fixtures/drawings: the demo hull's edge as DXF.

    python make_drawings.py        (needs ezdxf; see requirements.txt)

The hull is INVENTED (demo-hull/truth.md); the figures are those of its two
point tables. Every drawing holds them on the layer EDGE, broken up as
surveyors' drawings are: a 3D polyline from aft forward on port, one that runs
round the stern, single lines in no order and both directions, and points.
Another layer holds letters and a circle, which are not of the edge. The files
are kept beside the tests, so that the tests need no Python.
"""
import random
from pathlib import Path

import ezdxf

HERE = Path(__file__).resolve().parent
TOP = HERE.parent.parent
VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")
MM = 4          # $INSUNITS


def table(name):
    """x, y, z of a point table of the demo hull, bow to stern."""
    lines = [l for l in (TOP / "demo-hull" / name).read_text().splitlines()
             if not l.startswith("#")]
    return [tuple(float(c) for c in l.split(",")[:3]) for l in lines[1:]]


def draw(version, edge):
    doc = ezdxf.new(version)
    if version != "R12":
        doc.header["$INSUNITS"] = MM
    for layer in ("EDGE", "NOTES"):
        doc.layers.add(layer)
    space = doc.modelspace()
    on = {"layer": "EDGE"}
    space.add_polyline3d(edge[12::-1], dxfattribs=on)
    space.add_polyline3d(edge[12:45], dxfattribs=on)
    lines = list(zip(edge[44:54], edge[45:55]))
    rng = random.Random(7)
    rng.shuffle(lines)
    for a, b in lines:
        if rng.random() < 0.5:
            a, b = b, a
        space.add_line(a, b, dxfattribs=on)
    points = edge[55:]
    rng.shuffle(points)
    for p in points:
        space.add_point(p, dxfattribs=on)
    space.add_circle((0, 0), 100, dxfattribs={"layer": "NOTES"})
    space.add_text("Bordage \u00e9tabli, invent\u00e9", dxfattribs={"layer": "NOTES", "height": 50})
    return doc


def main():
    port, starboard = table("port.csv"), table("starboard.csv")
    edge = port + starboard[::-1]
    for version in VERSIONS:
        draw(version, edge).saveas(TOP / "fixtures" / "drawings" / f"edge-{version}.dxf")


if __name__ == "__main__":
    main()
