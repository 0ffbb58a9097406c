"""What the page refuses: foreign hosts and forms, too much, what lies outside the folder; and the code of a shared page."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_pages import Page
from starlette.testclient import TestClient

from planner.bench.app import make_app
from planner.bench.folder import Folder
from planner.bench.guard import COOKIE, Door, Guard
from planner.bench.planning import Planner

SPIN = "/job/cross_plane_v8/job.toml/spin"
FORM = {"content-type": "application/x-www-form-urlencoded"}


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:8000.evil.example", ""]
)
def test_another_host_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "job" not in answer.text


@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "https://127.0.0.1:8000", "http://127.0.0.1:1"]
)
def test_a_foreign_form_changes_nothing(client: TestClient, folder: Path, origin: str | None) -> None:
    before = (folder / "cross_plane_v8/job.toml").read_bytes()
    headers = FORM if origin is None else {**FORM, "origin": origin}
    answer = client.post(
        "/job/cross_plane_v8/job.toml/undo", content="of=spin:1&seen=1.0.0.a.b", headers=headers
    )
    assert answer.status_code == 403
    assert (folder / "cross_plane_v8/job.toml").read_bytes() == before


def test_another_page_cannot_read(client: TestClient) -> None:
    foreign = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "cors"}
    assert client.get("/", headers=foreign).status_code == 403
    # a link that somebody follows to this page is no reading of it
    assert (
        client.get("/", headers={"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}).status_code
        == 200
    )


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(client: TestClient, method: str) -> None:
    assert client.request(method, "/").status_code == 405


def test_a_large_form_is_not_read(client: TestClient) -> None:
    headers = {**FORM, "origin": "http://127.0.0.1:8000"}
    answer = client.post(SPIN, content=b"left_amount=" + b"1" * 50_000_000, headers=headers)
    assert answer.status_code == 413
    # a form that lies about its length, or does not say it, is cut off all the same
    assert client.post(SPIN, content=iter([b"a=1"] * 4), headers=headers).status_code == 411
    many = "&".join(f"a{number}=1" for number in range(6000))
    assert client.post(SPIN, content=many, headers=headers).status_code == 413


def test_every_answer_forbids_what_it_does_not_need(client: TestClient) -> None:
    for path in ("/", SPIN, "/static/bench.js", "/nothing", "/job/none.toml/spin"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "script-src 'self'" in policy
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "key",
    [
        "../outside.toml",
        "..%2foutside.toml",
        "%2e%2e/outside.toml",
        "cross_plane_v8/../../outside.toml",
        "link.toml",
        "linked/job.toml",
        ".hidden.toml",
        "/etc/passwd",
        "cross_plane_v8/README.md",
        "no%00.toml",
        "..\\outside.toml",
        "a" * 3000 + ".toml",
    ],
)
@pytest.mark.parametrize("part", ["spin", "cut", "judge", "record.pdf"])
def test_nothing_outside_the_folder_is_reached(client: TestClient, folder: Path, key: str, part: str) -> None:
    outside = folder.parent / "outside.toml"
    outside.write_bytes((folder / "cross_plane_v8/job.toml").read_bytes())
    (folder / "link.toml").symlink_to(outside)
    (folder / "linked").symlink_to(folder.parent)
    (folder / ".hidden.toml").write_bytes(outside.read_bytes())
    answer = client.get(f"/job/{key}/{part}")
    assert answer.status_code == 404
    assert "Cross-plane" not in answer.text


def test_a_link_that_stays_inside_is_a_job(page: Page, folder: Path) -> None:
    (folder / "same.toml").symlink_to(folder / "cross_plane_v8/job.toml")
    assert page.get("/job/same.toml/judge").status == 200


def test_own_files_are_the_only_ones(client: TestClient) -> None:
    assert client.get("/static/bench.css").status_code == 200
    for name in ("../app.py", "%2e%2e%2fapp.py", "app.py", "", "bench.css/"):
        assert client.get(f"/static/{name}").status_code == 404


def test_the_units_form_leads_nowhere_else(client: TestClient) -> None:
    headers = {**FORM, "origin": "http://127.0.0.1:8000"}
    for back in ("//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)"):
        answer = client.post("/units", content=f"back={back}", headers=headers, follow_redirects=False)
        assert answer.headers["location"] == "/"


class TestDoor:
    """A shared page: others need the code, and a code opens once."""

    @pytest.fixture
    def door(self) -> Door:
        return Door("right-code")

    @pytest.fixture
    def tablet(self, folder: Path, planner: Planner, door: Door) -> TestClient:
        app = Guard(make_app(Folder(folder.resolve()), planner), hosts=["192.0.2.7:8000"], door=door)
        return TestClient(app, base_url="http://192.0.2.7:8000", client=("192.0.2.9", 5000))

    def test_without_the_code_nothing_is_shown(self, tablet: TestClient) -> None:
        for path in ("/", SPIN, "/static/bench.js", "/?code=wrong", "/?code="):
            answer = tablet.get(path)
            assert answer.status_code == 403
            assert "Cross" not in answer.text

    def test_the_code_opens_once(self, tablet: TestClient, door: Door) -> None:
        answer = tablet.get("/?code=right-code", follow_redirects=False)
        assert answer.status_code == 200
        assert 'content="0;url=/"' in answer.text
        cookie = answer.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert tablet.get("/").status_code == 200
        tablet.cookies.clear()
        assert tablet.get("/?code=right-code").status_code == 403
        assert door.code != "right-code"

    def test_the_code_leads_nowhere_else(self, tablet: TestClient) -> None:
        answer = tablet.get("http://192.0.2.7:8000//evil.example/x?code=right-code")
        assert 'content="0;url=/evil.example/x"' in answer.text

    def test_any_cookie_is_read(self, tablet: TestClient) -> None:
        assert tablet.get("/", headers={"cookie": "a@b=c; =; \x7f"}).status_code == 403

    def test_a_made_up_cookie_is_no_key(self, tablet: TestClient) -> None:
        tablet.cookies.set(COOKIE, "x" * 43)
        assert tablet.get("/").status_code == 403

    def test_a_form_does_not_carry_the_code(self, tablet: TestClient) -> None:
        headers = {**FORM, "origin": "http://192.0.2.7:8000"}
        assert tablet.post("/units?code=right-code", content="back=/", headers=headers).status_code == 403

    def test_this_machine_needs_no_code(self, folder: Path, planner: Planner, door: Door) -> None:
        app = Guard(make_app(Folder(folder.resolve()), planner), hosts=["127.0.0.1:8000"], door=door)
        here = TestClient(app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 5000))
        assert here.get("/").status_code == 200
