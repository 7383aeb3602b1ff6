"""How a sentence names records: plainly for a terminal, or as mentions that a page turns into links.

The sentences of `explain` are written once. What differs between a terminal and a page is only how they name things.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from generator.model import Curriculum

Sort = Literal["skill", "step", "trainer", "technique", "station", "lab", "equipment", "typed"]

_MENTION = re.compile("\x02([a-z]+)\x1f([^\x1f\x03]*)\x1f([^\x03]*)\x03")
"""Control characters, which no text of the faculty can hold, so nobody types a mention by hand."""

LARGE_NOUNS = ("de", "lb")
"""Languages that write every noun with a large letter: German and Luxembourgish."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A record named in a sentence. The `key` of a step is `skill id/step id`, of any other record its id."""

    sort: Sort
    key: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """Names for a terminal: what can be typed into a file or a command stands in backticks."""

    curriculum: Curriculum

    def name(self, sort: Sort, key: str) -> str:
        """A record by its id: what a reader looks up."""
        return f"`{key.rpartition('/')[2]}`"

    def words(self, sort: Sort, key: str, words: str) -> str:
        """A record by words that stand in the sentence anyway."""
        return words

    def typed(self, words: str) -> str:
        """A field or a command, as it is typed."""
        return f"`{words}`"

    def at_step(self, key: str) -> str:
        """A step as the place where something happens."""
        return self.curriculum.say("the step {step}", step=self.name("step", key))

    def small(self, name: str) -> str:
        """A name inside a sentence: small, but where the language writes its nouns with a large letter."""
        return name if self.curriculum.program.language.partition("-")[0] in LARGE_NOUNS else lower(name)

    def titled(self, skill: str) -> str:
        """A skill by its title."""
        return f"`{self.curriculum.skills[skill].title}`"

    def choice(self, trainer: str, words: str) -> str:
        """A trainer to choose, by words and id."""
        return f"{words} (`{trainer}`)"


@dataclass(frozen=True, slots=True, kw_only=True)
class PageNames(Names):
    """Names for a page: titles, each wrapped so that `parts` finds it."""

    def name(self, sort: Sort, key: str) -> str:
        """A record by its title."""
        return self.words(sort, key, self._title(sort, key))

    def words(self, sort: Sort, key: str, words: str) -> str:
        """A record by words that stand in the sentence anyway."""
        return f"\x02{sort}\x1f{key}\x1f{words}\x03"

    def at_step(self, key: str) -> str:
        """A step as the place where something happens."""
        return self.name("step", key)

    def titled(self, skill: str) -> str:
        """A skill by its title."""
        return self.name("skill", skill)

    def typed(self, words: str) -> str:
        """A field or a command, as it is typed."""
        return self.words("typed", "", words)

    def choice(self, trainer: str, words: str) -> str:
        """A trainer to choose; its name is enough where it is a link."""
        return self.words("trainer", trainer, words)

    def _title(self, sort: Sort, key: str) -> str:
        curriculum = self.curriculum
        if sort == "step":
            skill, _, id = key.partition("/")
            steps = curriculum.skills[skill].steps if skill in curriculum.skills else ()
            number = next((number for number, step in enumerate(steps, 1) if step.id == id), None)
            return id if number is None else curriculum.say("step {number}", number=number)
        if sort == "equipment":
            item = curriculum.equipment.get(key)
            return self.small(item.name) if item else key
        if sort == "trainer":
            return curriculum.trainers[key].name if key in curriculum.trainers else key
        held: dict[str, Mapping[str, Any]] = {
            "skill": curriculum.skills,
            "station": curriculum.stations,
            "lab": curriculum.labs,
        }
        titled = held.get(sort, {})
        return titled[key].title if key in titled else key


def parts(text: str) -> tuple[str | Named, ...]:
    """A sentence cut at the records that `PageNames` named in it."""
    found: list[str | Named] = []
    end = 0
    for match in _MENTION.finditer(text):
        found += [text[end : match.start()], Named(sort=match[1], key=match[2], words=match[3])]  # type: ignore[arg-type]
        end = match.end()
    found.append(text[end:])
    return tuple(part for part in found if part != "")


def upper(text: str) -> str:
    """A sentence with its first letter large, also where a name stands first."""
    skip = text.find("\x1f", text.find("\x1f") + 1) + 1 if text.startswith("\x02") else 0
    return text[:skip] + text[skip : skip + 1].upper() + text[skip + 1 :]


def lower(text: str) -> str:
    """The first letter small, unless the word is an abbreviation."""
    return text[0].lower() + text[1:] if text[:2] != text[:2].upper() else text
