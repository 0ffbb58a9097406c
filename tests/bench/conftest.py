"""A folder of jobs, and its page: without a browser (`page`), and in one (`browser_page`)."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from bench_pages import Page
from starlette.testclient import TestClient

from planner.bench.app import make_app
from planner.bench.folder import Folder
from planner.bench.guard import Guard
from planner.bench.planning import Planner
from tests.pristine import drop_plans

EXAMPLES = Path(__file__).parents[2] / "examples"
ADDRESS = "http://127.0.0.1:8000"


@pytest.fixture(scope="session")
def planner() -> Iterator[Planner]:
    """Worker processes for all tests of this process: they take a second to start."""
    made = Planner(workers=2)
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with copies of the examples."""
    root = tmp_path / "jobs"
    shutil.copytree(EXAMPLES, root, ignore=shutil.ignore_patterns("notebooks", "*.png"))
    drop_plans(root / "cross_plane_v8")
    return root


@pytest.fixture
def client(folder: Path, planner: Planner) -> TestClient:
    """The application behind its guard."""
    app = Guard(make_app(Folder(folder.resolve()), planner), hosts=["127.0.0.1:8000"])
    return TestClient(app, base_url=ADDRESS, raise_server_exceptions=False)


@pytest.fixture
def page(client: TestClient) -> Page:
    """A page of it."""
    return Page(client)
