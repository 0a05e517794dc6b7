"""The checks pass a sound output and fail each spoilt one."""
import copy
import xml.etree.ElementTree as ET

import numpy as np
import pymupdf
import pytest
from shapely.geometry import box

import check_cuts
import check_estimate
import check_geometry
import check_floor
import check_pattern
import check_refold
import check_sheets
import check_stanchions
import check_svg
import drawings
import geometry as geo
import make_exact_job as exact
import reading
import synthetic


@pytest.fixture(scope="module")
def job_file(tmp_path_factory):
    return exact.write(tmp_path_factory.mktemp("job"))


def run(job_file, folder, spoil=None):
    synthetic.write(geo.read_job(job_file), folder, spoil=spoil)
    return (check_geometry.main(job_file, folder), check_refold.main(folder, job_file),
            check_sheets.main(folder, job_file))


def only(name, change):
    return lambda n, part: change(part) if n == name else None


def stretch(part):
    """A part 0.1 mm longer over its length."""
    x = part["outline"]
    w = (x[:, 0] - x[:, 0].min()) / (x[:, 0].max() - x[:, 0].min())
    part["outline"] = x + 0.15 * w[:, None] * [1.0, 0.0]


def mirror(part):
    part["outline"] = (part["outline"] * [1.0, -1.0])[::-1]


def swap_face(part):
    part["face"] = "lower" if part["face"] == "upper" else "upper"


def wrong_hole(part):
    part["holes"][3] += 0.2


def off_hole(part):
    part["holes"][3] += [0.0, 0.5]


def wide_hole(part):
    part["diameter"] += 0.5


def lost_hole(part):
    part["holes"] = part["holes"][1:]


def scale(part):
    part["outline"] = part["outline"] * 1.0001


def vertex(part):
    part["outline"][40] += [0.0, 0.3]


def lost_vertices(part):
    part["outline"] = np.delete(part["outline"], slice(60, 72), axis=0)


def move_end(part):
    """Everything within 100 mm of the part's right end 0.3 mm further."""
    x = part["outline"][:, 0]
    part["outline"][:, 0] = np.where(x > x.max() - 100.0, x + 0.3, x)


def column(name, change):
    def spoil(part):
        for r in part["bends"]:
            r[name] = change(r[name])
    return spoil


