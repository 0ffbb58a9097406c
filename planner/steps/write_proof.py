"""What a known mass proved, and the settings that it mended, written into the files that have them."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path

from planner.errors import InputError
from planner.jobfile import render
from planner.jobfile.job import PROVABLE, Job, Proof
from planner.jobfile.write import write_proof
from planner.quantity import from_g
from planner.steps.known_mass import KnownMassCheck, check_known_masses
from planner.steps.prove import (
    MACHINES,
    LineCheck,
    check_drill_lines,
    mended_job,
    mended_values,
    proofs_after,
    proved_settings,
    settings_tested,
)


def write_checked(
    job: Job,
    check: KnownMassCheck,
    lines: Sequence[LineCheck],
    *,
    renewed: Collection[str],
    date: datetime.date,
    by: str | None,
    still: Callable[[], None] | None = None,
) -> tuple[Path, ...]:
    """Write mended settings and the proof; return the files that changed.

    Parameters
    ----------
    job : Job
        The job as its files have it.
    check : KnownMassCheck
        What its check spins prove: one explanation.
    lines : sequence of LineCheck
        Lines under the drill, compared with the settings as they are put right.
    renewed : collection of {"spins", "line"}
        What was read just now; what was read before proves nothing anew: what stood proved keeps its day.
    date : date
        Of the proof.
    by : str or None
        Who proved it; None: who proved with these spins before, else the job's operator.
    still : callable, optional
        Called under the lock before anything is written; what it raises leaves the files as they are.

    Raises
    ------
    InputError
        If the readings would still not fit; see `planner.jobfile.write.write_proof`.
    """
    found = check.explanations[0]
    after = mended_job(job, found, lines)
    again = check_known_masses(after)
    if not again.good:
        raise InputError(
            "with the setting mended the readings would still not fit",
            hint="look at the evidence above, then repeat the check; nothing was changed",
        )
    lines_after = check_drill_lines(after, [(each.place, each.showed_deg) for each in lines])
    tested = settings_tested(again, lines_after)
    stood = proved_settings(after)
    # the same spins as before prove nothing anew: what stood proved keeps its day
    anew = [
        name
        for name in tested
        if not stood[name] or ("line" if name == "drill_offset" else "spins") in renewed
    ]
    changes = {section: dict(keys) for section, keys in (mended_values(job, found) or {}).items()}
    for each in lines:
        if each.mended_deg is not None:
            changes.setdefault("machine", {})["drill_offset"] = each.mended_deg
    places = [spin.known.at or "the machine's own number" for spin in check.spins]
    new = Proof(
        on=date,
        by=by if by is not None else job.details.operator or _known_by(job),
        mass_g=check.spins[-1].known.mass_g,
        places=tuple(dict.fromkeys(places)),
    )
    proofs = proofs_after(after, new, renewed=anew)
    in_job = job.files.machine in (None, job.files.job)
    machine = _proved(job, proofs, PROVABLE if in_job else MACHINES)
    crankshaft = None if in_job else _proved(job, proofs, [name for name in PROVABLE if name not in MACHINES])
    return write_proof(job, mended=changes, machine=machine, crankshaft=crankshaft, still=still)


def _proved(job: Job, proofs: Sequence[Proof], names: Sequence[str]) -> dict[str, str] | None:
    """Return ``proved`` of a section as TOML, key by key: the newest proof of its settings, those before in ``earlier``."""
    found = [
        _proof_toml(job, each, {name: value for name, value in each.values.items() if name in names})
        for each in proofs
        if any(name in names for name in each.values)
    ]
    if not found:
        return None
    first, *earlier = found
    if earlier:
        tables = (
            "{ " + ", ".join(f"{key} = {value}" for key, value in each.items()) + " }" for each in earlier
        )
        first["earlier"] = f"[{', '.join(tables)}]"
    return first


def _proof_toml(job: Job, proof: Proof, values: Mapping[str, str]) -> dict[str, str]:
    lines: dict[str, str] = {}
    if proof.on is not None:
        lines["on"] = proof.on.isoformat()
    if proof.by:
        lines["by"] = render.text(proof.by)
    if proof.mass_g is not None:
        lines["mass"] = render.text(f"{render.number(from_g(proof.mass_g, job.units.mass))} {job.units.mass}")
    if proof.places:
        lines["places"] = f"[{', '.join(render.text(each) for each in proof.places)}]"
    return lines | {name: render.text(value) for name, value in values.items()}


def _known_by(job: Job) -> str:
    """Return who proved the settings with these same spins before: a scribed line added later is no new proof."""
    mass_g = check_known_masses(job).spins[-1].known.mass_g
    return next(
        (
            each.by
            for each in job.proofs
            if each.by and each.mass_g is not None and abs(each.mass_g - mass_g) < 0.05
        ),
        "",
    )
