"""The bench calculators, by their addresses: published examples in, their answers out."""

from __future__ import annotations

import html
import re
from urllib.parse import urlencode

import httpx
import pytest

from domain.mould.mix import mix_for
from domain.shop.alloy import Alloy, Section
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.jobs import Job
from domain.shop.lots import Lot, MetalKind
from domain.shop.pattern import PatternMaterial, PieceSize
from domain.units import Length, Mass, Share, Volume
from webapp.store import nouns
from webapp.store.engine import Database
from webapp.views.bench.tools import TOOLS, Tool


async def worked(client: httpx.AsyncClient, tool: str, **typed: str) -> str:
    """The text of the answer to what is typed; double underscores stand for dots."""
    query = urlencode({name.replace("__", "."): value for name, value in typed.items()})
    answer = await client.get(f"/bench/{tool}?{query}")
    assert answer.status_code == 200
    return plain(answer.text)


def plain(page: str) -> str:
    """Without tags, blanks as blanks."""
    text = html.unescape(re.sub(r"<[^>]*>", " ", page.partition('id="answer"')[2] + page.partition('<form method="get"')[2]))
    return re.sub(r"\s+", " ", text)


def error_at(page: str, name: str) -> str:
    found = re.search(rf'id="{re.escape(name)}-error"[^>]*>([^<]*)<', page)
    assert found is not None
    return html.unescape(found[1])


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: tool.key)
async def test_a_calculator_says_what_is_still_to_be_typed(client: httpx.AsyncClient, tool: Tool) -> None:
    page = await client.get(f"/bench/{tool.key}")
    assert page.status_code == 200
    assert "The answer stands here once these are typed" in page.text
    assert "another look" not in page.text
    assert "typed: (" not in page.text


async def test_the_overview_leads_to_every_calculator(client: httpx.AsyncClient) -> None:
    page = (await client.get("/bench")).text
    assert all(f'href="/bench/{tool.key}"' in page for tool in TOOLS)
    assert (await client.get("/bench/nothing")).status_code == 404


