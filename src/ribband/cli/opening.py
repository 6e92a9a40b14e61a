"""The verb that opens a job in the browser."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribband.cli.top import JOB, cli

if TYPE_CHECKING:
    from ribband.web.serving import Served

__all__ = ["open_in_browser"]


@cli.command("open")
@JOB
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=None,
    help="The port to listen on; 0 is any. By default the first free from 7311.",
)
@click.option(
    "--share",
    is_flag=True,
    help="Open it to the yard's network, by codes for those who look, work or lead.",
)
@click.option("--new", is_flag=True, help="Make JOB, with nothing entered yet, if it is not there.")
@click.option("--no-open", is_flag=True, help="Do not open a browser.")
@click.option("--by-hand", is_flag=True, help="Bring the plan up to date only when asked.")
@click.option("--json", "as_json", is_flag=True, help="Say the address in JSON, for machines.")
def open_job(
    job: Path, port: int | None, share: bool, new: bool, no_open: bool, by_hand: bool, as_json: bool
) -> None:
    """Open JOB in the browser, on this machine; end with Ctrl+C.

    Where JOB is a folder, all job files in it: a page of the yard's vessels, and each served on a
    port of its own. Nothing is fetched from outside. Every change is in the job file before the
    page says so.

    \b
    Examples:
      ribband open heron --new          a job begun in the browser
      ribband open heron
      ribband open heron --share        for tablets in the yard
      ribband open jobs --share         every vessel of the yard
    """
    from ribband.app.entering.jobs import job_path, new_job

    if not as_json:
        click.echo(f"Opening {_called(job)} ...")
        sys.stdout.flush()
    if job.is_dir():
        _open_yard(
            job, port=port, shared=share, opened=not no_open, by_itself=not by_hand, as_json=as_json
        )
        return
    if new and not job_path(job).exists():
        new_job(job, None)
    open_in_browser(
        job, port=port, share=share, opened=not no_open, by_itself=not by_hand, as_json=as_json
    )


def open_in_browser(
    job: Path, *, port: int | None = None, share: bool = False, opened: bool = True,
    by_itself: bool = True, as_json: bool = False,
) -> None:  # fmt: skip
    """Serve a job and say where."""
    from ribband.web.serving import serve

    with _till_stopped(as_json):
        serve(
            job, port=port, shared=share, opened=opened, by_itself=by_itself,
            tell=lambda served: _say(job, served, as_json),
        )  # fmt: skip


def _open_yard(job: Path, *, as_json: bool, **how: Any) -> None:
    from ribband.web.yard_server import serve_yard

    with _till_stopped(as_json):
        serve_yard(job, tell=lambda served: _say(job, served, as_json), **how)


@contextmanager
def _till_stopped(as_json: bool) -> Iterator[None]:
    """Take Ctrl+C for the end it is said to be, not for a fault."""
    try:
        yield
    except KeyboardInterrupt:
        if not as_json:
            click.echo("Closed. Everything entered is in the job file.")


def _called(job: Path) -> str:
    """Give what a job or a folder is called, also where it is said as a dot."""
    whole = Path(os.path.abspath(job))  # noqa: PTH100 - a link keeps its own name
    return whole.stem or str(whole)


def _say(job: Path, served: Served, as_json: bool) -> None:
    if as_json:
        said = {"address": served.address, "others": served.others, "codes": served.codes}
        said |= {"jobs": served.jobs} if job.is_dir() else {}
        click.echo(json.dumps(said), nl=True)
    else:
        many = f", {len(served.jobs)} jobs" if job.is_dir() else ""
        click.echo(f"{_called(job)}{many} is open at {served.address}  (end with Ctrl+C)")
        for role, code in served.codes.items():
            click.echo(f"  code to {role}: {code}")
        for address in served.others:
            click.echo(f"  from the yard: {address}")
        if served.codes:
            click.echo("  The yard's network is not private: anyone on it can read along.")
    sys.stdout.flush()
