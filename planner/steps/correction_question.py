"""From a job to the question for the planner: which unbalance, which limits, what metal is still there."""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import weakref
from collections import deque
from collections.abc import Mapping, Sequence

import numpy as np

from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut, CutEffect, Shop
from planner.cuts.deepening import hole_to_deepen, same_hole
from planner.cuts.effects import effect_of
from planner.cuts.rim_off import flat_half_angle_deg
from planner.errors import InputError
from planner.frames import ShaftAngle, TwoPlanes
from planner.jobfile.job import Job, MadeCut, StoredPlan
from planner.machine.spin import newest_state
from planner.machine.unbalance import Reading, bob_shift, known_error_sum, mean_reading, mounted_shift
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS, RIM_CUTS, Counterweight, Crankshaft, ExistingHole, KeepOut
from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import limit_rows
from planner.rotor.vectors import ComplexArray, difference_deg, resolve
from planner.steps.trial import spin_number, with_trials


@dataclass(frozen=True, kw_only=True)
class Posed:
    """The question for the planner with everything it was made from.

    ``before_cuts`` is the question before the cuts made since the spin.
    """

    spin_number: int
    state_numbers: tuple[int, ...]
    reading: Reading
    known_error_gmm: ComplexArray
    bob_shift_gmm: ComplexArray
    mounted_shift_gmm: ComplexArray
    made_shift_gmm: ComplexArray
    made: tuple[tuple[MadeCut, CutEffect], ...]
    problem: CorrectionProblem
    before_cuts: CorrectionProblem
    notes: tuple[str, ...]

    @functools.cached_property
    def basis(self) -> str:
        """A fingerprint of the question before the cuts made; it tells whether a stored plan still answers the same one."""
        return _fingerprint(self.before_cuts)

    @property
    def reading_gmm(self) -> TwoPlanes[complex]:
        """What was read in the two planes [g*mm]."""
        return TwoPlanes.vectors(self.reading.vectors_gmm)

    @property
    def not_read_gmm(self) -> ComplexArray:
        """What has to be corrected but is not on the display: bobs, parts, tooling [g*mm]."""
        return self.bob_shift_gmm + self.mounted_shift_gmm - self.known_error_gmm

    def with_unbalance(self, unbalance_gmm: TwoPlanes[complex]) -> Posed:
        """Return the question with other bobs, which bring it to another unbalance [g*mm]."""
        change = unbalance_gmm.plus(self.problem.unbalance_gmm, -1.0)
        return dataclasses.replace(
            self,
            problem=dataclasses.replace(self.problem, unbalance_gmm=unbalance_gmm),
            bob_shift_gmm=self.bob_shift_gmm + np.array(list(change)),
        )


_POSED: deque[tuple[weakref.ref[Job], Posed]] = deque(maxlen=4)
"""The questions of the jobs asked about last: every step of an answer poses the same one again."""


def pose(job: Job) -> Posed:
    """Return the question that the newest spin of a job asks; before the first spin, what its trial runs came to.

    Raises
    ------
    InputError
        If there is no spin, no tolerance, or a tolerance that lacks something (mass, speed).
    """
    # a job never changes: the same one asks the same question
    for asked, posed in tuple(_POSED):
        if asked() is job:
            return posed
    posed = _posed(job)
    _POSED.append((weakref.ref(job), posed))
    return posed


