"""Each damage says what to look for and rests on a claim with a source, or marked as practice."""

from __future__ import annotations

from leastwise.graph import Adviser


def test_each_damage_says_what_to_look_for(adviser: Adviser) -> None:
    k = adviser.knowledge
    silent = [d for d in k.instances("lw:Damage") if not k.text(d, "lw:lookFor")]
    assert silent == []


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
