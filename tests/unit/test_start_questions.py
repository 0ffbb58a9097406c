"""The questions of ``start`` stand once: every option, every line of a new file and every bound is one of them."""

from __future__ import annotations

import re
import tomllib

import pytest

from planner.cli.start import start
from planner.jobfile.new_job.files import carried_over
from planner.jobfile.new_job.questions import all_questions, question_of, questions
from planner.jobfile.new_job.text import crankshaft_text, job_text, shop_text
from planner.jobfile.plausible import BOUNDS

ANSWERS = {
    "layout": "in-line 3",
    "amounts": "mass",
    "counterweights": "2",
    **{f"counterweight_{number}_{key}": "1" for number in (1, 2) for key in ("z", "angle")},
}


def test_every_question_is_an_option_of_the_command_or_of_its_counterweights() -> None:
    import inspect

    taken = set(inspect.signature(start).parameters)
    for each in all_questions():
        assert (each.key in taken) is bool(each.option), each.key
        assert each.option or each.key.startswith("counterweight")


def test_all_are_asked_once_in_the_order_in_which_they_stand() -> None:
    asked = [
        each.key
        for each in questions(ANSWERS, ask_shop=True, ask_crankshaft=True, opposite_deg=lambda _: None)
    ]
    assert len(asked) == len(set(asked))
    order = [each.key for each in all_questions() if "{number}" not in each.key]
    assert [key for key in asked if not re.fullmatch(r"counterweight_\d+_\w+", key)] == order
    assert [key for key in asked if key not in order] == list(ANSWERS)[3:]


def test_what_belongs_to_a_file_that_is_there_is_not_asked() -> None:
    asked = list(questions(ANSWERS, ask_shop=False, ask_crankshaft=False, opposite_deg=lambda _: None))
    assert {each.file for each in asked if each.key != "units"} == {"job"}


@pytest.mark.parametrize("each", all_questions(), ids=lambda each: each.key)
def test_what_is_said_of_a_question_can_be(each) -> None:
    assert not each.bound or each.bound in BOUNDS
    assert set(each.said) <= set(each.choices)
    assert each.default is None or each.kind != "choice" or each.default in each.choices
    assert question_of(each.key.format(number=17)) == each
    assert not each.blank or each.blank.startswith("#")


def test_new_files_without_any_answer_are_files_with_open_lines() -> None:
    texts = (shop_text({}), crankshaft_text({}), job_text({}, shop="s.toml", crankshaft="c.toml"))
    for text in texts:
        assert tomllib.loads(text)["format"] == 1
        assert "@" not in re.sub(r"#.*", "", text)
        assert text.endswith("\n")
        assert not text.endswith("\n\n")


def test_a_bare_length_is_not_carried_over_into_other_units() -> None:
    last = {
        "units": "in",
        "counterweight_2_z": "1.75",
        "radius": "44 mm",
        "piston": "412",
        "damper": "1 oz*in at 0, z 1",
    }
    assert carried_over(last, "mm") == {"units": "in", "radius": "44 mm", "piston": "412"}
    assert carried_over(last, "in") == last
