"""No run of ten lines stands twice in the product, letter by letter; lists of imports are no logic and don't count."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[2]
RUN = 10
ENDINGS = (".py", ".html", ".typ", ".css", ".js")


def counted(path: Path) -> list[tuple[int, str]]:
    """Return the lines that count, with their numbers: no blank ones, none of an import."""
    text = path.read_text(encoding="utf-8")
    imports: set[int] = set()
    if path.suffix == ".py":
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Import | ast.ImportFrom):
                imports |= set(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return [
        (number, line.strip())
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and number not in imports
    ]


def twice(files: dict[str, list[tuple[int, str]]]) -> list[list[str]]:
    """Return the places of every run that stands more than once."""
    places: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name, lines in files.items():
        for start in range(len(lines) - RUN + 1):
            run = tuple(text for _, text in lines[start : start + RUN])
            places[run].append(f"{name}:{lines[start][0]}")
    return [found for found in places.values() if len(found) > 1]


def test_no_ten_lines_stand_twice_in_the_product() -> None:
    files = {
        path.relative_to(ROOT).as_posix(): counted(path)
        for folder in ("planner", "geometry_profiles")
        for path in sorted((ROOT / folder).rglob("*"))
        if path.suffix in ENDINGS
    }
    assert len(files) > 300
    assert twice(files) == []


def test_a_run_that_stands_twice_is_seen() -> None:
    lines = [(number, f"line {number}") for number in range(1, RUN + 1)]
    assert twice({"a": lines, "b": [(0, "before"), *lines]}) == [["a:1", "b:1"]]
    assert twice({"a": lines, "b": lines[1:]}) == []