async def test_a_gram_of_wax_in_sterling(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        alloy = next(a for a in nouns.all_of(session, Alloy) if a.id == "silver-925")
        wax = nouns.all_of(session, PatternMaterial)[0]
    text = await worked(client, "metal", pattern="1 g", material=wax.id, count="3")
    one = alloy.density.over(wax.density)
    row = re.search(rf"{re.escape(alloy.name)} .*?× ([0-9.]+) ([0-9.]+) g .*?\) ([0-9.]+) g", text)
    assert row is not None
    assert [float(x) for x in row.groups()] == pytest.approx([float(one), float(one), 3 * float(one)], abs=0.016)


async def test_a_pattern_in_pennyweights_or_a_volume_does_as_well_but_not_both(client: httpx.AsyncClient) -> None:
    assert "In each alloy" in await worked(client, "metal", volume="480 mm3")
    both = await client.get("/bench/metal?pattern=1.2+dwt&volume=480+mm3")
    assert "not both" in error_at(both.text, "volume")


async def test_a_flask_size_adds_button_and_melt_loss(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        size = nouns.all_of(session, FlaskSize)[0]
    text = await worked(client, "metal", volume="4 ml", size=size.id)
    assert "Charge" in text
    assert "melt loss added" in text


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 6 oz of fine gold to 16 carat, on the bench page")
async def test_six_ounces_of_fine_gold_to_sixteen_karat(client: httpx.AsyncClient) -> None:
    text = await worked(client, "fineness", mass="6 ozt", have="24 k", want="16 k")
    assert "Add metal without any of it 93.31 g (3.0000 ozt)" in text
    assert "Metal in all 279.93 g" in text


@pytest.mark.outside("G. W. Warren's dental manual, p. 206–207, 16 carat to 18, on the bench page")
async def test_sixteen_karat_to_eighteen(client: httpx.AsyncClient) -> None:
    text = await worked(client, "fineness", mass="30 dwt", have="16 k", want="18 k")
    assert "Add fine metal 15.56 g (10.005 dwt)" in text  # ten pennyweights, and a step of the scale


async def test_what_cannot_be_raised_is_refused_with_what_would_mend_it(client: httpx.AsyncClient) -> None:
    text = await worked(client, "fineness", mass="10 g", have="750", want="900", add="800")
    assert "It cannot be done. Metal of 800 ‰ cannot bring metal of 750 ‰ to 900 ‰" in text


async def test_errors_stand_beside_their_fields_and_nothing_typed_is_lost(client: httpx.AsyncClient) -> None:
    page = (await client.get("/bench/fineness?mass=3+oz&have=18&want=925")).text
    assert "type ozt or oz av" in error_at(page, "mass")
    assert "karats" in error_at(page, "have")
    assert error_at(page, "want") == ""
    assert 'value="3 oz"' in page
    assert "2 fields need another look" in page


async def test_htmx_gets_the_answer_and_the_errors_alone(client: httpx.AsyncClient) -> None:
    part = (await client.get("/bench/fineness?mass=x", headers={"HX-Request": "true"})).text
    assert "<html" not in part
    assert 'id="mass-error" hx-swap-oob="true"' in part
    assert 'id="answer"' in part


async def test_sterling_from_fine_silver_and_copper(client: httpx.AsyncClient) -> None:
    text = await worked(
        client,
        "mix",
        alloy="silver-925",
        mass="100 g",
        m__1__what="Ag 99.99 Cu rest",
        m__1__mass="200 g",
        m__2__from="metal:fine-copper",
        m__2__mass="50 g",
    )
    fineness = re.search(r"Fineness ([0-9.]+) ‰ of silver, standard 925 ‰", text)
    assert fineness is not None
    assert float(fineness[1]) >= 925
    assert "Charge 100.00 g" in text


async def test_as_much_as_the_metal_makes(client: httpx.AsyncClient) -> None:
    """92.6 g of silver are 92.5 % of 100.1 g, whatever copper there is."""
    text = await worked(
        client,
        "mix",
        alloy="silver-925",
        m__1__what="Ag 100 Cu 0",
        m__1__mass="92.6 g",
        m__2__from="metal:fine-copper",
        m__2__mass="50 g",
    )
    found = re.search(r"Charge ([0-9.]+) g", text)
    assert found is not None
    assert 98.0 <= float(found[1]) <= 100.2


async def test_metal_with_an_element_that_the_alloy_does_not_allow_is_told_at_its_row(client: httpx.AsyncClient) -> None:
    page = (await client.get("/bench/mix?alloy=silver-925&m.1.what=Ag+90+Cd+10&m.1.mass=10")).text
    assert "cadmium" in error_at(page, "m.1.what")


async def test_a_mix_that_cannot_be_made_names_what_is_missing(client: httpx.AsyncClient) -> None:
    text = await worked(client, "mix", alloy="silver-925", mass="100 g", m__1__what="Ag 80 Cu 20", m__1__mass="200 g")
    assert "It cannot be done" in text
    assert "silver" in text


def lot(db: Database, id: str, **changes: object) -> None:
    values = {
        "name": "Sterling buttons",
        "kind": MetalKind.RECYCLED,
        "composition": {"Ag": Share.permille(925), "Cu": Share.permille(75)},
    }
    with db.write() as session:
        nouns.put(session, Lot(id=id, mass=Mass.g(120), alloy="silver-925", melts=1, **{**values, **changes}))  # type: ignore[arg-type]


async def test_a_lot_of_the_shelf_counts_whole_and_never_for_more_than_it_holds(client: httpx.AsyncClient, db: Database) -> None:
    lot(db, "B1")
    text = await worked(client, "scrap", m__1__from="lot:B1", price__Ag="0.90")
    assert "Silver 111.00 g (3.5687 ozt) 99.90 EUR" in text
    page = (await client.get("/bench/scrap?m.1.from=lot:B1&m.1.mass=121")).text
    assert "The lot holds" in error_at(page, "m.1.mass")


async def test_a_customers_own_metal_is_not_offered(client: httpx.AsyncClient, db: Database) -> None:
    lot(db, "B2")
    page = (await client.get("/bench/mix")).text
    assert "lot:B2" in page
    with db.write() as session:
        wax = nouns.all_of(session, PatternMaterial)[0].id
        job = Job(
            id="J1",
            item="ring",
            alloy="silver-925",
            material=wax,
            quantity=1,
            pattern_mass=Mass.g(1),
            section=Section.THIN,
            size=PieceSize(width=Length.mm(5), height=Length.mm(5), reach=Length.mm(5)),
            ready="2026-03-02",
            due="2026-03-09",
        )
        nouns.put(session, job)
    lot(db, "B3", owner_job="J1")
    assert "lot:B3" not in (await client.get("/bench/mix")).text


async def test_a_scrap_pot_of_marks_is_worth_its_fine_metal(client: httpx.AsyncClient) -> None:
    """10 g of 18 kt hold 7.5 g of gold; at 2,000 a troy ounce that is 482.26, of which a refiner paying 98 % pays 472.62."""
    text = await worked(
        client,
        "scrap",
        m__1__what="18k yellow",
        m__1__mass="10 g",
        m__2__what="sterling",
        m__2__mass="1 ozt",
        per="ozt",
        price__Au="2000",
        pays="98 %",
    )
    assert "Gold 7.50 g (4.823 dwt) 472.62 EUR" in text
    assert "Silver 28.77 g" in text
    assert "No price is typed for silver" in text


async def test_investment_for_a_volume(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        kind = nouns.all_of(session, InvestmentKind)[0]
    mix = mix_for(Volume.of(700, "ml"), kind)
    text = await worked(client, "investment", kind=kind.id, volume="750 ml", tree="50 ml")
    grams = mix.powder.decimal("g", 0)
    assert f"Powder {grams:,f} g".replace(",", " ") in text or f"Powder {mix.powder.decimal('kg', 3)} kg" in text
    assert "respirator" in text


async def test_one_way_to_tell_a_flask_is_enough_and_two_are_refused(client: httpx.AsyncClient) -> None:
    page = (await client.get("/bench/investment?kind=gypsum&diameter=90&height=160&volume=1+l")).text
    assert "only one of them" in error_at(page, "volume")
    page = (await client.get("/bench/investment?volume=100+ml&tree=200+ml")).text
    assert "not smaller than the flask" in error_at(page, "tree")


@pytest.mark.outside("centrifuge makers' formula 1.118·10⁻⁵ · r · rpm², on the bench page")
async def test_spin_force_from_speed_turns_or_backwards(client: httpx.AsyncClient) -> None:
    assert "Force 26.8 times" in await worked(client, "spin", radius="150 mm", rpm="400")
    assert "Force 26.8 times" in await worked(client, "spin", radius="15 cm", turns="20", seconds="3")
    assert re.search(r"Speed (423|424) turns", await worked(client, "spin", radius="15 cm", force="30"))
    assert "stand out of its plane" in await worked(client, "spin", radius="150 mm", rpm="400")


async def test_an_arm_that_cannot_be_is_refused(client: httpx.AsyncClient) -> None:
    assert "3000" in error_at((await client.get("/bench/spin?radius=150+mm&rpm=9000")).text, "rpm")


@pytest.mark.outside("NIST Handbook 44, Appendix C: 20 dwt and 480 grains to the troy ounce of 31.1034768 g; 15 psi = 103.421 kPa")
async def test_units(client: httpx.AsyncClient) -> None:
    text = await worked(client, "units", mass="1 ozt", length="3/8 in", temperature="950 F", fineness="18 k", pressure="15 psi")
    for line in ("31.1035 g", "20 dwt", "480 gr", "9.525 mm", "510.0 °C", "750 ‰", "103.421 kPa", "1.03421 bar"):
        assert line in text, line


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: tool.key)
@pytest.mark.parametrize("value", ["0", "-3", "1e400", "9" * 300, "<script>", "½", "1,234", "\x00", "٣"])
async def test_nonsense_is_told_and_never_breaks_a_page(client: httpx.AsyncClient, tool: Tool, value: str) -> None:
    names = re.findall(r'(?:<input|<select)[^>]* name="([^"]+)"', (await client.get(f"/bench/{tool.key}")).text)
    answer = await client.get(f"/bench/{tool.key}?{urlencode(dict.fromkeys(names, value))}")
    assert answer.status_code == 200
    assert "<script>" not in answer.text.replace("<script src", "")


async def test_answers_and_refusals_are_told_in_the_readers_language(client: httpx.AsyncClient) -> None:
    await client.post("/who/units", data={"language": "Deutsch"})
    refused = await worked(client, "fineness", mass="12.4", have="750", want="900", add="800")
    assert "Metall von 800 ‰ kann Metall von 750 ‰ nicht auf 900 ‰ bringen." in refused
    assert "Ein Zusatz feiner als 900 ‰ würde abhelfen." in refused
    lowered = await worked(client, "fineness", mass="12,4", have="750", want="585")
    assert "Zugeben: Metall ohne dieses 3,49" in lowered
    assert "26,8-faches Eigengewicht" in await worked(client, "spin", radius="150 mm", rpm="400")
    assert "Wasser" in await worked(client, "investment", kind="gypsum", volume="750 ml")
