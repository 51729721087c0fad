"""Metal as the books know it: whole milligrams of it, and of each element whole nanograms.

A milligram of metal with so many parts per million of an element holds exactly as many nanograms of
it (mg × ppm = ng), so nothing is lost by rounding. Where a content is parted, every element is shared
in proportion, by largest remainders: the parts sum to the whole, none is negative, and the same
question always has the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from domain.errors import InvalidValue
from domain.saying import say
from domain.units import Mass, Share

NANOGRAMS = 1_000_000
"""in a milligram, and parts per million in a whole"""

UNKNOWN = "unknown"
"""stands for the elements of metal of which nobody knows what it is made of"""
POWDER = "powder"
"""stands for the elements of investment powder, which is not taken apart"""


@dataclass(frozen=True, slots=True)
class Content:
    """``elements``: nanograms by chemical symbol; they add up to ``mass``."""

    mass: Mass
    elements: Mapping[str, int]

    def __post_init__(self) -> None:
        if sum(self.elements.values()) != self.mass.base * NANOGRAMS:
            raise InvalidValue("elements", "the elements of a content add up to its mass, to the nanogram")

    def __add__(self, other: Content) -> Content:
        elements = {e: self.elements.get(e, 0) + other.elements.get(e, 0) for e in self.elements.keys() | other.elements.keys()}
        return Content(self.mass + other.mass, {e: elements[e] for e in sorted(elements) if elements[e]})

    def __neg__(self) -> Content:
        return Content(-self.mass, {e: -ng for e, ng in self.elements.items()})

    def __sub__(self, other: Content) -> Content:
        return self + -other

    @property
    def sound(self) -> bool:
        """Whether nothing of it is less than nothing."""
        return self.mass.base >= 0 and all(ng >= 0 for ng in self.elements.values())

    def part(self, mass: Mass) -> Content:
        """So much of it, all elements in proportion. Raises ``InvalidValue`` for more than there is."""
        if not Mass(0) <= mass <= self.mass:
            raise InvalidValue("mass", say("no more can be taken than there is"))
        return Content(mass, shared(self.elements, mass.base * NANOGRAMS))


NOTHING = Content(Mass(0), {})


def content_of(mass: Mass, composition: Mapping[str, Share]) -> Content:
    """``mass`` (of either sign) of a composition. Shares that miss a whole a little are made whole first."""
    known = {e: share.base for e, share in composition.items() if share.base}
    whole = shared(known or {UNKNOWN: NANOGRAMS}, NANOGRAMS)
    return Content(mass, {e: mass.base * ppm for e, ppm in whole.items()} if mass.base else {})


def powder(mass: Mass) -> Content:
    """So much investment powder."""
    return content_of(mass, {POWDER: Share(NANOGRAMS)})


def composition_of(content: Content) -> dict[str, Share]:
    """The share of each element, in whole parts per million that add up to a whole."""
    return {e: Share(ppm) for e, ppm in shared(content.elements, NANOGRAMS).items()}


def together(contents: Iterable[Content]) -> Content:
    result = NOTHING
    for content in contents:
        result = result + content
    return result


def shared(amounts: Mapping[str, int], total: int) -> dict[str, int]:
    """``total`` shared out in proportion to ``amounts``, by largest remainders, ties by name.

    No share is more than its amount where ``total`` is no more than all of them. Raises
    ``InvalidValue`` where there is nothing to share by.
    """
    whole = sum(amounts.values())
    if total == 0:
        return {}
    if whole <= 0 or any(amount < 0 for amount in amounts.values()):
        raise InvalidValue("composition", say("nothing is known of what this metal is made of"))
    parts = {name: divmod(amount * total, whole) for name, amount in amounts.items()}
    left = total - sum(floor for floor, _ in parts.values())
    up = set(sorted(parts, key=lambda name: (-parts[name][1], name))[:left])
    found = {name: floor + (name in up) for name, (floor, _) in parts.items()}
    return {name: found[name] for name in sorted(found) if found[name]}


def melted(charged: Content, out: Mass, losses: Mapping[str, Share]) -> tuple[Content, Content]:
    """What a melt gave back and what it lost, when ``out`` of what was ``charged`` came back.

    Each element's own loss (zinc fumes off) is lost first, as far as so much was lost at all; the rest of
    the loss, spatter and skin, is made of the melt. Raises ``InvalidValue`` when more came out than went in.
    """
    if out > charged.mass:
        raise InvalidValue("mass", say("more came out than was charged"))
    lost = (charged.mass - out).base * NANOGRAMS
    fumes = {e: ng * losses[e].base // NANOGRAMS for e, ng in charged.elements.items() if e in losses}
    first = shared(fumes, min(lost, sum(fumes.values())))
    left = {e: ng - first.get(e, 0) for e, ng in charged.elements.items()}
    rest = shared(left, lost - sum(first.values()))
    gone = {e: first.get(e, 0) + rest.get(e, 0) for e in charged.elements}
    loss = Content(charged.mass - out, {e: ng for e, ng in gone.items() if ng})
    return charged - loss, loss
