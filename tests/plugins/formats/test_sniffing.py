"""How a saved page is written: by its mark, by what it says, by its bytes; never letters that are not there.

Source: HTML Standard (WHATWG), 13.2.3.2 "Determining the character encoding" and the algorithms it names, step by step,
from memory. Names of encodings: Encoding Standard, "Names and labels". JSON: RFC 8259, 8.1.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stillroom.plugins.core.forms import bytes_of
from stillroom.plugins.formats.bounds import Refused
from stillroom.plugins.formats.bring import recipes_of
from stillroom.plugins.formats.sniffing import GUESSED, prescan, text_of

META = '<meta charset="{}">'
PIE = "<div itemscope itemtype=https://schema.org/Recipe><b itemprop=name>Pâté à l’œuf</b></div>"


def page(head: str = "", body: str = PIE) -> str:
    """A page that says in its head how it is written."""
    return f"<!DOCTYPE html>\n<html><head>{head}<title>x</title></head><body>{body}</body></html>"


PRESCAN = {  # bytes -> the encoding's name; None: they say none
    b'<meta charset="windows-1252">': "windows-1252",
    b"<meta charset=latin1>": "windows-1252",  # ISO-8859-1 and ASCII are names of Windows-1252
    b"<META CHARSET = 'ISO-8859-2' >": "iso-8859-2",
    b"<meta/charset=utf8 />": "utf-8",
    b"<meta/charset=utf8/>": None,  # a slash is of the value, where no quotation marks are around it
    b"<meta charset=\n utf-8>": "utf-8",
    b'<meta name=a charset=" SHIFT_JIS ">': "shift_jis",
    b"<meta charset=utf-16>": "utf-8",  # what could be read cannot be UTF-16
    b"<meta charset=utf-16be>": "utf-8",
    b"<meta charset=x-user-defined>": "windows-1252",
    b"<meta charset=nonsense><meta charset=koi8-r>": "koi8-r",
    b'<meta http-equiv="Content-Type" content="text/html; charset=windows-1251">': "windows-1251",
    b"<meta content='text/html; charset=\"windows-1251\"' http-equiv=content-type>": "windows-1251",
    b"<meta http-equiv=content-type content=\"text/html; charset='koi8-r'; x\">": "koi8-r",
    b"<meta http-equiv=content-type content='charset charset = koi8-r;x'>": "koi8-r",
    b"<meta http-equiv=content-type content='text/html; charset=\"koi8-r'>": None,  # a quotation that has no end
    b"<meta content='text/html; charset=koi8-r'>": None,  # without http-equiv it is a text like any other
    b"<meta http-equiv=refresh content='text/html; charset=koi8-r'>": None,
    b"<meta charset=nonsense http-equiv=content-type content='charset=koi8-r'>": None,
    b"<meta charset=koi8-r charset=utf-8>": "koi8-r",  # a name counts once
    b"<meta charset=>": None,
    b"<meta charset=koi8-r": None,  # the tag has no end
    b"<metadata charset=koi8-r>": None,
    b"<!-- <meta charset=koi8-r> --><meta charset=utf-8>": "utf-8",
    b"<!--><meta charset=utf-8>": "utf-8",  # the two hyphens may be those at the beginning
    b"<!-- <meta charset=koi8-r>": None,
    b"<a title='<meta charset=koi8-r>'><meta charset=utf-8>": "utf-8",
    b"</a b=\"><meta charset=koi8-r>\"><meta charset=utf-8>": "utf-8",
    b"<a =x><meta charset=utf-8>": "utf-8",  # a name may begin with an equals sign
    b"<? <meta charset=koi8-r><meta charset=utf-8>": "utf-8",
    b"<! <meta charset=koi8-r><meta charset=utf-8>": "utf-8",
    b"< meta charset=koi8-r><meta charset=utf-8>": "utf-8",
    b"<?xml version='1.0' encoding='iso-8859-2'?><p>": "iso-8859-2",
    b'<?xml version="1.0" encoding = "UTF-16"?>': "utf-8",
    b"<?xml version='1.0'?><p encoding='iso-8859-2'>": None,
    b"<?xml encoding='iso 8859'?>": None,
    b"<?xml encoding='iso-8859-2'?><meta charset=utf-8>": "utf-8",
    "<?xml version='1.0'?>".encode("utf-16-le"): "utf-16le",
    "<?xml version='1.0'?>".encode("utf-16-be"): "utf-16be",
    b"": None, b"<": None, b"<meta": None, b"plain": None,
}  # fmt: skip


@pytest.mark.parametrize("data", PRESCAN)
def test_what_a_page_says_is_found_where_the_standard_looks(data: bytes) -> None:
    found = prescan(data)
    assert (found.name if found else None) == PRESCAN[data]


READ = {  # how a page may be written, with the name that it gives itself
    "utf-8, nothing said": page().encode(),
    "utf-8 with a mark, and it says another": b"\xef\xbb\xbf" + page(META.format("koi8-r")).encode(),
    "utf-16, little end first": b"\xff\xfe" + page().encode("utf-16-le"),
    "utf-16, big end first, and it says another": b"\xfe\xff" + page(META.format("utf-8")).encode("utf-16-be"),
    "windows-1252": page(META.format("windows-1252")).encode("cp1252"),
    "latin-1 is windows-1252": page(META.format("ISO-8859-1")).encode("cp1252"),
    "quoted in content": page(
        "<meta http-equiv='Content-Type' content='text/html; charset=\"windows-1252\"'>"
    ).encode("cp1252"),
    "in single quotation marks": page("<meta charset='cp1252'>").encode("cp1252"),
    "said far down": page("<!-- " + "x" * 2000 + " -->" + META.format("windows-1252")).encode("cp1252"),
    "macintosh": page(META.format("macintosh")).encode("mac-roman"),
    "gb18030": page(META.format("gb18030")).encode("gb18030"),
    "as XML": b"<?xml version='1.0' encoding='windows-1252'?>" + page().encode("cp1252"),
}  # fmt: skip


@pytest.mark.parametrize("kind", READ)
def test_a_page_is_read_as_it_is_written(kind: str) -> None:
    """The same recipe, letter by letter, and nothing to doubt."""
    decoded = text_of(READ[kind])
    (found,) = recipes_of(decoded.text)
    assert found.name == "Pâté à l’œuf" and decoded.note == ""


def test_a_guess_is_told() -> None:
    """Nothing said, and no UTF-8: the standard's fallback for western places, and a word that it is one."""
    decoded = text_of(page().encode("cp1252"))
    assert recipes_of(decoded.text)[0].name == "Pâté à l’œuf" and decoded.note == GUESSED


