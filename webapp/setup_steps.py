"""The steps of a new shop's set-up: its units, then each a few fields of a noun that the shop's own pages edit whole."""

from __future__ import annotations

from dataclasses import dataclass

from domain.saying import say
from webapp.shop_nouns import BY_SLUG, Noun


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """``fields``: those asked for, of each thing. ``pick``: things that the shop does not use are put out of use here.
    ``count``: fields that hold a balance, which is changed by counting."""

    slug: str
    title: str
    about: str
    fields: tuple[str, ...] = ()
    pick: bool = False
    count: frozenset[str] = frozenset()

    @property
    def noun(self) -> Noun:
        return BY_SLUG[self.slug]


STEPS = (
    Step(
        slug="units",
        title=say("Units"),
        about=say(
            "How the shop reads: grams or pennyweights, °C or °F, and how numbers, days and times are written. "
            "It counts for everybody who does not choose for themselves under their name, at the top of each page."
        ),
    ),
    Step(
        slug="rules",
        title=say("Place and money"),
        about=say("The clock that plans go by, the currency of prices, and how much overtime a day may have at most."),
        fields=("timezone", "currency", "overtime_minutes"),
    ),
    Step(
        slug="people",
        title=say("Working days and shifts"),
        about=say("Who casts, and when. A day without a row is a day off."),
        fields=("name", "casts", "shifts"),
    ),
    Step(
        slug="kilns",
        title=say("Kilns"),
        about=say(
            "Measure the floor that flasks can stand on. A kiln may run unattended only where the fire code, the landlord "
            "and the insurer allow it; until that is ticked, a burnout has a place only while somebody is there."
        ),
        fields=("name", "width", "depth", "height", "top_temperature", "in_service", "unattended"),
    ),
    Step(
        slug="flask-sizes",
        title=say("Flasks you own"),
        about=say("How many of each size are on the rack. Leave 0 where there are none."),
        fields=("owned",),
    ),
    Step(
        slug="machines",
        title=say("Casting machines"),
        about=say("The crucible's limits are on the machine's plate or in its manual."),
        fields=("name", "crucible_mass", "minutes_per_cast", "people", "in_service"),
    ),
    Step(
        slug="alloys",
        title=say("Alloys you cast"),
        about=say("Untick what the shop does not cast: it leaves the lists and can be brought back at any time."),
        pick=True,
    ),
    Step(
        slug="powders",
        title=say("Powder on the shelf"),
        about=say("What is there now, by weighing or by counting bags. It is written down as a count."),
        fields=("mass",),
        count=frozenset({"mass"}),
    ),
    Step(
        slug="lots",
        title=say("Metal on the shelf"),
        about=say(
            "Each container of grain, fine metal or returns is a lot. Add what is there; what is missing is shown as to order."
        ),
    ),
)
BY_STEP = {step.slug: step for step in STEPS}
