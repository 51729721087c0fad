"""Text as people type it → values with units. The forms of the app and the job lists both read here.

Every reader raises ``InvalidValue`` with a message that says what to type instead, and
``Ambiguous`` where a text has two readings (``gr``: grains or grams) and ``choices`` does not say
which. A number without a unit is in ``default_unit``; with no default it is ``Ambiguous``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from domain.errors import InvalidValue
from domain.intake.numbers import LONGEST, NO_CHOICES, Ambiguous, Choices, Reading, cleaned, read_number, shown, split_number
from domain.saying import say
from domain.units import Density, Length, Mass, Money, Pressure, Quantity, Share, Temperature, Volume

__all__ = [
    "METRIC",
    "Ambiguous",
    "Choices",
    "Reading",
    "Usual",
    "in_base_units",
    "read_count",
    "read_density",
    "read_length",
    "read_mass",
    "read_money",
    "read_number",
    "read_pressure",
    "read_share",
    "read_temperature",
    "read_volume",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """What a number without a unit is in, and how one that ``1,234`` could be is read."""

    mass: str = "g"
    degrees: str = "°C"
    numbers: Choices = field(default_factory=dict)


METRIC = Usual()


def _words(table: str) -> dict[str, str]:
    """``unit: word, word; unit: word`` → word → unit."""
    pairs = (entry.split(":") for entry in table.split(";"))
    return {word.strip(): unit.strip() for unit, words in pairs for word in words.split(",")}


MASS_WORDS = _words(
    "mg: mg, milligram, milligrams, milligramm; g: g, gm, gms, gram, grams, gramm, gramme, grammes;"
    "kg: kg, kilo, kilos, kilogram, kilograms; ct: ct, cts, carat, carats; gr: grain, grains;"
    "dwt: dwt, dwts, pwt, pennyweight, pennyweights; ozt: ozt, oz t, t oz, toz, oz troy, troy oz, troy ounce, troy ounces;"
    "oz: oz av, oz avdp, ozav; lb: lb, lbs, pound, pounds"
)
LENGTH_WORDS = _words(
    "µm: μm, um, micron, microns; mm: mm, millimetre, millimetres, millimeter, millimeters;"
    "cm: cm, centimetre, centimetres, centimeter, centimeters; m: m, metre, metres, meter;"
    "in: in, inch, inches, zoll, \", '', ′′, ’’, ”, “; ft: ft, foot, feet, ', ′, ’"
)
VOLUME_WORDS = _words(
    "mm³: mm3, mm^3, cu mm, cmm; cm³: cm3, cm^3, cc, ccm, cu cm; ml: ml, millilitre, millilitres, milliliter, milliliters;"
    "l: l, litre, litres, liter, liters;"
    "in³: in3, in^3, cu in, cubic inch, cubic inches"
)
DENSITY_WORDS = _words("g/cm³: g/cm3, g/cm^3, g/cc, g/ccm, g/ml, g per cm3, kg/l; mg/cm³: mg/cm3; kg/m³: kg/m3, kg/m^3, kg per m3")
SHARE_WORDS = _words("%: %, percent, per cent, pct, wt%; ‰: ‰, permille, per mille; ppm: ppm")
TEMPERATURE_WORDS = _words(
    "°C: c, °c, ° c, degc, deg c, degrees c, celsius, degrees celsius, grad c; °F: f, °f, ° f, degf, deg f, degrees f, fahrenheit,"
    "degrees fahrenheit; K: k, kelvin"
)
PRESSURE_WORDS = _words(
    "Pa: pa, pascal; kPa: kpa; mbar: mbar, millibar, hpa; bar: bar, bars, barg; psi: psi, psig, lb/in2, lbs/in2"
)

TWO_READINGS: dict[str, tuple[Reading, Reading]] = {
    "gr": (Reading("gr", say("grains (0.0648 g each)")), Reading("g", say("grams"))),
    "oz": (Reading("ozt", say("troy ounces (31.10 g)")), Reading("oz", say("avoirdupois ounces (28.35 g)"))),
}
"""Mass words that mean two units; the trade uses both."""


def read_mass(text: str, default_unit: str | None, field: str = "mass", choices: Choices = NO_CHOICES) -> Mass:
    """A mass, zero or more: ``1.2 dwt``, ``3,97 g``, ``0.5 ozt``. ``gr`` and ``oz`` are ``Ambiguous``."""
    number, unit = split_number(text, field)
    word = _plain(unit)
    if word in ("grs", "ounce", "ounces", "ozs"):
        word = "gr" if word == "grs" else "oz"
    if word in TWO_READINGS:
        chosen = _chosen(text, field, word, choices)
    else:
        chosen = _unit(text, unit, MASS_WORDS, default_unit, field, say("3.97 g or 1.2 dwt"))
    return Mass.of(_not_negative(number, field, choices), chosen)


def read_length(text: str, default_unit: str | None, field: str = "length", choices: Choices = NO_CHOICES) -> Length:
    """A length, zero or more: ``0.6 mm``, ``2.5 cm``, ``7/8"``, ``1 1/8 in``."""
    number, unit = split_number(text, field)
    chosen = _unit(text, unit, LENGTH_WORDS, default_unit, field, say('24 mm or 7/8"'))
    return Length.of(_not_negative(number, field, choices), chosen)


