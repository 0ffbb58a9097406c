"""Whole engines of rigid bodies in a general-purpose physics engine (MuJoCo): rods and pistons as they are.

The block is a free body; in it turns the crankshaft (a hinge), on its pins the rods (hinges) with mass, centre of
gravity and moment of inertia, on these the pistons (hinges).  The motion is prescribed, the engine gives the force
and moment that hold the block still; their Fourier series over a turn is compared with the planner's sums.  The
planner knows two masses per rod and closed formulas, the physics engine knows neither.

Frame as in ``rigid_body.py``: X = r cos(angle), Y = r sin(angle), Z = -z, so angles grow counter-clockwise as seen
from the front.  Sizes are invented: r 44.2 mm, rod 155 mm, 620 g with its centre of gravity 45 mm from the big
end, piston with pin 580 g, spacing 105 mm; so 760 g reciprocate and 440 g rotate.
"""

from __future__ import annotations

import math
from dataclasses import replace

import mujoco
import numpy as np
import pytest

from planner.engine.engine import Engine, EngineCylinder, custom_engine, engine_from_layout
from planner.engine.forces import inherent
from planner.engine.layouts import layout
from planner.engine.rod_ends import split_rod
from planner.rotor.crankshaft import Throw
from planner.rotor.vectors import resolve, vector_gmm

RADIUS, ROD, ROD_G, CENTRE, PISTON_G, SPACING = 44.2, 155.0, 620.0, 45.0, 580.0, 105.0
SPLIT = split_rod(ROD_G, length_mm=ROD, centre_from_big_end_mm=CENTRE)
RECIPROCATING_G = PISTON_G + SPLIT.small_end_g
OMEGA = 100.0
POINTS = 64


def real_engine(name: str, *, rotation: str = "cw", apart: float = 0.0, offset: float = 0.0) -> Engine:
    """A catalogue layout with the sizes of this file."""
    unit = engine_from_layout(layout(name), rotation=rotation, rods_apart=apart / SPACING)
    throws = [replace(t, z_mm=SPACING * t.z_mm, radius_mm=RADIUS) for t in unit.throws]
    cylinders = [
        replace(
            c,
            z_mm=SPACING * c.z_mm,
            rod_length_mm=ROD,
            offset_mm=offset,
            reciprocating_g=RECIPROCATING_G,
            rotating_g=SPLIT.big_end_g,
        )
        for c in unit.cylinders
    ]
    return custom_engine(throws=throws, cylinders=cylinders, rotation=rotation)


def place(z: float, radius: float, angle_deg: float) -> str:
    angle = math.radians(angle_deg)
    return f"{radius * math.cos(angle):.17g} {radius * math.sin(angle):.17g} {-z:.17g}"


def about(angle_deg: float) -> str:
    half = math.radians(angle_deg) / 2.0
    return f"{math.cos(half):.17g} 0 0 {math.sin(half):.17g}"


def point_body(mass: float, pos: str) -> str:
    return f'<body pos="{pos}"><inertial pos="0 0 0" mass="{mass:.17g}" diaginertia="1 1 1"/></body>'


def model_of(engine: Engine, weights: list[tuple[float, complex]], rod_inertia: float):
    """Crank with counterweights (z, vector g*mm), rods and pistons; all hinges about Z."""
    parts = []
    for z, vector in weights:
        if abs(vector) > 0.0:
            angle = math.degrees(math.atan2(vector.imag, vector.real))
            parts.append(point_body(abs(vector) / 80.0, place(z, 80.0, angle)))
    for c in engine.cylinders:
        throw = engine.throw(c.throw)
        piston = (
            f'<body pos="{ROD} 0 0"><joint type="hinge" axis="0 0 1"/>'
            f'<inertial pos="0 0 0" mass="{PISTON_G}" diaginertia="4e5 4e5 4e5"/></body>'
        )
        parts.append(
            f'<body pos="{place(c.z_mm, throw.radius_mm, throw.angle_deg)}" quat="{about(throw.angle_deg)}">'
            '<joint type="hinge" axis="0 0 1"/>'
            f'<inertial pos="{CENTRE} 0 0" mass="{ROD_G}" diaginertia="1e5 {rod_inertia} {rod_inertia}"/>'
            f"{piston}</body>"
        )
    return mujoco.MjModel.from_xml_string(
        '<mujoco><compiler angle="radian"/><option gravity="0 0 0"/><worldbody><body><freejoint/>'
        '<inertial pos="0 0 0" mass="1000" diaginertia="1e7 1e7 1e7"/>'
        '<body><joint type="hinge" axis="0 0 1"/><inertial pos="0 0 0" mass="1000" diaginertia="1e6 1e6 1e6"/>'
        f"{''.join(parts)}</body></body></worldbody></mujoco>"
    )


