"""Old widths as a notebook holds them: a table with strakes down and frames across.

The form ``old_strakes`` has a row for every width. A table whose heading names the column strake
and then frames is read as those rows, from the first frame on, blanks and dashes left out.

Not checked here: that the frames are there, or what the widths say; the survey does both.
"""

from __future__ import annotations

import re
from dataclasses import replace

from ribband.survey.columns import LAYOUTS, heading, nearest
from ribband.survey.rows import Form

__all__ = ["rows_of_table"]

FORM = "old_strakes"
ENDS = ("stem", "stern")
OWN = ("side", "strake", "notes")
_SAID = re.compile(r"^(?:frames?|fr\.?)[\s_]+(?=\S)", re.IGNORECASE)
_NOTHING = {"", "-", "–", "—"}


def rows_of_table(form: Form) -> Form:
    """Give a table of old widths as rows of strake, frame and width; any other form as it is.

    >>> table = Form("old_strakes", ("strake", "stem", "8"), (("1", "0-5-0", "0-7-4"),), "", (2,))
    >>> rows_of_table(table).rows
    (('1', 'stem', '0-5-0'), ('1', '8', '0-7-4'))
    """
    frames = _frames(form)
    if not frames:
        return form
    names = [heading(text) for text in form.header]
    own = [name for name in OWN if name in names]
    before, after = [n for n in own if n != "notes"], [n for n in own if n == "notes"]
    first, last = ([names.index(name) for name in part] for part in (before, after))
    rows = tuple(
        (*(row[n] for n in first), frame, row[at], *(row[n] for n in last))
        for at, frame in frames
        for row in form.rows
        if row[at].strip() not in _NOTHING
    )
    numbers = tuple(range(form.heading_row + 1, form.heading_row + 1 + len(rows)))
    return replace(form, header=(*before, "frame", "width", *after), rows=rows, numbers=numbers)


def _frames(form: Form) -> list[tuple[int, str]]:
    """Name the columns that are frames, with their places; none where it is no such table."""
    names = [heading(text) for text in form.header]
    if form.name != FORM or "strake" not in names or {"frame", "width"} & set(names):
        return []
    known = tuple(column.name for column in LAYOUTS[FORM].columns)
    said = [(at, _SAID.sub("", text.strip())) for at, text in enumerate(form.header)]
    frames = [(at, text) for at, text in said if text and heading(text) not in OWN]
    names = [heading(text) for _, text in frames]
    slips = [name for name in names if name not in ENDS and nearest(name, known)]
    return [] if slips else frames
