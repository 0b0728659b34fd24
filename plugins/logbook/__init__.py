"""The logbook: /log and its forms, /trace, and what of them stands on the first page."""

from __future__ import annotations

from typing import Any

from datasette import hookimpl
from stillroom.plugins.logbook import home, pages, sales_pages, trace_pages


@hookimpl
def register_routes() -> list[tuple[str, Any]]:
    return [
        (r"^/log(\.json)?$", pages.log),
        (r"^/sw\.js$", pages.worker),
        (r"^/log/token\.json$", pages.token),
        (r"^/log/dates(\.json)?$", home.dates),
        (r"^/log/sales(\.json)?$", sales_pages.sales),
        (rf"^/log/(?P<form>{pages.SLUGS})(\.json)?$", pages.form),
        (rf"^/log/(?P<table>{pages.TABLES})/(?P<entry>[0-9]{{1,12}})(\.json)?$", pages.entry),
        (rf"^/log/(?P<table>{pages.TABLES})/(?P<entry>[0-9]{{1,12}})/back(\.json)?$", pages.take_back),
        (r"^/trace(\.(?P<kind>json|csv|xlsx))?$", trace_pages.trace),
        (r"^/trace/receipts(\.(?P<kind>json|csv|xlsx))?$", trace_pages.receipt_lines),
    ]
