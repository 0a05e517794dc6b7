"""Prints patterns and puts them together again from their pages alone.

    python check_pattern.py PLANKSHEER JOB OUT [--paper SIZE]... [--count]
    python check_pattern.py PLANKSHEER JOB OUT --pixels

OUT is the output of a build of the job. For each paper, every part is read
from its PDF by PyMuPDF: lines by their width, crosses by their ring. Pages are
laid together by the crosses of their joints and nothing else; the whole is laid
on the part's DXF and compared with it both ways: outline and holes, and marks,
each within 0.05 mm. The same with --print-scale after what the printer does, and
mirrored with --other-face. The cap's lengths, with --kind cap, against their own
drawings; with --footprints the marks alone, and the thin edge on the part's; with
--share each part on a page that parts share, by the edge round it and the name in
it, against its drawing. Every page: nothing outside the printable box, ink of
the part on it, bars true both ways, fonts embedded, title, language, tags,
bookmarks and labels, no unit of its own; the file without a fault to pikepdf and
qpdf, and the same bytes on one thread. With --count the pages are no more than
the fewest of 360 turns by brute force that hang together. Exit 1 on any failure.
"""
import math
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
from scipy.spatial import cKDTree
from shapely import STRtree, distance, points
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import polygonize

from drawings import Output, flatten_profile, read_dxf
from outlines import in_order

MM = 25.4 / 72.0
WITHIN_MM = 0.05         # promised
CUT_MM, MARK_MM, FINE_MM = 0.25, 0.18, 0.13   # widths of lines: cut and holes; marks; crosses
RING_MM = (1.0, 2.05)    # radius of the ring of a cross
JOINT_MM = 0.02          # crosses of a joint on both pages
BARS_MM = (100.0, 101.6)
SHORTER_MM = ((50.0, 50.8), (20.0, 25.4))   # where those would lie over the outline
BAR_MM = 0.005
SCALE = (1.0137, 0.9911)
ARM_MM = 8.5             # a cross's line
RUN_MM = 2.0             # places along lines that are compared
MARGIN_MM, OVERLAP_MM = 10.0, 10.0
CAPITAL = 1493.0 / 2048.0 # of the face's size, by the outline of its H
STRIP = 60               # places of a part that lie in a strip as wide as the overlap, at most


@dataclass
class Page:
    """A page in mm from its lower left corner: lines by width, rings of crosses."""

    size: tuple
    lines: dict
    rings: np.ndarray


def curve(item, height):
    """Points of a piece of a path, close together, mm, y up."""
    if item[0] == "qu":       # four straight sides, one after the other
        q = item[1]
        return np.array([[c.x, height - c.y] for c in (q.ul, q.ur, q.lr, q.ll, q.ul)]) * MM
    kind, p = item[0], [np.array([q.x, height - q.y]) * MM for q in item[1:] if hasattr(q, "x")]
    if kind == "l":
        return np.array(p)
    if kind == "c":
        n = max(8, math.ceil(np.linalg.norm(p[3] - p[0]) / 4.0))
        t = np.linspace(0.0, 1.0, n + 1)[:, None]
        return ((1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3])
    raise ValueError(f"a piece of kind {kind}")


def read_page(page, scale=(1.0, 1.0)):
    """Lines and rings of a page as a printer of a scale gives it."""
    lines, rings = {}, []
    for path in page.get_drawings():
        if path["type"] != "s" or path["dashes"] not in ("", "[] 0", None):
            continue
        width = round(path["width"] * MM, 2)
        pieces = [curve(i, page.rect.height) * scale for i in path["items"]]
        if width == FINE_MM and len(pieces) >= 4 and all(i[0] == "c" for i in path["items"]):
            every = np.vstack(pieces)
            radius = np.ptp(every, axis=0) / 2.0
            if RING_MM[0] < radius.min() and radius.max() < RING_MM[1]:
                rings.append(every.min(0) + radius)
                continue
        lines.setdefault(width, []).extend(pieces)
    size = (page.rect.width * MM * scale[0], page.rect.height * MM * scale[1])
    return Page(size, lines, np.array(rings).reshape(-1, 2))