def row(name, by):
    def spoil(part):
        part["bends"][len(part["bends"]) // 2][name] += by
    return spoil


def space(part):
    """The member's outboard edge 0.3 mm higher."""
    for r in part["members"]:
        r["z_mm"] += 0.3 * (r["curve"] == "outboard edge")


def flip_on_sheet(part):
    part["on_sheet"] = (part["outline"] * [1.0, -1.0])[::-1]


def over_the_margin(part):
    part["left"] = 9.5


def flip(key):
    def change(part):
        for r in part["bends"]:
            r[key] = -r[key]
    return change


def test_sound_output_passes(job_file, tmp_path):
    assert run(job_file, tmp_path) == ([], [], [])


@pytest.mark.parametrize("name,change,geometry,refold,sheets", [
    ("B2", stretch, True, True, False), ("B2", mirror, True, True, True),
    ("T3", swap_face, True, True, False),
    ("B1", wrong_hole, True, True, False), ("B2", flip("curvature_per_m"), False, True, False),
    ("B1", flip("twist_deg_per_m"), False, True, False),
    ("B3", flip_on_sheet, False, False, True), ("T2", over_the_margin, False, False, True)])
def test_spoilt_output_fails(job_file, tmp_path, name, change, geometry, refold, sheets):
    found = run(job_file, tmp_path, only(name, change))
    for faults, expected in zip(found, (geometry, refold, sheets)):
        if expected is not None:
            assert bool(faults) == expected, faults


@pytest.mark.parametrize("name,change", [
    ("B2", scale), ("T2", vertex), ("B3", lost_vertices), ("T1", move_end), ("B2", off_hole),
    ("T1", wide_hole), ("B2", lost_hole), ("B1", space),
    ("B1", column("curvature_per_m", lambda v: 1.03 * v)),
    ("B2", column("twist_deg_per_m", lambda v: v + 0.1)),
    ("B2", column("turn_deg_per_m", lambda v: v + 0.01)),
    ("B2", column("stretch_mm_per_m", lambda v: v + 0.1)),
    ("T2", column("shift_across_mm", lambda v: v + 0.3)),
    ("B3", row("curvature_per_m", 0.01)), ("B3", row("outboard_y_mm", 0.3))])
def test_a_spoilt_part_does_not_fold_back(job_file, tmp_path, name, change):
    synthetic.write(geo.read_job(job_file), tmp_path, spoil=only(name, change))
    assert check_refold.main(tmp_path, job_file, name)


@pytest.mark.parametrize("gap,holds", [("0.1 mm", True), ("500 mm", False)])
def test_gap_is_measured(job_file, tmp_path, gap, holds):
    """The same sheet under a job that asks for less, and for more."""
    synthetic.write(geo.read_job(job_file), tmp_path)
    other = tmp_path / "job.toml"
    other.write_text(job_file.read_text().replace('gap = "6 mm"', f'gap = "{gap}"'))
    assert (check_sheets.main(tmp_path, other) == []) == holds


def rounded(lo, hi, r):
    """A rectangle's parallel at r, corners as quarter arcs, counter-clockwise."""
    b = np.tan(np.pi / 8)
    (x0, y0), (x1, y1) = lo, hi
    return np.array([[x0, y0 - r, 0], [x1, y0 - r, b], [x1 + r, y0, 0], [x1 + r, y1, b],
                     [x1, y1 + r, 0], [x0, y1 + r, b], [x0 - r, y1, 0], [x0 - r, y0, b]])


@pytest.mark.parametrize("by,lead,paths,leads", [
    (1.5, [(50, -9), (50, -1.5)], False, False), (1.4, [(50, -9), (50, -1.5)], True, False),
    (1.5, [(50, -9), (50, -1.0)], False, True), (1.5, [(50, -17.8), (50, -1.5)], False, True),
    (1.5, [(-42, 25), (-1.5, 25)], False, True)])
def test_paths_and_leads_are_measured(by, lead, paths, leads):
    """A part of 100 x 50 mm with another 20 mm below, on a sheet 40 mm round it; kerf 3 mm."""
    boxes = [box(0, 0, 100, 50), box(0, -60, 100, -20)]
    parts = [(name, b, [], b) for name, b in zip("PQ", boxes)]
    d = drawings.Drawing()
    d.profiles["CUT"] = [rounded((0, 0), (100, 50), by)]
    d.strokes["LEAD"] = [np.array(lead, float)]
    faults = []
    check_cuts.check_paths("s", d, parts, 3.0, None, faults)
    assert bool(faults) == paths, faults
    faults = []
    check_cuts.check_leads("s", d, parts, box(-40, -100, 140, 90), 1.5, 1.0, faults)
    assert bool(faults) == leads, faults


@pytest.mark.parametrize("x,bad", [(110.0, False), (110.1, True), (300.0, True)])
def test_parts_fall_out_of_the_plate(x, bad):
    """Two parts of 100 x 50 mm, one path half a kerf of 3 mm round each, the second at x."""
    boxes = [box(0, 0, 100, 50), box(110, 0, 210, 50)]
    parts = [(name, b, [], b) for name, b in zip("PQ", boxes)]
    d = drawings.Drawing()
    d.profiles["CUT"] = [rounded((0, 0), (100, 50), 1.5), rounded((x, 0), (x + 100, 50), 1.5)]
    faults = []
    check_cuts.check_pieces("s", d, parts, box(-40, -40, 450, 90), 1.5, faults)
    assert bool(faults) == bad, faults


@pytest.fixture(scope="module")
def stood(job_file):
    """Six tubes a side and one on the centreline, stood on the check's own faces."""
    job = geo.read_job(job_file)
    base, top = geo.strips_of_survey(job)
    lower, upper = check_stanchions.faces(job, base, top)
    middle = lower.edge_near(base.edge(base.u[np.argmin(base.edge(base.u)[:, 0])][None])[0])
    ends = base.u[0], base.u[-1]
    places = [("C", 1, middle)]
    for k in range(6):
        share = (k + 0.5) / 6.5
        places += [("P", k + 1, ends[0] + share * (middle - ends[0])),
                   ("S", k + 1, ends[1] + share * (middle - ends[1]))]
    rows = []
    for letter, k, u in places:
        foot, w = lower.at(u, 0.0)[0], u
        d = lower.dedge(np.array([u]))[0] * [1.0, 1.0, 0.0]
        for _ in range(20):
            p = upper.at(w, 0.0)[0]
            w -= (p - foot) @ d / (((upper.at(w + 0.01, 0.0)[0] - p) / 0.01) @ d)
        head = upper.at(w, 0.0)[0]
        row = dict(name=f"{k}{letter}", foot_mm=dict(zip("xyz", foot)), head_mm=dict(zip("xyz", head)))
        own = check_stanchions.worked_out(lower, upper, job, row)
        rows.append(row | {key: own[key] for key in check_stanchions.LIMITS})
    return job, base, top, rows


def spoil_names(rows):
    """Starboard numbered from aft."""
    n = sum(r["name"].endswith("S") for r in rows)
    for r in rows:
        if r["name"].endswith("S"):
            r["name"] = f"{n + 1 - int(r['name'][:-1])}S"


def skip_one(rows):
    """Port numbered from two."""
    for r in rows:
        if r["name"].endswith("P"):
            r["name"] = f"{int(r['name'][:-1]) + 1}P"


def turn_port(key):
    def change(rows):
        for r in rows:
            if r["name"].endswith("P"):
                r[key] = -r[key]
    return change


def add(key, by):
    def change(rows):
        rows[4][key] += by
    return change


@pytest.mark.parametrize("change,bad", [
    (lambda rows: None, False), (spoil_names, True), (skip_one, True),
    (turn_port("foot_rise_forward_deg"), True), (turn_port("head_rise_inboard_deg"), True),
    (turn_port("lean_outboard_deg"), True), (add("length_mm", 0.1), True), (add("length_mm", 0.02), False),
    (add("foot_gap_mm", 0.05), True), (add("head_saw_tilt_deg", 0.05), True)])
def test_stanchions_are_stood_again(stood, change, bad):
    job, base, top, sound = stood
    rows = copy.deepcopy(sound)
    change(rows)
    assert bool(check_stanchions.check(job, base, top, rows)) == bad
@pytest.mark.parametrize("count,length,bad", [(2, 50.0, False), (3, 50.0, True), (2, 50.1, True)])
def test_marks_are_counted_and_measured(count, length, bad):
    """A stroke of 30 mm and one of 10 and 10 mm."""
    d = drawings.Drawing()
    d.strokes["MARK"] = [np.array([(0, 0), (30, 0)], float), np.array([(5, 5), (15, 5), (15, 15)], float)]
    faults = []
    check_cuts.check_marks("s", d, {"mark_strokes": count, "mark_length_mm": length}, faults)
    assert bool(faults) == bad, faults


def estimated():
    """An estimate and its job: 10 m2 of parts on sheets of 4 and of 6 m2 inside
    their margins, 100 and 150 kg at 2 a kg."""
    sheets = {"small": ("4 m", "1 m", 100.0), "large": ("6 m", "1 m", 150.0)}
    job = {"cutting": {"edge_margin": "0 mm"}, "prices": {"per_kg": {"A": 2.0}},
           "sheet": [{"name": n, "length": a, "width": b} for n, (a, b, _) in sheets.items()]}

    def row(name, bought, count, mass):
        kg = sum(n * sheets[s][2] for s, n in bought)
        figures = {"effort": "quick", "sheets": sum(n for _, n in bought), "sheets_at_least": count,
                   "mass_bought_kg": kg, "mass_at_least_kg": mass, "plate": 2 * kg, "plate_at_least": 2 * mass,
                   "sheet_area_mm2": kg * 40000.0, "used_area_mm2": 1e7, "bought": [list(b) for b in bought],
                   "welding": None, "butts": 4, "pierces": 9, "holes_to_drill": 0, "cut_length_mm": 5e4}
        return {"name": name, "also": [], "alloys": ["A"], "process": "plasma", "kerf_mm": 3.0, "gap_mm": 8.0,
                "supplier": "", "figures": figures}

    choices = [row("small", [("small", 3)], 3, 300.0), row("large", [("large", 2)], 2, 300.0),
               row("all on offer", [("small", 1), ("large", 1)], 2, 250.0 * (1 - 1e-5))]
    return {"effort": "quick", "variations_effort": "quick", "choices": choices, "variations": []}, job


def spoil(key, value):
    def change(told):
        told["choices"][0]["figures"][key] = value
    return change


def one_purchase(told):
    told["choices"][2]["figures"]["bought"] = told["choices"][1]["figures"]["bought"]
    told["choices"][2]["figures"]["plate"] = told["choices"][1]["figures"]["plate"]


def other_effort(told):
    told["variations"] = [{"of": "gap", "figures": told["choices"][0]["figures"]}]
    told["variations_effort"] = "normal"


@pytest.mark.parametrize("change,bad", [
    (None, False), (spoil("sheets_at_least", 4), True), (spoil("sheets_at_least", 2), True),
    (spoil("mass_at_least_kg", 300.1), True), (spoil("mass_at_least_kg", 299.0), True),
    (spoil("plate_at_least", 601.0), True), (spoil("plate_at_least", 590.0), True),
    (spoil("effort", "normal"), True), (one_purchase, True), (other_effort, True)])
def test_bounds_efforts_and_purchases_are_measured(change, bad):
    told, job = estimated()
    if change:
        change(told)
    faults = []
    check_estimate.check_bounds(told, job, faults)
    check_estimate.check_efforts(told, faults)
    check_estimate.check_purchases(told, faults)
    assert bool(faults) == bad, faults


def line(layer, *points, closed=False):
    return drawings.Item(layer, closed, np.array(points, float))


OUTLINE = line("CUT", (0, 0), (100, 0), (100, 50), (0, 50), closed=True)
HOLE = line("HOLE", (20, 20), closed=True)
# A square cut from a pierce outside it, all in one line.
JOINED = line("CUT", (-5, 10), (0, 10), (0, 50), (100, 50), (100, 0), (0, 0), (0, 10), (-3, 12))


@pytest.mark.parametrize("order,bad", [
    ([HOLE, OUTLINE], False), ([OUTLINE, HOLE], True), ([HOLE, JOINED], False), ([JOINED, HOLE], True),
    ([OUTLINE, line("MARK", (10, 10), (20, 10))], True), ([OUTLINE, line("HOLE", (200, 20), closed=True)], False)])
def test_holes_before_their_outline(order, bad):
    faults = []
    reading.holes_first(drawings.Drawing(order=order), "s", faults)
    assert bool(faults) == bad, faults


IN, OUT = line("LEAD", (-5, 0), (0, 0)), line("LEAD", (0, 0), (-2, -2))


@pytest.mark.parametrize("order,bad", [
    ([IN, OUTLINE, OUT], False), ([IN, OUT, OUTLINE], True), ([OUTLINE, IN, OUT], True),
    ([OUTLINE, OUT], False), ([OUT, OUTLINE, IN], True)])
def test_leads_about_their_path(order, bad):
    faults = []
    reading.leads_about_paths(drawings.Drawing(order=order), "s", faults)
    assert bool(faults) == bad, faults


B1 = {"name": "B1", "kind": "base-plate", "face": "upper", "material": "5086-H116",
      "place": "port, sta 1000 mm to 2000 mm"}
THREE = ["B1 base plate, seen from above", "5086-H116 12.7 mm, qty 1", "port, sta 1000 mm to 2000 mm"]


def block(turn, words=THREE, pitch=16.0):
    """A label, 10 mm high, each line so far under the one before."""
    a = np.radians(turn)
    down = np.array([np.sin(a), -np.cos(a)]) * pitch
    return [drawings.Item("LABEL", True, down[None] * k, w, turn, 10.0) for k, w in enumerate(words)]


@pytest.mark.parametrize("texts,labels,bad", [
    (block(0), 1, False), (block(350), 1, False), (block(-10), 1, True), (block(370), 1, True), (block(180), 1, True),
    (block(0, ["B1 base plate,", "seen from above,", "5086-H116", "12.7 mm, qty 1,", "port, sta 1000 mm to 2000", "mm"]),
     1, False),
    (block(0, ["B1"]), 0, False), (block(30, pitch=-16.0), 0, True), (block(0, pitch=40.0), 0, True),
    (block(0, THREE[::-1]), 0, True), (block(0, THREE[:2]), 0, True),
    ([*block(0), *block(90)], 2, False), (block(0) + block(0, THREE[1:2]), 1, True)])
def test_labels_read_as_one_block(texts, labels, bad):
    faults = []
    assert len(reading.texts_lie_well(drawings.Drawing(order=texts), [B1], "s", faults)) == labels
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("at,height,bad", [
    ((100, 20), 20.0, False), ((100, 20), 35.0, True), ((100, 3), 20.0, True), ((0, 20), 20.0, True),
    ((152, 20), 20.0, True), ((100, 42), 20.0, True), ((200, 90), 20.0, True)])
def test_names_on_the_picture_stand_clear(at, height, bad):
    """A part of 300 x 65 mm with a mark and a small text."""
    order = [line("MARK", (188, 5), (188, 60)), drawings.Item("LABEL", True, np.array([[100.0, 57.0]]), "text", 0.0, 4.0),
             drawings.Item("LABEL", True, np.array([at], float), "D1", 0.0, height)]
    faults = []
    assert reading.pictured(drawings.Drawing(order=order), [box(0, 0, 300, 65)], ["D1"], "s", faults) == 1
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("more,bad", [
    ([], False), ([line("MARK", (150, 40), (150, 50), (155, 50))], True),
    ([line("MARK", (150, 3), (150, 28))], False), ([line("MARK", (150, 85), (150, 95), (155, 95))], False),
    ([drawings.Item("LABEL", True, np.array([[40.0, 20.0]]), "B1 B1 B1 B1 B1 B1", 30.0, 10.0)], True)])
def test_letters_under_a_doubler(more, bad):
    """A doubler of 350 x 80 mm, its name beside it."""
    print_ = line("MARK", (0, 0), (350, 0), (350, 80), (0, 80), (0, 0))
    faults = []
    d = drawings.Drawing(order=[print_, line("MARK", (10, 90), (10, 100), (15, 100)), *more])
    assert reading.off_doublers(d, [28000.0], "s", faults) == 1
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("style,attribute,bad", [
    ("path{fill:none}\n.cut .closed{fill:#eee}", 'fill="none"', False),
    ("path{fill:none}\n.cut path{fill:#eee}", 'fill="none"', True),
    ("path{fill:none}", "", True)])
def test_open_lines_are_not_filled(style, attribute, bad):
    root = ET.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg"><style>{style}</style><g class="cut">'
                         f'<path class="closed" d="M0 0L1 0L1 1Z"/><path {attribute} d="M0 0L1 0L1 1"/></g></svg>')
    if bad:
        with pytest.raises(check_svg.Bad):
            check_svg.check_fills(root)
    else:
        assert check_svg.check_fills(root) == 1


