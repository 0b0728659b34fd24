"""A kitchen of its own for pages that write."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def own(own_house: Any) -> tuple[Any, Path]:
    """The demonstration, to be written to, and where it is."""
    return own_house, own_house.file
