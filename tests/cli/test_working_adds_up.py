"""The working of a plan with a calculator beside it: what is printed as a sum or a mean is the sum or mean of what is printed."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran

SPINS = """
[[spins]]
bobs = 1724.0
left = { amount = 4238, angle = 207.3 }
right = { amount = 2910, angle = 33 }
known_mass = { mass = "10 g", radius = 88, angle = 180, z = 52 }

[[spins]]
bobs = 1724.0
repeat = true
left = { amount = 3520, angle = 215 }
right = { amount = 2880, angle = 31.5 }
"""
NUMBER = r"[+-]\d+\.\d"


def xy(text: str) -> complex:
    found = re.search(rf"X ({NUMBER})  Y ({NUMBER})", text)
    assert found is not None, text
    return complex(float(found[1]), float(found[2]))


@pytest.fixture
def working(bobplan: Callable[..., Ran], example: Callable[[str], Path]) -> str:
    """A state of two spins with a check spin (a known mass put on) between them: invented readings."""
    job = example("cross_plane_v8") / "job.toml"
    job.write_text(job.read_text(encoding="utf-8") + SPINS, encoding="utf-8")
    out = bobplan("plan", job, "--no-store", "--show-work").out
    return out[out.index("WORKING") :]


def test_the_mean_of_spins_is_that_of_the_readings_shown(working: str) -> None:
    for side in ("left", "right"):
        lines = re.findall(rf"^ *spins? .*, {side}: .*$", working, re.MULTILINE)
        assert len(lines) == 2  # the check spin between is none of them
        readings = []
        for line in lines:
            shown = re.search(r"U = ([\d.]+); angle = .* = ([\d.]+); ", line)
            assert shown is not None
            amount, angle = float(shown[1]), math.radians(float(shown[2]))
            readings.append(xy(line))
            assert readings[-1] == pytest.approx(
                complex(amount * math.cos(angle), amount * math.sin(angle)), abs=0.1
            )
        mean = re.search(rf"^ *mean {side}: .*$", working, re.MULTILINE)
        assert mean is not None
        assert xy(mean[0]) == pytest.approx(sum(readings) / len(readings), abs=0.11)


def test_the_sums_are_those_of_their_parts(working: str) -> None:
    lines = [line for line in working.splitlines() if re.match(r" *(left|right) \(reading", line)]
    assert len(lines) == 2
    for line in lines:
        side = line.split()[0]
        parts: list[complex] = []
        for heading in ("mean", "sum"):
            found = re.search(rf"^ *{heading} {side}: .*$", working, re.MULTILINE)
            assert found is not None
            parts.append(xy(found[0]))
        for axis, part in (("X", [p.real for p in parts]), ("Y", [p.imag for p in parts])):
            shown = re.search(rf"{axis} = ((?:{NUMBER} )+)= ({NUMBER})", line)
            assert shown is not None, line
            terms = [float(term) for term in shown[1].split()]
            assert terms == pytest.approx(part, abs=1e-9)
            assert float(shown[2]) == pytest.approx(sum(terms), abs=0.05 * (len(terms) + 1) + 1e-9)


def test_each_change_of_a_cut_is_its_share_of_the_whole(working: str) -> None:
    changes = re.findall(
        rf"change = (-?[\d.]+) at ([\d.]+): X ({NUMBER})  Y ({NUMBER});.*left x (\S+): X ({NUMBER})  Y ({NUMBER});"
        rf" +right x (\S+): X ({NUMBER})  Y ({NUMBER})",
        working,
    )
    assert changes
    left = right = 0j
    for amount, angle, x, y, share_left, lx, ly, share_right, rx, ry in changes:
        whole = complex(float(x), float(y))
        at = math.radians(float(angle))
        assert whole == pytest.approx(float(amount) * complex(math.cos(at), math.sin(at)), abs=0.1)
        assert complex(float(lx), float(ly)) == pytest.approx(float(share_left) * whole, abs=0.3)
        assert complex(float(rx), float(ry)) == pytest.approx(float(share_right) * whole, abs=0.3)
        left += complex(float(lx), float(ly))
        right += complex(float(rx), float(ry))
    # to correct + all changes = what remains (recomputed by another route, so to a few tenths)
    remains = working[working.index("What remains") :]
    for side, change in (("left", left), ("right", right)):
        line = next(each for each in working.splitlines() if re.match(rf" *{side} \(reading", each))
        total = [float(each) for each in re.findall(rf"= ({NUMBER})(?=;|$)", line)]
        found = re.search(rf"^ *{side}: .*$", remains, re.MULTILINE)
        assert found is not None
        assert xy(found[0]) == pytest.approx(complex(*total) + change, abs=0.1 * (len(changes) + 2))


def test_the_working_of_a_hole_drilled_on_is_the_difference_of_two_holes(
    bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    """A first pass, then the rest in the same hole: what is removed is the whole hole's moment less that of the first pass."""
    job = example("cross_plane_v8") / "job.toml"
    first = bobplan("plan", job, "--json").json["steps"][0]
    bobplan("done", "1", "--job", job, "--depth", f"{first['stop_mm'] - 12.5:g}")
    data = bobplan("plan", job, "--no-store", "--show-work", "--json").json
    step = next(each for each in data["steps"] if each["deepens"])
    lines = [line.strip() for line in data["working"]]
    begin = next(index for index, line in enumerate(lines) if line.startswith(f"4.{step['label']} "))

    def worth(name: str) -> float:
        place = next(index for index in range(begin, len(lines)) if lines[index].startswith(f"{name} = "))
        return float(lines[place + 1].rpartition(" = ")[2].split()[0])

    assert worth("M") == pytest.approx(worth("M after") - worth("M before"), abs=2.0)
    assert worth("u") == pytest.approx(7.85 / 1000.0 * worth("M"), abs=0.01)
    assert worth("u") == pytest.approx(-step["unbalance_gmm"], abs=0.01)
    # by hand: pi a^2 [R h - h^2/2 - a^2/8 + (c/3)(R - h - c/4)] for both depths
    a, c = 8.0, 8.0 / math.tan(math.radians(59.0))
    moments = [
        math.pi * a * a * (88.0 * h - h * h / 2 - a * a / 8 + c / 3 * (88.0 - h - c / 4))
        for h in (first["stop_mm"], first["stop_mm"] - 12.5)
    ]
    assert worth("M") == pytest.approx(moments[0] - moments[1], rel=1e-5)
