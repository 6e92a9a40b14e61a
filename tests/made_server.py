"""A job served by a process of its own, and a browser to look at it with.

    with served(job) as here:              # a copy of the job file, a free port
        with browser() as chrome:
            page = open_page(chrome, here.url("/butts"), "tablet")

The browser is Debian's Chromium: the one without windows of its own where it is there, which lays
out and draws by the same engine with half the work; else the whole one. Where both are missing the
tests fail and say so.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from made_kept import planned_copy
from made_waits import first_line
from ribband.app.entering.jobs import new_job

BROWSERS = ("chromium-headless-shell", "chromium")  # the first of them that is there
ANSWER_SECONDS = 60.0  # from its first word to its first answer
SIZES = {"desktop": (1440, 900), "tablet": (1180, 820), "phone": (390, 844)}
PATIENCE_MS = 60_000  # for whatever a page is to show; a busy machine is slow
expect.set_options(timeout=PATIENCE_MS)
OPENED: list[Browser] = []  # those open now
SOLID = [  # WebGL by software, and the page itself without: by it that took most of the time
    "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
    "--disable-gpu-compositing", "--disable-gpu-rasterization",
]  # fmt: skip


@dataclass
class Here:
    """A job being served."""

    job: Path
    address: str
    codes: dict[str, str]
    process: subprocess.Popen[str]
    options: tuple[str, ...]
    troubles: list[str] = field(default_factory=list)

    def url(self, path: str = "/") -> str:
        return self.address.rstrip("/") + path

    @property
    def port(self) -> int:
        return int(self.address.rstrip("/").rpartition(":")[2])

    def client(self, **more: Any) -> httpx.Client:
        return httpx.Client(base_url=self.address, timeout=30.0, **more)

    def kill(self) -> None:
        """End the server as a power cut would."""
        self.process.kill()
        self.process.wait(10)

    def start_again(self) -> None:
        """Serve the same job on the same port."""
        options = [o for o in self.options if o not in {"--port", "0"}]
        self.process, said = _started(self.job, (*options, "--port", str(self.port)))
        self.codes = said["codes"]


@contextmanager
def served(job: Path, *options: str) -> Iterator[Here]:
    """Serve `job` (not a copy) on a free port; `--by-hand` unless `--by-itself` is asked for."""
    own = [o for o in options if o != "--by-itself"]
    if "--by-itself" not in options:
        own.append("--by-hand")
    own = [*own, "--port", "0"]
    process, said = _started(job, own)
    here = Here(job, said["address"], said["codes"], process, tuple(own))
    try:
        yield here
    finally:
        here.process.terminate()
        try:
            here.process.wait(10)
        except subprocess.TimeoutExpired:
            here.process.kill()


def _started(job: Path, options: Sequence[str]) -> tuple[subprocess.Popen[str], dict[str, Any]]:
    command = [sys.executable, "-m", "ribband", "open", str(job), "--no-open", "--json", *options]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"OPENBLAS_NUM_THREADS": "1"}
    )
    assert process.stdout is not None
    with process.stdout:
        line = first_line(process)
    assert line, f"the server did not start: {' '.join(command)}"
    said = json.loads(line)
    _answers(said["address"], process)
    return process, said


def _answers(address: str, process: subprocess.Popen[str]) -> None:
    end = time.monotonic() + ANSWER_SECONDS
    while time.monotonic() < end:
        try:
            httpx.get(address + "healthy", timeout=5.0)
            return
        except httpx.TransportError:
            assert process.poll() is None, "the server ended at once"
            time.sleep(0.05)
    process.kill()
    raise AssertionError("the server does not answer")


def blank_job(folder: Path, name: str = "heron") -> Path:
    """Make a job without forms."""
    return new_job(folder / f"{name}.ribband", None, "Ada").job


def heron_job(folder: Path, *, last: str | None = None) -> Path:
    """Make the job of *Marl Heron* from her forms, planned as far as `last` if said."""
    return planned_copy(folder / "heron.ribband", last)


@contextmanager
def browser(*, solid: bool = False) -> Iterator[Browser]:
    """Open Chromium; `solid` with WebGL drawn in software."""
    program = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert program, f"these tests need {BROWSERS[0]} (apt install {BROWSERS[0]})"
    with sync_playwright() as playwright:
        chrome = playwright.chromium.launch(
            executable_path=program, args=SOLID if solid else ["--disable-gpu"]
        )
        OPENED.append(chrome)
        try:
            yield chrome
        finally:
            OPENED.remove(chrome)
            chrome.close()


def open_page(
    chrome: Browser, url: str, size: str = "desktop", *, who: str = "Ada", **more: Any
) -> Page:
    """Open a page in a browser context of its own; `page.troubles` lists what went wrong on it."""
    width, height = SIZES[size]
    touch = size != "desktop"
    context = chrome.new_context(
        viewport={"width": width, "height": height}, has_touch=touch, is_mobile=touch,
        locale="en-GB", reduced_motion="reduce", **more,
    )  # fmt: skip
    # a blank page has no storage
    signed = f"localStorage.setItem('ribband.who', {json.dumps(who)})"
    context.add_init_script(f"if (location.protocol === 'http:') {signed}")
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
    page.troubles = troubles  # type: ignore[attr-defined]
    page.goto(url)
    page.wait_for_load_state("load")
    if page.locator(".rail").count():
        page.wait_for_selector("body[data-ready]", state="attached")
    return page


def faults_of(page: Page) -> list[str]:
    """Run the accessibility audit (WCAG 2.2 AA) and give what it found, in words."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    # what is in order is not listed: every node of a page takes longer to tell than to audit
    asked = {"runOnly": {"type": "tag", "values": tags}, "resultTypes": ["violations"]}
    found = Axe().run(page, options=asked)
    return [
        f"{one['id']}: {one['help']}: {node['target']} {node.get('failureSummary', '')}"
        for one in found.response["violations"]
        for node in one["nodes"]
    ]
