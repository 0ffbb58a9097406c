"""Drills by number and letter, tap drills.

Source of all figures: size tables of the open library of machine parts bd-warehouse 0.4.0 (Apache-2.0),
``bd_warehouse/data/drill_sizes.csv`` (letters A to Z, then numbers 1 to 80; some rounded to a thousandth of an inch)
and ``tap_hole_sizes.csv`` (column "Soft").  ASME B94.11M itself was not at hand.
"""

from __future__ import annotations

import pytest

from planner.rotor.drills import (
    INCH_TAPS,
    LETTER_DRILLS_IN,
    METRIC_TAPS_MM,
    NUMBER_DRILLS_IN,
    named_drill_mm,
)

SIZES_IN = (
    0.234, 0.238, 0.242, 0.246, 0.25, 0.257, 0.261, 0.266, 0.272, 0.277, 0.281, 0.29, 0.295, 0.302,
    0.316, 0.323, 0.332, 0.339, 0.348, 0.358, 0.368, 0.377, 0.386, 0.397, 0.404, 0.413, 0.228,
    0.221, 0.213, 0.209, 0.205, 0.204, 0.201, 0.199, 0.196, 0.193, 0.191, 0.189, 0.185, 0.182, 0.18,
    0.177, 0.173, 0.17, 0.166, 0.161, 0.159, 0.157, 0.154, 0.152, 0.15, 0.147, 0.144, 0.14, 0.136,
    0.1285, 0.12, 0.116, 0.113, 0.111, 0.11, 0.1065, 0.104, 0.1015, 0.0995, 0.098, 0.096, 0.0935,
    0.089, 0.086, 0.082, 0.081, 0.0785, 0.076, 0.073, 0.07, 0.067, 0.0635, 0.0595, 0.055, 0.052,
    0.0465, 0.043, 0.042, 0.041, 0.04, 0.039, 0.038, 0.037, 0.036, 0.035, 0.033, 0.032, 0.031,
    0.029, 0.028, 0.026, 0.025, 0.024, 0.0225, 0.021, 0.02, 0.018, 0.016, 0.0145, 0.0135,
)  # fmt: skip

SOFT = {
    "1/4-20": "#7", "1/4-28": "#3", "5/16-18": "F", "5/16-24": "I", "3/8-16": "5/16", "3/8-24": "Q",
    "7/16-14": "U", "7/16-20": "25/64", "1/2-13": "27/64", "1/2-20": "29/64", "9/16-12": "31/64",
    "9/16-18": "33/64", "5/8-11": "17/32", "5/8-18": "37/64", "3/4-10": "21/32", "3/4-16": "11/16",
    "7/8-9": "49/64", "7/8-14": "13/16", "1-8": "7/8",
}  # fmt: skip
SOFT_MM = {
    "M5x0.8": 4.2, "M6x1": 5, "M8x1.25": 6.8, "M8x1": 7, "M10x1.5": 8.5, "M10x1.25": 8.8, "M10x1": 9,
    "M12x1.75": 10.3, "M12x1.5": 10.5, "M12x1.25": 10.8, "M14x2": 12.1, "M14x1.5": 12.5, "M16x2": 14,
    "M16x1.5": 14.5, "M18x2.5": 15.5, "M18x1.5": 16.5, "M20x2.5": 17.5, "M22x2.5": 19,
}  # fmt: skip


def test_all_sizes_agree_with_the_library_to_its_rounding() -> None:
    ours = [*LETTER_DRILLS_IN.values(), *NUMBER_DRILLS_IN.values()]
    assert len(SIZES_IN) == len(ours) == 106
    for own, listed in zip(ours, SIZES_IN, strict=True):
        assert own == pytest.approx(listed, abs=0.00051)


def test_no_size_is_finer_than_half_a_thousandth() -> None:
    """As in the list, whose sizes are whole multiples of 0.0005 in; number 69, there 0.029, is 0.0292 in from memory."""
    ours = [*LETTER_DRILLS_IN.values(), *(size for number, size in NUMBER_DRILLS_IN.items() if number != 69)]
    # no figures of the list, only their fineness: not compared one by one
    assert not [each for each in (*SIZES_IN, *ours) if abs(each * 2000.0 - round(each * 2000.0)) > 1e-6]
    assert f"{NUMBER_DRILLS_IN[69]:.4f}" == "0.0292"


def test_tap_drills_agree_with_the_library() -> None:
    assert INCH_TAPS == SOFT
    for thread, size_mm in SOFT_MM.items():
        # two rows of the library are a tenth or a half off D - P; ours is D - P
        assert METRIC_TAPS_MM[thread] == pytest.approx(size_mm, abs=0.51 if thread == "M22x2.5" else 0.11)


def test_numbers_fall_and_letters_grow() -> None:
    numbers = list(NUMBER_DRILLS_IN.values())
    letters = list(LETTER_DRILLS_IN.values())
    assert numbers == sorted(numbers, reverse=True)
    assert len(set(numbers)) == 80
    assert letters == sorted(letters)
    assert len(set(letters)) == 26
    assert letters[0] > numbers[0]  # A is the next above number 1


def test_tap_drills_leave_a_usual_thread() -> None:
    """First principles: a hole of ``D - 1.299 s / N`` leaves the share s of a full thread."""
    for thread in INCH_TAPS:
        size, pitch = thread.split("-")
        top, _, bottom = size.partition("/")
        drill_mm = named_drill_mm(f"tap {thread}")
        assert drill_mm is not None
        share = (int(top) / int(bottom or 1) - drill_mm / 25.4) * int(pitch) / 1.299
        assert 0.64 < share < 0.85, thread
    for thread, size_mm in METRIC_TAPS_MM.items():
        size, pitch = thread[1:].split("x")
        assert size_mm == pytest.approx(float(size) - float(pitch), abs=0.06), thread