def test_a_cut_with_its_leads_is_parted():
    d = drawings.Drawing()
    d.strokes["CUT"] = [JOINED.points]
    check_cuts.part_leads(d)
    assert d.profiles["CUT"][0][:, :2].tolist() == JOINED.points[1:6].tolist()
    assert [s.tolist() for s in d.strokes["LEAD"]] == [JOINED.points[:2].tolist(), JOINED.points[6:].tolist()]


RECTANGLE = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 80.0], [0.0, 80.0], [0.0, 0.0]])


def pattern_page(column):
    """One of two pages of 210 by 297 mm that show a plate of 300 by 80 mm with a
    hole and a mark, the joint in the middle, a little askew on the second."""
    left, right = (0.0, 155.0) if column == 1 else (145.0, 300.0)
    a = np.linspace(0.0, 2.0 * np.pi, 61)
    ring = np.column_stack([60.0 + 6.0 * np.cos(a), 40.0 + 6.0 * np.sin(a)])
    cut = [np.clip(p, [left, 0.0], [right, 80.0]) for p in (RECTANGLE[:2], RECTANGLE[2:4])]
    cut.append(RECTANGLE[3:] if column == 1 else RECTANGLE[1:3])
    cut += [ring] if column == 1 else []
    marks = [np.array([[100.0, 20.0], [140.0, 30.0]])] if column == 1 else []
    shift = np.array([45.0, 30.0]) if column == 1 else np.array([-135.0, 45.0])
    turn = np.radians(0.0 if column == 1 else 0.4)
    at = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    place = lambda p: p @ at + shift
    rings = np.array([[150.0, -10.0], [150.0, 150.0]])
    lines = {0.25: [place(p) for p in cut], 0.18: [place(p) for p in marks]}
    return check_pattern.Page((210.0, 297.0), lines, place(rings))


