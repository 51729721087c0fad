"""Each form of the pages has an operation for other software, or a reason why people alone do it."""

from __future__ import annotations

from typing import Any

from webapp.app import ROUTERS
from webapp.routes.api.common import BASE
from webapp.routes.api.description import description

IN_PERSON = "somebody in person, at a page"
UNITS = "other software reads and writes metric"
SAME = "the shop's own things are put in one by one"

OPERATIONS = {
    "/books/entries/{entry:int}/take-back": "POST /books/entries/{number}/take-back",
    "/calendar": "POST /feeds",
    "/calendar/{id}/withdraw": "DELETE /feeds/{number}",
    "/copies": "POST /copies",
    "/copies/rule": "PUT /copies/rule",
    "/exchange/preview": "POST /week/preview",
    "/exchange/load": "POST /week/load",
    "/flask/{name}/check/{pause}/tick": "POST /flasks/{key}/checks/{pause}/ticks",
    "/flask/{name}/check/{pause}/back": "POST /flasks/{key}/checks/{pause}/back",
    "/flask/{name}/check/{pause}/pass": "POST /flasks/{key}/checks/{pause}/pass",
    "/flask/{name}/floor/{step}": "POST /flasks/{key}/stages",
    "/flask/{name}/metal/charge": "POST /flasks/{key}/charge",
    "/flask/{name}/metal/out": "POST /flasks/{key}/out",
    "/flask/{name}/metal/shelf": "POST /flasks/{key}/shelf",
    "/flask/{name}/move": "POST /flasks/{key}/moves",
    "/flask/{name}/slot": "PUT /flasks/{key}/slot",
    "/flask/{name}/pieces": "POST /flasks/{key}/pieces",
    "/flask/{name}/pin": "PUT /flasks/{key}/pin",
    "/flask/{name}/unpin": "DELETE /flasks/{key}/pin",
    "/flask/{name}/recast/{row}": "POST /flasks/{key}/recasts/{number}",
    "/flask/{name}/record/undo": "POST /flasks/{key}/record/undo",
    "/flask/{name}/stage": "POST /flasks/{key}/stages",
    "/flask/{name}/undo": "POST /flasks/{key}/record/undo",
    "/flask/{name}/tree": "POST /flasks/{key}/tree",
    "/intake": "POST /lists",
    "/intake/{draft}/columns": "PUT /lists/{key}/columns",
    "/intake/{draft}/answers": "POST /lists/{key}/answers",
    "/intake/{draft}/ask-again": "POST /lists/{key}/answers",
    "/intake/{draft}/rows/{number}": "PUT /lists/{key}/rows/{number}",
    "/intake/{draft}/take-in": "POST /lists/{key}/take-in",
    "/intake/{draft}/drop": "DELETE /lists/{key}",
    "/jobs": "POST /jobs",
    "/jobs/{key:path}": "PUT /jobs/{key}",
    "/jobs/{key:path}/archive": "DELETE /jobs/{key}",
    "/jobs/{key:path}/restore": "POST /jobs/{key}/restore",
    "/learning": "POST /record/suggestions",
    "/metal/back/{lot}/refiner": "POST /metal/lots/{key}/refiner",
    "/metal/charge/{name}/tree": "POST /flasks/{key}/tree",
    "/metal/consumables/{kind}/{ref}/ordered": "POST /metal/consumables/orders",
    "/metal/consumables/deliveries/{number:int}/arrived": "POST /metal/consumables/orders/{number}/arrived",
    "/metal/consumables/deliveries/{number:int}/take-back": "DELETE /metal/consumables/orders/{number}",
    "/metal/order/{metal}/ordered": "POST /metal/orders",
    "/metal/order/{lot}/arrived": "POST /metal/orders/{key}/arrived",
    "/metal/order/{lot}/cancel": "DELETE /metal/orders/{key}",
    "/metal/prices": "PUT /metal/prices",
    "/metal/prices/list": "PUT /metal/prices",
    "/models": "POST /models",
    "/models/{model}/unit": "PUT /models/{key}/unit",
    "/models/{model}/take": "POST /models/{key}/take",
    "/models/{model}/remove": "DELETE /models/{key}",
    "/people": "POST /people",
    "/people/{id}/end": "DELETE /people/{number}",
    "/people/tablets/{id}/revoke": "DELETE /people/tablets/{number}",
    "/shop/checklists": "POST /checklists",
    "/shop/checklists/{point}": "PUT /checklists/{key}",
    "/shop/checklists/{point}/drop": "POST /checklists/{key}/drop",
    "/shop/checklists/{point}/restore": "POST /checklists/{key}/restore",
    "/shop/checklists/{point}/put-back": "POST /checklists/{key}/put-back",
    "/shop/checklists/{point}/move/{where}": "POST /checklists/{key}/move",
    "/shop/{slug}": "POST /shop/kilns",
    "/shop/{slug}/{key:path}": "PUT /shop/kilns/{key}",
    "/shop/{slug}/{key:path}/archive": "DELETE /shop/kilns/{key}",
    "/shop/{slug}/{key:path}/restore": "POST /shop/kilns/{key}/restore",
    "/shop/{slug}/{key:path}/move": "POST /shop/lots/{key}/movements",
    "/today/done": "POST /flasks/{key}/stages",
    "/today/undo": "POST /flasks/{key}/record/undo",
    "/week/plan": "POST /plan/planning",
    "/week/stop": "DELETE /plan/planning",
    "/what-if/try": "POST /trial",
    "/what-if/stop": "DELETE /trial",
    "/what-if/keep": "POST /trial/keep",
    "/what-if/drop": "DELETE /trial",
}
PEOPLE_ALONE = {
    "/flask/{name}/check/{pause}/sign": IN_PERSON,
    "/first-owner": IN_PERSON,
    "/sign-in": IN_PERSON,
    "/switch": IN_PERSON,
    "/who/secret": IN_PERSON,
    "/who/sign-out": IN_PERSON,
    "/people/access": "no token makes another",
    "/people/access/{id}/end": "no token ends another",
    "/people/tablets": "the tablet itself keeps what enrols it",
    "/who/units": UNITS,
    "/setup/units": UNITS,
    "/setup/units/skip": UNITS,
    "/setup/{slug}": SAME,
    "/setup/{slug}/skip": SAME,
}


def _forms(router: Any, prefix: str = "") -> set[str]:
    found: set[str] = set()
    for route in router.routes:
        if hasattr(route, "original_router"):
            found |= _forms(route.original_router, prefix + route.include_context.prefix)
        elif "POST" in route.methods:
            found.add(prefix + route.path)
    return found


def test_each_form_has_an_operation_or_a_reason() -> None:
    forms = {path for router, _ in ROUTERS for path in _forms(router) if not path.startswith(BASE)}
    assert forms == OPERATIONS.keys() | PEOPLE_ALONE.keys()


def test_the_operations_are_described() -> None:
    described = {
        f"{method.upper()} {path.removeprefix(BASE)}" for path, methods in description()["paths"].items() for method in methods
    }
    assert set(OPERATIONS.values()) - described == set()
