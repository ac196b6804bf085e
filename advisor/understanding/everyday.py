"""Words of every day that are no misspelling of a word of the trade, near as they are."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from advisor.understanding.tokens import stem_of

_WORDS: Final = """
    about above after again always amount another back bag bank barn basket battery beach beat because been before
    being below bill board boat boss both bottle bought branch bread bright bring brother brought brush bucket build
    busy cabin called calls calm came carpenter carry cash cat chair chance change charge check checker child city
    class cleaner clear client climb clock clothes coffee come could counter court cousin credit cross custom day days
    detail dinner dispatcher dog done door down driveway drunk east either electric electrician every fair father
    first flag floor food form from frost garbage gave give given gloves goes going good grand great group guess guys
    hammer hand handle have hear heart heat hello help here high home hope hour house inspector invoice just kids
    knock know ladder lady landlady landlord last late learn least leave left less like line loan long look lost love
    luck lunch march mason match maybe meal mean meat mechanic mess meter mind moment money month moon more morning
    most mother mouth move much must name need neighbor news next night north nose note office only open other oven
    over owner paid pain painter pan pants paper parking part pass people phone pie pill place plan please plumber
    plus point price print proud put quick quiet quote ranch rate real really realtor repair report rest right rise
    road roof roofer round rub said sale same sand saturday schedule school search seem sell send separate shall sheep
    shelf shirt shore should shoulder shovel show side sign since sing sister size sleep small smart snack snow soap
    sold soldier some somebody something sometimes soon sorry sort sound spare special spoon sport stair start starter
    station stay steak steal steep step still stop store storm strike string stuff such supper sure sweep tail take
    tell tenant test than thank thanks their them then there thermos these they thin thing think this those time today
    together tomorrow tonight tooth tough tow track trade traffic train trash tree trick truck trunk truth turn under
    until used usually very visit wait wall want warm wash wave week weigh were what when where which while whisper
    who whole whose wife wild will win wind wine wing winter wire with without wonder word work would wrench write
    wrong year yesterday young
"""


@lru_cache(maxsize=1)
def _stems() -> frozenset[str]:
    return frozenset(stem_of(word) for word in _WORDS.split())


def is_everyday(word: str) -> bool:
    """Whether a word is one of every day, in any of its forms.

    >>> is_everyday("selling"), is_everyday("smok")
    (True, False)
    """
    return stem_of(word) in _stems()
