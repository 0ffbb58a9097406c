"""`dataclass` for frozen records, at a fifth of the cost of defining one.

A plan defines some two hundred records before it begins.  The standard library compiles six methods for each, before Python
3.13 each on its own, which was a quarter of the processor time of `bobplan plan`.  Here only ``__init__`` is compiled; the
others are plain functions that know the names of the fields.  To a type checker this is `dataclasses.dataclass`, and
``dataclasses.replace``, ``fields``, ``asdict`` and ``field`` work on what it makes.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(
        cls: type | None = None, /, *, frozen: bool = False, kw_only: bool = False, repr: bool = True
    ) -> Any:
        """Make a class a record, or return what does; the options are those of `dataclasses.dataclass`."""
        if not frozen:  # what changes is rare, and left to the standard library
            return dataclasses.dataclass(cls, kw_only=kw_only, repr=repr)
        return lambda cls: _made(cls, kw_only=kw_only, shown=repr)


def _made(cls: type, *, kw_only: bool, shown: bool) -> type:
    # the fields, their order and their faults are found by the standard library
    dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
    fields = dataclasses.fields(cls)
    methods = {
        "__init__": _init(cls, fields),
        "__setattr__": _refuse_change,
        "__delattr__": _refuse_change,
        **_comparing([each.name for each in fields if each.compare]),
    }
    if shown:
        methods["__repr__"] = _showing([each.name for each in fields if each.repr])
    for name, method in methods.items():
        method.__qualname__ = f"{cls.__qualname__}.{name}"
        setattr(cls, name, method)
    return cls


def _init(cls: type, fields: tuple[dataclasses.Field[Any], ...]) -> Callable[..., None]:
    """Return ``__init__``, compiled: what is called most is the only method that has to be fast."""
    known: dict[str, Any] = {"_put": object.__setattr__, "_left_out": dataclasses.MISSING}
    places: list[str] = []
    names: list[str] = []
    body: list[str] = []
    for each in fields:
        value, asked = each.name, each.name
        if each.default is not dataclasses.MISSING:
            known[f"_default_{each.name}"] = each.default
            asked += f"=_default_{each.name}"
        elif each.default_factory is not dataclasses.MISSING:
            known[f"_factory_{each.name}"] = each.default_factory
            asked += "=_left_out"
            value = f"_factory_{each.name}() if {each.name} is _left_out else {each.name}"
        (names if each.kw_only else places).append(asked)
        body.append(f"    _put(self, {each.name!r}, {value})\n")
    if hasattr(cls, "__post_init__"):
        body.append("    self.__post_init__()\n")
    asked_for = ", ".join(["self", *places, *(["*"] if names else []), *names])
    exec(f"def __init__({asked_for}):\n{''.join(body) or '    pass'}", known)
    made: Callable[..., None] = known["__init__"]
    made.__annotations__ = {each.name: each.type for each in fields} | {"return": None}
    return made


def _refuse_change(self: object, name: str, *value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot {'assign to' if value else 'delete'} field {name!r}")


def _comparing(names: list[str]) -> dict[str, Callable[..., Any]]:
    """Return ``__eq__`` and ``__hash__`` by the values of some fields."""
    # the first one twice: the getter gives a tuple only for more than one name
    values = attrgetter(names[0], *names) if names else lambda record: ()

    def same(self: object, other: object) -> bool:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return {"__eq__": same, "__hash__": lambda self: hash(values(self))}


def _showing(names: list[str]) -> Callable[[object], str]:
    def shown(self: object) -> str:
        said = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
        return f"{self.__class__.__qualname__}({said})"

    return shown