def read_volume(text: str, default_unit: str | None, field: str = "volume", choices: Choices = NO_CHOICES) -> Volume:
    """A volume, zero or more: ``4894 mm3``, ``cad 4894 mm3``, ``1.2 ml``."""
    number, unit = split_number(_without_label(text), field)
    chosen = _unit(text, unit, VOLUME_WORDS, default_unit, field, say("4894 mm³ or 4.9 ml"))
    return Volume.of(_not_negative(number, field, choices), chosen)


def read_pressure(text: str, default_unit: str | None, field: str = "pressure", choices: Choices = NO_CHOICES) -> Pressure:
    """A gauge pressure, zero or more: ``15 psi``, ``1.03 bar``, ``103 kPa``."""
    number, unit = split_number(text, field)
    chosen = _unit(text, unit, PRESSURE_WORDS, default_unit, field, say("15 psi or 1 bar"))
    return Pressure.of(_not_negative(number, field, choices), chosen)


def in_base_units(kind: type[Quantity], text: str, field: str = "amount", choices: Choices = NO_CHOICES) -> Fraction:
    """A mass, length, volume or pressure with its unit, exactly, before it is rounded to whole base units."""
    reader, words = {
        Mass: (read_mass, MASS_WORDS),
        Length: (read_length, LENGTH_WORDS),
        Volume: (read_volume, VOLUME_WORDS),
        Pressure: (read_pressure, PRESSURE_WORDS),
    }[kind]
    reader(text, None, field, choices)
    number, unit = split_number(_without_label(text), field)
    return read_number(number, field, choices) * kind.UNITS[words[_plain(unit)]]


def _without_label(text: str) -> str:
    """``cad 4894 mm3`` → ``4894 mm3``"""
    return re.sub(r"^\s*(?:cad|vol(?:ume)?\.?|v\s*=)\s*:?\s*", "", text, flags=re.IGNORECASE)


def read_density(text: str, default_unit: str | None = "g/cm³", field: str = "density", choices: Choices = NO_CHOICES) -> Density:
    """A density above zero: ``10.36``, ``10.36 g/cm3``, ``10360 kg/m³``."""
    number, unit = split_number(text, field)
    chosen = _unit(text, unit, DENSITY_WORDS, default_unit, field, "10.36 g/cm³")
    density = Density.of(_not_negative(number, field, choices), chosen)
    if density.base == 0:
        raise InvalidValue(field, say("a density is above zero; type one such as 10.36 g/cm³"))
    return density


def read_share(text: str, default_unit: str | None = "%", field: str = "share", choices: Choices = NO_CHOICES) -> Share:
    """A share of a whole, 0 to 100 %: ``92.5 %``, ``925 ‰``, ``75``. A fraction without a unit
    (``3/4``) is a share of one."""
    number, unit = split_number(text, field)
    default = "1" if "/" in number else default_unit
    chosen = _unit(text, unit, SHARE_WORDS, default, field, say("92.5 % or 925 ‰"))
    share = Share.of(_not_negative(number, field, choices), chosen)
    if share.base > 1_000_000:
        raise InvalidValue(field, say("“{text}” is more than the whole; type at most 100 %", text=shown(text)))
    return share


def read_temperature(text: str, default_unit: str | None, field: str = "temperature", choices: Choices = NO_CHOICES) -> Temperature:
    """A temperature: ``950 °F``, ``950F``, ``620 C``, ``-40``. ``default_unit``: ``°C`` or ``°F``."""
    number, unit = split_number(text, field)
    chosen = _unit(text, unit, TEMPERATURE_WORDS, default_unit, field, say("620 °C or 1150 °F"))
    value = read_number(number, field, choices)
    celsius = value - Fraction("273.15") if chosen == "K" else value
    reading = Temperature.f(value) if chosen == "°F" else Temperature.c(celsius)
    if reading < Temperature.c("-273.15"):
        raise InvalidValue(field, say("“{text}” is below absolute zero; type a temperature such as 620 °C", text=shown(text)))
    return reading


CURRENCY_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD", "¥": "JPY"}


