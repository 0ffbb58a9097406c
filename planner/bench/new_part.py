"""New job: the questions of `start` on one page, each checked as it is typed, the crankshaft growing as one answers."""

from __future__ import annotations

import functools
import hashlib
import itertools
import re
import tempfile
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.responses import Response

from planner.bench.folder import Folder, address
from planner.bench.page import Call, Form, error_words, go, show
from planner.bench.shop_part import MACHINE
from planner.bench.typed import list_with_points, with_point, with_points
from planner.errors import BobplanError, FileFaultsError, InputError
from planner.files import read_bytes
from planner.jobfile.job import Job
from planner.jobfile.new_job.checks import Question, checked
from planner.jobfile.new_job.files import (
    carried_over,
    create_files,
    keep_unfinished,
    last_answers,
    remember_answers,
    unfinished_answers,
    unfinished_path,
    usual_answer,
)
from planner.jobfile.new_job.questions import questions
from planner.jobfile.new_job.sense import check_answer, odd_together
from planner.jobfile.new_job.text import (
    ToMeasure,
    file_texts,
    opposite_throw_deg,
    to_measure,
)
from planner.jobfile.read import loads_job
from planner.jobfile.sources import GREATEST_FILE_BYTES
from planner.present.drawings.begun import Begun, begun_job, begun_of, begun_svgs
from planner.present.words import degrees

# said where questions come one by one
_GOES_BACK = ", or did an answer slip by one? `<` goes back one question"
_MOST_FILES = 100
_MOST_NAME = 60
_NAME = re.compile(r"\w[\w .-]*")
# names that Windows keeps for devices
_TAKEN = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)

GROUPS: tuple[tuple[str, str, str], ...] = (
    ("job", "The job", "Name and units; a finished shop or crankshaft file of the folder to begin from."),
    ("machine", "The balancing machine", "How it counts. Once per shop; what you don't know stays open."),
    ("drills", "Drills", ""),
    (
        "crankshaft",
        "The crankshaft",
        "z is measured along the shaft: 0 at the middle of the front main bearing, positive toward the flange.",
    ),
    (
        "counterweights",
        "Counterweights",
        "One outline for all; holes that are there go into the crankshaft file afterwards.",
    ),
    ("planes", "The machine's reading planes", ""),
    ("parts", "Parts", "Weights; they can also be typed later, under Parts."),
    ("limits", "Tolerance", ""),
    ("mounted", "Damper and flywheel", "Leave it empty where nothing is mounted for balancing."),
    ("record", "For the record", ""),
)
_OF_GROUP: Mapping[str, tuple[str, ...]] = {
    "job": ("title", "units"),
    "drills": ("drills", "depth_to"),
    "counterweights": ("thickness", "outer_radius", "half_angle", "inner_radius"),
    "planes": ("left_plane", "right_plane", "left_radius", "right_radius"),
    "limits": ("tolerance",),
    "mounted": ("damper", "flywheel"),
    "record": ("customer", "crankshaft_number", "date"),
}
_IN_GROUP = {key: group for group, keys in _OF_GROUP.items() for key in keys}
_LABELS: Mapping[str, str] = {
    "layout": "layout of the engine",
    "drills": "drills at hand",
    "angle_marks": "what the angle shown marks",
    "half_angle": "half angle of the fan, or chord LENGTH across its two rim corners",
    "mass": "mass of the crankshaft",
    "speed": "greatest service speed of the engine",
    "depth_to": "the depth stop counts to the drill's",
    "tolerance": "tolerance: a grade (G 16), or an amount each side",
    "damper": "damper or pulley: neutral, or what it carries",
    "flywheel": "flywheel or flexplate: neutral, or what it carries",
    "date": "date",
}
_HOWS: Mapping[str, str] = {
    "layout": "another layout: make its crankshaft file from one of the folder, and begin from that",
    "rod_small_end": "rod level, big end on a free support",
    "rod_big_end": "rod level, small end on a free support",
}
_CHOICES: Mapping[str, Mapping[str, str]] = {
    **{each.key: dict(each.choices) for each in MACHINE},
    "units": {"mm": "millimetres", "in": "inches"},
    "amounts": {"unbalance": "unbalance", "mass": "mass at a radius"},
    "rotation": {"cw": "clockwise", "ccw": "counter-clockwise"},
}
_SHAPES = ("units", "layout", "amounts", "counterweights")
"""Questions whose answer decides which others are asked."""

_POINTED = ("place", "length", "mass", "rotor mass", "speed", "angle", "fraction", "zero")


