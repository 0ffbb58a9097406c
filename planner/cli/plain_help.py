"""``--help`` in plain words: what an option takes is a number, a length or a file, never a type of the language."""

from __future__ import annotations

import inspect
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from typer._click.core import Command, Context, Parameter
    from typer._click.formatting import HelpFormatter

_WORDS = {
    "amount": "limit stationary travelling trial unbalance",
    "angle": (
        "angle centre_line first_place flank flank_angle half_angle known_angle point_angle reference_axis sector slope "
        "stationary_at step tilt"
    ),
    "date": "date on",
    "degrees": "drill_offset known_offset",
    "density": "density slug_density",
    "depth": "depth greatest_depth",
    "end": "depth_to face seen_from",
    "file": "crankshaft csv csv_file csv_in csv_out drawing dxf from_stock output plot shop trace",
    "grade": "grade",
    "job": "job",
    "kind": "kind method rim rim_form shape slug_class",
    "layout": "layout",
    "length": (
        "bearing_1_z bearing_2_z beside centre centre_of_mass_z contact_off diameter first_throw_z fit "
        "flat_offset from_middle half_width inner_radius known_radius known_z left_plane left_radius "
        "length off_line outer_radius plane_1_z plane_2_z radius "
        "right_plane right_radius rim_bevel rim_radius rod_length rods_apart spacing thickness width"
    ),
    "mass": (
        "bearing_shells big_end bob built_for clips drive_mass known_mass mass oil_per_throw pin piston reciprocating_mass "
        "rings rod_big_end rod_small_end scale small_end whole within"
    ),
    "masses": "bobs",
    "material": "material",
    "name": "by generic layer crankshaft_number customer mark name",
    "names": "mounted",
    "number": (
        "aim cases close_enough cut draws first_again fraction friction inertia labour_per_hour minutes_per_cut over_cost "
        "percent_over ratio reciprocating_fraction seed spin temperature_rise wanted_chance workers"
    ),
    "order": "firing_order",
    "paper": "paper",
    "part=mass": "what_if",
    "place=number": "line",
    "place": "angle_zero at known_at origin",
    "reading": "base reading",
    "seconds": "seconds",
    "points": "points",
    "sizes": "drills flats steps",
    "speed": "speed",
    "text": "note title",
    "tolerance": "tolerance",
    "unbalance": "damper flywheel",
    "unit": "depth_unit unbalance_unit unit units",
    "way": "rotation",
    "weights": "weights",
}
"""What an option takes, by the option's name."""
_WORD_OF = {name: word for word, names in _WORDS.items() for name in names.split()}


_PLAIN = tuple(
    (re.compile(typed), plain)
    for typed, plain in (
        (
            r"Input should be a valid number, [\w ]+|'[^']*' is not a valid float(?: range)?",
            "a number is needed",
        ),
        (
            r"Input should be a valid integer, [\w ]+|'[^']*' is not a valid int(?:eger)?(?: range)?",
            "a whole number is needed",
        ),
        (r"Input should be greater than or equal to (\S+)", r"at least \1 is allowed"),
        (r"Input should be less than or equal to (\S+)", r"at most \1 is allowed"),
        (r"\S+ is not in the range x>=(\S+?)\.$", r"at least \1 is allowed"),
        (r"\S+ is not in the range x<=(\S+?)\.$", r"at most \1 is allowed"),
        (r"\S+ is not in the range (\S+)<=x<=(\S+?)\.$", r"from \1 to \2 is allowed"),
    )
)
"""What the library says of a value (in its versions), and how it is said here."""


def word_for(parameter: Parameter) -> str:
    """Return what an option takes, in a word."""
    return _WORD_OF.get(str(parameter.name), "value")


def in_plain_words(error: Any) -> None:
    """Say what was wrong on the command line without a type of the language."""
    message = getattr(error, "message", None)
    if isinstance(message, str):
        for typed, plain in _PLAIN:
            message = typed.sub(plain, message)
        error.message = message


def speak_plainly(command: Command) -> Command:
    """Make a command, and those below it, explain themselves in plain words; return it."""
    for each in getattr(command, "commands", {}).values():
        speak_plainly(each)
    for name, method in (("format_usage", _usage), ("format_options", _options)):
        setattr(command, name, method.__get__(command))
    return command


def _usage(self: Command, ctx: Context, formatter: HelpFormatter) -> None:
    group = hasattr(self, "list_commands")
    arguments = [_argument(each) for each in self.get_params(ctx) if each.param_type_name == "argument"]
    pieces = ["COMMAND"] if group else arguments
    formatter.write_usage(ctx.command_path, " ".join([*pieces, "[options]"]))


def _argument(parameter: Any) -> str:
    name = str(parameter.metavar or str(parameter.name).upper())
    return name if name.startswith("[") or parameter.required else f"[{name}]"


def _options(self: Command, ctx: Context, formatter: HelpFormatter) -> None:
    arguments, options = [], []
    for each in self.get_params(ctx):
        if getattr(each, "hidden", False):
            continue
        if each.param_type_name == "argument":
            arguments.append((_argument(each), _says(each)))
        else:
            options.append((_option(each), _says(each)))
    commands = [
        (name, _first_sentence(each))
        for name, each in getattr(self, "commands", {}).items()
        if not each.hidden
    ]
    for head, rows in (("Arguments", arguments), ("Options", options), ("Commands", commands)):
        if rows:
            with formatter.section(head):
                formatter.write_dl(rows)
    if hasattr(self, "format_commands") and not commands:
        self.format_commands(ctx, formatter)


def _first_sentence(command: Any) -> str:
    text = inspect.cleandoc(command.short_help or command.help or "")
    return " ".join(text.split("\n\n")[0].split())


def _option(parameter: Any) -> str:
    names = ", ".join(sorted(parameter.opts, key=len))
    if parameter.secondary_opts:
        names += f" / {', '.join(parameter.secondary_opts)}"
    if parameter.is_flag or getattr(parameter, "count", False):
        return names
    return f"{names} {parameter.metavar or word_for(parameter).upper()}"


def _says(parameter: Any) -> str:
    """Return what an option is for, its bounds and what is taken without it, as sentences."""
    said = [parameter.help or ""]
    least, most = getattr(parameter, "min", None), getattr(parameter, "max", None)
    if least is not None and most is not None:
        said.append(f"From {least:g} to {most:g}.")
    elif least is not None:
        said.append(f"At least {least:g}.")
    elif most is not None:
        said.append(f"At most {most:g}.")
    default = parameter.default
    if parameter.show_default and default is not None and not callable(default) and not parameter.is_flag:
        said.append(f"Left out: {default:g}." if isinstance(default, float) else f"Left out: {default}.")
    return " ".join(each for each in said if each)
