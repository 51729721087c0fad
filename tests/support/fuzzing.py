"""Asks the JSON interface what Schemathesis makes up from its description, as other software of a role."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import httpx
import schemathesis
from anyio.from_thread import start_blocking_portal
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as hypothesis_settings
from schemathesis import checks
from schemathesis.generation import GenerationMode
from software import SERVER, software, token_of

from webapp.actions.planning import load_desk
from webapp.app import create_app
from webapp.auth.roles import Role
from webapp.routes.api.description import description
from webapp.settings import Settings
from webapp.shop_nouns import NOUNS
from webapp.store import nouns

checks.load_all_checks()
HELD = checks.CHECKS.get_by_names(
    ["not_a_server_error", "status_code_conformance", "content_type_conformance", "response_schema_conformance"]
)

Send: TypeAlias = Callable[[dict[str, Any]], httpx.Response]


@dataclass
class Found:
    """``by_status``: how many answers. ``wrong``: what broke a promise, in words."""

    by_status: Counter[int] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    @property
    def asked(self) -> int:
        return self.by_status.total()


def fuzz(settings: Settings, role: Role, *, examples: int, seed_of: int, every: int = 1, first: int = 0) -> Found:
    """``examples``: for each operation, half as the description allows and half not. ``every``: only each so many-th
    operation, from the ``first`` on."""
    app = create_app(settings)
    app.state.runner.shutdown()  # planning is refused: it would work for seconds in a process of its own
    found, token = Found(), token_of(app.state.db, role)
    keys = _keys(app, settings)
    schema: Any = schemathesis.openapi.from_dict(description())
    client = software(app, token)
    with start_blocking_portal() as portal:

        def send(wanted: dict[str, Any]) -> httpx.Response:
            return portal.call(lambda: client.request(**wanted))

        for operation in [result.ok() for result in schema.get_all_operations()][first::every]:
            for mode in GenerationMode:
                for known in _places(operation, keys):
                    _ask(send, operation, mode, known, found, max(1, examples // 2), seed_of)
        portal.call(client.aclose)
    app.state.db.close()
    return found


def _ask(
    send: Send, operation: Any, mode: GenerationMode, known: dict[str, Any], found: Found, examples: int, seed_of: int
) -> None:
    strategy = operation.as_strategy(generation_mode=mode, **({"path_parameters": known} if known else {}))

    @seed(seed_of)
    @hypothesis_settings(
        max_examples=examples,
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=strategy)
    def ask(case: Any) -> None:
        wanted = case.as_transport_kwargs(base_url=SERVER)
        wanted.pop("cookies", None)
        wanted["headers"] = {k: v for k, v in wanted["headers"].items() if k.casefold() not in ("authorization", "user-agent")}
        answer = send(wanted)
        found.by_status[answer.status_code] += 1
        try:
            case.validate_response(answer, checks=HELD)
        except* Exception as group:
            found.wrong.append(f"{operation.label} {wanted}: {answer.status_code} {answer.text[:300]} {group.exceptions[0]}")

    ask()


def _places(operation: Any, keys: dict[str, str]) -> Iterator[dict[str, Any]]:
    """Made-up ids, and where there is something by that address, its own."""
    yield {}
    key = next((key for place, key in keys.items() if operation.path.startswith(f"/api/v1/{place}/{{")), "")
    names = {parameter.name for parameter in operation.path_parameters}
    if key and names == {"key"}:
        yield {"key": key}


def _keys(app: FastAPI, settings: Settings) -> dict[str, str]:
    with app.state.db.read() as session:
        desk = load_desk(session, settings)
        stored = {f"shop/{noun.slug}": nouns.all_stored(session, noun.kind) for noun in NOUNS}
    keys = {place: found[0].key for place, found in stored.items() if found}
    return keys | {"jobs": desk.week.jobs[0].id, "flasks": desk.open_plan.flasks[0].id}
