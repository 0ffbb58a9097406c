"""The weights as they are typed: kinds of part with a box each, read into weights; what a box can't be read as is said."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from planner.bench.page import Form
from planner.bench.seen import sections_of
from planner.bench.typed import mass_g, with_point
from planner.engine.matching.match import KindMatch, match_kind
from planner.engine.parts import STANDARD_PARTS, Motion, Part, PartSet, Per, check_fraction, cylinder_order
from planner.errors import BobplanError, InputError
from planner.jobfile.job import Job
from planner.jobfile.plausible import refuse_beyond_reason
from planner.present.pages.match import grams
from planner.quantity import finite_number, from_g
from planner.steps.match import named_throws

_ALIKE_MOSTLY = ("rings", "clips", "bearing_shells", "oil_per_throw")
"""Kinds of which one is weighed as a rule (common practice); a new one starts that way."""

_TITLES = {"rod_small_end": "rod, small end", "rod_big_end": "rod, big end", "pin": "piston pin"}


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of part as boxes.

    ``names`` are the cylinders or throws, ``texts`` what stands in the box of each; with ``alike`` only the first counts, for
    all.  ``masses_g`` is None where a box is empty or can't be read, ``faults`` says why it can't.
    """

    index: int
    name: str
    title: str
    per: Per
    motion: Motion
    names: tuple[str, ...]
    alike: bool
    in_file: bool
    texts: tuple[str, ...]
    masses_g: tuple[float | None, ...]
    faults: tuple[str, ...]

    @property
    def counted(self) -> int:
        """How many of the boxes count."""
        return 1 if self.alike else len(self.names)

    @property
    def missing(self) -> int:
        """How many of the boxes that count have no weight yet."""
        return sum(mass is None for mass in self.masses_g[: self.counted])

    @property
    def started(self) -> bool:
        """Whether anything stands in a box that counts."""
        return any(self.texts[: self.counted])

    @property
    def part(self) -> Part | None:
        """The part, once every weight of it is there."""
        weights = [mass for mass in self.masses_g[: self.counted] if mass is not None]
        if len(weights) < self.counted:
            return None
        return Part(name=self.name, masses_g=tuple(weights), per=self.per, motion=self.motion)


@dataclass(frozen=True, kw_only=True)
class Weights:
    """All that the form of the weights says: the kinds, the share of the reciprocating mass, how equal is equal."""

    kinds: tuple[Kind, ...]
    fraction_text: str
    fraction: float | None
    tolerance_text: str
    tolerance_g: float
    faults: tuple[str, ...]

    @property
    def parts(self) -> PartSet | None:
        """The weights that are whole; None when there are none."""
        whole = tuple(part for kind in self.kinds if (part := kind.part) is not None)
        return PartSet(parts=whole, reciprocating_fraction=self.fraction or 0.0) if whole else None


@dataclass(frozen=True, kw_only=True)
class Beside:
    """What stands beside the boxes of a kind: a word for each, and lines below them."""

    kind: Kind
    words: tuple[str, ...]
    marks: tuple[str, ...]
    lines: tuple[str, ...]
    warnings: tuple[str, ...] = ()


def weights_of(job: Job, form: Form) -> Weights:
    """Return the weights: those of the files, or those of a form that was sent."""
    sent = "weights" in form
    throws = named_throws(job.crankshaft.throws)
    cylinders, throw_names = cylinder_order(throws), tuple(throw.name for throw in throws)
    kinds, faults = [], []
    for index, (part, in_file) in enumerate(_kinds(job)):
        names = throw_names if part.per == "throw" else cylinders
        if sent:
            texts = tuple(form.get(f"w.{part.name}.{place}") for place in range(len(names)))
            alike = form.get(f"alike.{part.name}") == "yes"
        else:
            texts = _texts(job, part, len(names)) if in_file else ("",) * len(names)
            alike = len(part.masses_g) == 1 and (in_file or part.name in _ALIKE_MOSTLY)
        alike = alike or len(names) == 1
        read = [_read(job, part.name, text, name) for text, name in zip(texts, names, strict=True)]
        kind = Kind(
            index=index,
            name=part.name,
            title=_TITLES.get(part.name, part.name.replace("_", " ")),
            per=part.per,
            motion=part.motion,
            names=names,
            alike=alike,
            in_file=in_file,
            texts=texts,
            masses_g=tuple(mass for mass, _ in read),
            faults=tuple(fault for _, fault in read),
        )
        kinds.append(kind)
        faults += [fault for fault in kind.faults[: kind.counted] if fault]
    fraction_text = (
        form.get("fraction")
        if sent
        else _number(0.5 if job.parts is None else job.parts.reciprocating_fraction)
    )
    fraction = tolerance_g = None
    try:
        fraction = read_fraction(fraction_text or "0.5")
    except BobplanError as error:
        faults.append(_said(error))
    try:
        tolerance_g = (
            mass_g(job, form.get("tolerance"), "how equal is equal", least=0.0)
            if form.get("tolerance")
            else None
        )
    except BobplanError as error:
        faults.append(_said(error))
    return Weights(
        kinds=tuple(kinds),
        fraction_text=fraction_text,
        fraction=fraction,
        tolerance_text=form.get("tolerance"),
        tolerance_g=job.match.tolerance_g if tolerance_g is None else tolerance_g,
        faults=tuple(faults),
    )


