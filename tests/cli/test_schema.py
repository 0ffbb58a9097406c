"""`bobplan schema`, and that holding outputs to it can fail.  (Every other test's ``--json`` is held to it by `conftest`.)"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests import json_schema
from tests.cli.conftest import EXAMPLES, Ran


@pytest.fixture
def shown(bobplan: Callable[..., Ran], tmp_path: Path) -> dict[str, Any]:
    """A plan as the command prints it."""
    data: dict[str, Any] = bobplan("plan", EXAMPLES / "cross_plane_v8", "--no-store", "--json").json
    return data


def test_it_is_a_schema_and_every_command_with_json_has_a_part(bobplan: Callable[..., Ran]) -> None:
    whole = json.loads(bobplan("schema").out)
    Draft202012Validator.check_schema(whole)
    from planner.cli.main import COMMANDS

    parts = {name.split()[0] for name in whole["$defs"]}
    # these two print no JSON of their own
    assert set(COMMANDS) - parts <= {"schema", "bench"}
    for name in ("error", "withheld", "plans", "bobplan", "cut rim", "machine residual"):
        assert name in whole["$defs"], name


def test_one_command_s_part_stands_by_itself(bobplan: Callable[..., Ran], shown: dict[str, Any]) -> None:
    part = json.loads(bobplan("schema", "plan").out)
    Draft202012Validator.check_schema(part)
    Draft202012Validator(part).validate(shown)
    assert "odds" not in part["$defs"]


def test_an_unknown_part_is_refused_in_words(bobplan: Callable[..., Ran]) -> None:
    ran = bobplan("schema", "plam")
    assert ran.code == 2
    assert "`plam` has no part" in ran.err
    assert "`plan`" in ran.err


def test_the_version_stands_first(shown: dict[str, Any]) -> None:
    assert next(iter(shown)) == "version"
    assert shown["version"] == 1


def _without(data: dict[str, Any]) -> None:
    del data["steps"][0]["dial_deg"]


def _with_more(data: dict[str, Any]) -> None:
    data["steps"][0]["dail_deg"] = 3.0


def _of_another_kind(data: dict[str, Any]) -> None:
    data["unbalance"][0]["amount_gmm"] = "3480"


def _of_another_version(data: dict[str, Any]) -> None:
    data["version"] = 2


@pytest.mark.parametrize("spoil", [_without, _with_more, _of_another_kind, _of_another_version])
def test_what_does_not_keep_it_is_found(
    shown: dict[str, Any], spoil: Callable[[dict[str, Any]], None]
) -> None:
    spoilt = copy.deepcopy(shown)
    spoil(spoilt)
    json_schema.check(["plan", "--json"], json.dumps(shown))
    with pytest.raises(AssertionError, match="does not keep the schema"):
        json_schema.check(["plan", "--json"], json.dumps(spoilt))


@pytest.mark.parametrize("text", ['{"a": NaN}', '{"a": Infinity}', '{"a": -Infinity}'])
def test_numbers_that_json_has_not_are_found(text: str) -> None:
    with pytest.raises(AssertionError, match="is no JSON"):
        json_schema.check(["plan", "--json"], text)
