"""How much the knowledge holds is printed by a command, and may not fall."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph import Adviser
from leastwise.graph.reference.coverage import Coverage, measure

FLOORS = {
    "claims": 1000,
    "statements": 1000,
    "techniques": 65,
    "materials_and_structures": 300,
    "damages": 56,
    "tests": 25,
    "cautions": 60,
    "sources": 150,
    "rules": 95,
}
SHARE_OF_GRADES = 0.95


@pytest.fixture(scope="module")
def coverage(adviser: Adviser) -> Coverage:
    return measure(adviser)


@pytest.mark.parametrize(("what", "floor"), FLOORS.items())
def test_the_knowledge_holds_at_least(what: str, floor: int, coverage: Coverage) -> None:
    assert getattr(coverage, what) >= floor


def test_most_grades_of_material_and_agent_are_known(coverage: Coverage) -> None:
    assert coverage.grades.share >= SHARE_OF_GRADES
    assert all(share.share > 0.7 for share in coverage.grades_by_agent.values())


def test_the_parts_of_a_count_sum_up_to_it(coverage: Coverage) -> None:
    for parts in (
        coverage.claims_by_sheet,
        coverage.claims_by_basis,
        coverage.claims_by_confidence,
        coverage.claims_by_kind,
    ):
        assert sum(parts.values()) == coverage.claims
    assert sum(coverage.rules_by_theme.values()) == coverage.rules
    assert sum(coverage.rules_by_severity.values()) == coverage.rules
    assert sum(share.known for share in coverage.grades_by_agent.values()) == coverage.grades.known


def test_every_claim_says_how_it_is_known_and_how_far_it_can_be_trusted(
    coverage: Coverage,
) -> None:
    assert set(coverage.claims_by_basis) <= {"read", "memory", "practice"}
    assert set(coverage.claims_by_confidence) <= {"high", "moderate", "low"}


def test_only_leaving_alone_answers_no_damage(coverage: Coverage) -> None:
    assert coverage.techniques_without_effect == 1


def test_an_inherited_grade_is_counted_apart(coverage: Coverage, adviser: Adviser) -> None:
    heat = coverage.grades_by_agent["agent:heat"]
    k, catalogue = adviser.knowledge, adviser.catalogue
    kinds = ("lw:Fibre", "lw:Finish", "lw:Colourant", "lw:Component", "lw:Structure")
    materials = {m for kind in kinds for m in k.instances(kind)}
    direct = {
        about
        for c in k.instances("lw:SensitivityClaim")
        if "agent:heat" in k.objects(c, "lw:agent")
        and k.number(c, "lw:severity") is not None
        and not k.objects(c, "lw:onlyIf")
        for about in k.objects(c, "lw:about")
        if about in materials
    }

    told = materials - catalogue.uncertain_materials

    assert len(materials) == coverage.materials_and_structures
    assert heat.of == len(told) < len(materials)
    assert heat.known - heat.inherited == len(direct)
    assert all(catalogue.sensitivity(m, "agent:heat").known for m in direct)


@pytest.mark.usefixtures("loaded_once")
def test_the_command_prints_the_figures(coverage: Coverage) -> None:
    plain = CliRunner().invoke(app, ["coverage"])
    data = json.loads(CliRunner().invoke(app, ["coverage", "--json"]).stdout)

    assert plain.exit_code == 0
    assert f"techniques{coverage.techniques:>24}" in plain.stdout
    assert data["claims"] == coverage.claims
    assert data["grades"]["known"] == coverage.grades.known


def test_every_source_has_author_or_body_title_and_year_or_says_that_it_has_none(
    coverage: Coverage,
) -> None:
    assert coverage.sources_incomplete == ()
    assert 0 < len(coverage.sources_unnamed) < coverage.sources_undated
    assert len(coverage.sources_without_doi) < coverage.sources
