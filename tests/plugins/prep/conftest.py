"""A kitchen of its own for a test that writes."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def kitchen(own_house: Any) -> Any:
    """The demonstration, to be written to."""
    return own_house
