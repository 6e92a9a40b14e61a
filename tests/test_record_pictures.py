"""Pictures of planks: told by their bytes, kept bare, undone, brought back, written out."""

from __future__ import annotations

import csv
import json
import shutil
import sqlite3
import zlib
from contextlib import closing
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from made_kept import planned_copy
from ribband.app.entering.jobs import new_job, take
from ribband.app.entering.pictures import (
    kept_pictures,
    picture_bytes,
    small_pictures,
    take_picture,
)
from ribband.app.papers.plain_text import write_text
from ribband.app.papers.tables import write
from ribband.app.plan.planning import plan
from ribband.cli import cli
from ribband.errors import InputError, JobFileError
from ribband.record import Photo, bare_picture
from ribband.store import JobFile, pictures, verify

SECRET = b"Ebbmere 51.5 N"
KINDS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}


def image(wide: int = 60, high: int = 40) -> Image.Image:
    ramp = Image.linear_gradient("L").resize((wide, high))
    return Image.merge("RGB", (ramp, ramp.transpose(Image.Transpose.ROTATE_180), ramp))


def taken(kind: str = "JPEG", turn: int = 1, size: tuple[int, int] = (60, 40), **more) -> bytes:
    """Give a picture as a camera writes it, with its place, maker and a remark in it."""
    said = Image.Exif()
    said[0x0112], said[0x010F] = turn, SECRET.decode()
    said.get_ifd(0x8825)[1] = "N"
    out = BytesIO()
    image(*size).save(out, kind, exif=said, **more)
    return out.getvalue()


def pixels(body: bytes) -> bytes:
    with Image.open(BytesIO(body)) as own:
        return own.convert("RGB").tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_is_kept_to_the_pixel_and_without_what_stood_beside_it(kind: str) -> None:
    more = {"comment": SECRET} if kind == "JPEG" else {}
    whole = taken(kind, **more) + b"<script>alert(1)</script>" * (kind != "WEBP")
    assert SECRET in whole
    own = bare_picture(whole)
    assert (own.kind, own.wide, own.high) == (kind.lower(), 60, 40)
    assert SECRET not in own.body
    assert b"script" not in own.body
    assert own.dropped
    assert pixels(own.body) == pixels(whole)
    assert bare_picture(own.body).body == own.body
    assert bare_picture(own.body).dropped == ()
    with Image.open(BytesIO(own.body)) as again:
        assert not dict(again.getexif())


def test_a_jpeg_keeps_the_way_it_is_to_be_turned_and_no_more_of_its_exif() -> None:
    own = bare_picture(taken(turn=6))
    assert (own.wide, own.high) == (40, 60)  # as it is shown
    with Image.open(BytesIO(own.body)) as again:
        assert dict(again.getexif()) == {0x0112: 6}
    progressive = taken(progressive=True, quality=95)
    assert pixels(bare_picture(progressive).body) == pixels(progressive)


def chunk(name: bytes, data: bytes) -> bytes:
    return len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")


