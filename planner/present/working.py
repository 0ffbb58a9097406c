"""The working: each formula with the numbers put in, so that a trainee can follow with a calculator."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.cuts.effects import is_formed
from planner.cuts.rim_hole import rim_hole_first_moment_mm4
from planner.formula import Formula
from planner.formula import working_lines as formula_lines
from planner.machine.spin import newest_state
from planner.present.words import degrees, xy_words
from planner.rotor.vectors import angle_deg, plane_shares, vector_gmm
from planner.steps.plan_answer import PlanAnswer, PlanStep
from planner.steps.trial import spin_number, spin_words


def working_lines(answer: PlanAnswer) -> list[str]:
    """Return the working of a plan, line by line, in mm, g, g*mm and degrees of the crankshaft frame."""
    return [
        "WORKING (mm, g, g*mm; angles counter-clockwise seen from the front; X = U*cos(angle), Y = U*sin(angle))",
        *_readings(answer),
        *_bobs(answer),
        *_mounted(answer),
        *_sum(answer),
        *(line for step in answer.steps for line in _step(answer, step)),
        *_residual(answer),
    ]


def _share(value: float) -> str:
    return f"{value + 0.0 if abs(value) > 5e-5 else 0.0:.4f}"


def _polar(vector: complex) -> str:
    return f"{abs(vector):.1f} at {angle_deg(vector):.2f}"


def _readings(answer: PlanAnswer) -> Iterator[str]:
    job = answer.job
    machine = job.machine
    turn = " + 180" if machine.marks == "light spot" else ""
    sign = "+" if machine.sense > 0 else "-"
    yield ""
    yield (
        f"1. Readings into the crankshaft frame: angle = zero {sign} display{turn}, zero = {degrees(machine.zero_deg)}"
    )
    # check spins with a known mass lie between the spins of a state and are none of them
    for index in newest_state(job.spins):
        for side, shown in job.spins[index].shown.items():
            amount = machine.amount_gmm(shown.amount, side=side)
            how = f"{amount:.1f}"
            if machine.mass_at_radius:
                how = f"{shown.amount:g} g x {machine.radii_mm.at(side):g} mm = {how}"
            angle = machine.heavy_spot_deg(shown.angle_deg)
            yield (
                f"   {spin_words(spin_number(job, index))}, {side}: U = {how}; angle = {machine.zero_deg:g} {sign} "
                f"{shown.angle_deg:g}{turn} = {angle:.2f};  {xy_words(vector_gmm(amount, angle))}"
            )
    if answer.reading_count > 1:
        for side, vector in answer.reading_gmm.items():
            yield f"   mean {side}: {xy_words(vector)}"


def _bobs(answer: PlanAnswer) -> Iterator[str]:
    job = answer.job
    if max(abs(v) for v in answer.bob_shift_gmm) < 1e-9 or job.bobs_wanted_g is None:
        return
    spin = job.spins[answer.spin_number - 1]
    planes = answer.problem.planes_z_mm
    yield ""
    yield "2. Bobs: (wanted - on) x throw radius, at the throw's angle, shared out by the lever rule"
    yield "   share left = (z_right - z)/(z_right - z_left), share right = (z - z_left)/(z_right - z_left)"
    for throw in job.crankshaft.throws:
        wanted, on = job.bobs_wanted_g[throw.name], spin.bobs_g[throw.name]
        moment = (wanted - on) * throw.radius_mm
        left, right = plane_shares(throw.z_mm, planes)
        yield (
            f"   throw {throw.name}: ({wanted:g} - {on:g}) x {throw.radius_mm:g} = {moment:+.1f} at {throw.angle_deg:g}; "
            f"z = {throw.z_mm:g}: left x {_share(left)} = {moment * left:+.1f}, right x {_share(right)} = {moment * right:+.1f}"
        )
    for side, vector in answer.bob_shift_gmm.items():
        yield f"   sum {side}: {xy_words(vector)}"


def _mounted(answer: PlanAnswer) -> Iterator[str]:
    if max(abs(v) for v in answer.mounted_shift_gmm) < 1e-9:
        return
    job = answer.job
    spin = job.spins[answer.spin_number - 1]
    yield ""
    yield "   Mounted parts: in the engine but not on: added; on but not in the engine: subtracted"
    for part in job.mounted:
        sign = int(part.in_engine) - int(part.name in spin.mounted)
        if sign:
            left, right = plane_shares(part.z_mm, answer.problem.planes_z_mm)
            yield (
                f"   {part.name}: {sign * part.unbalance_gmm:+.1f} at {part.angle_deg:g}, z = {part.z_mm:g}: "
                f"left x {_share(left)}, right x {_share(right)}"
            )
    for side, vector in answer.mounted_shift_gmm.items():
        yield f"   sum {side}: {xy_words(vector)}"


def _sum(answer: PlanAnswer) -> Iterator[str]:
    yield ""
    yield "3. To correct = reading - tooling + bobs + mounted parts + cuts made since"
    for side, total in answer.unbalance_gmm.items():
        parts = [answer.reading_gmm.at(side)]
        names = ["reading"]
        for name, pair, sign in (
            ("tooling", answer.known_error_gmm, -1.0),
            ("bobs", answer.bob_shift_gmm, 1.0),
            ("mounted", answer.mounted_shift_gmm, 1.0),
            ("cuts", answer.made_shift_gmm, 1.0),
        ):
            if max(abs(v) for v in pair) > 1e-9:
                parts.append(sign * pair.at(side))
                names.append(name)
        xs = " ".join(f"{part.real:+.1f}" for part in parts)
        ys = " ".join(f"{part.imag:+.1f}" for part in parts)
        yield f"   {side} ({' + '.join(names)}): X = {xs} = {total.real:+.1f};  Y = {ys} = {total.imag:+.1f}"
        yield (
            f"      U = sqrt(X^2 + Y^2) = {abs(total):.1f}; angle = atan2(Y, X) = {angle_deg(total):.2f} (heavy spot)"
        )


def _rim_cut(step: PlanStep, *, density: float) -> Iterator[str]:
    """Show the moment of a cut of the rim by its formula where the rim is plain, else by what was added up."""
    cut, moment = step.cut, -step.effect.unbalance_gmm / density * 1000.0
    rim, off = step.counterweight.rim_form().greatest_radius_mm, cut.depth_shoulder_mm or 0.0
    if step.counterweight.rim is None and cut.kind == "rim turning":
        yield (
            f"   M = 2/3 sin(sector/2) (R^3 - (R - off)^3) t = 2/3 x sin({0.5 * (cut.sector_deg or 0.0):g}) x "
            f"({rim:g}^3 - {rim - off:g}^3) x {step.counterweight.thickness_mm:g} = {moment:.0f} mm4"
        )
    elif step.counterweight.rim is None and cut.kind == "flat":
        yield (
            f"   M = 2/3 (R^2 - (R - off)^2)^(3/2) t = 2/3 x ({rim:g}^2 - {rim - off:g}^2)^1.5 x "
            f"{step.counterweight.thickness_mm:g} = {moment:.0f} mm4"
        )
    else:
        yield f"   M, added up across the thickness: {moment:.0f} mm4"
    yield f"   u = {density:g}/1000 x M = {-step.effect.unbalance_gmm:.1f}"


def _step(answer: PlanAnswer, step: PlanStep) -> Iterator[str]:
    cut, effect = step.cut, step.effect
    shop = answer.problem.shop
    density = answer.problem.density_of(step.counterweight)
    yield ""
    yield f"4.{step.label} Step {step.label}: {cut.kind} on {cut.counterweight}"
    if cut.on_rim:
        yield from _rim_cut(step, density=density)
    elif cut.kind == "rim hole" and cut.depth_shoulder_mm is not None:
        yield from _rim_hole(
            step,
            density=density,
            diameter_mm=cut.diameter_mm + shop.hole_oversize_mm,
            shop_point=shop.point_angle_deg,
        )
    elif cut.kind == "face hole":
        mass = -effect.mass_g
        yield (
            f"   hole of {cut.diameter_mm + shop.hole_oversize_mm:g} at radius r = {cut.radius_mm:g}: mass = "
            f"density x volume = {mass:.2f}; u = mass x r = {mass * (cut.radius_mm or 0.0):.1f}"
        )
    elif effect.slug_mass_g is not None:
        bored = -(effect.bored_mass_g or 0.0)
        yield (
            f"   V = pi/4 x d^2 x L = pi/4 x {cut.diameter_mm:g}^2 x {cut.length_mm or 0.0:g}; slug "
            f"{shop.slug_density_g_per_cm3:g}/1000 x V = {effect.slug_mass_g:.2f}, bored out {bored:.2f}; "
            f"u = ({effect.slug_mass_g:.2f} - {bored:.2f}) x r {cut.radius_mm:g} = {effect.unbalance_gmm:+.1f} (added)"
        )
    left, right = plane_shares(effect.z_mm, answer.problem.planes_z_mm)
    vector = effect.vector_gmm(cut.angle_deg)
    yield (
        f"   change = {effect.unbalance_gmm:+.1f} at {cut.angle_deg:g}: {xy_words(vector)};  z = {effect.z_mm:g}: "
        f"left x {_share(left)}: {xy_words(left * vector)};  right x {_share(right)}: {xy_words(right * vector)}"
    )


def _rim_hole(step: PlanStep, *, density: float, diameter_mm: float, shop_point: float) -> Iterator[str]:
    if is_formed(step.cut, step.counterweight):
        yield from _formed_rim_hole(step, density=density, diameter_mm=diameter_mm, point_deg=shop_point)
        return
    cut, R = step.cut, step.counterweight.outline.rim_radius_mm or 0.0
    moment = -step.effect.unbalance_gmm / density * 1000.0
    holes = [("M", diameter_mm, cut.depth_shoulder_mm or 0.0)]
    if cut.from_depth_mm is not None:  # what is there already is not removed again
        before_mm = diameter_mm if cut.from_diameter_mm is None else cut.from_diameter_mm
        holes = [("M after", *holes[0][1:]), ("M before", before_mm, cut.from_depth_mm)]
    moments = {name: _plain_moment(R, wide, deep, shop_point) for name, wide, deep in holes}
    for name, wide, deep in holes:
        yield from _plain_hole(name, moments[name], R=R, diameter_mm=wide, h=deep, point_deg=shop_point)
    worked = [
        Formula(
            "u",
            "density / 1000 * M",
            {"density": density, "M": moment},
            -step.effect.unbalance_gmm,
            "g*mm",
            "removed",
        )
    ]
    if len(holes) > 1:
        worked.insert(0, Formula("M", "M after - M before", moments, moment, "mm4"))
    yield from (f"   {line}" for line in formula_lines(worked))


def _plain_moment(rim_mm: float, diameter_mm: float, depth_mm: float, point_deg: float) -> float:
    return float(
        rim_hole_first_moment_mm4(
            outer_radius_mm=rim_mm,
            diameter_mm=diameter_mm,
            depth_shoulder_mm=depth_mm,
            point_angle_deg=point_deg,
        )
    )


def _plain_hole(
    name: str, moment: float, *, R: float, diameter_mm: float, h: float, point_deg: float
) -> Iterator[str]:
    """Yield the moment of a hole in a plain rim by its short formula, where the whole mouth is deeper than the rim's curve."""
    a = diameter_mm / 2.0
    c = 0.0 if point_deg >= 180 else a / math.tan(math.radians(point_deg) / 2.0)
    yield f"   R = {R:g}, a = d/2 = {a:g}, h = {h:g} (to the shoulder), c = a/tan({point_deg:g}/2) = {c:.3f}"
    if h < R - math.sqrt(max(R * R - a * a, 0.0)):
        yield f"   {name}, of a hole shallower than the rim's curve, by quadrature = {moment:.0f} mm4"
        return
    symbols = "pi * a^2 * (R * h - h^2 / 2 - a^2 / 8 + c / 3 * (R - h - c / 4))"
    formula = Formula(name, symbols, {"R": R, "a": a, "h": h, "c": c}, moment, "mm4")
    yield from (f"   {line}" for line in formula.lines())


