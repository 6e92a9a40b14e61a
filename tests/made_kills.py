"""A yard that is killed in the middle of writing, and what must be there afterwards.

Run as a program: ``python tests/made_kills.py FOLDER --kills 15 --seed 1``. A hand (a forked
process) makes changes of every kind on one job, as fast as it can, and tells each one only after
it was acknowledged. It is killed with SIGKILL at a random moment. Then, with no repair step of any
kind: the job opens, everything ever told is in it, it is proved whole, and everything taken away
from it is whole or not there. The next hand goes on with the same job.

Not tried here: the power cut. A killed program leaves its writes to the system, a power cut does
not; against that stands only that every change waits for the disk.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from made_waits import line_of
from ribband.app.demo import copy_example
from ribband.app.entering.changes import Change, Edit, Patch, apply, step
from ribband.app.entering.jobs import new_job, take
from ribband.app.entering.record_use import note_photo
from ribband.app.papers.plain_text import HISTORY, write_text
from ribband.app.papers.whole import into_file
from ribband.errors import JobFileError
from ribband.store import JobFile, inputs_hash, verify
from ribband.survey import read_forms, write_forms
from ribband.survey.columns import LAYOUTS

Told = dict[str, Any]
Tell = Callable[..., None]
LONGEST_SECONDS = 0.2  # from a hand's first word to its end
ROUNDS_A_JOB = 40
PAGE = "a sheet of the book, with figures that belong together\n"


class Yard:
    """One job, the forms to take in, and a place for what is taken away."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.forms = copy_example("marl_heron_girths", folder / "forms")
        self.job = folder / "heron.ribband"
        self.away = folder / "away"
        self.away.mkdir()
        new_job(self.job, self.forms, "Ada")


# ---- what a hand does; each tells only what was acknowledged


def changes(yard: Yard, word: str, tell: Tell) -> None:
    said = {"length": "18ft", "count": "20", "notes": word}
    row = tuple(said.get(column.name, "") for column in LAYOUTS["stock"].columns)
    edit = Edit("stock", None, row, 0)
    done = apply(yard.job, Change(word, "Ada", word, (edit,), 10**9))
    assert isinstance(done, Patch)
    tell("change", revision=done.revision, form="stock", word=word)


def undoes(yard: Yard, word: str, tell: Tell) -> None:
    kind = "redo" if word[-1] in "05" else "undo"
    if done := step(yard.job, kind, "Ben", mark=word):
        tell(kind, revision=done.revision, went=kind)


def keeps(yard: Yard, word: str, tell: Tell) -> None:
    key = f"{word:>064}".replace(" ", "0")
    with JobFile.open(yard.job, writing=True) as job:
        job.keep(key, "hull", (word, np.full(4000, len(word))), "0", 0.1)
    tell("result", key=key, word=word)


def takes(yard: Yard, word: str, tell: Tell) -> None:
    forms = read_forms(yard.forms)
    own = forms["vessel"]
    rows = tuple((*row[:2], word) if row[0] == "yard" else row for row in own.rows)
    folder = yard.folder / f"given-{os.getpid()}"
    write_forms({"vessel": type(own)("vessel", own.header, rows, "v.csv", own.numbers)}, folder)
    taken = take(yard.job, folder, "Cy", word)
    assert taken.revision
    tell("take", revision=taken.revision.number, form="vessel", word=word)


def photographs(yard: Yard, word: str, tell: Tell) -> None:
    taken = note_photo(yard.job, {"plank": "P1-1", "file": f"{word}.jpg"}, "Di")
    assert taken.revision
    tell("photo", revision=taken.revision.number, form="photos", word=f"{word}.jpg")


def begins(yard: Yard, word: str, tell: Tell) -> None:
    path = yard.away / f"{word}.ribband"
    new_job(path, yard.forms, "Ada", word)
    tell("new job", path=str(path), why=word)


def exports(yard: Yard, word: str, tell: Tell) -> None:
    with JobFile.open(yard.job) as job:
        newest = job.newest()
    folder = yard.away / (f"text-{newest}-{word}" if len(word) % 2 else "text")
    write_text(yard.job, folder)
    tell("export", folder=str(folder))


def prints(yard: Yard, word: str, tell: Tell) -> None:
    path = yard.away / (f"{word}.txt" if len(word) % 2 else "book.txt")
    into_file(path, lambda part: part.write_text(PAGE * 4000 + word, "utf-8"))
    tell("paper", path=str(path))


DOES = (changes, undoes, keeps, takes, photographs, begins, exports, prints)


def hand(yard: Yard, seed: int, out: int) -> None:
    """Work until killed."""
    chance = random.Random(seed)
    number = 0

    def tell(kind: str, **facts: Any) -> None:
        os.write(out, json.dumps({"told": kind, **facts}).encode() + b"\n")

    while True:
        number += 1
        chance.choice(DOES)(yard, f"w{seed}-{number}", tell)


# ---- what must be there