@dataclass(frozen=True, kw_only=True)
class Box:
    """A question as it is shown: what is typed, what is wrong or asked about it, what it was read as."""

    key: str
    label: str
    text: str
    unit: str
    kind: str
    choices: tuple[tuple[str, str], ...]
    how: str
    wrong: str = ""
    doubts: tuple[str, ...] = ()
    read_as: str = ""
    offer: str = ""


@dataclass(frozen=True, kw_only=True)
class Block:
    """Some boxes that come and go together; ``mark`` changes when other boxes, or other units, are wanted."""

    name: str
    boxes: tuple[Box, ...]

    @property
    def mark(self) -> str:
        """A sum of what stands in it."""
        text = "|".join(f"{each.key}:{each.label}:{each.unit}" for each in self.boxes)
        return hashlib.sha256(text.encode()).hexdigest()[:12]


@dataclass(frozen=True, kw_only=True)
class Group:
    """A step of the page."""

    name: str
    heading: str
    note: str
    blocks: tuple[Block, ...]


@dataclass(kw_only=True)
class Draft:
    """What the answers so far come to: kept answers by key, the questions asked, faults by box, files to be made."""

    folder: Folder
    answers: dict[str, str | None] = field(default_factory=dict)
    asked: list[Question] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)
    wrong: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    file: str = ""
    use_shop: str = ""
    use_crankshaft: str = ""
    job: Path = Path()
    shop: Path = Path()
    crankshaft: Path = Path()

    @property
    def open(self) -> tuple[ToMeasure, ...]:
        """What is still to be measured."""
        return to_measure(self.answers, self.asked)

    @property
    def makes(self) -> tuple[str, ...]:
        """Names of the files that will be made."""
        names = [self.job.name]
        names += [] if self.use_shop else [self.shop.name]
        names += [] if self.use_crankshaft else [self.crankshaft.name]
        return tuple(names)

    def files(self) -> list[tuple[Path, str]]:
        """Return the new files with their texts, the job file last: it never stands there without what it uses."""
        used = ((self.shop, self.use_shop), (self.crankshaft, self.use_crankshaft))
        there = [path for path, named in used if named]
        return file_texts(self.answers, job=self.job, shop=self.shop, crankshaft=self.crankshaft, there=there)

    def tried(self) -> Job:
        """Return the job as it would load; nothing is written into the folder.

        Raises
        ------
        FileFaultsError
            With everything that still keeps it from being one.
        """
        *used, (_, own) = self.files()
        with tempfile.TemporaryDirectory(prefix="bobplan-") as place:
            instead = {}
            for number, (path, text) in enumerate(used):
                there = Path(place) / f"{number}.toml"
                there.write_text(text, encoding="utf-8")
                instead[path.resolve()] = there
            return loads_job(own, folder=self.folder.root, instead=instead)


def new_page(call: Call) -> Response:
    """Return the questions; those of a job that was begun before with what was answered."""
    _ensure_folder(call)
    name = call.query.get("go_on")
    if not name:
        return _page(call, _draft(call.folder, Form()))
    try:
        path = call.folder.root / f"{_checked_name(name)}.toml"
        kept = unfinished_answers(path)
        if not kept:
            raise InputError(f"there is no job `{name[:80]}` that was begun", hint="begin it anew below")
    except InputError as error:
        return _page(call, _draft(call.folder, Form()), error=error)
    pairs = [(key, value or "") for key, value in kept.items()]
    form = Form((*pairs, ("file", name), ("begun", _digest(unfinished_path(path)))))
    return _page(call, _draft(call.folder, form), form=form)


def look(call: Call) -> Response:
    """Return what the answers so far mean: asked for while they are typed; nothing is written."""
    _ensure_folder(call)
    draft = _draft(call.folder, call.form)
    return show(call, "new_look", whole=False, form=call.form, **_content(call, draft))


def make(call: Call) -> Response:
    """Make the files of the job, or keep the answers for later; nothing that is there is ever written over."""
    _ensure_folder(call)
    draft = _draft(call.folder, call.form)
    try:
        if call.form.get("act") == "look":
            return _page(call, draft, form=call.form)
        if call.form.get("act") == "keep":
            return _keep(call, draft)
        return _make(call, draft)
    except BobplanError as error:
        return _page(call, draft, form=call.form, error=error)


