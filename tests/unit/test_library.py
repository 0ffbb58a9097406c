"""`import planner`: what it gives, what it loads, jobs changed without a file, many jobs at once.  All data invented."""

from __future__ import annotations

import contextlib
import doctest
import importlib
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import planner as bp
from planner.jobfile import job as job_module
from planner.jobfile.read import load_job

ROOT = Path(__file__).parents[2]
V8 = ROOT / "examples" / "cross_plane_v8"


@pytest.fixture(scope="module")
def v8() -> bp.Job:
    return bp.load_job(V8)


class TestWhatThereIs:
    def test_every_public_name_is_there_and_documented(self) -> None:
        for name in bp.__all__:
            value = getattr(bp, name)
            assert name.startswith("__") or (value.__doc__ or "").strip(), name

    def test_an_unknown_name_is_an_attribute_error(self) -> None:
        with pytest.raises(AttributeError, match="no attribute 'plam'"):
            bp.plam  # type: ignore[attr-defined]

    def test_importing_loads_nothing_heavy(self) -> None:
        code = (
            "import sys, planner; planner.__version__\n"
            "print([m for m in sys.modules if m.split('.')[0] in ('numpy', 'scipy', 'pydantic', 'typer', 'matplotlib')"
            " or m.startswith('planner.')])"
        )
        ran = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
        )
        assert ran.stdout.strip() == "[]"

    @pytest.mark.parametrize("module", ["planner", "planner.library", "planner.jobfile.job"])
    def test_the_examples_of_the_docstrings_do_what_they_say(
        self, module: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(ROOT)
        result = doctest.testmod(importlib.import_module(module), raise_on_error=False)
        assert result.attempted >= 3
        assert result.failed == 0

    def test_the_notebook_runs(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.chdir(ROOT / "examples" / "notebooks")
        book = json.loads(Path("vary_a_job.ipynb").read_text(encoding="utf-8"))
        space: dict[str, Any] = {"__name__": "notebook"}
        said = io.StringIO()
        cells = ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code"]
        assert len(cells) >= 4
        with contextlib.redirect_stdout(said):
            for cell in cells:
                exec(compile(cell, "vary_a_job.ipynb", "exec"), space)
        assert "in tolerance" in said.getvalue()


class TestLoading:
    def test_file_folder_text_and_path_are_the_same_job(self, v8: bp.Job) -> None:
        assert bp.load_job(str(V8)) == v8
        assert bp.load_job(V8 / "job.toml") == v8
        text = (V8 / "job.toml").read_text(encoding="utf-8")
        loaded = bp.loads_job(text)
        assert loaded.crankshaft == v8.crankshaft
        assert loaded.spins == v8.spins

    def test_a_text_with_faults_names_them_all(self) -> None:
        with pytest.raises(bp.FileFaultsError, match=r"(?s)job text.*throws.*crankshaft") as error:
            bp.loads_job("format = 1\n")
        assert len(error.value.faults) >= 2

    def test_a_text_may_use_files_of_its_folder(self) -> None:
        folder = ROOT / "examples" / "external_balance_v8"
        text = (folder / "job.toml").read_text(encoding="utf-8")
        assert bp.loads_job(text, folder=folder).shop == bp.load_job(folder).shop
        with pytest.raises(bp.FileFaultsError, match="is not there"):
            bp.loads_job(text, folder=ROOT)


class TestReplace:
    def test_the_newest_reading_as_the_display_shows_it(self, v8: bp.Job) -> None:
        job = v8.replace(left=(1200, 10), bobs=1730)
        assert (job.spins[-1].left.amount, job.spins[-1].left.angle_deg) == (1200.0, 10.0)
        assert job.spins[-1].right == v8.spins[-1].right
        assert set(job.spins[-1].bobs_g.values()) == {1730.0}
        assert v8.spins[-1].left.amount == 3480.0, "the job itself stays as it is"

    def test_the_job_s_own_units(self) -> None:
        """Bare numbers are inches where the file says inches (1 in = 25.4 mm exactly, NIST SP 811)."""
        job = bp.load_job(ROOT / "examples" / "external_balance_v8")
        assert job.units.length == "in"
        assert job.replace(drills=["5/8", "14 mm"]).shop.drills_mm == (15.875, 14.0)

    def test_tolerance_in_every_way(self, v8: bp.Job) -> None:
        spec = v8.replace(tolerance="G 6.3").tolerance
        assert spec is not None
        assert spec.grade_mm_per_s == 6.3
        spec = v8.replace(tolerance="100 g*mm").tolerance
        assert spec is not None
        assert (spec.grade_mm_per_s, spec.each_side_gmm) == (None, 100.0)

    def test_a_section_is_merged_and_a_key_taken_out(self, v8: bp.Job) -> None:
        job = v8.replace(shop={"aim": 0.3, "least_wall": None})
        assert job.shop.aim == 0.3
        assert job.shop.drills_mm == v8.shop.drills_mm
        assert (
            job.shop.least_wall_mm
            == bp.loads_job(
                (V8 / "job.toml").read_text(encoding="utf-8").replace("least_wall = 3\n", "")
            ).shop.least_wall_mm
        )

    def test_nothing_is_written(self, v8: bp.Job) -> None:
        before = (V8 / "job.toml").read_bytes()
        v8.replace(mass="30 kg", speed_rpm=400)
        assert (V8 / "job.toml").read_bytes() == before

    @pytest.mark.parametrize(
        ("changes", "words"),
        [
            ({"drillz": 3}, "no such key or section"),
            ({"left": 3}, r"\(amount, angle\) is wanted"),
            ({"shop": 3}, "a mapping of its keys"),
            ({"counterweights": 3}, "a list of mappings"),
            ({"aim": 7}, r"shop.aim: given `7`"),
            ({"z": 7}, "no such key or section"),
        ],
    )
    def test_what_can_not_be_is_refused_in_words(
        self, v8: bp.Job, changes: dict[str, Any], words: str
    ) -> None:
        with pytest.raises(bp.InputError, match=words):
            v8.replace(**changes)

    def test_numbers_of_numpy_do(self, v8: bp.Job) -> None:
        import numpy as np

        job = v8.replace(left=np.array([1200.0, 10.0]), aim=np.float64(0.4))
        assert job.spins[-1].left.amount == 1200.0
        assert job.shop.aim == 0.4

    def test_what_was_made_in_memory_only_says_so(self, v8: bp.Job) -> None:
        import dataclasses

        with pytest.raises(bp.InputError, match="not read from a text"):
            dataclasses.replace(v8, sections=None).replace(aim=0.5)


class TestResults:
    def test_a_plan_shows_itself(self, v8: bp.Job) -> None:
        plan = bp.plan(v8)
        assert repr(plan).startswith("<Plan: in tolerance, ")
        assert "\n" not in repr(plan)
        html = plan._repr_html_()
        assert "<pre>" in html
        assert "<svg" in html
        assert plan.rows() == plan.to_dict()["steps"]
        json.dumps(plan.to_dict(), allow_nan=False)
        assert plan.worst_share < 1.0

    def test_the_same_plan_as_the_command(self, v8: bp.Job) -> None:
        ran = subprocess.run(
            [sys.executable, "-m", "planner", "plan", str(V8), "--json", "--no-store"],
            capture_output=True, text=True, check=True, cwd=ROOT,
        )  # fmt: skip
        told = json.loads(ran.stdout)
        keys = ("counterweight", "angle_deg", "diameter_mm", "depth_shoulder_mm")
        assert [[row[key] for key in keys] for row in bp.plan(v8).rows()] == [
            [row[key] for key in keys] for row in told["steps"]
        ]

    def test_extras_are_only_worked_out_when_asked_for(
        self, v8: bp.Job, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A reading far out of reach: no bob window, no ways out until they are called for."""
        from planner.steps import heavy_metal, ways_out

        def never(*_args: object, **_keys: object) -> None:
            raise AssertionError("worked out without being asked for")

        far = v8.replace(left=(400_000, 10), right=(400_000, 190))
        with monkeypatch.context() as patched:
            patched.setattr(heavy_metal, "bob_window_of", never)
            patched.setattr(ways_out, "ways_out_of", never)
            plan = bp.plan(far)
        assert not plan.feasible
        assert plan.answer.outcome.certificate is not None
        assert plan.answer.ways_out is None
        assert plan.ways_out() is not None

    def test_the_other_steps(self, v8: bp.Job) -> None:
        assert bp.check(v8).verdict == "out of tolerance"
        assert "out of tolerance" in repr(bp.check(v8))
        assert set(bp.bobs(v8).bobs_g) == {"1", "2", "3", "4"}
        assert bp.match(v8).rows()[0]
        assert "inside" in repr(bp.odds(v8))
        for result in (bp.plan(v8), bp.check(v8), bp.bobs(v8), bp.match(v8), bp.odds(v8)):
            data = result.to_dict()
            # the very data that --json prints: lists, not tuples, which compare equal to nothing read from JSON
            assert data == json.loads(json.dumps(data, allow_nan=False))
            assert "<pre>" in result._repr_html_()

    def test_plot_plan_draws_into_the_axes_given(self, v8: bp.Job) -> None:
        from matplotlib.figure import Figure

        ax = Figure().add_subplot()
        assert bp.plot_plan(bp.plan(v8), ax=ax) is ax


class TestMany:
    @pytest.mark.parametrize("workers", [1, 2])
    def test_one_bad_job_does_not_stop_the_rest_and_the_order_stays(self, v8: bp.Job, workers: int) -> None:
        told: list[str] = []
        jobs = [v8, "not there.toml", v8.replace(left=(3000, 10)), v8.replace(tolerance={"grade": "G 40"})]
        results = list(bp.plan_many(iter(jobs), workers=workers, progress=told.append))
        assert [type(each).__name__ for each in results] == ["Plan", "Failed", "Plan", "Plan"]
        failed = results[1]
        assert isinstance(failed, bp.Failed)
        assert "is not there" in failed.error
        assert len(told) == 4
        first = results[0]
        assert isinstance(first, bp.Plan)
        assert first.rows() == bp.plan(v8).rows()

    def test_an_internal_error_is_that_job_s_alone(self, v8: bp.Job, monkeypatch: pytest.MonkeyPatch) -> None:
        from planner import library

        def broken(*_args: object, **_keys: object) -> None:
            raise ZeroDivisionError("made up")

        monkeypatch.setattr(library, "plan", broken)
        (failed,) = bp.plan_many([v8], workers=1)
        assert isinstance(failed, bp.Failed)
        assert "ZeroDivisionError" in failed.error

    def test_no_more_jobs_are_taken_than_are_worked_on(self, v8: bp.Job) -> None:
        """A generator of any length does: what is read ahead is bounded, whatever its length."""
        taken = 0

        def endless() -> Any:
            nonlocal taken
            while True:
                taken += 1
                yield v8

        results = bp.plan_many(endless(), workers=2)
        for _ in range(3):
            next(results)
        results.close()
        assert taken <= 3 + 4 * 2 + 1

    def test_workers_below_one_are_refused(self, v8: bp.Job) -> None:
        with pytest.raises(bp.InputError, match="at least 1"):
            list(bp.plan_many([v8], workers=0))


def test_what_the_module_calls_the_job_is_the_same_class() -> None:
    assert bp.Job is job_module.Job
    assert isinstance(load_job(V8 / "job.toml"), bp.Job)
