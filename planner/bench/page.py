"""What every part of the page shares: the request as a part sees it, templates, and how a text of the program is shown."""

from __future__ import annotations

import functools
import hashlib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import jinja2
from markupsafe import Markup
from starlette.responses import HTMLResponse, RedirectResponse, Response

from planner.bench.folder import Folder, address
from planner.bench.help_words import HELP
from planner.bench.seen import StaleError, ensure_unchanged, seen_of
from planner.errors import BobplanError
from planner.jobfile.job import Job
from planner.jobfile.loaded import load_known
from planner.jobfile.write import Entries, enter
from planner.present.to_html import colours_css
from planner.present.to_paper import TEMPLATES, table_data
from planner.quantity import UnitSystem

if TYPE_CHECKING:
    from planner.bench.planning import Planner

STATIC = Path(__file__).with_name("static")


@dataclass(frozen=True)
class Form:
    """Names and values of a form or an address; what is not there is empty."""

    pairs: tuple[tuple[str, str], ...] = ()

    def get(self, name: str) -> str:
        """Return the last value of a name, without blanks around it."""
        return next((value.strip() for key, value in reversed(self.pairs) if key == name), "")

    def all(self, name: str) -> tuple[str, ...]:
        """Return all values of a name that are not empty."""
        return tuple(value.strip() for key, value in self.pairs if key == name and value.strip())

    def __contains__(self, name: object) -> bool:
        """Whether the name came with the form."""
        return any(key == name for key, _ in self.pairs)

    def starting(self, start: str) -> dict[str, str]:
        """Return the values whose names start so, the start taken off."""
        return {key[len(start) :]: value.strip() for key, value in self.pairs if key.startswith(start)}


@dataclass(frozen=True)
class Call:
    """One request: the folder, the job it names, what was typed, and which units are shown."""

    folder: Folder
    planner: Planner
    key: str = ""
    query: Form = field(default_factory=Form)
    form: Form = field(default_factory=Form)
    other_units: bool = False
    path: str = "/"
    posted: bool = False
    values: Mapping[str, str] = field(default_factory=dict)

    @property
    def file(self) -> Path:
        """The job file; it is there and inside the folder."""
        return self.folder.path_of(self.key)

    def job(self) -> Job:
        """Return the job as its files have it now."""
        return load_known(self.file)

    def ensure_unchanged(self, now: Job, *, plan: bool = False, files: bool = True) -> None:
        """Refuse a form that was made from another state of the job; see `planner.bench.seen.ensure_unchanged`."""
        ensure_unchanged(self.form.get("seen"), now, plan=plan, files=files)

    def job_as_seen(self) -> Job:
        """Return the job as its files have it now, where that is what the form was made from."""
        job = self.job()
        self.ensure_unchanged(job)
        return job

    def still(self, job: Job) -> Callable[[], None]:
        """Return what refuses the form under the lock when the files are others by then."""
        return lambda: self.ensure_unchanged(load_known(job.files.job))

    def enter(self, job: Job, entries: Entries) -> None:
        """Enter what a form says, where the job is still what the form was made from."""

        def unchanged(now: Job) -> Entries:
            self.ensure_unchanged(now)
            return entries

        enter(job.files.job, unchanged)

    def shown(self, job: Job) -> Job:
        """Return the job in the units that are to be shown."""
        return in_other_units(job) if self.other_units else job

    def here(self, part: str) -> str:
        """Return the address to load this page again: a form's own address is none."""
        where = {"prove": "shop/prove"}.get(part, part)
        return address(self.key, where) if self.posted else self.asked_at(where)

    def asked_at(self, part: str) -> str:
        """Return the address of a part with what this one was asked with."""
        kept = [(name, value) for name, value in self.query.pairs if value and name != "entered"]
        return address(self.key, part) + (f"?{urlencode(kept)}" if kept else "")

    def to(self, part: str, **query: str) -> str:
        """Return the address of another part of the same job."""
        asked = {name: value for name, value in query.items() if value}
        return address(self.key, part) + (f"?{urlencode(asked)}" if asked else "")


Handler = Callable[[Call], Response]


def in_other_units(job: Job) -> Job:
    """Return a metric job in inches and ounce-inches, one in inches in millimetres and gram-millimetres."""
    units = (
        UnitSystem()
        if job.units.in_inches
        else UnitSystem(length="in", mass=job.units.mass, unbalance="oz*in")
    )
    return replace(job, units=units, machine=replace(job.machine, display_unit=None))


