"""The decision methods against published and hand-worked examples, each beside its source."""

from __future__ import annotations

from math import log2

import networkx as nx
import numpy as np
import pytest

from leastwise.graph.questions.acceptability import Uncertain, rank_shares, share_ranks
from leastwise.graph.questions.information import evpi, evsi
from leastwise.graph.questions.preferred import preferred_extensions
from leastwise.graph.questions.weights import draw_weights
from leastwise.graph.questions.why import fewest
from leastwise.graph.weighing.argument import grounded_labelling

DRAWS = 200_000
WITHIN = 5 * 0.5 / DRAWS**0.5  # five standard errors


def valued(name: str, *values: float) -> Uncertain:
    """Return an option from values in 0..1, higher better, as burdens 0..4, lower better."""
    return Uncertain(name, tuple((4 * (1 - v),) * 3 for v in values))


def test_acceptability_of_three_options_is_the_one_of_the_geometry() -> None:
    """Exact by geometry: a = (1, 0), b = (0, 1), c = (0.6, 0.6), weights uniform on a line.

    With w the first weight, a is worth w, b 1 - w, c 0.6: a is first above 0.6, b below 0.4, c
    between; a is second (before b) only between 0.5 and 0.6. The means of w there are 0.8, 0.2
    and 0.5. It shows why first ranks alone are not enough: the compromise c is first least often
    (Lahdelma and Salminen 2001, SMAA-2, abstract).
    """
    found = [valued("a", 1, 0), valued("b", 0, 1), valued("c", 0.6, 0.6)]
    weights = draw_weights(2, DRAWS, np.random.default_rng(1))

    ranked = rank_shares(found, weights, 0)

    expected = [[0.4, 0.1, 0.5], [0.4, 0.1, 0.5], [0.2, 0.8, 0.0]]
    assert ranked.shares == pytest.approx(np.array(expected), abs=WITHIN)
    centres = [(0.8, 0.2), (0.2, 0.8), (0.5, 0.5)]
    for central, centre in zip(ranked.central, centres, strict=True):
        assert central == pytest.approx(np.array(centre), abs=0.002)
    assert ranked.confidence == (1.0, 1.0, 1.0)


def test_entropy_of_the_first_place_is_the_published_one() -> None:
    """First ranks 0.3504 and 0.6496 have an entropy of 0.9344 bits.

    Pinned output of the R package smaa 0.3-2, its example of two blood thinners (read in
    smaa-Ex.Rout.save; its stored draws are not used). Here two options whose first ranks have
    these shares by geometry: a is first where the first weight exceeds 0.6496.
    """
    cut = 0.6496
    found = [valued("a", 1, 0), valued("b", cut, cut)]
    weights = draw_weights(2, DRAWS, np.random.default_rng(2))

    ranked = rank_shares(found, weights, 0)

    assert ranked.shares[:, 0] == pytest.approx([0.3504, 0.6496], abs=WITHIN)
    assert ranked.entropy_bits == pytest.approx(0.9344, abs=0.004)
    assert -sum(p * log2(p) for p in (0.3504, 0.6496)) == pytest.approx(0.9344, abs=5e-5)


def test_an_option_that_is_never_first_has_no_central_weights() -> None:
    """Pinned in the same package (tests/nacw.R): undefined, which is not the same as zero."""
    found = [valued("a", 0.9, 0.9), valued("b", 0.1, 0.1)]

    ranked = rank_shares(found, draw_weights(2, 1000, np.random.default_rng(3)), 0)

    assert ranked.central[1] is None
    assert ranked.confidence[1] is None
    assert ranked.shares[1].tolist() == [0.0, 1.0]


def test_weights_under_a_full_order_have_the_rank_order_centroid_as_mean() -> None:
    """w_j = (1/n) sum over k from j to n of 1/k; n = 4 gives 0.5208, 0.2708, 0.1458, 0.0625."""
    order = frozenset({(0, 1), (1, 2), (2, 3)})

    mean = draw_weights(4, DRAWS, np.random.default_rng(4), order).mean(axis=0)

    assert mean == pytest.approx([0.5208, 0.2708, 0.1458, 0.0625], abs=0.002)


