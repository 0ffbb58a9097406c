"""The examples' crankshafts and machines in the simulation, read from their files without any of the program's code."""

from __future__ import annotations

import random
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

from simulator.crankshaft import Crankshaft, Fan, Throw
from simulator.jobs import IN_MM, UNIT_GMM, Errors, SimulatedJob, Workshop
from simulator.machine import Machine

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("cross_plane_v8", "external_balance_v8", "inline_three_light_spot")


def example_job(name: str, *, errors: Errors) -> SimulatedJob:
    """The simulation of an example: its hidden unbalance is what its first spin shows; shapes other than fans as fans."""
    folder = EXAMPLES / name
    data = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    inch: dict[str, bool] = {}
    for key in data:
        inch[key] = data.get("units", {}).get("length") == "in"
    for file in data.get("use", {}).values():
        other = tomllib.loads((folder / file).read_text(encoding="utf-8"))
        for key, value in other.items():
            if key not in data:
                data[key], inch[key] = value, other.get("units", {}).get("length") == "in"

    def mm(section: str, value: Any) -> float:
        if isinstance(value, str):
            number, _, unit = value.rpartition(" ")
            return float(Fraction(number)) * (IN_MM if unit == "in" else 1.0)
        return float(value) * (IN_MM if inch[section] else 1.0)

    throws = tuple(
        Throw(t["name"], mm("throws", t["z"]), float(t["angle"]), mm("throws", t["radius"]))
        for t in data["throws"]
    )
    fans = tuple(
        Fan(
            name=c["name"],
            z_mm=mm("counterweights", c["z"]),
            angle_deg=float(c["angle"]),
            thickness_mm=mm("counterweights", c["thickness"]),
            outer_mm=mm("counterweights", c["outline"]["outer_radius"]),
            inner_mm=mm("counterweights", c["outline"]["inner_radius"]),
            half_deg=float(c["outline"].get("half_angle", 90.0)),
        )
        for c in data["counterweights"]
    )
    m, planes, spin, shop = data["machine"], data["planes"], data["spins"][0], data["shop"]
    by_mass = m["amounts"] == "mass"
    zero = next(t.angle_deg for t in throws if f"throw {t.name}" == m["angle_zero"])
    unit = data.get("units", {}).get("unbalance", "g*mm")
    machine = Machine(
        counts=m["angle_direction"],
        seen_from=m["viewed_from"],
        zero_deg=zero,
        marks=m["angle_marks"],
        left_z_mm=mm("planes", planes["left"]),
        right_z_mm=mm("planes", planes["right"]),
        drill_deg=float(m.get("drill_offset", 0.0)),
        radii_mm=(mm("planes", planes["left_radius"]), mm("planes", planes["right_radius"]))
        if by_mass
        else None,
        unit_gmm=1.0 if by_mass else UNIT_GMM[unit],
    )
    shown = tuple(spin[side][key] for side in ("left", "right") for key in ("amount", "angle"))
    read = machine.read(shown)  # type: ignore[arg-type]
    materials = {"forged steel": 7.85, "nodular iron": 7.15}
    return SimulatedJob(
        seed=0,
        crankshaft=Crankshaft(
            fans=fans,
            throws=throws,
            bearings_z_mm=(
                mm("crankshaft", data["crankshaft"]["bearing_1_z"]),
                mm("crankshaft", data["crankshaft"]["bearing_2_z"]),
            ),
            mass_kg=0.0,
            density=materials[data["crankshaft"]["material"]],
            bob_g=float(spin["bobs"]),
            hidden=[(machine.left_z_mm, read[0]), (machine.right_z_mm, read[1])],
        ),
        machine=machine,
        workshop=Workshop(
            drills_mm=tuple(mm("shop", d) for d in shop["drills"]),
            depth_to=shop.get("depth_to", "shoulder"),
            point_angle_deg=float(shop.get("point_angle", 118.0)),
            depth_step_mm=mm("shop", shop["depth_step"]),
            angle_step_deg=float(shop["angle_step"]),
            hole_oversize_mm=0.0,
            slugs_mm=tuple(mm("shop", d) for d in shop.get("slug_diameters", [])),
            slug_density=17.5,
        ),
        errors=errors,
        unit=unit,
        inches=inch.get("shop", False),
        limit_gmm=0.0,
        judged_at="bearings",
        stated=machine,
        draw=random.Random(f"errors of {name}"),
    )
