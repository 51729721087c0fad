"""What people read for the choices of a field, which are sent as they are kept."""

from __future__ import annotations

from domain.saying import say

_SAID = (
    *(say("thin"), say("medium"), say("heavy")),
    *(say("torch"), say("induction"), say("quench"), say("air cool")),
    *(say("gypsum"), say("phosphate")),
    *(say("yes"), say("warn"), say("never")),
    *(say("dewax"), say("burn"), say("cure"), say("cool to flask temperature")),
    *(say("spring centrifuge"), say("vacuum")),
    *(say("Mon"), say("Tue"), say("Wed"), say("Thu"), say("Fri"), say("Sat"), say("Sun")),
    *(say("pieces"), say("flask invested"), say("kiln load started"), say("flask cast")),
    *(say("fine metal"), say("master alloy"), say("casting grain"), say("recycled")),
    *(say("owner"), say("manager"), say("caster"), say("board")),
)
WORDS = {str(word): word for word in _SAID}


def word_of(choice: str) -> str:
    """A unit or a name of the shop's own stays as it is."""
    return WORDS.get(str(choice), str(choice))
