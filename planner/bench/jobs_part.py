"""The list of jobs in the folder, and where each of them stands."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response

from planner.bench.folder import address
from planner.bench.head import due_part
from planner.bench.new_part import begun_names
from planner.bench.page import Call, go, show
from planner.errors import BobplanError, FileFaultsError
from planner.jobfile.loaded import load_known
from planner.steps.job_status import standing_of
from planner.steps.withheld import withheld_of


@dataclass(frozen=True, kw_only=True)
class Row:
    """One job of the list: where it stands, and the part that is due."""

    key: str
    title: str
    details: str
    stands: str
    due: str
    faulty: bool = False


def jobs_page(call: Call) -> Response:
    """Return the list of jobs; the one job where the page was opened for it."""
    keys = call.folder.keys()
    if call.folder.only is not None:
        return go(address(keys[0]))
    return show(
        call,
        "jobs",
        keys=keys,
        root=call.folder.root.name or "jobs",
        count=len(keys),
        begun=begun_names(call.folder),
    )


def row(call: Call) -> Response:
    """Return one row of the list: asked for when it comes into sight, so that a thousand jobs are no wait."""
    return show(call, "jobs_row", row=row_of(call))


def row_of(call: Call) -> Row:
    """Return a job as a row."""
    try:
        job = load_known(call.file)
    except BobplanError as error:
        faults = len(error.faults) if isinstance(error, FileFaultsError) else 1
        return Row(
            key=call.key,
            title=call.key,
            details="",
            stands=f"can't be read: {faults} {'fault' if faults == 1 else 'faults'} in its files",
            due="",
            faulty=True,
        )
    details = job.details
    try:
        stands = standing_of(job).stands
        if withheld_of(job) is not None:
            stands = "Something speaks against the settings or the cuts entered: no cut list."
    except BobplanError as error:
        stands = error.message
    said = [
        details.customer,
        details.engine,
        details.crankshaft_number,
        details.date.isoformat() if details.date else "",
    ]
    return Row(
        key=call.key,
        title=details.title or call.key,
        details=", ".join(each for each in said if each),
        stands=stands,
        due=due_part(job),
    )


def back_to(part: str, call: Call) -> Response:
    """Lead to a part: an address that only forms go to was loaded."""
    return go(call.to(part))


def job_page(call: Call) -> Response:
    """Open the part of a job that is due."""
    try:
        return go(call.to(due_part(call.job())))
    except FileFaultsError as error:
        return show(call, "faults", faults=error.faults, status=422)
