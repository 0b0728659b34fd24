"""Clock times before and after others, rounded to the minute on the side that is early enough."""

from __future__ import annotations


def clock_before(clock: str, seconds: float) -> tuple[str, int]:
    """Clock HH:MM so long before another, rounded down to the minute, and how many days earlier."""
    total = int(clock[:2]) * 3600 + int(clock[3:]) * 60 - seconds
    minute = int(total // 60)
    return f"{minute % 1440 // 60:02d}:{minute % 60:02d}", -(minute // 1440)


def clock_after(clock: str, seconds: float) -> tuple[str, int]:
    """Clock HH:MM so long after another, rounded up to the minute, and how many days later."""
    minute = -int(-(int(clock[:2]) * 3600 + int(clock[3:]) * 60 + seconds) // 60)
    return f"{minute % 1440 // 60:02d}:{minute % 60:02d}", minute // 1440
