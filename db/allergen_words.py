"""What a guest says, as words that can be compared: 'Prawns' and 'prawn' are one. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from stillroom.db.allergen_judging import Asked
from stillroom.db.names import fold, words_of

Words = frozenset[str]


def listed(ingredients: str) -> list[Words]:
    """Each entry of an ingredient list as printed, by the words in it."""
    return [words for part in re.split(r"[,;:()\[\]]", ingredients) if (words := words_of(part))]


def is_named(said: Words, texts: Iterable[Words]) -> bool:
    """Whether all the words said stand together in one of the texts; a text of no words names nothing."""
    return bool(said) and any(said <= text for text in texts)


@dataclass(frozen=True)
class Vocabulary:
    """Every word a guest may say here.

    codes: id of an allergen or code of the regime's list -> what is asked. names: an allergen's names. other_names:
    what else it is called. labels: a word of an ingredient list -> the allergens it stands for. items: item -> its
    name, tags and printed ingredients.
    """

    codes: Mapping[str, Asked]
    names: Mapping[Words, Asked]
    other_names: tuple[tuple[Words, Asked], ...] = ()
    labels: Mapping[Words, tuple[Asked, ...]] = field(default_factory=dict)
    items: Mapping[str, tuple[Words, ...]] = field(default_factory=dict)

    def read(self, said: str) -> tuple[Asked, ...]:
        """What a tapped id or a typed word asks for: allergens, items or both; one unknown thing where it is neither.

        A phrase asks for every allergen named in it, so that 'almond milk' asks for almonds; where it holds more than
        an allergen's own name, the items of that name are asked for too.
        """
        if said in self.codes:
            return (self.codes[said],)
        words = words_of(said)
        if words in self.names:
            return (self.names[words],)
        found = [asked for name, asked in (*self.names.items(), *self.other_names) if name <= words]
        found += self.labels.get(words, ())
        items = frozenset(item for item, texts in self.items.items() if is_named(words, texts))
        if items:
            found.append(Asked(fold(said), items=items))
        return tuple(dict.fromkeys(found)) or (Asked(said, is_known=False),)


def split_words(typed: str) -> list[str]:
    """The things in what was typed: 'garlic, onion and rum' are three."""
    return [part for part in (p.strip() for p in re.split(r"[,;&+/\n]|\band\b", typed)) if part]