def read_money(text: str, currency: str, field: str = "price", choices: Choices = NO_CHOICES) -> Money:
    """Money in the shop's currency, zero or more: ``12.50``, ``€ 12,50``, ``1,234.50 EUR``."""
    words = re.findall(r"[^\W\d_]+|[€£$¥]", text)
    named = {CURRENCY_SIGNS.get(word, word.upper()) for word in words}
    if named - {currency.upper()} and not (named == {"USD"} and "$" in words and currency.upper().endswith("D")):
        raise InvalidValue(
            field,
            say(
                "“{text}” is not in {currency}, the shop's currency; type the amount in {currency}",
                text=shown(text),
                currency=currency,
            ),
        )
    number, rest = split_number(re.sub(r"[^\W\d_]+|[€£$¥]", " ", text), field)
    if rest:
        raise InvalidValue(field, say("“{text}” is not an amount; type one such as 12.50", text=shown(text)))
    return Money.of(_not_negative(number, field, choices), "unit")


_EACH = _words(
    "1: , x, ×, *, pc, pcs, piece, pieces, ea, each, off, no, stk, stck, stück, stuck, st, pz, pezzi, pièces,"
    "pce, pces, pièce, pza, pzas;"
    "12: dz, doz, dzn, dozen, dozens, dtz, dutzend; 2: pr, prs, pair, pairs, paar, paire, paires, paia, pares, par"
)


def read_count(text: str, field: str = "quantity", least: int = 1, choices: Choices = NO_CHOICES) -> int:
    """A whole number of things, ``least`` or more: ``3``, ``x3``, ``6 pcs``, ``1 doz``, ``1/2 dz``.

    A pair is ``Ambiguous`` of kind ``pair``: two patterns each, or one pattern that holds both.
    """
    clean = cleaned(text).casefold()
    if not clean:
        raise InvalidValue(field, say("how many is not typed; type a whole number, such as 3"))
    if clean.startswith("-"):
        raise InvalidValue(
            field, say("“{clean}” is less than nothing; type a whole number of {least} or more", clean=shown(clean), least=least)
        )
    number, each = _count_parts(clean, field)
    value = read_number(number, field, choices) * (_pair(text, field, choices) if each == 2 else each)
    if value.denominator != 1 or not least <= value <= 1_000_000:
        raise InvalidValue(
            field, say("“{clean}” cannot be made; type a whole number of {least} or more", clean=shown(clean), least=least)
        )
    return int(value)


def _count_parts(clean: str, field: str) -> tuple[str, int]:
    if re.fullmatch(r"(?:an?\s+)?(?:dozen|dutzend|pair|paar|paire)", clean):
        return "1", int(_EACH[clean.split()[-1]])
    match = re.fullmatch(r"(?:[x×*]\s*)?([0-9][0-9.,'’/ -]*)([^0-9]*)", clean) if len(clean) <= LONGEST else None
    word = match.group(2).strip().rstrip(".") if match else "?"
    if match is None or word not in _EACH:
        raise InvalidValue(field, say("“{clean}” is not a number of pieces; type a whole number, such as 3", clean=shown(clean)))
    return match.group(1).strip(), int(_EACH[word])


def _pair(text: str, field: str, choices: Choices) -> int:
    readings = (
        Reading("2", say("two pieces to a pair (2 pr is 4 pieces)")),
        Reading("1", say("one pattern holds the pair (2 pr is 2 pieces)")),
    )
    said = choices.get("pair")
    if said not in ("1", "2"):
        raise Ambiguous(
            field, "pair", say("“{text}”: type the number of pieces to cast, such as 4", text=shown(text.strip())), readings
        )
    return int(said)


def _plain(unit: str) -> str:
    """A unit word without case, dots and typographic forms: ``mm³`` → ``mm3``."""
    return unicodedata.normalize("NFKC", unit).casefold().strip(" .")


def _unit(text: str, unit: str, words: Mapping[str, str], default: str | None, field: str, example: str) -> str:
    word = _plain(unit)
    if not word and default is not None:
        return default
    if not word:
        readings = tuple(Reading(u, u) for u in dict.fromkeys(words.values()))
        raise Ambiguous(
            field,
            "unit",
            say("“{text}” has no unit; type one, such as {example}", text=shown(text.strip()), example=example),
            readings,
        )
    if word not in words:
        raise InvalidValue(
            field,
            say(
                "“{text}”: “{unit}” is no unit for this; type it as {example}",
                text=shown(text.strip()),
                unit=shown(unit),
                example=example,
            ),
        )
    return words[word]


def _chosen(text: str, field: str, word: str, choices: Choices) -> str:
    readings = TWO_READINGS[word]
    said = choices.get(word)
    if said not in {r.key for r in readings}:
        spelled = say("grains or g") if word == "gr" else say("ozt or oz av")
        raise Ambiguous(
            field,
            word,
            say("“{text}” has two readings; type {spelled} for “{word}”", text=shown(text.strip()), spelled=spelled, word=word),
            readings,
        )
    return said or ""


def _not_negative(number: str, field: str, choices: Choices) -> Fraction:
    value = read_number(number, field, choices)
    if value < 0:
        raise InvalidValue(field, say("“{number}” is less than nothing; type zero or more", number=number))
    return value