def boxes_of(job: Job) -> tuple[tuple[str, str], ...]:
    """Return the weights of a job's files as a form would send them; none where there are no weights."""
    if job.parts is None:
        return ()
    weights = weights_of(job, Form())
    found = [("weights", "yes"), ("fraction", weights.fraction_text)]
    for kind in weights.kinds:
        if kind.in_file and kind.alike:
            found.append((f"alike.{kind.name}", "yes"))
        if kind.in_file:
            found += [
                (f"w.{kind.name}.{place}", text) for place, text in enumerate(kind.texts[: kind.counted])
            ]
    return tuple(found)


def read_fraction(text: str) -> float:
    """Return the share of the reciprocating mass: ``0,5``, ``50 %``.

    Raises
    ------
    InputError
        If it is no number from 0 to 1.
    """
    bare = text.strip()
    percent = bare.endswith("%")
    value = finite_number(with_point(bare.rstrip("% "), name="share"), what="share of the reciprocating mass")
    fraction = value / 100.0 if percent else value
    check_fraction(fraction)
    return fraction


def another_part(job: Job, form: Form) -> Part | None:
    """Return a part that is no standard one, as it was typed below the others; None where nothing was.

    Raises
    ------
    InputError
        If it has no name that a file can have, one that is there already, or no weight.
    """
    name = form.get("new_name").casefold().replace(" ", "_")
    if not name and not form.get("new_mass"):
        return None
    if not re.fullmatch(r"[a-z][a-z0-9_-]{0,39}", name) or name == "reciprocating_fraction":
        raise InputError(
            f"another kind of part: given `{form.get('new_name')[:40]}`",
            hint="a name of letters and digits is needed, for example pin_bush",
        )
    if any(part.name == name for part, _ in _kinds(job)):
        raise InputError(f"`{name}` has boxes of its own above", hint="type its weight there")
    per, motion = form.get("new_per"), form.get("new_motion")
    if per not in get_args(Per) or motion not in get_args(Motion):
        raise InputError(
            f"`{name}`: what one is per, and how it moves, is not said", hint="choose both below"
        )
    if not form.get("new_mass"):
        raise InputError(f"`{name}` has no weight", hint="type what every one of them weighs")
    masses_g = (mass_g(job, form.get("new_mass"), name, least=0.0),)
    return Part(name=name, masses_g=masses_g, per=per, motion=motion)  # type: ignore[arg-type]


def beside(job: Job, weights: Weights) -> tuple[Beside, ...]:
    """Return what stands beside every weight: the lightest, what to grind off, what can't be read."""
    return tuple(_beside(job, weights, kind) for kind in weights.kinds)