def pattern_drawing():
    d = drawings.Drawing()
    d.profiles["CUT"].append(np.column_stack([RECTANGLE[:4], np.zeros(4)]))
    d.circles["HOLE"].append((60.0, 40.0, 6.0))
    d.strokes["MARK"].append(np.array([[100.0, 20.0], [140.0, 30.0]]))
    return d


def no_spoil(_pages):
    """Sound pages."""


def far_cross(pages):
    pages[1, 2].rings[0] += [0.0, 0.1]


def lost_cross(pages):
    pages[1, 2].rings = pages[1, 2].rings[:1]


def moved_page(pages):
    pages[1, 2].lines = {w: [r + [0.2, 0.1] for r in runs] for w, runs in pages[1, 2].lines.items()}


def larger_page(pages):
    for page in pages.values():
        page.lines = {w: [r * 1.001 for r in runs] for w, runs in page.lines.items()}
        page.rings = page.rings * 1.001


def hole_aside(pages):
    pages[1, 1].lines[0.25][-1] += [0.3, 0.0]


def mark_aside(pages):
    pages[1, 1].lines[0.18][0] += [0.0, 0.3]


def end_not_shown(pages):
    del pages[1, 2].lines[0.25][-1]


@pytest.mark.parametrize("spoil, bad", [
    (no_spoil, False), (far_cross, True), (lost_cross, True), (moved_page, True), (larger_page, True),
    (hole_aside, True), (mark_aside, True), (end_not_shown, True)])
