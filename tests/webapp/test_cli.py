"""The command line: what it prints, where, and with which exit code."""

from __future__ import annotations

import copy
import io
import json
import socket
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from domain.errors import DomainError
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.week import answer
from webapp import cli
from webapp.demo import demo_week
from webapp.exchange.documents import PlanDocument, WeekDocument
from webapp.exchange.loading import LARGEST
from webapp.settings import settings_from

Run = Callable[..., int]


@pytest.fixture(scope="module")
def week() -> dict[str, Any]:
    """A part of the demo that plans quickly: two silver jobs and one that cannot be cast."""
    document: dict[str, Any] = json.loads(WeekDocument.from_domain(demo_week(date(2026, 3, 2))).model_dump_json())
    document["jobs"] = [job for job in document["jobs"] if job["id"] in ("J103", "J105", "J146")]
    document["lots"] = [lot for lot in document["lots"] if lot["owner_job"] is None]
    return document


@pytest.fixture
def week_file(tmp_path: Path, week: dict[str, Any]) -> Path:
    path = tmp_path / "week.json"
    path.write_text(json.dumps(week), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def planned(week: dict[str, Any], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("planned")
    (folder / "week.json").write_text(json.dumps(week), encoding="utf-8")
    code = cli.main(["plan", str(folder / "week.json"), "-o", str(folder / "plan.json"), "--seconds", "1"])
    assert code == 0
    document: dict[str, Any] = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    return document


def _written(path: Path, document: Any) -> str:
    path.write_text(json.dumps(document), encoding="utf-8")
    return str(path)


def test_a_plan_that_was_made_passes_the_check(
    planned: dict[str, Any], week_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = _written(week_file.with_name("plan.json"), planned)
    assert cli.main(["check", str(week_file), plan]) == 0
    assert "keeps all rules" in capsys.readouterr().out
    assert {job for f in planned["flasks"] for ring in f["rings"] for job, _ in ring["pieces"]} == {"J103", "J105"}
    assert planned["first_day"] == "2026-03-02"
    assert planned["flasks"][0]["cast_start_local"].startswith("2026-03-0")


def test_what_is_left_out_is_told_on_standard_error_and_the_plan_is_written(
    week_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["plan", str(week_file), "--seconds", "1"]) == 0
    out, err = capsys.readouterr()
    assert [left["job"] for left in json.loads(out)["left_out"]] == ["J146"]
    assert "not planned, 1 of J146 (rule 3)" in err


def test_seconds_seed_and_determinism_reach_the_planner(
    week_file: Path, planned: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: dict[str, Any] = {}

    def remember(problem: Problem, **options: Any) -> Plan:
        asked.update(options)
        return PlanDocument.model_validate(planned).on_clock(problem.clock)

    monkeypatch.setattr(answer, "plan_week", remember)
    again = week_file.with_name("again.json")
    options = ["--seconds", "7.5", "--seed", "3", "--deterministic", "--anew"]
    assert cli.main(["plan", str(week_file), "-o", str(again), *options]) == 0
    assert asked == {"seconds": 7.5, "seed": 3, "deterministic": True, "anew": True}
    assert json.loads(again.read_text(encoding="utf-8")) == planned


def _later(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["cast_start"] += 7 * 24 * 60


def _heavier(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["charge"] += 5000


def _hotter(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["temperature"] = 900


def _fewer(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["rings"][0]["pieces"][0][1] += 1


def _gone(plan: dict[str, Any]) -> None:
    del plan["flasks"][0]


def _unknown(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["machine"] = "no-such-machine"


def _unknown_load(plan: dict[str, Any]) -> None:
    plan["flasks"][0]["load"] = "no-such-load"


@pytest.mark.parametrize("damage", [_later, _heavier, _hotter, _fewer, _gone, _unknown, _unknown_load])
def test_a_damaged_plan_is_refused_and_each_violation_is_a_line_with_its_rule(
    damage: Callable[[dict[str, Any]], None], planned: dict[str, Any], week_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = copy.deepcopy(planned)
    for flask in plan["flasks"]:
        for name in [name for name in flask if name.endswith("_local")]:
            del flask[name]
    damage(plan)
    assert cli.main(["check", str(week_file), _written(week_file.with_name("plan.json"), plan)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines
    assert all(line.startswith("rule ") and line.count(": ") >= 2 for line in lines)


def test_a_local_time_that_does_not_agree_with_its_minute_is_named(
    planned: dict[str, Any], week_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = copy.deepcopy(planned)
    plan["flasks"][0]["cast_start_local"] = "2026-03-03T09:01+01:00"
    assert cli.main(["check", str(week_file), _written(week_file.with_name("plan.json"), plan)]) == 2
    assert "flasks[0].cast_start_local: " in capsys.readouterr().err


def test_a_plan_on_another_days_clock_is_the_same_plan(planned: dict[str, Any], week_file: Path) -> None:
    plan = copy.deepcopy(planned)
    plan["first_day"] = "2026-03-01"
    for entry in [*plan["flasks"], *plan["loads"]]:
        for name in [name for name in entry if f"{name}_local" in entry]:
            entry[name] += 1440
    assert cli.main(["check", str(week_file), _written(week_file.with_name("plan.json"), plan)]) == 0


def _set(*path: Any, value: Any) -> Callable[[dict[str, Any]], None]:
    def damage(document: Any) -> None:
        for step in path[:-1]:
            document = document[step]
        document[path[-1]] = value

    return damage


def _drop(*path: Any) -> Callable[[dict[str, Any]], None]:
    def damage(document: Any) -> None:
        for step in path[:-1]:
            document = document[step]
        del document[path[-1]]

    return damage


DAMAGES = [
    (_set("jobs", 1, "pattern_mass", value=-1), "jobs[1].pattern_mass: the mass must be more than 0 g"),
    (_set("jobs", 1, "pattern_mass", value="heavy"), "jobs[1].pattern_mass: “heavy” does not start with a number"),
    (_set("jobs", 1, "pattern_mass", value=True), "jobs[1].pattern_mass: must be a number of g"),
    (_set("jobs", 1, "metal_volume", value=100), "jobs[1].pattern_mass: job J105: give the pattern's mass or"),
    (_set("jobs", 0, "alloy", value="unobtainium"), "jobs[0].alloy: there is no alloy “unobtainium”"),
    (_set("jobs", 0, "material", value="butter"), "jobs[0].material: there is no pattern material “butter”"),
    (_set("jobs", 0, "id", value="J105"), "jobs[1].id: “J105” appears twice"),
    (_set("jobs", 0, "due", value="next Friday"), "jobs[0].due: “next Friday” is not a day"),
    (_set("jobs", 0, "quantity", value=0), "jobs[0].quantity: must be at least 1"),
    (_set("jobs", 0, "quantity", value=2.5), "jobs[0].quantity: must be a whole number"),
    (_set("jobs", 0, "section", value="fat"), "jobs[0].section: must be 'thin', 'medium' or 'heavy'"),
    (_set("jobs", 0, "own_metal", value="C99"), "jobs[0].own_metal: there is no lot “C99”"),
    (_set("jobs", 0, "per_tree", value={"9x9": 4}), "jobs[0].per_tree.9x9: there is no flask size “9x9”"),
    (_set("jobs", 0, "colour", value="red"), "jobs[0].colour: is not a field of this document"),
    (_drop("jobs", 2, "size", "reach"), "jobs[2].size.reach: is missing"),
    (_drop("shop", "rules"), "shop.rules: is missing"),
    (_set("shop", "rules", "timezone", value="Mars/Olympus"), "shop.rules.timezone: “Mars/Olympus” is not a time zone"),
    (_set("shop", "alloys", 0, "melt_loss", value=60), "shop.alloys[0].melt_loss: the melt loss must not be more than 50 %"),
    (_set("shop", "alloys", 0, "pour", value={"low": 900, "high": 800}), "shop.alloys[0].pour: the range ends (800 °C) below"),
    (_drop("shop", "alloys", 0, "flask_temperature", "thin"), "shop.alloys[0].flask_temperature: Fine silver has no flask"),
    (_set("shop", "kilns", 0, "width", value="10 kg"), "shop.kilns[0].width: “10 kg”"),
    (_set("shop", "machines", 0, "fits", value=["9x9"]), "shop.machines[0].fits: there is no flask size “9x9”"),
    (_set("lots", 0, "composition", "Cu", value=5), "lots[0].composition: the shares add up to 105 %"),
    (_set("lots", 0, "mass", value=1e400), "not JSON that can be read"),
    (_set("now", value="2026-03-02T07:00+01:00"), "now: is the shop's local time"),
    (_set("pinned", value=["F1"]), "pinned: there is no flask “F1” in the previous plan"),
    (_set("format", value="castweek-plan"), "format: must be 'castweek-week'"),
    (_set("version", value=2), "version: must be 1"),
    (_drop("format"), "format: is missing"),
    (_set("jobs", 0, "may_split", value=1), "jobs[0].may_split: must be true or false"),
    (_set("jobs", 0, "weight", value=True), "jobs[0].weight: must be a number, not true or false"),
    (_set("jobs", value={}), "jobs: must be a list"),
]


@pytest.mark.parametrize(("damage", "message"), DAMAGES, ids=[message[:40] for _, message in DAMAGES])
def test_a_wrong_field_is_named_by_its_path(
    damage: Callable[[dict[str, Any]], None],
    message: str,
    week: dict[str, Any],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    broken = copy.deepcopy(week)
    damage(broken)
    path = _written(tmp_path / "week.json", broken)
    assert cli.main(["plan", path]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{path}: {message}" in err


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "not JSON: Expecting value in line 1, column 1"),
        (b"{\n  3", "in line 2, column 3"),
        (b"\xff\xfe{}", "not UTF-8 text"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a":' * 50 + b"1" + b"}" * 50, "nested too deeply"),
        (b'{"jobs": 1, "jobs": 2}', "“jobs” appears twice in one object"),
        (b'{"now": NaN}', "NaN is not a number"),
        (b"[]", "must be an object"),
        (b"9" * 5000, "not JSON that can be read"),
        (b" " * (LARGEST + 1), "too large for a document"),
    ],
    ids=["empty", "cut", "utf16", "deep", "rather deep", "twice", "nan", "list", "long number", "huge"],
)
def test_a_file_that_is_no_document_is_refused_calmly(
    content: bytes, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "week.json"
    path.write_bytes(content)
    assert cli.main(["plan", str(path)]) == 2
    assert message in capsys.readouterr().err


def test_a_file_that_is_not_there_is_wrong_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["plan", str(tmp_path / "none.json")]) == 2
    assert "cannot be read: No such file" in capsys.readouterr().err


def test_more_than_fifty_errors_are_only_counted(week: dict[str, Any], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    broken = copy.deepcopy(week)
    broken["jobs"] = [{"id": f"X{n}"} for n in range(30)]
    assert cli.main(["plan", _written(tmp_path / "week.json", broken)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 51
    assert lines[-1].startswith("… and ")


def test_texts_out_of_a_file_do_not_steer_the_terminal(
    week: dict[str, Any], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = copy.deepcopy(week)
    broken["jobs"][0]["alloy"] = "\x1b[2Jgone"
    assert cli.main(["plan", _written(tmp_path / "week.json", broken)]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_a_plan_may_not_be_written_into_a_folder_that_is_not_there(
    week_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli, "_solved", lambda *_: Plan())
    monkeypatch.setattr(cli, "check", lambda *_: ())
    assert cli.main(["plan", str(week_file), "-o", str(week_file.parent / "none" / "plan.json")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_plan_that_breaks_a_rule_is_not_written(
    week_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli, "_solved", lambda *_: Plan())
    target = week_file.with_name("plan.json")
    assert cli.main(["plan", str(week_file), "-o", str(target)]) == 3
    assert not target.exists()
    assert "rule 11" in capsys.readouterr().err


def test_a_planner_that_fails_is_no_plan(
    week_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: Any) -> Plan:
        raise DomainError("the shop has no kiln")

    monkeypatch.setattr(cli, "_solved", refuse)
    assert cli.main(["plan", str(week_file)]) == 3
    assert capsys.readouterr().err == "the shop has no kiln\n"


def test_a_planner_that_crashes_is_no_plan(
    week_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def crash(*_: Any) -> Plan:
        raise RuntimeError

    monkeypatch.setattr(cli, "_solved", crash)
    assert cli.main(["plan", str(week_file)]) == 3
    assert "nobody expected" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["plan"], ["sing"], ["plan", "w.json", "--seconds", "0"], ["serve", "--port", "0"]])
def test_a_command_line_that_is_not_understood_is_wrong_input(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(arguments)
    assert ended.value.code == 2


@pytest.mark.parametrize(("name", "document"), [("week", WeekDocument), ("plan", PlanDocument)])
def test_the_schema_of_a_document_is_printed(name: str, document: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema", name]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert schema["title"] == document.__name__


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["version"]) == 0
    assert capsys.readouterr().out == f"castweek {version('castweek')}\n"


def test_a_week_and_a_plan_cannot_both_be_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"{}")))
    assert cli.main(["check", "-", "-"]) == 2
    assert "cannot be both" in capsys.readouterr().err


def test_a_port_in_use_is_said_before_the_demo_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert cli.main(["serve", "--demo", "--no-browser", "--port", str(port)]) == 2
    assert f"port {port} is in use" in capsys.readouterr().err
    assert not list(tmp_path.rglob("*.sqlite3"))


def test_a_second_demo_takes_the_next_port_and_a_database_of_its_own(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        first = settings_from({"XDG_DATA_HOME": str(tmp_path)}, demo=True, port=port)
        second = cli._demo_beside_others(first)
    assert second.port > port
    assert second.database_url.endswith(f"demo-{second.port}.sqlite3")
    assert cli._demo_beside_others(first) == first  # the port is free again


def test_a_reader_that_stops_reading_is_no_error() -> None:
    command = f"{sys.executable} -m webapp.cli schema week"
    with subprocess.Popen(command.split(), stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        assert run.stderr.read() == b""


def test_standard_output_is_nothing_but_the_plan(week_file: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "webapp.cli", "plan", "-", "--seconds", "1"],
        input=week_file.read_bytes(),
        capture_output=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr.decode()
    assert json.loads(run.stdout)["format"] == "castweek-plan"
