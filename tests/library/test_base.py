"""The whole base: that ours is sound, and that each kind of mistake is told with its place."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.library import base as library
from advisor.library.base import home, load
from advisor.library.yamlfiles import LibraryError
from advisor.reasoning import rulecheck

RULE = """\
- rule: {name}
  when: {when}
  {effect}
  because: A reason.
  source: common practice
  examples:
    - fires: {{smoke: 5}}
    - stays: {{smoke: 0}}
"""


def own_rules(folder: Path, text: str) -> str:
    """What is said of a folder with one rule file of this text."""
    (folder / "own.yaml").write_text(text)
    with pytest.raises(LibraryError) as caught:
        load(folder)
    return str(caught.value)


def rule(when: str = "{smoke: [heavy]}", effect: str = "advises: Do it.", name: str = "mine") -> str:
    return RULE.format(name=name, when=when, effect=effect)


def test_our_own_base_is_sound_and_its_rules_pass_the_authors_check() -> None:
    assert rulecheck.findings(load()) == []


def test_a_sign_that_drowns_beside_stronger_ones_is_told(tmp_path: Path) -> None:
    """A wide chimney, said to speak for a blocked flue, hardly can beside the block itself being seen there."""
    (tmp_path / "own.yaml").write_text(rule("{chimney_look: [oversized]}", "supports: {blocked-flue: moderate}"))
    told = [str(problem) for problem in rulecheck.findings(load(tmp_path))]
    assert any("rule mine supports blocked-flue, but counts" in one for one in told), told


def test_the_issue_s_measure_of_breadth() -> None:
    base = load()
    entries = len(base.quantities) + len(base.observations)
    hazard_rules = sum(rule.hazard is not None for rule in base.rules.values())
    assert len(base.causes) >= 60
    assert entries >= 100
    assert len(base.checks) >= 40
    assert len(base.rules) >= 300
    assert hazard_rules >= 25


def test_own_rules_are_read_beside_ours(tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_text(rule())
    both = load(tmp_path)
    assert both.rules["mine"].own
    assert set(load().rules) < set(both.rules)


@pytest.mark.parametrize(("text", "line", "words"), [
    (rule(when="{smoek: [heavy]}"), 1, "unknown name 'smoek'; did you mean 'smoke'?"),
    (rule(when="{smoke: [black]}"), 1, "smoke has no 'black'; it has zero, trace, some, heavy"),
    (rule(when="{oil_flow: [high]}"), 1, "oil_flow has no bands"),
    (rule(when="{}"), 1, "has no `when`"),
    (rule(effect="supports: {sooted-gas-passages: huge}"), 3, "must be one of slight, moderate, strong, near"),
    (rule(effect="supports: {soot: strong}"), 1, "unknown cause 'soot'"),
    (rule(effect="concludes: {gas_passages: wide}"), 1, "gas_passages has no 'wide'; it has restricted"),
    (rule(effect="hazard: fire"), 1, "unknown hazard 'fire'"),
    (rule(effect="doubts: {readings: [co3], recheck: measure-smoke}"), 1, "unknown quantity or observation 'co3'"),
    (rule(effect="unknown: 1"), 3, "unknown key `unknown`"),
    (rule(effect="unknown: 1"), 1, "has no effect"),
    (rule().replace("  because: A reason.\n", ""), 1, "has no `because`; add it"),
    (rule().replace("  source: common practice\n", ""), 1, "has no `source`; add it"),
    (rule().replace("common practice", "hearsay"), 5, "write `common practice`, or `{id:"),
    (rule().replace("common practice", "{id: nobody}"), 1, "unknown source 'nobody'"),
    (rule().replace("    - stays: {smoke: 0}\n", ""), 1, "has no example `stays:"),
    (rule() + rule(), 9, "rule mine stands twice"),
    (rule() + rule(name="again"), 9, "rule again repeats mine"),
    (rule(name="My_Rule"), 1, "must be small letters and digits joined by hyphens"),
    ("- cause: x\n", 1, "must begin with `rule: its-name`"),
    ("rule: x\n", 1, "must be a list of rules"),
])
def test_each_mistake_in_a_rule_is_told(tmp_path: Path, text: str, line: int, words: str) -> None:
    said = own_rules(tmp_path, text)
    fitting = [one for one in said.splitlines() if words in one]
    assert fitting, said
    assert fitting[0].split(": ")[0].endswith(f"own.yaml:{line}")


def test_all_mistakes_of_all_files_come_at_once(tmp_path: Path) -> None:
    (tmp_path / "more.yaml").write_text(rule(when="{x: [y]}", name="other"))
    said = own_rules(tmp_path, rule(effect="hazard: fire") + rule(when="{smoke: [black]}", name="third"))
    assert "own.yaml:1:" in said
    assert "own.yaml:9:" in said
    assert "more.yaml:1:" in said


def test_a_folder_that_is_not_there() -> None:
    with pytest.raises(LibraryError, match=r"is not a folder; name a folder of rule files"):
        load("no-such-folder")


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of our own knowledge and rules that `load` reads instead of ours."""
    for name in ("knowledge", "rules"):
        shutil.copytree(home(name), tmp_path / name)
    monkeypatch.setattr(library, "home", lambda folder: tmp_path / folder)
    library._load.cache_clear()
    return tmp_path


