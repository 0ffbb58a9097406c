"""The served page as a process: its address, its one-time code, its end."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx2 as httpx
import pytest


@pytest.fixture
def started(folder: Path) -> Iterator[list[subprocess.Popen[str]]]:
    processes: list[subprocess.Popen[str]] = []
    yield processes
    for each in processes:
        each.kill()
        each.communicate()


def serve(started: list[subprocess.Popen[str]], *arguments: str) -> tuple[subprocess.Popen[str], str]:
    process = subprocess.Popen(
        [sys.executable, "-m", "planner", "bench", *arguments, "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    started.append(process)
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://\S+", line)
    assert found is not None, line
    return process, found[0]


def test_it_answers_on_this_machine_only_and_ends_with_ctrl_c(
    started: list[subprocess.Popen[str]], folder: Path
) -> None:
    process, link = serve(started, str(folder))
    assert link.startswith("http://127.0.0.1:")
    assert httpx.get(link).status_code == 200
    port = int(link.rstrip("/").rsplit(":", 1)[1])
    listening = Path("/proc/net/tcp")
    if listening.exists():
        rows = [row.split()[1] for row in listening.read_text().splitlines()[1:] if row.split()[3] == "0A"]
        assert f"0100007F:{port:04X}" in rows
        assert f"00000000:{port:04X}" not in rows
    process.send_signal(signal.SIGINT)
    assert process.wait(20) in (0, 130)
    assert process.stderr is not None
    assert "Traceback" not in process.stderr.read()


def test_small_packets_go_at_once() -> None:
    """An answer is head and body, two packets: if the second waits for the receipt of the first, every tap takes 40 ms more."""
    from planner.bench.server import _socket

    async def at_once() -> int:
        seen: asyncio.Queue[int] = asyncio.Queue()

        async def connected(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            accepted = writer.get_extra_info("socket")
            seen.put_nowait(accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        listening = _socket("127.0.0.1", 0)
        async with await asyncio.start_server(connected, sock=listening):
            _, writer = await asyncio.open_connection(*listening.getsockname())
            found = await asyncio.wait_for(seen.get(), 60.0)
            writer.close()
        return found

    assert asyncio.run(at_once()) != 0


def test_one_job_opens_by_itself(started: list[subprocess.Popen[str]], folder: Path) -> None:
    _, link = serve(started, str(folder / "cross_plane_v8/job.toml"))
    answer = httpx.get(link, follow_redirects=True)
    assert "Cross-plane V8" in answer.text
    assert ">Jobs<" not in answer.text
    origin = link.partition("/job/")[0]
    assert httpx.get(f"{origin}/", follow_redirects=True).url.path.endswith("/cut")
    assert httpx.get(f"{origin}/job/README.toml/cut").status_code == 404


def test_a_shared_page_lets_others_in_by_its_code_once(
    started: list[subprocess.Popen[str]], folder: Path
) -> None:
    process, _ = serve(started, str(folder), "--share")
    assert process.stdout is not None
    lines = [process.stdout.readline() for _ in range(2)]
    if any("no address on a local network" in line for line in lines):
        pytest.skip("this machine has no address on a local network")
    found = re.search(r"(http://[^/]+)/\?code=(\S+)", "".join(lines))
    assert found is not None, lines
    origin, code = found[1], found[2]
    # asked under its own address on the network it is a stranger that asks
    assert httpx.get(origin + "/").status_code == 403
    with httpx.Client() as tablet:
        assert tablet.get(f"{origin}/?code={code}", follow_redirects=True).status_code == 200
        assert "Cross" in tablet.get(f"{origin}/job/cross_plane_v8/job.toml/judge").text
    assert httpx.get(f"{origin}/?code={code}").status_code == 403


@pytest.mark.parametrize(
    ("arguments", "said"), [(["/no/such/folder"], "there is no folder"), ([".", "--port", "99999"], "65535")]
)
def test_what_can_t_be_served_is_said(arguments: list[str], said: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "planner", "bench", *arguments, "--no-browser"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 2
    assert said in ran.stderr
    assert "Traceback" not in ran.stderr
