"""Letters our faces have not got: on paper they are written in words, and that is said, by name.

The faces have Latin, Greek and Cyrillic; Chinese, Japanese, Arabic and many more they have not.

Code: S020 letters of a name that cannot be printed as they are.
"""

from __future__ import annotations

from collections.abc import Iterator

from ribband.drawing.letters import lacking, readable
from ribband.findings import Finding, Severity
from ribband.survey.model import Particulars

__all__ = ["unprinted"]


def unprinted(own: Particulars) -> Iterator[Finding]:
    """Tell of letters in the names of a vessel's papers that stand there in words.

    >>> [f.says for f in unprinted(Particulars("海 Heron"))]
    ['letters our faces have not got stand on paper in words: vessel is “[U+6D77] Heron” there']
    >>> list(unprinted(Particulars("Μαρία Жанна")))
    []
    """
    names = {"vessel": own.vessel, "yard": own.yard, "measured by": own.measured_by,
             "built": own.built, **dict(own.more)}  # fmt: skip
    found = [f"{label} is “{readable(name)}” there" for label, name in names.items()
             if lacking(name)]  # fmt: skip
    if found:
        says = f"letters our faces have not got stand on paper in words: {', '.join(found)}"
        why = "write the name in Latin, Greek or Cyrillic letters as well"
        yield Finding("S020", Severity.CAUTION, "record", "vessel", says, why)
