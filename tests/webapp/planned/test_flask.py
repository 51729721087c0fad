"""The flask's page: what the plan says of it, moving pieces, pinning, and what has happened."""

from __future__ import annotations

import re
from html import unescape

import httpx
import pytest

from domain.errors import DomainError
from domain.metallurgy.pattern_metal import trunk_metal
from domain.mould.mix import investment_mix
from domain.planning.check import check
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Mass, total
from domain.week.by_hand import move_pieces
from domain.week.places import best_places
from domain.week.slots import best_slots
from webapp.formats import fineness, length, mass, moment, temperature
from webapp.store.engine import Database
from webapp.store.flasks import happened, pins
from webapp.store.plans import StoredPlan, current_plan


def stored(db: Database) -> StoredPlan:
    with db.read() as session:
        plan = current_plan(session)
    assert plan is not None
    return plan


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


def full_flask(plan: Plan) -> PlannedFlask:
    return max(plan.flasks, key=lambda f: len(f.contents))


@pytest.fixture
def move(problem: Problem, db: Database) -> dict[str, str | int]:
    """A move into another flask that the checker passes."""
    plan = stored(db).plan
    for source in plan.flasks:
        for target in plan.flasks:
            if target.melt != source.melt or target is source:
                continue
            for job in source.contents:
                try:
                    if not check(problem, move_pieces(problem, plan, job, 1, source.id, target.id)):
                        return {"from": source.id, "job": job, "pieces": 1, "to": target.id}
                except DomainError:
                    continue
    raise AssertionError("no piece of the demo can be moved")


async def test_the_page_shows_contents_by_rings_charge_mix_and_slot(
    client: httpx.AsyncClient, db: Database, problem: Problem
) -> None:
    plan = stored(db).plan
    flask = full_flask(plan)
    text = words((await client.get(f"/flask/{flask.id}")).text)
    for number, ring in enumerate(flask.rings, start=1):
        pieces = ", ".join(f"{count} × {problem.job[job].name}" for job, count in ring.pieces)
        assert f"{number} {pieces} {words(length(ring.height))}" in text.replace(" (by the shop's own count)", "")
    charge = next(c for c in plan.charges if c.flask == flask.id)
    for part in charge.parts:
        assert words(mass(part.mass)) in text
    assert f"Together {words(mass(total(Mass, (p.mass for p in charge.parts))))}" in text
    assert words(temperature(flask.temperature)) in text
    melt, size = problem.melt[flask.melt], problem.size[flask.size]
    metal = total(Mass, (problem.job[j].metal_each.times(n) for j, n in flask.contents.items()))
    tree = melt.alloy.density.volume_of(metal + trunk_metal(size, problem.rules, melt.alloy.density))
    mix = investment_mix(size, problem.investment[flask.investment], tree)
    assert f"Powder {words(mass(mix.powder, 'g', 0))}" in text
    assert f"Water {words(mass(mix.liquid, 'g', 0))}" in text


async def test_the_fineness_reached_is_never_below_the_standard(client: httpx.AsyncClient, db: Database, problem: Problem) -> None:
    shown = 0
    for flask in stored(db).plan.flasks:
        standard = problem.melt[flask.melt].alloy.standard
        text = words((await client.get(f"/flask/{flask.id}")).text)
        found = re.search(r"Fineness reached ([\d.]+)", text)
        assert (found is None) == (standard is None)
        if found and standard:
            shown += 1
            assert float(found[1]) >= float(standard.minimum.to("‰")) - 0.05
            assert f"at least {words(fineness(standard.minimum))}" in text
    assert shown > 5


async def test_a_flask_that_is_not_in_the_plan_is_not_found(client: httpx.AsyncClient) -> None:
    assert (await client.get("/flask/F999")).status_code == 404
    assert (await client.post("/flask/F999/pin", data={})).status_code == 422


async def test_the_checklist_ticket_and_charge_can_be_printed_from_here(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0]
    page = (await client.get(f"/flask/{flask.id}")).text
    for sheet in ("ticket", "charge", "checklist"):
        assert f'href="/print/flask/{flask.id}/{sheet}"' in page
    assert f'href="/print/load/{flask.load}"' in page


