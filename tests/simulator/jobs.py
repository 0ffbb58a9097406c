"""A random crankshaft in a random shop: its job file, its spins, and printed cuts carried out at the drill press."""

from __future__ import annotations

import dataclasses
import json
import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simulator import holes
from simulator.crankshaft import Crankshaft, Fan, Throw, apart_deg, unit
from simulator.machine import Machine

IN_MM = 25.4
UNIT_GMM = {"g*mm": 1.0, "g*cm": 10.0, "g*in": 25.4, "oz*in": 28.349523125 * 25.4}
_SHOWN_TO = {"g*mm": 0, "g*cm": 1, "g*in": 1, "oz*in": 2, "g": 2}
"""Decimals that a display has."""

SLIPS = ("not made", "other side", "neighbour", "tip", "other drill", "no offset")
"""What goes wrong at a drill: the hole is missing, mirrored about the counterweight's centre line, in the counterweight
beside, counted to the other end of the cone, of another drill of the shop's, or dialled without the drill's offset."""

_LAYOUTS = (
    (0.0, 90.0, 270.0, 180.0),
    (0.0, 180.0, 180.0, 0.0),
    (0.0, 120.0, 240.0),
    (0.0, 240.0, 120.0, 120.0, 240.0, 0.0),
    (0.0, 144.0, 216.0, 288.0, 72.0),
    (0.0, 72.0, 216.0, 288.0, 144.0),
)


@dataclass(frozen=True)
class Errors:
    """Standard deviations of what a shop does and reads; nothing by default."""

    depth_mm: float = 0.0
    angle_deg: float = 0.0
    diameter_mm: float = 0.0
    reading_percent: float = 0.0
    reading_angle_deg: float = 0.0
    reading_absolute_gmm: float = 0.0


SHOP_ERRORS = Errors(depth_mm=0.5, angle_deg=1.0, reading_percent=2.0, reading_angle_deg=1.0)
"""An ordinary drill press and an ordinary machine."""


@dataclass(frozen=True)
class Workshop:
    """Drills and steps."""

    drills_mm: tuple[float, ...]
    depth_to: str
    point_angle_deg: float
    depth_step_mm: float
    angle_step_deg: float
    hole_oversize_mm: float
    slugs_mm: tuple[float, ...] = ()
    slug_density: float = 17.5


@dataclass(frozen=True)
class Place:
    """Where the tolerance is judged: what is truly there and what may be [g*mm]."""

    at: str
    amount_gmm: float
    limit_gmm: float


