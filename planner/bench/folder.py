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
        path = self._named(key)
        if path is None or not self._is_inside(path) or not path.is_file():
            raise none
        if self.only is not None and path.resolve() != self.only:
            raise none
        return path

    def _named(self, key: str) -> Path | None:
        """Return the path below the folder that a key names; None for one that names nothing there could be."""
        pieces = key.split("/")
        plain = not any(letter in key for letter in "\0\\") and key.endswith(".toml") and len(key) <= 500
        return self.root.joinpath(*pieces) if plain and not any(p[:1] in ("", ".") for p in pieces) else None

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
        path = self._named(key) if key.count("/") <= _DEPTH else None
        if path is None or not path.is_file() or not self._is_own(path):
            return None
        return None if is_job(sections := sections_named(path)) else (path, sections)

    def ensure_inside(self, path: Path) -> None:
        """Refuse to change a file that a job uses and that lies outside the folder.

        Raises
        ------
        InputError
            If it does.
        """
        if not self._is_inside(path):
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