def huge_png(wide: int, high: int) -> bytes:
    head = wide.to_bytes(4, "big") + high.to_bytes(4, "big") + b"\x08\x02\0\0\0"
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(b"\0" * 100)), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"", "no JPEG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "no JPEG"),
        (b"GIF89a" + b"\0" * 20, "no JPEG"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "save it as JPEG"),
        (taken()[:-9], "cut short"),
        (taken("PNG")[:-9], "cut short"),
        (taken("WEBP")[:-9], "cut short"),
        (b"\xff\xd8\xff\xe0\0\x01", "damaged"),
        (huge_png(12_001, 10), "at most 12000 a side"),
        (huge_png(9_000, 9_000), "50 million"),
        (huge_png(0, 10), "pixels"),
        (taken("PNG").replace(b"IDAT", b"IDAU"), "own sum"),
        (taken() + b"\0" * 12_000_000, "at most 12 MB"),
    ],
)
def test_what_is_no_picture_is_refused_in_words(body: bytes, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        bare_picture(body)


def test_a_moving_picture_is_refused() -> None:
    out = BytesIO()
    frames = [image(), image().rotate(90)]
    frames[0].save(out, "WEBP", save_all=True, append_images=frames[1:])
    with pytest.raises(ValueError, match="moving"):
        bare_picture(out.getvalue())


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.integers(0, 10**9), st.binary(max_size=12), st.booleans())
def test_bent_bytes_give_a_picture_or_words(kind: str, at: int, put: bytes, cut: bool) -> None:
    body = taken(kind, size=(9, 7))
    at %= len(body)
    bent = body[:at] if cut else body[:at] + put + body[at + len(put) :]
    try:
        own = bare_picture(bent)
    except ValueError as wrong:
        assert str(wrong)  # noqa: PT017 - the error is the answer looked at
        return
    assert bare_picture(own.body).body == own.body


# ---- in a job


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return planned_copy(tmp_path / "heron.ribband", None)


SAID = {
    "plank": "p7-2",
    "file": "image.jpg",
    "at": "2027-03-02 14:30",
    "by": "Ann",
    "notes": "a shake",
}


def lines(job: Path) -> list[dict[str, str]]:
    with JobFile.open(job) as file:
        form = file.forms().get("photos")
    return [dict(zip(form.header, row, strict=True)) for row in form.rows] if form else []


def test_a_picture_is_kept_with_its_line_in_one_revision(job: Path) -> None:
    done = take_picture(job, SAID, taken(turn=8), "Ann", "mark-1")
    (line,) = lines(job)
    assert (line["plank"], line["file"], line["notes"]) == ("P7-2", "image.jpg", "a shake")
    kind, body = picture_bytes(job, line["picture"])
    assert kind == "jpeg"
    assert SECRET not in body
    (kept,) = kept_pictures(job).values()
    assert (kept.key, kept.size, kept.wide, kept.high) == (line["picture"], len(body), 40, 60)
    assert done.revision
    assert any("EXIF" in words for words in done.says)
    with JobFile.open(job) as file:
        newest = file.newest()
    assert take_picture(job, SAID, taken(turn=8), "Ann", "mark-1").revision == done.revision
    assert take_picture(job, SAID, taken(turn=8), "Ann").revision is None
    with JobFile.open(job) as file:
        assert file.newest() == newest  # neither twice
    assert verify(job) == ()
    assert picture_bytes(job, "0" * 64) is None


def test_names_that_are_taken_get_a_number(job: Path) -> None:
    for n in range(3):
        take_picture(job, SAID, taken(size=(60 + n, 40)))
    take_picture(job, SAID | {"plank": "P1-1", "file": "..\\x\\../imäge"}, taken())
    assert [(line["plank"], line["file"]) for line in lines(job)] == [
        ("P7-2", "image.jpg"), ("P7-2", "image 2.jpg"), ("P7-2", "image 3.jpg"), ("P1-1", "imäge"),
    ]  # fmt: skip


def test_undo_leaves_the_picture_and_redo_brings_its_line_back(job: Path) -> None:
    take_picture(job, SAID, taken())
    key = lines(job)[0]["picture"]
    with JobFile.open(job, writing=True) as file:
        file.undo("Ann")
    assert lines(job) == []
    assert picture_bytes(job, key) is not None
    with JobFile.open(job, writing=True) as file:
        file.redo("Ann")
    assert lines(job)[0]["picture"] == key
    with closing(sqlite3.connect(job)) as db, pytest.raises(sqlite3.IntegrityError):
        db.execute("DELETE FROM picture")
    with closing(sqlite3.connect(job)) as db:
        db.execute("DROP TRIGGER picture_is_kept_update")
        db.execute("UPDATE picture SET body = zeroblob(size)")
        db.commit()
    assert any("picture" in words and "not what was kept" in words for words in verify(job))
    assert picture_bytes(job, key) is None


