"""Names, encodings, outputs and folders as they come: nothing of them breaks a command or makes it say what is not so."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from .conftest import Ran

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]
POSIX = pytest.mark.skipif(os.name == "nt", reason="names and descriptors are another matter there")


def process(folder: Path | bytes, *arguments: str | bytes, shell: str = "", **variables: str) -> Ran:
    """Run the command as a process of its own; ``shell`` redirects its streams."""
    command: list[str | bytes] = [sys.executable, "-m", "planner", *arguments]
    if shell:
        command = ["bash", "-c", f'"$0" "$@" {shell}', *command]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **variables}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False)
    return Ran(code=done.returncode, out=done.stdout.decode(), err=done.stderr.decode())


@POSIX
def test_names_that_are_no_text(example: Example) -> None:
    plain = os.fsencode(example("cross_plane_v8"))
    folder = plain + b" \xff"
    os.rename(plain, folder)
    os.rename(folder + b"/job.toml", folder + b"/j\xfe.toml")
    ran = process(folder, "plan", "--json", b"j\xfe.toml")
    assert ran.code == 0, ran.err
    assert json.loads(ran.out)["feasible"]
    ran = process(folder)
    assert ran.code == 0, ran.err
    assert "j\\udcfe.toml" in ran.err


def test_a_folder_called_like_a_number(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    (folder / "3480").mkdir()
    ran = bobplan("spin", "3480", "214", "2910", "33", "--yes", folder=folder)
    assert ran.code in (0, 1), ran.err
    assert (folder / "job.toml").read_text(encoding="utf-8").count("[[spins]]") == 2


@POSIX
@pytest.mark.parametrize("shell", [">&-", "2>&-", ">&- 2>&-"])
def test_closed_outputs(example: Example, shell: str) -> None:
    ran = process(example("cross_plane_v8"), "check", shell=shell)
    assert ran.code == 1  # out of tolerance: the answer, not a fault


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device on this system")
def test_an_output_that_takes_nothing_after_an_entry(example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = process(folder, "spin", "3480", "214", "2910", "33", "--yes", shell="> /dev/full")
    assert (folder / "job.toml").read_text(encoding="utf-8").count("[[spins]]") == 2
    assert ran.code == 1  # 2 would mean that the file is as it was
    assert "nothing was changed" not in ran.err
    assert "stands in `job.toml`" in ran.err


@POSIX
def test_an_output_that_knows_only_ascii(example: Example) -> None:
    folder = example("cross_plane_v8")
    ran = process(folder, "plan", PYTHONIOENCODING="ascii")
    assert ran.code == 0, ran.err
    assert "\\xb0" in ran.out
    ran = process(folder, "plan", "--json", PYTHONIOENCODING="ascii")
    assert json.loads(ran.out)["feasible"]


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["plan", "--nonsense"],
        ["plan", "none.toml"],
        ["plan", "--seconds", "x"],
        ["spin", "1", "2"],
        ["done", "77"],
        ["cut", "rim"],
    ],
)
def test_bad_usage_is_one_json_object_too(bobplan: Bobplan, example: Example, arguments: list[str]) -> None:
    ran = bobplan(*arguments, "--json", folder=example("cross_plane_v8"))
    assert ran.code == 2
    assert set(json.loads(ran.out)) >= {"error", "hint"}


def test_drawing_settings_of_the_folder_are_not_obeyed(example: Example) -> None:
    folder = example("cross_plane_v8")
    process(folder, "plan", "--no-store", "--plot", "plain.svg")
    (folder / "matplotlibrc").write_text("font.size: 30\nlines.linewidth: 9\n", encoding="utf-8")
    ran = process(folder, "plan", "--no-store", "--plot", "same.svg")
    assert ran.code == 0, ran.err
    assert (folder / "same.svg").read_bytes() == (folder / "plain.svg").read_bytes()


class TestControlsInTexts:
    def test_a_title_is_shown_never_obeyed(self, bobplan: Bobplan, example: Example) -> None:
        folder = example("cross_plane_v8")
        job = folder / "job.toml"
        text = job.read_text(encoding="utf-8")
        job.write_text(
            text.replace('title = "Cross-plane V8, lighter pistons"', 'title = "\\u001b[2J\\u202egone"'),
            encoding="utf-8",
        )
        ran = bobplan("plan", folder=folder)
        assert ran.code == 0, ran.err
        assert "\\x1b[2J\\u202egone" in ran.out
        assert not {"\x1b", "\u202e"} & set(ran.out + ran.err)
        for name in ("sheet.html", "sheet.svg", "sheet.pdf"):
            assert bobplan("sheet", "-o", name, folder=folder).code == 0
            assert b"\x1b[2J" not in (folder / name).read_bytes()
        # the file keeps what was typed
        assert "\\u001b[2J\\u202egone" in job.read_text(encoding="utf-8")

    @pytest.mark.parametrize("name", ["\\ufeff", "A\\u200e", "A\\u0080", "A\\u007f"])
    def test_names_that_can_not_be_seen_are_refused(
        self, bobplan: Bobplan, example: Example, name: str
    ) -> None:
        folder = example("cross_plane_v8")
        job = folder / "job.toml"
        job.write_text(
            job.read_text(encoding="utf-8").replace('name = "A"', f'name = "{name}"'), encoding="utf-8"
        )
        ran = bobplan("plan", folder=folder)
        assert ran.code == 2
        assert "can be seen" in ran.err

    @pytest.mark.parametrize(
        "name", ["#123456", "$x$", "<b>&amp;", "%d {0}", "a/b\\\\c", "漢字", "-1", "=1+1"]
    )
    def test_odd_names_are_names(self, bobplan: Bobplan, example: Example, name: str) -> None:
        folder = example("cross_plane_v8")
        job = folder / "job.toml"
        job.write_text(
            job.read_text(encoding="utf-8").replace('name = "A"', f'name = "{name}"'), encoding="utf-8"
        )
        ran = bobplan("plan", "--plot", "plan.svg", folder=folder)
        assert ran.code == 0, ran.err
        assert f"rim hole on {name}".replace("\\\\", "\\") in ran.out
        assert bobplan("sheet", "-o", "sheet.html", folder=folder).code == 0
        assert "<b>&amp;amp" not in (folder / "sheet.html").read_text(encoding="utf-8")

    def test_a_spreadsheet_is_given_no_formulas(self, tmp_path: Path) -> None:
        from planner.steps.parts_csv import write_csv

        write_csv(tmp_path / "a.csv", [["=1+1", "-3.5", "+x", "@y", "plain", "\tz", "\x1b["]])
        assert (tmp_path / "a.csv").read_text(encoding="utf-8") == "'=1+1,-3.5,'+x,'@y,plain,\\x09z,\\x1b[\n"
