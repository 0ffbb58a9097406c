"""The folder that the page works in: which jobs are there, and nothing outside of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from planner.errors import InputError
from planner.jobfile.find import is_job, job_files, sections_named

_DEPTH = 2
_MOST_JOBS = 2000


class NotThereError(InputError):
    """There is no such job in the folder."""


@dataclass(frozen=True)
class Folder:
    """A folder of jobs; ``only`` where the page was opened for one job.

    Attributes
    ----------
    root : Path
        The folder, links resolved.
    only : Path or None
        The one job file that is shown.
    """

    root: Path
    only: Path | None = None

    def keys(self) -> list[str]:
        """Return the jobs as they are called in addresses: the path below the folder, with ``/``."""
        if self.only is not None:
            return [self.key_of(self.only)]
        return [self.key_of(path) for path in self._found()][:_MOST_JOBS]

    def key_of(self, path: Path) -> str:
        """Return what a job file is called in addresses."""
        return path.relative_to(self.root).as_posix()

    def path_of(self, key: str) -> Path:
        """Return the job file of a name that came with an address.

        Raises
        ------
        NotThereError
            If it is none in the folder: also where the name, or a link, leads out of it.
        """
        none = NotThereError(
            f"there is no job `{key[:80]}` in this folder", hint="the list of jobs shows what is there"
        )
        if "\0" in key or "\\" in key or not key.endswith(".toml") or len(key) > 500:
            raise none
        pieces = key.split("/")
        if any(piece in ("", ".", "..") or piece.startswith(".") for piece in pieces):
            raise none
        path = self.root.joinpath(*pieces)
        try:
            real = path.resolve(strict=True)
        except (OSError, RuntimeError):
            raise none from None
        if not real.is_relative_to(self.root) or not real.is_file():
            raise none
        if self.only is not None and real != self.only:
            raise none
        return path

    def others(self) -> Iterator[tuple[Path, frozenset[str]]]:
        """Yield the TOML files of the folder that are no jobs, with their sections: what jobs use, a shop's or a crankshaft's."""
        for each in self.toml_files():
            if not is_job(sections := sections_named(each)):
                yield each, sections

    def toml_files(self) -> Iterator[Path]:
        """Yield the TOML files of the folder, jobs and others."""
        for folder in self._folders():
            try:
                found = sorted(each for each in folder.glob("*.toml") if each.is_file())
            except OSError:
                continue
            yield from (each for each in found if self._is_own(each))

    def other_of(self, key: str) -> tuple[Path, frozenset[str]] | None:
        """Return one of `others` by its path below the folder; None where it is none of them."""
        pieces = key.split("/")
        if "\0" in key or len(key) > 500 or len(pieces) > _DEPTH + 1 or not key.endswith(".toml"):
            return None
        if any(piece in ("", ".", "..") or piece.startswith(".") or "\\" in piece for piece in pieces):
            return None
        path = self.root.joinpath(*pieces)
        if not path.is_file() or not self._is_own(path) or is_job(sections := sections_named(path)):
            return None
        return path, sections

    def ensure_inside(self, path: Path) -> None:
        """Refuse to change a file that a job uses and that lies outside the folder.

        Raises
        ------
        InputError
            If it does.
        """
        try:
            real = path.resolve(strict=True)
        except (OSError, RuntimeError):
            real = None
        if real is None or not real.is_relative_to(self.root):
            raise InputError(
                f"`{path.name}`, which this job uses, is outside the folder of this page: it is not changed from here",
                hint="open the page for a folder that holds both",
            )

    def _found(self) -> Iterator[Path]:
        for folder in self._folders():
            try:
                yield from (each for each in job_files(folder) if self._is_inside(each))
            except OSError:
                continue

    def _folders(self) -> Iterator[Path]:
        level = [self.root]
        for _ in range(_DEPTH + 1):
            below: list[Path] = []
            for folder in level:
                yield folder
                try:
                    below += [each for each in sorted(folder.iterdir()) if self._is_folder(each)]
                except OSError:
                    continue
            level = below

    def _is_inside(self, path: Path) -> bool:
        try:
            return path.resolve(strict=True).is_relative_to(self.root)
        except (OSError, RuntimeError):
            return False

    def _is_own(self, path: Path) -> bool:
        return not path.name.startswith(".") and self._is_inside(path)

    def _is_folder(self, path: Path) -> bool:
        return not path.name.startswith(".") and not path.is_symlink() and path.is_dir()


def address(key: str, part: str = "") -> str:
    """Return the address of a job's part: ``/job/v8/job.toml/spin``."""
    return f"/job/{quote(key)}" + (f"/{part}" if part else "")
