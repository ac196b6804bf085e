"""What causes show on the basic readings and looks, in words, and how the causes of a family are told apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from advisor.library.base import Base
from advisor.library.items import IN_ORDER, Cause, Family, Panel
from advisor.pages.wording import plain
from advisor.reasoning.signatures import Chart, Stages, chart_of

_CLEAR: Final = 0.08
"""From this difference to a unit in order on, a cause is said to show a level."""
_MOST: Final = 6
"""The causes named for one level."""


def share_text(share: float) -> str:
    """A share of units in words.

    >>> share_text(0.62), share_text(0.04), share_text(0.97), share_text(0.001)
    ('6 in 10', '4 in 100', 'nearly all', 'hardly any')
    """
    if share >= 0.95:
        return "nearly all"
    if share >= 0.095:
        return f"{10 * share:.0f} in 10"
    return f"{100 * share:.0f} in 100" if share >= 0.005 else "hardly any"


def shows(base: Base, cause: Cause) -> Iterator[str]:
    """What a cause shows on each reading that it moves, against a unit in order; nothing where that is not known.

    >>> from advisor.library.base import load
    >>> base = load()
    >>> next(line for line in shows(base, base.causes["blocked-flue"]) if line.startswith("draft over"))[:29]
    'draft over the fire: positive'
    """
    if cause.name not in base.signatures:
        return
    chart = chart_of(base, {})
    for panel in chart.panels:
        parts = []
        for level in chart.levels[panel]:
            gone, begun = _stages(chart, panel, level, cause.name)
            usual, _ = _stages(chart, panel, level, IN_ORDER)
            if gone - usual >= _CLEAR:
                seldom = f"{share_text(begun)} where only begun, {share_text(usual)} in order"
                parts.append((gone, f"{plain(level)} {share_text(gone)} ({seldom})"))
        if parts:
            yield f"{base.title(panel)}: " + "; ".join(text for _, text in sorted(parts, reverse=True))


def showing(base: Base, panel: Panel) -> Iterator[str]:
    """For each level of a reading the causes that show it most often."""
    chart = chart_of(base, {})
    for level in chart.levels[panel.name]:
        usual = _stages(chart, panel.name, level, IN_ORDER)[0]
        row = sorted(((_stages(chart, panel.name, level, name)[0], name) for name in base.causes), reverse=True)
        most = [f"{base.title(name)} ({share_text(gone)})" for gone, name in row if gone - usual >= _CLEAR][:_MOST]
        yield f"{plain(level)}, on {share_text(usual)} units in order" + (f": {', '.join(most)}" if most else "")


def told_apart(base: Base, family: Family) -> Iterable[str]:
    """Each member of a family, with the look that confirms it."""
    for name in family.members:
        cause = base.causes[name]
        check = base.checks[cause.confirm_check]
        yield f"{cause.title}: {check.title} ({check.minutes:g} min) shows {cause.confirm_shows}"


def families_of(base: Base, cause: Cause) -> list[str]:
    """The titles of the families that a cause belongs to."""
    return [family.title for family in base.families.values() if cause.name in family.members]


def _stages(chart: Chart, panel: str, level: str, cause: str) -> Stages:
    return chart.rows[panel, level, ""][cause]
