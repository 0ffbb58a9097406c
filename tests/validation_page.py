"""The validation page of the documentation, made from the tests in tests/published while they run.

Nothing is written into the page that a test did not compare: pytest hands over every assertion that passed, with the values
that stood on both sides (``pytest_assertion_pass``); those that compare a number with an expected one become a row.

    BOBPLAN_REGENERATE=1 pytest -n 0 tests/unit/test_docs.py     writes docs/validation.md anew
"""

from __future__ import annotations

import ast
import json
import math
import operator
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "validation.md"
_HEAD = """# Validation

Every comparison of a number with a published one, as the tests in `tests/published` make it. The page is written by those tests
while they run and another test holds it against them; a row is never typed. "within" is what the test allows: usually what the
source's own rounding, drawing board or chart allows. Where a source prints few digits, the test also compares with our own exact
evaluation of the same statement: "recomputed" stands there in the column "from", and such a row shows that nothing has moved
since, not that the source agrees so closely.

What stands here was read. Figures that are only remembered are tested apart (`tests/remembered`) and are no validation.
What separate code computed (solid kernels, mixed-integer solvers, symbolic sums: `tests/reference`), rigid-body and solid engines
(`tests/physics`) and the simulated machine (`tests/simulator`) are further checks, not listed here.
"""
_OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"


@dataclass(frozen=True)
class Check:
    """A number that a test compared with an expected one."""

    file: str
    test: str
    what: str
    expected: float
    got: float
    within: str
    recomputed: bool

    @property
    def relative(self) -> float | None:
        """The relative difference; None where nothing is expected."""
        if self.expected == 0.0 or "deg" in self.within:
            return None
        return abs(self.got - self.expected) / abs(self.expected)


def run_published() -> list[dict[str, str]]:
    """Run tests/published in a process of its own and return every assertion that passed there."""
    with tempfile.TemporaryDirectory() as folder:
        noted = Path(folder) / "checks.json"
        # a copy, because a test that was compiled before without the hook would hand over nothing
        copy = Path(folder) / "published"
        shutil.copytree(ROOT / "tests" / "published", copy, ignore=shutil.ignore_patterns("__pycache__"))
        path = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
        options = ["-n", "0", "-q", "-p", "no:cacheprovider", "-o", "enable_assertion_pass_hook=true"]
        ran = subprocess.run(
            [
                sys.executable,
                "-m",
                "pytest",
                *options,
                "--rootdir",
                str(ROOT),
                "-c",
                "pyproject.toml",
                str(copy),
            ],
            cwd=ROOT,
            env=os.environ | {"BOBPLAN_CHECKS": str(noted), "PYTHONPATH": path},
            capture_output=True,
            text=True,
            check=False,
        )
        if ran.returncode != 0:
            raise AssertionError(ran.stdout + ran.stderr)
        found: list[dict[str, str]] = json.loads(noted.read_text(encoding="utf-8"))
    return found


def checks_of(noted: list[dict[str, str]]) -> list[Check]:
    """Return the comparisons of numbers among the assertions."""
    return [check for each in noted for check in _checks(each)]


def _checks(each: dict[str, str]) -> Iterator[Check]:
    first = each["expl"].splitlines()[0]
    left, equals, right = first.rpartition(" == ")
    if not equals:
        return
    what = re.sub(r"\s+", " ", each["orig"].split(" ==")[0]).strip().lstrip("(")
    recomputed = _is_recomputed(each["file"], int(each.get("line", 0)))
    gots = _numbers(left.rpartition(" == ")[2] or left)
    expecteds = re.findall(rf"(?:approx\()?({_NUMBER}) ± ({_NUMBER})( deg)?", right)
    if not expecteds:
        plain = _numbers(right)
        expecteds = [(f"{value!r}", "0", "") for value in plain or ()]
    if gots is None or len(gots) != len(expecteds):
        return
    for got, (expected, within, unit) in zip(gots, expecteds, strict=True):
        bound = "exact" if float(within) == 0.0 else f"{float(within):.2g}{unit}"
        yield Check(
            file=each["file"],
            test=each["test"],
            what=what,
            expected=float(expected),
            got=_near(got, float(expected), unit),
            within=bound,
            recomputed=recomputed,
        )


