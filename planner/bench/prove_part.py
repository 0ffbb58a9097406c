"""The known-mass walk-through: a spin without the mass, the mass at one place after another, what that proves or mends."""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from starlette.responses import Response

from planner.bench.page import Call, Form, go, refused_on, show_part
from planner.bench.seen import sections_of
from planner.bench.shop_part import MACHINE, file_words, others_using
from planner.bench.spin_part import FIELDS, spin_setting, typed_spin
from planner.bench.typed import with_point
from planner.errors import BobplanError, InputError
from planner.frames import SIDES, ShaftAngle
from planner.jobfile.job import PROVABLE, Job
from planner.jobfile.read import file_of
from planner.jobfile.write import Entries, note_drill_line
from planner.machine.spin import KnownMass, newest_state
from planner.present.document import Document, block, document
from planner.present.drawings.begun import begun_job, side_view_svg
from planner.present.drawings.live import end_view_svg
from planner.present.pages.prove import NAMES, check_parts, explained_words, line_lines, state_block
from planner.present.words import (
    SPIN_CAUTIONS,
    degrees,
    known_place_words,
    length_words,
    mass_words,
    readings_words,
    shown_amount_words,
)
from planner.quantity import finite_number, from_g
from planner.rotor.vectors import wrap_deg
from planner.steps.known_mass import KnownMassCheck, check_known_masses, has_checks, places_of
from planner.steps.prove import (
    LineCheck,
    Place,
    Proposal,
    change_error,
    check_drill_lines,
    ensure_uncut,
    known_mass_at,
    mended_job,
    mended_values,
    named_place,
    offered_places,
    propose,
    proved_settings,
    settings_tested,
)
from planner.steps.write_proof import write_checked

_LABELS = {each.key: each.label for each in MACHINE} | {
    "left": "the left reading plane is at",
    "right": "the right reading plane is at",
    "left_radius": "radius of the left plane's masses",
    "right_radius": "radius of the right plane's masses",
    "display_unit": "unit of the display",
    "amounts": "the display shows",
}
_WORDS = {"ccw": "counter-clockwise", "cw": "clockwise", "mass": "masses at a radius"}

FLY_CAUTION = "Fix the mass so that it can't fly off; guard closed, nobody in line with it."
_PART = "shop/prove"


