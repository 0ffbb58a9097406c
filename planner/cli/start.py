"""`bobplan start`: new files for a job, by asking one thing at a time."""

from __future__ import annotations

import inspect
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import leave, note, say, say_json
from planner.cli.options import JsonOption
from planner.errors import FileFaultsError, InputError
from planner.jobfile.new_job.questions import all_questions

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.jobfile.new_job.checks import Question
    from planner.jobfile.new_job.text import ToMeasure


def start(
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="The job file to make; left out: job.toml.")
    ] = None,
    shop: Annotated[
        str, typer.Option(help="The shop file beside it; one that is there is used as it is.")
    ] = "shop.toml",
    crankshaft: Annotated[
        str, typer.Option(help="The crankshaft file; one that is there is used as it is.")
    ] = "crankshaft.toml",
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Ask nothing: options and defaults, the rest stays open.")
    ] = False,
    counterweight: Annotated[
        list[str] | None,
        typer.Option(metavar="Z,ANGLE", help="A counterweight: its z and angle, `52,198`; may be repeated."),
    ] = None,
    as_json: JsonOption = False,
    **typed: str | None,
) -> None:
    """Make the files of a new job by asking one thing at a time; says what is still to be measured. Never overwrites."""
    from planner.jobfile.new_job.files import create_files, remember_answers, unfinished_path
    from planner.jobfile.new_job.text import file_texts, to_measure
    from planner.jobfile.shop_folders import may_use, state_shop_folder

    paths = _Paths(file, shop, crankshaft)
    given = {key: value for key, value in typed.items() if value is not None}
    given |= _places(counterweight)
    dialogue = _Dialogue(paths, given, ask=not yes)
    answers = dialogue.run()
    texts = file_texts(
        answers, job=paths.job, shop=paths.shop, crankshaft=paths.crankshaft, there=paths.there
    )
    create_files(texts)
    for path in (paths.shop, paths.crankshaft):
        if not may_use(path, job_folder=paths.job.parent):
            state_shop_folder(path.parent)
    unfinished_path(paths.job).unlink(missing_ok=True)
    if not yes:
        of_shop = {each.key for each in dialogue.asked if each.file == "shop"}
        remember_answers(answers, paths.crankshaft, of_shop=of_shop)
    _report(paths, [path for path, _ in texts], to_measure(answers, dialogue.asked), as_json=as_json)


def _signature() -> inspect.Signature:
    """Return what `start` takes: a few options of its own, and one for each question."""
    *own, counterweight, as_json, _ = (
        each.replace(kind=inspect.Parameter.KEYWORD_ONLY)
        for each in inspect.signature(start, eval_str=True).parameters.values()
    )
    asked = []
    for question in all_questions():
        if question.option:
            flag = f"--{question.flag or question.key.replace('_', '-')}"
            option = typer.Option(flag, help=question.option, metavar=question.takes or None)
            asked.append(own[0].replace(name=question.key, annotation=Annotated[str | None, option]))
    return inspect.Signature([*own, *asked, counterweight, as_json])


start.__signature__ = _signature()  # type: ignore[attr-defined]
# typer reads both: the annotations of the questions' options are in the signature
start.__annotations__ = {}


class _Paths:
    """Where the files go, and which are there already."""

    def __init__(self, file: str | None, shop: str, crankshaft: str) -> None:
        for text in (file, shop, crankshaft):
            if text is not None and (not text.strip() or "\0" in text):
                raise InputError(
                    "given an empty name, the name of a file is wanted", hint="for example job.toml"
                )
        job = Path(file or "job.toml").expanduser()
        if job.is_dir():
            job /= "job.toml"
        self.job = _toml(job)
        self.shop = _toml(_joined(self.job.parent, shop))
        self.crankshaft = _toml(_joined(self.job.parent, crankshaft))
        if len({self.job, self.shop, self.crankshaft}) < 3:
            raise InputError(
                "job, shop and crankshaft need files of their own", hint="give them different names"
            )
        if self.job.exists():
            raise InputError(
                f"`{self.job}` is there already, it is not written over",
                hint="name another: `bobplan start FILE`; to go on with this one: `bobplan`",
            )
        self.there = [path for path in (self.shop, self.crankshaft) if path.exists()]


def _joined(folder: Path, name: str) -> Path:
    return Path(os.path.normpath(folder / Path(name).expanduser()))


def _toml(path: Path) -> Path:
    return path if path.suffix.lower() == ".toml" else path.with_name(f"{path.name}.toml")


def _places(counterweight: list[str] | None) -> dict[str, str]:
    """Return the answers that `--counterweight Z,ANGLE` gives."""
    if not counterweight:
        return {}
    given = {"counterweights": str(len(counterweight))}
    for number, text in enumerate(counterweight, start=1):
        z, comma, angle = text.partition(",")
        if not comma:
            raise InputError(
                f"--counterweight: given `{text}`, z and angle are needed",
                hint="for example `--counterweight 52,198`",
            )
        given[f"counterweight_{number}_z"] = z.strip()
        given[f"counterweight_{number}_angle"] = angle.strip()
    return given


