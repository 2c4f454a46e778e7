"""Ways between two things: every tie is in the knowledge, and the order is sensible."""

from __future__ import annotations

from itertools import pairwise

import pytest

from leastwise.graph import Adviser
from leastwise.graph.reference.book import build_reference
from leastwise.graph.reference.paths import LONGEST, PathGraph, Tie, build_paths, order_ties


@pytest.fixture(scope="module")
def paths(adviser: Adviser) -> PathGraph:
    return build_paths(build_reference(adviser.knowledge, adviser.rules), adviser.knowledge)


def test_steam_reaches_a_gelatin_sequin_by_what_it_brings(paths: PathGraph) -> None:
    first = paths.between("technique:steam", "material:gelatin-sequins")[0]

    assert [tie.kind for tie in first.ties] == ["brings", "harms"]
    assert first.nodes[1] in ("agent:heat", "agent:water-vapour")
    assert first.ties[1].grade == 4
    assert first.ties[1].claims


def test_a_direct_tie_is_the_first_way(paths: PathGraph) -> None:
    found = paths.between("agent:water-vapour", "material:gelatin-sequins")

    assert len(found[0].ties) == 1
    assert found[0].ties[0].kind == "harms"


def test_a_material_without_a_grade_of_its_own_is_reached_by_the_broader_one(
    paths: PathGraph, adviser: Adviser
) -> None:
    found = adviser.catalogue.sensitivity("material:cochineal", "agent:heat")
    assert found.inherited_from

    kinds = [[t.kind for t in p.ties] for p in paths.between("agent:heat", "material:cochineal")]
    assert any("broader" in one for one in kinds)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ("technique:immersion-washing", "material:weighted-silk"),
        ("damage:crease", "material:velvet"),
        ("test:colourfastness-water", "material:silk"),
        ("caution:known-harm", "material:silk"),
        ("technique:laid-couching", "damage:embrittlement"),
    ],
)
def test_ways_hang_together_and_get_no_shorter(paths: PathGraph, start: str, end: str) -> None:
    found = paths.between(start, end)

    assert found
    for path in found:
        assert (path.nodes[0], path.nodes[-1]) == (start, end)
        assert len(set(path.nodes)) == len(path.nodes)
        assert len(path.ties) == len(path.nodes) - 1 <= LONGEST
        for step, tie in zip(pairwise(path.nodes), path.ties, strict=True):
            assert {tie.subject, tie.object} == set(step)
    shapes = [tuple(tie.kind for tie in path.ties) for path in found]
    assert max(shapes.count(shape) for shape in shapes) <= 2


def test_every_tie_stands_in_the_knowledge(paths: PathGraph, adviser: Adviser) -> None:
    k, catalogue = adviser.knowledge, adviser.catalogue
    told = {"brings": 0, "harms": 0, "answers": 0, "broader": 0, "together": 0}
    for _, _, data in paths.graph.edges(data=True):
        tie: Tie = data["tie"]
        if tie.kind == "brings":
            assert tie.object in {u.agent for u in catalogue.techniques[tie.subject].brings}
        elif tie.kind == "harms":
            assert catalogue.sensitivity(tie.object, tie.subject).harm == tie.grade
        elif tie.kind == "answers":
            assert k.number(tie.claims[0], "lw:efficacy") == tie.grade > 0
        elif tie.kind == "broader":
            assert tie.object in k.objects(tie.subject, "skos:broader")
        elif tie.kind == "together":
            named = {*k.objects(tie.claims[0], "lw:about"), *k.objects(tie.claims[0], "lw:agent")}
            assert {tie.subject, tie.object} <= named
        if tie.kind in told:
            told[tie.kind] += 1
        assert all(claim in k for claim in tie.claims)
    assert min(told.values()) > 50


def test_schemes_and_sources_are_no_way(paths: PathGraph) -> None:
    prefixes = {one.partition(":")[0] for one in paths.graph}

    assert not prefixes & {"lw", "source", "claim"}
    assert {"technique", "agent", "material", "damage", "test", "rule"} <= prefixes


def test_where_there_is_no_way_none_is_told(paths: PathGraph) -> None:
    assert paths.between("material:silk", "material:silk") == ()
    assert paths.between("material:silk", "material:nothing") == ()
    assert paths.between("nothing:at-all", "material:silk") == ()


def test_the_same_question_gets_the_same_answer(paths: PathGraph, adviser: Adviser) -> None:
    again = build_paths(build_reference(adviser.knowledge, adviser.rules), adviser.knowledge)
    ends = ("damage:crease", "material:velvet")

    assert again.between(*ends) == paths.between(*ends)


def test_the_order_of_work_is_told_with_its_reason(adviser: Adviser) -> None:
    ties = list(order_ties(adviser.knowledge))
    mine = next(
        t
        for t in ties
        if (t.subject, t.object) == ("technique:immersion-washing", "technique:bleaching")
    )

    assert mine.says == "comes before"
    assert mine.more
    assert "claim:W-253" in mine.claims
