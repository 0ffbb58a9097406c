"""Answers as plain data: what ``--json`` prints and ``to_dict`` gives.

A key is the name of the field that it comes from, unit included; where it is called otherwise, the page says so.  One encoding
each: a vector of the crankshaft's frame is ``{"amount_gmm", "angle_deg"}``, a pair of them a list of two with ``plane`` and
``z_mm``; numbers have nine decimals and never an infinity or a NaN (None: there is no such number).  The promise that
the outputs keep is `planner/present/json_schema.json`.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from planner.frames import TwoPlanes, wrap_deg
from planner.present.numbers import neat
from planner.rotor.vectors import angle_deg

if TYPE_CHECKING:
    from planner.frames import SideReading
    from planner.jobfile.job import Job
    from planner.rotor.vectors import ComplexArray


def plain(value: Any) -> Any:
    """Return a value as JSON can hold it: records by their fields, vectors as amount and angle."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return neat(value) if math.isfinite(value) else None
    if isinstance(value, complex):
        return vector_json(value)
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if dataclasses.is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, Sequence):
        return [plain(each) for each in value]
    raise TypeError(f"{type(value).__name__} has no form in JSON")


def picked(source: object, fields: str) -> dict[str, Any]:
    """Return some fields of a record as plain data, in this order: see `chosen`."""
    return {key: plain(value) for key, value in chosen(source, fields).items()}


def chosen(source: object, fields: str) -> dict[str, Any]:
    """Return some fields of a record as they are, in this order.

    Parameters
    ----------
    source : record
        What has them.
    fields : str
        Words: ``radius_mm`` is a field under its own name, ``bob_g=grams`` one that is called otherwise, ``left.force_rms`` a
        field of a field (called ``force_rms``; None where ``left`` is None).
    """
    found: dict[str, Any] = {}
    for word in fields.split():
        key, _, path = word.rpartition("=")
        value: Any = source
        for name in path.split("."):
            value = None if value is None else getattr(value, name)
        found[key or name] = value
    return found


def without(source: Any, *names: str) -> dict[str, Any]:
    """Return all fields of a record but these, as plain data."""
    return picked(
        source, " ".join(field.name for field in dataclasses.fields(source) if field.name not in names)
    )


def vector_json(vector: complex) -> dict[str, float]:
    """Return a vector [g*mm] of the crankshaft's frame as amount and angle."""
    return {"amount_gmm": neat(abs(vector)), "angle_deg": neat(angle_deg(vector))}


def vectors_json(
    vectors_gmm: Sequence[complex] | ComplexArray,
    planes_z_mm: Sequence[float],
    *,
    planes: Sequence[str] = ("left", "right"),
) -> list[dict[str, Any]]:
    """Return a left and a right vector [g*mm] as amounts and angles (or those of the planes named)."""
    return [
        {"plane": side, "z_mm": neat(z_mm), **vector_json(complex(vector))}
        for side, z_mm, vector in zip(planes, planes_z_mm, vectors_gmm, strict=True)
    ]


def shown_json(shown: TwoPlanes[SideReading], job: Job) -> list[dict[str, Any]]:
    """Return what the display shows: in its units and counting, of the spot that it marks."""
    kind, units = job.display_kind, job.display_units
    return [
        {
            "plane": side,
            "amount": neat(float(units.text(each.amount, kind, digits=9, with_unit=False))),
            "unit": units.unit_of(kind),
            "angle_deg": neat(wrap_deg(each.angle_deg)),
        }
        for side, each in shown.items()
    ]
