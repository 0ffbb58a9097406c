"""Mutation testing of the numerical rooms: the code is broken in one small place at a time, and the tests should see it.

    python -m tests.benchmarks.mutants frames                     every mutant of planner/frames.py
    python -m tests.benchmarks.mutants cuts/rim_hole rotor/vectors
    python -m tests.benchmarks.mutants --all --sample 40 --whole 60  of every module 40 at random; modules up to 60 whole
    python -m tests.benchmarks.mutants --all --again              those that lived, once more (after new tests)
    python -m tests.benchmarks.mutants --table                    the scores so far, as they stand in the survivors' file

A mutant turns a sign, a comparison, a number, a condition, a sine, or what a function returns.  Texts (messages, docstrings) and
annotations are left alone.  It is killed when a test fails, or takes far more processor time than it should.

How it is quick: which test runs which line is found once (needs ``coverage``; kept, and found again only for test files that
changed).  All tests are loaded once; each mutant is a fork of that process in which the one function has its broken code.  Only
tests that run the broken line are run: first those that killed before, then those that run the least of other things, until
``--seconds`` of them have been run.  What lies outside functions (tables, defaults) is broken in a fork that has loaded nothing
of the product, by the tests of `OUTSIDE`.  Rows are kept in ``.mutants/``, so a run that was broken off goes on.  Only where
there is ``fork``.

Survivors that were looked at stand, with the reason, in ``mutants_survivors.md``.
"""

from __future__ import annotations

import argparse
import ast
import copy
import gc
import hashlib
import importlib
import importlib.abc
import importlib.util
import json
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

ROOT = Path(__file__).parents[2]
KEPT = ROOT / ".mutants"

MODULES = (
    "frames",
    *(
        f"{room}/{path.stem}"
        for room in ("rotor", "cuts", "machine", "correction/verify")
        for path in sorted((ROOT / "planner" / room).glob("*.py"))
        if path.stem != "__init__"
    ),
)
_FOLDERS = ("unit", "published", "reference", "remembered", "invariants", "physics")
_COMMANDS = (
    "cut_command",
    "cut_shapes",
    "working_adds_up",
    "shapes",
    "grade_command",
    "rim_cuts",
    "prove_command",
    "machine_command",
    "check_command",
    "trial_command",
    "meeting",
    "signs",
    "one_verdict",
)
_NOT_ASKED = (
    "drawings",
    "html",
    "paper",
    "docs",
    "start_questions",
    "library",
    "page",
    "lettered",
    "picture",
    "strip",
    "chart",
)
"""Test files that are about other things and slow: nothing is lost but kills by chance."""

OUTSIDE: dict[str, tuple[str, ...]] = {
    "frames": (
        "tests/unit/test_frames.py",
        "tests/invariants/test_frames_by_turning.py",
        "tests/unit/test_hand_turn.py",
    ),
    "rotor/limits": ("tests/unit/test_tolerance.py", "tests/unit/test_verify.py"),
    "rotor/tolerance": ("tests/unit/test_tolerance.py", "tests/published/test_bloch_geitner_balancing.py"),
    "rotor/verdict": ("tests/unit/test_verdict.py", "tests/unit/test_tolerance.py"),
    "rotor/grades": (
        "tests/published/test_iso_21940_11_grades.py",
        "tests/published/test_energy_tech_balance_standards.py",
        "tests/published/test_bloch_geitner_balancing.py",
    ),
    "rotor/drills": ("tests/published/test_drill_sizes.py", "tests/unit/test_drills.py"),
    "rotor/materials": (
        "tests/published/test_material_figures.py",
        "tests/remembered/test_metal_ranges.py",
        "tests/unit/test_cuts_retention.py",
        "tests/unit/test_heavy_metal.py",
    ),
    "rotor/crankshaft": (
        "tests/unit/test_crankshaft.py",
        "tests/unit/test_deepening.py",
        "tests/unit/test_weighed_cuts.py",
        "tests/unit/test_rotor_obstacles.py",
        "tests/published/test_drill_points.py",
    ),
    "cuts/cut": (
        "tests/unit/test_job_defaults.py",
        "tests/cli/test_readme.py",
        "tests/unit/test_cuts_effects.py",
        "tests/unit/test_verify.py",
    ),
    "correction/verify/walls": ("tests/unit/test_walls.py", "tests/unit/test_verify.py"),
    "machine/trial_masses": ("tests/unit/test_trial_masses.py", "tests/unit/test_trial_runs.py"),
    "machine/what_went_wrong": ("tests/unit/test_diagnosis.py", "tests/physics/test_what_went_wrong.py"),
}
"""Test files for what stands outside functions; a module that is not named gets the three files that run most of it."""

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


