"""A random job file, a random command line, run in this process: what must hold whatever is given.

Three things must never be: an internal error, more than `MOST_SECONDS` of processor time, and a command that ends with
"bad input" (2) although it changed the job file.  With ``--json`` standard output is one JSON object, always.
A case is known by its number alone, so that whatever is found can be run again.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

MOST_SECONDS = 20.0
EXAMPLES = Path(__file__).parents[2] / "examples"
DATA = Path(__file__).parents[1] / "unit" / "data"

SMALL = """# Invented: a crankshaft with two counterweights, quick to plan.
format = 1
[machine]
angle_direction = "ccw"
viewed_from = "front"
angle_zero = "throw 1"
angle_marks = "heavy spot"
[planes]
left = 50
right = 250
[crankshaft]
mass = "12 kg"
bearing_1_z = 0
bearing_2_z = 300
service_speed_rpm = 6000
[tolerance]
each_side = 250
[[throws]]
name = "1"
angle = 0
z = 100
radius = 40
rods = 1
[[throws]]
name = "2"
angle = 180
z = 200
radius = 40
rods = 1
[[counterweights]]
name = "A"
z = 50
angle = 180
thickness = 24
outline = { shape = "fan", outer_radius = 80, half_angle = 55, inner_radius = 34 }
cuts = ["rim hole"]
[[counterweights]]
name = "B"
z = 250
angle = 0
thickness = 24
outline = { shape = "fan", outer_radius = 80, half_angle = 55, inner_radius = 34 }
cuts = ["rim hole", "slug"]
[shop]
drills = [14]
depth_step = 1
angle_step = 5
slug_diameters = ["1 in"]
[bobs]
wanted = 800
[[spins]]
bobs = 800
left = { amount = 900, angle = 190 }
right = { amount = 700, angle = 10 }
"""

NUMBERS = [
    "0",
    "1",
    "-1",
    "2",
    "3",
    "0.5",
    "-0.0",
    "1e-9",
    "1e-320",
    "1e9",
    "1e21",
    "1e300",
    "1e400",
    "-1e300",
    "nan",
    "inf",
    "-inf",
    "90",
    "180",
    "359.9999999",
    "360",
    "361",
    "-360",
    "720",
    "16",
    "27",
    "0.0641",
    "0.641",
    "2147483648",
    "9223372036854775808",
    "123456789012345678901234567890",
    "00",
    "1_000",
    "0x10",
]
TEXTS = [
    "", " ", "A", "B", "Z", "throw 1", "throw 9", "counterweight A", "1/2 in", "5/8 in", "0/0 in", "1/0", "16 mm", "27,5",
    "12 parsec", "0.5 oz-in", "#7", "letter F", "F", "tap 3/8-16", "rim", "slug", "rim hole", "heavy spot", "light spot",
    "front", "rear", "cw", "ccw", "G 6.3", "G 0", "none", "all", "1=800,2=800", "1=x", "piston=-12g", "=1+1", "#123456",
    "$x$", "\\frac{", "<b>", "%s%n", "{0}", "../../x", "/dev/null", "/dev/zero", "/dev/full", "job.toml", "900", "x" * 3000,
    "\x1b[2J", "\u202e", "\ufeff", "é漢字", "\udcff", "a\nb", "-", "--", "--json", "16 mm at 131 on A, depth 22",
    "16 mm at 180 on A, depth 20", "hole 1 on A deeper to 27", "a1", "1", "2", "3-1-2", "1,2", "nan mm",
]  # fmt: skip
JOB_COMMANDS = {
    "plan": [
        "--json", "--show-work", "--no-store", "--store", "--fix", "--forbid", "--drill", "--greatest-depth", "--aim",
        "--one-drill", "--many-drills", "--only", "--use-learned", "--method", "--anyway", "--wanted-chance",
        "--close-enough", "--prefer", "--prefer-cuts", "--heavy-metal",
    ],
    "check": ["--json", "--show-work"],
    "history": ["--json"],
    "odds": ["--json", "--over-cost", "--seed"],
    "bobs": ["--json", "--what-if", "--percent-over", "--make-up"],
    "engine": ["--json", "--layout", "--rotation", "--firing-order", "--speed", "--fraction", "--weights", "--ratio"],
    "match": ["--json", "--pair", "--tolerance", "--csv", "--csv-out", "--from-stock", "--show-work", "--store"],
    "quote": ["--json", "--bob", "--built-for", "--within", "--slug-price", "--labour-per-hour"],
    "trial": ["--json", "--reading", "--show-work", "--no-store"],
    "prove": ["--json", "--mass", "--reading", "--yes"],
}  # fmt: skip
WRITING = {
    "done": ["--json", "--depth", "--angle", "--dial", "--drill", "--on", "--radius", "--length", "--yes", "--unproved"],
    "undo": ["--json", "--spin", "--cut", "--note", "--yes", "--redo"],
    "spin": [
        "--json", "--bobs", "--mounted", "--repeat", "--speed", "--cut-as-planned", "--known-mass", "--known-radius",
        "--known-angle", "--known-at", "--known-z", "--yes", "--anyway", "--show-work",
    ],
}  # fmt: skip
ALONE = {
    "grade": ["--grade", "--mass", "--speed", "--bearing-1-z", "--bearing-2-z", "--centre-of-mass-z", "--radius", "--json",
              "--list", "--show-work"],
    "cut": ["rim", "face", "slug", "--outer-radius", "--diameter", "--depth", "--point-angle", "--density", "--unbalance",
            "--radius", "--thickness", "--json", "--show-work"],
    "profile": ["--shape", "fan", "--outer-radius", "--half-angle", "--inner-radius", "--thickness", "--points", "--json"],
    "rod": ["--small-end", "--big-end", "--whole", "--scale", "--length", "--tilt", "--json"],
    "machine": ["residual", "index", "repeat", "--csv", "--json", "--unit"],
    "start": ["--yes", "--units", "--layout", "--drills", "--radius", "--mass", "--counterweight", "--piston", "--json"],
}  # fmt: skip
FLAGS = {
    "--json", "--show-work", "--no-store", "--store", "--one-drill", "--many-drills", "--use-learned", "--anyway", "--pair",
    "--make-up", "--reading", "--yes", "--unproved", "--redo", "--repeat", "--cut-as-planned", "--list",
}  # fmt: skip
SENSIBLE = {
    "--fix": ["16 mm at 180 on A, depth 20", "14 mm at 0 on B, depth 12", "hole 1 on A deeper to 27"],
    "--forbid": ["A", "B", "A,B"],
    "--drill": ["14 mm", "14", "16 mm", "1/2 in"],
    "--greatest-depth": ["20", "30", "6"],
    "--aim": ["0.1", "0.5", "1"],
    "--only": ["rim", "slug", "drilling"],
    "--method": ["best", "hand"],
    "--bobs": ["800", "790", "1=800,2=790", "0"],
    "--mounted": ["none", "flywheel"],
    "--speed": ["500", "6000"],
    "--known-mass": ["10 g", "40 g"],
    "--known-radius": ["80", "40"],
    "--known-angle": ["0", "60"],
    "--known-at": ["throw 1", "counterweight A"],
    "--known-z": ["50", "250"],
    "--depth": ["10", "20", "27", "4.5"],
    "--angle": ["180", "190", "5", "0"],
    "--dial": ["180", "190", "5", "0"],
    "--on": ["A", "B"],
    "--spin": ["1", "2"],
    "--cut": ["1", "2"],
    "--note": ["wrong"],
    "--bob": ["800", "900"],
    "--built-for": ["780", "800"],
    "--grade": ["6.3", "G 16", "40"],
    "--mass": ["25 kg", "40 g"],
    "--outer-radius": ["80", "3.5 in"],
    "--half-angle": ["55"],
    "--inner-radius": ["34"],
    "--thickness": ["24"],
    "--diameter": ["14", "1/2 in"],
    "--tolerance": ["0.5"],
    "--wanted-chance": ["0.95", "0.5"],
    "--close-enough": ["0.1", "0.5"],
    "--prefer": ["closest", "least metal"],
    "--prefer-cuts": ["fewest", "passes"],
    "--heavy-metal": ["if needed", "allowed", "never"],
    "--layout": ["in-line 4", "1"],
    "--what-if": ["piston=-12g"],
    "--percent-over": ["2"],
    "--shape": ["fan", "disc"],
}
"""What a person would say to an option: without some of it most cases would end at the first word."""
_LINE = re.compile(r"^(?P<key>\s*[A-Za-z_]+\s*=\s*)(?P<value>.*)$")
_NUMBER = re.compile(r"(?<![\w\"])-?\d+(?:\.\d+)?(?![\w\"])")


@dataclass
class Outcome:
    """What a case came to: exit code, what of the promises is broken, and what is needed to see it again."""

    number: int
    code: int | None
    broken: list[str] = field(default_factory=list)
    arguments: list[str] = field(default_factory=list)
    job: bytes = b""
    shown: str = ""


class HangError(BaseException):
    """The processor time of a case is used up; not to be caught by what catches errors."""


def seeds() -> list[str]:
    """Return the job files that are spoilt; the small one most often."""
    whole = [path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*/job.toml"))]
    return [SMALL] * 8 + [(DATA / "whole_job.toml").read_text(encoding="utf-8"), *whole]


def a_job(draw: random.Random, *, sane: bool = False) -> bytes:
    """Return a job file, most often spoilt in one to three places; ``sane``: sizes changed only, by what a job may have."""
    text = draw.choice(seeds())
    if sane:
        for _ in range(draw.choice([0, 1, 2, 4])):
            text = _resized(text, draw)
        return text.encode()
    for _ in range(draw.choice([0, 0, 0, 1, 1, 1, 2, 3])):
        text = _spoilt(text, draw)
    content = text.encode("utf-8", errors="surrogateescape")
    if draw.random() < 0.02:
        place = draw.randrange(len(content) + 1)
        content = content[:place] + draw.randbytes(draw.choice([1, 3, 40])) + content[place:]
    return content


def _resized(text: str, draw: random.Random) -> str:
    """Return a job file with one number that is somewhat larger or smaller, or turned."""
    lines = text.splitlines()
    place = draw.choice([number for number, line in enumerate(lines) if _NUMBER.search(line)])
    found = draw.choice(list(_NUMBER.finditer(lines[place])))
    value = float(found[0]) * draw.choice([0.0, 0.1, 0.5, 0.8, 0.9, 0.97, 1.03, 1.1, 1.3, 2.0, 10.0, -1.0])
    lines[place] = lines[place][: found.start()] + f"{value:g}" + lines[place][found.end() :]
    return "\n".join(lines) + "\n"


def _spoilt(text: str, draw: random.Random) -> str:
    lines = text.splitlines()
    kind = draw.random()
    place = draw.randrange(len(lines))
    if kind < 0.72:
        numbered = [number for number, line in enumerate(lines) if _NUMBER.search(line)]
        place = draw.choice(numbered)
        found = draw.choice(list(_NUMBER.finditer(lines[place])))
        factor = draw.choice([-1, 0.1, 0.001, 10, 25.4, 1e3, 0.5, 0.7, 0.9, 1.1, 1.5, 2.0, 3.0])
        value = draw.choice(NUMBERS) if draw.random() < 0.3 else f"{float(found[0]) * factor:g}"
        lines[place] = lines[place][: found.start()] + value + lines[place][found.end() :]
    elif kind < 0.84:
        keyed = [number for number, line in enumerate(lines) if _LINE.match(line)]
        place = draw.choice(keyed)
        match = _LINE.match(lines[place])
        assert match is not None
        value = json.dumps(draw.choice(TEXTS), ensure_ascii=draw.random() < 0.5)
        lines[place] = match["key"] + draw.choice(
            [value, value, draw.choice(NUMBERS), f"[{value}]", "{}", "true", "[]"]
        )
    elif kind < 0.9:
        del lines[place : place + draw.choice([1, 1, 2, 8])]
    elif kind < 0.93:
        size = draw.choice([1, 4, 9])
        lines[place:place] = lines[draw.randrange(len(lines)) :][:size]
    elif kind < 0.97:
        sections = ["[shop]", "[tolerance]", "[[spins]]", "[[cuts_made]]", "[plan]", "[[fixed_cuts]]", "[[oil_drillings]]",
                    "[errors]", "[bobs]", "[plausible]", "[match]", "[nonsense]", "[machine]"]  # fmt: skip
        keys = [
            "amount",
            "angle",
            "depth",
            "cut",
            "counterweight",
            "after_spin",
            "step",
            "steps",
            "diameter",
            "grade",
            "use",
        ]
        lines[place:place] = [draw.choice(sections), f"{draw.choice(keys)} = {draw.choice(NUMBERS)}"]
    else:
        lines[place] = lines[place].replace(
            draw.choice(["=", '"', "[", "1", "e"]), draw.choice(["", "==", "'", "]", "\t"])
        )
    return "\n".join(lines) + "\n"


def a_command(draw: random.Random, *, sane: bool = False) -> list[list[str]]:
    """Return one to three command lines, one after the other on the same job; ``sane``: what a person would type, up to six."""
    if sane:
        return [_sane_command(draw) for _ in range(draw.choice([1, 2, 4, 6]))]
    return [_one_command(draw) for _ in range(draw.choice([1, 1, 2, 3]))]


def _sane_command(draw: random.Random) -> list[str]:
    """Return a command line that is most often right: what comes behind the first words is reached by these only."""
    name = draw.choice(["spin", "spin", "done", "done", "undo", "plan", *JOB_COMMANDS])
    arguments = [name]
    if name == "spin":
        arguments += [draw.choice(["900", "120.5", "30", "0"]), draw.choice(["190", "10", "355"]),
                      draw.choice(["700", "33", "1400"]), draw.choice(["10", "200", "0"])]  # fmt: skip
        arguments += draw.choice([[], ["--yes"], ["--cut-as-planned", "--yes"], ["--repeat", "--yes"]])
    elif name == "done":
        arguments += draw.choice([
            ["1"], ["2"], ["1", "2"], ["a1"], ["a2"], ["1", "--depth", "20"], ["1", "--dial", "190"], ["3"],
            ["--on", "A", "--dial", "180", "--drill", "14", "--depth", "15"], ["--deeper", "1", "--depth", "27"],
        ])  # fmt: skip
        arguments += draw.choice([[], ["--yes", "--unproved"], ["--yes", "--unproved"]])
    elif name == "undo":
        arguments += draw.choice(
            [["--yes"], ["--yes"], ["--redo"], ["--cut", "1", "--yes"], ["--spin", "1", "--yes"]]
        )
    offered = [each for each in {**JOB_COMMANDS, **WRITING}[name] if each in FLAGS or each in SENSIBLE]
    for each in draw.sample(offered, min(len(offered), draw.choice([0, 0, 1, 2]))):
        if each not in arguments:
            arguments += [each] if each in FLAGS else [each, draw.choice(SENSIBLE[each])]
    if name in ("plan", "spin", "done", "odds", "quote"):
        arguments += ["--seconds", "1"]
    return arguments


def _one_command(draw: random.Random) -> list[str]:
    kind = draw.random()
    if kind < 0.05:
        return draw.choice([[], ["--json"], ["--version"], ["--help"], [draw.choice(TEXTS)]])
    if kind < 0.15:
        name = draw.choice(sorted(ALONE))
        return [name, *_options(ALONE[name], draw, most=6)]
    if kind < 0.5:
        name = draw.choice(sorted(JOB_COMMANDS))
        arguments = [name, *_options(JOB_COMMANDS[name], draw, most=3)]
    elif kind < 0.98:
        name = draw.choice(sorted(WRITING))
        arguments = [name]
        if name == "spin":
            sane = [draw.choice(["900", "120.5", "0"]), "190", draw.choice(["700", "33"]), "10"]
            arguments += [each if draw.random() < 0.85 else draw.choice([*NUMBERS, *TEXTS]) for each in sane]
            arguments += [] if draw.random() < 0.9 else [draw.choice(NUMBERS)]
        elif name == "done":
            arguments += (
                [draw.choice(["1", "1", "2", "a1", "0", "77", draw.choice(TEXTS)])]
                if draw.random() < 0.9
                else []
            )
        arguments += _options(WRITING[name], draw, most=3)
    else:
        name = draw.choice(["sheet", "plan", "chart"])
        target = draw.choice(["a.pdf", "a.html", "a.svg", "a.png", "none/a.pdf", "a.doc"])
        arguments = [
            name,
            "-o" if name != "plan" else "--plot",
            target,
            *(["--customer"] if draw.random() < 0.3 else []),
        ]
    if name in ("plan", "spin", "done", "odds", "quote", "sheet"):
        arguments += ["--seconds", "1"]
    return arguments


def _options(names: list[str], draw: random.Random, *, most: int) -> list[str]:
    words: list[str] = []
    for _ in range(draw.randint(0, most)):
        name = draw.choice(names)
        words.append(name)
        if name.startswith("--") and name not in FLAGS:
            good = SENSIBLE.get(name, ())
            words.append(draw.choice(good if good and draw.random() < 0.7 else [*TEXTS, *NUMBERS, *NUMBERS]))
    return words


def run_case(number: int, *, seed: int = 0, sane: bool = False, folder: Path | None = None) -> Outcome:
    """Run a case and return what it came to."""
    draw = random.Random(f"{seed}/{number}")
    return run_given(a_job(draw, sane=sane), a_command(draw, sane=sane), number=number, folder=folder)


def run_given(
    job: bytes, commands: list[list[str]], *, number: int = -1, folder: Path | None = None
) -> Outcome:
    """Run command lines on a job file in a folder of their own, and look at the promises after each."""
    outcome = Outcome(number=number, code=None, job=job)
    place = Path(tempfile.mkdtemp(prefix="case-", dir=folder))
    try:
        for name in ("shop.toml", "crankshaft.toml"):
            shutil.copy(EXAMPLES / "external_balance_v8" / name, place / name)
        file = place / "job.toml"
        file.write_bytes(job)
        for arguments in commands:
            outcome.arguments = arguments
            before = file.read_bytes() if file.exists() else b""
            code, out, err = run_line(arguments, place)
            outcome.code = code
            after = file.read_bytes() if file.exists() else b""
            if code is None:
                outcome.broken.append("more than its processor time")
            elif code not in (0, 1, 2):
                outcome.broken.append("internal error")
            elif code == 2 and after != before:
                outcome.broken.append("bad input, but the file is changed")
            if "Traceback" in err:
                outcome.broken.append("traceback")
            if _asks_for_json(arguments) and code in (0, 1, 2) and not _one_object(out):
                outcome.broken.append("no JSON object")
            left = [path.name for path in place.iterdir() if path.name.startswith(".")]
            if left and code is not None:
                outcome.broken.append(f"left behind: {left}")
            if outcome.broken:
                outcome.shown = err[-1500:]
                return outcome
        return outcome
    finally:
        shutil.rmtree(place, ignore_errors=True)


def _asks_for_json(arguments: list[str]) -> bool:
    """Return whether ``--json`` stands as an option, not as the value of another one."""
    return any(
        each == "--json" and not (before.startswith("--") and before not in FLAGS)
        for before, each in zip(["", *arguments], arguments, strict=False)
    )


def _one_object(out: str) -> bool:
    def refuse(text: str) -> float:
        raise ValueError(text)

    try:
        return isinstance(json.loads(out, parse_constant=refuse), dict)
    except ValueError:
        return "--help" in out or "Usage" in out


def run_line(
    arguments: list[str], place: Path, *, around: contextlib.AbstractContextManager[object] | None = None
) -> tuple[int | None, str, str]:
    """Return exit code (None: out of time), standard output and error of a command line run in this process.

    ``around`` surrounds the command alone: a fault of the computer, for example.
    """
    from planner.cli.main import run

    if any("\0" in each for each in arguments):
        return 2, "{}", ""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n")
    err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n")
    code: int | None
    with _in_folder(place), _alarm(MOST_SECONDS), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        kept = sys.argv, sys.stdin, sys.stdout, sys.stderr
        sys.argv = ["bobplan", *arguments]
        sys.stdin, sys.stdout, sys.stderr = io.StringIO(""), out, err
        try:
            with around or contextlib.nullcontext():
                run()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
        except HangError:
            code = None
        except BaseException as error:
            code = 70
            sys.stderr.write(f"out of run(): {type(error).__name__}: {error}")
        finally:
            sys.argv, sys.stdin, sys.stdout, sys.stderr = kept
    for stream in (out, err):
        stream.flush()
    texts = [stream.buffer.getvalue().decode("utf-8", errors="replace") for stream in (out, err)]  # type: ignore[attr-defined]
    return code, texts[0], texts[1]


@contextlib.contextmanager
def _in_folder(place: Path) -> Iterator[None]:
    """Stand in a folder, with folders of the user of its own."""
    here = os.getcwd()
    names = {"XDG_STATE_HOME": str(place.parent / "state"), "BOBPLAN_CACHE": "off"}
    kept = {name: os.environ.get(name) for name in (*names, "BOBPLAN_DEBUG")}
    os.environ.update(names)
    os.environ.pop("BOBPLAN_DEBUG", None)
    os.chdir(place)
    try:
        yield
    finally:
        os.chdir(here)
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@contextlib.contextmanager
def _alarm(seconds: float) -> Iterator[None]:
    """Raise `HangError` when so much processor time is used, and again if that was swallowed."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def ring(*_: object) -> None:
        raise HangError

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds, 1.0)
    try:
        yield
    except HangError:
        raise
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
