"""A case as a graph for other systems, as every door gives it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rdflib import Graph

    from leastwise.graph.case.record import Case
    from leastwise.graph.weighing.advise import Adviser

__all__ = ["Kind", "export_graph"]


class Kind(StrEnum):
    """What of a case is exported."""

    CRM = "crm"
    PROV = "prov"
    CASE = "case"


def export_graph(kind: str, case: Case, adviser: Adviser, base: str) -> Graph:
    """Return a case as a graph: ``crm``, ``prov``, or ``case`` for the record itself."""
    from leastwise.graph.exchange.crm_export import crm_graph  # noqa: PLC0415 - all of this is slow to import
    from leastwise.graph.exchange.prov_export import prov_graph  # noqa: PLC0415
    from leastwise.graph.exchange.rdf_out import case_graph, published  # noqa: PLC0415

    if kind == Kind.CASE:
        graph = case_graph(case)
    elif kind == Kind.CRM:
        graph = crm_graph(case, adviser.weigh(case), adviser.knowledge)
    else:
        graph = prov_graph(case, adviser.weigh(case))
    return published(graph, base)