@dataclass
class SimulatedJob:
    """A crankshaft, a machine, a shop and what the operator knows of them.

    ``stated`` is the machine as the job file describes it; unless a test makes it differ it is the true one.  ``bobs_g``
    are the bobs truly on, ``bobs_said_g`` what the file says.
    """

    seed: int
    crankshaft: Crankshaft
    machine: Machine
    workshop: Workshop
    errors: Errors
    unit: str
    inches: bool
    limit_gmm: float
    judged_at: str
    stated: Machine
    draw: random.Random
    stated_errors: Errors | None = None
    kinds: tuple[str, ...] = ("rim hole",)
    bobs_g: dict[str, float] = field(default_factory=dict)
    extra: list[tuple[float, complex]] = field(default_factory=list)

    # ---- truth -----------------------------------------------------------------------------------------------------

    def judged(self) -> list[Place]:
        """What truly remains where it is judged."""
        if self.judged_at == "planes":
            left, right = self.crankshaft.in_planes(self.machine)
            return [
                Place("left", abs(left), self.limit_gmm),
                Place("right", abs(right), self.limit_gmm),
            ]
        first, second = self.crankshaft.at_bearings()
        return [
            Place("bearing 1", abs(first), self.limit_gmm),
            Place("bearing 2", abs(second), self.limit_gmm),
        ]

    @property
    def inside(self) -> bool:
        """True when the crankshaft is truly inside."""
        return all(each.amount_gmm <= each.limit_gmm for each in self.judged())

    @property
    def worst(self) -> float:
        """The largest share of a limit that is truly used up."""
        return max(each.amount_gmm / each.limit_gmm for each in self.judged())

    # ---- the machine -----------------------------------------------------------------------------------------------

    def spin(self, *, rounded: bool = True) -> tuple[float, float, float, float]:
        """The four numbers of the display, with the errors of the reading."""
        sources = [*self.extra, *self.crankshaft.bob_sources(self.bobs_g)]
        read = []
        for vector in self.crankshaft.in_planes(self.machine, sources):
            draw, e = self.draw, self.errors
            seen = vector * (1.0 + draw.gauss(0.0, e.reading_percent / 100.0))
            seen *= unit(draw.gauss(0.0, e.reading_angle_deg))
            seen += complex(draw.gauss(0.0, e.reading_absolute_gmm), draw.gauss(0.0, e.reading_absolute_gmm))
            read.append(seen)
        shown = self.machine.shown(*read)
        if not rounded:
            return shown
        digits = _SHOWN_TO["g" if self.machine.radii_mm else self.unit]
        return (
            round(shown[0], digits),
            round(shown[1], 1) % 360.0,
            round(shown[2], digits),
            round(shown[3], 1) % 360.0,
        )

    # ---- the drill -------------------------------------------------------------------------------------------------

    def carry_out(
        self,
        step: Mapping[str, Any],
        *,
        slip: str | None = None,
        by: str = "dial",
        share: float = 1.0,
    ) -> bool:
        """Make one printed cut (an entry of ``steps`` of ``plan --json``): dial, stop and drill as printed.

        ``by`` "centre line": the place is measured along the rim instead of dialled.  ``share``: metal and drill take so
        many times what their sizes say.  Returns False, nothing made, where a slip has no metal to happen in or makes no
        difference.
        """
        shop, draw = self.workshop, self.draw
        if slip == "not made":
            return True
        fan = self.crankshaft.fan(str(step["counterweight"]))
        dial = float(step["dial_deg"])
        if slip == "no offset":
            if abs(self.machine.drill_deg) < 1e-9:
                return False
            dial -= self.machine.drill_deg
        place = self.machine.under_drill_deg(dial)
        if by == "centre line":
            place = fan.angle_deg + float(step["from_centre_deg"])
        if slip == "other side":
            if abs(apart_deg(place, fan.angle_deg)) < 1.2:
                return False
            place = 2.0 * fan.angle_deg - place
        if slip == "neighbour":
            beside = [f for f in self.crankshaft.neighbours(fan.name) if f.has_metal_at(place)]
            if not beside:
                return False
            fan = draw.choice(beside)
        if not fan.has_metal_at(place):
            return False
        place += draw.gauss(0.0, self.errors.angle_deg)
        drill = float(step["diameter_mm"])
        if slip == "other drill":
            others = [d for d in shop.drills_mm if abs(d - drill) > 1e-6]
            if not others or step["cut"] == "slug":
                return False
            drill = min(others, key=lambda d: (abs(d - drill), draw.random()))
        counted_to = shop.depth_to
        if slip == "tip":
            if step["stop_mm"] is None or step["cut"] == "slug":
                return False
            counted_to = "shoulder" if counted_to == "tip" else "tip"
        taken = self._holes(step, fan, drill, counted_to)
        for each in taken:
            self.crankshaft.take(dataclasses.replace(each, moment_gmm=share * each.moment_gmm), place)
        return True

    def _holes(self, step: Mapping[str, Any], fan: Fan, drill: float, counted_to: str) -> list[holes.Taken]:
        shop, draw, crank = self.workshop, self.draw, self.crankshaft
        cut = step["cut"]
        if cut == "slug":
            # a slug through a thinner counterweight is dressed flush
            length = min(float(step["length_mm"] or fan.thickness_mm), fan.thickness_mm)
            radius = float(step["radius_mm"])
            if step["through"]:
                z = fan.z_mm
            else:
                inward = 1 if step["face"] == "front" else -1
                z = fan.z_mm - inward * 0.5 * (fan.thickness_mm - length)
            same = {"radius_mm": radius, "diameter_mm": drill, "length_mm": length, "z_mm": z}
            return [
                holes.bore(**same, density=crank.density, added=False),
                holes.bore(**same, density=shop.slug_density, added=True),
            ]
        width = drill + shop.hole_oversize_mm + draw.gauss(0.0, self.errors.diameter_mm)
        if cut == "face hole" and step["through"]:
            return [
                holes.bore(
                    radius_mm=float(step["radius_mm"]), diameter_mm=width, length_mm=fan.thickness_mm,
                    density=crank.density, z_mm=fan.z_mm, added=False,
                )
            ]  # fmt: skip
        stop = float(step["stop_mm"]) + draw.gauss(0.0, self.errors.depth_mm)
        # the stop is set with the drill's own point, whatever the hole's width comes out as
        shoulder = stop - (holes.cone_mm(drill, shop.point_angle_deg) if counted_to == "tip" else 0.0)
        if shoulder <= -holes.cone_mm(width, shop.point_angle_deg):
            return []
        common = {
            "diameter_mm": width, "shoulder_mm": shoulder, "point_angle_deg": shop.point_angle_deg,
            "density": crank.density,
        }  # fmt: skip
        if cut == "rim hole":
            return [holes.rim_hole(rim_mm=fan.outer_mm, z_mm=fan.z_mm, **common)]
        inward = 1 if step["face"] == "front" else -1
        return [
            holes.face_hole(
                radius_mm=float(step["radius_mm"]), inward=inward,
                face_z_mm=fan.z_mm - inward * 0.5 * fan.thickness_mm, **common,
            )
        ]  # fmt: skip

    # ---- the bobs --------------------------------------------------------------------------------------------------

    def bob_off(self, throw: str, grams: float) -> None:
        """From now on that bob is some grams off, and nobody knows."""
        self.bobs_g[throw] = self.bobs_g.get(throw, self.crankshaft.bob_g) + grams

    def bob_slid(self, throw: str, *, rearward_mm: float = 0.0, around_mm: float = 0.0) -> None:
        """From now on that bob sits elsewhere on its throw: along the shaft, or square to the throw."""
        where = next(t for t in self.crankshaft.throws if t.name == throw)
        bob = self.bobs_g.get(throw, self.crankshaft.bob_g)
        arm = bob * where.radius_mm * unit(where.angle_deg)
        self.extra += [(where.z_mm, -arm), (where.z_mm + rearward_mm, arm)]
        self.extra.append((where.z_mm, 1j * bob * around_mm * unit(where.angle_deg)))

    # ---- the file --------------------------------------------------------------------------------------------------

    def toml(self) -> str:
        """The job file, before any spin."""
        m, w, c = self.stated, self.workshop, self.crankshaft
        long = self._length
        lines = ["format = 1", ""]

        def section(head: str, **values: Any) -> None:
            lines.extend([head, *(f"{key} = {_toml(value)}" for key, value in values.items()), ""])

        section("[job]", title=f"Invented crankshaft {self.seed}")
        section("[units]", length="in" if self.inches else "mm", mass="g", unbalance=self.unit)
        section(
            "[machine]",
            angle_direction=m.counts,
            viewed_from=m.seen_from,
            angle_zero=m.zero_deg,
            angle_marks=m.marks,
            amounts="mass" if m.radii_mm else "unbalance",
            drill_offset=m.drill_deg,
        )
        planes: dict[str, Any] = {"left": long(m.left_z_mm), "right": long(m.right_z_mm)}
        if m.radii_mm:
            planes |= {"left_radius": long(m.radii_mm[0]), "right_radius": long(m.radii_mm[1])}
        section("[planes]", **planes)
        section(
            "[crankshaft]",
            mass=f"{c.mass_kg} kg",
            density=c.density,
            bearing_1_z=long(c.bearings_z_mm[0]),
            bearing_2_z=long(c.bearings_z_mm[1]),
        )
        section("[tolerance]", each_side=f"{self.limit_gmm} g*mm", judged_at=self.judged_at)
        for t in c.throws:
            section(
                "[[throws]]",
                name=t.name,
                angle=t.angle_deg,
                z=long(t.z_mm),
                radius=long(t.radius_mm),
                rods=1,
            )
        for f in c.fans:
            section(
                "[[counterweights]]",
                name=f.name,
                z=long(f.z_mm),
                angle=f.angle_deg,
                thickness=long(f.thickness_mm),
                outline={
                    "shape": "fan",
                    "outer_radius": long(f.outer_mm),
                    "half_angle": f.half_deg,
                    "inner_radius": long(f.inner_mm),
                },
                cuts=list(self.kinds),
            )
        shop: dict[str, Any] = {
            "drills": [long(d) for d in w.drills_mm],
            "point_angle": w.point_angle_deg,
            "depth_to": w.depth_to,
            "depth_step": long(w.depth_step_mm),
            "angle_step": w.angle_step_deg,
            "hole_oversize": long(w.hole_oversize_mm),
            "least_depth": long(5.0),
            "greatest_depth": long(42.0),
        }
        if w.slugs_mm:
            shop |= {"slug_diameters": [long(d) for d in w.slugs_mm], "slug_density": w.slug_density}
        section("[shop]", **shop)
        e = self.stated_errors or self.errors
        section(
            "[errors]",
            depth=f"{e.depth_mm} mm",
            angle=e.angle_deg,
            diameter=f"{e.diameter_mm} mm",
            radius="0 mm",
            density_percent=0.0,
            reading_percent=e.reading_percent,
            reading_angle=e.reading_angle_deg,
            reading_absolute=f"{e.reading_absolute_gmm} g*mm",
            bob_mass=0.0,
        )
        section("[bobs]", wanted=c.bob_g)
        return "\n".join(lines)

    def _length(self, mm: float) -> float:
        return round(mm / IN_MM, 9) if self.inches else round(mm, 9)

    def write(self, folder: Path) -> Path:
        """Write the job file and return its path."""
        path = folder / f"job_{self.seed}.toml"
        path.write_text(self.toml(), encoding="utf-8")
        return path

    def convention(self) -> tuple[str, ...]:
        """What is particular about this job's machine, for tables."""
        m = self.machine
        return (
            f"{m.counts} from {m.seen_from}",
            m.marks,
            "mass at radius" if m.radii_mm else self.unit,
            f"left plane {'rear' if m.left_z_mm > m.right_z_mm else 'front'}",
            "drill offset" if m.drill_deg else "no drill offset",
            f"to the {self.workshop.depth_to}",
        )


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
    return json.dumps(list(value) if isinstance(value, tuple) else value)


