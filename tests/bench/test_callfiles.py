"""Calls that instructors write: what a file may say, and that everything wrong in it is told with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.bench.callfiles import our_calls, read_calls
from advisor.bench.practice import begin, turn
from advisor.bench.world import World, answer, truth
from advisor.cli import main
from advisor.library.base import load
from advisor.library.yamlfiles import LibraryError

GOOD = """
- call: my-own
  title: My own call
  unit: boiler
  with: {outdoor_degf: 20}
  says: "It smokes."
  house: A house.
  history: None.
  hidden: {air-shutter-too-closed: 0.8}
  gives: {chimney_look: obstructed}
  goes-wrong:
    - {acts: [start], before: [oil_in_chamber], then: "It went off."}
"""


def read(tmp_path: Path, text: str) -> LibraryError | None:
    path = tmp_path / "own.yaml"
    path.write_text(text, encoding="utf-8")
    try:
        read_calls(load(), path)
    except LibraryError as error:
        return error
    return None


def test_a_call_of_ones_own_is_played(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(GOOD, encoding="utf-8")
    call = read_calls(load(), path)["my-own"]
    assert answer(load(), World(call), "chimney_look").value == "obstructed"
    assert call.faults == (("air-shutter-too-closed", 0.8),)
    state, said = turn(load(), begin(load(), call), "start it")
    assert state.over
    assert "It went off." in " ".join(said)
    assert main(["practice", "--check", str(path)]) == 0
    assert "1 call, no problems" in capsys.readouterr().out


@pytest.mark.parametrize(("change", "by", "said"), [
    ("unit: boiler", "unit: kettle", "own.yaml:4: call my-own: `unit: kettle` is not one of"),
    ("outdoor_degf: 20", "outdor_degf: 20", "own.yaml:5: call my-own: with: a unit has no 'outdor_degf'; did you"),
    ("outdoor_degf: 20", "outdoor_degf: cold", "own.yaml:5: call my-own: with: outdoor_degf must be a number"),
    ("air-shutter-too-closed: 0.8", "air-shuter-too-closed: 0.8", "own.yaml:9: call my-own: hidden: no cause"),
    ("air-shutter-too-closed: 0.8", "air-shutter-too-closed: 3", "own.yaml:9: call my-own: hidden: air-shutter"),
    ("air-shutter-too-closed: 0.8", "duct-apart: gross", "the model unit cannot play duct-apart"),
    ("air-shutter-too-closed: 0.8", "duct-apart: as-told", "cannot be on this unit"),
    ("air-shutter-too-closed: 0.8", "power-venter-weak: gross", "own.yaml:9"),
    ("chimney_look: obstructed", "chimney_look: purple", "own.yaml:10: call my-own: gives:"),
    ("chimney_look: obstructed", "chimny_look: clear", "own.yaml:10: call my-own: gives: no reading or look is called"),
    ("chimney_look: obstructed", "chimney_look: {is: obstructed, until: cold-oil}", "which is not hidden here"),
    ("acts: [start]", "acts: [explode]", "own.yaml:12: call my-own: goes-wrong: no act is called 'explode'"),
    ("before: [oil_in_chamber]", "before: [oil_in_chambr]", "no look is called 'oil_in_chambr'"),
    ("history: None.", "histori: None.", "call my-own has no `history`; add it"),
    ("- call: my-own", "- cal: my-own", "own.yaml:2: an item must begin with call, not with 'cal'; did you mean call?"),
    ("says: \"It smokes.\"", "instruments: {gauge: 1}", "instruments: unknown 'gauge'; known are"),
])
def test_what_is_wrong_is_told_with_its_line(tmp_path: Path, change: str, by: str, said: str) -> None:
    assert change in GOOD
    error = read(tmp_path, GOOD.replace(change, by))
    assert error is not None
    assert said in str(error)


def test_all_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    error = read(tmp_path, GOOD.replace("boiler", "kettle").replace("obstructed", "purple").replace("[start]", "[go]"))
    assert error is not None
    assert len(error.problems) >= 3


def test_a_file_of_several_calls_wants_to_know_which(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(GOOD + GOOD.replace("my-own", "another"), encoding="utf-8")
    assert main(["practice", str(path)]) == 2
    assert "say which with --name" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["cold-sunday", "the-new-windows", "the-handy-son-in-law", "three-presses",
                                  "sunday-headache", "it-reads-too-well", "soot-comes-back", "half-the-house"])
def test_our_own_calls_show_what_they_hide(name: str) -> None:
    call = our_calls(load())[name]
    really = truth(load(), World(call))
    ranked = [one.name for one in really.causes]
    assert all(ranked.index(hidden) < 4 for hidden in call.hidden)
    # what the customer says stands on the case, and the case is about it
    assert really.known["complaint"] in load().observations["complaint"].answers