def test_bytes_that_windows_1252_leaves_out_stand_for_themselves() -> None:
    """Encoding Standard, index windows-1252: 0x81 is U+0081, 0x80 is the euro sign."""
    assert text_of(b"<meta charset=latin1>\x81\x80\x9d").text.endswith("\x81€\x9d")


REFUSED = {
    "not the UTF-8 that it says": (b"<meta charset=utf-8>p\xe2t", "it says UTF-8, and byte 22 (0xE2) can't be."),
    "a mark of UTF-8, and no such bytes": (b"\xef\xbb\xbfp\xe9t", "in front says UTF-8, and byte 5 (0xE9) can't be."),
    "UTF-16 that breaks off": (b"\xff\xfe<\0h", "the mark in front says UTF-16LE, and byte 5 (0x68) can't be."),
    "half a letter of UTF-16": (b"\xff\xfe" + b"\x00\xd8a\0", "says UTF-16LE, and byte 3 (0x00) can't be."),
    "JSON in Latin-1": ('{"name": "Pâté"}'.encode("latin-1"), "JSON is always UTF-8, and byte 12 (0xE2) can't be."),
    "a list in Latin-1": (' [{"name": "Pâté"}]'.encode("latin-1"), "JSON is always UTF-8, and byte 14 (0xE2)"),
    "not the EUC-JP that it says": (b"<meta charset=euc-jp>\xff", "it says EUC-JP, and byte 22 (0xFF) can't be."),
    "UTF-16 without a mark": (page().encode("utf-16-le"), "It is no text: there are empty bytes in it"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "It is no text: there are empty bytes in it"),
}  # fmt: skip


@pytest.mark.parametrize("kind", REFUSED)
def test_bytes_that_are_not_what_they_say_are_an_error_that_says_so(kind: str) -> None:
    """Which byte, what it should be, and what to do: no letter is made up."""
    data, words = REFUSED[kind]
    with pytest.raises(Refused) as caught:
        text_of(data)
    assert words in str(caught.value)
    assert str(caught.value).endswith("Save it again as UTF-8, or open it and paste its text.")


@given(st.lists(st.sampled_from([
    b"<", b"meta", b"<meta ", b"charset", b"=", b"'", b'"', b">", b"/", b"!--", b"-->", b"?xml encoding=", b" ",
    b"content", b"http-equiv=content-type ", b"utf-8", b"koi8-r", b"\xe9", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b";",
]), max_size=30).map(b"".join))  # fmt: skip
def test_no_bytes_make_it_fail(data: bytes) -> None:
    """Text comes out, or words of refusal."""
    try:
        assert isinstance(text_of(data).text, str)
    except Refused as error:
        assert str(error).endswith(".")


def test_a_form_brings_every_byte() -> None:
    """Whatever a file holds, line ends of any kind among it, comes as it is."""
    data = bytes(range(256)) * 3 + b"\r\n\n\r\r\n--x\r\n" + "é\r\n".encode("utf-16")
    head = b'--line\r\nContent-Disposition: form-data; name="file"; filename="a"\r\nContent-Type: text/html\r\n\r\n'
    assert bytes_of("multipart/form-data; boundary=line", head + data + b"\r\n--line--\r\n") == {"file": data}
