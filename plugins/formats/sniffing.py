"""Bytes of a saved page or file as text, by the HTML Standard's encoding sniffing. Pure.

Source: HTML Standard (WHATWG), 13.2.3.2 "Determining the character encoding", with "prescan a byte stream to determine
its encoding", "get an attribute", "get an XML encoding", "extracting a character encoding from a meta element"; from
memory. Names of encodings: Encoding Standard, by the package webencodings. JSON is UTF-8: RFC 8259, 8.1.
A page that says nothing is UTF-8 where its bytes are; else what it says further down counts, as it does when a browser
changes the encoding while parsing; else it is Windows-1252, and that is told.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stillroom.plugins.formats.bounds import Refused
from webencodings import Encoding, lookup

SPACE = b"\t\n\x0c\r "
FIRST = 1024  # bytes: the standard encourages to look no further at first
FURTHER = 100_000
UTF_8, WINDOWS = lookup("utf-8"), lookup("windows-1252")
MARKS = ((b"\xef\xbb\xbf", UTF_8), (b"\xfe\xff", lookup("utf-16be")), (b"\xff\xfe", lookup("utf-16le")))
BEGUN = ((b"<\0?\0x\0", lookup("utf-16le")), (b"\0<\0?\0x", lookup("utf-16be")))
# Bytes that Python's own codec leaves out stand for themselves: Encoding Standard, index windows-1252.
C1 = {byte: bytes([byte]).decode("cp1252", "ignore") or chr(byte) for byte in range(0x80, 0xA0)}
GUESSED = "It does not say how its letters are written, and they are no UTF-8: read as Windows-1252. Look at accents."
AGAIN = "Save it again as UTF-8, or open it and paste its text."
_TAG = re.compile(rb"</?[A-Za-z]")
_CHARSET = re.compile(rb"charset\s*=\s*(?:\"([^\"]*)\"|'([^']*)'|([^\"'\s;][^\s;]*))")
_XML = re.compile(rb"<\?xml(?=[^>]*>)[^>]*?encoding[\x00-\x20]*=[\x00-\x20]*([\"'])([^\x00-\x20]*?)\1")


@dataclass(frozen=True)
class Decoded:
    """A file as text. note: what a person should know of how it was read; '' = nothing."""

    text: str
    note: str = ""


class _Over(Exception):
    """The bytes are at an end."""


def text_of(data: bytes) -> Decoded:
    """A saved page or file as text.

    Raises:
        Refused: its bytes are not what it says that they are.
    """
    mark, encoding = next(((mark, known) for mark, known in MARKS if data.startswith(mark)), (b"", None))
    if encoding is not None:
        return Decoded(_read(data, len(mark), encoding, "the mark in front says"))
    if data.lstrip(SPACE)[:1] in (b"{", b"["):
        return Decoded(_read(data, 0, UTF_8, "JSON is always"))
    said = prescan(data[:FIRST])
    if said is None and not _is_utf_8(data):
        said = prescan(data[:FURTHER])
        if said is None:
            return Decoded(_read(data, 0, WINDOWS, ""), GUESSED)
    return Decoded(_read(data, 0, said or UTF_8, "it says"))


def _is_utf_8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _read(data: bytes, begin: int, encoding: Encoding, why: str) -> str:
    """The text behind the mark in front; `why` this encoding, in words."""
    try:
        text = _decoded(data[begin:], encoding)
    except UnicodeDecodeError as error:
        at = begin + error.start
        what = f"byte {at + 1:,} (0x{data[at]:02X}) can't be" if at < len(data) else "its end can't be"
        raise Refused(f"Its letters can't be read: {why} {encoding.name.upper()}, and {what}. {AGAIN}") from None
    if "\0" in text:
        raise Refused(f"It is no text: there are empty bytes in it, as in UTF-16 without a mark in front. {AGAIN}")
    return text


def _decoded(data: bytes, encoding: Encoding) -> str:
    if encoding is WINDOWS:
        return data.decode("latin-1").translate(C1)
    text: str = encoding.codec_info.decode(data, "strict")[0]
    return text


def prescan(data: bytes) -> Encoding | None:
    """The encoding that a page says it is written in; None where these bytes say none."""
    begun = next((encoding for first, encoding in BEGUN if data.startswith(first)), None)
    try:
        return begun or _scanned(_Scan(data))
    except _Over:
        found = _XML.match(data)
        return _label(found[2]) if found else None


class _Scan:
    """A place in some bytes; beyond them everything is over."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 0

    def byte(self) -> bytes:
        if self.at >= len(self.data):
            raise _Over
        return self.data[self.at : self.at + 1]

    def to(self, mark: bytes, begin: int) -> int:
        """Where a mark stands next."""
        at = self.data.find(mark, begin)
        if at < 0:
            raise _Over
        return at

    def skip(self, passed: bytes) -> None:
        while self.byte() in passed:
            self.at += 1

    def until(self, stops: bytes) -> bytes:
        """What stands before the next of some bytes."""
        begin = self.at
        while self.byte() not in stops:
            self.at += 1
        return self.data[begin : self.at]

    def attribute(self) -> tuple[bytes, bytes] | None:
        """The next attribute, name and value in small letters; None at the end of the tag."""
        self.skip(SPACE + b"/")
        if self.byte() == b">":
            return None
        begin, self.at = self.at, self.at + 1  # an equals sign may begin a name
        self.until(SPACE + b"/>=")
        name = self.data[begin : self.at]
        self.skip(SPACE)
        value = b""
        if self.byte() == b"=":
            self.at += 1
            self.skip(SPACE)
            value = self._value()
        return name.lower(), value.lower()

    def _value(self) -> bytes:
        quote = self.byte()
        if quote not in (b'"', b"'"):
            return self.until(SPACE + b">")
        end = self.to(quote, self.at + 1)
        value, self.at = self.data[self.at + 1 : end], end + 1
        return value


