"""Wrong settings, one per job, against `bobplan prove` and the questions at the first spin.  All data invented.

    python -m tests.benchmarks.prove_settings 200 7

makes so many random jobs with one wrong setting each, and as many with none; a simulated machine of its own (numbers
painted on the crankshaft, statics by two equations, no product code) shows what a real one would.  Reading error 2 % and
1 degree, masses placed by eye to 1.5 degrees.
"""

from __future__ import annotations

import collections
import io
import json
import math
import os
import random
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

FAULTS = ("direction", "end", "zero", "spot", "planes", "unit", "radius", "amounts", "drill_offset")
# one physical unit of the display in gram-millimetres, or in grams (definitions of 1959: oz = 28.349523125 g, in = 25.4 mm)
UNITS = {"g*mm": 1.0, "g*cm": 10.0, "g*in": 25.4, "oz*in": 28.349523125 * 25.4}
MASS_UNITS = {"g": 1.0, "oz": 28.349523125}
LAYOUTS = {
    "cross-plane V8": ((0, 90, 270, 180), 2),
    "flat-plane V8": ((0, 180, 180, 0), 2),
    "in-line 3": ((0, 240, 120), 1),
    "in-line 4": ((0, 180, 180, 0), 1),
    "V6": ((0, 120, 240), 2),
    "in-line 6": ((0, 120, 240, 240, 120, 0), 1),
}
PERCENT, DEGREES = 2.0, 1.0


@dataclass(frozen=True)
class Machine:
    """How a machine really counts (or is said to): its settings in plain words."""

    way: str
    seen_from: str
    zero: float
    marks: str
    shows: str
    unit: str
    left_z: float
    right_z: float
    left_radius: float
    right_radius: float
    drill_offset: float

    def number_at(self, place: float) -> float:
        """Return the number at a place, the place counted counter-clockwise by one who stands at the front."""
        gone = place - self.zero
        growing = {
            ("ccw", "front"): gone,
            ("cw", "front"): -gone,
            ("cw", "rear"): gone,
            ("ccw", "rear"): -gone,
        }
        return growing[self.way, self.seen_from] % 360.0


@dataclass(frozen=True)
class Case:
    """A job: the crankshaft, what is really so, and what the file says."""

    seed: int
    fault: str
    layout: str
    throws: tuple[tuple[str, float, float], ...]
    radius: float
    counterweights: tuple[tuple[str, float, float, float], ...]
    length: float
    mass: float
    bob: float
    built_for: float | None
    true: Machine
    said: Machine
    heavy: tuple[tuple[float, float, float], ...] = field(repr=False)

    def job_text(self) -> str:
        """Return the job file that the operator wrote."""
        said = self.said
        masses = said.shows == "mass"
        lines = ["format = 1", "[units]", f'unbalance = "{"g*mm" if masses else said.unit}"', "[machine]"]
        lines += [f'angle_direction = "{said.way}"', f'viewed_from = "{said.seen_from}"']
        lines += [
            f"angle_zero = {self._zero()}",
            f'angle_marks = "{said.marks}"',
            f'amounts = "{said.shows}"',
        ]
        if masses and said.unit != "g":
            lines.append(f'display_unit = "{said.unit}"')
        lines += [
            f"drill_offset = {said.drill_offset}",
            "[planes]",
            f"left = {said.left_z}",
            f"right = {said.right_z}",
        ]
        if masses:
            lines += [f"left_radius = {said.left_radius}", f"right_radius = {said.right_radius}"]
        lines += [
            "[crankshaft]",
            f'mass = "{self.mass} kg"',
            "bearing_1_z = 0",
            f"bearing_2_z = {self.length}",
        ]
        lines += ["service_speed_rpm = 6000"]
        if self.built_for is not None:
            lines.append(f"built_for_bob = {self.built_for}")
        lines += ["[tolerance]", 'each_side = "300 g*mm"', "[bobs]", f"wanted = {self.bob}"]
        for name, angle, z in self.throws:
            lines += [
                "[[throws]]",
                f'name = "{name}"',
                f"angle = {angle}",
                f"z = {z}",
                f"radius = {self.radius}",
            ]
            lines.append(f"rods = {LAYOUTS[self.layout][1]}")
        for name, angle, z, rim in self.counterweights:
            lines += [
                "[[counterweights]]",
                f'name = "{name}"',
                f"angle = {angle}",
                f"z = {z}",
                "thickness = 22",
            ]
            lines += [
                f'outline = {{ shape = "fan", outer_radius = {rim}, half_angle = 55, inner_radius = 35 }}'
            ]
        return "\n".join(lines) + "\n"

    def _zero(self) -> str:
        for name, angle, _ in self.throws:
            if angle == self.said.zero:
                return f'"throw {name}"'
        return str(self.said.zero)

    def shows(
        self, draw: random.Random, extra: tuple[tuple[float, float, float], ...] = ()
    ) -> tuple[float, float, float, float]:
        """Return what the display shows with everything that is heavy [(unbalance, place, z)]."""
        m = self.true
        x = sum(u * math.cos(math.radians(a)) for u, a, _ in (*self.heavy, *extra))
        y = sum(u * math.sin(math.radians(a)) for u, a, _ in (*self.heavy, *extra))
        mx = sum(u * math.cos(math.radians(a)) * z for u, a, z in (*self.heavy, *extra))
        my = sum(u * math.sin(math.radians(a)) * z for u, a, z in (*self.heavy, *extra))
        shown: list[float] = []
        for here, other, radius in (
            (m.left_z, m.right_z, m.left_radius),
            (m.right_z, m.left_z, m.right_radius),
        ):
            # force and moment about the other plane leave this plane's part
            hx, hy = (mx - other * x) / (here - other), (my - other * y) / (here - other)
            amount, place = math.hypot(hx, hy), math.degrees(math.atan2(hy, hx))
            angle = m.number_at(place) + (180.0 if m.marks == "light spot" else 0.0)
            size = amount / (radius * MASS_UNITS[m.unit] if m.shows == "mass" else UNITS[m.unit])
            size *= 1.0 + draw.gauss(0.0, PERCENT / 100.0)
            shown += [size, (angle + draw.gauss(0.0, DEGREES)) % 360.0]
        return shown[0], shown[1], shown[2], shown[3]


