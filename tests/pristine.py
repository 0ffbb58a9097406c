"""Copies of the examples as they were given out: who tried the README's command here has a plan in one of them."""

from __future__ import annotations

from pathlib import Path


def drop_plans(folder: Path) -> None:
    """Take the stored plan out of every job below a folder."""
    for job in folder.rglob("job.toml"):
        job.write_text(job.read_text(encoding="utf-8").split("\n[plan]")[0], encoding="utf-8")
