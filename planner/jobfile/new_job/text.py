"""The texts of new shop, crankshaft and job files: what is known filled in, the rest commented out and listed."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from planner.engine.layouts import Layout, layout
from planner.jobfile.new_job.checks import Answers, File, Question, mounted_part, units_of
from planner.jobfile.new_job.questions import (
    ALL_QUESTIONS,
    OPTIONAL,
    counterweight_name,
    counterweight_questions,
)
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
        if answers.get(question.key) is None and question.key not in OPTIONAL:
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


def _value(text: str) -> str:
    """Return an answer as a TOML value: a bare number stays one, everything else is a text."""
    if _BARE.fullmatch(text):
        # TOML has no leading zeros
        sign = "-" if text.startswith("-") else ""
        whole, point, rest = text.lstrip("+-").partition(".")
        return f"{sign}{whole.lstrip('0') or '0'}{point}{rest}"
    return json.dumps(text, ensure_ascii=False)


def _list(text: str) -> str:
    values = [_value(each.strip()) for each in text.split(",")]
    return values[0] if len(values) == 1 else f"[{', '.join(values)}]"


def _line(key: str, value: str | None, comment: str = "", *, how: str = "") -> str:
    """Return ``key = value  # comment``, commented out when there is no value yet."""
    if value is None:
        text = f"# {key} ="
        comment = f"{OPEN}: {how or comment}"
    else:
        text = f"{key} = {value}"
    return f"{text:<31} # {comment}" if comment else text


_HOW = {question.key: question.how for question in ALL_QUESTIONS}


def _asked(answers: Answers, key: str, comment: str = "", *, name: str | None = None) -> str:
    answer = answers.get(key)
    return _line(name or key, None if answer is None else _value(answer), comment, how=_HOW.get(key, ""))


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
    drills = answers.get("drills")
    lines = [
        "# The shop: the machine, the drills, the limits. Once per shop; every job may use it.",
        "format = 1",
        "",
        *_units(answers),
        "",
        "[machine]                       # how the balancing machine states a reading",
        _asked(answers, "angle_direction", "the way its angles grow .."),
        _asked(answers, "viewed_from", ".. as seen from this end of the crankshaft"),
        _line("angle_zero", _zero(answers.get("angle_zero")), "where its 0 is", how=_HOW["angle_zero"]),
        _asked(answers, "angle_marks", "what the angle shown marks"),
        _asked(answers, "amounts", "what the display shows"),
        _asked(answers, "drill_offset", "the drill stands so many machine degrees from the pointer"),
        "",
        "[shop]                          # what is left out has the default of the README",
        _line(
            "drills",
            None if drills is None else f"[{', '.join(_value(each.strip()) for each in drills.split(','))}]",
            how="the drills at hand; without this line common sizes are taken",
        ),
        "# hole_oversize = 0.1           # holes come out so much larger than the drill",
        _asked(answers, "depth_to", "what the depth stop counts to")
        if answers.get("depth_to")
        else '# depth_to = "tip"              # "shoulder" unless the stop is zeroed with the point touching',
        "# greatest_depth = 45",
        "# least_wall = 3",
        '# slug_diameters = ["1/2 in", "3/4 in"]   # heavy metal at hand',
        "",
    ]
    return "\n".join(lines)


def _zero(text: str | None) -> str | None:
    if text is None:
        return None
    return json.dumps(text, ensure_ascii=False) if text.startswith("throw ") else _value(f"{float(text):g}")


