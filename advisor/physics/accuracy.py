"""What the accuracy of readings makes of a figure computed from them: propagation, and how the two are written.

An accuracy is taken throughout as an *expanded uncertainty* with coverage factor 2: two standard deviations, within
which about 95 of 100 readings lie [1]_ (6.2, G.6.6). Errors of two readings are taken as independent.

What a figure's error is depends on its formula. To first order each reading counts by its sensitivity coefficient, the
figure's change for a change of that reading, and the shares add as the root of the sum of their squares (5.1.2). A
reading that enters in two places, or by way of two figures, is still one reading: its shares add up with their signs
before they are squared (5.2.2, note 1). The coefficients are taken from the formulas themselves, by one standard
deviation up and one down (5.1.3, note 2).

References
----------
.. [1] JCGM 100:2008, Evaluation of measurement data - Guide to the expression of uncertainty in measurement (GUM 1995
   with minor corrections). Numbers of clauses from memory.
.. [2] JCGM 101:2008, Supplement 1 to it: Propagation of distributions using a Monte Carlo method. The tests confirm the
   linear propagation by it (its clause 8).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

from advisor.physics import units
from advisor.physics.units import PhysicsError

__all__ = ["COVERAGE", "added", "format_with_error", "joint", "rounded", "sensitivities"]

COVERAGE = 2.0
"""An accuracy over its standard deviation; of normal errors 95.4 % lie within two [1]_."""


def sensitivities(
    function: Callable[..., float], values: Sequence[float], errors: Sequence[float]
) -> tuple[float, ...]:
    """By how much a figure changes for each of the values that it is computed from (sensitivity coefficients).

    Parameters
    ----------
    function : callable
        Computes the figure from the values, in their order.
    values : sequence of float
        At which it is asked; the function must be defined there.
    errors : sequence of float
        Accuracy of each value, in its unit; 0 where it is exact, and its coefficient is then not worked out.

    Returns
    -------
    tuple of float
        Unit of the figure over unit of each value. At the edge of what the function is defined for, only the side on
        which it is counts.

    Raises
    ------
    PhysicsError
        A value that cannot be moved by its own error either way without leaving what the function is defined for.

    Examples
    --------
    >>> sensitivities(lambda width, height: width * height, (3.0, 2.0), (0.5, 0.0))
    (2.0, 0.0)

    References
    ----------
    See [1]_ in the module's docstring, 5.1.3, note 2.
    """
    out = []
    for place, (value, error) in enumerate(zip(values, errors, strict=True)):
        if not error:
            out.append(0.0)
            continue
        step = error / COVERAGE
        sides = [_moved(function, values, place, value + step), _moved(function, values, place, value - step)]
        high, low = sides
        if high is not None and low is not None:
            out.append((high - low) / (2.0 * step))
        elif high is None and low is None:
            raise PhysicsError(f"{value:g} give or take {step:g} lies outside what the formula holds for on both sides")
        else:
            here = function(*values)
            out.append((high - here) / step if high is not None else (here - low) / step if low is not None else 0.0)
    return tuple(out)


def _moved(function: Callable[..., float], values: Sequence[float], place: int, value: float) -> float | None:
    try:
        return function(*values[:place], value, *values[place + 1:])
    except PhysicsError:
        return None


def added(shares: Iterable[tuple[float, Mapping[str, float]]]) -> dict[str, float]:
    """The shares of each source in a figure's error, from those in what the figure is computed from.

    Parameters
    ----------
    shares : iterable of (float, mapping)
        For each value that the figure is computed from: its coefficient, and the signed share of each source in its
        own error.

    Examples
    --------
    One thermometer's error cancels in a difference of two readings that rest on it:

    >>> added([(1.0, {"thermometer": 5.0}), (-1.0, {"thermometer": 5.0, "other": 2.0})])
    {'thermometer': 0.0, 'other': -2.0}
    """
    out: dict[str, float] = {}
    for coefficient, sources in shares:
        for source, share in sources.items():
            out[source] = out.get(source, 0.0) + coefficient * share
    return out


def joint(errors: Iterable[float]) -> float:
    """The error that independent ones come to together: the root of the sum of their squares.

    >>> joint((3.0, 4.0))
    5.0

    References
    ----------
    See [1]_ in the module's docstring, 5.1.2.
    """
    return math.hypot(*errors)


def rounded(value: float, error: float, kind: str) -> tuple[str, str]:
    """A figure and its error in the canonical unit of its kind, both to the digit that the error gives a meaning.

    The error is written with one significant digit, with two where it begins with 1: rounding 0.14 to 0.1 would take a
    third of it away. The figure ends at the same place.

    Parameters
    ----------
    value : float
        In the kind's canonical unit.
    error : float
        In the same unit, 0 or more; of an exact figure (0) it is empty.
    kind : str
        A name in :data:`advisor.physics.units.KINDS`.

    Returns
    -------
    (str, str)
        Each with its unit.

    Raises
    ------
    PhysicsError
        Unknown kind, or a figure or an error that is not finite.

    Examples
    --------
    >>> rounded(82.34, 0.28, "percent"), rounded(28.13, 1.37, "percent")
    (('82.3 %', '0.3 %'), ('28.1 %', '1.4 %'))
    >>> rounded(117682.0, 2920.0, "power"), rounded(93.5, 0.0, "concentration")
    (('118,000 Btu/h', '3,000 Btu/h'), ('94 ppm', ''))

    References
    ----------
    See [1]_ in the module's docstring, 7.2.6; two digits where the first is 1 are common practice.
    """
    if not units.within("error", error, 0.0, math.inf, units.symbol(kind)):
        return units.format_value(value, kind), ""
    digits = _digits(error)
    number, off = (units.format_value(round(one, digits), kind, max(0, digits)) for one in (value, error))
    return number, off


def format_with_error(value: float, error: float, kind: str) -> str:
    """A figure give or take its error, as :func:`rounded` writes the two.

    >>> format_with_error(82.34, 0.28, "percent"), format_with_error(93.5, 0.0, "concentration")
    ('82.3 +/- 0.3 %', '94 ppm')
    """
    number, off = rounded(value, error, kind)
    unit = units.symbol(kind)
    return f"{number.removesuffix(unit).rstrip()} +/- {off}" if off else number


def _digits(error: float) -> int:
    """Decimals to which an error is written; below 0 for tens, hundreds and so on."""
    first = math.floor(math.log10(error))
    return 1 - first if round(error / 10.0**first, 1) < 2.0 else -first
