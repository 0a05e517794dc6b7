"""What a sheet and a part promise to the table and to the eye: the order of the
file, the way texts lie, and no letter where a doubler hides it."""
import re

import numpy as np
from shapely.geometry import LineString, MultiPoint, Point, Polygon

OF_LABEL = re.compile(r"seen from (above|below)|\bqty 1\b")
MEET_MM = 1e-6           # written to nine decimals
TICK_MM = 15.0           # two points this far apart are a tick or a line, no letter's stroke
ADVANCE = 0.6            # of a letter over its height, in a plain sans face
CAPITAL = 0.85           # of a capital
PICTURE_MM = 9.0         # a name as high as this is one for the sheet's picture
AIR = 0.25               # of its height that keeps clear round it
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


def bare(text):
    """Letters and figures alone: what folding leaves of a text."""
    return re.sub(r"[^0-9A-Za-z]", "", text)


def blocks_of(texts):
    """Runs of texts that lie each just under the one before as it reads."""
    runs = []
    for t in texts:
        last = runs[-1][-1] if runs else None
        if last and abs(last.turn - t.turn) < 1e-6 and abs(last.height - t.height) < 1e-6:
            a = np.radians(last.turn)
            off = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) @ (t.points[0] - last.points[0])
            if abs(off[0]) < 1e-3 and -2.0 * t.height < off[1] < -t.height:
                runs[-1].append(t)
                continue
        runs.append([t])
    return runs


def texts_lie_well(d, parts, label, faults):
    """Turns within a whole one and never on their head; of each part (rows of
    the summary) its label as one block, its name first, and none of its words
    anywhere else. Names of the parts whose whole label is there."""
    texts = [i for i in d.order if i.text]
    for t in texts:
        if not 0.0 <= t.turn < 360.0:
            faults.append(f"{label}: `{t.text}` is turned by {t.turn} degrees")
        if np.cos(np.radians(t.turn)) < -1e-6:
            faults.append(f"{label}: `{t.text}` stands on its head")
    runs, whole = [(bare("".join(t.text for t in run)), run) for run in blocks_of(texts)], []
    for p in parts:
        face = {"upper": "above", "lower": "below"}[p["face"]]
        says = bare(f"{p['name']} {p['kind']} seen from {face} {p['material']}")
        want = re.compile(says + r"\w+" + bare(f"qty 1 {p['place']}"))
        rest = [(said, run) for said, run in runs if not want.fullmatch(said)]
        whole += [p["name"]] * (len(runs) - len(rest))
        runs = rest
    for _, run in runs:
        for t in run:
            if OF_LABEL.search(t.text):
                faults.append(f"{label}: `{t.text}` stands in no label")
    return whole


def pictured(d, polygons, names, label, faults):
    """Names in large letters keep clear of their part's edge, of marks and of
    other texts. How many there are."""
    texts = [i for i in d.order if i.text]
    large = [t for t in texts if t.text in names and t.height >= PICTURE_MM]
    for t in large:
        own, air = box_of(t, CAPITAL), AIR * t.height
        near = [box_of(o) for o in texts if o is not t]
        near += [LineString(i.points) for i in d.order if i.layer == "MARK" and not i.text and len(i.points) > 1]
        near += [p.exterior for p in polygons]
        gap = min(own.distance(shape) for shape in near)
        if gap < air or not any(p.covers(own) for p in polygons):
            faults.append(f"{label}: the name {t.text}, {t.height:.0f} mm high, is {gap:.1f} mm from what is near")
    return len(large)


def box_of(t, advance=ADVANCE):
    """Ground that a text covers, at the least."""
    a = np.radians(t.turn)
    along, up = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    w, h = along * (advance * t.height * len(t.text)), up * t.height
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
