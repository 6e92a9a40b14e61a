"""Lines and lettering of a DXF as the text they are in the file, many times sooner written.

The DXF library makes the frame of the file: header, layers, line types, layouts, and all that is
seldom drawn. Lines and lettering, hundreds to a sheet, are set into it as text where a *mark* (a
point) stands, one mark to a space: the model's, then the paper's. *Handles*, the numbers by which
a file knows what is in it, go on from the last that the library gave.

Source: the DXF reference's LWPOLYLINE and TEXT, as the library writes them; tests read the files
back and audit them.

Not checked: that layers and lettering styles are in the file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

__all__ = ["Record", "lettering", "line", "mark", "set_in"]

Record = Callable[[str, str], str]  # its handle, and what stands for its owner: the text of it

_MARK = re.compile(r"  0\nPOINT\n.*?(?=  0\n)", re.DOTALL)
_OWNER = re.compile(r"330\n([0-9A-F]+)\n")
_SEED = re.compile(r"(\$HANDSEED\n  5\n)([0-9A-F]+)")
_ON_PAPER = " 67\n1\n"


def mark(space: Any) -> None:
    """Mark where a space's records are to stand."""
    space.add_point((0, 0, 0))


def set_in(frame: str, spaces: Sequence[Sequence[Record]]) -> str:
    """Set records into a file's text, space by space, where it is marked."""
    seed = _SEED.search(frame)
    handles = iter(range(int(seed.group(2), 16) if seed else 0x100000, 1 << 62))
    waiting = iter(spaces)
    text = _MARK.sub(lambda found: _all(next(waiting), found.group(), handles), frame)
    return _SEED.sub(lambda found: f"{found.group(1)}{next(handles):X}", text)


def _all(records: Iterable[Record], marked: str, handles: Iterator[int]) -> str:
    found = _OWNER.search(marked)
    owner = f"330\n{found.group(1) if found else '0'}\n100\nAcDbEntity\n"
    owner += _ON_PAPER if _ON_PAPER in marked else ""
    return "".join(record(f"{next(handles):X}", owner) for record in records)


def line(
    points: Iterable[Sequence[float]], layer: str, *, closed: bool, dashes: float = 1.0
) -> Record:
    r"""Give a line through points (x, y), or (x, y, bulge): how far each piece bows, of its half.

    >>> text = line([(0.0, 1.0), (2.0, 3.0)], "OUTLINE", closed=False)("1A", "330\n17\n")
    >>> text.split()[:6], text.count(" 20")
    (['0', 'LWPOLYLINE', '5', '1A', '330', '17'], 2)
    """
    rows = ["".join(f" {code}\n{float(x)}\n" for code, x in zip((10, 20, 42), p, strict=False)
                    if code != 42 or x) for p in points]  # fmt: skip
    scaled = "" if dashes == 1.0 else f" 48\n{float(dashes)}\n"
    body = f"100\nAcDbPolyline\n 90\n{len(rows)}\n 70\n{int(closed)}\n{''.join(rows)}"
    return lambda handle, owner: (
        f"  0\nLWPOLYLINE\n  5\n{handle}\n{owner}  8\n{layer}\n{scaled}{body}"
    )


def lettering(
    text: str,
    at: tuple[float, float],
    height: float,
    layer: str,
    *,
    turn_degrees: float = 0.0,
    rests: tuple[int, int] = (0, 0),
) -> Record:
    r"""Give a line of lettering; `rests` is how it stands to `at`, across and up, as DXF has it.

    >>> lettering("P7-2", (1.0, 2.0), 3.5, "NAME")("1B", "330\n17\n").count("P7-2")
    1
    """
    x, y = (float(a) for a in at)
    across, up = rests
    turned = f" 50\n{turn_degrees}\n" if turn_degrees else ""
    aligned = f" 11\n{x}\n 21\n{y}\n 31\n0.0\n" if across or up else ""
    body = (
        f"100\nAcDbText\n 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{float(height)}\n  1\n{_plain(text)}\n"
        f"{turned}  7\nLETTERING\n{f' 72{chr(10)}{across}{chr(10)}' if across else ''}{aligned}"
        f"100\nAcDbText\n{f' 73{chr(10)}{up}{chr(10)}' if up else ''}"
    )
    return lambda handle, owner: f"  0\nTEXT\n  5\n{handle}\n{owner}  8\n{layer}\n{body}"


def _plain(text: str) -> str:
    r"""Keep lettering to the one line it has in the file.

    >>> _plain("a\nb")
    'a b'
    """
    return " ".join(text.splitlines()) if len(text.splitlines()) > 1 else text
