"""What a reading means, said at once: its level, the limit beside it and why, and whether it can be trusted."""

from __future__ import annotations

from advisor.library.base import Base
from advisor.library.items import Limit
from advisor.pages.wording import limit_text, number_text, plain, wrapped
from advisor.reasoning.case import Case
from advisor.reasoning.derive import Findings, derive, limit_value

_BESIDE = {
    "co2": ("excess_air", "net_stack", "efficiency"), "o2": ("co2", "excess_air", "efficiency"),
    "draft_over_fire": ("draft_drop",), "draft_breech": ("draft_drop",), "co": ("co_air_free",),
    "stack_temperature": ("net_stack", "efficiency"),
}
"""What is worth saying beside a reading as soon as it can be computed."""


def meaning(base: Base, case: Case, name: str) -> list[str]:
    """Lines that say what the latest entry of a name means.

    Parameters
    ----------
    base : Base
    case : Case
    name : str
        A quantity or an observation; nothing is said where it has no value.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> meaning(load(), Case((Entry("co", "40", 40.0),)), "co")[0]
    '  carbon monoxide in the flue gas 40 ppm: normal'
    """
    entry = case.latest.get(name)
    if entry is None or entry.value is None:
        return []
    if isinstance(entry.value, str):
        means = base.observations[name].means.get(entry.value, "")
        added = "" if means in ("", "yes", "no") else f" - {means}"
        return wrapped(f"{base.title(name)}: {plain(entry.value)}{added}", 2, 4)
    found = derive(case, base)
    out = _number(base, case, found, name)
    for other in _BESIDE.get(name, ()):
        if other in found.numbers and found.numbers[other].formula:
            out += _number(base, case, found, other)
    return out


def _number(base: Base, case: Case, found: Findings, name: str) -> list[str]:
    quantity, number = base.quantities[name], found.numbers[name]
    said = f"{quantity.title} {number_text(base, number)}"
    band = found.bands.get(name)
    if band is None:
        return wrapped(said, 2, 4)
    answers = {key: symbol for key, symbol in found.symbols.items() if key in base.observations}
    limit = _nearest(base, case, name, number.value, answers, band.symbol)
    out = wrapped(f"{said}: {plain(band.symbol)}", 2, 4)
    usual = max(quantity.bands, key=lambda symbol: quantity.bands[symbol])
    if limit is not None and band.symbol != usual:
        text = limit_text(base, limit, answers, case.manufacturer)
        out += wrapped(f"{plain(limit.below)} and {plain(limit.above)} part at {text}: {limit.because}", 4, 4)
    if band.share < 1:
        off = "its error" if number.formula else "the instrument can tell"
        out += wrapped(f"Borderline: nearer to the limit of {plain(band.neighbor)} than {off}.", 4, 4)
    return out


def _nearest(
    base: Base, case: Case, name: str, value: float, answers: dict[str, str], symbol: str
) -> Limit | None:
    """The limit of the band that the value lies in that is nearest to it."""
    own = [limit for limit in base.limits_of.get(name, ()) if symbol in (limit.below, limit.above)]
    return min(own, key=lambda limit: abs(limit_value(limit, answers, case.manufacturer)[0] - value), default=None)
