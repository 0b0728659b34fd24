"""The index behind the search box: names of all kinds, accents folded, and the words that slips are held against.

Made anew in the transaction of every load, so an answer is never older than what it links to; a trial's name is put in
with each of its versions. The tables are named search_*, which nobody's table pages show; who may see which kind is
decided where the box is answered. Lot codes are not in it: they change between loads, the logs are asked themselves.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator

from stillroom.db.named_sql import load
from stillroom.db.names import fold
from stillroom.db.recipe_lines import earlier_names

SHORTEST_MENDED = 4  # letters; shorter words have too many neighbours
LONG = 8  # letters from which two slips are forgiven
# Rows stand by kind, then in the order in which they are shown: a kind is a span of ids, its first rows the shortest.
# Trials stand last, so that one more can be put behind them.
TRIAL = "trial"
NAMED_ANEW = frozenset({TRIAL, "dish", "recipe", "draft"})  # kinds that may have had other names
EARLIER = "earlier "  # how the note of a row begins that is there by a name of before
GONE = "insert into search_text (search_text, rowid, folded) values ('delete', ?, ?)"
ADD = "insert into search_name (kind, subject, name, note, folded) values (?, ?, ?, ?, ?)"
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
    rows = sorted(_rows(connection), key=lambda row: (row[0] == TRIAL, row[0], len(row[4]), row[4]))
    connection.executemany(ADD, rows)
    connection.execute("insert into search_kind select kind, min(id), max(id) from search_name group by kind")
    connection.execute("insert into search_text (search_text) values ('rebuild')")
    _add_words(connection, {word for row in rows for word in row[4].split()})


def put_trial(connection: sqlite3.Connection, trial: str) -> None:
    """Puts a trial into the index as it stands now, in the place of what it was; within the transaction that is open.

    The words of a name that is gone stay: no answer holds a word that no name has.
    """
    (there,) = connection.execute("select count(*) from sqlite_master where name = 'search_kind'").fetchone()
    if not there:
        rebuild(connection)
        return
    question = "select id, folded from search_name where id >= ? and kind = ? and subject = ?"
    span = connection.execute("select first from search_kind where kind = ?", (TRIAL,)).fetchone() or (0,)
    for old, folded in connection.execute(question, (*span, TRIAL, trial)).fetchall():
        connection.execute(GONE, (old, folded))
        connection.execute("delete from search_name where id = ?", (old,))
    for row in _rows(connection, trial):
        new = connection.execute(ADD, row).lastrowid
        connection.execute("insert into search_text (rowid, folded) values (?, ?)", (new, row[4]))
        connection.execute(
            "insert into search_kind values (?, ?, ?) on conflict (kind) do update set last = excluded.last",
            (TRIAL, new, new),
        )
        _add_words(connection, {word for word in row[4].split() if not _has_word(connection, word)})


def _has_word(connection: sqlite3.Connection, word: str) -> bool:
    return bool(connection.execute("select 1 from search_cut where cut = ? and word = ?", (word, word)).fetchone())


def _rows(connection: sqlite3.Connection, trial: str | None = None) -> Iterator[tuple[str, str, str, str, str]]:
    """kind, subject of its page, name, note, words: of one trial, or of everything.

    What had another name has a row for each of them, with its present name: the note says which it was found by.
    """
    questions = load("stillroom.db")
    found = list(connection.execute(questions["search_trials"], {"trial": trial}))
    had = list(connection.execute(questions["search_trials_had"], {"trial": trial}))
    if trial is None:
        found += connection.execute(questions["search_names"])
        had += [("recipe", key, name) for key, names in earlier_names(connection).items() for name in names]
    now: dict[tuple[bool, str], tuple[str, str]] = {}
    for kind, subject, name, note, more in found:
        if kind in NAMED_ANEW:
            now[kind == TRIAL, subject] = kind, name
        yield kind, subject, name, note, " ".join(words_in(f"{name} {more}"))
    for what, subject, was in had:
        kind, name = now.get((what == TRIAL, subject), ("", was))
        if fold(name) != fold(was):
            yield kind, subject, name, EARLIER + was, " ".join(words_in(was))


def _add_words(connection: sqlite3.Connection, words: Iterable[str]) -> None:
    mended = [word for word in words if len(word) >= SHORTEST_MENDED and not word.isdigit()]
    pairs = sorted((cut, word) for word in mended for cut in cuts(word))
    connection.executemany("insert into search_cut (cut, word) values (?, ?)", pairs)
    long = [(word,) for word in mended if len(word) >= LONG]
    connection.executemany("insert into search_long (word) values (?)", long)
