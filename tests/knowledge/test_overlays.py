"""A collection's own folder adds; what it overrides is listed in every answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph import Adviser, Case, KnowledgeError, load_adviser, load_knowledge
from leastwise.graph.authoring.overlays import read_overlays
from leastwise.graph.knowledge.knowledge import overlay_files
from leastwise.graph.names import PREFIXES
from leastwise.graph.setups.dose import dose_scale

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

HEAD = "".join(f"@prefix {prefix}: <{iri}> .\n" for prefix, iri in PREFIXES.items())
Folder = Callable[..., Path]
CACHE: list[Path] = []  # the folder of the kept triples, known when the tests begin


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    """Return a maker of overlay folders: file name -> Turtle without prefixes."""

    def make(name: str = "ours", **files: str) -> Path:
        for file, turtle in files.items():
            path = tmp_path / name / f"{file.replace('__', '/')}.ttl"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(HEAD + turtle, "utf-8")
        return tmp_path / name

    return make


@pytest.fixture(scope="module", autouse=True)
def _kept(cache: Path) -> None:
    CACHE.append(cache)


def over(*folders: Path) -> Adviser:
    """Return the adviser over folders; what is shipped is parsed once for all tests."""
    return load_adviser(folders, cache=CACHE[0])


def sentences(*folders: Path) -> list[str]:
    overlays = read_overlays(folders, cache=CACHE[0])
    return [str(one) for overlay in overlays for one in overlay.overrides]


def claim(name: str, *, about: str, agent: str, severity: int) -> str:
    return (
        f"claim:{name} a lw:Claim, lw:SensitivityClaim ; lw:about {about} ; lw:agent {agent} ; "
        f'lw:severity {severity} ; lw:statement "Invented for a test."@en ; '
        "lw:basis lw:practice ; lw:confidence lw:low .\n"
    )


def test_a_second_severity_of_a_shipped_claim_is_listed_and_does_not_win(folder: Folder) -> None:
    shipped = load_knowledge(cache=CACHE[0]).number("claim:M-322-heat", "lw:severity")
    adviser = over(folder(k="claim:M-322-heat lw:severity 4 ."))

    assert shipped != 4
    assert adviser.knowledge.number("claim:M-322-heat", "lw:severity") == shipped
    (overlay,) = adviser.overlays
    assert overlay.folder == "ours"
    assert overlay.sentences == (
        f"claim:M-322-heat: lw:severity is {shipped:g} beneath, and 4 here; the former stays.",
    )


@pytest.mark.parametrize(
    ("turtle", "words"),
    [
        ('material:silk skos:prefLabel "soie"@en .', "skos:prefLabel is “silk” beneath"),
        ("technique:damp-blotter lw:skill 3 .", "lw:skill is 2 beneath, and 3 here"),
        (
            "technique:damp-blotter lw:burdens [ lw:axis axis:penetration ; lw:grade 0 ] .",
            "lw:grade 0 ] here; the former stays",
        ),
        (
            "damage:crease lw:hinders [ lw:aim aim:display ; lw:grade 0 ] .",
            "damage:crease: lw:hinders is",
        ),
        (
            "technique:damp-blotter lw:requires condition:lies-flat .",
            "lw:requires condition:lies-flat is added to it",
        ),
        ("policy:conservative lw:residualAllowed 3 .", "lw:residualAllowed is 1 beneath"),
    ],
)
def test_what_contradicts_or_adds_to_a_shipped_subject_is_listed(
    folder: Folder, turtle: str, words: str
) -> None:
    found = sentences(folder(k=turtle))

    assert [one for one in found if words in one], found


def test_a_second_grade_for_an_axis_does_not_win(folder: Folder, adviser: Adviser) -> None:
    turtle = (
        "technique:damp-blotter lw:burdens [ lw:axis axis:penetration ; lw:grade 0 ] .\n"
        "damage:crease lw:hinders [ lw:aim aim:display ; lw:grade 0 ] .\n"
        "policy:conservative lw:weighs [ lw:axis axis:exposure ; lw:weight 0.0 ] ."
    )
    ours = over(folder(k=turtle))
    mine, theirs = ours.catalogue, adviser.catalogue

    blotter = "technique:damp-blotter"
    assert mine.techniques[blotter].burdens == theirs.techniques[blotter].burdens
    assert mine.damages["damage:crease"].hinders == theirs.damages["damage:crease"].hinders
    assert ours.policy.weights == adviser.policy.weights


def test_a_claim_of_ones_own_that_leads_a_grade_is_listed(folder: Folder, adviser: Adviser) -> None:
    was = adviser.catalogue.sensitivity("material:cotton", "agent:heat").harm
    graver = folder(
        "graver", k=claim("ours-1", about="material:cotton", agent="agent:heat", severity=4)
    )
    milder = folder(
        "milder", k=claim("ours-2", about="material:cotton", agent="agent:heat", severity=0)
    )

    assert 0 < was < 4
    (found,) = sentences(graver)
    assert found.startswith("material:cotton, material:mercerised-cotton: harm by agent:heat is 1")
    assert "and 4 from now on" in found
    assert "claim:ours-1" in found
    assert sentences(milder) == []  # the gravest claim leads, so it changes nothing


def test_a_milder_claim_on_a_narrower_material_is_listed(folder: Folder, adviser: Adviser) -> None:
    k, catalogue = adviser.knowledge, adviser.catalogue
    material, agent = next(
        (m, a)
        for m in k.instances("skos:Concept")
        for a in catalogue.agents
        if m.startswith("material:")
        and catalogue.sensitivity(m, a).inherited_from
        and catalogue.sensitivity(m, a).harm > 1
    )

    found = sentences(folder(k=claim("ours-3", about=material, agent=agent, severity=0)))

    assert [one for one in found if material in one and "0 from now on by claim:ours-3" in one]


def test_a_better_effect_and_a_second_default_policy_are_listed(folder: Folder) -> None:
    effect = (
        "claim:ours-4 a lw:Claim, lw:EffectClaim ; lw:about damage:crease ; "
        "lw:technique technique:damp-blotter ; lw:damage damage:crease ; lw:efficacy 4 ; "
        'lw:statement "Invented for a test."@en ; lw:basis lw:practice ; lw:confidence lw:low .\n'
    )
    policy = (
        "policy:ours a skos:Concept, lw:Policy ; skos:inScheme lw:policies ; "
        'skos:prefLabel "ours"@en ; skos:definition "Invented for a test."@en ; '
        "lw:isDefault true ; lw:weighs [ lw:axis axis:exposure ; lw:weight 1.0 ] ; "
        "lw:residualAllowed 1 ; lw:unknownCountsAs 3 .\n"
    )

    found = "\n".join(sentences(folder(k=effect + policy)))

    assert "technique:damp-blotter: efficacy on damage:crease is" in found
    assert "claim:ours-4" in found
    assert "several policies are marked as the default" in found


def test_a_name_that_a_shipped_concept_has_already_is_listed(folder: Folder) -> None:
    turtle = (
        "material:ours a skos:Concept, lw:Fibre ; skos:inScheme lw:materials ; "
        'skos:prefLabel "our own cloth"@en ; skos:altLabel "silk"@en ; '
        'skos:definition "Invented for a test."@en ; skos:broader material:textile .'
    )

    (found,) = sentences(folder(k=turtle))

    assert found.startswith("material:silk: material:ours claims its name “silk”")


def test_a_shipped_rule_that_is_switched_off_or_joined_is_listed(
    folder: Folder, adviser: Adviser
) -> None:
    names = sorted(adviser.rules.rules)[:2]
    turtle = f"{names[0]} sh:deactivated true .\n{names[1]} lw:restsOn claim:M-128 ."

    found = sentences(folder(rules__mine=turtle))

    assert f"{names[0]}: this rule is switched off here." in found
    assert [one for one in found if one.startswith(f"{names[1]}: this rule has the same name")]


def test_a_label_in_another_language_overrides_nothing(folder: Folder) -> None:
    assert sentences(folder(k='material:silk skos:altLabel "Seidenzeug"@de , "soierie"@fr .')) == []


def test_every_answer_lists_the_overrides(folder: Folder, demo: Callable[[str], Case]) -> None:
    ours = folder(k="claim:M-322-heat lw:severity 4 .")
    answer = over(ours).weigh(demo("guild-banner"))
    printed = CliRunner().invoke(app, ["weigh", "demo:guild-banner", "--with", str(ours)]).output

    (overlay,) = answer.stamp.overlays
    assert overlay.folder == "ours"
    assert overlay.overrides[0].startswith("claim:M-322-heat: lw:severity")
    assert "Overrides by ours:" in printed
    assert "claim:M-322-heat: lw:severity" in " ".join(printed.split())


def test_of_two_folders_each_is_listed_against_what_lies_beneath_it(folder: Folder) -> None:
    first = folder(
        "first", k=claim("ours-5", about="material:cotton", agent="agent:heat", severity=1)
    )
    second = folder("second", k="claim:ours-5 lw:severity 3 .")

    adviser = over(first, second)

    assert [one.folder for one in adviser.overlays] == ["first", "second"]
    assert adviser.overlays[0].sentences == ()
    assert "claim:ours-5: lw:severity is 1 beneath, and 3 here" in adviser.overlays[1].sentences[0]
    assert adviser.knowledge.number("claim:ours-5", "lw:severity") == 1


def test_a_copy_of_a_shipped_file_overrides_and_changes_nothing(
    tmp_path: Path, adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    shipped = Path(__file__).parents[2] / "seed_data" / "techniques" / "humidify.ttl"
    (tmp_path / "copy.ttl").write_bytes(shipped.read_bytes())

    ours = over(tmp_path)

    assert ours.overlays[0].sentences == ()
    assert ours.weigh(demo("festival-dancer")).damages == (
        adviser.weigh(demo("festival-dancer")).damages
    )


def test_rules_and_examples_are_no_knowledge(folder: Folder) -> None:
    ours = folder(
        k="claim:M-322-heat lw:severity 4 .",
        rules__mine='rule:ours skos:note "a remark, and no rule" ; a lw:Value .',
        examples__mine="material:example-only a skos:Concept .",
    )

    knowledge = load_knowledge([ours], cache=CACHE[0])

    assert "rule:ours" not in knowledge
    assert "material:example-only" not in knowledge
    assert knowledge.objects("claim:M-322-heat", "lw:severity")[1:]


def test_an_empty_folder_and_one_that_is_not_there_are_clear_errors(
    folder: Folder, tmp_path: Path
) -> None:
    good = folder(k="claim:M-322-heat lw:severity 4 .")
    (tmp_path / "empty").mkdir()

    with pytest.raises(KnowledgeError, match=r"empty: holds no \.ttl files\."):
        over(good, tmp_path / "empty")
    with pytest.raises(KnowledgeError, match=r"nowhere: is not a folder\."):
        over(good, tmp_path / "nowhere")


def test_a_folder_that_may_not_be_read_is_a_clear_error(
    folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    ours = folder(k="claim:M-322-heat lw:severity 4 .")

    def refuse(_: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", refuse)  # root may read everything
    with pytest.raises(KnowledgeError, match=r"ours: can't be read \(Permission denied\)\."):
        overlay_files(ours)


def test_a_file_that_cannot_be_read_is_a_clear_error(folder: Folder) -> None:
    ours = folder(k="claim:M-322-heat lw:severity 4 .")
    (ours / "more.ttl").mkdir()  # a folder where a file should be

    with pytest.raises(KnowledgeError, match=r"more\.ttl.*can't be read"):
        over(ours)


def test_a_fault_that_would_make_answers_wrong_keeps_the_folder_out(folder: Folder) -> None:
    ours = folder(k=claim("ours-6", about="material:silk", agent="agent:heat", severity=7))

    with pytest.raises(KnowledgeError, match=r"k\.ttl:\d+: claim:ours-6: A severity is a whole"):
        over(ours)

    result = CliRunner().invoke(app, ["weigh", "demo:guild-banner", "--with", str(ours)])
    assert result.exit_code == 2
    assert "leastwise check-knowledge" in result.output


def test_a_concept_without_definition_does_not_keep_the_folder_out(folder: Folder) -> None:
    turtle = (
        "material:ours a skos:Concept, lw:Fibre ; skos:inScheme lw:materials ; "
        'skos:prefLabel "our own cloth"@en ; skos:broader material:textile .'
    )

    assert "material:ours" in over(folder(k=turtle)).knowledge


@pytest.mark.parametrize("parents", ["cotton gelatin-sequins", "gelatin-sequins cotton"])
def test_a_material_of_two_kinds_takes_the_gravest_grade_and_is_listed(
    folder: Folder, parents: str
) -> None:
    above = " , ".join(f"material:{one}" for one in parents.split())
    ours = folder(
        k="material:ours a skos:Concept, lw:Component ; skos:inScheme lw:materials ; "
        'skos:prefLabel "our own cloth"@en ; skos:definition "Invented for a test."@en ; '
        f"skos:broader {above} .\n"
    )
    found = over(ours).catalogue.sensitivity("material:ours", "agent:liquid-water")
    (listed,) = [one for one in sentences(ours) if one.startswith("material:ours: stands under")]

    assert (found.harm, found.inherited_from) == (4, "material:gelatin-sequins")
    assert "of their grades the gravest counts" in listed
    assert "agent:abrasion" in listed or "agent:liquid-water" in listed
    assert all(f"material:{one}" in listed for one in parents.split())


def test_a_second_kind_for_a_shipped_material_counts_where_it_has_no_grade_of_its_own(
    folder: Folder, adviser: Adviser
) -> None:
    ours = folder(k="material:mercerised-cotton skos:broader material:gelatin-sequins .\n")
    was = adviser.catalogue.sensitivity("material:mercerised-cotton", "agent:liquid-water")
    now = over(ours).catalogue.sensitivity("material:mercerised-cotton", "agent:liquid-water")
    told = "\n".join(sentences(ours))

    assert (was.harm < 4, now.harm) == (True, 4)
    assert "skos:broader material:gelatin-sequins is added to it" in told
    assert "harm by agent:liquid-water is" in told
    assert "material:mercerised-cotton: stands under" in told


def house_policy(name: str, more: str = "lw:unknownCountsAs 3 ;") -> str:
    return (
        f"policy:{name} a skos:Concept, lw:Policy ; skos:inScheme lw:policies ; "
        f'skos:prefLabel "{name}"@en ; skos:definition "Invented for a test."@en ; '
        f"lw:isDefault true ; {more} lw:weighs [ lw:axis axis:exposure ; lw:weight 1.0 ] ; "
        "lw:residualAllowed 1 .\n"
    )


@pytest.mark.parametrize("name", ["aaa-house", "zzz-house"])
def test_the_default_policy_of_the_nearest_layer_counts(folder: Folder, name: str) -> None:
    ours = folder(k=house_policy(name))

    assert over(ours).policy.id == f"policy:{name}"
    assert over(folder("further", k=house_policy("mmm")), ours).policy.id == f"policy:{name}"
    assert f"policy:{name} is used" in "\n".join(sentences(ours))


def test_a_house_may_make_a_shipped_policy_its_default(folder: Folder) -> None:
    ours = over(folder(k="policy:display-driven lw:isDefault true .\n"))

    assert ours.policy.id == "policy:display-driven"


def test_unknown_may_count_as_nothing(folder: Folder) -> None:
    ours = over(folder(k=house_policy("ours", "lw:unknownCountsAs 0 ;")))

    assert ours.policy.unknown_counts_as == 0


@pytest.mark.parametrize("name", ["aaa-dose", "zzz-dose"])
def test_the_scale_of_doses_of_the_nearest_layer_counts_and_is_listed(
    folder: Folder, name: str
) -> None:
    ours = folder(
        k=f"policy:{name} a skos:Concept, lw:DoseScale ; skos:inScheme lw:policies ; "
        'skos:prefLabel "our grading"@en ; skos:definition "Invented for a test."@en ; '
        "lw:isDefault true ; lw:gradesAgent agent:water-vapour ; lw:leastRise 0.05 ; "
        "lw:step [ lw:grade 4 ; lw:fromHumidity 0.60 ; lw:forMinutes 5.0 ] ; "
        "lw:basis lw:practice .\n"
    )

    assert dose_scale(over(ours).knowledge).id == f"policy:{name}"
    assert f"policy:{name} is used" in "\n".join(sentences(ours))