def rigid(a, b):
    """Turn and shift that lay places a on b, and how far off they stay at most."""
    ca, cb = a.mean(0), b.mean(0)
    u, _s, vt = np.linalg.svd((a - ca).T @ (b - cb))
    turn = vt.T @ np.diag([1.0, np.linalg.det(vt.T @ u.T)]) @ u.T
    shift = cb - turn @ ca
    return turn, shift, float(np.linalg.norm(a @ turn.T + shift - b, axis=1).max())


def joint(first, second, way):
    """The crosses that two pages share: right of the first and left of the
    second (`way` 0), or below the first and above the second (`way` 1)."""
    along = 1 - way
    def near(page, far):
        edge = page.size[way] if far else 0.0
        off = np.abs(page.rings[:, way] - edge)
        at = page.rings[off < MARGIN_MM + OVERLAP_MM]
        return at[np.argsort(at[:, along])]
    # Rows count down the page: the first is above the second.
    a, b = near(first, way == 0), near(second, way == 1)
    return a, b


def assemble(pages, faults):
    """Lines by width of all pages, laid together by their crosses alone.
    `pages` by row and column, both counted from 1."""
    at = {min(pages): (np.eye(2), np.zeros(2))}
    queue = list(at)
    while queue:
        cell = queue.pop()
        for way, step in [(0, (0, 1)), (0, (0, -1)), (1, (1, 0)), (1, (-1, 0))]:
            other = (cell[0] + step[0], cell[1] + step[1])
            if other not in pages:
                continue
            forward = step > (0, 0)
            pair = (cell, other) if forward else (other, cell)
            a, b = joint(pages[pair[0]], pages[pair[1]], way)
            here, there = (a, b) if forward else (b, a)
            if len(here) != 2 or len(there) != 2:
                faults.append(f"joint {pair}: {len(a)} and {len(b)} crosses, not 2 and 2")
                continue
            turn, shift, off = rigid(there, here)
            if off > JOINT_MM:
                faults.append(f"joint {pair}: crosses {off:.3f} mm apart")
            if other not in at:
                back, away = at[cell]
                at[other] = (back @ turn, back @ shift + away)
                queue.append(other)
    if len(at) < len(pages):
        faults.append(f"{len(pages) - len(at)} pages hang by no joint")
    out = {}
    for cell, (turn, shift) in at.items():
        for width, runs in pages[cell].lines.items():
            out.setdefault(width, []).extend(r @ turn.T + shift for r in runs)
    return out


def dense(runs, step=RUN_MM):
    """Places along runs, no further apart than a step."""
    out = []
    for run in runs:
        s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(run, axis=0), axis=1))])
        q = np.linspace(0.0, s[-1], max(2, math.ceil(s[-1] / step) + 1))
        out.append(np.column_stack([np.interp(q, s, run[:, k]) for k in range(2)]))
    return np.vstack(out) if out else np.zeros((0, 2))


def furthest(places, runs):
    """How far the furthest of places lies off runs, mm."""
    if len(places) == 0:
        return 0.0
    if not runs:
        return math.inf
    tree = STRtree([LineString(r) for r in runs])
    which, near = tree.query_nearest(points(places), all_matches=False)
    order = np.argsort(which)
    return float(distance(points(places), tree.geometries[near[order]]).max())


