"""Posts to the log by eight clients beside four readers, over loopback: time of a post, whole and 95 in 100.

Each client opens a form once and posts counts with numbers of their own; readers open the guest page all the while. The
floor is the same post without readers, in the same run.
"""

from __future__ import annotations

import asyncio
import os
import re
import sqlite3
import tempfile
import time
from pathlib import Path
from typing import Any

CLIENTS, READERS, POSTS = 8, 4, 60
DEMO = Path(__file__).parents[2] / "db" / "demo"
TARGET_MS = 40.0


def main() -> None:
    """p50 and p95 of a post [ms], rows stored, answers other than 303."""
    from stillroom.loaders.build import build

    from tests.bench.serving import kitchen

    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "kitchen.db"
        assert build(DEMO, database).errors == 0
        with kitchen(database) as (port, _):
            alone = asyncio.run(run(port, 0, "alone"))
            beside = asyncio.run(run(port, READERS, "beside"))
        connection = sqlite3.connect(database)
        (rows,) = connection.execute("select count(*) from counts where origin = 'web'").fetchone()
    for name, (times, odd) in (("without readers", alone), ("beside four readers", beside)):
        times.sort()
        p50, p95 = (times[int(len(times) * share)] * 1000 for share in (0.5, 0.95))
        asked = (
            "" if name.startswith("without") else f"; asked {TARGET_MS:.0f}: {'met' if p95 <= TARGET_MS else 'not met'}"
        )
        print(f"{name:20} {len(times)} posts: p50 {p50:5.1f} ms, p95 {p95:5.1f} ms{asked}; {odd} not 303")
    print(f"load of the machine over the last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    print(f"rows stored: {rows} of {2 * CLIENTS * POSTS}")


async def run(port: int, readers: int, name: str) -> tuple[list[float], int]:
    """Times of all posts [s], and how many were not answered by 303."""
    import httpx

    times: list[float] = []
    odd = 0
    done = asyncio.Event()
    async with httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}", timeout=60) as client:
        opened = await client.get("/log/count")
        found = re.search(r'name="csrftoken" value="([^"]*)"', opened.text)
        assert found
        token = found[1]

        async def read() -> None:
            while not done.is_set():
                await client.get("/guest?avoid=milk")

        async def write(number: int) -> None:
            nonlocal odd
            for post in range(POSTS):
                fields = {"csrftoken": token, "request": f"bench-{name}-{number}-{post}", "of": "butter, salted"}
                fields |= {"quantity": "2½", "quantity-unit": "kg"}
                began = time.perf_counter()
                answer = await client.post("/log/count", data=fields)
                times.append(time.perf_counter() - began)
                odd += answer.status_code != 303

        reading: list[Any] = [asyncio.create_task(read()) for _ in range(readers)]
        await asyncio.gather(*(write(number) for number in range(CLIENTS)))
        done.set()
        await asyncio.gather(*reading)
    return times, odd


if __name__ == "__main__":
    main()
