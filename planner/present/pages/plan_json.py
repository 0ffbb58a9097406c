"""A plan as one JSON object (names as in the code, units as suffixes)."""

from __future__ import annotations

from typing import Any

from planner.present.numbers import neat
from planner.present.pages.alternatives import alternative_json
from planner.present.pages.chances import chances_json
from planner.present.pages.hand import hand_json
from planner.present.pages.heavy_metal import heavy_metal_json
from planner.present.pages.ways_out import nothing_fits_json, ways_out_json
from planner.present.to_json import picked, plain, shown_json, vectors_json
from planner.rotor.verdict import Judged
from planner.steps.check import CheckAnswer
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.prove import proved_settings


def plan_json(answer: PlanAnswer) -> dict[str, Any]:
    """Return the plan as plain data.

    Everything is in the crankshaft's own frame except ``machine_angle_deg``, ``dial_deg`` and ``foretold`` (what the
    display will show).  Unbalance and mass are signed: removed is negative, added positive.
    """
    outcome, planes = answer.outcome, answer.problem.planes_z_mm
    vectors = ("reading", "known_error", "bob_shift", "mounted_shift", "made_shift", "unbalance", "residual")
    return {
        "title": answer.job.details.title,
        "spin": answer.spin_number,
        "feasible": outcome.feasible,
        "proof": picked(outcome.proof, "fewest_cuts bound_cuts gap_cost stopped_by_time"),
        "reading_scatter_gmm": list(answer.reading_scatter_gmm),
        "spins_averaged": answer.reading_count,
        **{_NAMES.get(name, name): vectors_json(getattr(answer, f"{name}_gmm"), planes) for name in vectors},
        "steps": [step_json(step) for step in answer.steps],
        **picked(outcome, "cost aim_reached"),
        "foretold": shown_json(answer.foretold, answer.job),
        "foretold_raw": None
        if answer.foretold_raw is None
        else [
            {"side": side, **picked(shown, "amount phase_deg")} for side, shown in answer.foretold_raw.items()
        ],
        "judged": [judged_json(each) for each in answer.judged],
        "too_close": None if answer.closeness is None else _closeness_json(answer.closeness),
        **chances_json(answer.chances),
        "expected_spins": None
        if answer.first_pass is None
        else neat(round(answer.first_pass.expected_spins, 3)),
        "heavy_metal": heavy_metal_json(answer),
        "certificate": plain(outcome.certificate),
        "ways_out": ways_out_json(answer.ways_out),
        "nothing_fits": nothing_fits_json(answer.nothing_fits),
        "settings_proved": proved_settings(answer.job),
        "withheld": None,
        "letter": answer.letter or None,
        "hand": hand_json(answer.hand, planes),
        "alternatives": [alternative_json(each) for each in answer.alternatives],
        # chance_to_pass: the older name of chance_inside
        **picked(answer, "verdict chance_to_pass questions warnings notes what_if"),
    }


_NAMES = {"known_error": "known_errors"}


def judged_json(judged: Judged) -> dict[str, Any]:
    """Return a residual held against its limit."""
    return picked(judged, "at z_mm amount_gmm tolerance_gmm error_gmm passes_at_gmm verdict")


def _closeness_json(check: CheckAnswer) -> dict[str, Any]:
    """Return what would decide a state that is too close to call."""
    from planner.present.pages.check import check_json

    data = check_json(check)
    return {key: data[key] for key in ("verdict", "measured", "judged", "passing", "decides")}


def step_json(step: PlanStep) -> dict[str, Any]:
    """Return one step of the plan as plain data."""
    cut = step.cut
    aside = picked(cut, "from_middle_mm beside_mm tilt_deg")
    return {
        **picked(
            step,
            "number label machine_angle_deg dial_deg from_centre_deg from_centre_along_rim_mm "
            "depth_tip_mm stop_mm from_stop_mm first_pass_mm pinned",
        ),
        **picked(
            cut,
            "counterweight angle_deg diameter_mm through radius_mm length_mm from_diameter_mm sector_deg "
            "slope_deg cut=kind depth_shoulder_mm=drilled_mm from_depth_shoulder_mm=from_depth_mm",
        ),
        "face": cut.face if cut.kind not in ("rim hole", "rim turning", "flat") and not cut.through else None,
        "deepens": step.hole or None,
        **(aside if cut.kind == "rim hole" else dict.fromkeys(aside)),
        **picked(step.effect, "z_mm turned_deg mass_g slug_mass_g bored_mass_g unbalance_gmm"),
    }