def laid_on(have, want):
    """Turn and shift that lay runs on others: by hand of their long axes, then
    closer by what is nearest, last square to the lines that are nearest."""
    a, b = dense(have, 5.0), dense(want, 2.0)
    tree = cKDTree(b)
    best = (math.inf, None)
    axes = [np.linalg.svd(p - p.mean(0), full_matrices=False)[2] for p in (a, b)]
    start = axes[1].T @ axes[0]
    if np.linalg.det(start) < 0:
        start = axes[1].T @ np.diag([1.0, -1.0]) @ axes[0]
    for half in (1.0, -1.0):
        turn = start * half
        shift = b.mean(0) - turn @ a.mean(0)
        for _ in range(30):
            off, near = tree.query(a @ turn.T + shift)
            turn, shift, _worst = rigid(a, b[near])
        mean = float(np.sqrt((off**2).mean()))
        if mean < best[0]:
            best = (mean, (turn, shift))
    turn, shift = best[1]
    pieces = np.vstack([np.stack([r[:-1], r[1:]], axis=1) for r in want])
    pieces = pieces[np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1) > 1e-9]
    feet = STRtree([LineString(p) for p in pieces])
    for _ in range(8):
        moved = a @ turn.T + shift
        which, near = feet.query_nearest(points(moved), all_matches=False)
        piece = pieces[near[np.argsort(which)]]
        d = piece[:, 1] - piece[:, 0]
        square = np.column_stack([-d[:, 1], d[:, 0]]) / np.linalg.norm(d, axis=1)[:, None]
        off = ((piece[:, 0] - moved) * square).sum(1)
        sound = np.abs(off) < 5.0
        swing = np.column_stack([-moved[:, 1], moved[:, 0]])
        rows = np.column_stack([(swing * square).sum(1), square])[sound]
        angle, x, y = np.linalg.lstsq(rows, off[sound], rcond=None)[0]
        small = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        turn, shift = small @ turn, small @ shift + [x, y]
    return turn, shift


def of_dxf(drawing, mirrored=False):
    """Cut lines with holes, and marks, of a part's drawing."""
    flip = np.array([1.0, -1.0 if mirrored else 1.0])
    cut = []
    for v in drawing.profiles["CUT"]:
        p = flatten_profile(v, sagitta=5e-4)
        cut.append(np.vstack([p, p[:1]]) * flip)
    for x, y, r in drawing.circles["HOLE"]:
        a = np.linspace(0.0, 2.0 * math.pi, 181)
        cut.append(np.column_stack([x + r * np.cos(a), y + r * np.sin(a)]) * flip)
    return cut, [s * flip for s in drawing.strokes["MARK"]]


def compare(got, drawing, faults, mirrored=False, footprints=False):
    """Lines of assembled pages against the part's drawing. Of a mirrored one
    letters are turned back: its marks are not compared. Of footprints the marks
    are, and that the thin lines which are no cross lie on the part's edge."""
    cut, marks = of_dxf(drawing, mirrored)
    have = got.get(MARK_MM if footprints else CUT_MM, [])
    if not have:
        faults.append("no line of the part")
        return math.inf
    # Bars are as wide as the cut: they lie apart from all lines of it, and were taken out.
    turn, shift = laid_on(have, marks if footprints else cut)
    placed = {w: [r @ turn.T + shift for r in runs] for w, runs in got.items()}
    worst = 0.0
    kinds = [] if footprints else [("outline and holes", CUT_MM, cut)]
    if footprints:
        edge = [r for r in placed.get(FINE_MM, []) if np.linalg.norm(r[-1] - r[0]) > ARM_MM]
        worst = furthest(dense(edge), cut)
        if not edge or worst > WITHIN_MM:
            faults.append(f"{len(edge)} lines of the edge, {worst:.3f} mm off it")
        if placed.get(CUT_MM):
            faults.append("lines of the cut on footprints")
    if not mirrored:
        kinds.append(("marks", MARK_MM, marks))
    for name, width, want in kinds:
        runs = placed.get(width, [])
        there, back = furthest(dense(runs), want), furthest(dense(want), runs)
        worst = max(worst, there, back)
        if max(there, back) > WITHIN_MM:
            faults.append(f"{name}: {there:.3f} mm off the drawing, {back:.3f} mm of it not shown")
    return worst


