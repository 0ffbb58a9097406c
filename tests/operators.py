"""Three operators, each with a crankshaft, a machine and a drill press of the simulation, telling a whole job at a terminal.

An operator knows what is on the screen and what his machine shows, nothing else: he puts the known mass where the screen
says, reads what the simulated machine shows then, and drills what the screen's list of cuts says, by its dial number,
its drill and its stop.  All data are invented.
"""

from __future__ import annotations

import cmath
import math
import random
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from simulator.crankshaft import Crankshaft, Fan, Throw, unit
from simulator.jobs import IN_MM, Errors, SimulatedJob, Workshop
from simulator.machine import Machine
from transcripts import Answer, Screen, Session

CUT = re.compile(
    r"^(?P<number>\d+)  (?:(?P<cut>rim hole) on (?P<on>\w+)|(?P<hole>.+) on (?P<deeper_on>\w+), deeper) +"
    r"(?P<dial>[\d.]+)°  +(?P<drill>[\d/. ]+) (?P<drill_unit>mm|in)  +(?P<stop>[\d.]+) (?P<stop_unit>mm|in)",
    re.MULTILINE,
)
"""A line of the list of cuts: rim holes, and holes that are drilled deeper."""
PLACE = re.compile(
    r"^(?P<number>\d)\. (?P<mass>[\d.]+) g at (?P<kind>counterweight|throw) (?P<name>\w+), "
    r"radius (?P<radius>[\d.]+) (?P<unit>mm|in)",
    re.MULTILINE,
)
"""Where `prove` wants the known mass."""
FORETOLD = re.compile(
    r"the\s+next\s+spin\s+should\s+show:\s+left\s+(?P<left>[\d.]+)\s+(?P<unit>\S+)\s+at\s+(?P<left_deg>[\d.]+)°,\s+"
    r"right\s+(?P<right>[\d.]+)\s+\S+\s+at\s+(?P<right_deg>[\d.]+)°"
)


def in_mm(number: str, unit_name: str) -> float:
    """A length as it stands on the screen, `1 3/4 in` or `16 mm`."""
    return sum(float(Fraction(part)) for part in number.split()) * (IN_MM if unit_name == "in" else 1.0)


@dataclass(frozen=True)
class Cut:
    """A cut as it is printed."""

    number: int
    on: str
    dial_deg: float
    drill_mm: float
    stop_mm: float
    deeper: bool

    @property
    def step(self) -> dict[str, Any]:
        """It as the simulated drill press takes it."""
        return {
            "cut": "rim hole", "counterweight": self.on, "dial_deg": self.dial_deg, "diameter_mm": self.drill_mm,
            "stop_mm": self.stop_mm, "through": False,
        }  # fmt: skip


def cuts_on(screen: Screen) -> list[Cut]:
    """The list of cuts on a screen."""
    return [
        Cut(
            number=int(found["number"]),
            on=found["on"] or found["deeper_on"],
            dial_deg=float(found["dial"]),
            drill_mm=in_mm(found["drill"], found["drill_unit"]),
            stop_mm=in_mm(found["stop"], found["stop_unit"]),
            deeper=found["cut"] is None,
        )
        for found in CUT.finditer(screen.shown)
    ]


@dataclass
class Hole:
    """A hole that was drilled: where in the crankshaft's sources it stands, and the errors it was made with."""

    at: int
    step: dict[str, Any]
    place: complex


