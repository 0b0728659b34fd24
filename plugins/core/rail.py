"""Where one can go from any page: the doors that a role may open, the ones it opens most in front."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import groupby

from markupsafe import Markup
from stillroom.plugins.core.auth import DATABASE, decide


@dataclass(frozen=True)
class Door:
    """A page that stands in the frame. room: the heading it stands under in the list of all pages."""

    path: str
    word: str
    needs: str
    room: str


DOORS = (
    Door("/", "Today", "home", "Service"),
    Door("/guest", "Guest", "guest", "Service"),
    Door("/allergens", "Allergens", "dish", "Service"),
    Door("/out", "Out", "guest", "Service"),
    Door("/short", "Short", "short", "Service"),
    Door("/menu-on", "Menu", "dish", "Service"),
    Door("/prep", "Prep", "prep", "At the board"),
    Door("/recipes", "Recipes", "recipe", "At the board"),
    Door("/doneness", "Heat", "doneness", "At the board"),
    Door("/log", "Log", "log", "At the board"),
    Door("/trials", "Trials", "taste", "At the board"),
    Door("/ageing", "Ageing", "ageing", "Records"),
    Door("/trace", "Trace", "trace", "Records"),
    Door("/reviews", "Reviews", "reviews", "Records"),
    Door("/calendar", "Calendar", "calendar", "Records"),
    Door("/orders", "Orders", "orders", "Office"),
    Door("/suppliers", "Suppliers", "suppliers", "Office"),
    Door("/cost", "Cost", "cost", "Office"),
    Door("/menu", "Menu mix", "cost", "Office"),
    Door("/kitchen", "Tables", "view-database", "Office"),
    Door("/people", "People", "people", "Office"),
)
IN_FRONT = {
    "server": ("/", "/guest", "/out", "/allergens", "/recipes"),
    "cook": ("/", "/prep", "/log", "/recipes", "/doneness", "/short"),
    "station": ("/", "/prep", "/log", "/recipes", "/doneness", "/short"),
    "chef": ("/", "/guest", "/prep", "/short", "/log", "/recipes", "/cost"),
    "manager": ("/", "/guest", "/cost", "/menu", "/suppliers", "/orders", "/log"),
}


@dataclass(frozen=True)
class Rail:
    """The doors for one role on one page: those in front, all by room, and the one that is open."""

    front: tuple[Door, ...]
    rooms: tuple[tuple[str, tuple[Door, ...]], ...]
    here: Door | None

    @cached_property
    def drawn(self) -> Markup:
        """The doors as they stand in every page's frame, drawn once: they are the same for all who have the role."""
        rooms = Markup().join(
            Markup("<section><h2>{}</h2>{}</section>").format(room, self._links(doors)) for room, doors in self.rooms
        )
        summary = '<summary aria-label="All pages">All<span> pages</span></summary>'
        more = Markup(f'<details class="more">{summary}<div class="doors">{{}}</div></details>')
        return self._links(self.front) + (more.format(rooms) if rooms else Markup())

    def _links(self, doors: Iterable[Door]) -> Markup:
        current = Markup(' aria-current="page"')
        link = Markup('<a href="{}"{}>{}</a>')
        return Markup().join(link.format(d.path, current if d == self.here else "", d.word) for d in doors)


def rail(role: str, path: str) -> Rail:
    """The frame's doors for whoever is on a page; the open one stands in front, whatever the role has there."""
    return _rail(role, next((door.path for door in DOORS if is_here(path, door.path)), None))


@lru_cache(maxsize=256)
def _rail(role: str, path: str | None) -> Rail:
    mine = [door for door in DOORS if decide(role, door.needs, DATABASE)]
    here = next((door for door in mine if door.path == path), None)
    wanted = IN_FRONT.get(role, ())
    front = sorted((door for door in mine if door.path in wanted), key=lambda door: wanted.index(door.path))
    if here is not None and here not in front:
        front.append(here)
    rooms = tuple((room, tuple(doors)) for room, doors in groupby(mine, key=lambda door: door.room))
    return Rail(tuple(front), rooms, here)


def is_here(path: str, door: str) -> bool:
    """Whether an address lies behind a door: the page itself, its data, or a page below it."""
    return path == door or (door != "/" and path.startswith((f"{door}/", f"{door}.")))
