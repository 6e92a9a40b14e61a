"""Pictures of planks: taken into the job file, given back, made small for paper, written as files.

A picture is kept bare (`ribband.record.picture`) under its hash, and a line of the form `photos`
says of which plank it is; both come in one revision or neither. A line may also name a file alone,
as jobs of an earlier time do; then there is nothing to show.

Not checked here: whether there is such a plank; the record tells (R050).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.entering.jobs import Taken, job_path, whoever
from ribband.app.entering.taking import with_columns
from ribband.app.entering.wish_use import with_line
from ribband.errors import InputError, Problem
from ribband.store import JobFile, KeptPicture
from ribband.survey.rows import Form
from ribband.survey.typed import headings

if TYPE_CHECKING:
    from ribband.record import Photo, Picture

__all__ = [
    "PICTURES", "kept_pictures", "picture_bytes", "picture_files", "pictures_from",
    "small_pictures", "take_picture", "take_picture_file",
]  # fmt: skip

PICTURES = "pictures"  # the folder they are written into
LONGEST_NAME = 100
SMALL_PX = 560  # the longer side, for paper


def take_picture_file(path: Path, said: Mapping[str, str], file: Path, who: str = "") -> Taken:
    """Keep the picture in `file`, under its name; `said` as for `take_picture`.

    Raises
    ------
    InputError : the file is not there, or no picture that can be kept
    JobFileError : the job cannot be opened or written
    """
    from ribband.record.picture import MOST_BYTES

    try:
        if file.stat().st_size > MOST_BYTES:
            raise _unusable(file.name, f"a picture of at most {MOST_BYTES // 1_000_000} MB")
        body = file.read_bytes()
    except OSError as wrong:
        wanted = "a picture that is there (JPEG, PNG or WebP); to note a name alone: --name-only"
        raise InputError([Problem(str(file), 0, "", wrong.strerror or "", wanted)]) from wrong
    return take_picture(path, dict(said) | {"file": file.name}, body, who)


def take_picture(
    path: Path, said: Mapping[str, str], body: bytes, who: str = "", mark: str = ""
) -> Taken:
    """Keep a picture of a plank; `said` gives plank, file, at, by, notes.

    The same `mark` twice does nothing twice. The same picture of the same plank is kept once: its
    line stands in place of the older one.

    Raises
    ------
    InputError : no picture that can be kept, or no plank said
    JobFileError : the job cannot be opened or written, or has no room for more pictures
    """
    if not said.get("plank", "").strip():
        raise InputError([Problem("photos", 0, "plank", "", "a plank's name", "P7-2")])
    picture = _looked_at(said.get("file", ""), body)
    path, hand = job_path(path), who or whoever()
    with JobFile.open(path, writing=True) as job, job.together():
        if mark and (done := job.marked(mark)):
            return Taken(path, done, ("photos",))
        forms = job.forms()
        line = _line(forms.get("photos"), said, picture)
        job.keep_picture(picture, hand)
        made = job.add_revision(
            forms | {"photos": _with_picture(forms.get("photos"), line)}, hand,
            f"{line['plank']}: picture {line['file']}", upon=job.newest(), mark=mark,
        )  # fmt: skip
    left_out = tuple(f"was kept without: {what}" for what in picture.dropped)
    return Taken(path, made, ("photos",), drops=left_out)


def picture_bytes(path: Path, key: str) -> tuple[str, bytes] | None:
    """Give the kind and the bytes of a picture kept in a job, or None.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        body = job.picture(key)
        kind = next((own.kind for own in job.pictures() if own.key == key), None)
    return None if body is None or kind is None else (kind, body)


def kept_pictures(path: Path) -> dict[str, KeptPicture]:
    """Give the pictures a job keeps, by their hash.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        return {own.key: own for own in job.pictures()}


def small_pictures(path: Path, photos: Iterable[Photo]) -> dict[str, bytes]:
    """Give pictures as small JPEGs for paper, by their hash; those the job does not keep are not.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        keys = dict.fromkeys(photo.picture for photo in photos if photo.picture)
        bodies = {key: body for key in keys if (body := job.picture(key)) is not None}
    made = {key: _small(body) for key, body in bodies.items()}
    return {key: body for key, body in made.items() if body is not None}


def picture_files(path: Path, photos: Iterable[Photo], folder: Path) -> Iterator[tuple[str, Path]]:
    """Write the pictures of planks into `folder`; gives each hash with the file it is in.

    Raises
    ------
    JobFileError : the job cannot be opened
    OSError : the folder cannot be written
    """
    with JobFile.open(path) as job:
        endings = {own.key: own.ending for own in job.pictures()}
        for key, plank in {photo.picture: photo.plank for photo in photos}.items():
            body = job.picture(key) if key in endings else None
            if body is not None:
                folder.mkdir(parents=True, exist_ok=True)
                file = folder / f"{_plain(plank)}-{key[:12]}{endings[key]}"
                file.write_bytes(body)
                yield key, file


