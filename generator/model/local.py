"""What this service's medical director narrows or adds. It prints beside the text and never replaces it."""

from __future__ import annotations

from generator.model.base import Day, Id, Record, Text


class LocalRule(Record):
    """One local rule, on a skill or on one of its steps."""

    skill: Id
    step: Id | None = None
    rule: Text
    levels: tuple[Id, ...] = ()
    """The only levels that may perform the skill here; must be among the skill's own."""


class LocalRules(Record):
    """`local.yaml`."""

    authority: Text
    """The role that made these rules, such as `Medical director`."""
    in_force_from: Day
    rules: tuple[LocalRule, ...]
