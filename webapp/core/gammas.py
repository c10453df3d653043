"""The gamma distribution, and with it chi-square and Poisson: SciPy's, imported when it is first asked for."""

from __future__ import annotations


def lower_gamma(shape: float, value: float) -> float:
    """The share of a gamma distribution (scale 1) below `value`: the regularised lower incomplete gamma function."""
    from scipy.special import gammainc

    return float(gammainc(shape, value))


def gamma_quantile(shape: float, share: float) -> float:
    """The value below which `share` of a gamma distribution (scale 1) lies; 0 for a shape of 0."""
    if shape <= 0:
        return 0.0
    from scipy.special import gammaincinv

    return float(gammaincinv(shape, share))


def chi_square_quantile(share: float, freedom: float) -> float:
    """The chi-square quantile: a gamma distribution of half the degrees of freedom, twice as wide."""
    return 2 * gamma_quantile(freedom / 2, share)
