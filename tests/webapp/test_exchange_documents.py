"""Documents carry exactly the domain's fields, say their units, and read back to the same value."""

import dataclasses
import enum
import json
import types
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from domain.planning.clock import Clock
from domain.planning.plan import Plan
from domain.shop.alloy import Alloy, ElementRange, Section
from domain.shop.jobs import Job
from domain.starting.machines import starting_machines
from domain.units import Density, Length, Mass, Money, Share, Temperature, TemperatureRange, Volume
from webapp.exchange import documents, jobs, metal, mould, plan, shop, stock
from webapp.exchange.document import Document
from webapp.exchange.documents import PlanDocument, WeekDocument

ROOMS = (jobs, metal, mould, plan, shop, stock)
EVERY: list[type[Document[Any]]] = sorted(
    {
        found
        for room in ROOMS
        for found in vars(room).values()
        if isinstance(found, type) and issubclass(found, Document) and found.__name__.endswith("Document") and found is not Document
    },
    key=lambda found: found.__name__,
)
ALONE = [document for document in EVERY if document is not PlanDocument]
SCALARS: dict[Any, st.SearchStrategy[Any]] = {
    Mass: st.integers(1, 10**12).map(Mass),
    Length: st.integers(1, 10**9).map(Length),
    Volume: st.integers(1, 10**12).map(Volume),
    Density: st.integers(1, 30_000).map(Density),
    Share: st.integers(0, 500_000).map(Share),
    Money: st.integers(0, 10**9).map(Money),
    Temperature: st.integers(0, 2_000_000).map(Temperature),
    TemperatureRange: st.tuples(st.integers(0, 10**6), st.integers(0, 10**6)).map(
        lambda ends: TemperatureRange(Temperature(ends[0]), Temperature(ends[0] + ends[1]))
    ),
    bool: st.booleans(),
    int: st.integers(1, 11),
    float: st.floats(0, 1e6),
    str: st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=8).filter(str.strip),
}
DAYS = {"ready", "due", "first", "last", "order_by", "arrives", "since", "day"}
DAY = st.dates(date(1900, 1, 1), date(2200, 12, 31)).map(date.isoformat)


def values_of(kind: Any, name: str = "") -> st.SearchStrategy[Any]:
    """Values of a domain type, within the limits that documents know."""
    arguments = get_args(kind)
    if name in DAYS and kind is str:
        return DAY
    if name == "nights":
        return st.lists(DAY, max_size=2).map(tuple)
    if name == "timezone":
        return st.sampled_from(["UTC", "Europe/Vienna", "America/St_Johns"])
    if kind in SCALARS:
        return SCALARS[kind]
    if isinstance(kind, types.UnionType):
        return st.none() | values_of(arguments[0], name)
    if get_origin(kind) is tuple and arguments[1] is ...:
        return st.lists(values_of(arguments[0], name), min_size=1, max_size=2).map(tuple)
    if get_origin(kind) is tuple:
        return st.tuples(*map(values_of, arguments))
    if get_origin(kind) is frozenset:
        return st.frozensets(values_of(arguments[0]), max_size=3)
    if get_origin(kind) in (dict, Mapping):
        return st.dictionaries(values_of(arguments[0]), values_of(arguments[1]), max_size=2)
    if issubclass(kind, enum.Enum):
        return st.sampled_from(kind)
    return objects_of(kind)


def objects_of(kind: Any) -> st.SearchStrategy[Any]:
    hints = get_type_hints(kind)
    fields = {f.name: values_of(hints[f.name], f.name) for f in dataclasses.fields(kind)}
    if kind is Alloy:
        whole = ElementRange(element="Ag", low=Share(0), high=Share.percent(100))
        fields["composition"] = st.just((whole,))
        fields["flask_temperature"] = st.fixed_dictionaries({section: values_of(TemperatureRange) for section in Section})
    if kind is Job:
        fields["pattern_mass"], fields["metal_volume"] = values_of(Mass), st.none()
        by_volume = st.builds(kind, **{**fields, "pattern_mass": st.none(), "metal_volume": values_of(Volume)})
        return st.builds(kind, **fields) | by_volume
    return st.builds(kind, **fields)


def test_every_room_of_the_shop_has_its_documents() -> None:
    assert len(ALONE) >= 30
    assert {name for name in documents.__all__ if name not in ("Document", "WeekDocument")} <= {d.__name__ for d in EVERY}


@pytest.mark.parametrize("document", EVERY, ids=lambda d: d.__name__)
def test_a_document_has_exactly_the_fields_of_its_domain_value(document: type[Document[Any]]) -> None:
    names = {f.name for f in dataclasses.fields(document.domain_class())}
    extra = {name for name in document.model_fields if not name.endswith("_local")} - names
    assert extra <= ({"format", "version", "first_day", "timezone"} if document is PlanDocument else set())
    assert names <= set(document.model_fields)


