"""Reads the floor sheets of an output with another library.

    python check_floor.py OUT

Every part is named once on the boat, once on its plates rolled out and once in
large letters on its sheet, every stanchion on the boat, on the rolled-out plates
and in the table, where its row has the figures of lists/stanchions.csv. No
capital is lower than 2.5 mm, no letter lies on another, and nothing is drawn
outside the printable box. Plates rolled out are as long as lists/parts.csv says,
to the scale that the sheet names. The file is sound as patterns are. Exit 1 on
any failure.
"""
import re
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pymupdf
from shapely import STRtree, box

from check_pattern import check_file
from drawings import read_csv

MM = 25.4 / 72.0
CAPITAL = 1493.0 / 2048.0   # of the face's size, by the outline of its H
LEAST_MM = 2.5
LARGE_MM = 3.4              # names on a sheet; notes are smaller
MARGIN_MM = 10.0
EDGE_MM = (0.38, 0.42)      # width of the line of a plate's edge
WITHIN_MM = 0.02
INCH = 25.4


@dataclass
class Page:
    """A page in mm from its upper left corner: letters with their boxes, words
    with their place, and lines with the box of what they cover."""

    label: str
    size: tuple
    letters: list = field(default_factory=list)   # (letter, height, box)
    words: list = field(default_factory=list)     # (word, height, x, y)
    inks: list = field(default_factory=list)      # boxes
    edges: list = field(default_factory=list)     # lengths of level lines
    text: str = ""


def read_page(page):
    out = Page(page.get_label(), (page.rect.width * MM, page.rect.height * MM))
    for block in page.get_text("rawdict")["blocks"]:
        for line in block.get("lines", ()):
            for span in line["spans"]:
                height = span["size"] * CAPITAL * MM
                word = None
                for char in span["chars"]:
                    x, y = (v * MM for v in char["origin"])
                    right = char["bbox"][2] * MM
                    if char["c"].isspace():
                        word = None
                        continue
                    out.letters.append((char["c"], height, (x, y - height, right, y + 0.25 * height)))
                    if word is None or x - word[4] > 0.3 * height:
                        word = ["", height, x, y, right]
                        out.words.append(word)
                    word[0] += char["c"]
                    word[4] = right
    out.text = page.get_text()
    for path in page.get_drawings():
        r = path["rect"]
        half = (path.get("width") or 0.0) / 2.0 if path["type"] != "f" else 0.0
        out.inks.append(tuple(v * MM for v in (r.x0 - half, r.y0 - half, r.x1 + half, r.y1 + half)))
        if path["type"] == "s" and EDGE_MM[0] < path["width"] * MM < EDGE_MM[1]:
            if r.height * MM < 0.01:
                out.edges.append(r.width * MM)
    return out


def check_page(page, faults):
    """Heights, letters on each other, and what is outside the printable box."""
    for letter, height, _ in page.letters:
        if height < LEAST_MM:
            faults.append(f"{page.label}: `{letter}` is {height:.2f} mm high")
            break
    boxes = [box(x0 + 0.1, y0, x1 - 0.1, y1) for _, _, (x0, y0, x1, y1) in page.letters if x1 - x0 > 0.3]
    named = [c for c, _, (x0, _, x1, _) in page.letters if x1 - x0 > 0.3]
    for a, b in zip(*STRtree(boxes).query(boxes, predicate="overlaps")):
        if a < b:
            faults.append(f"{page.label}: `{named[a]}` lies on `{named[b]}` at {boxes[a].bounds}")
    wide, tall = page.size
    for x0, y0, x1, y1 in page.inks + [b for _, _, b in page.letters]:
        least, most = min(x0, y0), max(x1 - wide, y1 - tall)
        if least < MARGIN_MM - 0.01 or most > -MARGIN_MM + 0.01:
            faults.append(f"{page.label}: outside the printable box: {x0:.2f} {y0:.2f} {x1:.2f} {y1:.2f}")


def count(pages, least=0.0):
    return Counter(w for p in pages for w, height, *_ in p.words if height >= least)


def check_names(pages, parts, stanchions, faults):
    of = lambda name: [p for p in pages if p.label.split()[0] == name]
    boat, strips, table = count(of("boat")), count(of("strips")), count(of("stanchions"))
    for part in parts:
        name = part["part"]
        large = count(of(part["sheet"]), LARGE_MM)
        for where, got in (("the boat", boat), ("the strips", strips), (part["sheet"], large)):
            if got[name] != 1:
                faults.append(f"{name} is {got[name]} times on {where}")
    for s in stanchions:
        name = s["stanchion"]
        if boat[name] < 1 or strips[name] != 1 or table[name] != 1:
            faults.append(f"stanchion {name}: {boat[name]}, {strips[name]}, {table[name]} times")


def check_table(pages, stanchions, faults):
    """The row of each stanchion has its angles."""
    angles = [f"{end}_{what}_deg" for end in ("foot", "head")
              for what in ("rise_forward", "rise_inboard", "saw_tilt")] + ["lean_outboard_deg"]
    rows = {s["stanchion"]: s for s in stanchions}
    seen = set()
    for page in (p for p in pages if p.label.startswith("stanchions")):
        for word, _, x, y, _ in page.words:
            if word not in rows or word in seen:
                continue
            seen.add(word)
            beside = [w for w in page.words if abs(w[3] - y) < 0.3 and w[2] > x]
            figures = [w[0] for w in sorted(beside, key=lambda w: w[2])]
            figures = [float(f) for f in figures if re.fullmatch(r"-?\d+\.\d\d", f)][:len(angles)]
            want = [rows[word][a] for a in angles]
            if figures != want:
                faults.append(f"stanchion {word}: {figures}, and the list has {want}")


def check_scale(pages, parts, faults):
    """Edges of most plates are whole on a row, as long as the list has them."""
    mm = lambda row, key: next(v * (INCH if k.endswith("_in") else 1.0)
                               for k, v in row.items() if k in (f"{key}_mm", f"{key}_in"))
    strips = [p for p in pages if p.label.startswith("strips")]
    ratio = re.search(r"1:(\d+(?:\.\d+)?)", strips[0].text)
    edges = np.array([e for p in strips for e in p.edges])
    plates = [p for p in parts if p["kind"] != "doubler"]
    long = [(mm(p, "outboard_edge") + mm(p, "fit_allowance")) / float(ratio[1]) for p in plates]
    whole = sum(bool(len(edges)) and np.abs(edges - x).min() < WITHIN_MM for x in long)
    if 2 * whole < len(plates):
        faults.append(f"{whole} of {len(plates)} plates are to scale")


def main(folder):
    folder, faults = Path(folder), []
    file = folder / "floor-sheets.pdf"
    check_file(file, faults)
    with pymupdf.open(file) as doc:
        pages = [read_page(p) for p in doc]
    parts, stanchions = (read_csv(folder / "lists" / f"{n}.csv") for n in ("parts", "stanchions"))
    for page in pages:
        check_page(page, faults)
    check_names(pages, parts, stanchions, faults)
    check_table(pages, stanchions, faults)
    check_scale(pages, parts, faults)
    for fault in faults:
        print(fault)
    print(f"{len(pages)} floor sheets, {len(parts)} parts, {len(stanchions)} stanchions")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
