"""What `bobplan start` asks, in which order and when; the questions themselves stand in ``questions.toml``."""

from __future__ import annotations

import dataclasses
import functools
import re
import tomllib
from collections.abc import Callable, Iterator
from importlib import resources

from planner.engine.layouts import layout
from planner.jobfile.new_job.checks import Answers, Question

_EACH = "each counterweight"


@functools.cache
def all_questions() -> tuple[Question, ...]:
    """Return every question in the order of asking; those of each counterweight once, with ``{number}`` in the key."""
    text = resources.files("planner.jobfile.new_job").joinpath("questions.toml").read_text(encoding="utf-8")
    return tuple(
        Question(**{**entry, "choices": tuple(entry.get("choices", ()))})
        for entry in tomllib.loads(text)["question"]
    )


def question_of(key: str) -> Question:
    """Return the question with an answer's key.

    Raises
    ------
    KeyError
        If none has it.
    """
    general = re.sub(r"(?<=counterweight_)\d+(?=_)", "{number}", key)
    return {each.key: each for each in all_questions()}[general]


def counterweight_questions(number: int, opposite_deg: float | None) -> tuple[Question, Question]:
    """Return what is asked of counterweight ``number`` (0 = first): its z, and its angle (opposite a throw)."""
    z, angle = (
        dataclasses.replace(
            each,
            key=each.key.format(number=number + 1),
            text=each.text.format(name=counterweight_name(number)),
        )
        for each in all_questions()
        if each.when == _EACH
    )
    return z, angle if opposite_deg is None else dataclasses.replace(angle, default=f"{opposite_deg:g}")


def counterweight_name(number: int) -> str:
    """Return A, B, .. Z, A2, B2, .. for 0, 1, .."""
    turn, letter = divmod(number, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")


def questions(
    answers: Answers, *, ask_shop: bool, ask_crankshaft: bool, opposite_deg: Callable[[int], float | None]
) -> Iterator[Question]:
    """Return one question after the other; which come depends on the answers so far.

    Parameters
    ----------
    answers : mapping
        Filled by the caller while the questions come.
    ask_shop, ask_crankshaft : bool
        False when such a file is there already.
    opposite_deg : callable
        Counterweight number to the angle opposite its throw [deg], None when not known.
    """
    there = {"shop": not ask_shop, "crankshaft": not ask_crankshaft, "job": False}
    each_asked = False
    for question in all_questions():
        # the units are of all three files
        if there[question.file] and question.key != "units":
            continue
        if question.when != _EACH:
            if _wanted(question, answers):
                inches = answers.get("units") == "in" and question.inches
                yield dataclasses.replace(question, text=question.inches) if inches else question
        elif not each_asked:
            each_asked = True
            for number in range(int(answers.get("counterweights") or 0)):
                yield counterweight_questions(number, None)[0]
                # which throw it is opposite to is known only now
                yield counterweight_questions(number, opposite_deg(number))[1]


def _wanted(question: Question, answers: Answers) -> bool:
    name = answers.get("layout")
    return {
        "": True,
        "layout": name is not None,
        "several throws": name is not None and len({throw.z for throw in layout(name).throws}) > 1,
        "masses": answers.get("amounts") == "mass",
        "counterweights": bool(int(answers.get("counterweights") or 0)),
    }[question.when]
