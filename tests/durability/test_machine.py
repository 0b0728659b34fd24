"""What a machine can do to a kitchen: a full disk, a file that may not be written, a damaged page, a clock set back."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from stillroom.loaders.backup import BackupFailed, backup
from stillroom.loaders.build import build
from stillroom.loaders.cli import main
from stillroom.loaders.nightly import Nightly

from tests.durability.rights import given_up

MINI = Path(__file__).parents[1] / "data" / "mini"
FORM = {"core": "131", "core-unit": "F", "note": "the second tray"}


def entries(database: Path) -> set[str]:
    """Requests of the entries that a file holds; it is whole."""
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("pragma integrity_check").fetchone()[0] == "ok"
        rows = connection.execute("select request_id from probe_readings where origin = 'web'").fetchall()
    return {request.removeprefix("log-") for (request,) in rows}


def test_a_full_disk_is_said_and_loses_nothing(kitchen: Path, serve: Callable[..., Any], client: Any) -> None:
    """The file may not grow past a limit: entries until then are there, the next comes back with its form filled."""
    _, port = serve(kitchen, largest=kitchen.stat().st_size + 150_000)
    link, told, answer = client(port), set[str](), ""
    for number in range(2000):
        request = f"full-disk-{number:05}"
        status, answer = link.post("/log/probe", {**FORM, "request": request})
        if status != 303:
            break
        told.add(request)
    assert status == 503 and "The disk " in answer and "Nothing was written" in answer
    assert "the second tray" in answer and f'name="request" value="{request}"' in answer
    assert link.get("/guest.json?avoid=milk")[0] == 200, "reading goes on"
    assert len(told) > 3 and entries(kitchen) == told


def test_a_load_onto_a_full_disk_changes_nothing(kitchen: Path, forks: Any, tmp_path: Path) -> None:
    """The words say why; the kitchen is as it was."""
    before = kitchen.read_bytes()
    lines = "\n".join(f"2026-11-24,butter,{n} g" for n in range(5000))
    folder = tmp_path / "more"
    shutil.copytree(MINI, folder)
    (folder / "counts.csv").write_text(f"counted on,of,on hand\n{lines}\n")
    child = forks.start("build", str(folder), "--db", str(kitchen), largest=kitchen.stat().st_size + 20_000)
    forks.join(child)
    said = forks.log.read_text()
    assert "The disk " in said and "Nothing was changed" in said and "Traceback" not in said, said[-1500:]
    with closing(sqlite3.connect(kitchen)) as connection:
        assert connection.execute("pragma integrity_check").fetchone()[0] == "ok"
        assert connection.execute("select count(*) from counts").fetchone()[0] < 100
    assert kitchen.read_bytes()[4096:] == before[4096:]


@contextmanager
def unwritable(path: Path) -> Iterator[None]:
    """A file that may not be changed, by root neither where root runs the tests."""
    path.chmod(0o444)
    with given_up():
        with pytest.raises(PermissionError):
            path.open("r+b").close()
        yield
    path.chmod(0o644)


def test_a_file_that_may_not_be_written_is_said(
    kitchen: Path, serve: Callable[..., Any], client: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """A form comes back filled, a load says so and ends with 2; once the file may be written the same form is."""
    with unwritable(kitchen):
        _, port = serve(kitchen, plain=True)
        status, answer = client(port).post("/log/probe", {**FORM, "request": "read-only-1"})
        assert status == 503 and "may not be written to" in answer and "the second tray" in answer
        assert main(["build", str(MINI), "--db", str(kitchen)]) == 2
        said = capsys.readouterr().err
        assert str(kitchen) in said and "may not be written to" in said
    _, port = serve(kitchen)
    assert client(port).post("/log/probe", {**FORM, "request": "read-only-1"})[0] == 303
    assert entries(kitchen) == {"read-only-1"}


def test_a_damaged_page_is_said_and_not_backed_up_over(
    kitchen: Path, serve: Callable[..., Any], client: Any, tmp_path: Path
) -> None:
    """Pages in the middle overwritten: the form is kept, the page says to restore; the good backup stays the last."""
    good = backup(kitchen, tmp_path / "safe")
    with closing(sqlite3.connect(kitchen)) as connection:
        (root,) = connection.execute("select rootpage from sqlite_master where name = 'probe_readings'").fetchone()
        connection.execute("pragma wal_checkpoint(truncate)")
    with kitchen.open("r+b") as file:
        file.seek((root - 1) * 4096)
        file.write(b"\xa5" * 4096)
    _, port = serve(kitchen)
    status, answer = client(port).post("/log/probe", {**FORM, "request": "damaged-001"})
    assert status == 503 and "is damaged" in answer and "stillroom restore BACKUP.db" in answer, (status, answer[:300])
    with pytest.raises(BackupFailed):
        backup(kitchen, tmp_path / "safe")
    assert [p.name for p in (tmp_path / "safe").glob("*.db")] == [good.path.name]


def test_a_clock_set_back_loses_nothing(kitchen: Path, tmp_path: Path) -> None:
    """Entries keep their order by number; the night's backup is made all the same, and the newest copies stay."""
    ahead = datetime.now(UTC) + timedelta(days=400)
    backup(kitchen, tmp_path / "safe", now=ahead)
    nightly = Nightly(kitchen, tmp_path / "safe", keep=3)
    with closing(sqlite3.connect(kitchen)) as connection:
        connection.execute("update loads set loaded_at = '2020-01-01T00:00:00Z'")
        connection.commit()
    assert nightly.look(datetime.now(UTC)), "a backup of next year is not this night's"
    assert not nightly.look(datetime.now(UTC))
    assert len(list((tmp_path / "safe").glob("*.db"))) == 2
    assert build(MINI, kitchen).errors == 0


def test_two_servers_of_one_kitchen_write_side_by_side(kitchen: Path, serve: Callable[..., Any], client: Any) -> None:
    """A second server by mistake, or on another port: entries through either are there."""
    ports = [serve(kitchen)[1] for _ in range(2)]
    for number in range(20):
        assert client(ports[number % 2]).probe(f"two-servers-{number:03}")
    assert len(entries(kitchen)) == 20


def test_restore_is_refused_while_a_server_runs(
    kitchen: Path, serve: Callable[..., Any], forks: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And goes through once the server is killed, however it ended."""
    copy = backup(kitchen, tmp_path / "safe").path
    server, _ = serve(kitchen)
    assert main(["restore", str(copy), "--db", str(kitchen)]) == 2
    assert re.search("being served or loaded; end that first", capsys.readouterr().err)
    forks.kill(server)
    assert main(["restore", str(copy), "--db", str(kitchen)]) == 0
