"""Clean attempts in a row: what a clearance rule lets through, and how many attempts a claim needs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.analysis.statistics.result import Undefined, Why, require_inside, require_probability


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChance:
    """Chance of a run of clean attempts, attempt by attempt."""

    run: int
    by_attempt: tuple[float, ...]
    """At index k: the chance that the run is complete within k attempts. Index 0 is before the first."""

    @property
    def chance(self) -> float:
        """The chance within all attempts."""
        return self.by_attempt[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanWait:
    """Attempts until the run is complete, on average."""

    attempts: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptsNeeded:
    """Clean attempts, none missed, after which a success chance is at least `reliability` with `confidence`."""

    attempts: int
    reliability: float
    confidence: float


def run_chance(*, success: float, run: int, attempts: int) -> RunChance:
    """Return the exact chance of `run` clean attempts in a row within `attempts`, for independent attempts.

    It follows the length of the current run as a Markov chain, so only sums and products of positive numbers occur.
    Errors: ValueError unless success is from 0 to 1, run from 1 and attempts from 0.
    Source: Feller, An Introduction to Probability Theory, vol. 1, ch. XIII.7; OEIS A050227, A008466.
    """
    _require_run(success, run)
    if attempts < 0:
        raise ValueError(f"attempts must be 0 or more, not {attempts}")
    lengths = [1.0] + [0.0] * (run - 1)
    done = 0.0
    by_attempt = [done]
    for _ in range(attempts):
        missed = (1.0 - success) * math.fsum(lengths)
        done += success * lengths[-1]
        lengths = [missed, *(success * share for share in lengths[:-1])]
        by_attempt.append(min(done, 1.0))
    return RunChance(run=run, by_attempt=tuple(by_attempt))


def no_run_by_root(*, success: float, run: int, attempts: int) -> float:
    """Return Feller's approximation to the chance of NO run, from the root of 1 - x + q p^r x^(r+1) near 1.

    Only for 0 < success < 1 and an expected wait that is finite; the exact `run_chance` is what reports use.
    Source: Feller, vol. 1, ch. XIII.7, equation 7.11.
    """
    require_inside("success", success)
    _require_run(success, run)
    if success == run / (run + 1):
        raise ValueError("here the root is double and the approximation has no value")
    miss = 1.0 - success
    x = 1.0
    for _ in range(100_000):
        following = 1.0 + miss * success**run * x ** (run + 1)
        if abs(following - x) < 1e-15:
            break
        x = following
    return (1.0 - success * x) / ((run + 1 - run * x) * miss) / x ** (attempts + 1)


def mean_wait(*, success: float, run: int) -> MeanWait | Undefined:
    """Return the mean number of attempts to a run: (1 - p^r) / ((1 - p) p^r), summed so that p = 1 gives r.

    Undefined when success is 0. Source: Feller, vol. 1, ch. XIII.7.
    """
    _require_run(success, run)
    if success == 0:
        return Undefined(why=Why.NEVER)
    return MeanWait(attempts=math.fsum(success**-i for i in range(1, run + 1)))


def attempts_needed(*, reliability: float, confidence: float) -> AttemptsNeeded:
    """Return how many attempts without a miss support a success chance: ceil(ln(1 - C) / ln R).

    The Bayesian variant with a uniform prior asks for one attempt fewer; this is the plain one.
    Errors: ValueError unless both are between 0 and 1: no number of clean attempts proves a chance of 1.
    Source: success-run theorem.
    """
    require_inside("reliability", reliability)
    require_inside("confidence", confidence)
    exact = math.log1p(-confidence) / math.log(reliability)
    # An exact whole number may come out a hair too high; do not ask for one attempt more because of that.
    attempts = max(1, math.ceil(exact - 1e-9))
    return AttemptsNeeded(attempts=attempts, reliability=reliability, confidence=confidence)


def all_steps_chance(*, each: float, steps: int) -> float:
    """Return the chance that every one of `steps` is done, if each is done with the same chance independently."""
    require_probability("each", each)
    if steps < 0:
        raise ValueError(f"steps must be 0 or more, not {steps}")
    return float(each**steps)


def _require_run(success: float, run: int) -> None:
    require_probability("success", success)
    if run < 1:
        raise ValueError(f"a run needs at least 1 attempt, not {run}")
