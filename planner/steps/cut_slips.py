"""What can have happened at the drill instead of what was entered: for every cut by itself, and for all of them alike.

=============== =======================================================================================
slip            the hole
=============== =======================================================================================
not made        is not there
other side      lies on the other side of the counterweight's centre line, as far from it
neighbour       is in the counterweight beside, at the same number on the dial or as far from its centre line
depth counted   is as deep to the tip as it should be to the shoulder, or the other way round
other drill     was made with another of the shop's drills, the stop as printed
no offset       lies where the dial's number is without ``drill_offset``
=============== =======================================================================================

A slip that finds no metal there, or that makes no difference, is no slip.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from planner.cuts.cut import Cut
from planner.errors import InputError
from planner.frames import ShaftAngle, TwoPlanes
from planner.jobfile.job import Job, MadeCut
from planner.machine.plane_maps import Matrix, vector_covariance
from planner.machine.what_went_wrong import Kind, Slip
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight
from planner.rotor.drills import drill_size
from planner.rotor.vectors import ComplexArray, difference_deg, plane_shares, vector_gmm, wrap_deg
from planner.steps.correction_question import made_effect, shift_of
from planner.steps.requested_cut import has_metal
from planner.uncertainty.uncertain_cut import uncertain_cut

# a hole that comes out within this many degrees of its place is in its place
_SAME_PLACE_DEG = 1.5
# all holes in the wrong counterweight at once is hard to believe
_ALL_BESIDE = 2.0
_SHALLOW_MM = 0.5
# of many holes in many counterweights so many combinations are looked at
_MOST_GROUPS = 64
_MOST_DOUBLES = 4000


@dataclass(frozen=True)
class _Instead:
    """What was made instead of one cut: a cut, or nothing; and what was taken instead (a counterweight, a drill)."""

    kind: Kind
    cut: Cut | None
    other: str = ""


@dataclass(frozen=True)
class _Done:
    """What a cut does in the planes, and how sure that is."""

    change_gmm: ComplexArray
    covariance_gmm2: Matrix


def cuts_between(job: Job, spin_before: int) -> tuple[MadeCut, ...]:
    """Return the cuts made since a spin (1 = first, 0 = the trial runs)."""
    return tuple(made for made in job.cuts_made if made.after_spin >= spin_before)


def cuts_covariance(job: Job, cuts: Sequence[MadeCut]) -> Matrix:
    """Return the covariance of what cuts do in the two planes [(g*mm)^2], every cut with its own errors."""
    return np.asarray(sum((_done(job, made).covariance_gmm2 for made in cuts), np.zeros((4, 4))))


def possible_slips(job: Job, cuts: Sequence[MadeCut], *, foretold_gmm: ComplexArray) -> tuple[Slip, ...]:
    """Return what can have happened instead of these cuts.

    Parameters
    ----------
    job : Job
        Gives crankshaft, shop, machine and errors.
    cuts : sequence of MadeCut
        The cuts as entered.
    foretold_gmm : ndarray of complex, shape (2,)
        What they were foretold to change, changed bobs included [g*mm].
    """
    work = _Work(job, cuts, foretold_gmm)
    groups = [{place: one} for place, each in enumerate(work.instead) for one in each]
    if len(cuts) > 1:
        groups += _alike(work.instead)
    return tuple(slip for slip in map(work.slip, groups) if slip is not None)


def double_slips(job: Job, cuts: Sequence[MadeCut], *, foretold_gmm: ComplexArray) -> tuple[Slip, ...]:
    """Return what can have happened where two of these cuts slipped, each in its own way (see `possible_slips`)."""
    work = _Work(job, cuts, foretold_gmm)
    groups = (
        {first: one, second: other}
        for first, second in itertools.combinations(range(len(cuts)), 2)
        for one, other in itertools.product(work.instead[first], work.instead[second])
    )
    looked_at = map(work.slip, itertools.islice(groups, _MOST_DOUBLES))
    return tuple(slip for slip in looked_at if slip is not None)


def _alike(instead: Sequence[Sequence[_Instead]]) -> Iterator[dict[int, _Instead]]:
    """Yield the same slip for all cuts that can have it, where those are more than one."""
    seen: set[tuple[Kind, str]] = set()
    for each in instead:
        for one in each:
            # another drill is the same drill for all; what is beside differs from cut to cut
            key = (one.kind, one.other if one.kind == "other drill" else "")
            if key in seen:
                continue
            seen.add(key)
            choices = [
                [(place, o) for o in options if o.kind == key[0] and key[1] in ("", o.other)]
                for place, options in enumerate(instead)
            ]
            choices = [each for each in choices if each]
            if len(choices) > 1:
                # only what lies beside leaves a choice: each combination is its own explanation
                yield from (
                    dict(group) for group in itertools.islice(itertools.product(*choices), _MOST_GROUPS)
                )


class _Work:
    """The cuts as entered, what can have been made instead of each, and what each of those does (worked out once)."""

    def __init__(self, job: Job, cuts: Sequence[MadeCut], foretold_gmm: ComplexArray) -> None:
        self.job, self.cuts, self.foretold_gmm = job, cuts, foretold_gmm
        self.entered = [_done(job, made) for made in cuts]
        self.instead = [list(_instead(job, made)) for made in cuts]
        self._made: dict[tuple[int, Cut], _Done | None] = {}

    def slip(self, instead: dict[int, _Instead]) -> Slip | None:
        """Return what happened where these were made instead; None where such a hole can't be made."""
        change = np.array(self.foretold_gmm, dtype=np.complex128)
        covariance = np.zeros((4, 4))
        for place, done in enumerate(self.entered):
            if place not in instead:
                covariance += done.covariance_gmm2
                continue
            change -= done.change_gmm
            cut = instead[place].cut
            if cut is None:
                continue
            really = self._really(place, cut)
            if really is None:
                return None
            change += really.change_gmm
            covariance += really.covariance_gmm2
        kind, other = next((each.kind, each.other) for each in instead.values())
        return Slip(
            kind=kind,
            each=tuple((place, one.kind, one.other) for place, one in sorted(instead.items())),
            cuts=tuple(sorted(instead)),
            words=_words(self.job, self.cuts, instead),
            change_gmm=TwoPlanes.vectors(change),
            covariance_gmm2=covariance,
            other=other,
            penalty=_ALL_BESIDE if kind == "neighbour" and len(instead) > 1 else 0.0,
        )

    def _really(self, place: int, cut: Cut) -> _Done | None:
        if (place, cut) not in self._made:
            try:
                done = _done(self.job, dataclasses.replace(self.cuts[place], cut=cut))
            except InputError:  # no such hole can be made there
                done = None
            self._made[place, cut] = done
        return self._made[place, cut]


