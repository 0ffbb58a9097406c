"""What must hold of inherent forces whatever the engine is."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.engine.engine import Engine, EngineCylinder, custom_engine
from planner.engine.forces import bobs_needed, inherent, shaking_curve
from planner.engine.fraction_choice import choose_fraction, fraction_cost
from planner.errors import InputError
from planner.rotor.crankshaft import Throw

QUICK = settings(max_examples=30, deadline=None, derandomize=True)
angles = st.floats(0.0, 360.0)


@st.composite
def engines(draw, offset=True) -> Engine:
    """Any number of throws and cylinders, anywhere, of any masses: no layout at all."""
    throws, cylinders = [], []
    for t in range(draw(st.integers(1, 4))):
        rods = draw(st.integers(1, 3))
        z = 100.0 * t + draw(st.floats(-10, 10))
        radius = draw(st.floats(30, 50))
        throws.append(Throw(name=str(t), angle_deg=draw(angles), z_mm=z, radius_mm=radius, rods=rods))
        for k in range(rods):
            cylinders.append(
                EngineCylinder(
                    name=f"{t}.{k}",
                    throw=str(t),
                    bank_angle_deg=draw(angles),
                    z_mm=z + draw(st.floats(-20, 20)),
                    rod_length_mm=draw(st.floats(120, 200)),
                    offset_mm=draw(st.floats(-8, 8)) if offset else 0.0,
                    reciprocating_g=draw(st.floats(200, 900)),
                    rotating_g=draw(st.floats(0, 600)),
                )
            )
    return custom_engine(throws=throws, cylinders=cylinders, rotation=draw(st.sampled_from(("cw", "ccw"))))


@QUICK
@given(engines(), st.floats(0, 1))
def test_harmonics_add_up_to_the_exact_slider_crank(engine, fraction):
    """Offsets, unequal rods and masses, rods off their throw's middle: the sum over all harmonics is exact."""
    curve = shaking_curve(engine, fraction=fraction, orders=range(1, 13), points=37)
    scale = engine.unit_gmm * len(engine.cylinders)
    assert curve.force_error_gmm < 1e-6 * scale
    assert curve.couple_error_gmm2 < 1e-6 * scale * 400.0


@QUICK
@given(engines(offset=False))
def test_rotating_plus_half_leaves_nothing_that_turns_with_the_crank(engine):
    left = inherent(engine, fraction=0.5, orders=(1,)).force[1]
    assert abs(left.forward) < 1e-9 * engine.unit_gmm * len(engine.cylinders)


def mirrored(engine: Engine) -> Engine:
    """The engine in a mirror that holds the reference axis: all angles and the rotation change their sense."""
    return replace(
        engine,
        throws=tuple(replace(t, angle_deg=-t.angle_deg) for t in engine.throws),
        cylinders=tuple(
            replace(c, bank_angle_deg=-c.bank_angle_deg, offset_mm=-c.offset_mm) for c in engine.cylinders
        ),
        rotation="cw" if engine.rotation == "ccw" else "ccw",
    )


@QUICK
@given(engines())
def test_the_mirrored_engine_has_the_mirrored_vectors(engine):
    here, there = inherent(engine), inherent(mirrored(engine))
    for order in here.force:
        for one, other in (
            (here.force[order], there.force[order]),
            (here.couple[order], there.couple[order]),
        ):
            scale = 1e-9 * engine.unit_gmm * 400.0 * len(engine.cylinders)
            assert abs(one.forward.conjugate() - other.forward) < scale
            assert abs(one.backward.conjugate() - other.backward) < scale
            assert other.along == pytest.approx(one.along, abs=scale)


@QUICK
@given(engines(), angles)
def test_turning_the_whole_engine_turns_the_vectors(engine, turn):
    """Pins and banks turned by an angle: a vector of any order turns by that angle, no amount changes."""
    turned = replace(
        engine,
        throws=tuple(replace(t, angle_deg=t.angle_deg + turn) for t in engine.throws),
        cylinders=tuple(replace(c, bank_angle_deg=c.bank_angle_deg + turn) for c in engine.cylinders),
    )
    unit = cmath.exp(1j * math.radians(turn))
    for order, vector in inherent(engine).force.items():
        other = inherent(turned).force[order]
        scale = 1e-9 * engine.unit_gmm * len(engine.cylinders)
        assert abs(vector.forward * unit - other.forward) < scale
        assert abs(vector.backward * unit - other.backward) < scale


