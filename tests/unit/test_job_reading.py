"""A job as read: numbers in the inner units, whose section counts, defaults, the machine's counting."""

from __future__ import annotations

import datetime
import math
import subprocess
import sys
from pathlib import Path

import pytest

from planner.errors import FileFaultsError
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.jobfile.shop_folders import state_shop_folder

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")

# from the definitions: 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 1 lb/16
OZ_IN_GMM = 453.59237 / 16 * 25.4

SMALL = """
format = 1
[units]
length = "in"
mass = "lb"
unbalance = "oz-in"
[planes]
left = 1
right = 19
[crankshaft]
mass = 56
bearing_1_z = 0
bearing_2_z = 20
service_speed_rpm = 6000
[[throws]]
name = "1"
angle = 0
z = 4
radius = 1.74
rods = 2
[[counterweights]]
name = "A"
z = 2
angle = 180
thickness = 1
outline = { shape = "fan", outer_radius = 3.4, half_angle = 58, inner_radius = 1.4 }
"""
MACHINE = """
[machine]
angle_direction = "{direction}"
viewed_from = "{end}"
angle_zero = {zero}
angle_marks = "heavy spot"
"""


def load(text: str, folder: Path) -> Job:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path)


def machine(*, direction: str = "ccw", end: str = "front", zero: str = "0") -> str:
    return MACHINE.format(direction=direction, end=end, zero=zero)


@pytest.fixture
def whole(tmp_path: Path) -> Job:
    return load(WHOLE, tmp_path)


class TestTheWholeJob:
    def test_heading_and_engine(self, whole: Job) -> None:
        assert whole.details.date == datetime.date(2026, 1, 31)
        assert whole.engine.firing_order == ("1", "8", "4", "3", "6", "5", "7", "2")
        assert whole.engine.rotation == "cw"
        assert whole.cylinders[0].throw == "1"
        assert whole.cylinders[0].rod_length_mm == 152.0

    def test_crankshaft(self, whole: Job) -> None:
        assert whole.crankshaft.mass_kg == pytest.approx(24.1, rel=1e-12)
        assert whole.crankshaft.bearings_z_mm == (0.0, 520.0)
        assert whole.planes_z_mm == (40.0, 480.0)
        assert [throw.rods for throw in whole.crankshaft.throws] == [2, 2, 2, 2]
        assert whole.crankshaft.built_for_bob_g == 1850.0
        counterweight = whole.crankshaft.counterweight("A")
        assert counterweight.outline.rim_radius_mm == 88.0
        assert counterweight.outline.half_angle_deg == 58.0
        assert counterweight.existing[0].depth_shoulder_mm == 20.0
        assert counterweight.keep_outs[0].to_angle_deg == 128.0
        assert whole.crankshaft.oil_drillings[0].clearance_mm == 2.0

    def test_shop(self, whole: Job) -> None:
        assert whole.shop.drills_mm == pytest.approx((10.0, 12.0, 14.0, 15.875))
        assert list(whole.shop.slug_price) == pytest.approx([19.05])

    def test_tolerance_errors_match(self, whole: Job) -> None:
        assert whole.tolerance is not None
        assert whole.tolerance.grade_mm_per_s == 16.0
        assert whole.tolerance.stated == "G 16"
        assert whole.errors.reading_percent == 1.5
        assert whole.errors.reading_absolute_gmm == 5.0
        assert whole.match.tolerance_g == 0.3
        assert whole.match.greatest_removal_g["rod_big_end"] == pytest.approx(453.59237 / 32)
        assert whole.bob_set is not None
        assert [piece.name for piece in whole.bob_set.plates] == ["100.0 g", "50.0 g"]

    def test_bobs_wanted_are_the_sum_of_the_parts(self, whole: Job) -> None:
        # throw 1: cylinders 1 and 5, by hand with the file's numbers
        rotating = 442.0 + 442.4 + 2 * 42.0 + 4.0
        reciprocating = 412.6 + 412.8 + 182.0 + 182.2 + 2 * (118.0 + 38.5 + 2.2)
        assert whole.bobs_wanted_g is not None
        assert whole.bobs_wanted_g["1"] == pytest.approx(rotating + 0.5 * reciprocating, rel=1e-12)

    def test_spins_and_mounted(self, whole: Job) -> None:
        spin = whole.spins[0]
        assert (spin.left.amount, spin.left.angle_deg) == (4210.0, 138.0)
        assert spin.bobs_g == {"1": 1729.0, "2": 1729.0, "3": 1729.0, "4": 1729.0}
        assert whole.mounted[0].unbalance_gmm == pytest.approx(20 * OZ_IN_GMM, rel=1e-9)
        assert whole.known_errors[0].right_gmm == pytest.approx(-1j * 0.02 * OZ_IN_GMM, rel=1e-9)

    def test_cuts_and_plan(self, whole: Job) -> None:
        assert whole.cuts_made[0].cut.depth_shoulder_mm == 22.5
        assert whole.cuts_made[0].step == 1
        assert whole.stored_plan is not None
        assert whole.stored_plan.steps == ()
        fixed = whole.fixed_cuts[0]
        assert (fixed.kind, fixed.through, fixed.radius_mm) == ("slug", True, 70.0)

    def test_trials(self, whole: Job) -> None:
        assert whole.trials[0].mass_plane is None
        assert whole.trials[1].trial_gmm == 960.0
        assert whole.trials[1].machine_angle_deg == 270.0


