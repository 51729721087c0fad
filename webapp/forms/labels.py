"""Words for fields, where the document's own do not read well on a screen."""

from __future__ import annotations

import re

from domain.saying import say

LABELS = {
    "item": say("What is cast"),
    "section": say("Thickness"),
    "material": say("Pattern material"),
    "quantity": say("Pieces"),
    "pattern_mass": say("One pattern weighs"),
    "metal_volume": say("One piece's volume"),
    "size": say("Room on the tree"),
    "ready": say("Patterns ready on"),
    "due": say("Due on"),
    "weight": say("Importance"),
    "may_split": say("May be split over flasks"),
    "own_metal": say("Customer's own metal"),
    "per_tree": say("Own pieces per tree"),
    "family": say("Crucible family"),
    "standard": say("Fineness standard"),
    "density_estimated": say("The density is an estimate"),
    "melting": say("Melting range"),
    "pour": say("Pouring temperature"),
    "flask_temperature": say("Flask temperature"),
    "losses": say("Loss of single elements"),
    "recycled_limit": say("Recycled metal at most"),
    "melts_limit": say("Melts at most"),
    "cooling": say("After the pour"),
    "heat": say("Melted with"),
    "investment": say("Investment"),
    "low": say("From"),
    "high": say("To"),
    "not_above": say("Quench not above"),
    "not_below": say("Quench not below"),
    "wait_minutes": say("Wait"),
    "fits": say("Flask sizes it takes"),
    "crucible_mass": say("Crucible limit by mass"),
    "crucible_volume": say("Crucible limit by volume"),
    "people": say("Casters it asks for"),
    "speed_rpm": say("Turns a minute"),
    "casts": say("May cast"),
    "away": say("Away"),
    "other_hours": say("Other hours on single days"),
    "burnout_minutes": say("Burnout at least"),
    "burnout_peak": say("Peak at least"),
    "fume": say("Fumes more than wax"),
    "wall": say("Wall thickness"),
    "owned": say("How many the shop has"),
    "cost": say("Cost"),
    "water": say("Water to powder"),
    "peak": say("Breaks down above"),
    "bonds": say("For investments bonded with"),
    "target": say("To reach"),
    "ramp_minutes": say("In"),
    "hold_minutes": say("Hold"),
    "price_mass": say("The price is for"),
    "lead_days": say("Lead time"),
    "pack": say("Sold in steps of"),
    "unit": say("Counted in"),
    "per": say("Used up by each"),
    "use": say("How much it uses"),
    "amount": say("On the shelf now"),
    "owner_job": say("Belongs to job"),
    "melts": say("Times melted"),
    "since": say("On the shelf since"),
    "arrives": say("Expected on"),
    "unattended": say("May run unattended"),
    "nights": say("Nights on which it may run unattended all the same, until noon: days like 2026-03-04"),
    "timezone": say("Time zone"),
    "invest_minutes": say("Investing a flask takes"),
    "knockout_minutes": say("Knocking out a flask takes"),
    "soak_minutes": say("Soak before the first cast"),
    "step_soak_minutes": say("Soak after a step down"),
    "hot_hold_minutes": say("A flask may wait hot"),
    "crucible_change_minutes": say("A crucible change takes"),
    "clean_minutes": say("Returns are clean after"),
    "overtime_minutes": say("Overtime a day at most"),
    "horizon_days": say("Days that a plan looks ahead"),
    "scale_step": say("Step of the scale"),
    "alloy": say("Alloy"),
    "arm_radius": say("Arm radius"),
    "base_height": say("Base height"),
    "bench_limit_minutes": say("Bench limit"),
    "bench_set_minutes": say("Bench set"),
    "bond": say("Bond"),
    "button_share": say("Button share"),
    "button_volume": say("Button volume"),
    "cautions": say("Cautions"),
    "closes": say("Closes"),
    "colour": say("Colour"),
    "composition": say("Composition"),
    "cooldown_minutes": say("Cooldown"),
    "currency": say("Currency"),
    "customer": say("Customer"),
    "day": say("Day"),
    "density": say("Density"),
    "depth": say("Depth"),
    "element": say("Element"),
    "fastest_ramp": say("Fastest ramp"),
    "feed_diameter": say("Feed diameter"),
    "feed_length": say("Feed length"),
    "first": say("First"),
    "gap": say("Gap"),
    "gloss_off_minutes": say("Gloss off"),
    "height": say("Height"),
    "in_service": say("In service"),
    "inner_diameter": say("Inner diameter"),
    "kind": say("Kind"),
    "last": say("Last"),
    "liquid": say("Liquid"),
    "mass": say("Mass"),
    "melt_loss": say("Melt loss"),
    "metal": say("Metal"),
    "method": say("Method"),
    "minimum": say("Minimum"),
    "minutes_per_cast": say("Minutes per cast"),
    "name": say("Name"),
    "note": say("Note"),
    "notes": say("Notes"),
    "opens": say("Opens"),
    "outages": say("Outages"),
    "perforated": say("Perforated"),
    "piece_gap": say("Piece gap"),
    "price": say("Price"),
    "purpose": say("Purpose"),
    "reach": say("Reach"),
    "reason": say("Reason"),
    "ring_gap": say("Ring gap"),
    "segments": say("Segments"),
    "shifts": say("Shifts"),
    "slurry_yield": say("Slurry yield"),
    "top_clearance": say("Top clearance"),
    "top_temperature": say("Top temperature"),
    "trunk_diameter": say("Trunk diameter"),
    "wall_clearance": say("Wall clearance"),
    "waste": say("Waste"),
    "width": say("Width"),
    "working_minutes": say("Working"),
}

