"""The customer's record: before, after and metal from the record of the job; one page whatever the job.  Invented data."""

from __future__ import annotations

import cmath
import dataclasses
import math
import os
from pathlib import Path

import numpy as np
import paper_checks
import pytest
import sheet_samples
from drawing_checks import named
from html_checks import HtmlCheck

from planner.errors import InputError
from planner.frames import SideReading
from planner.jobfile.job import MadeCut, ShopDetails
from planner.present.pages.record import record_content
from planner.present.to_html import html_page
from planner.present.to_paper import A4, LETTER, printed_pages
from planner.rotor.vectors import plane_shares
from planner.steps.sheet import RecordAnswer, record_of


def pages_of(record: RecordAnswer) -> list[paper_checks.Page]:
    made = printed_pages("record", record_content(record), ending=".pdf", paper=LETTER, title="t")
    return paper_checks.read_pages(made.data)


@pytest.mark.parametrize("name", sheet_samples.EXAMPLE_NAMES)
@pytest.mark.parametrize("spun", [True, False])
def test_letters_keep_apart(name: str, spun: bool) -> None:
    pages = pages_of(sheet_samples.record(name, spun=spun))
    assert [each for page in pages for each in paper_checks.covered_letters(page)] == []
    assert [each for page in pages for each in paper_checks.outside(page)] == []


def polar(reading: SideReading) -> complex:
    angle = math.radians(reading.angle_deg)
    return reading.amount * complex(math.cos(angle), math.sin(angle))


def test_before_and_after_by_own_arithmetic() -> None:
    """Before is the first spin with the bobs' shift put in by the lever rule, after is the second spin's."""
    record = sheet_samples.record("cross_plane_v8")
    job = record.job
    z_left, z_right = job.planes_z_mm
    wanted = job.bobs_wanted_g
    assert wanted is not None
    for spin, found in ((job.spins[0], record.before_gmm), (job.spins[1], record.check.residual_gmm)):
        sums = [polar(spin.left), polar(spin.right)]
        for throw in job.crankshaft.throws:
            moment = (wanted[throw.name] - spin.bobs_g[throw.name]) * throw.radius_mm
            vector = moment * complex(
                math.cos(math.radians(throw.angle_deg)), math.sin(math.radians(throw.angle_deg))
            )
            right = (throw.z_mm - z_left) / (z_right - z_left)
            assert plane_shares(throw.z_mm, job.planes_z_mm)[1] == pytest.approx(right)
            sums[0] += (1.0 - right) * vector
            sums[1] += right * vector
        assert abs(sums[0] - found[0]) < 0.01
        assert abs(sums[1] - found[1]) < 0.01


def test_metal_out_is_the_sum_of_the_holes() -> None:
    """Mass of a rim hole by a sum over thin discs of its cylinder and cone, the rim's sag by its mean height."""
    record = sheet_samples.record("cross_plane_v8")
    total = 0.0
    for step in record.picture.steps:
        a = step.cut.diameter_mm / 2.0
        rim = step.counterweight.outline.rim_radius_mm
        assert rim is not None
        assert step.cut.depth_shoulder_mm is not None
        count = 400
        mean = 0.0
        for ring in range(
            count
        ):  # rings of equal area about the drill's axis, the rim's height averaged round each
            r = a * math.sqrt((ring + 0.5) / count)
            heights = [math.sqrt(rim**2 - (r * math.sin(math.tau * k / 24.0)) ** 2) for k in range(24)]
            mean += sum(heights) / 24.0 / count
        depth = step.cut.depth_shoulder_mm - (rim - mean)
        cone = a / math.tan(math.radians(59.0))
        total += math.pi * a * a * (depth + cone / 3.0) * 7.85e-3
    assert record.metal.drilled_g == pytest.approx(total, rel=1e-4)
    assert record.metal.slugs_g == 0.0
    assert f"{total:.1f} g in 2 holes" in record_content(record).metal[0]


def test_slugs_in_and_bored_out() -> None:
    record = sheet_samples.record("external_balance_v8")
    metal = record.metal
    slugs = [step for step in record.picture.steps if step.effect.slug_mass_g is not None]
    volumes = [math.pi / 4.0 * s.cut.diameter_mm**2 * (s.cut.length_mm or 0.0) / 1000.0 for s in slugs]
    assert metal.slugs_g == pytest.approx(sum(volumes) * record.job.shop.slug_density_g_per_cm3, rel=1e-9)
    assert "Heavy metal in" in " ".join(record_content(record).metal)


def test_foretold_is_said() -> None:
    content = record_content(sheet_samples.record("cross_plane_v8", spun=False))
    assert content.verdict.endswith(", foretold")
    assert "not yet measured" in content.state


def test_an_uncut_crankshaft_has_no_before() -> None:
    told = record_of(sheet_samples.example("cross_plane_v8").answer.job)
    content = record_content(told)
    assert content.metal == ("No metal was taken off or put in.",)
    assert content.results.parts[0].heads[:2] == ("place", "now")
    assert "now: " in content.bars.says
    assert "before: " not in content.bars.says
    assert content.verdict == "Out of tolerance"