def test_a_line_of_an_earlier_time_stays_and_is_said_to_be_a_name(
    job: Path, tmp_path: Path
) -> None:
    (tmp_path / "photos.csv").write_text("plank,file,at,by,notes\nP7-2,a.jpg,,Ann,wet\n", "utf-8")
    take(job, tmp_path / "photos.csv")
    take_picture(job, SAID | {"file": "a.jpg"}, taken())
    old, new = lines(job)
    assert (old["file"], old["picture"], old["notes"]) == ("a.jpg", "", "wet")
    assert (new["file"], bool(new["picture"])) == ("a 2.jpg", True)
    photos = [Photo("P7-2", "a.jpg"), Photo("P7-2", "a 2.jpg", picture=new["picture"])]
    small = small_pictures(job, photos)
    assert list(small) == [new["picture"]]
    with Image.open(BytesIO(small[new["picture"]])) as shown:
        assert shown.format == "JPEG"


def test_pictures_go_out_as_files_and_come_in_again(job: Path, tmp_path: Path) -> None:
    take_picture(job, SAID, taken())
    take_picture(job, SAID | {"file": "b.png", "notes": ""}, taken("PNG"))
    files = write_text(job, tmp_path / "text")
    assert sorted(p.suffix for p in files if p.parent.name == "pictures") == [".jpg", ".png"]
    (tmp_path / "text" / "pictures" / f"{'0' * 64}.jpg").write_bytes(b"no picture")
    again = new_job(tmp_path / "again", tmp_path / "text" / "forms").job
    assert kept_pictures(again).keys() == kept_pictures(job).keys()
    write(plan(job, "survey"), tmp_path / "tables")
    text = (tmp_path / "tables" / "photos.csv").read_text("utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert [row["note"] for row in rows] == ["a shake", ""]
    for row in rows:
        body = (tmp_path / "tables" / row["picture"]).read_bytes()
        assert bare_picture(body).key == row["sha256"]
    third = new_job(tmp_path / "third", tmp_path / "tables").job
    assert kept_pictures(third).keys() == kept_pictures(job).keys()


def test_a_job_holds_so_many_bytes_of_pictures_and_no_more(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_picture(job, SAID, taken())
    monkeypatch.setattr(pictures, "MOST_TOGETHER", 2_000)
    with pytest.raises(JobFileError, match="nothing was changed"):
        take_picture(job, SAID, taken(size=(600, 400)))
    assert len(lines(job)) == 1


def test_damaged_pixels_are_refused_before_anything_is_kept(job: Path) -> None:
    with pytest.raises(InputError, match="damaged"):
        take_picture(job, SAID, huge_png(2_000, 2_000))
    with pytest.raises(InputError, match="plank"):
        take_picture(job, SAID | {"plank": " "}, taken())
    assert kept_pictures(job) == {}


def test_by_a_word(job: Path, tmp_path: Path) -> None:
    def said(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(cli, ["photo", str(job), *words])
        assert result.exit_code == code, result.output
        return result.output

    file = tmp_path / "frame 14.jpg"
    file.write_bytes(taken())
    assert "EXIF" in said("p7-2", str(file), "--by", "Ann", "--note", "a shake")
    assert "kept already" in said("p7-2", str(file), "--by", "Ann", "--note", "a shake")
    assert "--name-only" in said("p7-2", str(tmp_path / "none.jpg"), code=3)
    answer = json.loads(said("p7-2", "box 3", "--name-only", "--json"))
    assert answer["revision"]
    assert [(line["file"], bool(line["picture"])) for line in lines(job)] == [
        ("frame 14.jpg", True), ("box 3", False),
    ]  # fmt: skip
    shutil.copyfile(job, file)
    assert "this is no JPEG" in said("p7-2", str(file), code=3)
