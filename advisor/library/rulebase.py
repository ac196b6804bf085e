"""Reading rules/: one YAML file a subject, each rule into a frozen Rule, each field checked by itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from advisor.library.items import WEIGHTS, Example, Place, Rule, Step
from advisor.library.knowledge import HYPHENED, ITEMS, read_choices, read_origin, read_step
from advisor.library.yamlfiles import Fields, Node, Problem, shorten

CONFIRMING: Final = 30.0
"""Decibans of a sign that is the cause itself, seen; its opposite for an excluding one."""


MOST_CELLS: Final = 4000
"""Joint answers that a table, or a condition, may span: more take minutes to weigh, and nobody could say them."""


def by_table(rules: Iterable[Rule], equipment: frozenset[str]) -> dict[tuple[str, ...], list[Rule]]:
    """Rules of one cause by the names of the table that they belong to: rules on the same names together, and those on
    part of the names of others with them; rules on nothing but equipment by themselves.
    """
    of_names: dict[tuple[str, ...], list[Rule]] = {}
    for rule in rules:
        of_names.setdefault(tuple(sorted(rule.when)), []).append(rule)
    homes: dict[tuple[str, ...], list[Rule]] = {}
    for names in sorted(of_names, key=lambda names: (-len(names), names)):
        home = names if equipment.issuperset(names) else next(
            (bigger for bigger in homes if set(names) < set(bigger)), names)
        homes.setdefault(home, []).extend(of_names[names])
    return homes


def read_rules(root: Node, subject: str, own: bool, problems: list[Problem]) -> list[Rule]:
    """The rules of one file; what is wrong with them is added to `problems`."""
    if not isinstance(root.value, list):
        problems.append(Problem(root.file, root.line, f"must be a list of rules (- rule: ...), not {root.kind}"))
        return []
    rules = []
    for node in root.value:
        if not isinstance(node.value, dict) or next(iter(node.value), "") != "rule":
            first = next(iter(node.value), "") if isinstance(node.value, dict) else ""
            what = "an item of a rule file must begin with `rule: its-name`"
            what += f", not with `{shorten(first)}`" if first else ""
            what += "; knowledge stands in a folder `knowledge` of its own" if first in ITEMS else ""
            problems.append(Problem(node.file, node.line, what))
            continue
        fields = Fields(node, problems, "rule")
        name = fields.text("rule")
        fields.what = f"rule {name}"
        if not HYPHENED.fullmatch(name):
            fields.wrong(f"the name {shorten(name)!r} must be small letters and digits joined by hyphens")
        rules.append(_rule(fields, name, subject, own))
        fields.done()
    return rules


def _rule(fields: Fields, name: str, subject: str, own: bool) -> Rule:
    when = read_choices(fields, "when")
    if not when:
        fields.wrong(f"{fields.what} has no `when`; name at least one reading with its symbols")
    concludes = {}
    for condition, node in fields.mapping("concludes").items():
        if isinstance(node.value, str):
            concludes[condition] = node.value
        else:
            fields.wrong(f"{fields.what}: concludes `{condition}` must be one value, not {node.kind}", node)
    weighs = _weights(fields, "supports", 1.0)
    for cause, decibans in _weights(fields, "against", -1.0).items():
        if cause in weighs:
            fields.wrong(f"{fields.what} speaks both for and against {cause}; keep one")
        weighs[cause] = decibans
    confirms, excludes = fields.texts("confirms"), fields.texts("excludes")
    supports = {cause for cause, weight in weighs.items() if weight > 0}
    for one, others, words in ((confirms, excludes, "confirms and excludes"),
                               (excludes, supports, "supports and excludes"),
                               (confirms, weighs.keys() - supports, "confirms and is against")):
        for cause in sorted(set(one) & set(others)):
            fields.wrong(f"{fields.what} {words} {cause}; keep one")
    doubts, recheck = _doubts(fields)
    rule = Rule(
        name, subject, when, concludes, weighs, confirms, excludes,
        fields.text("hazard", "") or None, doubts, recheck, _advises(fields), fields.text("because"),
        read_origin(fields), _examples(fields), Place(fields.node.file, fields.node.line), own,
    )
    if not (concludes or rule.causes or rule.hazard or doubts or rule.advises):
        what = "concludes, supports, against, confirms, excludes, hazard, doubts, advises"
        fields.wrong(f"{fields.what} has no effect; give at least one of {what}")
    for fires, word in ((True, "fires"), (False, "stays")):
        if not any(example.fires is fires for example in rule.examples):
            fields.wrong(f"{fields.what} has no example `{word}: {{reading: value, ...}}`; add one")
    return rule


def _advises(fields: Fields) -> Step | None:
    node = fields.take("advises")
    return read_step(fields, node, "advises") if node else None


def _weights(fields: Fields, key: str, sign: float) -> dict[str, float]:
    out = {}
    for cause, node in fields.mapping(key).items():
        if isinstance(node.value, str) and node.value in WEIGHTS:
            out[cause] = sign * WEIGHTS[node.value]
        else:
            what = f"{fields.what}: the weight of {cause} must be one of {', '.join(WEIGHTS)}, not {node.kind}"
            fields.wrong(what, node)
    return out


def _doubts(fields: Fields) -> tuple[tuple[str, ...], str | None]:
    node = fields.take("doubts")
    if node is None:
        return (), None
    inner = Fields(node, fields.problems, f"{fields.what}: doubts")
    readings, recheck = inner.texts("readings", required=True), inner.text("recheck")
    inner.done()
    return readings, recheck


def _examples(fields: Fields) -> tuple[Example, ...]:
    out = []
    for node in fields.list("examples", required=True):
        inner = Fields(node, fields.problems, f"{fields.what}: example")
        for word in ("fires", "stays"):
            entries = {}
            for name, value in inner.mapping(word).items():
                if isinstance(value.value, str):
                    entries[name] = value.value
                else:
                    inner.wrong(f"{inner.what}: `{name}` must be one value, not {value.kind}", value)
            if entries:
                out.append(Example(word == "fires", entries, Place(node.file, node.line)))
        inner.done()
    return tuple(out)
