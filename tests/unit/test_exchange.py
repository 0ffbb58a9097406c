"""Outlines from and to drawings: DXF there and back with a second reader, CSV, units, entities named in faults."""

from __future__ import annotations

import math
import os
from pathlib import Path

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc

from geometry_profiles import shapes
from geometry_profiles.area_properties import area_properties
from geometry_profiles.exchange import (
    DrawingFrame,
    DrawnCut,
    greatest_rim_mm,
    read_dxf_ring,
    read_points_csv,
    write_dxf,
)
from geometry_profiles.outline import Outline, OutlineError

FRAMES = {
    "own": (DrawingFrame(), "mm"),
    "moved, turned, in inches": (DrawingFrame(origin=(3.0, -2.0), centre_line_deg=37.0), "in"),
    "seen from the rear": (
        DrawingFrame(origin=(100.0, 50.0), centre_line_deg=-90.0, seen_from_rear=True),
        "mm",
    ),
}
OUTLINES = {
    "fan": shapes.fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    "stepped": shapes.stepped_fan(
        outer_radius_mm=88.0, half_angle_deg=50.0, inner_radius_mm=36.0, steps=[(60.0, 70.0)]
    ),
    "disc": shapes.disc(outer_radius_mm=80.0, inner_radius_mm=30.0),
    "trimmed disc": shapes.trimmed_disc(outer_radius_mm=88.0, inner_radius_mm=36.0, flats=[(70.0, 20.0)]),
}


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("name", OUTLINES)
def test_there_and_back(name: str, frame: str, tmp_path: Path) -> None:
    outline, (place, units) = OUTLINES[name], FRAMES[frame]
    file = tmp_path / "plate.dxf"
    write_dxf(file, outline, units=units, frame=place)
    ring = read_dxf_ring(file, frame=place, layer="OUTLINE")
    assert ring.units == units
    rim = greatest_rim_mm(ring.points_mm)
    assert rim == pytest.approx(outline.rim_radius_mm, abs=1e-6)
    again = shapes.points(ring.points_mm, inner_radius_mm=outline.inner_radius_mm, rim_radius_mm=rim)
    ours, theirs = area_properties(outline), area_properties(again)
    assert theirs.area_mm2 == pytest.approx(ours.area_mm2, rel=1e-9)
    assert theirs.first_moment_x_mm3 == pytest.approx(ours.first_moment_x_mm3, abs=1e-3)
    assert theirs.first_moment_y_mm3 == pytest.approx(ours.first_moment_y_mm3, abs=1e-3)
    spans = sorted(end - start for start, end in again.rim_arcs_deg)
    assert spans == pytest.approx(sorted(end - start for start, end in outline.rim_arcs_deg), abs=1e-6)


@pytest.mark.parametrize("frame", FRAMES)
def test_a_second_reader_sees_the_same(frame: str, tmp_path: Path) -> None:
    """The file's bare group codes, read here without any library, and the area with bulges by the textbook's segment."""
    place, units = FRAMES[frame]
    outline = OUTLINES["stepped"]
    file = tmp_path / "plate.dxf"
    write_dxf(
        file,
        outline,
        units=units,
        frame=place,
        planned=[DrawnCut(points_mm=((70.0, 10.0),), diameter_mm=14.0)],
    )
    lines = [line.strip() for line in file.read_text(encoding="utf-8").splitlines()]
    pairs = list(zip(lines[::2], lines[1::2], strict=True))
    start = pairs.index(("0", "LWPOLYLINE"))
    vertices: list[list[float]] = []
    for code, value in pairs[start + 1 :]:
        if code == "0":
            break
        if code == "10":
            vertices.append([float(value), 0.0, 0.0])
        elif code == "20":
            vertices[-1][1] = float(value)
        elif code == "42":
            vertices[-1][2] = float(value)
    area = 0.0
    for (x1, y1, bulge), (x2, y2, _) in zip(vertices, [*vertices[1:], vertices[0]], strict=True):
        area += 0.5 * (x1 * y2 - x2 * y1)
        if bulge:
            sweep = 4.0 * math.atan(bulge)
            radius = math.hypot(x2 - x1, y2 - y1) / (2.0 * math.sin(sweep / 2.0))
            area += 0.5 * radius * radius * (sweep - math.sin(sweep))
    mm = 25.4 if units == "in" else 1.0
    # two ring sectors; at the step and the body the outline has chords, and so has the drawing
    exact = math.radians(50.0) * (88.0**2 - 60.0**2) + math.radians(70.0) * (60.0**2 - 36.0**2)
    assert abs(area) * mm * mm == pytest.approx(exact, rel=2e-4)
    assert sum(bulge != 0.0 for _, _, bulge in vertices) == 2
    circle = pairs.index(("0", "CIRCLE"))
    own = dict(pairs[circle + 1 : circle + 30])
    assert own["8"] == "PLANNED_CUTS"
    assert float(own["40"]) * mm == pytest.approx(7.0)
    assert pairs[pairs.index(("9", "$INSUNITS")) + 1] == ("70", "1" if units == "in" else "4")
    x, y = float(own["10"]), float(own["20"])
    assert place.inward((x, y), mm_per_unit=mm) == pytest.approx((70.0, 10.0), abs=1e-9)


