"""Whatever other software sends, the server answers, and as its description says: made up by Schemathesis for each role,
on the planned demo."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from databases import NewDatabase
from fuzzing import fuzz

from webapp.auth.roles import Role
from webapp.settings import Settings

ROLES = list(Role)


@pytest.fixture
def settings(
    new_database: NewDatabase,
    planned_demo: str,
    demo_settings: Callable[[str], Settings],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Settings:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return replace(demo_settings(new_database(planned_demo)), log_level="CRITICAL")


@pytest.mark.outside("Schemathesis, requests made up from an OpenAPI 3.1 description and answers held to it")
@pytest.mark.parametrize("role", ROLES)
def test_whatever_is_sent_is_answered_as_the_description_says(settings: Settings, role: Role) -> None:
    """Each role asks another share of the operations; the long campaign asks all as each."""
    found = fuzz(settings, role, examples=2, seed_of=20261126, every=2 * len(ROLES), first=2 * ROLES.index(role))
    assert found.asked > 30
    assert not found.wrong, "\n".join(found.wrong[:5])
