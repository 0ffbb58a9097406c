"""What can be wrong with a file before any key is looked at: always words, never a traceback."""

from __future__ import annotations

import contextlib
import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.jobfile.read import load_job
from planner.jobfile.sources import SyntaxFaultError, parse_toml, read_text


def refused(path: Path, says: str) -> InputError:
    with pytest.raises(InputError, match=says) as caught:
        load_job(path)
    return caught.value


def test_missing_file(tmp_path: Path) -> None:
    error = refused(tmp_path / "no.toml", r"no\.toml` is not there")
    assert "bobplan start" in (error.hint or "")


def test_folder(tmp_path: Path) -> None:
    refused(tmp_path, r"\A`[^`]*` is a folder, a job file is wanted")


def test_file_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("x", encoding="utf-8")
    refused(tmp_path / "a" / "b.toml", "can't be read: ")


def test_name_that_is_none() -> None:
    refused(Path("a\0b"), "can't be read: ")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no pipes with names")
def test_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    refused(tmp_path / "pipe", r"\A`[^`]*` is no ordinary file")


@pytest.mark.parametrize("content", [b"", b"\n \n\t\n", b"\xef\xbb\xbf"])
def test_empty(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "e.toml").write_bytes(content)
    refused(tmp_path / "e.toml", "is empty")


def test_megabytes_of_noise(tmp_path: Path) -> None:
    (tmp_path / "noise.toml").write_bytes(os.urandom(1000) * 10_000)
    refused(tmp_path / "noise.toml", r"\A`[^`]*` has 10\.0 MB, at most 2 MB is allowed")


def test_noise_below_the_limit(tmp_path: Path) -> None:
    (tmp_path / "noise.toml").write_bytes(bytes(range(128, 256)) * 1000)
    refused(tmp_path / "noise.toml", "is not UTF-8 text: byte 1, in line 1")


def test_not_utf_8(tmp_path: Path) -> None:
    (tmp_path / "l.toml").write_bytes("format = 1\n# grösser\n".encode("latin-1"))
    refused(tmp_path / "l.toml", "is not UTF-8 text: byte 16, in line 2")
    (tmp_path / "l.toml").write_bytes("format = 1".encode("utf-16"))
    refused(tmp_path / "l.toml", "is UTF-16 text, UTF-8 is wanted")


def test_mark_of_utf_8_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_bytes(b"\xef\xbb\xbfformat = 1\n")
    assert read_text(tmp_path / "b.toml") == "format = 1\n"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_unreadable(tmp_path: Path) -> None:
    (tmp_path / "u.toml").write_text("format = 1", encoding="utf-8")
    (tmp_path / "u.toml").chmod(0)
    refused(tmp_path / "u.toml", "can't be read: Permission denied")


@pytest.mark.parametrize(
    ("text", "line", "column", "hint"),
    [
        ("a = 1\nradius = 3.48 in\n", 2, 15, 'quotes, for example "3.48 in"'),
        ("d = 53/64\n", 1, 7, "a fraction stands in quotes"),
        ("z = 12,5\n", 1, 7, "a decimal point, not a comma"),
        ("from = front\n", 1, 8, 'quotes, for example "front"'),
        ("a = 1\n\na = 2\n", 3, 6, "may stand only once"),
        ("[use]\n[use]\n", 2, 5, "may stand only once"),
        ('shop = "..\\shop.toml"\n', 1, 12, "write folders with /"),
        ("x = [1, 2\ny = 3\n", 2, 1, "lines are `key = value`"),
        ("just words\n", 1, 6, "lines are `key = value`"),
        ('title = "no end\n', 1, 16, "lines are `key = value`"),
        ("x = ", 1, 5, "lines are `key = value`"),
        ("n = 1" + "0" * 5000 + "\n", 1, 1, "lines are"),
    ],
)
def test_syntax_faults_show_the_place(text: str, line: int, column: int, hint: str) -> None:
    with pytest.raises(SyntaxFaultError, match=rf"`j\.toml`, line {line}, column ") as caught:
        parse_toml(text, name="j.toml")
    head, shown, caret = caught.value.message.split("\n")
    assert caret.strip() == "^"
    assert hint in (caught.value.hint or "")
    stated = int(re.search(r"column (\d+)", head)[1])  # type: ignore[index]
    if len(text) < 100:
        assert shown.strip() == text.split("\n")[line - 1].strip()
        assert caret.index("^") - 2 == stated - 1
    assert abs(stated - column) <= 1 or len(text) > 100


def test_the_caret_of_a_long_line_stays_in_sight() -> None:
    with pytest.raises(SyntaxFaultError) as caught:
        parse_toml("x = [" + "1, " * 400 + "oops, 1]\n", name="j.toml")
    _, shown, caret = caught.value.message.split("\n")
    assert len(shown) < 100
    assert shown[caret.index("^")] == "o"


def test_tables_nested_without_end() -> None:
    for text in ("x = " + "[" * 100_000, "x = " + "[" * 300 + "]" * 300, "[" + "a." * 400 + "a]\n"):
        with pytest.raises(InputError, match=r"nested hundreds deep|line 1, column"):
            parse_toml(text, name="j.toml")


@settings(derandomize=True, max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    # anything else that is raised fails this test
    with contextlib.suppress(InputError):
        assert isinstance(parse_toml(text, name="j.toml"), dict)


@settings(derandomize=True, max_examples=40, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_refused_in_words(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.mktemp("noise") / "job.toml"
    path.write_bytes(content)
    with pytest.raises(InputError):
        load_job(path)
