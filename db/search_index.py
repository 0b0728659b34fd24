"""The index behind the search box: names of all kinds, accents folded, and the words that slips are held against.

Made anew in the transaction of every load, so an answer is never older than what it links to. The tables are named
search_*, which nobody's table pages show; who may see which kind is decided where the box is answered. Lot codes are
not in it: they change between loads, and the logs are asked themselves.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator

from stillroom.db.named_sql import load
from stillroom.db.names import fold

SHORTEST_MENDED = 4  # letters; shorter words have too many neighbours
LONG = 8  # letters from which two slips are forgiven
# Rows stand by kind, then in the order in which they are shown: a kind is a span of ids, its first rows the shortest.
TABLES = (
    "create table search_name (id integer primary key, kind text not null, subject text not null, name text not null,"
    " note text not null, folded text not null) strict",
    "create table search_kind (kind text primary key, first integer not null, last integer not null) strict",
    "create virtual table search_text using fts5 (folded, content='search_name', content_rowid='id', prefix='1 2 3',"
    " detail='none', columnsize=0, tokenize='unicode61')",
    "create table search_cut (cut text not null, word text not null, primary key (cut, word)) strict, without rowid",
    "create virtual table search_long using fts5 (word, tokenize='trigram')",
)


def words_in(text: str) -> list[str]:
    """The words of a text as they are indexed: folded, letters and digits only.

    Example:
        >>> words_in("Crème fraîche, 30 %")
        ['creme', 'fraiche', '30']
    """
    return re.findall(r"[^\W_]+", text.lower() if text.isascii() else fold(text))


def cuts(word: str) -> set[str]:
    """A word, and it with any one letter left out: two words one slip apart have one of these in common."""
    return {word, *(word[:n] + word[n + 1 :] for n in range(len(word)))}


def rebuild(connection: sqlite3.Connection) -> None:
    """Makes the index from the kitchen's tables, within the transaction that is open."""
    for name in ("search_text", "search_name", "search_kind", "search_cut", "search_long"):
        connection.execute(f"drop table if exists {name}")
    for statement in TABLES:
        connection.execute(statement)
    rows = sorted(_rows(connection), key=lambda row: (row[0], len(row[4]), row[4]))
    add = "insert into search_name (kind, subject, name, note, folded) values (?, ?, ?, ?, ?)"
    connection.executemany(add, rows)
    connection.execute("insert into search_kind select kind, min(id), max(id) from search_name group by kind")
    connection.execute("insert into search_text (search_text) values ('rebuild')")
    _add_words(connection, {word for row in rows for word in row[4].split()})


def _rows(connection: sqlite3.Connection) -> Iterator[tuple[str, str, str, str, str]]:
    """kind, subject of its page, name, note, words."""
    for kind, subject, name, note, more in connection.execute(load("stillroom.db")["search_names"]):
        yield kind, subject, name, note, " ".join(words_in(f"{name} {more}"))


def _add_words(connection: sqlite3.Connection, words: Iterable[str]) -> None:
    mended = [word for word in words if len(word) >= SHORTEST_MENDED and not word.isdigit()]
    pairs = sorted((cut, word) for word in mended for cut in cuts(word))
    connection.executemany("insert into search_cut (cut, word) values (?, ?)", pairs)
    long = [(word,) for word in mended if len(word) >= LONG]
    connection.executemany("insert into search_long (word) values (?)", long)
