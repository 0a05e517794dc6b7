"""What a sheet and a part promise to the table and to the eye: the order of the
file, the way texts lie, and no letter where a doubler hides it."""
import re

import numpy as np
from shapely.geometry import LineString, MultiPoint, Point, Polygon

BLOCK = re.compile(r"^\S+ (base plate|top plate|doubler), seen from (above|below)$")
MEET_MM = 1e-6           # written to nine decimals
TICK_MM = 15.0           # two points this far apart are a tick or a line, no letter's stroke
ADVANCE = 0.6            # of a letter over its height, in a plain sans face
IN_MM = 0.5              # a letter's stroke reaches this far into a doubler, or is not in it


def loop(points):
    """The closed way of a line that meets itself: the profile in a cut that is
    one line with its leads. None where it does not."""
    for i, p in enumerate(points[:-2]):
        far = np.linalg.norm(points[i + 2:] - p, axis=1)
        if far.min() < MEET_MM:
            return points[i:i + 3 + int(far.argmin())]
    return None


def holes_first(d, label, faults):
    """After an outline nothing is cut inside it, nor marked on it."""
    done, holes = [], 0
    for item in d.order:
        if item.layer == "CUT":
            way = item.points if item.closed else loop(item.points)
            if way is not None and len(way) > 2:
                done.append(Polygon(way))
        elif item.layer in ("HOLE", "MARK"):
            holes += item.layer == "HOLE"
            at = Point(item.points.mean(axis=0))
            if any(o.contains(at) for o in done):
                what = "a hole" if item.layer == "HOLE" else "a mark"
                faults.append(f"{label}: {what} near {at.coords[0]} comes after its outline")
    return holes


def leads_about_paths(d, label, faults):
    """Every lead comes just before the path that it runs into, or just after
    the one that it leaves."""
    cuts = [i for i in d.order if i.layer in ("CUT", "HOLE", "LEAD")]
    meet = lambda a, b: float(np.linalg.norm(a - b)) < MEET_MM
    for k, item in enumerate(cuts):
        if item.layer != "LEAD":
            continue
        after, before = cuts[k + 1:k + 2], cuts[max(k - 1, 0):k]
        into = [p for p in after if p.layer != "LEAD" and meet(p.points[0], item.points[-1])]
        end = lambda p: p.points[0] if p.closed else p.points[-1]
        out = [p for p in before if p.layer != "LEAD" and meet(end(p), item.points[0])]
        if not into and not out:
            faults.append(f"{label}: a lead from {item.points[0]} stands at no path")


def texts_lie_well(d, label, faults):
    """Turns within a whole one and never on their head; a part's label as one
    block, its name above the rest as it reads."""
    texts = [i for i in d.order if i.text]
    blocks = 0
    for k, t in enumerate(texts):
        if not 0.0 <= t.turn < 360.0:
            faults.append(f"{label}: `{t.text}` is turned by {t.turn} degrees")
        if np.cos(np.radians(t.turn)) < -1e-6:
            faults.append(f"{label}: `{t.text}` stands on its head")
        if not BLOCK.match(t.text):
            continue
        blocks += 1
        a = np.radians(t.turn)
        back = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
        for row, under in enumerate(texts[k + 1:k + 3], start=1):
            off = back @ (under.points[0] - t.points[0])
            if abs(off[0]) > 1e-3 or not -2.0 * row * t.height < off[1] < -row * t.height:
                faults.append(f"{label}: `{under.text}` is not line {row + 1} under `{t.text}`")
    return blocks


def box_of(t):
    """Ground that a text covers, at the least."""
    a = np.radians(t.turn)
    along, up = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    w, h = along * (ADVANCE * t.height * len(t.text)), up * t.height
    p = t.points[0]
    return Polygon([p, p + w, p + w + h, p + h])


def off_doublers(d, areas, label, faults):
    """No letter nor text within the outline of a doubler. Outlines are found
    by their area, mm2. How many there are."""
    prints = []
    for item in d.order:
        ring = item.layer == "MARK" and len(item.points) > 4 and np.allclose(item.points[0], item.points[-1])
        size = Polygon(item.points).area if ring else 0.0
        if ring and any(abs(size - a) < 0.02 * a for a in areas):
            prints.append(Polygon(item.points))
    for shape in prints:
        hidden = shape.buffer(-IN_MM)
        for item in d.order:
            if item.text and hidden.intersects(box_of(item)):
                faults.append(f"{label}: `{item.text}` under a doubler")
            elif item.layer == "MARK" and not item.text and hidden.intersects(LineString(item.points)):
                long = len(item.points) == 2 and np.ptp(item.points, axis=0).max() > TICK_MM
                across = MultiPoint(item.points).envelope.area > 0.5 * shape.area
                if not long and not across:
                    faults.append(f"{label}: a letter under a doubler near {item.points[0]}")
    return len(prints)