@cache
def _lines(file: str) -> list[str]:
    path = ROOT / "tests" / "published" / file
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def _is_recomputed(file: str, line: int) -> bool:
    """Return whether an assertion stands below a comment ``# recomputed`` of its test: an exact evaluation of our own."""
    for text in reversed(_lines(file)[: max(0, line - 1)]):
        if text.lstrip().startswith("# recomputed"):
            return True
        if re.match(r"\s*def |\s*# (printed|published|official)", text):
            return False
    return False


def _near(got: float, expected: float, unit: str) -> float:
    """Return an angle on the turn of the one expected, another number as it is."""
    return expected + math.remainder(got - expected, 360.0) if unit else got


def _numbers(text: str) -> list[float] | None:
    """Return the number or numbers that an expression of numbers comes to; None where it is something else."""
    text = re.sub(r"np\.float64\(([^()]*)\)", r"\1", text.strip())
    try:
        tree = ast.parse(text, mode="eval").body
    except SyntaxError:
        return None
    each = tree.elts if isinstance(tree, ast.List | ast.Tuple) else [tree]
    try:
        return [_value(node) for node in each]
    except (TypeError, KeyError, ZeroDivisionError):
        return None


def _value(node: ast.expr) -> float:
    if (
        isinstance(node, ast.Constant)
        and isinstance(node.value, int | float)
        and not isinstance(node.value, bool)
    ):
        return float(node.value)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand)
    if isinstance(node, ast.BinOp):
        return float(_OPERATORS[type(node.op)](_value(node.left), _value(node.right)))
    raise TypeError


def page_of(noted: list[dict[str, str]]) -> str:
    """Return the page."""
    checks = checks_of(noted)
    files = sorted({each["file"] for each in noted})
    own = sum(each.recomputed for each in checks)
    lines = [_HEAD, f"{len(files)} sources, {len(checks) - own} figures of theirs and {own} recomputed.", ""]
    for file in files:
        heading, source = _source(file)
        lines += [f"## {heading}", "", f"`tests/published/{file}`", "", *source, ""]
        lines += [
            "| check | what | expected | from | within | got | relative difference |",
            "|---|---|---|---|---|---|---|",
        ]
        here = [check for check in checks if check.file == file]
        for each in here:
            cells = [
                each.test.removeprefix("test_").replace("_", " "),
                f"`{each.what}`",
                _shown(each.expected),
            ]
            cells += ["recomputed" if each.recomputed else "source", each.within, _shown(each.got)]
            row = [cell.replace("|", "/") for cell in [*cells, _difference(each)]]
            lines.append(f"| {' | '.join(row)} |")
        others = sum(each["file"] == file and not list(_checks(each)) for each in noted)
        if others:
            lines += [
                "",
                f"And {others} other {'assertion' if others == 1 else 'assertions'} (bounds, words, orders).",
            ]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _source(file: str) -> tuple[str, list[str]]:
    """Return what a test file says of its source: the heading, and the rest."""
    text = (
        ast.get_docstring(ast.parse((ROOT / "tests" / "published" / file).read_text(encoding="utf-8"))) or ""
    )
    heading, _, rest = text.partition("\n")
    rest = re.sub(r"(?m)^-+\n", "", rest.replace("``", "`"))
    name = file.removeprefix("test_").removesuffix(".py").replace("_", " ")
    return f"{heading.strip().rstrip('.')} ({name})", rest.strip().splitlines()


def _shown(value: float) -> str:
    return f"{value:.6g}" if abs(value) > 1e-9 else "0"


def _difference(each: Check) -> str:
    if each.relative is None:
        off = abs(each.got - each.expected)
        return f"{off:.2g} deg off" if "deg" in each.within else "-"
    return "below 1e-6" if each.relative < 1e-6 else f"{each.relative:.2g}"
