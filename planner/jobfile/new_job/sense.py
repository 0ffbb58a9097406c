"""What answers of ``start`` can be: each by itself and beside the others, by the bounds of `planner.jobfile.plausible`."""

from __future__ import annotations

import re
from collections.abc import Iterator

from planner.engine.parts import STANDARD_PARTS
from planner.errors import InputError
from planner.jobfile.new_job.checks import Answers, Question, units_of
from planner.jobfile.new_job.questions import question_of
from planner.jobfile.plausible import BOUNDS, judge_size, odd_parts
from planner.rotor.drills import parse_drill_mm


def check_answer(question: Question, answer: str, answers: Answers) -> tuple[str, ...]:
    """Return what is unusual about an answer, as questions.

    Raises
    ------
    InputError
        If it is beyond reason.
    """
    name = question.bound or (question.key if question.key in STANDARD_PARTS else "")
    if not name:
        return ()
    units, found = units_of(answers), []
    for value in _values(question.key, answer, answers):
        judged = judge_size(name, value, units=units)
        if judged is not None and judged.refused:
            raise InputError(
                f"{question.text.partition(' (')[0]}: {judged.words}",
                hint="is the unit right, or did an answer slip by one? `<` goes back one question",
            )
        if judged is not None and judged.words not in found:
            found.append(judged.words)
    return tuple(found)


def odd_together(answers: Answers) -> Iterator[str]:
    """Yield what can hardly be right together among the answers so far, as questions."""
    yield from odd_parts(
        {key: _values(key, text, answers) for key in STANDARD_PARTS if (text := answers.get(key))}
    )
    z = {key: _place(key, answers) for key in ("bearing_1_z", "bearing_2_z", "left_plane", "right_plane")}
    first, second = z["bearing_1_z"], z["bearing_2_z"]
    if first is not None and second is not None:
        if first >= second:
            yield (
                f"the rear bearing ({answers['bearing_2_z']}) does not lie behind the front one "
                f"({answers['bearing_1_z']}): z runs from the front to the rear"
            )
        span = abs(second - first)
        places = {"the first throw": "first_throw_z"} | {
            f"counterweight number {key.split('_')[1]}": key
            for key in answers
            if re.fullmatch(r"counterweight_\d+_z", key)
        }
        for words, key in places.items():
            place = _place(key, answers)
            if place is not None and not min(first, second) - span <= place <= max(first, second) + span:
                yield f"{words} (z {answers[key]}) lies farther outside the bearings than they are apart"
    if z["left_plane"] is not None and z["left_plane"] == z["right_plane"]:
        yield f"both reading planes are at z {answers['left_plane']}: they must be apart"
    outer, inner = _place("outer_radius", answers), _place("inner_radius", answers)
    if outer is not None and inner is not None and inner >= outer:
        yield (
            f"the inner radius ({answers['inner_radius']}) is not below the outer one ({answers['outer_radius']}): "
            "were the two swapped?"
        )


def _place(key: str, answers: Answers) -> float | None:
    text = answers.get(key)
    if text is None:
        return None
    try:
        return units_of(answers).parse(text, "length")
    except InputError:
        return None


def _values(key: str, answer: str, answers: Answers) -> tuple[float, ...]:
    units, kind = units_of(answers), BOUNDS[question_of(key).bound or key].kind
    each = [part.strip() for part in answer.split(",") if part.strip()]
    if key == "drills":
        return tuple(parse_drill_mm(part, units) for part in each)
    return tuple(units.parse(part, kind) for part in each)
