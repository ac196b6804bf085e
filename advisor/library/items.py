"""The things that are known, as frozen values: what knowledge/ and rules/ hold, once read and checked."""

from __future__ import annotations

from collections.abc import Collection, Container, Mapping
from dataclasses import dataclass, field
from typing import Final

WEIGHTS: Final = {"slight": 2.0, "moderate": 5.0, "strong": 10.0, "near-certain": 20.0}
"""Named weights of evidence in decibans: likelihood ratios of 1.6, 3.2, 10 and 100 (I. J. Good, 1950)."""

COMMON: Final = {"common": 0.05, "occasional": 0.02, "uncommon": 0.007, "rare": 0.002}
"""How common a cause is: the share of service calls on which it is found (our own estimate)."""

ACTS_OF_STATE: Final[Mapping[str, tuple[str, ...]]] = {
    "any": (), "off": (), "live": ("live",), "powered": ("power",), "starting": ("start",), "stopping": ("start",),
    "running": ("run",),
}
"""The acts that it takes to bring the burner into the state in which a check is made."""

NEEDED_IN: Final[Mapping[str, tuple[str, ...]]] = {
    "any": (), "off": (), "live": (), "powered": ("oil-flow",), "starting": ("oil-flow", "fire"),
    "stopping": ("oil-flow", "fire"), "running": ("oil-flow", "fire"),
}
"""What it takes to bring the burner into the state in which a check is made; some findings tell that it cannot be had.
"""

IN_ORDER: Final = "in-order"
"""The signature of a unit with nothing wrong."""

NONE_OF_THESE: Final = "none-of-these"
"""What is wrong where it is none of the causes known."""

SETTLED_FIRE: Final = "settled-fire"
"""The item (an access) that tells how long it takes until a fire has settled."""

WHOLE: Final = "~"
"""What marks a phrase of `said` that means its answer without the name of the thing."""

MAYBE: Final = "?"
"""What marks a phrase of `said` that may mean its answer, so that it is asked whether it does."""

NONE: Final = "none-concluded"
"""The symbol of a condition of which no value is concluded though all was looked at."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where an item stands."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a statement comes from: a published source, or common practice of the trade."""

    source: str | None
    where: str = ""
    from_memory: bool = False


COMMON_PRACTICE: Final = Origin(None)


def fits(only: Mapping[str, tuple[str, ...]], known: Mapping[str, object]) -> bool:
    """Whether what exists only where these answers are given can exist here, as far as it is known.

    >>> fits({"appliance": ("boiler",)}, {"appliance": "furnace"}), fits({"appliance": ("boiler",)}, {})
    (False, True)
    """
    return all(known.get(name) is None or known[name] in any_of for name, any_of in only.items())


