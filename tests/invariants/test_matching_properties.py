"""What must hold of matching and bobs whatever the weights are."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.engine.matching.match import PairingRequest, match_kind, pair_parts
from planner.engine.parts import STANDARD_PARTS, PartSet, bobs, part
from planner.rotor.crankshaft import Throw

QUICK = settings(max_examples=25, deadline=None, derandomize=True)


def masses(count: int, low: float, high: float):
    return st.lists(
        st.integers(round(10 * low), round(10 * high)).map(lambda tenths: tenths / 10.0),
        min_size=count,
        max_size=count,
    )


@st.composite
def requests(draw, counts=(2, 4, 6)):
    count = draw(st.sampled_from(counts))
    rods = draw(st.sampled_from([r for r in (1, 2) if count % r == 0]))
    names = tuple(str(k + 1) for k in range(count))
    return PairingRequest(
        piston_g=tuple(draw(masses(count, 405, 415))),
        pin_g=tuple(draw(masses(count, 116, 119))),
        small_end_g=tuple(draw(masses(count, 170, 176))),
        big_end_g=tuple(draw(masses(count, 438, 446))),
        cylinders=names,
        throws=tuple(names[k : k + rods] for k in range(0, count, rods)),
        tolerance_g=draw(st.sampled_from((0.0, 0.3, 0.5))),
    )


@QUICK
@given(requests())
def test_pairing_never_grinds_more_than_numbering(request):
    found = pair_parts(request, seconds=5.0)
    assert found.at_least_g <= found.ground_g <= found.as_numbered_g
    # every pin and rod is used once
    assert sorted(each.pin for each in found.sets) == sorted(request.cylinders)
    assert sorted(each.rod for each in found.sets) == sorted(request.cylinders)


@QUICK
@given(requests(), st.randoms(use_true_random=False))
def test_permuting_the_cylinders_permutes_the_answer(request, dice):
    """Carry whole cylinders to other places in the lists: the same grams are ground, off the same sums."""
    order = list(range(len(request.cylinders)))
    dice.shuffle(order)
    moved = PairingRequest(
        piston_g=tuple(request.piston_g[k] for k in order),
        pin_g=tuple(request.pin_g[k] for k in order),
        small_end_g=tuple(request.small_end_g[k] for k in order),
        big_end_g=tuple(request.big_end_g[k] for k in order),
        cylinders=tuple(request.cylinders[k] for k in order),
        throws=request.throws,
        tolerance_g=request.tolerance_g,
    )
    one, other = pair_parts(request, seconds=5.0), pair_parts(moved, seconds=5.0)
    assert one.proven
    assert other.proven
    assert other.ground_g == pytest.approx(one.ground_g, abs=1e-6)
    assert other.as_numbered_g == pytest.approx(one.as_numbered_g, abs=1e-6)
    assert other.each_to_lightest_g == pytest.approx(one.each_to_lightest_g, abs=1e-6)


@QUICK
@given(requests(), st.integers(0, 300))
def test_the_same_mass_on_every_part_of_a_kind_changes_nothing(request, tenths):
    from dataclasses import replace

    more = tenths / 10.0
    heavier = replace(
        request,
        pin_g=tuple(mass + more for mass in request.pin_g),
        big_end_g=tuple(mass + more for mass in request.big_end_g),
    )
    one, other = pair_parts(request, seconds=5.0), pair_parts(heavier, seconds=5.0)
    assert other.ground_g == pytest.approx(one.ground_g, abs=1e-6)
    assert [each.pin for each in other.sets] == [each.pin for each in one.sets]


@QUICK
@given(masses(8, 405, 415), st.sampled_from((0.0, 0.5)))
def test_a_matched_kind_lies_within_the_tolerance(weights, tolerance):
    match = match_kind("piston", masses_g=weights, tolerance_g=tolerance)
    assert match.spread_after_g <= tolerance + 1e-4
    assert match.remove_g[match.lightest] == 0.0
    assert min(match.remove_g) >= 0.0
    if tolerance == 0.0:
        assert match.ground_g == pytest.approx(sum(weights) - len(weights) * min(weights))
        assert match.outlier_costs_g >= -1e-9
    again = match_kind(
        "piston",
        masses_g=[m - off for m, off in zip(weights, match.remove_g, strict=True)],
        tolerance_g=tolerance,
    )
    assert again.ground_g == 0.0


def throws(rods: int, count: int) -> list[Throw]:
    return [
        Throw(
            name=str(t),
            angle_deg=0.0,
            z_mm=100.0 * t,
            radius_mm=44.0,
            rods=rods,
            cylinders=tuple(str(rods * t + k + 1) for k in range(rods)),
        )
        for t in range(count)
    ]


@QUICK
@given(
    masses(8, 100, 500),
    st.floats(0.0, 1.0),
    st.floats(0.0, 50.0),
    st.sampled_from([name for name in STANDARD_PARTS if name != "oil_per_throw"]),
)
def test_the_same_mass_on_every_part_shifts_every_bob_alike(weights, fraction, more, name):
    def sums(extra: float) -> list[float]:
        parts = PartSet(
            parts=(part(name, [m + extra for m in weights]), part("oil_per_throw", 4.0)),
            reciprocating_fraction=fraction,
        )
        return [bob.sum_g for bob in bobs(parts, throws=throws(2, 4)).bobs]

    share = 1.0 if STANDARD_PARTS[name][1] == "rotating" else fraction
    for before, after in zip(sums(0.0), sums(more), strict=True):
        assert after - before == pytest.approx(2.0 * share * more, abs=1e-6)


@QUICK
@given(masses(8, 100, 500), st.permutations(range(8)))
def test_the_sum_of_all_bobs_does_not_depend_on_who_hangs_where(weights, order):
    parts = PartSet(parts=(part("rod_big_end", weights),))
    moved = PartSet(parts=(part("rod_big_end", [weights[k] for k in order]),))
    total = sum(bob.sum_g for bob in bobs(parts, throws=throws(2, 4)).bobs)
    assert sum(bob.sum_g for bob in bobs(moved, throws=throws(4, 2)).bobs) == pytest.approx(total)