class TestUnits:
    def test_bare_numbers_are_in_the_files_units(self, tmp_path: Path) -> None:
        job = load(SMALL, tmp_path)
        assert job.planes_z_mm == pytest.approx((25.4, 482.6))
        assert job.crankshaft.mass_kg == pytest.approx(56 * 0.45359237)
        assert job.crankshaft.throws[0].radius_mm == pytest.approx(1.74 * 25.4)
        assert job.units.unbalance == "oz*in"

    def test_a_text_carries_its_own_unit(self, tmp_path: Path) -> None:
        job = load(
            SMALL.replace("z = 4\n", 'z = "101.6 mm"\n').replace("mass = 56", 'mass = "25 kg"'), tmp_path
        )
        assert job.crankshaft.throws[0].z_mm == pytest.approx(101.6)
        assert job.crankshaft.mass_kg == 25.0

    def test_every_file_has_its_own_units(self, tmp_path: Path) -> None:
        (tmp_path / "crank.toml").write_text(SMALL, encoding="utf-8")
        job = load(
            'format = 1\n[use]\ncrankshaft = "crank.toml"\n[planes]\nleft = 30\nright = 480\n', tmp_path
        )
        assert job.planes_z_mm == (30.0, 480.0)
        assert job.crankshaft.bearing_2_z_mm == pytest.approx(508.0)
        assert job.units.length == "mm"

    def test_amounts_as_masses(self, tmp_path: Path) -> None:
        spin = (
            '[[spins]]\nbobs = 0\nleft = { amount = 1, angle = 0 }\nright = { amount = "5 g", angle = 0 }\n'
        )
        text = SMALL.replace("right = 19", "right = 19\nleft_radius = 3\nright_radius = 3.5")
        by_mass = machine().replace("[machine]", '[machine]\namounts = "mass"')
        job = load(text + by_mass + spin, tmp_path)
        assert job.spins[0].left.amount == pytest.approx(453.59237)
        assert job.spins[0].right.amount == 5.0
        assert job.machine.right_radius_mm == pytest.approx(3.5 * 25.4)

    @pytest.mark.parametrize(
        ("line", "stated"),
        [
            ('grade = "G 6.3"', "G 6.3"),
            ("grade = 16", "G 16"),
            ("each_side = 0.5", "0.5 oz*in each side"),
            ('each_side = "0.5 oz-in"', "0.5 oz-in each side"),
            ("left = 1\nright = 2", "1 oz*in left, 2 oz*in right"),
            ('static = "300 g*mm"\ncouple = 1', "static 300 g*mm, couple 1 oz*in"),
            ("total = '1.0'", "1.0 oz*in in all"),
        ],
    )
    def test_the_tolerance_is_kept_as_it_was_stated(self, tmp_path: Path, line: str, stated: str) -> None:
        job = load(f"{SMALL}\n[tolerance]\n{line}\n", tmp_path)
        assert job.tolerance is not None
        assert job.tolerance.stated == stated