@dataclass(frozen=True, slots=True)
class Item:
    """What every item has."""

    name: str
    title: str
    place: Place


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, in words, and the acts that doing it takes (items of knowledge/acts.yaml)."""

    text: str
    acts: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Look:
    """What must have been looked at, and found clear, before an act; only where `when` holds and it can be there."""

    name: str
    clear: tuple[str, ...]
    when: Mapping[str, tuple[str, ...]]
    because: str
    fresh: bool = False
    """It must be newer than what made it necessary."""


@dataclass(frozen=True, slots=True)
class Bar:
    """Readings under which an act would make worse what they show, unless others were looked at and bear it out."""

    when: Mapping[str, tuple[str, ...]]
    unless: Mapping[str, tuple[str, ...]]
    because: str


@dataclass(frozen=True, slots=True)
class Act(Item):
    """A thing done that can hurt, or that keeps another from hurting.

    Every hazard answers for each act that is `asked`. Doing it does what it `includes` too. In a list of steps one of
    `after` must stand before it, and each of `followed_by` behind it. What `waits` may be left for later where it ends
    a list of steps: an oil valve that stays shut.
    """

    asked: bool
    waits: bool
    includes: tuple[str, ...]
    after: tuple[str, ...]
    followed_by: tuple[str, ...]
    looks: tuple[Look, ...]
    bars: tuple[Bar, ...]
    about: str


@dataclass(frozen=True, slots=True)
class Quantity(Item):
    """Something a number is given for. `bands` run from low values to high ones, with their usual shares.

    `accuracy` is that of the usual instrument: about 95 of 100 readings lie nearer to the truth, two standard
    deviations. What is computed has none; its error follows from what it is computed from, and `formula_error` is what
    the formula itself leaves out, to the same coverage.
    """

    aliases: tuple[str, ...]
    part: str
    kind: str
    plausible: tuple[float, float]
    accuracy: float
    suction: bool
    words: Mapping[str, float]
    instrument: str | None
    derived: str
    computed: str
    bands: Mapping[str, float]
    about: str
    tells_of: tuple[str, ...]
    only: Mapping[str, tuple[str, ...]]
    without: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """For a band what cannot be had with it: the oil flowing, or a fire (`NEEDED_IN`)."""
    formula_error: float = 0.0
    last_of: str = ""
    """The reading of which this is the value that the last service left."""
    said: tuple[str, ...] = ()
    """More ways of saying its name, such as people use in a sentence; aliases are what may stand in a file too."""
    size_of: tuple[str, ...] = ()
    """The parts, as remedies name them, whose size it is."""
    since: str = "nothing"
    """What it counts the years from: nothing, `installed` or `service`. It grows by itself, so the record does not keep
    it with the unit, but the year it counts from.
    """

    @property
    def symbols(self) -> tuple[str, ...]:
        return tuple(self.bands)

    @property
    def usual(self) -> Mapping[str, float]:
        return self.bands


@dataclass(frozen=True, slots=True)
class LimitCase:
    """Another value of a limit, for equipment of a certain kind."""

    when: Mapping[str, tuple[str, ...]]
    value: float


@dataclass(frozen=True, slots=True)
class Limit(Item):
    """Where one band of a quantity ends and the next begins."""

    of: str
    below: str
    above: str
    at: str
    value: float
    cases: tuple[LimitCase, ...]
    because: str
    origin: Origin
    fixed: bool
    """Protects people: no figure of a manufacturer takes its place."""


@dataclass(frozen=True, slots=True)
class Observation(Item):
    """Something seen, heard, smelled or known, with a closed list of answers and their usual shares."""

    aliases: tuple[str, ...]
    part: str
    question: str
    answers: Mapping[str, float]
    means: Mapping[str, str]
    tells_of: tuple[str, ...]
    only: Mapping[str, tuple[str, ...]]
    clear: str = ""
    """The answer that says that all is well, where it stands on the list of the first look round."""
    line: str = ""
    """What is clear then, in a few words: its line on that list."""
    urgent: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """For an answer that must be heard whatever is asked: how people say it."""
    without: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """For an answer what cannot be had with it: the oil flowing, or a fire (`NEEDED_IN`)."""
    said: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """For each answer how people say it: words that mean it beside the name of the thing, and phrases that mean it by
    themselves, which begin with `WHOLE`, or may mean it, with `MAYBE`."""
    sound: str = ""
    """The answer that means that nothing is wrong: what denying any other answer says."""
    assumed: Mapping[str, str] = field(default_factory=dict)
    """The answer that is taken as given until somebody says something else, with the words that tell it."""

    plain: bool = False
    """Hardly anybody misreads it: a switch that is off, a display that is blank, a button that has popped."""
    vague: tuple[str, ...] = ()
    """Of what the call is about: answers that people give beside one that is more to the point, which then counts."""

    @property
    def symbols(self) -> tuple[str, ...]:
        return tuple(self.answers)

    @property
    def usual(self) -> Mapping[str, float]:
        return self.answers


@dataclass(frozen=True, slots=True)
class Condition(Item):
    """What rules conclude between readings and causes; how usual that is follows from the rules."""

    values: Mapping[str, str]
    about: str

    @property
    def symbols(self) -> tuple[str, ...]:
        return (*self.values, NONE)


@dataclass(frozen=True, slots=True)
class Link:
    """One link of a cause's chain: the reading that it moves, to where, and by what mechanism."""

    moves: str
    to: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True)