def _key(mutant: Mutant) -> str:
    """Return what tells a mutant apart for as long as its module stays as it is."""
    return f"{mutant.module}:{mutant.node}:{mutant.way}"


def _sum(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


def source(module: str) -> Path:
    """Return a module's file."""
    return ROOT / "planner" / f"{module}.py"


def places(module: str) -> dict[int, tuple[str, int]]:
    """Return for each line inside a function its outermost function, ``name`` or ``Class.name``, and how far below it stands.

    That stays the same when something above the function changes.
    """
    found: dict[int, tuple[str, int]] = {}

    def within(node: ast.AST, prefix: str) -> None:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.ClassDef):
                within(child, f"{prefix}{child.name}.")
            elif isinstance(child, ast.FunctionDef):
                last = child.end_lineno or child.lineno
                for line in range(child.body[0].lineno, last + 1):
                    found[line] = (f"{prefix}{child.name}", line - child.lineno)

    within(ast.parse(source(module).read_text(encoding="utf-8")), "")
    return found


def put_in(mutant: Mutant, name: str) -> None:
    """Give the loaded function of that name the broken code; whoever holds the function holds the break."""
    code: CodeType = compile(broken_source(mutant), str(source(mutant.module)), "exec")
    for part in name.split("."):
        code = next(each for each in code.co_consts if isinstance(each, CodeType) and each.co_name == part)
    held: Any = importlib.import_module(f"planner.{mutant.module.replace('/', '.')}")
    for part in name.split("."):
        held = held.__dict__[part]
    while not isinstance(held, FunctionType):  # a property, a static method, one whose answers are kept
        held = (
            getattr(held, "fget", None) or getattr(held, "func", None) or getattr(held, "__wrapped__", None)
        )
        assert held is not None, f"{mutant.module} {name}: no function"
    assert held.__code__.co_firstlineno == code.co_firstlineno
    held.__code__ = code


class _Broken(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Hands out the broken module in place of the file."""

    def __init__(self, mutant: Mutant) -> None:
        self.name = f"planner.{mutant.module.replace('/', '.')}"
        self.path = source(mutant.module)
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
    """Says that a random test that fails need not be made small first; puts a module's break in, where there is one."""

    def __init__(self, broken: _Broken | None = None) -> None:
        self.broken = broken
        self.failed: str | None = None

    def pytest_configure(self) -> None:
        from hypothesis import Phase, settings

        if self.broken is not None:
            # before pytest's own loader, which takes a module that is called *_test.py for a test
            sys.meta_path.insert(0, self.broken)
        settings.register_profile(
            "mutants", settings.get_profile("bobplan"), phases=[Phase.explicit, Phase.generate], database=None
        )
        settings.load_profile("mutants")

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed and self.failed is None:
            self.failed = report.nodeid


class _Map(_Plugin):
    """Finds for each test the lines that it runs, how long it takes, and whether it passes."""

    def __init__(self, files: dict[str, str]) -> None:
        import coverage

        super().__init__()
        self.wanted = {str(source(each)): each for each in MODULES}
        self.tool = coverage.Coverage(data_file=None, include=list(self.wanted), config_file=False)
        self.tests: dict[str, dict[str, Any]] = {}
        self.files = files
        self.at_fault: set[str] = set()

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.at_fault.add(report.nodeid)

    def pytest_runtestloop(self, session: Any) -> bool:
        for each in self.wanted.values():  # what runs while a module loads is run by no test
            importlib.import_module(f"planner.{each.replace('/', '.')}")
        self.tool.start()
        for index, item in enumerate(session.items):
            self.tool.switch_context(item.nodeid)
            started = time.process_time()
            item.config.hook.pytest_runtest_protocol(
                item=item, nextitem=session.items[index + 1] if index + 1 < len(session.items) else None
            )
            self.tests[item.nodeid] = {"seconds": round(time.process_time() - started, 3), "lines": {}}
        self.tool.stop()
        data = self.tool.get_data()
        for path, module in self.wanted.items():
            known = places(module)
            for line, contexts in data.contexts_by_lineno(path).items():
                for name in contexts:
                    if name in self.tests and line in known:
                        lines = self.tests[name]["lines"].setdefault(module, {})
                        lines.setdefault(known[line][0], []).append(known[line][1])
        for name in self.at_fault:
            self.tests.pop(name, None)
        return True


def _pytest(files: list[str], plugin: _Plugin, *options: str) -> int:
    import pytest

    return int(
        pytest.main(
            # hypothesis was loaded before pytest could rewrite its assertions; tests that start a process see no mutant
            [
                *("-q", "-n", "0", "-s", "-p", "no:cacheprovider", "--tb=no", *options),
                *("-W", "ignore::pytest.PytestAssertRewriteWarning", "-k", "not type_error", *files),
            ],
            plugins=[plugin],
        )
    )


def in_child(work: Callable[[], Any], *, processor_s: float, quiet: bool = True) -> tuple[str, Any]:
    """Do work in a fork; return ``done`` and what it returned, or ``time`` (too much of it), or ``died``."""
    reading, writing = os.pipe()
    # kept tables are known by the question, not by the code: what a broken one keeps must not outlive it
    own = tempfile.mkdtemp(prefix="mutant")
    child = os.fork()
    if child == 0:
        os.close(reading)
        os.setsid()
        os.environ["XDG_CACHE_HOME"] = os.environ["TMPDIR"] = tempfile.tempdir = own
        if quiet:
            with open(os.devnull, "w") as nowhere:
                os.dup2(nowhere.fileno(), 1)
                os.dup2(nowhere.fileno(), 2)
        most = int(processor_s) + 1
        resource.setrlimit(resource.RLIMIT_CPU, (most, most + 2))
        signal.alarm(10 * most + 60)  # one that waits for ever uses no processor
        resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))
        try:
            text = json.dumps(work())
            with os.fdopen(writing, "w") as pipe:
                pipe.write(text)
            os._exit(0)
        except BaseException:
            os._exit(99)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        text = pipe.read()
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    shutil.rmtree(own, ignore_errors=True)
    if status == 0:
        return "done", json.loads(text)
    return ("time" if status in (-signal.SIGXCPU, -signal.SIGALRM, -signal.SIGKILL) else "died"), None


