"""Small inputs that would cost much, and numbers and names that mean harm: refused in words."""

from __future__ import annotations

import io
import json
import resource
import sqlite3
import struct
import time
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from made_client import TestClient
from made_server import blank_job
from ribband.app.entering.dropped import take_dropped
from ribband.app.papers.drawings import named_after
from ribband.app.papers.plain_text import write_text
from ribband.app.plan.inputs import read_inputs
from ribband.errors import InputError, JobFileError
from ribband.store import JobFile, record_format, verify
from ribband.store.record_format import Packed, unpack
from ribband.survey import read_forms, typed, write_forms
from ribband.survey.csv_forms import MOST_BYTES
from ribband.survey.rows import Form
from ribband.survey.scan_file import read_scan
from ribband.units import UNITS, parse_length
from ribband.web.server import create_app

SECONDS = 8.0
HERE = "http://127.0.0.1"


def refused(read: Callable[[], object], *words: str) -> str:
    """Read something that is to be refused, soon, in words."""
    began = time.process_time()
    with pytest.raises((InputError, JobFileError)) as wrong:
        read()
    assert time.process_time() - began < SECONDS
    said = str(wrong.value)
    assert len(said) < 20_000
    for word in words:
        assert word in said
    return said


def book(path: Path, sheet: bytes, **parts: bytes) -> Path:
    """Write a workbook whose one sheet, girths, is given as XML."""
    own, plain = Workbook(), io.BytesIO()
    own.active.title = "girths"
    own.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            short = name.rpartition("/")[2].partition(".")[0]
            body = sheet if short == "sheet1" else parts.pop(short, None)
            new.writestr(name, old.read(name) if body is None else body)
    return path


def cells(*rows: str) -> bytes:
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    said = f'<worksheet xmlns="{space}"><sheetData>{"".join(rows)}</sheetData></worksheet>'
    return said.encode()


def row(number: int, *texts: str) -> str:
    own = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in texts)
    return f'<row r="{number}">{own}</row>'


HEADING = row(1, "frame", "position", "side", "girth")


# ---- bombs


