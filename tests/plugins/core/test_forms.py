"""A chosen file as text: by its mark, as UTF-8, else as an older Windows wrote it; what is no text is told as such."""

from __future__ import annotations

import io
from types import SimpleNamespace

import openpyxl
import pytest
from stillroom.plugins.core.forms import no_text, posted

LINES = "Item;Qty\nCrème brûlée;2\n"


async def chosen(data: bytes) -> str:
    """The text of a file that a browser sends."""
    body = b'--line\r\ncontent-disposition: form-data; name="file"; filename="x"\r\n\r\n' + data + b"\r\n--line--\r\n"

    async def post_body() -> bytes:
        return body

    headers = {"content-type": "multipart/form-data; boundary=line"}
    return (await posted(SimpleNamespace(post_body=post_body, headers=headers, scope={})))["file"]


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
async def test_a_file_is_read_in_what_it_is_written_in(code: str) -> None:
    text = await chosen(LINES.encode(code))
    assert text == LINES and no_text(text) == ""


async def test_what_is_no_text_says_what_to_send() -> None:
    """A picture, a workbook as a library writes it."""
    made = io.BytesIO()
    openpyxl.Workbook().save(made)
    assert "save its sheet as CSV" in no_text(await chosen(made.getvalue()))
    assert "a picture" in no_text(await chosen(b"\x89PNG\r\n\x1a\n" + bytes(40)))
