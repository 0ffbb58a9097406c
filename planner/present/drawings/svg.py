"""A figure as SVG inside another document: on paper with its letters as text, in HTML with its letters as outlines."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

from planner.present.drawings.save import METADATA, SETTINGS, quiet_about_glyphs

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def paper_svg(figure: Figure) -> str:
    """Return a figure as an SVG document whose texts are texts: what sets the page has the same letters."""
    return _saved(figure, {**SETTINGS, "svg.fonttype": "none"})


def _saved(figure: Figure, settings: Any) -> str:
    import matplotlib as mpl

    held = io.BytesIO()
    with mpl.rc_context(settings), quiet_about_glyphs():
        figure.savefig(held, format="svg", metadata=METADATA[".svg"])
    return held.getvalue().decode("utf-8")


def svg_inside(figure: Figure, *, prefix: str) -> str:
    """Return what stands inside a figure's SVG, its ids made unique by a prefix, without outside links.

    What matplotlib calls the artist (its ``gid``) becomes ``data-part``, because an id may hold no blanks.
    """
    return prefixed(_saved(figure, SETTINGS), prefix=prefix)


def prefixed(svg: str, *, prefix: str) -> str:
    """Return what stands inside an SVG of matplotlib's, ids and their uses prefixed, for use in another document."""
    from xml.etree import ElementTree

    root = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", svg))
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.endswith("}metadata"):
                parent.remove(child)
    used = set(_ANY_USE.findall(svg))
    for element in root.iter():
        _renamed(element, prefix, used)
    inside = "".join(ElementTree.tostring(child, encoding="unicode") for child in root)
    return _LONG_NUMBER.sub(_shorter, inside)


def letters_once(body: str) -> str:
    """Return markup in which every letter and hatch is defined once, by the first drawing that has it."""
    told: set[str] = set()

    def first(found: re.Match[str]) -> str:
        name = found[1] or found[2]
        if name in told:
            return ""
        told.add(name)
        return found[0]

    return _ONCE.sub(first, body)


def _shorter(found: re.Match[str]) -> str:
    """Return a number without digits that nobody sees (a drawing's unit is 1/72 in)."""
    value = float(found[0])
    return f"{value:.5g}" if abs(value) < 1.0 else f"{round(value, 2):g}"


_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}(?![\d%])")
SHARED = re.compile(r"DejaVuSans[\w-]*|h[0-9a-f]{10}")
"""Ids of letters and hatches (made from what they hold): the same in every drawing, they need not be told twice."""

_ONCE = re.compile(r'<path id="(DejaVuSans[^"]*)"[^>]*/>|<pattern id="(h[0-9a-f]{10})".*?</pattern>', re.S)
_USE = re.compile(r"url\(#([^)]+)\)")


_ANY_USE = re.compile(r"(?:url\(|href=\")#([^)\"]+)")
_AUTOMATIC = re.compile(r"[\w.]+_\d+")  # what matplotlib calls an artist that has no name


def _renamed(element: Any, prefix: str, used: set[str]) -> None:
    """Strip namespaces (HTML and a nested svg need none) and prefix the ids that are used; the others are names."""

    def shared(name: str) -> str:
        return name if SHARED.fullmatch(name) else prefix + name

    element.tag = element.tag.rpartition("}")[2]
    for key, value in list(element.attrib.items()):
        del element.attrib[key]
        plain = key.rpartition("}")[2]
        if plain == "id":
            if value in used:
                element.set("id", shared(value))
            elif not _AUTOMATIC.fullmatch(value):
                element.set("data-part", value)
        elif plain == "href":
            name = value.removeprefix("#")
            if name != value:
                element.set("href", f"#{shared(name)}")
        else:
            element.set(plain, _USE.sub(lambda found: f"url(#{shared(found[1])})", value))
