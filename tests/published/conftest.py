"""Every comparison with a published figure is noted when somebody wants the validation page (tests/validation_page.py)."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

WANTED = "BOBPLAN_CHECKS"
"""Names the file to write; pytest's ``enable_assertion_pass_hook`` has to be on."""

_NOTED: list[dict[str, object]] = []


def pytest_assertion_pass(item: pytest.Item, lineno: int, orig: str, expl: str) -> None:
    if os.environ.get(WANTED) and item.path.parent == Path(__file__).parent:
        noted = {"file": item.path.name, "test": item.name, "line": lineno, "orig": orig, "expl": expl}
        _NOTED.append(noted)


def pytest_sessionfinish() -> None:
    if where := os.environ.get(WANTED):
        Path(where).write_text(json.dumps(_NOTED), encoding="utf-8")
