"""Backup and restore: whole or not at all, checked, beside writers; the night's own; who may be at the file."""

from __future__ import annotations

import hashlib
import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from stillroom.db import accounts, log
from stillroom.db.build import VERSION
from stillroom.db.connect import open_kitchen, transaction
from stillroom.db.migrate import NotAKitchen, version_of
from stillroom.loaders import backup as copier
from stillroom.loaders.backup import BackupFailed, backup, beside, copies, problem_of, row_counts
from stillroom.loaders.build import build
from stillroom.loaders.cli import main
from stillroom.loaders.hold import Held, held, lock_of
from stillroom.loaders.nightly import Nightly, is_due, last_turn
from stillroom.loaders.restore import NotRestored, restore

MINI = Path(__file__).parents[1] / "data" / "mini"
OLD = (Path(__file__).parents[1] / "data" / "schema_1.sql").read_text("utf-8")
NIGHT = datetime(2026, 11, 25, 4, 0, 0, tzinfo=UTC)
SAID = {"day starts": "04:00", "time zone": "UTC"}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small kitchen, built once."""
    path = tmp_path_factory.mktemp("built") / "k.db"
    assert build(MINI, path).errors == 0
    return path


@pytest.fixture
def kitchen(tmp_path: Path, built: Path) -> Path:
    """The small kitchen's database."""
    return Path(shutil.copy(built, tmp_path / "k.db"))


def note(database: Path, request: str) -> None:
    """One entry as a cook writes it on the web."""
    row = {"request_id": request, "actor": "Marit", "origin": "web", "item_id": "butter", "counted_on": "2026-11-24",
           "quantity": "500", "unit": "g"}  # fmt: skip
    with closing(open_kitchen(database)) as connection, transaction(connection):
        log.append(connection, "counts", row)


def notes(database: Path) -> set[str]:
    """Requests of the entries that a file holds."""
    with closing(sqlite3.connect(database)) as connection:
        return {r for (r,) in connection.execute("select request_id from counts where origin = 'web'")}


def tried(database: Path) -> list[tuple[str, str]]:
    """What the table `backups` tells."""
    with closing(sqlite3.connect(database)) as connection:
        return connection.execute("select path, problem from backups order by id").fetchall()


def test_a_copy_is_the_file_at_one_moment(kitchen: Path, tmp_path: Path) -> None:
    """Same rows in every table, nothing beside it, its SHA-256 as sha256sum writes it, and told in the kitchen."""
    note(kitchen, "r1")
    copy = backup(kitchen, tmp_path / "safe")
    with closing(sqlite3.connect(kitchen)) as one, closing(sqlite3.connect(copy.path)) as other:
        had = row_counts(one) | {"backups": 0}
        assert {k: v for k, v in row_counts(other).items() if k != "sqlite_sequence"} == had
        assert other.execute("pragma journal_mode").fetchone() == ("delete",)
    digest = hashlib.sha256(copy.path.read_bytes()).hexdigest()
    assert beside(copy.path).read_text() == f"{digest}  {copy.path.name}\n"
    assert tried(kitchen) == [(str(copy.path), "")]
    assert sorted(p.name for p in copy.path.parent.iterdir()) == [copy.path.name, beside(copy.path).name]


