"""The `stillroom` command: arguments and exit codes only. 0 done, 1 mistakes in the source, 2 misuse."""

from __future__ import annotations

import argparse
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path

from stillroom.db import accounts
from stillroom.db.faults import DAMAGED, fault_of, mend
from stillroom.loaders import people
from stillroom.loaders.listening import port_number

DATABASE = Path("var/kitchen.db")
LOOPBACK = ("127.0.0.1", "::1", "localhost")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stillroom", description="What is in every plate, and what happens when something is short."
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, does: str, example: str) -> argparse.ArgumentParser:
        return commands.add_parser(
            name,
            help=does,
            description=does,
            epilog=f"example: {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )

    build = command("build", "Check a kitchen's files and put them into its database.", "stillroom build db/demo")
    build.add_argument("source", type=Path, help="folder or .xlsx workbook")
    check = command(
        "check", "Say everything that is wrong with a kitchen's files; write nothing.", "stillroom check db/demo"
    )
    check.add_argument("source", type=Path, help="folder or .xlsx workbook")
    check.add_argument("-v", "--verbose", action="store_true", help="also say what was made of every quantity")
    for with_problems in (build, check):
        with_problems.add_argument(
            "--format", choices=("text", "json"), default="text", help="how problems are written"
        )
    serve = command(
        "serve",
        "Answer in the browser; builds the demonstration kitchen where there is no database.",
        "stillroom serve --port 8001",
    )
    _answering(serve)
    for with_db in (build, serve):
        _with_db(with_db)
    _keeping(command, serve)
    people.arguments(
        command(
            "people", "Say who may come in and what each may do.", 'stillroom people add "Ann Sedge" --role manager'
        ),
        DATABASE,
    )
    blank = command(
        "blank", "Write an empty kitchen to fill in: headers, notes, one example each.", "stillroom blank my-kitchen"
    )
    blank.add_argument("folder", type=Path, nargs="?", help="new folder")
    blank.add_argument("--workbook", type=Path, help="one .xlsx instead")
    return parser


def _answering(serve: argparse.ArgumentParser) -> None:
    """Where `serve` answers, by which names, and how it is kept from being read on the way."""
    serve.add_argument("--host", default="127.0.0.1", help="loopback only, until people have accounts")
    serve.add_argument("--port", type=port_number, default=8001)
    serve.add_argument("--name", action="append", default=[], help="a name it is opened by; may be repeated")
    serve.add_argument("--proxy", action="append", default=[], help="address of a proxy with TLS; may be repeated")
    serve.add_argument("--cert", type=Path, help="certificate (PEM): answers with TLS itself, no proxy needed")
    serve.add_argument("--key", type=Path, help="the certificate's key (PEM)")


def _with_db(command: argparse.ArgumentParser) -> None:
    command.add_argument("--db", type=Path, default=DATABASE, help=f"the database (default {DATABASE})")


def _keeping(command: Callable[[str, str, str], argparse.ArgumentParser], serve: argparse.ArgumentParser) -> None:
    """The commands that keep a kitchen's file, and what `serve` does of it by itself."""
    where = "folder of the copies (default: backups, beside the database)"
    serve.add_argument("--backups", type=Path, help=f"nightly backups: {where}")
    serve.add_argument("--keep", type=_count, default=14, help="how many nightly backups stay; 0: all (default 14)")
    backup = command("backup", "Make a checked copy of the database, also while it is served.", "stillroom backup")
    backup.add_argument("--to", type=Path, help=where)
    backup.add_argument("--keep", type=_count, default=0, help="how many copies stay; 0: all (default)")
    restore = command(
        "restore",
        "Put a copy in the database's place; the old file is kept. The server must be stopped.",
        "stillroom restore var/backups/kitchen-2026-11-25T04-00-00Z.db",
    )
    restore.add_argument("file", type=Path, help="the copy")
    dump = command(
        "dump",
        "Write the kitchen out as files that build makes it from again, logs and all.",
        "stillroom dump my-kitchen-files",
    )
    dump.add_argument("folder", type=Path, help="new or empty folder")
    for with_db in (backup, restore, dump):
        _with_db(with_db)


def _is_shown(arguments: argparse.Namespace) -> bool:
    """Whether `serve` is told to answer other machines, itself or through a proxy."""
    return arguments.host not in LOOPBACK or bool(arguments.name or arguments.proxy)


def _tls_problem(arguments: argparse.Namespace) -> str:
    """What is wrong with the certificate that `serve` is given; '' where nothing is."""
    if (arguments.cert is None) != (arguments.key is None):
        return "a certificate and its key go together: --cert FILE --key FILE"
    missing = [str(path) for path in (arguments.cert, arguments.key) if path is not None and not path.is_file()]
    return f"there is no file {' and '.join(missing)}" if missing else ""


def _count(text: str) -> int:
    """A whole number, zero or more."""
    if not (text.isascii() and text.isdigit()):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number")
    return int(text)


def main(argv: list[str] | None = None) -> int:
    """Runs one command; returns the exit code."""
    arguments = _parser().parse_args(argv)
    if arguments.command == "serve" and _is_shown(arguments) and not accounts.exists(arguments.db):
        print(
            f"stillroom: will not listen on {' '.join([arguments.host, *arguments.name])}: nobody has an account yet,"
            " so everyone there could read everything.\n  Allowed: 127.0.0.1, ::1, localhost.\n"
            "  The first account: stillroom people add NAME --role manager",
            file=sys.stderr,
        )
        return 2
    if arguments.command == "serve" and (problem := _tls_problem(arguments)):
        print(f"stillroom: {problem}", file=sys.stderr)
        return 2
    if arguments.command == "blank" and (arguments.folder is None) == (arguments.workbook is None):
        print("stillroom: blank takes a folder, or --workbook FILE.xlsx", file=sys.stderr)
        return 2
    from stillroom.loaders import commands

    run = {
        "build": commands.build, "check": commands.check, "serve": commands.serve, "blank": commands.blank,
        "backup": commands.backup, "restore": commands.restore, "dump": commands.dump, "people": people.run,
    }  # fmt: skip
    try:
        return run[arguments.command](arguments)
    except (sqlite3.DatabaseError, OSError) as error:
        fault = fault_of(error)
        if fault is None:
            raise
        database = getattr(arguments, "db", None)
        where = database or getattr(error, "filename", None) or "stillroom"
        do = f"Put the last backup in its place: {mend(database)}" if fault is DAMAGED and database else fault.do
        print(f"stillroom: {where}: {fault.what} Nothing was changed. {do}", file=sys.stderr)
        return 2


if __name__ == "__main__":
    raise SystemExit(main())