def test_repeats_belong_to_the_first_state() -> None:
    """The in-line three was spun twice before any cut: before is the mean of both."""
    record = sheet_samples.record("inline_three_light_spot")
    first, second, _ = record.job.spins
    radius = 70.0
    # the display marks the light spot and counts against the file, so in the file's frame it is minus the mirror image
    mean = -(0.5 * radius * (polar(first.left) + polar(second.left))).conjugate()
    # with the flywheel that the engine has: 60 g*mm at 40 degrees, z 322, planes at 262 and 38
    flywheel = cmath.rect(60.0 * (322.0 - 38.0) / (262.0 - 38.0), math.radians(40.0))
    assert abs(record.before_gmm[0]) == pytest.approx(abs(mean + flywheel), rel=1e-6)


def test_bars_are_as_long_as_the_amounts() -> None:
    record = sheet_samples.record("cross_plane_v8")
    ax = record_content(record).bars.draw(7.2)
    lengths = [
        named(ax, f"{when} {place.at}").get_width() / place.amount_gmm  # type: ignore[attr-defined]
        for when, places in (("before", record.before), ("after", record.check.judged))
        for place in places
    ]
    assert max(lengths) == pytest.approx(min(lengths))
    x = named(ax, "limit bearing 1").get_xdata()[0]  # type: ignore[attr-defined]
    start = named(ax, "before bearing 1").get_x()  # type: ignore[attr-defined]
    limit = record.check.judged[0].tolerance_gmm
    assert (x - start) / limit == pytest.approx(lengths[0])


def test_thirty_cuts_all_stand_on_the_record() -> None:
    """Nothing is cut off silently: every cut with its dial, its counterweight and the metal it took, and the sum."""
    job = sheet_samples.cut_job("cross_plane_v8")
    cuts = tuple(
        MadeCut(
            after_spin=1,
            number=index + 1,
            cut=dataclasses.replace(job.cuts_made[0].cut, angle_deg=150.0 + 3.0 * index),
        )
        for index in range(30)
    )
    pages = pages_of(record_of(dataclasses.replace(job, cuts_made=cuts)))
    words = paper_checks.all_words(pages)
    assert len(pages) > 1
    for index in range(30):
        # 28.5 mm to the shoulder as in the plan of the example
        assert f"{index + 1} 1 - rim hole on A {150 + 3 * index}° 16 mm 28.5 mm to the shoulder" in words
    assert "more, in the shop's file" not in words
    assert "Balanced by, date" in words
    assert "Received by, date" in words


def test_every_weight_and_bob_with_its_sum() -> None:
    record = sheet_samples.record("cross_plane_v8")
    words = paper_checks.all_words(pages_of(record))
    parts = record.job.parts
    assert parts is not None
    for part in parts.parts:
        for mass in part.masses_g:
            assert f"{mass:.1f}" in words, part.name
    assert record.bobs is not None
    for bob in record.bobs.table.bobs:
        assert bob.sum_g is not None
        assert f"{bob.sum_g:.1f}" in words
    first, last = record.job.spins[0], record.job.spins[-1]
    for spin in (first, last):
        for reading in (spin.left, spin.right):
            assert f"at {reading.angle_deg:g}°" in words


def test_the_shops_head_and_logo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from matplotlib.image import imsave

    # where the job is not, a shop folder is stated
    monkeypatch.setenv("BOBPLAN_SHOP_FOLDERS", str(tmp_path))
    logo = tmp_path / "logo.png"
    imsave(logo, np.zeros((10, 30, 3)))
    record = sheet_samples.record("cross_plane_v8")
    details = ShopDetails(name="Invented Crank Works", lines=("12 Nowhere Lane", "Sampletown"), logo=logo)
    headed = dataclasses.replace(record, job=dataclasses.replace(record.job, shop_details=details))
    content = record_content(headed)
    assert content.logo is not None
    assert content.logo.aspect == pytest.approx(3.0)
    first = pages_of(headed)[0].words
    for wanted in ("Invented Crank Works", "12 Nowhere Lane", "Sampletown", "Balancing record"):
        assert wanted in first
    markup = html_page("record", content, title="t")
    assert HtmlCheck(markup).faults == []
    assert 'src="data:image/png;base64,' in markup
    for name, text in (("none.png", "can't be read"), ("text.png", "no PNG, JPEG or SVG")):
        (tmp_path / "text.png").write_text("not a picture", encoding="utf-8")
        wrong = dataclasses.replace(details, logo=tmp_path / name)
        with pytest.raises(InputError, match=text):
            record_content(
                dataclasses.replace(record, job=dataclasses.replace(record.job, shop_details=wrong))
            )


def test_a_logo_is_a_file_that_the_job_may_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A job file may come from anybody: no other file of the reader's gets into the record, and none is waited for."""
    record = sheet_samples.record("cross_plane_v8")

    def refused(path: Path, words: str) -> None:
        details = ShopDetails(name="Invented Crank Works", lines=(), logo=path)
        headed = dataclasses.replace(record, job=dataclasses.replace(record.job, shop_details=details))
        with pytest.raises(InputError, match=words):
            record_content(headed)

    (tmp_path / "private.png").write_bytes(b"\x89PNG\r\n\x1a\nprivate")
    refused(tmp_path / "private.png", "outside the job's folder")
    monkeypatch.setenv("BOBPLAN_SHOP_FOLDERS", str(tmp_path))
    (tmp_path / "large.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(3_000_001))
    refused(tmp_path / "large.png", "at most 3 MB")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.png")
        refused(tmp_path / "pipe.png", "can't be read")


def test_equal_records_are_equal_bytes() -> None:
    record = sheet_samples.record("external_balance_v8")
    one, other = (
        printed_pages("record", record_content(record), ending=".pdf", paper=A4, title="t").data
        for _ in range(2)
    )
    assert one == other
