"""Tomorrow's list: what is on it and what is not, why, and on which figure it rests."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import parse_case, write_case
from advisor.visit.kept import Change, Unit, Visit
from advisor.visit.opencalls import calls_in
from advisor.visit.record import add_unit, open_record, save_visit
from advisor.visit.tomorrow import day_list
from advisor.visit.tomorrowitems import Line
from advisor.visit.trend import measures
from tests.test_cli import DEMO
from tests.test_cli import run as cli

BASE = load()
DAY = date(2026, 11, 28)
MILL = Unit("Mill Lane boiler", "A. Tester", "1 Mill Lane", uid="mill")
SERVICE = "complaint: routine, room_temperature: 68 F, "



def visit(on: str, entries: str, after: str = "", remedies: tuple[str, ...] = (), number: int = 1, unit: str = "mill",
          confirmed: tuple[str, ...] = (), equipment: str = "appliance: boiler, fuel: no-2-oil, draft_kind: chimney"
          ) -> Visit:
    def read(text: str) -> Case:
        return parse_case(f"equipment: {{{equipment}}}\nentries: {{{text}}}", "x.yaml", BASE)

    return Visit(unit, datetime.fromisoformat(f"{on}T12:00").replace(tzinfo=UTC), read(entries),
                 read(after) if after else None, confirmed, remedies, number=number, measured_in=measures(BASE))


def lines(section: str, *visits: Visit, day: date = DAY, units: tuple[Unit, ...] = (MILL,)) -> tuple[Line, ...]:
    return day_list(BASE, units, visits, (), day).of(section)


def test_a_hazard_stays_on_the_list_until_a_later_visit_proves_it_gone() -> None:
    found = visit("2026-03-01", "co_room: 45 ppm")
    (line,) = lines("call-first", found)
    assert "carbon monoxide in the room: open" in line.why[0]
    assert line.why[-1].startswith("tell the household: Stay out until")
    assert [(one.value, one.on) for one in line.rests_on] == [("45 ppm", date(2026, 3, 1))]
    later = visit("2026-05-01", "co_room: 0 ppm", number=2)
    assert [one.what for one in lines("call-first", found, later)] == ["2 open hazards"]  # to read it again is no cure
    name = "carbon-monoxide-in-the-room"
    cured = parse_case("entries: [{cured: {carbon-monoxide-in-the-room: connector refitted, "
                       "room-co-raised: connector refitted}}, {co_room: 0 ppm}, "
                       "{spillage: none}, {room_co_course: steady}]", "x.yaml", BASE)
    assert name in BASE.hazards
    gone = Visit("mill", datetime(2026, 6, 1, tzinfo=UTC), cured, number=3, measured_in=measures(BASE))
    left = [why for line in lines("call-first", found, later, gone) for why in line.why]
    assert not [why for why in left if ": open" in why]


def test_a_second_visit_within_30_days_is_a_callback_and_a_later_or_planned_one_is_not() -> None:
    first = visit("2026-11-01", "complaint: no-heat", confirmed=("filter-or-strainer-plugged",))
    on = {days: lines("call-first", first, visit(f"2026-11-{1 + days:02}", "complaint: lockout", number=2))
          for days in (1, 14, 20)}
    assert [line.what for days in on for line in on[days]] == [
        "callback after 1 day", "callback after 14 days", "callback after 20 days"]
    assert "plugged oil filter" in on[14][0].why[0]
    assert ("14 days", date(2026, 11, 15)) in [(one.value, one.on) for one in on[14][0].rests_on]
    assert not lines("call-first", first, visit("2026-11-15", "complaint: routine", number=2))
    old = visit("2026-09-20", "complaint: no-heat")
    assert not lines("call-first", old, visit("2026-11-01", "complaint: lockout", number=2))
    again = visit("2026-09-25", "complaint: lockout", number=2)
    assert not lines("call-first", old, again)  # that was two months ago
    assert lines("call-first", old, again, day=date(2026, 9, 28))


def test_what_comes_back_is_looked_at_again_by_its_day() -> None:
    """Common practice: soot has a cause; a unit that was only cleaned is looked at again within weeks."""
    soot = ("sooted-gas-passages",)
    on = {day: [line.what for line in lines("call-first", visit("2026-11-01", "complaint: soot", confirmed=soot),
                                            day=date(2026, 11, day))] for day in (7, 8, 15, 17)}
    assert on == {7: [], 8: ["look again by 2026-11-15"], 15: ["look again by 2026-11-15"],
                  17: ["look again overdue by 2 days"]}
    rooted = visit("2026-11-01", "complaint: soot", confirmed=(*soot, "air-shutter-too-closed"))
    assert not lines("call-first", rooted, day=date(2026, 11, 17))
    seen = visit("2026-11-14", "complaint: routine", number=2)
    assert not lines("call-first", visit("2026-11-01", "complaint: soot", confirmed=soot), seen, day=date(2026, 11, 17))


@pytest.mark.parametrize(("on", "what"), [
    ("2025-11-27", "overdue by 1 day"), ("2025-12-28", "due on 2026-12-28"), ("2025-12-29", ""), ("2026-05-01", "")])
def test_the_yearly_service_is_due_a_year_after_the_last(on: str, what: str) -> None:
    found = lines("service-due", visit(on, "complaint: routine"))
    assert [line.what for line in found] == ([what] if what else [])
    if what:
        assert found[0].rests_on[0].value == f"{(DAY - date.fromisoformat(on)).days} days"


def test_what_was_told_of_the_last_service_counts_and_what_is_not_known_is_said() -> None:
    told = visit("2026-10-01", "complaint: soot", equipment="appliance: boiler, years_since_service: 3 years")
    (line,) = lines("service-due", told)
    assert line.what.startswith("overdue by")
    assert ("years since the last service", "3 years") in [(one.title, one.value) for one in line.rests_on]
    (line,) = lines("service-due", visit("2026-10-01", "complaint: soot"))
    assert line.what == "not known when it was serviced"


BEFORE = SERVICE + "stack: 480 F, co2: 12, smoke: 0"
WORSE = "complaint: soot, room_temperature: 68 F, stack: 560 F, co2: 11.9, smoke: 3"


def test_a_unit_that_gets_worse_is_told_with_both_figures_unless_it_was_put_right() -> None:
    before = visit("2025-11-01", BEFORE)
    (line,) = lines("getting-worse", before, visit("2026-11-01", WORSE, number=2))
    figures = {(one.title, one.value, one.on) for one in line.rests_on}
    assert ("stack temperature", "480 degF", date(2025, 11, 1)) in figures
    assert ("stack temperature", "560 degF", date(2026, 11, 1)) in figures
    assert any("weather not taken out: the temperature outdoors was not read on 2025-11-01 and 2026-11-01" in why
               for why in line.why)
    put_right = visit("2026-11-01", WORSE, BEFORE.removeprefix("complaint: routine, "), ("clean-gas-passages",), 2)
    assert not lines("getting-worse", before, put_right)


@pytest.mark.parametrize(("then", "now", "told"), [(50, 60, True), (50, 71, False), (20, 80, False)])
def test_days_of_other_weather_are_not_compared(then: int, now: int, told: bool) -> None:
    found = lines("getting-worse", visit("2025-11-01", f"{BEFORE}, outdoor_temperature: {then} F"),
                  visit("2026-11-01", f"{WORSE}, outdoor_temperature: {now} F", number=2))
    assert bool(found) == told
    if told:
        assert any("weather taken out: outdoors it was 50 degF then and 60 degF now" in why for why in found[0].why)


def test_cold_ducted_air_is_taken_out_of_the_co2_by_the_law_of_gases() -> None:
    """A blower moves the same volume, and that of 0 degF holds (80 + 459.67) / (0 + 459.67) of the air of 80 degF
    (ideal gas): 12 % CO2 set on a day of 80 degF reads some 1.7 points less on one of 0 degF, and nothing has changed.
    """
    ducted = "appliance: boiler, fuel: no-2-oil, air_supply: ducted-outdoor"
    warm = visit("2025-07-01", SERVICE + "stack: 480 F, co2: 12, outdoor_temperature: 80 F", equipment=ducted)
    cold = visit("2026-01-15", SERVICE + "stack: 480 F, co2: 10.3, outdoor_temperature: 0 F", number=2,
                 equipment=ducted)
    assert not lines("getting-worse", warm, cold)
    leaking = visit("2026-01-15", SERVICE + "stack: 480 F, co2: 8.5, outdoor_temperature: 0 F", number=2,
                    equipment=ducted)
    (line,) = lines("getting-worse", warm, leaking)
    assert any("CO2 as it would be with outdoor air of 60 degF" in why for why in line.why)


def test_a_fault_counts_once_a_unit_and_season_whoever_ticks_it() -> None:
    units = tuple(Unit(f"unit {number}", uid=f"u{number}") for number in range(3))
    sooted = ("complaint: soot, passages_look: sooted, stack: 610 F, smoke: 4, draft_over_fire: -.012, "
              "draft_breech: -.075")
    many = [visit(f"2026-10-{10 + number}", sooted, number=number, unit="u0", confirmed=("sooted-gas-passages",))
            for number in range(5)]
    one = visit("2026-11-01", sooted, number=8, unit="u1")  # nobody ticked it
    old = visit("2026-06-30", sooted, number=9, unit="u2")  # the season before
    found = lines("faults", *many, one, old, units=units)
    assert found[0].what == BASE.title("sooted-gas-passages")
    assert "on 2 of 2 units visited since 2026-07-01; told as confirmed on 1" in found[0].why[0]


def test_parts_are_those_of_the_remedies_in_the_size_of_the_unit() -> None:
    nozzle = "appliance: boiler, fuel: no-2-oil, nozzle_size: 0.85 gph"
    units = (MILL, Unit("Quarry Road furnace", uid="quarry"))
    found = lines("parts", visit("2025-10-01", "complaint: routine", equipment=nozzle),
                  visit("2025-10-02", "complaint: routine", unit="quarry", number=2), units=units)
    titles = [line.what for line in found]
    assert "1 x nozzle, 0.85 gph" in titles
    assert "1 x nozzle" in titles  # of the other the size is not known
    assert "2 x filter cartridge" in titles
    (sized,) = [line for line in found if "0.85" in line.what]
    assert [(one.title, one.value, one.on) for one in sized.rests_on] == [
        ("nozzle size", "0.85 gph", date(2025, 10, 1)), ("units that it is for", "1 unit", DAY)]
    new = replace(MILL, equipment=(Entry("nozzle_size", "0.75", 0.75),), changes=(Change(date(2026, 1, 1), "nozzle"),))
    found = lines("parts", visit("2025-10-01", "complaint: routine", equipment=nozzle), units=(new,))
    assert "1 x nozzle, 0.75 gph" in [line.what for line in found]


def test_a_long_list_says_what_it_leaves_out_and_never_whom_to_call_first() -> None:
    units = tuple(Unit(f"unit {number}", uid=f"u{number}") for number in range(9))
    due = [visit("2025-01-01", "complaint: routine", number=number, unit=f"u{number}") for number in range(9)]
    found = day_list(BASE, units, due, (), DAY, most=4)
    assert len(found.of("service-due")) == 4
    assert found.notes == ("Due for the yearly service: 5 more (--most 9 lists all)",)
    assert [line.what for line in found.of("parts") if "filter" in line.what] == ["4 x filter cartridge"]
    hazards = [visit("2026-11-01", "co_room: 45 ppm", number=number, unit=f"u{number}") for number in range(9)]
    assert len(day_list(BASE, units, hazards, (), DAY, most=4).of("call-first")) == 9


def test_unfinished_calls_are_found_with_what_stands_in_them(tmp_path: Path) -> None:
    begun = parse_case("entries: [{complaint: smell, at: '2026-11-20T10:00:00'}, {co_room: 45 ppm}]", "x", BASE)
    (tmp_path / "mine.yaml").write_text(write_case(begun, BASE))
    (tmp_path / "burner-case-1.yaml").write_text(write_case(begun, BASE))
    (tmp_path / "burner-case-1.work.yaml").write_text("closed: '2026-11-20T12:00:00'\n")
    (tmp_path / "notes.yaml").write_text("shopping: [rags]\n")
    (tmp_path / "broken.yaml").write_text("entries: [{smoke: }\nrules: x\n")
    (tmp_path / "broken.work.yaml").write_text("")
    calls, problems = calls_in(tmp_path, BASE)
    assert [call.path.name for call in calls] == ["burner-case-1.yaml", "mine.yaml"]
    assert len(problems) == 1
    assert "broken.yaml" in problems[0]
    found = day_list(BASE, (), (), calls, DAY)
    (line,) = found.of("call-first")
    assert (line.file, line.what) == ("mine.yaml", "unfinished call, 2 open hazards")
    assert ("45 ppm", date(2026, 11, 20)) in [(one.value, one.on) for one in line.rests_on]
    assert any("burner-case-1.yaml" in note for note in found.notes)  # closed, and not in the record


def test_every_line_says_why_and_rests_on_a_figure_with_its_day() -> None:
    seen = (visit("2025-10-01", BEFORE), visit("2026-11-10", WORSE, number=2))
    found = day_list(BASE, (MILL, Unit("Other", uid="o")), seen, (), DAY)
    assert found.lines
    assert all(line.why and line.rests_on and all(one.on and one.value for one in line.rests_on)
               for line in found.lines)


def test_the_verb_shows_it_at_80_and_40_columns_as_a_page_and_as_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    place = tmp_path / "r.sqlite3"
    assert cli("tomorrow", "--file", str(place))[0] == 0
    assert not place.exists()  # to ask for the list begins no record
    with open_record(place) as record:
        unit = add_unit(record, Unit("<b>Mill</b> Lane boiler", "A. Tester"))
        save_visit(record, unit, parse_case("entries: {co_room: 45 ppm}", "x", BASE),
                   at=datetime.now(UTC) - timedelta(days=3), measured_in=measures(BASE))
    for wide in (80, 40):
        monkeypatch.setenv("COLUMNS", str(wide))
        status, said, _ = cli("tomorrow", "--file", str(place))
        assert status == 0
        assert "45 ppm" in said
        assert max(map(len, said.splitlines())) <= wide or str(place) in said
    status, said, _ = cli("tomorrow", "--file", str(place), "--json")
    document = json.loads(said)
    assert document["sections"]["call-first"][0]["rests_on"][0]["value"] == "45 ppm"
    assert cli("tomorrow", "--file", str(place), "--html", "list.html")[0] == 0
    page = (tmp_path / "list.html").read_text()
    assert "&lt;b&gt;Mill" in page
    assert "<b>Mill" not in page
    assert "size: letter" in page
    assert not [word for word in ("http:", "https:", "src=", "<script", "@import", "url(") if word in page]
    assert (tmp_path / "list.html").stat().st_mode & 0o077 == 0
    (tmp_path / "mine.txt").write_text("mine")
    for words, told in ((("--html", "mine.txt"), "is there already"), (("--most", "0"), "leaves nothing"),
                        (("--day", "soon"), "is not a day"),
                        (("--json", "--html", "x.html"), "ask for one"), (("nowhere",), "cannot be read")):
        status, said, wrong = cli("tomorrow", "--file", str(place), *words)
        assert status == 2
        assert told in wrong
        assert len(wrong.splitlines()) == 1


def test_the_invented_shop_of_the_demo_fills_every_section(tmp_path: Path) -> None:
    place = str(tmp_path / "shop.sqlite3")
    assert cli("record", "--file", place, "import", str(DEMO / "shop.jsonl"))[0] == 0
    _, said, _ = cli("tomorrow", str(tmp_path), "--file", place, "--day", "2026-11-28", "--json")
    sections = json.loads(said)["sections"]
    assert [name for name, found in sections.items() if not found] == []
    assert [one["unit"] for one in sections["getting-worse"]] == ["Mill Lane boiler"]  # not the one with ducted air


def test_an_empty_record_says_so(tmp_path: Path) -> None:
    status, said, _ = cli("tomorrow", str(tmp_path), "--file", str(tmp_path / "none.sqlite3"))
    assert status == 0
    assert "Nothing is on the list" in said
    assert "holds no unit yet" in " ".join(said.split())
