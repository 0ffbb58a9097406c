"""Judge: how it stands against the limit, how sure that is, what went wrong, and the papers."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response

from planner.bench.page import Call, show_part
from planner.errors import BobplanError
from planner.jobfile.job import Job
from planner.present.document import Document, document
from planner.present.pages.check import check_document
from planner.present.pages.diagnosis import diagnosis_parts
from planner.present.pages.history import history_document
from planner.present.words import chance_words, judged_words, percent
from planner.steps.check import CheckAnswer, check_job
from planner.steps.dialled import cuts_since, ensure_told
from planner.steps.history import History, history_of
from planner.steps.reading_slips import standing_questions
from planner.steps.withheld import job_before


@dataclass(frozen=True, kw_only=True)
class Bar:
    """One amount against its limit: what it is, in words, and its share of the scale's length."""

    what: str
    words: str
    share: float
    kind: str


@dataclass(frozen=True, kw_only=True)
class Side:
    """A place that is judged: its bars, where the limit lies on their scale, and the verdict in one word."""

    at: str
    limit: str
    limit_share: float
    verdict: str
    bars: tuple[Bar, ...]


def judge_page(call: Call, *, error: BobplanError | None = None) -> Response:
    """Return the part that judges."""
    own = call.job()
    job = call.shown(own)
    sides: tuple[Side, ...] = ()
    answer: CheckAnswer | None = None
    whole = Document(())
    wrong: tuple[object, ...] = ()
    story = Document(())
    questions: tuple[str, ...] = ()
    try:
        if cuts_since(job):
            ensure_told(job)
        history = history_of(job)
        story = history_document(history)
        answer = check_job(job)
        questions = standing_questions(job)
        sides = sides_of(job, answer, history)
        whole = document(check_document(answer).blocks)
        newest = next((each for each in reversed(history.entries) if each.kind != "check spin"), None)
        if newest is not None:
            wrong = diagnosis_parts(job, newest.diagnosis)
    except BobplanError as trouble:
        error = error or trouble
    return show_part(
        call,
        "judge",
        own,
        error=error,
        status=None if job.spins else 200,
        check=answer,
        sides=sides,
        whole=whole,
        wrong=wrong,
        story=story,
        asked=questions,
        inside="" if answer is None else chance_words(answer.chances.inside),
        proves="" if answer is None else chance_words(answer.chances.one_spin_proves),
    )


def sides_of(job: Job, answer: CheckAnswer, history: History) -> tuple[Side, ...]:
    """Return what is judged as bars: before the first cut, foretold by the plan, and now."""
    before = _amounts_before(history)
    foretold = _amounts_foretold(job)
    sides = []
    for place in answer.judged:
        amounts = [
            ("before", before.get(place.at)),
            ("foretold", foretold.get(place.at)),
            ("now" if answer.measured else "now, foretold", place.amount_gmm),
        ]
        most = max([place.tolerance_gmm * 1.25] + [each for _, each in amounts if each is not None])
        sides.append(
            Side(
                at=place.at,
                limit=judged_words(job, place.at, place.tolerance_gmm),
                limit_share=place.tolerance_gmm / most,
                verdict=place.verdict,
                bars=tuple(
                    Bar(
                        what=what,
                        words=f"{judged_words(job, place.at, each)} = {percent(each / place.tolerance_gmm)} of the limit",
                        share=each / most,
                        kind=what.split(",")[0],
                    )
                    for what, each in amounts
                    if each is not None
                ),
            )
        )
    return tuple(sides)


def _amounts_before(history: History) -> dict[str, float]:
    """Return what was read in the first state, where that is not the newest one."""
    states = [each for each in history.entries if each.check is not None]
    if not states or (len(states) == 1 and not history.job.cuts_made):
        return {}
    first = states[0].check
    assert first is not None
    return {each.at: each.amount_gmm for each in first.judged}


def _amounts_foretold(job: Job) -> dict[str, float]:
    """Return what the last state foretold for the newest spin."""
    states = [index for index, spin in enumerate(job.spins) if spin.known_mass is None]
    if len(states) < 2:
        return {}
    before = job_before(job, states[-1])
    if before is None or not before.cuts_made:
        return {}
    try:
        answer = check_job(before)
    except BobplanError:
        return {}
    return {} if answer.measured else {each.at: each.amount_gmm for each in answer.judged}
