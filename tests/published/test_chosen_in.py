"""Effect claims name the published treatments that chose them, as the entries say."""

from __future__ import annotations

import pytest

from bench.chosen_in import ALIKE, EXACT, chosen, written
from leastwise.graph import Adviser


def test_the_files_are_as_the_entries_say(adviser: Adviser) -> None:
    for path, text in written(adviser.knowledge).items():
        assert path.read_text("utf-8") == text, "python bench/chosen_in.py --write"


def test_a_treatment_entered_with_one_technique_chose_it(adviser: Adviser) -> None:
    """Osmond and Smith lined a split with adhesive, and nothing else counts as that."""
    assert "source:PT-005" in adviser.knowledge.objects("claim:effect-adhesive-lining-split", EXACT)


@pytest.mark.parametrize("predicate", [EXACT, ALIKE])
def test_what_was_chosen_is_named_by_a_source_with_a_title(
    adviser: Adviser, predicate: str
) -> None:
    k = adviser.knowledge
    named = {s for claim in k.instances("lw:EffectClaim") for s in k.objects(claim, predicate)}

    assert len(named) > 20
    assert all(k.text(one, "dcterms:title") for one in named)


def test_how_many_effects_were_chosen_by_a_published_treatment(adviser: Adviser) -> None:
    """The share may only grow."""
    found, _ = chosen(adviser.knowledge)

    assert len({claim for claim, _ in found}) >= 186
    assert len({claim for (claim, _), how in found.items() if how == EXACT}) >= 51
