"""Rows as files: CSV and XLSX in which no text can turn into a formula."""

from __future__ import annotations

import asyncio
import csv
import io
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from datasette.utils.asgi import Response
from stillroom.plugins.core.format import OWN_WAY

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def harmless(cell: Any) -> Any:
    """A text that a spreadsheet would run gets a quotation mark before it; numbers stay as they are."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_STARTS) else cell


def csv_text(columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
    """The rows as CSV with a header; of a kitchen with a decimal comma as its spreadsheets read it, parted by ;."""
    out = io.StringIO()
    has_comma = OWN_WAY.get().mark == ","
    writer = csv.writer(out, delimiter=";" if has_comma else ",", lineterminator="\r\n")
    writer.writerow([harmless(c) for c in columns])
    writer.writerows([_comma(cell) if has_comma else harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def _comma(cell: Any) -> Any:
    """A number with a decimal comma; a text as it is."""
    return str(cell).replace(".", ",") if isinstance(cell, float | Decimal) else harmless(cell)


def xlsx_bytes(columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> bytes:
    """The rows as a workbook of one sheet; text is written as text whatever it begins with."""
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet("rows")
        bold = book.add_format({"bold": True})
        for column, name in enumerate(columns):
            sheet.write_string(0, column, name, bold)
        for number, row in enumerate(rows, 1):
            for column, cell in enumerate(row):
                if isinstance(cell, int | float | Decimal | Fraction):
                    sheet.write_number(number, column, float(cell))
                elif cell is not None:
                    sheet.write_string(number, column, str(cell))
        sheet.freeze_panes(1, 0)
    return out.getvalue()


async def file_response(kind: str, columns: Sequence[str], rows: Sequence[Sequence[Any]], name: str) -> Response:
    """The rows to take away, made off the event loop. kind is 'csv' or 'xlsx'."""
    if kind == "csv":
        body: Any = await asyncio.to_thread(csv_text, columns, rows)
        content_type = "text/csv; charset=utf-8"
    else:
        body, content_type = await asyncio.to_thread(xlsx_bytes, columns, rows), XLSX_TYPE
    headers = {"content-disposition": f'attachment; filename="{name}.{kind}"', "cache-control": "no-store"}
    return Response(body, headers=headers, content_type=content_type)


async def page_or_file(
    request: Any, answer: Any, name: str, columns: Sequence[str], rows: Callable[[], Sequence[Sequence[Any]]]
) -> Any:
    """A page's answer as it is; its rows to take away where the address ends in .csv or .xlsx.

    Args:
        name: of the file, without its ending.
        rows: called where there is to be a file.
    """
    kind = request.url_vars.get("kind")
    return await file_response(kind, columns, rows(), name) if kind in {"csv", "xlsx"} else answer