class TestWhoseSectionCounts:
    def test_the_jobs_own_section_wins_whole(self, tmp_path: Path) -> None:
        (tmp_path / "shop.toml").write_text(
            "[shop]\ndrills = [11]\nleast_wall = 4\n[bobs]\nwanted = 1000\n", encoding="utf-8"
        )
        job = load(f'{SMALL}\n[use]\nshop = "shop.toml"\n[shop]\ndrills = ["1/2 in"]\n', tmp_path)
        assert job.shop.drills_mm == (12.7,)
        # not 4 mm: the shop file's section counts for nothing, the default of an inch file does
        assert job.shop.least_wall_mm == pytest.approx(3.175)
        assert job.bobs_wanted_g == {"1": 1000.0}

    def test_arrays_win_whole_too(self, tmp_path: Path) -> None:
        (tmp_path / "crank.toml").write_text(SMALL, encoding="utf-8")
        own = '[[throws]]\nname = "x"\nangle = 5\nz = 100\nradius = 40\nrods = 1\n'
        job = load(f'format = 1\n[use]\ncrankshaft = "crank.toml"\n{own}', tmp_path)
        assert [throw.name for throw in job.crankshaft.throws] == ["x"]

    def test_the_crankshafts_file_is_nearer_than_the_shops(self, tmp_path: Path) -> None:
        (tmp_path / "crank.toml").write_text(SMALL + "[shop]\ndrills = [0.5]\n", encoding="utf-8")
        (tmp_path / "shop.toml").write_text(
            "[shop]\ndrills = [11]\n[match]\ntolerance = 2\n", encoding="utf-8"
        )
        job = load('format = 1\n[use]\ncrankshaft = "crank.toml"\nshop = "shop.toml"\n', tmp_path)
        assert job.shop.drills_mm == (12.7,)
        assert job.match.tolerance_g == 2.0

    def test_a_crankshafts_section_may_stand_in_the_shops_file(self, tmp_path: Path) -> None:
        (tmp_path / "shop.toml").write_text(SMALL, encoding="utf-8")
        job = load('format = 1\n[use]\nshop = "shop.toml"\n', tmp_path)
        assert job.files.shop == tmp_path / "shop.toml"
        assert job.crankshaft.counterweights[0].name == "A"

    def test_files_are_relative_to_the_job_not_to_the_current_folder(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("BOBPLAN_SHOP_FOLDERS", str(tmp_path / "a"))
        (tmp_path / "a" / "b").mkdir(parents=True)
        (tmp_path / "a" / "crank.toml").write_text(SMALL, encoding="utf-8")
        job = load('format = 1\n[use]\ncrankshaft = "../crank.toml"\n', tmp_path / "a" / "b")
        assert job.crankshaft.throws[0].name == "1"

    @pytest.mark.parametrize("named", ["../crank.toml", "../../b/../crank.toml", "ABSOLUTE", "link.toml"])
    def test_files_of_other_folders_are_not_read(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str
    ) -> None:
        # a job file may come from anybody: nothing of another file is ever shown
        monkeypatch.delenv("BOBPLAN_SHOP_FOLDERS", raising=False)
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
        folder = tmp_path / "a" / "b"
        folder.mkdir(parents=True)
        (tmp_path / "a" / "crank.toml").write_text("a secret = = 1\n", encoding="utf-8")
        if named == "link.toml":
            (folder / named).symlink_to("../crank.toml")
        name = str(tmp_path / "a" / "crank.toml") if named == "ABSOLUTE" else named
        with pytest.raises(FileFaultsError, match=r"use\.crankshaft.*own folder") as caught:
            load(f'format = 1\n[use]\ncrankshaft = "{name}"\n', folder)
        assert "secret" not in str(caught.value)
        assert "BOBPLAN_SHOP_FOLDERS" in str(caught.value)

    def test_a_folder_stated_once_serves_all_jobs(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
        (tmp_path / "shop").mkdir()
        (tmp_path / "shop" / "crank.toml").write_text(SMALL, encoding="utf-8")
        text = 'format = 1\n[use]\ncrankshaft = "../shop/crank.toml"\n'
        (tmp_path / "jobs").mkdir()
        with pytest.raises(FileFaultsError):
            load(text, tmp_path / "jobs")
        state_shop_folder(tmp_path / "shop")
        assert load(text, tmp_path / "jobs").crankshaft.throws[0].name == "1"

    def test_and_to_the_file_that_a_link_points_to(self, tmp_path: Path) -> None:
        (tmp_path / "real").mkdir()
        (tmp_path / "real" / "crank.toml").write_text(SMALL, encoding="utf-8")
        load('format = 1\n[use]\ncrankshaft = "crank.toml"\n', tmp_path / "real")
        link = tmp_path / "link.toml"
        link.symlink_to(tmp_path / "real" / "job.toml")
        assert load_job(link).files.job == link


class TestTheMachinesCounting:
    def test_zero_at_a_throw(self, tmp_path: Path) -> None:
        text = SMALL.replace("angle = 0\nz = 4", "angle = 17.3\nz = 4")
        assert load(text + machine(zero='"throw 1"'), tmp_path).machine.zero_deg == pytest.approx(17.3)

    @pytest.mark.parametrize(
        ("direction", "end", "expected"),
        # by hand: place = zero + s*a with zero 20, a 30; s is -1 when one of the two is turned round
        [("ccw", "front", 50.0), ("cw", "front", 350.0), ("ccw", "rear", 350.0), ("cw", "rear", 50.0)],
    )
    def test_places_as_read_on_the_machine(
        self, tmp_path: Path, direction: str, end: str, expected: float
    ) -> None:
        text = SMALL.replace("angle = 180", "machine_angle = 30") + machine(
            direction=direction, end=end, zero="20"
        )
        assert load(text, tmp_path).crankshaft.counterweights[0].angle_deg == pytest.approx(expected)

    def test_the_light_spot_turns_readings_not_places(self, tmp_path: Path) -> None:
        text = SMALL.replace("angle = 180", "machine_angle = 30") + machine(zero="20").replace(
            "heavy", "light"
        )
        job = load(text, tmp_path)
        assert job.crankshaft.counterweights[0].angle_deg == pytest.approx(50.0)
        assert job.machine.heavy_spot_deg(30.0) == pytest.approx(230.0)

    def test_places_everywhere(self, tmp_path: Path) -> None:
        text = (
            SMALL.replace(
                "thickness = 1\n",
                (
                    "thickness = 1\n"
                    'existing = [{ cut = "rim hole", machine_angle = 160, diameter = 0.5, depth = 0.5 }]\n'
                    "keep_out = [{ from_machine_angle = 170, to_machine_angle = 190, from_radius = 2, to_radius = 3 }]\n"
                ),
            )
            + machine(direction="cw", zero="20")
            + """
[[mounted]]
name = "damper"
z = 0
unbalance = 1
machine_angle = 10
in_engine = true
[[oil_drillings]]
from = { z = 1, radius = 0 }
to = { z = 4, radius = 1.7, machine_angle = 20 }
diameter = 0.2
[[fixed_cuts]]
counterweight = "A"
cut = "rim hole"
machine_angle = 200
diameter = 0.5
depth = 1
"""
        )
        job = load(text, tmp_path)
        counterweight = job.crankshaft.counterweights[0]
        assert counterweight.existing[0].angle_deg == pytest.approx(220.0)  # 20 - 160
        # a machine that counts backwards runs through a sector from its end to its beginning
        assert counterweight.keep_outs[0].from_angle_deg % 360 == pytest.approx(190.0)
        assert counterweight.keep_outs[0].to_angle_deg % 360 == pytest.approx(210.0)
        assert job.mounted[0].angle_deg == pytest.approx(10.0)
        assert job.crankshaft.oil_drillings[0].to_angle_deg == pytest.approx(0.0)
        assert job.crankshaft.oil_drillings[0].clearance_mm == job.shop.least_wall_mm
        assert job.fixed_cuts[0].angle_deg == pytest.approx(180.0)

    def test_a_machine_angle_needs_the_machine(self, tmp_path: Path) -> None:
        text = SMALL.replace("angle = 180", "machine_angle = 30")
        with pytest.raises(FileFaultsError, match=r"\[machine\]; .*a machine_angle in `counterweights`"):
            load(text, tmp_path)


class TestHolesAndDepths:
    def hole(self, tmp_path: Path, entry: str, shop: str = "") -> float | None:
        text = SMALL.replace("thickness = 1\n", f"thickness = 1\nexisting = [{{ {entry} }}]\n")
        return (
            load(f"{text}\n[shop]\n{shop}\n", tmp_path)
            .crankshaft.counterweights[0]
            .existing[0]
            .depth_shoulder_mm
        )

    # a 118 degree point is 0.3004 d long, a 135 degree one 0.2071 d
    def test_depth_counts_as_the_shop_counts(self, tmp_path: Path) -> None:
        entry = 'cut = "rim hole", angle = 180, diameter = 0.5, depth = 1'
        assert self.hole(tmp_path, entry) == pytest.approx(25.4)
        deep = self.hole(tmp_path, entry, 'depth_to = "tip"')
        assert deep == pytest.approx(25.4 - 0.3004 * 12.7, abs=1e-3)

    def test_unless_the_hole_says_otherwise(self, tmp_path: Path) -> None:
        entry = 'cut = "rim hole", angle = 180, diameter = 0.5, depth = 1, depth_to = "shoulder"'
        assert self.hole(tmp_path, entry, 'depth_to = "tip"') == pytest.approx(25.4)
        entry = (
            'cut = "rim hole", angle = 180, diameter = 0.5, depth = 1, depth_to = "tip", point_angle = 135'
        )
        assert self.hole(tmp_path, entry) == pytest.approx(25.4 - 0.2071 * 12.7, abs=1e-3)

    def test_through_has_no_depth(self, tmp_path: Path) -> None:
        entry = 'cut = "face hole", angle = 180, diameter = 0.5, radius = 2.5, through = true'
        assert self.hole(tmp_path, entry) is None

    def test_depth_of_a_cut_made(self, tmp_path: Path) -> None:
        text = WHOLE.replace('depth_to = "shoulder"', 'depth_to = "tip"')
        assert load(text, tmp_path).cuts_made[0].cut.depth_shoulder_mm == pytest.approx(
            22.5 - 0.3004 * 14, abs=1e-3
        )


class TestDefaultsAndNotes:
    def test_inch_files_have_round_inches(self, tmp_path: Path) -> None:
        shop = load(SMALL, tmp_path).shop
        assert shop.depth_step_mm == pytest.approx(25.4 / 64)
        assert shop.least_wall_mm == pytest.approx(25.4 / 8)
        assert shop.slug_radius_step_mm == pytest.approx(25.4 / 16)

    def test_the_file_of_the_shop_decides(self, tmp_path: Path) -> None:
        (tmp_path / "shop.toml").write_text("[shop]\ndrills = [11]\n", encoding="utf-8")
        shop = load(f'{SMALL}\n[use]\nshop = "shop.toml"\n', tmp_path).shop
        assert (shop.depth_step_mm, shop.least_wall_mm) == (0.5, 3.0)

    def test_what_is_assumed_is_said(self, tmp_path: Path) -> None:
        notes = " | ".join(load(SMALL.replace("mass = 56\n", ""), tmp_path).notes)
        assert "names no drills: 3/8 in, 7/16 in" in notes
        assert "does not say its mass" in notes
        assert "does not say its centre of mass" in notes
        assert "does not say its density: 7.85 g/cm3 is taken" in notes

    def test_a_hole_beside_its_counterweight_is_questioned(self, tmp_path: Path) -> None:
        text = WHOLE.replace('"rim hole", angle = 171', '"rim hole", angle = 71')
        assert any("lies 109 degrees from the centre line" in note for note in load(text, tmp_path).notes)

    def test_planes_default_to_the_bearings_before_any_spin(self, tmp_path: Path) -> None:
        job = load(SMALL.replace("[planes]\nleft = 1\nright = 19\n", ""), tmp_path)
        assert job.planes_z_mm == pytest.approx((0.0, 508.0))
        assert any("bearing planes are taken" in note for note in job.notes)

    def test_no_rim_no_rim_holes(self, tmp_path: Path) -> None:
        fan = 'outline = { shape = "fan", outer_radius = 3.4, half_angle = 58, inner_radius = 1.4 }'
        free = 'outline = { shape = "points", points = [[0, -2], [3, 0], [0, 2]], inner_radius = 1 }'
        job = load(SMALL.replace(fan, free), tmp_path)
        assert job.crankshaft.counterweights[0].cuts == ("face hole", "slug", "fill")

    @pytest.mark.parametrize(
        ("outline", "name"),
        [
            (
                '{ shape = "half_disc", outer_radius = 3.4, inner_radius = 1.4, flat_offset = -0.2 }',
                "half disc",
            ),
            ('{ shape = "half disc", outer_radius = 3.4, inner_radius = 1.4 }', "half disc"),
            ('{ shape = "disc", outer_radius = 3.4, inner_radius = 1.4 }', "disc"),
            (
                '{ shape = "trimmed fan", outer_radius = 3.4, half_angle = 58, inner_radius = 1.4, half_width = 2.5 }',
                "trimmed fan",
            ),
        ],
    )
    def test_shapes(self, tmp_path: Path, outline: str, name: str) -> None:
        fan = '{ shape = "fan", outer_radius = 3.4, half_angle = 58, inner_radius = 1.4 }'
        job = load(SMALL.replace(fan, outline), tmp_path)
        assert job.crankshaft.counterweights[0].outline.name == name
        assert job.crankshaft.counterweights[0].outline.rim_radius_mm == pytest.approx(86.36)

    def test_materials(self, tmp_path: Path) -> None:
        text = SMALL.replace("mass = 56", 'mass = 56\nmaterial = "nodular iron"') + (
            '[shop]\nslug_class = "ASTM B777 class 4"\n'
        )
        job = load(text.replace("thickness = 1\n", "thickness = 1\ndensity = 11.3\n"), tmp_path)
        # nodular iron 7.1 to 7.3; class 4 of ASTM B777-15 18.25 to 18.85
        assert 7.1 <= job.crankshaft.density_g_per_cm3 <= 7.3
        assert 18.25 <= job.shop.slug_density_g_per_cm3 <= 18.85
        assert job.crankshaft.counterweights[0].density_g_per_cm3 == 11.3


class TestBobs:
    def test_per_throw_or_for_all(self, tmp_path: Path) -> None:
        assert load(f'{SMALL}\n[bobs]\nwanted = "1700 g"\n', tmp_path).bobs_wanted_g == {"1": 1700.0}
        assert load(f'{SMALL}\n[bobs]\nwanted = {{ "1" = "1700 g" }}\n', tmp_path).bobs_wanted_g == {
            "1": 1700.0
        }

    def test_at_the_throw(self, tmp_path: Path) -> None:
        job = load(SMALL.replace("rods = 2", 'rods = 2\nbob_wanted = "1700 g"'), tmp_path)
        assert job.bobs_wanted_g == {"1": 1700.0}

    def test_neither(self, tmp_path: Path) -> None:
        assert load(SMALL, tmp_path).bobs_wanted_g is None

    def test_a_part_of_another_kind(self, tmp_path: Path) -> None:
        parts = '[parts]\nrod_big_end = 1\nkeeper = { mass = 0.5, per = "throw", motion = "rotating" }\n'
        job = load(SMALL + parts, tmp_path)
        # two big ends and one keeper on the throw, in pounds
        assert job.bobs_wanted_g is not None
        assert job.bobs_wanted_g["1"] == pytest.approx(2.5 * 453.59237)


def test_reading_a_job_loads_no_heavy_library() -> None:
    code = (
        "import sys, planner.jobfile.read, planner.jobfile.find, planner.jobfile.write\n"
        "print([m for m in ('scipy', 'matplotlib', 'shapely', 'tomlkit', 'typer') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("machine", "errors", "expected_gmm"),
    [
        ("least_unbalance = 0.02", "", 0.01 * OZ_IN_GMM),
        ("least_unbalance = 0.02", "[errors]\nreading_percent = 1.0", 0.01 * OZ_IN_GMM),
        ("least_unbalance = 0.02", '[errors]\nreading_absolute = "3 g*mm"', 3.0),
        ("", "[errors]\nreading_absolute = 0", 0.0),
    ],
)
def test_a_readings_floor_is_said_or_half_of_what_the_machine_can_tell_apart(
    machine: str, errors: str, expected_gmm: float, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f"{SMALL}\n[machine]\n{machine}\n{errors}\n", encoding="utf-8")
    assert load_job(path).errors.reading_absolute_gmm == pytest.approx(expected_gmm)


def test_a_hole_of_the_drills_point_alone_can_be_planned_and_made(tmp_path: Path) -> None:
    """Counted to the tip, 5 mm of an 18 mm drill end 5 - 9/tan(59 degrees) mm short of the shoulder."""
    path = tmp_path / "job.toml"
    cut = (
        'counterweight = "A"\ncut = "rim hole"\nangle = 180\ndiameter = "18 mm"\ndepth = "5 mm"\n'
        'depth_to = "tip"\nafter_spin = 0\n'
    )
    trials = (
        '[[trials]]\nname = "start"\nleft = { amount = 3, phase = 10 }\nright = { amount = 2, phase = 50 }\n'
    )
    machine = '[machine]\nangle_direction = "ccw"\nviewed_from = "front"\nangle_zero = 0\nangle_marks = "heavy spot"\n'
    path.write_text(f"{SMALL}\n{machine}\n{trials}\n[[cuts_made]]\n{cut}", encoding="utf-8")
    (made,) = load_job(path).cuts_made
    assert made.cut.depth_shoulder_mm == pytest.approx(5.0 - 9.0 / math.tan(math.radians(59.0)))
