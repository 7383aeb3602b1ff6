"""What a model refuses, as located problems in plain words, mapped by the exact path inside the document."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from generator.diagnostics import Location, Problem
from generator.model import Path
from generator.reading.text import shown
from generator.reading.yaml_tree import Tree

MOST_SHOWN = 100
"""Problems named in one file; more would bury the first."""

_ID_RULE = "Use small letters, digits and single hyphens, starting with a letter."
_QUOTE_IT = 'Put the whole text in "quotation marks".'


def problems_of(
    error: ValidationError, model: type[BaseModel], tree: Tree, file: str, root: Path = ()
) -> tuple[Problem, ...]:
    """Each thing that `model` refused in the value at `root` of a tree, where it stands in the file."""
    found = error.errors(include_url=False)
    renamed = _renamed(found, root)
    return tuple(
        Problem(location=Location(file, *where), rule=rule, message=message, remedy=remedy)
        for item in found
        if (*root, *item["loc"]) not in renamed.values()
        for where, rule, message, remedy in [_explain(item, model, tree, root, renamed)]
    )


def limited(problems: Sequence[Problem], file: str) -> tuple[Problem, ...]:
    """The first problems of a file and, when there are too many, a line that counts the rest."""
    if len(problems) <= MOST_SHOWN:
        return tuple(problems)
    first = sorted(problems, key=lambda problem: problem.location)[:MOST_SHOWN]
    rest = Problem(
        location=first[-1].location,
        rule="more-problems",
        message=f"This file has {len(problems) - MOST_SHOWN:,} more problems that are not listed.",
        remedy="Put the first ones right and run the check again.",
    )
    return (*first, rest)


def _renamed(found: Iterable[Mapping[str, Any]], root: Path) -> dict[Path, Path]:
    """Unknown field → missing field of the same group whose name is near: one slip of the pen is one problem."""
    missing: dict[Path, list[str]] = {}
    for item in found:
        if item["type"] == "missing":
            missing.setdefault((*root, *item["loc"][:-1]), []).append(str(item["loc"][-1]))
    pairs: dict[Path, Path] = {}
    for item in found:
        if item["type"] == "extra_forbidden":
            group = (*root, *item["loc"][:-1])
            names = [name for name in missing.get(group, ()) if (*group, name) not in pairs.values()]
            near = nearest(str(item["loc"][-1]), names)
            if near:
                pairs[(*group, str(item["loc"][-1]))] = (*group, near)
    return pairs


def _explain(
    item: Mapping[str, Any], model: type[BaseModel], tree: Tree, root: Path, renamed: Mapping[Path, Path]
) -> tuple[tuple[int, int], str, str, str]:
    """Place, rule, message and remedy of one refusal."""
    kind: str = item["type"]
    loc: Path = item["loc"]
    path = (*root, *loc)
    if kind == "missing":
        name = str(loc[-1])
        where, rule = _place(tree, path[:-1]), "field-missing"
        message = f"The field `{name}` is missing{_group(path[:-1])}."
        about = _about(field_of(model, loc))
        remedy = f"Add a line `{name}: …`{f' ({about})' if about else ''}."
    elif kind == "extra_forbidden":
        where, rule = _key_place(tree, path), "field-unknown"
        message = f"There is no field `{shown(str(loc[-1]))}`{_group(path[:-1])}."
        names = field_names(model, loc[:-1])
        near = renamed[path][-1] if path in renamed else nearest(str(loc[-1]), names)
        remedy = f"Did you mean `{near}`?" if near else f"The fields here are {listed(names)}."
    elif loc and loc[-1] == "[key]" and kind.startswith("string_"):
        # A mark that pydantic puts after the name itself. Only a name can be refused as text here: what a name
        # leads to is always a group of fields.
        where, rule = _key_place(tree, path[:-1]), "value-wrong"
        message = f'"{shown(str(loc[-2]))}" cannot be an id.'
        remedy = _ID_RULE
    else:
        where, rule = _place(tree, path), "value-wrong"
        message, remedy = _wrong(kind, item, path)
    return where, rule, message, remedy


def _wrong(kind: str, item: Mapping[str, Any], path: Path) -> tuple[str, str]:
    """What was found and expected, and what to do, for a value of the wrong form."""
    name, value, context = _subject(path), item["input"], item.get("ctx", {})
    is_ = f"{name} is {_found(value)}"
    if kind in ("literal_error", "enum"):
        return _not_among(is_, value, re.findall(r"'([^']*)'", str(context.get("expected", ""))))
    if kind.startswith("string_"):
        return _wrong_text(kind, name, value, int(context.get("max_length", 0)))
    if kind == "value_error":
        said = str(context.get("error", "")) or "write another value"
        message = f"{is_}, which cannot be read." if value is not None else f"{name} is empty."
        remedy = f"{said[0].upper()}{said[1:]}."
    elif kind == "tuple_type":
        message = f"{is_}; a list is expected."
        remedy = "Write each item on a line of its own, after a hyphen and a space."
        if isinstance(value, str) and value.startswith("-"):
            remedy = "Put a space after each hyphen."
        elif value is None:
            remedy += " For an empty list write `[]`."
    elif kind == "too_short":
        message, remedy = f"{name} is an empty list; it needs at least {context.get('min_length', 1)} item.", "Add one."
    elif kind in ("dict_type", "model_type", "model_attributes_type"):
        message = f"{is_}; a group of fields is expected."
        remedy = "Write its fields on the lines below, indented, each as `field: value`."
    elif kind in ("int_type", "decimal_type"):
        message, remedy = f"{is_}; a number is expected.", "Write a plain number, such as 3."
    else:
        message = f"{is_}, which cannot be read ({shown(str(item['msg']))})."
        remedy = "Look at the same field in another file."
    return message, remedy


def _not_among(is_: str, value: Any, options: Sequence[str]) -> tuple[str, str]:
    near = nearest(value, options) if isinstance(value, str) else None
    is_short = len(options) <= 8
    message = f"{is_}; {listed(options, 'or') if is_short else f'one of {len(options)} fixed words'} is expected."
    if near:
        return message, f"Did you mean `{near}`?"
    return message, "Write one of them." if is_short else f"Such as {listed(options[:8])}; an editor offers them all."


def _wrong_text(kind: str, name: str, value: Any, longest: int) -> tuple[str, str]:
    if kind == "string_pattern_mismatch":
        return f"{name} is {_found(value)}, which cannot be an id.", _ID_RULE
    if kind == "string_too_long":
        message = f"{name} has {len(value):,} characters; the limit is {longest:,}."
        return message, "Shorten it." if longest > 100 else "Choose a shorter id."
    if not isinstance(value, (list, dict)):
        return f"{name} is empty; text is expected.", "Write the text, or delete the line."
    return f"{name} is {_found(value)}; text is expected.", _quote_remedy(value)


def _quote_remedy(value: Any) -> str:
    if isinstance(value, dict) and len(value) == 1:
        ((key, inner),) = value.items()
        if inner is None:
            return f'Text that begins with `{{` needs quotation marks: "{{{shown(str(key))}}} …".'
        return f"{_QUOTE_IT} A colon and a space after `{shown(str(key))}` make it a field."
    return f"Write one text. {_QUOTE_IT[:-1]} if it begins with `[`, `{{` or a hyphen."


def _found(value: Any) -> str:
    if value is None:
        return "empty"
    if isinstance(value, str):
        return f'"{shown(value)}"' if value else "empty"
    return "a list" if isinstance(value, list) else "a group of fields"


def _subject(path: Path) -> str:
    if not path:
        return "The file"
    if isinstance(path[-1], int):
        names = [part for part in path if isinstance(part, str)]
        return f"Item {path[-1] + 1} of `{shown(names[-1])}`" if names else f"Item {path[-1] + 1}"
    return f"`{shown(path[-1])}`"


def _group(path: Path) -> str:
    """Which group of fields a field is missing from, in words; nothing for the file as a whole."""
    if not path:
        return ""
    subject = _subject(path)
    return f" in {subject[0].lower()}{subject[1:]}"


def _place(tree: Tree, path: Path) -> tuple[int, int]:
    for length in range(len(path), -1, -1):
        place = tree.positions.get(path[:length])
        if place:
            return place
    return 1, 1


def _key_place(tree: Tree, path: Path) -> tuple[int, int]:
    return tree.keys.get(path) or _place(tree, path)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like `word`, if any looks like it at all."""
    names = list(known)
    plain = word.strip().lower().replace("_", "-")[:80]
    same = next((name for name in names if name.lower().replace("_", "-") == plain), None)
    return same or next(iter(difflib.get_close_matches(word[:80], names, 1, 0.6)), None)


def listed(names: Sequence[str], last: str = "and") -> str:
    """Names as a person lists them: `a`, `b` and `c`."""
    quoted = [f"`{name}`" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} {last} {quoted[-1]}" if quoted else ""


def field_names(model: type[BaseModel], loc: Path) -> list[str]:
    """Names that may be typed in the group of fields at a path inside a model."""
    inner = _annotation_at(model, loc)
    if isinstance(inner, type) and issubclass(inner, BaseModel):
        return [field.alias or name for name, field in inner.model_fields.items()]
    return []


def field_of(model: type[BaseModel], loc: Path) -> FieldInfo | None:
    """The field that a path inside a model leads to."""
    inner = _annotation_at(model, loc[:-1])
    if isinstance(inner, type) and issubclass(inner, BaseModel):
        return next((f for name, f in inner.model_fields.items() if loc[-1] in (f.alias, name)), None)
    return None


def _about(field: FieldInfo | None) -> str:
    if field is None or not field.description:
        return ""
    first = re.split(r"(?<=\.)\s|;|:\s", field.description.replace("\n", " "))[0].strip(" .")
    return first[0].lower() + first[1:] if first and not first.isupper() else first


def _annotation_at(model: Any, loc: Path) -> Any:
    here: Any = model
    for part in loc:
        here = _plain(here)
        if isinstance(here, type) and issubclass(here, BaseModel):
            field = next((f for name, f in here.model_fields.items() if part in (f.alias, name)), None)
            here = field.annotation if field else None
        elif get_origin(here) is tuple:
            here = get_args(here)[0]
        elif get_origin(here) is dict:
            here = get_args(here)[1]
        else:
            return None
    return _plain(here)


def _plain(annotation: Any) -> Any:
    """An annotation without `| None` and without notes on it."""
    while True:
        if get_origin(annotation) in (Union, UnionType):
            annotation = next((arg for arg in get_args(annotation) if arg is not type(None)), None)
        elif hasattr(annotation, "__metadata__"):
            annotation = annotation.__origin__
        else:
            return annotation
