"""Heavy metal in words and as plain data: needed or not, what to order, which bobs would do without, what holds it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from planner.cuts.retention import NOT_A_RELEASE
from planner.jobfile.job import Job
from planner.present.numbers import neat
from planner.present.to_json import picked, plain
from planner.present.words import drill_words, length_words
from planner.steps.bob_window import BobWindow
from planner.steps.plan_answer import HeavyMetal, PlanAnswer
from planner.steps.slugs import SlugHold, SlugOrder


def heavy_metal_lines(answer: PlanAnswer) -> list[str]:
    """Return what there is to say of heavy metal."""
    heavy, job = answer.heavy_metal, answer.job
    need = "no answer" if heavy.needed is None else "NEEDED" if heavy.needed else "not needed"
    lines = [f"Heavy metal: {need}; {heavy.reason}."]
    lines += order_lines(job, heavy.orders, heavy.cost)
    lines += hold_lines(job, heavy.holds)
    if heavy.window is not None:
        lines += window_lines(job, heavy.window)
    return lines


def order_lines(job: Job, orders: Iterable[SlugOrder], cost: float | None) -> list[str]:
    """Return what to order."""
    lines = []
    for order in orders:
        each = f"{job.units.text(order.mass_g, 'mass')} each"
        price = "" if order.price is None else f", {order.price:g} each"
        lines.append(
            f"  order: {order.pieces} x {drill_words(job, order.diameter_mm)} x {length_words(job, order.length_mm)} "
            f"({each}{price}) for {', '.join(order.counterweights)}"
        )
    if cost is not None:
        lines.append(f"  slugs together: {cost:g}")
    return lines


def window_lines(job: Job, window: BobWindow) -> list[str]:
    """Return which bob masses drilling alone could balance."""
    return list(_window(job, window))


def _window(job: Job, window: BobWindow) -> Iterator[str]:
    def grams(mass_g: float) -> str:
        return job.units.text(mass_g, "mass")

    if not window.matters:
        yield "Bob window: equal bobs cancel in this crankshaft, their mass changes nothing."
        return
    if window.proven_g is None:
        yield "Bob window: no equal change of the bobs would let drilling alone do it."
        return
    low, high = window.proven_g
    if low <= 0.0:
        yield f"Bob window: drilling alone can't do with bobs above {grams(high)} (proven); wanted are {grams(window.bob_g)}."
    else:
        yield (
            f"Bob window: drilling alone can't do with bobs below {grams(low)} or above {grams(high)} (proven); "
            f"wanted are {grams(window.bob_g)}."
        )
    if window.confirmed_g is not None:
        first, last = window.confirmed_g
        yield (
            f"  confirmed by plans: {grams(first)} to {grams(last)}"
            if last > first
            else f"  confirmed by a plan: {grams(first)}"
        )
    else:
        yield "  not confirmed by a plan"
    for change, word in ((window.too_heavy_g, "lighter"), (window.too_light_g, "heavier")):
        if change > 0.0:
            piston = ""
            if window.g_per_piston_g:
                piston = (
                    f", that is {grams(change / window.g_per_piston_g)} of reciprocating mass on every cylinder "
                    f"(1 g there makes {window.g_per_piston_g:g} g of bob)"
                )
            yield f"  at least {grams(change)} {word} on every throw would be needed{piston}"


def hold_lines(job: Job, holds: Iterable[SlugHold]) -> list[str]:
    """Return what would hold the slugs at service speed."""
    lines = []
    for hold in holds:
        found = hold.retention
        lines.append(
            f"  slug on {hold.counterweight} at {hold.speed_rpm:g} rpm: {found.centrifugal_force_n:,.0f} N outward; press fit "
            f"{_fit(job, found.fit_mm)} holds {found.hold_hot_n:,.0f} N hot, safety factor {found.safety_factor:.1f} (2 from "
            f"{_fit(job, hold.fit_needed_mm)} on, {hold.stress_needed_mpa:.0f} MPa at the bore)"
        )
        lines.append(
            f"    thinnest metal: {job.units.text(hold.ring.ligament_mm(hold.diameter_mm), 'length')} to {hold.ring.ends_at}, "
            f"{found.ligament_stress_mpa:.0f} MPa by fit and pull"
            + ("" if found.yield_factor is None else f", yield is {found.yield_factor:.1f} times that")
        )
        lines += [
            f"  warning: slug on {hold.counterweight}: {warning}"
            for warning in found.warnings
            if warning != NOT_A_RELEASE
        ]
    return [*lines, f"  {NOT_A_RELEASE}"] if lines else []


def _fit(job: Job, fit_mm: float) -> str:
    return f"{fit_mm / 25.4:.5f} in" if job.units.in_inches else f"{fit_mm:.4f} mm"


def heavy_metal_json(heavy: HeavyMetal) -> dict[str, Any]:
    """Return heavy metal as plain data."""
    window = heavy.window
    return {
        **picked(
            heavy, "needed", "reason", "bob_window_g", "confirmed_window_g", "certificate", slug_cost="cost"
        ),
        "bob_g": None if window is None else neat(window.bob_g),
        "bob_matters": None if window is None else window.matters,
        "bob_g_per_piston_g": None if window is None else neat(window.g_per_piston_g),
        "slugs": plain(heavy.orders),
        "retention": [hold_json(hold) for hold in heavy.holds],
    }


def hold_json(hold: SlugHold) -> dict[str, Any]:
    """Return what would hold one slug as plain data."""
    return {
        **picked(hold, "counterweight", "diameter_mm", "speed_rpm", "fit_needed_mm", "stress_needed_mpa"),
        **picked(
            hold.retention,
            "centrifugal_force_n",
            "fit_mm",
            "fit_lost_hot_mm",
            "hold_hot_n",
            "safety_factor",
            "ligament_stress_mpa",
            "yield_factor",
            "warnings",
        ),
        "ring_diameter_mm": neat(hold.ring.diameter_mm),
        "ring_ends_at": hold.ring.ends_at,
        "ligament_mm": neat(hold.ring.ligament_mm(hold.diameter_mm)),
    }
