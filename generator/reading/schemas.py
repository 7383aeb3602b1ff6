"""JSON Schemas (draft 2020-12) of every kind of file, from the same models, so that an editor checks as one types."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from generator.model import (
    Equipment,
    Glossary,
    Lab,
    LocalRules,
    Program,
    Quantities,
    Readings,
    Scenario,
    Skill,
    Sources,
    Standard,
    Station,
    Techniques,
    Trainer,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"

MODELS: Mapping[str, type[BaseModel]] = {
    "program": Program,
    "techniques": Techniques,
    "equipment": Equipment,
    "quantities": Quantities,
    "sources": Sources,
    "glossary": Glossary,
    "local": LocalRules,
    "trainer": Trainer,
    "skill": Skill,
    "station": Station,
    "lab": Lab,
    "readings": Readings,
    "scenario": Scenario,
    "standard": Standard,
}
"""Kind of file → its model."""


def schemas() -> dict[str, dict[str, Any]]:
    """The schema of each kind of file, by the name that it has in the folder `.schema`."""
    return {f"{kind}.json": _schema(kind, model) for kind, model in MODELS.items()}


def schema_text(schema: Mapping[str, Any]) -> str:
    """A schema as it is kept in a file."""
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write every schema into `folder/.schema`. Returns the files that changed; OSError when the disk refuses."""
    target = folder / ".schema"
    target.mkdir(parents=True, exist_ok=True)
    changed: list[Path] = []
    for name, schema in schemas().items():
        path, text = target / name, schema_text(schema)
        if not path.is_file() or path.read_bytes() != text.encode():
            path.write_bytes(text.encode())
            changed.append(path)
    return tuple(changed)


def _schema(kind: str, model: type[BaseModel]) -> dict[str, Any]:
    made = model.model_json_schema(by_alias=True)
    _adapt(made)
    return {"$schema": DIALECT, **made, "title": f"{kind[0].upper()}{kind[1:]}"}


def _adapt(schema: Any) -> None:
    """Change a schema in place to fit what an editor sees: YAML's own reading of scalars, before ours.

    Text such as an edition `2` needs no quotation marks, so the editor, which sees a number there, must let it pass.
    """
    waiting: list[Any] = [schema]
    while waiting:
        part = waiting.pop()
        if isinstance(part, list):
            waiting.extend(part)
        if not isinstance(part, dict):
            continue
        if part.get("type") == "string" and not {"pattern", "enum", "const", "format"} & part.keys():
            part["type"] = ["string", "number"]
        if "patternProperties" in part:
            part["additionalProperties"] = False
        if isinstance(part.get("description"), str):
            part["description"] = " ".join(part["description"].split())
        for name, value in part.get("properties", {}).items() if isinstance(part.get("properties"), dict) else ():
            words = name.replace("_", " ")
            value["title"] = words[0].upper() + words[1:]
            if "default" in value and _is_number(value):
                value["default"] = _number(value["default"])
        waiting.extend(value for key, value in part.items() if key != "default")


def _is_number(schema: Mapping[str, Any]) -> bool:
    return schema.get("type") == "number" or any(option.get("type") == "number" for option in schema.get("anyOf", ()))


def _number(value: Any) -> Any:
    """A number as JSON writes it, where a decimal was kept as text."""
    try:
        number = Decimal(value)
    except (InvalidOperation, TypeError, ValueError):
        return value
    return int(number) if number == number.to_integral_value() else float(number)
