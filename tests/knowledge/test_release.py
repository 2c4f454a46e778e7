"""A release ties digests to a version and tells what changed since the one before."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from rdflib import Graph, URIRef
from rdflib.namespace import DCTERMS, OWL, SKOS
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph.authoring.compare import (
    CaseChange,
    Comparison,
    OptionChange,
    Side,
    Stand,
    SubjectChange,
)
from leastwise.graph.authoring.release import release_statements
from leastwise.graph.exchange.statements import write
from leastwise.graph.load import open_side
from leastwise.graph.meanings import Verdict
from leastwise.graph.names import BASE

DAY = date(2026, 12, 1)


@pytest.fixture(scope="module")
def side(cache: Path) -> Side:
    return open_side("shipped", cache=cache)


def said(side: Side, since: Comparison | None = None) -> Graph:
    return Graph().parse(data=write(release_statements("1.2.0", DAY, side, since), "ttl"))


def test_it_is_named_by_its_digest_and_says_version_and_day(side: Side) -> None:
    k = side.adviser.knowledge
    graph, me = said(side), URIRef(f"{BASE}release/knowledge/{k.digest}")

    assert str(graph.value(me, OWL.versionInfo)) == "1.2.0"
    assert str(graph.value(me, DCTERMS.issued)) == "2026-12-01"
    assert str(graph.value(me, DCTERMS.identifier)) == k.digest
    rules = graph.value(me, DCTERMS.requires)
    assert str(graph.value(rules, DCTERMS.identifier)) == side.adviser.rules.digest
    assert f"{len(k.instances('lw:Claim'))} claims" in str(graph.value(me, DCTERMS.extent))
    assert not list(graph.objects(me, SKOS.changeNote))


def test_changed_verdicts_stand_in_its_notes(side: Side) -> None:
    before, after = (
        Stand(Verdict.ACCEPTED, 1, 0.1, meets_aim=True),
        Stand(Verdict.DEFEATED, 9, 0.1, meets_aim=False),
    )
    steam = OptionChange("a/steam", "steam", before, after, ["rule:known-harm"], [])
    found = Comparison(
        "old",
        "new",
        [SubjectChange("claim", "added", "claim:x", [])],
        [CaseChange("panel", {"crease": [steam]}), CaseChange("banner", {})],
    )
    notes = {str(one) for one in said(side, found).objects(None, SKOS.changeNote)}

    assert "Claims added: 1; claim:x" in notes
    assert any(one.startswith("panel, crease; steam: accepted, rank 1") for one in notes)
    assert "banner: no verdict and no rank changes." in notes


def test_the_command_prints_it_and_tells_a_day_that_is_none() -> None:
    runner = CliRunner()
    printed = runner.invoke(app, ["release", "1.2.0", "--issued", "2026-12-01"])
    wrong = runner.invoke(app, ["release", "1.2.0", "--issued", "soon"])

    assert printed.exit_code == 0
    assert len(Graph().parse(data=printed.stdout)) > 8
    assert wrong.exit_code == 2
    assert "expected a day such as" in wrong.stderr


def test_a_folder_that_is_no_knowledge_is_told(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["release", "1.2.0", "--since", str(tmp_path / "none")])

    assert result.exit_code == 2
    assert "is not a folder" in result.stderr
