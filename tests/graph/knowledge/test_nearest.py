"""The nearest ways through the contacts are those that networkx finds from ordered sources."""

from __future__ import annotations

import random

import networkx as nx

from leastwise.graph.weighing.contacts import Ways, _nearest


def test_the_ways_are_those_of_networkx() -> None:
    rng = random.Random(5)  # noqa: S311 - graphs, not secrets
    several = 0
    for _ in range(300):
        parts = [f"p{i}" for i in range(rng.randint(2, 14))]
        ways: Ways = {part: {} for part in parts}
        for _ in range(rng.randint(0, 40)):
            start, end = rng.sample(parts, 2)
            ways[start][end] = rng.randint(0, 3)
        sources = tuple(rng.sample(parts, rng.randint(1, min(3, len(parts)))))
        most = rng.randint(0, 4)
        graph: nx.DiGraph[str] = nx.DiGraph()
        graph.add_nodes_from(parts)
        graph.add_edges_from((a, b, {"loss": x}) for a in parts for b, x in ways[a].items())
        losses, paths = nx.multi_source_dijkstra(
            graph, dict.fromkeys(sources), cutoff=most, weight="loss"
        )
        found = _nearest(ways, sources, most)
        assert found == {part: (losses[part], tuple(paths[part])) for part in losses}
        several += len(found) > len(sources) + 2
    assert several > 50  # the graphs are not all trivial
