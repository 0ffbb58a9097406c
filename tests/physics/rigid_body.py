"""Bearing reactions of a turning rotor from a general-purpose rigid-body engine (MuJoCo), as unbalance.

The rotor hangs on a hinge along the shaft, gravity off, and turns at constant speed.  The engine gives the force
and moment that hold it.  Two bearings that would give the same force and moment are found by statics; divided by
the square of the speed their forces are the unbalance [g*mm] there.

**Handedness.** The project's frame is left-handed along +z: z runs from the front to the rear, angles grow
counter-clockwise *seen from the front*, that is to a viewer who looks along +z.  The engine's triad is
right-handed.  So a point (z, r, angle) of the project stands at X = r cos(angle), Y = r sin(angle), Z = -z in the
engine: X to the right and Y up for the viewer in front, Z toward him.  A positive turn about the engine's Z is then
a turn toward greater angles.  No engine can check a convention: the tests use a mass at 30 degrees, near the front
plane, so that a mirrored angle or swapped planes show.

Units here: g, mm, so that the engine works in grams, millimetres and seconds; forces are in g*mm/s2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import mujoco
import numpy as np


@dataclass(frozen=True)
class PointMass:
    """A mass [g] at z [mm], radius [mm] and angle [deg] of the project's frame."""

    mass_g: float
    z_mm: float
    radius_mm: float
    angle_deg: float


@dataclass(frozen=True)
class Body:
    """A closed triangle mesh of a density [g/mm3], vertices in the engine's coordinates [mm]."""

    vertices: np.ndarray
    faces: np.ndarray
    density_g_per_mm3: float


def engine_place(z_mm: float, radius_mm: float, angle_deg: float) -> tuple[float, float, float]:
    """Return where a point of the project's frame stands in the engine [mm]."""
    angle = math.radians(angle_deg)
    return radius_mm * math.cos(angle), radius_mm * math.sin(angle), -z_mm


def readings(
    planes_z_mm: Sequence[float],
    *,
    points: Sequence[PointMass] = (),
    bodies: Sequence[Body] = (),
    speed_rpm: float = 750.0,
    turned_deg: float = 0.0,
) -> np.ndarray:
    """Return the unbalance seen at two planes [g*mm], complex, heavy spot, shape (2,).

    ``turned_deg`` is how far the rotor has turned when the forces are read; the answer is turned back, so that it
    must not change.
    """
    spec = mujoco.MjSpec()
    spec.option.gravity = [0.0, 0.0, 0.0]
    spec.option.disableflags |= mujoco.mjtDisableBit.mjDSBL_CONTACT
    spec.compiler.boundmass = 0.0
    rotor = spec.worldbody.add_body(name="rotor")
    rotor.add_joint(name="shaft", type=mujoco.mjtJoint.mjJNT_HINGE, axis=[0.0, 0.0, 1.0])
    for index, body in enumerate(bodies):
        mesh = spec.add_mesh(name=f"mesh{index}")
        mesh.uservert = np.asarray(body.vertices, dtype=float).ravel()
        mesh.userface = np.asarray(body.faces, dtype=np.int32).ravel()
        mesh.inertia = mujoco.mjtMeshInertia.mjMESH_INERTIA_EXACT
        rotor.add_geom(
            type=mujoco.mjtGeom.mjGEOM_MESH,
            meshname=f"mesh{index}",
            density=body.density_g_per_mm3,
            contype=0,  # nothing touches: no convex hull has to be made
            conaffinity=0,
        )
    for index, point in enumerate(points):
        child = rotor.add_body(
            name=f"point{index}", pos=engine_place(point.z_mm, point.radius_mm, point.angle_deg)
        )
        child.explicitinertial = True
        child.mass, child.ipos = point.mass_g, [0.0, 0.0, 0.0]
        child.inertia = [1e-6, 1e-6, 1e-6]
    model = spec.compile()
    data = mujoco.MjData(model)
    omega = speed_rpm * math.pi / 30.0
    data.qpos[0], data.qvel[0] = math.radians(turned_deg), omega
    mujoco.mj_forward(model, data)
    mujoco.mj_rnePostConstraint(model, data)
    number = mujoco.mj_name2id(model, mujoco.mjtObj.mjOBJ_BODY, "rotor")
    # moment about the rotor's centre of mass, then force: what the world does to the rotor
    moment, force = data.cfrc_int[number][:3].copy(), data.cfrc_int[number][3:].copy()
    moment += np.cross(data.subtree_com[number], force)
    # two radial forces at Z1, Z2: F1 + F2 = F, and from r x F: Mx = -(Z1 F1y + Z2 F2y), My = Z1 F1x + Z2 F2x
    Z = [-z for z in planes_z_mm]
    statics = np.array([[1.0, 1.0], Z])
    across = np.linalg.solve(statics, [force[0], moment[1]])
    up = np.linalg.solve(statics, [force[1], -moment[0]])
    # the force that holds a mass on its circle points inward: unbalance is against it
    seen = -(across + 1j * up) / omega**2
    return seen * np.exp(-1j * math.radians(turned_deg))
