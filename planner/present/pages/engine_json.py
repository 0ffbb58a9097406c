"""What an engine leaves unbalanced, as plain data and as working to follow."""

from __future__ import annotations

import cmath
import math
from typing import Any

from planner.engine.engine import engine_from_layout
from planner.engine.forces import HarmonicVector, Inherent, bobs_needed, inherent
from planner.engine.fraction_choice import FractionChoice
from planner.engine.layouts import LAYOUTS
from planner.formula import Formula
from planner.present.numbers import neat
from planner.present.pages.engine import in_units
from planner.present.to_json import chosen, picked, plain
from planner.steps.engine import USUAL_RATIO
from planner.steps.engine_forces import Cost, EngineAnswer


def engine_json(answer: EngineAnswer) -> dict[str, Any]:
    """Return the answer as plain data; forces in units of m r omega^2, couples times the throw spacing."""
    engine, scale, firing = answer.engine, answer.scale, answer.firing
    curve = answer.curve()
    unit = engine.unit_gmm
    return {
        "title": None if answer.job is None else answer.job.details.title,
        "layout": answer.layout_name,
        "rotation": engine.rotation,
        "throws": [
            {
                **picked(throw, "name angle_deg"),
                "z_mm": None if answer.job is None else neat(throw.z_mm),
                "z_spacings": neat((throw.z_mm - engine.middle_z_mm) / engine.spacing_mm),
                **picked(throw, "rods cylinders"),
            }
            for throw in engine.throws
        ],
        "cylinders": [
            {
                **picked(each, "name throw bank_angle_deg"),
                "rod_ratio": neat(each.rod_length_mm / engine.throw(each.throw).radius_mm),
            }
            for each in engine.cylinders
        ],
        "firing": None if firing is None else picked(firing, "order intervals_deg even unique"),
        "firing_fault": None if answer.firing_fault is None else answer.firing_fault[0],
        "bobs_needed": answer.matter == "needed",
        "bobs_matter": answer.matter,
        "reciprocating_fraction": answer.fraction,
        **chosen(scale, "speed_rpm"),
        **picked(scale, "unit_force_n=force_n unit_couple_nm=couple_nm throw_spacing_mm=spacing_mm"),
        **picked(answer, "second_coefficient=second fourth_coefficient=fourth"),
        "rotating_balanced_only": _state(answer, answer.bare),
        "with_bobs": {"bobs": answer.left_by, **_state(answer, answer.left)},
        "series_error": {
            "force": neat(curve.force_error_gmm / unit),
            "couple": neat(curve.couple_error_gmm2 / unit / engine.spacing_mm),
        },
        "fractions": {"force": _choice(answer.force), "couple": _choice(answer.couple)},
        "weights": list(answer.weights),
        "costs": [_cost(each) for each in answer.costs],
        "warnings": list(answer.warnings),
        "notes": list(answer.notes),
    }


def _state(answer: EngineAnswer, left: Inherent) -> dict[str, Any]:
    engine, scale = answer.engine, answer.scale
    force = {
        str(order): _vector(vector, engine.unit_gmm, scale.force_n, "n")
        for order, vector in left.force.items()
    }
    couple = {
        str(order): _vector(vector, engine.unit_gmm * engine.spacing_mm, scale.couple_nm, "nm")
        for order, vector in left.couple.items()
    }
    return {"force": force, "couple": couple}


def _vector(vector: HarmonicVector, unit: float, newtons: float | None, name: str) -> dict[str, Any]:
    parts = ("forward", "backward", "largest", "least", "along", "across")
    amounts = dict(zip(parts, in_units(vector, unit), strict=True))
    real = ("largest", "forward", "backward")
    return {
        **plain(amounts),
        "long_axis_deg": neat(vector.long_axis_deg),
        **{f"{part}_{name}": None if newtons is None else neat(amounts[part] * newtons) for part in real},
    }


def _choice(choice: FractionChoice | None) -> dict[str, Any] | None:
    if choice is None or not choice.acts:
        return None
    return {
        **picked(choice, "least_rms least_peak peak_at_least_peak peak_at_half weighted"),
        "one_plane": [picked(each, "fraction axis_deg") for each in choice.one_plane],
    }


def _cost(cost: Cost) -> dict[str, Any]:
    left = cost.left
    return {
        **picked(left, "fraction force_rms force_peak couple_rms couple_peak"),
        **picked(left, "primary_force_largest=force_1.largest primary_couple_largest=couple_1.largest"),
        **picked(cost, "bobs_g bob_shift=planes_gmm"),
    }


