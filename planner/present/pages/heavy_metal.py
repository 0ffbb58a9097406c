"""Heavy metal in words and as plain data: needed or not, what to order, which bobs would do without, what holds it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from planner.correction.problem import Certificate, CorrectionProblem
from planner.cuts.retention import NOT_A_RELEASE
from planner.jobfile.job import Job
from planner.present.document import Block, Line, Part, block, remarks
from planner.present.numbers import neat
from planner.present.to_json import picked
from planner.present.words import drill_words, length_words, mass_words, plural
from planner.steps.bob_window import BobWindow
from planner.steps.plan_answer import HeavyMetal, HeavyMetalWhy, PlanAnswer
from planner.steps.slugs import SlugHold, SlugOrder


def heavy_metal_block(answer: PlanAnswer) -> Block:
    """Return what there is to say of heavy metal."""
    heavy, job = answer.heavy_metal, answer.job
    need = "no answer" if heavy.needed is None else "NEEDED" if heavy.needed else "not needed"
    return block(
        f"Heavy metal: {need}; {reason_words(job, answer.problem, heavy)}.",
        _orders(job, heavy.orders, heavy.cost),
        _holds(job, heavy.holds),
        () if heavy.window is None else window_lines(job, heavy.window),
    )


def reason_words(job: Job, problem: CorrectionProblem, heavy: HeavyMetal) -> str:
    """Return why heavy metal is needed or not."""
    drilled = f"with {plural(heavy.drilled_cuts, 'cut')}"
    saves = "; heavy metal only saves cuts here" if heavy.saves_cuts else ""
    among = "with heavy metal or without" if heavy.among_cuts else "heavy metal is not among them"
    grams, cuts = heavy.way or (0.0, 0)
    way = f"({grams:.0f} g in {plural(cuts, 'cut')})"
    fewer = (
        ""
        if heavy.fewer is None
        else f"; {fewer_words(heavy.fewer)}, `--heavy-metal allowed` looks for the best"
    )
    proof = "" if heavy.certificate is None else certificate_words(job, problem, heavy.certificate)
    said: dict[HeavyMetalWhy, str] = {
        "nothing to cut": "nothing has to be cut",
        "drilling does it": f"drilling alone reaches the tolerance, {drilled}{fewer}",
        "other cuts do it": f"the tolerance is reached without it, {drilled}",
        "drilling does it too": f"drilling alone reaches the tolerance too, {drilled}{saves}",
        "drilling can't: proven": f"no drilling can reach the tolerance, proven: whatever is drilled, {proof}",
        "drilling: not found in time": "no plan by drilling alone was found in the time given; that there is none is not proven",
        "drilling: not found": "no plan by drilling alone was found; that there is none is not proven",
        "no plan: proven": f"there is no plan with the cuts allowed, {among}",
        "no plan: not found": f"no plan was found with the cuts allowed, {among}; that there is none is not proven",
        "only with heavy metal": f"with the cuts allowed there is no plan; with heavy metal there is {way}",
        "found with heavy metal only": "with the cuts allowed no plan was found, not proven that there is none; with heavy metal "
        f"there is one {way}",
        "as cut": "as cut",
    }
    return said[heavy.why]


def fewer_words(cuts: int) -> str:
    """Return with how few cuts heavy metal would do where drilling takes many: by a plan that was met, not the best."""
    return f"a plan of {plural(cuts, 'cut')} with heavy metal was met on the way"


def certificate_words(job: Job, problem: CorrectionProblem, certificate: Certificate) -> str:
    """Return in the job's units how much at least remains above the limits whatever is cut."""

    def amount(value_gmm: float) -> str:
        return job.units.text(value_gmm, "unbalance")

    parts = [
        f"{limit.at} at least {amount(excess)}"
        for limit, excess in zip(problem.limits, certificate.excess_gmm, strict=True)
        if excess > 0.0
    ]
    together = "over both limits together" if len(problem.limits) == 2 else "over all limits together"
    text = f"at least {amount(certificate.excess_sum_gmm)} too much remains {together}"
    if not parts:
        return f"{text}; each limit alone could be kept, not all of them at once"
    if len(parts) == 1 and len(problem.limits) == 1:
        return f"{problem.limits[0].at}: at least {amount(certificate.excess_sum_gmm)} too much remains"
    return f"{text}; each taken by itself: {', '.join(parts)}"


def _orders(job: Job, orders: Iterable[SlugOrder], cost: float | None) -> Iterator[Line]:
    for order in orders:
        price = "" if order.price is None else f", {order.price:g} each"
        yield Line(
            f"order: {order.pieces} x {drill_words(job, order.diameter_mm)} x {length_words(job, order.length_mm)} "
            f"({mass_words(job, order.mass_g)} each{price}) for {', '.join(order.counterweights)}",
            level=1,
        )
    if cost is not None:
        yield Line(f"slugs together: {cost:g}", level=1)