def wrong_with(yard: Yard, told: list[Told]) -> list[str]:
    """Look at everything after a kill; an empty list is what it must be."""
    try:
        with JobFile.open(yard.job) as job:  # opened as by anyone who only wants to read
            wrong = [text for one in told for text in _missing(job, one)]
    except JobFileError as shut:
        return [f"it does not open: {shut}"]
    wrong += verify(yard.job)
    wrong += [text for path in sorted(yard.away.iterdir()) for text in _half(yard, path)]
    return wrong


def _missing(job: JobFile, one: Told) -> list[str]:
    if "revision" in one:
        revision = next((r for r in job.history() if r.number == one["revision"]), None)
        if revision is None:
            return [f"revision {one['revision']} was told and is not there"]
        if "went" in one and revision.kind != one["went"]:
            return [f"revision {revision.number} was told as {one['went']}"]
        if "form" in one and not _holds(job, one):
            return [f"revision {revision.number} does not hold {one['word']}"]
    if "key" in one:
        kept = job.kept(one["key"])
        if kept is None or kept[0] != one["word"] or len(kept[1]) != 4000:
            return [f"result {one['word']} was told and is not there"]
    for name in ("path", "folder"):
        if name in one and not Path(one[name]).exists():
            return [f"{one[name]} was told and is not there"]
    if "why" in one:
        with JobFile.open(Path(one["path"])) as new:
            return [] if new.history()[0].why == one["why"] else [f"{one['path']} is not whole"]
    return []


def _holds(job: JobFile, one: Told) -> bool:
    form = job.forms(one["revision"])[one["form"]]
    return any(one["word"] in row for row in form.rows)


def _half(yard: Yard, path: Path) -> list[str]:
    """Say what of something taken away is there by halves; what has a hidden name is not there."""
    if path.name.startswith("."):
        return []
    if path.suffix == ".ribband":
        return [f"{path.name}: {text}" for text in verify(path)]
    if path.suffix == ".txt":
        text = path.read_text("utf-8")
        return [] if text.count(PAGE) == 4000 and text.count("w") else [f"{path.name} is half"]
    if path.suffix == ".ribband-journal":
        return []
    return _half_text(yard, path)


def _half_text(yard: Yard, folder: Path) -> list[str]:
    if folder.name == "text":  # written over and over: each file whole, whichever time it is of
        read_forms(folder / "forms")
        return []
    if not (folder / HISTORY).exists():
        return [f"{folder.name} is there without its history"]
    with JobFile.open(yard.job) as job:
        wanted = inputs_hash(job.forms(int(folder.name.split("-")[1])))
    given = inputs_hash(read_forms(folder / "forms"))
    return [] if given == wanted else [f"{folder.name} is not the revision of its name"]


# ---- killing


def killed_once(yard: Yard, seed: int) -> list[Told]:
    """Let a hand work and kill it; give what it told."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ours)
        try:
            hand(yard, seed, theirs)
        except BaseException as wrong:  # a hand that stops by itself is a failure of its own
            os.write(theirs, json.dumps({"told": "stopped", "why": repr(wrong)}).encode() + b"\n")
        finally:
            os._exit(1)
    os.close(theirs)
    with os.fdopen(ours, "rb") as heard:
        first = line_of(heard)
        time.sleep(random.Random(seed).uniform(0.0, LONGEST_SECONDS))
        os.kill(child, signal.SIGKILL)
        lines = [first, *heard.read().splitlines(keepends=True)]
    os.waitpid(child, 0)
    return [json.loads(line) for line in lines if line.endswith(b"\n")]


def kills(folder: Path, count: int, seed: int) -> tuple[Counter[str], list[str]]:
    """Kill `count` times; give what was told by kind, and everything that was wrong."""
    counted: Counter[str] = Counter()
    wrong: list[str] = []
    told: list[Told] = []
    yard = None
    for n in range(count):
        if yard is None or n % ROUNDS_A_JOB == 0:
            shutil.rmtree(folder / "yard", ignore_errors=True)
            folder.joinpath("yard").mkdir(parents=True)
            yard, told = Yard(folder / "yard"), []
        new = killed_once(yard, seed * 1_000_000 + n)
        wrong += [f"kill {n}: a hand stopped by itself: {t['why']}" for t in new
                  if t["told"] == "stopped"]  # fmt: skip
        counted.update(t["told"] for t in new)
        told += [t for t in new if t["told"] != "stopped"]
        wrong += [f"kill {n}: {text}" for text in wrong_with(yard, told)]
    return counted, wrong


def main() -> int:
    """Kill, say what was found, and leave with 1 where anything was wrong."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("folder", type=Path)
    asked.add_argument("--kills", type=int, default=500)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    counted, wrong = kills(given.folder, given.kills, given.seed)
    acknowledged = sum(n for kind, n in counted.items() if kind != "stopped")
    print(json.dumps({"kills": given.kills, "acknowledged": acknowledged, "of": counted,
                      "wrong": wrong}, indent=1))  # fmt: skip
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