def test_patterns_are_put_together_by_their_crosses(spoil, bad):
    pages, faults = {(1, k): pattern_page(k) for k in (1, 2)}, []
    spoil(pages)
    check_pattern.compare(check_pattern.assemble(pages, faults), pattern_drawing(), faults)
    assert bool(faults) == bad, faults


def edge_moved(got):
    got[0.13][0] += [0.0, 0.2]


def edge_lost(got):
    del got[0.13]


def edge_cut(got):
    got[0.25] = [RECTANGLE[:2]]


def print_moved(got):
    got[0.18][0][0] += [0.3, 0.0]


@pytest.mark.parametrize("spoil, bad", [
    (no_spoil, False), (edge_moved, True), (edge_lost, True), (edge_cut, True), (print_moved, True)])
def test_footprints_lie_on_their_plate(spoil, bad):
    d, faults = pattern_drawing(), []
    d.strokes["MARK"].append(np.array([[200.0, 20.0], [240.0, 20.0], [240.0, 60.0], [200.0, 60.0], [200.0, 20.0]]))
    # Four lines of the edge, and one of a cross.
    cross = np.array([[150.0, 36.0], [150.0, 44.0]])
    got = {0.13: [*(RECTANGLE[k:k + 2].copy() for k in range(4)), cross], 0.18: [s.copy() for s in d.strokes["MARK"]]}
    spoil(got)
    check_pattern.compare(got, d, faults, footprints=True)
    assert bool(faults) == bad, faults