def _posed(job: Job) -> Posed:
    notes: list[str] = []
    job = with_trials(job)
    state = newest_state(job.spins)
    spin = job.spins[state[-1]]
    reading = mean_reading([job.spins[index] for index in state], machine=job.machine)
    wanted = job.bobs_wanted_g
    if wanted is None:
        wanted = spin.bobs_g
        notes.append("the file states no wanted bob mass: the bobs that were on are taken as right")
    bobs = bob_shift(
        throws=job.crankshaft.throws,
        bobs_on_g=spin.bobs_g,
        bobs_wanted_g=wanted,
        planes_z_mm=job.planes_z_mm,
    )
    mounted = mounted_shift(parts=job.mounted, mounted=spin.mounted, planes_z_mm=job.planes_z_mm)
    known = known_error_sum(job.known_errors)
    before_cuts = reading.vectors_gmm - known + bobs + mounted

    number = spin_number(job, state[-1])
    older = [made for made in job.cuts_made if made.after_spin < number]
    newer = [made for made in job.cuts_made if made.after_spin >= number]
    # as the files have it: what was learned from earlier cuts changes no fingerprint
    started = with_made_cuts(job.filed_crankshaft, [made.cut for made in older], shop=job.shop)
    limits = limits_of(job)
    start = _problem(job, started, before_cuts, limits, fixed=job.fixed_cuts)

    bare = [str(entry.number) for entry in job.cuts_made if entry.dial_deg is None]
    if bare:
        notes.append(
            f"cut {', '.join(bare)} {'was' if len(bare) == 1 else 'were'} entered without what was dialled: taken to be at "
            "the angle in the file, whatever [machine] says now"
        )

    made = tuple((entry, made_effect(started, entry, shop=job.shop)) for entry in newer)
    shift = shift_of([(entry.cut, effect) for entry, effect in made], planes_z_mm=job.planes_z_mm)
    now = with_made_cuts(started, [entry.cut for entry in newer], shop=job.shop)
    if job.learned_factor != 1.0:
        now = with_metal(now, job.learned_factor)
        notes.append(
            f"every drilled cut is taken to remove {job.learned_factor:.3f} times what its size says, as learned from "
            "earlier spins"
        )
    pinned = tuple(
        left
        for cut in job.fixed_cuts
        if (left := _left_of_pinned(cut, job.cuts_made, shop=job.shop)) is not None
    )
    return Posed(
        spin_number=number,
        state_numbers=tuple(spin_number(job, index) for index in state),
        reading=reading,
        known_error_gmm=known,
        bob_shift_gmm=bobs,
        mounted_shift_gmm=mounted,
        made_shift_gmm=shift,
        made=made,
        problem=_problem(job, now, before_cuts + shift, limits, fixed=pinned),
        before_cuts=start,
        notes=(*job.notes, *notes),
    )


def stored_answer(job: Job, posed: Posed) -> StoredPlan | None:
    """Return the stored plan where it answers this question; None where there is none that does."""
    stored = job.stored_plan
    answers = stored is not None and stored.after_spin == posed.spin_number and stored.basis == posed.basis
    return stored if answers else None


def metal_of(posed: Posed) -> str:
    """Return a fingerprint of the cuts made since the spin: as many cuts need not be the same cuts."""
    made = [(entry.cut, entry.learned_factor) for entry, _ in posed.made]
    return hashlib.sha256(_plain(made).encode()).hexdigest()[:12]


def limits_of(job: Job) -> tuple[LimitRow, ...]:
    """Return the rows that judge a residual of this job.

    Raises
    ------
    InputError
        If the job has no tolerance.
    """
    if job.tolerance is None:
        raise InputError(
            "the job states no tolerance, a plan needs one to aim at",
            hint='ask the builder and add for example `[tolerance]` with `grade = "G 16"` or `each_side = "0.5 oz*in"`',
        )
    return limit_rows(
        job.tolerance,
        planes_z_mm=job.planes_z_mm,
        bearings_z_mm=job.crankshaft.bearings_z_mm,
        mass_kg=job.crankshaft.mass_kg,
        speed_rpm=job.crankshaft.service_speed_rpm,
        centre_of_mass_z_mm=job.crankshaft.centre_of_mass_or_middle_z_mm,
    )


