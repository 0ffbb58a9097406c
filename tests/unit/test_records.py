"""`planner.records.dataclass` against the standard library's, which it stands in for."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from dataclasses import field
from typing import Any

import pytest

from planner import records


def _pair(**options: Any) -> tuple[type, type]:
    """Return one class made by each decorator."""
    made = []
    for decorator in (dataclasses.dataclass, records.dataclass):

        class Hole:
            """A hole."""

            depth_mm: float
            name: str = "A"
            drills: list[float] = field(default_factory=list)
            note: str = field(default="", compare=False, repr=False)

        made.append(decorator(frozen=True, **options)(Hole))
    return made[0], made[1]


@dataclasses.dataclass(frozen=True)
class _Wall:
    width_mm: float


@records.dataclass(frozen=True, kw_only=True)
class _Bore:
    """At the top of the module, so that it can be pickled."""

    depth_mm: float
    wall: _Wall | None = None


@records.dataclass(frozen=True, kw_only=True)
class _Lined(_Bore):
    """A record with the fields of another before its own."""

    sleeve_mm: float

    def __post_init__(self) -> None:
        if self.sleeve_mm < 0:
            raise ValueError("a sleeve below nothing")


@records.dataclass(frozen=True)
class _Empty:
    """Nothing in it."""


@pytest.mark.parametrize("options", [{}, {"kw_only": True}])
@pytest.mark.parametrize(
    "given",
    [
        {"depth_mm": 3.0},
        {"depth_mm": 3.0, "name": "B", "drills": [1.0, 2.0], "note": "seen"},
        {"depth_mm": float("nan")},
    ],
)
def test_made_shown_compared_and_taken_apart_alike(options: dict[str, Any], given: dict[str, Any]) -> None:
    theirs, ours = _pair(**options)
    one, other = theirs(**given), ours(**given)
    assert repr(one) == repr(other)
    assert dataclasses.asdict(one) == dataclasses.asdict(other) or given["depth_mm"] != given["depth_mm"]
    assert [each.name for each in dataclasses.fields(one)] == [
        each.name for each in dataclasses.fields(other)
    ]
    for changes in ({}, {"note": "another"}, {"name": "C"}, {"drills": [9.0]}):
        assert (one == dataclasses.replace(one, **changes)) is (
            other == dataclasses.replace(other, **changes)
        )
    assert one != other  # of another class
    assert theirs.__match_args__ == ours.__match_args__  # type: ignore[attr-defined]


def test_arguments_are_checked_as_the_standard_library_checks_them() -> None:
    for options in ({}, {"kw_only": True}):
        theirs, ours = _pair(**options)
        for places, names in (((), {}), ((1.0, "B", [], "n", 5), {}), ((1.0,), {"nmae": "B"}), ((1.0,), {})):
            said = []
            for each in (theirs, ours):
                try:
                    said.append(repr(each(*places, **names)))
                except TypeError as error:
                    said.append(str(error).replace("_pair.<locals>.", ""))
            assert said[0] == said[1]


def test_each_record_has_its_own_list() -> None:
    _, ours = _pair()
    one, other = ours(1.0), ours(1.0)
    assert one == other
    assert one.drills is not other.drills


def test_equal_records_have_one_hash_that_goes_by_what_is_compared() -> None:
    assert hash(_Bore(depth_mm=2.0, wall=_Wall(3.0))) == hash(_Bore(depth_mm=2, wall=_Wall(3)))
    assert len({_Bore(depth_mm=1.0), _Bore(depth_mm=1.0), _Bore(depth_mm=2.0)}) == 2
    assert _Empty() == _Empty()
    assert hash(_Empty()) == hash(_Empty())
    with pytest.raises(TypeError, match="unhashable"):
        hash(_pair()[1](1.0))  # it holds a list


def test_nothing_of_a_record_can_be_changed() -> None:
    record = _Bore(depth_mm=1.0)
    for change in (
        lambda: setattr(record, "depth_mm", 2.0),
        lambda: setattr(record, "other", 2.0),
        lambda: delattr(record, "depth_mm"),
    ):
        with pytest.raises(dataclasses.FrozenInstanceError, match=r"cannot (assign to|delete) field"):
            change()
    assert record.depth_mm == 1.0


def test_fields_of_the_class_below_come_first_and_the_own_check_is_run() -> None:
    assert repr(_Lined(depth_mm=1.0, sleeve_mm=2.0)) == "_Lined(depth_mm=1.0, wall=None, sleeve_mm=2.0)"
    with pytest.raises(ValueError, match="below nothing"):
        _Lined(depth_mm=1.0, sleeve_mm=-1.0)
    with pytest.raises(ValueError, match="below nothing"):
        dataclasses.replace(_Lined(depth_mm=1.0, sleeve_mm=2.0), sleeve_mm=-1.0)


def test_copied_and_pickled() -> None:
    record = _Lined(depth_mm=1.0, wall=_Wall(3.0), sleeve_mm=2.0)
    assert pickle.loads(pickle.dumps(record)) == copy.deepcopy(record) == copy.copy(record) == record
    assert dataclasses.asdict(record) == {"depth_mm": 1.0, "wall": {"width_mm": 3.0}, "sleeve_mm": 2.0}


def test_a_record_that_may_change_is_the_standard_librarys() -> None:
    @records.dataclass
    class Tally:
        count: int = 0

    tally = Tally()
    tally.count += 1
    assert tally.count == 1
    assert not Tally.__dataclass_params__.frozen  # type: ignore[attr-defined]
