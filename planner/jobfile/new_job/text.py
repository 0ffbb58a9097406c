"""The texts of new shop, crankshaft and job files: what is known filled in, the rest commented out and listed."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from importlib import resources
from pathlib import Path

from planner.engine.layouts import Layout, layout
from planner.jobfile.new_job.checks import Answers, File, Kind, Question, mounted_part, units_of
from planner.jobfile.new_job.questions import (
    all_questions,
    counterweight_name,
    counterweight_questions,
    question_of,
)
from planner.records import dataclass
from planner.rotor.vectors import wrap_deg

OPEN = "STILL OPEN"
"""Stands in every line that waits for a measurement."""

_BARE = re.compile(r"[-+]?\d+(\.\d+)?")


@dataclass(frozen=True, kw_only=True)
class ToMeasure:
    """Something that is not known yet: in which file, where there, what and how it is found out."""

    file: File
    path: str
    what: str
    how: str


def to_measure(answers: Answers, asked: Sequence[Question]) -> tuple[ToMeasure, ...]:
    """Return what was asked and not answered, each place once, in the order of the questions."""
    found: dict[tuple[str, str], ToMeasure] = {}
    for question in asked:
        if answers.get(question.key) is None and not question.optional:
            what = question.text.partition(" (")[0]
            if question.key.startswith("counterweight_"):
                what = (
                    "z of every counterweight"
                    if question.key.endswith("_z")
                    else "angle of every counterweight"
                )
            key = (question.path, question.how)
            found.setdefault(
                key, ToMeasure(file=question.file, path=question.path, what=what, how=question.how)
            )
    return tuple(found.values())


def toml_value(text: str) -> str:
    """Return an answer as a TOML value: a bare number stays one, everything else is a text."""
    if _BARE.fullmatch(text):
        # TOML has no leading zeros
        sign = "-" if text.startswith("-") else ""
        whole, point, rest = text.lstrip("+-").partition(".")
        return f"{sign}{whole.lstrip('0') or '0'}{point}{rest}"
    return _text(text)


def _list(text: str) -> str:
    values = [toml_value(each.strip()) for each in text.split(",")]
    return values[0] if len(values) == 1 else f"[{', '.join(values)}]"


def _line(key: str, value: str | None, comment: str = "", *, how: str = "") -> str:
    """Return ``key = value  # comment``, commented out when there is no value yet."""
    if value is None:
        text = f"# {key} ="
        comment = f"{OPEN}: {how or comment}"
    else:
        text = f"{key} = {value}"
    return f"{text:<31} # {comment}" if comment else text


def _asked(answers: Answers, key: str) -> str:
    """Return the line of an answer, or what stands for it while it is open."""
    question = question_of(key)
    answer = answers.get(key)
    if (answer is None and question.blank) or (answer == "" and question.blank):
        return question.blank
    value = None if answer is None else _VALUES.get(question.kind, toml_value)(answer)
    how = f"{question.comment}; {question.how}" if question.kind == "masses" else question.how
    return _line(question.name or key, value, question.comment, how=how)


def _zero(text: str) -> str:
    return _text(text) if text.startswith("throw ") else toml_value(f"{float(text):g}")


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


_VALUES: dict[Kind, Callable[[str], str]] = {
    "text": _text,
    "date": str,
    "zero": _zero,
    "masses": _list,
    "lengths": lambda text: f"[{', '.join(toml_value(each.strip()) for each in text.split(','))}]",
}


def _filled(name: str, answers: Answers, blocks: Mapping[str, Sequence[str]]) -> str:
    """Return a file from its template: a line ``@name`` is a block of lines, or the line of an answer."""
    template = resources.files("planner.jobfile.new_job").joinpath("templates", f"{name}.toml")
    lines: list[str] = []
    for line in template.read_text(encoding="utf-8").splitlines():
        key = line.removeprefix("@")
        if key == line:
            lines.append(line)
        elif key in blocks:
            lines += blocks[key]
        else:
            lines.append(_asked(answers, key))
    return "\n".join(lines).rstrip("\n") + "\n"


def _units(answers: Answers) -> list[str]:
    units = units_of(answers)
    return [
        '[units]                         # of bare numbers; a text carries its own: "3.48 in", "24.1 kg"',
        f'length = "{units.length}"',
        f'mass = "{units.mass}"',
        f'unbalance = "{units.unbalance}"',
    ]


def shop_text(answers: Answers) -> str:
    """Return the shop file: machine and drills, once per shop."""
    return _filled("shop", answers, {"units": _units(answers)})


