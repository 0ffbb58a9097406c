"""Saving a figure: the ending says the format, equal figures give equal bytes, a file is replaced in one step."""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.files import in_one_step
from planner.present.drawings import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ENDINGS = (".png", ".svg", ".pdf")

# No dates, no program versions: the same figure is the same file tomorrow
METADATA: dict[str, dict[str, Any]] = {
    ".png": {"Software": None},
    ".svg": {"Date": None, "Creator": None},
    ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
SETTINGS: Any = {"svg.hashsalt": "bobplan", "svg.fonttype": "path", "pdf.fonttype": 42}


def save_figure(figure: Figure, path: Path | str) -> Path:
    """Write a figure as PNG, SVG or PDF, by the ending of the path.

    Parameters
    ----------
    figure : matplotlib Figure
        For example of `plan_figure`.
    path : Path or str
        Where to; what is there already is replaced in one step, or not at all.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    InputError
        If the ending is none of .png, .svg and .pdf, or the file can't be written there.
    """
    import matplotlib as mpl

    target = Path(path)
    ending = target.suffix.lower()
    if ending not in ENDINGS:
        raise InputError(
            f"`{target.name}` can't be drawn: {', '.join(ENDINGS[:-1])} and {ENDINGS[-1]} are allowed as endings",
            hint=f"write for example `{target.stem or 'plan'}.pdf`",
        )
    with in_one_step(target) as half_done, mpl.rc_context(SETTINGS), quiet_about_glyphs():
        figure.savefig(half_done, format=ending[1:], dpi=style.DOTS_PER_INCH, metadata=METADATA[ending])
    return target


@contextlib.contextmanager
def quiet_about_glyphs() -> Iterator[None]:
    """A name in a script that the font lacks shows boxes; that is no reason to fail or to print."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield
