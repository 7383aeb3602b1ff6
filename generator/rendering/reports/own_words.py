"""The templates of private pages in a program's own words.

A label is a text between two tags, a spoken or shown attribute, or the fixed text of a `say` or `counted`. Texts of
authors and of people never pass here. What stands in a catalogue is text as well, so it is made inert.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, nodes
from markupsafe import Markup, escape

from generator.model import Curriculum
from generator.rendering.reports.says import counted
from generator.rendering.template_labels import TemplateLabels

FOLDER = Path(__file__).parent
_FIXED = {"say": slice(0, 1), "counted": slice(1, 3)}
"""Function of a template → which of its arguments are fixed texts."""
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufeff]")


class _InOwnWords(TemplateLabels):
    """Exchanges the labels of a private page's template."""

    spoken = re.compile(r'((?:aria-label|data-label|alt|placeholder)=")([^"{}]+)(")')

    def inert(self, own: str) -> str:
        """Text that HTML does not act on."""
        return str(escape(shown(own)))


def page_of(template: str, curriculum: Curriculum, **data: Any) -> str:
    """A private page as HTML from its template in this folder, in the program's own words."""
    made = _environment(tuple(sorted(curriculum.labels.items()))).get_template(template)
    return made.render(
        data,
        say=lambda words, **parts: _filled(curriculum.label(words), parts),
        counted=lambda count, one, more: counted(curriculum, count, one, more),
        strong=Markup("<strong>{}</strong>").format,
        emphasized=Markup("<em>{}</em>").format,
        code=Markup("<code>{}</code>").format,
    )


def template_labels() -> set[str]:
    """Every label of the templates in this folder."""
    found: set[str] = set()

    def note(words: str) -> str:
        found.add(words)
        return words

    environment = _made(note)
    for path in sorted(FOLDER.glob("*.j2")):
        for call in environment.parse(path.read_text(encoding="utf-8")).find_all(nodes.Call):
            if isinstance(call.node, nodes.Name):
                for argument in call.args[_FIXED.get(call.node.name, slice(0, 0))]:
                    found.update(one.value for one in _constants(argument) if isinstance(one.value, str))
    return found


def shown(value: Any) -> Any:
    """What a person typed may hold characters that hide or turn text about; they go before it is escaped."""
    return _UNSEEN.sub("", value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _filled(words: str, parts: dict[str, Any]) -> Markup:
    """A label with its parts; whatever is no markup of the templates is escaped."""
    text = Markup(escape(shown(words)))
    return text.format(**{name: shown(part) for name, part in parts.items()}) if parts else text


def _constants(node: nodes.Expr) -> Iterator[nodes.Const]:
    if isinstance(node, nodes.Const):
        yield node
    yield from node.find_all(nodes.Const)


@cache
def _environment(labels: tuple[tuple[str, str], ...]) -> Environment:
    own = dict(labels)
    return _made((lambda words: own.get(words, words)) if own else None)


def _made(own: Callable[[str], str] | None) -> Environment:
    environment = Environment(
        extensions=[_InOwnWords] if own else [],
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=shown,
    )
    environment.extend(own=own)
    return environment
