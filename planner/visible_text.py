"""Texts that people typed, made safe to show: what a terminal or a drawing would obey is shown as an escape instead."""

from __future__ import annotations

import unicodedata

_JOINERS = "\u200c\u200d"
"""Letters of several scripts are joined or kept apart by these: they belong to names."""


def hidden_characters(text: str) -> str:
    """Return the characters of a text that can't be seen but change what is seen, each once.

    Those are control characters, marks that turn the direction of writing, marks of byte order, separators of lines,
    halves of characters and code points that are none.
    """
    return "".join(dict.fromkeys(letter for letter in text if _hidden(letter)))


def visible(text: str, *, line_breaks: bool = False) -> str:
    r"""Return a text in which every hidden character is shown as an escape, ``\x1b`` or ``\u202e``.

    Parameters
    ----------
    text : str
    line_breaks : bool
        Whether line breaks and tabs stay what they are.

    Examples
    --------
    >>> visible("A\x1b[2J")
    'A\\x1b[2J'
    """
    # most texts have nothing to hide
    if text.isascii() and text.isprintable():
        return text
    kept = "\n\t" if line_breaks else ""
    return "".join(_escape(letter) if _hidden(letter) and letter not in kept else letter for letter in text)


def _hidden(letter: str) -> bool:
    if letter.isprintable():
        return False
    # spaces of any width are no secret; what a font knows or not is not ours to judge
    return unicodedata.category(letter) not in ("Zs", "Co") and letter not in _JOINERS


def _escape(letter: str) -> str:
    code = ord(letter)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
