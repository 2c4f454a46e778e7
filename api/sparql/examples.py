"""Queries to begin with: each is of use at the bench or to a reviewer, and each finds something."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.names import PREFIXES

__all__ = ["EXAMPLES", "Example"]


@dataclass(frozen=True, slots=True)
class Example:
    """A query with the question that it answers, in words."""

    key: str
    question: str
    body: str

    @property
    def query(self) -> str:
        """Return the query with the prefixes that it uses declared."""
        used = [
            f"PREFIX {prefix}: <{iri}>"
            for prefix, iri in PREFIXES.items()
            if f"{prefix}:" in self.body
        ]
        return "\n".join([*used, self.body])


EXAMPLES = (
    Example(
        "water-destroys",
        "Which materials does water destroy, and who says so?",
        """\
SELECT ?material ?label ?claim ?statement
WHERE {
  ?claim lw:agent agent:liquid-water ; lw:about ?material ;
         lw:severity 4 ; lw:statement ?statement .
  ?material skos:prefLabel ?label .
  FILTER(LANG(?label) = "en")
}
ORDER BY ?label ?claim""",
    ),
    Example(
        "techniques-without-water",
        "Which techniques answer a crease and bring no liquid water?",
        """\
SELECT ?technique ?label (MAX(?grade) AS ?efficacy)
WHERE {
  ?claim a lw:EffectClaim ; lw:technique ?technique ;
         lw:damage damage:crease ; lw:efficacy ?grade .
  ?technique skos:prefLabel ?label .
  FILTER(LANG(?label) = "en" && ?grade > 0)
  FILTER NOT EXISTS { ?technique lw:brings/lw:agent agent:liquid-water }
}
GROUP BY ?technique ?label
ORDER BY DESC(?efficacy) ?label""",
    ),
    Example(
        "kinds-of-silk",
        "What stands above and below silk?",
        """\
SELECT ?relation ?concept ?label
WHERE {
  { material:silk skos:broader+ ?concept . BIND("broader" AS ?relation) }
  UNION
  { ?concept skos:broader+ material:silk . BIND("narrower" AS ?relation) }
  ?concept skos:prefLabel ?label .
  FILTER(LANG(?label) = "en")
}
ORDER BY ?relation ?label""",
    ),
    Example(
        "disagreements",
        "Where do claims disagree?",
        """\
SELECT ?one ?says ?other ?replies
WHERE {
  ?one lw:disagreesWith ?other ; lw:statement ?says .
  ?other lw:statement ?replies .
}
ORDER BY ?one ?other""",
    ),
    Example(
        "how-known",
        "How are the claims known, and how far are they trusted?",
        """\
SELECT ?basis ?confidence (COUNT(?claim) AS ?claims)
WHERE { ?claim a lw:Claim ; lw:basis ?basis ; lw:confidence ?confidence }
GROUP BY ?basis ?confidence
ORDER BY DESC(?claims)""",
    ),
    Example(
        "rules-on-memory",
        "Which rules rest on nothing that was read in its source?",
        """\
SELECT ?rule ?message
WHERE {
  ?rule a sh:NodeShape ; sh:message ?message ; lw:restsOn ?any .
  FILTER NOT EXISTS { ?rule lw:restsOn/lw:basis lw:read }
}
GROUP BY ?rule ?message
ORDER BY ?rule""",
    ),
    Example(
        "sources-most-used",
        "Which sources carry most claims?",
        """\
SELECT ?source ?citation (COUNT(?claim) AS ?claims)
WHERE { ?claim dcterms:source ?source . ?source dcterms:bibliographicCitation ?citation }
GROUP BY ?source ?citation
ORDER BY DESC(?claims) ?source
LIMIT 20""",
    ),
    Example(
        "tests-for-dye",
        "Which tests clear an agent, and what do they cost the object?",
        """\
SELECT ?test ?label ?agent ?minutes ?lost
WHERE {
  ?test lw:goodResultClears ?agent ; skos:prefLabel ?label ;
        lw:minutes ?minutes ; lw:materialLost ?lost .
  FILTER(LANG(?label) = "en")
}
ORDER BY ?lost ?minutes ?test ?agent""",
    ),
    Example(
        "never-graded",
        "Which materials has nobody graded for heat, at any level?",
        """\
SELECT ?material ?label
WHERE {
  ?material skos:inScheme lw:materials ; skos:prefLabel ?label .
  FILTER(LANG(?label) = "en")
  MINUS {
    ?claim lw:agent agent:heat ; lw:severity ?grade ; lw:about ?level .
    ?material skos:broader* ?level .
  }
}
ORDER BY ?label""",
    ),
    Example(
        "matches",
        "A graph of the matches to another vocabulary",
        """\
CONSTRUCT { ?concept skos:closeMatch ?match ; skos:prefLabel ?label }
WHERE {
  ?concept skos:closeMatch ?match ; skos:prefLabel ?label .
  FILTER(LANG(?label) = "en")
}""",
    ),
    Example(
        "is-there-a-rule",
        "Is there a rule that forbids something for people's sake?",
        """\
ASK { ?rule a sh:NodeShape ; lw:theme "people" ; lw:verdictEffect lw:defeats }""",
    ),
)
