"""Figures that were recalled, set beside the texts in which they were found again.

Each row names the text that was read; the older claim keeps its basis.
"""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.knowledge.figures import figure

CONFIRMED = "claim:C-"
RELATIONS = ("lw:confirms", "lw:confirmsInPart", "lw:disagreesWith")


def confirming(adviser: Adviser) -> list[str]:
    found = adviser.knowledge.instances("lw:Claim")
    return [claim for claim in found if claim.startswith(CONFIRMED)]


@pytest.mark.parametrize(
    ("claim", "low", "high", "older"),
    [
        # Handout after the Canadian guidance: high sensitivity is Blue Wool 1 to 3.
        ("C-004", 1, 3, "E-007"),
        # M. Honey, Natural History Museum, LEPS-L 2000: 72 hours at -30 °C.
        ("C-006", 72, 72, "W-277"),
        # NPS, Conserve O Gram 3/6, 1994: 6 to 10 days at -20 °C; also read for W-267.
        ("C-008", 6, 10, "W-267"),
        # Textile Engineering blog 2015: silk loses up to 20 % wet; 4.5 and 4.0 g/denier.
        ("C-012", 80, 89, "M-056"),
        # YourSageTip: wool loses about 25 % wet.
        ("C-013", 75, 75, "M-057"),
        # To Be Two 2019: flax gains about 20 % wet.
        ("C-014", 120, 120, "M-055"),
        # Avventurosamente, RET scale: 0 to 6 very good.
        ("C-020", 0, 6, "W-144"),
        # Chemwifi: 10 times to and fro in 10 seconds.
        ("C-026", 10, 10, "W-309"),
    ],
)
def test_a_figure_found_again_lies_within_what_was_recalled(
    adviser: Adviser, claim: str, low: float, high: float, older: str
) -> None:
    found = figure(adviser.knowledge, f"claim:{claim}")
    recalled = figure(adviser.knowledge, f"claim:{older}")

    assert (found.low, found.high) == (low, high)
    assert recalled.low <= found.low <= found.high <= recalled.high


def test_wet_silk_is_weaker_by_the_share_that_its_two_tenacities_give(adviser: Adviser) -> None:
    """4.0 g/denier wet over 4.5 dry = 89 %: Textile Engineering blog, 2015 (C-012)."""
    found = figure(adviser.knowledge, "claim:C-012")

    assert found.high == pytest.approx(100 * 4.0 / 4.5, abs=0.5)


def test_a_rubbing_cloth_wetted_to_twice_its_mass_holds_all_its_mass_of_water(
    adviser: Adviser,
) -> None:
    """1 g wetted to 2 g is 100 % (Chemwifi, C-026); 95 to 105 % (TextilePad, C-027)."""
    found = figure(adviser.knowledge, "claim:C-027")

    assert found.low <= 100 * (2.0 - 1.0) / 1.0 <= found.high


def test_every_confirmation_was_read_names_its_address_and_the_older_claim(
    adviser: Adviser,
) -> None:
    k = adviser.knowledge
    claims = set(k.instances("lw:Claim"))
    assert len(confirming(adviser)) >= 20
    for claim in confirming(adviser):
        source = k.object(claim, "dcterms:source") or ""
        older = [o for relation in RELATIONS for o in k.objects(claim, relation)]
        is_new = k.text(claim, "lw:claimKind") == "hazard"  # what no older claim had said
        assert k.object(claim, "lw:basis") == "lw:read", claim
        # what was read in a copy elsewhere has no address: it says in what it came out
        assert k.object(source, "rdfs:seeAlso") or k.text(source, "lw:container"), claim
        assert older or is_new, claim
        assert set(older) <= claims, claim


def test_a_source_of_low_authority_never_gives_more_than_low_confidence(adviser: Adviser) -> None:
    k = adviser.knowledge
    for claim in confirming(adviser):
        if k.is_true(k.object(claim, "dcterms:source") or "", "lw:lowAuthority"):
            assert k.object(claim, "lw:confidence") == "lw:low", claim


@pytest.mark.parametrize(
    "older", ["E-003", "E-004", "E-123", "W-277", "M-056", "M-077", "S-098", "S-224", "S-226"]
)
def test_a_claim_that_was_confirmed_keeps_its_own_basis(adviser: Adviser, older: str) -> None:
    assert adviser.knowledge.object(f"claim:{older}", "lw:basis") == "lw:memory"


def test_what_was_not_found_again_is_not_said_to_be_confirmed(adviser: Adviser) -> None:
    """The dose of category R3, the Blue Wool doses, the years to fade and the mould curve."""
    k = adviser.knowledge
    confirmed = {o for c in confirming(adviser) for o in k.objects(c, "lw:confirms")}
    missing = {"E-005", "E-025", "E-091", "W-196", "W-300", *(f"E-{n:03d}" for n in range(15, 23))}

    assert confirmed.isdisjoint({f"claim:{one}" for one in missing})


def test_prussian_blue_and_low_oxygen_is_told_both_ways(adviser: Adviser) -> None:
    """Fading without oxygen: Gervais et al. 2014 (C-009). Not in the dark: JAIC 2018 (C-010)."""
    k = adviser.knowledge

    assert "claim:W-284" in k.objects("claim:C-009", "lw:confirms")
    assert "claim:W-284" in k.objects("claim:C-010", "lw:disagreesWith")
