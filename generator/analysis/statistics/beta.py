"""The beta and binomial distributions, without an outside library.

The incomplete beta function is the continued fraction of DLMF 8.17.22 by the modified Lentz method. Its factor in
front is the binomial density by saddle-point expansion (Loader 2000, Fast and Accurate Computation of Binomial
Probabilities), which keeps its digits where log-gamma differences would lose them.
"""

from __future__ import annotations

import math

from generator.analysis.statistics.result import require_probability

_TINY = 1e-300
_EPSILON = 1e-16


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the chance that a beta(a, b) variable is at most x: the regularised incomplete beta function.

    ValueError unless a and b are above 0 and x is from 0 to 1.
    """
    _require_shape(a, b)
    require_probability("x", x)
    if x in (0.0, 1.0):
        return x
    front = a * b / (a + b) * _binomial_density(a, b, x)
    if x <= (a + 1) / (a + b + 2):
        return min(1.0, front / a * _fraction(x, a, b))
    return max(0.0, 1.0 - front / b * _fraction(1.0 - x, b, a))


def beta_quantile(p: float, a: float, b: float) -> float:
    """Return x with beta_cdf(x, a, b) = p, by Newton steps held inside a shrinking bracket.

    ValueError unless a and b are above 0 and p is from 0 to 1.
    """
    _require_shape(a, b)
    require_probability("p", p)
    if p in (0.0, 1.0):
        return p
    if a == 1:
        return -math.expm1(math.log1p(-p) / b)
    if b == 1:
        return math.exp(math.log(p) / a)
    low, high, x = 0.0, 1.0, a / (a + b)
    for _ in range(200):
        miss = beta_cdf(x, a, b) - p
        if miss > 0:
            high = x
        else:
            low = x
        density = a * b / (a + b) * _binomial_density(a, b, x) / (x * (1.0 - x))
        following = x - miss / density if density > 0 else math.nan
        if not low < following < high:
            following = (low + high) / 2
        if abs(following - x) <= 4 * _EPSILON * x or miss == 0:
            return following if miss else x
        x = following
    return x


def binomial_at_most(events: int, trials: int, p: float) -> float:
    """Return the chance of at most `events` in `trials` with chance p each."""
    require_probability("p", p)
    if events < 0:
        return 0.0
    return 1.0 if events >= trials else beta_cdf(1.0 - p, trials - events, events + 1)


def _require_shape(a: float, b: float) -> None:
    if not (0 < a < math.inf and 0 < b < math.inf):
        raise ValueError(f"a beta distribution needs two numbers above 0, not {a!r} and {b!r}")


def _fraction(x: float, a: float, b: float) -> float:
    """Continued fraction of the incomplete beta function; converges fast for x below (a + 1) / (a + b + 2)."""
    c = 1.0
    d = 1.0 / _away_from_zero(1.0 - (a + b) * x / (a + 1))
    result = d
    limit = 500 + 10 * math.isqrt(int(max(a, b)))
    for m in range(1, limit):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 / _away_from_zero(1.0 + numerator * d)
            c = _away_from_zero(1.0 + numerator / c)
            result *= c * d
        if abs(c * d - 1.0) < 3 * _EPSILON:
            return result
    raise ArithmeticError(f"no convergence for beta({a}, {b}) at {x}")


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def _binomial_density(a: float, b: float, x: float) -> float:
    """Binomial density of a in a + b with chance x, for any numbers a and b above 0."""
    n = a + b
    exponent = (
        _stirling_error(n) - _stirling_error(a) - _stirling_error(b) - _deviance(a, n * x) - _deviance(b, n * (1.0 - x))
    )
    return math.exp(exponent) * math.sqrt(n / (2 * math.pi * a * b))


def _stirling_error(n: float) -> float:
    """What Stirling's formula leaves over of log(n!)."""
    if n < 16:
        return math.lgamma(n + 1) - (n + 0.5) * math.log(n) + n - 0.5 * math.log(2 * math.pi)
    square = n * n
    series = 1 / 1260 - (1 / 1680 - (1 / 1188 - 691 / 360360 / square) / square) / square
    return (1 / 12 - (1 / 360 - series / square) / square) / n


def _deviance(x: float, mean: float) -> float:
    """Return x log(x / mean) + mean - x, by a series where the plain form would cancel."""
    if abs(x - mean) >= 0.1 * (x + mean):
        return x * math.log(x / mean) + mean - x
    v = (x - mean) / (x + mean)
    total = (x - mean) * v
    term = 2 * x * v
    for j in range(1, 1000):
        term *= v * v
        following = total + term / (2 * j + 1)
        if following == total:
            break
        total = following
    return total
