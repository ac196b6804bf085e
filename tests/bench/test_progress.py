"""The record of learners: calls taken up again, what comes again when, what an instructor sees, files that are none."""

from __future__ import annotations

import io
import sqlite3
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from advisor.bench.benchfiles import BenchError
from advisor.bench.classsummary import summary
from advisor.bench.progress import BOXES, Played, Progress, next_box
from advisor.cli import main
from advisor.library.base import load

NOW = datetime(2026, 11, 27, 9, 0)
TODAY = NOW.date()


def closed(number: int, verdict: str, hidden: tuple[str, ...], said: tuple[str, ...] = ()) -> Played:
    return Played(number, "", "drawn", 1, 1, "oil", "", NOW, NOW, verdict, hidden, said, 40.0, 9.0, 2, False, 1)


def test_what_was_missed_comes_again_at_growing_intervals(tmp_path: Path) -> None:
    """The box method: a day after a miss, then each time twice as long, back to a day after the next miss."""
    with Progress(tmp_path / "practice.sqlite3") as record:
        day = TODAY
        for box, right in enumerate([False, True, True, True]):
            number = record.begin("Pat", "drawn", 1, 1, "oil", "", NOW)
            record.close(closed(number, "", ("nozzle-plugged",)), ("nozzle-plugged",) if right else (), day)
            wait = BOXES[box]
            assert record.due("pat", day + timedelta(days=wait - 1)) == ()
            assert record.due("pat", day + timedelta(days=wait)) == ("nozzle-plugged",)
            day += timedelta(days=wait)
        number = record.begin("Pat", "drawn", 1, 1, "oil", "", NOW)
        record.close(closed(number, "", ("nozzle-plugged",)), (), day)
        assert record.due("Pat", day + timedelta(days=1)) == ("nozzle-plugged",)
        assert record.due("Sam", day + timedelta(days=99)) == ()


def test_boxes_end_and_a_miss_begins_anew() -> None:
    assert [next_box(len(BOXES) - 1, True), next_box(len(BOXES) - 1, False), next_box(None, False)] == [
        len(BOXES) - 1, 0, 0]
    assert list(BOXES) == sorted(BOXES)


def test_two_who_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "practice.sqlite3"
    with Progress(path) as one, Progress(path) as two:
        first, second = one.begin("Pat", "drawn", 1, 1, "", "", NOW), two.begin("Sam", "drawn", 2, 1, "", "", NOW)
        for at in range(5):
            one.keep(first, at, f"smoke {at}")
            two.keep(second, at, f"stack {at}")
        assert one.lines(second) == tuple(f"stack {at}" for at in range(5))
        assert [call.learner for call in two.played()] == ["Pat", "Sam"]


def test_a_call_left_is_taken_up_where_it_stood(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ["practice", "--learner", "Pat", "--file", str(tmp_path / "record.sqlite3")]
    monkeypatch.setattr("sys.stdin", io.StringIO("ask the people\nbanana\nlook round\nquit\n"))
    assert main([*words, "cold-sunday"]) == 0
    first = capsys.readouterr().out
    assert "The call is kept" in first
    monkeypatch.setattr("sys.stdin", io.StringIO("notes\ndiagnosis cold oil\n"))
    assert main(words) == 0
    again = capsys.readouterr().out
    assert "Going on after 2 lines" in again  # what was not understood is not kept
    assert load().title("symptoms") in again
    assert "That is right." in again
    with Progress(tmp_path / "record.sqlite3") as record:
        (call,) = record.played("Pat")
        assert (call.verdict, call.hidden, call.source) == ("right", ("cold-oil",), "cold-sunday")
        assert call.minutes > 0
        assert record.open_call("Pat") is None
        assert record.due("Pat", date.max) == ("cold-oil",)
    assert main([*words[:1], "--summary", "--file", str(tmp_path / "record.sqlite3")]) == 0
    assert "Pat" in capsys.readouterr().out


def test_what_is_due_is_drawn_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.sqlite3"
    with Progress(path) as record:
        number = record.begin("Pat", "drawn", 1, 1, "oil", "", NOW)
        record.close(closed(number, "wrong", ("nozzle-plugged",)), (), date(2020, 1, 1))
    monkeypatch.setattr("sys.stdin", io.StringIO("give up\n"))
    assert main(["practice", "--learner", "Pat", "--file", str(path)]) == 0
    assert load().causes["nozzle-plugged"].title in capsys.readouterr().out
    with Progress(path) as record:
        assert record.played("Pat")[-1].cause == "nozzle-plugged"


def test_a_summary_tells_learners_fields_and_what_was_missed() -> None:
    calls = [Played(1, "Pat", "drawn", 1, 1, "oil", "", NOW, NOW, "right", ("cold-oil",), ("cold-oil",), 50.0),
             Played(2, "Sam", "drawn", 1, 1, "oil", "", NOW, NOW, "wrong", ("cold-oil",), ("nozzle-plugged",), 90.0),
             Played(3, "Sam", "drawn", 1, 1, "oil", "", NOW)]
    lines = summary(load(), calls)
    assert lines[0] == "2 calls closed, 1 left open"
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    assert f"(cold-oil): 1 of 2; said instead: {load().causes['nozzle-plugged'].title}" in text


@pytest.mark.parametrize("what", ["text", "foreign", "newer", "folder"])
def test_a_file_that_is_no_record_is_left_as_it_is(tmp_path: Path, what: str) -> None:
    path = tmp_path / "some.sqlite3"
    if what == "text":
        path.write_text("not a database, and long enough to be looked at as one " * 20)
    elif what == "folder":
        path.mkdir()
    else:
        with sqlite3.connect(path) as other:
            other.execute("CREATE TABLE theirs (x)")
            if what == "newer":
                from advisor.bench.progress import APPLICATION_ID

                other.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                other.execute("PRAGMA user_version = 99")
        other.close()
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(BenchError, match=r"some\.sqlite3"):
        Progress(path)
    assert (path.read_bytes() if path.is_file() else b"") == before


@pytest.mark.parametrize(("words", "said"), [
    (["practice", "nonsense"], "no call is called 'nonsense'"), (["practice", "--level", "8"], "wants 1 to 4"),
    (["practice", "--subject", "magic"], "wants one of air"), (["practice", "missing.yaml"], "cannot be read"),
    (["practice", "--cause", "gremlins"], "no cause is called"),
    (["practice", "--check", "missing.yaml"], "cannot be read"),
    (["practice", "--learner", " ", "--seed", "1"], "needs a name"),
    (["practice", "--summary", "--file", "missing.sqlite3"], "no record of practice"),
])
def test_what_cannot_be_done_is_said(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BURNER_ADVISOR_PRACTICE", str(tmp_path / "own.sqlite3"))
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(words) == 2
    assert said in capsys.readouterr().err
