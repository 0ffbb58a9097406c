"""bobplan: plans the correction of an engine crankshaft on the balancing machine.

>>> import planner as bp
>>> job = bp.load_job("examples/cross_plane_v8")
>>> bp.plan(job).verdict
'in tolerance'

Everything public is listed in ``__all__`` and loaded when it is first used: the command line must not pay for it.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.2.0"

_NOT_IN_LIBRARY = {
    "Job": "planner.jobfile.job",
    "loads_job": "planner.jobfile.read",
    "Cut": "planner.cuts.cut",
    "Shop": "planner.cuts.cut",
    "BobplanError": "planner.errors",
    "FileFaultsError": "planner.errors",
    "InputError": "planner.errors",
    "NoAnswerError": "planner.errors",
    "OpenQuestionError": "planner.errors",
}
"""Where those public names stand that are not of `planner.library`."""

__all__ = [
    "BobplanError",
    "Bobs",
    "Check",
    "Cut",
    "Failed",
    "FileFaultsError",
    "InputError",
    "Job",
    "Match",
    "NoAnswerError",
    "Odds",
    "OpenQuestionError",
    "Plan",
    "Quote",
    "Result",
    "Shop",
    "WithheldError",
    "__version__",
    "bobs",
    "check",
    "load_job",
    "loads_job",
    "match",
    "odds",
    "plan",
    "plan_many",
    "plot_plan",
    "quote",
]

if TYPE_CHECKING:
    from planner.cuts.cut import Cut, Shop
    from planner.errors import BobplanError, FileFaultsError, InputError, NoAnswerError, OpenQuestionError
    from planner.jobfile.job import Job
    from planner.jobfile.read import loads_job
    from planner.library import (
        Bobs,
        Check,
        Failed,
        Match,
        Odds,
        Plan,
        Quote,
        Result,
        WithheldError,
        bobs,
        check,
        load_job,
        match,
        odds,
        plan,
        plan_many,
        plot_plan,
        quote,
    )


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used (PEP 562)."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(_NOT_IN_LIBRARY.get(name, "planner.library")), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
