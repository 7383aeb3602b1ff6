"""`cut`: a skill's cut score from raters' estimates."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import CLEAN, PROBLEMS, Commands, readable, show, unknown

if TYPE_CHECKING:
    from generator.analysis.cut import Cut
    from generator.model import Curriculum


def add(commands: Commands) -> None:
    """Add this command."""
    sub = commands.add("cut", _cut, "work out a skill's cut score from raters' estimates")
    sub.add_argument("ratings", type=Path, metavar="RATINGS.csv", help="columns step, rater, estimate (0 to 100)")
    sub.add_argument("skill", metavar="SKILL", help="the skill that was rated")


def _cut(options: argparse.Namespace) -> int:
    from generator.analysis.cut import cut_of
    from generator.reading.ratings import read_ratings

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    skill = curriculum.skills.get(options.skill)
    if skill is None:
        return unknown("skill", options.skill, curriculum.skills)
    ratings, problems = read_ratings(options.ratings, skill)
    show(problems)
    if ratings is None:
        print("rungbook: no cut score was worked out", file=sys.stderr)
        return PROBLEMS
    found = cut_of(skill, ratings.estimates, ratings.raters)
    print(cut_text(curriculum, found))
    return PROBLEMS if problems or found.left_out or found.whole_steps is None else CLEAN


def cut_text(curriculum: Curriculum, cut: Cut) -> str:
    """The result in words for a terminal: the cut score, how sure it is, and the steps that stand outside it."""
    from generator.analysis.statistics.result import Undefined
    from generator.analysis.wording import fill

    skill = curriculum.skills[cut.skill]
    numbers = {step.id: number for number, step in enumerate(skill.steps, 1)}
    lines = [f"Cut score for {skill.title}"]
    score = cut.score
    if isinstance(score, Undefined):
        lines.append(f"  No cut score: {score.why}.")
    else:
        raters = "1 rater" if len(cut.raters) == 1 else f"{len(cut.raters)} raters"
        lines.append(f"  A learner needs {cut.whole_steps} of the {score.steps} steps that are not critical.")
        lines.append(f"  Exactly: {score.cut:.2f} steps, {score.percent:.0f}% ({raters}).")
        interval = cut.interval
        if isinstance(score.error, Undefined) or isinstance(interval, Undefined):
            lines.append("  How sure: nobody can say from one rater; ask more.")
        elif score.error < 1e-9:
            lines.append("  How sure: all raters came to the same sum, so their spread says nothing; ask more.")
        else:
            lines.append(
                f"  How sure: standard error {score.error:.2f} steps; a very large panel would set it, likely, "
                f"between {interval.low:.1f} and {interval.high:.1f}."
            )
        sums = ", ".join(f"{rater} {total:.2f}" for rater, total in zip(cut.raters, score.judge_sums, strict=True))
        lines.append(f"  Raters’ sums: {sums}")
    if cut.must_pass:
        lines.append("Must be passed, whatever the score:")
        lines += [f"  {numbers[step.id]}. {fill(step.do, curriculum)}" for step in cut.must_pass]
    if cut.estimates:
        lines.append("Estimates of the other steps (mean, lowest to highest, of 100):")
        lines += [
            f"  {one.number}. {one.mean * 100:.0f} ({one.low * 100:.0f} to {one.high * 100:.0f})  "
            f"{fill(one.step.do, curriculum)}"
            for one in cut.estimates
        ]
    for out in cut.left_out:
        gaps = ", ".join(str(numbers[id]) for id in out.steps)
        lines.append(f"Set aside: rater {out.rater} gave no estimate for step {gaps}.")
    if cut.rated_critical:
        rated = ", ".join(str(numbers[id]) for id in cut.rated_critical)
        lines.append(f"Estimates of critical steps do not count: step {rated}.")
    lines.append("An attempt is clean only when every step is done: this cut score is for the faculty to adopt or not.")
    return "\n".join(lines)