def begun_names(folder: Folder) -> tuple[str, ...]:
    """Return the names of new jobs whose answers wait for the rest."""
    if folder.only is not None:
        return ()
    found = sorted(folder.root.glob("*.toml.answers"))[:_MOST_FILES]
    return tuple(each.name.removesuffix(".toml.answers") for each in found if each.is_file())


def _make(call: Call, draft: Draft) -> Response:
    wrong = len(draft.wrong)
    if wrong:
        raise InputError(
            f"{wrong} {'box' if wrong == 1 else 'boxes'} can't be taken as typed: no file was made",
            hint="what is wrong stands beside each, and in the list above the buttons",
        )
    try:
        draft.tried()
    except FileFaultsError as error:
        parts = {each.text.partition(" (")[0] for each in draft.asked if each.path.startswith("parts.")}
        needed = [what for what, _ in _open(draft) if what not in parts]
        lines = "\n".join(needed or [fault.text() for fault in error.faults])
        raise InputError(
            f"the job can't be used yet, no file was made; still needed:\n{lines}",
            hint="answer these, or keep the answers and go on later",
        ) from None
    create_files(draft.files())
    form = call.form
    waiting = unfinished_path(draft.job)
    if form.get("begun") and _digest(waiting) == form.get(
        "begun"
    ):  # those of this job, not of another of its name
        waiting.unlink(missing_ok=True)
    remember_answers(
        draft.answers, draft.crankshaft, of_shop={each.key for each in draft.asked if each.file == "shop"}
    )
    return go(address(draft.job.name))


def _keep(call: Call, draft: Draft) -> Response:
    for key in ("file", "use_shop", "use_crankshaft"):
        if key in draft.wrong:
            raise InputError(draft.wrong[key])
    waiting = unfinished_path(draft.job)
    there = _digest(waiting)
    if there and there != call.form.get("begun"):
        raise InputError(
            f"answers of a job `{draft.file}` wait already, and they are not these",
            hint="give this one another name, or go on with that one from the list of jobs",
        )
    # as it was read, and what can't be taken yet as typed: nothing is lost, and `start` reads it too
    kept: dict[str, str | None] = {
        key: draft.answers.get(key) or text or None for key, text in draft.texts.items()
    }
    kept |= {"use_shop": draft.use_shop or None, "use_crankshaft": draft.use_crankshaft or None}
    keep_unfinished(draft.job, kept)
    return go("/")


def _page(
    call: Call, draft: Draft, *, form: Form | None = None, error: BobplanError | None = None
) -> Response:
    return show(
        call,
        "new",
        status=200 if error is None else 422,
        whole=True,
        shops=_files(call.folder, "shop"),
        crankshafts=_files(call.folder, "crankshaft"),
        form=form or Form(),
        error=None if error is None else error_words(error),
        **_content(call, draft),
    )


def _content(call: Call, draft: Draft) -> dict[str, Any]:
    end, side = begun_svgs(_begun(draft))
    return {
        "groups": _groups(draft),
        "draft": draft,
        "file_box": draft.file,
        "end": end,
        "side": side,
        "open": _open(draft),
        "together": tuple(odd_together(draft.answers)),
        "labels": {each.key: _label(each) for each in draft.asked} | {"file": "name of the job's file"},
    }


def _open(draft: Draft) -> tuple[tuple[str, str], ...]:
    """Return what is still to be measured in the words of the boxes, and how."""
    labels = {each.text.partition(" (")[0]: each for each in draft.asked}
    found = []
    for each in draft.open:
        question = labels.get(each.what)
        found.append(
            (each.what, each.how)
            if question is None
            else (_label(question), _HOWS.get(question.key, each.how))
        )
    return tuple(found)


def _begun(draft: Draft) -> Begun:
    """Return what there is to draw: the whole job where a finished crankshaft is used, else what the answers say."""
    machine = _section(draft.shop, "machine") if draft.use_shop else None
    begun = begun_of(draft.answers, machine=machine)
    if not draft.use_crankshaft:
        return begun
    try:
        return begun_job(draft.tried(), counted=begun.counted)
    except BobplanError:
        return begun


def _section(path: Path, name: str) -> Mapping[str, Any] | None:
    found = _toml(path).get(name)
    return found if isinstance(found, Mapping) else None