def test_six_ways_of_heating_rank_as_published_under_equal_weights() -> None:
    """Kracka, Brauers and Zavadskas 2010, Inzinerine Ekonomika 21(4):352-359.

    As pinned in scikit-criteria (tests/agg/test_simple.py, read; the paper was not opened):
    equal weights, minimised columns inverted, columns divided by their sums.
    """
    table = np.array(
        [
            [33.95, 23.78, 11.45, 39.97, 29.44, 167.10, 3.852],
            [38.9, 4.17, 6.32, 0.01, 4.29, 132.52, 25.184],
            [37.59, 9.36, 8.23, 4.35, 10.22, 136.71, 10.845],
            [30.44, 37.59, 13.91, 74.08, 45.10, 198.34, 2.186],
            [36.21, 14.79, 9.17, 17.77, 17.06, 148.3, 6.610],
            [37.8, 8.55, 7.97, 2.35, 9.25, 134.83, 11.935],
        ]
    )
    smaller_is_better = [True, True, True, True, False, True, False]
    table[:, smaller_is_better] = 1 / table[:, smaller_is_better]
    worth = (table / table.sum(axis=0)).mean(axis=1)
    published = [0.12040426, 0.3458235, 0.13838192, 0.12841246, 0.12346084, 0.14351701]
    assert worth == pytest.approx(published, abs=1e-7)

    shares, _ = share_ranks(1 - worth[None, :], np.zeros((1, 6), dtype=np.int64))

    assert (shares @ np.arange(1, 7)).tolist() == [6, 1, 3, 4, 5, 2]


def test_perfect_information_on_the_market_is_worth_350() -> None:
    """liquisearch.com, expected value of perfect information, example (read).

    Up 0.5, even 0.3, down 0.2; stock, fund and deposit. Means 680, 590, 500; with perfect
    information 1030.
    """
    utility = [[1500, 300, -800], [900, 600, -200], [500, 500, 500]]

    assert evpi([0.5, 0.3, 0.2], utility) == pytest.approx(350)


def test_a_dye_test_that_may_err_is_worth_26_40() -> None:
    """Worked by hand: wet treatment 100 if fast and -200 if fugitive, dry 40; fugitive 0.3.

    The test says fugitive with 0.9 if it is and 0.2 if it is not. After that result (0.41) dry is
    chosen, 40; after the other (0.59) wet, 84.7458; 66.40 in all, against 40 without the test.
    Perfect information is worth 42.
    """
    utility, prior = [[100, -200], [40, 40]], [0.7, 0.3]

    assert evsi(prior, utility, [[0.2, 0.9], [0.8, 0.1]]) == pytest.approx(26.40, abs=0.005)
    assert evpi(prior, utility) == pytest.approx(42)
    assert evsi(prior, utility, [[1, 0], [0, 1]]) == pytest.approx(42)
    assert evsi(prior, utility, [[0.5, 0.5], [0.5, 0.5]]) == 0.0


@pytest.mark.parametrize(
    ("attacks", "grounded", "preferred"),
    [
        # arXiv 1802.01526: a cycle of three has no non-empty admissible set
        ([("a", "b"), ("b", "c"), ("c", "a")], set(), [set()]),
        # worked from Dung 1995, definitions 6, 7 and 20
        ([("b", "a"), ("c", "b")], {"a", "c"}, [{"a", "c"}]),
        ([("a", "b"), ("b", "a")], set(), [{"a"}, {"b"}]),
        ([("a", "b"), ("b", "c"), ("c", "a"), ("d", "c")], {"a", "d"}, [{"a", "d"}]),
        # floating acceptance: c is out in every story, d in, though nothing is grounded
        ([("a", "b"), ("b", "a"), ("a", "c"), ("b", "c"), ("c", "d")], set(),
         [{"a", "d"}, {"b", "d"}]),
    ],
)  # fmt: skip
def test_argument_graphs_are_read_as_published(
    attacks: list[tuple[str, str]], grounded: set[str], preferred: list[set[str]]
) -> None:
    graph = nx.DiGraph(attacks)

    assert {n for n, label in grounded_labelling(graph).items() if label == "in"} == grounded
    assert [set(extension) for extension in preferred_extensions(graph)] == preferred


def test_a_contrast_names_the_one_criterion_that_outweighs_the_loss() -> None:
    """By hand: weights 0.5, 0.3, 0.2; (0.9, 0.4, 0.6) against (0.5, 0.8, 0.6).

    The contributions are +0.20, -0.12 and 0, so the first criterion alone outweighs the second.
    """
    weights, a, b = (0.5, 0.3, 0.2), (0.9, 0.4, 0.6), (0.5, 0.8, 0.6)
    parts = {f"c{i}": w * (x - y) for i, (w, x, y) in enumerate(zip(weights, a, b, strict=True))}

    assert parts == pytest.approx({"c0": 0.20, "c1": -0.12, "c2": 0.0})
    assert fewest(parts) == ["c0"]
