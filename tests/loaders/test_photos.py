"""Pictures: looked at once, made small, nothing of the camera kept; files made to break a reader are refused."""

from __future__ import annotations

import io
import shutil
import sqlite3
import struct
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from stillroom.loaders import photos
from stillroom.loaders.build import build, check
from stillroom.loaders.photos import LONGEST_SIDE, BadPhoto, is_made_here, made_small

MINI = Path(__file__).parents[1] / "data" / "mini"


def picture(kind: str = "JPEG", size: tuple[int, int] = (640, 480), mode: str = "RGB", **more: Any) -> bytes:
    out = io.BytesIO()
    Image.linear_gradient("L").resize(size).convert(mode).save(out, kind, **more)
    return out.getvalue()


def camera_picture() -> bytes:
    """Lying on its side, with a place on earth and a camera's name in it."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "CameraMaker"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    return picture(size=(4000, 3000), exif=exif)


def kitchen(folder: Path, name: str, data: bytes | None) -> Path:
    """The small kitchen with a picture of its first recipe."""
    shutil.copytree(MINI, folder)
    book = folder / "recipes" / "book.yaml"
    text = book.read_text("utf-8")
    first, rest = text.split("\n", 1)
    book.write_text(f"{first}\nphoto: '{name}'\n{rest}", "utf-8")
    if data is not None:
        (folder / "recipes" / name).write_bytes(data)
    return folder


def row(database: Path) -> tuple[Any, ...]:
    with sqlite3.connect(database) as db:
        found: tuple[Any, ...] = db.execute(
            "select p.*, r.photo from photos as p join recipes as r on r.id = p.recipe_id").fetchone()  # fmt: skip
    return found


def test_a_cameras_picture_is_upright_small_and_says_nothing_of_the_camera(tmp_path: Path) -> None:
    data = camera_picture()
    assert b"CameraMaker" in data
    assert build(kitchen(tmp_path / "k", "butter.jpg", data), tmp_path / "k.db").errors == 0
    recipe, _, width, height, kept, name = row(tmp_path / "k.db")
    assert (width, height) == (960, 1280) and name == f"{recipe}.jpg"
    assert b"CameraMaker" not in kept and b"Exif" not in kept
    with Image.open(io.BytesIO(kept)) as shown:
        assert shown.format == "JPEG" and shown.size == (960, 1280) and not dict(shown.getexif())


@pytest.mark.parametrize(
    ("kind", "mode"), [("JPEG", "RGB"), ("PNG", "RGBA"), ("PNG", "P"), ("WEBP", "RGB"), ("JPEG", "CMYK")]
)
def test_the_three_kinds_are_read_by_what_they_are_not_by_their_name(kind: str, mode: str) -> None:
    kept = made_small("x.png", picture(kind, mode=mode))
    with Image.open(io.BytesIO(kept.picture)) as shown:
        assert (shown.format, shown.mode, shown.size) == ("JPEG", "RGB", (640, 480))


def png_that_claims(width: int, height: int) -> bytes:
    """A few bytes that claim to be an enormous picture."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


def png_with_a_bomb_of_text() -> bytes:
    """A PNG whose text unpacks to hundreds of megabytes."""
    data = picture("PNG")
    body = b"Comment\0\0" + zlib.compress(b"x" * 300_000_000, 9)
    chunk = struct.pack(">I", len(body)) + b"zTXt" + body + struct.pack(">I", zlib.crc32(b"zTXt" + body))
    return data[:33] + chunk + data[33:]


HOSTILE = {
    "a page": (b"<html><script>alert(1)</script></html>", "photo-bad"),
    "a drawing with a script": (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "photo-bad"),
    "a moving picture of another kind": (picture("GIF"), "photo-bad"),
    "a page description": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "photo-bad"),
    "nothing": (b"", "photo-bad"),
    "half a picture": (picture(size=(800, 600))[:900], "photo-bad"),
    "half a PNG": (picture("PNG", size=(900, 700))[:600], "photo-bad"),
    "a claim of a billion points": (png_that_claims(40_000, 40_000), "photo-large"),
    "a claim of more than any": (png_that_claims(2**31 - 1, 2**31 - 1), "photo-large"),
    "no height": (png_that_claims(100, 0), "photo-bad"),
    "a bomb of text": (png_with_a_bomb_of_text(), "photo-bad"),
    "noise": (b"\xff\xd8\xff" + bytes(range(256)) * 40, "photo-bad"),
    "too many bytes": (picture() + b"\0" * 25_000_001, "photo-large"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_files_are_refused_with_a_problem(what: str, tmp_path: Path) -> None:
    data, code = HOSTILE[what]
    problems = check(kitchen(tmp_path / "k", "butter.jpg", data)).problems
    assert [(p.code, p.severity) for p in problems] == [(code, "error")], problems
    assert "butter.jpg" in problems[0].what and problems[0].place.line == 2


@pytest.mark.parametrize(
    ("name", "code"),
    [("../butter.jpg", "photo-name"), ("/etc/passwd", "photo-name"), ("butter.gif", "photo-name"),
     ("butter.svg", "photo-name"), ("nothing.jpg", "photo-missing")],
)  # fmt: skip
def test_names_that_lead_elsewhere_are_refused(name: str, code: str, tmp_path: Path) -> None:
    assert [p.code for p in check(kitchen(tmp_path / "k", name, None)).problems] == [code]


def test_a_link_out_of_the_kitchen_is_not_followed(tmp_path: Path) -> None:
    folder = kitchen(tmp_path / "k", "butter.jpg", None)
    (tmp_path / "secret.jpg").write_bytes(picture())
    (folder / "recipes" / "butter.jpg").symlink_to(tmp_path / "secret.jpg")
    assert {"photo-missing", "file-outside"} == {p.code for p in check(folder).problems}


def test_a_picture_is_drawn_once_and_kept_while_its_file_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder, database = kitchen(tmp_path / "k", "butter.png", picture("PNG", size=(2000, 1500))), tmp_path / "k.db"
    assert build(folder, database).errors == 0
    first = row(database)

    def refuse(*_: Any) -> Any:
        raise AssertionError("drawn again")

    monkeypatch.setattr(photos, "made_small", refuse)
    assert build(folder, database).errors == 0 and row(database) == first


def test_what_was_made_here_stays_byte_for_byte_and_nothing_rides_on_it() -> None:
    """So a dump builds the same kitchen again; with anything behind its end or beside it, it is drawn anew."""
    kept = made_small("x.jpg", picture(size=(3000, 2000))).picture
    assert is_made_here(kept) and made_small("x.jpg", kept).picture == kept
    for more in (kept + b"<script>", kept[:2] + b"\xff\xe1\x00\x10Exif\0\0secrets!" + kept[2:], picture()):
        assert not is_made_here(more)
        again = made_small("x.jpg", more).picture
        assert b"script" not in again and b"secrets" not in again
    with Image.open(io.BytesIO(kept)) as shown:
        assert max(shown.size) == LONGEST_SIDE


def test_the_words_name_the_file() -> None:
    with pytest.raises(BadPhoto, match=r'"x\.jpg" can\'t be read as a JPEG, PNG or WebP picture'):
        made_small("x.jpg", b"GIF89a")
