"""Order and conflicts: groups hold for what is narrower, and a circle is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from leastwise.graph import Adviser
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import load_knowledge
from leastwise.graph.planning.precedence import OrderBook, OrderError, share_parts
from leastwise.graph.planning.steps import in_order_of_work

HEAD = """
@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix prec: <https://w3id.org/leastwise/precedence/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix technique: <https://w3id.org/leastwise/technique/> .
@prefix claim: <https://w3id.org/leastwise/claim/> .
technique:vacuum a lw:Technique ; skos:prefLabel "vacuum"@en ; skos:broader technique:dry .
technique:wash a lw:Technique ; skos:prefLabel "wash"@en ; skos:broader technique:wet .
technique:glue a lw:Technique ; skos:prefLabel "glue"@en ; skos:broader technique:bond .
technique:sew a lw:Technique ; skos:prefLabel "sew"@en ; skos:broader technique:stitch .
technique:tack a lw:Technique ; skos:prefLabel "tack"@en ;
    skos:broader technique:stitch , technique:bond .
prec:dry-first a lw:Precedence ; lw:before technique:dry ; lw:after technique:wet ;
    lw:because "Loose soil goes first."@en ; lw:basis lw:practice ; lw:restsOn claim:X-1 .
"""
Book = Callable[[str], OrderBook]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    def make(more: str = "") -> OrderBook:
        path = tmp_path / "order.ttl"
        path.write_text(HEAD + more, "utf-8")
        return OrderBook(load_knowledge(files=[path]))

    return make


def order(book: OrderBook, works: list[tuple[str, tuple[str, ...]]]) -> list[str]:
    graph = book.order_of(works, lambda w: f"technique:{w[0]}", lambda w: w[1])
    return [w[0] for w in in_order_of_work(works, graph, lambda w: w[0])]


def test_what_is_said_of_groups_holds_for_their_techniques(book: Book) -> None:
    (entry,) = book("").says_before("technique:vacuum", "technique:wash")

    assert entry.because == "Loose soil goes first."
    assert entry.rests_on == ("claim:X-1",)
    assert entry.id == "precedence:dry-first"
    assert book("").says_before("technique:wash", "technique:vacuum") == []


def test_work_on_the_same_part_is_put_in_order(book: Book) -> None:
    assert order(book(""), [("wash", ("hem",)), ("vacuum", ("hem",))]) == ["vacuum", "wash"]


def test_work_on_other_parts_keeps_the_same_order(book: Book) -> None:
    assert order(book(""), [("wash", ("hem",)), ("vacuum", ("collar",))]) == ["vacuum", "wash"]


def test_across_parts_what_one_part_forces_wins(book: Book) -> None:
    works = [("wash", ("hem",)), ("sew", ("hem", "collar")), ("vacuum", ("collar",))]
    more = """
    prec:a a lw:Precedence ; lw:before technique:wet ; lw:after technique:stitch .
    prec:b a lw:Precedence ; lw:before technique:sew ; lw:after technique:vacuum .
    """

    assert order(book(more), works) == ["wash", "sew", "vacuum"]


def test_what_speaks_of_the_nearer_group_counts(book: Book) -> None:
    more = "prec:n a lw:Precedence ; lw:before technique:wash ; lw:after technique:vacuum ."
    nearer = book(more)

    assert [p.id for p in nearer.says_before("technique:wash", "technique:vacuum")] == [
        "precedence:n"
    ]
    assert nearer.says_before("technique:vacuum", "technique:wash") == []
    nearer.check()


def test_what_an_entry_excepts_it_says_nothing_of(book: Book) -> None:
    more = """
    prec:e a lw:Precedence ; lw:before technique:wet ; lw:after technique:stitch ;
        lw:exceptFor technique:tack .
    """

    assert book(more).says_before("technique:wash", "technique:sew")
    assert book(more).says_before("technique:wash", "technique:tack") == []


def test_no_parts_means_the_whole_object(book: Book) -> None:
    assert order(book(""), [("wash", ()), ("vacuum", ("bodice",))]) == ["vacuum", "wash"]
    assert share_parts((), ("x",))
    assert not share_parts(("y",), ("x",))


def test_a_circle_is_an_error_that_names_it(book: Book) -> None:
    circular = book(
        "prec:wet-first a lw:Precedence ; lw:before technique:wash ; lw:after technique:glue .\n"
        "prec:glue-first a lw:Precedence ; lw:before technique:bond ; lw:after technique:dry ."
    )

    with pytest.raises(OrderError) as told:
        order(circular, [("wash", ()), ("vacuum", ()), ("glue", ())])

    said = str(told.value)
    assert isinstance(told.value, KnowledgeError)
    assert all(name in said for name in ("wash", "vacuum", "glue", "is a circle"))
    assert all(entry in said for entry in ("dry-first", "wet-first", "glue-first"))
    with pytest.raises(OrderError):
        circular.check()


def test_a_technique_of_both_groups_is_in_no_order_with_itself_or_its_like(book: Book) -> None:
    both = book("prec:s a lw:Precedence ; lw:before technique:stitch ; lw:after technique:bond .")

    assert both.says_before("technique:tack", "technique:tack") == []
    assert both.says_before("technique:sew", "technique:glue")
    assert order(both, [("tack", ()), ("glue", ()), ("sew", ())]).index("glue") == 2


def test_what_can_no_longer_follow_has_to_come_first(book: Book) -> None:
    one_way = book("prec:c a lw:Conflict ; lw:before technique:bond ; lw:rulesOut technique:wet .")

    assert order(one_way, [("glue", ("hem",)), ("wash", ("hem",))]) == ["wash", "glue"]
    assert one_way.exclusive("technique:glue", "technique:wash") == []


def test_two_that_would_each_have_to_come_first_exclude_each_other(book: Book) -> None:
    stuck = book(
        "prec:c a lw:Conflict ; lw:before technique:bond ; lw:rulesOut technique:wet .\n"
        "prec:p a lw:Precedence ; lw:before technique:bond ; lw:after technique:wet ."
    )

    (conflict,) = stuck.exclusive("technique:glue", "technique:wash")

    assert conflict.id == "precedence:c"


def test_a_conflict_without_an_order_excludes_both_ways(book: Book) -> None:
    flat = book("prec:c a lw:Conflict ; lw:rulesOut technique:bond , technique:wet .")

    assert flat.exclusive("technique:glue", "technique:wash")
    assert flat.exclusive("technique:wash", "technique:glue")
    assert not flat.exclusive("technique:glue", "technique:vacuum")


def test_a_hedged_conflict_excludes_nothing_but_goes_the_safe_way_round(book: Book) -> None:
    hedged = book(
        "prec:c a lw:Conflict ; lw:before technique:bond ; lw:rulesOut technique:dry ;"
        ' lw:unless "the bond is open"@en .'
    )

    assert hedged.exclusive("technique:glue", "technique:vacuum") == []
    assert order(hedged, [("glue", ()), ("vacuum", ())]) == ["vacuum", "glue"]
    (wait,) = hedged.waits("technique:glue", "technique:vacuum")
    assert wait.unless == "the bond is open"


def test_the_shipped_precedences_have_no_circle(adviser: Adviser) -> None:
    shipped = OrderBook(adviser.knowledge)

    shipped.check()

    assert all(p.before and p.after and p.because for p in shipped.precedences)
    assert all(c.rules_out and c.because for c in shipped.conflicts)
