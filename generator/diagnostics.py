"""Problems as values: where, how bad, which rule, what was found, what to do; and the four ways to write them.

A problem is made where it is found and written at the door. Nothing in between prints.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any
from urllib.parse import quote


class Severity(StrEnum):
    """How bad a problem is. Only an error stops a build."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True, order=True)
class Location:
    """A place in a file. `file` is relative to the curriculum folder's parent; line and column count from 1."""

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Related:
    """The other end of a problem, such as the first of two files with one id."""

    location: Location
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One finding. `message` says what was found, `remedy` what the faculty member can do about it."""

    location: Location
    rule: str
    message: str
    remedy: str = ""
    severity: Severity = Severity.ERROR
    related: tuple[Related, ...] = field(default=())

    @property
    def is_error(self) -> bool:
        """Whether this problem stops a build."""
        return self.severity is Severity.ERROR


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sort by place and drop exact repeats; done once, at the end."""
    return tuple(sorted(set(problems), key=lambda p: (p.location, p.severity, p.rule, p.message)))


def as_text(problems: Iterable[Problem]) -> str:
    """Lines for a terminal: `file:line:column: severity: message [rule]`, then the remedy indented."""
    lines: list[str] = []
    for problem in problems:
        lines.append(f"{problem.location}: {problem.severity}: {problem.message} [{problem.rule}]")
        if problem.remedy:
            lines.append(f"    {problem.remedy}")
        lines.extend(f"    see {other.location}: {other.message}" for other in problem.related)
    return "".join(f"{line}\n" for line in lines)


def as_json(problems: Iterable[Problem]) -> str:
    """A JSON array, one object a problem, for other programs."""
    return json.dumps([_plain(problem) for problem in problems], indent=2, ensure_ascii=False) + "\n"


def as_github(problems: Iterable[Problem]) -> str:
    """Workflow commands that put each problem beside its line in a pull request."""
    kinds = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}
    lines = []
    for problem in problems:
        where = problem.location
        properties = ",".join(
            f"{name}={_escape_property(value)}"
            for name, value in (
                ("file", where.file),
                ("line", str(where.line)),
                ("col", str(where.column)),
                ("title", problem.rule),
            )
        )
        text = _escape(" ".join(part for part in (problem.message, problem.remedy) if part))
        lines.append(f"::{kinds[problem.severity]} {properties}::{text}\n")
    return "".join(lines)


def as_sarif(problems: Iterable[Problem], *, version: str, manual: dict[str, str]) -> str:
    """A SARIF 2.1.0 log (OASIS standard). `manual` maps each rule to its one-line description."""
    found = tuple(problems)
    rules = sorted({problem.rule for problem in found})
    log: dict[str, Any] = {
        "$schema": "https://json.schemastore.org/sarif-2.1.0.json",
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "rungbook",
                        "version": version,
                        "rules": [{"id": rule, "shortDescription": {"text": manual.get(rule, rule)}} for rule in rules],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [_sarif_result(problem, rules.index(problem.rule)) for problem in found],
            }
        ],
    }
    return json.dumps(log, indent=2, ensure_ascii=False) + "\n"


def _sarif_result(problem: Problem, rule_index: int) -> dict[str, Any]:
    result: dict[str, Any] = {
        "ruleId": problem.rule,
        "ruleIndex": rule_index,
        "level": str(problem.severity),
        "message": {"text": " ".join(part for part in (problem.message, problem.remedy) if part)},
        "locations": [_sarif_location(problem.location)],
    }
    if problem.related:
        result["relatedLocations"] = [
            _sarif_location(other.location) | {"message": {"text": other.message}} for other in problem.related
        ]
    return result


def _sarif_location(location: Location) -> dict[str, Any]:
    return {
        "physicalLocation": {
            "artifactLocation": {"uri": quote(location.file)},
            "region": {"startLine": location.line, "startColumn": location.column},
        }
    }


def _plain(problem: Problem) -> dict[str, Any]:
    return {
        "file": problem.location.file,
        "line": problem.location.line,
        "column": problem.location.column,
        "severity": str(problem.severity),
        "rule": problem.rule,
        "message": problem.message,
        "remedy": problem.remedy,
        "related": [
            {
                "file": other.location.file,
                "line": other.location.line,
                "column": other.location.column,
                "message": other.message,
            }
            for other in problem.related
        ],
    }


def _escape(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _escape_property(text: str) -> str:
    return _escape(text).replace(":", "%3A").replace(",", "%2C")
