"""Reading knowledge/: YAML items into the frozen values of items.py, each field checked by itself.

Whether the names in them exist is checked in base.py, when everything has been read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Final

from advisor.library.items import (
    COMMON,
    COMMON_PRACTICE,
    MAYBE,
    WHOLE,
    Access,
    Act,
    Bar,
    Cause,
    Check,
    Condition,
    Family,
    Hazard,
    Instrument,
    Item,
    Limit,
    LimitCase,
    Link,
    Look,
    Observation,
    Origin,
    Panel,
    Place,
    Quantity,
    Remedy,
    Retest,
    Shown,
    Signature,
    Source,
    Step,
    Term,
    Unlike,
)
from advisor.library.yamlfiles import Fields, Node, Problem, as_number, near, shorten
from advisor.physics.combustion import Fuel
from advisor.physics.units import KINDS, PhysicsError, parse

WHO: Final = (
    "technician", "licensed-technician", "chimney-professional", "electrician", "tank-contractor", "manufacturer",
    "customer",
)
STATES: Final = ("running", "off", "starting", "stopping", "live", "powered", "any")
SUBJECTS: Final = (
    "air", "head", "oil", "fuel", "ignition", "controls", "heat-exchanger", "venting", "building", "hot-water-boiler",
    "steam", "domestic-hot-water",
)
SINCE: Final = ("nothing", "installed", "service")
PARTS: Final = ("reading", "equipment", "complaint")
STORIES: Final = ("smoke", "light-off", "spillage", "cycling", "oil-feed", "heat")
"""What several signs tell of at once, so that they are one witness: smoke, a bad light-off, gas in the room, ..."""

MAY: Final = ("yes", "no", "reentry")
"""What a hazard says of an act: allowed, forbidden, or forbidden until the house may be entered again."""

_UNDERSCORED: Final = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")
HYPHENED: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(slots=True)
class Shelves:
    """Everything read so far, by kind and name; frozen into a Base when all is read."""

    quantities: dict[str, Quantity] = field(default_factory=dict)
    observations: dict[str, Observation] = field(default_factory=dict)
    conditions: dict[str, Condition] = field(default_factory=dict)
    limits: dict[str, Limit] = field(default_factory=dict)
    causes: dict[str, Cause] = field(default_factory=dict)
    panels: dict[str, Panel] = field(default_factory=dict)
    signatures: dict[str, Signature] = field(default_factory=dict)
    families: dict[str, Family] = field(default_factory=dict)
    remedies: dict[str, Remedy] = field(default_factory=dict)
    checks: dict[str, Check] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    accesses: dict[str, Access] = field(default_factory=dict)
    acts: dict[str, Act] = field(default_factory=dict)
    hazards: dict[str, Hazard] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    terms: dict[str, Term] = field(default_factory=dict)
    fuels: dict[str, Fuel] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def read_knowledge(root: Node, shelves: Shelves) -> None:
    """Add the items of one file to the shelves, and its problems to `shelves.problems`."""
    if not isinstance(root.value, list):
        what = f"must be a list of items (- cause: ..., - check: ...), not {root.kind}"
        shelves.problems.append(Problem(root.file, root.line, what))
        return
    for node in root.value:
        first = next(iter(node.value)) if isinstance(node.value, dict) and node.value else ""
        if first not in _READERS:
            kinds = ", ".join(_READERS)
            meant = near(first, _READERS, 1, 0.75)
            what = f"an item must begin with its kind, one of {kinds}, not with {shorten(first)!r}"
            what += f"; did you mean {meant[0]}?" if meant else ""
            shelves.problems.append(Problem(node.file, node.line, what))
            continue
        shelf_name, pattern, read = _READERS[first]
        fields = Fields(node, shelves.problems, first)
        name = fields.text(first)
        fields.what = f"{first} {name}"
        if not pattern.fullmatch(name):
            joined = "underscores" if pattern is _UNDERSCORED else "hyphens"
            fields.wrong(f"the name {shorten(name)!r} must be small letters and digits joined by {joined}")
        shelf: dict[str, Any] = getattr(shelves, shelf_name)
        item = read(fields, name, Place(node.file, node.line), shelves)
        fields.done()
        if name in shelf:
            fields.wrong(f"{first} {name} stands twice; the other is at {getattr(shelf[name], 'place', 'one')}")
        else:
            shelf[name] = item


def read_origin(fields: Fields) -> Origin:
    """The `source` of an item: `common practice`, or a mapping with `id`, `where` and `from: memory`."""
    node = fields.take("source", required=True)
    if node is None:
        return COMMON_PRACTICE
    if isinstance(node.value, str):
        if node.value != "common practice":
            what = "write `common practice`, or `{id: ..., where: ..., from: memory}`"
            fields.wrong(f"{fields.what}: {what}", node)
        return COMMON_PRACTICE
    inner = Fields(node, fields.problems, f"{fields.what}: source")
    memory = inner.choice("from", ("", "memory"), "") == "memory"
    origin = Origin(inner.text("id"), inner.text("where", ""), memory)
    inner.done()
    return origin


def read_choices(fields: Fields, key: str) -> dict[str, tuple[str, ...]]:
    """A mapping of names to lists of symbols."""
    out = {}
    for name, node in fields.mapping(key).items():
        inner = Fields(Node({name: node}, node.line, node.file), fields.problems, f"{fields.what}: {key}")
        out[name] = inner.texts(name, required=True)
    return out


def read_step(fields: Fields, node: Node, key: str) -> Step:
    """A thing to do: a text, or a mapping of `does` and the `acts` that it takes."""
    if isinstance(node.value, dict):
        inner = Fields(node, fields.problems, f"{fields.what}: {key}")
        step = Step(inner.text("does"), inner.texts("acts", required=True))
        inner.done()
        return step
    if isinstance(node.value, str) and node.value.strip():
        return Step(" ".join(node.value.split()))
    fields.wrong(f"{fields.what}: `{key}` must list texts, or `does` with `acts`, not {node.kind}; quote a `: `", node)
    return Step("")


def _steps(fields: Fields, key: str, required: bool = True) -> tuple[Step, ...]:
    return tuple(read_step(fields, node, key) for node in fields.list(key, required))


def _measure(fields: Fields, node: Node, kind: str) -> float:
    try:
        return parse(node.value if isinstance(node.value, str) else "", kind).value
    except PhysicsError as error:
        fields.wrong(f"{fields.what}: {error}", node)
        return 0.0


def _shares(fields: Fields, key: str, shares: Mapping[str, float]) -> None:
    total = sum(shares.values())
    if shares and abs(total - 1) > 0.011:
        fields.wrong(f"{fields.what}: the usual shares of `{key}` must sum to 1, not {total:.3g}")
    for name, share in shares.items():
        if not 0 < share < 1:
            fields.wrong(f"{fields.what}: the usual share of {name} must lie between 0 and 1, not {share:g}")


def _quantity(fields: Fields, name: str, place: Place, shelves: Shelves) -> Quantity:
    kind = fields.choice("kind", KINDS)
    plausible = [as_number(node) for node in fields.list("plausible", required=True)]
    if len(plausible) != 2 or None in plausible or plausible[0] >= plausible[1]:  # type: ignore[operator]
        fields.wrong(f"{fields.what}: `plausible` must be two numbers, the lower first")
        plausible = [0.0, 1.0]
    bands = {band: as_number(node) or 0.0 for band, node in fields.mapping("bands").items()}
    _shares(fields, "bands", bands)
    instrument = fields.text("instrument", "") or None
    return Quantity(
        name, fields.text("title"), place, fields.texts("aliases"), fields.choice("part", PARTS, "reading"),
        kind, (plausible[0] or 0.0, plausible[1] or 0.0), fields.number("accuracy", 0.0), fields.flag("suction"),
        {word: as_number(node) or 0.0 for word, node in fields.mapping("words").items()}, instrument,
        fields.text("derived", ""), fields.text("computed", ""), bands, fields.text("about"), _stories(fields),
        read_choices(fields, "only"), read_choices(fields, "without"), fields.number("formula_error", 0.0),
        fields.text("last_of", ""), fields.texts("said"), fields.texts("size_of"),
        fields.choice("since", SINCE, "nothing"),
    )


def _limit(fields: Fields, name: str, place: Place, shelves: Shelves) -> Limit:
    of = fields.text("of")
    kind = shelves.quantities[of].kind if of in shelves.quantities else "ratio"
    if of not in shelves.quantities:
        fields.wrong(f"{fields.what}: `of: {of}` is not a quantity read before this file (quantities.yaml)")
    between = fields.texts("between", required=True)
    if len(between) != 2:
        fields.wrong(f"{fields.what}: `between` must name two neighboring bands")
        between = ("", "")
    node = fields.take("value", required=True)
    value = _measure(fields, node, kind) if node else 0.0
    cases = []
    for case_node in fields.list("cases"):
        case = Fields(case_node, fields.problems, f"{fields.what}: case")
        when, value_node = read_choices(case, "when"), case.take("value", required=True)
        cases.append(LimitCase(when, _measure(case, value_node, kind) if value_node else 0.0))
        case.done()
    at = fields.choice("at", between, between[0])
    title = fields.text("title", name.replace("-", " "))
    return Limit(name, title, place, of, between[0], between[1], at, value, tuple(cases),
                 fields.text("because"), read_origin(fields), fields.flag("fixed"))


def _answers(fields: Fields, key: str) -> tuple[dict[str, float], dict[str, str]]:
    shares, means = {}, {}
    for name, node in fields.mapping(key, required=True).items():
        inner = Fields(node, fields.problems, f"{fields.what}: {name}")
        shares[name], means[name] = inner.number("usual"), inner.text("means")
        inner.done()
    _shares(fields, key, shares)
    return shares, means


def _observation(fields: Fields, name: str, place: Place, shelves: Shelves) -> Observation:
    answers, means = _answers(fields, "answers")
    item = Observation(name, fields.text("title"), place, fields.texts("aliases"),
                       fields.choice("part", PARTS, "reading"), fields.text("question"), answers, means,
                       _stories(fields), read_choices(fields, "only"), fields.text("clear", ""),
                       fields.text("line", ""), read_choices(fields, "urgent"), read_choices(fields, "without"),
                       read_choices(fields, "said"), fields.text("sound", ""), _assumed(fields), fields.flag("plain"),
                       fields.texts("vague"))
    for answer in dict.fromkeys((*item.urgent, *item.said, *item.assumed, *item.vague,
                                 *filter(None, (item.clear, item.sound)))):
        if answer not in answers:
            fields.wrong(f"{fields.what}: {answer!r} is none of its answers; they are {', '.join(answers)}")
    for phrase in chain.from_iterable(item.said.values()):
        if not re.search(r"[a-z0-9]", phrase, re.IGNORECASE) or WHOLE in phrase[1:] or MAYBE in phrase[1:]:
            fields.wrong(f"{fields.what}: `said` has {shorten(phrase)!r}; write words, with one {WHOLE} before a "
                         f"phrase that means the answer without the name of the thing, {MAYBE} before one that may")
    if bool(item.clear) != bool(item.line):
        fields.wrong(f"{fields.what}: `clear` and `line` go together: the answer, and its line in the look round")
    return item


def _assumed(fields: Fields) -> dict[str, str]:
    """The answer that is taken as given, and the words that tell it."""
    told = {}
    for answer, node in fields.mapping("assumed").items():
        told[answer] = Fields(Node({answer: node}, node.line, node.file), fields.problems, fields.what).text(answer)
    return told


def _stories(fields: Fields) -> tuple[str, ...]:
    stories = fields.texts("tells_of")
    for story in stories:
        if story not in STORIES:
            fields.wrong(f"{fields.what}: `tells_of` says {story!r}; it must be one of {', '.join(STORIES)}")
    return stories


def _condition(fields: Fields, name: str, place: Place, shelves: Shelves) -> Condition:
    values = {}
    for value, node in fields.mapping("values", required=True).items():
        inner = Fields(Node({value: node}, node.line, node.file), fields.problems, f"{fields.what}: values")
        values[value] = inner.text(value)
    return Condition(name, fields.text("title"), place, values, fields.text("about"))


def _cause(fields: Fields, name: str, place: Place, shelves: Shelves) -> Cause:
    chain = []
    for node in fields.list("chain", required=True):
        link = Fields(node, fields.problems, f"{fields.what}: chain")
        chain.append(Link(link.text("moves"), link.texts("to", required=True), link.text("because")))
        link.done()
    confirm_node = fields.take("confirm", required=True)
    empty = Node({}, place.line, place.file)
    confirm = Fields(confirm_node or empty, fields.problems, f"{fields.what}: confirm")
    check, shows = (confirm.text("check"), confirm.text("shows")) if confirm_node else ("", "")
    confirm.done()
    return Cause(
        name, fields.text("title"), place, fields.texts("aliases"), fields.choice("subject", SUBJECTS),
        fields.choice("common", COMMON), _calls(fields), read_choices(fields, "only"), fields.text("about"),
        tuple(chain), check, shows, fields.text("remedy"), fields.texts("behind"),
        fields.number("again-within", 0.0),
    )


def _calls(fields: Fields) -> dict[str, float]:
    """Of the calls about each complaint, the share that turns out to be a cause."""
    shares = {}
    for complaint, node in fields.mapping("calls").items():
        inner = Fields(Node({complaint: node}, node.line, node.file), fields.problems, f"{fields.what}: calls")
        shares[complaint] = inner.number(complaint)
        if not 0.0 < shares[complaint] < 1.0:
            inner.wrong(f"{inner.what}: {complaint} must be a share of those calls, over 0 and under 1")
    return shares


def _panel(fields: Fields, name: str, place: Place, shelves: Shelves) -> Panel:
    return Panel(name, name.replace("_", " "), place, fields.text("given", ""), fields.texts("also"),
                 fields.text("about"))


def _shows(fields: Fields) -> tuple[Shown, ...]:
    """A table in a block of text, a row a line, which is read many times as fast as mappings:

        smoke at low: zero 0.1, trace 0.2, some 0.4, heavy 0.3 | zero 0.2, trace 0.5, some 0.2, heavy 0.1

    On the left of the bar where the fault is far gone, on its right where it has only begun.
    """
    node = fields.take("shows", required=True)
    if node is None or not isinstance(node.value, str):
        fields.wrong(f"{fields.what}: `shows` must be a block of text (shows: |), a row a line", node)
        return ()
    out = []
    for number, line in enumerate(node.value.splitlines(), 1):
        row = Node({}, node.line + number, node.file)
        name, colon, stages = line.partition(":")
        panel, _, at = name.strip().partition(" at ")
        left, bar, right = stages.partition("|")
        if not (colon and bar):
            fields.wrong(f"{fields.what}: a row of `shows` reads `smoke at low: zero 0.1, trace 0.9 | zero 0.5, ...`, "
                         f"not {shorten(line)!r}", row)
            continue
        out.append(Shown(panel, at, _told_shares(fields, left, row), _told_shares(fields, right, row)))
    return tuple(out)


def _told_shares(fields: Fields, text: str, row: Node) -> dict[str, float]:
    """Levels with their shares: `zero 0.1, trace 0.9`."""
    out = {}
    for part in text.split(","):
        level, _, share = part.strip().partition(" ")
        number = as_number(Node(share, row.line, row.file))
        if number is None:
            fields.wrong(f"{fields.what}: `shows`: write levels with shares (zero 0.1, trace 0.9), not "
                         f"{shorten(part.strip())!r}", row)
            return {}
        out[level] = number
    if abs(sum(out.values()) - 1.0) > 0.011 or min(out.values()) < 0.0:
        fields.wrong(f"{fields.what}: `shows`: the shares of a row must sum to 1, not {sum(out.values()):.3g}", row)
    return out


def _signature(fields: Fields, name: str, place: Place, shelves: Shelves) -> Signature:
    unlike = []
    for node in fields.list("unlike"):
        inner = Fields(node, fields.problems, f"{fields.what}: unlike")
        unlike.append(Unlike(read_choices(inner, "when"), _shows(inner)))
        inner.done()
    return Signature(name, name.replace("-", " "), place, _shows(fields), tuple(unlike), read_origin(fields))


def _family(fields: Fields, name: str, place: Place, shelves: Shelves) -> Family:
    return Family(name, fields.text("title"), place, fields.texts("members", required=True), fields.text("about"),
                  fields.texts("aliases"))


def _remedy(fields: Fields, name: str, place: Place, shelves: Shelves) -> Remedy:
    node = fields.take("retest", required=True)
    inner = Fields(node or Node({}, place.line, place.file), fields.problems, f"{fields.what}: retest")
    retest = Retest((), {}, "")
    if node:
        retest = Retest(inner.texts("checks", required=True), read_choices(inner, "expect"), inner.text("proves"))
    inner.done()
    return Remedy(
        name, fields.text("title"), place, _steps(fields, "steps"), fields.texts("tools"),
        fields.number("minutes"), fields.choice("who", WHO), fields.texts("cautions", required=True), retest,
        fields.texts("parts"), fields.flag("yearly"), fields.flag("permit"),
    )


def _check(fields: Fields, name: str, place: Place, shelves: Shelves) -> Check:
    return Check(
        name, fields.text("title"), place, fields.texts("gives", required=True), fields.texts("instruments"),
        fields.number("minutes"), fields.text("opens", ""), fields.choice("state", STATES), fields.choice("who", WHO),
        fields.flag("safety"), fields.flag("basic"), fields.flag("cold-start"), _steps(fields, "how"),
        fields.text("why"), fields.texts("cautions"), fields.texts("mistakes"), fields.texts("after"),
        read_choices(fields, "unless"), int(fields.number("round", 0.0)), fields.flag("outdoors"),
        fields.flag("closing"), fields.flag("tune-up"), fields.text("together", ""), fields.flag("settled"),
        fields.texts("brings"), fields.flag("early"), read_choices(fields, "passes"),
        read_choices(fields, "not-fitted"),
    )


def _instrument(fields: Fields, name: str, place: Place, shelves: Shelves) -> Instrument:
    spared = fields.take("spared")
    until, because = {}, ""
    if spared is not None:
        inner = Fields(spared, fields.problems, f"{fields.what}: spared")
        until, because = read_choices(inner, "until"), inner.text("because")
        inner.done()
    return Instrument(name, fields.text("title"), place, fields.number("setup"), fields.text("about"),
                      fields.text("proven-by", ""), until, because)


def _access(fields: Fields, name: str, place: Place, shelves: Shelves) -> Access:
    return Access(name, fields.text("title"), place, fields.number("minutes"))


def _hazard(fields: Fields, name: str, place: Place, shelves: Shelves) -> Hazard:
    may = {}
    for act, node in fields.mapping("may", required=True).items():
        inner = Fields(Node({act: node}, node.line, node.file), fields.problems, f"{fields.what}: may")
        may[act] = inner.choice(act, MAY)
    proof = Fields(fields.take("proof", required=True) or Node({}, place.line, place.file), fields.problems,
                   f"{fields.what}: proof")
    checks, expect = proof.texts("checks", required=True), read_choices(proof, "expect")
    proof.done()
    return Hazard(
        name, fields.text("title"), place, fields.number("rank"), may, _steps(fields, "emergency", False),
        fields.texts("ends"), _steps(fields, "do"), fields.text("call"), fields.text("household"),
        fields.text("because"), fields.texts("sources"), fields.choice("cure", ("work", "seen"), "work") == "seen",
        checks, expect, fields.text("released-when"),
    )


def _act(fields: Fields, name: str, place: Place, shelves: Shelves) -> Act:
    looks, bars = [], []
    for node in fields.list("looks"):
        inner = Fields(node, fields.problems, f"{fields.what}: looks")
        looks.append(Look(inner.text("look"), inner.texts("clear", required=True), read_choices(inner, "when"),
                          inner.text("because"), inner.flag("fresh")))
        inner.done()
    for node in fields.list("bars"):
        inner = Fields(node, fields.problems, f"{fields.what}: bars")
        bars.append(Bar(read_choices(inner, "when"), read_choices(inner, "unless"), inner.text("because")))
        inner.done()
    return Act(name, fields.text("title"), place, fields.flag("asked"), fields.flag("waits"), fields.texts("includes"),
               fields.texts("after"), fields.texts("followed-by"), tuple(looks), tuple(bars), fields.text("about"))


def _source(fields: Fields, name: str, place: Place, shelves: Shelves) -> Source:
    return Source(name, fields.text("title"), place, fields.text("publisher"), fields.text("year", ""),
                  fields.text("about"))


def _term(fields: Fields, name: str, place: Place, shelves: Shelves) -> Term:
    return Term(name, fields.text("title", name.replace("-", " ")), place, fields.text("means"))


def _fuel(fields: Fields, name: str, place: Place, shelves: Shelves) -> Fuel | None:
    title, about, origin = fields.text("title"), fields.text("about"), read_origin(fields)
    source = f"{origin.source or 'common practice'}{', from memory' if origin.from_memory else ''}; {about}"
    numbers = {key: fields.number(key) for key in
               ("carbon", "hydrogen", "sulfur", "nitrogen", "oxygen", "hhv_btu_per_lb", "density_lb_per_gal")}
    try:
        return Fuel(name=name, title=title, source=source, **numbers)
    except PhysicsError as error:
        fields.wrong(f"{fields.what}: {error}")
        return None


_Reader = Callable[[Fields, str, Place, Shelves], Item | Fuel | None]
_READERS: Final[dict[str, tuple[str, re.Pattern[str], _Reader]]] = {
    "quantity": ("quantities", _UNDERSCORED, _quantity),
    "observation": ("observations", _UNDERSCORED, _observation),
    "condition": ("conditions", _UNDERSCORED, _condition),
    "limit": ("limits", HYPHENED, _limit),
    "cause": ("causes", HYPHENED, _cause),
    "panel": ("panels", _UNDERSCORED, _panel),
    "signature": ("signatures", HYPHENED, _signature),
    "family": ("families", HYPHENED, _family),
    "remedy": ("remedies", HYPHENED, _remedy),
    "check": ("checks", HYPHENED, _check),
    "instrument": ("instruments", HYPHENED, _instrument),
    "access": ("accesses", HYPHENED, _access),
    "act": ("acts", HYPHENED, _act),
    "hazard": ("hazards", HYPHENED, _hazard),
    "source": ("sources", HYPHENED, _source),
    "term": ("terms", HYPHENED, _term),
    "fuel": ("fuels", HYPHENED, _fuel),
}

ITEMS: Final = tuple(_READERS)
"""The kinds of items that knowledge/ holds."""