class _Back(Exception):  # noqa: N818  # no error: the operator goes back
    """The last answer was taken back: it is asked again."""


class _Dialogue:
    """Asks what the options do not say."""

    def __init__(self, paths: _Paths, given: dict[str, str], *, ask: bool) -> None:
        from planner.jobfile.new_job.files import last_answers

        self.paths, self.given = paths, given
        self.answers: dict[str, str | None] = {}
        self.asked: list[Question] = []
        self.asking = ask
        self.lines = 0
        self.last = last_answers(paths.crankshaft) if ask else ({}, {})
        self.typed: list[str] = []
        self.questioned: set[str] = set()

    def run(self) -> dict[str, str | None]:
        """Return the answers by key; None where one is still open."""
        for path in self.paths.there:
            note(f"{path} is there already: it is used as it is")
        if self.asking:
            self._go_on()
        if self.asking and sys.stdin.isatty():
            note(
                "Enter keeps what stands in brackets, - leaves it open, ? says how it is measured, < goes back one question; "
                "Ctrl-C stops and keeps the answers.\n"
            )
        try:
            while (question := next(self._open(), None)) is not None:
                try:
                    self.answers[question.key] = self._answer(question)
                except _Back:
                    continue
                self._question_together()
        except typer.Abort:
            self._stop()
        self.asked = list(self._questions())
        unused = [key for key in self.given if key not in self.answers]
        if unused:
            raise InputError(
                f"nothing asks for `--{unused[0].replace('_', '-')}` here",
                hint="the file that it belongs to is there already, or something that it needs is not said (a layout, "
                "`--amounts mass`)",
            )
        return self.answers

    def _questions(self) -> Iterator[Question]:
        from planner.jobfile.new_job.questions import questions
        from planner.jobfile.new_job.text import opposite_throw_deg

        return questions(
            self.answers,
            ask_shop=self.paths.shop not in self.paths.there,
            ask_crankshaft=self.paths.crankshaft not in self.paths.there,
            opposite_deg=lambda number: opposite_throw_deg(self.answers, number),
        )

    def _open(self) -> Iterator[Question]:
        """Yield the questions that have no answer yet; which come depends on the answers before."""
        return (each for each in self._questions() if each.key not in self.answers)

    def _go_on(self) -> None:
        """Take over the answers of a `start` that was interrupted, where that is wanted."""
        from planner.jobfile.new_job.files import unfinished_answers, unfinished_path

        kept = unfinished_answers(self.paths.job)
        if not kept:
            return
        path = unfinished_path(self.paths.job)
        if not sys.stdin.isatty():
            note(
                f"{path} has answers of a start that was interrupted: they are not taken, answers come from a pipe"
            )
            return
        if not typer.confirm(
            f"{len(kept)} answers of a start that was interrupted are in {path}; go on with them?",
            default=True,
            err=True,
        ):
            return
        while (question := next(self._open(), None)) is not None and question.key in kept:
            answer = kept[question.key]
            try:
                self.answers[question.key] = None if answer is None else self._checked(question, answer)
            except InputError:
                return
            self.typed.append(question.key)

    def _stop(self) -> None:
        """Keep the answers of a dialogue that was interrupted, and end."""
        from planner.jobfile.new_job.files import keep_unfinished

        if not self.typed:
            raise typer.Abort
        path = keep_unfinished(self.paths.job, {key: self.answers[key] for key in self.answers})
        again = "" if self.paths.job.name == "job.toml" else f" {self.paths.job}"
        note(f"\nstopped; the answers so far are in {path}: `bobplan start{again}` goes on with them")
        leave(2)

    def _back(self, question: Question) -> bool:
        """Take back the last answer that was typed, and what followed from it; return whether there was one."""
        if not self.typed:
            note("  this is the first question")
            return False
        last = self.typed.pop()
        keys = list(self.answers)
        for key in keys[keys.index(last) :]:
            del self.answers[key]
        self.answers.pop(question.key, None)
        return True

    def _checked(self, question: Question, text: str) -> str:
        from planner.jobfile.new_job.checks import checked
        from planner.jobfile.new_job.sense import check_answer

        found = checked(question, text, self.answers)
        for words in check_answer(question, found, self.answers):
            self._question(words)
        return found

    def _question(self, words: str) -> None:
        if words not in self.questioned:
            self.questioned.add(words)
            back = " `<` goes back one question." if self.asking and sys.stdin.isatty() else ""
            note(f"  QUESTION: {words}{back}")

    def _question_together(self) -> None:
        from planner.jobfile.new_job.sense import odd_together

        for words in odd_together(self.answers):
            self._question(words)

    def _answer(self, question: Question) -> str | None:
        if question.key in self.given:
            found = self._checked(question, self.given[question.key])
            if question.kind == "layout" and found.casefold() != self.given[question.key].casefold():
                note(f"layout: {found}")
            return found
        kept = self._kept(question)
        while self.asking:
            text = self._ask(question, kept)
            if text is None:
                break
            if text == "?":
                note(_help(question))
                continue
            if text == "<":
                if self._back(question):
                    raise _Back
                continue
            if text in ("-", "don't know", "unknown"):
                self.typed.append(question.key)
                return None
            if text == "":
                self.typed.append(question.key)
                return kept
            try:
                found = self._checked(question, text)
            except InputError as error:
                # answers from a pipe can't be given again: those that follow would answer the wrong questions
                if not sys.stdin.isatty():
                    raise InputError(
                        f"line {self.lines} of the answers: {error.message}", hint=error.hint
                    ) from None
                note(f"  {error.message}{f' ({error.hint})' if error.hint else ''}")
                continue
            if (
                question.kind in ("layout", "material", "choice", "zero")
                and found.casefold() != text.casefold()
            ):
                note(f"  = {found}")
            self.typed.append(question.key)
            return found
        return question.default

    def _kept(self, question: Question) -> str | None:
        """Return what Enter means: the last answer, where it still fits, else the default."""
        from planner.jobfile.new_job.files import carried_over, usual_answer

        shop, crankshaft = self.last
        units = self.answers.get("units")
        last = carried_over(shop, units) | carried_over(crankshaft, units)
        return usual_answer(question, last, self.answers)

    def _ask(self, question: Question, kept: str | None) -> str | None:
        """Return what was typed, an empty text for Enter; None when the input has ended."""
        choices = f" ({', '.join(question.choices)})" if question.choices else ""
        shown = f" [{kept}]" if kept else ""
        try:
            text: str = typer.prompt(
                f"{question.text}{choices}{shown}", default="", show_default=False, err=True
            )
        except (typer.Abort, OSError):
            # typer turns the end of the input and Ctrl-C into the same error
            if sys.stdin.isatty():
                raise
            note("")
            self.asking = False
            return None
        self.lines += 1
        if not sys.stdin.isatty():
            note(text)
        return text.strip()


