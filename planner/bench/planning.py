"""Planning beside the page: worker processes, so that the page stays alive while a plan is sought.

A newer question about a job ends the older one's worker at once; another is warm.  What is said on the way is kept for
whoever listens.  Workers are sent the job and write nothing but the cache of tables.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import queue
import signal
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Literal

from planner.bench.seen import stamp_of
from planner.errors import BobplanError, InputError
from planner.jobfile.job import Job

AT_ONCE_SECONDS = 0.9
"""How long a page waits for an answer before it is shown without one, with news of the search."""

_WORKERS = 2
_KEPT = 16
_ANSWERS_PER_WORKER = 300
_SECONDS = 60.0

What = Literal["plan", "quote", "window"]
"""What is asked: a plan, the decision between the ways before any spin, or which bobs drilling alone can balance."""

Say = Callable[[str], None]


class OvertakenError(InputError):
    """A newer question about the same job was asked."""

    def __init__(self) -> None:
        super().__init__("a newer question about this job was asked meanwhile", hint="ask again for this one")


@dataclass(frozen=True)
class Asked:
    """One question of a job as its files were when it was loaded, which ``stamp`` tells, or with a wish.

    A newer question of the same kind about the same job ends this one.
    """

    path: Path
    stamp: str
    job: Job = field(compare=False, repr=False)
    wish: tuple[tuple[str, Any], ...] = ()
    anew: bool = False
    what: What = "plan"

    @classmethod
    def of(cls, job: Job, **asked: Any) -> Asked:
        """Return a question of a job that was loaded."""
        return cls(job.files.job, stamp_of(job), job, **asked)

    @property
    def about(self) -> tuple[Path, What]:
        """The job and what is asked of it: one answer at a time is sought for these."""
        return self.path, self.what


@dataclass
class Task:
    """A question being answered; ``texts`` grow until there is an ``answer`` or an ``error``.

    The answer of a plan is a `PlanAnswer`, of a quote a `Decision`, of a window a `BobWindow`.
    """

    asked: Asked
    texts: list[str] = field(default_factory=list)
    answer: Any = None
    error: BobplanError | None = None
    cancelled: bool = False
    _news: threading.Condition = field(default_factory=threading.Condition)
    _process: Any = None

    @property
    def ended(self) -> bool:
        """Whether it is answered, failed or overtaken."""
        return self.answer is not None or self.error is not None

    @property
    def stands(self) -> bool:
        """Whether the same question needs no other search: it is being answered, or will be answered so every time."""
        if self.cancelled:
            return False
        return self.error is None or (isinstance(self.error, InputError) and self.answer is None)

    def wait(self, seconds: float) -> bool:
        """Wait for the end, not longer than that; return whether it came."""
        with self._news:
            return self._news.wait_for(lambda: self.ended, seconds)

    def texts_after(self, count: int, seconds: float) -> Sequence[str]:
        """Return what was said after the first ``count`` texts, waiting for news not longer than ``seconds``."""
        with self._news:
            self._news.wait_for(lambda: self.ended or len(self.texts) > count, seconds)
            return tuple(self.texts[count:])

    def say(self, text: str) -> None:
        """Keep what the search says."""
        with self._news:
            self.texts.append(text)
            self._news.notify_all()

    def end(self, answer: Any, error: BobplanError | None) -> None:
        """End with an answer or an error."""
        with self._news:
            if not self.ended:
                self.answer, self.error = answer, error
            self._news.notify_all()


class Planner:
    """Answers questions in worker processes, the newest one of each job.

    Parameters
    ----------
    workers : int
        How many processes; one more than plans at a time, so that one is warm when another was ended.
    seconds : float
        Outer stop of one search [s].
    """

    def __init__(self, *, workers: int = _WORKERS, seconds: float = _SECONDS) -> None:
        self._seconds = seconds
        self._queue: queue.Queue[Task | None] = queue.Queue()
        self._lock = threading.Lock()
        self._current: dict[tuple[Path, What], Task] = {}
        self._known: OrderedDict[Asked, Task] = OrderedDict()
        self._threads = [threading.Thread(target=self._serve, daemon=True) for _ in range(workers)]
        for each in self._threads:
            each.start()

    def ask(self, asked: Asked) -> Task:
        """Return the task of a question; an older one about the same job is ended."""
        with self._lock:
            known = self._known.get(asked)
            if known is not None and known.stands:
                self._known.move_to_end(asked)
                return known
            older = self._current.get(asked.about)
            if older is not None and not older.ended:
                _overtake(older)
            task = Task(asked)
            self._current[asked.about] = task
            self._known[asked] = task
            while len(self._known) > _KEPT:
                _, gone = self._known.popitem(last=False)
                if self._current.get(gone.asked.about) is gone and gone.ended:
                    del self._current[gone.asked.about]
        self._queue.put(task)
        return task

    def known(self, asked: Asked) -> Task | None:
        """Return the task of a question that was asked already, None if it was not; nothing is begun."""
        with self._lock:
            return self._known.get(asked)

    def close(self) -> None:
        """End all workers."""
        for _ in self._threads:
            self._queue.put(None)
        with self._lock:
            for task in self._current.values():
                _overtake(task)
        for each in self._threads:
            each.join(2.0)

    def _serve(self) -> None:
        process, connection = _started()
        answered = 0
        while True:
            task = self._queue.get()
            if task is None:
                process.kill()
                return
            if task.cancelled:
                task.end(None, OvertakenError())
                continue
            with self._lock:  # who overtakes it ends this process only while it is at this task
                task._process = process
            broken = False
            try:
                connection.send((task.asked, self._seconds))
                while not task.ended:
                    kind, value = connection.recv()
                    if kind == "text":
                        task.say(value)
                    elif kind == "answer":
                        task.end(value, None)
                    else:
                        task.end(None, value)
                answered += 1
            except (EOFError, OSError):
                broken = True
                task.end(None, OvertakenError() if task.cancelled else _died())
            with self._lock:
                task._process = None
            if broken or task.cancelled or answered >= _ANSWERS_PER_WORKER:
                process.kill()
                process.join()
                connection.close()
                process, connection = _started()
                answered = 0


def _overtake(task: Task) -> None:
    task.cancelled = True
    process = task._process
    if process is not None and not task.ended:
        process.kill()


def _died() -> BobplanError:
    return BobplanError(
        "the search ended before it had an answer", hint="ask again; `bobplan plan` in a terminal says more"
    )


def _started() -> tuple[Any, Connection]:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_work, args=(theirs,), daemon=True, name="bobplan-plan")
    process.start()
    theirs.close()
    return process, ours


def _work(connection: Connection) -> None:
    """Answer questions until the page is gone."""
    # Ctrl-C is for the page: it ends its workers itself
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from planner.steps import what_if  # noqa: F401  (warm before the first question)

    with contextlib.suppress(EOFError, OSError, BrokenPipeError):
        while True:
            asked, seconds = connection.recv()
            connection.send(_answered(asked, seconds, connection))


def _answered(asked: Asked, seconds: float, connection: Connection) -> tuple[str, Any]:
    def say(text: str) -> None:
        connection.send(("text", text))

    try:
        return "answer", _ANSWERS[asked.what](asked, seconds, say)
    except BobplanError as error:
        return "error", _plain(error)
    except Exception as error:  # a fault of the program: said, and the page lives on
        return "error", BobplanError(f"the program failed here ({type(error).__name__}: {error})")


def _plan(asked: Asked, seconds: float, say: Say) -> Any:
    from planner.steps.removal_ratio import with_plan_factor
    from planner.steps.what_if import plan_what_if, read_what_if

    job = asked.job
    wish = read_what_if(job, **dict(asked.wish))
    anew = asked.anew or bool(wish)
    return plan_what_if(with_plan_factor(job, anew=anew), wish, seconds=seconds, progress=say, anew=anew)


def _quote(asked: Asked, seconds: float, say: Say) -> Any:
    """Return the decision between the ways; a wish has masses [g], prices and cases as `quote_of` and `priced` take them."""
    import dataclasses

    from planner.steps.decision import DRAWS, decision_of
    from planner.steps.dialled import ensure_told
    from planner.steps.quote import priced, quote_of

    wish = dict(asked.wish)
    job = asked.job
    # what is drilled already counts by its place
    ensure_told(job)
    shop = priced(
        job.shop,
        slug_price=dict(wish.get("slug_price", ())),
        minutes_per_cut=wish.get("minutes_per_cut"),
        labour_per_hour=wish.get("labour_per_hour"),
    )
    quote = quote_of(
        dataclasses.replace(job, shop=shop),
        bob_g=wish.get("bob_g"),
        built_for_g=wish.get("built_for_g"),
        within_g=wish.get("within_g"),
        seconds=seconds,
        progress=say,
    )
    return decision_of(quote, draws=wish.get("draws", DRAWS), seconds=10.0 * seconds, progress=say)


def _window(asked: Asked, seconds: float, say: Say) -> Any:
    """Return which bobs drilling alone can balance, confirmed by plans."""
    from planner.steps.bobs_drilled import window_of

    return window_of(asked.job, seconds=seconds, progress=say)


_ANSWERS: Mapping[What, Callable[[Asked, float, Say], Any]] = {
    "plan": _plan,
    "quote": _quote,
    "window": _window,
}


def _plain(error: BobplanError) -> BobplanError:
    """Return an error that can go from one process to another, of the kind that the page asks about."""
    kind = InputError if isinstance(error, InputError) else BobplanError
    return kind(error.message, hint=error.hint)