def take_bars(page, faults, name):
    """Takes the bars out of a page's lines: straight lines of a bar's length
    along the page or across it, with a tick at either end: an edge of that
    length has none. Each must be there once."""
    runs = page.lines.get(CUT_MM, [])
    span = [run[-1] - run[0] for run in runs]
    middles = np.array([run.mean(0) for run, d in zip(runs, span)
                        if len(run) == 2 and abs(np.linalg.norm(d) - 3.0) < 0.1]).reshape(-1, 2)

    def ticked(place):
        return len(middles) and np.linalg.norm(middles - place, axis=1).min() < 0.1

    kept, found, ends = [], {}, []
    for run, d in zip(runs, span):
        straight = len(run) == 2 and np.abs(d).min() < 1e-3
        long = np.abs(d).max()
        match = [b for pair in (BARS_MM, *SHORTER_MM) for b in pair if straight and abs(long - b) < 0.2]
        if match and ticked(run[0]) and ticked(run[-1]):
            found.setdefault((match[0], int(np.abs(d).argmax())), []).append((long, run))
            ends += [run[0], run[-1]]
        else:
            kept.append(run)
    ends = np.array(ends).reshape(-1, 2)
    page.lines[CUT_MM] = [
        run for run in kept
        if not (len(run) == 2 and abs(np.linalg.norm(run[-1] - run[0]) - 3.0) < 0.1
                and len(ends) and np.linalg.norm(ends - run.mean(0), axis=1).min() < 0.1)]
    for way, word in ((0, "across"), (1, "up")):
        got = {bar: [l for l, _run in found.get((bar, way), [])] for pair in (BARS_MM, *SHORTER_MM) for bar in pair}
        had = [pair for pair in (BARS_MM, *SHORTER_MM) if any(got[bar] for bar in pair)]
        sound = len(had) == 1 and all(len(got[bar]) == 1 and abs(got[bar][0] - bar) <= BAR_MM for bar in had[0])
        if not sound:
            faults.append(f"{name}: bars {word} the page: { {b: l for b, l in got.items() if l} }")
            continue
        rest = STRtree([LineString(r) for r in page.lines[CUT_MM]])
        bars = [LineString(found[bar, way][0][1]) for bar in had[0]]
        if any(rest.query(bar, predicate="intersects").size for bar in bars):
            faults.append(f"{name}: bars {word} the page lie over the outline")


def check_letters(page, faults):
    """No letter lies on another, on a line as wide as the cut's, or on a trim line."""
    boxes, named = [], []
    for block in page.get_text("rawdict")["blocks"]:
        for line in block.get("lines", ()):
            along = np.array(line["dir"])
            # Up from the base line; the page's y runs down.
            up = np.array([along[1], -along[0]])
            chars = [(c["c"], np.array(c["origin"]) * MM, span["size"] * CAPITAL * MM)
                     for span in line["spans"] for c in span["chars"]]
            for k, (char, foot, high) in enumerate(chars):
                if char.isspace():
                    continue
                # A letter is as wide as the next one is off, less a hair.
                next_foot = chars[k + 1][1] if k + 1 < len(chars) else foot + 0.6 * high * along
                wide = (next_foot - foot) @ along - 0.1
                if not 0.2 < wide < 3.0 * high:
                    continue
                boxes.append(Polygon([foot + along * x + up * y for x, y in
                                      ((0.1, 0.05), (wide, 0.05), (wide, high), (0.1, high))]))
                named.append(char)
    lines = []
    for path in page.get_drawings():
        if path["type"] != "s":
            continue
        trim = path["dashes"] not in ("", "[] 0", None)
        if trim or round(path["width"] * MM, 2) == CUT_MM:
            lines += [LineString(curve(i, 0.0) * [1.0, -1.0]) for i in path["items"]]
    tree = STRtree(boxes)
    for a, b in zip(*tree.query(boxes, predicate="overlaps")):
        if a < b:
            faults.append(f"{page.get_label()}: `{named[a]}` lies on `{named[b]}` at {boxes[a].bounds}")
    for _line, k in zip(*tree.query(lines, predicate="intersects")):
        faults.append(f"{page.get_label()}: `{named[k]}` lies on a line at {boxes[k].bounds}")


