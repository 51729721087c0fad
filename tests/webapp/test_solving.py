"""The planning process is started, watched, stopped and outlived."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path

import pytest

from domain.errors import DomainError
from domain.planning.clock import Clock
from domain.planning.measure import measure
from domain.planning.plan import Level, Plan
from domain.planning.problem import Problem
from domain.shop.shop import Shop, ShopRules
from webapp.solving.messages import Answer, Ask, Better, Step, Trouble
from webapp.solving.runner import AlreadyPlanning, Phase, Runner, Work

NOTHING = Shop(
    rules=ShopRules(),
    alloys=(),
    materials=(),
    sizes=(),
    investments=(),
    programs=(),
    kilns=(),
    machines=(),
    people=(),
    closures=(),
    metals=(),
)
PROBLEM = Problem(
    shop=NOTHING,
    clock=Clock(date(2026, 3, 2), "UTC"),
    now=480,
    end=14 * 1440,
    days=(),
    shifts=(),
    kiln_outages={},
    machine_outages={},
    melts=(),
    jobs=(),
    lots=(),
)
VALID = replace(Plan(seed=7), levels=measure(PROBLEM, Plan()))
INVALID = replace(VALID, levels=(replace(VALID.levels[0], value=-3), *VALID.levels[1:]))


def _until(stop: Event) -> None:
    for _ in range(600):
        if stop.wait(0.05):
            return


def answers(_ask: Ask, pipe: Connection, _stop: Event) -> None:
    pipe.send(Answer(VALID))


def breaks_a_rule(_ask: Ask, pipe: Connection, _stop: Event) -> None:
    pipe.send(Answer(INVALID))


def works_until_asked(_ask: Ask, pipe: Connection, stop: Event) -> None:
    pipe.send(Step(stage="filling flasks", levels=(Level(name="left out", value=4),), flasks=9, loads=3))
    _until(stop)
    pipe.send(Answer(VALID))


def heeds_nothing(_ask: Ask, pipe: Connection, _stop: Event) -> None:
    pipe.send(Better(VALID))
    time.sleep(60)


def heeds_nothing_and_finds_nothing(_ask: Ask, pipe: Connection, _stop: Event) -> None:
    pipe.send(Step(stage="thinking"))
    time.sleep(60)


def raises_trouble(_ask: Ask, pipe: Connection, _stop: Event) -> None:
    pipe.send(Trouble("The planner failed (ZeroDivisionError).", "Traceback: division by zero"))


def dies(_ask: Ask, _pipe: Connection, _stop: Event) -> None:
    os._exit(9)


@pytest.fixture
def runner() -> Iterator[Callable[..., Runner]]:
    made: list[Runner] = []

    def make(work: Work, **options: float) -> Runner:
        made.append(Runner(work, **options))
        return made[-1]

    yield make
    for one in made:
        one.shutdown()


class Shelf:
    """Where kept plans go."""

    def __init__(self) -> None:
        self.plans: list[Plan] = []

    def keep(self, answer: Answer) -> int:
        self.plans.append(answer.plan)
        return len(self.plans)


ASK = Ask(problem=PROBLEM, seconds=30)


def test_a_plan_that_passes_the_check_is_kept_and_its_version_told(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(answers), Shelf()
    one.start("shop", ASK, shelf.keep)
    state = one.wait("shop", 30)
    assert (state.phase, state.version, state.message) == (Phase.DONE, 1, "Plan 1 is ready.")
    assert shelf.plans == [VALID]


def test_a_plan_that_fails_the_check_is_not_kept(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(breaks_a_rule), Shelf()
    one.start("shop", ASK, shelf.keep)
    state = one.wait("shop", 30)
    assert state.phase is Phase.FAILED
    assert "broke rule 0" in state.message
    assert "The plan that was there stays." in state.message
    assert shelf.plans == []


def test_progress_is_seen_by_whoever_asks_and_a_stop_keeps_the_best(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(works_until_asked), Shelf()
    assert one.start("shop", ASK, shelf.keep).phase is Phase.RUNNING
    for _ in range(600):
        step = one.state("shop").step
        if step and step.stage == "filling flasks":
            break
        time.sleep(0.05)
    state = one.state("shop")
    assert state.step is not None
    assert (state.step.flasks, state.step.loads, state.step.levels[0].value) == (9, 3, 4)
    assert one.stop("shop").phase is Phase.STOPPING
    state = one.wait("shop", 30)
    assert (state.phase, state.version) == (Phase.DONE, 1)
    assert "until planning was stopped" in state.message


def test_one_run_at_a_time_for_each_shop(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(works_until_asked), Shelf()
    one.start("one shop", ASK, shelf.keep)
    with pytest.raises(AlreadyPlanning):
        one.start("one shop", ASK, shelf.keep)
    one.start("another shop", ASK, shelf.keep)
    assert one.state("another shop").busy


def test_a_planner_that_does_not_stop_is_ended_and_its_best_plan_kept(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(heeds_nothing, grace=0.2), Shelf()
    one.start("shop", ASK, shelf.keep)
    while not one._solves["shop"].best:
        time.sleep(0.05)
    one.stop("shop")
    assert one.wait("shop", 30).phase is Phase.DONE
    assert shelf.plans == [VALID]


def test_a_planner_past_its_time_is_ended(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(heeds_nothing_and_finds_nothing, grace=0.1, overrun=0.1), Shelf()
    one.start("shop", replace(ASK, seconds=0.1), shelf.keep)
    state = one.wait("shop", 30)
    assert state.phase is Phase.FAILED
    assert state.message == "Planning was stopped before there was any plan. The plan that was there stays."
    assert shelf.plans == []


@pytest.mark.parametrize(("work", "words"), [(raises_trouble, "ZeroDivisionError"), (dies, "exit code 9")])
def test_trouble_in_the_planner_is_told_and_nothing_is_kept(runner: Callable[..., Runner], work: Work, words: str) -> None:
    one, shelf = runner(work), Shelf()
    one.start("shop", ASK, shelf.keep)
    state = one.wait("shop", 30)
    assert state.phase is Phase.FAILED
    assert words in state.message
    assert "The plan that was there stays." in state.message
    assert shelf.plans == []


def test_a_plan_that_cannot_be_saved_says_so(runner: Callable[..., Runner]) -> None:
    def refuse(_answer: Answer) -> int:
        raise DomainError("F3 was invested while the plan was made; plan again.")

    one = runner(answers)
    one.start("shop", ASK, refuse)
    state = one.wait("shop", 30)
    assert (state.phase, state.message) == (Phase.FAILED, "F3 was invested while the plan was made; plan again.")


def test_stopping_the_server_ends_the_run_without_a_plan(runner: Callable[..., Runner]) -> None:
    one, shelf = runner(works_until_asked), Shelf()
    one.start("shop", ASK, shelf.keep)
    process = one._solves["shop"].process
    one.shutdown()
    assert not process.is_alive()
    assert one.state("shop").phase is Phase.FAILED
    assert shelf.plans == []
    with pytest.raises(AlreadyPlanning):
        one.start("shop", ASK, shelf.keep)


def test_a_run_leaves_no_process_and_no_file_behind(runner: Callable[..., Runner]) -> None:
    one = runner(answers)
    open_files = len(list(Path("/proc/self/fd").iterdir())) if Path("/proc/self/fd").is_dir() else 0
    for _ in range(3):
        one.start("shop", ASK, Shelf().keep)
        one.wait("shop", 30)
        assert not one._solves["shop"].process.is_alive()
    if open_files:
        assert len(list(Path("/proc/self/fd").iterdir())) <= open_files + 6