def _draft(folder: Folder, form: Form) -> Draft:
    """Return what a form comes to: every answer checked, in the order of the questions."""
    draft = Draft(folder=folder)
    _read_files(draft, form)
    last, _ = last_answers(draft.crankshaft)
    for question in questions(
        draft.answers,
        ask_shop=not draft.use_shop,
        ask_crankshaft=not draft.use_crankshaft,
        opposite_deg=lambda number: opposite_throw_deg(draft.answers, number),
    ):
        key = question.key
        text = form.get(key) if key in form else _usual(draft, question, last)
        draft.asked.append(question)
        draft.texts[key] = text
        draft.answers[key] = "" if key == "title" else None
        if not text:
            continue
        try:
            found = checked(question, _pointed(question, text), draft.answers)
            draft.doubts[key] = check_answer(question, found, draft.answers)
            draft.answers[key] = found
        except InputError as error:
            hint = (error.hint or "").replace(_GOES_BACK, "?")
            said = error.message.removeprefix(f"{question.text}: ").removeprefix(f"{_label(question)}: ")
            draft.wrong[key] = f"{said}{f' ({hint})' if hint else ''}"
    _name_files(draft, form)
    return draft


def _read_files(draft: Draft, form: Form) -> None:
    """Take the finished files to begin from; only those of the folder that are offered."""
    root = draft.folder.root
    for kind, key in (("shop", "use_shop"), ("crankshaft", "use_crankshaft")):
        named = form.get(key)
        if not named:
            continue
        if not _is_offered(draft.folder, kind, named):
            draft.wrong[key] = f"there is no {kind} file `{named[:80]}` in this folder"
            continue
        if kind == "shop":
            draft.use_shop, draft.shop = named, root / named
        else:
            draft.use_crankshaft, draft.crankshaft = named, root / named


def _name_files(draft: Draft, form: Form) -> None:
    root = draft.folder.root
    typed = form.get("file")
    try:
        name = _checked_name(typed) if typed else _free_name(root, draft.answers.get("title") or "")
        draft.file = typed.removesuffix(".toml") if typed else ""
    except InputError as error:
        draft.wrong["file"], draft.file = f"{error.message} ({error.hint})", typed
        name = "job"
    draft.job = root / f"{name}.toml"
    if not draft.use_crankshaft:
        draft.crankshaft = root / f"{name}-crankshaft.toml"
    if not draft.use_shop:
        usual = root / "shop.toml"
        taken = _there(usual) or name.casefold() == "shop"
        draft.shop = root / f"{name}-shop.toml" if taken else usual
    for path, words in ((draft.job, "job"), (draft.crankshaft, "crankshaft")):
        if words == "crankshaft" and draft.use_crankshaft:
            continue
        if "file" not in draft.wrong and _there(path):
            draft.wrong["file"] = (
                f"`{path.name}` is there already, it is not written over (type another name)"
            )


def _there(path: Path) -> bool:
    return path.exists() or path.is_symlink()


def _checked_name(text: str) -> str:
    """Return a name for new files of the folder.

    Raises
    ------
    InputError
        If it could be anything else, or no system takes it.
    """
    name = text.strip().removesuffix(".toml")
    if (
        not _NAME.fullmatch(name)
        or len(name) > _MOST_NAME
        or len(name.encode()) > 2 * _MOST_NAME
        or name.endswith((".", " "))
        or ".." in name
        or _TAKEN.fullmatch(name)
    ):
        raise InputError(
            f"the name of the file: given `{text[:80]}`",
            hint=f"letters, digits, blanks and - _ . are allowed, up to {_MOST_NAME}; no folder",
        )
    return name


def _free_name(root: Path, title: str) -> str:
    """Return a name made of the job's title that no file has yet."""
    plain = re.sub(r"[^\w.-]+", "-", title.casefold()).strip("-._")[:40].strip("-._")
    base = plain if plain and _NAME.fullmatch(plain) and not _TAKEN.fullmatch(plain) else "job"
    for number in range(1, 1000):
        name = base if number == 1 else f"{base}-{number}"
        if not any(_there(root / f"{name}{end}.toml") for end in ("", "-crankshaft")) and not _there(
            root / f"{name}.toml.answers"
        ):
            return name
    return base


def _usual(draft: Draft, question: Question, last: Mapping[str, str]) -> str:
    """Return what a box starts with: what was answered for the shop the last time, else the default."""
    if question.kind == "angle" and question.key.startswith("counterweight_"):
        return ""  # offered beside the box: an angle that nobody looked at is no answer
    return usual_answer(question, carried_over(last, draft.answers.get("units")), draft.answers) or ""


