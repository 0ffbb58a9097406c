"""Random questions with outlines, rims, rows, tilts and oil drillings of every kind, and a solid kernel's walls of a plan.

All sizes are invented.  Walls are measured by the kernel (manifold3d) between bodies: drills, old holes, oil drillings, flanks
as thin plates, faces as blocks; nothing of the project's own geometry takes part but the records.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import manifold3d
import numpy as np

from geometry_profiles import rims, shapes
from geometry_profiles.outline import Outline, OutlineError
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import RIM_CUTS, Counterweight, ExistingHole, OilDrilling
from planner.rotor.vectors import resolve, vector_gmm
from tests.physics.rim_form_solids import drill_solid, integrals, rim_solid

FACETS = 48
SLACK_MM = 0.04
"""What facets of drills may lack of a wall [mm]: bodies of 48 facets lie inside their circles by up to 0.02 mm."""


def with_rim_cuts(problem: CorrectionProblem, seed: int) -> CorrectionProblem:
    """Return the same question where rims may be turned, milled or bevelled too, on some counterweights by nothing else."""
    random = np.random.default_rng(10_000 + seed)
    counterweights = []
    for each in problem.counterweights:
        some = tuple(kind for kind in RIM_CUTS if random.random() < 0.7)
        drilled = random.random() < 0.5 or not some
        counterweights.append(replace(each, cuts=(("rim hole",) if drilled else ()) + some))
    shop = replace(
        problem.shop,
        allow=("rim hole", *RIM_CUTS),
        rim_cut_sectors_deg=(20.0, 40.0, 60.0),
        rim_cut_step_mm=0.1,
        greatest_rim_cut_mm=5.0,
    )
    return replace(problem, counterweights=tuple(counterweights), shop=shop)


def random_question(seed: int) -> CorrectionProblem:
    """Return a question that a few cuts answer, on two to four counterweights with shapes of every kind."""
    random = np.random.default_rng(seed)
    count = int(random.integers(2, 5))
    z = np.linspace(40.0, 420.0, count)
    counterweights = tuple(_counterweight(random, index, float(z[index])) for index in range(count))
    shop = Shop(
        drills_mm=tuple(sorted(float(d) for d in random.choice([8.0, 10.0, 12.0, 14.0], 2, replace=False))),
        allow=("rim hole",),
        angle_step_deg=2.0,
        depth_step_mm=1.0,
        least_wall_mm=float(random.choice([2.0, 3.0])),
        greatest_depth_mm=34.0,
    )
    drillings = []
    if random.random() < 0.5:
        host = counterweights[int(random.integers(count))]
        at = host.angle_deg + random.uniform(-25.0, 25.0)
        drillings.append(
            OilDrilling(
                from_z_mm=host.z_mm - 30.0,
                from_radius_mm=random.uniform(30.0, 45.0),
                from_angle_deg=at,
                to_z_mm=host.z_mm + 30.0,
                to_radius_mm=random.uniform(50.0, 75.0),
                to_angle_deg=at + random.uniform(-8.0, 8.0),
                diameter_mm=6.0,
                clearance_mm=2.5,
            )
        )
    planes = TwoPlanes(60.0, 400.0)
    sources = []
    for each in counterweights[:: max(1, count - 1)]:
        amount = random.uniform(800.0, 2600.0)
        sources.append((each.z_mm, vector_gmm(amount, each.angle_deg + random.uniform(-25.0, 25.0))))
    unbalance = resolve(sources, planes)
    limits = tuple(
        LimitRow(at=side, weight_1=1.0 - row, weight_2=float(row), tolerance_gmm=150.0)
        for row, side in enumerate(("left", "right"))
    )
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes.vectors(unbalance),
        planes_z_mm=planes,
        limits=limits,
        counterweights=counterweights,
        shop=shop,
        density_g_per_cm3=7.85,
        oil_drillings=tuple(drillings),
    )


def _counterweight(random: np.random.Generator, index: int, z: float) -> Counterweight:
    R, inner, t = random.uniform(78.0, 95.0), random.uniform(32.0, 38.0), random.uniform(20.0, 44.0)
    outline = _outline(random, R, inner)
    form = _rim(random, R, t)
    rows: tuple[float, ...] = (0.0,)
    tilt = 0.0
    if form is not None and form.name == "stepped":
        rows = tuple(0.5 * (p.from_mm + p.to_mm) for p in form.pieces)
    elif t > 32.0:
        rows = (-0.25 * t, 0.25 * t)
    elif random.random() < 0.3 and (form is None or form.name != "stepped"):
        tilt = float(random.choice([-6.0, 4.0]))
    angle = random.uniform(0.0, 360.0)
    existing = []
    if random.random() < 0.4:
        existing.append(
            ExistingHole(
                kind="rim hole",
                angle_deg=angle + random.uniform(-20.0, 20.0),
                diameter_mm=9.0,
                depth_shoulder_mm=12.0,
                from_middle_mm=rows[0],
                beside_mm=float(random.choice([0.0, 0.0, 4.0])),
            )
        )
    return Counterweight(
        name="ABCD"[index],
        z_mm=z,
        angle_deg=angle,
        thickness_mm=t,
        outline=outline,
        cuts=("rim hole",),
        existing=tuple(existing),
        rim=form,
        rim_rows_mm=rows,
        rim_hole_tilt_deg=tilt,
    )


def _outline(random: np.random.Generator, R: float, inner: float) -> Outline:
    fan = {"outer_radius_mm": R, "inner_radius_mm": inner, "half_angle_deg": random.uniform(45.0, 65.0)}
    disc = {"outer_radius_mm": R, "inner_radius_mm": inner}
    kind = int(random.integers(7))
    if kind == 0:
        return shapes.fan(**fan)
    if kind == 1:
        return shapes.flanked_fan(
            **{**fan, "half_angle_deg": 42.0}, flank_angle_deg=random.uniform(0.0, 30.0)
        )
    if kind == 2:
        return shapes.flanked_fan(**fan, flank_angle_deg=fan["half_angle_deg"] + 8.0)
    if kind == 3:
        return shapes.stepped_fan(**fan, steps=[(0.75 * R, fan["half_angle_deg"] - 12.0)])
    if kind == 4:
        return shapes.disc(**disc)
    if kind == 5:
        return shapes.trimmed_disc(**disc, flats=[(0.7 * R, 150.0), (0.75 * R, 200.0)])
    return shapes.half_disc(**disc, flat_offset_mm=5.0)


def _rim(random: np.random.Generator, R: float, t: float) -> rims.RimForm | None:
    plain = {"outer_radius_mm": R, "thickness_mm": t}
    kind = int(random.integers(6))
    try:
        if kind == 1:
            return rims.bevelled(**plain, front_width_mm=random.uniform(1.0, 0.4 * t), rear_width_mm=2.0)
        if kind == 2:
            return rims.bevelled(
                **plain,
                front_width_mm=0.5 * t,
                rear_width_mm=0.5 * t,
                front_slope_deg=30.0,
                rear_slope_deg=25.0,
            )
        if kind == 3:
            return rims.tapered(**plain, taper_deg=random.uniform(1.0, 8.0))
        if kind == 4:
            return rims.rounded(
                **plain, front_rounding_mm=0.2 * t, rear_rounding_mm=random.uniform(1.0, 0.3 * t)
            )
        if kind == 5:
            return rims.stepped([(0.55 * t, R), (0.45 * t, R - 7.0)])
    except OutlineError:
        return None
    return None


def broken_walls(problem: CorrectionProblem, cuts: list[Cut]) -> Iterator[str]:
    """Yield every wall of a plan that the solid kernel measures to be too thin."""
    for counterweight in problem.counterweights:
        here = [cut for cut in cuts if cut.counterweight == counterweight.name]
        if here:
            yield from _broken(problem, counterweight, here)


def _broken(problem: CorrectionProblem, cw: Counterweight, cuts: list[Cut]) -> Iterator[str]:
    wall, half = problem.shop.least_wall_mm, 0.5 * cw.thickness_mm
    form = cw.rim_form()
    metal = rim_solid(form, FACETS)
    drills = [
        (
            f"{cut.diameter_mm:g} mm at {cut.angle_deg:g} on {cut.counterweight}",
            (off_rim(cut, cw, 16) if cut.on_rim else _drill(cut, cw, problem)) ^ metal,
        )
        for cut in cuts
    ]
    turned = {number for number, cut in enumerate(cuts) if cut.on_rim}
    around: list[tuple[str, manifold3d.Manifold, float]] = []
    for hole in cw.existing:
        body = drill_solid(
            form,
            FACETS,
            diameter_mm=hole.diameter_mm,
            depth_shoulder_mm=hole.depth_shoulder_mm or 0.0,
            point_angle_deg=hole.point_angle_deg,
            from_middle_mm=hole.from_middle_mm,
            beside_mm=hole.beside_mm,
        ).rotate([0.0, 0.0, hole.angle_deg - cw.angle_deg])
        around.append(("the old hole", body ^ metal, wall))
    for one in problem.oil_drillings:
        around.append(("the oil drilling", _passage(one, cw), one.clearance_mm))
    for index, (start, end) in enumerate(cw.outline.flanks_mm):
        around.append((f"flank {index}", _sheet(start, end, half), wall))
    for number, (name, drill) in enumerate(drills):
        if drill.is_empty():
            yield f"{name} takes nothing"
            continue
        low, high = drill.bounding_box()[2], drill.bounding_box()[5]
        if number not in turned and (low < -half + wall - SLACK_MM or high > half - wall + SLACK_MM):
            yield f"{name}: reaches from {low:.2f} to {high:.2f} along the shaft, the faces are at {half:.2f}"
        points = np.asarray(drill.to_mesh64().vert_properties)[:, :2]
        if float(np.hypot(points[:, 0], points[:, 1]).min()) < cw.outline.inner_radius_mm - SLACK_MM:
            yield f"{name}: below the inner radius"
        for what, body, needed in around:
            gap = drill.min_gap(body, needed + 1.0)
            if gap < needed - SLACK_MM:
                yield f"{name}: {gap:.3f} mm to {what}, {needed:g} needed"
        for other_name, other in drills[:number]:
            gap = drill.min_gap(other, wall + 1.0)
            if gap < wall - SLACK_MM:
                yield f"{name}: {gap:.3f} mm to {other_name}, {wall:g} needed"


def off_rim(cut: Cut, cw: Counterweight, facets: int) -> manifold3d.Manifold:
    """Return the space that a cut of the rim sweeps, wider than the counterweight is thick and higher than its rim.

    A full turn has so many facets; a ring's inner arc lies inside its circle by them.
    """
    form, off = cw.rim_form(), cut.depth_shoulder_mm or 0.0
    top, half_t = form.greatest_radius_mm, 0.5 * cw.thickness_mm
    low, far = top - off, 2.0 * top
    turn = cut.angle_deg - cw.angle_deg
    if cut.kind == "flat":
        box = manifold3d.Manifold.cube([far, 2.0 * far, cw.thickness_mm + 2.0])
        return box.translate([low, -far, -half_t - 1.0]).rotate([0.0, 0.0, turn])
    sector = cut.sector_deg or 0.0
    if cut.kind == "rim turning":
        profile = [(low, -half_t - 1.0), (far, -half_t - 1.0), (far, half_t + 1.0), (low, half_t + 1.0)]
    else:
        fall = math.tan(math.radians(cut.slope_deg or 45.0))
        sign = -1.0 if cut.face == "front" else 1.0
        inner = sign * (half_t - off / fall)
        edge = sign * (half_t + 1.0)
        profile = [(top, inner), (low - fall, edge), (far, edge), (far, inner)]
        if sign > 0.0:
            profile.reverse()
    section = manifold3d.CrossSection([profile], manifold3d.FillRule.NonZero)
    swept = manifold3d.Manifold.revolve(section, facets * 8, sector)
    return swept.rotate([0.0, 0.0, turn - 0.5 * sector])


def _drill(cut: Cut, cw: Counterweight, problem: CorrectionProblem) -> manifold3d.Manifold:
    return drill_solid(
        cw.rim_form(),
        FACETS,
        diameter_mm=cut.diameter_mm + problem.shop.hole_oversize_mm,
        depth_shoulder_mm=cut.depth_shoulder_mm or 0.0,
        point_angle_deg=problem.shop.point_angle_deg,
        from_middle_mm=cut.from_middle_mm,
        beside_mm=cut.beside_mm,
        tilt_deg=cut.tilt_deg,
    ).rotate([0.0, 0.0, cut.angle_deg - cw.angle_deg])


def _passage(one: OilDrilling, cw: Counterweight) -> manifold3d.Manifold:
    ends = []
    for r, angle, z in (
        (one.from_radius_mm, one.from_angle_deg, one.from_z_mm),
        (one.to_radius_mm, one.to_angle_deg, one.to_z_mm),
    ):
        turn = math.radians(angle - cw.angle_deg)
        ends.append(np.array([r * math.cos(turn), r * math.sin(turn), z - cw.z_mm]))
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    side = np.cross(along, [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    up = np.cross(along, side)
    turns = 2.0 * np.pi * np.arange(FACETS) / FACETS
    ring = 0.5 * one.diameter_mm * (np.cos(turns)[:, None] * side + np.sin(turns)[:, None] * up)
    return manifold3d.Manifold.hull_points(np.concatenate([ends[0] + ring, ends[1] + ring]))


def _sheet(start, end, half: float) -> manifold3d.Manifold:  # type: ignore[no-untyped-def]
    """Return a flank as a plate a thousandth of a millimetre thick, from face to face."""
    a, b = np.array(start), np.array(end)
    normal = np.array([-(b - a)[1], (b - a)[0]]) / max(np.linalg.norm(b - a), 1e-9) * 5e-4
    corners = [(*p, s) for p in (a - normal, a + normal, b - normal, b + normal) for s in (-half, half)]
    return manifold3d.Manifold.hull_points(np.array(corners))


def off_by(problem: CorrectionProblem, cut: Cut) -> float:
    """Return how far a rim cut's first moment is from the kernel's, as a share (facets taken out by Richardson's rule)."""
    cw = next(each for each in problem.counterweights if each.name == cut.counterweight)

    def moment(facets: int) -> float:
        body = off_rim(cut, cw, facets) ^ rim_solid(cw.rim_form(), 8 * facets)
        turn = math.radians(cut.angle_deg - cw.angle_deg)
        found = integrals(body)
        return float(found[1] * math.cos(turn) + found[2] * math.sin(turn))

    coarse, fine = moment(48), moment(96)
    kernel = (4.0 * fine - coarse) / 3.0
    effect = effect_of(cut, counterweight=cw, density_g_per_cm3=1000.0, shop=problem.shop)
    return abs(-effect.unbalance_gmm / kernel - 1.0)