def shared_page():
    """Lines and texts of a page with the plate of `pattern_drawing` twice."""
    a = np.linspace(0.0, 2.0 * np.pi, 61)
    ring = np.column_stack([60.0 + 6.0 * np.cos(a), 40.0 + 6.0 * np.sin(a)])
    ring[-1] = ring[0]
    one = [*(RECTANGLE[k:k + 2] for k in range(4)), ring]
    mark = np.array([[100.0, 20.0], [140.0, 30.0]])
    off = np.array([20.0, 120.0])
    lines = {0.25: [*one, *(r + off for r in one)], 0.18: [mark, mark + off]}
    # The first names a doubler that stands on it.
    return lines, [("D1 base plate", [20.0, 20.0]), ("D2", [80.0, 60.0]), ("D2 doubler", np.array([20.0, 20.0]) + off)]


def shared_hole_aside(lines, _texts):
    lines[0.25][4] += [0.3, 0.0]


def shared_mark_lost(lines, _texts):
    del lines[0.18][1]


def shared_name_lost(_lines, texts):
    del texts[2]


def shared_names_alike(_lines, texts):
    texts[2] = ("D1 doubler", texts[2][1])


@pytest.mark.parametrize("spoil, bad", [
    (lambda _lines, _texts: None, False), (shared_hole_aside, True), (shared_mark_lost, True),
    (shared_name_lost, True), (shared_names_alike, True)])
