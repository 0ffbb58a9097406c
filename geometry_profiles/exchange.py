"""Outlines from and to drawings: corner points as CSV, DXF through ezdxf, units always explicit.

ezdxf takes 0.3 s to import, so it is imported inside the functions that need it.
"""

from __future__ import annotations

import csv
import io
import math
import stat
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from geometry_profiles.arcs import CHORD_TOLERANCE_MM
from geometry_profiles.outline import Outline, OutlineError, Point

if TYPE_CHECKING:
    from ezdxf.document import Drawing

MM_PER: dict[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""Units of a drawing -> millimetres."""
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
JOIN_MM = 0.01
"""Ends of lines and arcs this close to one another are one point [mm]."""
_DRAWN = ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE")
_OF_NO_ACCOUNT = (
    *("TEXT", "MTEXT", "DIMENSION", "LEADER", "MLEADER", "MULTILEADER", "POINT", "HATCH", "ATTDEF", "ATTRIB"),
    *("VIEWPORT", "TOLERANCE", "XLINE", "RAY"),
)
GREATEST_FILE_BYTES = 20_000_000
OUTLINE_LAYER, EXISTING_LAYER, PLANNED_LAYER, NOTES_LAYER = "OUTLINE", "EXISTING", "PLANNED_CUTS", "NOTES"


@dataclass(frozen=True, kw_only=True)
class DrawingFrame:
    """Where a drawing has the shaft axis and the centre line, in the drawing's own units and angles.

    Attributes
    ----------
    origin : (x, y)
        The shaft axis, in the drawing's units.
    centre_line_deg : float
        Direction of the centre line in the drawing, counter-clockwise [deg].
    seen_from_rear : bool
        Whether the drawing shows the counterweight from the rear of the crankshaft: it is mirrored then.
    """

    origin: Point = (0.0, 0.0)
    centre_line_deg: float = 0.0
    seen_from_rear: bool = False

    def inward(self, point: Point, *, mm_per_unit: float) -> Point:
        """Return a drawing's point in the outline's own frame [mm]."""
        x = (point[0] - self.origin[0]) * mm_per_unit
        y = (point[1] - self.origin[1]) * mm_per_unit
        turn = math.radians(self.centre_line_deg)
        x, y = x * math.cos(turn) + y * math.sin(turn), -x * math.sin(turn) + y * math.cos(turn)
        return (x, -y) if self.seen_from_rear else (x, y)

    def outward(self, point: Point, *, mm_per_unit: float) -> Point:
        """Return a point of the outline's own frame [mm] in the drawing."""
        x, y = point[0], -point[1] if self.seen_from_rear else point[1]
        turn = math.radians(self.centre_line_deg)
        x, y = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
        return self.origin[0] + x / mm_per_unit, self.origin[1] + y / mm_per_unit


@dataclass(frozen=True, kw_only=True)
class DxfRing:
    """A closed line of a drawing.

    Attributes
    ----------
    points_mm : tuple of (x, y), shape (n, 2)
        In the outline's own frame, counter-clockwise, not closed twice [mm].
    units : str
        What the drawing was read in: ``mm``, ``in``, ...
    layers : tuple of str
        All layers with something drawn on them.
    others : int
        How many further closed lines there are on the layer (inside: holes; they are not read).
    """

    points_mm: tuple[Point, ...]
    units: str
    layers: tuple[str, ...]
    others: int


def read_points_csv(path: Path | str, *, units: str = "mm") -> tuple[Point, ...]:
    """Return corners from a text file with two numbers a line, with comma, semicolon, tab or space between.

    A first line without numbers is a heading; empty lines and those that begin with ``#`` are left out.

    Parameters
    ----------
    path : Path or str
        The file.
    units : str
        Unit of its numbers: mm, cm, m, in, ft.

    Returns
    -------
    tuple of (x, y), shape (n, 2)
        As they stand [mm].

    Raises
    ------
    OutlineError
        If the file can't be read or a line is not two numbers; the line is named.
    """
    factor = _mm_per(units)
    text = _read_text(Path(path))
    points: list[Point] = []
    for number, line in enumerate(io.StringIO(text), start=1):
        plain = line.strip()
        if not plain or plain.startswith("#"):
            continue
        separator = next((each for each in (";", "\t", ",") if each in plain), None)
        parts = plain.split() if separator is None else next(csv.reader([plain], delimiter=separator))
        parts = [part.strip().replace(",", ".") if separator != "," else part.strip() for part in parts]
        try:
            x, y = (float(part) for part in parts)
        except ValueError:
            if not points and not any(_is_number(part) for part in parts):
                continue
            raise OutlineError(
                f"`{path}`, line {number}: `{plain[:60]}` is not two numbers, x and y"
            ) from None
        if not (math.isfinite(x) and math.isfinite(y)):
            raise OutlineError(f"`{path}`, line {number}: `{plain[:60]}` is not two finite numbers")
        points.append((x * factor, y * factor))
    if len(points) < 3:
        raise OutlineError(f"`{path}` has {len(points)} points, at least 3 are needed")
    if math.dist(points[0], points[-1]) < 1e-6:
        points.pop()
    return tuple(points)


def read_dxf_ring(
    path: Path | str,
    *,
    units: str | None = None,
    layer: str | None = None,
    frame: DrawingFrame | None = None,
    chord_tolerance_mm: float = CHORD_TOLERANCE_MM,
) -> DxfRing:
    """Return the outermost closed line of a DXF drawing.

    Lines, arcs, circles, polylines with their arcs, splines and ellipses are taken; texts and dimensions are left out.
    Curves become chords within the tolerance, arcs and splines alike.

    Parameters
    ----------
    path : Path or str
        The file.
    units : str, optional
        Unit of the drawing: mm, cm, m, in, ft.  Needed where the drawing does not say; must agree where it does.
    layer : str, optional
        The layer with the outline; needed where more than one layer has closed lines.
    frame : DrawingFrame, optional
        Where the drawing has the shaft axis and the centre line; its own origin and x axis when left out.
    chord_tolerance_mm : float
        How far chords may be off their curve [mm].

    Raises
    ------
    OutlineError
        If the file is no DXF, its unit is not known, the layer is not there, something on it can't be an outline, or
        nothing closes; the entity is named by its type, handle and layer.
    """
    document = _document(Path(path))
    unit = _unit_of(document, units, path)
    factor = MM_PER[unit]
    used = sorted({str(each.dxf.layer) for each in document.modelspace() if each.dxftype() in _DRAWN})
    if layer is not None and layer not in used:
        raise OutlineError(
            f"`{path}` has nothing drawn on layer `{layer}`; there is something on "
            f"{', '.join(f'`{each}`' for each in used) or 'no layer'}"
        )
    strands: list[tuple[str, str, list[Point]]] = []
    for entity in document.modelspace():
        kind = entity.dxftype()
        if (layer is not None and entity.dxf.layer != layer) or kind in _OF_NO_ACCOUNT:
            continue
        called = f"{kind} #{entity.dxf.handle} on layer `{entity.dxf.layer}`"
        if kind not in _DRAWN:
            raise OutlineError(
                f"`{path}`: {called} can't be part of an outline; explode it, or give the layer that has the outline"
            )
        strands.append(
            (called, str(entity.dxf.layer), _flat(entity, called, path, chord_tolerance_mm / factor))
        )
    if not strands:
        raise OutlineError(f"`{path}` has no lines or arcs to make an outline of")
    rings = _closed(strands, path, join=JOIN_MM / factor)
    layers_of_rings = sorted({where for where, _ in rings})
    if layer is None and len(layers_of_rings) > 1:
        raise OutlineError(
            f"`{path}` has closed lines on the layers {', '.join(f'`{each}`' for each in layers_of_rings)}; "
            "say which layer has the outline"
        )
    place = frame or DrawingFrame()
    moved = [tuple(place.inward(p, mm_per_unit=factor) for p in ring) for _, ring in rings]
    areas = [_signed_area(ring) for ring in moved]
    best = max(range(len(moved)), key=lambda index: abs(areas[index]))
    ring = moved[best] if areas[best] > 0.0 else moved[best][:1] + moved[best][:0:-1]
    return DxfRing(points_mm=ring, units=unit, layers=tuple(used), others=len(rings) - 1)


def greatest_rim_mm(points_mm: Sequence[Point], *, tolerance_mm: float = 0.03) -> float | None:
    """Return the radius of the rim that a ring of points has, None if it has none.

    The rim is where the ring runs at its greatest distance from the shaft axis: at least three points in a row within the
    tolerance of it.
    """
    radii = [math.hypot(*point) for point in points_mm]
    top = max(radii)
    on = [abs(radius - top) <= tolerance_mm for radius in radii]
    count = len(on)
    run = any(all(on[(i + k) % count] for k in range(3)) for i in range(count))
    return top if run else None


def write_dxf(
    path: Path | str,
    outline: Outline,
    *,
    planned: Iterable[DrawnCut] = (),
    existing: Iterable[DrawnCut] = (),
    notes: Sequence[str] = (),
    units: str = "mm",
    frame: DrawingFrame | None = None,
) -> None:
    """Write an outline and cuts as DXF: outline, existing cuts, planned cuts and notes on layers of their own.

    Parameters
    ----------
    path : Path or str
        The file to write.
    outline : Outline
        In its own frame [mm].
    planned, existing : iterable of DrawnCut
        What to draw on their layers, own frame [mm].
    notes : sequence of str
        Lines of text beside the drawing.
    units : str
        The drawing's unit, set in its header.
    frame : DrawingFrame, optional
        Where the drawing is to have the shaft axis and the centre line, so that it lies over the shop's own drawing.

    Raises
    ------
    OutlineError
        If the unit is not known.
    OSError
        If the file can't be written.
    """
    from ezdxf import units as dxf_units
    from ezdxf.filemanagement import new

    factor = _mm_per(units)
    place = frame or DrawingFrame()

    def at(point: Point) -> Point:
        return place.outward(point, mm_per_unit=factor)

    document = new("R2010", setup=False)
    document.units = {
        "mm": dxf_units.MM, "cm": dxf_units.CM, "m": dxf_units.M, "in": dxf_units.IN, "ft": dxf_units.FT,
    }[units]  # fmt: skip
    for name, colour in ((OUTLINE_LAYER, 7), (EXISTING_LAYER, 8), (PLANNED_LAYER, 1), (NOTES_LAYER, 3)):
        document.layers.add(name, color=colour)
    space = document.modelspace()
    space.add_lwpolyline(
        _with_bulges(outline, at, place), format="xyb", close=True, dxfattribs={"layer": OUTLINE_LAYER}
    )
    for layer, cuts in ((EXISTING_LAYER, existing), (PLANNED_LAYER, planned)):
        for cut in cuts:
            if len(cut.points_mm) == 1:
                space.add_circle(
                    at(cut.points_mm[0]), 0.5 * cut.diameter_mm / factor, dxfattribs={"layer": layer}
                )
            else:
                space.add_lwpolyline(
                    [at(point) for point in cut.points_mm], close=True, dxfattribs={"layer": layer}
                )
            for start, end in cut.lines_mm:
                space.add_line(at(start), at(end), dxfattribs={"layer": layer})
            if cut.label:
                middle = (
                    sum(p[0] for p in cut.points_mm) / len(cut.points_mm),
                    sum(p[1] for p in cut.points_mm) / len(cut.points_mm),
                )
                text = space.add_text(cut.label, height=3.0 / factor, dxfattribs={"layer": layer})
                text.set_placement(at(middle))
    for number, line in enumerate(notes):
        below = at((0.0, 0.0))
        text = space.add_text(line, height=4.0 / factor, dxfattribs={"layer": NOTES_LAYER})
        text.set_placement((below[0], below[1] - (1.2 * outline.greatest_radius_mm + 7.0 * number) / factor))
    document.saveas(path)


@dataclass(frozen=True, kw_only=True)
class DrawnCut:
    """A cut as a drawing shows it, in the outline's own frame.

    Attributes
    ----------
    points_mm : tuple of (x, y), shape (n, 2)
        One point: the middle of a circle; else the corners of its section [mm].
    diameter_mm : float
        Of a circle [mm].
    label : str
        Text beside it.
    lines_mm : tuple of ((x, y), (x, y))
        Further lines, for example the axis [mm].
    """

    points_mm: tuple[Point, ...]
    diameter_mm: float = 0.0
    label: str = ""
    lines_mm: tuple[tuple[Point, Point], ...] = ()


# --- reading -------------------------------------------------------------------------------------------------


def _mm_per(units: str) -> float:
    if units not in MM_PER:
        raise OutlineError(f"the unit `{units}` is not known; {', '.join(MM_PER)} are allowed")
    return MM_PER[units]


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _refuse_endless(path: Path) -> None:
    """Refuse what may never end, or fill the memory: a pipe, a device, a file of hundreds of megabytes."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode) and not stat.S_ISDIR(found.st_mode):
        raise OutlineError(f"`{path}` is no ordinary file")
    if found.st_size > GREATEST_FILE_BYTES:
        raise OutlineError(f"`{path}` is larger than {GREATEST_FILE_BYTES // 1_000_000} MB")


def _read_text(path: Path) -> str:
    try:
        _refuse_endless(path)
        return path.read_text(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise OutlineError(f"`{path}` can't be read: {error.strerror or error}") from error


def _document(path: Path) -> Drawing:
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        _refuse_endless(path)
        return readfile(path)
    except OSError as error:
        # ezdxf says so too where a file is no DXF at all
        words = error.strerror or "it is no DXF drawing"
        raise OutlineError(f"`{path}` can't be read: {words}") from error
    except (DXFError, ValueError, UnicodeError, IndexError, KeyError, AttributeError, TypeError) as error:
        raise OutlineError(f"`{path}` is not a sound DXF drawing: {error}") from error


def _unit_of(document: Drawing, given: str | None, path: Path | str) -> str:
    said = _INSUNITS.get(int(document.header.get("$INSUNITS", 0)))
    if given is not None:
        _mm_per(given)
        if said is not None and said != given:
            raise OutlineError(f"`{path}` says that it is drawn in {said}, and {given} is given")
        return given
    if said is None:
        raise OutlineError(
            f"`{path}` does not say its unit in a way that is known; give the units of the drawing: "
            f"{', '.join(MM_PER)}"
        )
    return said


def _flat(entity: Any, called: str, path: Path | str, tolerance: float) -> list[Point]:
    """Return an entity as points on it, closed ones with the first repeated."""
    try:
        points = _points_on(entity, tolerance)
    except Exception as error:
        raise OutlineError(f"`{path}`: {called} can't be read: {error}") from error
    if len(points) < 2 or not all(math.isfinite(x) and math.isfinite(y) for x, y in points):
        raise OutlineError(f"`{path}`: {called} has no length")
    return points


def _points_on(entity: Any, tolerance: float) -> list[Point]:
    """Return points exactly on an entity, chords within the tolerance (Bezier paths would be 0.02 mm off an arc)."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [(float(p.x), float(p.y)) for p in (entity.dxf.start, entity.dxf.end)]
    if kind in ("LWPOLYLINE", "POLYLINE"):
        chain: list[Point] = []
        for part in entity.virtual_entities():
            piece = _points_on(part, tolerance)
            # arcs of a polyline come counter-clockwise, whichever way the polyline runs
            if chain and math.dist(piece[0], chain[-1]) > math.dist(piece[-1], chain[-1]):
                piece = piece[::-1]
            chain += piece if not chain else piece[1:]
        if chain and not _starts_right(entity, chain):
            return _first_turned(entity, tolerance)
        return chain
    points = [(float(p.x), float(p.y)) for p in entity.flattening(tolerance)]
    if kind == "CIRCLE" and math.dist(points[0], points[-1]) > 0.0:
        points.append(points[0])
    return points


def _starts_right(entity: Any, chain: list[Point]) -> bool:
    first = entity.get_points("xy")[0] if entity.dxftype() == "LWPOLYLINE" else entity[0].dxf.location[:2]
    return math.dist((float(first[0]), float(first[1])), chain[0]) < 1e-9 * (1.0 + abs(chain[0][0]))


def _first_turned(entity: Any, tolerance: float) -> list[Point]:
    """Return a polyline's points where its first piece is an arc that came the other way round."""
    parts = [_points_on(part, tolerance) for part in entity.virtual_entities()]
    chain = parts[0][::-1]
    for piece in parts[1:]:
        if math.dist(piece[0], chain[-1]) > math.dist(piece[-1], chain[-1]):
            piece = piece[::-1]
        chain += piece[1:]
    return chain


def _closed(
    strands: list[tuple[str, str, list[Point]]], path: Path | str, *, join: float
) -> list[tuple[str, tuple[Point, ...]]]:
    """Return closed rings by layer: strands that close by themselves, others joined end to end.

    Raises
    ------
    OutlineError
        If an end meets nothing, or more than one other end.
    """
    rings: list[tuple[str, tuple[Point, ...]]] = []
    open_ones: list[tuple[str, str, list[Point]]] = []
    for called, layer, points in strands:
        if math.dist(points[0], points[-1]) <= join and len(points) > 3:
            rings.append((layer, _thinned(points, join)))
        else:
            open_ones.append((called, layer, points))
    loose: list[str] = []
    while open_ones:
        first_called, layer, chain = open_ones.pop(0)
        last_called = first_called
        while math.dist(chain[0], chain[-1]) > join:
            near = [
                index
                for index, (_, other, points) in enumerate(open_ones)
                if other == layer
                and min(math.dist(points[0], chain[-1]), math.dist(points[-1], chain[-1])) <= join
            ]
            if not near:
                x, y = chain[-1]
                loose.append(f"{last_called} ends at ({x:.4g}, {y:.4g}) and nothing goes on from there")
                break
            if len(near) > 1:
                x, y = chain[-1]
                names = " and ".join(open_ones[index][0] for index in near)
                raise OutlineError(
                    f"`{path}`: at ({x:.4g}, {y:.4g}) {last_called} meets {names}; an outline goes on one way only"
                )
            last_called, _, points = open_ones.pop(near[0])
            if math.dist(points[0], chain[-1]) > join:
                points = points[::-1]
            chain = chain + points[1:]
        else:
            rings.append((layer, _thinned(chain, join)))
    if not rings:
        raise OutlineError(f"`{path}`: nothing closes; {loose[0]}")
    return rings


def _thinned(points: list[Point], join: float) -> tuple[Point, ...]:
    ring: list[Point] = []
    for point in points:
        if not ring or math.dist(ring[-1], point) > 0.1 * join:
            ring.append(point)
    while len(ring) > 1 and math.dist(ring[0], ring[-1]) <= join:
        ring.pop()
    return tuple(ring)


def _signed_area(ring: Sequence[Point]) -> float:
    return 0.5 * sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(ring, (*ring[1:], ring[0]), strict=True))