def test_map() -> dict[str, dict[str, Any]]:
    """Return for each test its time and its lines; only what changed since the last time is found again."""
    KEPT.mkdir(exist_ok=True)
    kept = KEPT / "map.json"
    old = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {"files": {}, "tests": {}}
    paths = [path for each in _FOLDERS for path in sorted((ROOT / "tests" / each).glob("test_*.py"))]
    paths = [path for path in paths if not any(word in path.stem for word in _NOT_ASKED)]
    paths += [ROOT / "tests" / "cli" / f"test_{each}.py" for each in _COMMANDS]
    now = {str(path.relative_to(ROOT)): _sum(path) for path in paths}
    changed = [each for each, value in now.items() if old["files"].get(each) != value]
    tests = {
        name: each
        for name, each in old["tests"].items()
        if name.split("::")[0] in now and name.split("::")[0] not in changed
    }
    for first in range(0, len(changed), 10):  # kept piece by piece: a run that is broken off goes on
        some = changed[first : first + 10]

        def find(some: list[str] = some) -> dict[str, dict[str, Any]]:
            plugin = _Map(now)
            _pytest(some, plugin)
            return plugin.tests

        print(f"which lines are run by {', '.join(some)}", flush=True)
        state, found = in_child(find, processor_s=3000.0)
        if state != "done":
            raise SystemExit(f"the lines could not be found: {state}")
        tests |= found
        old["files"] |= {each: now[each] for each in some}
        kept.write_text(json.dumps({"files": old["files"], "tests": tests}), encoding="utf-8")
    return tests


class Rows:
    """What became of every mutant, one line of JSON each; the last line of a mutant counts."""

    def __init__(self) -> None:
        self.path = KEPT / "rows.jsonl"
        self.sums = {each: _sum(source(each)) for each in MODULES}
        self.known: dict[str, dict[str, Any]] = {}
        self.kills: dict[str, Counter[str]] = {each: Counter() for each in MODULES}
        if self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                row = json.loads(line)
                if self.sums.get(row["key"].split(":")[0]) == row["sum"]:
                    self.known[row["key"]] = row
                    if row["by"]:
                        self.kills[row["key"].split(":")[0]][row["by"]] += 1

    def put(self, mutant: Mutant, state: str, by: str | None) -> None:
        row = {
            "key": _key(mutant),
            "sum": self.sums[mutant.module],
            "state": state,
            "by": by,
            "text": mutant.text,
        }
        self.known[row["key"]] = row  # type: ignore[index]
        if by:
            self.kills[mutant.module][by] += 1
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")
        if state == "survived":
            print(f"  survived  {mutant.text}", flush=True)


