"""Load: twenty browsers and fifty changes a second for ten minutes, and what became of each.

The hands are those of the tests (`tests/made_load.py`), which look over at the end that every
acknowledged change is in the file and every browser's copy is the file's. The server is a process
of its own; the hands share this one, on the same machine, and so take their part of it.

    python -m benchmarks load      # RIBBAND_LOAD_SECONDS (600), _HANDS (20), _RATE (50)
"""

from __future__ import annotations

import os
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from benchmarks.table import Row
from benchmarks.web import large_job, made

__all__ = ["rows"]


def rows() -> list[Row]:
    """Load the job of 25 strakes and 60 frames."""
    hands = made("made_load")
    load = hands.Load(
        int(os.environ.get("RIBBAND_LOAD_HANDS", "20")),
        float(os.environ.get("RIBBAND_LOAD_RATE", "50")),
        float(os.environ.get("RIBBAND_LOAD_SECONDS", "600")),
    )
    with TemporaryDirectory() as folder:
        job = large_job(Path(folder) / "large")
        found = hands.under(job, load)
    of = f"{load.hands} browsers, {load.rate:g} changes/s, {load.seconds:g} s"
    start, middle, end = found.memory_mb
    wanted = 0.97 * load.rate * load.seconds
    return [
        Row("load: changes acknowledged", found.acknowledged, "", wanted, of, at_least=True),
        Row("load: acknowledged and not in the file", found.lost, "", 0.0),
        Row("load: browsers unlike the file at the end", found.unlike, "", 0.0),
        Row("load: acknowledged within, 50 of 100", found.told(50), "ms"),
        Row("load: acknowledged within, 95 of 100", found.told(95), "ms", 150.0),
        Row("load: acknowledged within, 99 of 100", found.told(99), "ms"),
        Row("load: heard by another browser within, 95 of 100", found.heard(95), "ms", 250.0),
        Row("load: two hands at one cell", found.clashes, "times", None, "asked, then settled"),
        Row("load: server's memory at the start", start, "MB", 250.0),
        Row("load: its growth to the middle", middle - start, "MB"),
        Row("load: its growth from the middle to the end", end - middle, "MB", 5.0),
        Row("load: job file, each revision", _each(found), "kB", None,
            f"{found.file_mb[0]:.1f} to {found.file_mb[1]:.1f} MB"),
    ]  # fmt: skip


def _each(found: Any) -> float:
    """Give the kB the file grew by for each revision."""
    before, after = found.file_mb
    return 1000.0 * float(after - before) / max(int(found.acknowledged), 1)
