"""Who may do what, in one table: an action, in words, and the roles that have it. What is not here nobody may."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

NOBODY = "anonymous"
ROLES = ("server", "cook", "station", "chef", "manager")
ROLE_WORDS = {
    "server": "at the table: allergens, dishes, recipes",
    "cook": "at the board: the same, prep, heat, the logbook",
    "station": "a shared tablet: what a cook sees; each entry is signed by a person with their PIN",
    "chef": "everything but the list of people",
    "manager": "everything",
}

SIGNED_IN = frozenset(ROLES)
KITCHEN = frozenset({"cook", "station", "chef", "manager"})
OFFICE = frozenset({"chef", "manager"})  # prices, costs, wages, suppliers' terms
MANAGER = frozenset({"manager"})


@dataclass(frozen=True)
class Action:
    """Something that is done here: its words, as `stillroom people roles` prints them, and who may."""

    words: str
    roles: frozenset[str]


ACTIONS: dict[str, Action] = {
    "sign-in": Action("sign in", SIGNED_IN | {NOBODY}),
    "account": Action("sign out, change one's own PIN or password", SIGNED_IN),
    "home": Action("what needs attention today", SIGNED_IN),
    "guest": Action("which dishes a guest can have", SIGNED_IN),
    "dish": Action("what is in a dish", SIGNED_IN),
    "recipe": Action("a recipe's card, without cost", SIGNED_IN),
    "calendar": Action("a calendar feed of one's own, without money", SIGNED_IN - {"station"}),
    "search": Action("search, without prices", SIGNED_IN),
    "short": Action("what an item reaches, plates left", KITCHEN),
    "doneness": Action("heat, cooling, doneness", KITCHEN),
    "reviews": Action("labels nobody has read, what a label's words point to", KITCHEN),
    "prep": Action("what to prepare", KITCHEN),
    "labels": Action("print labels", KITCHEN),
    "log": Action("write in the logbook", KITCHEN),
    "trace": Action("where a lot came from and went", KITCHEN),
    "taste": Action("trials, without cost; write tasting notes on them", KITCHEN),
    "trials": Action("change trials, put a version on the menu", OFFICE),
    "undo-any": Action("take back another person's entry", OFFICE),
    "read-change": Action("mark an allergen change as read", OFFICE),
    "ageing": Action("ageing lots and their worth", OFFICE),
    "money": Action("prices, costs, wages, suppliers' terms", OFFICE),
    "cost": Action("what a plate costs, margins", OFFICE),
    "orders": Action("what to order, from whom", OFFICE),
    "suppliers": Action("suppliers and their history", OFFICE),
    "tables": Action("every table, view and prepared question", OFFICE),
    "backups": Action("when the last backup was, and where", OFFICE),
    "people": Action("people, roles, devices", MANAGER),
}


def may(role: str, action: str) -> bool:
    """Whether a role has an action of the table."""
    return action in ACTIONS and role in ACTIONS[action].roles


def matrix() -> Iterator[str]:
    """The table as lines of text, a column a role."""
    roles = (NOBODY, *ROLES)
    width = max(len(action.words) for action in ACTIONS.values())
    yield " " * width + "".join(f"  {role:>9}" for role in roles)
    for action in ACTIONS.values():
        yield f"{action.words:<{width}}" + "".join(f"  {'yes' if role in action.roles else '-':>9}" for role in roles)
    yield f"{'write SQL, download the file, see the works':<{width}}" + "".join(f"  {'-':>9}" for _ in roles)
