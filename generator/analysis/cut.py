"""A skill's cut score from raters' estimates, with the critical steps kept apart.

Each rater says for each step: of 100 learners who are only just ready, how many would do it. A rater's sum is the
number of steps that such a learner does; the cut score is the mean of the sums (Angoff 1971). Critical steps stay
outside: each must be passed, and no score offsets one. A rater who left out a step has no sum and is set aside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from generator.analysis.statistics.means import student_t
from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.statistics.standards import CutScore, angoff
from generator.model import Skill, Step


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A rater who did not rate every step, and the steps that lack an estimate."""

    rater: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepEstimate:
    """The raters' estimates of one step, over the raters who count."""

    step: Step
    number: int
    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A skill's cut score over its steps that are not critical, and the steps that must be passed whatever it is."""

    skill: str
    raters: tuple[str, ...]
    """Raters who count, in the order of `score.judge_sums`."""
    score: CutScore | Undefined
    must_pass: tuple[Step, ...]
    estimates: tuple[StepEstimate, ...]
    left_out: tuple[LeftOut, ...]
    rated_critical: tuple[str, ...]
    """Critical steps that raters rated all the same; their estimates do not count."""

    @property
    def whole_steps(self) -> int | None:
        """The cut score as a number of whole steps that can be counted on a checklist: rounded up."""
        return None if isinstance(self.score, Undefined) else math.ceil(self.score.cut - 1e-9)

    @property
    def interval(self) -> Interval | Undefined:
        """Where a very large panel of such raters would set it, 95% sure, inside 0 to all steps.

        The cut score ± t standard errors with one degree of freedom fewer than raters (Student 1908), because a panel
        is small.
        """
        if isinstance(self.score, Undefined):
            return self.score
        if isinstance(self.score.error, Undefined):
            return self.score.error
        half = student_t(len(self.raters) - 1, confidence=0.95) * self.score.error
        low, high = self.score.cut - half, self.score.cut + half
        return Interval(low=max(0.0, low), high=min(float(self.score.steps), high), confidence=0.95)


def cut_of(skill: Skill, estimates: Mapping[tuple[str, str], float], raters: Sequence[str]) -> Cut:
    """Return the cut score of a skill; `estimates` hold a chance from 0 to 1 by (step id, rater).

    `score` is Undefined when no rater rated every step, or when every step is critical.
    """
    free = [(number, step) for number, step in enumerate(skill.steps, 1) if not step.critical]
    left_out = tuple(
        LeftOut(rater=rater, steps=gaps)
        for rater in raters
        if (gaps := tuple(step.id for _, step in free if (step.id, rater) not in estimates))
    )
    whole = tuple(rater for rater in raters if rater not in {one.rater for one in left_out})
    marks = {step.id: [estimates[step.id, rater] for rater in whole] for _, step in free}
    return Cut(
        skill=skill.id,
        raters=whole,
        score=angoff([[marks[step.id][i] for _, step in free] for i in range(len(whole))]),
        must_pass=skill.critical_steps,
        estimates=tuple(
            StepEstimate(
                step=step,
                number=number,
                mean=math.fsum(marks[step.id]) / len(whole),
                low=min(marks[step.id]),
                high=max(marks[step.id]),
            )
            for number, step in free
            if whole
        ),
        left_out=left_out,
        rated_critical=tuple(
            step.id for step in skill.critical_steps if any((step.id, rater) in estimates for rater in raters)
        ),
    )
