"""The tally: boards as they lie in the yard, from the form `boards` (and `outlines`).

*Widths* are taken square across at the butt, half way and at the top, and at any other place
named in `widths`. *Edges*: "live" (both live), "one sawn" or "sawn"; where the cell is blank and
the notes say "live edges" or "one edge sawn", that is taken. An *outline* from the form
`outlines` (say, taken off a photograph) stands in place of the widths.

Not checked here: whether the boards are those in the yard; chalk the mark on each and look.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ribband.errors import InputError, Problem
from ribband.survey.columns import shown
from ribband.survey.rows import Row
from ribband.timber.board_model import Board, Flaw
from ribband.timber.tally.edges import Edges, edges_of_outline, edges_of_widths
from ribband.timber.tally.flaws import flaw_examples, read_flaws
from ribband.timber.tally.outlines import (
    drawn_flaws,
    gaps,
    key_of,
    off_the_tally,
    outline_of,
    rings_of,
)
from ribband.units import format_length, parse_length

__all__ = ["read_boards"]

_SAID = {"live edges": "live", "one edge sawn": "one sawn"}  # what notes say of edges
_WIDEST = 1_500.0  # mm, as the form's own columns
_LEAVES = 200


def read_boards(rows: Sequence[Row], unit: str, outlines: Sequence[Row] = ()) -> tuple[Board, ...]:
    """Read the rows of the form `boards`, and of `outlines`; lengths in text are in `unit`.

    Raises
    ------
    InputError : every cell that cannot be used, all at once

    >>> cells = {"board": "A7", "length": 4000.0, "width_butt": 300.0, "width_top": 260.0,
    ...          "thickness": 50.0, "flaws": "knot at 900 up 80 size 30", "edges": "sawn"}
    >>> board = read_boards([Row(cells, "boards.csv", 2)], "mm")[0]
    >>> board.outline.tolist(), board.flaws[0].kind
    ([[0.0, 0.0], [2000.0, 0.0], [4000.0, 0.0], [4000.0, 260.0], [2000.0, 280.0], [0.0, 300.0]],
     'knot')
    """
    problems: list[Problem] = []
    rings = rings_of(outlines)
    problems += _strays(rows, outlines)
    boards = [_board(row, unit, rings.get(key_of(row, "board"), {}), problems) for row in rows]
    problems += [*_twice(rows), *_same_leaf(rows, boards)]
    if problems:
        raise InputError(problems)
    return tuple(boards)


def _board(row: Row, unit: str, rings: Mapping[str, list[Row]], problems: list[Problem]) -> Board:
    drawn = rings.get("", [])
    own, tallied = outline_of(drawn, problems), _edges(row, unit, problems)
    edges = tallied if own is None else edges_of_outline(own)
    outline = edges.outline() if own is None else own
    flaws = drawn_flaws(rings, outline, problems) + _written_flaws(row, unit, edges, problems)
    if own is not None:
        broadest = float((tallied.upper - tallied.lower).max())
        problems += off_the_tally(row, drawn, own, broadest, unit)
        flaws += gaps(own)
    values, (leaf, turned) = row.values, _leaf(row, problems)
    return Board(
        name=str(values["board"]),
        outline=outline,
        thickness_mm=float(values["thickness"]),
        species=values.get("species") or "",
        moisture_percent=values.get("moisture"),
        flaws=flaws,
        live_edges=_live(row) in {"live", "one sawn"},
        bow_mm=values.get("bow") or 0.0,
        cut=values.get("cut") or "",
        price=values.get("price"),
        lies=values.get("lies") or "",
        state=values.get("state") or "sound",
        notes=values.get("notes") or "",
        face=values.get("face") or "",
        log=_text(row, "log"),
        leaf=leaf,
        turned=turned,
    )


def _leaf(row: Row, problems: list[Problem]) -> tuple[int, bool]:
    """Read a board's number in its log, "4" or "4 turned"; what is wrong goes to `problems`."""
    number, _, turned = _text(row, "leaf").lower().partition(" ")
    wanted = ""
    if bool(number) != bool(_text(row, "log")):
        column, wanted = ("log", "the log of the leaf") if number else ("leaf", "its number in it")
    elif number and not (number.isdecimal() and 1 <= int(number) <= _LEAVES):
        column, wanted = "leaf", f"a whole number, 1 to {_LEAVES}, as it came off the saw"
    elif turned not in {"", "turned"}:
        column, wanted = "leaf", "a number, and turned where the marked face is not towards leaf 1"
    if not wanted:
        return int(number or 0), bool(turned)
    problems.append(row.problem(column, wanted, "L3" if column == "log" else "4"))
    return 0, False


