"""Drawings say what the plan says: places on the axis, curves through the casts, trees and floors to scale."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import combinations, pairwise
from math import hypot

import pytest

from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.week.build import problem_of
from webapp.store.engine import Database
from webapp.store.week import load_week
from webapp.views.axis import LETTER, Axis, day_axis, used_days, week_axis
from webapp.views.axis_scale import MARGIN, WIDTH
from webapp.views.curve import program_drawing
from webapp.views.tree import floor_drawing, tree_drawing

NOW = datetime(2026, 3, 2, 7, 0)


@pytest.fixture(scope="module")
def problem(planned_demo: str) -> Problem:
    db = Database(planned_demo)
    with db.read() as session:
        problem = problem_of(load_week(session, NOW))
    db.close()
    return problem


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    assert problem.previous is not None
    return problem.previous


def lanes(axis: Axis) -> dict[str, list[tuple[str, float, float]]]:
    return {lane.name: [(b.kind, b.x, round(b.x + b.width, 1)) for b in lane.blocks] for lane in axis.lanes}


def days_of(problem: Problem, plan: Plan) -> list[date]:
    first, last = used_days(problem, plan)
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def place(axis: Axis, problem: Problem, plan: Plan, minute: int) -> float:
    """Between the midnights around it."""
    midnights = [tick.x for tick in axis.ticks if tick.day]
    day = problem.clock.day_of(minute)
    index = days_of(problem, plan).index(day)
    start, end = problem.clock.minute_of(day), problem.clock.minute_of(day + timedelta(days=1))
    return midnights[index] + (minute - start) / (end - start) * (midnights[index + 1] - midnights[index])


def test_a_program_stands_at_its_hours_on_its_kilns_lane(problem: Problem, plan: Plan) -> None:
    axis = week_axis(problem, plan, problem.now)
    drawn = lanes(axis)
    for load in plan.loads:
        span = (place(axis, problem, plan, load.start), place(axis, problem, plan, load.program_end))
        found = [(x, end) for kind, x, end in drawn[problem.kiln[load.kiln].name] if kind == "program"]
        assert any(abs(x - span[0]) < 0.3 and abs(end - span[1]) < 0.3 for x, end in found)


def test_the_week_is_seen_at_once_and_days_without_anybody_are_narrower(problem: Problem, plan: Plan) -> None:
    first, week = plan.flasks[0], 7 * 1440
    times = ("invest_start", "invest_end", "cast_start", "cast_end", "knockout_start", "knockout_end")
    after_the_weekend = replace(first, id="F99", **{name: getattr(first, name) + week for name in times})
    plan = replace(plan, flasks=(*plan.flasks, after_the_weekend))
    axis = week_axis(problem, plan, problem.now)
    assert axis.width == WIDTH
    midnights = [tick.x for tick in axis.ticks if tick.day]
    assert abs(midnights[-1] - (WIDTH - MARGIN)) < 0.2
    widths = {"staffed": set[float](), "closed": set[float]()}
    for day, (x, end) in zip(days_of(problem, plan), pairwise(midnights), strict=True):
        minutes = (problem.clock.minute_of(day), problem.clock.minute_of(day + timedelta(days=1)))
        staffed = any(s.opens < minutes[1] and s.closes > minutes[0] for s in problem.shifts)
        widths["staffed" if staffed else "closed"].add(round(end - x))
    assert widths["closed"]
    assert max(widths["closed"]) < min(widths["staffed"]) / 2


def test_a_long_plan_makes_the_drawing_wider_rather_than_illegible(problem: Problem, plan: Plan) -> None:
    later = replace(plan.flasks[0], id="F99", knockout_end=plan.flasks[0].knockout_end + 40 * 1440)
    axis = week_axis(problem, replace(plan, flasks=(*plan.flasks, later)), problem.now)
    assert axis.wide
    staffed = [end.x - x.x for x, end in pairwise([t for t in axis.ticks if t.day]) if " " in x.label]
    assert min(staffed) >= 57  # a day of 23 hours, where the clocks change


def test_no_label_runs_into_the_next_block(problem: Problem, plan: Plan) -> None:
    day = problem.clock.day_of(plan.flasks[0].cast_start)
    for axis in (week_axis(problem, plan, problem.now), day_axis(problem, plan, day, problem.now)):
        for lane in axis.lanes:
            for block in lane.blocks:
                reach = block.label_x + len(block.label) * LETTER
                if not block.label or block.inside:
                    assert len(block.label) * LETTER <= max(block.width, 0)
                    continue
                assert all(other.x >= reach for other in lane.blocks if other.row == block.row and other.x > block.x)


def test_the_days_axis_has_every_cast_and_every_investing_of_the_day(problem: Problem, plan: Plan) -> None:
    for day in {problem.clock.day_of(f.cast_start) for f in plan.flasks}:
        axis = day_axis(problem, plan, day, problem.now)
        words = [b.words for lane in axis.lanes for b in lane.blocks]
        for flask in plan.flasks:
            casts = any(w.startswith(f"cast {flask.id},") for w in words)
            assert casts == (problem.clock.day_of(flask.cast_start) == day)
            invests = any(w.startswith(f"invest {flask.id},") for w in words)
            assert invests == (problem.clock.day_of(flask.invest_start) == day)


def test_everybody_has_a_lane_with_their_hours_and_their_casts(problem: Problem, plan: Plan) -> None:
    day = problem.clock.day_of(plan.flasks[0].cast_start)
    axis = day_axis(problem, plan, day, problem.now)
    by_name = {lane.name: lane.blocks for lane in axis.lanes}
    for person in problem.shop.people:
        blocks = by_name[person.name]
        hours = {(s.opens, s.closes) for s in problem.shifts if s.person == person.id and problem.clock.day_of(s.opens) == day}
        assert {(b.start, b.end) for b in blocks if b.kind == "here"} == hours
        casts = {f.id for f in plan.flasks if person.id in f.people and problem.clock.day_of(f.cast_start) == day}
        assert {b.words.removeprefix("cast ").partition(",")[0] for b in blocks if b.kind == "cast"} == casts


def test_overlapping_work_stands_on_rows_of_its_own(problem: Problem, plan: Plan) -> None:
    axis = week_axis(problem, plan, problem.now)
    for lane in axis.lanes:
        for a, b in combinations(lane.blocks, 2):
            if a.row == b.row:
                assert a.end <= b.start or b.end <= a.start


def test_the_present_is_drawn_only_where_it_is_in_the_picture(problem: Problem, plan: Plan) -> None:
    assert week_axis(problem, plan, problem.now).now is not None
    assert week_axis(problem, plan, problem.end + 1440).now is None


def test_a_curve_ends_at_the_last_cast_and_passes_through_every_flasks_temperature(problem: Problem, plan: Plan) -> None:
    for load in plan.loads:
        flasks = [f for f in plan.flasks if f.load == load.id]
        curve = program_drawing(problem.program[load.program], load, flasks, problem.rules, problem.clock)
        last = max(f.cast_start for f in flasks)
        assert curve.steps[-1].ends == problem.clock.local(last)
        assert curve.steps[0].begins == problem.clock.local(load.start)
        for flask in flasks:
            at = problem.clock.local(flask.cast_start)
            assert any(s.begins <= at <= s.ends and s.hold and s.temperature == flask.temperature for s in curve.steps)


def test_the_program_part_of_a_curve_takes_as_long_as_the_program(problem: Problem, plan: Plan) -> None:
    load = plan.loads[0]
    flasks = [f for f in plan.flasks if f.load == load.id]
    program = problem.program[load.program]
    curve = program_drawing(program, load, flasks, problem.rules, problem.clock)
    assert sum(s.minutes for s in curve.steps if s.what[0].isdigit()) == program.minutes
    assert sum(s.minutes for s in curve.steps) == max(f.cast_start for f in flasks) - load.start


def test_a_tree_is_drawn_inside_its_flask_ring_above_ring_with_all_its_pieces(problem: Problem, plan: Plan) -> None:
    for flask in plan.flasks:
        tree = tree_drawing(problem, flask)
        assert tree is not None
        counts: dict[str, int] = {}
        for ring in tree.rings:
            for job, _, count in ring.contents:
                counts[job] = counts.get(job, 0) + count
            for box in ring.boxes:
                assert tree.flask.x - 0.1 <= box.x
                assert box.x + box.width <= tree.flask.x + tree.flask.width + 0.1
                assert tree.flask.y <= box.y
                assert box.y + box.height <= tree.base.y + 0.1
        assert counts == flask.contents
        labels = [ring.label_y for ring in tree.rings]
        assert labels == sorted(labels, reverse=True)


def test_flasks_on_a_kiln_floor_stand_apart_and_inside(problem: Problem, plan: Plan) -> None:
    flasks = {f.id: f for f in plan.flasks}
    for load in plan.loads:
        floor = floor_drawing(problem, load, flasks)
        assert floor is not None
        assert {f.flask for f in floor.flasks} == set(load.flasks)
        for one in floor.flasks:
            assert one.radius <= one.x <= floor.width - one.radius
            assert one.radius <= one.y <= floor.height - one.radius
        for a, b in combinations(floor.flasks, 2):
            assert hypot(a.x - b.x, a.y - b.y) > a.radius + b.radius
