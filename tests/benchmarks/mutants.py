"""Mutation testing of the numerical rooms: the code is broken in one small place at a time, and the tests should see it.

    python -m tests.benchmarks.mutants frames                     every mutant of planner/frames.py
    python -m tests.benchmarks.mutants cuts/rim_hole rotor/vectors
    python -m tests.benchmarks.mutants --all --sample 60 --seed 1  of every module at most 60, chosen at random
    python -m tests.benchmarks.mutants --list                     modules, tests, number of mutants

A mutant turns a sign, a comparison, a number, a condition, a sine, or what a function returns.  Texts (messages, docstrings) and
annotations are left alone.  It is killed when one of the module's test files fails, or takes ten times as long as it should.
Each mutant runs in a child of its own, forked from a process that has loaded the heavy libraries but nothing of the product
(so only where there is ``fork``: Linux, macOS).  Survivors are printed with their lines; those that were looked at stand,
with the reason, in ``mutants_survivors.md``.  ``--save FILE`` writes all results as JSON.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import json
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

ROOT = Path(__file__).parents[2]

_CUTS = (
    "tests/unit/test_cuts_kernels.py",
    "tests/reference/test_solids.py",
    "tests/unit/test_cuts_effects.py",
    "tests/unit/test_deepening.py",
    "tests/invariants/test_cuts_invariants.py",
)
_TOLERANCE = (
    "tests/unit/test_tolerance.py",
    "tests/published/test_bloch_geitner_balancing.py",
    "tests/unit/test_drive_mass.py",
)
_VERIFY = (
    "tests/unit/test_verify.py",
    "tests/unit/test_reshaping.py",
    "tests/physics/test_rim_form_solids.py",
    "tests/physics/test_shaped_jobs.py",
)
TESTS: dict[str, tuple[str, ...]] = {
    "frames": (
        "tests/invariants/test_frames_by_turning.py",
        "tests/unit/test_hand_turn.py",
        "tests/invariants/test_machine.py",
        "tests/unit/test_machine.py",
        "tests/unit/test_frames.py",
    ),
    "rotor/vectors": ("tests/unit/test_vectors.py", "tests/published/test_sarkar_theory_of_machines.py"),
    "rotor/limits": (*_TOLERANCE, "tests/unit/test_verify.py"),
    "rotor/tolerance": _TOLERANCE,
    "rotor/verdict": ("tests/unit/test_verdict.py", *_TOLERANCE),
    "rotor/grades": (
        "tests/published/test_iso_21940_11_grades.py",
        "tests/published/test_energy_tech_balance_standards.py",
        *_TOLERANCE,
    ),
    "rotor/drills": ("tests/published/test_drill_sizes.py", "tests/unit/test_drills.py"),
    "rotor/materials": ("tests/unit/test_cuts_retention.py", "tests/unit/test_heavy_metal.py"),
    "rotor/crankshaft": (
        *_CUTS,
        "tests/published/test_drill_points.py",
        "tests/unit/test_rotor_obstacles.py",
    ),
    "rotor/obstacles": ("tests/unit/test_rotor_obstacles.py", *_VERIFY),
    "cuts/cut": _CUTS,
    "cuts/deepening": _CUTS,
    "cuts/effects": _CUTS,
    "cuts/face_hole": _CUTS,
    "cuts/overlap": _CUTS,
    "cuts/retention": ("tests/published/test_press_fit.py", "tests/unit/test_cuts_retention.py"),
    "cuts/rim_form_hole": (*_CUTS, "tests/unit/test_rims.py"),
    "cuts/rim_hole": _CUTS,
    "cuts/shallow_rim_hole": _CUTS,
    "cuts/slug": _CUTS,
    "cuts/solid": _CUTS,
    "machine/index_test": ("tests/unit/test_index_test.py",),
    "machine/reduction_test": ("tests/unit/test_reduction_test.py",),
    "machine/residual_test": (
        "tests/unit/test_residual_test.py",
        "tests/published/test_residual_unbalance_check_sheet.py",
        "tests/remembered/test_api_617_residual_test.py",
    ),
    "machine/settings_fit": ("tests/unit/test_settings_fit.py",),
    "machine/spin": ("tests/unit/test_spins_by_hand.py", "tests/unit/test_machine.py"),
    "machine/trial_masses": (
        "tests/unit/test_trial_masses.py",
        "tests/published/test_rao_trial_masses.py",
        "tests/unit/test_trial_runs.py",
    ),
    "machine/unbalance": (
        "tests/unit/test_spins_by_hand.py",
        "tests/unit/test_machine.py",
        "tests/invariants/test_machine.py",
        "tests/published/test_sarkar_theory_of_machines.py",
    ),
    "machine/what_went_wrong": ("tests/unit/test_diagnosis.py",),
    "correction/verify/integrals": _VERIFY,
    "correction/verify/rules": _VERIFY,
    "correction/verify/verify_plan": _VERIFY,
    "correction/verify/walls": (
        "tests/unit/test_walls.py",
        "tests/unit/test_verify.py",
        "tests/unit/test_opposite_faces.py",
        *_VERIFY[1:],
    ),
}
"""What tests a module, most telling file first."""

_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
_SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Mod: ast.Mult,
    ast.FloorDiv: ast.Mult,
}
_NAMES = {
    "sin": "cos",
    "cos": "sin",
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "real": "imag",
    "imag": "real",
}


@dataclass(frozen=True)
class Mutant:
    """One break: which node (in the order of walking), in which of its ways, at which line, from what to what."""

    module: str
    node: int
    way: int
    line: int
    before: str
    after: str

    @property
    def text(self) -> str:
        return f"planner/{self.module}.py:{self.line}: {self.before}  ->  {self.after}"


def walk(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes that may be broken: no texts, annotations, decorators, imports."""
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(
                child, ast.JoinedStr | ast.Import | ast.ImportFrom
            ):
                continue
            if isinstance(child, ast.Raise) or _is_text(child) or _is_about_types(child):
                continue
            yield from walk(child)


