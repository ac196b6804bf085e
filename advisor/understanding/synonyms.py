"""Words that mean the same wherever they stand: one is understood as the other, which phrases need not repeat."""

from __future__ import annotations

from typing import Final

_ALIKE: Final = (
    "plugged clogged blocked obstructed choked",
    "dirty filthy grimy cruddy crud gunk gunky gunked gook goo gooey muck mucky sludge sludgy",
    "lint linty fuzz fuzzy",
    "bad shot junk toast kaput defective faulty",
    "stuck jammed seized siezed wedged",
    "broken broke busted bust smashed wrecked snapped",
    "chamber firebox firepot",
    "basement cellar",
    "smell odor stench reek reeks whiff",
    "baro barometric barometrics damper regulator",
    "cell eye",
    "thermostat stat tstat",
    "drip dribble drool trickle",
    "squeal squeak screech",
    "carbon coke coked coking",
    "suck draw drew drawn",
    "stop quit",
    "push punch mash pushed hit",
    "jump jumper jumpered bridge bypass",
    "thump whump whomp whoomp whoof woof whoosh thud",
    "bang boom kaboom",
    "circulator circ",
    "bleeder bleed",
    "gauge gage guage",
    "elbow ell ells",
    "rise rose risen",
    "fall fell fallen",
    "nozzle noz",
    "crusty crust",
    "when whenever",
)
"""Each line: the word by which the others are understood first."""


def alike() -> dict[str, str]:
    """For each of these words the one by which it is understood.

    >>> alike()["clogged"], alike()["plugged"]
    ('plugged', 'plugged')
    """
    return {word: words.split()[0] for words in _ALIKE for word in words.split()}
