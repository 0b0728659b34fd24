"""The demonstration kitchen, built once for the whole run, and Datasette on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="session")
def demo_db(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration kitchen's database."""
    from stillroom.loaders.build import build

    path = tmp_path_factory.mktemp("demo") / "kitchen.db"
    result = build(Path(__file__).parents[1] / "db" / "demo", path)
    assert result.errors == 0, result.problems[:5]
    return path


@pytest.fixture
async def house(demo_db: Path) -> Any:
    """Datasette as `stillroom serve` sets it up."""
    from stillroom.loaders.commands import application

    datasette = application(demo_db)
    await datasette.invoke_startup()
    return datasette