@dataclass
class Operator:
    """Somebody at a terminal beside a machine and a drill press."""

    session: Session
    job: SimulatedJob
    limits_gmm: tuple[float, float] = (0.0, 0.0)
    holes: dict[str, Hole] = field(default_factory=dict)
    readings: list[list[str]] = field(default_factory=list)
    made: list[tuple[str, float, float]] = field(default_factory=list)

    def reads(self) -> list[str]:
        """Spin: what the display shows; all of it is entered, in this order."""
        self.readings.append(self.displayed())
        return self.readings[-1]

    def displayed(self) -> list[str]:
        """What the display shows."""
        return [f"{value:g}" for value in self.job.spin()]

    def reads_with(self, mass_g: float, z_mm: float, radius_mm: float, angle_deg: float) -> list[str]:
        """Spin with a mass at a place on the crankshaft."""
        self.job.extra.append((z_mm, mass_g * radius_mm * unit(angle_deg)))
        shown = self.reads()
        self.job.extra.pop()
        return shown

    def types(self, command: str, *answers: Answer, code: int | None = 0, told: str = "") -> Screen:
        """Type a command line and the answers to its questions."""
        return self.session.types(command, *answers, code=code, told=told)

    def mass_where_told(self, number: int) -> list[Callable[[str], str]]:
        """The five answers of `prove` with the known mass at the place that the screen names."""
        found: list[str] = []

        def first(screen: str) -> str:
            place = next(each for each in PLACE.finditer(screen) if each["number"] == str(number))
            crank = self.job.crankshaft
            where: Fan | Throw = (
                crank.fan(place["name"])
                if place["kind"] == "counterweight"
                else next(each for each in crank.throws if each.name == place["name"])
            )
            found.extend(
                self.reads_with(
                    float(place["mass"]), where.z_mm, in_mm(place["radius"], place["unit"]), where.angle_deg
                )
            )
            # turned by hand to the pointer, read to a degree
            found.append(f"{round(self.job.machine.number_deg(unit(where.angle_deg))) % 360}")
            return found[0]

        return [first, *((lambda _, at=at: found[at]) for at in range(1, 5))]

    def line_under_drill(self, screen: str) -> str:
        """What the dial shows with a throw's scribed line under the drill, the throw that the screen names."""
        name = re.findall(r"a line scribed at throw (\w+) under the drill", screen)[-1]
        throw = next(each for each in self.job.crankshaft.throws if each.name == name)
        machine = self.job.machine
        # the number under the pointer then is less by how far the drill stands on
        return f"{round(machine.number_deg(unit(throw.angle_deg)) + machine.drill_deg) % 360}"

    def drills(self, cut: Cut, *, stop_mm: float | None = None) -> None:
        """Make a printed cut at the drill press, or as far as a stop of his own."""
        crank, job = self.job.crankshaft, self.job
        step = cut.step | ({} if stop_mm is None else {"stop_mm": stop_mm})
        self.made.append((cut.on, cut.dial_deg, step["stop_mm"]))
        if not cut.deeper:
            assert job.carry_out(step), f"cut {cut.number} finds no metal"
            source = crank.cut[-1][1]
            self.holes[cut.on] = Hole(len(crank.cut) - 1, step, -source / abs(source))
            return
        hole = self.holes[cut.on]
        # the same hole, at the place where it is
        (deeper,) = job._holes(step, crank.fan(cut.on), cut.drill_mm, job.workshop.depth_to)
        crank.cut[hole.at] = (deeper.z_mm, deeper.moment_gmm * hole.place)

    def foretells(self, screen: Screen) -> tuple[complex, complex]:
        """What a screen says that the display will show, as vectors in the planes [g*mm]."""
        found = FORETOLD.search(screen.shown)
        assert found is not None, screen.text
        shown = tuple(float(found[key]) for key in ("left", "left_deg", "right", "right_deg"))
        return self.job.machine.read(shown)  # type: ignore[arg-type]


def fans(
    rows: list[tuple[str, float, float]],
    *,
    per_mm: float,
    thickness: float,
    outer: float,
    inner: float,
    half: float,
) -> tuple[Fan, ...]:
    """Counterweights of one size."""
    return tuple(
        Fan(name, z * per_mm, angle, thickness * per_mm, outer * per_mm, inner * per_mm, half)
        for name, z, angle in rows
    )


def grade_limits_gmm(grade_mm_per_s: float, mass_kg: float, speed_rpm: float) -> tuple[float, float]:
    """A grade's limits at two bearings with the centre of mass in their middle: half of m G / omega each (ISO 21940-11)."""
    omega = 2.0 * math.pi * speed_rpm / 60.0
    half = 0.5 * 1000.0 * mass_kg * grade_mm_per_s / omega
    return half, half


