"""Checks an estimate's files against each other and against the job.

    check_estimate.py OUT JOB [BUILD_SUMMARY]

The page must be well-formed HTML that loads nothing from elsewhere, with a
picture for every sheet of a choice that can be made, every profile inside its
sheet and none over another. JSON, CSV, text and page must tell the same
figures, and the effort that they are of. Plate, scrap, welding, machine time
and cost are worked out again from the job's prices, the bounds by area from the
parts' area and the job's sheets. No two choices may be one purchase.
BUILD_SUMMARY is the summary.json of a build of the same job with all sheets on
offer at the same effort: that choice must come to the same. Exit 1 on any
difference.
"""

import csv
import json
import math
import re
import sys
import tomllib
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

from shapely.geometry import Polygon

from lengths import mm

KG_PER_LB = 0.45359237
VOID = {"meta", "link", "br", "hr", "img", "input"}
SVG = "{http://www.w3.org/2000/svg}"
ROUNDED_MM = 2.6  # of a picture: corners to whole mm and arcs as chords, on both sides


class Page(HTMLParser):
    """Open elements, text, and what would be loaded."""

    def __init__(self):
        super().__init__()
        self.open, self.faults, self.text, self.loads = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.loads += [v for k, v in attrs if k in ("src", "href", "xlink:href")]
        if tag in ("script", "iframe", "object"):
            self.faults.append(f"<{tag}> in the page")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.loads += [v for k, v in attrs if k in ("src", "href", "xlink:href")]

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> closes nothing")

    def handle_data(self, data):
        self.text.append(data)


def outlines(svg):
    """Polygons of a picture: sheets, then parts."""
    groups = ET.fromstring(svg).findall(f"{SVG}g")
    found = []
    for group in groups[:2]:
        own = []
        for path in group.findall(f"{SVG}path"):
            numbers = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", path.get("d"))]
            own.append(Polygon(list(zip(numbers[::2], numbers[1::2]))))
        found.append(own)
    return found


def check_pictures(page, made, faults):
    pictures = re.findall(r"<svg.*?</svg>", page, re.S)
    count = sum(c["figures"]["sheets"] for c in made)
    if len(pictures) != count:
        faults.append(f"{len(pictures)} pictures of {count} sheets")
    pictures = iter(pictures)
    for choice in made:
        f, drawn = choice["figures"], 0
        for picture in (next(pictures, None) for _ in range(f["sheets"])):
            sheets, parts = outlines(picture) if picture else ([], [])
            drawn += len(parts)
            if len(sheets) != 1:
                faults.append(f"{choice['name']}: {len(sheets)} sheets in a picture")
            for i, part in enumerate(parts):
                if not any(s.buffer(1.0).contains(part) for s in sheets):
                    faults.append(f"{choice['name']}: part {i} lies off its sheet")
                for other in parts[:i]:
                    if part.buffer(-ROUNDED_MM).intersects(other.buffer(-ROUNDED_MM)):
                        faults.append(f"{choice['name']}: two parts are drawn over each other")
        if drawn != f["parts"]:
            faults.append(f"{choice['name']}: {drawn} parts drawn")


def close(a, b, within, what, faults):
    if (a is None) != (b is None) or (a is not None and abs(a - b) > within):
        faults.append(f"{what}: {a} against {b}")


def check_rows(told, rows, faults):
    """Figures of the JSON against rows of a CSV file."""
    if len(told) != len(rows):
        faults.append(f"{len(told)} in the JSON, {len(rows)} rows")
    for entry, row in zip(told, rows):
        f = entry["figures"]
        if f is None:
            if row["cannot_be_made"] != entry["cannot_be_made"]:
                faults.append(f"the reasons differ: {row}")
            continue
        metric = "bought_kg" in row
        mass, per_mass = ("kg", 1.0) if metric else ("lb", KG_PER_LB)
        unit, per_unit = ("m", 1000.0) if metric else ("ft", 304.8)
        for key, head, per in (
            ("yield", "yield_percent", 0.01),
            ("yield_by_used_length", "yield_by_used_length_percent", 0.01),
            ("mass_bought_kg", f"bought_{mass}", per_mass),
            ("mass_used_kg", f"used_{mass}", per_mass),
            ("mass_wasted_kg", f"wasted_{mass}", per_mass),
            ("weld_length_mm", f"weld_{unit}", per_unit),
            ("cut_length_mm", f"cut_{unit}", per_unit),
            ("cut_time_s", "cut_time_min", 60.0),
            ("drill_time_s", "drill_time_min", 60.0),
            ("mark_length_mm", f"mark_{unit}", per_unit),
            ("mark_time_s", "mark_time_min", 60.0),
            *((k, k, 1.0) for k in ("plate", "plate_at_least", "scrap_value", "welding", "cutting", "cost")),
        ):
            cell = float(row[head]) * per if row[head] else None
            close(f[key], cell, 0.0051 * per, key, faults)
        for key in ("sheets", "sheets_at_least", "parts", "butts", "mitres", "pierces",
                    "holes_to_drill", "holes_too_small", "mark_strokes"):
            close(f[key], int(row[key]), 0, key, faults)
        if f["effort"] != row["effort"]:
            faults.append(f"an effort of {f['effort']} against {row['effort']}")


