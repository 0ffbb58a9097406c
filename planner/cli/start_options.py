"""The options of `bobplan start`: one for each question."""

from __future__ import annotations

from typing import Annotated

import typer


def _option(name: str, words: str, metavar: str | None = None) -> typer.models.OptionInfo:
    found: typer.models.OptionInfo = typer.Option(name, help=words, metavar=metavar, show_default=False)
    return found


Title = Annotated[str | None, _option("--title", "What the job is called.")]
Customer = Annotated[str | None, _option("--customer", "Whose it is.")]
CrankshaftNumber = Annotated[str | None, _option("--crankshaft-number", "Stamped, or the shop's own.")]
Date = Annotated[str | None, _option("--date", "For the record: 2026-01-31.")]
Damper = Annotated[str | None, _option("--damper", "`neutral`, or `20 oz*in at 180, z -60`.")]
Flywheel = Annotated[str | None, _option("--flywheel", "`neutral`, or `20 oz*in at 180, z 545`.")]
BuiltFor = Annotated[str | None, _option("--built-for", "Bob per throw of the last balancing.")]
Units = Annotated[str | None, _option("--units", "Lengths in mm or in.", "mm|in")]
AngleDirection = Annotated[
    str | None, _option("--angle-direction", "How the machine's angles grow.", "ccw|cw")
]
ViewedFrom = Annotated[str | None, _option("--viewed-from", "Seen from this end.", "front|rear")]
AngleZero = Annotated[str | None, _option("--angle-zero", "Where its 0 is: `throw 1`, or degrees.")]
AngleMarks = Annotated[
    str | None, _option("--angle-marks", "What the angle marks: heavy spot, light spot.", "heavy|light")
]
Amounts = Annotated[str | None, _option("--amounts", "What it shows.", "unbalance|mass")]
DrillOffset = Annotated[str | None, _option("--drill-offset", "Machine degrees from pointer to drill.")]
Drills = Annotated[str | None, _option("--drills", "Drills at hand: `10 12 14`.")]
DepthTo = Annotated[str | None, _option("--depth-to", "What the depth stop counts to.", "shoulder|tip")]
Layout = Annotated[str | None, _option("--layout", "Layout of the engine, name or number of the list.")]
Rotation = Annotated[str | None, _option("--rotation", "As seen from the front.", "cw|ccw")]
Radius = Annotated[str | None, _option("--radius", "Throw radius, half the stroke.")]
FirstThrowZ = Annotated[str | None, _option("--first-throw-z", "z of the first throw.")]
Spacing = Annotated[str | None, _option("--spacing", "From one throw to the next.")]
Bearing1 = Annotated[str | None, _option("--bearing-1-z", "z of the front bearing.")]
Bearing2 = Annotated[str | None, _option("--bearing-2-z", "z of the rear bearing.")]
Mass = Annotated[str | None, _option("--mass", "Of the crankshaft; bare numbers are kg (lb in inches).")]
Material = Annotated[str | None, _option("--material", "Of the crankshaft.")]
Speed = Annotated[str | None, _option("--speed", "Greatest service speed, rpm.")]
LeftPlane = Annotated[str | None, _option("--left-plane", "z of the left reading plane.")]
RightPlane = Annotated[str | None, _option("--right-plane", "z of the right reading plane.")]
LeftRadius = Annotated[str | None, _option("--left-radius", "Where masses are stated, left.")]
RightRadius = Annotated[str | None, _option("--right-radius", "Where masses are stated, right.")]
CounterweightAt = Annotated[
    list[str] | None,
    _option("--counterweight", "A counterweight: its z and angle, `52,198`; may be repeated.", "Z,ANGLE"),
]
Thickness = Annotated[str | None, _option("--thickness", "Of a counterweight.")]
OuterRadius = Annotated[str | None, _option("--outer-radius", "Of a counterweight.")]
HalfAngle = Annotated[str | None, _option("--half-angle", "Of the fan, degrees; or `chord LENGTH`.")]
InnerRadius = Annotated[str | None, _option("--inner-radius", "Below it nothing is drilled.")]
Tolerance = Annotated[str | None, _option("--tolerance", "A grade, `G 16`, or an amount each side.")]
Piston = Annotated[str | None, _option("--piston", "Weight, or one per cylinder.")]
Pin = Annotated[str | None, _option("--pin", "Weight, or one per cylinder.")]
Rings = Annotated[str | None, _option("--rings", "Weight, all of one piston.")]
Clips = Annotated[str | None, _option("--clips", "Weight, all of one piston.")]
SmallEnd = Annotated[str | None, _option("--rod-small-end", "Weight, or one per rod.")]
BigEnd = Annotated[str | None, _option("--rod-big-end", "Weight, or one per rod.")]
Shells = Annotated[str | None, _option("--bearing-shells", "Weight, both halves of one rod.")]
Oil = Annotated[str | None, _option("--oil", "In one throw.")]
Fraction = Annotated[str | None, _option("--fraction", "Share of the reciprocating mass in the bobs.")]
