"""The shipped sources are valid CSL 1.0.2 items: as they stand in the YAML, and as the formatter gets them.

`csl-fields.json` lists the fields of the published schema by name and kind; its header names the source.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from jsonschema import Draft7Validator

from generator.model import Source
from generator.model.evidence import CslDate, Name, SourceType
from generator.reading import read_curriculum
from generator.rendering.references import csl_of

HERE = Path(__file__).parent
CURRICULUM = HERE.parents[1] / "curriculum"
FIELDS: dict[str, list[str]] = json.loads((HERE / "csl-fields.json").read_text(encoding="utf-8"))

TEXT = {"type": "string"}
TEXT_OR_NUMBER = {"type": ["string", "number"]}
FLAG = {"type": ["string", "number", "boolean"]}


def _each(kind: str, schema: dict[str, Any]) -> dict[str, Any]:
    return dict.fromkeys(FIELDS[kind], schema)


NAME = {
    "type": "object",
    "properties": _each("name-text", TEXT) | _each("name-flags", FLAG),
    "additionalProperties": False,
}
DATE_PARTS = {
    "type": "array",
    "minItems": 1,
    "maxItems": 2,
    "items": {"type": "array", "minItems": 1, "maxItems": 3, "items": TEXT_OR_NUMBER},
}
DATE = {
    "type": "object",
    "properties": _each("date-text", TEXT)
    | _each("date-text-or-number", TEXT_OR_NUMBER)
    | _each("date-flags", FLAG)
    | {"date-parts": DATE_PARTS},
    "additionalProperties": False,
}
ITEM = Draft7Validator(
    {
        "type": "object",
        "required": FIELDS["required"],
        "additionalProperties": False,
        "properties": _each("text", TEXT)
        | _each("text-or-number", TEXT_OR_NUMBER)
        | _each("names", {"type": "array", "items": NAME})
        | _each("dates", DATE)
        | {
            "type": {"enum": FIELDS["types"]},
            "categories": {"type": "array", "items": TEXT},
            "custom": {"type": "object"},
        },
    }
)


def _faults(item: object) -> list[str]:
    return [f"{'/'.join(map(str, error.absolute_path))}: {error.message}" for error in ITEM.iter_errors(item)]


TYPED: list[dict[str, Any]] = yaml.safe_load((CURRICULUM / "sources.yaml").read_text(encoding="utf-8"))["references"]
READ = read_curriculum(CURRICULUM)[0]


def test_the_shipped_sources_were_found() -> None:
    assert READ is not None
    assert len(TYPED) >= 35
    assert [item["id"] for item in TYPED] == list(READ.sources)


@pytest.mark.parametrize("item", [pytest.param(item, id=str(item["id"])) for item in TYPED])
def test_each_source_as_typed_is_csl(item: dict[str, Any]) -> None:
    # Read as any other program would read CSL-YAML: an identifier typed without quotes is a number there, not text.
    assert _faults(item) == []


@pytest.mark.parametrize("id_", [str(item["id"]) for item in TYPED])
def test_each_source_as_exported_is_csl(id_: str) -> None:
    assert READ is not None
    exported = json.loads(json.dumps(csl_of(READ.sources[id_])))
    assert _faults(exported) == []
    assert exported["id"] == id_


def test_the_model_knows_exactly_the_published_types() -> None:
    assert sorted(get_args(SourceType)) == sorted(FIELDS["types"])


def _aliases(record: type[Source] | type[Name] | type[CslDate]) -> set[str]:
    return {field.alias or name for name, field in record.model_fields.items()}


def test_the_model_has_no_field_that_csl_does_not_have() -> None:
    item = {*FIELDS["text"], *FIELDS["text-or-number"], *FIELDS["names"], *FIELDS["dates"], "type", "custom"}
    assert _aliases(Source) <= item
    assert _aliases(Name) <= {*FIELDS["name-text"], *FIELDS["name-flags"]}
    assert _aliases(CslDate) <= {
        "date-parts", *FIELDS["date-text"], *FIELDS["date-text-or-number"], *FIELDS["date-flags"]
    }  # fmt: skip


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param({"id": "a"}, id="no-type"),
        pytest.param({"type": "book"}, id="no-id"),
        pytest.param({"id": "a", "type": "blog"}, id="unknown-type"),
        pytest.param({"id": "a", "type": "book", "journal": "x"}, id="unknown-field"),
        pytest.param({"id": "a", "type": "book", "PMID": 33081529}, id="identifier-as-number"),
        pytest.param({"id": "a", "type": "book", "author": [{"name": "x"}]}, id="unknown-name-part"),
        pytest.param({"id": "a", "type": "book", "issued": {"date-parts": [[2020, 1, 1, 1]]}}, id="four-date-parts"),
        pytest.param({"id": "a", "type": "book", "issued": {"date-parts": []}}, id="no-date-parts"),
        pytest.param({"id": "a", "type": "book", "issued": 2020}, id="date-as-number"),
        pytest.param({"id": "a", "type": "book", "custom": "x"}, id="custom-as-text"),
    ],
)
def test_the_check_can_fail(wrong: dict[str, Any]) -> None:
    assert _faults(wrong) != []
