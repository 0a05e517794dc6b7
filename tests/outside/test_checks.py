"""The checks pass a sound output and fail each spoilt one."""
import copy

import numpy as np
import pytest
from shapely.geometry import box

import check_cuts
import check_geometry
import check_refold
import check_sheets
import check_stanchions
import drawings
import geometry as geo
import make_exact_job as exact
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
    ("B2", stretch, True, None, False), ("B2", mirror, True, True, True),
    ("T3", swap_face, True, True, False),
    ("B1", wrong_hole, True, False, False), ("B2", flip("curvature_per_m"), False, True, False),
    ("B1", flip("twist_deg_per_m"), False, True, False),
    ("B3", flip_on_sheet, False, False, True), ("T2", over_the_margin, False, False, True)])
def test_spoilt_output_fails(job_file, tmp_path, name, change, geometry, refold, sheets):
    found = run(job_file, tmp_path, only(name, change))
    for faults, expected in zip(found, (geometry, refold, sheets)):
        if expected is not None:
            assert bool(faults) == expected, faults


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


@pytest.mark.parametrize("x,bottom,bad", [
    (101.5, -1.5, False), (101.6, -1.5, True), (101.5, 0.5, True)])
def test_parts_that_share_a_cut_are_cut_out(x, bottom, bad):
    """Two parts of 100 x 50 mm, the kerf of 3 mm apart: one path round both, one cut between."""
    boxes = [box(0, 0, 100, 50), box(103, 0, 203, 50)]
    parts = [(name, b, [], b) for name, b in zip("PQ", boxes)]
    d = drawings.Drawing()
    d.profiles["CUT"] = [rounded((0, 0), (203, 50), 1.5)]
    d.strokes["CUT"] = [np.array([(x, bottom), (x, 51.5)], float)]
    faults = []
    check_cuts.check_paths("s", d, parts, 3.0, None, faults, [["P", "Q"]])
    assert not faults, faults
    check_cuts.check_pieces("s", d, parts, box(-40, -40, 240, 90), 1.5, faults)
    assert bool(faults) == bad, faults
    faults = []
    check_cuts.check_paths("s", d, parts, 3.0, None, faults)
    assert faults, "a path round two parts that share no cut"


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
