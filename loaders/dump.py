"""A kitchen written out as the files that `build` makes it from again, logs and all; and the proof that it does."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from stillroom.db.problems import report
from stillroom.loaders import dump_book, dump_stock
from stillroom.loaders.backup import UNFINISHED, Tell, silent
from stillroom.loaders.build import build
from stillroom.loaders.dump_house import House
from stillroom.loaders.dump_logs import write_logs
from stillroom.loaders.dump_text import write_used
from stillroom.loaders.same import differences
from stillroom.loaders.tables import BY_NAME


class NotDumped(Exception):
    """No files were written, or they would not make the same kitchen. The message says why."""


@dataclass(frozen=True)
class Written:
    """What was written out: files, pictures among them, and rows of logs."""

    files: int
    log_rows: int


def dump(database: Path, folder: Path, tell: Tell = silent) -> Written:
    """Writes a kitchen into a new or empty folder, and builds it again beside it to see that nothing is lost.

    Raises:
        NotDumped: the folder holds something; or what was built again differs, which is told table by table.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise NotDumped(f"{folder} is not empty; name a new folder")
    unfinished = folder.with_name(folder.name + UNFINISHED)
    shutil.rmtree(unfinished, ignore_errors=True)
    try:
        unfinished.mkdir(parents=True)
        written = write_out(database, unfinished, tell)
        tell("building it again, to see that nothing is lost")
        prove(database, unfinished)
        if folder.exists():
            folder.rmdir()
        unfinished.rename(folder)
    except OSError as error:
        raise NotDumped(f"{folder} can't be written: {error.strerror or error}") from error
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return written


def write_out(database: Path, folder: Path, tell: Tell = silent) -> Written:
    """The files, from what the database holds at one moment."""
    uri = f"file:{quote(str(database.absolute()))}?mode=ro"
    with closing(sqlite3.connect(uri, uri=True, timeout=10, isolation_level=None)) as connection:
        connection.row_factory = sqlite3.Row
        connection.execute("begin")
        house = House(connection)
        (folder / "kitchen.yaml").write_text(dump_stock.settings(house), "utf-8")
        files = 1 + dump_book.write_recipes(house, folder / "recipes")
        for name, rows_of in (dump_stock.TABLES | dump_book.TABLES).items():
            columns = BY_NAME[name].columns
            path = folder / f"{name.replace(' ', '_')}.csv"
            write_used(path, [c.name for c in columns], dump_stock.required(columns), rows_of(house))
            files += path.exists()
        files += dump_stock.write_price_lists(house, folder / "price_lists")
        tell("writing the logs")
        log_files, log_rows = write_logs(house, folder)
        files += write_photos(connection, folder / "recipes")
    return Written(files + log_files, log_rows)


def write_photos(connection: sqlite3.Connection, folder: Path) -> int:
    """The recipes' pictures, as small as they are kept; how many."""
    rows = connection.execute("select r.photo, p.picture from photos as p join recipes as r on r.id = p.recipe_id")
    count = 0
    for name, picture in rows:
        (folder / name).write_bytes(picture)
        count += 1
    return count


def prove(database: Path, folder: Path) -> None:
    """Builds the files into a database of their own and compares it with the kitchen's, table by table.

    Raises:
        NotDumped: they are refused, or make another kitchen.
    """
    with tempfile.TemporaryDirectory(prefix="stillroom-") as place:
        again = Path(place) / "again.db"
        result = build(folder, again)
        if result.errors:
            wrong = [p for p in result.problems if p.severity == "error"]
            raise NotDumped(f"what was written could not be built again:\n{report(wrong[:20])}")
        found = differences(database, again)
    if found:
        raise NotDumped("what was built again differs:\n" + "\n".join(f"  {line}" for line in found[:20]))
