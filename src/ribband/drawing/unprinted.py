"""Letters our faces have not got: on paper they come out as empty boxes, so that is said, by name.

The faces have Latin, Greek and Cyrillic; Chinese, Japanese, Arabic and many more they have not.

Code: S020 letters of a name that cannot be printed.

Not checked: marks that are put together from several letters.
"""

from __future__ import annotations

from collections.abc import Iterator

from ribband.drawing.lettering import lacking
from ribband.findings import Finding, Severity
from ribband.survey.model import Particulars

__all__ = ["unprinted"]

SHOWN = 6


def unprinted(own: Particulars) -> Iterator[Finding]:
    """Tell of letters in the names of a vessel's papers that come out as boxes.

    >>> [f.says for f in unprinted(Particulars("海 Heron"))]
    ['letters of vessel have no sign in our faces and print as empty boxes: U+6D77']
    >>> list(unprinted(Particulars("Μαρία Жанна")))
    []
    """
    names = {"vessel": own.vessel, "yard": own.yard, "measured by": own.measured_by,
             "built": own.built, **dict(own.more)}  # fmt: skip
    found = {label: lacking(text) for label, text in names.items() if lacking(text)}
    if not found:
        return
    letters = list(dict.fromkeys("".join(found.values())))
    named = ", ".join(f"U+{ord(letter):04X}" for letter in letters[:SHOWN])
    more = f" and {len(letters) - SHOWN} more" if len(letters) > SHOWN else ""
    says = (
        f"letters of {', '.join(found)} have no sign in our faces and print as empty boxes: "
        f"{named}{more}"
    )
    why = "write the name in Latin, Greek or Cyrillic letters as well"
    yield Finding("S020", Severity.CAUTION, "record", "vessel", says, why)
