"""Pages of families, of basic readings, and of what a cause shows on them."""

from __future__ import annotations

import pytest

from advisor.library.base import load
from advisor.pages.handbook import page
from advisor.pages.shown import share_text, showing, shows


def flat(lines: list[str]) -> str:
    assert max(map(len, lines)) <= 80
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("family", sorted(load().families))
def test_a_family_names_its_members_with_the_look_that_confirms_each(family: str) -> None:
    base = load()
    text = flat(page(base, family))
    for name in base.families[family].members:
        assert base.causes[name].title in text
        assert base.checks[base.causes[name].confirm_check].title in text


@pytest.mark.parametrize("panel", sorted(load().panels))
def test_a_basic_reading_names_the_causes_that_show_each_level(panel: str) -> None:
    base = load()
    lines = list(showing(base, base.panels[panel]))
    assert len(lines) == len(base.named[panel].symbols)
    assert any(":" in line for line in lines)
    assert all(line in flat(page(base, panel)) for line in lines)


def test_what_a_cause_moves_is_told_and_nothing_else() -> None:
    """Common practice: a blocked flue takes the draft from the fire; soot in the passages makes the drop."""
    base = load()
    blocked = list(shows(base, base.causes["blocked-flue"]))
    assert any(line.startswith("draft over the fire: positive") for line in blocked)
    assert not any(line.startswith("draft drop from breech to fire: high") for line in blocked)
    sooted = list(shows(base, base.causes["sooted-gas-passages"]))
    assert any(line.startswith("draft drop from breech to fire: high") for line in sooted)


def test_shares_never_round_to_all_or_nothing_by_the_way() -> None:
    assert [share_text(share) for share in (0.0, 0.004, 0.05, 0.0951, 0.5, 0.949, 1.0)] == [
        "hardly any", "hardly any", "5 in 100", "1 in 10", "5 in 10", "9 in 10", "nearly all"]
