"""Saving: by the ending, the same bytes each time, in one step or not at all; and no state shared with pyplot."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import plan_samples
import pytest
from matplotlib.figure import Figure
from pypdf import PdfReader

from planner.errors import InputError
from planner.present.drawings import save
from planner.present.drawings.gallery import plan_figure, save_figure

STARTS = {".png": b"\x89PNG", ".svg": b"<?xml", ".pdf": b"%PDF"}


@pytest.mark.parametrize("ending", [".png", ".svg", ".pdf"])
def test_equal_answers_give_equal_bytes(tmp_path: Path, ending: str) -> None:
    files = []
    for name in ("one", "two"):
        path = save_figure(plan_figure(plan_samples.one_cut()), tmp_path / f"{name}{ending}")
        files.append(path.read_bytes())
    assert files[0] == files[1]
    assert files[0].startswith(STARTS[ending])


def test_nothing_in_a_file_tells_when_or_by_what_it_was_made(tmp_path: Path) -> None:
    figure = Figure(figsize=(2.0, 1.0))
    svg = save_figure(figure, tmp_path / "a.svg").read_text()
    assert "<dc:date>" not in svg
    assert "atplotlib v" not in svg
    png = save_figure(figure, tmp_path / "a.png").read_bytes()
    assert b"Software" not in png
    assert not PdfReader(save_figure(figure, tmp_path / "a.pdf")).metadata


def test_pdf_has_real_fonts_and_searchable_text(tmp_path: Path) -> None:
    reader = PdfReader(save_figure(plan_figure(plan_samples.one_cut()), tmp_path / "plan.pdf"))
    page = reader.pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].get_object().values()]
    # type 42 fonts come as TrueType outlines in a Type0 font, never as Type3 drawings
    assert {font["/Subtype"] for font in fonts} == {"/Type0"}
    assert "Ø14 mm, 22.5 mm to the shoulder" in page.extract_text()


def test_path_may_be_text_and_the_ending_in_capitals(tmp_path: Path) -> None:
    written = save_figure(Figure(figsize=(1.0, 1.0)), str(tmp_path / "A.PNG"))
    assert written == tmp_path / "A.PNG"
    assert written.read_bytes().startswith(STARTS[".png"])


@pytest.mark.parametrize("name", ["plan.jpg", "plan", "plan.html"])
def test_other_endings_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match=r"\.png, \.svg and \.pdf are allowed as endings"):
        save_figure(Figure(figsize=(1.0, 1.0)), tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can't be written: No such file or directory"):
        save_figure(Figure(figsize=(1.0, 1.0)), tmp_path / "nowhere" / "plan.png")


def test_a_folder_in_the_files_place_is_refused_and_left(tmp_path: Path) -> None:
    (tmp_path / "plan.png").mkdir()
    with pytest.raises(InputError, match="can't be written"):
        save_figure(Figure(figsize=(1.0, 1.0)), tmp_path / "plan.png")
    assert [path.name for path in tmp_path.iterdir()] == ["plan.png"]


def test_a_drawing_that_fails_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plan.svg"
    path.write_text("old")
    figure = Figure(figsize=(1.0, 1.0))

    def broken(target: Path, **_: object) -> None:
        Path(target).write_text("half")
        raise RuntimeError("power cut")

    monkeypatch.setattr(figure, "savefig", broken)
    with pytest.raises(RuntimeError, match="power cut"):
        save_figure(figure, path)
    assert path.read_text() == "old"
    assert [each.name for each in tmp_path.iterdir()] == ["plan.svg"]


def test_a_drawing_may_be_read_by_others(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        path = save_figure(Figure(figsize=(1.0, 1.0)), tmp_path / "plan.svg")
        assert path.stat().st_mode & 0o777 == 0o644
    finally:
        os.umask(mask)


def test_glyphs_that_the_font_lacks_are_no_error(tmp_path: Path) -> None:
    figure = Figure(figsize=(2.0, 1.0))
    figure.text(0.1, 0.5, "曲軸")
    assert save_figure(figure, tmp_path / "plan.png").exists()


def test_every_format_has_its_metadata() -> None:
    assert set(save.METADATA) == set(save.ENDINGS)


def test_drawing_and_saving_never_load_pyplot(tmp_path: Path) -> None:
    code = f"""
import sys
sys.path.insert(0, {str(Path(plan_samples.__file__).parent)!r})
import planner.present.drawings.gallery as drawings
assert "matplotlib" not in sys.modules, "matplotlib is imported before anything is drawn"
import plan_samples
answer = plan_samples.slugs()
figure = drawings.plan_figure(answer)
side = drawings.plot_side_view(answer).figure
for ending in ("png", "svg", "pdf"):
    drawings.save_figure(side, {str(tmp_path)!r} + "/plan." + ending)
assert "matplotlib.pyplot" not in sys.modules
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
