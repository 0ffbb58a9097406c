"""The page in a real Chromium, driven by Playwright; where there is none these tests are skipped and say so."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.pristine import drop_plans

EXAMPLES = Path(__file__).parents[2] / "examples"
_NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")


def chromium() -> str | None:
    """Return the browser of this machine."""
    return next((found for found in map(shutil.which, _NAMES) if found), None)


def serve(folder: Path, *options: str) -> tuple[subprocess.Popen[str], str]:
    """Start the page for a folder; return the process and the page's address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "planner", "bench", str(folder), "--no-browser", *options],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONUNBUFFERED": "1", "XDG_STATE_HOME": str(folder / ".state")},
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://[^ ]+", line)
    assert found is not None, line
    return process, found[0]


@pytest.fixture(scope="session")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that the page of all tests serves."""
    return tmp_path_factory.mktemp("jobs")


@pytest.fixture(scope="session")
def address(root: Path) -> Iterator[str]:
    """The page's address, without the slash at its end."""
    if chromium() is None:
        pytest.skip("there is no Chromium on this machine (Debian: apt-get install chromium)")
    process, link = serve(root)
    yield link.rstrip("/")
    process.terminate()
    process.wait(10)
    assert process.stdout is not None
    process.stdout.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The browser."""
    path = chromium()
    if path is None:
        pytest.skip("there is no Chromium on this machine (Debian: apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def jobs(root: Path, request: pytest.FixtureRequest) -> Path:
    """This test's own folder below the one that is served, with copies of the examples."""
    own = root / re.sub(r"\W+", "_", request.node.name)[:60]
    shutil.copytree(EXAMPLES, own, ignore=shutil.ignore_patterns("notebooks", "*.png"))
    drop_plans(own / "cross_plane_v8")
    return own


@pytest.fixture
def tab(browser: Any, address: str) -> Iterator[Any]:
    """A tab at tablet size; at its end nothing was asked of another machine and no error stood in its console."""
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    faults: list[str] = []
    watch(page, address, faults)
    yield page
    context.close()
    assert not faults, faults


def watch(page: Any, address: str, faults: list[str]) -> None:
    """Note what a tab must not do."""

    def asked(request: Any) -> None:
        if not request.url.startswith((address, "data:", "blob:", "about:")):
            faults.append(f"asked of another machine: {request.url}")

    page.on("request", asked)
    page.on("pageerror", lambda error: faults.append(f"script: {error}"))
    # a browser notes every answer that is no success there, which a question or a conflict is not
    page.on(
        "console",
        lambda said: (
            faults.append(f"console: {said.text}")
            if said.type == "error" and "Failed to load resource" not in said.text
            else None
        ),
    )
