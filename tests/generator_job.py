"""A generated case as a job file: the reading in the machine's own counting, everything else as a file says it.

All data is invented (see `tests.generator`).
"""

from __future__ import annotations

from typing import Any

from planner.cuts.cut import Shop
from planner.frames import MachineConvention, TwoPlanes
from planner.rotor.crankshaft import Counterweight, Crankshaft, ExistingHole
from tests.generator import GeneratedCase

BOB_G = 1800.0


def judged_at_planes(case: GeneratedCase) -> bool:
    """Return whether the limits of a case are those of its two reading planes."""
    return [(row.weight_1, row.weight_2) for row in case.problem.limits] == [(1.0, 0.0), (0.0, 1.0)]


def job_tables(case: GeneratedCase) -> dict[str, Any]:
    """Return the case as the tables of one complete job file.

    Raises
    ------
    ValueError
        If the case is not judged at its reading planes: only such limits are written.
    """
    problem, machine, crankshaft = case.problem, case.machine, case.crankshaft
    if not judged_at_planes(case):
        raise ValueError("this case is not judged at its reading planes")
    tolerances = {row.at: row.tolerance_gmm for row in problem.limits}
    left, right = TwoPlanes.vectors(problem.unbalance_gmm).shown(machine)
    reading = {
        "left": {"amount": left.amount, "angle": left.angle_deg},
        "right": {"amount": right.amount, "angle": right.angle_deg},
    }
    return {
        "format": 1,
        "job": {"title": f"Invented crankshaft {case.seed}, {case.layout}"},
        "machine": _machine_table(machine),
        "planes": {"left": problem.planes_z_mm[0], "right": problem.planes_z_mm[1]} | _radii(machine),
        "crankshaft": {
            "mass": f"{crankshaft.mass_kg} kg",
            "density": crankshaft.density_g_per_cm3,
            "bearing_1_z": crankshaft.bearing_1_z_mm,
            "bearing_2_z": crankshaft.bearing_2_z_mm,
        },
        "tolerance": {"left": tolerances["left"], "right": tolerances["right"], "judged_at": "planes"},
        "throws": [
            {"name": t.name, "angle": t.angle_deg, "z": t.z_mm, "radius": t.radius_mm, "rods": t.rods}
            for t in crankshaft.throws
        ],
        "counterweights": [_counterweight_table(c) for c in problem.counterweights],
        "oil_drillings": _oil_tables(crankshaft),
        "shop": _shop_table(problem.shop),
        "bobs": {"wanted": BOB_G},
        "spins": [{"speed_rpm": 500, "bobs": BOB_G, **reading}],
    }


def _machine_table(machine: MachineConvention) -> dict[str, Any]:
    return {
        "angle_direction": machine.direction,
        "viewed_from": machine.viewed_from,
        "angle_zero": machine.zero_deg,
        "angle_marks": machine.marks,
        "amounts": "mass" if machine.mass_at_radius else "unbalance",
        "drill_offset": machine.drill_offset_deg,
    }


def _radii(machine: MachineConvention) -> dict[str, float]:
    if machine.left_radius_mm is None or machine.right_radius_mm is None:
        return {}
    return {"left_radius": machine.left_radius_mm, "right_radius": machine.right_radius_mm}


def _shop_table(shop: Shop) -> dict[str, Any]:
    return {
        "drills": list(shop.drills_mm),
        "hole_oversize": shop.hole_oversize_mm,
        "point_angle": shop.point_angle_deg,
        "depth_to": shop.depth_to,
        "depth_step": shop.depth_step_mm,
        "angle_step": shop.angle_step_deg,
        "least_depth": shop.least_depth_mm,
        "greatest_depth": shop.greatest_depth_mm,
        "least_wall": shop.least_wall_mm,
        "slug_diameters": list(shop.slug_diameters_mm),
        "slug_density": shop.slug_density_g_per_cm3,
        "slug_radius_step": shop.slug_radius_step_mm,
        "allow": list(shop.allow),
    }


def _counterweight_table(counterweight: Counterweight) -> dict[str, Any]:
    outline = counterweight.outline
    shape: dict[str, Any] = {"shape": outline.name, "inner_radius": outline.inner_radius_mm}
    if outline.name == "points":
        shape |= {
            "points": [list(point) for point in outline.boundary_mm],
            "rim_radius": outline.rim_radius_mm,
        }
    else:
        shape["outer_radius"] = outline.rim_radius_mm
    if outline.name == "fan":
        shape["half_angle"] = outline.half_angle_deg
    return {
        "name": counterweight.name,
        "z": counterweight.z_mm,
        "angle": counterweight.angle_deg,
        "thickness": counterweight.thickness_mm,
        "outline": shape,
        "cuts": list(counterweight.cuts),
        "existing": [_existing_table(hole) for hole in counterweight.existing],
        "keep_out": [
            {
                "from_angle": k.from_angle_deg,
                "to_angle": k.to_angle_deg,
                "from_radius": k.from_radius_mm,
                "to_radius": k.to_radius_mm,
            }
            for k in counterweight.keep_outs
        ],
    }


def _existing_table(hole: ExistingHole) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "cut": hole.kind,
        "angle": hole.angle_deg,
        "diameter": hole.diameter_mm,
        "point_angle": hole.point_angle_deg,
    }
    if hole.radius_mm is not None:
        entry["radius"] = hole.radius_mm
    if hole.through:
        entry["through"] = True
    elif hole.depth_shoulder_mm is not None:
        entry |= {"depth": hole.depth_shoulder_mm, "depth_to": "shoulder"}
    return entry


def _oil_tables(crankshaft: Crankshaft) -> list[dict[str, Any]]:
    return [
        {
            "from": {"z": d.from_z_mm, "radius": d.from_radius_mm, "angle": d.from_angle_deg},
            "to": {"z": d.to_z_mm, "radius": d.to_radius_mm, "angle": d.to_angle_deg},
            "diameter": d.diameter_mm,
            "clearance": d.clearance_mm,
        }
        for d in crankshaft.oil_drillings
    ]
