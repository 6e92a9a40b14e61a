"""The app in a real browser: opening it, a second browser seeing an edit, the server's memory.

The large job has 25 strakes and 60 frames and is planned as far as flat shapes. Times are of
Chromium on this machine, drawing without a graphics card; memory is the resident set of the
server's own process and, apart, of the processes it starts to work in.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from benchmarks.table import Row
from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.survey import write_forms

__all__ = ["large_job", "made", "rows"]

TESTS = Path(__file__).parents[1] / "tests"
TRIES = 7
PAGES = ("/", "/measure", "/line-out", "/butts", "/planks")


def made(name: str) -> Any:
    """Load a module of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return __import__(name)


def rows() -> list[Row]:
    """Measure the app on the demo's job and on a large one."""
    server_of = made("made_server")
    with TemporaryDirectory() as folder, server_of.browser() as chrome:
        small = server_of.heron_job(Path(folder), last="shapes")
        with server_of.served(small) as here:
            opened = min(_opened(chrome, here) for _ in range(TRIES))
            second = _second(chrome, here)
        large = large_job(Path(folder) / "large")
        with server_of.served(large) as here:
            opened_large = min(_opened(chrome, here) for _ in range(3))
            server, apart = _memory(chrome, here)
    return [
        Row("app: overview usable", opened, "s", 1.0, f"the demo's job, best of {TRIES}"),
        Row("app: overview usable, 25 x 60", opened_large, "s", 1.0, "best of 3"),
        Row("app: an edit is on the disk", second[0] * 1000, "ms", None, "best of 7"),
        Row("app: a second browser sees it, after the edit was made", second[1] * 1000, "ms", 100.0,
            "best of 7"),
        Row("app: server's memory, five browsers on 25 x 60", server, "MB", 250.0),
        Row("app: its working processes' memory then", apart, "MB", None, "go when idle"),
    ]  # fmt: skip


def large_job(folder: Path) -> Path:
    """Make and plan the job of 25 strakes and 60 frames."""
    forms = made("made_forms")
    boat = forms.double_ender(24_000.0, 6_000.0, 3_000.0)
    given = dict(forms.whole(boat, stations=16, spacing=400.0, vessel="Large Heron"))
    header = ("wish", "strake", "frame", "to_frame", "value", "weight", "notes")
    given["lining"] = forms.form("lining", header, [("strakes", "", "", "", "25", "", "")])
    folder.mkdir()
    write_forms(given, folder / "forms")
    job = new_job(folder / "large", folder / "forms", "Ada").job
    plan(job, "shapes", seconds=3.0)
    return job


def _opened(chrome: Any, here: Any) -> float:
    """Give the seconds from asking for the overview to its figures being there."""
    with _page(chrome, here) as page:
        start = time.perf_counter()
        page.goto(here.url("/"), wait_until="commit")
        page.wait_for_selector("#figures > div")
        return time.perf_counter() - start


@contextmanager
def _page(chrome: Any, here: Any) -> Iterator[Any]:
    context = chrome.new_context(viewport={"width": 1440, "height": 900})
    try:
        yield context.new_page()
    finally:
        context.close()


WATCHES = """async () => {
  const {job} = await import('/static/js/job.js');
  window.seen = [];
  const now = () => performance.timeOrigin + performance.now();
  job.on('patch', (patch) => window.seen.push([patch.id, now()]));
}"""
EDITS = """async (n) => {
  const {job} = await import('/static/js/job.js');
  const start = performance.timeOrigin + performance.now();
  const now = ['rules.try_' + n, '1', ''];
  const patch = await job.change([{form: 'rules', was: null, now, at: 0}], 'a try');
  return [patch.id, start, performance.timeOrigin + performance.now()];
}"""


def _second(chrome: Any, here: Any) -> tuple[float, float]:
    """Give the seconds until an edit is acknowledged, and until the other browser has it."""
    with _page(chrome, here) as one, _page(chrome, here) as two:
        for page in (one, two):
            page.goto(here.url("/shop"))
            page.wait_for_selector("body[data-ready]", state="attached")
        two.evaluate(WATCHES)
        told, heard = [], []
        for n in range(TRIES):
            mark, start, end = one.evaluate(EDITS, n)
            two.wait_for_timeout(150)
            seen = dict(two.evaluate("() => window.seen"))
            told.append((end - start) / 1000)
            heard.append((seen[mark] - start) / 1000)
        return min(told), min(heard)


def _memory(chrome: Any, here: Any) -> tuple[float, float]:
    """Give the memory in MB of the server, and of its processes, with five browsers open."""
    contexts = [chrome.new_context() for _ in PAGES]
    try:
        for context, path in zip(contexts, PAGES, strict=True):
            page = context.new_page()
            page.goto(here.url(path))
            page.wait_for_selector("body[data-ready]", state="attached")
            page.wait_for_timeout(1500)
        own = here.process.pid
        return _resident(own), sum(_resident(child) for child in _children(own))
    finally:
        for context in contexts:
            context.close()


def _resident(process: int) -> float:
    status = Path(f"/proc/{process}/status").read_text()
    line = next((ln for ln in status.splitlines() if ln.startswith("VmRSS")), "VmRSS: 0 kB")
    return int(line.split()[1]) / 1024


def _children(process: int) -> list[int]:
    lists = Path(f"/proc/{process}/task").glob("*/children")
    return [int(number) for own in lists for number in own.read_text().split()]
