"""Which metal is offered to which alloy."""

from domain.shop.lots import MetalKind
from domain.starting.alloys import starting_alloys
from domain.starting.metals import starting_metals
from domain.stock.offers import made_for, supplier_offers

ALLOYS = {alloy.id: alloy for alloy in starting_alloys()}
METALS = {metal.id: metal for metal in starting_metals()}


def test_a_master_alloy_is_offered_only_to_the_family_it_is_made_for() -> None:
    assert made_for(METALS["master-18kt-red"], ALLOYS["14kt-red"])
    assert not made_for(METALS["master-18kt-red"], ALLOYS["silver-925"])
    offered = {offer.name for offer in supplier_offers(ALLOYS["silver-925"], METALS.values())}
    masters = {metal.name for metal in METALS.values() if metal.kind is MetalKind.MASTER}
    assert not offered & masters
    assert {"Fine copper", "Casting grain, silver 925"} <= offered


def test_every_starting_master_alloy_names_a_family_that_the_shop_casts() -> None:
    families = {alloy.family for alloy in ALLOYS.values()}
    for metal in METALS.values():
        assert metal.kind is not MetalKind.MASTER or metal.family in families, metal.id