@dataclass(frozen=True, kw_only=True)
class Mend:
    """A setting that would change: its label, its key, what it is now, what it becomes, in which file."""

    label: str
    key: str
    now: str
    becomes: str
    file: str


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What the check spins prove, or what is wrong.

    ``wrong`` is what is set wrong in one sentence, empty while several things would explain it; ``mends`` what the files
    would be changed to; ``whole_proof`` says that all was tested that a mass can test; ``fresh`` are settings that would be
    written as proved; ``others`` other jobs that use the file.
    """

    heading: str
    good: bool
    settled: bool
    whole: Document
    wrong: str = ""
    mends: tuple[Mend, ...] = ()
    fresh: tuple[str, ...] = ()
    can_write: bool = False
    whole_proof: bool = False
    others: tuple[str, ...] = ()
    lines: tuple[LineCheck, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Placing:
    """Where the mass goes next: in words and as a drawing, and what a form carries of it."""

    number: int
    name: str
    mass: str
    words: str
    how: str
    drawing: str
    side: str
    pairs: tuple[tuple[str, str], ...]


def prove_page(call: Call, *, typed: Form | None = None, error: BobplanError | None = None) -> Response:
    """Return the walk-through at the step where it stands."""
    job = call.job()
    shown = call.shown(job)
    form = typed or Form()
    wish = form if form.get("act") == "reading" else call.query
    needs = _needs_base(job)
    asks_base = bool(needs) or form.get("act") in ("base", "from_spin") or call.query.get("base") == "new"
    verdict, placing = None, None
    readings: tuple[str, ...] = ()
    if has_checks(job):
        try:
            verdict = _verdict(call, job)
        except InputError as trouble:
            error = error or trouble
    if not asks_base:
        try:
            placing = _placing(job, shown, wish)
        except BobplanError as trouble:
            error = error or trouble
            with contextlib.suppress(BobplanError):
                placing = _placing(job, shown, Form())
        readings = tuple(_readings(shown))
    return show_part(
        call,
        "prove",
        job,
        error=error,
        typed=form,
        needs=needs,
        asks_base=asks_base,
        base_words="" if needs else _base_words(shown),
        verdict=verdict,
        placing=placing,
        readings=readings,
        wish=wish,
        places=list(places_of(job)),
        error_words=_error_words(shown),
        state=document(state_block(job, against=None if verdict is None else check_known_masses(job))),
        fly=FLY_CAUTION,
        written=call.query.get("written"),
        cuts_made=bool(job.cuts_made),
        on=(job.details.date or datetime.date.today()).isoformat(),
        by=job.details.operator,
        fresh=call.query.get("fresh"),
        line_typed=form if form.get("act") == "line" else Form(),
        drill_line=job.drill_line,
        **(spin_setting(job, form) | {"cautions": (*SPIN_CAUTIONS,)}),
    )


@refused_on(prove_page)
def act(call: Call) -> Response:
    """Do what a form of the walk-through asks: each writes at once, and the page goes on from the files."""
    what = call.form.get("act")
    if what == "from_spin":  # numbers typed under Spin whose heavy spot is not there
        return prove_page(call, typed=call.form)
    done = {"base": _base, "reading": _reading, "line": _line, "write": _write}
    if what not in done:
        raise InputError("this form does not say what it is for", hint="load the page again")
    return go(call.to(_PART, **done[what](call)))


def _base(call: Call) -> dict[str, str]:
    """Enter a spin without the mass."""
    job = call.job_as_seen()
    spin, _ = typed_spin(job, call.form)
    call.enter(job, Entries(spins=(spin,)))
    return {}


def _reading(call: Call) -> dict[str, str]:
    """Enter what the display showed with the mass on."""
    form, job = call.form, call.job_as_seen()
    ensure_uncut(job)
    missing = [name.replace("_", " ") for name in FIELDS if not form.get(name)]
    if missing:
        raise InputError(f"still missing: {', '.join(missing)}", hint="all four numbers of the display")
    spin, _ = typed_spin(job, form, known_mass=_known(job, form))
    call.enter(job, Entries(spins=(spin,)))
    return {"fresh": "spins"}


def _line(call: Call) -> dict[str, str]:
    """Note what the dial shows with a named place under the drill."""
    form, job = call.form, call.job_as_seen()
    if not has_checks(job) or not check_known_masses(job).settled:
        raise InputError(
            "direction and zero are not settled: a line under the drill says nothing before they are",
            hint="put the known mass on first",
        )
    place = named_place(job, form.get("place"), radius_mm=1.0)
    dial_deg = _angle(form.get("dial"), what="the number on the dial")
    path = file_of(job, "proof")
    call.folder.ensure_inside(path)
    note_drill_line(job, place.name, dial_deg, still=call.still(job))
    return {"fresh": "line"}


def _write(call: Call) -> dict[str, str]:
    """Mend what is set wrong, and write what is proved."""
    form, job = call.form, call.job_as_seen()
    check = check_known_masses(job)
    if not check.settled:
        raise InputError(
            "nothing is settled yet: nothing was written", hint="put the mass at another place first"
        )
    for section in ("machine", "planes", "proof"):
        call.folder.ensure_inside(file_of(job, section))
    try:
        date = datetime.date.fromisoformat(form.get("on"))
    except ValueError:
        raise InputError(f"date: given `{form.get('on')}`", hint="year, month, day: 2026-01-31") from None
    by = form.get("by")
    if len(by) > 200:
        raise InputError("who proved it: the name is too long")
    renewed = [each for each in ("spins", "line") if each in form.get("fresh").split(",")]
    written = write_checked(
        job,
        check,
        _line_checks(job, check),
        renewed=renewed,
        date=date,
        by=by or None,
        still=call.still(job),
    )
    if not written:
        raise InputError("there was nothing to write: all of it stands in the files already")
    return {"written": " and ".join(path.name for path in written)}


def _known(job: Job, form: Form) -> KnownMass:
    """Return the mass and its place as the form says them."""
    mass_g = _mass_g(job, form, [])
    if mass_g is None:
        raise InputError("which mass is on?", hint=f"in {job.units.mass}")
    place = named_place(job, form.get("at"), radius_mm=_radius_mm(job, form))
    pointer = form.get("pointer")
    number = None if not pointer else _angle(pointer, what="the number at the pointer")
    known = known_mass_at(place, mass_g, number_deg=number)
    offset = form.get("offset")
    return (
        known if not offset else dataclasses.replace(known, offset_deg=_angle(offset, what="degrees from it"))
    )


def _radius_mm(job: Job, form: Form) -> float | None:
    radius = form.get("radius")
    if not radius:
        return None
    return job.units.parse(with_point(radius, name="radius"), "length", name="radius", above=0.0)


def _angle(text: str, *, what: str) -> float:
    if not text:
        raise InputError(f"{what}: nothing was typed")
    value = finite_number(with_point(text.removesuffix("°"), name=what), what=what)
    if not -360.0 <= value <= 360.0:
        raise InputError(f"{what}: given `{text}`, allowed -360 to 360 degrees")
    return value


def _needs_base(job: Job) -> str:
    """Return why a spin without the mass is needed first; empty when there is one to compare with."""
    try:
        newest_state(job.spins)
    except InputError:
        return "There is no spin yet: the known mass needs one without it to compare with."
    try:
        ensure_uncut(job)
    except InputError as error:
        return f"{error.message[:1].upper()}{error.message[1:]}."
    return ""


def _base_words(job: Job) -> str:
    state = newest_state(job.spins)
    spin = job.spins[state[-1]]
    mean = f", the mean of {len(state)}" if len(state) > 1 else ""
    return f"spin {state[-1] + 1}{mean}: {readings_words(job, spin.shown)}"


def _since(job: Job) -> list[int]:
    """Return the check spins (0 = first) since the newest spin without the mass."""
    base = newest_state(job.spins)[-1]
    return [index for index in range(base + 1, len(job.spins)) if job.spins[index].known_mass is not None]


def _readings(job: Job) -> Iterator[str]:
    """Yield in words the readings with the mass since the newest spin without it."""
    for index in _since(job):
        spin = job.spins[index]
        known = spin.known_mass
        assert known is not None
        yield (
            f"spin {index + 1}: {mass_words(job, known.mass_g)} {known_place_words(known)}, radius "
            f"{length_words(job, known.radius_mm)}: {readings_words(job, spin.shown)}"
        )


def _placing(job: Job, shown: Job, wish: Form) -> Placing:
    """Return where the mass goes next: at the place that was asked for, else at the first proposed without a reading."""
    done = [job.spins[index].known_mass for index in _since(job)]
    used = {known.at for known in done if known is not None}
    radius_mm = _radius_mm(job, wish)
    mass_g = _mass_g(job, wish, [known for known in done if known is not None])
    at = wish.get("at")
    if not at and len(offered_places(job)) < 2:
        raise InputError(
            "no two places for a mass are known on this crankshaft",
            hint="choose a place and its radius below",
        )
    proposal: Proposal = propose(job, names=(at,) if at else (), mass_g=mass_g, radius_mm=radius_mm)
    place: Place = (
        named_place(job, at, radius_mm=radius_mm)
        if at
        else next((each for each in proposal.places if each.name not in used), proposal.places[-1])
    )
    offset_deg = _angle(wish.get("offset"), what="degrees from it") if wish.get("offset") else 0.0
    # what is still open decides how much mass is enough, so that the second place has the first one's
    mass = mass_words(shown, proposal.mass_g)
    away = f", {degrees(offset_deg)} from it counter-clockwise seen from the front" if offset_deg else ""
    words = (
        f"{mass} at {place.name}{away}, radius {length_words(shown, place.radius_mm)}, z "
        f"{length_words(shown, place.z_mm)}"
    )
    angle = ShaftAngle(wrap_deg(place.angle_deg + offset_deg))
    return Placing(
        number=len(done) + 1,
        name=place.name,
        mass=mass,
        words=words,
        how=place.how,
        drawing=end_view_svg(job, known=(angle, f"{mass} at {place.name}{away}", place.radius_mm)),
        side=side_view_svg(begun_job(job), known_z_mm=place.z_mm),
        pairs=(
            ("at", place.name),
            ("mass", f"{from_g(proposal.mass_g, job.units.mass):.10g}"),
            ("radius", wish.get("radius")),
            ("offset", wish.get("offset")),
        ),
    )


def _mass_g(job: Job, wish: Form, done: list[KnownMass]) -> float | None:
    """Return the mass that was asked for, else the one that was on before; None: as proposed."""
    text = wish.get("mass")
    if text:
        text = with_point(text, name="mass", thousands="likely")
        return job.units.parse(text, "mass", name="mass", above=0.0)
    return done[-1].mass_g if done else None


def _error_words(job: Job) -> str:
    if not job.spins:
        return ""
    errors = " and ".join(
        shown_amount_words(job, side, each) for side, each in zip(SIDES, change_error(job), strict=True)
    )
    return f"A change between two readings is uncertain by {errors} (left, right); the mass shows clearly against that."


def _line_checks(job: Job, check: KnownMassCheck) -> tuple[LineCheck, ...]:
    """Return what the line under the drill says, compared with direction and zero as they are put right."""
    if not check.settled or job.drill_line is None:
        return ()
    try:
        return check_drill_lines(mended_job(job, check.explanations[0]), [job.drill_line])
    except InputError:  # the place is gone from the file
        return ()


def _verdict(call: Call, job: Job) -> Verdict:
    """Return what the newest check spins say; in the job's own units, for a unit may be what is wrong."""
    check = check_known_masses(job)
    lines = _line_checks(job, check)
    tested = settings_tested(check, lines)
    wrong_line = any(each.mended_deg is not None for each in lines)
    whole = document(
        block(
            "",
            line_lines(job, lines),
            check_parts(job, check, tested=tested, commands=False),
        )
    )
    only = check.explanations[0] if check.settled else None
    mended = mended_values(job, only) if only is not None else None
    numbers = [str(each.number) for each in check.spins]
    heading = (
        f"What spin {numbers[0]} with the mass says"
        if len(numbers) == 1
        else f"What spins {', '.join(numbers[:-1])} and {numbers[-1]} with the mass say"
    )
    if mended is None or only is None:
        return Verdict(
            heading=heading,
            good=check.good,
            settled=check.settled,
            whole=whole,
            wrong=explained_words(job, only) if only is not None and not check.good else "",
            lines=lines,
        )
    changes = {section: dict(keys) for section, keys in mended.items()}
    for each in lines:
        if each.mended_deg is not None:
            changes.setdefault("machine", {})["drill_offset"] = each.mended_deg
    stood = proved_settings(job)
    fresh = tuple(NAMES[name] for name in tested if not stood[name])
    wrong = [explained_words(job, only)] if not check.good else []
    wrong += [f"drill_offset: {each.mended_deg:g} fits" for each in lines if each.mended_deg is not None]
    again = bool(call.query.get("fresh")) and bool(tested)
    machine = file_of(job, "machine")
    return Verdict(
        heading=heading,
        good=check.good and not wrong_line,
        settled=True,
        whole=whole,
        wrong=" and ".join(wrong),
        mends=tuple(_mends(call, job, changes)),
        fresh=fresh,
        whole_proof=set(PROVABLE) - {"drill_offset"} <= set(tested),
        can_write=bool(changes) or bool(fresh) or again,
        others=others_using(call, machine) if changes and machine != job.files.job else (),
        lines=lines,
    )


def _mends(call: Call, job: Job, changes: dict[str, dict[str, str | float]]) -> Iterator[Mend]:
    for section, keys in changes.items():
        raw = sections_of(job).raw(section)
        for key, value in keys.items():
            now = raw.get(key) if isinstance(raw, dict) else None
            yield Mend(
                label=_LABELS.get(key, key),
                key=f"{key} under [{section}]",
                now="not said" if now is None else _WORDS.get(str(now), str(now)),
                becomes=_WORDS.get(value, value) if isinstance(value, str) else f"{value:g}",
                file=file_words(call, file_of(job, section)),
            )