def press_and_machine_errors() -> Errors:
    """A careful operator's."""
    return Errors(depth_mm=0.2, angle_deg=0.6, diameter_mm=0.04, reading_percent=0.8, reading_angle_deg=0.4)


def inches(folder: Path) -> Operator:
    """Inches; numbers clockwise seen from the rear, light spot, grams at a radius; the file has the wrong way round at first."""
    true = Machine(
        counts="cw", seen_from="rear", zero_deg=0.0, marks="light spot", left_z_mm=18.4 * IN_MM,
        right_z_mm=2.0 * IN_MM, drill_deg=90.0, radii_mm=(3.0 * IN_MM, 3.0 * IN_MM),
    )  # fmt: skip
    crankshaft = Crankshaft(
        fans=fans(
            [("A", 2.0, 160.0), ("B", 5.3, 190.0), ("C", 15.1, 10.0), ("D", 18.4, 340.0)],
            per_mm=IN_MM, thickness=0.95, outer=3.3, inner=1.4, half=55.0,
        ),
        throws=tuple(
            Throw(name, z * IN_MM, angle, 1.75 * IN_MM)
            for name, z, angle in (("1", 3.6, 0.0), ("2", 7.95, 270.0), ("3", 12.3, 90.0), ("4", 16.65, 180.0))
        ),
        bearings_z_mm=(0.0, 20.4 * IN_MM),
        mass_kg=23.6,
        density=7.85,
        bob_g=0.0,
        hidden=[
            (2.0 * IN_MM, 2750 * unit(171)),
            (18.4 * IN_MM, 2300 * unit(347)),
            (9.0 * IN_MM, 180 * unit(60)),
        ],
    )  # fmt: skip
    job = SimulatedJob(
        seed=1, crankshaft=crankshaft, machine=true, stated=true, errors=press_and_machine_errors(),
        workshop=Workshop((12.7, 15.875), "shoulder", 118.0, IN_MM / 64, 1.0, 0.0), unit="g*mm", inches=True,
        limit_gmm=0.0, judged_at="bearings", draw=random.Random("inches"),
    )  # fmt: skip
    he = Operator(Session(folder), job, limits_gmm=grade_limits_gmm(16.0, 52 * 0.45359237, 6000.0))
    he.types(
        "bobplan start",
        "Small V8, rear-view machine", "in",
        "counter-clockwise", "rear", "", "light", "mass", "90", "1/2 5/8",
        "V8, 90 degree banks, cross-plane", "cw", "1.75", "3.6", "4.35", "", "20.4", "52 lb", "", "6000",
        "18.4", "2.0", "3.0", "3.0",
        "4", "0.95", "3.3", "55", "1.4",
        "2.0", "160", "5.3", "190", "15.1", "10", "18.4", "340",
        "G 16",
        "498.2 497.5 498.9 497.8 498.4 497.6 498.1 498.0", "141.5", "46.2", "2.4", "186.4", "428.1", "41.0", "", "",
        "Example", "INV-1", "2026-04-02", "neutral", "neutral", "1880", "shoulder", "",
    )  # fmt: skip
    he.types("bobplan")
    he.types("bobplan match --store")
    he.types("bobplan bobs", told="the pistons are ground and weighed again")
    he.types("bobplan quote")
    he.types(
        "bobplan prove --by K --plot where.png", "", *he.reads(), *he.mass_where_told(1), *he.mass_where_told(2),
        he.line_under_drill, "y",
        told="bobs are made up as wanted and clamped on",
    )  # fmt: skip
    he.types("bobplan")
    spin = he.types("bobplan spin", *he.reads(), told="the known mass is taken off")
    he.types("bobplan odds")
    first, second = cuts_on(spin)
    he.drills(first)
    he.types(f"bobplan done {first.number}", told=f"cut {first.number} is drilled as printed")
    halfway = 0.5 * IN_MM
    he.drills(second, stop_mm=halfway)
    # 0.05 typed for 0.5 is asked about, a yes too many is taken back
    he.types(
        f"bobplan done {second.number} --depth 0.05",
        "y",
        code=None,
        told=f"cut {second.number}: stopped at half an inch",
    )
    he.types("bobplan undo")
    plan = he.types(f"bobplan done {second.number} --depth 0.5")
    he.types("bobplan")
    (deeper,) = cuts_on(plan)
    assert deeper.deeper
    he.drills(deeper)
    he.types(f"bobplan done {deeper.number}", told="the same hole, deeper")
    he.types("bobplan spin " + " ".join(he.reads()))
    _ends(he, "sheet.pdf")
    return he


