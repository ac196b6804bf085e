"""A page for anything that has a name: what it is, its mechanism, what leads there, what follows, its source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from advisor.library.base import Base
from advisor.library.items import (
    COMMON,
    Access,
    Act,
    Cause,
    Check,
    Condition,
    Family,
    Hazard,
    Instrument,
    Limit,
    Observation,
    Panel,
    Quantity,
    Remedy,
    Rule,
    Source,
    Term,
)
from advisor.library.yamlfiles import shorten
from advisor.pages.finding import (
    UnknownNameError,
    alone,
    find,
    having,
    more_lines,
    plural,
    shelves_of,
)
from advisor.pages.instructions import step_lines
from advisor.pages.shown import families_of, showing, shows, told_apart
from advisor.pages.wording import effects_text, origin_text, plain, turnout_text, weight_word, when_text, wrapped
from advisor.physics import units
from advisor.physics.combustion import Fuel, air_fuel_ratio, co2_max
from advisor.reasoning.gate import Gate

_MOST_COMPLAINTS = 5
_KINDS = {"quantity": "a reading", "observation": "a question", "condition": "what readings say together",
          "access": "done once for several checks", "act": "something done", "instrument": "an instrument",
          "term": "a word", "family": "a family of causes", "panel": "what causes show on a basic reading"}
"""What the kinds of items are called on their pages, where their own names do not say it."""


def page(base: Base, name: str, gate: Gate | None = None) -> list[str]:
    """The page of whatever a name means.

    Parameters
    ----------
    name : str
        A name, title or alias of anything in the base; small or capital letters, hyphens or blanks.
    gate : Gate, optional
        Of the call on which it is read: no step that is not to be done now is shown. By default none is held back.

    Raises
    ------
    UnknownNameError
        Where nothing has that name.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> print(*page(load(), "draft drop")[:2], sep=chr(10))
    DRAFT DROP FROM BREECH TO FIRE
      a reading; in files draft_drop
    """
    found = find(base, name)
    gate = gate or Gate(base)
    out: list[str] = []
    for kind, item in found:
        if out:
            out += ["", ""]
        out += _PAGES[kind](gate, item)
    return out


def page_of(base: Base, kind: str, item: Any) -> list[str]:
    """The page of one item of a kind, with no step held back."""
    return _PAGES[kind](Gate(base), item)


def words_page(base: Base, words: str, gate: Gate | None = None) -> list[str]:
    """What words mean: the page of what is called so, and a list of all else that has them in its name.

    Parameters
    ----------
    words : str
        As for `page`; or a word in the names of several things, such as `soot`.

    Raises
    ------
    UnknownNameError
        Where no name has these words.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> words_page(load(), "pump")[0]
    "SEVERAL THINGS HAVE 'pump' IN THEIR NAME; `explain NAME` SHOWS ONE:"
    """
    try:
        found = find(base, words)
    except UnknownNameError:
        more = list(more_lines(base, words))
        if not more:
            raise
        items = [item for shelf in having(base, words).values() for item in shelf]
        if len(items) == 1:
            return page(base, items[0].name, gate)
        return [*wrapped(f"SEVERAL THINGS HAVE {shorten(words)!r} IN THEIR NAME; `explain NAME` SHOWS ONE:", 0, 2),
                *_more(more)]
    out = page(base, words, gate)
    if found[0][0] == "list" or alone(base, words):
        return out
    more = list(more_lines(base, words, tuple(found)))
    return [*out, "", "", *wrapped(f"ALSO WITH {shorten(words)!r} IN THEIR NAME:", 0, 2), *_more(more)] if more else out


def _more(lines: Iterable[tuple[str, str]]) -> list[str]:
    out = []
    for name, title in lines:
        if name.isupper() and not title:
            out += ["", name]
        else:
            out += wrapped(f"{name:<32} {title}" if title and _plain_name(title) != _plain_name(name) else name, 2, 35)
    return out


def _plain_name(text: str) -> str:
    return text.casefold().replace("-", " ").replace("_", " ")


def index_page(base: Base) -> list[str]:
    """All kinds of things that have a page, with how many there are and how they are listed.

    >>> from advisor.library.base import load
    >>> index_page(load())[0]
    'WHAT IS KNOWN'
    """
    out = ["WHAT IS KNOWN"]
    for kind, shelf in shelves_of(base).items():
        out += wrapped(f"explain {plural(kind):<13} {len(shelf):>4}  such as: {next(iter(shelf))}", 2, 28)
    return [*out, "", *wrapped("`explain` with any word that people use finds it: explain soot; explain cad cell. "
                               "`handbook FOLDER` writes all of it as pages with a search.", 0, 2)]


def _list(gate: Gate, listed: tuple[str, Iterable[Any]]) -> list[str]:
    kinds, items = listed
    out = [kinds.upper()]
    for item in items:
        title = gate.base.title(item.name) if kinds == "panels" else item.title
        out += wrapped(f"{item.name:<32} {title}" if item.name != title else item.name, 2, 35)
    return out


def _head(title: str, kind: str, name: str) -> list[str]:
    return [*wrapped(title.upper(), 0, 2), *wrapped(f"{_KINDS.get(kind, f'a {kind}')}; in files {name}", 2)]


def _section(title: str, lines: Iterable[str]) -> list[str]:
    lines = list(lines)
    return ["", title, *lines] if lines else []


def _bullets(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in wrapped(text, 2, first="- ")]


def _rule(gate: Gate, rule: Rule) -> list[str]:
    base = gate.base
    mine = " - a rule of your own" if rule.own else ""
    return [
        *_head(rule.title, "rule", rule.name),
        *_section("When", wrapped(when_text(base, rule.when), 2)),
        *_section("It says", _bullets(effects_text(base, rule, gate))),
        *_section("Because", wrapped(rule.because, 2)),
        *_section("Example", _bullets(
            f"{'holds' if one.fires else 'does not hold'} with "
            + ", ".join(f"{name} {typed}" for name, typed in one.entries.items()) for one in rule.examples)),
        *_section("Source", wrapped(origin_text(base, rule.origin), 2)),
        *_section("Stands in", wrapped(f"{rule.place}{mine}", 2)),
    ]


def _cause(gate: Gate, cause: Cause) -> list[str]:
    base = gate.base
    only = when_text(base, cause.only)
    most = sorted(cause.calls.items(), key=lambda pair: -pair[1])[:_MOST_COMPLAINTS]
    how_common = "; ".join(turnout_text(complaint, share) for complaint, share in most) or (
        f"{cause.common}: about {100 * COMMON[cause.common]:.2g} in 100 service calls")
    how_common += " (our own estimate)"
    return [
        *_head(cause.title, "cause", cause.name),
        *wrapped(cause.about, 2),
        *_section("How common", wrapped(how_common + (f"; only where {only}" if only else ""), 2)),
        *_section("What it does to the readings", _bullets(
            f"{base.title(link.moves)}: {' or '.join(plain(s) for s in link.to)}; {link.because}"
            for link in cause.chain)),
        *_section("How often units that have it show it (our own estimate)", _bullets(shows(base, cause))),
        *_section("What points to it", _bullets(_leading(base, cause))),
        *_section("Family", _bullets(families_of(base, cause))),
        *_section("What may lie behind it", _bullets(base.title(one) for one in cause.behind)),
        *_section("To confirm it", wrapped(f"{base.title(cause.confirm_check)}: "
                                           f"{cause.confirm_shows}", 2)),
        *_section("Remedy", _remedy_body(gate, base.remedies[cause.remedy])),
    ]


def _leading(base: Base, cause: Cause) -> Iterable[str]:
    for rule in base.rules_about[cause.name]:
        effect = "confirms" if cause.name in rule.confirms else "excludes"
        weight = rule.weighs.get(cause.name)
        if weight is not None:
            effect = f"{weight_word(weight)} {'for' if weight > 0 else 'against'}"
        yield f"{effect}: {when_text(base, rule.when)}"


def _remedy_body(gate: Gate, remedy: Remedy) -> list[str]:
    base = gate.base
    return [
        *wrapped(f"{remedy.title}: {remedy.minutes:g} min, by: {plain(remedy.who)}{remedy.needs}", 2),
        *step_lines(gate, remedy.steps, 2),
        *[line for text in remedy.cautions for line in wrapped(text, 2, first="! ")],
        *wrapped(f"retest: {', '.join(base.title(name) for name in remedy.retest.checks)}. {remedy.retest.proves}",
                 2, 10),
    ]


def _remedy(gate: Gate, remedy: Remedy) -> list[str]:
    base = gate.base
    causes = [cause for cause in base.causes.values() if cause.remedy == remedy.name]
    return [
        *_head(remedy.title, "remedy", remedy.name),
        *_section("It fixes", _bullets(cause.title for cause in causes)),
        *_section("How", _remedy_body(gate, remedy)),
    ]


def _check(gate: Gate, check: Check) -> list[str]:
    base = gate.base
    tools = ", ".join(base.title(one) for one in check.instruments) or "none"
    bears = dict.fromkeys(cause for name in check.gives for rule in base.rules.values() if name in rule.when
                          for cause in rule.causes)
    first = ", starting cold" if check.cold_start else ""
    always = "; part of the safety look on every call" if check.safety else ""
    always += "; one of the readings that no service call goes without" if check.basic else ""
    once = [base.accesses[one] for one in check.takes_once if one in base.accesses]
    opened = "".join(f"; with {access.title} ({access.minutes:g} min once a call)" for access in once)
    takes = f"{check.minutes:g} min{opened}; burner {check.burner}{first}; instruments: {tools}"
    takes += f"; by: {plain(check.who)}"
    if check.after:
        takes += f"; not before: {', '.join(base.title(name) for name in check.after)}"
    if check.unless:
        takes += f"; of no use where {when_text(base, check.unless)}"
    return [
        *_head(check.title, "check", check.name),
        *wrapped(check.why, 2),
        *_section("Takes", wrapped(takes + always, 2)),
        *_section("How", step_lines(gate, check.how, 2, gives=check.gives)),
        *_section("Cautions", _bullets(check.cautions)),
        *_section("What goes wrong with it", _bullets(check.mistakes)),
        *_section("It gives", _bullets(base.title(name) for name in check.gives)),
        *_section("It is passed by", _bullets(f"{base.title(name)}: {' or '.join(map(plain, symbols))}"
                                              for name, symbols in check.passes.items())),
        *_section("It bears directly on", _bullets(base.title(one) for one in bears)),
    ]


def _quantity(gate: Gate, quantity: Quantity) -> list[str]:
    base = gate.base
    low, high = (units.format_value(value, quantity.kind) for value in quantity.plausible)
    if quantity.derived:
        accuracy = "error from the readings behind it"
        if quantity.formula_error:
            accuracy += f", and {units.format_value(quantity.formula_error, quantity.kind)} of the formula itself"
    else:
        shown = units.format_value(quantity.accuracy, quantity.kind) if quantity.accuracy else "not stated"
        accuracy = f"accuracy {shown}"
    taken = quantity.derived or (f"measured, or computed {quantity.computed}" if quantity.computed else "entered")
    words = () if quantity.derived else wrapped(", ".join((quantity.name, *quantity.aliases)), 2)
    return [
        *_head(quantity.title, "quantity", quantity.name),
        *wrapped(quantity.about, 2),
        *_asked_only_of(base, quantity),
        *_section("Typed as", words),
        *_section("How it comes", wrapped(
            f"{taken}; unit {units.symbol(quantity.kind) or 'none'}; plausible {low} to {high}; {accuracy}"
            + (f"; instrument: {base.title(quantity.instrument)}" if quantity.instrument else ""), 2)),
        *_section("Checks that give it", _bullets(check.title
                                       for check in base.checks_giving.get(quantity.name, ()))),
        *_section("Bands, from low to high", wrapped(", ".join(plain(band) for band in quantity.bands), 2)
                  if quantity.bands else ()),
        *_section("Limits", _bullets(_limit_line(base, limit) for limit in base.limits_of[quantity.name])),
        *_section("Rules that use it", _bullets(_users(gate, quantity.name))),
    ]


def _limit_line(base: Base, limit: Limit) -> str:
    kind = base.quantities[limit.of].kind
    cases = "".join(f"; {units.format_value(case.value, kind)} where {when_text(base, case.when)}"
                    for case in limit.cases)
    return (f"{plain(limit.below)} / {plain(limit.above)} at {units.format_value(limit.value, kind)}{cases}: "
            f"{limit.because} Source: {origin_text(base, limit.origin)}")


def _limit(gate: Gate, limit: Limit) -> list[str]:
    base = gate.base
    return [
        *_head(limit.title, "limit", limit.name),
        *wrapped(f"Of {base.title(limit.of)}: {_limit_line(base, limit)}", 2),
        *wrapped("It protects people: no manufacturer's figure takes its place." if limit.fixed else
                 "The manufacturer's own figure for the unit, where entered, takes its place.", 2),
    ]


def _users(gate: Gate, name: str) -> Iterable[str]:
    for rule in gate.base.rules.values():
        if name in rule.when:
            symbols = " or ".join(plain(symbol) for symbol in rule.when[name])
            yield f"{symbols}: {'; '.join(effects_text(gate.base, rule, gate))}"


def _asked_only_of(base: Base, item: Quantity | Observation) -> list[str]:
    return wrapped(f"Asked only where {when_text(base, item.only)}.", 2) if item.only else []


def _observation(gate: Gate, observation: Observation) -> list[str]:
    base = gate.base
    return [
        *_head(observation.title, "observation", observation.name),
        *wrapped(observation.question, 2),
        *_asked_only_of(base, observation),
        *_section("Answers", _bullets(f"{answer}: {meaning}" for answer, meaning in observation.means.items())),
        *_section("Checks that give it", _bullets(check.title
                                       for check in base.checks_giving.get(observation.name, ()))),
        *_section("Rules that use it", _bullets(_users(gate, observation.name))),
    ]


def _condition(gate: Gate, condition: Condition) -> list[str]:
    base = gate.base
    return [
        *_head(condition.title, "condition", condition.name),
        *wrapped(condition.about, 2),
        *_section("Values", _bullets(f"{plain(value)}: {meaning}" for value, meaning in condition.values.items())),
        *_section("What points to it", _bullets(
            f"{plain(rule.concludes[condition.name])}: {when_text(base, rule.when)}. {rule.because}"
            for rule in base.rules_concluding[condition.name])),
        *_section("What follows", _bullets(_users(gate, condition.name))),
    ]


def _family(gate: Gate, family: Family) -> list[str]:
    return [
        *_head(family.title, "family", family.name),
        *wrapped(family.about, 2),
        *_section("The causes in it, and the look that confirms each", _bullets(told_apart(gate.base, family))),
    ]


def _panel(gate: Gate, panel: Panel) -> list[str]:
    base = gate.base
    also = ", ".join(base.title(name) for name in panel.also)
    return [
        *_head(base.title(panel.name), "panel", panel.name),
        *wrapped(panel.about, 2),
        *_section("Read beside", _bullets([base.title(panel.given)] if panel.given else ())),
        *_section("Told by these too", _bullets([also] if also else ())),
        *_section("How often, and the causes that show it most (our own estimate)", _bullets(showing(base, panel))),
    ]


def _hazard(gate: Gate, hazard: Hazard) -> list[str]:
    base = gate.base
    rules = [rule for rule in base.rules.values() if rule.hazard == hazard.name]
    return [
        *_head(hazard.title, "hazard", hazard.name),
        *wrapped(hazard.because, 2),
        *_section("Where people must leave", _orders(gate, hazard)),
        *_section("What to do", step_lines(gate, hazard.do, 2)),
        *_section("Whom to call", wrapped(hazard.call, 2)),
        *_section("What it forbids while it is open", _bullets(_forbidden(base, hazard))),
        *_section("Released when", wrapped(f"{hazard.released_when}. Shown by: {when_text(base, hazard.proof)}", 2)),
        *_section("Fixed by the remedy of", _bullets(base.title(one) for one in hazard.sources)),
        *_section("What points to it", _bullets(
            f"{when_text(base, rule.when)}. {rule.because} Source: {origin_text(base, rule.origin)}"
            for rule in rules)),
    ]


def _orders(gate: Gate, hazard: Hazard) -> list[str]:
    orders = [step for step in hazard.emergency if not gate.stops(step.acts)]
    return [line for number, step in enumerate(orders, 1) for line in wrapped(step.text, 2, first=f"{number}. ")]


def _forbidden(base: Base, hazard: Hazard) -> Iterator[str]:
    for act, may in hazard.may.items():
        if may != "yes":
            yield base.title(act) + (" (before it is safe to go back in)" if may == "reentry" else "")


def _act(gate: Gate, act: Act) -> list[str]:
    base = gate.base
    looks = [f"{base.title(look.name)} is {' or '.join(map(plain, look.clear))}"
             + (f", where {when_text(base, look.when)}" if look.when else "") + f". {look.because}"
             for look in act.looks]
    bars = [f"{when_text(base, bar.when)}" + (f", unless {when_text(base, bar.unless)}" if bar.unless else "")
            + f". {bar.because}" for bar in act.bars]
    return [
        *_head(act.title, "act", act.name),
        *wrapped(act.about, 2),
        *_section("Doing it also does", _bullets(base.title(name) for name in act.includes)),
        *_section("Before it is looked at", _bullets(looks)),
        *_section("Not done where", _bullets(bars)),
        *_section("Forbidden by", _bullets(hazard.title for hazard in base.hazards.values()
                                           if hazard.may.get(act.name, "yes") != "yes")),
    ]


def _instrument(gate: Gate, instrument: Instrument) -> list[str]:
    base = gate.base
    checks = [check for check in base.checks.values() if instrument.name in check.instruments]
    return [
        *_head(instrument.title, "instrument", instrument.name),
        *wrapped(instrument.about, 2),
        *_section("Set-up", wrapped(f"{instrument.setup:g} min, once a call", 2)),
        *_section("Used for", _bullets(check.title for check in checks)),
    ]


def _access(gate: Gate, access: Access) -> list[str]:
    base = gate.base
    checks = [check for check in base.checks.values() if access.name in check.takes_once]
    return [
        *_head(access.title, "access", access.name),
        *wrapped(f"Once a call, {access.minutes:g} min.", 2),
        *_section("Needed for", _bullets(check.title for check in checks)),
    ]


def _source(gate: Gate, source: Source) -> list[str]:
    base = gate.base
    rules = [rule for rule in base.rules.values() if rule.origin.source == source.name]
    limits = [limit for limit in base.limits.values() if limit.origin.source == source.name]
    return [
        *_head(source.title, "source", source.name),
        *wrapped(", ".join(part for part in (source.publisher, source.year) if part), 2),
        *wrapped(source.about, 2),
        *_section("Rules that rest on it", _bullets(f"{rule.title}" for rule in rules)),
        *_section("Limits that rest on it", _bullets(f"{limit.title}" for limit in limits)),
    ]


def _term(gate: Gate, term: Term) -> list[str]:
    return [*_head(term.title, "term", term.name), *wrapped(term.means, 2)]


def _fuel(gate: Gate, fuel: Fuel) -> list[str]:
    shares = (("carbon", fuel.carbon), ("hydrogen", fuel.hydrogen), ("sulfur", fuel.sulfur), ("oxygen", fuel.oxygen))
    return [
        *_head(fuel.title, "fuel", fuel.name),
        *wrapped(f"By mass: {', '.join(f'{name} {100 * share:.2f} %' for name, share in shares if share)}. Higher "
                 f"heating value {fuel.hhv_btu_per_lb:,.0f} Btu/lb, density {fuel.density_lb_per_gal:g} lb/gal, "
                 f"{fuel.hhv_btu_per_lb * fuel.density_lb_per_gal:,.0f} Btu/gal. Air needed "
                 f"{air_fuel_ratio(fuel):.2f} lb/lb; greatest CO2 {co2_max(fuel):.1f} %.", 2),
        *_section("Source", wrapped(fuel.source, 2)),
    ]


_PAGES: Mapping[str, Callable[[Gate, Any], list[str]]] = {
    "quantity": _quantity, "observation": _observation, "condition": _condition, "limit": _limit, "rule": _rule,
    "cause": _cause, "check": _check, "remedy": _remedy, "hazard": _hazard, "act": _act, "access": _access,
    "instrument": _instrument, "fuel": _fuel, "source": _source, "term": _term, "list": _list,
    "family": _family, "panel": _panel,
}


def rule_list(
    base: Base, subject: str | None = None, cause: str | None = None, quantity: str | None = None,
    source: str | None = None,
) -> list[str]:
    """The rules that fit all of the filters given, a line or two each; errors: `UnknownNameError`."""
    subjects = sorted({rule.subject for rule in base.rules.values()})
    if subject is not None and subject not in subjects:
        raise UnknownNameError(f"no subject {shorten(subject)!r}; the subjects are {', '.join(subjects)}")
    cause = _resolved(base, cause, ("cause",))
    name = _resolved(base, quantity, ("quantity", "observation", "condition"))
    if source == "common practice":
        wanted: str | None = ""
    else:
        wanted = _resolved(base, source, ("source",))
    out = []
    for rule in base.rules.values():
        if (
            (subject is None or rule.subject == subject) and (cause is None or cause in rule.causes)
            and (name is None or name in rule.when or name in rule.concludes)
            and (wanted is None or (rule.origin.source or "") == wanted)
        ):
            out += wrapped(rule.name, 0)
            out += wrapped(f"{when_text(base, rule.when)}: {'; '.join(effects_text(base, rule))}", 4)
    return out or ["no rule fits all of these filters"]


def _resolved(base: Base, text: str | None, kinds: tuple[str, ...]) -> str | None:
    if text is None:
        return None
    for kind, item in find(base, text):
        if kind in kinds:
            return str(item.name)
    raise UnknownNameError(f"{shorten(text)!r} is not a {' or '.join(kinds)}")
