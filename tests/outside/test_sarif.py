"""`as_sarif` against the JSON schema of SARIF 2.1.0 (OASIS Standard), and the rules its text adds to the schema."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft4Validator

from generator.checks import MANUAL
from generator.diagnostics import Location, Problem, Related, Severity, as_sarif

SCHEMA = json.loads((Path(__file__).parent / "sarif-2.1.0.json").read_text(encoding="utf-8"))
VALIDATOR = Draft4Validator(SCHEMA)

# RFC 3986, appendix A: the characters of a URI reference; anything else must be percent-encoded.
URI_REFERENCE = re.compile(r"(?:[A-Za-z0-9\-._~:/?#\[\]@!$&'()*+,;=]|%[0-9A-Fa-f]{2})*")

PROBLEMS = tuple(
    Problem(
        location=Location("curriculum/skills/airway/choking-adult.yaml", line, 7),
        rule=rule,
        message=f"an invented {severity}: “quoted”, 5 < 6, tab\tand ünïcode",
        remedy="Put it right." if line % 2 else "",
        severity=severity,
        related=tuple(
            Related(location=Location("curriculum/sources.yaml", other, 3), message=f"the other end, {other}")
            for other in range(1, line)
        ),
    )
    for line, (severity, rule) in enumerate(
        ((severity, rule) for severity in Severity for rule in ("id-repeated", "rule-of-no-manual")), start=1
    )
)


def _log(problems: tuple[Problem, ...]) -> dict[str, Any]:
    log: dict[str, Any] = json.loads(as_sarif(problems, version="0.1.0", manual=MANUAL))
    return log


def _faults(log: object) -> list[str]:
    return [f"{'/'.join(map(str, error.absolute_path))}: {error.message}" for error in VALIDATOR.iter_errors(log)]


def _locations(log: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        place["physicalLocation"]
        for result in log["runs"][0]["results"]
        for place in (*result["locations"], *result.get("relatedLocations", ()))
    ]


def test_the_schema_is_the_published_one() -> None:
    Draft4Validator.check_schema(SCHEMA)
    assert SCHEMA["title"].startswith("Static Analysis Results Format (SARIF) Version 2.1.0")
    assert len(SCHEMA["definitions"]) == 52
    assert SCHEMA["required"] == ["version", "runs"]


def test_every_severity_with_and_without_other_ends_is_valid() -> None:
    log = _log(PROBLEMS)
    assert _faults(log) == []
    results = log["runs"][0]["results"]
    assert {result["level"] for result in results} == {"error", "warning", "note"}
    assert [len(result.get("relatedLocations", ())) for result in results] == [0, 1, 2, 3, 4, 5]
    assert len(_locations(log)) == len(PROBLEMS) + 15


def test_no_problems_is_a_valid_log_with_no_results() -> None:
    log = _log(())
    assert _faults(log) == []
    # SARIF 2.1.0, 3.14.23: an empty array says that the tool ran and found nothing.
    assert log["runs"][0]["results"] == []


def test_each_result_points_at_its_rule() -> None:
    # SARIF 2.1.0, 3.27.6: ruleIndex is the index into tool.driver.rules; 3.27.5: ruleId must equal its id.
    run = _log(PROBLEMS)["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    assert len({rule["id"] for rule in rules}) == len(rules) == 2
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]


def test_places_count_from_one_in_the_unit_that_the_log_names() -> None:
    # SARIF 2.1.0, 3.30.5 and 3.30.6: lines and columns count from 1; 3.14.17: columnKind names the unit.
    log = _log(PROBLEMS)
    assert log["runs"][0]["columnKind"] == "unicodeCodePoints"
    for place in _locations(log):
        assert place["region"]["startLine"] >= 1
        assert place["region"]["startColumn"] >= 1


file_names = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=30)


@given(
    st.lists(
        st.builds(
            Problem,
            location=st.builds(Location, st.just("curriculum/x.yaml"), st.integers(1, 10**6), st.integers(1, 10**4)),
            rule=st.sampled_from(sorted(MANUAL)),
            message=st.text(max_size=60),
            remedy=st.text(max_size=60),
            severity=st.sampled_from(Severity),
        ),
        max_size=6,
    )
)
def test_any_problems_give_a_valid_log(problems: list[Problem]) -> None:
    assert _faults(_log(tuple(problems))) == []


@given(file_names)
def test_any_file_name_gives_a_uri_reference(name: str) -> None:
    # SARIF 2.1.0, 3.4.3: uri is a URI reference by RFC 3986, so a space or a letter beyond ASCII is percent-encoded.
    place = Location(f"curriculum/skills/{name}.yaml")
    log = _log((Problem(location=place, rule="id-repeated", message="x"),))
    for found in _locations(log):
        uri = found["artifactLocation"]["uri"]
        assert URI_REFERENCE.fullmatch(uri)
        assert unquote(urlsplit(uri).path) == place.file


@pytest.mark.parametrize(
    ("path", "value"),
    [
        pytest.param(("version",), "2.0.0", id="version"),
        pytest.param(("runs", 0, "tool"), {}, id="tool-without-driver"),
        pytest.param(("runs", 0, "results", 0, "level"), "fatal", id="level"),
        pytest.param(("runs", 0, "results", 0, "message"), {}, id="empty-message"),
        pytest.param(
            ("runs", 0, "results", 0, "locations", 0, "physicalLocation", "region", "startLine"), 0, id="line-0"
        ),
        pytest.param(("runs", 0, "columnKind"), "bytes", id="column-kind"),
        pytest.param(("runs", 0, "results", 0, "colour"), "red", id="unknown-property"),
    ],
)
def test_the_check_can_fail(path: tuple[str | int, ...], value: object) -> None:
    log: Any = _log(PROBLEMS)
    inside = log
    for key in path[:-1]:
        inside = inside[key]
    inside[path[-1]] = value
    assert _faults(log) != []
