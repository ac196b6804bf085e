"""What a visit keeps beside its cases: how it came out, who made it, what kind of call, parts, minutes by check."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

import pytest

from advisor.call.recording import told_in
from advisor.library.base import load
from advisor.reasoning.case import Case, Entry, read_time
from advisor.visit.kept import CONFIRMED, NOT_FOUND, NOTHING_WRONG, outcome_of, parts_in
from advisor.visit.mend import traces
from advisor.visit.minutes import minutes_by_check
from advisor.visit.record import RecordError, Unit, add_unit, open_record, save_visit, units, visits
from advisor.visit.strict import unreadable
from advisor.visit.tables import export_csv, import_csv
from advisor.visit.transfer import export_jsonl, import_jsonl
from tests.test_cli import run as cli

CHECK = partial(unreadable, load())


def test_everything_goes_through_both_exports(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A"))
        save_visit(record, unit, Case(), outcome=NOT_FOUND, technician="T. Hand", kind="callback",
                   parts={"nozzle 0.85 80B": 1.0, "=filter": 2.0}, minutes={"measure-smoke": 6.5})
        save_visit(record, unit, Case(), confirmed=("sooted-gas-passages",))
        export_csv(record, tmp_path / "csv")
        export_jsonl(record, tmp_path / "x.jsonl")
        whole = [(one.outcome, one.technician, one.kind, one.parts, one.minutes) for one in visits(record)]
    assert whole[0] == (NOT_FOUND, "T. Hand", "callback", {"nozzle 0.85 80B": 1.0, "=filter": 2.0},
                        {"measure-smoke": 6.5})
    assert whole[1][0] == CONFIRMED
    for take, source in ((import_csv, "csv"), (import_jsonl, "x.jsonl")):
        with open_record(tmp_path / f"{source}.sqlite3") as record:
            take(record, tmp_path / source, CHECK)
            assert [(one.outcome, one.technician, one.kind, one.parts, one.minutes) for one in visits(record)] == whole


@pytest.mark.parametrize(("more", "says"), [
    ({"outcome": "fine"}, "'fine' is no outcome of a visit"),
    ({"outcome": "nothing-wrong", "confirmed": ["sooted-gas-passages"]}, "cannot be nothing-wrong"),
    ({"outcome": "confirmed"}, "name it too"),
    ({"call": "party"}, "'party' is no kind of call known here"),
    ({"parts": {"nozzle": 0}}, "there were 0; give a number above 0"),
    ({"parts": ["nozzle"]}, "`parts` must map names to numbers"),
    ({"minutes": {"measure-smoke": -1}}, "it took -1 minutes"),
    ({"minutes": {"measure-luck": 1}}, "'measure-luck' is no check known here"),
])
def test_an_import_refuses_what_cannot_be(tmp_path: Path, more: dict[str, object], says: str) -> None:
    lines = [{"kind": "burner-advisor-record", "version": 4}, {"kind": "unit", "uid": "u", "label": "A"},
             {"kind": "visit", "uid": "v", "unit": "u", "at": "2026-01-05T10:00:00+00:00", "before": {"entries": []},
              **more}]
    (tmp_path / "x.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match=says):
            import_jsonl(record, tmp_path / "x.jsonl", CHECK)
        assert units(record) == ()


def test_an_outcome_agrees_with_what_was_confirmed() -> None:
    assert outcome_of("", ()) == ""
    for told, causes in ((NOTHING_WRONG, ["a"]), (NOT_FOUND, ["a"]), (CONFIRMED, []), ("well", [])):
        with pytest.raises(RecordError):
            outcome_of(told, causes)
    for bad in ("", "  ", "0 x nozzle"):
        with pytest.raises(RecordError, match="names no part"):
            parts_in([bad])


def test_minutes_are_from_entry_to_entry_without_the_lunch() -> None:
    times = [("complaint", "10:00"), ("smoke", "10:06"), ("draft_over_fire", "10:10"), ("draft_breech", "10:11"),
             ("co2", "12:30"), ("smoke", "12:33")]
    entries = [Entry(name, "1", 1.0, at=read_time(f"2026-01-05T{at}")) for name, at in times]
    took = minutes_by_check(load(), entries)
    assert took["measure-smoke"] == 9.0
    assert sum(took.values()) == 6 + 4 + 1 + 3  # and the 139 minutes of the lunch are nobody's
    assert minutes_by_check(load(), [Entry("smoke", "1", 1.0)]) == {}


def test_what_is_told_with_keep() -> None:
    told = told_in("Nothing wrong; technician T. Hand; call yearly service; parts nozzle, 2 x gasket; gate sticks; dog")
    assert (told.outcome, told.technician, told.kind, told.parts, told.note) == (
        NOTHING_WRONG, "T. Hand", "yearly-service", {"nozzle": 1.0, "gasket": 2.0}, "gate sticks; dog")
    assert told_in("nothing wrong with the pump").note == "nothing wrong with the pump"  # a note like any other
    with pytest.raises(RecordError, match="is no kind of call"):
        told_in("call of nature")


def test_a_call_keeps_how_it_came_out_and_how_long_checks_took(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BURNER_ADVISOR_RECORD", str(tmp_path / "r.sqlite3"))
    monkeypatch.setenv("BURNER_ADVISOR_TECHNICIAN", "T. Hand")
    words = "no heat\nboiler\nunit new Mill Lane boiler\nkeep not found; parts nozzle; gate sticks\nquit\n"
    _, out, _ = cli("call", "a.yaml", typed=words, folder=tmp_path)
    assert "kept as visit 1 of Mill Lane boiler" in out
    with open_record(tmp_path / "r.sqlite3") as record:
        (visit,) = visits(record)
    assert (visit.outcome, visit.technician, visit.kind, visit.parts, visit.note) == (
        NOT_FOUND, "T. Hand", "repair", {"nozzle": 1.0}, "gate sticks")
    _, out, _ = cli("call", "a.yaml", typed="smoke 3\nkeep\nkeep again parts 2 x nozzle\nkeep again\nquit\n",
                    folder=tmp_path)
    told = " ".join(out.split())
    assert "in the record already, as visit 1; keep again corrects it" in told
    assert "corrected: visit 1 of Mill Lane boiler" in told
    assert "nothing would change in visit 1" in told
    with open_record(tmp_path / "r.sqlite3") as record:
        (again,) = visits(record)
        assert [trace.reason for trace in traces(record, again.uid)] == ["kept again from the call"]
    assert (again.before.latest["smoke"].value, again.parts, again.note, again.outcome, again.kind) == (
        3.0, {"nozzle": 2.0}, "gate sticks", NOT_FOUND, "repair")
    _, out, _ = cli("call", "b.yaml", typed="no heat\nunit mill\nkeep call me back\nkeep\nquit\n", folder=tmp_path)
    assert "is no kind of call" in " ".join(out.split())
    with open_record(tmp_path / "r.sqlite3") as record:
        assert [one.kind for one in visits(record)] == ["repair", "callback"]
    _, shown, _ = cli("record", "show", "1")
    for words in ("outcome: something was wrong", "technician: T. Hand", "parts: 1 x nozzle", "note: gate sticks"):
        assert words in shown


def test_the_verb_keeps_and_shows_them(tmp_path: Path) -> None:
    place = str(tmp_path / "r.sqlite3")
    (tmp_path / "a.yaml").write_text("entries: [{complaint: routine, at: '2026-01-05T10:00'}, {smoke: 0, at: "
                                     "'2026-01-05T10:05'}]")
    cli("record", "add-unit", "A", "--file", place)
    keep = ("record", "keep", str(tmp_path / "a.yaml"), "--unit", "A", "--file", place)
    status, _, wrong = cli(*keep, "--outcome", "nothing-wrong", "--confirmed", "sooted-gas-passages")
    assert (status, "leave one of them out" in wrong) == (2, True)
    assert cli(*keep, "--outcome", "nothing-wrong", "--call", "yearly-service", "--part", "2 x nozzle",
               "--technician", "T. Hand")[0] == 0
    _, out, _ = cli("record", "visits", "A", "--file", place)
    assert "nothing was wrong; yearly service" in " ".join(out.split())
    _, out, _ = cli("record", "show", "1", "--file", place)
    assert "parts: 2 x nozzle" in out
    assert "5 min" in out
    _, out, _ = cli("record", "learned", "--all", "--file", place)
    assert "on 1 nothing was wrong" in " ".join(out.split())
    assert "Begg and Greenes" in out
