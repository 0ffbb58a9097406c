"""Measuring drawings: artists by their id, texts as the rectangles that they really cover."""

from __future__ import annotations

import cmath
import math

import shapely
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Polygon
from matplotlib.text import Text

OVERLAP_PX2 = 1.0
"""Texts that share less area than this [pixels squared] only touch."""


def named(owner: Axes | Figure, gid: str) -> Artist:
    """Return the one artist with that id."""
    found = owner.findobj(lambda artist: artist.get_gid() == gid, include_self=False)
    assert len(found) == 1, f"{len(found)} artists are called {gid!r}"
    return found[0]


def corners(patch: Artist) -> list[complex]:
    """Return a polygon's corners in data units."""
    assert isinstance(patch, Polygon)
    return [complex(x, y) for x, y in patch.get_xy()[:-1]]


def angle_of(point: complex) -> float:
    """Return a point's angle [deg], 0 to 360."""
    return math.degrees(cmath.phase(point)) % 360.0


def texts_of(figure: Figure) -> list[Text]:
    """Return every text that shows something."""
    return [text for text in figure.findobj(Text) if text.get_text().strip() and text.get_visible()]


def covered(text: Text) -> shapely.Polygon:
    """Return the rectangle that a text covers [pixels]; turned texts as turned rectangles."""
    angle = text.get_rotation()
    text.set_rotation(0.0)
    try:
        flat = shapely.box(*text.get_window_extent().extents)
    finally:
        text.set_rotation(angle)
    anchor = text.get_transform().transform(text.get_position())
    return shapely.affinity.rotate(flat, angle, origin=tuple(anchor))


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Return the pairs of texts that cover each other."""
    boxes = [(text.get_text(), covered(text)) for text in texts_of(figure)]
    shapes = [box for _, box in boxes]
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    return [
        (boxes[one][0], boxes[other][0])
        for one, other in sorted(zip(first.tolist(), second.tolist(), strict=True))
        if one < other and shapes[one].intersection(shapes[other]).area > OVERLAP_PX2
    ]


def outside(figure: Figure) -> list[str]:
    """Return the texts that run out of the figure."""
    page = shapely.box(*figure.bbox.extents)
    return [text.get_text() for text in texts_of(figure) if not page.covers(covered(text))]


def outside_axes(ax: Axes) -> list[str]:
    """Return the texts of a drawing (title and axis label apart) that run out of its axes."""
    inside = shapely.box(*ax.get_window_extent().extents).buffer(1.0)
    return [text.get_text() for text in ax.texts if text.get_text() and not inside.covers(covered(text))]


def covered_by_compass(ax: Axes) -> list[str]:
    """Return the shapes of a counterweight that lie under the compass's numbers."""
    to_pixels = ax.transData
    numbers = [text for text in ax.texts if str(text.get_gid()).startswith("compass")]
    found = []
    for patch in ax.patches:
        gid = str(patch.get_gid())
        if gid.startswith(("compass", "arrow")) or not isinstance(patch, Patch):
            continue
        path = patch.get_patch_transform().transform_path(patch.get_path())
        for points in to_pixels.transform_path(path).to_polygons():
            shape = shapely.Polygon(points).buffer(0.0)
            if any(shape.intersects(covered(number)) for number in numbers):
                found.append(gid)
    return found
