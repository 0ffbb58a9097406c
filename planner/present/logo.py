"""The shop's logo: a picture file as a part of a page that needs nothing from outside."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from pathlib import Path

from planner.errors import InputError

_MOST_BYTES = 3_000_000
_KINDS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}


@dataclass(frozen=True, kw_only=True)
class Logo:
    """A picture as an address that holds it whole (``data:``), its kind, and its width over its height."""

    address: str
    kind: str
    aspect: float


def read_logo(path: Path) -> Logo:
    """Return a PNG, JPEG or SVG picture.

    Raises
    ------
    InputError
        If there is no such file, it is none of these, or larger than 3 MB.
    """
    hint = "logo under [shop_details] names a PNG, JPEG or SVG file beside the file that it stands in"
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(f"the logo `{path}` can't be read: {error.strerror or error}", hint=hint) from error
    if len(data) > _MOST_BYTES:
        raise InputError(
            f"the logo `{path}` has {len(data) / 1e6:.1f} MB; at most 3 MB are allowed", hint=hint
        )
    kind = next((kind for start, kind in _KINDS.items() if data.startswith(start)), "")
    if not kind and b"<svg" in data[:2000]:
        kind = "image/svg+xml"
    try:
        aspect = _svg_aspect(data) if kind == "image/svg+xml" else _aspect(path) if kind else 0.0
    except (ValueError, OSError, SyntaxError):
        aspect = 0.0
    if not 0.02 < aspect < 50.0:
        raise InputError(f"the logo `{path}` is no PNG, JPEG or SVG picture that can be shown", hint=hint)
    return Logo(
        address=f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}", kind=kind, aspect=aspect
    )


def _aspect(path: Path) -> float:
    from matplotlib.image import imread

    high, wide = imread(path).shape[:2]
    return float(wide / high)


def _svg_aspect(data: bytes) -> float:
    from xml.etree import ElementTree

    root = ElementTree.fromstring(data)
    box = root.get("viewBox", "").replace(",", " ").split()
    if len(box) == 4:
        return float(box[2]) / float(box[3])
    wide, high = (
        "".join(letter for letter in root.get(key, "") if letter.isdigit() or letter == ".")
        for key in ("width", "height")
    )
    return float(wide) / float(high)


def as_svg(logo: Logo) -> str:
    """Return an SVG document that holds the picture, for what can take in SVG only."""
    wide = 100.0 * logo.aspect
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 {wide:g} 100" '
        f'width="{wide:g}" height="100"><image width="{wide:g}" height="100" xlink:href="{logo.address}"/></svg>'
    )
