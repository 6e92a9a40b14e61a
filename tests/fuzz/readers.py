"""Every reader of what comes from outside, as one function of bytes: it answers, or says why not.

A reader may give its answer or raise an `InputError` or `JobFileError` in words that name the
file; anything else that comes out of it is a fault of ours. Used by the tests with hypothesis and,
for longer, by ``fuzz_readers.py`` with atheris.
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
import warnings
import zipfile
from collections.abc import Callable
from functools import lru_cache
from io import BytesIO
from pathlib import Path

from ribband.app.entering.changes import Change, Edit, Patch, apply
from ribband.app.entering.pictures import take_picture
from ribband.app.papers.plain_text import write_text
from ribband.app.plan.inputs import look_over, read_inputs
from ribband.errors import InputError, JobFileError
from ribband.store import JobFile, verify
from ribband.store.record_format import Packed, unpack
from ribband.survey.scan_file import read_scan

__all__ = ["READERS", "good_seeds", "said"]

HOME = Path(__file__).parents[1]
JOB = HOME / "data" / "jobs" / "0.1.0.ribband"
EXAMPLES = HOME.parent / "src" / "ribband" / "data" / "examples"
Reader = Callable[[bytes, Path], object]


def said(name: str, data: bytes) -> str:
    """Read bytes by a reader; give "answer", or the words of a refusal that is in order."""
    with tempfile.TemporaryDirectory(prefix="ribband-fuzz-") as folder, warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            READERS[name](data, Path(folder))
        except InputError as wrong:
            assert wrong.problems  # noqa: PT017 - the error is the answer looked at
            for problem in wrong.problems:
                assert problem.wanted, problem
                assert problem.file, problem
                assert len(str(problem)) < 5_000
            return str(wrong)
        except JobFileError as wrong:
            assert str(wrong)  # noqa: PT017
            return str(wrong)
    return "answer"


def _form(name: str) -> Reader:
    def read(data: bytes, folder: Path) -> object:
        path = folder / name
        path.write_bytes(data)
        return read_inputs(path)

    return read


def _workbook(data: bytes, folder: Path) -> object:
    """Read a workbook; where the bytes are none, put them into one as its sheet."""
    path = folder / "forms.xlsx"
    path.write_bytes(data if data.startswith(b"PK") else _around(data))
    return read_inputs(path)


@lru_cache(maxsize=1)
def _plain_book() -> bytes:
    from openpyxl import Workbook  # noqa: PLC0415

    book = Workbook()
    sheet = book.active
    sheet.title = "girths"
    for row in (("frame", "position", "side", "girth"), ("1", "1000", "both", "900")):
        sheet.append(row)
    own = BytesIO()
    book.save(own)
    return own.getvalue()


def _around(sheet: bytes) -> bytes:
    own = BytesIO()
    with zipfile.ZipFile(BytesIO(_plain_book())) as old, zipfile.ZipFile(own, "w") as new:
        for part in old.namelist():
            new.writestr(part, sheet if part.endswith("sheet1.xml") else old.read(part))
    return own.getvalue()


def _scan(suffix: str) -> Reader:
    def read(data: bytes, folder: Path) -> object:
        path = folder / f"scan{suffix}"
        path.write_bytes(data)
        return read_scan(path, "m")

    return read


def _job(data: bytes, folder: Path) -> object:
    """Read a job file: all of it, and then try to add to it."""
    path = folder / "heron.ribband"
    path.write_bytes(data)
    with JobFile.open(path) as job:
        for revision in job.history():
            job.forms(revision.number)
        for result in job.results():
            job.kept(result.key)
        forms = job.forms()
    verify(path)
    write_text(path, folder / "text")
    look_over(forms)
    return apply(path, Change("a", "Ada", "", (Edit("stock", None, ("18ft", "1"), 0),), 99))


def _job_rows(data: bytes, folder: Path) -> object:
    """Put bytes where a job file keeps a form, a result, a name, a time."""
    path = folder / "heron.ribband"
    path.write_bytes(JOB.read_bytes())
    text = data.decode("utf-8", "replace")
    db = sqlite3.connect(path)
    db.executescript("DROP TRIGGER form_is_kept_update; DROP TRIGGER revision_is_kept_update;")
    half = len(text) // 2
    db.execute("UPDATE form SET body = ? WHERE hash IN (SELECT min(hash) FROM form)", (text,))
    db.execute("UPDATE revision SET who = ?, at = ?, why = ?", (text[:half], text[half:], text))
    db.execute("UPDATE result SET words = ?, arrays = ?", (text, data))
    db.commit()
    db.close()
    return _job(path.read_bytes(), folder)


def _record(data: bytes, folder: Path) -> object:
    """Read a stored result: its words, then its arrays, parted by the first NUL."""
    words, _, arrays = data.partition(b"\0")
    try:
        return unpack(Packed(words.decode("utf-8", "replace"), arrays))
    except ValueError as wrong:
        raise JobFileError(str(wrong)) from wrong


def _change(data: bytes, folder: Path) -> object:
    """Read the body of a change as the API does, and put it into a job."""
    from pydantic import ValidationError  # noqa: PLC0415

    from ribband.web.api.changes import ChangeIn  # noqa: PLC0415

    path = folder / "heron.ribband"
    path.write_bytes(JOB.read_bytes())
    try:
        asked = ChangeIn.model_validate_json(data)
    except ValidationError as wrong:
        raise JobFileError(f"body: {wrong.error_count()} errors") from wrong
    edits = tuple(
        Edit(e.form, None if e.was is None else tuple(e.was),
             None if e.now is None else tuple(e.now), e.at)
        for e in asked.edits
    )  # fmt: skip
    done = apply(path, Change(asked.id, "Ada", asked.why, edits, asked.upon))
    if isinstance(done, Patch):
        assert verify(path) == ()
    return done


def _picture(data: bytes, folder: Path) -> object:
    """Take a picture into a job."""
    path = folder / "heron.ribband"
    path.write_bytes(JOB.read_bytes())
    taken = take_picture(path, {"plank": "P1-1", "file": "a.jpg"}, data, "Ada")
    assert verify(path) == ()
    return taken


def _some_picture() -> bytes:
    from PIL import Image  # noqa: PLC0415

    own = BytesIO()
    Image.linear_gradient("L").resize((24, 16)).save(own, "JPEG", comment=b"a remark")
    return own.getvalue()


READERS: dict[str, Reader] = {
    "girths.csv": _form("girths.csv"),
    "offsets.csv": _form("offsets.csv"),
    "points.csv": _form("points.csv"),
    "any.csv": _form("measured.csv"),
    "forms.xlsx": _workbook,
    "scan.ply": _scan(".ply"),
    "scan.obj": _scan(".obj"),
    "scan.stl": _scan(".stl"),
    "scan.xyz": _scan(".xyz"),
    "job": _job,
    "job rows": _job_rows,
    "record": _record,
    "change": _change,
    "picture": _picture,
}


def good_seeds() -> dict[str, tuple[bytes, ...]]:
    """Give good bytes for each reader, to begin from."""
    girths = (EXAMPLES / "marl_heron_girths" / "girths.csv").read_bytes()[:1500]
    offsets = (EXAMPLES / "packet_1825" / "offsets.csv").read_bytes()[:3000]
    row = b"{%s}" % b",".join([b'"id":"a"', b'"why":""', b'"upon":3', b'"edits":[%s]' % (
        b'{"form":"stock","was":null,"now":["18ft","20"],"at":0}')])  # fmt: skip
    points = b"".join(b"%d.5 %d.25 %d\n" % (n, n % 7, n % 13) for n in range(600))
    ply = (b"ply\nformat ascii 1.0\nelement vertex 600\nproperty float x\nproperty float y\n"
           b"property float z\nend_header\n" + points)  # fmt: skip
    obj = b"".join(b"v " + line + b"\n" for line in points.splitlines()) + b"f 1 2 3\nf 4 5 6\n"
    facet = b"facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 5 1\nendloop\n"
    stl = b"solid a\n" + facet * 3 + b"endfacet\nendsolid a\n"
    words = json.dumps([1, {"$float": "inf"}, {"$array": 0}]).encode()
    return {
        "girths.csv": (girths, girths.replace(b",", b";")),
        "offsets.csv": (offsets,),
        "points.csv": (b"frame,side,label,x,y,z\n1,port,,1000,200,3\n1,port,sheer,1000,900,800\n",),
        "any.csv": (girths,),
        "forms.xlsx": (_plain_book(), zipfile.ZipFile(BytesIO(_plain_book())).read(
            "xl/worksheets/sheet1.xml")),
        "scan.ply": (ply,),
        "scan.obj": (obj,),
        "scan.stl": (stl, b"\0" * 80 + (2).to_bytes(4, "little") + b"\1" * 100),
        "scan.xyz": (points,),
        "job": (JOB.read_bytes(),),
        "job rows": ((b'{"name":"frames","header":["a"],"rows":[["1"]],"file":"f","numbers":[2],'
                     b'"notes":[],"heading_row":1}'),),
        "record": (words + b"\0" + b"x\x9c\x03\0\0\0\0\x01",),
        "change": (row,),
        "picture": (_some_picture(),),
    }  # fmt: skip