def _live(row: Row) -> str:
    said = " ".join((row.values.get("notes") or "").lower().split())
    return row.values.get("edges") or _SAID.get(said, "sawn")


def _edges(row: Row, unit: str, problems: list[Problem]) -> Edges:
    """Give the edges from the widths of a row, and what is wrong with those between."""
    long, butt, top = (row.values[name] for name in ("length", "width_butt", "width_top"))
    middle = row.values.get("width_middle")
    widths = {0.0: butt, long / 2: (butt + top) / 2 if middle is None else middle, long: top}
    try:
        between = _more_widths(row.values.get("widths") or "", unit, long)
    except ValueError as error:
        problems.append(
            row.problem(
                "widths", str(error), shown("{304.8} at {1219.2}; {279.4} at {2438.4}", unit)
            )
        )
        between = {}  # so that its flaws are looked over, too
    if between and middle is None:
        del widths[long / 2]
    return edges_of_widths(sorted((widths | between).items()), live=_live(row) == "live")


def _more_widths(text: str, unit: str, long: float) -> dict[float, float]:
    """Read widths at other places, "1-0-6 at 4-0-0; 1-0-2 at 8-0-0", as place to width."""
    found: dict[float, float] = {}
    for part in filter(None, (part.strip() for part in text.split(";"))):
        wide, at, place = part.partition(" at ")
        if not at:
            raise ValueError(f"widths as WIDTH at PLACE, parted by semicolons, not {part!r}")
        x, width = parse_length(place, unit), parse_length(wide, unit)
        if not 0 <= x <= long or not 0 < width <= _WIDEST or x in found:
            most = format_length(long, unit)
            raise ValueError(
                f"a width at a place of its own, from the butt to {most}, not {part!r}"
            )
        found[x] = width
    return found


def _written_flaws(row: Row, unit: str, edges: Edges, problems: list[Problem]) -> tuple[Flaw, ...]:
    try:
        return read_flaws(row.values.get("flaws") or "", unit, edges)
    except ValueError as error:
        problems.append(row.problem("flaws", str(error), flaw_examples(unit)))
        return ()


def _strays(rows: Sequence[Row], outlines: Sequence[Row]) -> list[Problem]:
    known = {key_of(row, "board") for row in rows}
    lost = {key: row for row in reversed(outlines) if (key := key_of(row, "board")) not in known}
    return [row.problem("board", "a board of the form boards", "A7") for row in lost.values()]


def _twice(rows: Sequence[Row]) -> list[Problem]:
    keys = [key_of(row, "board") for row in rows]
    again = [row for at, row in enumerate(rows) if keys[at] in keys[:at]]
    return [row.problem("board", "each board once", "A7") for row in again]


def _same_leaf(rows: Sequence[Row], boards: Sequence[Board]) -> list[Problem]:
    """Find two boards with one number in one log."""
    had: dict[tuple[str, int], str] = {}
    found = []
    for row, board in zip(rows, boards, strict=True):
        name = had.setdefault((board.log.casefold(), board.leaf), board.name)
        if board.leaf and name != board.name:
            wanted = f"another number: leaf {board.leaf} of log {board.log} is board {name}"
            found.append(row.problem("leaf", wanted, str(board.leaf + 1)))
    return found


def _text(row: Row, column: str) -> str:
    return " ".join(str(row.values.get(column) or "").split())