def metric(folder: Path) -> Operator:
    """Metric, heavy spot, gram-millimetres; the drill's offset is asked about; a decimal slips at the second spin."""
    true = Machine(
        counts="ccw", seen_from="front", zero_deg=0.0, marks="heavy spot", left_z_mm=38.0, right_z_mm=262.0
    )
    crankshaft = Crankshaft(
        fans=fans(
            [("A", 38.0, 180.0), ("B", 86.0, 165.0), ("C", 214.0, 315.0), ("D", 262.0, 300.0)],
            per_mm=1.0, thickness=18.0, outer=66.0, inner=30.0, half=60.0,
        ),
        throws=tuple(
            Throw(name, z, angle, 38.0)
            for name, z, angle in (("1", 62.0, 0.0), ("2", 150.0, 240.0), ("3", 238.0, 120.0))
        ),
        bearings_z_mm=(0.0, 300.0),
        mass_kg=9.4,
        density=7.15,
        bob_g=0.0,
        hidden=[(38.0, 930 * unit(193)), (262.0, 760 * unit(292)), (150.0, 60 * unit(20))],
    )  # fmt: skip
    job = SimulatedJob(
        seed=2, crankshaft=crankshaft, machine=true, stated=true, errors=press_and_machine_errors(),
        workshop=Workshop((8.0, 10.0), "tip", 118.0, 0.5, 1.0, 0.0), unit="g*mm", inches=False,
        limit_gmm=0.0, judged_at="bearings", draw=random.Random("metric"),
    )  # fmt: skip
    he = Operator(Session(folder), job, limits_gmm=(60.0, 60.0))
    job.judged_at = "planes"
    he.types(
        "bobplan start",
        "In-line three", "mm",
        "?", "rises", "front", "throw 1", "heavy", "unbalance", "0", "8, 10",
        "in-line 3", "ccw", "38", "62", "88", "0", "300", "9.4", "cast iron", "6500",
        "38", "262",
        "4", "18", "66", "60", "30",
        "38", "180", "<", "180", "86", "165", "214", "315", "262", "300",
        "60 g*mm",
        "312.4 311.8 312.1", "78.2", "21.5", "1.6", "121.3 121.6 121.2", "298.4 298.9 298.6", "22.0", "3 g", "",
        "Example", "INV-2", "2026-04-03", "-", "neutral", "622", "tip", "",
    )  # fmt: skip
    he.types("bobplan match --pair --store")
    he.types("bobplan bobs")
    he.types("bobplan quote")
    he.types("bobplan prove", "", *he.reads(), *he.mass_where_told(1), *he.mass_where_told(2), "", "y")
    first = he.types("bobplan plan", told="the known mass is taken off")
    he.types("bobplan odds")
    one, *others = cuts_on(first)
    # the drill is stopped early to look, then goes on
    he.drills(one, stop_mm=30.0)
    plan = he.types(f"bobplan done {one.number} --depth 30", "y", told="stopped at 30 mm to look")
    deeper = next(each for each in cuts_on(plan) if each.deeper)
    he.drills(deeper)
    he.types(f"bobplan done {deeper.number}", told="the same hole, deeper")
    he.drills(others[0])
    he.types(
        f"bobplan done {others[0].number} --dial {others[0].dial_deg + 1:g}", told="typed one degree off"
    )
    he.types("bobplan undo")
    he.types(f"bobplan done {others[0].number}")
    shown = he.reads()
    slipped = [shown[0].replace(".", "") + "0", *shown[1:]]
    he.types("bobplan spin " + " ".join(slipped), code=1, told="a decimal slips")
    he.types("bobplan undo", "y")
    he.types("bobplan spin " + " ".join(shown))
    _ends(he)
    return he


