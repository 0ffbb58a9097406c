"""The page under measure: how long from a tap to the new cut list, how it stands a flood, and being killed while it writes.

``python -m tests.benchmarks.bench_page speed [COUNT]``
    Taps "Made as shown" on the V8 example, undoes it, and again; beside it the search alone for the rest of the same job
    (`find_plan` as `plan_job` asks it), in turns.  Prints medians, 95th percentiles and their ratio (the goal is 3), and the
    weight of the page.
``python -m tests.benchmarks.bench_page typing [COUNT]``
    Asks what weights mean while they are typed, and what a slider changes, on the V8 example: medians and 95th percentiles.
``python -m tests.benchmarks.bench_page flood [COUNT]``
    COUNT requests at once: how many were served or refused, what else came, and the memory before and after.
``python -m tests.benchmarks.bench_page kills [COUNT]``
    Kills the server COUNT times while spins are entered: every acknowledged entry has to be in the file, and the file whole.
"""

from __future__ import annotations

import contextlib
import os
import random
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlencode

import httpx2 as httpx
from bench_pages import PageForm, forms_of

from planner.correction.search.find_plan import find_plan
from planner.jobfile.read import load_job
from planner.steps.correction_question import pose
from planner.steps.wanted_chance import passing_of

HERE = Path(__file__).parents[2]
JOB = "cross_plane_v8/job.toml"


