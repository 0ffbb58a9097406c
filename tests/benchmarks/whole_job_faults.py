"""Whole jobs on computers that fail, moment by moment: ``python -m tests.benchmarks.whole_job_faults PART [moments] [seed]``.

PART is ``disk`` (so many writes; the seed is the first of them), ``room``, ``calls`` or ``clock``:

A slow disk, a disk that is full from each write on, files that can't grow beyond a size, Ctrl-C at moments spread over each
command (by Python calls, in this process), and Ctrl-C by the clock on real processes  (POSIX only).
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.faulty_jobs import (
    ENTERING,
    STORY,
    Fault,
    Told,
    _entries,
    full_disk,
    interrupted,
    least_room,
    slow_disk,
    tell,
)
from tests.fuzz.harness import SMALL

WRITES = 40
"""More writes than any command makes."""
SIZES = (0, 200, 700, 1300, 1500, 2200, 3000)


def told(fault: Fault | None = None) -> Told:
    """Return the story told in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        return tell(Path(folder), fault)


def clocked(seconds: float) -> tuple[list[str], int]:
    """Tell the entering commands as real processes, each with SIGINT after so many seconds; return what broke and strikes."""
    broken: list[str] = []
    struck = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "job.toml"
        file.write_text(SMALL, encoding="utf-8")
        root = Path(__file__).resolve().parents[2]
        environment = {**os.environ, "XDG_STATE_HOME": name, "PYTHONPATH": str(root)}

        def process(arguments: tuple[str, ...], after: float | None) -> tuple[int, str]:
            child = subprocess.Popen(
                [sys.executable, "-m", "planner", *arguments],
                cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, text=True,
            )  # fmt: skip
            if after is not None:
                time.sleep(after)
                child.send_signal(signal.SIGINT)
            said, _ = child.communicate(timeout=300)
            return child.returncode, said

        for arguments in STORY:
            before = file.read_bytes()
            code, said = process(arguments, seconds)
            after = file.read_bytes()
            entered = _entries(after) != _entries(before)
            # Python itself may still be starting or ending: then it says KeyboardInterrupt, and the file must be whole
            early = "KeyboardInterrupt" in said or code == -signal.SIGINT
            struck += early or "stopped" in said
            if code == 2 and after != before:
                broken.append(f"{seconds:g} s, {arguments}: 2, but the file is changed")
            if after != before and "nothing was changed" in said:
                broken.append(f"{seconds:g} s, {arguments}: changed, and says that nothing was")
            if arguments[0] in ENTERING and not entered and ("entered:" in said or code == 0):
                broken.append(f"{seconds:g} s, {arguments}: says what is not there")
            if not early and code not in (0, 1, 2):
                broken.append(f"{seconds:g} s, {arguments}: ends with {code}: {said[-300:]}")
            process(("plan",), None)
            if not entered:
                code, said = process(arguments, None)
                if code not in (0, 1):
                    broken.append(f"{seconds:g} s, {arguments} again: {code}: {said[-300:]}")
    return broken, struck


def main() -> None:
    """Go through a part of it; end with an error when a promise was broken."""
    part = sys.argv[1] if len(sys.argv) > 1 else "disk"
    moments = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    draw = random.Random(seed)
    start = time.process_time()
    plain = told()
    assert not plain.broken, plain.broken
    broken: list[str] = []

    def take(name: str, found: Told) -> int:
        broken.extend(f"{name}: {each}" for each in found.broken)
        if found.text != plain.text:
            broken.append(f"{name}: the file is another in the end")
        return found.struck

    struck = 0
    if part == "disk":
        if seed == 1:
            take("slow disk", told(slow_disk(0.05)))
        for at in range(seed, min(seed + moments, WRITES)):
            hits = take(f"full from write {at}", told(full_disk(at)))
            struck += hits
            print(
                f"full disk from write {at} on: {hits} writes refused, {len(broken)} promises broken",
                flush=True,
            )
            if not hits:
                break
    elif part == "room":
        for size in SIZES:
            take(f"no file over {size} bytes", told(least_room(size)))
        print(f"no file over each of {len(SIZES)} sizes")
    elif part == "calls":
        for _ in range(moments):
            at = round(10.0 ** draw.uniform(0.4, 4.7))
            struck += take(f"Ctrl-C at call {at}", told(interrupted(at)))
        print(f"Ctrl-C at {moments} moments of each of {len(STORY)} commands: {struck} struck", flush=True)
    else:
        for number in range(moments):
            found, hits = clocked(0.1 + 2.4 * number / max(1, moments - 1))
            broken += found
            struck += hits
        print(f"Ctrl-C by the clock at {moments} moments up to 2.5 s: {struck} struck", flush=True)
    print(f"{len(broken)} promises broken; {time.process_time() - start:.0f} s of processor time here")
    print("\n".join(broken))
    assert not broken


if __name__ == "__main__":
    main()
