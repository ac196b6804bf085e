"""What the report says, as plain values: the same for the page and for the text. Templates only lay it out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Step
from advisor.pages import screen
from advisor.pages.wording import CAUTIONS, fact_text, plain
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import Case
from advisor.reasoning.hazards import CURED_STATE, RELEASED, HazardFound
from advisor.report.advice import advised, due
from advisor.report.functions import Tested, function_tests
from advisor.report.office import SURE, Advised, CauseLine, Figure, causes, conclusions, figures, office
from advisor.report.plainwords import HOUSEHOLD, LEFT_OFF, SUBJECTS, capital, sentences
from advisor.report.report import Report
from advisor.report.unchecked import Unchecked, unchecked
from advisor.visit.beforeafter import ComparisonError, Row, Savings, compare, savings


@dataclass(frozen=True, slots=True)
class Danger:
    """A hazard: whether it is still open, in words; what the household must know; and for the office what was seen,
    what to do and what releases it.
    """

    title: str
    state: str
    open: bool
    household: str
    seen: str
    because: str
    do: tuple[str, ...]
    call: str
    released_when: str


@dataclass(frozen=True, slots=True)
class Retested:
    """A remedy that was done, and each reading that has to be right after it: wanted, now, whether it is."""

    remedy: str
    readings: tuple[tuple[str, str, str, str], ...]
    state: str


@dataclass(frozen=True, slots=True)
class Content:
    """Everything that the templates show."""

    report: Report
    dangers: tuple[Danger, ...]
    found: tuple[str, ...]
    reasons: tuple[str, ...]
    doubts: tuple[str, ...]
    remarks: tuple[str, ...]
    now: tuple[str, ...]
    done: tuple[Retested, ...]
    advised: tuple[Advised, ...]
    household: tuple[str, ...]
    rows: tuple[Row, ...]
    worth: tuple[str, ...]
    savings: Savings | None
    unchecked: Unchecked
    figures: tuple[Figure, ...]
    causes: tuple[CauseLine, ...]
    office: tuple[Advised, ...]
    conclusions: tuple[str, ...]
    sources: tuple[str, ...]
    tag: str
    """The line of the tag where the unit is left off; empty where it may run."""
    winter: tuple[str, ...]
    """What it means that the unit is left off."""
    troubles: tuple[str, ...]
    """Of what was found, what is not as it should be."""
    sound: int
    """How many of the readings that can be told so are as they should be."""
    troubles_left: tuple[str, ...]
    """The same of how the unit was left."""
    sound_left: int
    in_order: tuple[str, ...]
    """What was looked at and is as it should be."""
    cured: tuple[str, ...]
    """The hazards that were put right, each with what was done."""
    begun: tuple[str, ...]
    """The remedies that were not done to their end, each with how far."""
    set_air: str
    """That the air was set; empty where it was not, or where it is told among what was done."""
    tests: tuple[Tested, ...]
    due: str
    """When the next yearly service is due, as a sentence."""
    cautions: tuple[str, ...] = field(default=CAUTIONS)

    @property
    def day(self) -> str:
        """The day of the visit in words."""
        return f"{self.report.on:%B} {self.report.on.day}, {self.report.on.year}"

    @property
    def open_dangers(self) -> tuple[Danger, ...]:
        """The hazards that nothing shows gone."""
        return tuple(one for one in self.dangers if one.open)


def content(base: Base, report: Report) -> Content:
    """What there is to say of a visit.

    >>> from datetime import date
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> found = assess(Case((Entry("smoke", "4", 4.0),)), load(), look_ahead=False)
    >>> content(load(), Report("boiler", date(2026, 11, 25), found)).found
    ('The flame smoked heavily, which fills the unit with soot within weeks.',)
    """
    rows = compare(base, report.before, report.after)
    saved: Savings | None = None
    why_not = ""
    if report.after is not None:
        try:
            saved = savings(base, report.before, report.after)
        except ComparisonError as error:
            why_not = str(error)
    table, sources = figures(base, report, rows)
    worth = (f"What the work saves cannot be told: {why_not}.",) if why_not else worth_sentences(report, saved)
    before, after = report.before, report.after
    both = [side for side in (before, after) if side]
    return Content(
        report=report, dangers=dangers(base, report), found=sentences(before), reasons=_reasons(base, report),
        doubts=_doubts(base, report),
        remarks=tuple(dict.fromkeys(one.typed for side in both for one in side.case.remarks)),
        now=sentences(after, without=base.equipment) if after else (),
        done=tuple(_retested(base, report, name) for name in report.remedies),
        advised=advised(base, report), household=_allowed(report, HOUSEHOLD), rows=rows, worth=worth, savings=saved,
        unchecked=unchecked(base, before, after), figures=table, causes=causes(base, before, report),
        office=office(base, report), conclusions=conclusions(base, report), sources=sources,
        tag=left_off(base, report),
        winter=(*_allowed(report, LEFT_OFF), _coming(report)) if report.last.hazards else (),
        troubles=sentences(before, troubles=True), sound=_sound(before),
        troubles_left=sentences(after, troubles=True, without=base.equipment) if after else (),
        sound_left=_sound(after) if after else 0,
        in_order=in_order(base, report.last.case), cured=_cured(base, report),
        begun=tuple(f"{base.title(one.remedy)}, {one.done} of {one.steps} steps done" for one in report.begun),
        set_air=_set_air(report), tests=function_tests(base, before, after), due=due(report),
    )


# --- hazards ----------------------------------------------------------------------------------------------------


def dangers(base: Base, report: Report) -> tuple[Danger, ...]:
    """The hazards of the visit: those that stand first, then those that were made safe, by what proof."""
    last = report.last
    return tuple(_danger(base, last, found) for found in (*last.hazards, *last.released))


def _danger(base: Base, last: Assessment, found: HazardFound) -> Danger:
    hazard = base.hazards[found.name]
    put_right = f"It was put right ({'; '.join(found.cures)})" if found.cures else "It was seen to be gone"
    shown = ", ".join(base.title(name) for name in found.proven)
    if found.state == RELEASED:
        state = f"{put_right}, and tests afterwards show that it is safe ({shown})."
    elif found.state == CURED_STATE:
        state = f"{put_right}, but the tests that prove it are not all made. Until then it counts as open."
    else:
        state = "Still open."
    return Danger(
        hazard.title, state, found.state != RELEASED, hazard.household, screen.seen_text(base, last, found),
        hazard.because, tuple(step.text for step in hazard.do if last.gate.allows(step)), hazard.call,
        hazard.released_when,
    )


def left_off(base: Base, report: Report) -> str:
    """The line of the tag on a unit that is left off, with its reason; empty where it may run."""
    reasons = ", ".join(base.title(found.name) for found in report.last.hazards)
    return f"{OFF} Reason: {reasons}." if reasons else ""


def _allowed(report: Report, advice: Iterable[Step]) -> tuple[str, ...]:
    """Advice for the household, as far as nothing that is open forbids it."""
    return tuple(step.text for step in advice if not report.last.gate.stops(step.acts))


def _coming(report: Report) -> str:
    return f"Who comes next, and when: {report.coming}" if report.coming else \
        "Who comes next, and when, is not arranged yet: ask for it before we leave."


def in_order(base: Base, case: Case) -> tuple[str, ...]:
    """What of the unit was looked at and is as it should be, by its names.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> in_order(load(), Case((Entry("fan_wheel", "clean", "clean"), Entry("electrodes", "worn", "worn"),
    ...                        Entry("oil_leak", "none", "none"))))
    ('blower wheel',)
    """
    out = []
    for name, entry in case.latest.items():
        look = base.observations.get(name)
        # An answer such as `no` is of something that should not be there, and its name is that of the fault.
        if look and look.part == "reading" and entry.value == look.sound and entry.value not in _BARE:
            out.append(look.title)
    return tuple(out)


def _sound(assessment: Assessment) -> int:
    return len(sentences(assessment, efficiency=False)) - len(sentences(assessment, troubles=True))


def _cured(base: Base, report: Report) -> tuple[str, ...]:
    """What put hazards right, but for what stands among the remedies that were done."""
    told = {base.title(name) for name in report.remedies}
    return tuple(f"{base.title(found.name)}: {cure}" for found in (*report.last.hazards, *report.last.released)
                 for cure in found.cures if cure not in told)


def _set_air(report: Report) -> str:
    """That the air was set, by the settings that were tried."""
    count = len(report.air)
    return f"We tried {count} settings of the air, and set it by what we read." if count > 1 else ""


OFF: Final = "Left off, do not restart."
"""What begins the line of the tag."""
_BARE: Final = ("", "no", "none", "yes")

# --- for the household ------------------------------------------------------------------------------------------


def _reasons(base: Base, report: Report) -> tuple[str, ...]:
    """The causes found true or likely on arrival."""
    found, likely = "What we found behind it", "Most likely behind it, not yet seen with the eye"
    said = dict.fromkeys(report.confirmed, found)
    said |= {one.name: found if one.confirmed else likely for one in report.before.causes
             if one.word in SURE and one.name not in report.confirmed}
    return tuple(f"{words}: {base.title(name)}. {SUBJECTS.get(base.causes[name].subject, '')}".strip()
                 for name, words in said.items())


def _doubts(base: Base, report: Report) -> tuple[str, ...]:
    """Readings that are not trusted, of the state the unit was left in, else of that on arrival."""
    sides = [(report.before, "on arrival"), (report.after, "after the work")]
    out = []
    for one, when in sides:
        for doubt in one.doubts if one else ():
            if doubt.open:
                names = ", ".join(base.title(name) for name in doubt.readings)
                left = "not proved yet" if doubt.counts else "not trusted and left out"
                out.append(f"{capital(names)} ({when if report.after else 'this visit'}): {left}. {doubt.because}")
    return tuple(dict.fromkeys(out))


def _retested(base: Base, report: Report, name: str) -> Retested:
    remedy, after = base.remedies[name], report.after
    readings, states = [], []
    for reading, wanted in remedy.retest.expect.items():
        known = after.known.get(reading) if after else None
        if after is None or known is None:
            now, state = "not read", "not tested again"
        else:
            now = fact_text(base, after, reading) if reading in after.findings.numbers else plain(known)
            now = now.removeprefix(base.title(reading)).lstrip(": ")
            state = "as wanted" if known in wanted else "not as wanted"
        readings.append((base.title(reading), " or ".join(plain(symbol) for symbol in wanted), now, state))
        states.append(state)
    if "not as wanted" in states:
        said = "It is done, but the tests after it do not show all that it has to bring."
    elif states and all(state == "as wanted" for state in states):
        said = "It is done, and the tests after it show that it worked."
    elif "as wanted" in states:
        said = "It is done. What was tested after it shows that it worked, but not all was tested."
    else:
        said = "It is done. It was not tested after, so nothing proves yet that it helped."
    return Retested(remedy.title, tuple(readings), said)


def worth_sentences(report: Report, saved: Savings | None) -> tuple[str, ...]:
    """What the change is worth a year, in plain words; no saving is claimed that the instruments cannot tell."""
    if saved is None:
        return ()
    out = []
    span = f"give or take {saved.either_way:.1f}"
    if not saved.told:
        out.append(f"The use of oil changed by less than the instruments can tell ({-saved.percent:+.1f} %, {span}); "
                   "no saving is claimed.")
    elif saved.percent < 0:
        out.append(f"The same warmth now takes about {-saved.percent:.1f} % more oil than on arrival ({span}).")
    else:
        out.append(f"The same warmth now takes about {saved.percent:.1f} % less oil than on arrival ({span}).")
    if saved.told and saved.gallons and saved.saved is not None and saved.saved_error is not None:
        off = saved.saved_error
        more = "less" if saved.saved > 0 else "more"
        text = f"At {saved.gallons:,.0f} gallons a year that is about {abs(saved.saved):,.0f} gallons {more} " \
               f"({abs(saved.saved) - off:,.0f} to {abs(saved.saved) + off:,.0f})"
        if saved.money is not None and saved.money_error is not None and saved.price is not None:
            sign, about = currency(report), abs(saved.money)
            text += (f", or about {sign}{about:,.0f} at {sign}{saved.price:.2f} a gallon "
                     f"({sign}{about - saved.money_error:,.0f} to {sign}{about + saved.money_error:,.0f})")
        out.append(text + ".")
    if saved.co2_before is not None and saved.co2_after is not None:
        then, now = (round(pounds, -2) for pounds in (saved.co2_before, saved.co2_after))  # no false precision
        text = f"Burning oil gives off CO2: about {then:,.0f} lb a year before"
        out.append(f"{text}, {now:,.0f} lb now: {abs(then - now):,.0f} lb {'less' if then > now else 'more'}."
                   if saved.told else f"{text}, and as much now.")
    if saved.gallons is None:
        out.append("Gallons a year were not entered, so nothing is said of gallons and money.")
    return tuple(out)


def currency(report: Report) -> str:
    """The sign of the money in which the price was typed, where one was: a dollar, or nothing."""
    typed = [one.case.latest["oil_price"].typed for one in (report.last, report.before)
             if "oil_price" in one.case.latest]
    return "$" if typed and "$" in typed[0] else ""
