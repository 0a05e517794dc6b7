"""The checks pass a sound output and fail each spoilt one."""
import numpy as np
import pytest
from shapely.geometry import box

import check_cuts
import check_geometry
import check_refold
import check_sheets
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