def check_costs(told, job, faults):
    prices = job.get("prices", {})
    weld, hour = prices.get("weld"), prices.get("cutting_per_hour")
    given = {c["name"]: c for c in job.get("estimate", {}).get("choice", [])}
    for entry in told["choices"]:
        f = entry["figures"]
        if f is None:
            continue
        own = given.get(entry["name"], {})
        scrap = own.get("scrap_per_kg", prices.get("scrap_per_kg", 0.0))
        close(f["scrap_value"], f["mass_wasted_kg"] * scrap, 1e-6, "scrap", faults)
        close(f["mass_bought_kg"] - f["mass_used_kg"], f["mass_wasted_kg"], 1e-6, "wasted", faults)
        close(f["yield"], f["used_area_mm2"] / f["sheet_area_mm2"], 1e-12, "yield", faults)
        by_length = f["used_area_mm2"] / f["used_length_area_mm2"]
        close(f["yield_by_used_length"], by_length, 1e-12, "yield by used length", faults)
        per_kg = {**prices.get("per_kg", {}), **own.get("per_kg", {})}
        if len(entry["alloys"]) == 1 and not any("price" in s for s in job["sheet"]) and "per_sheet" not in own:
            want = per_kg.get(entry["alloys"][0])
            close(f["plate"], want and f["mass_bought_kg"] * want, 1e-6, "plate", faults)
        joints = f["butts"] + f["mitres"]
        if weld:
            metres = f["weld_length_mm"] / 1000.0
            minutes = metres * weld["minutes_per_m"] + joints * weld["prep_minutes_per_butt"]
            cost = metres * weld["filler_kg_per_m"] * weld["filler_per_kg"] + minutes / 60.0 * weld["labour_per_hour"]
            close(f["welding"], cost, 1e-6, "welding", faults)
        rate = own.get("cutting_per_hour", hour)
        known = rate is not None and f["cut_time_s"] is not None
        close(f["cutting"], rate * f["cut_time_s"] / 3600.0 if known else None, 1e-6, "cutting", faults)
        counted = set(told["cost_counts"])
        total = sum(f[k] * (-1 if k == "scrap_value" else 1) for k in counted) if counted else None
        close(f["cost"], total, 1e-6, "cost", faults)
    costs = [c["figures"]["cost"] or c["figures"]["mass_bought_kg"] for c in told["choices"] if c["figures"]]
    if costs != sorted(costs):
        faults.append(f"not best first: {costs}")


def least(area, kinds):
    """Least sum of weights of sheets of (usable area, weight, how many) that
    hold an area: by the fraction, the lightest for its area first."""
    total = 0.0
    for usable, weight, most in sorted(kinds, key=lambda k: k[1] / k[0]):
        taken = min(area / usable, most)
        total += taken * weight
        area -= taken * usable
    return total


def check_bounds(told, job, faults):
    """Bounds by area against what is bought, and worked out anew where all
    sheets are of one plate, whole and without clamps."""
    given = {c["name"]: c for c in job.get("estimate", {}).get("choice", [])}
    prices = job.get("prices", {})
    margin = mm(job["cutting"].get("edge_margin", "10 mm"))
    odd = ("remnant", "clamps", "price")
    plates = {(s.get("thickness"), s.get("alloy")) for s in job["sheet"]}
    plain = len(plates) == 1 and not any(k in s for s in job["sheet"] for k in odd)
    rows = [(c["name"], c["figures"]) for c in told["choices"]]
    rows += [(v["of"], v["figures"]) for v in told["variations"]]
    for name, f in rows:
        if f is None:
            continue
        for bound, bought in (("sheets_at_least", "sheets"), ("mass_at_least_kg", "mass_bought_kg"),
                              ("plate_at_least", "plate")):
            if f[bound] is not None and f[bound] > f[bought] * (1 + 1e-9):
                faults.append(f"{name}: {f[bound]} {bound}, but {f[bought]} are enough")
    for choice in told["choices"]:
        name, f = choice["name"], choice["figures"]
        own = given.get(name, {})
        if f is None or not plain or "alloy" in own or "per_sheet" in own:
            continue
        names = own.get("sheets", [s["name"] for s in job["sheet"] if given or name in (s["name"], "all on offer")])
        on_offer = [s for s in job["sheet"] if s["name"] in names]
        sides = [(mm(s["length"]), mm(s["width"])) for s in on_offer]
        usable = [(a - 2 * margin) * (b - 2 * margin) for a, b in sides]
        most = [s.get("quantity", math.inf) for s in on_offer]
        mass = [a * b * f["mass_bought_kg"] / f["sheet_area_mm2"] for a, b in sides]
        area = f["used_area_mm2"] * (1 - 1e-5)
        count = math.ceil(least(area, zip(usable, [1.0] * len(sides), most)))
        close(f["sheets_at_least"], count, 0, f"{name}: sheets at least", faults)
        weight = max(least(area, zip(usable, mass, most)), count * min(mass))
        close(f["mass_at_least_kg"], weight, 1e-6 * weight, f"{name}: mass at least", faults)
        per_kg = {**prices.get("per_kg", {}), **own.get("per_kg", {})}.get(choice["alloys"][0])
        close(f["plate_at_least"], per_kg and per_kg * weight, 1e-6 * weight, f"{name}: plate at least", faults)


