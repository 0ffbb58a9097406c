"""New files, all of them or none, and never over one that is there; what was answered the last time."""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from planner.errors import InputError
from planner.files import changed, read_bytes, remember, umask, write_bytes, write_through
from planner.jobfile.find import state_folder
from planner.jobfile.new_job.checks import NEUTRAL, Answers, Question, checked
from planner.jobfile.new_job.questions import question_of

_ANSWERS = "start-answers.json"
_GREATEST_BYTES = 400_000
_MOST_CRANKSHAFTS = 40

#: Kinds of answers whose bare numbers are in the job's units.
_IN_UNITS = ("length", "place", "lengths", "tolerance")


def create_files(texts: Sequence[tuple[Path, str]]) -> None:
    """Write new files, in that order; when one can't be made, those made before are taken away again.

    A file appears with its whole text, or not at all: it is written under another name in its folder and then linked
    to its own, which fails when that is taken.

    Raises
    ------
    InputError
        If a file is there already, or a folder can't be written.
    """
    made: list[Path] = []
    try:
        for path, text in texts:
            _create(path, text)
            made.append(path)
        changed.extend(made)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise


def _create(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".start-", dir=path.parent)
    except OSError as error:
        raise _unwritable(path, error) from error
    half_done = Path(name)
    try:
        write_through(handle, text.encode())
        half_done.chmod(0o666 & ~umask())
        try:
            os.link(half_done, path)
        except FileExistsError:
            raise
        except OSError:
            # no links on this disk: the name is taken first, so that nothing can be overwritten
            _create_plainly(path, text)
    except FileExistsError:
        raise InputError(
            f"`{path}` is there already, it is not written over", hint="give the new file another name"
        ) from None
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        half_done.unlink(missing_ok=True)


def _create_plainly(path: Path, text: str) -> None:
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
    try:
        write_through(handle, text.encode())
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _unwritable(path: Path, error: OSError) -> InputError:
    return InputError(
        f"`{path}` can't be written: {error.strerror or error}", hint="choose a folder where you may write"
    )


def last_answers(crankshaft: Path) -> tuple[dict[str, str], dict[str, str]]:
    """Return what was answered the last time, by key: of the shop, and of this crankshaft file's last job.

    What was said of another crankshaft, its sizes and the weights of its parts, says nothing of this one.

    Parameters
    ----------
    crankshaft : Path
        The crankshaft file.
    """
    shop, crankshafts = _kept()
    return shop, crankshafts.get(str(crankshaft.resolve()), {})


def _kept() -> tuple[dict[str, str], dict[str, dict[str, str]]]:
    """Return what is remembered of the shop and of each crankshaft file; empty when nothing is, or nothing readable."""
    try:
        data = json.loads(read_bytes(state_folder() / _ANSWERS, greatest_bytes=_GREATEST_BYTES))
    except (OSError, ValueError, RuntimeError, RecursionError, InputError):
        return {}, {}
    if not isinstance(data, dict):
        return {}, {}
    shop, crankshafts = data.get("shop"), data.get("crankshafts")
    listed = crankshafts.items() if isinstance(crankshafts, dict) else ()
    return _texts(shop), {str(path): _texts(each) for path, each in listed}


def _texts(data: object) -> dict[str, str]:
    if not isinstance(data, dict):
        return {}
    return {key: value for key, value in data.items() if isinstance(key, str) and isinstance(value, str)}


def carried_over(last: Mapping[str, str], units: str | None) -> dict[str, str]:
    """Return the last answers that still hold for a job in these units: a bare 1.75 of an inch job is no 1.75 mm."""
    if last.get("units", "mm") == (units or "mm"):
        return dict(last)
    return {
        key: value
        for key, value in last.items()
        if not (_kind(key) in _IN_UNITS and _bare(value)) and (_kind(key) != "mounted" or value == NEUTRAL)
    }


def usual_answer(question: Question, last: Mapping[str, str], answers: Answers) -> str | None:
    """Return a question's answer unless another is given: the last one, where it still fits, else the default."""
    if question.key in last:
        with contextlib.suppress(InputError):
            return checked(question, last[question.key], answers)
    return question.default


def _kind(key: str) -> str:
    # a version before may have remembered what is not asked any more
    with contextlib.suppress(KeyError):
        return question_of(key).kind
    return ""


def _bare(text: str) -> bool:
    """Return whether a number in a text leaves its unit to the file."""
    return any(re.search(r"\d", each) and not re.search(r"[A-Za-z\"]", each) for each in text.split(","))


def remember_answers(
    answers: Mapping[str, str | None], crankshaft: Path, *, of_shop: Collection[str]
) -> None:
    """Remember answers for the next time; a state folder that can't be written is no reason to stop.

    Parameters
    ----------
    answers : mapping
        Key to answer.
    crankshaft : Path
        The crankshaft file that they are about.
    of_shop : collection of str
        Keys that are the same for every job of the shop; the others belong to this crankshaft.
    """
    with contextlib.suppress(OSError, RuntimeError):
        old_shop, crankshafts = _kept()
        units = answers.get("units")
        said = {
            key: value for key, value in answers.items() if value is not None and not question_of(key).once
        }
        shop = carried_over(old_shop, units) | {key: said[key] for key in said if key in of_shop}
        path = str(crankshaft.resolve())
        # a bare number is in the units that its own job had
        own = carried_over(crankshafts.pop(path, {}), units) | {
            key: said[key] for key in said if key not in of_shop
        }
        own["units"] = units or "mm"
        # the newest last; those not used for long make room
        crankshafts = {**dict(list(crankshafts.items())[1 - _MOST_CRANKSHAFTS :]), path: own}
        text = json.dumps({"shop": shop, "crankshafts": crankshafts}, indent=1)
        remember(state_folder() / _ANSWERS, text.encode())


def unfinished_path(job: Path) -> Path:
    """Return where the answers of an interrupted `start` wait, beside the job file to be."""
    return job.with_name(f"{job.name}.answers")


def keep_unfinished(job: Path, answers: Mapping[str, str | None]) -> Path:
    """Keep the answers so far beside the job file to be; return where.

    Raises
    ------
    InputError
        If the folder can't be written.
    """
    path = unfinished_path(job)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(path, json.dumps(dict(answers), indent=1).encode())
    except OSError as error:
        raise _unwritable(path, error) from error
    return path


def unfinished_answers(job: Path) -> dict[str, str | None]:
    """Return the answers of an interrupted `start`, by key; None where one was left open; empty when there are none."""
    try:
        data = json.loads(read_bytes(unfinished_path(job), greatest_bytes=_GREATEST_BYTES))
    except (OSError, ValueError, RecursionError, InputError):
        return {}
    if not isinstance(data, dict):
        return {}
    return {
        key: value
        for key, value in data.items()
        if isinstance(key, str) and (value is None or isinstance(value, str))
    }
