"""Text files, looked through once in pieces before anything is made of them: encoding, NUL bytes, endless lines."""

from __future__ import annotations

import codecs
from pathlib import Path

from stillroom.db.problems import Place
from stillroom.loaders.source import Source

PIECE = 1_000_000  # bytes read at once, and the longest line
LARGEST_YAML = 5_000_000
SAVE_AS = 'save it again: "CSV UTF-8" in a spreadsheet, encoding UTF-8 in an editor'


class _Bad(Exception):
    """What stops a file from being read."""

    def __init__(self, code: str, line: int | None, what: str, why: str, fix: str) -> None:
        self.code, self.line, self.what, self.why, self.fix = code, line, what, why, fix


def can_read(path: Path, source: Source) -> bool:
    """Whether a file is text in UTF-8 with lines of a sane length; a problem says why not. Reads it in pieces."""
    try:
        if path.is_dir():
            raise _Bad(
                "file-unreadable", None, "is a folder, where a file should be", "", "put the file itself here"
            )
        if path.exists() and not path.is_file():
            raise _Bad("file-unreadable", None, "is no ordinary file", "", "put the file itself here")
        _scan(path)
    except OSError as error:
        words = error.strerror or "the disk gives no reason"
        source.problem(
            "file-unreadable",
            Place(str(path)),
            f"can't be read: {words}",
            "",
            "give this account the right to read it",
        )
        return False
    except _Bad as bad:
        source.problem(bad.code, Place(str(path), line=bad.line), bad.what, bad.why, bad.fix)
        return False
    return True


def read_text(path: Path, source: Source, largest: int = LARGEST_YAML) -> str | None:
    """A file's whole text, or None and a problem; nothing larger than `largest` [bytes]."""
    try:
        size = path.stat().st_size
    except OSError:
        size = 0
    if size > largest:
        source.problem(
            "file-large",
            Place(str(path)),
            f"has {size:,} bytes",
            f"At most {largest:,}.",
            "part it into several files",
        )
        return None
    return path.read_text("utf-8-sig") if can_read(path, source) else None


def _scan(path: Path) -> None:
    decoder = codecs.getincrementaldecoder("utf-8")()
    line, since_break = 1, 0
    with path.open("rb") as file:
        piece = file.read(PIECE)
        _refuse_utf_16(piece)
        while piece:
            _refuse_nul(piece, line)
            _decode(decoder, piece, line)
            breaks = piece.count(b"\n")
            last = max(piece.rfind(b"\n"), piece.rfind(b"\r"))
            since_break = len(piece) - 1 - last if last >= 0 else since_break + len(piece)
            if since_break >= PIECE:
                raise _Bad(
                    "line-long", line + breaks, f"the line is longer than {PIECE:,} bytes", "",
                    "look for a missing line break or a quotation mark that is never closed",
                )  # fmt: skip
            line += breaks
            piece = file.read(PIECE)
    _decode(decoder, b"", line, last=True)


def _refuse_utf_16(start: bytes) -> None:
    """A byte order mark says so; without one, every other byte of plain text is NUL."""
    pairs = start[:40]
    halves = pairs[::2], pairs[1::2]
    no_mark = (
        len(pairs) >= 4
        and any(half.count(0) * 2 > len(half) for half in halves)
        and any(0 not in h for h in halves)
    )
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE)) or no_mark:
        raise _Bad("encoding", None, "is saved as UTF-16", "Files here are UTF-8.", SAVE_AS)


def _refuse_nul(piece: bytes, line: int) -> None:
    at = piece.find(b"\x00")
    if at >= 0:
        raise _Bad(
            "nul-byte",
            line + piece.count(b"\n", 0, at),
            "holds a NUL byte",
            "Text has none.",
            "export the file again",
        )


def _decode(decoder: codecs.IncrementalDecoder, piece: bytes, line: int, last: bool = False) -> None:
    try:
        decoder.decode(piece, last)
    except UnicodeDecodeError as error:
        byte, before = error.object[error.start], error.object[: error.start]
        meant = bytes([byte]).decode("cp1252", "replace")
        as_old = (
            f', which is "{meant}" in Windows-1252 and Latin-1'
            if meant.isprintable() and meant != "\ufffd"
            else ""
        )
        raise _Bad(
            "encoding",
            line + before.count(b"\n"),
            f"is not UTF-8: byte {byte:#04x}{as_old}",
            "Files here are UTF-8.",
            SAVE_AS,
        ) from None