def check_efforts(told, faults):
    """Every row says at which effort it was nested."""
    for rows, effort in (("choices", told["effort"]), ("variations", told["variations_effort"])):
        for row in told[rows]:
            if row["figures"] and row["figures"]["effort"] != effort:
                faults.append(f"{rows}: a nest of {row['figures']['effort']} effort among those of {effort}")


def check_purchases(told, faults):
    """No purchase stands in two rows."""
    seen = {}
    for c in told["choices"]:
        f = c["figures"]
        if f is None:
            continue
        key = json.dumps([f["bought"], f["plate"], f["welding"], f["butts"], f["pierces"], f["holes_to_drill"],
                          round(f["cut_length_mm"], 3), c["process"], c["kerf_mm"], c["gap_mm"], c["supplier"], f.get("cutting")])
        if key in seen:
            faults.append(f"{c['name']} and {seen[key]} are one purchase")
        seen[key] = c["name"]


def main(out, job_file, summary=None):
    out, faults = Path(out), []
    told = json.loads((out / "estimate.json").read_text())
    job = tomllib.loads(Path(job_file).read_text())
    page = (out / "estimate.html").read_text()
    text = (out / "estimate.txt").read_text()
    parser = Page()
    parser.feed(page)
    parser.close()
    faults += parser.faults
    if parser.open or parser.loads:
        faults.append(f"left open {parser.open}, loads {parser.loads}")
    made = [c for c in told["choices"] if c["figures"]]
    check_pictures(page, made, faults)
    read = "".join(parser.text)
    for choice in told["choices"]:
        for where, words in (("text", text), ("page", read)):
            for name in [choice["name"], *choice["also"]]:
                if name not in words:
                    faults.append(f"{name} is not in the {where}")
            cost = choice["figures"] and choice["figures"]["cost"]
            if cost is not None and f"{cost:.2f}" not in words:
                faults.append(f"{choice['name']}: {cost:.2f} is not in the {where}")
    with open(out / "estimate.csv", newline="") as f:
        check_rows(told["choices"], list(csv.DictReader(f)), faults)
    if (out / "variations.csv").exists():
        with open(out / "variations.csv", newline="") as f:
            check_rows(told["variations"], list(csv.DictReader(f)), faults)
    check_costs(told, job, faults)
    check_bounds(told, job, faults)
    check_efforts(told, faults)
    check_purchases(told, faults)
    for effort in {told["effort"], told["variations_effort"]}:
        for where, words in (("text", text), ("page", read)):
            if effort not in words:
                faults.append(f"an effort of {effort} is not in the {where}")
    if summary:
        built = json.loads(Path(summary).read_text())
        whole = next(c["figures"] for c in told["choices"] if "all on offer" in [c["name"], *c["also"]])
        sums = {**built["cutting"], **built["yield"]}
        if sums["effort"] != whole["effort"]:
            faults.append(f"a build of {sums['effort']} effort")
        close(whole["yield_by_used_length"], sums["by_used_length"], 1e-4, "by used length of the build", faults)
        sides = [s["offcut_mm"] for s in built["sheets"] if s["offcut_mm"]]
        offcut = max((s["length"] * s["width"] for s in sides), default=0.0)
        close(whole["largest_offcut_mm2"], offcut, 1e-3 * offcut + 1e-6, "offcut of the build", faults)
        for key, theirs in (("plate", "cost"), *((k, k) for k in (
                "sheets", "parts", "yield", "sheet_area_mm2", "used_area_mm2", "mass_bought_kg",
                "mass_used_kg", "mass_wasted_kg", "scrap_value", "cut_length_mm", "pierces", "sheets_at_least", "mass_at_least_kg",
                "holes_to_drill", "mark_strokes", "mark_length_mm"))):
            close(whole[key], sums[theirs], 1e-3, f"{key} of the build", faults)
    for fault in faults:
        print(fault)
    print(f"{len(made)} choices, {len(told['variations'])} variations, {len(faults)} faults")
    return not faults


if __name__ == "__main__":
    sys.exit(0 if main(*sys.argv[1:]) else 1)
