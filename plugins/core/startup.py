"""Before the first answer: the version check (another Datasette would ignore the permission rules and show everything
to everybody), and the words that templates use.
"""

from __future__ import annotations

from typing import Any

from stillroom.plugins.core import format, records

SERIES = "0.65."


def at_start(datasette: Any) -> None:
    """Another Datasette is refused before it answers anything; this one is made ready."""
    from datasette.plugins import pm  # at the top it would register core's module before its hooks are defined
    from datasette.version import __version__

    refuse_other_datasette(__version__, pm.hook)
    datasette.jinja_env.filters.update(format.FILTERS | records.FILTERS)


def refuse_other_datasette(version: str, hooks: Any) -> None:
    """Stops the server before its first answer unless this Datasette asks our permission hook.

    Args:
        version: Datasette's own, '0.65.5'.
        hooks: its plugin manager's hook relay.

    Raises:
        RuntimeError: another series, or no such hook.
    """
    has_hook = getattr(getattr(hooks, "permission_allowed", None), "spec", None) is not None
    if not version.startswith(SERIES) or not has_hook:
        raise RuntimeError(
            f"stillroom needs Datasette 0.65, this is {version}: its permission rules would not hold. "
            'Mend it with: pip install "datasette>=0.65.5,<0.66"'
        )
