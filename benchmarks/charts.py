"""Butts and seams dragged in a browser, on 25 strakes by 60 frames.

A butt: from the landing it snaps to, to its clashes in words and on the sheet. A seam: from what
the hand asks to the settled lining drawn; and from then until the other browser has drawn it.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from benchmarks.table import Row
from benchmarks.web import made as module_of
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.survey import write_forms

__all__ = ["rows"]

STEPS = 24
WATCH = """(kind) => { window.heard = []; addEventListener(kind, (event) => window.heard.push(
  [performance.timeOrigin + performance.now(), event.detail ? event.detail.ms : 0])); }"""
CROSSING = """([row, column]) => { const c = document.querySelector('plank-expansion');
  const f = c.ground.frames[column - 1]; const b = c.svg.getBoundingClientRect();
  const p = c.px(f.x, f.rise + c.girths.upper[row][column] / 10);
  return [p[0] + b.left, p[1] + b.top]; }"""


def rows() -> list[Row]:
    """Drag on the pages, and give the best and the middle of the times."""
    made = module_of("made_server")
    with TemporaryDirectory() as folder, made.browser() as chrome:
        job = _job(Path(folder) / "large")
        with made.served(job) as here:
            butt = _butt(made, chrome, here)
            seam, followed = _seam(made, chrome, here)
        alone = [_alone(job, planks=planks) for planks in (False, True)]
    note = "best of {}; the middle one {:.0f} ms"
    note_alone = "best of 12; seams, planks beside them, and the answer written"
    return [
        Row("charts: a seam settled, processor time", alone[0], "ms", None, "best of 12"),
        Row("charts: and its planks laid flat with it", alone[1], "ms", 50.0, note_alone),
        *(
            Row(what, found[0], "ms", target, note.format(len(found), found[len(found) // 2]))
            for what, found, target in (
                ("charts: a dragged butt shows its clashes", butt, 50.0),
                ("charts: a dragged seam, the lining redrawn", seam, 50.0),
                ("charts: then the other browser has it", followed, 100.0),
            )
        ),
    ]


def _job(folder: Path) -> Path:
    """Make a job of 25 strakes and 60 frames whose limits can be kept."""
    forms = module_of("made_forms")
    boat = forms.double_ender(24_000.0, 6_000.0, 3_000.0)
    given = dict(forms.whole(boat, stations=16, spacing=400.0, vessel="Large Heron"))
    header = ("wish", "strake", "frame", "to_frame", "value", "weight", "notes")
    given["lining"] = forms.form("lining", header, [("strakes", "", "", "", "25", "", "")])
    rules = [("lining.greatest_width", "205", "")]
    given["rules"] = forms.form("rules", ("rule", "value", "notes"), rules)
    folder.mkdir()
    write_forms(given, folder / "forms")
    job = new_job(folder / "large", folder / "forms", "Ada").job
    plan(job, "butts", seconds=3.0)
    return job


def _alone(job: Path, *, planks: bool) -> float:
    """Give what settling and writing the answer takes of a processor, on a machine however busy."""
    from ribband.app.screens.drag import moved, ready  # noqa: PLC0415

    upper = json.loads(ready(job))["upper"][12][30] / 10
    took = []
    for n in range(12):
        began = time.process_time()
        moved(job, "bench", "13", "30", upper + n, planks=planks)
        took.append(time.process_time() - began)
    return 1000 * min(took)


def _butt(made: Any, chrome: Any, here: Any) -> list[float]:
    page = made.open_page(chrome, here.url("/butts"))
    page.wait_for_selector(".butt")
    page.evaluate(WATCH, "butts-checked")
    box = page.locator(".butt .reach").nth(20).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for n in range(STEPS):
        page.mouse.move(x + 18 * (n % 12 + 1), y)
        page.wait_for_timeout(120)
    page.keyboard.press("Escape")
    found = sorted(ms for _, ms in page.evaluate("() => window.heard"))
    page.context.close()
    return found


def _seam(made: Any, chrome: Any, here: Any) -> tuple[list[float], list[float]]:
    one, two = (made.open_page(chrome, here.url("/line-out"), who=who) for who in ("Ada", "Ben"))
    for page in (one, two):
        page.wait_for_selector("body[data-ready='1']", timeout=60_000)
    one.evaluate(WATCH, "seam-drawn")
    two.evaluate(WATCH, "seam-followed")
    x, y = one.evaluate(CROSSING, [12, 30])
    one.mouse.move(x, y)
    one.mouse.down()
    for n in range(STEPS):
        one.mouse.move(x, y - 4 - n % 6)
        one.wait_for_timeout(250)
    drawn, heard = (page.evaluate("() => window.heard") for page in (one, two))
    one.keyboard.press("Escape")
    for page in (one, two):
        page.context.close()
    after = [min((b - a for b, _ in heard if b > a), default=1e9) for a, _ in drawn]
    return sorted(ms for _, ms in drawn), sorted(after)