def _drawn(tmp_path: Path, draw, *, units: int = 4) -> Path:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    file = tmp_path / "drawn.dxf"
    document.saveas(file)
    return file


def _fan_of_lines_and_arcs(space) -> None:
    """A fan drawn the usual way: two arcs, two lines, in any order and either way round; an inner hole beside."""
    point = [
        (r * math.cos(math.radians(a)), r * math.sin(math.radians(a))) for r in (36, 88) for a in (-50, 50)
    ]
    space.add_line(point[3], point[1])
    space.add_arc((0, 0), 88, -50, 50)
    space.add_line(point[0], point[2])
    space.add_arc((0, 0), 36, -50, 50)
    space.add_circle((60, 0), 6)
    space.add_text("not to scale")


def test_lines_and_arcs_are_joined_end_to_end(tmp_path: Path) -> None:
    ring = read_dxf_ring(_drawn(tmp_path, _fan_of_lines_and_arcs))
    assert ring.others == 1
    made = shapes.points(ring.points_mm, inner_radius_mm=36.0, rim_radius_mm=88.0)
    exact = math.radians(50.0) * (88.0**2 - 36.0**2)
    assert area_properties(made).area_mm2 == pytest.approx(exact, rel=2e-5)
    assert made.rim_arcs_deg[0] == pytest.approx((-50.0, 50.0), abs=1e-9)


@pytest.mark.parametrize("tolerance", [0.05, 0.001])
def test_splines_and_ellipses_become_chords_within_the_tolerance(tolerance: float, tmp_path: Path) -> None:
    """Points of an ellipse lie on it, and no chord's middle is further inside than the tolerance (times two, sampled)."""

    def draw(space) -> None:
        space.add_ellipse((0, 0), (80, 0), 0.6)

    ring = read_dxf_ring(_drawn(tmp_path, draw), chord_tolerance_mm=tolerance)
    points = ring.points_mm
    worst = max(abs((x / 80.0) ** 2 + (y / 48.0) ** 2 - 1.0) for x, y in points)
    assert worst < 1e-9
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        x, y = 0.5 * (x1 + x2), 0.5 * (y1 + y2)
        inside = math.hypot(x, y) * (1.0 / math.hypot(x / 80.0, y / 48.0) - 1.0)
        assert inside < 2.0 * tolerance

    def curve(space) -> None:
        space.add_spline([(80, -20), (90, 0), (80, 20), (40, 15)])
        space.add_line((40, 15), (40, -15))
        space.add_line((40, -15), (80, -20))

    assert len(read_dxf_ring(_drawn(tmp_path, curve), chord_tolerance_mm=tolerance).points_mm) > 10


def test_a_polyline_with_arcs_either_way_round(tmp_path: Path) -> None:
    for sign in (1.0, -1.0):

        def draw(space, sign: float = sign) -> None:
            ring = [
                (80.0, -sign * 20.0, sign * 0.3),
                (80.0, sign * 20.0, 0.0),
                (30.0, sign * 20.0, 0.0),
                (30.0, -sign * 20.0, 0.0),
            ]
            space.add_lwpolyline(ring, format="xyb", close=True)

        points = read_dxf_ring(_drawn(tmp_path, draw)).points_mm
        _, _, _, radius = bulge_to_arc((80.0, -20.0), (80.0, 20.0), 0.3)
        sweep = 4.0 * math.atan(0.3)
        exact = 50.0 * 40.0 + 0.5 * radius**2 * (sweep - math.sin(sweep))
        area = 0.5 * sum(
            x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True)
        )
        assert area == pytest.approx(exact, rel=1e-3)
        assert max(x for x, _ in points) == pytest.approx(80.0 + 0.3 * 20.0, abs=0.02)