def random_job(
    seed: int,
    *,
    errors: Errors = SHOP_ERRORS,
    counterweights: int | None = None,
    changes: Mapping[str, Any] | None = None,
) -> SimulatedJob:
    """Return a random crankshaft of 4 to 10 counterweights in a random shop; the same seed gives the same job.

    Every way of counting comes up: the seed's low bits choose direction, end, spot, plane order, amounts and offset, so
    that 64 seeds in a row touch all of them together.  ``changes`` go into the machine.
    """
    draw = random.Random(f"simulated job {seed}")
    bits = [(seed >> place) & 1 for place in range(6)]
    throws, span = _throws(draw)
    fans = _fans(draw, throws, counterweights or draw.randint(4, 10), span)
    inches = draw.random() < 0.4
    amount_unit = draw.choice(["g*mm", "g*mm", "oz*in", "g*in", "g*cm"])
    front, rear = fans[0].z_mm + draw.uniform(-6, 6), fans[-1].z_mm + draw.uniform(-6, 6)
    planes = (round(rear, 1), round(front, 1)) if bits[3] else (round(front, 1), round(rear, 1))
    radii = (round(draw.uniform(60, 90)), round(draw.uniform(60, 90))) if bits[4] else None
    machine = Machine(
        counts="cw" if bits[0] else "ccw",
        seen_from="rear" if bits[1] else "front",
        zero_deg=draw.choice([0.0, 90.0, 17.0, 231.25, round(draw.uniform(0, 359), 1)]),
        marks="light spot" if bits[2] else "heavy spot",
        left_z_mm=planes[0],
        right_z_mm=planes[1],
        drill_deg=draw.choice([90.0, -13.0, 12.5, 180.0, 20.0]) if bits[5] else 0.0,
        radii_mm=radii,
        unit_gmm=1.0 if radii else UNIT_GMM[amount_unit],
    ).changed(**(changes or {}))
    fine = draw.random() < 0.7
    drills = draw.sample(
        [9.525, 12.7, 15.875, 19.05] if inches else [10.0, 12.0, 14.0, 16.0, 18.0], draw.randint(1, 3)
    )
    crankshaft = Crankshaft(
        fans=fans,
        throws=throws,
        bearings_z_mm=(0.0, round(span, 1)),
        mass_kg=round(draw.uniform(9, 35), 1),
        density=draw.choice([7.85, 7.85, 7.2]),
        bob_g=round(draw.uniform(500, 2300), 1),
        hidden=_hidden(draw, fans),
    )
    return SimulatedJob(
        seed=seed,
        crankshaft=crankshaft,
        machine=machine,
        workshop=Workshop(
            drills_mm=tuple(sorted(drills)),
            depth_to=draw.choice(["shoulder", "shoulder", "tip"]),
            point_angle_deg=draw.choice([118.0, 118.0, 135.0]),
            depth_step_mm=(IN_MM / 64.0 if inches else 0.5) if fine else (IN_MM / 32.0 if inches else 1.0),
            angle_step_deg=1.0 if fine else draw.choice([2.0, 1.0]),
            hole_oversize_mm=draw.choice([0.0, 0.0, 0.1]),
        ),
        errors=errors,
        unit=amount_unit,
        inches=inches,
        limit_gmm=float(round(draw.uniform(250, 480))),
        judged_at=draw.choice(["planes", "bearings"]),
        stated=machine,
        draw=random.Random(f"errors of job {seed}"),
    )