def test_parts_on_a_shared_page_are_told_apart(spoil, bad):
    (lines, texts), faults = shared_page(), []
    spoil(lines, texts)
    found = check_pattern.parts_on(lines, texts, ["D1", "D2"])
    if sorted(found) != ["D1", "D2"] or any(len(f) > 1 for f in found.values()):
        faults.append(f"{sorted(found)}")
    else:
        for part in found.values():
            check_pattern.compare(part[0], pattern_drawing(), faults)
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("long, name, bad", [
    (100.0, 101.6, False), (100.1, 101.6, True), (100.0, 101.5, True), (99.0, 101.6, True)])
def test_bars_are_measured(long, name, bad):
    runs = []
    for way in (0, 1):
        for k, length in enumerate((long, name)):
            a, d = np.array([20.0 + 9.0 * k, 20.0 + 9.0 * k]), np.eye(2)[way] * length
            runs.append(np.array([a, a + d]))
            tick = np.eye(2)[1 - way] * 1.5
            runs += [np.array([p - tick, p + tick]) for p in (a, a + d)]
    # An edge of the part as long as a bar is none: it has no ticks.
    edge = np.array([[150.0, 40.0], [150.0, 139.9]])
    runs.append(edge)
    page, faults = check_pattern.Page((210.0, 297.0), {0.25: runs}, np.zeros((0, 2))), []
    check_pattern.take_bars(page, faults, "page")
    assert bool(faults) == bad, faults
    assert any(run is edge for run in page.lines[0.25])


def test_a_bar_without_a_tick_is_none():
    a = np.array([20.0, 20.0])
    page, faults = check_pattern.Page((210.0, 297.0), {0.25: [np.array([a, a + [100.0, 0.0]])]}, np.zeros((0, 2))), []
    check_pattern.take_bars(page, faults, "page")
    assert len(faults) == 2, faults


@pytest.mark.parametrize("pair, over, bad", [
    ((50.0, 50.8), False, False), ((50.0, 101.6), False, True), ((100.0, 101.6), True, True)])
def test_bars_are_a_pair_and_off_the_outline(pair, over, bad):
    runs = []
    for way in (0, 1):
        for k, length in enumerate(pair):
            a, d = np.array([20.0 + 9.0 * k, 20.0 + 9.0 * k]), np.eye(2)[way] * length
            tick = np.eye(2)[1 - way] * 1.5
            runs += [np.array([a, a + d])] + [np.array([p - tick, p + tick]) for p in (a, a + d)]
    runs.append(np.array([[45.0 if over else 150.0, 10.0], [45.0 if over else 150.0, 60.0]]))
    page, faults = check_pattern.Page((210.0, 297.0), {0.25: runs}, np.zeros((0, 2))), []
    check_pattern.take_bars(page, faults, "page")
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("word, at, bad", [
    (None, None, False), ("B4", (60, 104), True), ("9", (300, 93), True), ("7", (199, 110), True), ("7", (229, 110), False)])
def test_letters_lie_on_no_letter_and_on_no_line(word, at, bad):
    page = pymupdf.open().new_page()
    page.insert_text((60, 100), "B4 1-2", fontsize=9)
    page.draw_line((200, 20), (200, 200), width=0.25 / check_pattern.MM)
    page.draw_line((20, 90), (400, 90), width=0.13 / check_pattern.MM, dashes="[8 5] 0")
    # A thin line is the part's own mark.
    page.draw_line((232, 20), (232, 200), width=0.13 / check_pattern.MM)
    if word:
        page.insert_text(at, word, fontsize=9)
    faults = []
    check_pattern.check_letters(page, faults)
    assert bool(faults) == bad, faults