def shaking(engine: Engine, weights: list[tuple[float, complex]], *, rod_inertia: float = 1.4e6):
    """Return (force, couple) over omega squared [g*mm, g*mm*mm] as {order: (forward, backward)}."""
    model = model_of(engine, weights, rod_inertia)
    data = mujoco.MjData(model)
    force = np.zeros(POINTS, dtype=complex)
    couple = np.zeros(POINTS, dtype=complex)
    speed = engine.sense * OMEGA
    for step in range(POINTS):
        travel = engine.sense * 2.0 * math.pi * step / POINTS
        data.qpos[:7] = [0, 0, 0, 1, 0, 0, 0]
        data.qvel[:] = 0.0
        data.qacc[:] = 0.0
        data.qpos[7], data.qvel[6] = travel, speed
        for number, c in enumerate(engine.cylinders):
            throw = engine.throw(c.throw)
            alpha = travel + math.radians(throw.angle_deg - c.bank_angle_deg)
            # the rod leans so that its small end stays on the cylinder's axis: ROD sin(lean) = offset - r sin(alpha)
            sin = (c.offset_mm - throw.radius_mm * math.sin(alpha)) / ROD
            lean = math.asin(sin)
            rate = -throw.radius_mm / ROD * math.cos(alpha) * speed / math.cos(lean)
            gain = (throw.radius_mm / ROD * math.sin(alpha) * speed**2 + rate**2 * sin) / math.cos(lean)
            at = 8 + 2 * number
            data.qpos[at] = lean - alpha  # relative to the crank, whose rod body points along the throw
            data.qvel[at - 1] = rate - speed
            data.qacc[at - 1] = gain
            data.qpos[at + 1], data.qvel[at], data.qacc[at] = -lean, -rate, -gain
        mujoco.mj_inverse(model, data)
        hold = data.qfrc_inverse
        force[step] = -complex(hold[0], hold[1])
        couple[step] = -1j * complex(hold[3], hold[4])  # z*F from the moment about the block's origin
    scale = OMEGA**2

    def series(values):
        # index n turns counter-clockwise as the crank travels: that is forward only for an engine that does so too
        spectrum = np.fft.fft(values) / POINTS / scale
        ccw = {n: (complex(spectrum[n]), complex(spectrum[-n])) for n in (1, 2, 3, 4, 6)}
        return ccw if engine.sense > 0 else {n: (back, fore) for n, (fore, back) in ccw.items()}

    return series(force), series(couple)


def balanced(engine: Engine, bobs: dict[str, float]) -> list[tuple[float, complex]]:
    """Counterweights right opposite every bob."""
    return [(t.z_mm, -vector_gmm(bobs[t.name] * t.radius_mm, t.angle_deg)) for t in engine.throws]


UNIT = RECIPROCATING_G * RADIUS


def check(engine: Engine, bobs: dict[str, float], *, orders=(1, 2, 4, 6), **kwargs):
    force, couple = shaking(engine, balanced(engine, bobs), **kwargs)
    left = inherent(engine, bobs_g=bobs, orders=orders)
    for order in orders:
        for mine, theirs, unit in (
            (left.force[order], force[order], UNIT),
            (left.couple[order], couple[order], UNIT * SPACING),
        ):
            assert abs(mine.forward - theirs[0]) / unit < 1e-9
            assert abs(mine.backward - theirs[1]) / unit < 1e-9
    return force, couple


@pytest.mark.parametrize("rotation", ["cw", "ccw"])
@pytest.mark.parametrize(
    "name",
    [
        "single cylinder",
        "in-line 3",
        "flat 2",
        "V2, 60 degree banks",
        "V6, 60 degree banks, pins split 60 degrees",
        "V6, 90 degree banks, pins split 30 degrees",
        "V8, 90 degree banks, cross-plane",
        "V10, 72 degree banks, shared pins",
    ],
)
def test_bob_of_rotating_plus_half_cancels_the_forward_first_order(name, rotation):
    """For any layout and either sense; what is left, vectors with their angles, is what the planner says."""
    engine = real_engine(name, rotation=rotation, apart=24.0)
    force, couple = check(engine, engine.bobs_g(0.5))
    assert abs(force[1][0]) / UNIT < 1e-9
    assert abs(couple[1][0]) / UNIT / SPACING < 1e-9


