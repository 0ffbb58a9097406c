"""The options of `bobplan plan` that pin or limit something."""

from __future__ import annotations

from typing import Annotated

import typer

FixOption = Annotated[
    list[str] | None,
    typer.Option(
        "--fix",
        metavar="CUT",
        help='A cut that is wanted, for example "16 mm at 131 on A, depth 22" (the angle is the one to dial; without '
        'a depth the planner chooses it; also "face hole 14 mm at 131 on A, radius 70, through"). May be repeated.',
    ),
]
ForbidOption = Annotated[
    list[str] | None, typer.Option("--forbid", metavar="NAMES", help="Counterweights to leave alone: A,B.")
]
DrillOption = Annotated[
    list[str] | None,
    typer.Option(
        "--drill", metavar="SIZES", help='Only this drill, for example the one in the chuck: "16 mm".'
    ),
]
GreatestDepthOption = Annotated[
    str | None, typer.Option("--greatest-depth", metavar="DEPTH", help="No hole deeper than this.")
]
AimOption = Annotated[
    float | None,
    typer.Option("--aim", help="Plan inside this share of the tolerance: 1 is cheapest, 0.3 most certain."),
]
OneDrillOption = Annotated[
    bool | None,
    typer.Option("--one-drill/--many-drills", help="One drill where it costs no cut, or any mixture."),
]
HeavyMetalOption = Annotated[
    str | None,
    typer.Option(
        "--heavy-metal",
        metavar="WHEN",
        help='"if needed" (drilling alone can\'t do it), "allowed" or "never".',
    ),
]
PreferCutsOption = Annotated[
    str | None,
    typer.Option(
        "--prefer-cuts",
        metavar="WHICH",
        help='"passes": the fewest with which the next spin passes; "fewest": on the bare tolerance.',
    ),
]
WantedChanceOption = Annotated[
    float | None, typer.Option("--wanted-chance", help="Chance that the next spin passes its check, 0.95.")
]
PreferOption = Annotated[
    str | None,
    typer.Option("--prefer", metavar="WHAT", help='Of as many cuts: "closest" to zero, or "least metal".'),
]
CloseEnoughOption = Annotated[
    float | None,
    typer.Option("--close-enough", help="Share of the tolerance below which closer is no better."),
]
OnlyOption = Annotated[
    list[str] | None,
    typer.Option("--only", metavar="KINDS", help="Only these cuts: rim, face, slug, fill, drilling."),
]