# --- writing -------------------------------------------------------------------------------------------------


def _with_bulges(outline: Outline, at: Any, place: DrawingFrame) -> list[tuple[float, float, float]]:
    """Return the boundary as a polyline with arcs: every run of rim edges as one arc a quarter turn at most."""
    from geometry_profiles.outline import RIM_TOLERANCE_MM

    rim = outline.rim_radius_mm
    ring = outline.boundary_mm

    def on_rim(point: Point) -> bool:
        return rim is not None and abs(math.hypot(*point) - rim) <= RIM_TOLERANCE_MM

    def angle(point: Point) -> float:
        return math.degrees(math.atan2(point[1], point[0]))

    def rim_edge(start: Point, end: Point) -> bool:
        if not (on_rim(start) and on_rim(end)):
            return False
        sweep = (angle(end) - angle(start)) % 360.0
        middle = angle(start) + 0.5 * sweep
        return sweep < 90.0 and any(
            (middle - first) % 360.0 <= last - first + 1e-9 for first, last in outline.rim_arcs_deg
        )

    count = len(ring)
    edges = [rim_edge(ring[i], ring[(i + 1) % count]) for i in range(count)]
    start = next((i for i in range(count) if not edges[i - 1]), 0)
    vertices: list[tuple[float, float, float]] = []
    index = 0
    while index < count:
        here = (start + index) % count
        point = ring[here]
        run, sweep = 0, 0.0
        while index + run < count and edges[(start + index + run) % count]:
            following = ring[(start + index + run + 1) % count]
            step = (angle(following) - angle(ring[(start + index + run) % count])) % 360.0
            if run and sweep + step > 90.0:
                break
            sweep, run = sweep + step, run + 1
        bulge = math.tan(math.radians(sweep) / 4.0) if run else 0.0
        x, y = at(point)
        vertices.append((x, y, -bulge if place.seen_from_rear else bulge))
        index += max(run, 1)
    return vertices