@pytest.mark.parametrize(("fraction", "forward"), [(0.0, 0.5), (0.5, 0.0), (1.0, 0.5)])
def test_single_cylinder_fractions(fraction, forward):
    engine = real_engine("single cylinder")
    force, _ = check(engine, engine.bobs_g(fraction))
    assert abs(force[1][0]) / UNIT == pytest.approx(forward, abs=1e-9)
    assert abs(force[1][1]) / UNIT == pytest.approx(0.5, abs=1e-9)
    assert abs(force[2][0]) / UNIT == pytest.approx(0.145595, abs=1e-6)
    assert abs(force[4][0]) / UNIT == pytest.approx(0.003086, abs=1e-6)


def test_v_twin_90_is_all_forward():
    engine = real_engine("V2, 90 degree banks")
    force, _ = check(engine, engine.bobs_g(0.5))
    assert max(abs(value) for value in force[1]) / UNIT < 1e-9
    force, _ = check(engine, engine.bobs_g(0.55))
    assert abs(force[1][0]) / UNIT == pytest.approx(0.1, abs=1e-9)


def test_cross_plane_v8_with_two_end_counterweights_only():
    """What balances the bobs may sit anywhere: two counterweights at the ends do for the whole first order."""
    engine = real_engine("V8, 90 degree banks, cross-plane")
    bobs = engine.bobs_g(0.5)
    ends = (-187.5, 187.5)
    vectors = resolve(
        [(t.z_mm, vector_gmm(bobs[t.name] * t.radius_mm, t.angle_deg)) for t in engine.throws], ends
    )
    force, couple = shaking(engine, [(z, -complex(v)) for z, v in zip(ends, vectors, strict=True)])
    for order in (1, 2):
        assert max(abs(value) for value in force[order]) / UNIT < 1e-9
        assert max(abs(value) for value in couple[order]) / UNIT / SPACING < 1e-9
    assert abs(force[4][0]) / UNIT == pytest.approx(0.017460, abs=1e-6)


def test_a_light_bob_leaves_its_share():
    engine = real_engine("V8, 90 degree banks, cross-plane")
    light = {name: 0.99 * mass for name, mass in engine.bobs_g(0.5).items()}
    _, couple = check(engine, light)
    assert abs(couple[1][0]) / UNIT / SPACING == pytest.approx(0.068239, abs=1e-6)
    assert abs(couple[1][1]) / UNIT / SPACING < 1e-9


def test_rod_inertia_other_than_two_masses_changes_no_force():
    engine = real_engine("V2, 60 degree banks")
    check(engine, engine.bobs_g(0.5), rod_inertia=1.2 * 1.4e6)
    check(engine, engine.bobs_g(0.5), rod_inertia=0.5 * 1.4e6)


@pytest.mark.parametrize("rotation", ["cw", "ccw"])
def test_offset_piston_pins(rotation):
    """The offset points the same way whichever way the engine turns: odd harmonics and angles agree."""
    engine = real_engine("V2, 60 degree banks", rotation=rotation, offset=9.0)
    check(engine, engine.bobs_g(0.5), orders=(1, 2, 3, 4))


def test_unequal_cylinders_on_their_own_pins():
    """Masses that differ from cylinder to cylinder: here the planner's masses are set to match one real engine."""
    throws = [Throw(name="1", angle_deg=30.0, z_mm=-60.0, radius_mm=RADIUS, rods=1)]
    throws += [Throw(name="2", angle_deg=205.0, z_mm=75.0, radius_mm=0.8 * RADIUS, rods=1)]
    cylinders = [
        EngineCylinder(
            name=str(k),
            throw=str(k),
            bank_angle_deg=bank,
            z_mm=z,
            rod_length_mm=ROD,
            reciprocating_g=RECIPROCATING_G,
            rotating_g=SPLIT.big_end_g,
        )
        for k, bank, z in ((1, 20.0, -57.0), (2, -50.0, 70.0))
    ]
    engine = custom_engine(throws=throws, cylinders=cylinders, rotation="cw")
    engine = replace(engine, middle_z_mm=0.0)
    check(engine, {"1": 700.0, "2": 810.0})
