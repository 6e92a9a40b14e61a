"""The command line: plain verbs over the use cases, in the order of the work.

Nothing is computed here. Every verb that answers can answer in JSON (``--json``); progress goes to
standard error, so that answers can be piped. Heavy libraries are loaded by the use cases when a
verb needs them, so that help is there at once.
"""

import os

from ribband.cli import asking as _asking
from ribband.cli import benching as _benching
from ribband.cli import entering as _entering
from ribband.cli import hanging as _hanging
from ribband.cli import keeping as _keeping
from ribband.cli import opening as _opening
from ribband.cli import recording as _recording
from ribband.cli import scanning as _scanning
from ribband.cli import shopping as _shopping
from ribband.cli import studying as _studying
from ribband.cli import timbering as _timbering
from ribband.cli import wishing as _wishing
from ribband.cli import working as _working
from ribband.cli.saying import CODES
from ribband.cli.top import cli

__all__ = ["CODES", "cli", "main"]

_VERBS = (
    _entering,
    _scanning,
    _working,
    _wishing,
    _timbering,
    _shopping,
    _hanging,
    _studying,
    _asking,
    _recording,
    _keeping,
    _benching,
    _opening,
)  # loading them hangs their verbs on the command


def main() -> None:
    """Start from the shell.

    Our matrices are small and banded: on a busy machine, threads that wait for each other made
    lining out ten times slower (35 s of processor time against 3 s), so one thread is the default.
    The memory it may take is said in `ribband.app.plan.limits`.
    """
    from ribband.app.plan.limits import hold_memory

    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    hold_memory()
    cli(prog_name="ribband")