def _is_text(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    )


def _is_about_types(node: ast.AST) -> bool:
    """``if TYPE_CHECKING``, a name for a type (``X = Literal[...]``), ``__all__``."""
    if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
        return True
    if isinstance(node, ast.Assign):
        names = [each.id for each in node.targets if isinstance(each, ast.Name)]
        typed = isinstance(node.value, ast.Subscript) and isinstance(node.value.value, ast.Name)
        return "__all__" in names or (
            typed and node.value.value.id in ("Literal", "NDArray", "Callable", "Annotated")
        )  # type: ignore[attr-defined]
    return False


def ways(node: ast.AST) -> list[ast.AST]:
    """Return the broken forms of a node."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        swapped = copy.deepcopy(node)
        swapped.ops = [_COMPARISONS[type(node.ops[0])]()]
        return [swapped]
    if isinstance(node, ast.Compare):  # a chain: each link on its own
        links = []
        for index, link in enumerate(node.ops):
            swapped = copy.deepcopy(node)
            swapped.ops[index] = _COMPARISONS[type(link)]()
            links.append(swapped)
        return links
    if isinstance(node, ast.BinOp) and type(node.op) in _SUMS:
        swapped_sum = copy.deepcopy(node)
        swapped_sum.op = _SUMS[type(node.op)]()
        return [swapped_sum]
    if isinstance(node, ast.AugAssign) and type(node.op) in _SUMS:
        swapped_step = copy.deepcopy(node)
        swapped_step.op = _SUMS[type(node.op)]()
        return [swapped_step]
    if isinstance(node, ast.BoolOp):
        other = copy.deepcopy(node)
        other.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        return [other]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        return [copy.deepcopy(node.operand)]
    if isinstance(node, ast.IfExp):
        turned = copy.deepcopy(node)
        turned.body, turned.orelse = turned.orelse, turned.body
        return [turned]
    if isinstance(node, ast.If):
        denied = copy.deepcopy(node)
        denied.test = ast.UnaryOp(op=ast.Not(), operand=denied.test)
        return [denied]
    if isinstance(node, ast.Constant):
        if isinstance(node.value, bool):
            return [ast.Constant(not node.value)]
        if isinstance(node.value, int):
            return [ast.Constant(node.value + 1)]
        if isinstance(node.value, float):
            return [ast.Constant(node.value * 1.1 if node.value else 1.0)]
        return []
    if isinstance(node, ast.Attribute) and node.attr in _NAMES:
        renamed = copy.deepcopy(node)
        renamed.attr = _NAMES[node.attr]
        return [renamed]
    if isinstance(node, ast.Name) and node.id in _NAMES and isinstance(node.ctx, ast.Load):
        return [ast.Name(id=_NAMES[node.id], ctx=ast.Load())]
    return []


def mutants(module: str) -> list[Mutant]:
    """Return all mutants of a module."""
    tree = ast.parse((ROOT / "planner" / f"{module}.py").read_text(encoding="utf-8"))
    found = []
    for index, node in enumerate(walk(tree)):
        for way, broken in enumerate(ways(node)):
            before, after = _short(node), _short(broken)
            found.append(Mutant(module, index, way, getattr(node, "lineno", 0), before, after))
    return found


def _short(node: ast.AST) -> str:
    shown = node.test if isinstance(node, ast.If) else node
    text = " ".join(ast.unparse(ast.fix_missing_locations(shown)).split())
    return text if len(text) <= 90 else f"{text[:87]}..."


def broken_source(mutant: Mutant) -> ast.Module:
    """Return the module with its one break."""
    tree = ast.parse((ROOT / "planner" / f"{mutant.module}.py").read_text(encoding="utf-8"))
    node = next(each for index, each in enumerate(walk(tree)) if index == mutant.node)
    new = ast.copy_location(ways(node)[mutant.way], node)
    for parent in ast.walk(tree):
        for name, value in ast.iter_fields(parent):
            if value is node:
                setattr(parent, name, new)
            elif isinstance(value, list):
                setattr(parent, name, [new if each is node else each for each in value])
    return ast.fix_missing_locations(tree)


class _Broken(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Hands out the broken module in place of the file."""

    def __init__(self, mutant: Mutant) -> None:
        self.name = f"planner.{mutant.module.replace('/', '.')}"
        self.path = ROOT / "planner" / f"{mutant.module}.py"
        self.code = compile(broken_source(mutant), str(self.path), "exec")

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        return (
            importlib.util.spec_from_file_location(fullname, self.path, loader=self)
            if fullname == self.name
            else None
        )

    def create_module(self, spec: Any) -> None:
        return None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)