def counterweight_named(crankshaft: Crankshaft, name: str) -> Counterweight:
    """Return the counterweight of a name.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    try:
        return crankshaft.counterweight(name)
    except KeyError:
        names = ", ".join(f"`{each.name}`" for each in crankshaft.counterweights)
        raise InputError(
            f"there is no counterweight `{name}`", hint=f"the counterweights are {names}"
        ) from None


def effect_on(crankshaft: Crankshaft, cut: Cut, *, shop: Shop) -> CutEffect:
    """Return what a cut does to this crankshaft; errors as of `counterweight_named`."""
    counterweight = counterweight_named(crankshaft, cut.counterweight)
    density = counterweight.density_g_per_cm3 or crankshaft.density_g_per_cm3
    return effect_of(cut, counterweight=counterweight, density_g_per_cm3=density, shop=shop)


def made_effect(crankshaft: Crankshaft, made: MadeCut, *, shop: Shop) -> CutEffect:
    """Return what a cut that was made is taken to do: with what had been learned when it was planned."""
    return effect_on(with_metal(crankshaft, made.learned_factor), made.cut, shop=shop)


def with_metal(crankshaft: Crankshaft, factor: float) -> Crankshaft:
    """Return a crankshaft whose metal is ``factor`` times as heavy: every drilled cut does that much more.

    Slugs keep their own weight, only the metal bored for them follows.
    """
    if factor == 1.0:
        return crankshaft
    counterweights = tuple(
        dataclasses.replace(
            each,
            density_g_per_cm3=None if each.density_g_per_cm3 is None else each.density_g_per_cm3 * factor,
        )
        for each in crankshaft.counterweights
    )
    return dataclasses.replace(
        crankshaft, counterweights=counterweights, density_g_per_cm3=crankshaft.density_g_per_cm3 * factor
    )


def shift_of(cuts: Sequence[tuple[Cut, CutEffect]], *, planes_z_mm: TwoPlanes[float]) -> ComplexArray:
    """Return what cuts change in the two planes [g*mm], shape (2,)."""
    return resolve(
        ((effect.z_mm, effect.vector_gmm(cut.angle_deg)) for cut, effect in cuts),
        planes_z_mm,
    )


def with_made_cuts(crankshaft: Crankshaft, cuts: Sequence[Cut], *, shop: Shop) -> Crankshaft:
    """Return the crankshaft with these cuts in its metal, as obstacles like its old holes."""
    counterweights = {each.name: each for each in crankshaft.counterweights}
    for cut in cuts:
        before = counterweights.get(cut.counterweight)
        if before is not None:
            counterweights[cut.counterweight] = _with_made_cut(before, cut, shop=shop)
    return dataclasses.replace(crankshaft, counterweights=tuple(counterweights.values()))


def same_cut(cut: Cut, other: Cut, *, shop: Shop) -> bool:
    """Return whether two cuts agree within half a step of the shop's grid."""
    # a hair more than half a step, so that exactly half a step (a depth read between two lines) still counts
    slack = 0.5 + 1e-9
    alike = (
        cut.kind == other.kind
        and cut.counterweight == other.counterweight
        and cut.through == other.through
        and abs(cut.diameter_mm - other.diameter_mm) < 1e-6
        and abs(difference_deg(cut.angle_deg, other.angle_deg)) <= slack * shop.angle_step_deg
    )
    return (
        alike
        and _close(
            cut.depth_shoulder_mm,
            other.depth_shoulder_mm,
            slack * (shop.rim_cut_step_mm if cut.on_rim else shop.depth_step_mm),
        )
        and _close(cut.radius_mm, other.radius_mm, slack * shop.slug_radius_step_mm)
        and _close(cut.length_mm, other.length_mm, slack * shop.depth_step_mm)
        and _close(cut.from_depth_mm, other.from_depth_mm, slack * shop.depth_step_mm)
        and _close(cut.sector_deg, other.sector_deg, slack)
    )


def _left_of_pinned(cut: Cut, made: Sequence[MadeCut], *, shop: Shop) -> Cut | None:
    """Return what is left to cut of a pinned cut: all, nothing, or the rest of a hole that a first pass began."""
    if any(same_cut(cut, entry.cut, shop=shop) for entry in made):
        return None
    passes = [entry.cut.depth_shoulder_mm for entry in made if same_hole(entry.cut, cut)]
    deepest = max((depth for depth in passes if depth is not None), default=None)
    if deepest is None or cut.depth_shoulder_mm is None or cut.deepens:
        return cut
    if deepest >= cut.depth_shoulder_mm - (0.5 + 1e-9) * shop.depth_step_mm:
        return None
    return dataclasses.replace(cut, from_depth_mm=deepest)


def _close(one: float | None, other: float | None, within: float) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= within


def _with_made_cut(counterweight: Counterweight, cut: Cut, *, shop: Shop) -> Counterweight:
    if cut.on_rim:
        return _with_rim_cut(counterweight, cut)
    if cut.kind in FILLS:
        existing = tuple(
            dataclasses.replace(
                hole,
                filled_density_g_per_cm3=shop.plug_density_g_per_cm3
                if cut.kind == "plug"
                else shop.slug_density_g_per_cm3,
            )
            if _is_hole_of(hole, cut)
            else hole
            for hole in counterweight.existing
        )
        return dataclasses.replace(counterweight, existing=existing)
    deepened = hole_to_deepen(cut, counterweight, shop=shop)
    if deepened is not None:
        deeper = dataclasses.replace(
            counterweight.existing[deepened],
            depth_shoulder_mm=cut.depth_shoulder_mm,
            diameter_mm=cut.diameter_mm + shop.hole_oversize_mm,
        )
        holes = (*counterweight.existing[:deepened], deeper, *counterweight.existing[deepened + 1 :])
        return dataclasses.replace(counterweight, existing=holes)
    bored = cut.kind == "slug"
    hole = ExistingHole(
        kind="rim hole" if cut.kind == "rim hole" else "face hole",
        angle_deg=cut.angle_deg,
        diameter_mm=cut.diameter_mm if bored else cut.diameter_mm + shop.hole_oversize_mm,
        depth_shoulder_mm=cut.length_mm if bored and not cut.through else cut.depth_shoulder_mm,
        point_angle_deg=shop.point_angle_deg,
        radius_mm=cut.radius_mm,
        through=cut.through,
        face=cut.face,
        filled_density_g_per_cm3=shop.slug_density_g_per_cm3 if bored else None,
        from_middle_mm=cut.from_middle_mm,
        beside_mm=cut.beside_mm,
        tilt_deg=cut.tilt_deg,
    )
    return dataclasses.replace(counterweight, existing=(*counterweight.existing, hole))


