"""How fast a skill fades, if it fades by halves. That form is an assumption: a start for a refresher interval."""

from __future__ import annotations

import math

from generator.analysis.statistics.result import Undefined, Why, require_inside


def months_to(target: float, *, half_life_months: float) -> float:
    """Return the months until the share `target` of a gain is left: half-life x log2(1 / target).

    Errors: ValueError unless target is between 0 and 1 and the half-life is above 0 and finite.
    Source: half-lives in Tatel and Ackerman 2025, doi:10.1037/bul0000481; the exponential form is our assumption.
    """
    require_inside("target", target)
    if not 0 < half_life_months < math.inf:
        raise ValueError(f"a half-life must be above 0, not {half_life_months!r}")
    return half_life_months * math.log2(1 / target)


def half_life(*, before: float, after: float, months: float) -> float | Undefined:
    """Return the half-life in months that two success shares imply: t ln 2 / ln(p0 / p1).

    Undefined when the share did not fall. Errors: ValueError unless both shares are between 0 and 1, months above 0.
    Source: closed form; checked on Ruetzler et al. 2011 (Resuscitation 82:593-597).
    """
    require_inside("before", before)
    require_inside("after", after)
    if not 0 < months < math.inf:
        raise ValueError(f"months must be above 0, not {months!r}")
    if after >= before:
        return Undefined(why=Why.NEVER)
    return months * math.log(2) / math.log(before / after)
