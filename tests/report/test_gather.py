"""Where a report comes from: the files of a call, a kept visit, and the shop's settings."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from advisor.call.autosave import CaseFile
from advisor.library.yamlfiles import LibraryError
from advisor.reasoning.case import Case, Entry
from advisor.report.advice import DAYS, NOW
from advisor.report.content import content
from advisor.report.functions import FAILED, NOT_DONE, PASSED, function_tests
from advisor.report.gather import NOTHING_GIVEN, Given, last_service, of_files, of_visit, visit_meant
from advisor.report.render import report_text
from advisor.report.report import Begun, Report, Shop, minutes_of
from advisor.report.shop import EXAMPLE, parse_shop, read_shop, usual_place
from advisor.visit.kept import Change
from advisor.visit.record import Record, RecordError, Unit, add_unit, open_record, save_visit, visits
from advisor.visit.trend import measures
from tests.call.playing import play
from tests.report.pages import DAY, base, case

ARRIVAL = Case((Entry("complaint", "soot", "soot"), Entry("nozzle_size", "0.85", 0.85), Entry("smoke", "4", 4.0),
                Entry("afterfire", "yes", "yes")))
LEFT = Case((Entry("nozzle_size", "0.75", 0.75), Entry("smoke", "0", 0.0), Entry("afterfire", "no", "no")))


@pytest.fixture
def record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Record:
    monkeypatch.setenv("BURNER_ADVISOR_RECORD", str(tmp_path / "record.sqlite3"))
    return open_record(tmp_path / "record.sqlite3")


def lines_of(report: Report, sheet: str) -> str:
    return " ".join(" ".join(report_text(base(), report, [sheet])).split())


def test_repairs_of_a_call_stand_in_its_report_whichever_way_it_is_made(tmp_path: Path, record: Record) -> None:
    file = CaseFile(tmp_path / "case.yaml", base())
    play(file, "soot", "boiler", "smoke 4", "remedy soot in the flue passages", "done all", "smoke 0",
         "unit new Mill Lane", "keep technician B. Example; parts 2 x brush; swept the base", "report")
    of_call = (tmp_path / "case.report.html").read_text()
    from_files = of_files(base(), file.path, None, NOTHING_GIVEN, Shop())
    from_record = of_visit(base(), *visit_meant(record, "mill"), NOTHING_GIVEN, Shop())
    assert from_files.remedies == from_record.remedies == ("clean-gas-passages",)
    for said in (of_call, lines_of(from_files, "office"), lines_of(from_record, "office")):
        assert "Brush and vacuum the flue passages." in said
        assert "No repair was entered" not in said
    for said in (of_call, lines_of(from_record, "office")):  # told with `keep`, so the record alone has it
        assert "B. Example" in said
        assert "2 x brush" in said
        assert "swept the base" in said
    assert (tmp_path / "case.report.pdf").read_bytes().startswith(b"%PDF-")
    assert of_files(base(), file.path, None, NOTHING_GIVEN, Shop()).last.findings.numbers["smoke"].value == 0.0


def test_work_that_was_begun_is_told_as_begun(tmp_path: Path) -> None:
    file = CaseFile(tmp_path / "case.yaml", base())
    play(file, "boiler", "smoke 4", "remedy soot in the flue passages", "done 1-3")
    report = of_files(base(), file.path, None, NOTHING_GIVEN, Shop())
    assert report.begun == (Begun("clean-gas-passages", 3, 8),)
    assert "Begun, and not finished: brush and vacuum the flue passages, 3 of 8 steps done." in lines_of(
        report, "customer")


def test_the_last_visit_is_meant_unless_one_is_named(record: Record) -> None:
    mill = add_unit(record, Unit("Mill Lane", "A. Example", "1 Mill Lane"))
    other = add_unit(record, Unit("Quarry Road"))
    with pytest.raises(RecordError, match="no visit yet"):
        visit_meant(record, "mill")
    first = save_visit(record, mill, ARRIVAL, at=datetime(2025, 1, 5, tzinfo=UTC), measured_in=measures(base()))
    last = save_visit(record, mill, ARRIVAL, LEFT, at=datetime(2026, 1, 5, tzinfo=UTC), confirmed=("nozzle-worn",),
                      remedies=("replace-nozzle",), measured_in=measures(base()), technician="B. Example",
                      parts={"nozzle 0.75 80B": 2.0}, minutes={"measure-smoke": 6.0}, outcome="confirmed")
    elsewhere = save_visit(record, other, ARRIVAL)
    assert visit_meant(record, "mill")[1].number == last.number
    assert visit_meant(record, "mill", str(first.number))[1].number == first.number
    with pytest.raises(RecordError, match="was to Quarry Road"):
        visit_meant(record, "mill", str(elsewhere.number))
    said = lines_of(of_visit(base(), *visit_meant(record, "mill"), NOTHING_GIVEN, Shop(technician="C. Example")),
                    "office")
    for words in ("A. Example, 1 Mill Lane", "by B. Example", "2 x nozzle 0.75 80B", "smoke spot test 6",
                  "nozzle size: 0.75 gph (was 0.85 gph)", "a cause was confirmed", 'The customer said: "soot"'):
        assert words in said


def test_what_the_record_says_was_changed_that_day_is_told_and_a_void_visit_makes_no_report(record: Record) -> None:
    mill = add_unit(record, Unit("Mill Lane", changes=(Change(date(2026, 1, 5), "burner", "of the same rate"),
                                                       Change(date(2025, 1, 5), "tank"))))
    visit = save_visit(record, mill, ARRIVAL, at=datetime(2026, 1, 5, 12, tzinfo=UTC))
    said = lines_of(of_visit(base(), *visit_meant(record, "mill"), NOTHING_GIVEN, Shop()), "customer")
    assert "New or changed: new burner, of the same rate." in said
    assert "new tank" not in said
    record.connection.execute("UPDATE visits SET void = 'typed twice' WHERE id = ?", (visit.number,))
    with pytest.raises(RecordError, match="void \\(typed twice\\)"):
        visit_meant(record, "mill", str(visit.number))


def test_a_visit_of_rules_that_are_not_read_now_loses_nothing(record: Record) -> None:
    mill = add_unit(record, Unit("Mill Lane"))
    save_visit(record, mill, ARRIVAL, remedies=("our-own-remedy",), confirmed=("our-own-cause",))
    said = lines_of(of_visit(base(), *visit_meant(record, "mill"), NOTHING_GIVEN, Shop()), "office")
    assert "Note: done: our own remedy" in said


def test_the_technician_who_is_named_comes_before_the_shops(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("entries: {smoke: 4}")
    shop = Shop(technician="C. Example")
    assert of_files(base(), tmp_path / "a.yaml", None, NOTHING_GIVEN, shop).by == "C. Example"
    assert of_files(base(), tmp_path / "a.yaml", None, Given(technician="B. Example"), shop).by == "B. Example"


def test_minutes_are_those_of_one_visit() -> None:
    def at(*hours: float) -> Case:
        return Case(tuple(Entry("smoke", "4", 4.0, at=datetime(2026, 1, 5 + int(hour // 24), int(hour % 24),
                                                               round(hour % 1 * 60))) for hour in hours))

    assert minutes_of(at(9, 9.5), at(10)) == 60
    assert minutes_of(at(9, 9.02)) == 0  # typed off a sheet
    assert minutes_of(at(9, 33)) == 0  # the next day
    assert minutes_of(Case()) == 0


# --- function tests, urgency ---------------------------------------------------------------------------------------


def results(before: str, after: str = "") -> dict[str, str]:
    found = function_tests(base(), case(f"entries: {{{before}}}"), case(f"entries: {{{after}}}") if after else None)
    return {one.title: one.result for one in found}


def test_function_tests_pass_fail_or_are_not_done() -> None:
    first = results("cutoff_hold: holds, lockout_time: in-time, stops_on_call: not-by-limit")
    assert first["cutoff test"] == NOT_DONE  # afterdrip was not looked for
    assert first["time the lockout"] == PASSED
    assert first["see that thermostat, limit and switch shut it off"] == FAILED
    assert results("cutoff_hold: falls-to-zero")["cutoff test"] == FAILED
    later = results("lockout_time: in-time, afterfire: yes", "afterfire: no")
    assert (later["watch a shutdown"], later["time the lockout"]) == (PASSED, PASSED)


def test_what_is_not_fitted_is_no_test() -> None:
    boiler = "appliance: boiler"
    assert "test the low-water cutoff" in results(boiler)
    assert "test the low-water cutoff" not in results(f"{boiler}, low_water_cutoff: none-fitted")
    assert "test the switch of the blower door" not in results(boiler)


def test_every_function_test_can_pass_and_fail() -> None:
    for check in base().checks.values():
        for name, passes in check.passes.items():
            levels = {*(base().observations[name].answers if name in base().observations
                        else base().quantities[name].bands)}
            assert set(passes) < levels - {*check.not_fitted.get(name, ())}, (check.name, name)


def test_advice_stands_in_the_order_of_its_urgency() -> None:
    words = content(base(), Report("boiler", DAY, case("entries: {oil_leak: dripping, stops_on_call: not-by-switch}")))
    assert words.advised[0].when == NOW
    assert any(one.when == DAYS and "shut it off" in one.what for one in words.advised)


def test_the_next_service_follows_from_this_one_or_the_last() -> None:
    def due(text: str, months: float = 12) -> str:
        return content(base(), Report("boiler", DAY, case(text), shop=Shop(months=months))).due

    assert "November 2027" in due("entries: {complaint: routine}")
    assert "May 2027" in due("entries: {complaint: routine}", months=6)
    assert "May 2027" in due("entries: {last service: 6 months, complaint: soot}")
    assert "overdue" in due("entries: {last service: 3 years}")
    assert "put right" in due("entries: {oil_leak: dripping, complaint: routine}")


def test_the_record_knows_the_last_service_where_nobody_asked(record: Record) -> None:
    mill = add_unit(record, Unit("Mill Lane"))
    served, smoky = Case((Entry("complaint", "routine", "routine"),)), Case((Entry("smoke", "4", 4.0),))
    for case_then, at, kind in ((served, datetime(2025, 3, 5, tzinfo=UTC), ""),
                                (smoky, datetime(2025, 9, 5, tzinfo=UTC), "yearly-service"),
                                (smoky, datetime(2026, 1, 5, tzinfo=UTC), "repair")):
        save_visit(record, mill, case_then, at=at, kind=kind)
    unit, visit = visit_meant(record, "mill")
    report = of_visit(base(), unit, visit, NOTHING_GIVEN, Shop(), last_service(visits(record, unit), visit.at))
    assert "due in September 2026" in content(base(), report).due
    assert "before the heating season" in content(base(), of_visit(base(), unit, visit, NOTHING_GIVEN, Shop())).due


# --- the letterhead ------------------------------------------------------------------------------------------------


def test_a_settings_file_makes_the_letterhead(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "shop.yaml"
    place.write_text(EXAMPLE)
    monkeypatch.setenv("BURNER_ADVISOR_SHOP", str(place))
    shop = read_shop()
    said = report_text(base(), Report("Mill Lane", DAY, case("entries: {smoke: 4}"), shop=shop), ["customer"])
    assert said[:3] == ["Harbor Street Oil Heat", "12 Harbor Street, Milltown, ME 04000",
                        "Telephone 207 555 0100 · License 1234, oil burner technician"]
    assert "by A. Example" in said[4]


def test_without_settings_there_is_no_letterhead(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BURNER_ADVISOR_SHOP")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))
    place = usual_place()
    assert place is not None
    assert place.is_relative_to(tmp_path)
    assert read_shop() == Shop()


@pytest.mark.parametrize(("text", "says"), [
    ("name: A\nphone: 1", "shop.yaml:2: shop: unknown key `phone`"),
    ("- name: A", "must be a mapping"),
    ("name: A\nservice every: often", "shop.yaml:2"),
    ("service every: 0", "months from 1 to 60"),
    ("name: [A", "shop.yaml:"),
])
def test_errors_of_the_settings_name_file_and_line(text: str, says: str) -> None:
    with pytest.raises(LibraryError, match=r"shop\.yaml:\d+: ") as told:
        parse_shop(text, "shop.yaml")
    assert says in str(told.value)


def test_a_settings_file_that_was_named_must_be_there(tmp_path: Path) -> None:
    with pytest.raises(LibraryError, match=r"none\.yaml"):
        read_shop(tmp_path / "none.yaml")


def test_a_wrong_letterhead_does_not_end_the_call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shop.yaml").write_text("phone: 1")
    monkeypatch.setenv("BURNER_ADVISOR_SHOP", str(tmp_path / "shop.yaml"))
    file = CaseFile(tmp_path / "case.yaml", base())
    _, shown = play(file, "boiler", "smoke 4", "report")
    assert "unknown key `phone`" in shown
    assert not (tmp_path / "case.report.html").exists()


def test_a_tag_of_a_unit_left_off_says_so_first() -> None:
    report = Report("boiler", DAY, case("entries: {oil_leak: dripping, smoke: 3}"), shop=Shop("Harbor Oil"))
    tag = report_text(base(), report, ["tag"])
    assert tag[0] == "Harbor Oil"
    assert tag[4] == "LEFT OFF"
    assert "oil leaking" in tag[5]
    listed = lines_of(report, "hand-over")
    assert "[ ] Left off, do not restart." in listed
    assert "press the reset button" not in listed
    assert "[ ] Tell them: press the reset button once at most, then call." in lines_of(
        Report("boiler", DAY, case("entries: {smoke: 0, oil_in_chamber: none, vent_disconnected: no}")), "hand-over")
