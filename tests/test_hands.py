"""Several processes at papers: the same files, errors as themselves, an interrupt ends all."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from made_waits import first_line
from ribband.app.papers.hands import Hands, Piece, spare_hands
from ribband.app.plan.runner import quiet


@pytest.fixture(scope="module")
def two() -> Iterator[Hands]:
    with Hands(2) as hands:
        yield hands


def test_pieces_are_done_elsewhere_by_two_and_given_in_order(two: Hands) -> None:
    told: list[tuple[float, str]] = []
    pieces = [Piece(f"root of {n}", math.sqrt, (n * n,)) for n in range(5)]
    assert two.do(pieces, lambda part, words: told.append((part, words))) == [0, 1, 2, 3, 4]
    assert told == [(n / 5, f"root of {n}") for n in range(5)]
    pids = two.do([Piece("whose", os.getpid, ()) for _ in range(8)], quiet)
    assert os.getpid() not in pids
    assert len(set(pids)) == 2


def test_one_hand_is_this_process() -> None:
    with Hands(1) as hands:
        assert hands.do([Piece("whose", os.getpid, ())], quiet) == [os.getpid()]
    assert 1 <= spare_hands() <= 2


def test_an_error_comes_through_as_itself(two: Hands) -> None:
    with pytest.raises(ValueError, match="math domain error"):
        two.do([Piece("good", math.sqrt, (4,)), Piece("bad", math.sqrt, (-1,))], quiet)


def test_what_a_lost_process_was_at_is_done_here(tmp_path: Path) -> None:
    made = tmp_path / "made"
    with Hands(2) as hands:
        victim = hands.do([Piece("whose", os.getpid, ())], quiet)[0]
        os.kill(victim, signal.SIGKILL)
        time.sleep(0.2)
        hands.do([Piece("making", made.mkdir, ()), Piece("nothing", time.sleep, (0,))], quiet)
        assert made.is_dir()


@pytest.mark.skipif(os.name == "nt", reason="signals to a group are of POSIX")
def test_an_interrupt_ends_all_of_them_at_once() -> None:
    script = """
    import time
    from ribband.app.papers.hands import Hands, Piece
    if __name__ == "__main__":
        with Hands(2) as hands:
            hands.do([Piece("ready", time.sleep, (0.01,))] * 4, lambda *_: None)
            print("begun", flush=True)
            hands.do([Piece("sleeping", time.sleep, (600,))] * 2, lambda *_: None)
    """
    command = [sys.executable, "-c", textwrap.dedent(script)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as run:
        assert run.stdout is not None
        assert first_line(run) == "begun\n"
        began = time.monotonic()
        os.killpg(run.pid, signal.SIGINT)
        said = run.communicate(timeout=240)[1]
    assert time.monotonic() - began < 120
    assert run.returncode != 0
    assert said.count("Traceback") == 1  # its own, none of the others'
    assert _gone(run.pid)


def _gone(group: int) -> bool:
    """Tell whether nobody is left of a group of processes, within a few seconds."""
    for _ in range(50):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False
