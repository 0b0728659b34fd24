"""The standard library's reader of HTML, steadied: whatever is never closed ends with the file, each thing read once.

Left to itself it looks anew for the end of every comment or tag that is not closed, and stops at "<![" with an error.
"""

from __future__ import annotations

from html.parser import HTMLParser


class Tags(HTMLParser):
    """Calls `handle_starttag`, `handle_endtag` and `handle_data`; comments and declarations are passed over."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def parse_comment(self, i: int, report: bool = True) -> int:
        return self._past("-->", i + 2)

    def parse_html_declaration(self, i: int) -> int:
        return self._past(">", i)

    def parse_pi(self, i: int) -> int:
        return self._past(">", i)

    def parse_starttag(self, i: int) -> int:
        end = super().parse_starttag(i)
        return self._past(">", i) if end < 0 else end

    def parse_endtag(self, i: int) -> int:
        return super().parse_endtag(i) if self.rawdata.find(">", i) >= 0 else len(self.rawdata)

    def _past(self, mark: str, start: int) -> int:
        """Where what follows a mark begins; the end of the file where there is none."""
        at = self.rawdata.find(mark, start)
        return len(self.rawdata) if at < 0 else at + len(mark)