def _formed_rim_hole(
    step: PlanStep, *, density: float, diameter_mm: float, point_deg: float
) -> Iterator[str]:
    """Yield the working of a hole whose moment has no short formula: the plain hole's, and what the rim takes from it."""
    cut, form = step.cut, step.counterweight.rim_form()
    R, h, a = form.radius_mm(cut.from_middle_mm), cut.depth_shoulder_mm or 0.0, diameter_mm / 2.0
    c = 0.0 if point_deg >= 180 else a / math.tan(math.radians(point_deg) / 2.0)
    plain = math.pi * a * a * (R * h - h * h / 2 - a * a / 8 + c / 3 * (R - h - c / 4))
    whole = -step.effect.unbalance_gmm / density * 1000.0
    taken = "" if cut.deepens else f", {100.0 * (whole / plain - 1.0):+.2f} % of the plain hole's {plain:.0f}"
    yield f"   R = {R:g} on the hole's axis, a = d/2 = {a:g}, h = {h:g} (to the shoulder), c = {c:.3f}; {form.name} rim"
    yield f"   M = sum over the columns of the hole from the rim to its bottom, by quadrature = {whole:.0f} mm^4{taken}"
    yield f"   u = density/1000 x M = {density:g}/1000 x {whole:.0f} = {-step.effect.unbalance_gmm:.1f} (removed)"


def _residual(answer: PlanAnswer) -> Iterator[str]:
    yield ""
    yield "5. What remains = to correct + all changes (rounded depths and angles; recomputed by numerical integration)"
    for side, vector in answer.residual_gmm.items():
        yield f"   {side}: {xy_words(vector)} = {_polar(vector)}"
    for row in answer.problem.limits:
        vector = row.seen_gmm(answer.residual_gmm)
        yield (
            f"   {row.at}: {row.weight_1:+.4f} x left {row.weight_2:+.4f} x right = {_polar(vector)}; limit "
            f"{row.tolerance_gmm:.1f}"
        )
