"""Random jobs on the page, random texts in every box: served or refused in words, never a failure of the program.

``python -m tests.benchmarks.fuzz_page COUNT [SEED]``
    COUNT random job files, many of them spoilt; of each, every part is loaded and every form sent with random texts.
"""

from __future__ import annotations

import contextlib
import io
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

from bench_pages import forms_of
from fuzz.harness import a_job
from starlette.testclient import TestClient

from planner.bench.app import make_app
from planner.bench.folder import Folder
from planner.bench.guard import Guard
from planner.bench.planning import Planner

PARTS = ("parts", "spin", "cut", "judge", "shop", "shop/prove", "quote", "record.pdf", "sheet.pdf")
ORIGIN = "http://127.0.0.1:8000"
NASTY = (
    "", "0", "-1", "1", "3480", "214", "1e308", "nan", "inf", "1,234", "13 1/2", "1/0", "9" * 400, "A", "Z", "yes", "no",
    "<script>alert(1)</script>", "'; --", "\0", "\ud7ff", "🔧", "../../x.toml", "16 mm", "5.85 oz-in", "throw 1",
    "counterweight A", "1=5,2=6", "360", "-0", "0x10", "١٢", "if needed", "2026-02-31", "a\nb", "`bobplan undo`",
)  # fmt: skip


def run(count: int, seed: int) -> int:
    """Run the cases; return how many answers were failures of the program."""
    folder = Path(tempfile.mkdtemp())
    path = folder / "job.toml"
    planner = Planner(workers=2, seconds=5.0)
    app = Guard(make_app(Folder(folder.resolve()), planner), hosts=["127.0.0.1:8000"])
    client = TestClient(app, base_url=ORIGIN, raise_server_exceptions=False)
    statuses: Counter[int] = Counter()
    failed = 0
    for number in range(count):
        draw = random.Random(f"{seed} {number}")
        path.write_bytes(a_job(draw, sane=draw.random() < 0.7))
        for part in PARTS:
            told = io.StringIO()
            with contextlib.redirect_stderr(told):
                answer = client.get(f"/job/job.toml/{part}")
                answers = [answer]
                forms = forms_of(answer.text) if "html" in answer.headers.get("content-type", "") else []
                for form in draw.sample(forms, min(3, len(forms))):
                    pairs = [
                        (name, value if name == "seen" or draw.random() < 0.5 else draw.choice(NASTY))
                        for name, value in form.fields
                    ]
                    if form.buttons:
                        pairs.append(draw.choice(form.buttons)[:2])
                    where = form.action or answer.url.path
                    if form.method == "post":
                        answers.append(client.post(where, data=dict(pairs), headers={"origin": ORIGIN}))
                    else:
                        answers.append(client.get(where, params=dict(pairs)))
            for each in answers:
                statuses[each.status_code] += 1
                if each.status_code >= 500 or "Traceback" in each.text or "<script>alert" in each.text:
                    failed += 1
                    print(
                        f"seed {seed} case {number} {each.request.method} {each.request.url.path}: {told.getvalue()[-400:]}"
                    )
    planner.close()
    print(
        f"{count} jobs, answers by status: {dict(sorted(statuses.items()))}; failures of the program: {failed}"
    )
    return failed


if __name__ == "__main__":
    raise SystemExit(1 if run(int(sys.argv[1]), int((sys.argv[2:] or ["1"])[0])) else 0)
