"""Leather, acetate and the damage terms, as published."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.knowledge.figures import figure
from tests.conftest import option


@pytest.mark.parametrize(
    ("claim", "low", "high"),
    [
        ("M-257", 58, 64),  # raw mammal skin
        ("M-258", 55, 60),  # parchment
        ("M-259", 53, 56),  # chamois
        ("M-260", 55, 60),  # alum-tawed skin
        ("M-261", 75, 85),  # vegetable-tanned: 75-80 hydrolysable, 80-85 condensed
        ("M-262", 100, 120),  # chrome-tanned
    ],
)
def test_wet_heat_shrinkage_of_new_skins(
    adviser: Adviser, claim: str, low: float, high: float
) -> None:
    """Conservation Science: Heritage Materials (RSC), leather chapter, p. 95, in °C."""
    found = figure(adviser.knowledge, f"claim:{claim}")

    assert (found.low, found.high, found.unit, found.basis) == (low, high, "°C", "read")


def test_acetone_destroys_acetate(adviser: Adviser) -> None:
    """Fabricare May/June 2018, p. 25 (M-093); the EU acetone method for fibre mixtures (M-095)."""
    sensitivity = adviser.catalogue.sensitivity(
        "material:cellulose-acetate", "agent:solvent-ketone"
    )

    assert sensitivity.harm == 4
    assert {"claim:M-093", "claim:M-095"} <= set(sensitivity.claims)


def test_a_ketone_on_acetate_is_defeated_and_no_test_lifts_it(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """M-093, M-095 as above: solvent work with a ketone is never accepted on acetate."""
    part = {
        "id": "lining",
        "name": "lining",
        "lies_flat": "yes",
        "bears_handling": "yes",
        "sound_surroundings": "yes",
        "materials": [{"material": "cellulose-acetate", "identified": "certain"}],
    }
    tests = [
        {
            "test": "hidden-spot-trial",
            "part": "lining",
            "agent": "solvent-ketone",
            "result": "good",
        }
    ]
    damage = [{"id": "split", "damage": "split", "parts": ["lining"], "evidence": "no"}]

    answer = adviser.weigh(make_case(parts=[part], damages=damage, tests=tests))

    patch = option(answer, "split", "adhesive-patch-solvent")
    assert patch.verdict == "defeated"
    assert any("acetate" in f.message for f in patch.findings if f.effect == "defeats")


def test_the_56_damage_terms_are_there_with_definition_and_source(adviser: Adviser) -> None:
    """Condition terms of the sheet, E-195 to E-250 (29 read in a museum glossary, 27 practice).

    38 further terms were added since; they rest on claims of their own or share one.
    """
    k = adviser.knowledge
    terms = k.instances("lw:Damage")
    sheet = {f"claim:E-{n}" for n in range(195, 251)}
    resting = {t: set(k.objects(t, "lw:restsOn")) for t in terms}

    assert len(terms) == 94
    assert all(k.text(t, "skos:definition") for t in terms)
    assert all(resting.values())
    assert set().union(*resting.values()) >= sheet


@pytest.mark.parametrize(
    ("damage", "activity"),
    [
        ("shattering", "active"),  # goes on in the dark too (E-209)
        ("mould-active", "active"),  # E-222
        ("mould-dormant", "inactive"),  # inactive while dry (E-223)
        ("alteration", "inactive"),  # evidence of history, not damage (E-247)
    ],
)
def test_activity_of_damage(adviser: Adviser, damage: str, activity: str) -> None:
    """The flags are a decision of the project; the sheet says so of all three."""
    assert adviser.knowledge.object(f"damage:{damage}", "lw:activity") == f"lw:{activity}"