def raw(folder: Path) -> Operator:
    """Raw vibration in mm/s and trial masses; what the machine does to a reading is learned from three runs."""
    true = Machine(
        counts="cw", seen_from="front", zero_deg=0.0, marks="heavy spot", left_z_mm=40.0, right_z_mm=380.0
    )
    crankshaft = Crankshaft(
        fans=fans(
            [("A", 40.0, 180.0), ("B", 150.0, 0.0), ("C", 270.0, 0.0), ("D", 380.0, 180.0)],
            per_mm=1.0, thickness=20.0, outer=74.0, inner=32.0, half=58.0,
        ),
        throws=tuple(
            Throw(name, z, angle, 42.0)
            for name, z, angle in (("1", 75.0, 0.0), ("2", 165.0, 180.0), ("3", 255.0, 180.0), ("4", 345.0, 0.0))
        ),
        bearings_z_mm=(0.0, 420.0),
        mass_kg=14.2,
        density=7.85,
        bob_g=0.0,
        hidden=[(40.0, 1250 * unit(170)), (380.0, 980 * unit(196)), (210.0, 90 * unit(75))],
    )  # fmt: skip
    job = SimulatedJob(
        seed=3, crankshaft=crankshaft, machine=true, stated=true, errors=press_and_machine_errors(),
        workshop=Workshop((12.0,), "shoulder", 118.0, 0.5, 1.0, 0.0), unit="g*mm", inches=False,
        limit_gmm=0.0, judged_at="bearings", draw=random.Random("raw"),
    )  # fmt: skip
    he = Vibration(Session(folder), job, limits_gmm=grade_limits_gmm(16.0, 14.2, 6000.0))
    he.types(
        "bobplan start",
        "Four-cylinder, vibration meter", "mm",
        "cw", "front", "throw 1", "heavy", "unbalance", "0", "12",
        "in-line 4", "cw", "42", "75", "90", "0", "420", "14.2", "forged steel", "6000",
        "40", "380",
        "4", "20", "74", "58", "32",
        "40", "180", "150", "0", "270", "0", "380", "180",
        "G 16",
        "388.4 388.0 388.9 388.2", "98.5", "31.2", "2.0", "148.6", "352.4", "31.0", "3 g", "",
        "Example", "INV-3", "2026-04-04", "neutral", "neutral", "-", "shoulder", "",
    )  # fmt: skip
    he.types("bobplan match --store")
    he.types("bobplan bobs")
    runs = he.trial_runs(bobs="{ 1 = 720.75, 2 = 720.55, 3 = 720.55, 4 = 720.65 }")
    with (folder / "job.toml").open("a", encoding="utf-8") as file:
        file.write("\n" + runs)
    he.types("bobplan", told="at the end of job.toml:\n" + runs.rstrip())
    he.types("bobplan trial")
    he.types("bobplan quote")
    base = he.reads()
    he.types("bobplan prove --by M", "", *base, *he.mass_where_told(1), *he.mass_where_told(2), "", "y")
    # all its throws and counterweights lie in one line: the screen asks for a place beside one of them
    fan = crankshaft.fan("A")
    aside = " ".join(he.reads_with(15.0, fan.z_mm, fan.outer_mm, fan.angle_deg + 45.0))
    he.types(
        f'bobplan spin {aside} --known-mass "15 g" --known-radius 74 --known-at "counterweight A" --known-offset 45',
        told="15 g on the rim of A, 45 degrees from its centre line",
    )
    he.types('bobplan prove --line "throw 1 = 0"', "y", told="throw 1 is turned under the drill")
    he.types("bobplan", told="the known mass is taken off")
    plan = he.types("bobplan plan")
    he.types("bobplan odds")
    one, two = cuts_on(plan)
    # a first pass, entered as it was made; then the rest
    he.drills(one, stop_mm=one.stop_mm - 6.0)
    plan = he.types(f"bobplan done {one.number} --depth {one.stop_mm - 6.0:g}")
    deeper = next(each for each in cuts_on(plan) if each.deeper)
    he.drills(deeper)
    he.types(f"bobplan done {deeper.number}", told="the same hole, deeper")
    # the next counterweight's name is typed, and taken back
    he.types(f"bobplan done {two.number} --on B --dial 0", "y")
    he.types("bobplan undo")
    he.drills(two)
    he.types(f"bobplan done {two.number}")
    he.types("bobplan spin " + " ".join(he.reads()))
    _ends(he)
    return he


