"""Every fault of a job file is named with its key path, the value given and what is allowed.

The jobs are invented.  Each case of ``data/job_faults.toml`` changes the whole job in one place and looks for the
fault that this makes.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from planner.errors import FileFaultsError
from planner.jobfile.read import GREATEST_SHOWN, load_job

DATA = Path(__file__).parent / "data"
WHOLE = (DATA / "whole_job.toml").read_text(encoding="utf-8")
CASES = tomllib.loads((DATA / "job_faults.toml").read_text(encoding="utf-8"))["case"]


def faults_of(text: str, folder: Path) -> str:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFaultsError) as caught:
        load_job(path)
    return str(caught.value)


def without(section: str, *, until: str) -> str:
    """Return the whole job without what stands between two headers."""
    start = WHOLE.index(f"\n{section}")
    return WHOLE[:start] + WHOLE[WHOLE.index(f"\n{until}", start) :]


def using(lines: str) -> str:
    """Return the whole job with lines under ``[use]``."""
    return WHOLE.replace("[use] ", f"[use]\n{lines}\n#")


@pytest.mark.parametrize("case", CASES, ids=[case["what"] for case in CASES])
def test_a_fault_is_named_with_path_value_and_what_is_allowed(tmp_path: Path, case: dict[str, str]) -> None:
    assert case["old"] in WHOLE, "the case no longer fits the job it changes"
    message = faults_of(WHOLE.replace(case["old"], case["new"], 1), tmp_path)
    assert re.search(case["says"], message), message


def test_the_unchanged_job_has_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert load_job(path).details.title == "Cross-plane V8, lighter pistons"


def test_a_number_of_hundreds_of_digits_is_no_length(tmp_path: Path) -> None:
    message = faults_of(WHOLE.replace("thickness = 24.0", "thickness = 1" + "0" * 400), tmp_path)
    assert re.search(r"thickness: given .*; a length must be a finite number", message)
    assert len(message) < 300


def test_sections_that_must_be_there(tmp_path: Path) -> None:
    for section, until, said in (
        (
            "[[counterweights]]",
            "[[mounted]]",
            r"\[\[counterweights\]\]; at least one counterweight is wanted",
        ),
        ("[[throws]]", "[[cylinders]]", r"\[\[throws\]\]; at least one throw is wanted"),
        ("[crankshaft]", "[tolerance]", r"\[crankshaft\]; bearing_1_z and bearing_2_z"),
        ("[machine]", "[planes]", r"\[machine\]; how the machine counts must be said, for \[\[spins\]\]"),
        ("[planes]", "[engine]", r"\[planes\]; where the machine's two reading planes are must be said"),
    ):
        assert re.search(said, faults_of(without(section, until=until), tmp_path))


def test_empty_lists_of_throws_and_counterweights(tmp_path: Path) -> None:
    text = without("[[throws]]", until="[[cylinders]]").replace("format = 1", "format = 1\nthrows = []")
    assert re.search(r"throws; at least one throw is wanted", faults_of(text, tmp_path))
    text = without("[[counterweights]]", until="[[mounted]]")
    text = text.replace("format = 1", "format = 1\ncounterweights = []")
    assert re.search(r"counterweights; at least one counterweight is wanted", faults_of(text, tmp_path))


def test_sections_of_the_wrong_kind(tmp_path: Path) -> None:
    parts = without("[parts]", until="[[spins]]")
    assert re.search(r"parts; no part is named", faults_of(f"{parts}\n[parts]\n", tmp_path))
    assert re.search(r"parts: given .*\[parts\]", faults_of(f"{parts}\n[[parts]]\nx = 1\n", tmp_path))
    number = WHOLE.replace("[[fixed_cuts]]", "[[known_errors]]").replace(
        "format = 1", "format = 1\nfixed_cuts = 5"
    )
    assert re.search(r"fixed_cuts: given `5`; a list of tables is wanted", faults_of(number, tmp_path))
    rows = WHOLE.replace("[[fixed_cuts]]", "[[known_errors]]").replace(
        "format = 1", "format = 1\nfixed_cuts = [5]"
    )
    assert re.search(r"fixed_cuts\[1\]: given `5`; a table is wanted here", faults_of(rows, tmp_path))
    units = without("[units]", until="[machine]").replace("format = 1", 'format = 1\nunits = "mm"')
    assert re.search(r'units: given `"mm"`; a table is wanted here', faults_of(units, tmp_path))


def test_bobs_of_some_throws_only(tmp_path: Path) -> None:
    text = without("[parts]", until="[[spins]]").replace("rods = 2", "rods = 2\nbob_wanted = 1729")
    assert re.search(
        r"throws; bob_wanted is said for some throws, but not for `2`, `3`", faults_of(text, tmp_path)
    )


SHOP = """
[units]
length = "in"
[shop]
drills = [0]
colour = "blue"
[match]
tolerance = -1
"""
CRANKSHAFT = """
[crankshaft]
bearing_1_z = "0 g"
bearing_2_z = 520
[[throws]]
name = "1"
angle = "0"
z = 95
radius = 44.2
rods = 2
[[counterweights]]
name = "A"
z = 52
angle = 180
thickness = -1
outline = { shape = "fan", outer_radius = 88, half_angle = 58, inner_radius = 36 }
"""
JOB = """
[use]
shop = "my shop.toml"
crankshaft = "cranks/one.toml"
[machine]
angle_direction = "ccw"
viewed_from = "front"
angle_zero = "throw 2"
angle_marks = "heavy spot"
[planes]
left = 40
right = 480
[[spins]]
left = { amount = 1, angle = 2 }
right = { amount = 1, angle = "2" }
"""


def test_all_faults_of_three_files_come_in_one_report(tmp_path: Path) -> None:
    (tmp_path / "cranks").mkdir()
    (tmp_path / "my shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "cranks" / "one.toml").write_text(CRANKSHAFT, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    with pytest.raises(FileFaultsError, match="10 faults found") as caught:
        load_job(tmp_path / "job.toml")
    assert {(fault.file, fault.path) for fault in caught.value.faults} == {
        ("job.toml", "format"),
        ("job.toml", "machine.angle_zero"),
        ("job.toml", "spins[1].bobs"),
        ("job.toml", "spins[1].right.angle"),
        ("my shop.toml", "shop.drills[1]"),
        ("my shop.toml", "shop.colour"),
        ("my shop.toml", "match.tolerance"),
        ("cranks/one.toml", "crankshaft.bearing_1_z"),
        ("cranks/one.toml", 'throws[1] "1".angle'),
        ("cranks/one.toml", 'counterweights[1] "A".thickness'),
    }


def test_a_wall_of_faults_is_cut_short(tmp_path: Path) -> None:
    many = "".join(f'\n[[mounted]]\nname = "m{index}"\n' for index in range(100))
    message = faults_of(WHOLE + many, tmp_path)
    assert f"{GREATEST_SHOWN + 1} faults found" in message
    assert re.search(r"and \d+ more", message)


def test_used_files_have_their_own_rules(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text("format = 3\n[job]\ntitle = 'x'\n", encoding="utf-8")
    message = faults_of(using('shop = "shop.toml"'), tmp_path)
    assert re.search(r"in `shop.toml`:\n  format: given `3`", message)
    assert re.search(r"job; this section stands in the job file only", message)


@pytest.mark.parametrize(
    ("use", "says"),
    [
        ('shop = "no.toml"', r"use\.shop; `no\.toml` is not there"),
        ('shop = "."', r"use\.shop; `\.` is a folder"),
        ('shop = ""', r'use\.shop: given `""`; the name of a file, relative to the job file'),
        ('shop = "job.toml"', r'use\.shop: given `"job\.toml"`; this is the job file itself'),
        ("shop = 5.5", r"use\.shop: given `5\.5`; a text in quotes"),
        ('shp = "x"', r"use\.shp: .*\n.*did you mean `shop`"),
    ],
)
def test_use_names_files(tmp_path: Path, use: str, says: str) -> None:
    assert re.search(says, faults_of(using(use), tmp_path))


def test_a_used_file_with_a_slip_of_the_pen_makes_no_followers(tmp_path: Path) -> None:
    # the throws stand in the broken file: nothing that names a throw may be called a fault
    (tmp_path / "crank.toml").write_text("[[throws]]\nname = 1x\n", encoding="utf-8")
    message = faults_of(JOB.replace("[use]", "format = 1\n[use]").replace("cranks/one", "crank"), tmp_path)
    assert re.search(r"in `crank.toml`:\n  `crank\.toml`, line 2, column \d+: ", message)
    assert "there is no throw" not in message
    assert "must be said, for" not in message
    assert "at least one" not in message
    assert "[crankshaft]" not in message


def test_names_of_faulty_tables_still_count_as_there(tmp_path: Path) -> None:
    # one slip in a counterweight must not make every cut in it a second fault
    message = faults_of(WHOLE.replace("thickness = 24.0", "thickness = 0"), tmp_path)
    assert message.startswith("1 fault found")