def _throws(draw: random.Random) -> tuple[tuple[Throw, ...], float]:
    angles = draw.choice(_LAYOUTS)
    spacing, radius = round(draw.uniform(80, 115), 1), round(draw.uniform(34, 50), 1)
    start = draw.choice([0.0, 0.0, 45.0])
    throws = tuple(
        Throw(
            name=str(i + 1), z_mm=round((i + 0.5) * spacing, 1), angle_deg=(a + start) % 360, radius_mm=radius
        )
        for i, a in enumerate(angles)
    )
    return throws, len(angles) * spacing


def _fans(draw: random.Random, throws: Sequence[Throw], count: int, span: float) -> tuple[Fan, ...]:
    spacing = span / len(throws)
    webs = [(throw, side) for throw in throws for side in (-1, 1)]
    count = min(count, len(webs))
    inner = draw.sample(range(1, len(webs) - 1), count - 2)
    chosen = [webs[i] for i in sorted([0, *inner, len(webs) - 1])]
    outer, half = round(draw.uniform(72, 95), 1), round(draw.uniform(46, 62))
    thick, bore = round(draw.uniform(24, 30), 1), round(draw.uniform(30, 38), 1)
    return tuple(
        Fan(
            name=letter,
            z_mm=round(throw.z_mm + side * 0.3 * spacing, 1),
            angle_deg=(throw.angle_deg + 180.0 + draw.choice([0.0, 0.0, -8.0, 10.0, 18.0])) % 360.0,
            thickness_mm=thick,
            outer_mm=outer,
            inner_mm=bore,
            half_deg=float(half),
        )
        for letter, (throw, side) in zip("ABCDEFGHIJKL", chosen, strict=False)
    )


def _hidden(draw: random.Random, fans: Sequence[Fan]) -> list[tuple[float, complex]]:
    """Too much metal in some counterweights, so that drilling can do it."""
    front, rear = fans[: (len(fans) + 1) // 2], fans[len(fans) // 2 :]
    heavy = [draw.choice(front[:2]), draw.choice(rear[-2:])]
    if draw.random() < 0.5:
        heavy.append(draw.choice(fans))
    sources = []
    for fan in heavy:
        within = fan.half_deg - 16.0
        amount = math.exp(draw.uniform(math.log(700), math.log(3200)))
        sources.append((fan.z_mm, amount * unit(fan.angle_deg + draw.uniform(-within, within))))
    return sources


def with_wrong_setting(job: SimulatedJob, **stated: Any) -> SimulatedJob:
    """The same job with a file that says something else about the machine than is true."""
    return dataclasses.replace(job, stated=job.stated.changed(**stated))