class Cause(Item):
    """What is wrong and can be put right."""

    aliases: tuple[str, ...]
    subject: str
    common: str
    calls: Mapping[str, float]
    """For each complaint, the share of the calls about it that turn out to be this (our own estimate)."""
    only: Mapping[str, tuple[str, ...]]
    about: str
    chain: tuple[Link, ...]
    confirm_check: str
    confirm_shows: str
    remedy: str
    behind: tuple[str, ...]
    """Causes that bring this one about or make it look so: where one of them is found, it comes first."""
    again_within: float = 0.0
    """Put right without any of those, it comes back: so many days later at most the unit is looked at again; 0 where
    it need not be.
    """


@dataclass(frozen=True, slots=True)
class Panel(Item):
    """A basic reading or look of which every cause states what it shows; its name is that of the reading.

    Where `given` names another panel, it is stated for each level of that one: smoke beside the air that there is.
    """

    given: str
    also: tuple[str, ...]
    """Other readings that tell the same news, or of which it is computed."""
    about: str


@dataclass(frozen=True, slots=True)
class Shown:
    """The shares of the levels of one panel, where the fault is far gone and where it has only begun; `at` is the
    level of the panel that it is given with, empty where it stands alone.
    """

    of: str
    at: str
    far_gone: Mapping[str, float]
    begun: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Unlike:
    """What is shown otherwise by a kind of unit."""

    when: Mapping[str, tuple[str, ...]]
    shows: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Signature(Item):
    """What a cause shows on the panels; its name is that of the cause, or `IN_ORDER` for a sound unit.

    What is left out is as on a sound unit.
    """

    shows: tuple[Shown, ...]
    unlike: tuple[Unlike, ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class Family(Item):
    """Causes that do the same to the flame or the draft: readings name the family, a look inside it the member."""

    members: tuple[str, ...]
    about: str
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Retest:
    """What proves a remedy."""

    checks: tuple[str, ...]
    expect: Mapping[str, tuple[str, ...]]
    proves: str


@dataclass(frozen=True, slots=True)
class Remedy(Item):
    """What puts a cause right. `parts` are fitted or used up; those of a `yearly` one at every yearly service."""

    steps: tuple[Step, ...]
    tools: tuple[str, ...]
    minutes: float
    who: str
    cautions: tuple[str, ...]
    retest: Retest
    parts: tuple[str, ...] = ()
    yearly: bool = False
    permit: bool = False
    """Local code mostly asks for a permit: new fuel piping, a tank, a vent, an appliance, a circuit."""

    @property
    def needs(self) -> str:
        """The tools and parts in words, and that a permit may be due, for the end of a line; empty where nothing is."""
        return "".join(f"; {what}: {', '.join(names)}" for what, names in (("tools", self.tools), ("parts", self.parts))
                       if names) + ("; a permit may be due: ask the local code office first" if self.permit else "")


@dataclass(frozen=True, slots=True)
class Check(Item):
    """What a technician does to get entries. Minutes are without the set-up of its instruments and without opening
    what has to be open for it (`opens`, an access, or empty).

    `safety` checks come first on every call; `basic` ones are the readings that no visit goes without. `state` is
    the burner's: running, off, starting, stopping, powered (switched on, but it needs no fire), live (under voltage,
    whether it starts or not), any. It is not proposed before the entries `after` are there, nor where all of `unless`
    hold, since it could tell nothing then.
    """

    gives: tuple[str, ...]
    instruments: tuple[str, ...]
    minutes: float
    opens: str
    state: str
    who: str
    safety: bool
    basic: bool
    cold_start: bool
    how: tuple[Step, ...]
    why: str
    cautions: tuple[str, ...]
    mistakes: tuple[str, ...]
    after: tuple[str, ...]
    unless: Mapping[str, tuple[str, ...]]
    round: int = 0
    """Place in the first look round, whose lines stand together on one list; 0 where it does not belong to it."""
    outdoors: bool = False
    """Can be made by somebody who stays outside."""
    closing: bool = False
    """A safety check that may wait till the end of the visit: it belongs to the list that no unit is left without."""
    tune_up: bool = False
    """Part of every yearly service."""
    together: str = ""
    """The question in which all that it gives is asked on one line; empty where each is asked by itself."""
    settled: bool = False
    """Tells nothing before the fire has settled: one warm-up serves all such checks of a visit."""
    brings: tuple[str, ...] = ()
    """What may come back by the check itself, since it tries a remedy: a fire with oil from a can."""
    early: bool = False
    """A question that is asked before the first start."""
    passes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Of a function test, the answers or bands that pass it; empty for any other check."""
    not_fitted: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Of a function test, the answers that say that there is nothing to test."""

    def lacks(self, missing: Collection[str]) -> frozenset[str]:
        """What it needs of what cannot be had."""
        return frozenset(NEEDED_IN[self.state]).intersection(missing).difference(self.brings)

    def can_tell(self, known: Mapping[str, str], entered: Container[str]) -> bool:
        """Whether what it builds on is entered, and it is not known to be of no use."""
        pointless = bool(self.unless) and all(known.get(name) in any_of for name, any_of in self.unless.items())
        return not pointless and all(name in entered for name in self.after)

    @property
    def burner(self) -> str:
        """The state of the burner in words."""
        words = {"any": "on or off", "live": "under voltage", "powered": "on, fire not needed"}
        return words.get(self.state, self.state)

    @property
    def takes_once(self) -> tuple[str, ...]:
        """What costs minutes once a visit: instruments set up, what is opened, a fire that has settled."""
        return (*self.instruments, *([self.opens] if self.opens else []), *([SETTLED_FIRE] if self.settled else []))


@dataclass(frozen=True, slots=True)
class Instrument(Item):
    """A tool that readings are taken with; `setup` in minutes, once a visit.

    Before its first reading of a call it is proven by the check `proven_by`. It is spared until what harms it was read
    to be away: none of the basic readings is taken with it before (`spared_until`, where that can be read at all).
    """

    setup: float
    about: str
    proven_by: str = ""
    spared_until: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    spared_because: str = ""


@dataclass(frozen=True, slots=True)
class Access(Item):
    """What has to be brought about for some checks, once a visit: a part opened, a fire that has settled."""

    minutes: float


@dataclass(frozen=True, slots=True)
class Hazard(Item):
    """A stop-work conclusion."""

    rank: float
    may: Mapping[str, str]
    """For each act that is asked about: `yes`, `no`, or `reentry`, not before the house may be entered again."""
    emergency: tuple[Step, ...]
    """Where people must leave: what to do, in order, on one small screen."""
    ends: tuple[str, ...]
    """The answers of `house_entry` after which the house may be entered again to work on it."""
    do: tuple[Step, ...]
    call: str
    household: str
    """For the customer: what not to touch, and whom to call."""
    because: str
    sources: tuple[str, ...]
    """The causes whose remedy cures it."""
    seen: bool
    """Whether seeing it gone is its cure: a box that was moved away."""
    proof_checks: tuple[str, ...]
    proof: Mapping[str, tuple[str, ...]]
    """What has to be found after the cure, to release it."""
    released_when: str


@dataclass(frozen=True, slots=True)
class Source(Item):
    """A publication."""

    publisher: str
    year: str
    about: str


@dataclass(frozen=True, slots=True)
class Term(Item):
    """A word of the trade or of this program."""

    means: str


@dataclass(frozen=True, slots=True)
class Example:
    """Entries with which a rule must fire, or must stay quiet."""

    fires: bool
    entries: Mapping[str, str]
    place: Place


@dataclass(frozen=True, slots=True)
class Rule:
    """When all of `when` holds, the effects follow. `weighs` maps a cause to decibans, for (+) or against."""

    name: str
    subject: str
    when: Mapping[str, tuple[str, ...]]
    concludes: Mapping[str, str]
    weighs: Mapping[str, float]
    confirms: tuple[str, ...]
    excludes: tuple[str, ...]
    hazard: str | None
    doubts: tuple[str, ...]
    recheck: str | None
    advises: Step | None
    because: str
    origin: Origin
    examples: tuple[Example, ...]
    place: Place
    own: bool = field(default=False)
    """Comes from a folder of the user's own, not from ours."""

    @property
    def title(self) -> str:
        """The name as words."""
        return self.name.replace("-", " ")

    @property
    def causes(self) -> tuple[str, ...]:
        """Every cause that the rule speaks about."""
        return tuple(dict.fromkeys((*self.weighs, *self.confirms, *self.excludes)))
