"""The verb `record`, from the words typed to what is printed."""

from __future__ import annotations

import argparse
import json
import os
import re
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.library.base import load
from advisor.visit.record import open_record
from advisor.visit.recordverb import add_arguments, run
from tests.test_cli import run as cli

DEMO = Path(__file__).parents[2] / "demo" / "sooting-boiler.yaml"


class Shop:
    """A shop's record, and a hand at the keyboard."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        self.parser = argparse.ArgumentParser()
        add_arguments(self.parser)

    def types(self, *words: str, status: int = 0) -> str:
        arguments = self.parser.parse_args([*words, "--file", str(self.folder / "r.sqlite3")])
        assert run(arguments, load()) == status
        out, errors = self.capsys.readouterr()
        assert bool(errors) == bool(status and not out)
        assert len(errors.splitlines()) <= 1
        return out or errors

    def case(self, name: str, text: str) -> str:
        (self.folder / name).write_text(text)
        return str(self.folder / name)


@pytest.fixture
def shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shop:
    shop = Shop(tmp_path, capsys)
    shop.types("add-unit", "Mill Lane boiler", "--customer", "Miller", "--address",
               "1 Mill Lane, " + "rear house " * 9, "--case", str(DEMO))
    good = shop.case("good.yaml", "entries: {stack: 480 F, co2: 11.5 %, smoke: 0, room: 68 F, breech: -.04, "
                                  "over fire: -.02}")
    shop.types("keep", good, "--unit", "mill", "--at", "2025-11-01T10:00", "--note", "yearly service " * 12)
    return shop


def test_a_visit_is_kept_told_and_shown(shop: Shop) -> None:
    out = shop.types("keep", str(DEMO), "--unit", "mill lane", "--after", str(shop.folder / "good.yaml"),
                     "--confirmed", "soot in the flue passages", "--remedy", "clean-gas-passages")
    assert out.startswith("kept as visit 2: Mill Lane boiler")
    assert "stack temperature up by 130 degF" in " ".join(out.split())
    for words, wanted in (
        (("units",), "2 visits"), (("visits", "mill"), "confirmed: soot in the flue passages"),
        (("show", "2"), "smoke spot number                            4"), (("show", "1"), "note: yearly service"),
        (("trend", "mill"), "480 to 480 degF"), (("learned",), "1 of 1"), (("learned", "--all"), "0 of 1"),
        (("check",), "sound: 1 unit, 2 visits"), (("where",), "chosen by: --file"),
    ):
        said = shop.types(*words)
        assert wanted in said
        if words[0] != "where":  # a path is not broken
            assert max(map(len, said.splitlines())) <= 80


def test_a_remedy_that_was_kept_counts_as_it_does_in_the_report(shop: Shop) -> None:
    base = load()
    hazard, cause = "flooded-chamber", "weak-igniter"
    assert cause in base.hazards[hazard].sources
    flooded = shop.case("flooded.yaml", "entries: {oil_in_chamber: pool}")
    left = shop.case("left.yaml", "entries: {smoke: 0}")
    for given, state in (((), "open"), (("--remedy", base.causes[cause].remedy), "put right and not proven")):
        number = shop.types("keep", flooded, "--unit", "mill", "--after", left, *given).split(":")[0].split()[-1]
        shown = " ".join(shop.types("show", number, status=0).split())
        assert f"{base.title(hazard)}: {state}" in shown
    title = base.title(base.causes[cause].remedy)
    assert title in shown
    status, out, _ = cli("report", flooded, left, "--remedy", base.causes[cause].remedy)
    assert status == 1
    assert f"It was put right ({title}), but the tests that prove it are not all made" in " ".join(out.split())


def test_every_json_document_is_one_and_says_the_same(shop: Shop) -> None:
    kept = json.loads(shop.types("keep", "--unit", "mill", "--confirmed", "sooted-gas-passages", str(DEMO), "--json"))
    assert kept["visit"]["number"] == 2
    assert kept["drift"][0]["rule"] == "stack-up-at-the-same-co2"
    listed = json.loads(shop.types("units", "--json"))["units"]
    assert [(one["label"], one["visits"]) for one in listed] == [("Mill Lane boiler", 2)]
    listed = json.loads(shop.types("visits", "mill", "--json"))["visits"]
    assert [one["confirmed"] for one in listed] == [[], ["sooted-gas-passages"]]
    shown = json.loads(shop.types("show", "2", "--json"))["visit"]
    stack = next(one for one in shown["before"]["entries"] if one["name"] == "stack_temperature")
    assert (stack["typed"], stack["value"], stack["measure"]) == ("610 F", 610.0, "degF")
    trend = json.loads(shop.types("trend", "mill", "--json"))
    assert [one["numbers"]["stack_temperature"] for one in trend["moments"]] == [480.0, 610.0]
    learned = json.loads(shop.types("learned", "--json", "--strength", "99"))["causes"]
    assert learned == [{"cause": "sooted-gas-passages", "share_before": 0.05, "confirmed": 1, "visits": 1,
                        "share_of_confirmed_visits": 1.0, "share_corrected": 1.0, "counts_like_visits": 1.0,
                        "share": pytest.approx((99 * 0.05 + 1) / 100)}]
    assert json.loads(shop.types("check", "--json"))["sound"] is True
    assert json.loads(shop.types("where", "--json"))["exists"] is True


def test_the_course_of_a_unit_is_drawn(shop: Shop) -> None:
    picture = shop.folder / "mill.svg"
    shop.types("trend", "mill", "--svg", str(picture))
    assert "combustion efficiency" in picture.read_text()
    assert "cannot be written" in shop.types("trend", "mill", "--svg", str(shop.folder / "no" / "such.svg"), status=2)
    shop.types("add-unit", "Barn")
    assert "nothing to draw" in shop.types("trend", "barn", "--svg", str(picture), status=2)


def test_it_goes_out_and_comes_in_again(shop: Shop) -> None:
    for words in (("back-up", "b.sqlite3"), ("export", "e.jsonl"), ("export", "--csv", "csv")):
        shop.types(*words[:-1], str(shop.folder / words[-1]))
    for name in ("e.jsonl", "csv"):
        assert shop.types("import", str(shop.folder / name)).startswith("added 0 units and 0 visits; 2 were here")
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    assert run(parser.parse_args(["check", "--file", str(shop.folder / "b.sqlite3")]), load()) == 0


def test_a_unit_is_changed_without_losing_what_was_not_named(shop: Shop) -> None:
    shop.types("add-unit", "mill lane boiler", "--replace", "--customer", "Farmer")
    unit = json.loads(shop.types("units", "--json"))["units"][0]
    assert (unit["label"], unit["customer"], unit["address"][:11]) == ("Mill Lane boiler", "Farmer", "1 Mill Lane")
    assert len(unit["equipment"]) > 5


@pytest.mark.parametrize(("words", "says"), [
    (("visits", "barn"), "there is no unit 'barn'; there are 'Mill Lane boiler'"),
    (("show", "77"), "there is no visit '77'"),
    (("add-unit", "Mill Lane boiler"), "already"),
    (("keep", str(DEMO), "--unit", "mill", "--confirmed", "soted-gas-passages"), "did you mean sooted-gas-passages"),
    (("keep", str(DEMO), "--unit", "mill", "--remedy", "hope"), "there is no remedy 'hope'"),
    (("keep", str(DEMO), "--unit", "mill", "--at", "noon"), "'noon' is not a time"),
    (("import", "nowhere.jsonl"), "cannot be read"),
    (("learned", "--strength", "0"), "must be above 0"),
])
def test_bad_input_is_told_in_one_line(shop: Shop, words: tuple[str, ...], says: str) -> None:
    assert says in shop.types(*words, status=2)
    assert json.loads(shop.types("check", "--json"))["visits"] == 1


def test_without_a_record_reading_makes_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = Shop(tmp_path, capsys)
    for words in (("units",), ("trend", "mill"), ("export", "x"), ("check",), ("learned",)):
        assert "there is no record here yet" in shop.types(*words, status=2)
    assert "not there yet" in shop.types("where")
    assert list(tmp_path.iterdir()) == []


def test_the_record_itself_is_not_written_over(shop: Shop) -> None:
    """An export to the record's own place once took all visits with it."""
    there = shop.folder / "r.sqlite3"
    for words in (("export", str(there)), ("trend", "mill", "--svg", str(there)), ("back-up", str(there)),
                  ("export", "--csv", str(there))):
        assert "was left as it is" in shop.types(*words, status=2)
        assert json.loads(shop.types("check", "--json"))["visits"] == 1
    case, pipe = shop.folder / "good.yaml", shop.folder / "pipe"
    before = case.read_text()
    os.mkfifo(pipe)
    for there in (case, pipe):
        assert "is not an older export; it was left as it is" in shop.types("export", str(there), status=2)
        assert "is not a picture of ours; it was" in shop.types("trend", "mill", "--svg", str(there), status=2)
    assert case.read_text() == before
    assert pipe.is_fifo()
    again = str(shop.folder / "e.jsonl")
    for _ in range(2):  # an older export is replaced
        assert "2 lines" in shop.types("export", again)


