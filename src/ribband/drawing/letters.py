"""Letters our faces have not got, and how they are written all the same: in words, never a box.

The upright Sans has Latin, Greek (also with its old accents) and Cyrillic; the upright Serif the
same without the old accents; the italics Latin alone, so `face_for` goes to the upright, and from
Serif to Sans, where that helps. What no face has is written so that it can be read and found
again (`readable`):

* a letter with a mark, a wide or a joined form, as the plain letters it is made of;
* kana and hangul by their sound, as Unicode names it (a long vowel by a hyphen);
* another alphabet's letters and signs by their names in brackets: ``[alef bet]``, ``[anchor]``;
* the rest, Chinese characters above all, by their numbers in Unicode: ``[U+6D77 U+9DD7]``.

Vocabulary: a *piece* is what stands for one letter, and whether it wants brackets.

Source: the Unicode character database as Python's standard library has it.

Not checked: the order of scripts written from right to left, and how an Indian script joins its
letters; each letter is named in the order it is typed in.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from typing import Any

from ribband.drawing.fonts import font_file

__all__ = ["face_for", "lacking", "readable", "widths"]

Piece = tuple[str, bool]

_SOUNDS = re.compile(r"(?:HIRAGANA|KATAKANA) LETTER (?:SMALL )?(\w+)|HANGUL SYLLABLE (\w+)")
_NAMED = re.compile(
    r"(?:[A-Z-]+ (?:CAPITAL |SMALL )?(?:LETTER|VOWEL SIGN) (?:FINAL )?)?([A-Z]+(?: [A-Z]+)?)"
)
_LONG = "\N{KATAKANA-HIRAGANA PROLONGED SOUND MARK}"
_MARKS_FROM = 10  # combining classes below it are parts of letters, at and above it accents


def readable(text: str, face: str = "Sans") -> str:
    """Give `text` with every letter the face has not got written in letters that it has.

    >>> readable("Ægir Łódź"), readable("Чайка"), readable("海鷗 Heron")
    ('Ægir Łódź', 'Чайка', '[U+6D77 U+9DD7] Heron')
    >>> readable("カモメ"), readable("갈매기"), readable("שחף"), readable("ｓｌｉｐ")
    ('kamome', 'galmaegi', '[shin het pe]', 'slip')
    """
    return text if text.isascii() else _readable(text, face)


def lacking(text: str, face: str = "Sans") -> str:
    """Give the letters of `text` that the face has not got, each once.

    >>> lacking("Marl Heron"), lacking("Жанна 海")
    ('', '海')
    """
    if text.isascii():
        return ""
    table = widths(face)[0]
    each = dict.fromkeys(c for c in unicodedata.normalize("NFC", text) if not c.isspace())
    return "".join(c for c in each if ord(c) not in table)


def face_for(text: str, face: str) -> str:
    """Give the face to letter `text` in: the upright one, or Sans, where `face` lacks a letter.

    >>> face_for("Marl Heron", "Serif-Italic"), face_for("Жанна", "Serif-Italic")
    ('Serif-Italic', 'Serif')
    """
    if text.isascii() or face == "Sans":
        return face
    upright = face.replace("Italic", "").rstrip("-")
    faces = (face, upright, upright.replace("Serif", "Sans"))
    return min(faces, key=lambda each: len(lacking(text, each)))


@cache
def widths(face: str) -> tuple[dict[int, float], float]:
    """Give how wide each letter of a face is, of a thousand to the size, and any other letter."""
    from reportlab.pdfbase.ttfonts import TTFontFile  # noqa: PLC0415 - heavy, only when lettering

    font: Any = TTFontFile(str(font_file(face)))
    return dict(font.charWidths), float(font.defaultWidth)


@lru_cache(maxsize=5_000)
def _readable(text: str, face: str) -> str:
    table = widths(face)[0]
    pieces = (p for c in unicodedata.normalize("NFC", text) for p in _pieces(c, table))
    runs = ((named, [words for words, _ in run]) for named, run in groupby(pieces, lambda p: p[1]))
    return "".join(f"[{' '.join(run)}]" if named else "".join(run) for named, run in runs)


def _pieces(letter: str, table: dict[int, float]) -> Iterator[Piece]:
    """Say one letter in letters the table has; nothing of an accent or a sign without a shape."""
    if ord(letter) in table or letter in "\n\t":
        yield letter, False
        return
    if unicodedata.category(letter) == "Cf" or _is_accent(letter):
        return
    name = unicodedata.name(letter, "")
    sound, plainer = _SOUNDS.fullmatch(name), unicodedata.normalize("NFKD", letter)
    if sound or letter == _LONG:
        yield ((sound[1] or sound[2]).lower() if sound else "-"), False
    elif plainer != letter:
        for part in plainer:
            if not _is_accent(part):
                yield from _pieces(part, table)
    else:
        named = _NAMED.fullmatch(name)
        yield named[1].lower() if named else f"U+{ord(letter):04X}", True


def _is_accent(letter: str) -> bool:
    return unicodedata.combining(letter) >= _MARKS_FROM
