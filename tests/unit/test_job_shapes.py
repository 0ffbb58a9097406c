"""Outlines, rims, rows and marks as a job file says them; what can't be is refused at its key."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest

from geometry_profiles import shapes
from geometry_profiles.area_properties import area_properties
from geometry_profiles.exchange import DrawingFrame, write_dxf
from planner.cuts.cut import Cut
from planner.errors import FileFaultsError
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.jobfile.render import cut_pairs

HEAD = """
format = 1
[planes]
left = 40
right = 480
[crankshaft]
mass = "24 kg"
bearing_1_z = 0
bearing_2_z = 520
[[throws]]
name = "1"
angle = 0
z = 95
radius = 44
rods = 2
[machine]
angle_direction = "ccw"
viewed_from = "front"
angle_zero = 0
angle_marks = "heavy spot"
[[counterweights]]
name = "A"
z = 52
angle = 180
thickness = 24
"""
FAN = 'outline = { shape = "fan", outer_radius = 88, half_angle = 58, inner_radius = 36 }\n'


def load(text: str, folder: Path) -> Job:
    path = folder / "job.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return load_job(path)


@pytest.mark.parametrize(
    ("outline", "area_mm2"),
    [
        (
            '{ shape = "flanked fan", outer_radius = 88, half_angle = 58, flank_angle = 58, inner_radius = 36 }',
            6527.3,
        ),
        (
            '{ shape = "stepped fan", outer_radius = 88, half_angle = 58, inner_radius = 36, steps = [ { radius = 60, '
            "half_angle = 40 } ] }",
            5804.0,
        ),
        (
            '{ shape = "trimmed_disc", outer_radius = 88, inner_radius = 36, flats = [ { offset = 70, angle = 0 } ] }',
            18949.0,
        ),
        ('{ shape = "generic", profile = "fan_88" }', 6527.3),
    ],
)
def test_outlines_by_name(outline: str, area_mm2: float, tmp_path: Path) -> None:
    job = load(f"outline = {outline}\n", tmp_path)
    area = area_properties(job.crankshaft.counterweights[0].outline).area_mm2
    assert area == pytest.approx(area_mm2, rel=2e-3)


@pytest.mark.parametrize(
    ("rim", "at", "radius"),
    [
        ('{ form = "bevelled", width = 4, slope = 45 }', -12.0, 84.0),
        ('{ form = "bevelled", rear_width = "1/8 in", rear_slope = 45 }', 12.0, 88.0 - 25.4 / 8),
        ('{ form = "tapered", taper = 5 }', 12.0, 89.0499),
        ('{ form = "rounded", rounding = 5 }', 12.0, 83.0),
        (
            '{ form = "stepped", plates = [ { thickness = 14, outer_radius = 88 }, { thickness = 10, '
            "outer_radius = 80 } ] }",
            8.0,
            80.0,
        ),
    ],
)
def test_rims(rim: str, at: float, radius: float, tmp_path: Path) -> None:
    job = load(
        f'{FAN}rim = {rim}\nrim_rows = [6, -6]\nrim_hole_tilt = 3\nmark = {{ name = "keyway", angle = 12 }}\n',
        tmp_path,
    )
    counterweight = job.crankshaft.counterweights[0]
    assert counterweight.rim is not None
    assert counterweight.rim.radius_mm(at) == pytest.approx(radius, abs=1e-3)
    assert counterweight.rim_rows_mm == (-6.0, 6.0)
    assert counterweight.rim_hole_tilt_deg == 3.0
    assert counterweight.mark == ("keyway", 12.0)


def test_a_generic_profile_brings_its_rim(tmp_path: Path) -> None:
    job = load('outline = { shape = "generic", profile = "fan 88 bevelled" }\n', tmp_path)
    rim = job.crankshaft.counterweights[0].rim
    assert rim is not None
    assert rim.name == "bevelled"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            FAN + 'rim = { form = "bevelled", width = 13, slope = 45 }',
            r'counterweights\[1\] "A".rim.*at most the thickness',
        ),
        (
            FAN + 'rim = { form = "bevelled", taper = 3 }',
            r"rim.taper.*a bevelled rim has no taper; its keys are width",
        ),
        (FAN + 'rim = { form = "tapered" }', r"rim.taper.*must be said, for a tapered rim"),
        (FAN + 'rim = { form = "wavy" }', r"rim.form"),
        (
            FAN + 'rim = { form = "bevelled", width = 12, slope = 79 }',
            r"rim.*comes down to radius 26.27 mm, more than the inner radius 36",
        ),
        (FAN + "rim_rows = []", r"rim_rows.*at least one row"),
        (FAN + "rim_rows = [0, 13]", r"rim_rows.*inside the thickness: less than 12"),
        (FAN + "rim_hole_tilt = 45", r"rim_hole_tilt"),
        (
            'outline = { shape = "generic", profile = "star" }',
            r"no generic profile `star`; there are disc 100",
        ),
        ('outline = { shape = "drawing", file = "no.dxf", inner_radius = 36 }', r"no.dxf.*can't be read"),
        (
            'outline = { shape = "drawing", file = "/etc/passwd", inner_radius = 36 }',
            r"outside the job's folder",
        ),
        (
            'outline = { shape = "drawing", file = "../x.dxf", inner_radius = 36 }',
            r"outside the job's folder",
        ),
        (
            'outline = { shape = "drawing", file = "job.toml", inner_radius = 36 }',
            r"neither a .dxf drawing nor a .csv",
        ),
        (
            'outline = { shape = "flanked fan", outer_radius = 88, half_angle = 58, inner_radius = 36 }',
            r"flank_angle.*must be said",
        ),
        (
            FAN
            + 'existing = [ { cut = "face hole", angle = 180, diameter = 9, through = true, radius = 60, tilt = 3 } ]',
            r"tilt.*only a rim hole",
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_key(text: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(FileFaultsError) as caught:
        load(text + "\n", tmp_path)
    assert re.search(words, str(caught.value), re.DOTALL)


def test_an_outline_from_a_drawing_beside_the_job(tmp_path: Path) -> None:
    outline = shapes.flanked_fan(
        outer_radius_mm=88.0, half_angle_deg=50.0, inner_radius_mm=36.0, flank_angle_deg=20.0
    )
    frame = DrawingFrame(origin=(100.0, 50.0), centre_line_deg=90.0, seen_from_rear=True)
    write_dxf(tmp_path / "cheek.dxf", outline, units="in", frame=frame)
    job = load(
        'outline = { shape = "drawing", file = "cheek.dxf", layer = "OUTLINE", inner_radius = 36, origin = [100, 50], '
        'centre_line = 90, seen_from = "rear" }\n',
        tmp_path,
    )
    counterweight = job.crankshaft.counterweights[0]
    assert counterweight.outline.rim_radius_mm == pytest.approx(88.0, abs=1e-6)
    assert area_properties(counterweight.outline).area_mm2 == pytest.approx(
        area_properties(outline).area_mm2, rel=1e-6
    )
    assert counterweight.drawn_in == (frame, "mm")


def test_an_outline_from_points_in_a_file(tmp_path: Path) -> None:
    (tmp_path / "cheek.csv").write_text("x,y\n30,-40\n80,-30\n80,30\n30,40\n", encoding="utf-8")
    job = load('outline = { shape = "drawing", file = "cheek.csv", inner_radius = 20 }\n', tmp_path)
    assert job.crankshaft.counterweights[0].outline.rim_radius_mm is None
    assert job.crankshaft.counterweights[0].cuts == ("face hole", "slug", "fill")


def test_where_a_rim_hole_is_drilled_goes_there_and_back(tmp_path: Path) -> None:
    cut = Cut(
        kind="rim hole",
        counterweight="A",
        angle_deg=190.0,
        diameter_mm=12.0,
        depth_shoulder_mm=20.0,
        from_middle_mm=-4.5,
        beside_mm=2.0,
        tilt_deg=3.0,
    )
    job = load(FAN, tmp_path)
    pairs = cut_pairs(cut, units=job.units, shop=job.shop)
    written = ", ".join(f"{key} = {value}" for key, value in pairs)
    again = load(FAN + f"[[fixed_cuts]]\n{written.replace(', ', chr(10))}\n", tmp_path)
    assert again.fixed_cuts == (cut,)


PIN = "pin_diameter = 50\npin_length = 40\npin_fillet = 4\n"


def _with_pin(z: float) -> str:
    return HEAD.replace("radius = 44\nrods = 2\n", f"radius = 44\nrods = 2\n{PIN}").replace(
        "z = 95", f"z = {z}"
    )


@pytest.mark.parametrize(("z", "meets"), [(84.0, True), (89.0, False)])
def test_a_crankpin_with_its_fillet_is_kept_clear_of(z: float, meets: bool, tmp_path: Path) -> None:
    """The counterweight reaches from 40 to 64; the pin is 40 long with a fillet of 4: from z - 24 on."""
    path = tmp_path / "job.toml"
    path.write_text(_with_pin(z) + FAN, encoding="utf-8")
    round_ones = load_job(path).crankshaft.counterweights[0].round_keep_outs
    assert bool(round_ones) is meets
    if meets:
        assert (round_ones[0].radius_mm, round_ones[0].diameter_mm) == (44.0, 58.0)
        assert "crankpin 1 with its fillet" in round_ones[0].what


def test_something_round_is_in_the_way_of_search_and_verification(tmp_path: Path) -> None:
    from planner.correction.candidates.blocks import build_blocks
    from planner.correction.problem import CorrectionProblem, LimitRow
    from planner.correction.verify.verify_plan import verify

    keep = 'keep_out = [ { name = "threaded hole", at_radius = 66, angle = 186, diameter = 12 } ]\n'
    bare, kept = (load(FAN + extra, tmp_path).crankshaft.counterweights[0] for extra in ("", keep))

    def question(counterweight) -> CorrectionProblem:
        return CorrectionProblem(
            unbalance_gmm=TwoPlanes(0j, 0j),
            planes_z_mm=TwoPlanes(40.0, 480.0),
            limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),),
            counterweights=(counterweight,),
            shop=load(FAN, tmp_path).shop,
            density_g_per_cm3=7.85,
        )

    cut = Cut(
        kind="face hole", counterweight="A", angle_deg=186.0, diameter_mm=12.0, radius_mm=66.0, through=True
    )
    assert not any("threaded" in text for text in verify(question(bare), [cut]).faults)
    assert any("threaded hole" in text for text in verify(question(kept), [cut]).faults)
    places = [
        sum(int(block.legal_settings().sum()) for block in build_blocks(question(each)))
        for each in (bare, kept)
    ]
    assert places[1] < places[0]


@pytest.mark.parametrize(
    "keep",
    [
        "{ at_radius = 60, angle = 180 }",
        "{ at_radius = 60, diameter = 9, angle = 180, from_radius = 3 }",
        "{ from_angle = 1, to_angle = 2 }",
    ],
)
def test_half_a_keep_out_is_refused(keep: str, tmp_path: Path) -> None:
    with pytest.raises(FileFaultsError, match="something round has at_radius, angle and diameter"):
        load(f"{FAN}keep_out = [ {keep} ]\n", tmp_path)


JOURNAL = '[[journals]]\nname = "2"\nz = {z}\ndiameter = {wide}\nlength = 26\nfillet = 4\n'


@pytest.mark.parametrize(("z", "meets"), [(80.0, True), (83.0, False), (24.0, True)])
def test_a_main_journal_with_its_fillet_is_kept_clear_of(z: float, meets: bool, tmp_path: Path) -> None:
    """The counterweight reaches from 40 to 64; the journal is 26 long with a fillet of 4: 17 to either side."""
    path = tmp_path / "job.toml"
    path.write_text(HEAD + FAN + JOURNAL.format(z=z, wide=76), encoding="utf-8")
    found = load_job(path).crankshaft.counterweights[0].round_keep_outs
    assert [(each.radius_mm, each.diameter_mm, each.what) for each in found] == (
        [(0.0, 84.0, "main journal 2 with its fillet")] if meets else []
    )


def test_a_journal_is_in_the_way_of_search_and_verification_alike(tmp_path: Path) -> None:
    """A rim hole may go down to the journal's 38 mm, its fillet of 4 and the wall of 3: its tip to 45 mm from the axis."""
    from planner.correction.candidates.blocks import build_blocks
    from planner.correction.problem import CorrectionProblem
    from planner.correction.verify.verify_plan import verify
    from planner.rotor.limits import LimitRow

    path = tmp_path / "job.toml"
    path.write_text(HEAD + FAN + JOURNAL.format(z=80.0, wide=76), encoding="utf-8")
    job = load_job(path)
    own = job.crankshaft.counterweights[0]
    asked = CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=TwoPlanes(40.0, 480.0),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),),
        counterweights=(own,),
        shop=job.shop,
        density_g_per_cm3=7.85,
    )
    checked = 0
    for block in build_blocks(asked):
        if block.kind != "rim hole":
            continue
        for setting in range(0, block.amount_gmm.size, 3):
            cut = block.cut(setting, block.relative_deg.size // 2, own.name)
            legal = bool(block.legal[block.section_of[setting], block.relative_deg.size // 2])
            if not legal:
                continue
            tip = 88.0 - (cut.depth_shoulder_mm or 0.0) - job.shop.cone_height_mm(cut.diameter_mm)
            assert tip >= 45.0 - 1e-6
            assert verify(asked, [cut]).faults == ()
            checked += 1
        deepest = block.cut(
            int(np.flatnonzero(block.tool_mm == block.tool_mm.min())[-1]),
            block.relative_deg.size // 2,
            own.name,
        )
        room = 88.0 - job.shop.cone_height_mm(deepest.diameter_mm) - 45.0
        assert room - (deepest.depth_shoulder_mm or 0.0) < job.shop.depth_step_mm
        too_deep = dataclasses.replace(deepest, depth_shoulder_mm=(deepest.depth_shoulder_mm or 0.0) + 0.5)
        assert any("main journal 2" in text for text in verify(asked, [too_deep]).faults)
    assert checked
