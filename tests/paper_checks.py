"""What stands on a page, read back from the PDF: letters with their places, shapes with their corners; nothing of the painter."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pdfplumber
import shapely

from planner.rotor.crankshaft import Counterweight

BIG_PT = 47.5
"""A number to be set is printed at least that large [pt]."""


@dataclass(frozen=True)
class Page:
    """A page: size [pt], letters, filled or stroked shapes; y counts down from the upper edge."""

    width: float
    height: float
    letters: list[dict[str, Any]]
    shapes: list[dict[str, Any]]
    words: str


def read_pages(data: bytes) -> list[Page]:
    """Return every page of a PDF."""
    with pdfplumber.open(io.BytesIO(data)) as document:
        return [
            Page(
                width=float(page.width),
                height=float(page.height),
                letters=[each for each in page.chars if each["text"].strip()],
                shapes=[*page.curves, *page.rects, *page.lines],
                words=" ".join(
                    word["text"] for word in page.extract_words(use_text_flow=True, x_tolerance_ratio=0.2)
                ),
            )
            for page in document.pages
        ]


def all_words(pages: Sequence[Page]) -> str:
    """Return the words of all pages in the order in which they were set."""
    return " ".join(page.words for page in pages)


def outside(page: Page, *, margin_pt: float = 12.0) -> list[str]:
    """Return the letters that stand beyond the page, or nearer to its edge than printers reach."""
    return [
        each["text"]
        for each in page.letters
        if each["x0"] < margin_pt
        or each["x1"] > page.width - margin_pt
        or each["top"] < margin_pt
        or each["bottom"] > page.height - margin_pt
    ]


def covered_letters(page: Page) -> list[str]:
    """Return pairs of letters that cover each other: the middle of one letter's box lies on the other's.

    Boxes reach from the font's ascent to its descent, more than ink: each is shrunk to its middle part.
    """
    boxes, texts = [], []
    for each in page.letters:
        wide, high = each["x1"] - each["x0"], each["bottom"] - each["top"]
        # the box of a turned letter reaches beyond the letter itself: only its middle counts
        x_in, y_in = 0.22 * wide, 0.28 * high
        if abs(each["matrix"][1]) > 1e-6:
            x_in, y_in = (max(0.0, 0.5 * side - 1.2) for side in (wide, high))
        boxes.append(
            shapely.box(each["x0"] + x_in, each["top"] + y_in, each["x1"] - x_in, each["bottom"] - y_in)
        )
        texts.append(f"{each['text']} at {each['x0']:.0f}, {each['top']:.0f}")
    if not boxes:
        return []
    first, second = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    return [
        f"{texts[one]} / {texts[other]}"
        for one, other in zip(first.tolist(), second.tolist(), strict=True)
        if one < other
        and boxes[one].intersection(boxes[other]).area > 0.15 * min(boxes[one].area, boxes[other].area)
    ]


def big_numbers(page: Page) -> list[tuple[str, str]]:
    """Return what stands in 48 pt with the label above it, down the page: ``("dial number", "213.5°")``."""
    small = [each for each in page.letters if 9.5 < each["size"] < 10.5]
    big = [each for each in page.letters if each["size"] >= BIG_PT]
    rows: list[list[dict[str, Any]]] = []
    for each in sorted(big, key=lambda letter: (round(letter["top"]), letter["x0"])):
        if rows and abs(rows[-1][-1]["top"] - each["top"]) < 3.0 and each["x0"] - rows[-1][-1]["x1"] < 25.0:
            rows[-1].append(each)
        else:
            rows.append([each])
    found = []
    for row in rows:
        left, top = row[0]["x0"], row[0]["top"]
        label = [
            each
            for each in small
            if left - 8.0 <= each["x0"] <= left + 175.0 and top - 12.0 < each["bottom"] < top + 18.0
        ]
        line = max((each["top"] for each in label), default=0.0)
        text = "".join(
            each["text"]
            for each in sorted(label, key=lambda each: each["x0"])
            if abs(each["top"] - line) < 2.0
        )
        found.append((text, "".join(each["text"] for each in row)))
    return found


def dial_numbers(words: str) -> list[float]:
    """Return every number that a text calls a dial number."""
    return [float(each) for each in re.findall(r"\bdial (\d+(?:\.\d+)?)", words)]


def filled(page: Page, colour: str) -> list[np.ndarray]:
    """Return the corners of the shapes filled with a colour (``#rrggbb``), as complex numbers with y up [pt]."""
    wanted = [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)]
    found = []
    for each in page.shapes:
        fill = each.get("non_stroking_color")
        if not each.get("fill") or not isinstance(fill, list | tuple) or len(fill) != 3:
            continue
        if max(abs(one - other) for one, other in zip(fill, wanted, strict=True)) < 0.004:
            found.append(np.array([complex(x, -y) for x, y in each["pts"]]))
    return found


def similarity(points: np.ndarray, expected: np.ndarray) -> tuple[float, complex, float]:
    """Return scale, shift and greatest distance of ``scale * expected + shift`` to points in the same order; no turn."""
    one, other = points - points.mean(), expected - expected.mean()
    scale = float((np.conj(other) * one).real.sum() / (np.abs(other) ** 2).sum())
    shift = complex(points.mean() - scale * expected.mean())
    return scale, shift, float(np.abs(scale * expected + shift - points).max())


def as_seen(points: Sequence[complex], *, turn_deg: float, viewed_from: str) -> np.ndarray:
    """Return points of the crankshaft frame turned, then seen from an end (the rear view is mirrored left to right)."""
    turned = np.array(points) * complex(math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg)))
    return turned if viewed_from == "front" else -np.conj(turned)


def outline_points(counterweight: Counterweight) -> list[complex]:
    """Return the outline of a counterweight in the crankshaft frame, closed [mm]."""
    at = math.radians(counterweight.angle_deg)
    turn = complex(math.cos(at), math.sin(at))
    points = [complex(x, y) * turn for x, y in counterweight.outline.boundary_mm]
    return points if abs(points[0] - points[-1]) < 1e-9 else [*points, points[0]]