def engine_working(answer: EngineAnswer) -> list[Formula | str]:
    """Return the sums of the first order, cylinder by cylinder, in a form to follow with a calculator."""
    engine, scale = answer.engine, answer.scale
    sense = engine.sense
    lines: list[Formula | str] = [
        "WORKING (angles of pins and banks in the direction of rotation: "
        + ("as above)" if sense > 0 else "those above with the other sign)"),
        "each cylinder's primary force is two vectors of half its size: one turns with the crank and stands at the angle "
        "of the pin;",
        "one turns against it and stands at 2 x bank - pin; couples: times z from the middle of the throws, in spacings",
    ]
    sums = [0j, 0j, 0j, 0j]
    for each in engine.cylinders:
        throw = engine.throw(each.throw)
        pin, bank = sense * throw.angle_deg, sense * each.bank_angle_deg
        size = 0.5 * each.reciprocating_g * throw.radius_mm / engine.unit_gmm
        z = (each.z_mm - engine.middle_z_mm) / engine.spacing_mm
        against = 2.0 * bank - pin
        forward, backward = (size * cmath.exp(1j * math.radians(angle)) for angle in (pin, against))
        for place, value in enumerate((forward, backward, z * forward, z * backward)):
            sums[place] += value
        lines.append(
            f"  cylinder {each.name}: pin {pin % 360:.4g}, bank {bank:.4g}, z {z:.4g}: {size:.4g} at {pin % 360:.4g} with, "
            f"{size:.4g} at 2 x {bank:.4g} - {pin % 360:.4g} = {against % 360:.4g} against"
        )
    names = ("force with", "force against", "couple with", "couple against")
    for name, value in zip(names, sums, strict=True):
        amount = abs(value)
        lines.append(
            f"  {name}: sum of all = {value.real:+.4f} {value.imag:+.4f}j, amount {amount if amount > 5e-5 else 0.0:.4f}"
        )
    lines.append(
        "  bobs with the fraction f take 2f of what turns with the crank: left (1 - 2f) x with, and all of against"
    )
    first = engine.cylinders[0]
    radius, rod = engine.throw(first.throw).radius_mm, first.rod_length_mm
    lam = radius / rod
    second = lam + lam**3 / 4 + 15 * lam**5 / 128
    of = {"r": radius, "L": rod, "lambda": lam}
    lines += [
        "secondary: angles n pin - (n-1) bank and -n pin + (n+1) bank with n = 2",
        Formula("lambda", "r / L", of, lam),
        Formula("A2", "lambda + lambda^3 / 4 + 15 * lambda^5 / 128", of, second),
    ]
    if scale.force_n is not None and scale.unit_gmm is not None and scale.speed_rpm is not None:
        omega = 2.0 * math.pi * scale.speed_rpm / 60.0
        of = {"n": scale.speed_rpm, "m r": scale.unit_gmm, "omega": omega}
        lines += [
            Formula("omega", "2 * pi * n / 60", of, omega, "rad/s"),
            Formula("unit of force", "m r * omega^2 / 1000000", of, scale.force_n, "N", "m r in g*mm"),
        ]
    if scale.couple_nm is not None and scale.force_n is not None and scale.spacing_mm is not None:
        of = {"unit of force": scale.force_n, "spacing": scale.spacing_mm}
        lines.append(Formula("unit of couple", "unit of force * spacing / 1000", of, scale.couple_nm, "N*m"))
    return lines


def layouts_data() -> list[dict[str, Any]]:
    """Return the catalogue with what every layout leaves, in units (rods 3.5 throw radii long)."""
    rows = []
    for each in LAYOUTS:
        engine = engine_from_layout(each, rod_ratio=USUAL_RATIO)
        bare, half = inherent(engine, fraction=0.0), inherent(engine, fraction=0.5)
        second = abs(half.force[2].largest), abs(half.couple[2].largest)
        rows.append(
            {
                "name": each.name,
                "cylinders": len(each.cylinders),
                "throws": len(each.throws),
                "firing_order": list(each.firing_order),
                "bobs_needed": bobs_needed(engine).needed,
                "primary_force": neat(bare.force[1].largest),
                "primary_couple": neat(bare.couple[1].largest),
                "primary_force_at_half": neat(half.force[1].largest),
                "primary_couple_at_half": neat(half.couple[1].largest),
                "secondary_force": neat(second[0]),
                "secondary_couple": neat(second[1]),
            }
        )
    return rows
