"""Words for fields, where the document's own do not read well on a screen."""

from __future__ import annotations

import re

LABELS = {
    "item": "What is cast",
    "section": "Thickness",
    "material": "Pattern material",
    "quantity": "Pieces",
    "pattern_mass": "One pattern weighs",
    "metal_volume": "One piece's volume",
    "size": "Room on the tree",
    "ready": "Patterns ready on",
    "due": "Due on",
    "weight": "Importance",
    "may_split": "May be split over flasks",
    "own_metal": "Customer's own metal",
    "per_tree": "Own pieces per tree",
    "family": "Crucible family",
    "standard": "Fineness standard",
    "density_estimated": "The density is an estimate",
    "melting": "Melting range",
    "pour": "Pouring temperature",
    "flask_temperature": "Flask temperature",
    "losses": "Loss of single elements",
    "recycled_limit": "Recycled metal at most",
    "melts_limit": "Melts at most",
    "cooling": "After the pour",
    "heat": "Melted with",
    "investment": "Investment",
    "low": "From",
    "high": "To",
    "not_above": "Quench not above",
    "not_below": "Quench not below",
    "wait_minutes": "Wait",
    "fits": "Flask sizes it takes",
    "crucible_mass": "Crucible limit by mass",
    "crucible_volume": "Crucible limit by volume",
    "people": "Casters it asks for",
    "speed_rpm": "Turns a minute",
    "casts": "May cast",
    "away": "Away",
    "other_hours": "Other hours on single days",
    "burnout_minutes": "Burnout at least",
    "burnout_peak": "Peak at least",
    "fume": "Fumes more than wax",
    "wall": "Wall thickness",
    "owned": "How many the shop has",
    "cost": "Cost",
    "water": "Water to powder",
    "peak": "Breaks down above",
    "bonds": "For investments bonded with",
    "target": "Reach",
    "ramp_minutes": "In",
    "hold_minutes": "Hold",
    "price_mass": "The price is for",
    "lead_days": "Lead time",
    "pack": "Sold in steps of",
    "unit": "Counted in",
    "per": "Used up by each",
    "use": "How much it uses",
    "amount": "On the shelf now",
    "owner_job": "Belongs to job",
    "melts": "Times melted",
    "since": "On the shelf since",
    "arrives": "Expected on",
    "unattended": "May run unattended",
    "nights": "Nights on which it may run unattended all the same, until noon: days like 2026-03-04",
    "timezone": "Time zone",
    "invest_minutes": "Investing a flask takes",
    "knockout_minutes": "Knocking out a flask takes",
    "soak_minutes": "Soak before the first cast",
    "step_soak_minutes": "Soak after a step down",
    "hot_hold_minutes": "A flask may wait hot",
    "crucible_change_minutes": "A crucible change takes",
    "clean_minutes": "Returns are clean after",
    "overtime_minutes": "Overtime a day at most",
    "horizon_days": "Days that a plan looks ahead",
    "scale_step": "Step of the scale",
}

HINTS = {
    "customer": "",
    "item": "In a few words",
    "alloy": "",
    "material": "",
    "quantity": "",
    "pattern_mass": "One pattern on the scale, such as 0.41 g or 1.2 dwt; without a unit in {unit}. Give this or the volume.",
    "metal_volume": "One piece from a model, such as 412 mm³ or 0.4 ml; without a unit in {unit}. Give this or the mass.",
    "size": "The box of one pattern as it sits on the tree",
    "weight": "How much a day late counts; 1 for ordinary work",
    "own_metal": "Only lots that belong to a job are listed",
    "per_tree": "Your own count for a flask size, in place of the ring rule",
    "low": "",
    "high": "",
    "element": "Its symbol, such as Ag",
    "metal": "The bought metal that it is",
    "owner_job": "Such metal is used for that job only",
    "investment": "",
    "fits": "",
    "opens": "",
    "closes": "",
}
HINT_WORDS = (
    (r",? an ISO date,?", ""),
    (r"^True where", "Tick where"),
    (r"^False (while|where)", r"Untick \1"),
    (r", in minutes$", "; such as 90 min or 1 h 30 min"),
    (r", in (mm|g|cm³|mm³|°C|g/cm³)$", "; with a unit, or in {unit}"),
    (r", or empty;", ";"),
)
HEADS = {"per_tree": ("Flask size", "Pieces"), "composition": ("Element", "Share"), "losses": ("Element", "Lost in one melt")}


def hint_of(name: str, description: str, unit: str = "") -> str:
    """What stands below a field: the document's description in the words of a form. ``unit``: the reader's."""
    if name in HINTS:
        return HINTS[name].replace("{unit}", unit)
    for pattern, words in HINT_WORDS:
        description = re.sub(pattern, words, description)
    return description.replace("{unit}", "inches" if unit == "in" else unit)


def heads_of(name: str) -> tuple[str, str]:
    """The two column heads of a table of pairs."""
    return HEADS.get(name, ("Which", "Value"))


def label_of(name: str) -> str:
    """The words for a field name."""
    words = LABELS.get(name, name.removesuffix("_minutes").removesuffix("_days").replace("_", " "))
    return words[:1].upper() + words[1:]
