"""A picture as it is kept with a job: its kind by its bytes, its size, and no more than the image.

*Kind*: JPEG, PNG or WebP, told by the bytes and never by the name. *Bare*: written anew from the
parts that make the image; the place it was taken at, the camera, remarks, small copies, and
whatever stands before or after it are left out. Of a JPEG the way it is to be turned is kept, and
nothing else of its EXIF. The image itself is not pressed again: every pixel stays.

Bare of bare is the same to the byte, so a picture taken in twice is one.

Not checked here: that the pixels can be unpacked (whoever takes a picture in tries that), or what
is on them.

The parts are those of the standards: JPEG (ITU-T T.81), PNG (ISO/IEC 15948), WebP (RFC 9649).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

__all__ = ["MOST_BYTES", "MOST_PIXELS", "MOST_SIDE", "Picture", "bare_picture"]

Kind = Literal["jpeg", "png", "webp"]
MOST_BYTES = 12_000_000
MOST_PIXELS = 50_000_000
MOST_SIDE = 12_000
MOST_PARTS = 20_000

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = {
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT",
    b"pHYs", b"bKGD",
}  # fmt: skip
_FRAMES = {0xC0, 0xC1, 0xC2}  # of JPEG: baseline, extended, progressive; what browsers show
_FRAMES_ELSE = {0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}
_TABLES = {0xC4, 0xDB, 0xDD}
_SCAN_END = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]", re.DOTALL)
_TURNED = 5  # from this orientation on a JPEG lies on its side


@dataclass(frozen=True, slots=True)
class Picture:
    """A bare picture: `wide` and `high` in pixels as it is shown, `dropped` what was left out."""

    kind: Kind
    wide: int
    high: int
    body: bytes
    dropped: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """SHA-256 of the bare picture, in hexadecimal."""
        return sha256(self.body).hexdigest()


def bare_picture(body: bytes) -> Picture:
    """Read a picture and write it bare.

    Raises
    ------
    ValueError : no JPEG, PNG or WebP, damaged, moving, or larger than the limits; in words

    >>> bare_picture(b"<svg onload='x'/>")
    Traceback (most recent call last):
        ...
    ValueError: no JPEG, PNG or WebP picture
    """
    if len(body) > MOST_BYTES:
        raise ValueError(f"of {len(body) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB")
    read = next((own for begins, own in _READERS if begins(body)), None)
    if read is None:
        raise ValueError(_no_picture(body))
    picture = read(body)
    if not (0 < picture.wide <= MOST_SIDE and 0 < picture.high <= MOST_SIDE):
        raise ValueError(f"{picture.wide} by {picture.high} pixels; at most {MOST_SIDE} a side")
    if picture.wide * picture.high > MOST_PIXELS:
        said = f"{picture.wide} by {picture.high} pixels"
        raise ValueError(f"{said}; at most {MOST_PIXELS / 1e6:.0f} million")
    return picture


def _no_picture(body: bytes) -> str:
    if body[4:8] == b"ftyp":
        return "a HEIC, AVIF or film file, which no browser shows everywhere: save it as JPEG"
    return "no JPEG, PNG or WebP picture"


# ---- JPEG


def _jpeg(body: bytes) -> Picture:
    kept, dropped = [b"\xff\xd8"], list[str]()
    size, turn, ended = (0, 0), 1, False
    for marker, part in _jpeg_parts(body):
        if marker in _FRAMES:
            if size != (0, 0):
                raise ValueError("a JPEG with two images in it")
            size = _jpeg_size(part)
        if marker in _FRAMES_ELSE:
            raise ValueError("a JPEG of a kind browsers do not show (lossless or arithmetic)")
        if marker == 0xE1 and part[4:10] == b"Exif\0\0":
            turn = _orientation(part[10:]) or turn
        if _jpeg_kept(marker, part):
            kept.append(part)
        elif marker != 0xD9:
            dropped.append(_jpeg_called(marker, part))
        ended = marker == 0xD9
    if not ended or size == (0, 0):
        raise ValueError("a JPEG that is cut short")
    if turn > 1:
        kept.insert(1, _turn_said(turn))
    wide, high = size[::-1] if turn >= _TURNED else size
    return Picture("jpeg", wide, high, b"".join([*kept, b"\xff\xd9"]), _once(dropped))


def _jpeg_parts(body: bytes) -> Iterator[tuple[int, bytes]]:
    """Give (marker, segment with its marker) to the end of the image; a scan with its data."""
    at = 2
    for _ in range(MOST_PARTS):
        while body[at : at + 2] == b"\xff\xff":
            at += 1
        if len(body) < at + 2 or body[at] != 0xFF:
            raise ValueError("a damaged JPEG")
        marker = body[at + 1]
        if marker == 0xD9:
            yield marker, b""
            return
        long = int.from_bytes(body[at + 2 : at + 4], "big")
        end = at + 2 + long
        if long < 2 or end > len(body) or marker < 0xC0:
            raise ValueError("a damaged JPEG")
        if marker == 0xDA:
            found = _SCAN_END.search(body, end)
            if found is None:
                raise ValueError("a JPEG that is cut short")
            end = found.start()
        yield marker, body[at:end]
        at = end
    raise ValueError("a JPEG of more parts than any picture has")


def _jpeg_kept(marker: int, part: bytes) -> bool:
    """Tell whether a segment makes the image: frame, tables, scans, colours."""
    if marker in _FRAMES | _TABLES or marker == 0xDA:
        return True
    own = part[4:]
    return (
        (marker == 0xE0 and own.startswith(b"JFIF\0") and len(own) == 14)
        or (marker == 0xE2 and own.startswith(b"ICC_PROFILE\0"))
        or (marker == 0xEE and own.startswith(b"Adobe") and len(own) == 12)
    )


def _jpeg_called(marker: int, part: bytes) -> str:
    if marker == 0xE1:
        return "place, time and camera (EXIF)" if part[4:8] == b"Exif" else "remarks (XMP)"
    return "remarks" if marker == 0xFE else "other parts"


def _jpeg_size(part: bytes) -> tuple[int, int]:
    if len(part) < 10 or part[9] not in {1, 3, 4} or len(part) != 10 + 3 * part[9]:
        raise ValueError("a damaged JPEG")
    return int.from_bytes(part[7:9], "big"), int.from_bytes(part[5:7], "big")


def _orientation(tiff: bytes) -> int:
    """Give the way a picture is to be turned (1 to 8) from its EXIF; 0 where it does not say."""
    order: Literal["little", "big"] = "little" if tiff[:2] == b"II" else "big"
    if tiff[:4] not in {b"II*\0", b"MM\0*"}:
        return 0
    at = int.from_bytes(tiff[4:8], order)
    count = int.from_bytes(tiff[at : at + 2], order)
    for n in range(min(count, 200)):
        entry = tiff[at + 2 + 12 * n : at + 14 + 12 * n]
        if len(entry) == 12 and int.from_bytes(entry[:2], order) == 0x0112:
            turn = int.from_bytes(entry[8:10], order)
            return turn if 1 <= turn <= 8 else 0
    return 0


def _turn_said(turn: int) -> bytes:
    """Write the only EXIF a kept JPEG has: how it is to be turned."""
    entry = b"\x01\x12\0\x03\0\0\0\x01" + bytes([0, turn, 0, 0])
    own = b"Exif\0\0MM\0*\0\0\0\x08" + b"\0\x01" + entry + b"\0\0\0\0"
    return b"\xff\xe1" + (len(own) + 2).to_bytes(2, "big") + own


# ---- PNG


def _png(body: bytes) -> Picture:
    kept, dropped, wide, high = [_PNG], list[str](), 0, 0
    for name, chunk in _png_chunks(body):
        if len(kept) == 1:
            if name != b"IHDR" or len(chunk) != 25:
                raise ValueError("a damaged PNG")
            wide, high = (int.from_bytes(chunk[at : at + 4], "big") for at in (8, 12))
        elif name == b"IHDR":
            raise ValueError("a damaged PNG")
        if name in _PNG_KEPT:
            kept.append(chunk)
        elif name[:1].isupper():
            raise ValueError("a PNG with a part that is not in the standard")
        else:
            dropped.append("place, time and camera (EXIF)" if name == b"eXIf" else "remarks")
    if not any(chunk[4:8] == b"IDAT" for chunk in kept[1:]):
        raise ValueError("a PNG without an image")
    return Picture("png", wide, high, b"".join(kept), _once(dropped))


def _png_chunks(body: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = len(_PNG)
    for _ in range(MOST_PARTS):
        long = int.from_bytes(body[at : at + 4], "big")
        chunk = body[at : at + 12 + long]
        name = chunk[4:8]
        if len(chunk) != 12 + long or not (name.isascii() and name.isalpha()):
            raise ValueError("a PNG that is cut short or damaged")
        if zlib.crc32(chunk[4:-4]) != int.from_bytes(chunk[-4:], "big"):
            raise ValueError("a damaged PNG: a part does not agree with its own sum")
        yield name, chunk
        if name == b"IEND":
            return
        at += len(chunk)
    raise ValueError("a PNG of more parts than any picture has")


# ---- WebP


def _webp(body: bytes) -> Picture:
    kept, dropped = list[bytes](), list[str]()
    canvas, image = (0, 0), (0, 0)
    for name, own in _webp_chunks(body):
        data = own
        if name in {b"ANIM", b"ANMF"}:
            raise ValueError("a moving picture")
        if name == b"VP8X":
            canvas, data = _canvas(own)
        elif name in {b"VP8 ", b"VP8L"} and image == (0, 0):
            image = _webp_size(name, data)
        elif name not in {b"ICCP", b"ALPH"}:
            dropped.append("place, time and camera (EXIF)" if name == b"EXIF" else "remarks")
            continue
        kept.append(name + len(data).to_bytes(4, "little") + data + b"\0" * (len(data) % 2))
    if image == (0, 0) or canvas not in {(0, 0), image}:
        raise ValueError("a damaged WebP")
    inside = b"WEBP" + b"".join(kept)
    whole = b"RIFF" + len(inside).to_bytes(4, "little") + inside
    return Picture("webp", *image, whole, _once(dropped))


def _webp_chunks(body: bytes) -> Iterator[tuple[bytes, bytes]]:
    end = 8 + int.from_bytes(body[4:8], "little")
    if end > len(body):
        raise ValueError("a WebP that is cut short")
    at = 12
    for _ in range(MOST_PARTS):
        if at >= end:
            return
        long = int.from_bytes(body[at + 4 : at + 8], "little")
        data = body[at + 8 : at + 8 + long]
        if len(data) != long or at + 8 + long > end:
            raise ValueError("a WebP that is cut short or damaged")
        yield body[at : at + 4], data
        at += 8 + long + long % 2
    raise ValueError("a WebP of more parts than any picture has")


def _canvas(data: bytes) -> tuple[tuple[int, int], bytes]:
    """Give the size a WebP says it has, and its heading without EXIF, XMP and movement."""
    if len(data) != 10:
        raise ValueError("a damaged WebP")
    if data[0] & 0x02:
        raise ValueError("a moving picture")
    size = tuple(1 + int.from_bytes(data[at : at + 3], "little") for at in (4, 7))
    return (size[0], size[1]), bytes([data[0] & 0x30, 0, 0, 0]) + data[4:]


def _webp_size(name: bytes, data: bytes) -> tuple[int, int]:
    if name == b"VP8L" and data[:1] == b"\x2f" and len(data) > 5:
        bits = int.from_bytes(data[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    if name == b"VP8 " and data[3:6] == b"\x9d\x01\x2a" and len(data) > 10:
        sides = (int.from_bytes(data[at : at + 2], "little") & 0x3FFF for at in (6, 8))
        wide, high = sides
        return wide, high
    raise ValueError("a damaged WebP")


def _once(words: list[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))


_READERS: tuple[tuple[Callable[[bytes], bool], Callable[[bytes], Picture]], ...] = (
    (lambda body: body.startswith(b"\xff\xd8\xff"), _jpeg),
    (lambda body: body.startswith(_PNG), _png),
    (lambda body: body[:4] == b"RIFF" and body[8:12] == b"WEBP", _webp),
)