@pytest.mark.parametrize(
    ("draw", "units", "options", "words"),
    [
        (_fan_of_lines_and_arcs, 0, {}, "does not say its unit"),
        (_fan_of_lines_and_arcs, 4, {"units": "in"}, "drawn in mm, and in is given"),
        (_fan_of_lines_and_arcs, 4, {"units": "furlong"}, "`furlong` is not known"),
        (
            _fan_of_lines_and_arcs,
            4,
            {"layer": "RIM"},
            "nothing drawn on layer `RIM`; there is something on `0`",
        ),
        (
            lambda s: s.add_line((0, 0), (9, 0)),
            4,
            {},
            r"nothing closes; LINE #\w+ on layer `0` ends at \(9, 0\)",
        ),
        (lambda s: s.add_text("empty"), 4, {}, "no lines or arcs"),
        (
            lambda s: (s.add_circle((0, 0), 80), s.add_circle((0, 0), 90, dxfattribs={"layer": "B"})),
            4,
            {},
            "closed lines on the layers `0`, `B`; say which",
        ),
        (
            lambda s: s.add_blockref("FRAME", (0, 0)),
            4,
            {},
            r"INSERT #\w+ on layer `0` can't be part of an outline",
        ),
        (
            lambda s: [s.add_line((0, 0), e) for e in ((9, 0), (9, 9), (0, 9))],
            4,
            {},
            "goes on one way only|nothing closes",
        ),
    ],
)
def test_faults_name_the_entity(draw, units, options, words, tmp_path: Path) -> None:
    file = _drawn(tmp_path, draw, units=units)
    with pytest.raises(OutlineError, match=words):
        read_dxf_ring(file, **options)


def test_a_unitless_drawing_is_read_in_the_unit_given(tmp_path: Path) -> None:
    ring = read_dxf_ring(_drawn(tmp_path, _fan_of_lines_and_arcs, units=0), units="in")
    assert max(x for x, _ in ring.points_mm) == pytest.approx(88.0 * 25.4)


def test_what_is_no_drawing_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(OutlineError, match="can't be read"):
        read_dxf_ring(tmp_path / "missing.dxf")
    text = tmp_path / "text.dxf"
    text.write_text("this is no drawing\n" * 20, encoding="utf-8")
    with pytest.raises(OutlineError, match=r"no DXF drawing|not a sound DXF"):
        read_dxf_ring(text)


@pytest.mark.parametrize(
    "text",
    [
        "x,y\n30,-40\n80,-30\n80,30\n30,40\n",
        "# measured\n30;-40\n80;-30\n\n80;30\n30;40\n30;-40\n",
        "30 -40\n80 -30\n80 30\n30 40\n",
        "30,0;-40,0\n80,0;-30,0\n80,0;30,0\n30,0;40,0\n",
    ],
)
def test_points_from_a_text_file(text: str, tmp_path: Path) -> None:
    file = tmp_path / "points.csv"
    file.write_text(text, encoding="utf-8")
    assert read_points_csv(file) == ((30.0, -40.0), (80.0, -30.0), (80.0, 30.0), (30.0, 40.0))
    assert read_points_csv(file, units="in")[0] == pytest.approx((762.0, -1016.0))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1,2\n3,4,5\n", "line 2: `3,4,5` is not two numbers"),
        ("1,2\nmiddle,3\n", "line 2: `middle,3`"),
        ("1,2\n3,4\n", "2 points, at least 3"),
        ("1,2\n3,nan\n5,6\n", "two finite numbers"),
    ],
)
def test_a_bad_line_is_named(text: str, words: str, tmp_path: Path) -> None:
    file = tmp_path / "points.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(OutlineError, match=words):
        read_points_csv(file)


def test_a_ring_without_a_rim_has_none() -> None:
    assert greatest_rim_mm([(30.0, -40.0), (80.0, -30.0), (80.0, 30.0), (30.0, 40.0)]) is None
    assert isinstance(OUTLINES["fan"], Outline)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
@pytest.mark.parametrize("ending", ["csv", "dxf"])
def test_a_pipe_is_no_drawing(tmp_path: Path, ending: str) -> None:
    """It is refused, not waited for."""
    pipe = tmp_path / f"pipe.{ending}"
    os.mkfifo(pipe)
    with pytest.raises(OutlineError, match="is no ordinary file"):
        read_points_csv(pipe) if ending == "csv" else read_dxf_ring(pipe)