def _pointed(question: Question, text: str) -> str:
    name = _label(question)
    if question.kind in _POINTED:
        return with_point(
            text,
            name=name,
            thousands="likely" if "mass" in question.kind or question.kind == "speed" else "absurd",
        )
    if question.kind in ("lengths", "masses"):
        return list_with_points(text, name=name, one="decimal" if question.kind == "masses" else "unclear")
    if question.kind in ("tolerance", "mounted", "half angle"):
        return with_points(text, name=name)
    return text


def _label(question: Question) -> str:
    return _LABELS.get(question.key, question.text.partition(" (one weight")[0].partition(" (bare")[0])


def _groups(draft: Draft) -> list[Group]:
    by_group: dict[str, list[Question]] = {}
    for question in draft.asked:
        by_group.setdefault(_group_of(question), []).append(question)
    groups = []
    for name, heading, note in GROUPS:
        asked = by_group.get(name, [])
        if asked or name == "job":
            groups.append(
                Group(name=name, heading=heading, note=note, blocks=tuple(_blocks(draft, name, asked)))
            )
    return groups


def _group_of(question: Question) -> str:
    if question.key in _IN_GROUP:
        return _IN_GROUP[question.key]
    if question.key.startswith("counterweight"):
        return "counterweights"
    return {"shop": "machine", "crankshaft": "crankshaft", "job": "parts"}[question.file]


def _blocks(draft: Draft, group: str, asked: Sequence[Question]) -> Iterator[Block]:
    """Yield boxes in blocks: a box that decides about others stands by itself, so that it is never replaced while typed into."""
    waiting: list[Box] = []
    number = 0
    for question in asked:
        box = _box(draft, question)
        if question.key in _SHAPES:
            yield Block(name=f"{group}-{number}", boxes=tuple(waiting))
            yield Block(name=f"{group}-{question.key}", boxes=(box,))
            waiting = []
            number += 1
        else:
            waiting.append(box)
    # the last one always stands there, also empty: what comes later comes there
    yield Block(name=f"{group}-{number}", boxes=tuple(waiting))


def _box(draft: Draft, question: Question) -> Box:
    key = question.key
    inches = draft.answers.get("units") == "in"
    length = "in" if inches else "mm"
    found, text = draft.answers.get(key), draft.texts[key]
    unit = {
        "place": length,
        "length": length,
        "lengths": length,
        "masses": "g",
        "mass": "g",
        "rotor mass": "lb" if inches else "kg",
        "speed": "rpm",
        "angle": "°",
    }.get(question.kind, "")
    offer = ""
    if key.startswith("counterweight_") and question.default and not text:
        offer = question.default
    shown = found if found and found != text and question.kind not in ("text", "date") else ""
    return Box(
        key=key,
        label=_label(question),
        text=text,
        unit=unit,
        kind=question.kind,
        choices=_choices(question),
        how=_HOWS.get(key, question.how),
        wrong=draft.wrong.get(key, ""),
        doubts=draft.doubts.get(key, ()),
        read_as=shown,
        offer=degrees(float(offer)).removesuffix("°") if offer else "",
    )


@functools.cache
def _layouts() -> tuple[tuple[str, str], ...]:
    from planner.engine.layouts import LAYOUTS

    return tuple((each.name, each.name) for each in LAYOUTS)


def _choices(question: Question) -> tuple[tuple[str, str], ...]:
    if question.kind == "layout":
        return _layouts()
    if question.kind == "material":
        from planner.rotor.materials import MATERIALS

        return tuple((each.name, each.name) for each in MATERIALS)
    words = _CHOICES.get(question.key, {})
    return tuple((each, words.get(each, each)) for each in question.choices)


_WANTED = {"shop": ("machine", "shop"), "crankshaft": ("crankshaft", "throws")}


def _files(folder: Folder, kind: str) -> tuple[str, ...]:
    """Return the finished shop or crankshaft files of the folder, as paths below it."""
    found = (
        folder.key_of(path)
        for path, sections in folder.others()
        if any(each in sections for each in _WANTED[kind])
    )
    return tuple(itertools.islice(found, _MOST_FILES))


def _is_offered(folder: Folder, kind: str, key: str) -> bool:
    found = folder.other_of(key)
    return found is not None and any(each in found[1] for each in _WANTED[kind])


def _toml(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(read_bytes(path, greatest_bytes=GREATEST_FILE_BYTES).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(read_bytes(path, greatest_bytes=GREATEST_FILE_BYTES)).hexdigest()[:16]
    except (OSError, ValueError):
        return ""


def _ensure_folder(call: Call) -> None:
    if call.folder.only is not None:
        raise InputError(
            "this page was opened for one job", hint="open it for the folder, and new jobs can be made in it"
        )