def crankshaft_text(answers: Answers) -> str:
    """Return the crankshaft file: throws of the layout, counterweights, planes; once per crankshaft type."""
    rotation = answers.get("rotation") or "cw"
    name = answers.get("layout")
    found = None if name is None else layout(name)
    first = 0.0 if found is None else throw_angle_deg(found, 0, rotation)
    return _filled(
        "crankshaft",
        answers,
        {
            "first_throw": [f"# stands at {first:g}."],
            "units": _units(answers),
            "engine": [] if found is None else _engine(found, rotation),
            "planes": _planes(answers),
            "throws": _no_throws() if found is None else _throws(found, answers, rotation),
            "counterweights": _counterweights(answers),
            "mounted": _mounted(answers),
        },
    )


def _engine(found: Layout, rotation: str) -> list[str]:
    order = ", ".join(f'"{each}"' for each in found.firing_order)
    return [
        "[engine]",
        f"layout = {toml_value(found.name)}",
        f'rotation = "{rotation}"'.ljust(32) + "# as seen from the front",
        f"firing_order = [{order}]",
        "# cylinders are numbered from the front, of a pair the one of bank A (further on in the direction of",
        "# rotation) first; where the maker numbers them in another way, change firing_order and the throws' cylinders",
        "",
    ]


def _mounted(answers: Answers) -> list[str]:
    lines: list[str] = []
    units = units_of(answers)
    for name in ("damper", "flywheel"):
        answer = answers.get(name)
        part = None if answer is None else mounted_part(answer, units)
        if part is not None:
            amount, angle, z = part
            lines += [
                "[[mounted]]",
                f'name = "{name}"',
                f"z = {toml_value(z)}",
                f"unbalance = {toml_value(amount)}".ljust(32) + "# that it carries in the engine",
                f"angle = {toml_value(angle)}",
                "in_engine = true".ljust(32) + "# `mounted` of a spin says whether it was on there",
                "",
            ]
        elif answer is not None:
            lines += [f"# the {name} is neutral", ""]
    return lines


def _planes(answers: Answers) -> list[str]:
    keys = ["left_plane", "right_plane"]
    if answers.get("amounts") == "mass":
        keys += ["left_radius", "right_radius"]
    known = any(answers.get(key) is not None for key in keys)
    head = "[planes]                        # the machine's two reading planes; left may be the rear one"
    lines = [head if known else f"# {head}"]
    return lines + [_asked(answers, key) for key in keys]


def _no_throws() -> list[str]:
    return [
        f"# {OPEN}: the throws, one block for each (a split pin is two throws)",
        "# [[throws]]",
        '# name = "1"',
        "# angle = 0",
        "# z = 95",
        "# radius = 44.2",
        "# rods = 2",
        '# cylinders = ["1", "5"]',
        "",
    ]


def throw_angle_deg(found: Layout, index: int, rotation: str) -> float:
    """Return the angle of a layout's throw in the file's frame: counter-clockwise seen from the front [deg].

    Layouts count in the direction of rotation, which is clockwise for most engines.
    """
    angle = found.throws[index].angle_deg
    return wrap_deg(angle if rotation == "ccw" else -angle)


def opposite_throw_deg(answers: Answers, number: int) -> float | None:
    """Return the angle opposite the throw nearest to a counterweight (0 = first) [deg], None when throws are not known."""
    name = answers.get("layout")
    if name is None:
        return None
    found = layout(name)
    units = units_of(answers)
    z, first = answers.get(f"counterweight_{number + 1}_z"), answers.get("first_throw_z")
    spacing = answers.get("spacing")
    if z is None or first is None or (spacing is None and len(found.throws) > 1):
        return None
    step = 0.0 if spacing is None else units.parse(spacing, "length")
    start = units.parse(first, "length")
    here = units.parse(z, "length")
    places = [start + (throw.z - found.throws[0].z) * step for throw in found.throws]
    nearest = min(range(len(places)), key=lambda index: abs(places[index] - here))
    return (throw_angle_deg(found, nearest, answers.get("rotation") or "cw") + 180.0) % 360.0


def _throws(found: Layout, answers: Answers, rotation: str) -> list[str]:
    sense = "as it is" if rotation == "ccw" else "with the other sign, because the engine turns clockwise"
    lines = [
        "# The throws of the layout, front to rear. It counts angles in the direction of rotation: here they stand",
        f"# {sense}.",
    ]
    for index, throw in enumerate(found.throws):
        cylinders = ", ".join(f'"{each}"' for each in throw.cylinders)
        lines += [
            "[[throws]]",
            f'name = "{index + 1}"',
            f"angle = {throw_angle_deg(found, index, rotation):g}",
            _line("z", _throw_z(found, index, answers), how=question_of("first_throw_z").how),
            _asked(answers, "radius"),
            f"rods = {len(throw.cylinders)}",
            f"cylinders = [{cylinders}]",
            "",
        ]
    return lines


