"""The checks pass a sound output and fail each spoilt one."""
import pytest

import check_geometry
import check_refold
import geometry as geo
import make_exact_job as exact
import synthetic


@pytest.fixture(scope="module")
def job_file(tmp_path_factory):
    return exact.write(tmp_path_factory.mktemp("job"))


def run(job_file, folder, spoil=None):
    synthetic.write(geo.read_job(job_file), folder, spoil=spoil)
    return check_geometry.main(job_file, folder), check_refold.main(folder, job_file)


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
    part["holes"][3] += 0.1


def flip(key):
    def change(part):
        for r in part["bends"]:
            r[key] = -r[key]
    return change


def test_sound_output_passes(job_file, tmp_path):
    geometry, refold = run(job_file, tmp_path)
    assert geometry == [] and refold == []


@pytest.mark.parametrize("name,change,geometry,refold", [
    ("B2", stretch, True, None), ("B2", mirror, True, True), ("T3", swap_face, True, True),
    ("B1", wrong_hole, True, False), ("B2", flip("curvature_per_m"), False, True),
    ("B1", flip("twist_deg_per_m"), False, True)])
def test_spoilt_output_fails(job_file, tmp_path, name, change, geometry, refold):
    found = run(job_file, tmp_path, only(name, change))
    for faults, expected in zip(found, (geometry, refold)):
        if expected is not None:
            assert any(name in f for f in faults) == expected, faults
