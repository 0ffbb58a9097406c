"""A rim's form as it is typed: ``bevelled width=4 slope=45``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.quantity import parse_angle_deg, parse_length_mm

if TYPE_CHECKING:
    from geometry_profiles.rims import RimForm


def rim_body(outer_radius: str | None, thickness: str | None, rim: str | None, *, example: str) -> RimForm:
    """Return the rim that ``--outer-radius``, ``--thickness`` and ``--rim`` say.

    Raises
    ------
    InputError
        If radius or thickness is missing, or something can't be read.
    """
    from geometry_profiles.rims import cylindrical
    from planner.cli.cut_inputs import needed_mm

    R = needed_mm(outer_radius, name="--outer-radius", example=example)
    t = needed_mm(thickness, name="--thickness", example=example)
    if rim is None:
        return cylindrical(outer_radius_mm=R, thickness_mm=t)
    return rim_form_of(rim, outer_radius_mm=R, thickness_mm=t)


def rim_form_of(text: str, *, outer_radius_mm: float, thickness_mm: float) -> RimForm:
    """Return the form of a rim that a text like ``bevelled width=4 slope=45`` says.

    Raises
    ------
    InputError
        If it can't be read or its sizes can't be.
    """
    from geometry_profiles.catalogue import RIM_SIZES, rim_of
    from geometry_profiles.outline import OutlineError

    form, *words = text.replace(",", " , ").split() if "plates" not in text else text.split()
    form = form.casefold()
    if form not in RIM_SIZES:
        raise InputError(
            f"given --rim `{form}`; {', '.join(RIM_SIZES)} are allowed",
            hint="for example --rim 'bevelled width=4 slope=45'",
        )
    needs, may = RIM_SIZES[form]
    names = {name.rsplit("_", 1)[0] if name != "plates" else name: name for name in (*needs, *may)}
    sizes: dict[str, Any] = {}
    for word in words:
        if word == ",":
            continue
        key, _, value = word.partition("=")
        if key not in names or not value:
            raise InputError(
                f"given `{word}` for a {form} rim; its sizes are {', '.join(f'{name}=' for name in names)}",
                hint="for example --rim 'bevelled width=4 slope=45'",
            )
        where = f"--rim, {key}"
        if key == "plates":
            sizes["plates"] = [
                tuple(parse_length_mm(part, name=where) for part in plate.split(":"))
                for plate in value.split(",")
            ]
            if any(len(plate) != 2 for plate in sizes["plates"]):
                raise InputError(
                    f"given `{value}`; plates are thickness:radius with commas between",
                    hint="for example plates=16:88,10:80",
                )
        elif names[key].endswith("_deg"):
            sizes[names[key]] = parse_angle_deg(value, name=where)
        else:
            sizes[names[key]] = parse_length_mm(value, name=where)
    missing = [name for name in needs if name not in sizes]
    if missing:
        raise InputError(f"a {form} rim needs {', '.join(missing)}", hint="see --help")
    try:
        return rim_of(form, sizes, outer_radius_mm=outer_radius_mm, thickness_mm=thickness_mm)
    except OutlineError as error:
        raise InputError(str(error), hint="measure again") from error