def _throw_z(found: Layout, index: int, answers: Answers) -> str | None:
    first, spacing = answers.get("first_throw_z"), answers.get("spacing")
    steps = found.throws[index].z - found.throws[0].z
    if first is None:
        return None
    if steps == 0.0:
        return toml_value(first)
    if spacing is None:
        return None
    units = units_of(answers)
    z_mm = units.parse(first, "length") + steps * units.parse(spacing, "length")
    text = units.text(z_mm, "length", digits=4 if units.in_inches else 3, with_unit=False)
    return text.rstrip("0").rstrip(".")


def _counterweights(answers: Answers) -> list[str]:
    count = int(answers.get("counterweights") or 0)
    if not count:
        lines = [f"# {OPEN}: the counterweights, one block for each"]
        return lines + [f"# {each}" for each in _counterweight(answers, None)] + [""]
    lines = [
        '# One outline for all; give those that differ their own. cuts = ["rim hole", "slug"] allows only these.',
        '# Holes and drillings that are there: existing = [ { cut = "rim hole", angle = 171, diameter = 12, depth = 20 } ]',
        "",
    ]
    for number in range(count):
        lines += [*_counterweight(answers, number), ""]
    return lines


def _counterweight(answers: Answers, number: int | None) -> list[str]:
    """Return the block of a counterweight; None: an example to fill in."""
    outline = [answers.get(key) for key in ("outer_radius", "half_angle", "inner_radius")]
    outer, half, inner = (_or_none(each) or ".." for each in outline)
    table = f'{{ shape = "fan", outer_radius = {outer}, half_angle = {half}, inner_radius = {inner} }}'
    if number is None:
        return [
            "[[counterweights]]",
            'name = "A"',
            "z = ..",
            "angle = 180",
            "thickness = ..",
            f"outline = {table}",
        ]
    z, angle = counterweight_questions(number, None)
    lines = [
        "[[counterweights]]",
        f'name = "{counterweight_name(number)}"',
        _line("z", _or_none(answers.get(z.key)), how=z.how),
        _line("angle", _or_none(answers.get(angle.key)), "of its centre line", how=angle.how),
        _asked(answers, "thickness"),
    ]
    bevel = answers.get("rim_bevel")
    if bevel is not None:
        wide = toml_value(bevel)
        lines.append(
            f'rim = {{ form = "bevelled", front_width = {wide}, rear_width = {wide} }}   # at 45 degrees'
        )
    if None in outline:
        return [*lines, f"# outline = {table}   # {OPEN}: {question_of('half_angle').how}"]
    return [*lines, f"outline = {table}"]


def _or_none(answer: str | None) -> str | None:
    return None if answer is None else toml_value(answer)


def job_text(answers: Answers, *, shop: str, crankshaft: str) -> str:
    """Return the job file: what it uses, the tolerance, the parts.

    Parameters
    ----------
    answers : mapping
    shop, crankshaft : str
        The files that it uses, relative to it.
    """
    return _filled(
        "job",
        answers,
        {
            "use": [f"shop = {_text(shop)}", f"crankshaft = {_text(crankshaft)}"],
            "title": [f"title = {_text(answers.get('title') or '')}"],
            "units": _units(answers),
            "tolerance": _tolerance(answers.get("tolerance")),
            "parts": _parts(answers),
        },
    )


def file_texts(
    answers: Answers, *, job: Path, shop: Path, crankshaft: Path, there: Collection[Path]
) -> list[tuple[Path, str]]:
    """Return the new files with their texts, the job file last: it never stands there without what it uses.

    Files that are ``there`` are used as they are.
    """
    made = [(shop, shop_text), (crankshaft, crankshaft_text)]
    own = job_text(answers, shop=_seen_from(job, shop), crankshaft=_seen_from(job, crankshaft))
    return [*((path, text(answers)) for path, text in made if path not in there), (job, own)]


def _seen_from(job: Path, path: Path) -> str:
    """Return a path as the job file names it."""
    return Path(os.path.relpath(path, job.parent)).as_posix()


def _tolerance(answer: str | None) -> list[str]:
    if answer is None:
        return [
            f"# [tolerance]                   # {OPEN}: {question_of('tolerance').how}",
            '# grade = "G 16"                # or total, each_side, left and right, static and couple',
        ]
    if answer.startswith("G "):
        return ["[tolerance]", f'grade = "{answer}"'.ljust(32) + "# judged at the bearings"]
    return ["[tolerance]", f"each_side = {toml_value(answer)}".ljust(32) + "# judged at the planes"]


def _parts(answers: Answers) -> list[str]:
    parts = [each for each in all_questions() if each.path.startswith("parts.")]
    lines = [
        "[parts]                         # weights",
        *(_asked(answers, each.key) for each in parts),
    ]
    # a sum with a part left out is a wrong bob: the section stays a comment until everything is weighed
    if all(answers.get(each.key) is not None for each in parts if each.kind == "masses"):
        return lines
    head = f"# {OPEN}: weigh the parts, then take the # away from [parts] and what is under it"
    return [head, *(each if each.startswith("#") else f"# {each}" for each in lines)]
