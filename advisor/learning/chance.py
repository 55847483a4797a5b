"""Counts of passes and failures: intervals, exact tests, and evidence that may be looked at again and again."""

from __future__ import annotations

import math
from typing import NamedTuple

#: The 97.5th percentile of the normal distribution.
_Z = 1.959963984540054


class Table(NamedTuple):
    """Failures and trials inside some scope, and outside it."""

    failed_in: int
    inside: int
    failed_out: int
    outside: int


def wilson(count: int, of: int) -> tuple[float, float]:
    """The 95 % interval (Wilson's score interval) of a share that was seen `count` times in `of`.

    Nothing seen leaves everything open. Raises ValueError where more were counted than there are.
    Source: Wilson 1927, from memory.

    >>> [round(edge, 4) for edge in wilson(12, 14)]
    [0.6006, 0.9599]
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of}")
    if of == 0:
        return 0.0, 1.0
    share, square = count / of, _Z * _Z
    middle = (share + square / (2 * of)) / (1 + square / of)
    reach = _Z / (1 + square / of) * math.sqrt(share * (1 - share) / of + square / (4 * of * of))
    return max(0.0, middle - reach), min(1.0, middle + reach)


def fisher_above(table: Table) -> float:
    """Fisher's exact test, one-sided: the chance of so many failures inside if the scope did not matter.

    Given all failures, those inside are hypergeometric. Source: R. A. Fisher, by any textbook.

    The tea cups: 4 of 4 told rightly, and none of the other four called so:

    >>> round(fisher_above(Table(4, 4, 0, 4)) * 70)
    1
    """
    failed, all_ = table.failed_in + table.failed_out, table.inside + table.outside
    most = min(failed, table.inside)
    whole = _log_choose(all_, table.inside)
    terms = (
        math.exp(_log_choose(failed, k) + _log_choose(all_ - failed, table.inside - k) - whole)
        for k in range(table.failed_in, most + 1)
        if table.inside - k <= all_ - failed
    )
    return min(1.0, math.fsum(terms))


def binomial_above(count: int, of: int, share: float) -> float:
    """The exact chance of `count` or more in `of`, each with the probability `share`.

    >>> binomial_above(3, 3, 0.5), binomial_above(0, 3, 0.5)
    (0.125, 1.0)
    """
    if count <= 0:
        return 1.0
    return min(1.0, math.fsum(_binomial(k, of, share) for k in range(count, of + 1)))


def evidence_of_difference(table: Table) -> float:
    """The e-value of the claim that a scope fails more often, against one share of failures everywhere.

    The likelihood of the counts where a failure is likely inside (share from Beta(4, 1)) and unlikely
    outside (Beta(1, 4)), over the best likelihood with one share for both. If the scope does not
    matter, the chance that this ever reaches 1/alpha, however often and whenever one looks while trials
    come in, is at most alpha: so no correction for looking again is needed. Source: test martingales and
    universal inference (Ville 1939; Wasserman, Ramdas and Balakrishnan 2020), from memory; the two Beta
    laws are our own choice, fixed before any trial.

    >>> round(evidence_of_difference(Table(11, 12, 3, 30)) / 1e3) > 100, evidence_of_difference(Table(1, 12, 3, 30)) < 1
    (True, True)
    """
    failed, all_ = table.failed_in + table.failed_out, table.inside + table.outside
    split = _beta_gain(table.failed_in, table.inside, 4.0, 1.0) + _beta_gain(
        table.failed_out, table.outside, 1.0, 4.0
    )
    return math.exp(min(700.0, split - _best(failed, all_)))


def evidence_above(count: int, of: int, share: float) -> float:
    """The e-value of the claim that something happens more often than `share` of the times.

    The likelihood averaged over shares from Beta(5, 1), over the best with at most `share`. As for
    `evidence_of_difference` it may be looked at after every trial.

    >>> evidence_above(30, 30, 0.7) > 20, evidence_above(7, 10, 0.7) < 1
    (True, True)
    """
    if not of:
        return 1.0
    best = min(share, count / of)
    null = _plus(count, best) + _plus(of - count, 1.0 - best)
    return math.exp(min(700.0, _beta_gain(count, of, 5.0, 1.0) - null))


def strongest(inside: int, outside: int) -> float:
    """The most evidence that so many trials could give: everything fails inside, nothing outside."""
    return evidence_of_difference(Table(inside, inside, 0, outside))


def _log_choose(of: int, count: int) -> float:
    return math.lgamma(of + 1) - math.lgamma(count + 1) - math.lgamma(of - count + 1)


def _binomial(count: int, of: int, share: float) -> float:
    return math.comb(of, count) * share**count * (1.0 - share) ** (of - count)


def _beta_gain(count: int, of: int, a: float, b: float) -> float:
    """Logarithm of the likelihood of one order of outcomes, averaged over shares from Beta(a, b)."""
    return _log_beta(count + a, of - count + b) - _log_beta(a, b)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _best(count: int, of: int) -> float:
    """Logarithm of the likelihood at the share that was seen."""
    return _plus(count, count / of) + _plus(of - count, 1.0 - count / of) if of else 0.0


def _plus(count: int, share: float) -> float:
    """Logarithm of share^count, with 0^0 = 1."""
    return count * math.log(share) if count else 0.0