def _help(question: Question) -> str:
    from planner.engine.layouts import LAYOUTS

    if question.kind == "layout":
        return "\n".join(f"  {number:>2}  {each.name}" for number, each in enumerate(LAYOUTS, start=1))
    return f"  {question.how or question.text}"


def _report(paths: _Paths, written: list[Path], open_: tuple[ToMeasure, ...], *, as_json: bool) -> None:
    from planner.jobfile.read import load_job
    from planner.present.to_json import picked

    faults: list[str] = []
    try:
        load_job(paths.job)
    except FileFaultsError as error:
        faults = [f"{fault.file}: {fault.text()}" for fault in error.faults]
    if as_json:
        say_json(
            {
                "job": str(paths.job),
                "files": [str(path) for path in written],
                "loads": not faults,
                "to_measure": [picked(each, "file path what how") for each in open_],
                "faults": faults,
            }
        )
        return
    lines = [f"written: {', '.join(str(path) for path in written)}"]
    if open_:
        lines += ["", "STILL TO BE MEASURED (these lines stand in the files behind a #)"]
        for each in open_:
            lines.append(f"  {each.file}, {each.path}: {each.what}")
            if each.how:
                lines.append(f"      {each.how}")
    lines += [
        "",
        "Look over the crankshaft for old holes, slugs and oil drillings: they go under [[counterweights]] as `existing` and",
        "`keep_out`, or under [[oil_drillings]]; what is not there is drilled into.",
    ]
    if faults:
        lines += [
            "",
            f"The job can be used when this is filled in ({len(faults)}):",
            *(f"  {each}" for each in faults),
        ]
    elif any(each.path.startswith("parts.") for each in open_):
        lines += ["", "The job can be used, but the bobs are not known before the parts are weighed."]
    else:
        lines += ["", "The job can be used as it is."]
    lines += ["", *_next(paths)]
    say("\n".join(lines))


def _next(paths: _Paths) -> list[str]:
    """Return the commands that come next."""
    job = "" if paths.job.name == "job.toml" else f" {paths.job}"
    return [
        "Next:",
        f"  `bobplan quote{job}`   is heavy metal likely, and what would it cost (needs what the crankshaft was built for)",
        f"  `bobplan match{job}`   what to grind off which part",
        f"  `bobplan bobs{job}`    the bob mass for every throw",
        f"  `bobplan prove{job}`   prove the machine's settings with a known mass before any metal is lost",
        "  `bobplan spin`    after the first spin: left amount, left angle, right amount, right angle",
    ]
