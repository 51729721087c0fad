"""Conditions of checklist points: their values, in words, and as they are typed."""

from __future__ import annotations

from domain.errors import InvalidValue
from domain.safety.points import rows
from domain.saying import say
from domain.shop.alloy import Bond, CoolingMethod, Heat
from domain.shop.casting import MachineKind

VALUES: dict[str, tuple[str | bool, ...]] = {
    "heat": tuple(heat.value for heat in Heat),
    "machine": tuple(kind.value for kind in MachineKind),
    "bond": tuple(bond.value for bond in Bond),
    "fume": (True, False),
    "large": (True, False),
    "alone": (True, False),
    "cooling": tuple(method.value for method in CoolingMethod),
    "window": (True, False),
    "advised_against": (True, False),
}
"""The values of every condition but the alloy's cautions, which the shop names itself."""

OF_OWN_POINTS = ("heat", "machine", "bond", "fume", "large", "alone", "cooling", "caution")
"""The conditions that a shop may give to a point of its own."""

WORDS: dict[tuple[str, object], str] = {
    ("heat", "torch"): say("torch"),
    ("heat", "induction"): say("induction"),
    ("machine", "spring centrifuge"): say("spring centrifuge"),
    ("machine", "vacuum"): say("vacuum"),
    ("cooling", "quench"): say("quench"),
    ("cooling", "air cool"): say("air cool"),
    ("bond", "gypsum"): say("gypsum-bonded investment"),
    ("bond", "phosphate"): say("phosphate-bonded investment"),
    ("fume", True): say("resin patterns"),
    ("fume", False): say("no resin patterns"),
    ("large", True): say("large flasks"),
    ("large", False): say("small flasks"),
    ("alone", True): say("casting alone"),
    ("alone", False): say("two or more people"),
    ("window", True): say("alloys with a quench window"),
    ("window", False): say("alloys without a quench window"),
    ("advised_against", True): say("investment advised against"),
    ("advised_against", False): say("investment not advised against"),
}
CAUTIONS = {
    "zinc fume": say("zinc fume"),
    "platinum glare": say("platinum glare"),
    "palladium": say("palladium"),
    "nickel": say("nickel"),
    "copper-rich": say("copper-rich"),
}
"""Those that the starting tables look for; a shop's own is called as it was typed."""


def in_words(name: str, value: object) -> str:
    if (name, value) in WORDS:
        return WORDS[name, value]
    words = CAUTIONS.get(str(value), str(value))
    return say("not for {caution}", caution=words) if name == "without" else words


def known_cautions() -> frozenset[str]:
    """The cautions of alloys that the starting tables look for."""
    named = (row.get(name) for file in ("checklist.toml", "cautions.toml") for row in rows(file) for name in ("caution", "without"))
    return frozenset(name for name in named if name)


def condition(name: str, text: str, cautions: frozenset[str]) -> str | bool:
    """The value of a condition as it is typed: ``yes`` or ``no``, or one of its words. ``cautions``: those
    that an alloy may carry. Raises ``InvalidValue`` for an unknown condition or value."""
    if name not in OF_OWN_POINTS:
        raise InvalidValue(name, say("“{name}” is not something that a point can depend on; choose from the list", name=name))
    if name == "caution":
        known: tuple[str | bool, ...] = tuple(sorted(cautions))
    else:
        known = VALUES[name]
    value = {"yes": True, "no": False}.get(text, text) if True in known else text
    if value not in known:
        raise InvalidValue(name, say("“{text}” is not known here; choose from the list", text=text))
    return value
