"""Damages, tests, techniques say what to look for; all have plain words, damages have claims."""

from __future__ import annotations

from leastwise.graph import Adviser


def test_each_damage_says_what_to_look_for(adviser: Adviser) -> None:
    k = adviser.knowledge
    silent = [d for d in k.instances("lw:Damage") if not k.text(d, "lw:lookFor")]
    assert silent == []


def test_each_test_says_what_to_look_for(adviser: Adviser) -> None:
    k = adviser.knowledge
    assert [t for t in k.instances("lw:Test") if not k.text(t, "lw:lookFor")] == []


def test_each_technique_says_what_is_watched_and_when_to_stop(adviser: Adviser) -> None:
    k = adviser.knowledge
    own = [t for t in k.instances("lw:Technique") if not k.objects(t, "lw:doneBy")]
    assert len(own) > 180
    for predicate in ("lw:setUp", "lw:monitoring", "lw:stopSign", "lw:equipment", "lw:hours"):
        assert [t for t in own if not k.objects(t, predicate)] == []


def test_damages_techniques_and_tests_have_plain_words(adviser: Adviser) -> None:
    k = adviser.knowledge
    named = [o for kind in ("lw:Damage", "lw:Technique", "lw:Test") for o in k.instances(kind)]
    own = [o for o in named if "lw:EnablingAct" not in k.objects(o, "rdf:type")]
    assert len(own) > 340
    assert [o for o in own if not k.objects(o, "skos:hiddenLabel")] == []


def test_each_damage_rests_on_a_claim_that_is_sourced_or_marked_as_practice(
    adviser: Adviser,
) -> None:
    k = adviser.knowledge
    for damage in k.instances("lw:Damage"):
        claims = k.objects(damage, "lw:restsOn")
        assert claims, damage
        for claim in claims:
            basis, sources = k.object(claim, "lw:basis"), k.objects(claim, "dcterms:source")
            assert sources or basis == "lw:practice", claim


def test_what_is_known_of_a_damage_names_it(adviser: Adviser) -> None:
    k = adviser.knowledge
    known = [c for c in k.instances("lw:Claim") if c.startswith("claim:known-")]
    assert len(known) >= 38
    for claim in known:
        damage = claim.replace("claim:known-", "damage:")
        assert k.objects(claim, "lw:about") == [damage]
        assert claim in k.objects(damage, "lw:restsOn")