def _done(job: Job, made: MadeCut) -> _Done:
    errors = job.errors
    counterweight = job.filed_crankshaft.counterweight(made.cut.counterweight)
    density = counterweight.density_g_per_cm3 or job.filed_crankshaft.density_g_per_cm3
    change = shift_of(
        [(made.cut, made_effect(job.filed_crankshaft, made, shop=job.shop))], planes_z_mm=job.planes_z_mm
    )
    developed = made.cut
    if developed.depth_shoulder_mm is not None and developed.depth_shoulder_mm < _SHALLOW_MM:
        # errors of where only the point has entered are those of the least hole
        developed = dataclasses.replace(developed, depth_shoulder_mm=_SHALLOW_MM)
    cut = uncertain_cut(developed, counterweight=counterweight, density_g_per_cm3=density, shop=job.shop)
    along = math.sqrt(
        (cut.per_depth_gmm_per_mm * errors.depth_mm) ** 2
        + (cut.per_diameter_gmm_per_mm * errors.diameter_mm) ** 2
        + (cut.per_radius_gmm_per_mm * errors.radius_mm) ** 2
        + (cut.amount_gmm * errors.density_percent / 100.0) ** 2
    )
    return _Done(
        change,
        vector_covariance(
            vector_gmm(1.0, cut.angle_deg),
            plane_shares(cut.z_mm, job.planes_z_mm),
            along_gmm=along,
            across_gmm=abs(cut.amount_gmm) * math.radians(errors.angle_deg),
        ),
    )


def _instead(job: Job, made: MadeCut) -> Iterator[_Instead]:
    """Yield what can have been made instead of one cut."""
    cut = made.cut
    own = job.crankshaft.counterweight(cut.counterweight)
    yield _Instead("not made", None)
    if cut.kind in ("rim hole", "face hole", "slug") and not cut.deepens:
        beside_deg = difference_deg(cut.angle_deg, own.angle_deg)
        elsewhere = [_Instead("other side", _at(cut, own.angle_deg - beside_deg))]
        elsewhere += [
            _Instead("neighbour", _at(cut, angle, other), other.name)
            for other in _beside(job, own)
            for angle in (cut.angle_deg, other.angle_deg + beside_deg)
        ]
        elsewhere.append(
            _Instead("no offset", _at(cut, job.machine.dialled_without_offset_deg(cut.angle_deg)))
        )
        for each in elsewhere:
            if each.cut is not None and _is_elsewhere(cut, each.cut):
                there = job.crankshaft.counterweight(each.cut.counterweight)
                if has_metal(each.cut, there):
                    yield each
    if cut.kind in ("rim hole", "face hole") and not cut.through and cut.depth_shoulder_mm is not None:
        cone = job.shop.cone_height_mm(cut.diameter_mm)
        counted = cone if job.shop.depth_to == "tip" else -cone
        if cone > 0.0:
            yield from _drilled(_Instead("depth counted", _deep(cut, cut.depth_shoulder_mm + counted)))
    if cut.kind in ("rim hole", "face hole") and not cut.deepens:
        for drill in job.shop.drills_mm:
            if abs(drill - cut.diameter_mm) < 1e-6:
                continue
            # the stop stays as printed; counted to the tip the shoulder lies as the drill's own cone has it
            depth = cut.depth_shoulder_mm
            if depth is not None:
                stop = job.shop.stop_mm(depth_shoulder_mm=depth, diameter_mm=cut.diameter_mm)
                depth = job.shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=drill)
            changed = dataclasses.replace(_deep(cut, depth), diameter_mm=drill)
            yield from _drilled(
                _Instead("other drill", changed, drill_size(drill, job.units, job.drill_names))
            )


