"""Each rule, broken alone in a sound week, is found under its number and in words that name the thing.

The week is the one in ``conftest``; times are minutes from Monday's midnight.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from domain.mould.ring import Ring
from domain.planning.check import RULES, check
from domain.planning.plan import ChargePart, FlaskCharge, From, KilnLoad, LeftOut, Level, Plan, PlannedFlask
from domain.planning.problem import Problem, Window
from domain.shop.alloy import Bond
from domain.shop.burnout import Outage
from domain.units import Length, Mass, Share, Temperature, TemperatureRange, Volume

Edit = Callable[[Problem, Plan], tuple[Problem, Plan]]
DAY = 1440
MON, TUE, WED = 0, DAY, 2 * DAY


def flask(name: str, **changes: Any) -> Edit:
    """The plan with one flask otherwise."""
    return lambda problem, plan: (
        problem,
        replace(plan, flasks=tuple(replace(f, **changes) if f.id == name else f for f in plan.flasks)),
    )


def shifted(name: str, minutes: int) -> Edit:
    """The plan with one flask cast and knocked out later, by the same people."""

    def later(f: PlannedFlask) -> PlannedFlask:
        moved = {field: getattr(f, field) + minutes for field in ("cast_start", "cast_end", "knockout_start", "knockout_end")}
        return replace(f, **moved) if f.id == name else f

    return lambda problem, plan: (problem, replace(plan, flasks=tuple(later(f) for f in plan.flasks)))


def load(name: str, **changes: Any) -> Edit:
    return lambda problem, plan: (
        problem,
        replace(plan, loads=tuple(replace(x, **changes) if x.id == name else x for x in plan.loads)),
    )


def whole(**changes: Any) -> Edit:
    return lambda problem, plan: (problem, replace(plan, **changes))


def asked(**changes: Any) -> Edit:
    """The problem otherwise."""
    return lambda problem, plan: (replace(problem, **changes), plan)


def rules(**changes: Any) -> Edit:
    return lambda problem, plan: (replace(problem, shop=replace(problem.shop, rules=replace(problem.shop.rules, **changes))), plan)


def of_shop(kind: str, name: str, **changes: Any) -> Edit:
    """One size, kiln, machine, program, investment or metal of the shop otherwise."""

    def edit(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
        things = tuple(replace(t, **changes) if t.id == name else t for t in getattr(problem.shop, kind))
        return replace(problem, shop=replace(problem.shop, **{kind: things})), plan

    return edit


def job(name: str, **changes: Any) -> Edit:
    return lambda problem, plan: (
        replace(problem, jobs=tuple(replace(j, **changes) if j.id == name else j for j in problem.jobs)),
        plan,
    )


def melt(key: str, **changes: Any) -> Edit:
    return lambda problem, plan: (
        replace(problem, melts=tuple(replace(m, **changes) if m.key == key else m for m in problem.melts)),
        plan,
    )


def alloy_of(key: str, **changes: Any) -> Edit:
    return lambda problem, plan: melt(key, alloy=replace(problem.melt[key].alloy, **changes))(problem, plan)


def lot(name: str, **changes: Any) -> Edit:
    return lambda problem, plan: (
        replace(problem, lots=tuple(replace(x, **changes) if x.id == name else x for x in problem.lots)),
        plan,
    )


def order(**changes: Any) -> Edit:
    return lambda problem, plan: (problem, replace(plan, orders=tuple(replace(o, **changes) for o in plan.orders)))


def charge(name: str, *parts: tuple[From, str, int]) -> Edit:
    """One flask charged with these parts; a part of 0 mg takes what the charge still needs."""

    def edit(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
        needed = -(-next(f.charge.base for f in plan.flasks if f.id == name) // 10) * 10
        rest = needed - sum(mass for _, _, mass in parts)
        weighed = tuple(ChargePart(origin=origin, ref=ref, mass=Mass(mass or rest)) for origin, ref, mass in parts)
        others = tuple(c for c in plan.charges if c.flask != name)
        return problem, replace(plan, charges=(*others, FlaskCharge(flask=name, parts=weighed)))

    return edit


def both(*edits: Edit) -> Edit:
    def edit(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
        for each in edits:
            problem, plan = each(problem, plan)
        return problem, plan

    return edit


def rings(*each: tuple[tuple[tuple[str, int], ...], str], by_count: bool = False) -> tuple[Ring, ...]:
    return tuple(Ring(pieces=pieces, height=Length.mm(high), by_count=by_count) for pieces, high in each)


def second_bronze(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
    """One of H's five pieces belongs to another job."""
    other = replace(problem.job["J6"], id="J7", quantity=1)
    problem = replace(problem, jobs=(*(replace(j, quantity=4) if j.id == "J6" else j for j in problem.jobs), other))
    return flask("H", rings=rings(((("J6", 4), ("J7", 1)), "62.5"), by_count=True))(problem, plan)


