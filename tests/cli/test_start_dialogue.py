"""`bobplan start` at a terminal: back, stop and go on, natural answers, sizes that can't be.  All data are invented."""

from __future__ import annotations

import io
import json
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.jobfile.read import load_job
from tests.cli.conftest import Ran
from tests.cli.test_start_command import COUNTERWEIGHTS, OPTIONS, PIPED, flat

Bobplan = Callable[..., Ran]


class Terminal(io.StringIO):
    """Standard input that says it is a terminal; its end is what Ctrl-C comes to."""

    def isatty(self) -> bool:
        return True


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", Terminal("".join(f"{line}\n" for line in lines)))


def piped(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


REST = [""] * 80


class TestBack:
    def test_one_question_is_asked_again(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        typed(monkeypatch, "Wrong", "<", "Right", "mm", "cw", "<", "ccw", *REST)
        assert bobplan("start").code == 0
        assert toml(tmp_path / "job.toml")["job"]["title"] == "Right"
        assert toml(tmp_path / "shop.toml")["machine"]["angle_direction"] == "ccw"

    def test_as_far_as_the_first(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        typed(monkeypatch, "Wrong", "in", "cw", "<", "<", "<", "<", "Right", "mm", "ccw", *REST)
        ran = bobplan("start")
        assert ran.code == 0
        assert "this is the first question" in ran.err
        assert toml(tmp_path / "job.toml")["job"]["title"] == "Right"
        assert toml(tmp_path / "job.toml")["units"]["length"] == "mm"

    def test_past_what_depends_on_it(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Back over the layout: an in-line 4 has a spacing to ask for, a single has not."""
        options = {k: v for k, v in OPTIONS.items() if k in (
            "--units", "--angle-direction", "--viewed-from", "--angle-zero", "--angle-marks", "--amounts",
            "--drill-offset", "--drills", "--rotation", "--radius", "--first-throw-z")}  # fmt: skip
        options["--amounts"] = "unbalance"
        typed(monkeypatch, "T", "in-line 4", "<", "V2, 90 degree banks", *REST)
        ran = bobplan("start", *flat(options))
        assert ran.code == 0, ran.err
        assert len(toml(tmp_path / "crankshaft.toml")["throws"]) == 1


class TestStopAndGoOn:
    def test_the_answers_wait_beside_the_file(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        typed(monkeypatch, "Kept", "in", "ccw", "-")
        ran = bobplan("start", "a.toml")
        assert ran.code == 2
        kept = tmp_path / "a.toml.answers"
        assert "the answers so far are in" in ran.err
        assert "goes on with them" in ran.err
        assert list(tmp_path.glob("*.toml")) == []
        assert json.loads(kept.read_text())["title"] == "Kept"
        # yes: what was answered is not asked again, what was left open stays open
        typed(monkeypatch, "y", "", "light", *REST)
        ran = bobplan("start", "a.toml")
        assert ran.code == 0, ran.err
        assert "which way the machine's angles grow" not in ran.err
        assert toml(tmp_path / "a.toml")["job"]["title"] == "Kept"
        machine = toml(tmp_path / "shop.toml")["machine"]
        assert machine["angle_direction"] == "ccw"
        assert "viewed_from" not in machine
        assert machine["angle_marks"] == "light spot"
        assert not kept.exists()

    def test_no_begins_anew(self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        typed(monkeypatch, "Kept")
        bobplan("start")
        typed(monkeypatch, "n", "New", *REST)
        assert bobplan("start").code == 0
        assert toml(tmp_path / "job.toml")["job"]["title"] == "New"

    def test_nothing_answered_keeps_nothing(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        typed(monkeypatch)
        assert bobplan("start").code == 2
        assert list(tmp_path.iterdir()) == []

    def test_a_pipe_does_not_take_them(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        typed(monkeypatch, "Kept", "in")
        bobplan("start")
        piped(monkeypatch, "Piped", "mm")
        ran = bobplan("start")
        assert ran.code == 0
        assert "they are not taken" in ran.err
        assert toml(tmp_path / "job.toml")["job"]["title"] == "Piped"

    def test_a_spoilt_file_is_no_trouble(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        for content in (b"\xff\xfe", b"[1]", b'{"title": 3}', b""):
            (tmp_path / "job.toml.answers").write_bytes(content)
            typed(monkeypatch, "New", *REST)
            assert bobplan("start").code == 0
            for path in tmp_path.glob("*.toml"):
                path.unlink()


@pytest.mark.parametrize(
    ("option", "said", "section", "key", "value"),
    [
        ("--units", "inches", "units", "length", "in"),
        ("--units", "metric", "units", "length", "mm"),
        ("--angle-direction", "clockwise", "machine", "angle_direction", "cw"),
        ("--angle-direction", "counter-clockwise", "machine", "angle_direction", "ccw"),
        ("--angle-direction", "anti-clockwise", "machine", "angle_direction", "ccw"),
        ("--angle-direction", "rises", "machine", "angle_direction", "ccw"),
        ("--angle-direction", "falls", "machine", "angle_direction", "cw"),
        ("--viewed-from", "the nose", "machine", "viewed_from", "front"),
        ("--viewed-from", "flywheel end", "machine", "viewed_from", "rear"),
        ("--angle-zero", "crankpin 2", "machine", "angle_zero", "throw 2"),
        ("--rotation", "anticlockwise", "engine", "rotation", "ccw"),
        ("--layout", "V8", "engine", "layout", "V8, 90 degree banks, cross-plane"),
        ("--layout", "v-8 flat plane", "engine", "layout", "V8, 90 degree banks, flat-plane"),
        ("--layout", "straight six", "engine", "layout", "in-line 6"),
        ("--layout", "inline 4", "engine", "layout", "in-line 4"),
        ("--layout", "I4", "engine", "layout", "in-line 4"),
        ("--layout", "boxer four", "engine", "layout", "flat 4"),
        ("--layout", "V12", "engine", "layout", "V12, 60 degree banks"),
        ("--material", "cast", "crankshaft", "material", "nodular iron"),
        ("--material", "billet", "crankshaft", "material", "forged steel"),
        ("--drills", "1/2 9/16 5/8", "shop", "drills", ["1/2", "9/16", "5/8"]),
        ("--drills", '1/2" 9/16" 5/8"', "shop", "drills", ['1/2"', '9/16"', '5/8"']),
        ("--drills", "#7 letter F tap 3/8-16 1/2", "shop", "drills", ["#7", "letter F", "tap 3/8-16", "1/2"]),
        ("--drills", "No. 7, F, 12 mm", "shop", "drills", ["No. 7", "F", "12 mm"]),
        ("--bearing-2-z", '20 1/2"', "crankshaft", "bearing_2_z", '20 1/2"'),
        ("--bearing-2-z", "20-1/2 in", "crankshaft", "bearing_2_z", "20-1/2 in"),
        ("--fraction", "50 %", "parts", "reciprocating_fraction", 0.5),
        ("--clips", "none", "parts", "clips", 0),
    ],
)  # fmt: skip
def test_natural_answers(
    bobplan: Bobplan, tmp_path: Path, option: str, said: str, section: str, key: str, value: object
) -> None:
    options = OPTIONS | {"--units": "in", "--amounts": "unbalance", "--drills": "1/2"}
    options |= {"--radius": "2", "--first-throw-z": "4", "--spacing": "4", "--bearing-2-z": "20"}
    options |= {
        "--left-plane": "2",
        "--right-plane": "18",
        "--thickness": "1",
        "--outer-radius": "3.4",
        "--inner-radius": "1.4",
    }
    options |= {"--tolerance": "0.5", "--piston": "412"}
    for gone in ("--left-radius", "--right-radius"):
        del options[gone]
    options |= {option: said}
    if said == "metric":
        options = OPTIONS | {option: said}
    ran = bobplan("start", *flat(options), "--counterweight", "2,180", "--counterweight", "18,0", "-y")
    assert ran.code == 0, ran.err
    found = {}
    for name in ("job", "shop", "crankshaft"):
        found |= {k: v for k, v in toml(tmp_path / f"{name}.toml").items() if k not in found}
    assert found[section][key] == value
    load_job(tmp_path / "job.toml") if option != "--units" else None


def test_what_a_natural_answer_was_taken_for_is_said(
    bobplan: Bobplan, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(monkeypatch, "", "inches", "clockwise", *REST)
    ran = bobplan("start")
    assert "  = in\n" in ran.err
    assert "  = cw\n" in ran.err


class TestSizesThatCannotBe:
    def run(self, bobplan: Bobplan, **changed: str) -> Ran:
        options = OPTIONS | {f"--{key.replace('_', '-')}": value for key, value in changed.items()}
        return bobplan("start", *flat(options), *COUNTERWEIGHTS, "-y")

    def test_ordinary_answers_are_not_questioned(self, bobplan: Bobplan) -> None:
        assert "QUESTION" not in self.run(bobplan).err

    @pytest.mark.parametrize(
        ("changed", "says"),
        [
            ({"rod_big_end": "180"}, "a rod's big end is lighter than its small end (182 g beside 180 g)"),
            ({"piston": "6 kg"}, "6 kg is unusual for a piston"),
            ({"bearing_2_z": "-520"}, "does not lie behind the front one"),
            ({"inner_radius": "88"}, "the inner radius (88) is not below the outer one (88)"),
            ({"right_plane": "52"}, "both reading planes are at z 52"),
            ({"first_throw_z": "1950"}, "the first throw (z 1950) lies farther outside the bearings"),
            # shifted by one: pin where the piston belongs, rings where the pin belongs, ..
            ({"piston": "118", "pin": "412.6", "rings": "38.5"}, "a piston pin is heavier than its piston"),
            ({"pin": "38.5", "rings": "2.2", "clips": "182", "rod_small_end": "442", "rod_big_end": "42"},
             "a rod's big end is lighter than its small end"),
        ],
    )  # fmt: skip
    def test_odd_ones_are_questioned_once(self, bobplan: Bobplan, changed: dict[str, str], says: str) -> None:
        ran = self.run(bobplan, **changed)
        assert ran.err.count(says) == 1, ran.err
        assert "QUESTION" in ran.err

    @pytest.mark.parametrize(
        ("changed", "says"),
        [
            ({"outer_radius": "88 m"}, "88000 mm is beyond reason for a counterweight's radius"),
            ({"mass": "24100"}, "24100 kg is beyond reason for a crankshaft"),
            ({"piston": "6000000"}, "beyond reason for a piston"),
            ({"speed": "0.001"}, "beyond reason for an engine's speed"),
            ({"thickness": "2 m"}, "beyond reason for a counterweight's thickness"),
        ],
    )
    def test_beyond_reason_is_refused(self, bobplan: Bobplan, changed: dict[str, str], says: str) -> None:
        ran = self.run(bobplan, **changed)
        assert ran.code == 2
        assert says in ran.err

    def test_at_a_terminal_it_is_asked_again(
        self, bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        options = {k: v for k, v in OPTIONS.items() if k != "--outer-radius"}
        typed(monkeypatch, "88 m", "88", *REST)
        ran = bobplan("start", *flat(options), *COUNTERWEIGHTS)
        assert ran.code == 0, ran.err
        assert "beyond reason" in ran.err
        assert load_job(tmp_path / "job.toml").crankshaft.counterweights[0].outline.greatest_radius_mm == 88


def test_whose_it_is_what_it_carries_and_what_it_was_built_for(bobplan: Bobplan, tmp_path: Path) -> None:
    more = {
        "--customer": 'A "customer"',
        "--crankshaft-number": "C-17",
        "--date": "2026-02-03",
        "--damper": "none",
        "--flywheel": "20 oz-in at 180, z 545",
        "--built-for": "1850",
    }
    ran = bobplan("start", *flat(OPTIONS | more), *COUNTERWEIGHTS, "-y")
    assert ran.code == 0, ran.err
    job = load_job(tmp_path / "job.toml")
    assert (job.details.customer, job.details.crankshaft_number) == ('A "customer"', "C-17")
    assert str(job.details.date) == "2026-02-03"
    assert job.crankshaft.built_for_bob_g == 1850
    flywheel = job.mounted[0]
    assert (flywheel.name, flywheel.z_mm, flywheel.angle_deg, flywheel.in_engine) == (
        "flywheel",
        545,
        180,
        True,
    )
    assert flywheel.unbalance_gmm == pytest.approx(20 * 28.349523125 * 25.4)
    assert "# the damper is neutral" in (tmp_path / "crankshaft.toml").read_text(encoding="utf-8")
    # built for that bob: the quote needs nothing else
    assert bobplan("quote").code in (0, 1)


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--date", "yesterday", "2026-01-31"),
        ("--flywheel", "20 oz-in", "amount, angle and z"),
        ("--damper", "20 mm at 180, z 545", "its unbalance"),
        ("--depth-to", "top", "allowed: shoulder, tip"),
    ],
)
def test_what_cannot_be_read_of_them(bobplan: Bobplan, option: str, value: str, says: str) -> None:
    ran = bobplan("start", *flat(OPTIONS | {option: value}), *COUNTERWEIGHTS, "-y")
    assert ran.code == 2
    assert says in ran.err


def test_they_are_asked_last(bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    piped(
        monkeypatch, *PIPED, "Somebody", "17", "2026-02-03", "neutral", "27 oz-in at 0, z 21.5", "1900", "tip"
    )
    ran = bobplan("start")
    assert ran.code == 0, ran.err
    job = load_job(tmp_path / "job.toml")
    assert job.details.customer == "Somebody"
    assert job.mounted[0].z_mm == pytest.approx(21.5 * 25.4)
    assert job.crankshaft.built_for_bob_g == 1900
    assert job.shop.depth_to == "tip"


def test_it_ends_with_the_next_commands(bobplan: Bobplan) -> None:
    out = bobplan("start", "job", *flat(OPTIONS), *COUNTERWEIGHTS, "-y").out
    order = [out.index(f"`bobplan {name}") for name in ("quote", "match", "bobs", "prove", "spin")]
    assert order == sorted(order)


def test_brackets_come_from_the_same_crankshaft_only(
    bobplan: Bobplan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    piped(monkeypatch, *PIPED, "Somebody")
    assert bobplan("start", "a/job").code == 0
    # another crankshaft: the machine is the same, sizes and weights are not offered
    piped(monkeypatch, *REST)
    ran = bobplan("start", "b/job")
    assert "ccw, cw) [ccw]" in ran.err
    for gone in ("[2.0]", "[412.6]", "[56 lb]", "[0.5]: \nshare", "[From a pipe]", "[Somebody]"):
        assert gone not in ran.err
    assert "piston (one weight, or one per cylinder with spaces between):" in ran.err
    # another job on the first crankshaft: its weights are offered, title and customer are not
    piped(monkeypatch, *REST)
    ran = bobplan("start", "a/second")
    assert "[412.6]" in ran.err
    for gone in ("[From a pipe]", "[Somebody]"):
        assert gone not in ran.err


class TestWhatAQuestionMarkSays:
    def shown(self, bobplan: Bobplan, monkeypatch: pytest.MonkeyPatch, *lines: str) -> str:
        piped(monkeypatch, *lines)
        return " ".join(bobplan("start").err.split())

    def test_direction(self, bobplan: Bobplan, monkeypatch: pytest.MonkeyPatch) -> None:
        shown = self.shown(bobplan, monkeypatch, "", "", "?")
        assert "by hand clockwise, as you see it from the end where you stand" in shown
        assert "it rises = ccw, it falls = cw" in shown

    def test_drill_offset(self, bobplan: Bobplan, monkeypatch: pytest.MonkeyPatch) -> None:
        shown = self.shown(bobplan, monkeypatch, *[""] * 7, "?")
        assert "Number to dial = place + offset" in shown
        assert "with 90, a heavy spot at 40 is under the drill when the display shows 130" in shown
