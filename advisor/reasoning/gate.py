"""The one gate before every word of advice: which acts the open hazards, missing looks and readings allow.

Whatever asks somebody to do something - the next check, a step of a test, of the air setting or of a remedy, a retest,
a rule's advice, a line of the report - asks here first, with the acts that doing it takes (knowledge/acts.yaml).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Bar, Check, Look, Step, fits
from advisor.reasoning.case import Case
from advisor.reasoning.hazards import CURED_STATE, RELEASED, HazardFound

HOUSE_ENTRY: Final = "house_entry"
"""The observation of who is out, and who says that the house may be entered again."""
INSIDE: Final = "inside"
OCCUPANTS: Final = "occupants"


@dataclass(frozen=True, slots=True)
class Stop:
    """Why an act is not to be done now: the hazard that forbids it, or the look that is missing or not clear, or the
    readings that it would make worse; and what would release it.
    """

    act: str
    because: str
    release: str
    hazard: str = ""
    look: str = ""
    missing: bool = False
    """The look was not made yet; made and clear, it lets the act go on."""


@dataclass(frozen=True, slots=True)
class Gate:
    """What may be asked for now. Made by `gate_of`."""

    base: Base
    forbidden: Mapping[str, tuple[Stop, ...]] = field(default_factory=dict)
    """The stops of each act that is not to be done now."""
    emergency: tuple[str, ...] = ()
    """The hazards for which people must be out, the most pressing first: their orders are all there is to say."""

    def stops(self, acts: Iterable[str], gives: Collection[str] = ()) -> tuple[Stop, ...]:
        """What stops these acts; nothing where they may be done.

        Parameters
        ----------
        acts : iterable of str
            As a step names them; what they include counts too.
        gives : collection of str
            What is looked at by doing them: no look is stopped for want of itself.

        Examples
        --------
        >>> from advisor.library.base import load
        >>> Gate(load()).stops(["start"])
        ()
        """
        found: dict[Stop, None] = {}
        whole = self.base.whole_acts
        for act in sorted(self.base.acts_of(acts), key=lambda act: (len(whole[act]), act)):  # what comes first, first
            for stop in self.forbidden.get(act, ()):
                looks = {one.look for one in self.forbidden[act] if one.missing}
                if not (stop.missing and looks & set(gives)):
                    found[stop] = None
        return tuple(found)

    def stops_step(self, step: Step, gives: Collection[str] = ()) -> tuple[Stop, ...]:
        """What stops a step; every step is done in the house."""
        return self.stops((*step.acts, INSIDE), gives)

    def stops_check(self, check: Check) -> tuple[Stop, ...]:
        """What stops a check as a whole."""
        return self.stops(self.base.acts_of_check(check), check.gives)

    def allows(self, step: Step) -> bool:
        """Whether a step may be asked for."""
        return not self.stops_step(step)

    def look_first(self, stops: Iterable[Stop], entered: Collection[str]) -> tuple[str, str]:
        """The look that is wanted before what is stopped, and a check that gives it; two empty texts where none is.

        Parameters
        ----------
        entered : collection of str
            Names that were answered or passed over: nobody is asked for them again.
        """
        return next(((stop.look, check.name) for stop in stops if stop.missing and stop.look not in entered
                     for check in self.base.checks_giving.get(stop.look, ()) if not self.stops_check(check)), ("", ""))


def gate_of(base: Base, case: Case, hazards: Sequence[HazardFound], known: Mapping[str, str]) -> Gate:
    """What a case allows to be done now.

    Parameters
    ----------
    case : Case
        Its entries, and those of the unit as found, tell what was looked at, and when.
    hazards : sequence of HazardFound
        All that it shows or has shown; released ones forbid nothing.
    known : mapping of str to str
        Bands, answers and conditions that hold now.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Entry
    >>> gate = assess(Case((Entry("oil_in_chamber", "pool", "pool"),)), load()).gate
    >>> gate.stops(["start"])[0].hazard, gate.stops(["oil-close"])
    ('flooded-chamber', ())
    """
    told = case.told
    place = {entry.name: at for at, entry in enumerate(told) if entry.value is not None}
    answer = {entry.name: entry.value for entry in told if isinstance(entry.value, str)}
    standing = [one for one in hazards if one.state != RELEASED]
    emergency = tuple(one.name for one in standing if _people_must_be_out(base, one, place, answer))
    forbidden: dict[str, list[Stop]] = {}
    for one in standing:
        hazard = base.hazards[one.name]
        proving = _acts_of_proof(base, one)
        for act, may in hazard.may.items():
            out = one.name in emergency
            if (may == "no" and act not in proving) or (may == "reentry" and (out or act == OCCUPANTS)) or (
                    out and act == INSIDE):
                forbidden.setdefault(act, []).append(Stop(act, hazard.title, hazard.released_when, one.name))
    looked = {**answer, **known}
    for act_item in base.acts.values():
        stops = forbidden.setdefault(act_item.name, [])
        stops += [stop for look in act_item.looks if (stop := _look(base, act_item.name, look, looked, place))]
        stops += [Stop(act_item.name, bar.because, _unless(base, bar)) for bar in act_item.bars if _bars(bar, known)]
    return Gate(base, {act: tuple(stops) for act, stops in forbidden.items() if stops}, emergency)


def _people_must_be_out(
    base: Base, one: HazardFound, place: Mapping[str, int], answer: Mapping[str, str]
) -> bool:
    """Whether this is an emergency that has not ended: nobody has said, since it showed, that all are out or that the
    house may be entered again.
    """
    hazard = base.hazards[one.name]
    if one.state == CURED_STATE or "reentry" not in hazard.may.values():
        return False
    return not (answer.get(HOUSE_ENTRY) in hazard.ends and place[HOUSE_ENTRY] > one.at)


def _acts_of_proof(base: Base, one: HazardFound) -> frozenset[str]:
    """What may be done to prove that a cured hazard is gone."""
    if one.state != CURED_STATE:
        return frozenset()
    return frozenset().union(*(base.acts_of_check(base.checks[name]) for name in base.hazards[one.name].proof_checks))


def _look(base: Base, act: str, look: Look, looked: Mapping[str, str], place: Mapping[str, int]) -> Stop | None:
    """The stop for a look that is needed and was not made since it was needed, or was not clear."""
    item = base.named[look.name]
    if not fits(getattr(item, "only", {}), looked):
        return None
    if any(looked.get(name) not in symbols for name, symbols in look.when.items()):
        return None
    needed = max((place.get(name, -1) for name in look.when), default=-1)
    made = place.get(look.name, -1)
    title = item.title
    if made < 0 or (look.fresh and made < needed):
        return Stop(act, f"{title}: not looked at. {look.because}", f"{title} looked at and found clear",
                    look=look.name, missing=True)
    if looked.get(look.name) not in look.clear:
        return Stop(act, f"{title}: not clear. {look.because}", f"{title} found clear", look=look.name)
    return None


def _bars(bar: Bar, known: Mapping[str, str]) -> bool:
    if any(known.get(name) not in symbols for name, symbols in bar.when.items()):
        return False
    return not bar.unless or any(known.get(name) not in symbols for name, symbols in bar.unless.items())


def _unless(base: Base, bar: Bar) -> str:
    if not bar.unless:
        return "other readings"
    return "looked at and found: " + ", ".join(
        f"{base.title(name)} {' or '.join(symbol.replace('-', ' ') for symbol in symbols)}"
        for name, symbols in bar.unless.items())
