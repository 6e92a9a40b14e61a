"""Cells that a spreadsheet would run as a formula, and how they go out and come back.

*Risky*: a text that begins, after blanks, with = + - or @ (also full-width), or with a tab or a
line end, and is neither a plain number nor a dash that stands for nothing. It goes out with an
apostrophe before it, as spreadsheets themselves mark text, and the apostrophe is taken off when
the text comes in again, so that every text goes round unchanged: also ``-3-7-5``, which a
spreadsheet would otherwise count out to -15, and a text that had an apostrophe of its own.

Not done here: deciding whether a formula is harmful. None is let out.
"""

from __future__ import annotations

import re

__all__ = ["defused", "taken_back"]

_RISKY = re.compile(r"'*(?:[\s\0]*[=+\-@＝＋－＠]|[\t\r\n])")
_MARKED = re.compile(r"''*(?:[\s\0]*[=+\-@＝＋－＠]|[\t\r\n])")
_HARMLESS = re.compile(r"[+-]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d{1,15})|-{1,3}", re.ASCII)


def defused(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run as a formula.

    >>> defused("=1+1"), defused("frame 3"), defused("-12.5"), defused("-3-7-5"), defused("'=1")
    ("'=1+1", 'frame 3', '-12.5', "'-3-7-5", "''=1")
    """
    return f"'{text}" if _RISKY.match(text) and not _HARMLESS.fullmatch(text) else text


def taken_back(text: str) -> str:
    """Take the apostrophe off again; the other way round of `defused`.

    >>> taken_back("'=1+1"), taken_back("'-3-7-5"), taken_back("3'-7"), taken_back("-12")
    ('=1+1', '-3-7-5', "3'-7", '-12')
    """
    return text[1:] if _MARKED.match(text) else text