async def test_trying_a_move_answers_at_once_and_changes_nothing(
    client: httpx.AsyncClient, db: Database, move: dict[str, str | int]
) -> None:
    before = stored(db)
    address = f"/flask/{move['from']}/move?job={move['job']}&pieces=1&to={move['to']}"
    part = await client.get(address, headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "<html" not in part.text
    assert "all rules are kept" in words(part.text)
    assert "Keep it as a new plan" in part.text
    whole = await client.get(address)
    assert "<html" in whole.text
    assert "all rules are kept" in words(whole.text)
    assert stored(db) == before


async def test_a_kept_move_is_a_new_plan_made_by_hand(client: httpx.AsyncClient, db: Database, move: dict[str, str | int]) -> None:
    before = stored(db)
    form = {**move, "version": str(before.version)}
    answer = await client.post(f"/flask/{move['from']}/move", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/flask/{move['to']}")
    after = stored(db)
    assert (after.version, after.made_by) == (before.version + 1, "hand")
    old, new = before.plan.flask(str(move["to"])), after.plan.flask(str(move["to"]))
    assert old is not None
    assert new is not None
    job = str(move["job"])
    assert new.contents[job] == old.contents.get(job, 0) + 1
    assert after.note == f"1 of {job} moved from {move['from']} to {move['to']}"
    text = words((await client.get("/week")).text)
    assert f"Plan {after.version}" in text
    assert after.note in text


async def test_a_move_on_an_old_plan_is_refused(client: httpx.AsyncClient, db: Database, move: dict[str, str | int]) -> None:
    before = stored(db)
    answer = await client.post(f"/flask/{move['from']}/move", data={**move, "version": str(before.version - 1)})
    assert answer.status_code == 422
    assert "newer plan" in answer.text
    assert stored(db) == before


async def test_a_move_that_breaks_a_rule_names_it_and_cannot_be_kept(
    client: httpx.AsyncClient, db: Database, problem: Problem
) -> None:
    before = stored(db)
    whole = next(j for j in problem.jobs if not j.may_split and j.quantity > 1)
    flask = next(f for f in before.plan.flasks if whole.id in f.contents)
    text = words((await client.get(f"/flask/{flask.id}/move?job={whole.id}&pieces=1&to=")).text)
    assert f"Rule 3: job {whole.id} may not be split" in text
    form = {"job": whole.id, "pieces": "1", "to": "", "version": str(before.version)}
    assert (await client.post(f"/flask/{flask.id}/move", data=form)).status_code == 422
    assert stored(db) == before


@pytest.mark.parametrize(("pieces", "said"), [("many", "not a number of pieces"), ("999", "move 1 to")])
async def test_a_number_of_pieces_that_is_none_is_told(client: httpx.AsyncClient, db: Database, pieces: str, said: str) -> None:
    flask = stored(db).plan.flasks[0]
    job = next(iter(flask.contents))
    answer = await client.get(f"/flask/{flask.id}/move?job={job}&pieces={pieces}&to=")
    assert said in words(answer.text)


async def test_a_pin_keeps_its_reason_and_takes_the_move_form_away(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0].id
    assert (await client.post(f"/flask/{flask}/pin", data={"reason": "shown to a customer"})).status_code == 303
    with db.read() as session:
        assert pins(session)[flask].reason == "shown to a customer"
    page = (await client.get(f"/flask/{flask}")).text
    assert "shown to a customer" in page
    assert 'name="pieces"' not in page
    await client.post(f"/flask/{flask}/unpin")
    with db.read() as session:
        assert flask not in pins(session)
    assert 'name="pieces"' in (await client.get(f"/flask/{flask}")).text


async def test_stages_are_marked_in_their_order_and_once(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0].id
    early = await client.post(f"/flask/{flask}/stage", data={"stage": "cast", "key": "a"})
    assert early.status_code == 422
    assert f"{flask} is not marked invested yet" in early.text
    for key in ("a", "a", "b"):
        assert (await client.post(f"/flask/{flask}/stage", data={"stage": "invested", "key": key})).status_code == 303
    await client.post(f"/flask/{flask}/stage", data={"stage": "loaded", "key": "c"})
    with db.read() as session:
        assert [event.stage for event in happened(session)[flask]] == ["invested", "loaded"]


async def test_a_stage_can_be_undone_and_a_second_press_undoes_no_more(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0].id
    for stage in ("invested", "loaded"):
        await client.post(f"/flask/{flask}/stage", data={"stage": stage, "key": stage})
    for _ in range(2):
        await client.post(f"/flask/{flask}/undo", data={"stage": "loaded", "key": "back"})
    with db.read() as session:
        assert [event.stage for event in happened(session)[flask]] == ["invested"]


async def test_an_invested_flask_says_that_it_does_not_move(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0].id
    await client.post(f"/flask/{flask}/stage", data={"stage": "invested", "key": "a"})
    page = (await client.get(f"/flask/{flask}")).text
    assert "It does not move any more: it is invested." in page
    assert 'name="pieces"' not in page


async def test_the_best_other_places_are_shown_with_their_cost_and_each_can_be_kept(
    client: httpx.AsyncClient, db: Database, problem: Problem
) -> None:
    before = stored(db)
    source = max((f for f in before.plan.flasks if len(f.contents) > 1), key=lambda f: len(f.contents))
    job, count = next((j, n) for j, n in source.contents.items() if problem.job[j].may_split)
    address = f"/flask/{source.id}/places?job={job}&pieces={count}"
    part = await client.get(address, headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "<html" not in part.text
    best = best_places(problem, before.plan, job, count, source.id)
    assert 1 <= len(best) <= 3
    assert part.text.count("<form") == len(best)
    for place in best:
        assert words(moment(problem.clock.local(place.flask.cast_start))) in words(part.text)
    assert "<html" in (await client.get(address)).text
    assert stored(db) == before
    form = {"job": job, "pieces": count, "to": best[0].to or "", "load": best[0].load or "", "version": before.version}
    kept = await client.post(f"/flask/{source.id}/move", data=form)
    assert kept.status_code == 303
    after = stored(db)
    assert after.plan.levels == best[0].plan.levels
    assert [f.cast_start for f in after.plan.flasks] == [f.cast_start for f in best[0].plan.flasks]


async def test_places_for_more_pieces_than_there_are_are_refused_in_words(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0]
    job, count = next(iter(flask.contents.items()))
    for pieces, said in ((count + 1, f"move 1 to {count} of them"), ("two", "is not a number of pieces")):
        refused = await client.get(f"/flask/{flask.id}/places?job={job}&pieces={pieces}", headers={"HX-Request": "true"})
        assert refused.status_code == 422
        assert "<html" not in refused.text
        assert said in words(refused.text)
    assert (await client.get("/flask/F999/places?job=J101&pieces=1")).status_code == 404


async def test_a_whole_flask_moves_to_a_slot_that_was_shown(client: httpx.AsyncClient, db: Database, problem: Problem) -> None:
    before = stored(db)
    flask, slot = next((f.id, slots[0]) for f in before.plan.flasks if (slots := best_slots(problem, before.plan, f.id)))
    part = await client.get(f"/flask/{flask}/slots", headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert f"Cast it {words(moment(problem.clock.local(slot.cast_start)))}" in words(part.text)
    assert "<html" in (await client.get(f"/flask/{flask}/slots")).text
    assert stored(db) == before
    form = {"load": slot.load, "machine": slot.machine, "minute": slot.cast_start, "version": before.version}
    assert (await client.post(f"/flask/{flask}/slot", data={**form, "minute": "1"})).status_code == 422
    assert (await client.post(f"/flask/{flask}/slot", data={**form, "version": 7})).status_code == 422
    assert stored(db) == before
    assert (await client.post(f"/flask/{flask}/slot", data=form)).status_code == 303
    after = stored(db)
    assert after.plan.flask(flask) == slot.plan.flask(flask)
    assert (after.made_by, after.note) == ("hand", f"{flask} moved to another slot, in load {slot.load}")
