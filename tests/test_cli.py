"""The verbs as a user runs them: in a process of their own, with their exit status."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from advisor import cli
from advisor.library.base import home, load

DEMO = Path(__file__).parents[1] / "demo"


def run(*words: str, typed: str | bytes = "", folder: Path | None = None) -> tuple[int, str, str]:
    """Exit status, output and errors of `burner-advisor` with these words."""
    there = {**os.environ, "PYTHONPATH": str(DEMO.parent), "PYTHONIOENCODING": "utf-8"}
    raw = typed if isinstance(typed, bytes) else typed.encode()
    done = subprocess.run([sys.executable, "-m", "advisor.cli", *words], input=raw, capture_output=True, env=there,
                          cwd=folder, timeout=120, check=False)
    out, errors = done.stdout.decode(), done.stderr.decode()
    assert "Traceback" not in out + errors
    return done.returncode, out, errors


def test_the_demo_finds_the_soot() -> None:
    status, out, _ = run("diagnose", str(DEMO / "sooting-boiler.yaml"))
    assert status == 0
    causes = out[out.index("CAUSES"):]
    assert causes.index("soot in the flue passages") < 200
    assert "NEXT CHECK" in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_json_document_says_the_same() -> None:
    status, out, _ = run("diagnose", "--json", str(DEMO / "sooting-boiler.yaml"))
    document = json.loads(out)
    assert status == 0
    assert document["version"] == 2
    assert document["causes"][0]["cause"] == "sooted-gas-passages"
    rules = [rule["rule"] for piece in document["causes"][0]["evidence"] for rule in piece["rules"]]
    assert rules
    assert set(rules) <= set(load().rules)
    drop = next(one for one in document["numbers"] if one["quantity"] == "draft_drop")
    assert (drop["value"], drop["unit"]) == (0.063, "in. w.c.")
    assert drop["computed_from"] == ["draft_over_fire", "draft_breech"]
    assert document["next_check"]["minutes"] > 0
    assert document["next_check"]["value_bits"] >= 0


def test_a_hazard_sets_the_exit_status_and_comes_first() -> None:
    status, out, _ = run("diagnose", "-", typed="entries: {smoke: 4, co_room: 20 ppm}")
    assert status == 1
    assert out.startswith("HAZARD")
    assert "carbon monoxide" in out.splitlines()[1].lower()


def test_an_emergency_is_all_that_is_printed() -> None:
    status, out, _ = run("diagnose", "-", typed="entries: {smoke: 4, co_room: 80 ppm}")
    assert status == 1
    assert out.startswith("! CARBON MONOXIDE, 70 PPM OR MORE")
    assert len(out.splitlines()) <= 10
    assert max(map(len, out.splitlines())) <= 40


def test_a_released_hazard_ends_with_0_and_the_document_says_how() -> None:
    typed = ("entries: [{oil_leak: dripping}, {cured: {oil-leak: new flare at the filter}}, {oil_leak: none}, "
             "{start_behavior: clean}]")
    status, out, _ = run("diagnose", "-", "--json", typed=typed)
    assert status == 0
    hazard = json.loads(out)["hazards"][0]
    assert (hazard["hazard"], hazard["state"], hazard["forbids"]) == ("oil-leak", "released", [])
    assert hazard["released_by"] == ["new flare at the filter", "oil_leak", "start_behavior"]
    status, out, _ = run("diagnose", "-", "--json", typed=typed.replace(", {start_behavior: clean}", ""))
    assert status == 1
    hazard = json.loads(out)["hazards"][0]
    assert (hazard["state"], hazard["unproven"]) == ("cured", ["start_behavior"])
    assert "start" not in hazard["forbids"]  # its proof takes one
    assert "reset" in hazard["forbids"]
    status, _, error = run("diagnose", "-", typed="entries: [{oil_leak: dripping}, {cured: {oil-leek: taped}}]")
    assert status == 2
    assert "standard input:1: entries: cured: 'oil-leek' is no hazard known here" in error


@pytest.mark.parametrize(("text", "words"), [
    ("", "standard input:1: is empty"),
    ("entries: {smoke: black}", "'black': does not begin with a number"),
    ("entries: {stack: 500 psi}", "psi is a pressure unit"),
    ("entries: {stack: 5200}", "is not plausible"),
    ("entries: {co2: '12 psi'}", "psi is a pressure unit"),
    ("entries: {smokey: 3}", "is not the name of a reading or observation; did you mean smoke?"),
    ("entries: {spot_look: purple}", "it takes one of clean, dry-gray, oily-yellow, brown"),
    ("entries: {draft_drop: 0.05}", "is computed, not entered"),
    ("entry: {}", "unknown key `entry`"),
    ("entries: 3", "must be `name: value`"),
    ("manufacturer: {co2-hihg: 12}", "is not a limit"),
    ("instruments: [hammer]\nentries: {}", "'hammer' is not an instrument"),
    ("entries: {smoke: {value: 3, at: noon}}", "is not a time such as"),
    ("a: *b", "an alias"),
])
def test_bad_input_is_one_clear_line_and_status_2(text: str, words: str) -> None:
    status, out, errors = run("diagnose", "-", typed=text)
    assert (status, out) == (2, "")
    assert words in errors
    assert len(errors.splitlines()) == 1


def test_bytes_that_are_not_text_and_files_that_are_not_there() -> None:
    status, _, errors = run("diagnose", "-", typed=b"entries: {smoke: \xff}")
    assert (status, "is not UTF-8" in errors) == (2, True)
    status, _, errors = run("diagnose", "no-such-file.yaml")
    assert (status, "cannot be read: no such file" in errors) == (2, True)


def test_fifty_megabytes_on_standard_input_are_refused() -> None:
    status, _, errors = run("diagnose", "-", typed=b"x" * 50_000_000)
    assert status == 2
    assert "larger than 1,000,000 bytes" in errors


def test_all_problems_of_a_case_come_at_once() -> None:
    _, _, errors = run("diagnose", "-", typed="entries:\n  smoke: black\n  stack: cold\n")
    assert [line.split(": ")[0] for line in errors.splitlines()] == ["standard input:2", "standard input:3"]


def test_the_maker_s_figure_replaces_ours() -> None:
    _, ours, _ = run("diagnose", "--json", "-", typed="entries: {co2: 12.6}")
    _, makers, _ = run("diagnose", "--json", "-", typed="manufacturer: {co2-high: 12}\nentries: {co2: 12.6}")
    bands = [next(n["band"] for n in json.loads(out)["numbers"] if n["quantity"] == "co2") for out in (ours, makers)]
    assert bands == ["normal", "high"]


def test_explain_and_rules() -> None:
    status, out, _ = run("explain", "sooted", "gas", "passages")
    assert status == 0
    assert "What it does to the readings" in out
    status, _, errors = run("explain", "sooted-pasages")
    assert (status, "did you mean" in errors) == (2, True)
    status, out, _ = run("rules", "--cause", "sooted-gas-passages")
    assert status == 0
    assert "restricted-passages-mean-deposits" in out
    assert run("rules", "--subject", "cooking")[0] == 2


def test_check_rules_is_content_with_ours_and_says_what_is_wrong_with_others(tmp_path: Path) -> None:
    status, out, _ = run("check-rules")
    assert status == 0
    assert out.splitlines()[-1] == "no problems"
    (tmp_path / "own.yaml").write_text("- rule: x\n")
    status, _, errors = run("check-rules", str(tmp_path))
    assert status == 2
    assert "own.yaml:1: rule x has no `when`" in errors


def test_every_page_can_be_shown() -> None:
    from advisor.pages.handbook import page

    base = load()
    shelves = (base.quantities, base.observations, base.conditions, base.causes, base.checks, base.rules,
               base.hazards, base.remedies, base.limits, base.instruments, base.fuels, base.sources, base.terms)
    for shelf in shelves:
        for name in shelf:
            lines = page(base, name)
            assert max(map(len, lines)) <= 80
            assert len(lines) > 1


def test_the_version_names_engine_and_rules(monkeypatch: pytest.MonkeyPatch) -> None:
    status, out, _ = run("--version")
    assert status == 0
    assert out.startswith("burner-advisor ")
    assert f"rules: {home('rules')}" in out
    monkeypatch.setenv("BURNER_ADVISOR_ENGINE", "plain")
    assert "engine: plain" in run("--version")[1]
    monkeypatch.setenv("BURNER_ADVISOR_ENGINE", "fast")
    status, _, errors = run("diagnose", str(DEMO / "sooting-boiler.yaml"))
    assert status == 2
    assert "'fast' is no evaluator; there are durable_rules and plain" in errors


def test_both_evaluators_print_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = run("diagnose", "--json", str(DEMO / "sooting-boiler.yaml"))
    monkeypatch.setenv("BURNER_ADVISOR_ENGINE", "plain")
    assert run("diagnose", "--json", str(DEMO / "sooting-boiler.yaml")) == usual


@pytest.mark.parametrize("words", [["diagnose"], ["call"], ["report"], ["test"], ["diagnose", "--rules"]])
def test_odd_paths_are_told_in_a_line(words: list[str], tmp_path: Path) -> None:
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)
    for odd in (str(tmp_path), str(loop), "a" * 300, "/dev/null/x.yaml"):
        status, _, errors = run(*words, odd, typed="boiler\n", folder=tmp_path)
        assert "should not happen" not in errors, (words, odd)
        if words[0] in ("call", "test") and odd != str(tmp_path):  # a new case, as far as one can be kept there
            assert status == 0 or errors.strip(), (words, odd)
            continue
        assert status == 2, (words, odd)
        assert errors.strip(), (words, odd)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_a_full_device_is_told() -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run([sys.executable, "-m", "advisor.cli", "rules"], stdout=full, stderr=subprocess.PIPE,
                              cwd=DEMO.parent, check=False, text=True)
    assert done.returncode == 2
    assert done.stderr == "cannot go on: [Errno 28] No space left on device\n"


def test_a_closed_output_and_a_locale_without_letters_do_no_harm() -> None:
    closed = subprocess.run([sys.executable, "-m", "advisor.cli", "rules"], stderr=subprocess.PIPE, cwd=DEMO.parent,
                            preexec_fn=lambda: os.close(1), check=False, text=True)
    assert "Traceback" not in closed.stderr
    plain = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"}
    shown = subprocess.run([sys.executable, "-m", "advisor.cli", "diagnose", "-"], env=plain, cwd=DEMO.parent,
                           capture_output=True, check=False, input="title: Größe\nentries: {smoke: 3}\n".encode())
    assert shown.returncode == 0
    assert rb"Gr\xf6\xdfe" in shown.stdout


def test_a_failure_of_our_own_is_one_line_and_names_its_details(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    def broken(arguments: object) -> int:
        raise ZeroDivisionError("by zero")

    monkeypatch.setattr(cli, "_rules", broken)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    assert cli.main(["rules"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("This should not happen: ZeroDivisionError: by zero.")
    details = Path(told.strip().rpartition("Details: ")[2])
    assert "Traceback" in details.read_text()
    assert details.stat().st_mode & 0o777 == 0o600


def test_rules_of_ones_own_are_named_and_go_on(tmp_path: Path) -> None:
    own = tmp_path / "own rules"
    own.mkdir()
    (own / "shop.yaml").write_text(
        "- rule: shop-smoke\n  when: {smoke: [heavy]}\n  advises: Look at the shop's own list.\n"
        "  because: A rule to try it.\n  source: common practice\n  examples:\n"
        "    - fires: {smoke: 5}\n    - stays: {smoke: 0}\n")
    rules = json.loads(run("diagnose", "-", "--rules", str(own), "--json", typed="entries: {smoke: 5}\n")[1])["rules"]
    assert rules == {"ours": len(load().rules), "own": 1, "own_folder": str(own), "used": load(own).rules_used,
                     "case_written_with": ""}
    _, out, _ = run("call", "a.yaml", "--rules", str(own), typed="smoke 5\n", folder=tmp_path)
    assert f"burner-advisor call a.yaml --rules '{own}'" in " ".join(out.split()).replace("- ", "-")
    status, _, errors = run("diagnose", "-", "--rules", str(own), "--rules", str(own))
    assert status == 2
    assert "--rules was given twice" in errors
