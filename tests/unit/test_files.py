"""Reading never waits and never fills the memory; writing is one step; hidden characters are shown, not obeyed."""

from __future__ import annotations

import os
import stat
import unicodedata
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.files import (
    NotOrdinaryError,
    TooLargeError,
    check_output,
    in_one_step,
    private_folder,
    read_bytes,
    read_list_text,
    write_bytes,
)
from planner.visible_text import hidden_characters, visible

needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")


class TestReading:
    def test_up_to_the_limit_and_not_a_byte_more(self, tmp_path: Path) -> None:
        (tmp_path / "a").write_bytes(b"12345")
        assert read_bytes(tmp_path / "a", greatest_bytes=5) == b"12345"
        with pytest.raises(TooLargeError) as caught:
            read_bytes(tmp_path / "a", greatest_bytes=4)
        assert caught.value.size_bytes == 5

    @needs_pipes
    def test_a_pipe_that_nobody_writes_into_is_refused_at_once(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(NotOrdinaryError):
            read_bytes(tmp_path / "pipe", greatest_bytes=10)
        with pytest.raises(InputError, match="no ordinary file"):
            read_list_text(tmp_path / "pipe", greatest_bytes=10, what="a list")

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device on this system")
    def test_a_device_without_an_end_is_refused(self) -> None:
        with pytest.raises(NotOrdinaryError):
            read_bytes(Path("/dev/zero"), greatest_bytes=10)

    def test_a_folder(self, tmp_path: Path) -> None:
        with pytest.raises(IsADirectoryError):
            read_bytes(tmp_path, greatest_bytes=10)

    def test_a_file_that_says_nothing_of_its_size(self) -> None:
        # such files report 0 bytes and have more
        if not Path("/proc/self/status").exists():
            pytest.skip("no such files on this system")
        with pytest.raises(TooLargeError):
            read_bytes(Path("/proc/self/status"), greatest_bytes=10)

    @pytest.mark.parametrize(
        ("content", "words"), [(b"\xff\xfe\x00", "UTF-8"), (b"a\0b", "no text"), (b"x" * 11, "MB")]
    )
    def test_lists_that_are_none(self, tmp_path: Path, content: bytes, words: str) -> None:
        (tmp_path / "list.csv").write_bytes(content)
        with pytest.raises(InputError, match=words):
            read_list_text(tmp_path / "list.csv", greatest_bytes=10, what="a list")

    def test_a_name_that_can_be_none(self) -> None:
        with pytest.raises(InputError, match="can't be read"):
            read_list_text(Path("a\0b"), greatest_bytes=10, what="a list")


class TestWriting:
    def test_a_failed_writer_leaves_the_old_file(self, tmp_path: Path) -> None:
        target = tmp_path / "plan.pdf"
        target.write_bytes(b"old")

        def fail() -> None:
            with in_one_step(target) as half_done:
                half_done.write_bytes(b"half")
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            fail()
        assert target.read_bytes() == b"old"
        assert [path.name for path in tmp_path.iterdir()] == ["plan.pdf"]

    @pytest.mark.skipif(os.name == "nt", reason="links need rights there")
    def test_a_link_stays_a_link(self, tmp_path: Path) -> None:
        (tmp_path / "real.pdf").write_bytes(b"old")
        (tmp_path / "link.pdf").symlink_to("real.pdf")
        write_bytes(tmp_path / "link.pdf", b"new")
        assert (tmp_path / "link.pdf").is_symlink()
        assert (tmp_path / "real.pdf").read_bytes() == b"new"

    @needs_pipes
    def test_what_is_no_ordinary_file_is_not_replaced(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.pdf")
        with pytest.raises(InputError, match="no ordinary file"):
            write_bytes(tmp_path / "pipe.pdf", b"new")
        assert stat.S_ISFIFO((tmp_path / "pipe.pdf").stat().st_mode)
        with pytest.raises(InputError, match="no ordinary file"):
            check_output(tmp_path / "pipe.pdf", endings=(".pdf", ".png"), hint="")

    def test_checked_before_any_work(self, tmp_path: Path) -> None:
        check_output(tmp_path / "plan.PDF", endings=(".pdf", ".png"), hint="")
        with pytest.raises(InputError, match=r"given `plan.doc`; .pdf and .png are allowed"):
            check_output(tmp_path / "plan.doc", endings=(".pdf", ".png"), hint="")
        with pytest.raises(InputError, match="no folder"):
            check_output(tmp_path / "none" / "plan.pdf", endings=(".pdf", ".png"), hint="")

    @pytest.mark.skipif(os.name == "nt", reason="modes of folders are another matter there")
    def test_a_private_folder_is_closed_again(self, tmp_path: Path) -> None:
        (tmp_path / "own").mkdir(mode=0o755)
        private_folder(tmp_path / "own")
        assert stat.S_IMODE((tmp_path / "own").stat().st_mode) == 0o700


class TestVisible:
    @pytest.mark.parametrize(
        ("text", "shown"),
        [
            ("plain, é, Ω, 漢, ° and \u00a0", "plain, é, Ω, 漢, ° and \u00a0"),
            ("A\x1b[2J", "A\\x1b[2J"),
            ("a\u202eb", "a\\u202eb"),
            ("\ufeff", "\\ufeff"),
            ("\x85\u2028", "\\x85\\u2028"),
            ("\udcff", "\\udcff"),
            ("\U000e0001", "\\U000e0001"),
            ("नमस्\u200dते", "नमस्\u200dते"),
        ],
    )
    def test_what_is_shown(self, text: str, shown: str) -> None:
        assert visible(text) == shown

    def test_line_breaks_stay_where_they_are_wanted(self) -> None:
        assert visible("a\n\tb\r", line_breaks=True) == "a\n\tb\\x0d"
        assert visible("a\nb") == "a\\x0ab"

    def test_against_the_unicode_tables(self) -> None:
        # Unicode Standard, general categories: Cc control, Cs half of a character, Zl and Zp separators of lines
        for code in range(0x3000):
            letter = chr(code)
            if unicodedata.category(letter) in ("Cc", "Cs", "Zl", "Zp"):
                assert hidden_characters(letter) == letter
            if unicodedata.category(letter)[0] in "LMNPS":
                assert visible(letter) == letter