def _drilled(instead: _Instead) -> Iterator[_Instead]:
    """Yield a hole of another depth; nothing where an older hole reaches as deep.

    Counted to the tip a small depth may be less than the cone is high: then only the drill's point has entered.
    """
    cut = instead.cut
    if cut is not None and (cut.from_depth_mm is None or (cut.depth_shoulder_mm or 0.0) > cut.from_depth_mm):
        yield instead


def _deep(cut: Cut, depth_mm: float | None) -> Cut:
    return dataclasses.replace(cut, depth_shoulder_mm=depth_mm)


def _at(cut: Cut, angle_deg: float, counterweight: Counterweight | None = None) -> Cut:
    moved = dataclasses.replace(cut, angle_deg=ShaftAngle(wrap_deg(angle_deg)))
    if counterweight is None:
        return moved
    length = cut.length_mm
    if cut.through and length is not None:
        # a slug through a thinner counterweight is dressed flush
        length = min(length, counterweight.thickness_mm)
    return dataclasses.replace(moved, counterweight=counterweight.name, length_mm=length)


def _is_elsewhere(cut: Cut, other: Cut) -> bool:
    return (
        cut.counterweight != other.counterweight
        or abs(difference_deg(cut.angle_deg, other.angle_deg)) > _SAME_PLACE_DEG
    )


def _beside(job: Job, own: Counterweight) -> list[Counterweight]:
    """Return the next counterweight on either side along the shaft."""
    others = [each for each in job.crankshaft.counterweights if each.name != own.name]
    before = [each for each in others if each.z_mm <= own.z_mm]
    after = [each for each in others if each.z_mm > own.z_mm]
    return [
        *([max(before, key=lambda each: each.z_mm)] if before else []),
        *([min(after, key=lambda each: each.z_mm)] if after else []),
    ]


def _words(job: Job, cuts: Sequence[MadeCut], instead: dict[int, _Instead]) -> str:
    holes = [cuts[place].cut for place in sorted(instead)]
    one = next(iter(instead.values()))
    kind = one.kind
    if any(each.kind != kind for each in instead.values()) or 1 < len(holes) < len(cuts):
        return " and ".join(_words(job, cuts, {place: each}) for place, each in sorted(instead.items()))
    alone = len(holes) == 1
    if alone:
        what = hole_words(job, cuts, next(iter(instead)))
    else:
        count = (
            "both" if len(cuts) == 2 else f"all {len(cuts)}" if len(holes) == len(cuts) else f"{len(holes)}"
        )
        what = (
            f"{count} cuts"
            if any(cut.kind != holes[0].kind for cut in holes)
            else f"{count} {holes[0].kind}s"
        )
    was = "was" if alone else "were"
    beside = " and ".join(dict.fromkeys(each.other for each in instead.values()))
    happened: dict[str, str] = {
        "not made": f"{was} not made",
        "other side": "is on the wrong side of the counterweight's centre line"
        if alone
        else "are on the wrong side of their counterweights' centre lines",
        "neighbour": f"is in counterweight {one.other} instead"
        if alone
        else f"are in the counterweights beside ({beside})",
        "depth counted": f"{was} drilled to {'its depth' if alone else 'their depths'} {_counted(job)}",
        "other drill": f"{was} made with the {one.other} drill",
        "no offset": f"{was} dialled without the drill's offset",
    }
    return f"{what} {happened[kind]}"


def _counted(job: Job) -> str:
    other = "tip" if job.shop.depth_to == "shoulder" else "shoulder"
    return f"counted to the {other} instead of the {job.shop.depth_to}"


def hole_words(job: Job, cuts: Sequence[MadeCut], place: int) -> str:
    """Return which hole of those made is meant: by its counterweight, by its dial number where that has several."""
    cut = cuts[place].cut
    alone = sum(each.cut.counterweight == cut.counterweight for each in cuts) == 1
    dial = "" if alone else f" at {job.machine.dial_deg(cut.angle_deg):g} on the dial"
    return f"the {cut.kind} on {cut.counterweight}{dial}"
