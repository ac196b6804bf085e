"""Reports to look at: the demo before and after, one visit alone, and a visit full of dangers."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path

from advisor.library.base import Base, load
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.casefile import parse_case, read_case
from advisor.report.render import Report, report_html
from advisor.visit.airsetting import settings_of

DEMO = Path(__file__).parents[2] / "demo"
DAY = date(2026, 11, 25)
DANGEROUS = """
equipment: {appliance: furnace, burner: retention-head, fuel: no-2-oil}
entries: {symptoms: "yes", room co: 120 ppm, smoke: 6, o2: 9 %, stack: 560 F, room: 70 F, co: 480 ppm,
  over fire: "+.01", breech: -.005, oil_leak: dripping, relief_valve: could not check, flame_look: not checked}
"""


@lru_cache
def base() -> Base:
    return load()


def case(text: str) -> Assessment:
    """The assessment of a case file's text."""
    return assess(parse_case(text, "case.yaml", base()), base())


@lru_cache
def demo() -> Report:
    """The demo boiler, cleaned and set."""
    after = read_case(DEMO / "after.yaml", base())
    return Report("Mill Lane, boiler", DAY, assess(read_case(DEMO / "sooting-boiler.yaml", base()), base()),
                  assess(after, base()), "R. Example", ("clean-gas-passages", "set-air-by-smoke-and-co2"),
                  ("sooted-gas-passages",), ("Swept the foot of the chimney too.",),
                  tuple((one.smoke, one.co2) for one in settings_of(after, base())))


def lone() -> Report:
    """The demo boiler, measured and left as it was."""
    return replace(demo(), after=None, remedies=(), confirmed=(), notes=(), air=())


def dangerous() -> Report:
    """A furnace with many dangers at once."""
    return Report("Quarry Road, furnace", DAY, case(DANGEROUS))


def demo_report(names: Collection[str] = ()) -> str:
    return report_html(base(), demo(), names)


def lone_report(names: Collection[str] = ()) -> str:
    return report_html(base(), lone(), names)


def dangerous_report(names: Collection[str] = ()) -> str:
    return report_html(base(), dangerous(), names)
