"""How the tests are run: what is shared, in which order, and what is tried once again.

*Shelf*: a folder that all workers of a run share; `made_kept` keeps planned jobs on it, so that
the example is planned once and not in every file.

*Order*: with several workers (``-n auto``) a file's tests stay together, so that what they share
is made once; the files that take longest are begun first. There are three workers for two
cores: a test waits for a browser, or for a job being served, for a third of its time.

*Tried again*: a browser on a machine that is busy with other things may be too late for one of
its own clocks. A test that drives a browser and ends in a `TimeoutError`, and in nothing else, is
run once more; the summary lists every test that was (as ``RERUN``, by ``-r R``, which is always
on). A wrong figure, a fault on the page or a failed assertion is never tried again.

*Compiled*: where Python is told to write no compiled modules, each of the hundreds of programs the
tests start would compile every library anew, which is half of what it takes to start one; they
are kept in a folder of the tests' own instead.

*Left open*: a page that a test leaves open goes on following its job; each is closed when its test
is over. Pages of a fixture that is shared stay.

*Kept apart*: what is there once all tests are gathered stays to the end; Python is told not to
look through it for rubbish again and again.

*No haste*: an example that `hypothesis` makes up may take its time; a busy machine is no fault.

*Ended*: a test that takes longer than any does is ended with its process, and where every thread
stood is written out; another worker goes on with the rest.
"""

from __future__ import annotations

import faulthandler
import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from made_kept import SHELF

LONGEST = (  # by seconds on a machine with nothing else to do
    "test_handbook", "test_web_story", "test_timbering", "test_scan", "test_web_measure",
    "test_web_work", "test_web_shell", "test_web_api", "test_butts", "test_record_stands",
    "test_cli", "test_web_timber", "test_web_record", "test_web_shop", "test_web_butts",
    "test_web_line_out_planks", "test_web_line_out", "test_web_hands", "test_record_repair_app",
    "test_scheduling_published", "test_record_story", "test_web_planks", "test_web_why",
    "test_web_yard_many", "test_lining", "test_study", "test_book",
    "test_bench_papers", "test_trust_audit", "test_work_app", "test_work_forecast", "test_app",
    "test_order", "test_laying", "test_hull", "test_strange_hulls", "test_unseen_hulls",
    "test_scanning", "test_drawing_views", "test_record_relining", "test_shapes", "test_trust_disk",
    "test_trust_fuzz", "test_trust_bombs", "test_why", "test_house", "test_web_load",
)  # fmt: skip


LONGEST_SECONDS = 600.0  # of one test, on the busiest machine


def _keep_what_is_compiled(folder: Path) -> None:
    """Let this program and those it starts keep compiled modules apart from the source."""
    if sys.dont_write_bytecode and sys.pycache_prefix is None:
        sys.dont_write_bytecode = False
        sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"] = str(folder)
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_configure(config: pytest.Config) -> None:
    hypothesis.settings.register_profile("house", deadline=None)
    hypothesis.settings.load_profile("house")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as `make` does; for workers, and programs
    _keep_what_is_compiled(config.rootpath / ".pytest_cache" / "compiled")
    config.option.reportchars = (config.option.reportchars or "") + "R"
    config.stash[TOLD] = os.dup(2)  # as it is before anything is captured


TOLD = pytest.StashKey[int]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    faulthandler.dump_traceback_later(LONGEST_SECONDS, exit=True, file=item.config.stash[TOLD])
    try:
        return (yield)
    finally:
        faulthandler.cancel_dump_traceback_later()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    place = {name: n for n, name in enumerate(LONGEST)}
    items.sort(key=lambda item: place.get(item.path.stem, len(place)))
    for item in items if config.pluginmanager.hasplugin("rerunfailures") else ():
        if _drives_a_browser(item):
            item.add_marker(pytest.mark.flaky(reruns=1, only_rerun=["^TimeoutError"]))


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


@pytest.fixture(autouse=True)
def _pages_closed() -> Iterator[None]:
    opened = getattr(sys.modules.get("made_server"), "OPENED", ())
    before = {page for chrome in opened for page in chrome.contexts}
    yield
    for chrome in opened:
        for pages in set(chrome.contexts) - before:
            pages.close()


def _drives_a_browser(item: pytest.Item) -> bool:
    module = getattr(item, "module", None)
    return item.path.name.startswith("test_web_") and hasattr(module, "browser")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    return cores() * 3 // 2  # two a core were no quicker, and every wait was twice as long


def cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 - only there with xdist

    config.option.loadscopereorder = False
    return LoadFileScheduling(config, log)


@pytest.fixture(scope="session", autouse=True)
def _shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    own = tmp_path_factory.getbasetemp()
    shelf = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "shelf"
    Path(shelf).mkdir(exist_ok=True)
    os.environ[SHELF] = str(shelf)
    yield
    del os.environ[SHELF]
