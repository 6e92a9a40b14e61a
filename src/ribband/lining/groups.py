"""Strakes by name or by group, as a wish names them.

A wish may name one strake ("7", "7s"), all (blank), a group by what the trade calls it
("topside", "bilge", "bottom", "garboard", ...), or *uppers* and *lowers*: what lies above and
below the master line. Without a master line the uppers are topside and sheer strake. Not checked:
that a group is not empty; the caller says so.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.lining.model import Strake, Wish

__all__ = ["GROUPS", "is_group", "master_of", "strakes_named"]

GROUPS = ("uppers", "lowers")
_ABOVE = ("topside", "sheer strake")


def strakes_named(name: str, strakes: Sequence[Strake], wishes: Sequence[Wish]) -> tuple[int, ...]:
    """Give the places of the strakes a wish names, from the keel; none where nothing is so called.

    >>> called = ["garboard", "bottom", "bilge", "topside", "sheer strake"]
    >>> strakes = [Strake(str(i + 1), c, "stem", "stern") for i, c in enumerate(called)]
    >>> strakes_named("uppers", strakes, ()), strakes_named("Bilge", strakes, ())
    ((3, 4), (2,))
    >>> strakes_named("lowers", strakes, [Wish("master", 900.0, "2", "7")])
    (0, 1)
    """
    wanted = name.strip().lower()
    every = range(len(strakes))
    if not wanted:
        return tuple(every)
    if wanted in GROUPS:
        top = _top_of_lowers(strakes, wishes)
        return tuple(k for k in every if (k > top) == (wanted == "uppers"))
    return tuple(k for k in every if wanted in {strakes[k].name.lower(), strakes[k].called})


def is_group(name: str) -> bool:
    """Tell whether a name is no single strake's.

    >>> is_group(""), is_group("uppers"), is_group("12"), is_group("6s")
    (True, True, False, False)
    """
    return not name[:1].isdecimal()


def master_of(wishes: Sequence[Wish]) -> str:
    """Give the strake below the master line; blank where there is none."""
    return next((w.strake for w in wishes if w.kind == "master"), "")


def _top_of_lowers(strakes: Sequence[Strake], wishes: Sequence[Wish]) -> int:
    names = [s.name for s in strakes]
    master = master_of(wishes)
    if master in names:
        return names.index(master)
    return max((k for k, s in enumerate(strakes) if s.called not in _ABOVE), default=-1)
