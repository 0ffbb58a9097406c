"""The shop's logo: a picture file as a part of a page that needs nothing from outside."""

from __future__ import annotations

import base64
import io

from planner.errors import InputError
from planner.files import TooLargeError, read_bytes
from planner.jobfile.job import Job
from planner.jobfile.shop_folders import may_use
from planner.records import dataclass

_MOST_BYTES = 3_000_000
_KINDS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}


@dataclass(frozen=True, kw_only=True)
class Logo:
    """A picture as an address that holds it whole (``data:``), its kind, and its width over its height."""

    address: str
    kind: str
    aspect: float


def logo_of(job: Job) -> Logo | None:
    """Return the shop's PNG, JPEG or SVG picture; None where it has none.

    Raises
    ------
    InputError
        If there is no such file, it is none of these, larger than 3 MB, or outside the folders that a job may use: a job
        file may come from anybody, and what it names is shown.
    """
    path = job.shop_details.logo
    if path is None:
        return None
    hint = "logo under [shop_details] names a PNG, JPEG or SVG file beside the file that it stands in"
    try:
        if not may_use(path, job_folder=job.files.job.parent):
            raise InputError(
                f"the logo `{path}` is outside the job's folder and no shop folder has it",
                hint="put it there, or state its folder (see README, shop folders)",
            )
        data = read_bytes(path, greatest_bytes=_MOST_BYTES)
    except TooLargeError as error:
        raise InputError(
            f"the logo `{path}` has {error.size_bytes / 1e6:.1f} MB; at most 3 MB are allowed", hint=hint
        ) from error
    except OSError as error:
        why = error.strerror or error
        raise InputError(f"the logo `{path}` can't be read: {why}", hint=hint) from error
    kind = next((kind for start, kind in _KINDS.items() if data.startswith(start)), "")
    if not kind and b"<svg" in data[:2000]:
        kind = "image/svg+xml"
    try:
        aspect = _svg_aspect(data) if kind == "image/svg+xml" else _aspect(data) if kind else 0.0
    except (ValueError, OSError, SyntaxError):
        aspect = 0.0
    if not 0.02 < aspect < 50.0:
        raise InputError(f"the logo `{path}` is no PNG, JPEG or SVG picture that can be shown", hint=hint)
    return Logo(
        address=f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}", kind=kind, aspect=aspect
    )


def _aspect(data: bytes) -> float:
    from PIL import Image

    # the size stands at the beginning: a picture of gigabytes is never unpacked to learn it
    with Image.open(io.BytesIO(data)) as picture:
        wide, high = picture.size
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
