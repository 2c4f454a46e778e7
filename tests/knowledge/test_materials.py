"""What a material's name stands for, and which materials carry a grade of harm."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import OptionAnswer
from leastwise.graph.case.names import name_table
from leastwise.graph.case.values import fold_name
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.shacl.terms import split_literal
from tests.conftest import option

KINDS = ("lw:Fibre", "lw:Finish", "lw:Colourant", "lw:Component", "lw:Structure")

#: What a cloth is called; each is woven of several fibres.
CLOTHS = (
    "taffeta", "organza", "faille", "habotai", "muslin", "batiste", "calico", "satin", "chiffon",
    "georgette", "moiré", "velvet", "plush", "brocade", "damask", "grosgrain", "canvas", "tulle",
    "jersey", "felt", "gauze", "lawn", "voile", "crepe de chine", "serge", "organdie",
)  # fmt: skip
#: Words for several fibres, one of which acetone dissolves.
LOOSE_WORDS = ("rayon", "artificial silk", "art silk", "imitation silk")
#: Names that makers gave, some of them to more than one fibre or plastic.
TRADE_NAMES = (
    "Celanese", "Tricel", "Orlon", "Courtelle", "Terylene", "Dacron", "Crimplene", "Lycra",
    "Lurex", "Bemberg", "Bakelite", "Perspex", "Galalith", "French ivory",
)  # fmt: skip
#: Rules that speak of what a material is, or of what an agent does to it.
OF_MATERIALS = {
    "rule:acetone-on-acetate", "rule:ketone-needs-an-acetone-drop", "rule:unidentified-material",
    "rule:unknown-sensitivity", "rule:known-harm", "rule:likely-harm", "rule:possible-harm",
    "rule:serious-harm", "rule:tested-bad",
}  # fmt: skip


@pytest.fixture(scope="module")
def k(adviser: Adviser) -> Knowledge:
    return adviser.knowledge


@pytest.fixture(scope="module")
def materials(k: Knowledge) -> list[str]:
    return sorted({m for kind in KINDS for m in k.instances(kind)})


@pytest.fixture(scope="module")
def names(k: Knowledge) -> dict[str, str]:
    return name_table(k, "material")


def is_untold(k: Knowledge, material: str) -> bool:
    """Return whether a concept says that the material has yet to be found out."""
    return k.is_true(material, "lw:unidentified")


# --- names


@pytest.mark.parametrize("name", CLOTHS)
def test_the_name_of_a_cloth_names_no_fibre(name: str, names: dict[str, str], k: Knowledge) -> None:
    assert "lw:Fibre" not in k.objects(names[fold_name(name)], "rdf:type")


@pytest.mark.parametrize("name", [*LOOSE_WORDS, *TRADE_NAMES])
def test_a_loose_word_or_a_trade_name_leaves_the_material_open(
    name: str, names: dict[str, str], k: Knowledge
) -> None:
    found = names[fold_name(name)]

    assert is_untold(k, found)
    assert k.objects(found, "lw:identifiedBy")


@pytest.mark.parametrize("name", TRADE_NAMES)
def test_a_trade_name_is_found_and_never_shown(name: str, k: Knowledge) -> None:
    shown = {
        text
        for concept in k.instances("skos:Concept")
        for label in ("skos:prefLabel", "skos:altLabel")
        for text in k.texts(concept, label)
    }

    assert name not in shown


def test_one_name_stands_for_one_material(k: Knowledge) -> None:
    named: dict[str, set[str]] = defaultdict(set)
    for concept in k.instances("skos:Concept"):
        if concept.startswith("material:"):
            for label in ("skos:prefLabel", "skos:altLabel", "skos:hiddenLabel"):
                for text in k.texts(concept, label):
                    named[fold_name(text)].add(concept)

    assert not {name: found for name, found in named.items() if len(found) > 1}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("kermes", "cochineal"),
        ("safflower", "turmeric"),
        ("lamé yarn", "metal thread"),
        ("felt", "hat felt"),
        ("fur felt", "wool felt hat"),
        ("velvet", "plush"),
        ("chenille", "velvet"),
        ("net", "lace"),
        ("bobbin lace", "needle lace"),
        ("jute", "linen"),
        ("horsehair", "wool"),
        ("camel hair", "wool"),
        ("oil paint", "distemper"),
        ("tussah", "mulberry silk"),
        ("cuprammonium", "viscose"),
        ("gut", "rawhide"),
    ],
)
def test_two_materials_whose_risks_differ_are_two(
    one: str, other: str, names: dict[str, str]
) -> None:
    assert names[fold_name(one)] != names[fold_name(other)]


def test_no_pleats_are_called_after_a_dressmaker(k: Knowledge) -> None:
    shown = (*k.texts("material:delphos-pleats", "skos:prefLabel"),
             *k.texts("material:delphos-pleats", "skos:altLabel"))  # fmt: skip

    assert not [text for text in shown if re.search("delphos|fortuny", text, re.IGNORECASE)]


def test_every_material_is_labelled_and_defined(k: Knowledge, materials: list[str]) -> None:
    assert not [m for m in materials if not k.texts(m, "skos:prefLabel")]
    assert not [m for m in materials if len(k.text(m, "skos:definition")) < 40]


BRITISH = re.compile(r"fibre|colour(?!fast)|sulph|alumini|erised|alised|entised|melled", re.I)


def test_a_label_in_british_spelling_has_its_american_form_beside_it(
    k: Knowledge, materials: list[str]
) -> None:
    def american(material: str) -> bool:
        terms = k.objects(material, "skos:altLabel")
        return any(term.lower().endswith("@en-us") for term in terms)

    assert not [m for m in materials if BRITISH.search(k.label(m)) and not american(m)]


def test_names_that_are_only_looked_for_are_found_by_search_and_shown_by_no_entry(
    adviser: Adviser, k: Knowledge
) -> None:
    from leastwise.graph.reference.book import build_reference  # noqa: PLC0415 - slow to make
    from leastwise.graph.reference.search import build_index  # noqa: PLC0415

    book = build_reference(k, adviser.rules)
    found = build_index(book, k).search("Celanese", "material").hits

    assert found[0].id == "material:fibre-by-trade-name"
    assert "Celanese" not in repr(book.entries["material:fibre-by-trade-name"])


# --- grades


def test_no_group_and_nothing_unidentified_carries_a_grade(k: Knowledge) -> None:
    untold = {m for m in k.instances("skos:Concept") if is_untold(k, m)}
    untold |= set(k.instances("lw:MaterialGroup"))
    graded = {
        (claim, about)
        for claim in k.instances("lw:SensitivityClaim")
        if k.number(claim, "lw:severity") is not None
        for about in k.objects(claim, "lw:about")
    }

    assert not [row for row in graded if row[1] in untold]


def test_a_group_stands_in_a_record_for_what_has_not_been_told(k: Knowledge) -> None:
    assert not [m for m in k.instances("lw:MaterialGroup") if not is_untold(k, m)]


def test_what_is_unidentified_names_a_test_that_tells(k: Knowledge, materials: list[str]) -> None:
    known = {"material:unidentified"}  # anything at all

    without = {m for m in materials if is_untold(k, m) and not k.objects(m, "lw:identifiedBy")}

    assert without == known


def test_a_test_that_tells_a_material_can_be_made_on_it(k: Knowledge) -> None:
    wrong = [
        (material, test)
        for material in k.instances("skos:Concept")
        for test in k.objects(material, "lw:identifiedBy")
        if k.objects(test, "lw:appliesTo")
        and not {*k.objects(test, "lw:appliesTo")} & {*k.broader(material)}
    ]

    assert not wrong


@pytest.mark.parametrize(
    ("material", "agent"),
    [
        *[(m, a) for m in ("sized-tulle", "buckram", "organdie", "glazed-chintz", "fabric-flowers")
          for a in ("liquid-water", "water-vapour", "alkali")],
        ("mushroom pleats, silk", "water-vapour"),
        ("canvas work", "liquid-water"),
        ("wax-filled-pearls", "freezing"),
        ("early-rayon", "light"),
        ("fur felt", "heat"),
    ],
)  # fmt: skip
def test_a_size_a_filler_or_a_coating_has_a_grade_of_its_own(
    material: str, agent: str, names: dict[str, str], adviser: Adviser
) -> None:
    found = adviser.catalogue.sensitivity(names[fold_name(material)], f"agent:{agent}")

    assert found.harm >= 2
    assert not found.inherited_from


@pytest.mark.parametrize(
    "metal", ["steel-boning", "steel-fastenings", "iron-part", "copper-thread", "brass-part"]
)
def test_hours_of_vapour_are_not_years_of_damp(metal: str, adviser: Adviser) -> None:
    """Bare sound metal gets a haze; what corrodes already goes on."""
    sound = adviser.catalogue.sensitivity(f"material:{metal}", "agent:water-vapour")

    assert 1 <= sound.harm <= 2


@pytest.mark.parametrize("metal", ["steel-boning", "steel-fastenings", "copper-thread"])
def test_metal_that_corrodes_already_bears_less(metal: str, adviser: Adviser) -> None:
    state = frozenset({"damage:metal-corrosion"})
    sensitivity = adviser.catalogue.sensitivity

    corroding = sensitivity(f"material:{metal}", "agent:water-vapour", state)

    assert corroding.harm > sensitivity(f"material:{metal}", "agent:water-vapour").harm


def test_common_practice_without_a_source_is_of_low_confidence(k: Knowledge) -> None:
    loose = [
        claim
        for claim in k.instances("lw:SensitivityClaim")
        if k.object(claim, "lw:basis") == "lw:practice"
        and not k.objects(claim, "dcterms:source")
        and not k.objects(claim, "lw:restsOn")
    ]

    assert len(loose) > 500
    assert {k.object(claim, "lw:confidence") for claim in loose} == {"lw:low"}


def test_only_natural_fibres_are_known_to_bear_ketones(adviser: Adviser, k: Knowledge) -> None:
    natural = ("material:cellulosic-fibre", "material:protein-fibre")
    bearing = k.instances("lw:BearsKetones")

    assert {"material:cotton", "material:linen", "material:wool", "material:silk"} <= {*bearing}
    for fibre in bearing:
        assert set(natural) & set(k.broader(fibre))
        assert adviser.catalogue.sensitivity(fibre, "agent:solvent-ketone").harm in (0, 1)


# --- what comes of it


def ketone_on(
    adviser: Adviser, make_case: Callable[..., Case], *materials: str, drop: str = ""
) -> OptionAnswer:
    """Return acetone on old adhesive on a part of these materials, else untroubled."""
    tests: list[dict[str, Any]] = [
        {"test": "colourfastness-solvent", "part": "cloth", "agent": "solvent-ketone",
         "result": "good"},
        {"test": "finish-drop-tests", "part": "cloth", "agent": "solvent-ketone", "result": "good"},
        {"test": "soil-identification", "part": "cloth", "result": "good"},
    ]  # fmt: skip
    if drop:
        tests.append({"test": "acetone-drop", "part": "cloth", "result": drop})
    answer = adviser.weigh(
        make_case(
            parts=[
                {
                    "id": "cloth",
                    "name": "cloth",
                    "lies_flat": "yes",
                    "reverse_reachable": "yes",
                    "bears_handling": "yes",
                    "sound_surroundings": "yes",
                    "materials": [
                        *({"material": m, "identified": "certain"} for m in materials),
                        {"material": "undyed", "identified": "certain"},
                    ],
                }
            ],
            damages=[
                {"id": "glue", "damage": "adhesive-residue", "parts": ["cloth"], "evidence": "no"}
            ],
            tests=tests,
            object={"name": "cloth", "past_treatment": "none"},
            means={"hours": 500, "skill": "specialist", "equipment": ["fume-extraction"]},
        )
    )
    return option(answer, "glue", "local-solvent-ketone")


def against(one: OptionAnswer) -> set[str]:
    """Return the rules that stand against an option for what its materials are."""
    return {
        finding.rule
        for finding in one.findings
        if finding.effect in ("defeats", "leavesUndecided") and finding.rule in OF_MATERIALS
    }


@pytest.mark.parametrize("name", [*CLOTHS, *LOOSE_WORDS, *TRADE_NAMES[:10]])
def test_acetone_is_never_accepted_on_a_cloth_known_by_name_only(
    name: str, adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    one = ketone_on(adviser, make_case, name)

    assert one.verdict != "accepted"
    assert against(one)


@pytest.mark.parametrize("name", ["taffeta", "organza", "rayon", "Celanese"])
def test_a_drop_test_that_was_good_settles_it(
    name: str, adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    assert not against(ketone_on(adviser, make_case, name, drop="good"))
    assert ketone_on(adviser, make_case, name, drop="bad").verdict == "defeated"


def test_nothing_of_the_material_stands_against_acetone_on_linen(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    """So that the refusals above are not for another reason."""
    assert not against(ketone_on(adviser, make_case, "linen", "plain-weave"))


@pytest.mark.parametrize("structure", ["satin", "plain-weave", "lace", "knit", "pile fabric"])
def test_a_structure_alone_leaves_the_fibre_unknown(
    structure: str, adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    one = ketone_on(adviser, make_case, structure)

    assert one.verdict == "undecided"
    assert "rule:ketone-needs-an-acetone-drop" in against(one)


def test_a_structure_answers_for_no_fibre(adviser: Adviser, k: Knowledge) -> None:
    """Solvent, acid, light and cold mean nothing for the way yarns are put together."""
    chemical = {
        f"agent:{agent}"
        for agent in ("solvent-ketone", "solvent-alcohol", "solvent-hydrocarbon", "acid",
                      "alkali", "light", "freezing", "low-oxygen", "bleach")
    }  # fmt: skip
    graded = {
        (about, agent)
        for claim in k.instances("lw:SensitivityClaim")
        for about in k.objects(claim, "lw:about")
        if "material:construction" in k.broader(about)
        for agent in k.objects(claim, "lw:agent")
    }

    assert not [row for row in graded if row[1] in chemical]
    for agent in chemical:
        assert "material:construction" in adviser.catalogue.agents[agent].means_nothing_for


def test_a_hidden_name_gives_way_to_a_shown_one(k: Knowledge) -> None:
    table = name_table(k, "material")
    for concept in k.instances("skos:Concept"):
        if concept.startswith("material:"):
            for term in k.objects(concept, "skos:prefLabel"):
                assert table[fold_name(split_literal(term)[0])] == concept