def ensure_whole(weights: Weights, *, leave_out: bool) -> tuple[str, ...]:
    """Return the kinds of the file that are left out; refuse weights that are not whole.

    Raises
    ------
    InputError
        If a box can't be read, or a kind has weights in some of its boxes only; all of it at once.
    OpenQuestionError
        If all boxes of a kind that the file has are empty and it was not said that it is to be left out.
    """
    from planner.errors import OpenQuestionError

    faults = list(weights.faults)
    for kind in weights.kinds:
        if kind.started and kind.missing and not any(kind.faults[: kind.counted]):
            empty = [name for name, mass in zip(kind.names, kind.masses_g, strict=True) if mass is None]
            noun = "throw" if kind.per == "throw" else "cylinder"
            where = "" if kind.alike else f" of {noun} {', '.join(empty)}"
            faults.append(f"{kind.title}: the weight{where} is missing")
    if faults:
        raise InputError(
            "\n".join(faults),
            hint="nothing was saved; a kind has a weight in every box, or one weight for all, or none at all",
        )
    gone = tuple(kind for kind in weights.kinds if kind.in_file and not kind.started)
    if gone and not leave_out:
        raise OpenQuestionError(
            "\n".join(f"{kind.title}: the file has weights, here the boxes are empty" for kind in gone),
            hint="nothing was saved; to take them out of the bobs, say below that they are left out",
        )
    return tuple(kind.name for kind in gone)


def _kinds(job: Job) -> Iterator[tuple[Part, bool]]:
    """Yield the parts of the job as they stand in its file, then the standard ones that it does not have."""
    own = () if job.parts is None else job.parts.parts
    for part in own:
        yield part, True
    names = {part.name for part in own}
    for name, (per, motion) in STANDARD_PARTS.items():
        if name not in names:
            yield Part(name=name, masses_g=(0.0,), per=per, motion=motion), False


def _texts(job: Job, part: Part, count: int) -> tuple[str, ...]:
    texts = tuple(_number(from_g(mass, job.units.mass)) for mass in part.masses_g)
    return texts if len(texts) == count else texts + ("",) * (count - len(texts))


def _number(value: float) -> str:
    return f"{value:.10g}"


def _read(job: Job, name: str, text: str, whose: str) -> tuple[float | None, str]:
    if not text:
        return None, ""
    try:
        what = f"{_TITLES.get(name, name.replace('_', ' '))} {whose}"
        mass = mass_g(job, text, what, least=0.0)
        refuse_beyond_reason(name, mass, what=what, units=job.units, widened=job.plausible)
        return mass, ""
    except BobplanError as error:
        return None, _said(error)


def _said(error: BobplanError) -> str:
    return error.message + (f"; {error.hint}" if error.hint else "")


def _beside(job: Job, weights: Weights, kind: Kind) -> Beside:
    from planner.present.pages.match import kind_words

    words = [("can't be read" if fault else "") for fault in kind.faults]
    marks = [("bad" if fault else "") for fault in kind.faults]
    faults = tuple(fault for fault in kind.faults[: kind.counted] if fault)
    if kind.alike:
        return Beside(kind=kind, words=tuple(words), marks=tuple(marks), lines=(), warnings=faults)
    places = [place for place, mass in enumerate(kind.masses_g) if mass is not None]
    if not places:
        return Beside(kind=kind, words=tuple(words), marks=tuple(marks), lines=(), warnings=faults)
    names = [kind.names[place] for place in places]
    match = _match(job, weights, kind, names)
    for at, place in enumerate(places):
        off = match.remove_g[at]
        if off:
            words[place], marks[place] = f"take off {grams(job, off)}", "grind"
        elif at == match.lightest:
            words[place], marks[place] = "lightest", "lightest"
        else:
            words[place], marks[place] = "leave", "leave"
    lines = kind_words(job, names, match)
    if kind.missing:
        lines.insert(0, f"so far; {kind.missing} still to weigh")
    return Beside(
        kind=kind,
        words=tuple(words),
        marks=tuple(marks),
        lines=tuple(lines),
        warnings=(*faults, *match.warnings),
    )


def _match(job: Job, weights: Weights, kind: Kind, names: list[str]) -> KindMatch:
    return match_kind(
        kind.name,
        masses_g=[mass for mass in kind.masses_g if mass is not None],
        tolerance_g=weights.tolerance_g,
        greatest_removal_g=job.match.greatest_removal_g.get(kind.name),
        names=names,
    )


def states_bob(job: Job) -> bool:
    """Return whether a file states the wanted bob itself, so that the weights do not say it."""
    if job.bobs_wanted_g is None:
        return False
    if job.parts is None or any(throw.bob_wanted_g is not None for throw in job.crankshaft.throws):
        return True
    return "bobs" in sections_of(job)