def crankshaft_text(answers: Answers) -> str:
    """Return the crankshaft file: throws of the layout, counterweights, planes; once per crankshaft type."""
    rotation = answers.get("rotation") or "cw"
    name = answers.get("layout")
    found = None if name is None else layout(name)
    first = 0.0 if found is None else throw_angle_deg(found, 0, rotation)
    lines = [
        "# The crankshaft: once per crankshaft type.",
        "# z runs from the front (nose) to the rear (flange); its zero is the middle of the front main bearing.",
        "# Angles are degrees, counter-clockwise as seen from the front (but readings of the machine are not); throw 1",
        f"# stands at {first:g}.",
        "format = 1",
        "",
        *_units(answers),
        "",
    ]
    if found is not None:
        order = ", ".join(f'"{each}"' for each in found.firing_order)
        lines += [
            "[engine]",
            f"layout = {_value(found.name)}",
            f'rotation = "{rotation}"'.ljust(32) + "# as seen from the front",
            f"firing_order = [{order}]",
            "# cylinders are numbered from the front, of a pair the one of bank A (further on in the direction of",
            "# rotation) first; where the maker numbers them in another way, change firing_order and the throws' cylinders",
            "",
        ]
    lines += [
        "[crankshaft]",
        _asked(answers, "mass"),
        "# centre_of_mass_z = 255        # the middle of the bearings when left out",
        _asked(answers, "material", "or density = 7.85 (g/cm3)"),
        _asked(answers, "bearing_1_z"),
        _asked(answers, "bearing_2_z"),
        _asked(answers, "speed", name="service_speed_rpm"),
        _asked(answers, "built_for", name="built_for_bob")
        if answers.get("built_for")
        else "# built_for_bob = 1850            # what the last balancing was for, per throw; `quote` needs it",
        "",
        *_planes(answers),
        "",
        *(_no_throws() if found is None else _throws(found, answers, rotation)),
        *_counterweights(answers),
        *_mounted(answers),
    ]
    return "\n".join(lines)


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
                f"z = {_value(z)}",
                f"unbalance = {_value(amount)}".ljust(32) + "# that it carries in the engine",
                f"angle = {_value(angle)}",
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
    return lines + [_asked(answers, key, name=key.removesuffix("_plane")) for key in keys]


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
            _line("z", _throw_z(found, index, answers), how=_HOW["first_throw_z"]),
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
        return _value(first)
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
    index = 0 if number is None else number
    z, angle = counterweight_questions(index, None)
    values = {
        key: None if number is None else answers.get(question.key)
        for key, question in (("z", z), ("angle", angle))
    }
    outline = [answers.get(key) for key in ("outer_radius", "half_angle", "inner_radius")]
    shown = [each if each is None else _value(each) for each in outline]
    table = (
        f'{{ shape = "fan", outer_radius = {shown[0] or ".."}, half_angle = {shown[1] or ".."}, '
        f"inner_radius = {shown[2] or '..'} }}"
    )
    if number is None:
        return [
            "[[counterweights]]",
            'name = "A"',
            "z = ..",
            "angle = 180",
            "thickness = ..",
            f"outline = {table}",
        ]
    lines = [
        "[[counterweights]]",
        f'name = "{counterweight_name(index)}"',
        _line("z", _or_none(values["z"]), how=z.how),
        _line("angle", _or_none(values["angle"]), "of its centre line", how=angle.how),
        _asked(answers, "thickness"),
    ]
    if None in outline:
        return [*lines, f"# outline = {table}   # {OPEN}: {_HOW['half_angle']}"]
    return [*lines, f"outline = {table}"]


def _or_none(answer: str | None) -> str | None:
    return None if answer is None else _value(answer)


_PARTS = (
    ("piston", "per cylinder; a list has one weight for each: [412.6, 411.9, ..]"),
    ("pin", "per cylinder"),
    ("rings", "per cylinder, all of them"),
    ("clips", "per cylinder, all of them"),
    ("rod_small_end", "per rod"),
    ("rod_big_end", "per rod"),
    ("bearing_shells", "per rod, both halves"),
)


def job_text(answers: Answers, *, shop: str, crankshaft: str) -> str:
    """Return the job file: what it uses, the tolerance, the parts.

    Parameters
    ----------
    answers : mapping
    shop, crankshaft : str
        The files that it uses, relative to it.
    """
    # a sum with a part left out is a wrong bob: the section stays a comment until everything is weighed
    weighed = all(answers.get(key) is not None for key, _ in _PARTS)
    tolerance = answers.get("tolerance")
    lines = [
        "# The job: what is built this time, what was read and cut. `bobplan spin` and `bobplan done` write into it.",
        "format = 1",
        "",
        "[use]",
        f"shop = {json.dumps(shop, ensure_ascii=False)}",
        f"crankshaft = {json.dumps(crankshaft, ensure_ascii=False)}",
        "",
        "[job]",
        f"title = {json.dumps(answers.get('title') or '', ensure_ascii=False)}",
        *(
            f'# {key} = ""'
            if not answers.get(key)
            else f"{key} = {json.dumps(answers[key], ensure_ascii=False)}"
            for key in ("customer", "crankshaft_number")
        ),
        f"date = {answers['date']}" if answers.get("date") else "# date = 2026-01-31",
        "",
        *_units(answers),
        "",
    ]
    if tolerance is None:
        lines += [
            f"# [tolerance]                   # {OPEN}: {_HOW['tolerance']}",
            '# grade = "G 16"                # or total, each_side, left and right, static and couple',
        ]
    elif tolerance.startswith("G "):
        lines += ["[tolerance]", f'grade = "{tolerance}"'.ljust(32) + "# judged at the bearings"]
    else:
        lines += ["[tolerance]", f"each_side = {_value(tolerance)}".ljust(32) + "# judged at the planes"]
    lines += ["", *_parts(answers, weighed=weighed)]
    lines += [
        "",
        "# [bobs]                        # instead of [parts], where only the bob is known",
        "# wanted = 1729",
        "",
    ]
    return "\n".join(lines)


def _parts(answers: Answers, *, weighed: bool) -> list[str]:
    lines = ["[parts]                         # weights"]
    for key, per in _PARTS:
        answer = answers.get(key)
        lines.append(_line(key, None if answer is None else _list(answer), per, how=f"{per}; {_HOW[key]}"))
    lines.append(_asked(answers, "oil_per_throw", "per throw"))
    lines.append(_asked(answers, "reciprocating_fraction", "share of the reciprocating mass in the bobs"))
    if weighed:
        return lines
    head = f"# {OPEN}: weigh the parts, then take the # away from [parts] and what is under it"
    return [head, *(each if each.startswith("#") else f"# {each}" for each in lines)]
