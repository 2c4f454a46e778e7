"""Every command that prints a result prints it as JSON with ``--json``."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.services.claim_questions import ask
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.backup import backup
from leastwise.api.store.backup.exported import export_all
from leastwise.graph import Adviser, Case

ROOT = Path(__file__).parents[2]
#: Commands without the option, each with the reason.
WITHOUT = {
    "schema": "what it prints is JSON already: a JSON Schema",
    "serve": "goes on until it is ended, and prints no result",
}
#: Commands that take seconds, and whose JSON the tests of their own file read.
ELSEWHERE = {
    "book": "tests/api/test_book.py",
    "compare-knowledge": "tests/knowledge/test_compare.py",
}
#: Command -> the rest of its line; {name} stands for what the fixture has put there.
LINES = {
    "demo": "",
    "check": "{case}",
    "weigh": "{case}",
    "explain": "{case} {option}",
    "why": "{case} {option} {other}",
    "what-if": "{case} {option}",
    "tests": "{case}",
    "path": "{case} --most-tests 1",
    "shares": "{case}",
    "scores": "{case} {option}",
    "arguments": "{case} {option}",
    "plan": "{case}",
    "propose": "{case} --out {folder}/proposal.html",
    "review": "demo:hasty-dancer",
    "export": "{case}",
    "dump": "vocabulary",
    "bench": "{case} 1",
    "moisture": "demo:silk-over-lining",
    "air": "--temperature 20 --rh 55",
    "light": "--lux 50 --hours-per-day 8 --days 90",
    "load slope": "--mass 1.2 --angle 20",
    "load hung": "--density 300 --drop 150",
    "load lines": "--density 300 --drop 150",
    "load weights": "--pressure 1 --area 100",
    "load tape": "--mass 2 --waist 70",
    "mount": "{case}",
    "concept": "material:silk",
    "cite": "S-033",
    "languages": "",
    "weakest": "",
    "question": "M-128 Which?",
    "questions": "",
    "settle-question": "{question} --decline No.",
    "release": "1.2.0",
    "coverage": "",
    "check-knowledge": "{turtle}",
    "import-csv": "materials",
    "accounts add": "anna --link",
    "accounts list": "",
    "accounts role": "ben reader",
    "accounts off": "ben",
    "accounts on": "ben",
    "accounts unlock": "ben",
    "accounts factor-off": "ben",
    "accounts link": "ben",
    "accounts hand-over": "me ben",
    "record": "{record}",
    "backup": "{folder}/one.backup",
    "restore": "{backup} --store {folder}/restored.sqlite",
    "verify": "",
    "export-all": "{folder}/all",
    "import-all": "{export} --store {folder}/read.sqlite",
}


def commands(command: Any, *path: str) -> Iterator[tuple[str, Any]]:
    """Yield each command with the words that call it."""
    below = getattr(command, "commands", None)
    if below is None:
        yield " ".join(path), command
        return
    for name, one in below.items():
        yield from commands(one, *path, name)


def test_every_command_has_the_option_or_a_reason() -> None:
    found = {
        name: any("--json" in option.opts for option in command.params)
        for name, command in commands(get_command(app))
    }

    assert {name for name, has in found.items() if not has} == set(WITHOUT)
    assert {*LINES, *ELSEWHERE} == set(found) - set(WITHOUT)  # and each is run below
    for name, path in ELSEWHERE.items():
        assert re.search(rf'"{name}".*"--json"\]', (ROOT / path).read_text("utf-8")), path


@pytest.fixture
def prepared(
    adviser: Adviser, make_case: Callable[..., Case], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    """A small case, a store with an account, a question and a record, and copies of it."""
    folder = tmp_path_factory.mktemp("json")
    case = make_case()
    (folder / "case.json").write_text(case.model_dump_json(), "utf-8")
    (folder / "own.ttl").write_text("# nothing\n", "utf-8")
    url = f"sqlite:///{folder / 'store.sqlite'}"
    store = Store.open(url)
    AccountStore(store).add("ben", full_name="Ben", role="reader", cohort="", password="", who="me")
    AccountStore(store).begin_factor("ben", "A" * 32, address="")
    AccountStore(store).switch_factor_on("ben", "A" * 32, 7, ["d" * 64], but="", address="")
    AccountStore(store).add(
        "eva", full_name="Eva", role="administrator", cohort="", password="", who="me"
    )
    given = {"claim": "claim:M-128", "what": "remark", "text": "Which?", "source": "", "turtle": ""}
    question = ask(store, adviser.knowledge, given, "me")
    record = store.create("case", case.model_dump(mode="json"), who="me", what="a small case")
    backup(store, folder / "kept.backup")
    export_all(store, folder / "kept")
    store.engine.dispose()
    return {
        "folder": str(folder),
        "store": url,
        "case": str(folder / "case.json"),
        "option": "crushed/damp-blotter",
        "other": "crushed/leave-and-monitor",
        "turtle": str(folder / "own.ttl"),
        "question": question.id,
        "record": record.id,
        "backup": str(folder / "kept.backup"),
        "export": str(folder / "kept"),
    }


@pytest.mark.usefixtures("loaded_once")
@pytest.mark.parametrize("command", LINES)
def test_a_command_prints_json(prepared: dict[str, str], command: str) -> None:
    words = [word.format(**prepared) for word in f"{command} {LINES[command]}".split()]
    runner = CliRunner(env={"LEASTWISE_STORE": prepared["store"], "LEASTWISE_CACHE": "off"})

    result = runner.invoke(app, [*words, "--json"])

    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout) is not None
