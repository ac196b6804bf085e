"""Case files: read back as written, replaced whole or not at all."""

from __future__ import annotations

import errno
import os
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import parse_case, read_case, save_case, write_case
from advisor.reasoning.entries import read_entry
from tests.reasoning.test_weighing import cases


@settings(max_examples=60, deadline=None)
@given(cases())
def test_a_case_is_read_back_as_it_was_written(case: Case) -> None:
    base = load()
    again = parse_case(write_case(case, base), "a.yaml", base)
    assert {name: (e.value, e.status) for name, e in again.latest.items()} == {
        name: (pytest.approx(e.value) if isinstance(e.value, float) else e.value, e.status)
        for name, e in case.latest.items()
    }


def test_times_rechecks_maker_and_instruments_come_back(tmp_path: Path) -> None:
    base = load()
    when = datetime(2026, 1, 5, 10, 30)
    entries = (
        Entry("co2", "12", 12.0, at=when), Entry("co2", "11.5 %", 11.5, how="rechecked", at=when),
        read_entry(base, "appliance", "boiler"),
    )
    case = Case(entries, {"co2-high": 12.5}, ("draft-gauge",), "A house: with a colon")
    save_case(case, tmp_path / "a.yaml", base)
    again = read_case(tmp_path / "a.yaml", base)
    assert again.latest["co2"].how == "rechecked"
    assert again.latest["co2"].at == when
    assert len(again.entries) == 3
    assert (again.manufacturer, again.instruments, again.title) == (case.manufacturer, case.instruments, case.title)


def test_a_case_file_that_says_maker_is_still_read() -> None:
    old, new = (parse_case(f"{key}: {{co2-high: 12.5 %}}\nentries: {{co2: 12}}", "a.yaml", load())
                for key in ("maker", "manufacturer"))
    assert old.manufacturer == new.manufacturer == {"co2-high": 12.5}
    assert "manufacturer:" in write_case(old, load())


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str) -> None:
    base, path = load(), tmp_path / "a.yaml"
    save_case(Case((read_entry(base, "smoke", "3"),)), path, base)
    before = path.read_text()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    with pytest.raises(OSError, match="No space left"):
        save_case(Case((read_entry(base, "smoke", "5"),)), path, base)
    assert path.read_text() == before
    assert [one.name for one in tmp_path.iterdir()] == ["a.yaml"]