class _Server(_Plugin):
    """Has all tests loaded, and runs for each mutant those that run its line, in a fork."""

    def __init__(
        self, todo: list[Mutant], tests: dict[str, dict[str, Any]], rows: Rows, seconds: float
    ) -> None:
        super().__init__()
        self.todo, self.tests, self.rows, self.seconds = todo, tests, rows, seconds
        for each in tests.values():
            each["breadth"] = sum(map(len, each["lines"].values()))

    def chosen(self, mutant: Mutant, name: str, below: int) -> list[str]:
        """Return the tests of a mutant, those that killed most first, then the quickest, up to the time allowed."""
        of = {
            test: lines
            for test, each in self.tests.items()
            if (lines := each["lines"].get(mutant.module, {}).get(name))
        }
        # a line inside a longer statement is not told: then every test of its function
        running = [test for test, lines in of.items() if below in lines] or list(of)
        kills = self.rows.kills[mutant.module]
        # a test that runs little else is the one that is about this; a plan or a sheet runs everything and sees the least
        running.sort(
            key=lambda test: (-kills[test], self.tests[test]["breadth"], self.tests[test]["seconds"])
        )
        taken, used = [], 0.0
        for test in running:
            used += self.tests[test]["seconds"] + 0.005
            if used > self.seconds:
                break
            taken.append(test)
        return taken

    def pytest_runtestloop(self, session: Any) -> bool:
        items = {each.nodeid: each for each in session.items}
        gc.freeze()  # what was loaded stays shared with the forks
        module, known = "", dict[int, tuple[str, int]]()
        for mutant in self.todo:
            if mutant.module != module:
                module = mutant.module
                known = places(module)
                print(module, time.strftime("%H:%M:%S"), flush=True)
            name, below = known[mutant.line]
            wanted = [items[each] for each in self.chosen(mutant, name, below) if each in items]

            def run(mutant: Mutant = mutant, name: str = name, wanted: list[Any] = wanted) -> str | None:
                put_in(mutant, name)
                if wanted:
                    wanted[0].config._tmp_path_factory._basetemp = Path(tempfile.mkdtemp())
                for index, item in enumerate(wanted):
                    following = wanted[index + 1] if index + 1 < len(wanted) else None
                    item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
                    if self.failed:
                        return self.failed
                return None

            allowed = 10.0 + 5.0 * sum(self.tests[each.nodeid]["seconds"] for each in wanted)
            state, by = in_child(run, processor_s=allowed)
            self.rows.put(
                mutant,
                "survived"
                if state == "done" and by is None
                else f"killed by {state}"
                if by is None
                else "killed",
                by,
            )
        self.confirm(items)
        return True

    def confirm(self, items: dict[str, Any]) -> None:
        """Run all tests that killed, unbroken, each module's in the order of their kills: none may fail."""
        for module in {each.module for each in self.todo}:
            wanted = [items[each] for each, _ in self.rows.kills[module].most_common() if each in items]

            def run(wanted: list[Any] = wanted) -> list[str]:
                failed = []
                if wanted:
                    wanted[0].config._tmp_path_factory._basetemp = Path(tempfile.mkdtemp())
                for index, item in enumerate(wanted):
                    following = wanted[index + 1] if index + 1 < len(wanted) else None
                    self.failed = None
                    item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
                    if self.failed:
                        failed.append(self.failed)
                return failed

            state, failed = in_child(run, processor_s=3000.0)
            if state != "done" or failed:
                print(f"{module}: tests fail without a break ({state}): {failed}; their kills don't count")


def outside(mutant: Mutant, tests: dict[str, dict[str, Any]]) -> tuple[str, str | None]:
    """Run the test files of a module with a break outside of functions, from the start."""
    files = list(OUTSIDE.get(mutant.module, ()))
    if not files:
        lines: Counter[str] = Counter()
        for name, each in tests.items():
            lines[name.split("::")[0]] += sum(map(len, each["lines"].get(mutant.module, {}).values()))
        files = [name for name, count in lines.most_common(3) if count]

    def run() -> list[Any]:
        plugin = _Plugin(_Broken(mutant))
        return [_pytest(files, plugin, "-x"), plugin.failed]

    state, told = in_child(run, processor_s=120.0)
    if state != "done":
        return f"killed by {state}", None
    return ("survived" if told[0] == 0 else "killed"), told[1]