@pytest.mark.parametrize("cells, count", [([0, 1, 1001], 1), ([0, 1001], 2), ([0, 2, 2000], 3)])
def test_pages_hang_together_by_their_sides(cells, count):
    assert check_pattern.groups(cells) == count


def test_pages_are_counted_by_brute_force():
    along = np.linspace(0.0, 534.0, 268)
    strip = np.vstack([np.column_stack([along, np.full(268, y)]) for y in (0.0, 150.0)])
    # Two pages show 2 (277 - 10) + 10 mm of length.
    assert check_pattern.fewest(strip, (190.0, 277.0), 10.0) == 2
    assert check_pattern.fewest(strip * [1.05, 1.0], (190.0, 277.0), 10.0) == 3


def floor_pages():
    """Floor sheets of a part of 1,000 mm and a stanchion, at 1:10."""
    def page(label, *words):
        out = check_floor.Page(label, (420.0, 297.0))
        for k, (word, height) in enumerate(words):
            x, y = 20.0 + 25.0 * k, 50.0
            out.words.append([word, height, x, y, x + 2.0 * len(word)])
            out.letters += [(c, height, (x + 2.0 * i, y - height, x + 2.0 * i + 1.9, y)) for i, c in enumerate(word)]
        out.inks.append((20.0, 40.0, 120.0, 60.0))
        return out

    strips = page("strips 1", ("B1", 3.6), ("1P", 2.6))
    strips.edges, strips.text = [100.0], "scale 1:10 on A3"
    angles = ("1.00", "2.00", "3.00", "4.00", "5.00", "6.00", "7.00")
    return [page("boat", ("B1", 3.6), ("1P", 2.6)), strips, page("sheet-1", ("B1", 4.0), ("B1", 2.6)),
            page("stanchions 1", ("1P", 2.6), *((a, 2.6) for a in angles))]


def lost_part(pages):
    pages[0].words = pages[0].words[1:]


def part_twice(pages):
    pages[2].words.append(["B1", 4.0, 90.0, 90.0, 94.0])


def lost_stanchion(pages):
    pages[1].words = pages[1].words[:1]


def other_angle(pages):
    pages[3].words[3][0] = "2.01"


def low_letters(pages):
    pages[1].letters = [(c, 2.4, r) for c, _, r in pages[1].letters]


def letters_over_letters(pages):
    c, height, (x0, y0, x1, y1) = pages[0].letters[0]
    pages[0].letters.append((c, height, (x0 + 0.8, y0 + 1.0, x1 + 0.8, y1 + 1.0)))


def ink_outside(pages):
    pages[2].inks.append((9.5, 40.0, 120.0, 60.0))


def other_scale(pages):
    pages[1].text = "scale 1:12 on A3"


@pytest.mark.parametrize("spoil, bad", [
    (no_spoil, False), (lost_part, True), (part_twice, True), (lost_stanchion, True), (other_angle, True),
    (low_letters, True), (letters_over_letters, True), (ink_outside, True), (other_scale, True)])
def test_floor_sheets_are_read(spoil, bad):
    pages, faults = floor_pages(), []
    spoil(pages)
    parts = [{"part": "B1", "kind": "base plate", "sheet": "sheet-1", "outboard_edge_mm": 950.0, "fit_allowance_mm": 50.0}]
    ends = [f"{end}_{what}_deg" for end in ("foot", "head") for what in ("rise_forward", "rise_inboard", "saw_tilt")]
    figures = dict(zip([*ends, "lean_outboard_deg"], (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0)))
    stanchions = [{"stanchion": "1P", **figures}]
    for page in pages:
        check_floor.check_page(page, faults)
    check_floor.check_names(pages, parts, stanchions, faults)
    check_floor.check_table(pages, stanchions, faults)
    check_floor.check_scale(pages, parts, faults)
    assert bool(faults) == bad, faults
