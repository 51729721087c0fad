"""The names of the elements that castings are made of, for messages."""

NAMES = {
    "Ag": "silver",
    "Au": "gold",
    "Be": "beryllium",
    "Cd": "cadmium",
    "Co": "cobalt",
    "Cu": "copper",
    "Fe": "iron",
    "Ga": "gallium",
    "Ge": "germanium",
    "In": "indium",
    "Ir": "iridium",
    "Mn": "manganese",
    "Ni": "nickel",
    "Pb": "lead",
    "Pd": "palladium",
    "Pt": "platinum",
    "Rh": "rhodium",
    "Ru": "ruthenium",
    "Si": "silicon",
    "Sn": "tin",
    "Zn": "zinc",
}


def named(element: str) -> str:
    """The element's name, or its symbol where it has none here."""
    return NAMES.get(element, element)
