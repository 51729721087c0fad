"""The bench calculator: how much of one metal brings another to a fineness."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from domain.errors import CannotCompose, InvalidValue
from domain.metallurgy.charge_lp import Program, Row, minimise
from domain.metallurgy.melt import fraction
from domain.saying import say
from domain.units import Mass, Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Alligation:
    """``add`` to what is there, ``whole`` then, of ``fineness`` (rounded down)."""

    add: Mass
    whole: Mass
    fineness: Share


def alligate(mass: Mass, have: Share, want: Share, addition: Share, step: Mass = Mass(1)) -> Alligation:
    """What to add of metal of fineness ``addition`` to ``mass`` of fineness ``have`` for fineness ``want``.

    Raising adds the least whole steps of the scale that reach it, lowering the most that keep it, so
    the result is never below ``want``. Raises ``CannotCompose`` where the addition cannot do it.
    """
    if mass.base <= 0 or step.base <= 0:
        raise InvalidValue("mass", say("there must be some metal to begin with"))
    if have == want:
        return _result(mass, have, addition, Mass(0))
    if (have < want) != (want < addition):
        raise _cannot(have, want, addition)
    sign = 1 if have < want else -1
    steps = _steps(mass, have, want, addition, step, sign)
    return _result(mass, have, addition, Mass(steps * step.base))


def _steps(mass: Mass, have: Share, want: Share, addition: Share, step: Mass, sign: int) -> int:
    """The solver's number of steps: least when raising (``sign`` 1), most when lowering, then put
    right in whole numbers, because the solver works to a tolerance."""
    gain = fraction(addition) - fraction(want)
    lacking = (fraction(want) - fraction(have)) * mass.base / step.base
    program = Program(bounds=[(Fraction(0), None)], rows=[Row({0: gain}, low=lacking)], objectives=[{0: Fraction(sign)}])
    found = minimise(program)
    assert found is not None  # one metal is below what is wanted and the other above
    steps = round(found[0])
    while gain * steps < lacking:
        steps += sign
    while steps - sign >= 0 and gain * (steps - sign) >= lacking:
        steps -= sign
    return steps


def _result(mass: Mass, have: Share, addition: Share, add: Mass) -> Alligation:
    whole = mass + add
    fineness = Share((mass.base * have.base + add.base * addition.base) // whole.base)
    return Alligation(add=add, whole=whole, fineness=fineness)


def _cannot(have: Share, want: Share, addition: Share) -> CannotCompose:
    finer = say("An addition finer than {want} would mend it", want=_permille(want))
    less = say("An addition less fine than {want} would mend it", want=_permille(want))
    return CannotCompose(
        say(
            "metal of {addition} cannot bring metal of {have} to {want}",
            addition=_permille(addition),
            have=_permille(have),
            want=_permille(want),
        ),
        finer if have < want else less,
    )


def _permille(share: Share) -> str:
    return f"{float(share.to('‰')):g} ‰"
