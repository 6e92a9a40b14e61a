"""What of the log a step goes by, so that a line that does not touch it makes nothing stale.

*stands*: which planks hang and are cut, and when they were cut, once a seam was measured; before
that nothing of the log matters to the planking; nor, while a repair stands, to the whole hull's.
*hung*: which planks hang, in the order they were hung. *got out*: which planks are got out or
further, and those spoilt after they were got out, each as often as that was.

A log that cannot be read counts whole: the step itself says what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from ribband.errors import InputError
from ribband.survey.rows import Form

if TYPE_CHECKING:
    from ribband.shop.work.forms import Logged

__all__ = ["got_out", "hung_in_turn", "part_of", "renews", "spoilt_got_out", "was_measured"]


def part_of(part: str, forms: Mapping[str, Form], read: Mapping[str, str]) -> dict[str, str]:
    """Give what a step is keyed by in place of the whole log.

    Parameters
    ----------
    read : the hashes of the forms the step reads

    >>> part_of("hung", {}, {})
    {}
    """
    found = dict(read)
    log = forms.get("log")
    seen = _unseen(forms, read) or was_measured(forms.get("as_hung"))
    if part == "stands" and (renews(forms) or not seen):
        return {}
    if log is None or "log" not in read:
        return found
    try:
        found["log"] = _said(part, read["log"], _Unhashed(log))
    except InputError:
        return found
    if not found["log"]:
        del found["log"]
    return found


def renews(forms: Mapping[str, Form]) -> bool:
    """Tell whether the form renew says anything.

    >>> renews({})
    False
    """
    form = forms.get("renew")
    return form is not None and any(cell.strip() for row in form.rows for cell in row)


class _Unhashed:
    """A form that is the same to the cache whatever it holds: its hash is asked for beside it."""

    def __init__(self, form: Form) -> None:
        self.form = form

    def __hash__(self) -> int:
        return 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Unhashed)


@lru_cache(maxsize=64)
def _said(part: str, _hash: str, log: _Unhashed) -> str:
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_log

    return _PARTS[part](read_log(rows_of({"log": log.form}, "log", "mm")))


def _unseen(forms: Mapping[str, Form], read: Mapping[str, str]) -> bool:
    return "as_hung" in read and "as_hung" not in forms


def was_measured(form: Form | None) -> bool:
    """Tell whether any row of the form `as_hung` says something.

    >>> was_measured(None)
    False
    """
    return form is not None and any(any(cell.strip() for cell in row) for row in form.rows)


def _stands(log: Sequence[Logged]) -> str:
    """Give every line at which a plank is cut, hung or spoilt."""
    from ribband.record.model import come_to
    from ribband.shop.work.forms import in_time

    told: list[str] = []
    at: dict[str, int] = {}
    for line in in_time(log):
        if line.state == "spoilt":
            at.pop(line.plank, None)
            told.append(f"{line.plank} spoilt {line.at}")
            continue
        stage = int(come_to(line.state, "hung"))
        if at.get(line.plank, -1) < stage:
            at[line.plank] = stage
            told.append(f"{line.plank} {stage} {line.at}")
    return "\n".join(told)


def hung_in_turn(log: Sequence[Logged]) -> tuple[str, ...]:
    """Give the planks that hang, in the order they were hung.

    >>> from ribband.shop.work.forms import Logged
    >>> hung_in_turn([Logged("P1-1", "hung", "2027-03-02", ()), Logged("P1-1", "bunged", "", ())])
    ('P1-1',)
    """
    from ribband.record.log import reached
    from ribband.record.model import come_to
    from ribband.shop.work.forms import in_time

    hang = {plank for plank, state in reached(log).items() if come_to(state, "hung")}
    fast = [line.plank for line in in_time(log) if come_to(line.state, "hung")]
    return tuple(dict.fromkeys(plank for plank in fast if plank in hang))


def got_out(log: Sequence[Logged]) -> frozenset[str]:
    """Give the planks that are got out of a board, or further; one spoilt is to be got out again.

    >>> from ribband.shop.work.forms import Logged
    >>> rows = [("P1-1", "hung"), ("P1-2", "patterned"), ("P2-1", "planed"), ("P2-1", "spoilt")]
    >>> sorted(got_out([Logged(plank, state, "", ()) for plank, state in rows]))
    ['P1-1']
    """
    from ribband.record.log import reached
    from ribband.record.model import come_to

    return frozenset(p for p, state in reached(log).items() if come_to(state, "got out"))


def spoilt_got_out(log: Sequence[Logged]) -> tuple[str, ...]:
    """Give the planks spoilt after they were got out of a board, each as often as that was.

    >>> from ribband.shop.work.forms import Logged
    >>> states = ("patterned", "spoilt", "planed", "spoilt")
    >>> spoilt_got_out([Logged("P6-1", state, "", ()) for state in states])
    ('P6-1',)
    """
    from ribband.record.model import come_to
    from ribband.shop.work.forms import in_time

    out, found = set(), []
    for line in in_time(log):
        if line.state != "spoilt":
            if come_to(line.state, "got out"):
                out.add(line.plank)
        elif line.plank in out:
            out.discard(line.plank)
            found.append(line.plank)
    return tuple(found)


_PARTS: dict[str, Callable[[Sequence[Logged]], str]] = {
    "stands": _stands,
    "hung": lambda log: "\n".join(hung_in_turn(log)),
    "got out": lambda log: (
        "\n".join((*sorted(got_out(log)), "spoilt:", *spoilt_got_out(log)))
        if got_out(log) or spoilt_got_out(log)
        else ""
    ),
}
