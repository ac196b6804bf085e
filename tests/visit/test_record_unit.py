"""A unit over the years: the year it was installed instead of an age, and what was changed of it."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.pages.wording import at_width
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import read_case
from advisor.visit.course import Event, course_lines, places
from advisor.visit.drift import drift
from advisor.visit.kept import Change, Unit, Visit
from advisor.visit.mend import change_unit, merge_units, traces
from advisor.visit.record import RecordError, add_unit, open_record, save_visit, units, verify
from advisor.visit.schema import APPLICATION_ID, MIGRATIONS
from advisor.visit.strict import unreadable
from advisor.visit.tables import export_csv, import_csv
from advisor.visit.transfer import export_jsonl, import_jsonl
from advisor.visit.trend import Moment, completed, history, measures, of_the_unit, own_visits, year_installed
from advisor.visit.trendpicture import svg
from tests.test_cli import run as cli

BASE = load()
CHECK = partial(unreadable, BASE)
AGE = Entry("appliance_age", "22 years", 22.0)


def at(year: int, month: int = 10, day: int = 1) -> datetime:
    return datetime(year, month, day, 12, tzinfo=UTC)


def test_an_age_is_kept_as_a_year_and_grows_by_itself() -> None:
    """By the calendar: what was 22 in 2026 was installed in 2004, and is 30 in 2034."""
    case = Case((AGE, Entry("years_since_service", "3 years", 3.0), Entry("fuel", "no 2", "no-2-oil")))
    assert [entry.name for entry in of_the_unit(case, BASE)] == ["fuel"]
    year = year_installed(case, BASE, at(2026))
    assert year == 2004
    unit = Unit("A", equipment=(AGE, Entry("fuel", "no 2", "no-2-oil")), installed=year)
    now = completed(Case(), unit, BASE, at(2034)).latest
    assert (now["appliance_age"].value, now["fuel"].value) == (30.0, "no-2-oil")
    assert completed(Case((AGE,)), unit, BASE, at(2034)).latest["appliance_age"].value == 22.0  # as said
    assert completed(Case(), Unit("A"), BASE, at(2034)).latest == {}


@pytest.mark.parametrize(("entered", "visited", "year"), [
    ("'2020-05-01T10:00:00+00:00'", "2024-01-01T10:00:00+00:00", 1998), ("NULL", "2024-01-01T10:00:00+00:00", 2002),
    ("NULL", "", date.today().year - 22)])
def test_an_older_record_is_carried_over(tmp_path: Path, entered: str, visited: str, year: int) -> None:
    """The age is that of the day on which it was entered; else of the first visit; else of today."""
    path = tmp_path / "old.sqlite3"
    with closing(sqlite3.connect(path)) as old:
        for statements in MIGRATIONS[:4]:
            for statement in statements:
                old.execute(statement)
        old.execute("INSERT INTO units VALUES (1, 'u', 'A', '', '')")
        old.execute("INSERT INTO units VALUES (2, 'w', 'B', '', '')")
        old.execute("INSERT INTO equipment VALUES (1, 0, 'appliance_age', '22 yrs', 22.0, 'years', NULL, '', '', '', "
                    f"{entered}, '')")
        if visited:
            old.execute("INSERT INTO visits (id, uid, unit_id, at, note) VALUES (1, 'v', 1, ?, '')", (visited,))
            old.execute("INSERT INTO cases VALUES (1, 'before', '', NULL)")
        old.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        old.execute("PRAGMA user_version = 4")
        old.commit()
    with open_record(path) as record:
        one, other = units(record)
        assert (one.installed, other.installed) == (year, None)
        assert one.equipment[0].typed == "22 yrs"  # as it was typed, it stays


@pytest.mark.parametrize(("when", "visited", "year"), [
    ("2020-05-01T10:00:00+00:00", "2024-01-01T10:00:00+00:00", 1998), ("", "2024-06-01T10:00:00+00:00", 2002),
    ("", "", None)])
def test_an_older_export_is_carried_over(tmp_path: Path, when: str, visited: str, year: int | None) -> None:
    age = {"name": "appliance_age", "typed": "22 yrs", "value": 22.0, "measure": "years"}
    age |= {"at": when} if when else {}
    lines: list[dict[str, object]] = [{"kind": "burner-advisor-record", "version": 3},
                                      {"kind": "unit", "uid": "u", "label": "A", "equipment": [age]}]
    if visited:
        lines.append({"kind": "visit", "uid": "v", "unit": "u", "at": visited, "before": {"entries": []}})
    (tmp_path / "x.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    with open_record(tmp_path / "r.sqlite3") as record:
        import_jsonl(record, tmp_path / "x.jsonl", CHECK)
        assert units(record)[0].installed == year
        assert units(record)[0].equipment[0].typed == "22 yrs"


NEW = Change(date(2026, 3, 1), "burner", "the old one had no parts")


def visit(when: datetime, stack: float, left: float | None = None) -> Visit:
    def case(value: float) -> Case:
        return Case((Entry("stack_temperature", f"{value:g} F", value), Entry("co2", "12 %", 12.0)))

    return Visit("u", when, case(stack), None if left is None else case(left), measured_in=measures(BASE))


def test_no_trend_runs_across_a_new_burner() -> None:
    visits = [visit(at(2024), 450.0), visit(at(2025), 460.0), visit(at(2026), 540.0)]
    assert [one.rule.name for one in drift(history(own_visits(visits, Unit("A")), BASE))] == [
        "stack-up-at-the-same-co2"]
    changed = Unit("A", changes=(Change(date(2025, 1, 1), "nozzle"), NEW))
    assert own_visits(visits, changed) == (visits[2],)
    assert drift(history(own_visits(visits, changed), BASE)) == ()
    assert own_visits(visits, Unit("A", changes=(Change(date(2026, 3, 1), "nozzle"),))) == tuple(visits)
    same_day = visit(at(2026, 3, 1), 560.0, 450.0)
    (left,) = history(own_visits([same_day], changed), BASE)
    assert (left.numbers["stack_temperature"], left.left) == (450.0, False)


def test_a_change_is_kept_with_what_was_known_before_and_goes_through_both_exports(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A", equipment=(Entry("burner_type", "old", "old-style"),), installed=1990))
        known = replace(unit, equipment=(Entry("burner_type", "retention", "retention-head"),))
        change_unit(record, unit, NEW, known)
        (now,) = units(record)
        assert (now.changes[0].day, now.changes[0].what, now.began) == (NEW.day, "burner", NEW.day)
        assert now.equipment[0].value == "retention-head"
        (trace,) = traces(record, unit.uid)
        assert json.loads(trace.was)["equipment"][0]["typed"] == "old"
        with pytest.raises(RecordError, match="is nothing that is changed"):
            change_unit(record, unit, Change(NEW.day, "weather"), known)
        other = add_unit(record, Unit("B"))
        merge_units(record, now, other, "the same")
        assert [(one.installed, len(one.changes)) for one in units(record)] == [(1990, 1)]
        export_csv(record, tmp_path / "csv")
        export_jsonl(record, tmp_path / "x.jsonl")
        whole = units(record)
        assert verify(record) == ()
    for take, source in ((import_csv, "csv"), (import_jsonl, "x.jsonl")):
        with open_record(tmp_path / f"{source}.sqlite3") as record:
            take(record, tmp_path / source, CHECK)
            assert units(record) == whole


@pytest.mark.parametrize(("more", "says"), [
    ({"installed": "2004"}, "`installed` must be a year"), ({"installed": 1}, "`installed` must be a year"),
    ({"changes": [{"uid": "c", "day": "soon", "what": "burner"}]}, "is not a day such as"),
    ({"changes": [{"uid": "c", "day": "2026-03-01", "what": "cat"}]}, "`what` must be one of"),
    ({"changes": "burner"}, "`changes` must list"),
])
def test_an_import_refuses_what_cannot_be(tmp_path: Path, more: dict[str, object], says: str) -> None:
    lines = [{"kind": "burner-advisor-record", "version": 6}, {"kind": "unit", "uid": "u", "label": "A", **more}]
    (tmp_path / "x.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match=says):
            import_jsonl(record, tmp_path / "x.jsonl", CHECK)
        assert units(record) == ()


@given(st.lists(st.floats(0, 1e9), min_size=1, max_size=40), st.integers(40, 60))
def test_places_keep_the_order_and_stand_apart(days: list[float], room: int) -> None:
    days.sort()
    where = places(days, room, days[0], days[-1])
    assert all(0 <= one < room for one in where)
    assert all(one < other for one, other in pairwise(where))


def test_a_trend_stands_by_date_with_what_was_changed_under_it() -> None:
    """Three years between the first two visits and one between the last: the middle bar stands at three quarters."""
    moments = [Moment(at(year), {"stack_temperature": 480.0 + year - 2022}) for year in (2022, 2025, 2026)]
    changed = [Event(date(2025, 10, 1), "new nozzle"), Event(date(2020, 1, 1), "long ago")]
    lines = course_lines(moments, BASE, changed, plain_marks=True)
    bars = lines[0][35:].split("  480")[0]
    columns = [place for place, mark in enumerate(bars) if mark != " "]
    assert columns[1] / columns[2] == pytest.approx(0.75, abs=0.05)
    assert lines[2].index("a") - 35 == columns[1]
    assert lines[3] == "  a  2025-10-01 new nozzle"
    assert not any("long ago" in line for line in lines)
    with at_width(40):
        assert max(map(len, course_lines(moments, BASE, changed, plain_marks=True))) <= 40
    picture = svg(moments, BASE, "A", (), changed)
    assert "2025-10-01 changed: new nozzle" in picture
    assert picture.count("stroke-dasharray") == 1


def test_a_call_tied_to_a_unit_knows_its_age_and_last_service_and_is_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BURNER_ADVISOR_RECORD", str(tmp_path / "r.sqlite3"))
    year = date.today().year
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("Mill Lane boiler", installed=year - 22))
        when = datetime.now(UTC) - timedelta(days=731)
        save_visit(record, unit, Case((Entry("complaint", "tune-up", "routine"),)), at=when, measured_in=measures(BASE))
    cli("call", "a.yaml", typed="no heat\nunit mill\nquit\n", folder=tmp_path)
    case = read_case(tmp_path / "a.yaml", BASE)
    assert (case.latest["appliance_age"].value, case.latest["years_since_service"].value) == (22.0, 2.0)
    status, out, wrong = cli("call", "a.yaml", typed="entries\nquit\n", folder=tmp_path)
    assert (status, wrong, "age of the appliance" in out) == (0, "", True)


def test_the_verb_tells_year_and_changes(tmp_path: Path) -> None:
    place = str(tmp_path / "r.sqlite3")

    def says(*words: str, status: int = 0) -> str:
        found, out, wrong = cli("record", "--file", place, *words)
        assert found == status, wrong
        return " ".join((out + wrong).split())

    (tmp_path / "a.yaml").write_text("equipment: {appliance_age: 22, burner_type: old-style}")
    says("add-unit", "A", "--case", str(tmp_path / "a.yaml"))
    assert f"installed {date.today().year - 22}" in says("units")
    says("add-unit", "A", "--replace", "--installed", "1999")
    assert "installed 1999" in says("units")
    assert "cannot be" in says("add-unit", "B", "--installed", "99", status=2)
    with open_record(Path(place)) as record:
        for year in (2024, 2025):
            save_visit(record, units(record)[0], visit(at(year), 450.0).before, at=at(year), measured_in=measures(BASE))
    assert "begin anew" in says("change", "A", "burner", "--on", "2025-03-01", "--note", "no parts")
    assert "2025-03-01 new burner: no parts" in says("units")
    told = says("trend", "A")
    assert "up to 2025-03-01, with what was there before" in told
    assert "since 2025-03-01, a history of its own" in told
    document = json.loads(says("trend", "A", "--json"))
    assert (len(document["moments"]), len(document["moments_of_what_was_there_before"])) == (1, 1)
    assert document["changed"] == [{"day": "2025-03-01", "what": "new burner (no parts)"}]
    assert "still to come" in says("change", "A", "burner", "--on", "2190-03-01", status=2)
    assert "is not a day" in says("change", "A", "burner", "--on", "soon", status=2)
    says("change", "A", "appliance", "--on", "2025-04-01")
    assert "installed 2025" in says("units")
    assert "old-style" in says("traces")
