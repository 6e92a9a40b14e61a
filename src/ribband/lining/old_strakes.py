"""The old planking beside the lining: whether as many strakes are lined out as she had.

Not checked: widths; the wish "recorded" follows those.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.findings import Finding, Severity
from ribband.lining.model import Lining, Wish
from ribband.survey.model import OldWidth
from ribband.units import counted

__all__ = ["beside_old"]

FEWEST = 3  # strakes recorded from the keel up without a gap, from which their number is known
MOST_OF = 0.7  # of those lined out: with fewer she was recorded part of the way up only


def beside_old(
    lining: Lining, wishes: Sequence[Wish], old: Sequence[OldWidth]
) -> tuple[Finding, ...]:
    """Say where the lining has another number of strakes than the old planking (L026)."""
    had, now = _had(old), sum(not strake.stealer for strake in lining.strakes)
    if had in {0, now}:
        return ()
    follows = any(wish.kind == "recorded" for wish in wishes)
    if had < MOST_OF * now:
        return (_part(had, now, follows=follows),)
    said = (
        f"{counted(had, 'old strake')} a side are recorded, {now} are lined out; "
        + ("their widths are laid on strakes of the same numbers, which lie elsewhere"
           if follows else "their widths are not looked at")
    )  # fmt: skip
    why = f"wish strakes {had} for as many as she had" + (
        "" if follows else ", and recorded 1 to follow their widths"
    )
    severity = Severity.CAUTION if follows else Severity.NOTE
    return (Finding("L026", severity, "lining", "the old planking", said, why),)


def _part(had: int, now: int, *, follows: bool) -> Finding:
    """Say that she was recorded part of the way up: how many she had is not known."""
    said = f"the old planking is recorded as far as strake {had}, and {now} are lined out; " + (
        "its widths are laid on strakes of the same numbers, which is right if she had as many"
        if follows
        else "its widths are not looked at"
    )
    why = "record her to the sheer to have as many" + (
        "" if follows else "; wish recorded 1 to follow what is there"
    )
    severity = Severity.CAUTION if follows else Severity.NOTE
    return Finding("L026", severity, "lining", "the old planking", said, why)


def _had(old: Sequence[OldWidth]) -> int:
    """Give how many strakes she had, if they are recorded from the keel without a gap; else 0."""
    names = {width.strake for width in old}
    numbers = {int(name) for name in names if name.isdecimal()}
    whole = numbers == set(range(1, len(numbers) + 1))
    return len(numbers) if whole and len(numbers) >= FEWEST else 0
