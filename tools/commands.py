r"""Run the commands that the handbook shows: python tools/commands.py [PAGE ...].

A *console block* is a fence marked `console`: lines with `$ ` are commands, a `\` at the end goes
on; what stands under one is its answer, shown whole or in part (`...` stands for any text or none,
blanks count as one). A comment above the fence may say `<!-- ends with 1 -->`, the exit
code, or `<!-- serves -->`, for a command that stays until it is stopped. In the README the lines of
fences marked `sh` that begin with `ribband` are commands; where it says to fill in the forms just
written, they are filled in from an example.

A *chain* is pages that go on from each other in one folder: what one page made the next one uses.
Commands run in this process, but for those that serve. Not checked: answers a page does not show.
"""

from __future__ import annotations

import os
import re
import shlex
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Protocol

from click.testing import CliRunner

from ribband.app.demo import copy_example
from ribband.cli import cli

__all__ = ["CHAINS", "Command", "as_shown", "commands_of", "run_chain"]

HOME = Path(__file__).parents[1]
DOCS = HOME / "docs"
PACKET = ("measure", "fair", "line-out", "butts", "planks", "timber", "shop", "hang", "papers")
CHAINS = {
    "the demo": (DOCS / "first-hour.md", HOME / "README.md"),
    "the packet": tuple(DOCS / "packet" / f"{name}.md" for name in PACKET),
}
FENCE = re.compile(r"(?:<!-- (?P<mark>[^>]*) -->\n+)?```(?P<kind>\w+)\n(?P<body>.*?)\n```", re.S)
PATIENCE = 60.0  # s for a server to say where it is


class Said(Protocol):
    """How a command ended and what it said, as `click` tells it."""

    exit_code: int
    stdout: str
    output: str


NOTHING_DONE: Mapping[tuple[str, ...], Said] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Command:
    """A command as a page shows it: its words, the answer under it, and how it is to end."""

    page: str
    line: int
    words: tuple[str, ...]
    shown: str = ""
    codes: tuple[int, ...] = (0,)
    serves: bool = False

    def __str__(self) -> str:
        """Say the command and where it stands."""
        return f"{self.page}:{self.line}: {shlex.join(self.words)}"


def commands_of(page: Path) -> Iterator[Command]:
    """Read the commands off a page, in their order."""
    text = page.read_text("utf-8")
    for fence in FENCE.finditer(text):
        line = text.count("\n", 0, fence.start("body")) + 1
        name = page.name if page.parent in {DOCS, HOME} else f"{page.parent.name}/{page.name}"
        mark = fence["mark"] or ""
        if fence["kind"] == "console":
            yield from _console(name, line, fence["body"], mark)
        elif fence["kind"] == "sh" and page.parent == HOME:
            yield from _listed(name, line, fence["body"])


def _console(page: str, first: int, body: str, mark: str) -> Iterator[Command]:
    """Split a console block into commands with their answers."""
    ends = re.search(r"ends with (\d)", mark)
    for part in re.finditer(
        r"^\$ (?P<said>(?:.*\\\n)*.*)\n?(?P<shown>(?:(?!\$ ).*\n?)*)", body, re.M
    ):
        yield Command(
            page,
            first + body.count("\n", 0, part.start()),
            tuple(shlex.split(part["said"].replace("\\\n", " "), comments=True)),
            part["shown"].strip("\n"),
            (int(ends[1]),) if ends else (0,),
            "serves" in mark,
        )


def _listed(page: str, first: int, body: str) -> Iterator[Command]:
    """Read the lines of the README that are commands of ours."""
    for at, line in enumerate(body.splitlines()):
        words = shlex.split(line, comments=True)
        if words[:1] == ["ribband"]:
            codes = (0, 1)  # 1: done, with faults found; the README does not say
            yield Command(page, first + at, tuple(words), "", codes, words[1] == "open")
        elif line.startswith("# fill in"):
            yield Command(page, first + at, ("fill in", "my-forms", "Ox Tern"))


def run_chain(
    pages: Sequence[Path], folder: Path, done: Mapping[tuple[str, ...], Said] = NOTHING_DONE
) -> list[str]:
    """Run every command of the pages in one folder; give what does not hold, in words.

    `done` is how commands ended that were run there already; they are held to the page as well.
    """
    with chdir(folder):
        return [
            trouble
            for page in pages
            for command in commands_of(page)
            if (trouble := _trouble(command, done))
        ]


def _trouble(command: Command, ready: Mapping[tuple[str, ...], Said] = NOTHING_DONE) -> str:
    """Run a command, if it is not done; give what does not hold, or nothing."""
    if command.words[0] != "ribband":
        return _filled_in(command)
    if command.serves:
        return _served(command)
    done = ready.get(command.words[1:])
    if done is None:
        done = CliRunner().invoke(cli, command.words[1:], prog_name="ribband")
    if done.exit_code not in command.codes:
        return f"{command}\nended with {done.exit_code}, not {command.codes}:\n{done.output}"
    if not command.shown:
        return ""
    if as_shown(command.shown, done.stdout):
        return ""
    return f"{command}\nshown:\n{command.shown}\nfound:\n{done.stdout}"


def _filled_in(command: Command) -> str:
    """Fill in blank forms as a yard might: girths alone, for a vessel of that name."""
    if command.words[0] != "fill in":
        return f"{command}: only ribband's own commands are run"
    folder, vessel = Path(command.words[1]), command.words[2]
    for blank in folder.glob("*.csv"):
        blank.unlink()
    form = copy_example("marl_heron_girths", folder) / "vessel.csv"
    form.write_text(form.read_text("utf-8").replace("Marl Heron", vessel), "utf-8")
    return ""


def as_shown(shown: str, found: str) -> bool:
    """Tell whether an answer is as shown: `...` stands for any text or none, blanks for one.

    >>> as_shown("planks  96 ... good", "planks 96, all good"), as_shown("planks 96", "planks 961")
    (True, False)
    """
    parts = [" ".join(part.split()) for part in shown.split("...")]
    text = " ".join(found.split())
    if len(parts) == 1:
        return text == parts[0]
    first, *middle, last = parts
    at = len(first)
    if not text.startswith(first):
        return False
    for part in middle:
        at = text.find(part, at)
        if at < 0:
            return False
        at += len(part)
    return text.endswith(last) and len(text) - len(last) >= at


def _served(command: Command) -> str:
    """Start a command that serves, see that it says where, and stop it."""
    words = [sys.executable, "-m", "ribband", *command.words[1:], "--no-open", "--port", "0"]
    with subprocess.Popen(  # noqa: S603 - our own program
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
    ) as process:
        signal.signal(signal.SIGALRM, lambda *_: process.kill())
        signal.alarm(int(PATIENCE))
        try:
            assert process.stdout is not None  # noqa: S101 - a pipe was asked for
            said = ""
            for line in process.stdout:
                said += line
                if "http://" in line:
                    return ""
            return f"{command}\nended before it said where it is:\n{said}"
        finally:
            signal.alarm(0)
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGTERM)
            process.stdout.read() if process.stdout else None


def main(pages: Sequence[Path]) -> int:
    """Run the pages named, or every chain; print what does not hold."""
    chains = [pages] if pages else list(CHAINS.values())
    troubles = []
    for chain in chains:
        with tempfile.TemporaryDirectory() as folder:
            troubles += run_chain([page.resolve() for page in chain], Path(folder))
    print("\n\n".join(troubles) or "every command does what the page says")
    return 1 if troubles else 0


if __name__ == "__main__":
    sys.exit(main([Path(name) for name in sys.argv[1:]]))
