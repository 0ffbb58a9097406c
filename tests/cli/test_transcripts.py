"""A whole job told by three operators, from `start` to the customer's record.  All data invented.

Two things are looked at.  The truth: the readings come from a simulated machine and the cuts that the screens print are
carried out on a simulated drill press (`tests/simulator`, no product code in its physics), so that what the program says
can be held against what is really there.  And the screens: every one is compared with ``tests/golden/transcripts``.
Those texts are the program's own earlier output: regression guards, no validation.  After a wanted change::

    BOBPLAN_REGENERATE=1 pytest -n0 tests/cli/test_transcripts.py

then read the difference before committing it, as somebody would who stands at the machine.
"""

from __future__ import annotations

import math
import os
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from operators import FORETOLD, STORIES, Operator, Vibration
from simulator.jobs import IN_MM, UNIT_GMM
from transcripts import Screen, differences

GOLDEN = Path(__file__).parents[1] / "golden" / "transcripts"


@pytest.mark.parametrize("name", list(STORIES))
def test_a_whole_job(name: str, tmp_path: Path) -> None:
    he = STORIES[name](tmp_path)
    inside_in_truth_and_by_check(he)
    foretold_as_it_came(he)
    the_file_holds_every_entry(he, tmp_path)
    every_command_is_one(he)
    as_kept(he, name)


def inside_in_truth_and_by_check(he: Operator) -> None:
    """What truly remains keeps the limit with every bob as wanted, and `check` says so."""
    job = he.job
    true = (
        job.crankshaft.in_planes(job.machine) if job.judged_at == "planes" else job.crankshaft.at_bearings()
    )
    shares = [abs(vector) / limit for vector, limit in zip(true, he.limits_gmm, strict=True)]
    assert max(shares) < 1.0, shares
    check = last(he, "bobplan check")
    assert "VERDICT: IN TOLERANCE" in check.shown
    # the limits and the shares on the screen are those worked out here, the reading is off by less than its error
    stated = [float(each) for each in re.findall(r" (\d+) %  +±", check.shown)]
    assert len(stated) == 2
    for share, percent in zip(shares, stated, strict=True):
        assert abs(100.0 * share - percent) < 15.0
    assert [screen.code for screen in he.session.screens if screen.command.startswith("bobplan sheet")] == [
        0,
        0,
    ]


def foretold_as_it_came(he: Operator) -> None:
    """The reading foretold last is what the machine truly shows after the cuts, within the uncertainty that `odds` states."""
    screens = he.session.screens
    spun = max(at for at, screen in enumerate(screens) if screen.command.startswith("bobplan spin"))
    told = [screen for screen in screens[:spun] if FORETOLD.search(screen.shown)]
    assert len(told) >= 3
    truth = he.job.crankshaft.in_planes(he.job.machine)
    sigma = stated_sigma_gmm(next(screen for screen in screens if screen.command == "bobplan odds"))
    assert 5.0 < sigma < 80.0
    # the last cut was only entered after the last plan was shown: it foretells what is there now
    for foretold, true in zip(he.foretells(told[-1]), truth, strict=True):
        assert abs(foretold - true) < 3.0 * sigma
    # and the comparison after the spin finds nothing wrong
    assert "The change is as foretold within the errors" in " ".join(screens[spun].shown.split())


def stated_sigma_gmm(odds: Screen) -> float:
    """The standard uncertainty that a screen of `odds` states, bobs left out: the same bobs stay on."""
    rows = re.findall(r"^  (\D+?)  +[\d.]+.*?  +([\d.]+) (g\*mm|oz\*in)  +\d+ %", odds.shown, re.MULTILINE)
    assert len(rows) == 9
    return math.sqrt(
        sum((float(value) * UNIT_GMM[unit]) ** 2 for name, value, unit in rows if name != "bob masses")
    )


def the_file_holds_every_entry(he: Operator, folder: Path) -> None:
    """Every reading as the display showed it and every cut by its dial, in the order in which they came; the proof; the slip."""
    job, shop = toml(folder / "job.toml"), toml(folder / "shop.toml")
    entered = [
        [entry[side][key] for side in ("left", "right") for key in ("amount", "angle")]
        for entry in job["spins"]
    ]
    assert entered == [[float(each) for each in reading] for reading in he.readings]
    per_mm = IN_MM if job["units"]["length"] == "in" else 1.0
    made = [(cut["counterweight"], cut["dialled"]["dial"], cut["depth"] * per_mm) for cut in job["cuts_made"]]
    assert [each[:2] for each in made] == [each[:2] for each in he.made]
    assert [each[2] for each in made] == pytest.approx([each[2] for each in he.made], abs=0.02)
    # one of the cuts is the same hole, deeper, and one entry was a slip
    assert sum("from_depth" in cut for cut in job["cuts_made"]) == 1
    assert len(job["undone"]) >= 1
    true = he.job.machine
    machine = shop["machine"]
    assert (machine["angle_direction"], machine["viewed_from"]) == (true.counts, true.seen_from)
    assert machine["angle_marks"] == true.marks
    # written down as seen from the front: from the rear the same turning goes the other way round
    grows = "ccw" if (true.counts == "ccw") == (true.seen_from == "front") else "cw"
    assert machine["proved"]["direction"] == f"{grows} seen from the front"
    assert set(job["proof"]["proved"]) >= {"on", "mass", "places", "zero", "planes", "unit"}
    written = [path.read_bytes() for path in (*folder.glob("sheet.*"), folder / "record.html")]
    assert len(written) == 2
    assert all(each.startswith(b"%PDF") or b"</html>" in each for each in written)
    if isinstance(he, Vibration):
        assert len(job["trials"]) == 4


def every_command_is_one(he: Operator) -> None:
    """Whatever the screens tell to type next is a command of the program; none ends in a fault of the program."""
    from planner.cli.main import COMMANDS

    for screen in he.session.screens:
        assert screen.code in (0, 1)
        assert "Traceback" not in screen.shown
        assert "°°" not in screen.shown  # a unit written twice
        for named in re.findall(r"`bobplan ([a-z]+)", screen.shown):
            assert named in COMMANDS, screen.text


def as_kept(he: Operator, name: str) -> None:
    """Screen by screen as they were when somebody last read them."""
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("BOBPLAN_REGENERATE") == "1":
        path.parent.mkdir(exist_ok=True)
        path.write_text(he.session.text, encoding="utf-8", newline="\n")
        pytest.skip(f"{path.name} written anew")
    found = differences(he.session.text, path.read_text(encoding="utf-8"))
    assert not found, "\n".join(found)


def last(he: Operator, command: str) -> Screen:
    return next(screen for screen in reversed(he.session.screens) if screen.command == command)


def toml(path: Path) -> Any:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_a_difference_is_told_by_its_screen() -> None:
    before = "# he cuts\n$ bobplan done 1\nentered\n\n$ bobplan check\nin tolerance\n"
    now = before.replace("in tolerance", "out of tolerance")
    found = "\n".join(differences(now, before))
    assert "screen 2, $ bobplan check" in found
    assert "-in tolerance" in found
    assert "+out of tolerance" in found
    assert "bobplan done" not in found
    assert differences(before, before) == []