def _with_rim_cut(counterweight: Counterweight, cut: Cut) -> Counterweight:
    """Return the counterweight with the rim gone where it was turned or milled: nothing is cut there any more."""
    rim = counterweight.rim_form().greatest_radius_mm
    off = cut.depth_shoulder_mm or 0.0
    half = flat_half_angle_deg(greatest_radius_mm=rim, off_mm=off)
    if cut.sector_deg is not None:
        half = 0.5 * cut.sector_deg
    gone = KeepOut(
        from_angle_deg=ShaftAngle(cut.angle_deg - half),
        to_angle_deg=ShaftAngle(cut.angle_deg + half),
        from_radius_mm=rim - off,
        to_radius_mm=rim,
    )
    return dataclasses.replace(counterweight, keep_outs=(*counterweight.keep_outs, gone))


def _is_hole_of(hole: ExistingHole, cut: Cut) -> bool:
    return (
        hole.kind == "face hole"
        and hole.filled_density_g_per_cm3 is None
        and hole.radius_mm is not None
        and cut.radius_mm is not None
        and abs(hole.radius_mm - cut.radius_mm) < 1e-6
        and abs(difference_deg(hole.angle_deg, cut.angle_deg)) < 1e-6
        and abs(hole.diameter_mm - cut.diameter_mm) < 1e-6
    )


def _problem(
    job: Job,
    crankshaft: Crankshaft,
    unbalance: ComplexArray,
    limits: tuple[LimitRow, ...],
    *,
    fixed: tuple[Cut, ...],
) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes.vectors(unbalance),
        planes_z_mm=job.planes_z_mm,
        limits=limits,
        counterweights=crankshaft.counterweights,
        shop=job.shop,
        density_g_per_cm3=crankshaft.density_g_per_cm3,
        angle_phase_deg=job.machine.angle_phase_deg(job.shop.angle_step_deg),
        fixed=fixed,
        oil_drillings=crankshaft.oil_drillings,
    )


_LATER = (
    *("from_depth_mm", "from_middle_mm", "beside_mm", "tilt_deg"),
    *(
        "rim",
        "rim_rows_mm",
        "rim_hole_tilt_deg",
        "mark",
        "drawn_in",
        "opposite_face_holes",
        "slug_stack",
        "round_keep_outs",
        "from_diameter_mm",
        "enlarge_holes",
        "rim_cut_sectors_deg",
        "rim_cut_step_mm",
        "greatest_rim_cut_mm",
        "bevel_slope_deg",
        "sector_deg",
        "slope_deg",
        "break_outs",
        "plug_density_g_per_cm3",
    ),
)
"""Fields that older files do not know."""


def _fingerprint(problem: CorrectionProblem) -> str:
    if not any(kind in (*RIM_CUTS, "plug") for each in problem.counterweights for kind in each.cuts):
        # older files do not know of them; where no counterweight has them the question is the same
        allow = tuple(kind for kind in problem.shop.allow if kind not in (*RIM_CUTS, "plug"))
        shop = dataclasses.replace(
            problem.shop,
            allow=allow,
            rim_cut_sectors_deg=Shop.rim_cut_sectors_deg,
            rim_cut_step_mm=Shop.rim_cut_step_mm,
            greatest_rim_cut_mm=Shop.greatest_rim_cut_mm,
            bevel_slope_deg=Shop.bevel_slope_deg,
        )
        problem = dataclasses.replace(problem, shop=shop)
    return hashlib.sha256(_plain(problem).encode()).hexdigest()[:12]


def _plain(value: object) -> str:
    """Return a text of a record that is the same on every platform and for every order of a mapping."""
    if isinstance(value, (float, np.floating)):
        return f"{float(value):.9g}"
    if isinstance(value, complex):
        return f"{value.real:.6f},{value.imag:.6f}"
    if isinstance(value, Mapping):
        return "{" + ";".join(f"{_plain(key)}={_plain(value[key])}" for key in sorted(value)) + "}"
    if isinstance(value, (tuple, list)):
        return "(" + ";".join(_plain(item) for item in value) + ")"
    if dataclasses.is_dataclass(value):
        return (
            type(value).__name__
            + "("
            + ";".join(
                f"{field.name}={_plain(getattr(value, field.name))}"
                for field in dataclasses.fields(value)
                # said only where it is something: older files keep their fingerprints
                if not (field.name in _LATER and getattr(value, field.name) == field.default)
            )
            + ")"
        )
    return repr(value)