def window_lines(job: Job, window: BobWindow) -> Iterator[Line]:
    """Yield which bob masses drilling alone could balance."""

    def grams(mass_g: float) -> str:
        return mass_words(job, mass_g)

    if not window.matters:
        yield Line("Bob window: equal bobs cancel in this crankshaft, their mass changes nothing.")
        return
    if window.proven_g is None:
        yield Line("Bob window: no equal change of the bobs would let drilling alone do it.")
        return
    low, high = window.proven_g
    limits = f"above {grams(high)}" if low <= 0.0 else f"below {grams(low)} or above {grams(high)}"
    yield Line(
        f"Bob window: drilling alone can't do with bobs {limits} (proven); wanted are {grams(window.bob_g)}."
    )
    if window.confirmed_g is not None:
        first, last = window.confirmed_g
        confirmed = (
            f"confirmed by plans: {grams(first)} to {grams(last)}"
            if last > first
            else f"confirmed by a plan: {grams(first)}"
        )
    else:
        confirmed = "not confirmed by a plan"
    yield Line(confirmed, level=1)
    for change, word in ((window.too_heavy_g, "lighter"), (window.too_light_g, "heavier")):
        if change > 0.0:
            piston = ""
            if window.g_per_piston_g:
                piston = (
                    f", that is {grams(change / window.g_per_piston_g)} of reciprocating mass on every cylinder "
                    f"(1 g there makes {window.g_per_piston_g:g} g of bob)"
                )
            yield Line(f"at least {grams(change)} {word} on every throw would be needed{piston}", level=1)


def _holds(job: Job, holds: Iterable[SlugHold]) -> Iterator[Part]:
    """Yield what would hold the slugs at service speed."""
    last = None
    for last in holds:
        found = last.retention
        yield Line(
            f"slug on {last.counterweight} at {last.speed_rpm:g} rpm: {found.centrifugal_force_n:,.0f} N outward; press fit "
            f"{_fit(job, found.fit_mm)} holds {found.hold_hot_n:,.0f} N hot, safety factor {found.safety_factor:.1f} (2 from "
            f"{_fit(job, last.fit_needed_mm)} on, {last.stress_needed_mpa:.0f} MPa at the bore)",
            level=1,
        )
        yields = "" if found.yield_factor is None else f", yield is {found.yield_factor:.1f} times that"
        ligament = length_words(job, last.ring.ligament_mm(last.diameter_mm), with_64th=False)
        yield Line(
            f"thinnest metal: {ligament} to {last.ring.ends_at}, {found.ligament_stress_mpa:.0f} MPa by fit and pull{yields}",
            level=2,
        )
        said = [warning for warning in found.warnings if warning != NOT_A_RELEASE]
        yield from remarks("warning", (f"slug on {last.counterweight}: {each}" for each in said), level=1)
    if last is not None:
        yield Line(NOT_A_RELEASE, level=1)


def _fit(job: Job, fit_mm: float) -> str:
    return f"{fit_mm / 25.4:.5f} in" if job.units.in_inches else f"{fit_mm:.4f} mm"


def heavy_metal_json(answer: PlanAnswer) -> dict[str, Any]:
    """Return heavy metal as plain data."""
    heavy = answer.heavy_metal
    return {
        **picked(
            heavy,
            "needed bob_window_g=window.proven_g confirmed_window_g=window.confirmed_g certificate slug_cost=cost",
        ),
        "reason": reason_words(answer.job, answer.problem, heavy),
        **picked(heavy, "window.bob_g bob_matters=window.matters bob_g_per_piston_g=window.g_per_piston_g"),
        **picked(heavy, "slugs=orders"),
        "retention": [hold_json(hold) for hold in heavy.holds],
    }


def hold_json(hold: SlugHold) -> dict[str, Any]:
    """Return what would hold one slug as plain data."""
    pressed = "centrifugal_force_n fit_mm fit_lost_hot_mm hold_hot_n safety_factor ligament_stress_mpa yield_factor warnings"
    return {
        **picked(hold, "counterweight diameter_mm speed_rpm fit_needed_mm stress_needed_mpa"),
        **picked(hold.retention, pressed),
        **picked(hold, "ring_diameter_mm=ring.diameter_mm ring_ends_at=ring.ends_at"),
        "ligament_mm": neat(hold.ring.ligament_mm(hold.diameter_mm)),
    }
