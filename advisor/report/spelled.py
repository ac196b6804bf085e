"""Short forms in full, for people who do not know them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

IN_FULL: Final[Mapping[str, str]] = {
    "CO2": "carbon dioxide", "CO": "carbon monoxide", "O2": "oxygen",
    "ppm": "parts in a million", "psi": "pounds of pressure", "in. w.c.": "inches of water",
    "in. Hg": "inches of vacuum", "gph": "gallons an hour", "gal": "gallons", "per gal": "a gallon", "lb": "pounds",
    "degF": "degrees", "degC": "degrees Celsius", "Btu/h": "heat units an hour", "Btu": "heat units",
    "h": "hours", "min": "minutes", "s": "seconds", "ft": "feet", "in": "inches", "in.": "inches",
    "in2": "square inches", "rpm": "turns a minute", "ohm": "ohms", "V": "volts", "A": "amps",
    "uA": "millionths of an amp", "No. 1": "number 1", "No. 2": "number 2",
}
"""What stands for a short form where anybody shall read it. They are those of the units of measure
(:mod:`advisor.physics.units`) and of the gases; degrees on a page in the United States are degrees Fahrenheit.
"""
_AFTER_A_NUMBER: Final = frozenset({"min", "s", "h", "ft", "in", "in.", "in2", "V", "A", "gal", "lb", "ohm"})
"""Short forms that are words, or parts of a sentence, but for behind a number."""


def _pattern() -> re.Pattern[str]:
    anywhere = sorted((one for one in IN_FULL if one not in _AFTER_A_NUMBER), key=len, reverse=True)
    behind = sorted(_AFTER_A_NUMBER, key=len, reverse=True)
    return re.compile(r"(?<![\w.])(?:" + "|".join(map(re.escape, anywhere)) + r")(?!\w)"
                      r"|(?<=\d )(?:" + "|".join(map(re.escape, behind)) + r")(?!\w)")


_SHORT: Final = _pattern()


def spelled(text: str) -> str:
    """A text with its short forms in full.

    >>> spelled("Stay out until it is safe to go back in.")
    'Stay out until it is safe to go back in.'
    >>> spelled("CO 40 ppm, draft -0.02 in. w.c., 12 s; seen in the flue")
    'carbon monoxide 40 parts in a million, draft -0.02 inches of water, 12 seconds; seen in the flue'
    """
    return _SHORT.sub(lambda found: IN_FULL[found[0]], text.replace("degF difference", "degrees"))
