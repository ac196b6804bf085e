"""What readings and causes mean, for people who do not know burners. No word of the trade stands here."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final

from advisor.library.items import Step
from advisor.reasoning.assess import Assessment
from advisor.visit.beforeafter import is_doubted
from advisor.visit.kept import NOT_FOUND, NOTHING_WRONG

READINGS: Final[Mapping[str, Mapping[str, str]]] = {
    "co_room": {
        "normal": "The air in the room of the burner was free of a harmful amount of carbon monoxide.",
        "raised": "There was some carbon monoxide in the air of the room, which must not be.",
        "high": "There was a harmful amount of carbon monoxide in the air of the room.",
        "extreme": "There was a dangerous amount of carbon monoxide in the air of the room.",
    },
    "smoke": {
        "zero": "The flame burned clean, without smoke.",
        "trace": "The flame burned clean, with no more than a trace of smoke.",
        "some": "The flame smoked, which slowly fills the unit with soot.",
        "heavy": "The flame smoked heavily, which fills the unit with soot within weeks.",
    },
    "co": {
        "normal": "Carbon monoxide in the exhaust was within what is accepted.",
        "high": "There was more carbon monoxide in the exhaust than is accepted.",
        "very-high": "There was a dangerous amount of carbon monoxide in the exhaust.",
    },
    "draft_over_fire": {
        "strong": "The chimney pulled harder on the fire than it should, which draws heat out of the house.",
        "normal": "The pull of the chimney on the fire was as it should be.",
        "weak": "The chimney pulled too little on the fire to carry the exhaust off surely.",
        "positive": "The exhaust pressed out of the fire's chamber instead of being drawn off.",
    },
    "draft_drop": {
        "high": "On its way through the unit the exhaust lost more of the chimney's pull than it should.",
        "very-high": "On its way through the unit the exhaust lost nearly all of the chimney's pull.",
    },
    "net_stack": {
        "low": "The exhaust left cooler than usual; a chimney can get damp from that.",
        "normal": "The exhaust left at an ordinary temperature.",
        "high": "The exhaust left hotter than it should, so heat you paid for went up the chimney.",
        "very-high": "The exhaust left far too hot, so much heat you paid for went up the chimney.",
    },
    "co2": {
        "very-low": "Far more air than the fire needs went through the unit and carried heat away.",
        "low": "More air than the fire needs went through the unit and carried heat away.",
        "high": "The fire had hardly any air to spare; a change of weather could make it smoke.",
    },
    "ignition_delay": {
        "late": "The flame lit late, so oil gathered before it caught.",
        "none": "The flame did not light.",
    },
    "years_since_service": {"overdue": "The last service lay more than a year back."},
}
"""A sentence for each band of the readings that a household can make something of."""

TILES: Final[Mapping[str, str]] = {
    "efficiency": "Heat of the oil that is used",
    "smoke": "Smoke, 0 clean to 9 black",
    "co": "Carbon monoxide in the exhaust",
    "net_stack": "Exhaust hotter than the air by",
}
"""The figures that a household sees first, by what they mean."""

SUBJECTS: Final[Mapping[str, str]] = {
    "air": "The fire needs the right amount of air: too little makes smoke, too much carries heat away.",
    "building": "A fire takes its air from the house; where the house holds it back, the exhaust can come in.",
    "controls": "The controls start and stop the fire and shut it down when something is wrong; they must work surely.",
    "domestic-hot-water": "Hot water for the taps has to come steadily, and never so hot that it scalds.",
    "fuel": "Clean, dry oil has to reach the fire without a break, and none of it may leak.",
    "head": "Here air and oil meet; if they do not mix well, the flame smokes and wastes oil.",
    "heat-exchanger": "Heat reaches the house only through clean, tight metal; soot on it keeps heat in the exhaust.",
    "hot-water-boiler": "The water must carry the heat to every room, stay inside, and have room to swell.",
    "ignition": "The oil must light the moment it comes; a late start is rough and sooty.",
    "oil": "The oil has to come as a fine, even spray; anything else burns with smoke or not at all.",
    "steam": "Steam needs clean water at its line, and a free way out to the radiators and back.",
    "venting": "The chimney and its pipe must carry all exhaust outdoors, in any weather.",
}
"""Why it matters, for each subject of causes."""

HOUSEHOLD: Final = (
    Step("Have working carbon monoxide alarms near the bedrooms and on each floor. If one sounds, or if anybody feels "
         "sick or dizzy or has a headache, get everybody out into fresh air. Then call 911 from outside."),
    Step("If the burner stops, press its reset button once at most, then call for service. Oil gathers at each try.",
         ("reset",)),
    Step("Call at once about soot in the rooms, a smell of oil or exhaust, a rumble or a bang at the start."),
    Step("Keep air openings free, and stored things, above all those that burn, well away from burner and pipe."),
)
"""The usual cautions for people who live with an oil burner, with the acts that they allow: common practice."""

OUTCOME: Final[Mapping[str, str]] = {
    NOTHING_WRONG: "We found nothing wrong.",
    NOT_FOUND: "Something is wrong, and we have not found yet what it is.",
}
"""How a visit came out, where no cause was confirmed."""

NOTES: Final = (
    "The manufacturer's instructions and the local codes come first. Work on the burner is for people who hold the "
    "license for it.",
    "Carbon monoxide, fire and burns are real risks. Keep the burner room vented, and the way to its switch free.",
)
"""The usual cautions with any use of a report, for people who do not work on burners."""

LEFT_OFF: Final = (
    Step("Do not switch the burner on and do not press its reset button; nothing is gained by a try, and it can do "
         "harm."),
    Step("Heat only with what is made to heat rooms and is in order. Never heat with an oven, a grill, a camp stove or "
         "an open flame. Keep heaters away from beds and curtains.", ("occupants",)),
    Step("In frost, water pipes can freeze and burst within hours. Ask now whether the water has to be shut off and "
         "the pipes drained."),
    Step("Babies, old people and sick people should not stay in a cold house. Let them sleep somewhere warm.",
         ("occupants",)),
)
"""What it means for the household that the burner is left off, with the acts that it takes; common practice."""


def capital(text: str) -> str:
    """A text that begins with a capital letter.

    >>> capital("soot in the flue passages")
    'Soot in the flue passages'
    """
    return text[:1].upper() + text[1:]


SOUND: Final = frozenset({"normal", "zero", "trace"})
"""The bands in which a reading is as it should be."""


def sentences(
    assessment: Assessment, efficiency: bool = True, troubles: bool = False, without: Collection[str] = ()
) -> tuple[str, ...]:
    """What the readings of a case mean, a sentence each; doubted readings say nothing.

    `troubles` asks only for those that are not as they should be; `without` are names to be passed over.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> sentences(assess(Case((Entry("smoke", "4", 4.0),)), load(), look_ahead=False))
    ('The flame smoked heavily, which fills the unit with soot within weeks.',)
    """
    out = []
    bands = assessment.findings.bands
    for name, words in READINGS.items():
        band = bands.get(name)
        told = name not in without and not is_doubted(assessment, name)
        if told and band is not None and band.symbol in words:
            out += [words[band.symbol]] if band.symbol not in SOUND or not troubles else []
    number = assessment.findings.numbers.get("efficiency")
    told = efficiency and not troubles and not is_doubted(assessment, "efficiency")
    if told and number is not None and 0 < number.value <= 100:
        used = round(number.value)
        out.append(f"Of the heat in the oil, {used} parts in 100 were taken up and {100 - used} left by the chimney.")
    return tuple(out)
