"""Labels come in the language asked for, with English behind it, whatever the order of files."""

from __future__ import annotations

from pathlib import Path

import pytest

from leastwise.graph import Adviser, load_adviser, read_demo
from leastwise.graph.case.reading import find_concept
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge
from leastwise.graph.knowledge.label_report import label_report
from leastwise.graph.knowledge.languages import UnknownLanguage, choose

#: Schemes in which all is labelled, groups too.
GERMAN = ("damage:", "technique:", "material:")
HEAD = """@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix damage: <https://w3id.org/leastwise/damage/> .
@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""


@pytest.fixture(scope="module")
def german(cache: Path) -> Adviser:
    return load_adviser(language="de", cache=cache)


@pytest.mark.parametrize(
    ("terms", "language", "label"),
    [
        (['"dust"@en', '"Staub"@de'], "de", "Staub"),
        (['"Staub"@de', '"dust"@en'], "en", "dust"),
        (['"Staub"@de', '"dust"@en'], "fr", "dust"),
        (['"Staub"@de', '"dust"@en-GB'], "fr", "dust"),
        (['"dust"@en', '"Staub"@de-AT'], "de", "Staub"),
        (['"Staub"@de-AT', '"Feinstaub"@de'], "de", "Feinstaub"),
        (['"Staub"@DE', '"dust"@en'], "de", "Staub"),
        (['"Staub"@de', '"dust"'], "fr", "dust"),
        (['"Staub"@de'], "fr", "Staub"),
        (['"first"@en', '"second"@en'], "en", "first"),
        (["damage:dust", '"a \\"b\\""@en', '"c"@de'], "en", 'a "b"'),
    ],
)
def test_the_nearest_language_is_chosen(terms: list[str], language: str, label: str) -> None:
    assert choose(terms, language) == label


def test_nothing_is_chosen_where_there_is_no_text() -> None:
    assert choose(["damage:dust", "_:b1"], "en") is None


@pytest.mark.parametrize("order", [("a", "z"), ("z", "a")])
def test_the_order_of_files_does_not_matter(tmp_path: Path, order: tuple[str, str]) -> None:
    english, other = (tmp_path / f"{name}.ttl" for name in order)
    english.write_text(f'{HEAD}damage:dust a skos:Concept ; skos:prefLabel "dust"@en .')
    other.write_text(f'{HEAD}damage:dust skos:prefLabel "Staub"@de .', "utf-8")
    files = sorted(tmp_path.glob("*.ttl"))

    assert load_knowledge(files=files).label("damage:dust") == "dust"
    assert load_knowledge(files=files, language="de").label("damage:dust") == "Staub"


def test_what_a_record_or_an_answer_names_has_a_german_label(german: Adviser) -> None:
    knowledge = german.knowledge
    kinds = ("Damage", "Agent", "Aim", "Axis", "Caution", "Condition", "ContactKind", "Need",
             "RefusedPractice", "Test")  # fmt: skip
    concepts = [one for kind in kinds for one in knowledge.instances(f"lw:{kind}")]
    groups = [one for one in knowledge.instances("skos:Concept") if one.startswith(GERMAN)]

    assert len(knowledge.instances("lw:Damage")) >= 94
    assert not [
        one
        for one in {*concepts, *groups}
        if not any(o.endswith("@de") for o in knowledge.objects(one, "skos:prefLabel"))
    ]


def test_each_set_of_labels_says_that_a_native_reader_has_to_check_it(german: Adviser) -> None:
    k = german.knowledge
    sets = {k.text(one, "dcterms:language"): one for one in k.instances("lw:LabelSet")}

    assert set(sets) == {"de", "es", "fr"}
    for one in sets.values():
        assert k.objects(one, "lw:labelStatus") == ["lw:needsNativeReader"]


def test_words_of_a_verdict_are_german_too(german: Adviser, adviser: Adviser) -> None:
    assert german.knowledge.label("lw:defeated") == "verworfen"
    assert adviser.knowledge.label("lw:defeated") == "defeated"


def test_what_has_no_german_label_is_english(german: Adviser, adviser: Adviser) -> None:
    assert german.knowledge.label("lw:chosenIn") == "chosen in"
    assert adviser.knowledge.label("lw:chosenIn") == "chosen in"


def test_an_answer_changes_its_labels_and_nothing_else(german: Adviser, adviser: Adviser) -> None:
    case = read_demo("guild-banner", adviser.knowledge)
    english, other = adviser.weigh(case), german.weigh(case)

    assert {d.id: d.label for d in other.damages}["shattering"] == "Seidenzerfall"
    assert {d.id: d.label for d in english.damages}["shattering"] == "shattering"
    assert [(o.id, o.rank, o.verdict) for o in other.options()] == [
        (o.id, o.rank, o.verdict) for o in english.options()
    ]


def test_agents_are_german_inside_english_sentences(german: Adviser, adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    messages = [f.message for o in german.weigh(case).options() for f in o.findings]

    assert any("Wasserdampf would" in message for message in messages)
    assert not any("ater vapour would" in message for message in messages)


def test_another_language_reads_the_same_knowledge(adviser: Adviser) -> None:
    other = adviser.knowledge.speaking("de")

    assert other.digest == adviser.knowledge.digest
    assert other.label("agent:light") == "Licht"
    assert adviser.knowledge.label("agent:light") == "light"
    assert other.speaking("en").label("agent:light") == "light"


@pytest.mark.parametrize("given", ["xx", "", "d", "deutsch"])
def test_an_unknown_language_is_told_with_those_there_are(given: str) -> None:
    with pytest.raises(UnknownLanguage, match="en, de") as caught:
        load_knowledge(language=given)
    assert isinstance(caught.value, LeastwiseError)


@pytest.mark.parametrize("given", ["DE", " de ", "de"])
def test_a_tag_may_be_written_in_any_case(given: str) -> None:
    assert load_knowledge(language=given).label("agent:heat") == "Hitze"


def test_the_languages_there_are_follow_the_labels(adviser: Adviser) -> None:
    assert adviser.knowledge.languages == ("de", "en", "es", "fr")


@pytest.mark.parametrize(
    ("name", "scheme", "concept"),
    [
        ("Knickfalte", "damage", "damage:crease"),
        ("wasserrand", "damage", "damage:tide-line"),
        ("Stockfleck", "damage", "damage:mould-stain"),
        ("flüssiges Wasser", "agent", "agent:liquid-water"),
        ("crease", "damage", "damage:crease"),
    ],
)
def test_a_record_may_name_a_concept_in_any_language(
    adviser: Adviser, german: Adviser, name: str, scheme: str, concept: str
) -> None:
    assert find_concept(name, scheme, adviser.knowledge) == concept
    assert find_concept(name, scheme, german.knowledge) == concept


def named(tmp_path: Path, text: str) -> Knowledge:
    path = tmp_path / "a.ttl"
    path.write_text(HEAD + text, "utf-8")
    return load_knowledge(files=[path])


def test_an_english_name_wins_over_the_same_word_in_another_language(tmp_path: Path) -> None:
    knowledge = named(
        tmp_path,
        'damage:a a skos:Concept, lw:Damage ; skos:prefLabel "loss"@en ; skos:altLabel "gap"@en .\n'
        'damage:b a skos:Concept, lw:Damage ; skos:prefLabel "b"@en , "gap"@de .',
    )

    assert find_concept("gap", "damage", knowledge) == "damage:a"


@pytest.mark.parametrize(("tag", "label"), [("fr", "auréole"), ("es", "cerco de humedad")])
def test_damages_materials_and_techniques_are_labelled_in_further_languages(
    adviser: Adviser, tag: str, label: str
) -> None:
    report = {one.tag: one for one in label_report(adviser.knowledge)}[tag]
    schemes = {one.scheme: one for one in report.schemes}

    assert adviser.knowledge.speaking(tag).label("damage:tide-line") == label
    assert report.status == "needs a native reader's check"
    for scheme in ("lw:damages", "lw:materials", "lw:techniques"):
        assert schemes[scheme].labelled == schemes[scheme].of > 90
        assert not schemes[scheme].missing
    assert not schemes["lw:cautionNotes"].labelled


def test_what_a_language_lacks_is_named(tmp_path: Path) -> None:
    knowledge = named(
        tmp_path,
        'lw:labelsX a lw:LabelSet ; dcterms:language "fr" ; lw:labelStatus lw:needsNativeReader .\n'
        'damage:a a skos:Concept ; skos:inScheme lw:damages ; skos:prefLabel "a"@en , "un"@fr .\n'
        'damage:b a skos:Concept ; skos:inScheme lw:damages ; skos:prefLabel "b"@en .',
    )
    (report,) = label_report(knowledge)
    (scheme,) = report.schemes

    assert (report.tag, scheme.labelled, scheme.of) == ("fr", 1, 2)
    assert scheme.missing == ("damage:b",)


def test_american_names_stand_beside_british_ones(adviser: Adviser) -> None:
    names = adviser.knowledge.objects("damage:mould-stain", "skos:altLabel")

    assert '"mold stain"@en-us' in {name.lower() for name in names}  # a tag has no case
