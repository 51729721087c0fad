"""Customers' words for alloys find the shop's alloy, a question, or an error; never a guess."""

import pytest

from domain.errors import InvalidValue
from domain.intake.alloys import read_alloy, wanted
from domain.intake.questions import Asked
from domain.intake.rows import Vocabulary


@pytest.mark.parametrize(
    ("words", "alloy"),
    [
        ("14k y", "14kt-yellow"),
        ("14KY", "14kt-yellow"),
        ("14 kt yellow", "14kt-yellow"),
        ("585 Gelbgold", "14kt-yellow"),
        ("9ct yellow", "9kt-yellow"),
        ("14KYG", "14kt-yellow"),
        ("14ct Y/G", "14kt-yellow"),
        ("YG14", "14kt-yellow"),
        ("585/- gelb", "14kt-yellow"),
        ("14k 585 yellow", "14kt-yellow"),
        ("Ag 925/1000", "silver-925"),
        ("22k", "22kt-yellow"),
        ("18KR", "18kt-red"),
        ("18k rose", "18kt-red"),
        ("18 kt white (Pd)", "18kt-white-palladium"),
        ("18kt weiß Pd", "18kt-white-palladium"),
        ("14k white pd", "14kt-white-palladium"),
        ("14kw nickel", "14kt-white-nickel"),
        ("ster. silver", "silver-925"),
        ("sterling", "silver-925"),
        ("925", "silver-925"),
        ("Silber 925", "silver-925"),
        ("silver-925", "silver-925"),
        ("fine silver", "fine-silver"),
        ("Feinsilber", "fine-silver"),
        ("Pt950 Ru", "platinum-950-ru"),
        ("bronze 90/10", "tin-bronze"),
        ("Si bronze", "silicon-bronze"),
        ("yellow brass", "yellow-brass"),
        ("14 kt red", "14kt-red"),
    ],
)
def test_words_with_one_reading(words: str, alloy: str, vocabulary: Vocabulary) -> None:
    assert read_alloy(words, vocabulary.alloys, {}) == alloy


@pytest.mark.parametrize(
    ("words", "kind", "offered"),
    [
        ("14k", "alloy:gold 585", {"14kt-yellow", "14kt-white-nickel", "14kt-white-palladium", "14kt-red", "-"}),
        ("18kt weiß", "alloy:gold 750 white", {"18kt-white-nickel", "18kt-white-palladium", "-"}),
        ("SS", "alloy:ss", {"silver-925", "-"}),
        ("S/S", "alloy:ss", {"silver-925", "-"}),
        ("brass", "alloy:brass", {"yellow-brass", "-"}),
        ("bronze", "alloy:bronze", {"silicon-bronze", "tin-bronze", "-"}),
        ("Plat 950", "alloy:platinum 950", {"platinum-950-ru", "platinum-950-co", "platinum-950-ir", "-"}),
        ("pt950", "alloy:platinum 950", {"platinum-950-ru", "platinum-950-co", "platinum-950-ir", "-"}),
    ],
)
def test_words_with_several_readings_are_asked(words: str, kind: str, offered: set[str], vocabulary: Vocabulary) -> None:
    with pytest.raises(Asked) as caught:
        read_alloy(words, vocabulary.alloys, {})
    question = caught.value.question
    assert question.kind == kind
    shop = {alloy.id for alloy in vocabulary.alloys} | {"-"}
    assert {r.key for r in question.readings} == offered & shop


def test_a_raised_figure_is_a_word_and_no_number() -> None:
    assert wanted("14k ²").unknown == ("²",)


def test_unknown_words_are_asked_with_every_alloy(vocabulary: Vocabulary) -> None:
    with pytest.raises(Asked) as caught:
        read_alloy("old stock mix", vocabulary.alloys, {})
    assert len(caught.value.question.readings) == len(vocabulary.alloys) + 1
    assert read_alloy("old stock mix", vocabulary.alloys, {caught.value.question.kind: "tin-bronze"}) == "tin-bronze"


@pytest.mark.parametrize("words", ["steel", "Edelstahl", "???", "-", "9k red", "21k yellow", "24k gold"])
def test_what_the_shop_does_not_cast_is_an_error(words: str, vocabulary: Vocabulary) -> None:
    with pytest.raises(InvalidValue, match="type") as caught:
        read_alloy(words, vocabulary.alloys, {})
    assert not isinstance(caught.value, Asked)


def test_an_answer_that_nothing_is_meant_makes_the_rows_errors(vocabulary: Vocabulary) -> None:
    with pytest.raises(InvalidValue, match="casts no “SS”"):
        read_alloy("SS", vocabulary.alloys, {"alloy:ss": "-"})
