"""A sound plan is found sound."""

from domain.planning.check import check
from domain.planning.plan import Plan
from domain.planning.problem import Problem


def test_a_plan_made_by_hand_with_care_breaks_no_rule(problem: Problem, plan: Plan) -> None:
    assert check(problem, plan) == ()