def test_writers_neither_wait_nor_disturb(kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Entries written between two steps of the copy are not in it, and are in the kitchen."""
    monkeypatch.setattr(copier, "PAGES", 20)
    during: list[str] = []

    def tell(what: str) -> None:
        if what.startswith("copied"):
            during.append(f"during-{len(during)}")
            note(kitchen, during[-1])

    note(kitchen, "before")
    copy = backup(kitchen, tmp_path / "safe", tell=tell)
    assert len(during) > 3
    assert notes(copy.path) == {"before"}
    assert notes(kitchen) == {"before", *during}


def test_only_the_newest_copies_stay(kitchen: Path, tmp_path: Path) -> None:
    """`--keep` removes this kitchen's own oldest, with their hashes, and nothing else in the folder."""
    folder = tmp_path / "safe"
    folder.mkdir()
    strangers = [folder / "k-notes.db", folder / "other-2020-01-01T00-00-00Z.db"]
    for stranger in strangers:
        stranger.write_text("mine")
    for day in range(5):
        backup(kitchen, folder, keep=2, now=NIGHT + timedelta(days=day))
    assert [p.name for p in copies(kitchen, folder)] == ["k-2026-11-28T04-00-00Z.db", "k-2026-11-29T04-00-00Z.db"]
    assert all(stranger.exists() for stranger in strangers)
    assert len(list(folder.iterdir())) == 6


@pytest.mark.parametrize("wrong", ["row", "page"])
def test_a_copy_that_is_not_whole_does_not_stay(
    wrong: str, kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row lost or a page overwritten on the way is found; the failure is told in the kitchen."""
    honest = copier.problem_of

    def spoil(path: Path, counts: dict[str, int] | None = None) -> str:
        if wrong == "row":
            with closing(sqlite3.connect(path, isolation_level=None)) as connection:
                connection.execute("delete from stations where id = (select max(id) from stations)")
        else:
            damage(path)
        return honest(path, counts)

    monkeypatch.setattr(copier, "problem_of", spoil)
    with pytest.raises(BackupFailed, match="is not whole"):
        backup(kitchen, tmp_path / "safe")
    assert list((tmp_path / "safe").iterdir()) == []
    assert "is not whole" in tried(kitchen)[0][1]


def damage(path: Path) -> None:
    """Overwrites the middle third of a file's pages but the first."""
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(max(4096, size // 3))
        file.write(b"\xa5" * (size // 3))


def test_a_damaged_kitchen_is_told_and_not_copied(kitchen: Path, tmp_path: Path) -> None:
    """The words name the damage; no file appears that looks like a backup."""
    with closing(open_kitchen(kitchen)) as connection:
        connection.execute("pragma wal_checkpoint(truncate)")
    damage(kitchen)
    with pytest.raises(BackupFailed, match=r"not whole|malformed") as told:
        backup(kitchen, tmp_path / "safe")
    assert f"stillroom restore BACKUP.db --db {kitchen}" in str(told.value)
    assert list((tmp_path / "safe").iterdir()) == []


@pytest.mark.parametrize("words", [["serve"], ["build", str(MINI)], ["backup", "--to", "safe"], ["dump", "files"]])
def test_whoever_starts_on_a_damaged_file_is_told_what_to_type(
    kitchen: Path, words: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The night's backup beside it is named; typed as it stands, it brings the kitchen back."""
    monkeypatch.chdir(kitchen.parent)
    night = backup(kitchen, kitchen.parent / "backups", now=NIGHT).path
    kitchen.write_bytes(b"\xa5" * 50_000)
    assert main([*words, "--db", str(kitchen)]) == 2
    said = capsys.readouterr().err
    line = f"restore {night} --db {kitchen}"
    assert f"stillroom {line}" in said, said
    assert main(line.split()) == 0 and problem_of(kitchen) == ""


def test_a_folder_that_cannot_be_made(kitchen: Path, tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "safe").write_text("not a folder")
    with pytest.raises(BackupFailed, match=r"no backup was made in .*: "):
        backup(kitchen, tmp_path / "safe")
    assert len(tried(kitchen)) == 1


def test_a_full_disk_leaves_no_copy(kitchen: Path, tmp_path: Path) -> None:
    """Half a copy is removed; the exit code is 1 and the words say why."""

    def small() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))

    command = [sys.executable, "-m", "stillroom.loaders.cli", "backup", "--db", str(kitchen), "--to"]
    command.append(str(tmp_path / "s"))
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=small, check=False)
    assert done.returncode == 1
    assert "no backup was made" in done.stderr and "full" in done.stderr, done.stderr
    assert list((tmp_path / "s").iterdir()) == []
    assert problem_of(kitchen) == ""


def test_restore_brings_back_and_keeps_the_old(kitchen: Path, tmp_path: Path) -> None:
    """What was written since is in the file set aside, which is a kitchen's file as before."""
    note(kitchen, "before")
    copy = backup(kitchen, tmp_path / "safe")
    note(kitchen, "after")
    done = restore(copy.path, kitchen)
    assert notes(kitchen) == {"before"}
    assert done.kept is not None and notes(done.kept) == {"before", "after"}
    assert done.has_hash and version_of(kitchen) == VERSION
    note(kitchen, "on it goes")


def test_restore_where_nothing_stands(kitchen: Path, tmp_path: Path) -> None:
    """A new machine: the file is made, and a copy without a hash beside it is said to have none."""
    copy = backup(kitchen, tmp_path / "safe")
    beside(copy.path).unlink()
    done = restore(copy.path, tmp_path / "new" / "kitchen.db")
    assert done.kept is None and not done.has_hash
    assert problem_of(tmp_path / "new" / "kitchen.db") == ""


def test_restore_replaces_a_damaged_file(kitchen: Path, tmp_path: Path) -> None:
    """The file that needs it most can't be opened; it is kept byte for byte."""
    copy = backup(kitchen, tmp_path / "safe")
    kitchen.write_bytes(b"\xa5" * 50_000)
    done = restore(copy.path, kitchen)
    assert problem_of(kitchen) == ""
    assert done.kept is not None and done.kept.read_bytes() == b"\xa5" * 50_000


def test_accounts_go_with_the_copy(kitchen: Path, tmp_path: Path) -> None:
    """For their owner's eyes alone; brought back on a new machine, and left alone where there are any."""
    with accounts.opened(accounts.beside(kitchen)) as connection:
        accounts.add(connection, "Åse", "manager", pin="", password="correct horse battery", actor="test")
    copy = backup(kitchen, tmp_path / "safe", keep=1, now=NIGHT).path
    kept = accounts.beside(copy)
    assert kept.stat().st_mode & 0o777 == 0o600 and accounts.exists(copy)
    assert restore(copy, tmp_path / "new" / "k.db").has_accounts
    assert accounts.exists(tmp_path / "new" / "k.db")
    before = accounts.beside(kitchen).read_bytes()
    assert not restore(copy, kitchen).has_accounts
    assert accounts.beside(kitchen).read_bytes() == before
    backup(kitchen, tmp_path / "safe", keep=1, now=NIGHT + timedelta(days=1))
    assert not kept.exists() and len(list((tmp_path / "safe").iterdir())) == 3


@pytest.mark.parametrize("what", ["byte", "cut", "other", "newer", "text", "none"])
def test_restore_trusts_nothing(what: str, kitchen: Path, tmp_path: Path) -> None:
    """A copy that is not whole, or not a kitchen's, replaces nothing."""
    note(kitchen, "here")
    copy = backup(kitchen, tmp_path / "safe").path
    spoil_copy(copy, what)
    with pytest.raises((NotRestored, NotAKitchen)) as told:
        restore(copy, kitchen)
    assert "BACKUP.db" not in str(told.value)  # what to type over a damaged kitchen would be typed over the copy
    assert what not in {"text", "cut"} or "Take another one" in str(told.value)
    assert notes(kitchen) == {"here"}
    assert [p.name for p in tmp_path.glob("*before*")] == []


def spoil_copy(copy: Path, what: str) -> None:
    """Makes a copy into what must not be restored."""
    if what == "byte":
        spoilt = bytearray(copy.read_bytes())
        spoilt[len(spoilt) // 2] ^= 1
        copy.write_bytes(spoilt)
        return
    beside(copy).unlink()
    if what == "cut":
        os.truncate(copy, copy.stat().st_size // 2)
    elif what == "text":
        copy.write_text("leeks, butter\n" * 500)
    elif what == "none":
        copy.unlink()
    else:
        with closing(sqlite3.connect(copy, isolation_level=None)) as connection:
            connection.execute("pragma user_version = 99" if what == "newer" else "drop table loads")


def test_restore_waits_for_no_server(kitchen: Path, tmp_path: Path) -> None:
    """While another holds the file, or any program has it open, nothing is replaced; a killed one holds nothing."""
    copy = backup(kitchen, tmp_path / "safe").path
    with held(kitchen), pytest.raises(Held, match="is being served or loaded; end that first"):
        restore(copy, kitchen)
    with closing(sqlite3.connect(kitchen)) as reader:
        reader.execute("select count(*) from items").fetchone()
        with pytest.raises(Held, match="another program has"):
            restore(copy, kitchen)
    code = (
        "import sys; from pathlib import Path; from stillroom.loaders.hold import held\n"
        f"with held(Path({str(kitchen)!r})):\n  print('held', flush=True); sys.stdin.read()"
    )
    server = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert server.stdout is not None and server.stdout.readline() == b"held\n"
    with pytest.raises(Held):
        restore(copy, kitchen)
    server.kill()
    server.wait()
    restore(copy, kitchen)


def test_servers_and_loads_go_together(kitchen: Path) -> None:
    """Two may hold the file at once; during a restore neither may begin."""
    with held(kitchen), held(kitchen):
        assert build(MINI, kitchen).errors == 0
    with held(kitchen, alone=True), pytest.raises(Held, match="is being restored; try again"), held(kitchen):
        pass
    assert lock_of(kitchen).stat().st_size == 0


def test_an_older_file_is_brought_up_by_a_load(tmp_path: Path) -> None:
    """With a checked copy of it beside the file, which still is of the old version."""
    path = tmp_path / "k.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.executescript(OLD)
        connection.execute("pragma user_version = 1")
    assert build(MINI, path).errors == 0
    assert version_of(path) == VERSION
    (kept,) = tmp_path.glob("k-of-version-1-*.db")
    assert version_of(kept) == 1 and problem_of(kept) == ""
    assert restore(kept, path).kept is not None and version_of(path) == 1


def test_the_commands_say_what_they_did(kitchen: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0 and the outcome on standard output; 1 for a copy not to be trusted, 2 for what can't be done."""
    assert main(["backup", "--db", str(kitchen), "--to", str(tmp_path / "s"), "--keep", "3"]) == 0
    (copy,) = (tmp_path / "s").glob("*.db")
    assert main(["restore", str(copy), "--db", str(kitchen)]) == 0
    out, err = capsys.readouterr()
    assert "checked" in out and "SHA-256" in out and "is kept as" in out and "stillroom:" not in err
    assert main(["backup", "--db", str(tmp_path / "none.db")]) == 2
    copy.write_text("x")
    assert main(["restore", str(copy), "--db", str(kitchen)]) == 1
    with held(kitchen):
        shutil.copy(kitchen, tmp_path / "c.db")
        assert main(["restore", str(tmp_path / "c.db"), "--db", str(kitchen)]) == 2
    assert capsys.readouterr().err.count("stillroom: ") == 3


@pytest.mark.parametrize(
    ("now", "zone", "turn"),
    [
        ("2026-11-25T03:59:00Z", "UTC", "2026-11-24T04:00:00Z"),
        ("2026-11-25T04:00:00Z", "UTC", "2026-11-25T04:00:00Z"),
        ("2026-07-01T02:30:00Z", "Europe/London", "2026-06-30T03:00:00Z"),
        ("2026-07-01T03:00:00Z", "Europe/London", "2026-07-01T03:00:00Z"),
        ("2026-10-25T12:00:00Z", "Europe/London", "2026-10-25T04:00:00Z"),  # the clocks went back that night
        ("2026-11-25T08:00:00Z", "America/New_York", "2026-11-24T09:00:00Z"),
    ],
)
def test_the_night_is_the_kitchens(now: str, zone: str, turn: str) -> None:
    """The day turns at `day starts` on the kitchen's own clock, summer time and all."""
    found = last_turn(datetime.fromisoformat(now), {"day starts": "04:00", "time zone": zone})
    assert log.instant(found) == turn


FILLED = "2026-11-20T12:00:00Z"


@pytest.mark.parametrize(
    ("minutes", "first", "tried_before", "due"),
    [
        (1, FILLED, [], True),
        (1, None, [], False),  # an empty kitchen
        (1, "2026-11-25T04:00:30Z", [], False),  # filled since: its first night is still to come
        (1, FILLED, [("2026-11-24T04:00:10Z", True)], True),
        (600, FILLED, [("2026-11-25T04:00:10Z", True)], False),
        (600, FILLED, [("2026-11-25T09:30:00Z", True)], False),  # made by hand since
        (10, FILLED, [("2026-11-25T04:00:10Z", False)], False),  # failed ten minutes ago
        (70, FILLED, [("2026-11-25T04:00:10Z", False)], True),  # again after an hour
        (1, FILLED, [("2027-03-01T04:00:10Z", True)], True),  # made under a clock that has been set back
    ],
)
def test_when_the_nights_backup_is_due(
    minutes: int, first: str | None, tried_before: list[tuple[str, bool]], due: bool
) -> None:
    """Once a night; at once where a night was missed; an hour after a failure."""
    assert is_due(NIGHT + timedelta(minutes=minutes), NIGHT, first, tried_before) is due


def test_a_running_server_makes_the_nights_backup(kitchen: Path, tmp_path: Path) -> None:
    """At the first look after the turn of the day, and once; the oldest beyond `keep` goes."""
    now = datetime.now(UTC)
    nightly = Nightly(kitchen, tmp_path / "b", keep=2)
    assert not nightly.look(now)
    for day in range(1, 4):
        assert nightly.look(now + timedelta(days=day))
        assert not nightly.look(now + timedelta(days=day, minutes=1))
    assert len(copies(kitchen, tmp_path / "b")) == 2


def test_a_night_that_fails_is_told(kitchen: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the kitchen's own table, for the first page, and on standard error; the thread goes on."""
    (tmp_path / "b").write_text("not a folder")
    assert Nightly(kitchen, tmp_path / "b").look(datetime.now(UTC) + timedelta(days=1))
    assert "no backup was made" in capsys.readouterr().err
    assert "no backup was made" in tried(kitchen)[0][1]


def test_looking_ends_with_the_server(kitchen: Path, tmp_path: Path) -> None:
    """The thread stops when it is told, without waiting for its next look."""
    nightly = Nightly(kitchen, tmp_path / "b")
    nightly.start()
    nightly.end()
    assert "nightly backup" not in {thread.name for thread in threading.enumerate()}
