"""Collecting faults: where each one is, what was given, what is allowed, what was probably meant."""

from __future__ import annotations

import difflib
import re
import types
import typing
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from planner.errors import Fault, InputError
from planner.jobfile.schema.base import Section, shown
from planner.quantity import QuantityError

Location = Sequence[str | int]

_SHORT_LETTERS = 3


_SAID: Mapping[str, str] = {
    "spins.bobs": "what was clamped on must be said, one mass or one per throw; 0 = spun bare",
    "spins.left": "the reading of the left plane must be said: { amount = .., angle = .. }",
    "spins.right": "the reading of the right plane must be said: { amount = .., angle = .. }",
    "amount": "the amount of a reading must be said",
    "angle": "an angle must be said",
    "crankshaft.bearing_1_z": "where the front bearing's middle is must be said",
    "crankshaft.bearing_2_z": "where the rear bearing's middle is must be said",
    "planes.left": "where the machine's left reading plane is must be said",
    "planes.right": "where the machine's right reading plane is must be said",
    "counterweights.outline": 'a shape must be said: { shape = "fan", outer_radius = .., half_angle = .., '
    "inner_radius = .. }",
    "mounted.in_engine": "whether the part is there in the running engine must be said: true or false",
}


def did_you_mean(given: object, allowed: Iterable[str]) -> str:
    """Return ``did you mean `x`?``, or an empty text when nothing is near."""
    if not isinstance(given, str):
        return ""
    # `cww` is near to both `cw` and `ccw`: between such short words a guess would be worse than none
    folded = {_folded(name): name for name in allowed if len(name) > _SHORT_LETTERS}
    close = difflib.get_close_matches(_folded(given), folded, n=1, cutoff=0.6)
    return f"did you mean `{folded[close[0]]}`?" if close else ""


def _folded(text: str) -> str:
    return text.casefold().replace("-", " ").replace("_", " ")


def listed(names: Iterable[str]) -> str:
    """Return names for a message, each in backticks."""
    return ", ".join(f"`{name}`" for name in names)


def key_path(section: str, location: Location, data: object) -> str:
    """Return a key path as a person would write it, ``counterweights[2] "C".outline.outer_radius``.

    Counting begins at 1; a table in a list that has a name shows it.
    """
    text = section
    here = data
    for element in location:
        if isinstance(element, int):
            here = here[element] if isinstance(here, list) and element < len(here) else None
            name = here.get("name") if isinstance(here, Mapping) else None
            text += f"[{element + 1}]" + (f' "{name}"' if isinstance(name, str | int) and name != "" else "")
        else:
            here = here.get(element) if isinstance(here, Mapping) else None
            text += "." * bool(text) + (
                element if re.fullmatch(r"[A-Za-z0-9_-]+", element) else f'"{element}"'
            )
    return text


def value_at(data: object, location: Location) -> Any:
    """Return what stands at a location, None when nothing does."""
    here = data
    for element in location:
        if not isinstance(here, Mapping | list):
            return None
        try:
            here = here[element]  # type: ignore[index]  # a wrong kind of index is a TypeError
        except (KeyError, IndexError, TypeError):
            return None
    return here


class Faults:
    """All faults found so far."""

    def __init__(self) -> None:
        self.found: list[Fault] = []

    def add(self, *, path: str, allowed: str, given: str = "", hint: str = "", file: str = "") -> None:
        """Note a fault; the same one is noted only once."""
        fault = Fault(path=path, given=given, allowed=allowed, hint=hint, file=file)
        if fault not in self.found:
            self.found.append(fault)

    def add_error(self, error: InputError, *, path: str, file: str) -> None:
        """Note an error of the library at a key path."""
        if isinstance(error, QuantityError):
            given, allowed = error.given, error.allowed
        else:
            given, allowed = "", error.message
        self.add(path=path, given=given, allowed=allowed, hint=error.hint or "", file=file)

    def add_validation(
        self,
        error: ValidationError,
        *,
        model: type[Section],
        section: str,
        place: Location,
        data: Any,
        file: str,
    ) -> None:
        """Note every error of a validation.

        Parameters
        ----------
        error : ValidationError
            What pydantic found.
        model : type
            The model that was validated.
        section : str
            Name of the section.
        place : sequence
            Index of the table in the section's array, or empty.
        data : object
            The whole section as read.
        file : str
            The file's name.
        """
        for each in error.errors(include_url=False):
            location = (*place, *each["loc"])
            at_key = each["type"] in ("missing", "extra_forbidden")
            fields = _models_at(model, each["loc"][:-1] if at_key else each["loc"])
            given, allowed, hint = _words(each, section=section, models=fields)
            self.add(
                path=key_path(section, location, data), given=given, allowed=allowed, hint=hint, file=file
            )


def _words(error: Any, *, section: str, models: Sequence[type[Section]]) -> tuple[str, str, str]:
    """Return (given, allowed, hint) of one of pydantic's errors."""
    kind, value = error["type"], error["input"]
    key = str(error["loc"][-1]) if error["loc"] else ""
    keys = [field.alias or name for each in models for name, field in each.model_fields.items()]
    if kind == "missing":
        said = _SAID.get(f"{section}.{key}") or _SAID.get(key) or "must be said, it is missing"
        unknown = [name for name in value if name not in keys] if isinstance(value, dict) else []
        near = difflib.get_close_matches(key, unknown, n=1, cutoff=0.6)
        return "", said, f"is `{near[0]}` meant to be `{key}`?" if near else ""
    if kind == "extra_forbidden":
        hint = did_you_mean(key, keys) or _twin_hint(key, keys)
        return shown(value), "there is no such key here", hint or f"the keys here are {listed(keys)}"
    if kind == "literal_error":
        choices = re.findall(r"'([^']*)'", error["ctx"]["expected"])
        return shown(value), f"allowed: {listed(choices)}", did_you_mean(value, choices)
    if kind == "value_error" and isinstance(error["ctx"]["error"], QuantityError):
        found = error["ctx"]["error"]
        return found.given, found.allowed, found.hint or ""
    if kind in ("list_type", "tuple_type"):
        return shown(value), "a list in [ ] is wanted here", ""
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        keys_text = ", ".join(f"{name} = .." for name in keys[:4])
        return shown(value), "a table is wanted here", f"for example {{ {keys_text} }}" if keys else ""
    return shown(value), str(error["msg"]), ""


def _twin_hint(key: str, keys: Sequence[str]) -> str:
    """Return a hint for a key that was given the unit as a suffix, as in the code."""
    for suffix in ("_mm", "_in", "_deg", "_degrees", "_g", "_kg", "_gmm", "_rpm"):
        if key.endswith(suffix) and key.removesuffix(suffix) in keys:
            bare = key.removesuffix(suffix)
            return f"write `{bare}`; the unit comes from [units] or the value"
    return ""


def _models_at(model: type[Section], location: Location) -> list[type[Section]]:
    """Return the models that stand at a location."""
    here: list[type[Section]] = [model]
    for element in location:
        if isinstance(element, int):
            continue
        inner: list[type[Section]] = []
        for each in here:
            for name, field in each.model_fields.items():
                if (field.alias or name) == element:
                    inner.extend(_sections_in(field.annotation))
        if not inner:
            return here
        here = inner
    return here


def _sections_in(annotation: Any) -> list[type[Section]]:
    """Return the section models named in an annotation such as ``list[ThrowSection]``."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return [annotation] if issubclass(annotation, Section) else []
    return [found for part in typing.get_args(annotation) for found in _sections_in(part)]