def read_part(file, faults, scale=(1.0, 1.0), inked=(CUT_MM, MARK_MM)):
    """Pages of a pattern by row and column, bars taken out; each has a line as wide
    as one of `inked`."""
    out = {}
    doc = pymupdf.open(file)
    for page in doc:
        label = re.fullmatch(r".* (\d+)-(\d+)", page.get_label())
        if label is None:
            continue
        check_letters(page, faults)
        got = read_page(page, scale)
        take_bars(got, faults, page.get_label())
        if not any(got.lines.get(w) for w in inked):
            faults.append(f"{page.get_label()}: no ink of the part")
        cell = (int(label[1]), int(label[2]))
        if cell in out:
            faults.append(f"{page.get_label()}: twice")
        out[cell] = got
    return out


def check_file(file, faults):
    """What holds of every file."""
    doc = pymupdf.open(file)
    for page in doc:
        pix = page.get_pixmap(dpi=100, colorspace=pymupdf.csGRAY)
        grey = np.frombuffer(pix.samples, np.uint8).reshape(pix.height, pix.stride)[:, :pix.width]
        m = math.floor(MARGIN_MM / 25.4 * 100) - 1
        inside = grey[m:-m, m:-m]
        if (grey < 250).sum() != (inside < 250).sum():
            faults.append(f"{page.get_label()}: ink outside the printable box")
        if not (inside < 128).any():
            faults.append(f"{page.get_label()}: blank")
        for font in page.get_fonts():
            if font[1] in ("n/a", "") or not re.match(r"[A-Z]{6}\+", font[3]):
                faults.append(f"font {font[3]} is not embedded as a subset")
    labels = [page.get_label() for page in doc]
    if len(set(labels)) != len(labels) or "" in labels:
        faults.append(f"page labels: {labels}")
    if not doc.get_toc():
        faults.append("no bookmarks")
    with pikepdf.open(file) as pdf:
        root = pdf.Root
        for key in ("/Lang", "/StructTreeRoot", "/MarkInfo", "/Outlines", "/PageLabels", "/Metadata"):
            if key not in root:
                faults.append(f"no {key}")
        if not str(pdf.docinfo.get("/Title", "")):
            faults.append("no title")
        if any("/UserUnit" in p for p in pdf.pages):
            faults.append("a unit of a page's own")
        if any(max(float(v) for v in p.MediaBox) > 14400 for p in pdf.pages):
            faults.append("a page longer than a PDF's may be")
        faults += [f"pikepdf: {p}" for p in pdf.check_pdf_syntax()]
    if shutil.which("qpdf"):
        done = subprocess.run(["qpdf", "--check", file], capture_output=True, text=True, check=False)
        if done.returncode or "WARNING" in done.stderr + done.stdout:
            faults.append(f"qpdf: {done.stdout[-300:]}{done.stderr[-300:]}")