def test_a_workbook_that_unpacks_to_gigabytes(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", b" " * 61_000_000)
    assert path.stat().st_size < 1_000_000
    refused(lambda: read_inputs(path), "unpacks to far more", "at most 60 MB")


def test_a_workbook_that_lies_about_what_it_unpacks_to(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", b" " * 61_000_000)
    raw = path.read_bytes()
    path.write_bytes(raw.replace(struct.pack("<I", 61_000_000), struct.pack("<I", 900)))
    refused(lambda: read_inputs(path), "a.xlsx")


def test_entities_that_multiply(tmp_path: Path) -> None:
    ten = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    xml = f'<!DOCTYPE x [<!ENTITY a0 "ha">{ten}]>'.encode() + cells(HEADING, row(2, "&a9;"))
    refused(lambda: read_inputs(book(tmp_path / "a.xlsx", xml)), "definitions of its own")
    wide = xml.decode().encode("utf-16")
    refused(lambda: read_inputs(book(tmp_path / "b.xlsx", wide)), "b.xlsx")


def test_xml_nested_without_end(tmp_path: Path) -> None:
    deep = cells(HEADING, f'<row r="2"><c t="inlineStr">{"<is>" * 200_000}')
    refused(lambda: read_inputs(book(tmp_path / "a.xlsx", deep)), "a.xlsx")


def test_a_row_numbered_a_thousand_million(tmp_path: Path) -> None:
    path = book(tmp_path / "a.xlsx", cells(HEADING, row(1_000_000_000, "1", "1", "both", "900")))
    refused(lambda: read_inputs(path), "at most 20500 rows")


def test_cells_far_to_the_right_are_not_looked_for(tmp_path: Path) -> None:
    far = '<row r="2"><c r="A2"><v>1</v></c><c r="XFD2"><v>9</v></c></row>'
    path = book(tmp_path / "a.xlsx", cells(HEADING, far))
    refused(lambda: read_inputs(path), "no measurements")


def test_a_million_rows_of_csv(tmp_path: Path) -> None:
    path = tmp_path / "girths.csv"
    path.write_bytes(b"frame,girth\n" + b"1,900\n" * 1_000_000)
    refused(lambda: read_inputs(path), "at most 20000 rows")
    path.write_bytes(b"frame,girth\n" + b"\n" * 7_000_000)
    refused(lambda: read_inputs(path), "at most 20000 rows")
    with path.open("wb") as file:
        file.truncate(10**11)  # a hole: a thousand million rows would be as large
    refused(lambda: read_inputs(path), f"at most {MOST_BYTES // 10**6} MB")


def test_a_line_without_end(tmp_path: Path) -> None:
    path = tmp_path / "girths.csv"
    path.write_bytes(b"frame,girth\n" + b"1," * 2_000_000)
    refused(lambda: read_inputs(path), "girths.csv, row 2")
    path.write_bytes(b"frame,girth\n1," + b"9" * 5_000_000)
    refused(lambda: read_inputs(path), "girths.csv, row 2")


@pytest.mark.parametrize(
    ("name", "head"),
    [
        ("a.ply", (b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\n"
                  b"property double x\nproperty double y\nproperty double z\nend_header\n")),
        ("a.ply", (b"ply\nformat ascii 1.0\nelement vertex 19999999\nproperty float x\n"
                  b"end_header\n1 2 3\n")),
        ("a.ply", "ply\nformat ascii 1.0\nelement vertex ²00\nproperty float x\nend_header\n"
         .encode()),
        ("a.stl", b"\0" * 80 + struct.pack("<I", 4_000_000_000) + b"\0" * 50),
        ("a.xyz", b"1 2 3\n" * 100), ("a.obj", b"v 1 2 3\n" * 100 + b"f 1 2 4000000000\n"),
    ],
)  # fmt: skip
def test_scans_that_promise_more_than_there_is(tmp_path: Path, name: str, head: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(head)
    refused(lambda: read_scan(path, "m"), name)


def test_points_that_are_nowhere(tmp_path: Path) -> None:
    path = tmp_path / "a.xyz"
    path.write_text("nan 1 2\ninf 1 2\n1e308 1 2\n-inf nan inf\n" * 300)
    refused(lambda: read_scan(path, "m"), "0 points that can be used")


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def test_arrays_that_unpack_to_far_more(monkeypatch: pytest.MonkeyPatch) -> None:
    assert record_format.MOST_BYTES == 500_000_000
    monkeypatch.setattr(record_format, "MOST_BYTES", 5_000_000)
    bomb = zlib.compress(b"\0" * 60_000_000, 1)
    before = peak_mb()
    with pytest.raises(ValueError, match="more than 5 MB"):
        unpack(Packed("[]", bomb))
    assert peak_mb() < before + 20
    head = b"\x93NUMPY\x01\x00v\x00"
    said = "{'descr': '<f8', 'fortran_order': False, 'shape': (10000000000000,), }"
    for shape in (said, said.replace("1000", "-1000"), said.replace("<f8", "|O")):
        body = zlib.compress(head + shape.ljust(117).encode() + b"\n")
        with pytest.raises(ValueError, match="cannot be read"):
            unpack(Packed('{"$array": 0}', body))


@pytest.mark.parametrize(
    "words",
    ["[" * 200_000, '{"$list":' * 50_000, '{"$of": "os:system"}', '{"$of": "ribband.cli:main"}',
     '{"$of": "ribband.hull.model:np"}', '{"$map": [[[], {}]]}', '{"$fraction": "1/0"}',
     '{"$array": -1}', "9" * 5000, '{"$one": "ribband.findings:Severity", "value": "x"}', "{}"],
)  # fmt: skip
def test_stored_words_that_mean_harm(words: str) -> None:
    with pytest.raises(ValueError, match=r"cannot be read|not ours|no record"):
        unpack(Packed(words, zlib.compress(b"")))


# ---- job files of a hostile hand


HOSTILE = {
    "a trigger": "CREATE TRIGGER t AFTER INSERT ON revision BEGIN DELETE FROM result; END",
    "a view": "CREATE VIEW v AS SELECT 1",
    "a form that is a view": "ALTER TABLE form RENAME TO f; CREATE VIEW form AS SELECT * FROM f",
    "an endless view": "ALTER TABLE result RENAME TO f; CREATE VIEW result AS WITH RECURSIVE "
    "n(key) AS (SELECT 1 UNION ALL SELECT key + 1 FROM n) SELECT key FROM n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_job_file_with_a_program_in_it_is_not_opened(tmp_path: Path, name: str) -> None:
    path = blank_job(tmp_path)
    db = sqlite3.connect(path)
    db.executescript(HOSTILE[name])
    db.close()
    for writing in (False, True):
        refused(lambda: JobFile.open(path, writing=writing), "somebody's own")  # noqa: B023


@pytest.mark.parametrize(
    ("old", "new"),
    [(b"CREATE TABLE", b"CREATE \xe0\xe0BLE"), (b"TEXT PRIMARY", b"\xff\xff\xff\xff PRIMARY"),
     (b"Ada", b"\xed\xa0\x80"), (b'"rows"', b'"\xffows"')],
)  # fmt: skip
def test_letters_that_are_none_in_a_job_file(tmp_path: Path, old: bytes, new: bytes) -> None:
    path = tmp_path / "a.ribband"
    with JobFile.create(path) as job:
        job.add_revision({"stock": Form("stock", ("length",), (("18ft",),), "s.csv", (2,))},
                         "Ada", "Ada begins")  # fmt: skip
    raw = path.read_bytes()
    assert old in raw
    path.write_bytes(raw.replace(old, new))

    def read() -> None:
        with JobFile.open(path) as job:
            job.history()
            job.forms()

    refused(read, "a.ribband")


def test_lines_that_hold_what_they_cannot_are_told(tmp_path: Path) -> None:
    path = blank_job(tmp_path)
    with JobFile.open(path, writing=True) as job:
        stock = Form("stock", ("length",), (("18ft",),), "s.csv", (2,))
        job.add_revision({"stock": stock}, "Ada", "")
        job.keep("a" * 64, "hull", (1,), "0", 0.0)
    db = sqlite3.connect(path)
    db.executescript(
        """PRAGMA foreign_keys = OFF; DROP TRIGGER revision_is_kept_update;
        CREATE TABLE r AS SELECT number, parent, kind, NULL AS at, NULL AS who, why FROM revision;
        CREATE TABLE k AS SELECT key, stage, revision, at, version, seconds, NULL AS words,
        NULL AS arrays, digest FROM result;
        DROP TABLE revision; ALTER TABLE r RENAME TO revision;
        DROP TABLE result; ALTER TABLE k RENAME TO result;"""
    )
    db.close()
    with JobFile.open(path) as job:
        refused(job.history, "damaged")
        assert job.kept("a" * 64) is None
    said = " / ".join(verify(path))
    assert "no moment" in said
    assert "result aaaaaaaaaaaa of hull is damaged" in said


def test_half_a_letter_is_refused_and_nothing_changed(tmp_path: Path) -> None:
    path = blank_job(tmp_path)
    with JobFile.open(path, writing=True) as job:
        before = len(job.history())
        stock = Form("stock", ("length",), (("18ft",),), "s.csv", (2,))
        refused(lambda: job.add_revision({"stock": stock}, "Ad\udc80a", ""), "half letters")
        assert len(job.history()) == before


def test_a_job_file_without_a_table_or_with_a_column_more(tmp_path: Path) -> None:
    path = blank_job(tmp_path)
    db = sqlite3.connect(path)
    db.executescript("DROP TABLE change; ALTER TABLE revision ADD COLUMN more TEXT")
    db.close()
    assert any("table revision is not as" in text for text in verify(path))
    db = sqlite3.connect(path)
    db.executescript("PRAGMA foreign_keys = OFF; DROP TABLE revision_form")
    db.close()
    refused(lambda: JobFile.open(path).forms(), "cannot be used")


def test_a_table_whose_words_are_bytes_is_told(tmp_path: Path) -> None:
    path = blank_job(tmp_path)
    db = sqlite3.connect(path)
    db.executescript(
        """PRAGMA writable_schema = ON; UPDATE sqlite_master
        SET sql = CAST(replace(sql, '1 AND 100', '1 AND 999') AS BLOB) WHERE name = 'change'"""
    )
    db.close()
    assert any("table change is not as" in text for text in verify(path))


@pytest.mark.parametrize(
    "body",
    ["[]", "{}", "[" * 100_000, '{"name": 1}', "null", "\0", ('{"name": "frames", "header": "ab", '
     '"rows": [[1]], "file": "", "numbers": [1], "notes": [], "heading_row": 1}')],
)  # fmt: skip
def test_a_form_that_is_none_is_told_and_what_can_be_read_is_written(
    tmp_path: Path, body: str
) -> None:
    path = tmp_path / "a.ribband"
    good = Form("stock", ("length",), (("18ft",),), "s.csv", (2,))
    with JobFile.create(path) as job:
        job.add_revision({"frames": Form("frames", ("frame",), (("1",),), "f", (2,)),
                          "stock": good}, "Ada", "")  # fmt: skip
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER form_is_kept_update")
    db.execute("UPDATE form SET body = ? WHERE body LIKE '%frames%'", (body,))
    db.commit()
    db.close()
    with JobFile.open(path) as job:
        refused(job.forms, "frames", "damaged")
        assert job.form("stock") == good
    assert len([t for t in verify(path) if "form" in t]) >= 2
    write_text(path, tmp_path / "out")
    assert [p.name for p in (tmp_path / "out" / "forms").iterdir()] == ["stock.csv"]
    assert "cannot be read" in (tmp_path / "out" / "history.txt").read_text("utf-8")


# ---- numbers that cannot be


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "-inf", "1e9", "0x10", "١٢٣", "１２３", "1²", "Ⅻ", "1_000", "1,5", "१२", "𝟙𝟚",
     "9" * 41, "--5", "+", "=1+1", "1 000", "1e400", "NaN", "１'", "3-٧-5", "½½"],
)  # fmt: skip
@pytest.mark.parametrize("unit", UNITS)
def test_a_length_is_written_in_plain_digits(text: str, unit: str) -> None:
    with pytest.raises(ValueError, match=r"length|three parts|fraction|point|digits"):
        parse_length(text, unit)


@pytest.mark.parametrize(
    ("girth", "position", "column"),
    [
        ("10000000", "1000", "girth"), ("-900", "1000", "girth"), ("0", "1000", "girth"),
        ("900", "99999999", "position"), ("nan", "1000", "girth"), ("٩٠٠", "1000", "girth"),
        ("９００", "1000", "girth"), ("900", "inf", "position"), ("=9*100", "1000", "girth"),
    ],
)  # fmt: skip
def test_a_measurement_that_cannot_be_is_refused_with_its_cell(
    tmp_path: Path, girth: str, position: str, column: str
) -> None:
    (tmp_path / "vessel.csv").write_text("item,value\nvessel,Marl Heron\nunit,mm\n")
    (tmp_path / "girths.csv").write_text(
        f"frame,position,side,girth\n1,500,both,900\n2,{position},both,{girth}\n3,1500,both,900\n"
    )
    refused(lambda: read_inputs(tmp_path), f"girths.csv, row 3, {column}: found")


@pytest.mark.parametrize("count", ["٣", "３", "²", "3.5", "-1", "1e3", "99999999999", "nan"])
def test_counts_are_read_rightly_or_refused_with_their_cell(tmp_path: Path, count: str) -> None:
    (tmp_path / "stock.csv").write_text(f"length,count\n18ft,{count}\n", "utf-8")
    rows, problems = typed(read_forms(tmp_path / "stock.csv")["stock"], "mm")
    if rows:
        assert rows[0].values["count"] == 3
    else:
        assert problems[0].column == "count"
        assert problems[0].row == 2


# ---- names that climb


NAMES = (
    "../../x.csv", "/etc/cron.d/x.csv", "..\\..\\x.csv", "C:\\x.csv", "x\0.csv", "CON.csv",
    "nul.xlsx", "a:b.csv", "..", ".", "", " .csv", "x.csv.", "x" * 400 + ".csv", "a\nb.csv",
    "-rf.csv", "~/x.csv", "\u202ecsv.exe", "girths.csv/../../y.csv",
)  # fmt: skip
GOOD = b"frame,position,side,girth\n1,500,both,900\n2,700,both,950\n3,900,both,960\n"


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_climbs_goes_nowhere(tmp_path: Path, name: str) -> None:
    job = blank_job(tmp_path / "yard" if (tmp_path / "yard").mkdir() is None else tmp_path)
    before = set(tmp_path.rglob("*"))
    try:
        taken = take_dropped(job, {name: GOOD}, "Ada", replace=False)
    except InputError as wrong:
        assert wrong.problems[0].file  # noqa: PT017 - either will do
    else:
        assert taken.revision
        with JobFile.open(job) as own:
            form = own.forms()["girths"]
        assert "/" not in form.file
        assert "\\" not in form.file
    assert {p for p in tmp_path.rglob("*") if "journal" not in p.name} == before


def test_two_files_of_one_name_are_not_taken_for_one(tmp_path: Path) -> None:
    job = blank_job(tmp_path)
    files = {"a/girths.csv": GOOD, "b/Girths.csv": GOOD.replace(b"900", b"901")}
    refused(lambda: take_dropped(job, files, "Ada", replace=False), "girths.csv", "one file")


@pytest.mark.parametrize("vessel", ["../../heron", "a/b\\c", "nul\0", "", "..", "CON", "x" * 500])
def test_files_named_after_the_vessel_stay_where_they_belong(vessel: str) -> None:
    name = named_after(vessel, "job")
    assert name
    assert not set(name) & set('/\\:*?"<>|\0\n')
    assert name.strip(". ") == name
    assert len(name) <= 100


def test_a_form_named_to_climb_is_written_inside(tmp_path: Path) -> None:
    path = tmp_path / "a.ribband"
    bad = Form("../../up", ("a",), (("1",),), "f", (2,))
    with JobFile.create(path) as job:
        job.add_revision({"../../up": bad}, "Ada", "")
    write_text(path, tmp_path / "out" / "deep")
    assert [p.name for p in (tmp_path / "out" / "deep" / "forms").iterdir()] == ["______up.csv"]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.ribband", "out"]


# ---- formulas


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1+1",
        "-1+1",
        "@sum(a1)",
        "\t=1",
        "\r=1",
        " =1",
        "-3-7-5",
        "'=1",
        "''x",
        "=cmd|' /c",
    ],
)
def test_a_formula_goes_out_as_text_and_comes_back(tmp_path: Path, text: str) -> None:
    form = Form("stock", ("length", "count", "notes"), (("18ft", "-12", text),), "s.csv", (2,))
    (path,) = write_forms({"stock": form}, tmp_path)
    written = path.read_text("utf-8").splitlines()[1].split(",", 2)
    assert written[1] == "-12", "a number is left a number"
    assert not written[2].strip('"').lstrip().startswith(("=", "+", "-", "@"))
    assert read_forms(path)["stock"].rows == form.rows