def _scanned(scan: _Scan) -> Encoding | None:
    """The encoding of the first meta element that says one.

    Raises:
        _Over: none does.
    """
    while True:
        at = scan.at = scan.to(b"<", scan.at)
        begins = scan.data[at : at + 5].lower()
        if begins.startswith(b"<!--"):
            scan.at = scan.to(b"-->", at + 2) + 3
        elif begins == b"<meta" and scan.data[at + 5 : at + 6] in set(map(bytes, zip(SPACE + b"/", strict=False))):
            scan.at = at + 5
            said = _in_meta(scan)
            if said is not None:
                return said
        elif _TAG.match(scan.data, at):
            scan.until(SPACE + b">")
            while scan.attribute() is not None:
                pass
        else:
            scan.at = scan.to(b">", at) if begins[1:2] in (b"!", b"/", b"?") else at + 1


def _in_meta(scan: _Scan) -> Encoding | None:
    """What one meta element says: by its charset, or by content where http-equiv is content-type."""
    seen: dict[bytes, bytes] = {}
    while (pair := scan.attribute()) is not None:
        seen.setdefault(*pair)
    for name, value in seen.items():
        if name == b"charset":
            return _label(value)
        if name == b"content" and (found := _in_content(value)) is not None and b"charset" not in seen:
            return found if seen.get(b"http-equiv") == b"content-type" else None
    return None


def _in_content(value: bytes) -> Encoding | None:
    """'text/html; charset="windows-1252"': quoted or not."""
    found = _CHARSET.search(value)
    return _label(next(said for said in found.groups() if said is not None)) if found else None


def _label(name: bytes) -> Encoding | None:
    """An encoding by any of its names; what could be read as this cannot be UTF-16."""
    found = lookup(name.decode("latin-1"))
    if found is not None and found.name.startswith("utf-16"):
        return UTF_8
    return WINDOWS if found is not None and found.name == "x-user-defined" else found