def make_case(seed: int, fault: str) -> Case:
    """Return a random job with that fault in its file; "" for none."""
    draw = random.Random(f"prove {seed} {fault}")
    layout = draw.choice(list(LAYOUTS))
    angles, rods = LAYOUTS[layout]
    pitch = draw.uniform(85.0, 115.0)
    count = len(angles)
    length = round(pitch * (count + 0.6), 1)
    throws = tuple((str(i + 1), float(a), round(pitch * (i + 0.8), 1)) for i, a in enumerate(angles))
    radius = round(draw.uniform(36.0, 52.0), 1)
    rim = round(draw.uniform(76.0, 92.0), 1)
    counterweights = []
    for i, (_, angle, z) in enumerate(throws):
        for side in (-1, 1):
            lean = draw.uniform(-20.0, 20.0)
            counterweights.append(
                (
                    f"{'ABCDEFGH'[i]}{'f' if side < 0 else 'r'}",
                    round((angle + 180 + lean) % 360, 1),
                    z + side * 26.0,
                    rim,
                )
            )
    bob = round(rods * draw.uniform(500.0, 900.0), 1)
    was = bob * (1.0 + draw.choice((-1, 1)) * draw.uniform(0.015, 0.06))
    heavy = [(abs(bob - was) * radius, a if bob > was else (a + 180.0) % 360.0, z) for _, a, z in throws]
    for end in (0.15, 0.85):
        heavy.append((abs(draw.gauss(0.0, 500.0)) + 150.0, draw.uniform(0.0, 360.0), end * length))
    shows = "mass" if fault == "radius" else draw.choice(("unbalance", "unbalance", "mass"))
    left, right = (round(draw.uniform(0.08, 0.16) * length, 1), round(draw.uniform(0.84, 0.92) * length, 1))
    if draw.random() < 0.3:
        left, right = right, left
    true = Machine(
        way=draw.choice(("ccw", "cw")),
        seen_from=draw.choice(("front", "rear")),
        zero=draw.choice((0.0, throws[draw.randrange(count)][1], 45.0, 17.0)),
        marks=draw.choice(("heavy spot", "light spot")),
        shows=shows,
        unit=draw.choice(("g", "g", "oz"))
        if shows == "mass"
        else draw.choice(("g*mm", "g*cm", "g*in", "oz*in")),
        left_z=left,
        right_z=right,
        left_radius=float(draw.randrange(60, 90)),
        right_radius=float(draw.randrange(60, 90)),
        drill_offset=float(draw.choice((0, 90, -90, 30, 180)))
        if fault != "drill_offset"
        else float(draw.choice((90, -90, 30, -45))),
    )
    return Case(
        seed=seed,
        fault=fault,
        layout=layout,
        throws=throws,
        radius=radius,
        counterweights=tuple(counterweights),
        length=length,
        mass=round(draw.uniform(9.0, 28.0) * count / 4.0, 1),
        bob=bob,
        built_for=round(was, 1) if draw.random() < 0.5 else None,
        true=true,
        said=_said(true, fault, draw, [a for _, a, _ in throws]),
        heavy=tuple(heavy),
    )