@dataclass
class Vibration(Operator):
    """One whose instrument shows raw vibration: mm/s and the phase of the two bearings."""

    # what the machine makes of unbalance in the planes, mm/s per g*mm, and turns by
    response: tuple[tuple[complex, complex], tuple[complex, complex]] = (
        (2.1e-3 * unit(38), 0.6e-3 * unit(64)),
        (0.5e-3 * unit(57), 1.9e-3 * unit(29)),
    )

    def vibration(self, *masses: tuple[str, float, float]) -> list[float]:
        """Amount and phase, left and right, with trial masses on: (plane, unbalance [g*mm], number on the machine)."""
        m, draw, e = self.job.machine, self.job.draw, self.job.errors
        planes = list(self.job.crankshaft.in_planes(m, self.job.extra))
        for plane, amount, number in masses:
            planes[("left", "right").index(plane)] += amount * m.direction(number)
        shown = []
        for row in self.response:
            # a meter's phase goes round as the numbers do
            vector = sum(
                a * u.conjugate() if m.direction(90.0).imag < 0 else a * u
                for a, u in zip(row, planes, strict=True)
            )
            shown += [
                round(abs(vector) * (1 + draw.gauss(0, e.reading_percent / 100)), 3),
                round((cmath.phase(vector) * 180 / cmath.pi + draw.gauss(0, e.reading_angle_deg)) % 360, 1),
            ]
        return shown

    def displayed(self) -> list[str]:
        """Spin, and let the program turn what the meter shows into unbalance, at a second terminal."""
        raw = " ".join(f"{each:g}" for each in self.vibration())
        screen = self.types(f"bobplan trial --reading {raw}", told="at the meter")
        found = re.search(r"`bobplan spin ([^`]*)`", screen.shown)
        assert found is not None, screen.text
        return found[1].split()

    def trial_runs(self, bobs: str) -> str:
        """Three runs as they are written into the job file."""
        lines = []
        for name, mass in (
            ("as it came", None),
            ("mass left", ("left", 900.0, 90.0)),
            ("mass right", ("right", 900.0, 300.0)),
            ("mass left, on", ("left", 900.0, 180.0)),
        ):
            read = self.vibration(*([mass] if mass else []))
            lines += ["[[trials]]", f'name = "{name}"']
            if not mass:
                lines += ["speed_rpm = 600", f"bobs = {bobs}"]
            else:
                lines += [
                    f'mass_plane = "{mass[0]}"',
                    f'unbalance = "{mass[1]:g} g*mm"',
                    f"angle = {mass[2]:g}",
                ]
            for side, at in (("left", 0), ("right", 2)):
                lines.append(f"{side} = {{ amount = {read[at]}, phase = {read[at + 1]} }}")
            lines.append("")
        return "\n".join(lines)


def _ends(he: Operator, sheet: str = "sheet.html") -> None:
    he.types("bobplan check")
    if sheet == "sheet.pdf":  # one of three is enough, it draws a hundred thousand times
        he.types("bobplan odds")
    he.types("bobplan history")
    he.types("bobplan")
    he.types(f"bobplan sheet -o {sheet}")
    he.types("bobplan sheet --customer -o record.html")


STORIES: dict[str, Callable[[Path], Operator]] = {"inches": inches, "metric": metric, "raw": raw}
