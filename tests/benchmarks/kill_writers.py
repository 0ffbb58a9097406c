"""Writers killed in the middle, for real: ``python tests/benchmarks/kill_writers.py [kills] [seed]``  (POSIX only).

A child process adds spins and cuts to a job file and takes some back again, and says so after each; it is killed with
SIGKILL at a random moment.  After every kill the file must load, hold everything that was said to be written, at most
one entry more, and every comment.  The next child goes on with the same file.
"""

from __future__ import annotations

import os
import random
import select
import shutil
import signal
import sys
import tempfile
import time
import traceback
from pathlib import Path

from planner.cuts.cut import Cut
from planner.frames import SideReading
from planner.jobfile.job import MadeCut
from planner.jobfile.nothing_lost import comments
from planner.jobfile.read import load_job
from planner.jobfile.undo import take_back
from planner.jobfile.write import Entries, enter
from planner.machine.spin import Spin

JOB = Path(__file__).resolve().parents[2] / "examples" / "cross_plane_v8" / "job.toml"
_MOST_ENTRIES = 25


def write_on(path: Path, say: int, first: int) -> None:
    """Add and take back entries until killed; every entry has a number of its own as its amount or depth."""
    number = first
    while True:
        job = load_job(path)
        if len(job.spins) + len(job.cuts_made) > _MOST_ENTRIES:
            # a cut's number is its own for the life of the job
            take_back(
                path, "cut" if job.cuts_made else "spin", job.cuts_made[-1].number if job.cuts_made else 1
            )
        elif number % 3 == 2:
            cut = Cut(
                kind="rim hole",
                counterweight="A",
                angle_deg=198.0,
                diameter_mm=12.0,
                depth_shoulder_mm=float(number),
            )
            made = MadeCut(after_spin=len(job.spins), cut=cut)
            enter(path, lambda job, made=made: Entries(made=(made,)))
        else:
            side = SideReading(amount=float(number), angle_deg=1.0)
            spin = Spin(left=side, right=side, bobs_g=dict.fromkeys("1234", 1724.0))
            enter(path, lambda job, spin=spin: Entries(spins=(spin,)))
        os.write(say, b".")
        number += 1


def entries(path: Path) -> tuple[int, int, int]:
    """Return how many spins, cuts and traces a file has."""
    job = load_job(path)
    return len(job.spins), len(job.cuts_made), len(job.undone)


def main() -> None:
    """Kill, look, go on; end with an error when anything is lost."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    draw = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    start, written, unsaid = time.perf_counter(), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        shutil.copy(JOB, path)
        typed = sorted(comments(path.read_text(encoding="utf-8")))
        for kill in range(kills):
            before = entries(path)
            heard, say = os.pipe()
            child = os.fork()
            if child == 0:
                os.close(heard)
                try:
                    write_on(path, say, first=kill % 1000 + 5)
                except BaseException:
                    traceback.print_exc()
                finally:
                    os._exit(1)  # never back into the parent's clearing up
            os.close(say)
            # at least one write is heard of, so that the moment of the kill lies anywhere in the work
            select.select([heard], [], [], 60.0)
            time.sleep(draw.uniform(0.0, 0.3))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            said = len(os.read(heard, 65536))
            os.close(heard)
            after = entries(path)
            steps = sum(after) + after[2] - sum(before) - before[2]
            # an entry taken back counts -1 + 1 + 1: every write is one step
            assert said <= steps <= said + 1, f"kill {kill}: {said} writes said, {steps} found"
            now = sorted(comments(path.read_text(encoding="utf-8")))
            assert now == typed, f"kill {kill}: a comment is gone"
            written += said
            unsaid += steps - said
        left = [each.name for each in Path(folder).iterdir() if each.name.endswith(".new")]
    print(
        f"{kills} kills, {written} writes said and found, {unsaid} written but killed before saying so, 0 lost; "
        f"{len(left)} unfinished copies left beside the file; {time.perf_counter() - start:.0f} s"
    )


if __name__ == "__main__":
    main()
