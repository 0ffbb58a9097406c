"""One spin, one cut or the weights of parts put into a job file, by the product's own ways of entering."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from planner.jobfile.job import MadeCut, StoredPlan
from planner.jobfile.read import load_job
from planner.jobfile.write import Entries, PartEntries, enter, enter_parts
from planner.machine.spin import Spin


def add_spin(path: Path, spin: Spin, *, plan: StoredPlan | None = None) -> int:
    """Return the spin's number."""
    enter(path, lambda job: Entries(spins=(spin,), plan=plan))
    return len(load_job(path).spins)


def add_made_cut(path: Path, made: MadeCut, *, plan: StoredPlan | None = None) -> None:
    enter(path, lambda job: Entries(made=(made,), plan=plan))


def store_parts(path: Path, masses_g: Mapping[str, Sequence[float]]) -> bool:
    """Return whether anything changed in the file."""
    return enter_parts(path, lambda job: PartEntries(masses_g=masses_g))
