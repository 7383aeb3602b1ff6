"""One rule a module, listed by hand, in order. A rule's name, module, case folder and manual entry agree."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from itertools import chain
from pathlib import Path
from typing import Protocol

from generator.checks import (
    address_taken,
    carry_over,
    citation_incomplete,
    citation_old,
    citation_superseded,
    citation_unknown,
    citation_unused,
    clearance_off_ladder,
    critical_unexplained,
    critical_unseen,
    date_in_future,
    equipment_unlisted,
    evidence_missing,
    fit,
    honest_first,
    id_repeated,
    identifier_malformed,
    ladder_out_of_order,
    not_narrower,
    number_typed_in,
    outcome_uncovered,
    pace_without_beat,
    prerequisite_circle,
    proof,
    prose_image_silent,
    prose_link_missing,
    quantity_form,
    quantity_population,
    quantity_unknown,
    record_unused,
    reference_repeated,
    reference_unknown,
    review_overdue,
    scenario_clash,
    scenario_endless,
    scenario_idle,
    scenario_move,
    scenario_range,
    scenario_rate,
    scenario_skill,
    scenario_unreachable,
    scenario_untaught,
    site_anchor_broken,
    site_id_repeated,
    site_image_silent,
    site_link_broken,
    site_off_origin,
    station_off_ladder,
    thrift,
    timetable_broken,
    writing_avoid,
    writing_grade,
    writing_imperative,
    writing_length,
    writing_name,
    writing_two_actions,
    writing_vague,
)
from generator.checks.support.kept import forget
from generator.checks.support.site import Site, read_site
from generator.checks.support.texts import passages
from generator.diagnostics import Problem, in_order
from generator.model import Curriculum
from generator.together import together

WORTH_A_PROCESS = 200
"""Skills from which on two processes are done sooner than one."""

__all__ = ["MANUAL", "RULES", "SITE_RULES", "check", "check_site", "explain"]


class Rule(Protocol):
    """A module that finds problems of one kind in what the faculty wrote."""

    RULE: str
    __doc__: str | None

    def find(self, curriculum: Curriculum, today: date) -> Iterator[Problem]:
        """Each problem, where it stands."""


class SiteRule(Protocol):
    """A module that finds problems of one kind in the built site."""

    RULE: str
    __doc__: str | None

    def find(self, site: Site) -> Iterator[Problem]:
        """Each problem, where it stands."""


RULES: tuple[Rule, ...] = (
    # names
    reference_unknown,
    citation_unknown,
    quantity_unknown,
    id_repeated,
    address_taken,
    reference_repeated,
    record_unused,
    citation_unused,
    # skills and ladders
    prerequisite_circle,
    critical_unseen,
    critical_unexplained,
    not_narrower,
    equipment_unlisted,
    ladder_out_of_order,
    clearance_off_ladder,
    station_off_ladder,
    fit,
    honest_first,
    proof,
    thrift,
    carry_over,
    # lab days
    timetable_broken,
    # outcomes
    outcome_uncovered,
    # scenarios
    scenario_move,
    scenario_endless,
    scenario_clash,
    scenario_unreachable,
    scenario_range,
    scenario_rate,
    scenario_skill,
    scenario_idle,
    scenario_untaught,
    # numbers
    quantity_form,
    quantity_population,
    pace_without_beat,
    number_typed_in,
    # evidence and its age
    evidence_missing,
    citation_incomplete,
    citation_superseded,
    citation_old,
    identifier_malformed,
    review_overdue,
    date_in_future,
    # prose pages
    prose_link_missing,
    prose_image_silent,
    # writing
    writing_imperative,
    writing_two_actions,
    writing_length,
    writing_vague,
    writing_avoid,
    writing_name,
    writing_grade,
)

SITE_RULES: tuple[SiteRule, ...] = (
    site_link_broken,
    site_anchor_broken,
    site_image_silent,
    site_id_repeated,
    site_off_origin,
)

_ENTRIES: dict[str, str] = {
    **{rule.RULE: rule.__doc__ or "" for rule in RULES},
    **{rule.RULE: rule.__doc__ or "" for rule in SITE_RULES},
}

MANUAL: dict[str, str] = {rule: entry.splitlines()[0] for rule, entry in _ENTRIES.items()}
"""Rule → the line that says what it finds."""


def explain(rule: str) -> str | None:
    """The whole manual entry of a rule: what it finds, why, and how to put it right. None for an unknown rule."""
    entry = _ENTRIES.get(rule)
    return f"{rule}\n\n{entry.strip()}" if entry else None


def check(curriculum: Curriculum, *, today: date, processes: int = 1) -> tuple[Problem, ...]:
    """Every problem that the rules find, in order of place. `today` is the day to judge dates by.

    More processes are used for a curriculum that is worth the start of one.
    """
    passages(curriculum)  # before any process is forked: many rules ask for them

    def found_by(rule: Rule) -> Callable[[], list[Problem]]:
        return lambda: list(rule.find(curriculum, today))

    work = [found_by(rule) for rule in RULES]
    found = together(work, processes=processes if len(curriculum.skills) >= WORTH_A_PROCESS else 1)
    problems = in_order(chain.from_iterable(found))
    forget()
    return problems


def check_site(folder: Path) -> tuple[Problem, ...]:
    """Every problem in a built site's HTML and style sheets, in order of place."""
    site = read_site(folder)
    return in_order(problem for rule in SITE_RULES for problem in rule.find(site))