HINTS = {
    "customer": "",
    "item": say("In a few words"),
    "alloy": "",
    "material": "",
    "quantity": "",
    "pattern_mass": say("One pattern on the scale, such as 0.41 g or 1.2 dwt; without a unit in {unit}. Give this or the volume."),
    "metal_volume": say("One piece from a model, such as 412 mm³ or 0.4 ml; without a unit in {unit}. Give this or the mass."),
    "size": say("The box of one pattern as it sits on the tree"),
    "weight": say("How much a day late counts; 1 for ordinary work"),
    "own_metal": say("Only lots that belong to a job are listed"),
    "per_tree": say("Your own count for a flask size, in place of the ring rule"),
    "low": "",
    "high": "",
    "element": say("Its symbol, such as Ag"),
    "metal": say("The bought metal that it is"),
    "owner_job": say("Such metal is used for that job only"),
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
ENDINGS = ("; such as 90 min or 1 h 30 min", "; with a unit, or in {unit}")
HEADS = {
    "per_tree": (say("Flask size"), say("Pieces")),
    "composition": (say("Element"), say("Share")),
    "losses": (say("Element"), say("Lost in one melt")),
}


def hint_of(name: str, description: str, unit: str = "") -> str:
    """What stands below a field: the document's description in the words of a form. ``unit``: the reader's."""
    if name in HINTS:
        return say(HINTS[name], unit=unit)
    for pattern, words in HINT_WORDS:
        description = re.sub(pattern, words, description)
    for ending in ENDINGS:
        if description.endswith(ending):
            said = say(description.removesuffix(ending))
            return say("{hint}" + ending, hint=said, unit=say("inches") if unit == "in" else unit)
    return say(description)


def heads_of(name: str) -> tuple[str, str]:
    """The two column heads of a table of pairs."""
    return HEADS.get(name, (say("Which"), say("Value")))


def label_of(name: str) -> str:
    """The words for a field name."""
    words = name.removesuffix("_minutes").removesuffix("_days").replace("_", " ")
    return LABELS.get(name) or words[:1].upper() + words[1:]
