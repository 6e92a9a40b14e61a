"""A job far larger than most: 60 strakes a side, 140 frames, planned as far as flat shapes.

For looking at by hand and for benchmarks; planning it takes a minute or two.
"""

from __future__ import annotations

from pathlib import Path

import made_forms
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.survey import write_forms

__all__ = ["wide_job"]

WISH = ("wish", "strake", "frame", "to_frame", "value", "weight", "notes")


def wide_job(folder: Path, strakes: int = 60, frames: int = 140, *, last: str = "shapes") -> Path:
    """Make and plan a double-ender of so many strakes and frames, frames 400 mm apart."""
    length = 400.0 * (frames + 1.2)
    boat = made_forms.double_ender(length, 0.2 * length, 0.1 * length)
    given = dict(
        made_forms.whole(boat, stations=20, spacing=400.0, vessel="Marl Heron, drawn out long")
    )
    given["lining"] = made_forms.form(
        "lining", WISH, [("strakes", "", "", "", str(strakes), "", "")]
    )
    folder.mkdir()
    write_forms(given, folder / "forms")
    job = new_job(folder / "wide", folder / "forms", "Ada").job
    plan(job, last, seconds=3.0)
    return job