@pytest.mark.parametrize("document", EVERY, ids=lambda d: d.__name__)
def test_what_may_be_left_out_has_the_domains_default(document: type[Document[Any]]) -> None:
    for field in dataclasses.fields(document.domain_class()):
        described = document.model_fields[field.name]
        if field.default is not dataclasses.MISSING:
            assert described.default == field.default, field.name
        elif field.default_factory is dataclasses.MISSING:
            assert described.is_required(), field.name


@pytest.mark.parametrize("document", ALONE, ids=lambda d: d.__name__)
def test_a_document_reads_back_to_the_same_value(document: type[Document[Any]]) -> None:
    @settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
    @given(values_of(document.domain_class()))
    def round_trip(value: Any) -> None:
        text = document.from_domain(value).model_dump_json()
        assert document.model_validate(json.loads(text)).to_domain() == value
        assert document.model_validate(json.loads(text)).model_dump_json() == text

    round_trip()


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(plan=objects_of(Plan), zone=st.sampled_from(["UTC", "Europe/Vienna", "Australia/Lord_Howe"]))
def test_a_plan_reads_back_to_the_same_plan_and_tells_the_local_time(plan: Plan, zone: str) -> None:
    flasks = {f.id: f for f in plan.flasks}
    loads = {load.id: load for load in plan.loads}
    plan = dataclasses.replace(plan, flasks=tuple(flasks.values()), loads=tuple(loads.values()))
    clock = Clock(date(2026, 3, 27), zone)
    written = json.loads(PlanDocument.of(plan, clock).model_dump_json())
    read = PlanDocument.model_validate(written)
    assert read.to_domain() == plan
    assert read.on_clock(clock) == plan
    assert written["flasks"][0]["cast_start_local"].startswith("2026-03-27T00:")


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(plan=objects_of(Plan), days=st.integers(-20, 20))
def test_a_plan_moved_to_another_days_clock_and_back_is_the_same_plan(plan: Plan, days: int) -> None:
    first = Clock(date(2026, 3, 27), "Europe/Vienna")  # two days before the change to summer time
    other = Clock(first.first_day + timedelta(days=days), "Europe/Vienna")
    ids = [f.id for f in plan.flasks], [load.id for load in plan.loads]
    if any(len(set(names)) < len(names) for names in ids):
        return
    moved = PlanDocument.of(plan, first).on_clock(other)
    assert other.local(moved.flasks[0].cast_start) == first.local(plan.flasks[0].cast_start)
    assert PlanDocument.of(moved, other).on_clock(first) == plan


QUANTITY_WORDS = {"minutes": "minutes", "_days": "days", "mass": "in g", "temperature": "in °C", "rpm": "turns a minute"}


def _properties(schema: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for owner, definition in [(schema["title"], schema), *schema.get("$defs", {}).items()]:
        for name, field in definition.get("properties", {}).items():
            yield owner, name, field


def _units(node: Any) -> set[str]:
    if isinstance(node, dict):
        own = {node["unit"]} if isinstance(node.get("unit"), str) else set()
        return own.union(*(_units(child) for child in node.values())) if node else own
    return set().union(*(_units(child) for child in node)) if isinstance(node, list) else set()


@pytest.mark.parametrize("document", [WeekDocument, PlanDocument])
def test_every_field_of_a_schema_has_a_description_that_names_its_unit(document: type[Document[Any]]) -> None:
    seen = 0
    for owner, name, field in _properties(document.model_json_schema()):
        description = field.get("description", "")
        assert len(description) > 5, f"{owner}.{name} has no description"
        for unit in _units(field):
            counted = owner == "ConsumableDocument" and name in ("use", "amount", "pack")
            word = ("own unit" if counted else "currency") if unit == "unit" else unit
            assert word in description, f"{owner}.{name} is in {unit}, which “{description}” does not say"
            seen += 1
        if field.get("type") in ("integer", "number"):
            for part, word in QUANTITY_WORDS.items():
                assert part not in name or word in description, f"{owner}.{name}: “{description}” names no unit"
    assert seen >= (60 if document is WeekDocument else 6)


@pytest.mark.parametrize("document", [WeekDocument, PlanDocument])
def test_a_schema_allows_no_field_that_it_does_not_name(document: type[Document[Any]]) -> None:
    schema = document.model_json_schema()
    for definition in [schema, *schema["$defs"].values()]:
        if "properties" in definition:
            assert definition["additionalProperties"] is False


def test_the_same_set_is_always_the_same_text() -> None:
    text = shop.CastingMachineDocument.from_domain(starting_machines()[0]).model_dump_json()
    assert json.loads(text)["fits"] == sorted(json.loads(text)["fits"])