def dropped_charge(name: str) -> Edit:
    return lambda problem, plan: (problem, replace(plan, charges=tuple(c for c in plan.charges if c.flask != name)))


def one_more_charge(name: str) -> Edit:
    return lambda problem, plan: (problem, replace(plan, charges=(FlaskCharge(flask=name, parts=()), *plan.charges)))


def dropped_load(name: str) -> Edit:
    return lambda problem, plan: (problem, replace(plan, loads=tuple(x for x in plan.loads if x.id != name)))


def crucible_a_nanolitre_short(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
    largest = max(f.charge.base for f in plan.flasks if f.machine == "V1")
    limit = largest * 1_000_000 // problem.melt["silver"].alloy.density.base - 1
    return of_shop("machines", "V1", crucible_volume=Volume(limit))(problem, plan)


def charge_off(milligrams: int) -> Edit:
    def edit(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
        planned = next(f for f in plan.flasks if f.id == "B")
        return flask("B", charge=Mass(planned.charge.base + milligrams))(problem, plan)

    return edit


def all_from_returns(problem: Problem, plan: Plan) -> tuple[Problem, Plan]:
    allowed = alloy_of("silver", recycled_limit=Share.percent(100))
    return both(allowed, charge("E", (From.RETURNS, "A", 0)))(problem, plan)


LEFT_OUT = LeftOut(job="J9", pieces=3, rule=4, reason="too heavy", remedy="a larger crucible")
EMPTY = KilnLoad(id="L9", kiln="K2", program="P5", rows=(), load_at=WED + 480, start=WED + 480, program_end=WED + 780)
DIAL = Temperature.c(550)
AG, CU = Share.permille, Share.permille
A_RINGS = ((("J1", 8),), "20"), ((("J2", 1),), "20")

BROKEN: list[tuple[str, Edit, int, list[str]]] = [
    ("two melts in a flask", job("J2", melt="gold"), 1, ["flask A", "J2"]),
    ("a machine that does not melt it", melt("gold", machines=frozenset()), 1, ["V1", "flask C"]),
    ("an unknown melt", flask("B", melt="pewter"), 1, ["flask B", "pewter"]),
    ("a flask a degree too cold", flask("A", temperature=Temperature.c(579)), 2, ["flask A", "J1", "579 °C", "580 °C"]),
    ("a flask a degree too hot", flask("H", temperature=Temperature.c(521)), 2, ["flask H", "J6", "521 °C", "520 °C"]),
    ("a ring too wide", job("J1", size=None), 3, ["ring 1 of flask A", "76 mm", "75.398 mm"]),
    ("a piece higher than its ring", job("J5", size=None), 3, ["ring 1 of flask E", "20.001 mm"]),
    ("rings too high", flask("A", rings=rings((A_RINGS[0][0], "24"), (A_RINGS[1][0], "24"))), 3, ["flask A", "51 mm", "49 mm"]),
    ("a piece near the wall", job("J3", size=None), 3, ["flask C", "J3", "13.9 mm"]),
    ("more than the shop's own count", job("J6", per_tree={"M": 4}), 3, ["flask H", "5 of job J6", "4 per tree"]),
    ("less trunk than counted", flask("H", rings=rings(((("J6", 5),), "62.499"), by_count=True)), 3, ["flask H", "62.5 mm"]),
    ("a count the shop did not give", job("J6", per_tree={}), 3, ["flask H", "J6"]),
    ("two jobs in a counted ring", second_bronze, 3, ["flask H", "more than one job"]),
    ("a ring where the shop counts", job("J5", per_tree={"S": 9}), 3, ["flask E", "J5", "9 pieces per tree"]),
    ("a job in two flasks that may not be split", job("J2", may_split=False), 3, ["J2", "A, B"]),
    ("half a job that may not be split", both(job("J5", may_split=False, quantity=5),
        whole(left_out=(LEFT_OUT, replace(LEFT_OUT, job="J5", pieces=1)))), 3, ["J5", "1 are left out"]),
    ("light pieces below heavy ones", flask("A", rings=rings(*reversed(A_RINGS))), 3, ["ring 2 of flask A", "nearer the button"]),
    ("an empty ring", flask("A", rings=rings(*A_RINGS, ((), "0"))), 3, ["ring 3 of flask A", "no piece"]),
    ("a ring of less than nothing", flask("B", rings=rings(((("J2", 6),), "20"), ((), "-1"))), 3, ["ring 2 of flask B", "−1 mm"]),
    ("a charge 3 mg over", charge_off(3), 4, ["flask B", "charge"]),
    ("a charge 3 mg under", charge_off(-3), 4, ["flask B", "charge"]),
    ("a crucible too small by mass", of_shop("machines", "C1", crucible_mass=Mass.g(80)), 4, ["flask H", "C1", "80 g"]),
    ("a crucible too small by volume", crucible_a_nanolitre_short, 4, ["flask A", "V1", "by volume"]),
    ("a machine that does not take the size", of_shop("machines", "C1", fits=frozenset({"S"})), 4, ["flask H", "C1", "size M"]),
    ("a flask more than owned", of_shop("sizes", "S", owned=2), 5, ["size S", "A, B, C", "owns 2"]),
    ("no flask owned", of_shop("sizes", "M", owned=0), 5, ["size M", "H", "owns 0"]),
    ("patterns not ready", job("J1", ready=MON + 601), 6, ["flask A", "J1"]),
    ("invested before now", asked(now=MON + 601), 6, ["flask A", "passed"]),
    ("too short at the bench", flask("C", invest_end=MON + 674), 6, ["flask C", "14 minutes", "15"]),
    ("invested before opening", both(asked(now=0), flask("B", invest_start=419, invest_end=434)), 6, ["flask B", "not open"]),
    ("rest too short", load("L1", load_at=MON + 749), 6, ["flask B", "119 minutes", "120"]),
    ("rest too long", of_shop("investments", "gypsum", bench_limit_minutes=1274), 6, ["flask C", "1275 minutes", "1274"]),
    ("two flasks at the bench", flask("B", invest_start=MON + 614, invest_end=MON + 629), 6, ["A and B", "bench"]),
    ("a load that is not there", dropped_load("L2"), 7, ["flask C", "L2"]),
    ("a flask with no place on the floor", load("L3", rows=(("D", "E"),)), 7, ["flask H", "L3"]),
    ("a flask in a load it does not ride", load("L3", rows=(("D", "E"), ("H", "B"))), 7, ["flask B", "L3"]),
    ("a flask twice on the floor", load("L1", rows=(("A", "B"), ("A",))), 7, ["flask A", "2 times"]),
    ("a load of nothing", lambda problem, plan: (problem, replace(plan, loads=(*plan.loads, EMPTY))), 7, ["L9", "no flask"]),
    ("a row too wide", of_shop("kilns", "K1", width=Length(184_999)), 7, ["row 1", "L3", "185 mm", "184.999 mm"]),
    ("rows too deep", of_shop("kilns", "K1", depth=Length(196_999)), 7, ["L3", "197 mm"]),
    ("a flask too tall", of_shop("kilns", "K1", height=Length(116_999)), 7, ["M flask", "K1"]),
    ("an unknown program", load("L2", program="P99"), 7, ["L2", "P99"]),
    ("a program cut short", load("L1", program_end=TUE + 359), 7, ["L1", "479 minutes", "480"]),
    ("a program too hot for the kiln", of_shop("kilns", "K2", top_temperature=Temperature.c(729)), 7, ["P5", "K2", "730 °C"]),
    ("a ramp too fast for the kiln", of_shop("kilns", "K2", fastest_ramp=289), 7, ["P5", "K2", "289"]),
    ("a program for another bond", of_shop("programs", "P5", bonds=frozenset({Bond.PHOSPHATE})), 7, ["P5", "gypsum", "flask C"]),
    ("an investment that does not suit the alloy", flask("B", investment="phosphate"), 7, ["flask B", "phosphate"]),
    ("an investment the shop does not have", flask("B", investment="mud"), 7, ["flask B", "mud"]),
    ("a program too short for the size", of_shop("sizes", "S", burnout_minutes=301), 7, ["P5", "flask C", "301"]),
    ("a program too short for the pattern", job("J3", burnout_minutes=301), 7, ["P5", "J3", "301"]),
    ("a program too cold for the pattern", job("J3", burnout_peak=Temperature.c(731)), 7, ["P5", "J3", "731 °C"]),
    ("a program too hot for the investment", of_shop("investments", "gypsum", peak=Temperature.c(729)), 7, ["flask C", "729 °C"]),
    ("a kiln out of service", of_shop("kilns", "K2", in_service=False), 7, ["K2", "not in service"]),
    ("a kiln down before the last cast", asked(kiln_outages={"K1": (Window(WED + 539, WED + 600),)}), 7, ["K1", "L3"]),
    ("a kiln down when it is loaded", asked(kiln_outages={"K2": (Window(0, TUE + 511),)}), 7, ["K2", "L2"]),
    ("loaded after closing", load("L1", load_at=MON + 1081), 7, ["L1", "nobody is there"]),
    ("started before it is loaded", load("L2", load_at=TUE + 511), 7, ["L2", "before it goes in"]),
    ("unattended where that is not allowed", of_shop("kilns", "K1", unattended=False), 7, ["K1", "L1", "unattended"]),
    ("loaded into a hot kiln", of_shop("kilns", "K1", cooldown_minutes=241), 7, ["K1", "L0", "L1"]),
    ("cast before it has soaked", rules(soak_minutes=61), 8, ["flask C", "L2", "soaked"]),
    ("held hot too long", rules(hot_hold_minutes=119), 8, ["flask H", "L3", "waits hot"]),
    ("a kiln that would heat up between casts", flask("B", temperature=Temperature.c(601)), 8, ["flask B", "601 °C", "steps down"]),
    ("a step down without its soak", rules(step_soak_minutes=31), 8, ["flask B", "30 minutes", "31"]),
    ("a cast of the wrong length", flask("A", cast_end=TUE + 494), 8, ["flask A", "14 minutes", "15"]),
    ("two flasks on one machine", shifted("E", -11), 8, ["D and E", "V1"]),
    ("no time to change the crucible", shifted("E", -1), 8, ["9 minutes", "D (yellow)", "E (silver)"]),
    ("a machine out of service", of_shop("machines", "C1", in_service=False), 8, ["C1", "flask H"]),
    ("a machine that is down", asked(machine_outages={"C1": (Window(WED + 551, WED + 999),)}), 8, ["C1", "flask H"]),
    ("an unknown machine", flask("H", machine="X7"), 8, ["flask H", "X7"]),
    ("too few people", flask("H", people=("ana",)), 8, ["flask H", "ana", "2 people"]),
    ("too many people", flask("A", people=("ana", "ben")), 8, ["flask A", "1 people"]),
    ("one person counted twice", flask("H", people=("ana", "ana")), 8, ["flask H", "2 people"]),
    ("nobody at the machine", flask("A", people=()), 8, ["flask A", "nobody"]),
    ("a helper at the machine", flask("B", people=("cy",)), 8, ["cy", "flask B"]),
    ("a stranger at the machine", flask("B", people=("dora",)), 8, ["dora", "flask B"]),
    ("nobody on shift", asked(shifts=()), 8, ["ana", "flask A"]),
    ("a caster past the overtime", both(flask("C", people=("ben",)), shifted("C", 196)), 8, ["ben", "flask C"]),
    ("a caster at two machines", both(job("J6", temperatures=TemperatureRange.c(430, 560)),
        flask("H", temperature=DIAL), shifted("H", -30)), 8, ["ana", "E and H"]),
    ("knocked out too warm", flask("A", knockout_start=TUE + 509, knockout_end=TUE + 514), 8, ["flask A", "14 minutes", "15"]),
    ("knocked out in no time", flask("A", knockout_end=TUE + 512), 8, ["flask A", "2 minutes", "5"]),
    ("knocked out at night", flask("C", knockout_start=TUE + 1196, knockout_end=TUE + 1201), 8, ["flask C", "nobody is there"]),
    ("more metal than the shelf can make", melt("silver", stock_castable=Mass.g(200)), 9, ["silver", "200 g", "A, B, E"]),
    ("cast before an order can be here", melt("gold", order_from=TUE + 871), 9, ["gold", "C"]),
    ("a fixed flask missing in the plan", both(job("J0", quantity=0),
        lambda problem, plan: (problem, replace(plan, flasks=plan.flasks[1:], loads=plan.loads[1:]))), 10, ["F0", "missing"]),
    ("a fixed load changed", load("L0", program="P5"), 10, ["L0", "changed"]),
    ("a job nobody answers for", whole(left_out=()), 11, ["J9", "3 pieces", "0 are in flasks"]),
    ("a piece too few", job("J1", quantity=9), 11, ["J1", "9 pieces", "8 are in flasks"]),
    ("a piece too many", job("J5", quantity=3), 11, ["J5", "3 pieces", "4 are in flasks"]),
    ("a job cast and left out", whole(left_out=(LEFT_OUT, replace(LEFT_OUT, job="J5", pieces=1))), 11, ["J5", "1 are left out"]),
    ("left out without a reason", whole(left_out=(replace(LEFT_OUT, reason=" "),)), 11, ["J9", "does not say"]),
    ("left out without a remedy", whole(left_out=(replace(LEFT_OUT, remedy=""),)), 11, ["J9", "does not say"]),
    ("left out for a rule that is none", whole(left_out=(replace(LEFT_OUT, rule=12),)), 11, ["J9", "rule 12"]),
    ("left out though nobody asked", whole(left_out=(LEFT_OUT, replace(LEFT_OUT, job="J99"))), 11, ["J99"]),
    ("a flask of nothing", flask("B", rings=()), 11, ["flask B", "no piece"]),
    ("a flask with a job nobody asked for", flask("B", rings=rings(((("J2", 6), ("J77", 1)), "20"))), 11, ["flask B", "J77"]),
    ("less than no pieces", flask("B", rings=rings(((("J2", 7), ("J2", -1)), "20"))), 11, ["flask B", "-1 pieces"]),
]  # fmt: skip
SIZES = {
    "a ring too wide": {"J1": {"width": Length(6_500)}},
    "a piece higher than its ring": {"J5": {"height": Length(20_001)}},
    "a piece near the wall": {"J3": {"reach": Length(13_900)}},
}
ALSO = {"a fixed load changed": {6, 7, 8}, "a flask of nothing": {4}}
"""Where breaking one rule cannot but break another: a fixed load that is no longer itself is judged
like any load, and nothing weighs less than something."""


def resized(what: str, problem: Problem) -> Problem:
    boxes = SIZES[what]
    return replace(problem, jobs=tuple(replace(j, size=replace(j.size, **boxes.get(j.id, {}))) for j in problem.jobs))


@pytest.mark.parametrize(("what", "edit", "rule", "words"), BROKEN, ids=[b[0] for b in BROKEN])
def test_a_broken_rule_is_named(what: str, edit: Edit, rule: int, words: list[str], problem: Problem, plan: Plan) -> None:
    plan = replace(plan, levels=())
    asked_for, answered = (resized(what, problem), plan) if what in SIZES else edit(problem, plan)
    found = check(asked_for, answered, metal=False)
    assert rule in {v.rule for v in found} <= {rule} | ALSO.get(what, set()), found
    assert any(v.rule == rule and all(word in v.message for word in words) for v in found), found


METAL: list[tuple[str, Edit, list[str]]] = [
    ("a flask without a charge", dropped_charge("B"), ["flask B", "no charge"]),
    ("two charges for a flask", one_more_charge("B"), ["flask B", "more than one"]),
    ("a charge for no flask", one_more_charge("Q"), ["flask Q"]),
    ("a charge too light", charge("B", (From.LOT, "AG1", 40_000)), ["flask B", "40 g"]),
    ("a charge too heavy", charge("B", (From.LOT, "AG1", 90_000)), ["flask B", "90 g"]),
    ("less than no metal", charge("B", (From.LOT, "AG1", 0), (From.LOT, "AG4", -1_000)), ["flask B", "−1 g", "AG4"]),
    ("a lot overdrawn", lot("AG1", mass=Mass.g(100)), ["lot AG1", "100 g"]),
    ("a lot that is not there", charge("B", (From.LOT, "AG9", 0)), ["flask B", "AG9"]),
    ("a delivery that has not come", charge("E", (From.LOT, "AG2", 0)), ["flask E", "AG2", "2025-03-13"]),
    ("metal melted too often", charge("B", (From.LOT, "AG1", 0), (From.LOT, "AG3", 10_000)), ["flask B", "3 times"]),
    ("too much recycled", charge("B", (From.LOT, "AG4", 0)), ["flask B", "100.00 %", "50 %"]),
    ("grain that was melted here counts as recycled", lot("AG1", melts=1), ["flask B", "100.00 %"]),
    ("under the fineness", lot("AG1", composition={"Ag": AG("924"), "Cu": CU("76")}), ["flask B", "fineness of 925 ‰"]),
    ("under the range", lot("BZ1", composition={"Cu": CU("915"), "Sn": AG("85")}), ["flask H", "Sn", "90 to 120 ‰"]),
    ("over the range", lot("BZ1", composition={"Cu": CU("870"), "Sn": AG("130")}), ["flask H", "Sn"]),
    ("an element of no such alloy", lot("BZ1", composition={"Cu": CU("890"), "Sn": AG("100"), "Pb": AG("10")}), ["flask H", "Pb"]),
    ("a customer's gold thinned", charge("D", (From.LOT, "OWN", 0), (From.LOT, "AU1", 1_000)), ["flask D", "OWN", "AU1"]),
    ("a customer's gold in another's piece", charge("C", (From.LOT, "OWN", 0)), ["flask C", "OWN", "customer"]),
    ("metal on order that nobody ordered", whole(orders=()), ["flask C", "master"]),
    ("an order that comes too late", order(order_by="2025-03-11", arrives="2025-03-12"), ["flask C", "2025-03-12"]),
    ("an order faster than its supplier", order(arrives="2025-03-10"), ["master", "1 working days"]),
    ("an order that should have been made", order(order_by="2025-03-07", arrives="2025-03-10"), ["2025-03-07", "passed"]),
    ("an order for a flask that is not there", order(flasks=("C", "Q")), ["master", "flask Q"]),
    ("an order too small", order(needed=Mass.g(5)), ["master", "5 g"]),
    ("an order under its need", order(mass=Mass.g(10)), ["10 g", "master"]),
    ("an order of broken packs", order(mass=Mass.g(45)), ["45 g", "packs of 10 g"]),
    ("an order on no day", order(order_by="soon"), ["master", "soon"]),
    ("an order of what nobody sells", of_shop("metals", "master", lead_days=None), ["nobody sells master"]),
    ("an order of what nobody knows", of_shop("metals", "master", id="mistress"), ["nobody sells master"]),
    ("returns that are not clean yet", rules(clean_minutes=1451), ["flask E", "flask A", "clean"]),
    ("returns of another alloy", charge("E", (From.LOT, "AG1", 0), (From.RETURNS, "C", 1_000)), ["flask E", "flask C"]),
    ("returns of a flask that is not there", charge("E", (From.LOT, "AG1", 0), (From.RETURNS, "Q", 1_000)), ["flask E", "flask Q"]),
    ("a flask's own returns", charge("E", (From.LOT, "AG1", 0), (From.RETURNS, "E", 1_000)), ["flask E"]),
    ("more than a flask returns", all_from_returns, ["flask A", "returns"]),
    ("returns melted once too often", alloy_of("silver", melts_limit=2), ["flask E", "2 times"]),
]  # fmt: skip


@pytest.mark.parametrize(("what", "edit", "words"), METAL, ids=[m[0] for m in METAL])
def test_metal_that_is_not_there_is_named(what: str, edit: Edit, words: list[str], problem: Problem, plan: Plan) -> None:
    asked_for, answered = edit(problem, plan)
    found = check(asked_for, answered)
    assert {v.rule for v in found} == {9}, (what, found)
    assert any(all(word in v.message for word in words) for v in found), found
    assert check(asked_for, answered, metal=False) == ()


SOUND: list[tuple[str, Edit]] = [
    ("a charge 2 mg over", charge_off(2)),
    ("a charge 2 mg under", charge_off(-2)),
    ("the last flask owned", of_shop("sizes", "S", owned=3)),
    ("patterns ready as investing starts", job("J1", ready=MON + 600)),
    ("rest just long enough", load("L1", load_at=MON + 750)),
    ("rest as long as allowed", of_shop("investments", "gypsum", bench_limit_minutes=1275)),
    ("a floor just large enough", of_shop("kilns", "K1", width=Length.mm(185), depth=Length.mm(197), height=Length.mm(117))),
    ("a kiln down once it is empty", asked(kiln_outages={"K1": (Window(WED + 540, WED + 999),)})),
    ("a kiln back in service as it is loaded", asked(kiln_outages={"K2": (Window(0, TUE + 510),)})),
    ("loaded on closing", load("L1", load_at=MON + 1080)),
    ("a kiln just cool enough", of_shop("kilns", "K1", cooldown_minutes=240)),
    ("held hot to the minute", rules(hot_hold_minutes=120)),
    ("the ramp that the kiln can do", of_shop("kilns", "K2", fastest_ramp=290)),
    ("a machine down once it is done", asked(machine_outages={"C1": (Window(WED + 552, WED + 999),)})),
    ("overtime to the minute", both(flask("C", people=("ben",)), shifted("C", 195))),
    ("the same temperature thrice", both(job("J6", temperatures=TemperatureRange.c(430, 560)), flask("H", temperature=DIAL))),
    ("one job named twice in a counted ring", flask("H", rings=rings(((("J6", 2), ("J6", 3)), "62.5"), by_count=True))),
]  # fmt: skip


@pytest.mark.parametrize(("what", "edit"), SOUND, ids=[s[0] for s in SOUND])
def test_what_just_keeps_a_rule_is_not_reported(what: str, edit: Edit, problem: Problem, plan: Plan) -> None:
    assert check(*edit(problem, replace(plan, levels=())), metal=False) == (), what


def test_metal_that_is_there_to_the_milligram_and_minute_is_not_reported(problem: Problem, plan: Plan) -> None:
    drawn = sum(p.mass.base for c in plan.charges for p in c.parts if p.ref == "AG1")
    exact = both(lot("AG1", mass=Mass(drawn)), rules(clean_minutes=1450), melt("gold", order_from=TUE + 870))
    assert check(*exact(problem, plan)) == ()
    short = lot("AG1", mass=Mass(drawn - 1))(problem, plan)
    assert [v.where for v in check(*short)] == ["lot AG1"]


def test_returns_of_a_fixed_flask_that_nobody_knows_the_metal_of_are_not_taken_on_trust(problem: Problem, plan: Plan) -> None:
    rest = charge("E", (From.LOT, "AG1", 0), (From.RETURNS, "F0", 5_000))(problem, plan)[1]
    for lots, fine in ((("AG1",), True), (("AG1", "used-up"), False), ((), False)):
        parts = tuple(ChargePart(origin=From.LOT, ref=name, mass=Mass(20_000)) for name in lots)
        held = replace(rest, charges=(*rest.charges, FlaskCharge(flask="F0", parts=parts)))
        found = check(problem, held)
        assert (found == ()) is fine
        assert all("what F0 is made of" in v.message for v in found)


def test_an_order_skips_days_on_which_the_shop_is_closed(problem: Problem, plan: Plan) -> None:
    closures = (Outage(first="2025-03-11", last="2025-03-11"),)
    closed = asked(shop=replace(problem.shop, closures=closures))
    for arrives, fine in (("2025-03-11", False), ("2025-03-12", True)):
        found = check(*both(closed, order(arrives=arrives))(problem, replace(plan, levels=())))
        assert any("working days" in v.message for v in found) is not fine


def test_what_is_fixed_is_not_judged_alone(problem: Problem, plan: Plan) -> None:
    wrong = replace(plan.flasks[0], temperature=Temperature.c(900), people=("nobody",), charge=Mass.g(9_999), machine="gone")
    unlike = replace(plan, flasks=(wrong, *plan.flasks[1:]), levels=())
    roomy = melt("silver", stock_castable=Mass.g(99_999))(replace(problem, fixed_flasks=(wrong,)), unlike)
    assert check(*roomy) == ()


def test_what_is_fixed_is_in_the_way_of_what_is_free(problem: Problem, plan: Plan) -> None:
    fixed = plan.flasks[0]
    ways: list[tuple[int, dict[str, Any]]] = [
        (5, {"knockout_end": TUE + 481}),  # with A, B and C that is a fourth flask of size S
        (6, {"invest_start": MON + 605, "invest_end": MON + 620}),
        (7, {"cast_start": MON + 721}),  # kept in K1 until L1 goes in at 13:00, an hour after 12:01
        (8, {"cast_start": TUE + 487, "cast_end": TUE + 502}),
        (9, {"charge": Mass.g(500)}),  # not cast yet, so its metal is still on the shelf
    ]
    for rule, changes in ways:
        stands = replace(fixed, **changes)
        asked_for, _ = of_shop("sizes", "S", owned=3)(replace(problem, fixed_flasks=(stands,)), plan)
        found = check(asked_for, replace(plan, flasks=(stands, *plan.flasks[1:]), levels=()), metal=False)
        assert rule in {v.rule for v in found}, (rule, found)


def test_more_pieces_than_asked_for_are_no_fault_of_the_plan_where_they_are_fixed(problem: Problem, plan: Plan) -> None:
    fewer = job("J0", quantity=1)(problem, replace(plan, levels=()))
    assert check(*fewer) == ()
    more = job("J0", quantity=3)(problem, replace(plan, levels=()))
    assert [v.rule for v in check(*more)] == [11]


@pytest.mark.parametrize("number", range(7))
def test_a_level_that_the_plan_does_not_have_is_reported(number: int, problem: Problem, plan: Plan) -> None:
    levels = list(plan.levels)
    levels[number] = replace(levels[number], value=levels[number].value + 1)
    (found,) = check(problem, replace(plan, levels=tuple(levels)))
    assert (found.rule, found.where) == (0, "plan")
    assert levels[number].name in found.message
    assert str(levels[number].value) in found.message


def test_a_bound_above_its_value_and_a_level_that_is_none_are_reported(problem: Problem, plan: Plan) -> None:
    levels = (Level(name="flasks and loads", value=150, bound=151), Level(name="beauty", value=1))
    messages = [v.message for v in check(problem, replace(plan, levels=levels))]
    assert len(messages) == 2
    assert "151" in messages[0]
    assert "beauty" in messages[1]
    assert check(problem, replace(plan, levels=(Level(name="flasks and loads", value=150, bound=150),))) == ()


def test_overtime_is_what_the_last_cast_takes_after_the_latest_casters_shift(problem: Problem, plan: Plan) -> None:
    _, late = shifted("C", 160)(problem, plan)  # 17:10 to 17:25; ana's shift ends at 17:00
    assert check(problem, replace(late, levels=(Level(name="overtime", value=25),))) == ()


def test_names_are_used_once(problem: Problem, plan: Plan) -> None:
    twice = replace(plan, flasks=(*plan.flasks, plan.flasks[2]), loads=(*plan.loads, plan.loads[1]))
    named = {(v.rule, v.where) for v in check(problem, twice, metal=False)}
    assert {(11, "flask B"), (11, "kiln load L1")} <= named


def test_every_rule_has_its_checks() -> None:
    assert sorted(RULES) == list(range(12))
    assert {rule for _, _, rule, _ in BROKEN} == set(range(1, 12))
