"""What the documents say is what the project does."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_list_of_outside_checks_is_up_to_date() -> None:
    printed = subprocess.run(
        [sys.executable, ROOT / "tests" / "outside_checks.py"], check=True, capture_output=True, text=True, encoding="utf-8"
    ).stdout
    assert printed in DEVELOPERS, "run: python tests/outside_checks.py --write"


def test_the_readme_opens_with_one_paragraph_and_has_the_two_commands() -> None:
    title, paragraph, heading, run = README.split("\n\n")[:4]
    assert (title, heading) == ("# Castweek", "## Run it")
    assert paragraph.startswith("A small lost-wax casting studio")
    assert run.strip().endswith(".venv/bin/castweek serve --demo")
    assert re.search(r"^    python3 -m venv \.venv && .* pytest$", README, re.MULTILINE)


def test_folders_that_the_guide_names_exist() -> None:
    for name in re.findall(r"^\| `([a-z_/.]+)`", DEVELOPERS, re.MULTILINE):
        if not name.endswith(".py"):
            assert (ROOT / name.split("<")[0]).exists(), name


def test_commands_that_the_guide_names_exist() -> None:
    for path in re.findall(r"`python (tests/\S+\.py)", DEVELOPERS):
        assert (ROOT / path).is_file(), path


def test_every_dependency_has_a_range() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *(d for extra in project["optional-dependencies"].values() for d in extra)]
    assert [d for d in wanted if ">=" not in d] == []
    assert [d for d in project["dependencies"] if "<" not in d and not d.startswith("tzdata")] == []