def show(call: Call, template: str, *, status: int = 200, **content: Any) -> HTMLResponse:
    """Return a page painted by a template."""
    markup = (
        environment()
        .get_template(f"{template}.html")
        .render(call=call, version=version(), single=call.folder.only is not None, **content)
    )
    return HTMLResponse(markup, status_code=status)


def show_part(
    call: Call,
    part: str,
    job: Job,
    *,
    error: BobplanError | None = None,
    status: int | None = None,
    **content: Any,
) -> HTMLResponse:
    """Return a part of a job's page, with its head: where the job stands, what can be taken back."""
    from planner.bench.head import head_of

    return show(
        call,
        part,
        status=status if status is not None else status_of(error),
        part=part,
        here=call.here(part),
        job=job,
        head=head_of(call, job),
        seen=seen_of(job).token,
        error=None if error is None else error_words(error),
        help=HELP.get(part.partition("_")[0], ()),
        **content,
    )


def refused_on(page: Callable[..., Response]) -> Callable[[Handler], Handler]:
    """Make the answer to a form: what is refused is said on its page, with what was typed."""

    def made(answer: Handler) -> Handler:
        @functools.wraps(answer)
        def answered(call: Call) -> Response:
            try:
                return answer(call)
            except BobplanError as error:
                return page(call, typed=call.form, error=error)

        return answered

    return made


def status_of(error: BobplanError | None) -> int:
    """Return the status of an answer: a form that was overtaken is a conflict."""
    return 200 if error is None else 409 if isinstance(error, StaleError) else 422


def go(where: str) -> Response:
    """Send the browser on, after something was entered."""
    return RedirectResponse(where, status_code=303)


@dataclass(frozen=True, kw_only=True)
class ErrorWords:
    """An error as the page says it: what, and what to do; every line of a list of faults by itself."""

    lines: tuple[str, ...]
    hint: str
    changed: tuple[str, ...] = ()


def error_words(error: BobplanError) -> ErrorWords:
    """Return an error in words of the page."""
    return ErrorWords(
        lines=tuple(line.strip() for line in error.message.splitlines() if line.strip()),
        hint=error.hint or "",
        changed=getattr(error, "changed", ()),
    )


@functools.cache
def version() -> str:
    """Return a sum of the page's own files: a browser keeps them until they change."""
    found = hashlib.sha256()
    for path in sorted(STATIC.iterdir()):
        found.update(path.read_bytes())
    found.update(colours_css().encode())
    return found.hexdigest()[:12]


@functools.cache
def environment() -> jinja2.Environment:
    """Return the templates: the page's own, and those shared with the papers."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader([Path(__file__).with_name("templates"), TEMPLATES]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters.update(code=code, table=table_data, kind=lambda part: type(part).__name__)
    made.globals.update(address=address)
    return made


_COMMANDS = {
    "undo": "Undo",
    "spin": "Spin",
    "plan": "Cut",
    "done": "Cut",
    "check": "Judge",
    "history": "Judge",
    "sheet": "the papers under Judge",
    "prove": "the known-mass walk-through under Shop",
    "quote": "Quote",
    "bobs": "Parts",
    "match": "Parts",
    "start": "New job",
}
_COMMAND = re.compile(r"`bobplan ([a-z]+)[^`]*`")
_OPTIONS = {
    "--bob": "the new bob",
    "--built-for": "what it was balanced for",
    "--within": "how far it may be off that",
    "--seconds": "ask again",
    "--heavy-metal": "heavy metal under “Plan it otherwise”",
}
_OPTION = re.compile(r"`(--[a-z-]+)[^`]*`")


def code(text: str) -> Markup:
    """Return a text of the program for the page: a command becomes the part that does it, an option what the page calls it."""

    def part(match: re.Match[str]) -> str:
        return _COMMANDS.get(match[1], match[0])

    def box(match: re.Match[str]) -> str:
        return _OPTIONS.get(match[1], match[0])

    pieces = _OPTION.sub(box, _COMMAND.sub(part, str(text))).split("`")
    if len(pieces) % 2 == 0:
        return Markup(escape("`".join(pieces)))
    return Markup(
        "".join(
            escape(piece) if index % 2 == 0 else f"<code>{escape(piece)}</code>"
            for index, piece in enumerate(pieces)
        )
    )