@pytest.mark.parametrize("words", [
    ("units",), ("add-unit", "Z"), ("visits", "mill"), ("trend", "mill"), ("show", "1"),
    ("keep", str(DEMO), "--unit", "mill"), ("export", "out"), ("back-up", "out"), ("check",), ("learned",),
])
def test_every_word_tells_a_record_that_cannot_be_used_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    shop, path = Shop(tmp_path, capsys), tmp_path / "r.sqlite3"
    path.mkdir()
    assert "cannot be opened for writing (it is a folder)" in shop.types(*words, status=2)
    path.rmdir()
    os.mkfifo(path)
    assert "cannot be opened for writing (it is no file)" in shop.types(*words, status=2)
    path.unlink()
    long = str(tmp_path / ("x" * 300))
    assert main(["record", *words, "--file", long]) == 2
    assert re.search("no record here yet|File name too long", capsys.readouterr().err)
    path.write_bytes(b"no record at all" * 99)
    assert "is damaged, or is not a record" in shop.types(*words, status=2)
    path.unlink()
    with open_record(path) as record:
        record.connection.execute("PRAGMA user_version = 99")
    assert "was written by a newer burner-advisor" in shop.types(*words, status=2)


def test_a_refused_unit_makes_no_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Shop(tmp_path, capsys).types("add-unit", " ", status=2)
    assert list(tmp_path.iterdir()) == []