class _Plugin:
    """Puts the break in, and says that a random test that fails need not be made small first."""

    def __init__(self, broken: _Broken | None) -> None:
        self.broken = broken

    def pytest_configure(self) -> None:
        from hypothesis import Phase, settings

        if self.broken is not None:
            # before pytest's own loader, which takes a module that is called *_test.py for a test
            sys.meta_path.insert(0, self.broken)

        settings.register_profile(
            "mutants", settings.get_profile("bobplan"), phases=[Phase.explicit, Phase.generate], database=None
        )
        settings.load_profile("mutants")


def run_tests(files: tuple[str, ...], mutant: Mutant | None, *, seconds: float) -> tuple[str, float]:
    """Run test files in a child, with a module broken; return ``survived``, ``killed`` or ``killed by time``, and how long."""
    started = time.perf_counter()
    child = os.fork()
    if child == 0:
        os.setsid()
        with open(os.devnull, "w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
        try:
            import pytest

            broken = None if mutant is None else _Broken(mutant)
            options = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--tb=no"]
            # hypothesis was loaded before pytest could rewrite its assertions; the test that runs mypy sees no mutant
            options += ["-W", "ignore::pytest.PytestAssertRewriteWarning", "-k", "not type_error"]
            os._exit(int(pytest.main([*options, *files], plugins=[_Plugin(broken)])))
        except BaseException:
            os._exit(99)
    while time.perf_counter() - started < seconds:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            killed = os.waitstatus_to_exitcode(status) != 0
            return ("killed" if killed else "survived"), time.perf_counter() - started
        time.sleep(0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "killed by time", seconds


def main() -> None:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("modules", nargs="*", help="such as frames or cuts/rim_hole")
    parser.add_argument("--all", action="store_true", help="every module")
    parser.add_argument("--list", action="store_true", help="only list modules and numbers")
    parser.add_argument("--sample", type=int, help="at most so many mutants of a module")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--lines", help="only mutants of these lines, FROM-TO")
    parser.add_argument("--save", type=Path, help="write the results as JSON")
    asked = parser.parse_args()
    unknown = [each for each in asked.modules if each not in TESTS]
    if unknown:
        parser.error(f"no tests are named for {', '.join(unknown)}; there are {', '.join(TESTS)}")
    names = list(TESTS) if asked.all or asked.list else asked.modules
    if asked.list:
        for name in names:
            print(f"{name:30} {len(mutants(name)):5} mutants; {', '.join(TESTS[name])}")
        return
    os.chdir(ROOT)
    sys.path[:0] = [str(ROOT)]
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = tempfile.mkdtemp()
    for heavy in ("numpy", "scipy.optimize", "shapely", "hypothesis", "pytest", "pydantic", "tomlkit"):
        importlib.import_module(heavy)
    if any(name.split(".")[0] == "planner" for name in sys.modules):
        raise SystemExit("the product is loaded already; nothing could be broken")
    results: list[dict[str, object]] = []
    total = dead = 0
    for name in names:
        chosen = mutants(name)
        if asked.lines:
            first, last = (int(each) for each in asked.lines.split("-"))
            chosen = [each for each in chosen if first <= each.line <= last]
        of = len(chosen)
        if asked.sample and of > asked.sample:
            chosen = sorted(
                random.Random(asked.seed).sample(chosen, asked.sample), key=lambda each: each.node
            )
        state, took = run_tests(TESTS[name], None, seconds=600.0)
        if state != "survived":
            raise SystemExit(f"{name}: its tests fail without a break")
        print(f"{name}: {len(chosen)} of {of} mutants, tests take {took:.1f} s", flush=True)
        alive = 0
        for mutant in chosen:
            state, seconds = run_tests(TESTS[name], mutant, seconds=max(20.0, 10.0 * took))
            results.append({"mutant": mutant.text, "state": state, "seconds": round(seconds, 2)})
            if state == "survived":
                alive += 1
                print(f"  survived  {mutant.text}", flush=True)
        total, dead = total + len(chosen), dead + len(chosen) - alive
        print(f"{name}: {len(chosen) - alive} of {len(chosen)} killed", flush=True)
    print(f"all: {dead} of {total} killed, {100.0 * dead / max(1, total):.1f} %")
    if asked.save:
        asked.save.write_text(json.dumps(results, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
