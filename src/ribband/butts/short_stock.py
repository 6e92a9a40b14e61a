"""Where counted stock does not hold every plank: which lengths ran out, and what more would do.

Boards are handed out longest plank first, each the shortest board that does, so that as few as can
be go without. A board for each plank that lacks one is asked for in the shortest length of stock
that holds it: fewer may do where butts are laid anew.

Not checked: whether the butts could be laid so that the stock is enough; the search looks for that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from ribband.butts.model import Ways
from ribband.butts.problem import TOUCH_MM, stock_in_hand
from ribband.butts.rules import ButtRules
from ribband.units import counted, format_length

__all__ = ["handed_out", "more_stock"]


def handed_out(ways: Ways, rules: ButtRules, lengths: Sequence[float]) -> tuple[bool, ...]:
    """Tell of every plank length whether a board is left for it when all are handed out."""
    yields, left = stock_in_hand(ways, rules)
    if not len(yields):
        return (True,) * len(lengths)
    has = [False] * len(lengths)
    for at in sorted(range(len(lengths)), key=lambda k: -lengths[k]):
        fits = [k for k, y in enumerate(yields) if y >= lengths[at] - TOUCH_MM and left[k] >= 1]
        if fits:
            left[fits[0]] -= 1
            has[at] = True
    return tuple(has)


def more_stock(ways: Ways, rules: ButtRules, lacking: Sequence[float]) -> str:
    """Say which lengths of stock ran out and how many boards more would do, both sides counted.

    lacking : lengths of the planks of this side that no board is left for, mm
    """
    yields, _ = stock_in_hand(ways, rules)
    if not lacking or ways.stock_mm is None or ways.stock_count is None:
        return ""
    held = [length for length in lacking if length <= yields[-1] + TOUCH_MM]
    wanted = Counter(int((yields >= length - TOUCH_MM).argmax()) for length in held)
    said = []
    if held:
        out = [k for k, y in enumerate(yields) if y >= min(held) - TOUCH_MM]
        gone = " and ".join(
            f"{ways.stock_count[k]:g} of {format_length(float(ways.stock_mm[k]), ways.unit)}"
            for k in out
        )
        more = " and ".join(
            f"{counted(_more(ways, rules, k, many), 'more board')} of "
            f"{format_length(float(ways.stock_mm[k]), ways.unit)}"
            for k, many in sorted(wanted.items())
        )
        said.append(f"of the stock all {gone} are handed out; {more} would do")
    if len(held) < len(lacking):
        longest = format_length(max(lacking) + rules.trim_mm, ways.unit)
        many = counted(len(lacking) - len(held), "plank is", "planks are")
        said.append(f"{many} longer than any board of the stock: {longest} would do")
    return "; ".join(said)


def _more(ways: Ways, rules: ButtRules, at: int, wanted: int) -> int:
    """Give how many boards must come so that each side has so many more; an odd one counts."""
    share = 1 if rules.sides == "one" else 2
    has = 0 if ways.stock_count is None else int(ways.stock_count[at])
    return share * (has // share + wanted) - has