@pytest.mark.parametrize(("file", "old", "new", "words"), [
    ("knowledge/limits.yaml", "between: [normal, high]\n  value: 13 %", "between: [low, high]\n  value: 13 %",
     "quantity co2 lacks a limit between normal/high"),
    ("knowledge/limits.yaml", "value: 13 %", "value: 13 psi", "psi is a pressure unit"),
    ("knowledge/limits.yaml", "value: 13 %", "value: 8 %", "limit co2-high must lie above co2-low"),
    ("knowledge/quantities.yaml", "  bands: {very-low: 0.08, low: 0.22,", "  bands: {very-low: 0.5, low: 0.22,",
     "the usual shares of `bands` must sum to 1"),
    ("knowledge/quantities.yaml", "  derived: draft over the fire less draft at the breech\n",
     "  derived: draft over the fire less draft at the breech\n  accuracy: 0.003\n",
     "quantity draft_drop is computed: its error follows from the readings"),
    ("knowledge/quantities.yaml", "aliases: [carbon dioxide]", "aliases: [oxygen]", "'oxygen' already means"),
    ("knowledge/conditions.yaml", "- condition: optimum", "- condition: optimums",
     "condition optimums: no rule concludes 'found'"),
    ("knowledge/checks/oil.yaml", "after: [pump_pressure]", "after: [pump_presure]",
     "after: unknown quantity or observation 'pump_presure'"),
    ("knowledge/checks/safety-people-and-venting.yaml", "passes: {spillage: [none, brief]}",
     "passes: {spillage: [never]}", "passes: spillage has no 'never'"),
    ("knowledge/checks/safety-people-and-venting.yaml", "passes: {spillage: [none, brief]}",
     "passes: {smoke: [zero]}", "passes: 'smoke' is not what it gives (spillage)"),
    ("knowledge/checks/safety-people-and-venting.yaml", "unless: {draft_kind: [sealed]}",
     "unless: {draft_kind: [closed]}", "unless: draft_kind has no 'closed'"),
    ("knowledge/observations/safety-oil-power-and-water.yaml", "only: {appliance: [boiler]}",
     "only: {appliance: [steam]}", "observation low_water_cutoff: only: appliance has no 'steam'"),
    ("knowledge/observations/safety-oil-power-and-water.yaml", "only: {appliance: [boiler]}",
     "only: {nozzle_size: [heavy]}",
     "observation low_water_cutoff: only: unknown observation or banded quantity 'nozzle_size'"),
    ("knowledge/checks/oil.yaml", "state: powered", "state: turning", "`state: turning` is not one of"),
    ("knowledge/observations/hot-water-boiler.yaml", "- observation: cold_slug", "- observation: cold_slugs",
     "cold_slugs is given by no check"),
    ("knowledge/hazards/oil-power-and-water.yaml", "reset: no, start: no, run: no, open: yes,\n        oil-open: no",
     "start: no, run: no, open: yes,\n        oil-open: no", "`may` says nothing of reset; answer for each"),
    ("knowledge/hazards/oil-power-and-water.yaml", "switch: no, power: no", "switch: reentry, power: no",
     "`switch: reentry` has no meaning"),
    ("knowledge/hazards/oil-power-and-water.yaml", "power: no, reset: no, start: no, run: no, open: yes",
     "power: no, reset: no, start: yes, run: no, open: yes", "allows `start` and forbids `power`, which it includes"),
    ("knowledge/hazards/oil-power-and-water.yaml", "  ends: [fire-service]\n", "",
     "`emergency` and `ends` belong where people must leave (reentry), only there"),
    ("knowledge/hazards/oil-power-and-water.yaml", "expect: {vapor_smell: [none]}}", "expect: {}}",
     "`proof` expects nothing, so nothing could release it"),
    ("knowledge/hazards/oil-power-and-water.yaml", "proof: {checks: [look-round-oil],", "proof: {checks: [look-rond],",
     "proof: unknown check 'look-rond'"),
    ("knowledge/hazards/oil-power-and-water.yaml",
     'does: "Service switch locked off, tank valve shut."\n      acts: [lock-off, oil-close]',
     'does: "Burner\'s switch on."\n      acts: [power]', "orders 'power', which it forbids: \"Burner's switch on.\""),
    ("knowledge/acts.yaml", "includes: [power, oil-open]", "includes: [power, oil-opn]",
     "act start: unknown act 'oil-opn'; did you mean 'oil-open'?"),
    ("knowledge/acts.yaml", "look: relief_valve\n      clear: [sound]", "look: relief_valve\n      clear: [good]",
     "act start: looks: relief_valve has no 'good'"),
    ("knowledge/remedies/air-and-head.yaml",
     'does: "Shut off and lock out the service switch, and note the shutter mark."\n      acts: [lock-off]',
     'does: "Note the shutter mark."\n      acts: []', "clean-fan-wheel: 'hands' comes before lock-off"),
])
def test_each_mistake_in_the_knowledge_is_told(copied: Path, file: str, old: str, new: str, words: str) -> None:
    path = copied / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))
    with pytest.raises(LibraryError) as caught:
        load()
    library._load.cache_clear()
    assert words in str(caught.value)


