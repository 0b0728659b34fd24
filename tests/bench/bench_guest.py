"""/guest at eight connections against a bare Starlette application that does the same queries, in the same run.

The first floor draws the same page from the same answer with plain Jinja at every request; the second sends bytes that
lie ready. stillroom is asked one question again and again, then 2,700 in turn, more than it keeps answers.
"""

from __future__ import annotations

import asyncio
import sqlite3
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from itertools import combinations, cycle
from pathlib import Path
from typing import Any

CONNECTIONS, SECONDS, WARM_SECONDS = 8, 4.0, 1.0
QUESTION = "/guest?avoid=milk&avoid=walnut"
DEMO = Path(__file__).parents[2] / "db" / "demo"
ALLERGENS = "select id from allergens order by position"


def main() -> None:
    """Both servers on loopback, one after the other: rates [requests/s], p95 [ms] and ratios."""
    from stillroom.loaders.build import build

    from tests.bench.serving import kitchen, server  # here: this file is also run by its path, as the other server

    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "kitchen.db"
        assert build(DEMO, database).errors == 0
        ids = [i for (i,) in sqlite3.connect(database).execute(ALLERGENS)]
        new = [f"/guest?avoid={a}&avoid={b}" for a, b in combinations(ids, 2)]
        with kitchen(database) as (port, _):
            page, p95 = measured(port, [QUESTION])
            data, data_p95 = measured(port, [QUESTION.replace("guest", "guest.json")])
            fresh, fresh_p95 = measured(port, new)
        with server([__file__, str(database)], "/ready") as (port, _):
            drawn, drawn_p95 = measured(port, ["/drawn"])
            ready, ready_p95 = measured(port, ["/ready"])
    print(f"/guest                  {page:6.0f} requests/s, p95 {p95:5.1f} ms")
    print(f"/guest.json             {data:6.0f} requests/s, p95 {data_p95:5.1f} ms")
    print(f"/guest, never asked yet {fresh:6.0f} requests/s, p95 {fresh_p95:5.1f} ms")
    print(f"Starlette, page drawn   {drawn:6.0f} requests/s, p95 {drawn_p95:5.1f} ms; ratio {page / drawn:.2f}")
    print(f"Starlette, bytes ready  {ready:6.0f} requests/s, p95 {ready_p95:5.1f} ms; ratio {page / ready:.2f}")


def measured(port: int, paths: list[str]) -> tuple[float, float]:
    """Requests per second and the 95th percentile of their times [ms], after a short warming up on the same paths."""
    asking = cycle(paths)
    asyncio.run(_load(port, asking, WARM_SECONDS))
    began = time.perf_counter()
    times = sorted(asyncio.run(_load(port, asking, SECONDS)))
    return len(times) / (time.perf_counter() - began), times[int(len(times) * 0.95)] * 1000


async def _load(port: int, paths: Iterator[str], seconds: float) -> list[float]:
    ends = time.perf_counter() + seconds
    found = await asyncio.gather(*(_connection(port, paths, ends) for _ in range(CONNECTIONS)))
    return [took for times in found for took in times]


async def _connection(port: int, paths: Iterator[str], ends: float) -> list[float]:
    """One connection kept open, one request after the other."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    times = []
    while (began := time.perf_counter()) < ends:
        writer.write(f"GET {next(paths)} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
        head = await reader.readuntil(b"\r\n\r\n")
        assert head.startswith(b"HTTP/1.1 200"), head
        await _body(reader, head.lower())
        times.append(time.perf_counter() - began)
    writer.close()
    return times


async def _body(reader: asyncio.StreamReader, head: bytes) -> None:
    """Reads the rest of an answer, of a length said beforehand or in chunks."""
    if b"content-length:" in head:
        await reader.readexactly(int(head.split(b"content-length:")[1].split(b"\r\n")[0]))
        return
    while size := int(await reader.readline(), 16):
        await reader.readexactly(size + 2)
    await reader.readline()


def bare(database: str, port: int) -> None:
    """The floors: the page's own queries on a thread, and the least that can be done with their rows."""
    import uvicorn
    from jinja2 import Environment, FileSystemLoader
    from markupsafe import Markup
    from starlette.applications import Starlette
    from starlette.concurrency import run_in_threadpool
    from starlette.responses import HTMLResponse
    from starlette.routing import Route
    from stillroom.db import allergen_kitchen as rows
    from stillroom.plugins.allergens import pages
    from stillroom.plugins.allergens.draw import together
    from stillroom.plugins.core.format import day
    from stillroom.plugins.core.rail import rail

    plugins = Path(pages.__file__).parents[1]
    folders = [plugins / "allergens" / "templates", plugins / "core" / "templates"]
    environment = Environment(loader=FileSystemLoader(folders), autoescape=True)
    environment.filters |= {"spoken_day": day, "together": together}
    page, body = (environment.get_template(f"allergens/{name}.html") for name in ("guest", "guest_body"))
    frame = {"rail": rail("manager", "/guest"), "is_household": True}
    own = threading.local()

    def queries() -> tuple[rows.Kitchen, list[Any]]:
        if not hasattr(own, "connection"):
            own.connection = sqlite3.connect(f"file:{database}?mode=ro", uri=True)
        return rows.kitchen(own.connection), pages.ask(own.connection, "short")

    here, short = queries()
    guest = pages._guest(here, ["milk", "walnut"], short)
    text = page.render(answer=guest, **frame)

    async def drawn(_request: Any) -> HTMLResponse:
        await run_in_threadpool(queries)
        answer = {"body": Markup(body.render(answer=guest)), "behind": guest.behind}
        return HTMLResponse(page.render(answer=answer, **frame))

    async def ready(_request: Any) -> HTMLResponse:
        await run_in_threadpool(queries)
        return HTMLResponse(text)

    routes = [Route("/drawn", drawn), Route("/ready", ready), Route("/guest", ready)]
    uvicorn.run(Starlette(routes=routes), port=port, log_level="warning", access_log=False)


if __name__ == "__main__":
    main() if len(sys.argv) < 3 else bare(sys.argv[1], int(sys.argv[2]))
