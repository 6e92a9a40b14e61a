"""A scan of two million points: read, placed and cut, and the memory it takes.

The cloud is that of ``tests/made_scans.py``: a made launch of 17 m, noise of 2 mm, any pose, with
a floor, shores, staging and a bystander. The work is done in a process of its own, so that its
peak of memory is its own; its clock is the processor's.
"""

from __future__ import annotations

import json
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

import numpy as np

from benchmarks.table import Row

__all__ = ["rows"]

HOME = Path(__file__).parents[1]
COUNT = 1_700_000  # of the hull; with what stands about her two million
FRAMES = 30


def made() -> Any:
    """Load the made scans of the tests."""
    tests = str(HOME / "tests")
    if tests not in sys.path:
        sys.path.append(tests)
    return import_module("made_scans")


def rows() -> list[Row]:
    """Time the way from a PLY file to the form of points, and measure the girths it gives."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "launch.ply"
        write(path, made().scanned(COUNT, seed=4).points)
        done = subprocess.run(
            [sys.executable, "-m", "benchmarks.scan", str(path)],
            check=True, capture_output=True, text=True, cwd=HOME,
        )  # fmt: skip
    found = json.loads(done.stdout)
    return [
        Row("scan of 2 million points to points on 30 frames", found["seconds"], "s", 60.0),
        Row("scan, peak memory", found["mb"], "MB", 4000.0),
        Row("scan, girths off the true ones, rms", found["rms"], "mm", None, "noise 2 mm"),
        Row("scan, girths off the true ones, greatest", found["most"], "mm"),
    ]


def write(path: Path, points: Any) -> None:
    """Write a binary PLY of single precision, as scanners do; metres."""
    head = (
        f"ply\nformat binary_little_endian 1.0\nelement vertex {len(points)}\n"
        "property float x\nproperty float y\nproperty float z\nend_header\n"
    )
    path.write_bytes(head.encode() + (points / 1000.0).astype("<f4").tobytes())


def work(path: Path) -> dict[str, float]:
    """Do the work and say what it took."""
    import resource  # noqa: PLC0415

    from ribband.survey.model import FrameMark  # noqa: PLC0415
    from ribband.survey.scan import Datum, Placing, cut_at_frames, place, read_scan  # noqa: PLC0415

    makes = made()
    pose = makes.scanned(1000, seed=4, clutter=False)  # in the same pose
    picked: dict[str, Any] = {
        name: tuple(tuple(c / 1000.0 for c in p) for p in picks)
        for name, picks in makes.picks(pose).items() if name != "datum"
    }  # fmt: skip
    datum = Datum(picked["level"][0], 1000.0, 0.0)
    marks = [
        FrameMark(str(i + 1), float(x)) for i, x in enumerate(np.linspace(-700.0, 16_700.0, FRAMES))
    ]
    start = process_time()
    placed = place(read_scan(path, "m"), Placing(**picked, datum=datum))
    cut = cut_at_frames(placed, marks, "mm")
    seconds = process_time() - start
    mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    off = girth_errors(cut.form, marks)
    most = float(np.abs(off).max())
    return {"seconds": seconds, "mb": mb, "rms": float(np.sqrt(np.mean(off**2))), "most": most}


def girth_errors(form: Any, marks: Any) -> Any:
    """Fit the hull to the points cut, and give its girths less the true ones, mm."""
    from ribband import hull  # noqa: PLC0415
    from ribband.survey import Form, read_survey  # noqa: PLC0415

    rows = tuple((m.name, f"{m.x_mm:.4f}", "") for m in marks)
    numbers = tuple(range(2, len(rows) + 2))
    frames = Form("frames", ("frame", "position", "notes"), rows, "frames.csv", numbers)
    said = (("unit", "mm", ""), ("planking", "38", ""))
    vessel = Form("vessel", ("item", "value", "notes"), said, "vessel.csv", (2, 3))
    fitted = hull.fit(read_survey({"vessel": vessel, "frames": frames, "points": form}))
    hulls = import_module("made_hulls")
    true = hulls.launch(len(marks), 31)
    known = dict(zip(true.frames.names, true.frames.girth_mm, strict=True))
    measured = zip(fitted.frames.names, fitted.frames.girth_mm, strict=True)
    return np.array([girth - known[name] for name, girth in measured])


if __name__ == "__main__":
    print(json.dumps(work(Path(sys.argv[1]))))