def served(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """Start the page for a folder; return the process and its address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "planner", "bench", str(folder), "--no-browser"],
        stdout=subprocess.PIPE,
        text=True,
        cwd=HERE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    found = re.search(r"http://[^ ]+", process.stdout.readline())
    assert found is not None
    return process, found[0].rstrip("/")


def send(client: httpx.Client, origin: str, form: PageForm, **typed: str) -> httpx.Response:
    """Send a form as a browser does."""
    return client.post(
        origin + form.action,
        content=urlencode(form.filled(**typed)),
        headers={"origin": origin, "content-type": "application/x-www-form-urlencoded"},
        follow_redirects=True,
    )


def form_to(text: str, action: str) -> PageForm:
    """Return the first form of a page that goes to an address ending so."""
    return next(
        each
        for each in forms_of(text)
        if each.action.split("?")[0].endswith(action) and each.method == "post"
    )


def with_cuts(client: httpx.Client, address: str, text: str) -> str:
    """Load the cuts until the search is done, as the page's script does when the news end."""
    while "data-stream" in text:
        with client.stream("GET", f"{address}/news") as news:
            for _ in news.iter_lines():
                pass
        text = client.get(address).text
    return text


def speed(count: int) -> None:
    """Print how long a tap takes."""
    folder = Path(tempfile.mkdtemp())
    shutil.copytree(HERE / "examples/cross_plane_v8", folder / "cross_plane_v8")
    process, origin = served(folder)
    address = f"{origin}/job/{JOB}/cut"
    taps, searches, weights = [], [], Counter[str]()
    with httpx.Client(timeout=60.0) as client:
        text = with_cuts(client, address, client.get(address).text)
        for number in range(count + 3):
            begin = time.perf_counter()
            text = with_cuts(client, address, send(client, origin, form_to(text, "/cut")).text)
            tapped = time.perf_counter() - begin
            assert "cut list" in text or "article" in text
            job = load_job(folder / JOB)
            posed = pose(job)
            # a question of its own each time: what was drawn for the chances of one is not there for the next
            passing = passing_of(job, posed)
            begin = time.perf_counter()
            find_plan(posed.problem, passing=passing)
            alone = time.perf_counter() - begin
            text = send(client, origin, form_to(text, "/undo")).text
            text = with_cuts(client, address, client.get(address).text)
            if number >= 3:
                taps.append(tapped)
                searches.append(alone)
        for path in ("/static/bench.css", "/static/colours.css", "/static/bench.js", "/static/htmx.min.js"):
            weights[path] = len(client.get(origin + path).content)
        weights["page"] = len(text.encode())
    process.terminate()
    for name, found in (("tap to new cut list", taps), ("find_plan alone", searches)):
        ordered = sorted(found)
        print(
            f"{name}: median {statistics.median(found):.3f} s, 95th percentile {ordered[int(0.95 * len(ordered))]:.3f} s"
        )
    ordered_taps, ordered_searches = sorted(taps), sorted(searches)
    place = int(0.95 * len(taps))
    print(
        f"ratio of medians {statistics.median(taps) / statistics.median(searches):.2f}, "
        f"of 95th percentiles {ordered_taps[place] / ordered_searches[place]:.2f}"
    )
    print(f"weight of the page with all that it loads: {sum(weights.values()) / 1000:.0f} kB")


def typing(count: int) -> None:
    """Print how long the page takes to say what was typed under Parts."""
    folder = Path(tempfile.mkdtemp())
    shutil.copytree(HERE / "examples/cross_plane_v8", folder / "cross_plane_v8")
    process, origin = served(folder)
    address = f"{origin}/job/{JOB}/parts"
    headers = {"origin": origin, "content-type": "application/x-www-form-urlencoded"}
    with httpx.Client(timeout=60.0) as client:
        form = form_to(client.get(address).text, "/parts")
        for name, typed in (
            ("look", lambda number: form.filled(**{"w.piston.2": f"{412 + number / 10:.1f}"})),
            ("what-if", lambda number: [("change.piston", f"{number / 10:.1f}")]),
        ):
            found = []
            for number in range(count + 3):
                begin = time.perf_counter()
                answer = client.post(f"{address}/{name}", content=urlencode(typed(number)), headers=headers)
                assert answer.status_code == 200
                found.append(time.perf_counter() - begin)
            ordered = sorted(found[3:])
            print(
                f"{name}: median {statistics.median(ordered):.3f} s, 95th percentile {ordered[int(0.95 * len(ordered))]:.3f} s"
            )
    process.terminate()


def flood(count: int) -> None:
    """Print what became of many requests at once."""
    folder = Path(tempfile.mkdtemp())
    shutil.copytree(HERE / "examples", folder / "all", ignore=shutil.ignore_patterns("notebooks"))
    process, origin = served(folder)
    paths = [f"/job/all/{JOB}/{part}" for part in ("spin", "cut", "judge")] + ["/", "/static/htmx.min.js"]
    outcomes: Counter[str] = Counter()

    def memory_mb() -> float:
        text = Path(f"/proc/{process.pid}/status").read_text()
        return int(re.findall(r"VmRSS:\s+(\d+)", text)[0]) / 1000

    def one(number: int) -> None:
        try:
            answer = httpx.get(origin + paths[number % len(paths)], timeout=120.0)
            outcomes[str(answer.status_code)] += 1
            if "Traceback" in answer.text:
                outcomes["traceback"] += 1
        except httpx.HTTPError as error:
            outcomes[type(error).__name__] += 1

    for path in paths:
        httpx.get(origin + path, timeout=60.0)
    before = memory_mb()
    for _ in range(3):
        with ThreadPoolExecutor(200) as pool:
            list(pool.map(one, range(count)))
        print(f"{dict(outcomes)}; memory {before:.0f} MB before, {memory_mb():.0f} MB after")
    assert httpx.get(origin + "/", timeout=60.0).status_code == 200
    process.terminate()


def kills(count: int) -> None:
    """Kill the server while it writes; stop at the first entry that was acknowledged and is not there."""
    folder = Path(tempfile.mkdtemp())
    shutil.copytree(HERE / "examples/cross_plane_v8", folder / "cross_plane_v8")
    chance = random.Random(1)
    acknowledged, entered = 1, 0
    for _ in range(count):
        process, origin = served(folder)
        httpx.get(f"{origin}/job/{JOB}/spin", timeout=60.0)  # it is up: from here on at any moment
        killer = threading.Timer(chance.uniform(0.02, 2.0), process.kill)
        killer.start()
        # the connection ends when the server dies: that is the test, not its failure
        with httpx.Client(timeout=30.0) as client, contextlib.suppress(httpx.HTTPError):
            while True:
                page = client.get(f"{origin}/job/{JOB}/spin").text
                typed = {
                    "left_amount": f"{3480 + chance.random():.4f}",
                    "left_angle": "214",
                    "right_amount": "2910",
                    "right_angle": "33",
                }
                page = send(client, origin, form_to(page, "/spin"), **typed, repeat="yes", act="look").text
                answer = client.post(
                    f"{origin}/job/{JOB}/spin",
                    content=urlencode(
                        form_to(page, "/spin").filled(**typed, repeat="yes", there="yes", as_read="yes")
                    ),
                    headers={"origin": origin, "content-type": "application/x-www-form-urlencoded"},
                )
                if answer.status_code == 303:
                    acknowledged += 1
                    entered += 1
        killer.join()
        process.wait()
        there = len(load_job(folder / JOB).spins)
        assert there >= acknowledged, f"{acknowledged} acknowledged, {there} in the file"
        acknowledged = there
    print(f"{count} kills, {entered} entries acknowledged, {there} spins in the file: none lost")


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_NOFILE, (4096, 4096))
    {"speed": speed, "typing": typing, "flood": flood, "kills": kills}[sys.argv[1]](
        int((sys.argv[2:] or ["40"])[0])
    )
