"""Make the small job file that is kept for a release, and the facts that must be read from it.

``python tools/keep_job_file.py tests/data/jobs/0.1.0``. Run once at a release, from its own
program, and never again: what is kept is what that release really wrote. With ``--form 1`` only
the first steps of the file's shape are applied, as the program of that time did.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
from base64 import b64decode
from contextlib import closing
from pathlib import Path

from ribband.app.demo import copy_example
from ribband.app.entering.changes import Change, Edit, apply, step
from ribband.app.entering.jobs import new_job
from ribband.app.entering.pictures import take_picture
from ribband.store import JobFile, inputs_hash, migrations
from ribband.survey import read_forms

PICTURE = b64decode(  # 4 by 2 pixels, PNG
    "iVBORw0KGgoAAAANSUhEUgAAAAQAAAACCAAAAABawyK/AAAAEklEQVR4nGPgilr1i+HXqigu"
    "ABRaBBE/qTd/AAAAAElFTkSuQmCC"
)
EDIT = Edit("frames", None, ("45", "", "", "", "", "a frame that was forgotten"), 99)


def facts(path: Path) -> dict[str, object]:
    """Give what must be read from the file for ever."""
    with JobFile.open(path) as job:
        past = job.history()
        return {
            "revisions": [[r.number, r.parent, r.kind, r.at, r.who, r.why] for r in past],
            "inputs": [inputs_hash(job.forms(r.number)) for r in past],
            "forms": sorted(job.forms()),
            "results": [r.key for r in job.results()],
            "first_row": list(job.forms()["girths"].rows[0]),
        }


def made(path: Path, forms: Path) -> None:
    """Make a job with a little of everything."""
    new_job(path, forms, "Ada", "the job begun")
    with JobFile.open(path) as job:
        width = len(job.forms()["frames"].header)
    edit = Edit("frames", None, (*EDIT.now[:1], *[""] * (width - 2), EDIT.now[-1]), 99)
    apply(path, Change("kept-1", "Ben", "a frame found", (edit,), 1))
    step(path, "undo", "Ada", mark="kept-2")
    take_picture(path, {"plank": "P1-1", "file": "a.png"}, PICTURE, "Ada", "kept-3")
    with JobFile.open(path, writing=True) as job:
        job.keep("a" * 64, "survey", ("kept for a test", 1.5, None), "0.1.0", 0.25)


def first_shape(path: Path, forms: Path) -> None:
    """Make a job as the first shape of the file had it, before changes were marked."""
    every = migrations.MIGRATIONS
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        migrations.MIGRATIONS = every[:1]
        migrations.bring_forward(db, "2026-10-01T08:00:00.000Z")
        migrations.MIGRATIONS = every
        own = JobFile(path, db)
        own.add_revision(read_forms(forms), "Ada", "the job begun")
        given = read_forms(forms)
        given.pop("vessel")
        own.add_revision(given, "Ben", "the vessel left out")
        own.undo("Ada")


def main() -> None:
    """Write NAME.ribband and NAME.json."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("name", type=Path)
    asked.add_argument("--form", type=int, default=len(migrations.MIGRATIONS))
    given = asked.parse_args()
    path = given.name.with_name(given.name.name + ".ribband")
    forms = copy_example("marl_heron_girths", given.name.with_name("forms-for-it"))
    (first_shape if given.form == 1 else made)(path, forms)
    for own in (*forms.iterdir(), forms):
        own.unlink() if own.is_file() else own.rmdir()
    text = json.dumps(facts(path), indent=1, ensure_ascii=False)
    given.name.with_name(given.name.name + ".json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