def _said(true: Machine, fault: str, draw: random.Random, angles: list[float]) -> Machine:
    if fault == "direction":
        return replace(true, way="cw" if true.way == "ccw" else "ccw")
    if fault == "end":
        return replace(true, seen_from="rear" if true.seen_from == "front" else "front")
    if fault == "zero":
        others = [a for a in angles if a != true.zero]
        wrong = (
            draw.choice(others) if draw.random() < 0.6 else (true.zero + draw.uniform(20.0, 340.0)) % 360.0
        )
        return replace(true, zero=round(wrong, 1))
    if fault == "spot":
        return replace(true, marks="light spot" if true.marks == "heavy spot" else "heavy spot")
    if fault == "planes":
        return replace(true, left_z=true.right_z, right_z=true.left_z)
    if fault == "unit":
        table = MASS_UNITS if true.shows == "mass" else UNITS
        return replace(true, unit=draw.choice([u for u in table if u != true.unit]))
    if fault == "radius":
        factor = draw.choice((0.5, 2.0, 0.7, 1.4))
        if draw.random() < 0.5:
            return replace(true, left_radius=round(true.left_radius * factor, 1))
        return replace(true, right_radius=round(true.right_radius * factor, 1))
    if fault == "amounts":
        if true.shows == "mass":
            return replace(true, shows="unbalance", unit="g*mm")
        return replace(true, shows="mass", unit="g")
    if fault == "drill_offset":
        return replace(true, drill_offset=-true.drill_offset)
    return true


def run(*arguments: str) -> tuple[int, str, str]:
    """Run the command line in this process."""
    from planner.cli.main import run as main

    out, err, before = io.StringIO(), io.StringIO(), sys.argv
    sys.argv = ["bobplan", *arguments]
    try:
        with redirect_stdout(out), redirect_stderr(err):
            main()
    except SystemExit as end:
        return (end.code if isinstance(end.code, int) else 1), out.getvalue(), err.getvalue()
    finally:
        sys.argv = before
    raise AssertionError("the command line did not end")


def typed(values: tuple[float, ...]) -> str:
    """Return readings as a person types them: four figures, angles to a degree's tenth."""
    return " ".join(f"{v:.4g}" if i % 2 == 0 and i < 4 else f"{v:.1f}" for i, v in enumerate(values))


def prove_case(case: Case, folder: Path, *, with_pointer: bool = True) -> dict[str, Any]:
    """Return what `prove` answers to the simulated machine, and whether the first spin was questioned."""
    draw = random.Random(f"noise {case.seed} {case.fault}")
    path = folder / f"{case.seed}_{case.fault or 'right'}.toml"
    path.write_text(case.job_text(), encoding="utf-8")
    first = typed(case.shows(draw))
    code, out, err = run("prove", str(path), "--base", first, "--bobs", f"{case.bob} g", "--json")
    if not out.strip():
        raise AssertionError(err)
    if "proposal" not in json.loads(out):
        raise AssertionError(f"{case.seed} {case.fault}: {out} {err}")
    proposal = json.loads(out)["proposal"]
    questioned = bool(_questions(path))
    options: list[str] = []
    for place in proposal["places"]:
        # where that place really is on the crankshaft, found by eye, by its name alone
        angle, z = next(
            (a, zz)
            for name, a, zz in (
                *((f"throw {n}", a, zz) for n, a, zz in case.throws),
                *((f"counterweight {n}", a, zz) for n, a, zz, _ in case.counterweights),
            )
            if name == place["at"]
        )
        put = angle + draw.gauss(0.0, 1.5)
        mass = proposal["mass_g"] * place["radius_mm"] * (1.0 + draw.gauss(0.0, 0.01))
        values: tuple[float, ...] = case.shows(draw, ((mass, put, z),))
        if with_pointer:
            values = (*values, (case.true.number_at(put) + draw.gauss(0.0, 1.0)) % 360.0)
        options += ["--reading", typed(values)]
    name, angle, _ = case.throws[-1]
    under = (case.true.number_at(angle) + case.true.drill_offset + draw.gauss(0.0, 1.0)) % 360.0
    options += ["--line", f"throw {name} = {under:.1f}"]
    code, out, err = run("prove", str(path), "--json", *options)
    if not out.strip():
        raise AssertionError(f"{case.seed} {case.fault}: {err}")
    told: dict[str, Any] = json.loads(out)
    told["code"], told["questioned"], told["path"] = code, questioned, path
    told["withheld"] = _withheld(path) or any(each["mended_deg"] is not None for each in told["lines"])
    return told


