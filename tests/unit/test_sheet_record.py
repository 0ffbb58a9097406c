"""The customer's record: before, after and metal from the record of the job; one page whatever the job.  Invented data."""

from __future__ import annotations

import cmath
import dataclasses
import math

import pytest
import sheet_samples
from drawing_checks import named, texts_of

from planner.jobfile.job import MadeCut
from planner.machine.spin import SideReading
from planner.present.pages.record import record_content
from planner.present.sheet.paper import PAPERS
from planner.present.sheet.record_page import record_figure
from planner.rotor.vectors import plane_shares
from planner.steps.sheet import record_of
from tests.unit.test_sheet_pages import faults_of

A4, LETTER = PAPERS


@pytest.mark.parametrize("name", sheet_samples.EXAMPLE_NAMES)
@pytest.mark.parametrize("spun", [True, False])
def test_texts_keep_apart_on_one_page(name: str, spun: bool) -> None:
    assert faults_of([record_figure(sheet_samples.record(name, spun=spun), paper=LETTER)]) == []


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
    assert content.results.table[0][:2] == ("place", "now")
    assert {bar.when for bar in content.bars} == {"now"}
    assert content.verdict == "out of tolerance"


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
    figure = record_figure(record, paper=A4)
    content = record_content(record)
    lengths = {
        bar.text: named(figure, f"{bar.when} {bar.place}").get_width() / bar.amount_gmm  # type: ignore[attr-defined]
        for bar in content.bars
    }
    assert max(lengths.values()) == pytest.approx(min(lengths.values()))
    x = named(figure, "limit bearing 1").get_xdata()[0]  # type: ignore[attr-defined]
    start = named(figure, "before bearing 1").get_x()  # type: ignore[attr-defined]
    limit = record.check.judged[0].tolerance_gmm
    assert (x - start) / limit == pytest.approx(next(iter(lengths.values())))


def test_thirty_cuts_still_go_on_one_page() -> None:
    job = sheet_samples.cut_job("cross_plane_v8")
    cuts = tuple(
        MadeCut(after_spin=1, cut=dataclasses.replace(job.cuts_made[0].cut, angle_deg=150.0 + 3.0 * index))
        for index in range(30)
    )
    figure = record_figure(record_of(dataclasses.replace(job, cuts_made=cuts)), paper=LETTER)
    words = " ".join(text.get_text() for text in texts_of(figure))
    assert "more, in the shop's file" in words
    assert "Balanced by, date" in words
    figure.draw_without_rendering()