def pictures_from(path: Path, folder: Path, who: str = "") -> int:
    """Keep the pictures in `folder` that the form `photos` names and the job lacks; count them.

    A file has its hash, or the beginning of it, in its name, as `ribband` writes them; no other is
    looked at.

    Raises
    ------
    JobFileError : the job cannot be opened or written, or has no room for more pictures
    """
    if not folder.is_dir():
        return 0
    with JobFile.open(job_path(path)) as job:
        wanted = _named(job.forms().get("photos")) - {own.key for own in job.pictures()}
    found = [own for file in _files(folder, wanted) if (own := _read(file)) and own.key in wanted]
    if found:
        with JobFile.open(job_path(path), writing=True) as job, job.together():
            for picture in found:
                job.keep_picture(picture, who or whoever())
    return len(found)


def _looked_at(name: str, body: bytes) -> Picture:
    """Give a picture bare, if it is one and its pixels can be unpacked."""
    from PIL import Image

    from ribband.record import bare_picture

    try:
        picture = bare_picture(body)
    except ValueError as wrong:
        raise _unusable(name, f"a JPEG, PNG or WebP picture; this is {wrong}") from wrong
    try:
        with Image.open(BytesIO(picture.body), formats=[picture.kind]) as image:
            image.load()
    except Exception as wrong:  # a decoder fails in many ways
        raise _unusable(name, "a picture that can be shown; this one is damaged") from wrong
    return picture


def _line(form: Form | None, said: Mapping[str, str], picture: Picture) -> dict[str, str]:
    """Give the line of the form: the name as it came, or with a number where it is taken."""
    from ribband.planks.model import plank_name

    line = {"plank": plank_name(said["plank"]), "picture": picture.key}
    own = " ".join(said.get("file", "").replace("\\", "/").rpartition("/")[2].split())
    own = "".join(c for c in own if c.isprintable())[-LONGEST_NAME:] or "picture"
    stem, dot, ending = own.rpartition(".")
    names = [f"{stem or ending} {n}{dot + ending if stem else ''}" for n in range(2, 1000)]
    taken = {
        cells.get("file", "")
        for cells in _cells(form)
        if cells.get("plank", "") == line["plank"] and cells.get("picture") != picture.key
    }
    line["file"] = next((name for name in (own, *names) if name not in taken), own)
    return line | {column: said.get(column, "") for column in ("at", "by", "notes")}


def _with_picture(form: Form | None, line: Mapping[str, str]) -> Form:
    """Put a line on the form; one of an earlier time gets its column for the picture first."""
    if form is not None:
        form = with_columns(form, ("picture",))
    return with_line(form, "photos", line, ("plank", "picture"))


def _named(form: Form | None) -> set[str]:
    """Give the hashes a form names."""
    return {key for cells in _cells(form) if (key := cells.get("picture", ""))}


def _cells(form: Form | None) -> Iterator[dict[str, str]]:
    names = headings(form)[0] if form else ()
    for row in form.rows if form else ():
        yield dict(zip(names, (cell.strip() for cell in row), strict=True))


def _files(folder: Path, wanted: set[str]) -> Iterator[Path]:
    from ribband.record.picture import MOST_BYTES

    for key in sorted(wanted):
        for own in sorted(folder.glob(f"*{_plain(key[:12])}*")):
            if own.is_file() and own.stat().st_size <= MOST_BYTES:
                yield own


def _read(file: Path) -> Picture | None:
    try:
        return _looked_at(file.name, file.read_bytes())
    except (InputError, OSError):
        return None


def _small(body: bytes) -> bytes | None:
    """Give a picture as a small JPEG, the right way up; None where it cannot be unpacked."""
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(body), formats=["JPEG", "PNG", "WEBP"]) as image:
            image.draft("RGB", (SMALL_PX, SMALL_PX))
            upright = ImageOps.exif_transpose(image).convert("RGBA")
    except Exception:  # a decoder fails in many ways; the paper says it cannot be shown
        return None
    upright.thumbnail((SMALL_PX, SMALL_PX))
    flat = Image.new("RGB", upright.size, "white")
    flat.paste(upright, mask=upright.getchannel("A"))
    out = BytesIO()
    flat.save(out, "JPEG", quality=82)
    return out.getvalue()


def _plain(name: str) -> str:
    """Give a name a file may have.

    >>> _plain("P7-2"), _plain("../x y")
    ('P7-2', '-x-y')
    """
    return re.sub(r"[^A-Za-z0-9]+", "-", name)[:40] or "plank"


def _unusable(name: str, wanted: str) -> InputError:
    return InputError([Problem("photos", 0, "file", name[:100], wanted, "p7-2.jpg")])
