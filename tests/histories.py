"""Simulated histories of two spins with a known fault between them: random crankshafts, noisy readings.

The cuts are placed from the counterweights' centre lines, so a machine that is set wrong does not move them: they do in
the metal what was foretold, but are read wrongly.  All numbers are drawn at random.
"""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planner.machine.plane_maps import reading_covariance, vector_covariance
from planner.machine.what_went_wrong import BobEffect, Diagnosis, diagnose_change

FAULTS = (
    "fine",
    "swapped spot",
    "reversed direction",
    "swapped planes",
    "zero mark",
    "scale",
    "bobs moved",
)
PERCENT, TURN_DEG = 3.0, 2.0
"""Noise of a reading: standard uncertainties of amount and angle."""
CUT_PERCENT, CUT_TURN_DEG = 1.5, 1.0
"""Errors of the cuts, along and across, as a manual drill press makes them."""
_LAYOUTS = (
    (0.0, 90.0, 270.0, 180.0),
    (0.0, 180.0, 180.0, 0.0),
    (0.0, 120.0, 240.0),
    (0.0, 240.0, 120.0, 120.0, 240.0, 0.0),
    (0.0, 60.0, 240.0, 300.0, 120.0, 180.0),
    (0.0, 144.0, 216.0, 288.0, 72.0),
)


@dataclass(frozen=True)
class History:
    """Two spins: vectors [g*mm] as read, the foretold change, and what really was wrong."""

    fault: str
    before: tuple[complex, complex]
    after: tuple[complex, complex]
    foretold: tuple[complex, complex]
    zero_deg: float
    bobs: tuple[BobEffect, ...]
    apart_deg: float
    above_noise: float

    @property
    def is_told_apart(self) -> bool:
        """True when the foretold changes are far enough from one line and from the noise."""
        return 20.0 <= self.apart_deg <= 160.0 and self.above_noise > 5.0

    def diagnosis(self) -> Diagnosis:
        """Return what the kernel says."""
        change = [after - before for before, after in zip(self.before, self.after, strict=True)]
        covariance = sum(
            reading_covariance(reading, percent=PERCENT, angle_deg=TURN_DEG)
            for reading in (self.before, self.after)
        )
        foretold = sum(
            vector_covariance(
                vector,
                shares,
                along_gmm=abs(vector) * CUT_PERCENT / 100.0,
                across_gmm=abs(vector) * math.radians(CUT_TURN_DEG),
            )
            for vector, shares in zip(self.foretold, ((1.0, 0.0), (0.0, 1.0)), strict=True)
        )
        return diagnose_change(
            self.foretold,
            change,
            reading_covariance_gmm2=np.asarray(covariance),
            foretold_covariance_gmm2=np.asarray(foretold),
            zero_deg=self.zero_deg,
            bobs=self.bobs,
        )


def histories(fault: str, *, seed: int) -> Iterator[History]:
    """Yield histories with that fault without end."""
    # the same crankshafts on every run and every machine
    draw = random.Random(f"{fault} {seed}")
    while True:
        yield _history(fault, draw)


def _history(fault: str, draw: random.Random) -> History:
    span = draw.uniform(300.0, 700.0)
    planes = (draw.uniform(0.05, 0.25) * span, draw.uniform(0.75, 0.95) * span)
    zero_deg = draw.uniform(0.0, 360.0)
    bobs = tuple(_bobs(draw, span, planes))
    true = tuple(cmath.rect(draw.uniform(1000.0, 8000.0), draw.uniform(0.0, 2.0 * math.pi)) for _ in "lr")
    turn = cmath.rect(1.0, math.radians(draw.choice((-1, 1)) * draw.uniform(15.0, 165.0)))
    unit_wrong = draw.random() < 0.5
    factor = (
        draw.choice((2.0, 0.5, 0.1, 1.0 / 25.4))
        if unit_wrong
        else draw.choice((draw.uniform(0.5, 0.85), draw.uniform(1.18, 1.6)))
    )

    def seen(pair: tuple[complex, ...]) -> tuple[complex, complex]:
        """Return what the machine, set as it is, makes of true vectors."""
        left, right = pair
        if fault == "swapped spot":
            return -left, -right
        if fault == "reversed direction":
            mirror = cmath.rect(1.0, 2.0 * math.radians(zero_deg))
            return mirror * left.conjugate(), mirror * right.conjugate()
        if fault == "swapped planes":
            return right, left
        if fault == "zero mark":
            return turn * left, turn * right
        if fault == "scale" and unit_wrong:
            return factor * left, factor * right
        return left, right

    def read(pair: tuple[complex, complex]) -> tuple[complex, complex]:
        left, right = (
            vector
            * (1.0 + draw.gauss(0.0, PERCENT / 100.0))
            * cmath.rect(1.0, math.radians(draw.gauss(0.0, TURN_DEG)))
            for vector in pair
        )
        return left, right

    before = read(seen(true))
    # the plan takes away what was read, but for a rest
    foretold = tuple(
        -vector * (1.0 - 0.08 * cmath.rect(draw.random(), draw.uniform(0.0, 2.0 * math.pi)))
        for vector in before
    )
    made = tuple(
        vector
        * (1.0 + draw.gauss(0.0, CUT_PERCENT / 100.0))
        * cmath.rect(1.0, math.radians(draw.gauss(0.0, CUT_TURN_DEG)))
        for vector in foretold
    )
    if fault == "scale" and not unit_wrong:
        made = tuple(factor * vector for vector in made)
    if fault == "bobs moved":
        bob = draw.choice([each for each in bobs if abs(each.per_unit_gmm[0]) > 0.0])
        size = draw.choice((-1, 1)) * draw.uniform(0.3, 1.5) * math.hypot(*map(abs, foretold))
        amount = size / math.hypot(*map(abs, bob.per_unit_gmm))
        amount = math.copysign(min(abs(amount), 0.9 * bob.most), amount)
        made = tuple(
            vector + amount * per_unit for vector, per_unit in zip(made, bob.per_unit_gmm, strict=True)
        )
    left, right = seen(tuple(a + b for a, b in zip(true, made, strict=True)))
    after = read((left, right))
    noise = [
        math.hypot(abs(one), abs(other))
        * math.sqrt(((PERCENT / 100.0) ** 2 + math.radians(TURN_DEG) ** 2) / 2.0)
        for one, other in zip(before, after, strict=True)
    ]
    apart = math.degrees(cmath.phase(foretold[1] / foretold[0])) % 180.0
    return History(
        fault=fault,
        before=before,
        after=after,
        foretold=(foretold[0], foretold[1]),
        zero_deg=zero_deg,
        bobs=bobs,
        apart_deg=apart,
        above_noise=min(abs(vector) / each for vector, each in zip(foretold, noise, strict=True)),
    )


def _bobs(draw: random.Random, span: float, planes: tuple[float, float]) -> Iterator[BobEffect]:
    layout = draw.choice(_LAYOUTS)
    radius, mass = draw.uniform(35.0, 55.0), draw.uniform(800.0, 2500.0)
    for index, angle in enumerate(layout):
        z_mm = span * (index + 0.7) / (len(layout) + 0.4)
        share = (planes[1] - z_mm) / (planes[1] - planes[0])
        arm = cmath.rect(radius, math.radians(angle))
        yield BobEffect(
            throw=str(index + 1), way="grams", per_unit_gmm=(share * arm, (1.0 - share) * arm), most=mass
        )
        slide = mass * arm / (planes[1] - planes[0])
        yield BobEffect(throw=str(index + 1), way="slides", per_unit_gmm=(-slide, slide), most=25.0)
