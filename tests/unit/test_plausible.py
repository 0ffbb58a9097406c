"""What can't be is refused with its key path, what is unusual is asked about; every bound on both sides.

The jobs are invented; what is tested is our own table of bounds, whose figures are common practice.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from planner.errors import FileFaultsError
from planner.jobfile import plausible
from planner.jobfile.job import Job
from planner.jobfile.plausible import BOUNDS, SWITCHES, judge_size, odd_parts
from planner.jobfile.read import load_job
from planner.quantity import UnitSystem

WHOLE = (Path(__file__).parent / "data" / "whole_job.toml").read_text(encoding="utf-8")
METRIC = UnitSystem()


def load(text: str, folder: Path) -> Job:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load_job(path)


def changed(old: str, new: str, text: str = WHOLE) -> str:
    assert old in text, "the case no longer fits the job it changes"
    return text.replace(old, new, 1)


def faults(text: str, folder: Path) -> str:
    with pytest.raises(FileFaultsError) as caught:
        load(text, folder)
    return str(caught.value)


@pytest.mark.parametrize("name", BOUNDS)
def test_every_bound_on_both_sides(name: str) -> None:
    low, few, many, high = BOUNDS[name].inside
    assert low <= few < many < high

    def judged(value: float) -> str:
        found = judge_size(name, value, units=METRIC)
        return "right" if found is None else "refused" if found.refused else "asked"

    if few > 0.0:
        assert judged(low * 0.999) == "refused"
        assert judged(low * 1.001) == "asked"
        assert judged(few * 0.999) == "asked"
    assert judged(few * 1.001 + 1e-6) == "right"
    assert judged(many * 0.999) == "right"
    assert judged(many * 1.001) == "asked"
    assert judged(high * 0.999) == "asked"
    assert judged(high * 1.001) == "refused"


@pytest.mark.parametrize(
    ("path", "name"), plausible._PLACES, ids=[".".join(path) for path, _ in plausible._PLACES]
)
def test_every_place_in_the_files_is_looked_at(path: tuple[str, ...], name: str, tmp_path: Path) -> None:
    document = tomllib.loads(WHOLE)
    bound = BOUNDS[name]
    value = f"{bound.inside[3] * 1.01:g} {UnitSystem().unit_of(bound.kind)}"
    _put(document, path, value)
    message = faults(tomlkit.dumps(document), tmp_path)
    key = path[-1] if path[-1] not in ("[]", "*", "mass") else path[-2] if path[-2] != "mass" else path[-3]
    lines = [
        each for each in message.splitlines() if each.startswith("  ") and path[0] in each and key in each
    ]
    assert lines, message
    # an older check of the same place may have said it in its own words; then that stands alone
    assert any("is beyond reason for" in each for each in lines) or key in (
        "diameter",
        "depth",
        "radius",
        "rim_radius",
        "least_depth",
        "unbalance",
    )


def _put(here: Any, path: tuple[str, ...], value: str) -> None:
    first, *rest = path
    if first == "*":
        first = "1"
    key: Any = 0 if first == "[]" else first
    if not rest:
        if isinstance(here, list):
            here[:] = [value]
        else:
            here[key] = value
        return
    new: Any = [] if rest[0] == "[]" else {}
    if isinstance(here, list):
        if not here:
            here.append(new)
    elif not isinstance(here.get(key), type(new)):
        here[key] = new
    _put(here[key], tuple(rest), value)


class TestNumbersOfTheField:
    """What was once accepted without a word."""

    @pytest.mark.parametrize(
        ("old", "new", "says"),
        [
            ('mass = "24.1 kg"', 'mass = "24 kg"\nbuilt_for_percent = 50\n#', ""),
            (
                'mass = "24.1 kg"',
                "mass = 24.1e6",
                r"crankshaft.mass: .*24100 kg is beyond reason for a crankshaft",
            ),
            ("thickness = 24.0", 'thickness = "2 m"', r'"A".thickness: .*2000 mm is beyond reason'),
            (
                "outer_radius = 88.0",
                'outer_radius = "88 m"',
                r'"A".outline.outer_radius: .*88000 mm is beyond',
            ),
            (
                "bobs = 1729.0",
                "bobs = 1e9",
                r"spins\[1\].bobs: .*1e\+06 kg is beyond reason for the bob mass",
            ),
            ("bobs = 1729.0", "bobs = 1.7", r"spins\[1\].bobs: .*1.7 g is beyond reason for the bob mass"),
            (
                "speed_rpm = 500\n",
                "speed_rpm = 1e9\n",
                r"spins\[1\].speed_rpm: .*1e\+09 rpm is beyond reason",
            ),
            (
                "speed_rpm = 500\n",
                "speed_rpm = 0.001\n",
                r"spins\[1\].speed_rpm: .*0.001 rpm is beyond reason",
            ),
            (
                "service_speed_rpm = 6500",
                "service_speed_rpm = 1e9",
                r"service_speed_rpm: .*beyond reason for an eng",
            ),
            ("service_speed_rpm = 6500", "service_speed_rpm = 0.001", r"service_speed_rpm: .*beyond reason"),
            ("density = 7.85 ", "density = 0.6 ", r"crankshaft.density: .*0.6 g/cm3 is beyond reason"),
            ("density = 7.85 ", "density = 24 ", r"crankshaft.density: .*24 g/cm3 is beyond reason"),
            (
                "slug_density = 17.5",
                "slug_density = 0.6",
                r"shop.slug_density: .*beyond reason for heavy metal",
            ),
            (
                "slug_density = 17.5",
                "slug_density = 24",
                r"shop.slug_density: .*beyond reason for heavy metal",
            ),
            ("z = 52.0\n", 'z = "5 m"\n', r'"A".z: .*5000 mm lies 4480 mm beyond the bearings'),
            (
                "bearing_2_z = 520.0",
                "bearing_2_z = 5200.0",
                r"bearing_2_z: .*stands 4805 mm away from every throw",
            ),
            (
                "bearing_1_z = 0.0",
                "bearing_1_z = 500.0",
                r"bearing_1_z: .*no throw stands between the bearings",
            ),
            ("bearing_2_z = 520.0", "bearing_2_z = 9.0", r"bearing_2_z: .*9 mm apart: 15 mm to 6000 mm"),
            (
                "centre_of_mass_z = 255.0",
                "centre_of_mass_z = 2550.0",
                r"centre_of_mass_z: .*outside the bearings",
            ),
            (
                "from_angle = 120, to_angle = 128",
                "from_angle = 128, to_angle = 120",
                r"352 degrees: .*reversed",
            ),
            ("depth_step = 0.5", "depth_step = 1e-9", r"depth_step: .*a step of depths is 0.01 mm or more"),
            ("angle_step = 1", "angle_step = 0.0001", r"angle_step: .*0.05 degrees or more"),
            ("slug_radius_step = 1", "slug_radius_step = 1e-9", r"slug_radius_step: .*0.01 mm or more"),
            ("rods = 2\n", "rods = 100000\n#", r"rods: .*no throw carries more than 12 rods"),
        ],
    )
    def test_beyond_reason_is_refused_with_its_path(
        self, old: str, new: str, says: str, tmp_path: Path
    ) -> None:
        if not says:
            assert load(changed(old, new), tmp_path).questions == ()
            return
        message = faults(changed(old, new), tmp_path)
        assert re.search(says, message), message

    @pytest.mark.parametrize(
        ("old", "new", "says", "right"),
        [
            ('mass = "24.1 kg"', 'mass = "400 kg"', "400 kg is unusual for a crankshaft", 'crankshaft_mass = "400 kg"'),
            ("bearing_1_z = 0.0\nbearing_2_z = 520.0", "bearing_1_z = 520.0\nbearing_2_z = 0.0",
             "bearing 1 is the front one", "bearings_swapped = true"),
            ("centre_of_mass_z = 255.0", "centre_of_mass_z = 540.0", "the centre of mass lies outside the bearings",
             "centre_of_mass_outside = true"),
            ("from_angle = 120, to_angle = 128", "from_angle = 120, to_angle = 310", "it spans 190 degrees",
             "wide_keep_outs = true"),
            ("from_radius = 36, to_radius = 60", "from_radius = 95, to_radius = 99", "keeps nothing out",
             "wide_keep_outs = true"),
            ("piston = [412.6,", "piston = [6000,", "6 kg is unusual for a piston", 'piston = "6 kg"'),
            ("pin = 118.0", "pin = 520.0", "a piston pin is heavier than its piston", "parts_together = true"),
            ("drills = [10, 12, 14,", "drills = [55, 56, 57,", "55 mm is unusual for a drill", 'drill = ["55 mm", "57 mm"]'),
            ("bobs = 1729.0", "bobs = 173.0", "173 g was on, 1", "bobs_off = true"),
            ('mass = "24.1 kg"', 'mass = "2.1 kg"', "by their sizes they weigh", "counterweights_heavy = true"),
        ],
    )  # fmt: skip
    def test_unusual_is_asked_once_and_can_be_said_to_be_right(
        self, old: str, new: str, says: str, right: str, tmp_path: Path
    ) -> None:
        text = changed(old, new)
        if "2.1 kg" in new:
            text = changed("outer_radius = 88.0", "outer_radius = 150.0", text)
        asked = [each for each in load(text, tmp_path).questions if says in each]
        assert len(asked) == 1, load(text, tmp_path).questions
        if not right.startswith("drill"):
            assert right in asked[0]
        still = load(f"{text}\n[plausible]\n{right}\n", tmp_path).questions
        assert not [each for each in still if says in each]

    def test_nothing_is_asked_about_an_ordinary_job(self, tmp_path: Path) -> None:
        assert load(WHOLE, tmp_path).questions == ()

    def test_all_throws_at_one_angle(self, tmp_path: Path) -> None:
        text = WHOLE
        for angle in ("90", "270", "180"):
            text = changed(f"angle = {angle}\nz", "angle = 0\nz", text)
        assert "throws; all 4 throws stand at one angle, which no engine has" in faults(text, tmp_path)
        assert load(f"{text}\n[plausible]\nthrows_at_one_angle = true\n", tmp_path)

    def test_no_drill_that_fits(self, tmp_path: Path) -> None:
        text = changed("thickness = 24.0", "thickness = 12.0").replace('cuts = ["rim hole", "face hole", "slug", "fill"]',
                                                                        'cuts = ["rim hole", "slug"]')  # fmt: skip
        text = text.replace("existing = [", "# existing = [")
        asked = load(text, tmp_path).questions
        assert [
            each for each in asked if "no drill fits any counterweight" in each and "room for 6 mm" in each
        ]
        # one that just fits the other side of the bound
        assert not load(text.replace("drills = [10,", "drills = [6,"), tmp_path).questions

    def test_a_depth_in_millimetres_typed_into_an_inch_job(self, tmp_path: Path) -> None:
        example = Path(__file__).parents[2] / "examples" / "external_balance_v8"
        for each in example.glob("*.toml"):
            (tmp_path / each.name).write_text(each.read_text(encoding="utf-8"), encoding="utf-8")
        shop = tmp_path / "shop.toml"
        text = shop.read_text(encoding="utf-8")
        shop.write_text(changed('greatest_depth = "1 3/4 in"', "greatest_depth = 64", text), encoding="utf-8")
        with pytest.raises(FileFaultsError, match=r"shop.greatest_depth: given `64`; 64 in is beyond reason"):
            load_job(tmp_path / "job.toml")

    def test_all_faults_at_once(self, tmp_path: Path) -> None:
        text = changed("thickness = 24.0", 'thickness = "2 m"', changed("density = 7.85 ", "density = 0.6 "))
        text = changed("bobs = 1729.0", "bobs = 1.7", text)
        message = faults(text, tmp_path)
        for path in ("crankshaft.density", 'counterweights[1] "A".thickness', "spins[1].bobs"):
            assert path in message


class TestWidening:
    def test_what_is_given_is_inside_from_then_on(self, tmp_path: Path) -> None:
        text = changed('mass = "24.1 kg"', 'mass = "24 kg"').replace("bobs = 1729.0", "bobs = 15")
        assert "beyond reason for the bob mass" in faults(text, tmp_path)
        assert (
            load(f'{text}\n[plausible]\nbob = ["15 g", "2 kg"]\nbobs_off = true\n', tmp_path).questions == ()
        )
        assert "beyond reason" in faults(f'{text}\n[plausible]\nbob = ["16 g", "2 kg"]\n', tmp_path)

    def test_it_never_narrows(self, tmp_path: Path) -> None:
        assert load(f'{WHOLE}\n[plausible]\nbob = ["500 g", "600 g"]\n', tmp_path).questions == ()

    @pytest.mark.parametrize(
        ("line", "says"),
        [
            ("crankshaft_mas = 3", r"plausible.crankshaft_mas: .*did you mean `crankshaft_mass`"),
            ('bob = "heavy"', r"plausible.bob: .*the least and the greatest that are right"),
            ("bob = []", r"plausible.bob: .*the least and the greatest"),
            ("places = 1", r"plausible.places: .*true or false"),
        ],
    )
    def test_its_own_faults(self, line: str, says: str, tmp_path: Path) -> None:
        message = faults(f"{WHOLE}\n[plausible]\n{line}\n", tmp_path)
        assert re.search(says, message.replace("\n", " ")), message

    def test_every_switch_has_words(self) -> None:
        assert all(words for words in SWITCHES.values())


def test_weights_beside_each_other() -> None:
    fine = {"piston": [412.0], "pin": [118.0], "rod_small_end": [182.0], "rod_big_end": [442.0]}
    assert list(odd_parts(fine)) == []
    assert "lighter than its small end" in next(odd_parts(fine | {"rod_big_end": [181.9]}))
    assert list(odd_parts(fine | {"rod_big_end": [182.0]})) == []
    assert "heavier than its piston" in next(odd_parts(fine | {"pin": [412.1]}))


def test_the_question_stands_in_plan_and_status_once(tmp_path: Path) -> None:
    from planner.steps.plan import plan_job

    path = Path(__file__).parents[2] / "examples" / "cross_plane_v8" / "job.toml"
    text = (
        path.read_text(encoding="utf-8").split("\n[plan]")[0].replace('mass = "24.1 kg"', 'mass = "400 kg"')
    )
    job = load(text, tmp_path)
    answer = plan_job(job)
    assert sum("400 kg is unusual for a crankshaft" in each for each in answer.questions) == 1


def test_a_reading_is_judged_in_the_displays_unit(tmp_path: Path) -> None:
    """20,000 g*mm is an old truck's crankshaft; taken for ounce-inches it would be 720 times that."""
    document = tomlkit.parse(WHOLE)
    document["units"]["unbalance"] = "oz*in"
    document["machine"]["display_unit"] = "g*mm"
    for spin in document["spins"]:
        spin["left"]["amount"] = 20000
    assert [each for each in load(tomlkit.dumps(document), tmp_path).questions if "amount" in each] == []
    document["machine"]["display_unit"] = "oz*in"
    asked = load(tomlkit.dumps(document), tmp_path).questions
    assert any("amount" in each and "unusual for an unbalance of a crankshaft" in each for each in asked)
