"""A plan as one JSON object (names as in the code, units as suffixes)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.present.numbers import neat
from planner.present.pages.alternatives import alternative_json
from planner.present.pages.chances import chances_json
from planner.present.pages.hand import hand_json
from planner.present.pages.heavy_metal import certificate_json, heavy_metal_json
from planner.present.pages.ways_out import nothing_fits_json, ways_out_json
from planner.quantity import Kind
from planner.rotor.vectors import angle_deg
from planner.steps.check import CheckAnswer
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.prove import proved_settings


def plan_json(answer: PlanAnswer) -> dict[str, Any]:
    """Return the plan as plain data.

    Everything is in the crankshaft's own frame except ``machine_angle_deg``, ``dial_deg`` and ``foretold`` (what the
    display will show).  Unbalance and mass are signed: removed is negative, added positive.
    """
    outcome = answer.outcome
    return {
        "title": answer.job.details.title,
        "spin": answer.spin_number,
        "feasible": outcome.feasible,
        "proof": {
            "fewest_cuts": outcome.proof.fewest_cuts,
            "bound_cuts": outcome.proof.bound_cuts,
            "gap_cost": outcome.proof.gap_cost,
            "stopped_by_time": outcome.proof.stopped_by_time,
        },
        "reading": vectors_json(answer.reading_gmm, answer.problem.planes_z_mm),
        "reading_scatter_gmm": list(answer.reading_scatter_gmm),
        "spins_averaged": answer.reading_count,
        "known_errors": vectors_json(answer.known_error_gmm, answer.problem.planes_z_mm),
        "bob_shift": vectors_json(answer.bob_shift_gmm, answer.problem.planes_z_mm),
        "mounted_shift": vectors_json(answer.mounted_shift_gmm, answer.problem.planes_z_mm),
        "made_shift": vectors_json(answer.made_shift_gmm, answer.problem.planes_z_mm),
        "unbalance": vectors_json(answer.unbalance_gmm, answer.problem.planes_z_mm),
        "steps": [step_json(step) for step in answer.steps],
        "cost": neat(outcome.cost),
        "aim_reached": outcome.aim_reached,
        "residual": vectors_json(answer.residual_gmm, answer.problem.planes_z_mm),
        "foretold": foretold_json(answer),
        "foretold_raw": None
        if answer.foretold_raw is None
        else [
            {"side": side, "amount": neat(shown.amount), "phase_deg": neat(shown.phase_deg)}
            for side, shown in zip(("left", "right"), answer.foretold_raw, strict=True)
        ],
        "judged": [
            {
                "at": judged.at,
                "z_mm": judged.z_mm,
                "amount_gmm": neat(judged.amount_gmm),
                "tolerance_gmm": neat(judged.tolerance_gmm),
                "error_gmm": neat(judged.error_gmm),
                "passes_at_gmm": neat(judged.passes_at_gmm),
                "verdict": judged.verdict,
            }
            for judged in answer.judged
        ],
        "verdict": answer.verdict,
        "too_close": None if answer.closeness is None else _closeness_json(answer.closeness),
        # the older name of chance_inside
        "chance_to_pass": neat(answer.chance_to_pass),
        **chances_json(answer.chances),
        "expected_spins": None
        if answer.first_pass is None
        else neat(round(answer.first_pass.expected_spins, 3)),
        "heavy_metal": heavy_metal_json(answer.heavy_metal),
        "certificate": certificate_json(outcome.certificate),
        "ways_out": ways_out_json(answer.ways_out),
        "nothing_fits": nothing_fits_json(answer.nothing_fits),
        "settings_proved": proved_settings(answer.job),
        "withheld": None,
        "questions": list(answer.questions),
        "warnings": list(answer.warnings),
        "notes": list(answer.notes),
        "what_if": list(answer.what_if),
        "letter": answer.letter or None,
        "hand": hand_json(answer.hand),
        "alternatives": [alternative_json(each) for each in answer.alternatives],
    }


def _closeness_json(check: CheckAnswer) -> dict[str, Any]:
    """Return what would decide a state that is too close to call."""
    from planner.present.pages.check import check_json

    data = check_json(check)
    return {key: data[key] for key in ("verdict", "measured", "judged", "passing", "decides")}


def vectors_json(
    vectors_gmm: Sequence[complex],
    planes_z_mm: Sequence[float],
    *,
    planes: Sequence[str] = ("left", "right"),
) -> list[dict[str, Any]]:
    """Return a left and a right vector [g*mm] as amounts and angles (or those of the planes named)."""
    return [
        {
            "plane": side,
            "z_mm": neat(z_mm),
            "amount_gmm": neat(abs(vector)),
            "angle_deg": neat(angle_deg(vector)),
        }
        for side, z_mm, vector in zip(planes, planes_z_mm, vectors_gmm, strict=True)
    ]


def foretold_json(answer: PlanAnswer) -> list[dict[str, Any]]:
    """Return what the display should show next: its units, its counting, its marked spot."""
    job = answer.job
    kind: Kind = "mass" if job.machine.mass_at_radius else "unbalance"
    units = job.display_units
    unit = units.unit_of(kind)
    return [
        {
            "plane": side,
            "amount": neat(float(units.text(shown.amount, kind, digits=9, with_unit=False))),
            "angle_deg": neat(shown.angle_deg),
            "unit": unit,
        }
        for side, shown in zip(("left", "right"), answer.foretold, strict=True)
    ]


def step_json(step: PlanStep) -> dict[str, Any]:
    """Return one step of the plan as plain data."""
    cut, effect = step.cut, step.effect
    return {
        "number": step.number,
        "label": step.label,
        "cut": cut.kind,
        "counterweight": cut.counterweight,
        "z_mm": neat(effect.z_mm),
        "angle_deg": neat(cut.angle_deg),
        "machine_angle_deg": neat(step.machine_angle_deg),
        "dial_deg": neat(step.dial_deg),
        "from_centre_deg": neat(step.from_centre_deg),
        "from_centre_along_rim_mm": neat(step.from_centre_along_rim_mm),
        "diameter_mm": neat(cut.diameter_mm),
        "depth_shoulder_mm": neat(cut.drilled_mm),
        "depth_tip_mm": neat(step.depth_tip_mm),
        "stop_mm": neat(step.stop_mm),
        "deepens": step.hole or None,
        "from_depth_shoulder_mm": neat(cut.from_depth_mm),
        "from_stop_mm": neat(step.from_stop_mm),
        "first_pass_mm": neat(step.first_pass_mm),
        "through": cut.through,
        "face": cut.face if cut.kind != "rim hole" and not cut.through else None,
        "radius_mm": neat(cut.radius_mm),
        "from_middle_mm": neat(cut.from_middle_mm) if cut.kind == "rim hole" else None,
        "beside_mm": neat(cut.beside_mm) if cut.kind == "rim hole" else None,
        "tilt_deg": neat(cut.tilt_deg) if cut.kind == "rim hole" else None,
        "turned_deg": neat(effect.turned_deg),
        "length_mm": neat(cut.length_mm),
        "mass_g": neat(effect.mass_g),
        "slug_mass_g": neat(effect.slug_mass_g),
        "bored_mass_g": neat(effect.bored_mass_g),
        "unbalance_gmm": neat(effect.unbalance_gmm),
        "pinned": step.pinned,
    }