def table(rows: Rows) -> list[str]:
    """Return the scores of all modules as lines of Markdown."""
    lines = ["| module | killed | run | of all | % |", "|---|---:|---:|---:|---:|"]
    all_killed = all_run = all_of = 0
    for module in MODULES:
        of = mutants(module)
        ran = [rows.known[_key(each)] for each in of if _key(each) in rows.known]
        killed = sum(each["state"] != "survived" for each in ran)
        all_killed, all_run, all_of = all_killed + killed, all_run + len(ran), all_of + len(of)
        share = f"{100.0 * killed / len(ran):.0f}" if ran else "-"
        lines.append(f"| `{module}` | {killed} | {len(ran)} | {len(of)} | {share} |")
    share = f"{100.0 * all_killed / max(1, all_run):.1f}"
    lines.append(f"| together | {all_killed} | {all_run} | {all_of} | {share} |")
    return lines


def main() -> None:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("modules", nargs="*", help="such as frames or cuts/rim_hole")
    parser.add_argument("--all", action="store_true", help="every module")
    parser.add_argument("--sample", type=int, help="so many mutants of a module")
    parser.add_argument("--whole", type=int, default=0, help="modules with at most so many are run whole")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--lines", help="only mutants of these lines, FROM-TO")
    parser.add_argument("--seconds", type=float, default=20.0, help="of tests per mutant, at most")
    parser.add_argument(
        "--again", action="store_true", help="run those that lived once more, and nothing else"
    )
    parser.add_argument("--survivors", action="store_true", help="list those that live")
    parser.add_argument("--table", action="store_true", help="print the scores so far")
    asked = parser.parse_args()
    unknown = [each for each in asked.modules if each not in MODULES]
    if unknown:
        parser.error(f"not a module of these rooms: {', '.join(unknown)}; there are {', '.join(MODULES)}")
    names = list(MODULES) if asked.all or not asked.modules else asked.modules
    os.chdir(ROOT)
    KEPT.mkdir(exist_ok=True)
    rows = Rows()
    if asked.table or asked.survivors:
        print("\n".join(table(rows)) if asked.table else "")
        for each in rows.known.values() if asked.survivors else ():
            if each["state"] == "survived" and each["key"].split(":")[0] in names:
                print(each["text"])
        return
    sys.path[:0] = [str(ROOT)]
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = tempfile.mkdtemp()
    for heavy in ("numpy", "scipy.optimize", "shapely", "hypothesis", "pytest", "pydantic", "tomlkit"):
        importlib.import_module(heavy)
    if any(name.split(".")[0] == "planner" for name in sys.modules):
        raise SystemExit("the product is loaded already; nothing could be broken")
    tests = test_map()
    todo: list[Mutant] = []
    for name in names:
        chosen = mutants(name)
        if asked.lines:
            first, last = (int(each) for each in asked.lines.split("-"))
            chosen = [each for each in chosen if first <= each.line <= last]
        if asked.sample and len(chosen) > max(asked.sample, asked.whole):
            # a greater sample has the smaller one in it
            random.Random(asked.seed).shuffle(chosen)
            chosen = sorted(chosen[: asked.sample], key=lambda each: (each.node, each.way))
        if asked.again:
            chosen = [
                each for each in mutants(name) if rows.known.get(_key(each), {}).get("state") == "survived"
            ]
        else:
            chosen = [each for each in chosen if _key(each) not in rows.known]
        todo += chosen
    # a function that no test runs is called while its module is loaded, if at all: broken later it would change nothing
    run = {
        (module, name) for each in tests.values() for module, lines in each["lines"].items() for name in lines
    }
    inside = [each for each in todo if (each.module, places(each.module).get(each.line, ("", 0))[0]) in run]
    print(f"{len(todo)} mutants, {len(todo) - len(inside)} of them outside of functions", flush=True)
    if inside:
        files = sorted({name.split("::")[0] for name in tests})
        in_child(
            lambda: _pytest(files, _Server(inside, tests, rows, asked.seconds)), processor_s=1e6, quiet=False
        )
        rows = Rows()
    for mutant in todo:
        if mutant not in inside:
            rows.put(mutant, *outside(mutant, tests))
    print("\n".join(table(rows)))


if __name__ == "__main__":
    main()
