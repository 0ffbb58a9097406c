"""Many writers at one job file at once, for real: ``python tests/benchmarks/many_writers.py [writers] [seconds]``  (POSIX only).

Each writer is a process that adds spins and cuts and takes entries back, and puts down what was acknowledged; a writer that
finds the file held by another waits, and one that waits too long must have changed nothing.  In the end the file holds
every acknowledged entry once, nothing else, and every comment.  A reader loads the file all the time: it must always load.
"""

from __future__ import annotations

import multiprocessing
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from planner.errors import InputError
from planner.frames import SideReading
from planner.jobfile import lock
from planner.jobfile.nothing_lost import comments
from planner.jobfile.read import load_job
from planner.jobfile.write import Entries, enter
from planner.machine.spin import Spin

JOB = Path(__file__).resolve().parents[2] / "examples" / "cross_plane_v8" / "job.toml"


def write_on(path: Path, writer: int, seconds: float, said: Path) -> None:
    """Add spins until the time is up; every spin has a number of its own as its amount; what is acknowledged is put down."""
    lock.WAIT_SECONDS = 5.0
    end, number = time.monotonic() + seconds, 0
    with said.open("w", encoding="utf-8") as book:
        while time.monotonic() < end:
            number += 1
            amount = float(1000 * writer + number)
            side = SideReading(amount=amount, angle_deg=1.0)
            spin = Spin(left=side, right=side, bobs_g=dict.fromkeys("1234", 1724.0))
            try:
                enter(path, lambda job, spin=spin: Entries(spins=(spin,)))
            except InputError as error:
                book.write(f"refused {amount:g} {error.message}\n")
            else:
                book.write(f"{amount:g}\n")


def read_on(path: Path, seconds: float, said: Path) -> None:
    """Load the file until the time is up, and put down how often, and whether it ever failed or shrank."""
    end, loads, most, faults = time.monotonic() + seconds, 0, 0, []
    while time.monotonic() < end:
        try:
            count = len(load_job(path).spins)
        except Exception as error:
            faults.append(f"{type(error).__name__}: {error}")
            continue
        loads += 1
        if count < most:
            faults.append(f"{most} spins, then {count}")
        most = max(most, count)
    said.write_text("\n".join([str(loads), *faults]), encoding="utf-8")


def main() -> None:
    """Let them write, look; end with an error when anything is lost, doubled or half there."""
    writers = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "job.toml"
        shutil.copy(JOB, path)
        typed = sorted(comments(path.read_text(encoding="utf-8")))
        first = len(load_job(path).spins)
        context = multiprocessing.get_context("spawn")
        work = [
            context.Process(target=write_on, args=(path, writer, seconds, folder / f"said-{writer}.txt"))
            for writer in range(1, writers + 1)
        ]
        work.append(context.Process(target=read_on, args=(path, seconds, folder / "read.txt")))
        for each in work:
            each.start()
        for each in work:
            each.join()
            assert each.exitcode == 0
        lines = [
            line for writer in range(1, writers + 1)
            for line in (folder / f"said-{writer}.txt").read_text(encoding="utf-8").splitlines()
        ]  # fmt: skip
        acknowledged = Counter(line for line in lines if not line.startswith("refused"))
        refused = [line for line in lines if line.startswith("refused")]
        job = load_job(path)
        found = Counter(f"{spin.left.amount:g}" for spin in job.spins[first:])
        assert found == acknowledged, f"lost {acknowledged - found}, too many {found - acknowledged}"
        assert sorted(comments(path.read_text(encoding="utf-8"))) == typed, "a comment is gone"
        loads, *faults = (folder / "read.txt").read_text(encoding="utf-8").splitlines()
        assert not faults, faults[:5]
        left = [
            each.name
            for each in folder.iterdir()
            if each.name.startswith(".") or each.suffix in (".new", ".lock")
        ]
        assert not left, left
    per_writer = sorted(
        sum(int(amount) // 1000 == writer for amount in acknowledged) for writer in range(1, writers + 1)
    )
    print(
        f"{writers} writers for {seconds:g} s: {acknowledged.total()} writes acknowledged and found, 0 lost, 0 doubled "
        f"({per_writer[0]} to {per_writer[-1]} a writer), {len(refused)} refused after waiting with nothing changed; "
        f"{loads} loads meanwhile, none failed"
    )


if __name__ == "__main__":
    main()
