"""Confidence intervals of a share and of a quantile from a sample, and what clusters in it cost.

Sources: Clopper and Pearson, The use of confidence or fiducial limits illustrated in the case of the
binomial, Biometrika 26, 1934; Conover, Practical Nonparametric Statistics, on confidence intervals of
quantiles by order statistics; Kish, Survey Sampling, 1965, on the design effect (all from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints


def share_interval(hits: float, n: float, confidence: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's interval of a share.

    Parameters
    ----------
    hits, n : float
        Successes among trials; not whole numbers where a clustered sample counts for a smaller one.
    confidence : float
        Of both sides together.

    Returns
    -------
    low, high : float
    """
    from scipy.special import betaincinv  # only a study needs it

    rest = (1 - confidence) / 2
    low = 0.0 if hits <= 0 else float(betaincinv(hits, n - hits + 1, rest))
    high = 1.0 if hits >= n else float(betaincinv(hits + 1, n - hits, 1 - rest))
    return low, high


def quantile_interval(
    values: Array, share: float, confidence: float = 0.95, design_effect: float = 1.0
) -> tuple[float, float]:
    """Interval of a quantile between two order statistics, whatever the distribution.

    Parameters
    ----------
    values : (n,) float array
        The sample.
    share : float
        Which quantile, 0.05 for the fifth percentile.
    confidence : float
        Of both sides together.
    design_effect : float
        Variance of a share in this sample over that in an independent one.

    Returns
    -------
    low, high : float
        The order statistics whose ranks are the binomial's quantiles.
    """
    from scipy.special import bdtrik

    ordered, n = np.sort(values), len(values)
    counts = n / design_effect
    rest = (1 - confidence) / 2
    ranks = [float(bdtrik(p, counts, share)) / counts * n for p in (rest, 1 - rest)]
    low = int(np.clip(np.floor(ranks[0]), 1, n))
    high = int(np.clip(np.ceil(ranks[1]) + 1, 1, n))
    return float(ordered[low - 1]), float(ordered[high - 1])


def design_effect(hits: NDArray[np.bool_], cluster: Ints) -> float:
    """Variance of the mean of clustered trials over that of as many independent ones, not below 1.

    Parameters
    ----------
    hits : (n,) bool array
        Outcomes.
    cluster : (n,) int array
        Trials of one cluster share what was drawn once for it.

    Returns
    -------
    float
        1 + (m - 1) rho, rho the correlation within clusters from the analysis of variance.

    References
    ----------
    Kish, Survey Sampling, 1965 (from memory).
    """
    count = np.bincount(cluster).astype(float)
    there = count > 0
    total = np.bincount(cluster, hits)[there]
    count = count[there]
    k, n = len(count), count.sum()
    mean = hits.mean()
    if k == n or mean in (0.0, 1.0):
        return 1.0
    between = (count * (total / count - mean) ** 2).sum() / (k - 1)
    within = (total * (1 - total / count)).sum() / (n - k)
    size = (n - (count**2).sum() / n) / (k - 1)
    rho = (between - within) / (between + (size - 1) * within)
    return float(max(1.0, 1 + ((count**2).sum() / n - 1) * rho))