def _questions(path: Path) -> tuple[str, ...]:
    """Return what the first spin of a job is asked about."""
    import dataclasses

    from planner.jobfile.read import load_job
    from planner.steps.reading_slips import asked_about

    job = load_job(path)
    return asked_about(dataclasses.replace(job, spins=()), job.spins[0]).words


def _withheld(path: Path) -> bool:
    """Return whether the cut list of a job is withheld."""
    from planner.jobfile.read import load_job
    from planner.steps.withheld import withheld_of

    return withheld_of(load_job(path)) is not None


def found(case: Case, told: dict[str, Any]) -> str:
    """Return "right and alone", "in the list", "another", or "nothing wrong" for what `prove` named."""
    wanted = {"end": "direction"}.get(case.fault, case.fault)
    lines = [each for each in told["lines"] if each["mended_deg"] is not None]
    if wanted == "drill_offset":
        if told["explanations"] and not told["explanations"][0]["settings"] and lines:
            return "right and alone"
        return (
            "another" if told["explanations"][:1] and told["explanations"][0]["settings"] else "nothing wrong"
        )
    sets = [
        {s.replace("left ", "").replace("right ", "") for s in e["settings"]} for e in told["explanations"]
    ]
    if told["good"]:
        return "nothing wrong"
    if len(sets) == 1 and sets[0] == {wanted}:
        return "right and alone"
    if wanted == "amounts" and len(sets) == 1 and wanted in sets[0]:
        return "right and alone"
    return "in the list" if {wanted} in sets else "another"


def main() -> None:
    """Run the benchmark and print its table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    only = sys.argv[3:]
    table: dict[str, collections.Counter[str]] = collections.defaultdict(collections.Counter)
    with tempfile.TemporaryDirectory() as name:
        os.environ.setdefault("XDG_CACHE_HOME", name)
        os.environ.setdefault("XDG_STATE_HOME", name)
        for index in range(count):
            fault = FAULTS[index % len(FAULTS)]
            if only and fault not in only:
                continue
            case = make_case(seed * 10_000 + index, fault)
            told = prove_case(case, Path(name))
            result = found(case, told)
            table[fault][result] += 1
            table[fault]["n"] += 1
            table[fault]["questioned at the first spin"] += told["questioned"]
            table[fault]["withheld or told before metal is lost"] += told["questioned"] or told["withheld"]
            if result != "right and alone":
                print(
                    case.seed,
                    fault,
                    case.layout,
                    result,
                    told["explanations"],
                    told["as_set_misses_by"],
                    told["lines"],
                )
        for index in range(count):
            if only and "right" not in only:
                continue
            case = make_case(seed * 10_000 + index, "")
            told = prove_case(case, Path(name))
            table["right"]["n"] += 1
            table["right"]["good" if told["good"] else "false alarm"] += 1
            table["right"]["questioned at the first spin"] += told["questioned"]
            table["right"]["all proved"] += len(told["proved"]) == 8
            if not told["good"] or len(told["proved"]) != 8:
                print(
                    case.seed,
                    "right",
                    case.layout,
                    told["proved"],
                    told["as_set_misses_by"],
                    told["explanations"],
                )
    for fault, counts in table.items():
        print(f"{fault:14} {dict(counts)}")


if __name__ == "__main__":
    main()
