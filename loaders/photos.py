"""Pictures of recipes: looked at once, made small, everything that the camera wrote into them left out.

A picture is any file a person was given, so it is read with care: its kind by its content, its size before it is opened
up, one frame, and what is kept is drawn anew. One that was made so already (it comes out of `dump`) is kept as it is.
"""

from __future__ import annotations

import hashlib
import io
import re
import sqlite3
import struct
import warnings
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from PIL import Image, ImageOps
from stillroom.db.problems import quoted
from stillroom.loaders.read import Cells, Known, Load

KINDS = ("JPEG", "PNG", "WEBP")
NAME = re.compile(r"[^/\\:\x00-\x1f]{1,120}\.(?:jpe?g|png|webp)", re.I)
MOST_BYTES = 25_000_000
MOST_PIXELS = 60_000_000  # a picture of a large camera; a file of a few kB can claim far more
LONGEST_SIDE = 1280  # px, as shown
QUALITY = 82
MADE_HERE = b"made small"  # the comment in a picture that was drawn anew
# What Pillow raises for files that are broken or made to break a reader.
BROKEN = (
    OSError, ValueError, SyntaxError, TypeError, KeyError, IndexError, EOFError, OverflowError, MemoryError,
    struct.error,
)  # fmt: skip


@dataclass(frozen=True)
class Photo:
    """A picture as it is kept: JPEG, its size [px], and the hash of the file that it was made from."""

    source_sha256: str
    width: int
    height: int
    picture: bytes


class BadPhoto(ValueError):
    """The file is not a picture that can be shown; code, what and fix go into a Problem."""

    def __init__(self, code: str, what: str, fix: str) -> None:
        super().__init__(what)
        self.code, self.what, self.fix = code, what, fix


def photo_of(load: Load, cells: Cells, known: Known) -> str:
    """Adds a recipe's picture to the load; returns its name there, '' where it has none or it can't be shown."""
    name = cells["photo"]
    if not name:
        return ""
    try:
        found = _read(name, load)
    except BadPhoto as error:
        cells.problem(error.code, "photo", error.what, "", error.fix)
        return ""
    load.add("photos", {"recipe_id": known.id, **vars(found)})
    return f"{known.id}.jpg"


def kept_photos(database: Path) -> dict[str, Photo]:
    """Pictures that a kitchen's file holds already, by the hash of what they were made from."""
    if not database.exists():
        return {}
    try:
        with closing(sqlite3.connect(f"file:{quote(str(database.absolute()))}?mode=ro", uri=True, timeout=10)) as old:
            rows = old.execute("select source_sha256, width, height, picture from photos").fetchall()
    except sqlite3.DatabaseError:  # an older file, or none of ours: told where it is opened for writing
        return {}
    return {row[0]: Photo(*row) for row in rows}


def _read(name: str, load: Load) -> Photo:
    if not NAME.fullmatch(name):
        told = "write the name alone: brown-butter.jpg (.jpeg, .png, .webp)"
        raise BadPhoto("photo-name", f"{quoted(name)} is not the name of a picture beside the recipes", told)
    top = load.source.path
    folder = top / "recipes" if top.is_dir() else top.parent
    path = folder / name
    try:
        if not path.resolve().is_relative_to(folder.resolve()) or not path.is_file():
            raise BadPhoto("photo-missing", f"there is no {quoted(name)} beside the recipes", "put the picture there")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise BadPhoto("photo-missing", f"{quoted(name)} can't be read: {error.strerror}", "mend its rights") from error
    found = hashlib.sha256(data).hexdigest()
    kept = load.photos.get(found)
    return kept if kept is not None else made_small(name, data)


def made_small(name: str, data: bytes) -> Photo:
    """A picture's file as it is kept.

    Raises:
        BadPhoto: photo-large, photo-bad.
    """
    if len(data) > MOST_BYTES:
        raise BadPhoto("photo-large", f"{quoted(name)} is larger than 25 MB", "save it smaller")
    source = hashlib.sha256(data).hexdigest()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=KINDS) as opened:
                return _drawn(name, data, source, opened)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels(name) from error
    except BadPhoto:
        raise
    except BROKEN as error:
        what = f"{quoted(name)} can't be read as a JPEG, PNG or WebP picture"
        raise BadPhoto("photo-bad", what, "save it anew as a JPEG") from error


def _too_many_pixels(name: str) -> BadPhoto:
    return BadPhoto("photo-large", f"{quoted(name)} claims more than 60 million points", "save it smaller")


def _drawn(name: str, data: bytes, source: str, opened: Image.Image) -> Photo:
    """The picture upright, small, and drawn anew."""
    width, height = opened.size
    if width * height > MOST_PIXELS:
        raise _too_many_pixels(name)
    if width < 1 or height < 1:
        raise BadPhoto("photo-bad", f"{quoted(name)} is an empty picture", "save it anew as a JPEG")
    if opened.format == "JPEG":
        opened.draft("RGB", (LONGEST_SIDE * 2, LONGEST_SIDE * 2))
    opened.load()
    if max(width, height) <= LONGEST_SIDE and is_made_here(data):
        return Photo(source, width, height, data)
    upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    small = _on_white(upright)
    out = io.BytesIO()
    small.save(out, "JPEG", quality=QUALITY, optimize=True, comment=MADE_HERE)
    return Photo(source, small.width, small.height, out.getvalue())


def _on_white(picture: Image.Image) -> Image.Image:
    """In red, green and blue; what is see-through is white."""
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        whole = picture.convert("RGBA")
        white = Image.new("RGB", whole.size, (255, 255, 255))
        white.paste(whole, mask=whole.getchannel("A"))
        return white
    return picture.convert("RGB")


def is_made_here(data: bytes) -> bool:
    """Whether a JPEG holds the drawing, our comment, and nothing else: no camera's words, nothing behind its end."""
    if not data.startswith(b"\xff\xd8") or not data.endswith(b"\xff\xd9"):
        return False
    at, has_comment = 2, False
    while at + 4 <= len(data) and data[at] == 0xFF:
        kind, size = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if kind == 0xFE:
            has_comment = data[at + 4 : at + 2 + size] == MADE_HERE
        if kind == 0xDA:
            return has_comment and data.find(b"\xff\xd9", at) == len(data) - 2
        if kind not in (0xE0, 0xDB, 0xC0, 0xC4, 0xFE) or (kind == 0xFE and not has_comment):
            return False
        at += 2 + size
    return False