@QUICK
@given(engines())
def test_the_ellipse_holds_every_point_of_the_orbit(engine):
    vector = inherent(engine, fraction=0.3).force[2]
    turn = np.exp(1j * engine.sense * 2.0 * np.linspace(0.0, 2.0 * np.pi, 721))
    orbit = vector.forward * turn + vector.backward / turn
    assert np.max(np.abs(orbit)) == pytest.approx(vector.largest, rel=1e-4)
    assert np.min(np.abs(orbit)) == pytest.approx(vector.least, rel=1e-3, abs=1e-2 * vector.largest)
    assert np.sqrt(np.mean(np.abs(orbit[:-1]) ** 2)) == pytest.approx(vector.rms)
    assert vector.amplitude(vector.long_axis_deg) == pytest.approx(vector.largest, rel=1e-9)
    assert vector.amplitude(30.0) == pytest.approx(np.max((orbit * np.exp(-1j * np.pi / 6)).real), rel=1e-4)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(engines(), st.sampled_from(("force", "couple")), st.floats(-0.5, 1.5), st.floats(0, 1))
def test_no_fraction_beats_the_criteria(engine, quantity, other, weight):
    choice = choose_fraction(engine, quantity=quantity, weight_along=weight, weight_across=1.0 - weight)
    if not choice.acts:
        return
    best, there = fraction_cost(engine, fraction=choice.least_rms), fraction_cost(engine, fraction=other)
    assert getattr(best, f"{quantity}_rms") <= getattr(there, f"{quantity}_rms") * (1 + 1e-9)
    if -1.0 < choice.least_peak < 2.0:
        assert choice.peak_at_least_peak <= getattr(there, f"{quantity}_peak") * (1 + 1e-6)
    for plane in choice.one_plane:
        cost = fraction_cost(engine, fraction=plane.fraction)
        left = cost.force_1 if quantity == "force" else cost.couple_1
        assert left.least <= 1e-6 * max(left.largest, 1.0)
        assert left.amplitude(plane.axis_deg + 90.0) <= 1e-4 * max(left.largest, 1.0)

    def weighted(fraction: float) -> float:
        cost = fraction_cost(engine, fraction=fraction)
        left = cost.force_1 if quantity == "force" else cost.couple_1
        return weight * left.along**2 + (1.0 - weight) * left.across**2

    assert weighted(choice.weighted) <= weighted(other) * (1 + 1e-9) + 1e-12


def test_weights_that_are_none():
    throws = [Throw(name="1", angle_deg=0.0, z_mm=0.0, radius_mm=1.0, rods=1)]
    cylinders = [EngineCylinder(name="1", throw="1", bank_angle_deg=0.0, z_mm=0.0, rod_length_mm=4.0)]
    engine = custom_engine(throws=throws, cylinders=cylinders, rotation="cw")
    for along, across in ((-1.0, 2.0), (0.0, 0.0)):
        with pytest.raises(InputError, match="must be 0 or more and not both 0"):
            choose_fraction(engine, quantity="force", weight_along=along, weight_across=across)
    assert bobs_needed(engine).needed


def single(ratio: float) -> Engine:
    throws = [Throw(name="1", angle_deg=0.0, z_mm=0.0, radius_mm=1.0, rods=1)]
    cylinders = [EngineCylinder(name="1", throw="1", bank_angle_deg=0.0, z_mm=0.0, rod_length_mm=ratio)]
    return custom_engine(throws=throws, cylinders=cylinders, rotation="cw")


@pytest.mark.parametrize(
    ("ratio", "fraction"),
    [(3, 0.611), (3.25, 0.605), (3.5, 0.600), (4, 0.590), (4.5, 0.582), (5, 0.575), (6, 0.564)],
)
def test_least_peak_of_a_single_cylinder(ratio, fraction):
    """Computed beforehand by separate code; common practice is 50 to 60 percent."""
    choice = choose_fraction(single(ratio), quantity="force")
    assert choice.least_peak == pytest.approx(fraction, abs=6e-4)
    if ratio == 4:
        assert choice.peak_at_least_peak == pytest.approx(0.660, abs=6e-4)
        assert choice.peak_at_half == pytest.approx(0.750, abs=1e-9)
    # a long rod leaves the first order alone
    assert choose_fraction(single(1e6), quantity="force").least_peak == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize(
    ("along", "across", "fraction"), [(2, 1, 2 / 3), (1, 1, 0.5), (1, 0, 1.0), (0.7, 0.3, 0.7)]
)
def test_weighted_axes_of_a_single_cylinder(along, across, fraction):
    """f = w_along / (w_along + w_across): two thirds is a weight of two to one."""
    choice = choose_fraction(single(4.0), quantity="force", weight_along=along, weight_across=across)
    assert choice.weighted == pytest.approx(fraction)
