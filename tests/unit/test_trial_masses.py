"""Trial masses on a known linear rotor: exact, with more runs, with noise, and where they say too little.  Data invented."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.frames import Side
from planner.machine.trial_masses import Influence, RawRun, solve_trials, told_phase, unbalance_of_reading
from tests.trial_samples import ALPHA, UNBALANCE, Pair, polar

BOTH: tuple[Side, Side] = ("left", "right")
Masses = tuple[Pair, ...]
THREE: Masses = ((0j, 0j), (polar(2400, 90), 0j), (0j, polar(2400, 10)))
LEFT_ON: Masses = ((0j, 0j), (polar(2400, 90), 0j), (polar(2400, 90), polar(2400, 10)))
SIX: Masses = (*THREE, (polar(2400, 200), 0j), (0j, polar(2400, 250)), (0j, 0j))


def runs_of(
    masses: Masses, *, alpha: object = ALPHA, unbalance: Pair = UNBALANCE, noise: np.ndarray | None = None
) -> list[RawRun]:
    matrix = np.array(alpha)
    read = np.array([matrix @ (np.array(unbalance) + np.array(on)) for on in masses])
    if noise is not None:
        read = read + noise
    return [
        RawRun(name=str(index), readings=tuple(complex(v) for v in row), masses_gmm=on)
        for index, (row, on) in enumerate(zip(read, masses, strict=True))
    ]


amounts = st.floats(0.2e-3, 2e-3)
turns = st.floats(0, 360)
numbers = st.tuples(amounts, turns)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    own=st.tuples(numbers, numbers),
    cross=st.tuples(st.floats(0, 0.5), turns, st.floats(0, 0.5), turns),
    unbalance=st.tuples(st.floats(0, 5000), turns, st.floats(0, 5000), turns),
    masses=st.sampled_from([THREE, LEFT_ON, SIX]),
)
def test_recovers_any_linear_rotor(
    own: tuple[tuple[float, float], tuple[float, float]],
    cross: tuple[float, float, float, float],
    unbalance: tuple[float, float, float, float],
    masses: Masses,
) -> None:
    a, b = polar(*own[0]), polar(*own[1])
    alpha = ((a, a * polar(cross[0], cross[1])), (b * polar(cross[2], cross[3]), b))
    U = polar(*unbalance[:2]), polar(*unbalance[2:])
    found = solve_trials(
        runs_of(masses, alpha=alpha, unbalance=U), sides=BOTH, planes=BOTH, reading_share=1e-4
    )
    assert found.unbalance_gmm == pytest.approx(np.array(U), abs=1e-5)
    assert found.influence.matrix == pytest.approx(np.array(alpha), rel=1e-7, abs=1e-12)
    assert found.spare_runs == len(masses) - 3
    assert found.misfit < 1e-12
    again = unbalance_of_reading(found.initial.tolist(), influence=found.influence)
    assert again == pytest.approx(np.array(U), abs=1e-5)


@pytest.mark.parametrize("masses", [THREE, LEFT_ON, SIX], ids=["three", "left on", "six"])
def test_stated_uncertainty_is_what_drawing_shows(masses: Masses) -> None:
    """Standard uncertainty by first-order propagation against the spread of 800 drawn sets of readings."""
    draw = np.random.default_rng(5)
    exact = solve_trials(runs_of(masses), sides=BOTH, planes=BOTH, reading_share=0.01)
    shape = (800, len(masses), 2)
    noise = (draw.normal(size=shape) + 1j * draw.normal(size=shape)) / math.sqrt(2.0) * exact.scatter
    found = np.array(
        [
            solve_trials(
                runs_of(masses, noise=each), sides=BOTH, planes=BOTH, reading_share=0.01
            ).unbalance_gmm
            for each in noise
        ]
    )
    spread = np.sqrt((np.abs(found - np.array(UNBALANCE)) ** 2).mean(axis=0))
    assert spread == pytest.approx(exact.uncertainty_gmm, rel=0.1)


def test_more_runs_make_it_surer_and_show_a_slip() -> None:
    three = solve_trials(runs_of(THREE), sides=BOTH, planes=BOTH, reading_share=0.02)
    six = solve_trials(runs_of(SIX), sides=BOTH, planes=BOTH, reading_share=0.02)
    assert np.all(six.uncertainty_gmm < three.uncertainty_gmm)
    slip = runs_of(SIX)
    slip[3] = RawRun(name="slip", readings=slip[3].readings, masses_gmm=(polar(2400, 170), 0j))
    found = solve_trials(slip, sides=BOTH, planes=BOTH, reading_share=0.02)
    assert found.misfit > 0.05
    assert np.all(found.scatter > six.scatter)
    assert np.abs(found.residual).max() > 0.3
    slip[3] = RawRun(name="slip", readings=slip[3].readings, masses_gmm=(polar(2400, 20), 0j))
    with pytest.raises(InputError, match=r"the runs do not agree with one another.*is an angle, a mass"):
        solve_trials(slip, sides=BOTH, planes=BOTH, reading_share=0.02)


def test_a_phase_that_counts_the_other_way_shows_with_more_runs() -> None:
    mirrored = [
        RawRun(name=run.name, readings=tuple(v.conjugate() for v in run.readings), masses_gmm=run.masses_gmm)
        for run in runs_of(SIX)
    ]
    with pytest.raises(InputError, match="would miss by 0 % if the phase counted the other way"):
        solve_trials(mirrored, sides=BOTH, planes=BOTH, reading_share=0.02)


def test_single_plane() -> None:
    alpha, U, W = polar(2e-3, 35), polar(700, 120), polar(600, 300)
    runs = [
        RawRun(name="0", readings=(alpha * U,), masses_gmm=(0j,)),
        RawRun(name="1", readings=(alpha * (U + W),), masses_gmm=(W,)),
    ]
    found = solve_trials(runs, sides=("right",), planes=("left",), reading_share=0.01)
    assert found.unbalance_gmm == pytest.approx(np.array([U]))
    assert found.condition == pytest.approx(1.0)


def test_an_instrument_more_sensitive_on_one_side_changes_nothing() -> None:
    gained = (ALPHA[0], (1000 * ALPHA[1][0], 1000 * ALPHA[1][1]))
    plain = solve_trials(runs_of(THREE), sides=BOTH, planes=BOTH, reading_share=0.02)
    found = solve_trials(runs_of(THREE, alpha=gained), sides=BOTH, planes=BOTH, reading_share=0.02)
    assert found.condition == pytest.approx(plain.condition)
    assert found.uncertainty_gmm == pytest.approx(plain.uncertainty_gmm)


ALIKE = ((polar(1e-3, 40), polar(1e-3, 42)), (polar(0.9e-3, 60), polar(0.91e-3, 62)))


@pytest.mark.parametrize(
    ("runs", "says", "hint"),
    [
        (runs_of(THREE[:2]), "no run has a trial mass in the right plane", "right plane"),
        (
            runs_of(((polar(1, 0), polar(1, 0)), (0j, 0j))),
            "2 runs are given; 2 planes need at least 3",
            "one run",
        ),
        (runs_of((*THREE[:1], *THREE[:1], (1 + 0j, 1 + 0j))), "the runs are so alike", "runs of their own"),
        (
            runs_of((THREE[0], (polar(40, 90), 0j), THREE[2])),
            r"the trial mass in the left plane hardly moves the reading: it changes by 0\.036, and",
            "larger trial mass",
        ),
        (runs_of(THREE, alpha=ALIKE), "both trial masses move the two sides almost alike", "farther apart"),
        (
            runs_of(THREE, alpha=((1e-3, 1e-3), (1e-3, 1e-3))),
            "almost alike.*condition number inf",
            "farther apart",
        ),
    ],
)
def test_too_little_is_refused_with_advice(runs: list[RawRun], says: str, hint: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        solve_trials(runs, sides=BOTH, planes=BOTH, reading_share=0.0174)
    assert hint in (caught.value.hint or "")


def test_the_same_small_change_is_good_enough_for_an_exact_instrument() -> None:
    runs = runs_of((THREE[0], (polar(40, 90), 0j), THREE[2]))
    found = solve_trials(runs, sides=BOTH, planes=BOTH, reading_share=1e-4)
    assert found.unbalance_gmm == pytest.approx(np.array(UNBALANCE))


def test_a_later_reading_of_too_few_sides_is_refused() -> None:
    influence = Influence(sides=BOTH, planes=BOTH, per_gmm=ALPHA)
    with pytest.raises(
        InputError, match="given readings of 1 sides; the influence coefficients are for left and right"
    ):
        unbalance_of_reading([1j], influence=influence)
    flat = Influence(sides=BOTH, planes=BOTH, per_gmm=((1e-3, 1e-3), (1e-3, 1e-3)))
    with pytest.raises(InputError, match="can't tell the two planes apart"):
        unbalance_of_reading([1j, 1j], influence=flat)


def test_a_trial_must_move_the_reading_three_times_as_far_as_it_is_uncertain() -> None:
    """Two runs, readings 1 and 1 + x with a standard uncertainty s each: their difference has s*sqrt(2)."""
    for x in (0.05, 0.4):
        rms = math.sqrt((1.0 + (1.0 + x) ** 2) / 2.0)
        bound = x / (3.0 * math.sqrt(2.0) * rms)
        runs = [
            RawRun(name="bare", readings=(1.0 + 0j,), masses_gmm=(0j,)),
            RawRun(name="mass", readings=(1.0 + x + 0j,), masses_gmm=(500.0 + 0j,)),
        ]
        solve_trials(runs, sides=("left",), planes=("left",), reading_share=0.999 * bound)
        with pytest.raises(InputError, match="hardly moves the reading"):
            solve_trials(runs, sides=("left",), planes=("left",), reading_share=1.001 * bound)


def test_the_misfit_is_what_is_left_over_as_a_share_of_the_readings() -> None:
    runs = runs_of(SIX)
    off = 0.02 * abs(runs[3].readings[0])
    slipped = dataclasses.replace(runs[3], readings=(runs[3].readings[0] + off, runs[3].readings[1]))
    found = solve_trials([*runs[:3], slipped, *runs[4:]], sides=BOTH, planes=BOTH, reading_share=0.02)
    readings = np.array([run.readings for run in [*runs[:3], slipped, *runs[4:]]])
    # least squares worked by another route: the normal equations
    design = np.column_stack([np.ones(6), [run.masses_gmm for run in runs]])
    fit = np.linalg.solve(design.conj().T @ design, design.conj().T @ readings)
    left = np.linalg.norm(readings - design @ fit) / np.linalg.norm(readings)
    assert found.misfit == pytest.approx(float(left), rel=1e-6)
    mirrored = readings.conj()
    fit = np.linalg.solve(design.conj().T @ design, design.conj().T @ mirrored)
    left = np.linalg.norm(mirrored - design @ fit) / np.linalg.norm(mirrored)
    assert found.misfit_mirrored == pytest.approx(float(left), rel=1e-6)


def test_which_way_the_phase_counts_is_told_by_runs_to_spare_alone() -> None:
    def mirrored(runs: list[RawRun]) -> list[RawRun]:
        return [
            dataclasses.replace(run, readings=tuple(each.conjugate() for each in run.readings))
            for run in runs
        ]

    six = solve_trials(runs_of(SIX), sides=BOTH, planes=BOTH, reading_share=0.2)
    assert told_phase(six) is True
    assert told_phase(solve_trials(runs_of(THREE), sides=BOTH, planes=BOTH, reading_share=0.02)) is None
    alone = ((0j,), (polar(2400, 90),), (polar(2400, 200),), (polar(2400, 320),))
    single = [
        RawRun(name=str(index), readings=(ALPHA[0][0] * (UNBALANCE[0] + on[0]),), masses_gmm=on)
        for index, on in enumerate(alone)
    ]
    assert told_phase(solve_trials(single, sides=("left",), planes=("left",), reading_share=0.0001)) is True
    with pytest.raises(InputError, match="if the phase counted the other way"):
        solve_trials(mirrored(single), sides=("left",), planes=("left",), reading_share=0.0001)
    # bounds: the wrong way must miss by 3 % of the readings, the right one by less than 0.3 times that
    for misfit, other, told in (
        (0.001, 0.031, True),
        (0.001, 0.029, None),
        (0.029, 0.1, True),
        (0.031, 0.1, None),
        (0.1, 0.031, None),
        (0.1, 0.029, False),
        (0.031, 0.001, False),
        (0.029, 0.001, None),
        (0.0, 0.0, None),
    ):
        assert told_phase(dataclasses.replace(six, misfit=misfit, misfit_mirrored=other)) is told
        spare = dataclasses.replace(six, spare_runs=0, misfit=misfit, misfit_mirrored=other)
        assert told_phase(spare) is None


@pytest.mark.parametrize(
    "per_gmm",
    [
        ((0j, 0j), (0j, 1e-3 + 0j)),
        ((1e-3 + 0j, 1e-3 + 0j), (1e-3 + 0j, 1e-3 + 0j)),
        ((1e-3 + 0j, 1e-3 + 0j), (1e-3 + 0j, (1e-3 + 1e-17) + 0j)),
        ((complex("nan"), 0j), (0j, 1e-3 + 0j)),
    ],
    ids=["no effect", "alike", "alike but for rounding", "no number"],
)
def test_coefficients_that_can_not_tell_planes_apart_are_refused(per_gmm: tuple[Pair, Pair]) -> None:
    influence = Influence(sides=BOTH, planes=BOTH, per_gmm=per_gmm, speed_rpm=None)
    with pytest.raises(InputError, match="can't tell the two planes apart"):
        unbalance_of_reading([1.0, 1.0], influence=influence)
    # a side a thousand times less sensitive is no such case
    fair = Influence(sides=BOTH, planes=BOTH, per_gmm=((1e-3 + 0j, 0j), (0j, 1e-6 + 0j)), speed_rpm=None)
    assert unbalance_of_reading([1.0, 1.0], influence=fair) == pytest.approx([1e3, 1e6])


@pytest.mark.parametrize("trial", [polar(600, 300), polar(300, 20), polar(900, 120)])
def test_the_uncertainty_of_two_runs_by_hand(trial: complex) -> None:
    """``U = V0 W / (V1 - V0)``: its change is ``W (V1 dV0 - V0 dV1) / (V1 - V0)^2``, and both readings scatter by s alike.

    Hence ``s |W| sqrt(|V0|^2 + |V1|^2) / |V1 - V0|^2``, s the share of the readings' root mean square.
    """
    alpha, U = polar(2e-3, 35), polar(700, 120)
    v0, v1 = alpha * U, alpha * (U + trial)
    runs = [
        RawRun(name="0", readings=(v0,), masses_gmm=(0j,)),
        RawRun(name="1", readings=(v1,), masses_gmm=(trial,)),
    ]
    found = solve_trials(runs, sides=("left",), planes=("left",), reading_share=0.01)
    s = 0.01 * math.sqrt((abs(v0) ** 2 + abs(v1) ** 2) / 2.0)
    expected = s * abs(trial) * math.sqrt(abs(v0) ** 2 + abs(v1) ** 2) / abs(v1 - v0) ** 2
    assert found.uncertainty_gmm == pytest.approx([expected])
    assert found.scatter == pytest.approx([s])


def test_planes_are_told_apart_while_their_coefficients_are_known_to_half() -> None:
    """Each side feels its own plane by 1 and the other by a half: condition number 1.5 / 0.5 = 3.

    Either coefficient comes from two readings that scatter by s: sqrt(2) s / W, both of a side 2 s / W, of the side's
    length sqrt(1.25).  Refused where 3 times that share comes to a half.
    """
    alpha = ((1e-3 + 0j, 0.5e-3 + 0j), (0.5e-3 + 0j, 1e-3 + 0j))
    W = 600.0
    runs = runs_of(((0j, 0j), (W + 0j, 0j), (0j, W + 0j)), alpha=alpha, unbalance=(700j, 700j))
    readings = np.array([run.readings for run in runs])
    rms = np.sqrt((np.abs(readings) ** 2).mean(axis=0))
    assert rms[0] == pytest.approx(rms[1])
    bound = 0.5 / 3.0 * math.sqrt(1.25) * 1e-3 * W / 2.0 / rms[0]
    solve_trials(runs, sides=BOTH, planes=BOTH, reading_share=0.99 * bound)
    with pytest.raises(InputError, match="the planes can't be told apart: condition number 3"):
        solve_trials(runs, sides=BOTH, planes=BOTH, reading_share=1.01 * bound)
