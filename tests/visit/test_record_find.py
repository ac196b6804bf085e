"""Units are found by what is remembered of them, and a misspelled name is asked back."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.visit.finding import found, likeness
from advisor.visit.kept import Unit
from advisor.visit.record import RecordError, add_unit, find_unit, open_record
from tests.test_cli import run as cli

UNITS = (Unit("Mill Lane boiler", "A. Tester", "12 Mill Lane"),
         Unit("Quarry Road furnace", "Sampleton", "22 Quarry Road"),
         Unit("Old Dairy boiler", "D'Example", "The Old Dairy, 5 Back Street"))


@pytest.mark.parametrize(("words", "labels"), [
    ("mill", ["Mill Lane boiler"]), ("sampel", ["Quarry Road furnace"]), ("qarry", ["Quarry Road furnace"]),
    ("dexample", ["Old Dairy boiler"]), ("diary", ["Old Dairy boiler"]), ("22", ["Quarry Road furnace"]),
    ("boiler", ["Mill Lane boiler", "Old Dairy boiler"]), ("23 quarry", []), ("lighthouse", []), ("...", []),
    ("back stret boilr", ["Old Dairy boiler"]),
])
def test_what_is_remembered_finds_the_unit(words: str, labels: list[str]) -> None:
    assert [unit.label for unit in found(UNITS, words)] == labels


@given(st.sampled_from(UNITS), st.data())
def test_any_part_of_what_is_written_finds_it(unit: Unit, data: st.DataObject) -> None:
    text = f"{unit.label} {unit.customer} {unit.address}"
    word = data.draw(st.sampled_from([one for one in text.split() if one.isalpha()]))
    start = data.draw(st.integers(0, len(word) - 1))
    assert likeness(unit, word[start:].upper()) == 100.0


def test_a_misspelled_unit_is_asked_back_and_never_taken(tmp_path: Path) -> None:
    place = str(tmp_path / "r.sqlite3")
    with open_record(Path(place)) as record:
        for unit in UNITS:
            add_unit(record, unit)
        assert find_unit(record, "quarry").label == "Quarry Road furnace"
        with pytest.raises(RecordError, match="no unit 'qarry'; did you mean 'Quarry Road furnace'"):
            find_unit(record, "qarry")
        with pytest.raises(RecordError, match="may be 'Mill Lane boiler' or 'Old Dairy boiler'"):
            find_unit(record, "boiler")
    assert "Quarry Road furnace" in cli("record", "find", "qarry", "--file", place)[1]
    assert "no unit is called like 'lighthouse'" in cli("record", "find", "lighthouse", "--file", place)[1]
