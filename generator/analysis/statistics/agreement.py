"""Two raters on the same attempts: kappa and its relatives, with their errors.

Rows of a table are the first rater's categories, columns the second's, in the same order. Kappa alone misleads when
one category is rare (the same 85% agreement can give 0.70 or 0.32), so AC1, the prevalence index and the bias
index stand beside it, and the interval says more than any word for its size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from generator.analysis.statistics.result import Interval, Undefined, Why, normal_interval, square

Table = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kappa:
    """Agreement beyond chance, with the large-sample errors of Fleiss, Cohen and Everitt 1969."""

    observed: float
    """Share of agreement that was seen, weighted if weights were given."""
    expected: float
    """Share that chance gives from the two margins."""
    kappa: float
    error: float
    """Standard error for an interval around kappa."""
    error_by_chance: float
    """Standard error if only chance were at work, for the test against 0."""
    z: float | Undefined
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Cohen1968:
    """The historical standard errors of weighted kappa, superseded in 1969; kept to check against the paper."""

    error_10: float
    error_13: float
    z: float | Undefined


@dataclass(frozen=True, slots=True, kw_only=True)
class Ac1:
    """Gwet's AC1: agreement beyond chance, steady where one category is rare."""

    observed: float
    expected: float
    ac1: float
    error: float
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What a 2 x 2 table hides behind its kappa."""

    pabak: float
    """Prevalence-adjusted, bias-adjusted kappa: 2 x observed - 1."""
    prevalence_index: float
    """(both first - both second) / n: far from 0 when one category is rare."""
    bias_index: float
    """(first rater alone - second rater alone) / n: far from 0 when one rater marks harder."""

    @property
    def kappa(self) -> float | Undefined:
        """Kappa rebuilt from the three: (PABAK - PI^2 + BI^2) / (1 - PI^2 + BI^2)."""
        spread = 1 - self.prevalence_index**2 + self.bias_index**2
        if spread <= 0:
            return Undefined(why=Why.NO_VARIANCE)
        return (self.pabak - self.prevalence_index**2 + self.bias_index**2) / spread


def cohen_kappa(table: Table, *, confidence: float = 0.95) -> Kappa | Undefined:
    """Return Cohen's kappa of a square table of counts.

    Undefined when nothing was counted, or when both raters used one and the same category throughout.
    Source: Cohen 1960; errors from Fleiss, Cohen and Everitt 1969.
    """
    size = len(table)
    return weighted_kappa(table, [[float(i != j) for j in range(size)] for i in range(size)], confidence=confidence)


def weighted_kappa(table: Table, disagreement: Table, *, confidence: float = 0.95) -> Kappa | Undefined:
    """Return kappa with a weight for each kind of disagreement (0 on the diagonal, larger is worse).

    Source: Cohen 1968; errors from Fleiss, Cohen and Everitt 1969.
    """
    cells, n = _shares(table)
    if n == 0:
        return Undefined(why=Why.EMPTY)
    agree = _agreement_weights(disagreement, len(cells))
    rows, columns = _margins(cells)
    each = [(i, j) for i in range(len(cells)) for j in range(len(cells))]
    observed = math.fsum(agree[i][j] * cells[i][j] for i, j in each)
    expected = math.fsum(agree[i][j] * rows[i] * columns[j] for i, j in each)
    if 1 - expected < 1e-12:
        return Undefined(why=Why.NO_VARIANCE)
    kappa = (observed - expected) / (1 - expected)
    of_row = [math.fsum(columns[j] * agree[i][j] for j in range(len(cells))) for i in range(len(cells))]
    of_column = [math.fsum(rows[i] * agree[i][j] for i in range(len(cells))) for j in range(len(cells))]
    around_kappa = (
        math.fsum(cells[i][j] * (agree[i][j] - (of_row[i] + of_column[j]) * (1 - kappa)) ** 2 for i, j in each)
        - (kappa - expected * (1 - kappa)) ** 2
    )
    around_chance = (
        math.fsum(rows[i] * columns[j] * (agree[i][j] - of_row[i] - of_column[j]) ** 2 for i, j in each) - expected**2
    )
    error = _error(around_kappa, n, 1 - expected)
    by_chance = _error(around_chance, n, 1 - expected)
    return Kappa(
        observed=observed,
        expected=expected,
        kappa=kappa,
        error=error,
        error_by_chance=by_chance,
        z=kappa / by_chance if by_chance > 0 else Undefined(why=Why.NO_SPREAD_BY_CHANCE),
        interval=normal_interval(kappa, error, confidence),
    )


def cohen_1968_errors(table: Table, disagreement: Table) -> Cohen1968 | Undefined:
    """Return the standard errors of Cohen 1968, formulas 10 and 13, and kappa over the second."""
    found = weighted_kappa(table, disagreement)
    if isinstance(found, Undefined):
        return found
    cells, n = _shares(table)
    rows, columns = _margins(cells)
    each = [(i, j) for i in range(len(cells)) for j in range(len(cells))]
    chance = math.fsum(disagreement[i][j] * rows[i] * columns[j] for i, j in each)
    seen = math.fsum(disagreement[i][j] * cells[i][j] for i, j in each)
    seen_squares = math.fsum(disagreement[i][j] ** 2 * cells[i][j] for i, j in each)
    chance_squares = math.fsum(disagreement[i][j] ** 2 * rows[i] * columns[j] for i, j in each)
    error_13 = _error(chance_squares - chance**2, n, chance)
    return Cohen1968(
        error_10=_error(seen_squares - seen**2, n, chance),
        error_13=error_13,
        z=found.kappa / error_13 if error_13 > 0 else Undefined(why=Why.NO_SPREAD_BY_CHANCE),
    )


def gwet_ac1(table: Table, *, confidence: float = 0.95) -> Ac1 | Undefined:
    """Return Gwet's AC1 of a square table of counts, two raters. Undefined only when nothing was counted.

    Source: Gwet 2008, doi:10.1348/000711006X126600 (variance for two raters, no finite-population correction).
    """
    cells, n = _shares(table)
    if n == 0:
        return Undefined(why=Why.EMPTY)
    size = len(cells)
    rows, columns = _margins(cells)
    mean = [(row + column) / 2 for row, column in zip(rows, columns, strict=True)]
    observed = math.fsum(cells[i][i] for i in range(size))
    expected = math.fsum(share * (1 - share) for share in mean) / (size - 1)
    ac1 = (observed - expected) / (1 - expected)
    on_diagonal = math.fsum(cells[i][i] * (1 - mean[i]) for i in range(size)) / (size - 1)
    everywhere = (
        math.fsum(cells[i][j] * (1 - (mean[i] + mean[j]) / 2) ** 2 for i in range(size) for j in range(size))
        / (size - 1) ** 2
    )
    variance = (
        observed * (1 - observed)
        - 4 * (1 - ac1) * (on_diagonal - observed * expected)
        + 4 * (1 - ac1) ** 2 * (everywhere - expected**2)
    )
    error = _error(variance, n, 1 - expected)
    return Ac1(
        observed=observed,
        expected=expected,
        ac1=ac1,
        error=error,
        interval=normal_interval(ac1, error, confidence),
    )


def balance(table: Table) -> Balance | Undefined:
    """Return PABAK, prevalence index and bias index of a 2 x 2 table. Undefined when nothing was counted.

    ValueError for a larger table. Source: Byrt, Bishop and Carlin 1993.
    """
    cells, n = _shares(table)
    if len(cells) != 2:
        raise ValueError("prevalence and bias index are for a 2 x 2 table")
    if n == 0:
        return Undefined(why=Why.EMPTY)
    (both_first, first_alone), (second_alone, both_second) = cells
    return Balance(
        pabak=2 * (both_first + both_second) - 1,
        prevalence_index=both_first - both_second,
        bias_index=first_alone - second_alone,
    )


def word_for(kappa: float) -> str:
    """Return Landis and Koch's word for a kappa. A value on a boundary, such as 0.20, takes the lower word.

    The bands are arbitrary, as their authors say: show the interval, not the word. Source: doi:10.2307/2529310.
    """
    if kappa < 0:
        return "poor"
    bands = ((0.2, "slight"), (0.4, "fair"), (0.6, "moderate"), (0.8, "substantial"))
    return next((word for limit, word in bands if kappa <= limit), "almost perfect")


def _shares(table: Table) -> tuple[tuple[tuple[float, ...], ...], float]:
    """Cells as shares of all, and the number of all; the shares are 0 when it is."""
    counts = square(table)
    n = math.fsum(cell for row in counts for cell in row)
    return tuple(tuple(cell / n if n else 0.0 for cell in row) for row in counts), n


def _margins(cells: tuple[tuple[float, ...], ...]) -> tuple[list[float], list[float]]:
    return [math.fsum(row) for row in cells], [math.fsum(column) for column in zip(*cells, strict=True)]


def _agreement_weights(disagreement: Table, size: int) -> list[list[float]]:
    weights = square(disagreement)
    worst = max(max(row) for row in weights)
    if len(weights) != size or worst == 0 or any(weights[i][i] for i in range(size)):
        raise ValueError("weights need the shape of the table, 0 on the diagonal and something above 0 off it")
    return [[1 - weight / worst for weight in row] for row in weights]


def _error(variance: float, n: float, scale: float) -> float:
    """Standard error; a variance that is negative by rounding alone counts as 0."""
    return math.sqrt(max(variance, 0.0) / n) / scale if variance > 1e-15 else 0.0
