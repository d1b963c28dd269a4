"""Questions in SPARQL 1.1 that go along with the export, for somebody who has nothing but the documents."""

from __future__ import annotations

from dataclasses import dataclass

from collection.output.export.linked_art.context import CRM, OWN

_PREFIXES = f"""\
PREFIX crm: <{CRM}>
PREFIX rdfs: <http://www.w3.org/2000/01/rdf-schema#>
PREFIX fc: <{OWN}>
"""


@dataclass(frozen=True)
class Question:
    asks: str
    query: str

    def text(self) -> str:
        return f"# {self.asks}\n{_PREFIXES}{self.query}"


QUESTIONS = {
    "original-under-later": Question(
        "Which objects keep original finish under later paint, where, and what share of it (low, middle, high)?",
        """\
SELECT ?object ?title ?place ?low ?middle ?high WHERE {
  ?object crm:P140i_was_attributed_by ?survival ; rdfs:label ?title .
  ?survival crm:P2_has_type fc:kind_survival ; crm:P9_consists_of ?said .
  ?said crm:P140_assigned_attribute_to ?place ; crm:P141_assigned/rdfs:label "original covered" .
  OPTIONAL { ?said fc:share_low ?low ; fc:share_middle ?middle ; fc:share_high ?high }
}
ORDER BY ?object ?place
""",
    ),
    "tests-that-harmed": Question(
        "Which cleaning tests did something to a coat or decoration of the original finish, with what, and what?",
        """\
SELECT DISTINCT ?object ?test ?agent ?did WHERE {
  ?object crm:P31i_was_modified_by ?work .
  ?work crm:P2_has_type fc:kind_test ; crm:P126_employed/rdfs:label ?agent ; crm:P9_consists_of ?seen ;
    crm:P1_is_identified_by/crm:P190_has_symbolic_content ?test .
  ?seen crm:P141_assigned/rdfs:label ?did .
  FILTER (?did != "none seen")
  { ?seen fc:scheme/crm:P2_has_type/rdfs:label "original" }
  UNION { ?seen crm:P140_assigned_attribute_to/fc:scheme/crm:P2_has_type/rdfs:label "original" }
  UNION { ?seen crm:P140_assigned_attribute_to/fc:period "original" }
  UNION {
    ?seen crm:P140_assigned_attribute_to/crm:P140i_was_attributed_by/fc:scheme/crm:P2_has_type/rdfs:label "original"
  }
}
ORDER BY ?object ?test ?did
""",
    ),
    "claims": Question(
        "What was claimed, which source says so, and what became of the claim when, by which evidence?",
        """\
SELECT ?object ?claim ?source ?became ?when ?evidence ?survey WHERE {
  ?object crm:P67i_is_referred_to_by ?said .
  ?said crm:P2_has_type fc:kind_claim ; crm:P190_has_symbolic_content ?claim ; crm:P140i_was_attributed_by ?state .
  ?state crm:P141_assigned/rdfs:label ?became ; fc:recorded_in ?brought .
  ?brought crm:P1_is_identified_by ?name . ?name a crm:E33_E41_Linguistic_Appellation ;
    crm:P190_has_symbolic_content ?survey .
  OPTIONAL { ?state crm:P4_has_time-span/crm:P82_at_some_time_within ?when }
  OPTIONAL { ?state fc:resolved_by ?evidence }
  OPTIONAL {
    ?state crm:P70i_is_documented_in/crm:P1_is_identified_by ?title .
    ?title a crm:E33_E41_Linguistic_Appellation ; crm:P190_has_symbolic_content ?source
  }
}
ORDER BY ?object ?claim ?when
""",
    ),
}