# ---- the API


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Any:
    app = create_app(blank_job(tmp_path_factory.mktemp("api")), by_itself=False)
    with TestClient(app, base_url=HERE, raise_server_exceptions=False) as client:
        yield client


@pytest.mark.parametrize(
    "body",
    [b"[" * 100_000, b'{"a":' * 100_000, b"\xff\xfe\0", b"", b"null", b"9" * 100_000,
     b'{"id":"a","upon":1e400,"edits":[]}', b'{"id":"\\ud800","upon":0,"edits":[{"form":"x"}]}',
     b'{"id":"a","upon":NaN,"edits":[{"form":"stock","now":["1"]}]}',
     b'{"id":"a","upon":0,"edits":[{"form":"../../x","now":["1"],"at":99999999999}]}'],
)  # fmt: skip
def test_bodies_that_mean_harm_are_refused(here: Any, body: bytes) -> None:
    began = time.process_time()
    answer = here.post("/api/changes", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in {400, 413, 422}
    assert answer.json()["says"]
    assert time.process_time() - began < SECONDS


def test_cells_with_half_a_letter_are_refused_or_kept(here: Any) -> None:
    edit = {"form": "stock", "was": None, "now": ["18ft", "1", "\ud800"], "at": 0}
    body = json.dumps({"id": "half", "why": "", "upon": 0, "edits": [edit]})
    answer = here.post("/api/changes", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in {200, 400, 422}


@pytest.mark.parametrize("path", [
    "/static/../../pyproject.toml", "/static/%2e%2e/%2e%2e/x", "/fonts/..%2f..%2fetc%2fpasswd",
    "/api/forms/..%2f..%2fx", "/api/forms/%00", "/static/%00",
    "/api/drawings/..%2fx.svg",
])  # fmt: skip
def test_addresses_that_climb(here: Any, path: str) -> None:
    answer = here.get(path)
    assert answer.status_code in {400, 404, 405, 422}
    assert b"Traceback" not in answer.content
    assert b"[project]" not in answer.content
