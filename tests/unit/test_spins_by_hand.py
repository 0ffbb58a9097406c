"""From spins to vectors, by hand: the mean of a state and its scatter, what belongs to a state, what is added and taken out."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.frames import MachineConvention, ShaftAngle, Shown, SideReading
from planner.machine.spin import KnownError, KnownMass, MountedPart, Spin, newest_state
from planner.machine.unbalance import bob_shift, known_error_sum, mean_reading, mounted_shift, spin_vectors
from planner.rotor.crankshaft import Throw

KNOWN = KnownMass(mass_g=10.0, radius_mm=80.0, z_mm=0.0, at="throw 1")


def spin(left: tuple[float, float], right: tuple[float, float], **options: object) -> Spin:
    sides = [SideReading(amount=amount, angle_deg=Shown(angle)) for amount, angle in (left, right)]
    return Spin(left=sides[0], right=sides[1], bobs_g={}, **options)  # type: ignore[arg-type]


def test_the_mean_is_of_vectors_plane_by_plane_and_the_scatter_is_the_farthest_spin() -> None:
    # left: 3 at 0, 3 at 90, 6 at 90 -> X 1, Y 3; right: 10, 20 and 60 at 180 -> X -30
    spins = [
        spin((3.0, 0.0), (10.0, 180.0)),
        spin((3.0, 90.0), (20.0, 180.0)),
        spin((6.0, 90.0), (60.0, 180.0)),
    ]
    found = mean_reading(spins, machine=MachineConvention())
    assert found.vectors_gmm.shape == (2,)
    assert found.vectors_gmm[0] == pytest.approx(1.0 + 3.0j)
    assert found.vectors_gmm[1] == pytest.approx(-30.0)
    assert found.count == 3
    # from the mean: left (2, -3), (-1, 0), (-1, 3); right 20, 10, -30
    assert found.scatter_gmm == pytest.approx((13.0**0.5, 30.0))
    alone = mean_reading(spins[:1], machine=MachineConvention())
    assert alone.scatter_gmm == (0.0, 0.0)


def test_each_side_is_read_at_its_own_radius() -> None:
    machine = MachineConvention(
        mass_at_radius=True, left_radius_mm=80.0, right_radius_mm=50.0, zero_deg=ShaftAngle(90.0)
    )
    left, right = spin_vectors(spin((1.0, 0.0), (2.0, 90.0)), machine=machine)
    assert left == pytest.approx(80.0j)
    assert right == pytest.approx(-100.0)


def test_a_state_is_the_newest_spin_and_those_that_it_repeats_without_check_spins() -> None:
    one = spin((1.0, 0.0), (1.0, 0.0))
    again = spin((1.0, 0.0), (1.0, 0.0), repeat=True)
    check = spin((9.0, 0.0), (9.0, 0.0), known_mass=KNOWN)
    assert newest_state([one]) == (0,)
    assert newest_state([one, one]) == (1,)
    assert newest_state([one, again]) == (0, 1)
    assert newest_state([one, check, again]) == (0, 2)
    assert newest_state([one, one, check, again, check, again, check]) == (1, 3, 5)
    with pytest.raises(InputError):
        newest_state([])
    with pytest.raises(InputError):
        newest_state([check])


def test_mounted_parts_of_the_engine_are_added_and_those_of_the_machine_taken_out() -> None:
    def part(name: str, *, in_engine: bool) -> MountedPart:
        return MountedPart(
            name=name, z_mm=25.0, unbalance_gmm=100.0, angle_deg=ShaftAngle(90.0), in_engine=in_engine
        )

    parts = [part("flywheel", in_engine=True), part("adapter", in_engine=False)]
    planes = (0.0, 100.0)
    off = mounted_shift(parts=parts, mounted=(), planes_z_mm=planes)  # the flywheel is missing
    assert off == pytest.approx([75.0j, 25.0j])
    on = mounted_shift(
        parts=parts, mounted=("flywheel", "adapter"), planes_z_mm=planes
    )  # the adapter is too much
    assert on == pytest.approx([-75.0j, -25.0j])
    assert abs(mounted_shift(parts=parts, mounted=("flywheel",), planes_z_mm=planes)).max() == 0.0


def test_known_errors_add_up_plane_by_plane() -> None:
    errors = [
        KnownError(name="a", left_gmm=1.0, right_gmm=2.0j),
        KnownError(name="b", left_gmm=10.0j, right_gmm=-4.0),
    ]
    assert known_error_sum(errors) == pytest.approx([1.0 + 10.0j, -4.0 + 2.0j])
    assert known_error_sum([]) == pytest.approx([0.0, 0.0])


def test_a_heavier_bob_pulls_toward_its_throw() -> None:
    throw = Throw(name="1", angle_deg=ShaftAngle(180.0), z_mm=25.0, radius_mm=40.0, rods=1)
    wanted = bob_shift(
        throws=[throw], bobs_on_g={"1": 500.0}, bobs_wanted_g={"1": 510.0}, planes_z_mm=(0.0, 100.0)
    )
    assert wanted == pytest.approx([-300.0, -100.0])
    with pytest.raises(InputError, match="the bob on throw `1` is not stated"):
        bob_shift(throws=[throw], bobs_on_g={}, bobs_wanted_g={"1": 510.0}, planes_z_mm=(0.0, 100.0))


def test_what_is_not_said_of_a_spin_is_the_plain_case() -> None:
    """Nothing that a record leaves out may make a reading look confirmed, made from trial runs, or a part as left out."""
    plain = spin((1.0, 0.0), (1.0, 0.0))
    assert (plain.repeat, plain.from_trials, plain.as_read, plain.known_mass, plain.mounted) == (
        False,
        False,
        False,
        None,
        (),
    )
    assert KNOWN.offset_deg == 0.0
    part = MountedPart(name="damper", z_mm=0.0, unbalance_gmm=1.0, angle_deg=ShaftAngle(0.0), in_engine=True)
    assert part.built_with
