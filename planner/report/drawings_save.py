"""Saving a figure: the ending says the format, equal figures give equal bytes, a file is replaced in one step."""

from __future__ import annotations

import contextlib
import os
import tempfile
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.errors import InputError
from planner.report import style

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
def in_one_step(target: Path) -> Iterator[Path]:
    """Give a file to write to, which takes the target's place at the end, or leaves it as it was.

    Raises
    ------
    InputError
        If the file can't be written there.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=".drawing-", suffix=target.suffix, dir=target.parent)
        os.close(handle)
    except OSError as error:
        raise _unwritable(target, error) from error
    half_done = Path(name)
    try:
        yield half_done
        half_done.chmod(0o666 & ~_umask())
        half_done.replace(target)
    except OSError as error:
        raise _unwritable(target, error) from error
    finally:
        half_done.unlink(missing_ok=True)


@contextlib.contextmanager
def quiet_about_glyphs() -> Iterator[None]:
    """A name in a script that the font lacks shows boxes; that is no reason to fail or to print."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def _unwritable(target: Path, error: OSError) -> InputError:
    return InputError(
        f"`{target}` can't be written: {error.strerror or error}",
        hint="choose a folder that exists and where you may write",
    )


def _umask() -> int:
    """Return the process's file mode mask: a temporary file is private, a drawing is not."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