HEARD = """\
- observation: {name}
  title: the {name}
  question: Well?
  answers: {{good: {{usual: 0.9, means: good}}, bad: {{usual: 0.1, means: bad}}}}
  {said}
"""


@pytest.mark.parametrize(("said", "words"), [
    ("said: {bad: [~fell to bits]}", "own.yaml:6: hat_look: the phrase '~Fell to bits' already means cap_look bad, so "
                                     "it cannot mean good by itself"),
    ("said: {worse: [~fell off]}", "own.yaml:1: observation cap_look: 'worse' is none of its answers"),
    ("sound: fine", "own.yaml:1: observation cap_look: 'fine' is none of its answers"),
    ("said: {bad: ['~']}", "own.yaml:1: observation cap_look: `said` has '~'; write words"),
])
def test_each_mistake_in_what_people_say_is_told(copied: Path, said: str, words: str) -> None:
    other = HEARD.format(name="hat_look", said="said: {good: [~Fell to bits]}")
    (copied / "knowledge" / "own.yaml").write_text(HEARD.format(name="cap_look", said=said) + other)
    with pytest.raises(LibraryError) as caught:
        load()
    library._load.cache_clear()
    assert words in str(caught.value)


def test_a_cause_that_no_rule_supports_is_told(copied: Path) -> None:
    for path in (copied / "rules").glob("*.yaml"):
        path.write_text("[]")
    with pytest.raises(LibraryError) as caught:
        load()
    library._load.cache_clear()
    said = "\n".join(map(str, caught.value.problems))
    assert "cause sooted-gas-passages: no rule supports it, so it can never be found" in said
    assert "hazard oil-leak: no rule leads to it" in said
