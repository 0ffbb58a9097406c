"""`bobplan check`: the residual against the tolerance."""

from __future__ import annotations

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, tell
from planner.cli.options import JobArgument, JsonOption, WorkOption, open_job


def check(job: JobArgument = None, as_json: JsonOption = False, show_work: WorkOption = False) -> None:
    """Judge the newest state against the tolerance: in, out, or too close to call.

    Ends with 0 when it is in tolerance, with 1 when it is out or too close to call, or a question about the reading is open.
    """
    from planner.present.document import block, document, remarks
    from planner.present.pages.check import check_document, check_json, check_work
    from planner.steps.check import check_job
    from planner.steps.dialled import cuts_since, ensure_told
    from planner.steps.reading_slips import standing_questions

    opened = open_job(job, writing=False)
    if cuts_since(opened):
        ensure_told(opened)
    answer = check_job(opened)
    questions = standing_questions(opened)
    asked = block("", remarks("QUESTION", questions))
    tell(
        answer,
        check_json,
        lambda answer: document(asked, check_document(answer).blocks),
        working=check_work if show_work else None,
        as_json=as_json,
    )
    leave(GOOD if answer.verdict == "in tolerance" and not questions else ANSWER_IS_NO)
