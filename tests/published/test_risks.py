"""Well-known risks must be stopped, tested for or told, however far off the sensitive part is."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from tests.published.risk_list import Risk, outcome, read_risks

RISKS = read_risks()


@pytest.mark.parametrize("risk", RISKS, ids=lambda risk: risk.id)
def test_a_known_risk_is_met(adviser: Adviser, risk: Risk) -> None:
    found = outcome(adviser, risk)

    assert not found.wrong, risk.data["says"]


def test_the_list_is_long_and_says_each_risk_once() -> None:
    assert len({risk.id for risk in RISKS}) == len(RISKS) >= 200
    assert len({risk.data["says"] for risk in RISKS}) == len(RISKS)
