"""Dangerous situations that must be raised, each with what it forbids, and sound ones that must not."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import parse_case
from advisor.reasoning.entries import read_entry
from tests.trust.as_typed import base

_FILES = [Path(__file__).with_name(name) for name in ("situations.yaml", "situations_told.yaml")]
_READ = [yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.BaseLoader) for file in _FILES]  # scalars stay text
_ALL = {kind: [row for read in _READ for row in read[kind]] for kind in ("dangerous", "sound")}


def case_of(entries: dict[str, str]) -> Case:
    return parse_case(yaml.safe_dump({"entries": entries}), "situations.yaml", base())


def names(found: Assessment) -> set[str]:
    return {one.name for one in found.hazards}


def test_there_are_enough_of_both() -> None:
    assert len(_ALL["dangerous"]) == 92
    assert len(_ALL["sound"]) == 90


@pytest.mark.parametrize("row", _ALL["dangerous"], ids=lambda row: str(row["told"])[:60])
def test_a_dangerous_situation_is_raised_and_what_it_forbids_is_held_back(row: dict[str, object]) -> None:
    entries = row["entries"]
    assert isinstance(entries, dict)
    found = assess(case_of(entries), base(), look_ahead=False)
    wanted = row["hazards"]
    assert isinstance(wanted, list)
    assert set(wanted) <= names(found)
    held_back, allowed = row.get("held_back", []), row.get("allowed", [])
    assert isinstance(held_back, list)
    assert isinstance(allowed, list)
    assert bool(found.gate.emergency) == ("leave" in row)
    for act in held_back:
        if act in ("inside", "occupants") or not found.gate.emergency:
            assert any(stop.hazard for stop in found.gate.stops([act])), act
    if "leave" in row:
        assert found.gate.stops(["inside"])
        case = case_of(entries)
        found = assess(case.having(read_entry(base(), "house_entry", str(row["leave"]))), base(), look_ahead=False)
        assert not found.gate.emergency
        assert set(wanted) <= names(found)
        for act in held_back:
            if act != "inside":
                assert any(stop.hazard for stop in found.gate.stops([act])), act
    for act in allowed:
        assert not [stop for stop in found.gate.stops([act]) if stop.hazard], act


@pytest.mark.parametrize("row", _ALL["sound"], ids=lambda row: str(row["told"])[:60])
def test_a_sound_situation_is_not_raised_or_only_as_what_it_is(row: dict[str, object]) -> None:
    entries = row["entries"]
    assert isinstance(entries, dict)
    found = assess(case_of(entries), base(), look_ahead=False)
    wanted, allowed, held_back = row["hazards"], row.get("allowed", []), row.get("held_back", [])
    assert isinstance(wanted, list)
    assert isinstance(allowed, list)
    assert isinstance(held_back, list)
    assert names(found) == set(wanted)
    for act in allowed:
        assert not found.gate.stops([act]), act
    for act in held_back:
        assert found.gate.stops([act]), act
