"""What each command does: progress and problems to stderr, the outcome to stdout."""

from __future__ import annotations

import argparse
import gc
import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from stillroom.db.accounts import secret_of
from stillroom.db.migrate import NotAKitchen, bring_up
from stillroom.db.problems import Problem, as_json, report
from stillroom.loaders import build as loader
from stillroom.loaders import keep_commands
from stillroom.loaders.backup import keep_before
from stillroom.loaders.hold import Held, held
from stillroom.loaders.listening import NoPort, listening, seen_as
from stillroom.loaders.nightly import Nightly
from stillroom.loaders.read import Load

SETTINGS = {
    "suggest_facets": False,  # the one setting that costs a second on a long log
    "num_sql_threads": 3,
    "default_page_size": 50,
    "allow_download": False,
    "max_csv_mb": 100,
    "sql_time_limit_ms": 1000,
}
WANTS_TLS = (
    "It answers other machines without TLS: whoever is on the same network can read along and take over what is signed"
    " in.\nIt wants TLS: --cert and --key, or a proxy in front. README, \"People\", says how."
)


class Progress:
    """Says what is going on once the work has taken two seconds."""

    def __init__(self) -> None:
        self.begun = time.monotonic()

    def __call__(self, what: str) -> None:
        if time.monotonic() - self.begun > 2:
            print(f"  {what} ...", file=sys.stderr, flush=True)


def build(arguments: argparse.Namespace) -> int:
    """Builds the database; 1 where the source has mistakes."""
    begun, is_new = time.monotonic(), not arguments.db.exists()
    try:
        result = loader.build(arguments.source, arguments.db, Progress())
    except (NotAKitchen, Held, NoPort) as error:
        print(f"stillroom: {error}", file=sys.stderr)
        return 2
    _tell(result.problems, arguments.format)
    if result.errors:
        print(f"{_mistakes(result.errors)}; nothing was written", file=sys.stderr)
        return 1
    print(f"{arguments.db}: {result.rows:,} rows in {time.monotonic() - begun:.1f} s")
    if result.changed_dishes:
        dishes = "dish" if result.changed_dishes == 1 else "dishes"
        print(f"Allergens changed on {result.changed_dishes} {dishes}: see the first page")
    if is_new:
        print(f"Look at it: stillroom serve --db {arguments.db}")
    return 0


def check(arguments: argparse.Namespace) -> int:
    """Tells what is wrong; writes nothing."""
    load = loader.check(arguments.source, Progress())
    _tell(load.problems, arguments.format)
    if arguments.verbose:
        print("\n".join(understood(load)), file=sys.stderr)
    errors = sum(p.severity == "error" for p in load.problems)
    if arguments.format == "text":
        good = f"nothing wrong. Put it in: stillroom build {arguments.source}"
        print(f"{arguments.source}: {_mistakes(errors) if errors else good}")
    return 1 if errors else 0


def _mistakes(count: int) -> str:
    return f"{count:,} mistake{'' if count == 1 else 's'}"


def blank(arguments: argparse.Namespace) -> int:
    """Writes an empty kitchen."""
    from stillroom.loaders import blank as writer

    target = arguments.workbook or arguments.folder
    if target.exists() and (arguments.workbook or any(target.iterdir())):
        print(f"stillroom: {target} is there already; nothing was written", file=sys.stderr)
        return 2
    (writer.write_workbook if arguments.workbook else writer.write_folder)(target)
    print(f"{target}: an empty kitchen. First kitchen.yaml: whose allergen list, which units, money and time zone.")
    print("Then suppliers, items, products and recipes; the rest may stay as it is.")
    print(f"Then: stillroom check {target}")
    return 0


def understood(load: Load) -> Iterator[str]:
    """What was typed and what was made of it: yields, packs, measures and recipe lines in base units."""
    names = {r["id"]: r["name"] for table in ("items", "recipes") for r in load.rows.get(table, ())}
    for r in load.rows.get("recipes", ()):
        yield f"{r['name']}: yield {r['yield_text']} = {r['yield_quantity']} {r['yield_unit']}"
    units = {r["id"]: r["unit"] for r in load.rows.get("items", ())}
    for r in load.rows.get("products", ()):
        holds = (
            f"{r['pack_quantity']} {units[r['item_id']]}" if r["pack_quantity"] else "not known before it is weighed"
        )
        yield f"{r['name']}: pack {r['pack'] or 'not said'} = {holds}"
    for r in load.rows.get("item_measures", ()):
        yield f"{names.get(r['item_id'], r['item_id'])}: 1 {r['measure']} = {r['quantity']} {units[r['item_id']]}"
    for r in load.rows.get("components", ()):
        used = names.get(r["item_id"] or r["sub_recipe_id"], "")
        yield f"{names[r['recipe_id']]}: {r['line']} = {r['quantity']} {r['unit']} {used}"