def fewest(places, field, overlap):
    """Fewest fields of a lattice that hold all places and hang together, of 360
    turns and 8 by 8 shifts of each; the last of a row shows its overlap too, and a
    field whose places others show is not counted. A turn whose box takes as many
    from side to side, both ways, as the best is not looked into."""
    pitch = np.array(field) - overlap
    best = math.inf
    steps = np.arange(8) / 8.0
    turns = []
    for turn in range(360):
        a = math.radians(turn)
        p = places @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
        p = p - p.min(0)
        least = np.maximum(1.0, np.ceil((p.max(0) - overlap) / pitch)).sum() - 1
        turns.append((least, turn, p))
    for least, _turn, p in sorted(turns, key=lambda t: t[:2]):
        if least >= best:
            break
        for i in steps:
            x = p[:, 0] + i * pitch[0]
            cx = np.minimum((x // pitch[0]).astype(int), max(0, math.ceil((x.max() - overlap) / pitch[0]) - 1))
            for j in steps:
                y = p[:, 1] + j * pitch[1]
                last = max(0, math.ceil((y.max() - overlap) / pitch[1]) - 1)
                cy = np.minimum((y // pitch[1]).astype(int), last)
                key = cx * 1000 + cy
                cells, counts = np.unique(key, return_counts=True)
                n = len(cells)
                # What others show of a field that can be dropped is a strip at its edges.
                if n <= best:
                    few = counts.min() <= STRIP
                    n = dropped(x, y, key, cells, pitch, overlap) if few else n + groups(cells.tolist()) - 1
                best = min(best, n)
    return best


def dropped(x, y, key, cells, pitch, overlap):
    """Cells that are left when those are dropped whose places others show, and of
    those that hang apart one more for each gap between them."""
    left = list(cells)
    for cell in sorted(cells, key=lambda c: (key == c).sum()):
        px, py = x[key == cell], y[key == cell]
        shown = np.zeros(len(px), bool)
        for other in left:
            if other == cell:
                continue
            ox, oy = (other // 1000) * pitch[0], (other % 1000) * pitch[1]
            shown |= (px >= ox) & (px <= ox + pitch[0] + overlap) & (py >= oy) & (py <= oy + pitch[1] + overlap)
        if shown.all():
            left.remove(cell)
    return len(left) + groups(left) - 1


def groups(cells):
    """How many groups of cells hang together by their sides."""
    left, count = set(cells), 0
    while left:
        count, group = count + 1, [left.pop()]
        for cell in group:
            near = left & {cell - 1000, cell - 1, cell + 1, cell + 1000}
            left -= near
            group += near
    return count


def pattern(binary, job, out, *options):
    """Runs the command; the files it wrote."""
    done = subprocess.run([binary, "pattern", job, "--out", out, *options], capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(done.stderr)
    return {f.stem: f for f in sorted(Path(out).glob("*.pdf"))}


def check_parts(files, output, faults, scale=(1.0, 1.0), mirrored=False):
    """Every part put together and compared; the worst figure and the pages."""
    worst, pages = 0.0, {}
    for name in in_order(output.parts):
        if name not in files:
            faults.append(f"{name}: no pattern")
            continue
        own = []
        got = read_part(files[name], own, scale)
        pages[name] = got
        worst = max(worst, compare(assemble(got, own), output.part(name), own, mirrored))
        faults += [f"{name}: {f}" for f in own]
    return worst, pages


def parts_on(lines, texts, names):
    """Lines of every part of a page that parts share: what its edge goes round.
    `texts` with their places; a part is the one of `names` that begins a text in it."""
    shapes = list(polygonize([LineString(r) for r in lines.get(CUT_MM, [])]))
    # An edge with holes in it is one polygon with and others in its holes.
    shapes = [Polygon(s.exterior) for s in shapes]
    outer = [s for s in shapes if not any(o is not s and o.area > s.area and o.contains(s.centroid) for o in shapes)]
    out = {}
    for shape in outer:
        told = [text for text, place in texts if shape.contains(Point(place))]
        # A plate may bear a doubler's name too: its own stands before its kind.
        own = [n for n in names if any(t.startswith(f"{n} ") for t in told)]
        own = own or [n for n in names if n in told]
        name = own[0] if len(own) == 1 else f"{len(own)} names {own}"
        near = shape.buffer(0.5)
        out.setdefault(name, []).append({
            w: [r for r in runs if near.contains(Point(r[len(r) // 2]))] for w, runs in lines.items()})
    return out


def read_shared(file, names, faults, scale=(1.0, 1.0)):
    """Lines of each part on the pages that parts share, by its name."""
    out = {}
    for page in pymupdf.open(file):
        label = page.get_label()
        if not re.fullmatch(r"shared \d+ 1-1", label):
            continue
        got = read_page(page, scale)
        take_bars(got, faults, label)
        texts = []
        for line in (l for b in page.get_text("dict")["blocks"] for l in b.get("lines", [])):
            x, y = line["spans"][0]["origin"]
            text = "".join(s["text"] for s in line["spans"])
            texts.append((text, np.array([x, page.rect.height - y]) * MM * scale))
        for name, found in parts_on(got.lines, texts, names).items():
            if name in out or len(found) > 1 or name not in names:
                faults.append(f"{label}: {len(found)} times {name}, {'' if name in out else 'not '}there before")
            out[name] = found[0]
    return out


def check_shared(files, output, faults, scale=(1.0, 1.0)):
    """Every part that has no file of its own, on the pages that parts share; the
    worst figure, and how many parts share how many pages."""
    names = [n for n in output.parts if n not in files]
    own, worst = [], 0.0
    got = read_shared(files["shared"], names, own, scale) if "shared" in files else {}
    for name in names:
        if name not in got:
            own.append(f"{name}: on no page")
            continue
        worst = max(worst, compare(got[name], output.part(name), own))
    faults += [f"shared: {f}" for f in own]
    return worst, len(got)


def check_kind(binary, job, drawings, folder, faults, *options, **how):
    """Patterns of a kind, each against its drawing, by the name of its file."""
    files, worst = pattern(binary, job, folder, *options), 0.0
    if sorted(files) != sorted(drawings):
        faults.append(f"{options}: {sorted(files)}, not {sorted(drawings)}")
    for name in files.keys() & drawings.keys():
        own = []
        check_file(str(files[name]), own)
        # A plate's edge is thin on a pattern of its footprints.
        inked = (MARK_MM, FINE_MM) if how.get("footprints") else (CUT_MM, MARK_MM)
        pages = read_part(files[name], own, inked=inked)
        worst = max(worst, compare(assemble(pages, own), drawings[name], own, **how))
        faults += [f"{name}: {f}" for f in own]
    return worst, len(files)


def check_count(pages, output, faults):
    """No more pages than the fewest by brute force. Places that are apart may take
    fewer pages than the lines through them: what then seems too much is counted
    again with places closer together."""
    told = []
    for name, got in pages.items():
        n = len(got)
        if n == 1:
            continue
        size = next(iter(got.values())).size
        # A line is as wide on either side.
        field = [side - 2 * MARGIN_MM - CUT_MM for side in size]
        cut, marks = of_dxf(output.part(name))
        least = fewest(dense(cut + marks, 4.0), field, OVERLAP_MM)
        if n > least:
            least = fewest(dense(cut + marks, 0.25), field, OVERLAP_MM)
        told.append((n, least))
        if n > least:
            faults.append(f"{name}: {n} pages, {least} by brute force")
    return told


def bar_runs(pix):
    """Lengths of the long dark runs of a page's pixels, along rows and columns."""
    out = []
    for grid in (pix, pix.T):
        longest = []
        for row in grid:
            ends = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
            runs = ends[1::2] - ends[::2]
            longest += runs[runs > 800].tolist()
        out.append(longest)
    return out


def check_pixels(binary, job):
    """One page by poppler at 300 dots an inch: bars of 100 mm and 4 in within a
    pixel, both ways. Number of failures."""
    if not shutil.which("pdftoppm"):
        print("skipped: poppler's pdftoppm is not here")
        return 0
    faults = 0
    with tempfile.TemporaryDirectory() as top:
        files = pattern(binary, job, f"{top}/p", "--paper", "A4")
        file = next(iter(files.values()))
        subprocess.run(["pdftoppm", "-r", "300", "-gray", "-f", "2", "-l", "2", file, f"{top}/page"], check=True)
        raw = next(Path(top).glob("page*.pgm")).read_bytes()
        head = raw.split(b"\n", 3)
        wide, tall = map(int, head[1].split())
        pix = np.frombuffer(head[3], np.uint8).reshape(tall, wide) < 160
        for way, runs in zip(("across", "up"), bar_runs(pix)):
            for bar in BARS_MM:
                want = bar / 25.4 * 300
                near = [r for r in runs if abs(r - want) <= 4.0]
                # A bar's ends lie between its ticks: half a tick's width more at each.
                tick = CUT_MM / 25.4 * 300
                bad = not near or min(abs(r - want - tick) for r in near) > 1.0
                faults += bad
                print(f"{'FAIL ' if bad else ''}{bar} mm {way}: {sorted(set(near))} pixels of {want:.1f} and a tick")
    return faults


def main(binary, job, folder, papers=("A4", "Letter", "36 in roll"), count=False):
    """Number of failures."""
    output, faults = Output(folder, job), []
    with tempfile.TemporaryDirectory() as top:
        for k, paper in enumerate(papers):
            before = len(faults)
            files = pattern(binary, job, f"{top}/{k}", "--paper", paper)
            for file in files.values():
                own = []
                check_file(str(file), own)
                faults += [f"{file.name}: {f}" for f in own]
            worst, pages = check_parts(files, output, faults)
            told = check_count(pages, output, faults) if count and k == 0 else []
            scale = ",".join(map(str, SCALE))
            files = pattern(binary, job, f"{top}/{k}s", "--paper", paper, "--print-scale", scale)
            scaled, _pages = check_parts(files, output, faults, SCALE)
            total = sum(map(len, pages.values()))
            print(f"{paper}: {len(pages)} parts on {total} pages, {worst:.4f} mm off at most, "
                  f"{scaled:.4f} mm scaled, {len(faults) - before} faults"
                  + (f"; {sum(n < m for n, m in told)} of {len(told)} below the count by brute force" if told else ""))
            files = pattern(binary, job, f"{top}/{k}sh", "--paper", paper, "--share")
            for file in files.values():
                check_file(str(file), faults)
            worst, shared = check_shared(files, output, faults)
            sheets = sum(len(pymupdf.open(f)) for f in files.values())
            before = sum(len(pymupdf.open(f)) for f in Path(f"{top}/{k}").glob("*.pdf"))
            print(f"{paper}, shared: {shared} parts share pages, {worst:.4f} mm off at most; "
                  f"{sheets} pages with first sheets, {before} if each is by itself")
        paper = ("--paper", papers[0])
        cap = {f.stem: read_dxf(f, output.names) for f in Path(folder, "cap").glob("*.dxf")}
        worst, n = check_kind(binary, job, cap, f"{top}/c", faults, *paper, "--kind", "cap")
        print(f"{papers[0]}, cap: {n} lengths, {worst:.4f} mm off at most")
        plates = {f"{n}-footprints": output.part(n) for n, p in output.parts.items() if p["kind"] != "doubler"}
        worst, n = check_kind(binary, job, plates, f"{top}/f", faults, *paper, "--footprints", footprints=True)
        print(f"{papers[0]}, footprints: {n} plates, {worst:.4f} mm off at most")
        files = pattern(binary, job, f"{top}/o", "--other-face", "--paper", papers[0])
        worst, _pages = check_parts(files, output, faults, mirrored=True)
        print(f"{papers[0]}, other face: {worst:.4f} mm off at most")
        once = pattern(binary, job, f"{top}/1", "--paper", papers[0], "--one-file", "--threads", "1")
        again = pattern(binary, job, f"{top}/2", "--paper", papers[0], "--one-file", "--threads", "2")
        if once["patterns"].read_bytes() != again["patterns"].read_bytes():
            faults.append("other bytes on another number of threads")
        check_file(str(once["patterns"]), faults)
        test = pattern(binary, job, f"{top}/t", "--paper", papers[0], "--test-page")
        check_file(str(test["test-page"]), faults)
    for f in faults[:40]:
        print("FAIL", f)
    print(f"{len(faults)} faults")
    return len(faults)


if __name__ == "__main__":
    arguments = sys.argv[1:]
    count = "--count" in arguments
    papers = [arguments[i + 1] for i, a in enumerate(arguments) if a == "--paper"]
    if "--pixels" in arguments:
        sys.exit(check_pixels(*arguments[:2]) > 0)
    rest = [a for i, a in enumerate(arguments) if not a.startswith("--") and arguments[i - 1] != "--paper"]
    sys.exit(main(*rest, **({"papers": papers} if papers else {}), count=count) > 0)