def serve(arguments: argparse.Namespace) -> int:
    """Serves the kitchen; the demonstration is built first where there is no database."""
    if not arguments.db.exists() and not _build_demo(arguments.db):
        return 1
    try:
        with held(arguments.db):
            bring_up(arguments.db, keep_before)
            return _answer(arguments)
    except (NotAKitchen, Held, NoPort) as error:
        print(f"stillroom: {error}", file=sys.stderr)
        return 2


def _answer(arguments: argparse.Namespace) -> int:
    """Answers until it is told to end; the night's backup is made beside it."""
    # Small sums on many requests at once: threads of the linear algebra would only wait for each other.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    import uvicorn

    is_open = arguments.host not in {"127.0.0.1", "::1", "localhost"}
    kitchen = application(arguments.db, arguments.name, is_open=is_open)
    nightly = Nightly(arguments.db, arguments.backups or arguments.db.parent / "backups", arguments.keep)
    scheme = "http" if arguments.cert is None else "https"
    with listening(arguments.host, arguments.port) as door:
        address = f"{scheme}://{seen_as(arguments.host)}:{arguments.port}/"
        print(f"stillroom answers at {address}  (Ctrl-C ends it)", flush=True)
        if is_open and arguments.cert is None:
            print(WANTS_TLS, flush=True)
        nightly.start()
        gc.freeze()  # what is there for good is not looked through again: that held single requests up for 40 ms
        config = uvicorn.Config(
            kitchen.app(), log_level="warning", access_log=False, lifespan="on",
            proxy_headers=bool(arguments.proxy), forwarded_allow_ips=arguments.proxy or None, server_header=False,
            ssl_certfile=arguments.cert, ssl_keyfile=arguments.key,
        )  # fmt: skip
        server = uvicorn.Server(config)
        with suppress(KeyboardInterrupt):
            server.run(sockets=[door])
        nightly.end()
    return 0 if server.started else 1


def backup(arguments: argparse.Namespace) -> int:
    """Makes a checked copy of the database."""
    return keep_commands.backup(arguments, Progress())


def restore(arguments: argparse.Namespace) -> int:
    """Puts a copy in the database's place."""
    return keep_commands.restore(arguments, Progress())


def dump(arguments: argparse.Namespace) -> int:
    """Writes the kitchen out as files."""
    return keep_commands.dump(arguments, Progress())


def application(database: Path, names: Sequence[str] = (), *, is_open: bool = False) -> Any:
    """Datasette on a kitchen's file, under the name `kitchen` whatever the file is called.

    Args:
        names: under which it is opened from other machines.
        is_open: it listens to other machines by itself.
    """
    import yaml
    from datasette.app import Datasette
    from datasette.database import Database

    metadata = yaml.safe_load(files("stillroom.db").joinpath("metadata.yaml").read_text("utf-8"))
    metadata["plugins"] = {"stillroom": {"names": [name.lower() for name in names], "is_open": is_open}}
    datasette = Datasette([], settings=SETTINGS, metadata=metadata, secret=secret_of(database))
    datasette.add_database(Database(datasette, path=str(database), is_mutable=True), name="kitchen")
    return datasette


def _build_demo(database: Path) -> bool:
    print(f"{database} is not there yet: building the demonstration kitchen, The Staithe, in its place. Your own:"
          f" stillroom build YOUR-KITCHEN --db {database}", flush=True)  # fmt: skip
    with as_file(files("stillroom.db").joinpath("demo")) as folder:
        result = loader.build(folder, database, Progress())
    _tell(result.problems, "text")
    return not result.errors


def _tell(problems: list[Problem], how: str) -> None:
    if how == "json":
        print(as_json(problems))
    elif problems:
        print(report(problems), file=sys.stderr)
