"""The answer to *why*, in plain sentences, and what each of them rests on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from leastwise.graph.answer import FindingView, Reason
from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Effect, Sensitivity
from leastwise.graph.meanings import Remedy
from leastwise.graph.sentences import EFFECTS, HINDERS, against
from leastwise.graph.weighing.argument import argue
from leastwise.graph.weighing.candidates import Act, Asked, Candidate, SetAside, WorkGroup
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.ranking import Score
from leastwise.graph.weighing.settle import Mend, Settler
from tests.graph.handmade import case, catalogue, made_of, rule, touching

KNOWN = catalogue("""
    axis:loss a lw:Axis ; skos:prefLabel "loss"@en .
    axis:time a lw:Axis ; skos:prefLabel "time"@en .
    agent:water a lw:Agent ; skos:prefLabel "liquid water"@en ; lw:stoppedBy lw:Barrier .
    agent:ph a lw:Agent ; skos:prefLabel "pH of 9"@en .
    material:silk skos:prefLabel "silk"@en .
    test:drop a lw:Test ; skos:prefLabel "drop test"@en ; lw:testsAgent agent:water ;
        lw:goodResultClears agent:water .
    condition:flat skos:prefLabel "lies flat"@en .
    condition:dry skos:prefLabel "dry"@en .
    damage:split a lw:Damage ; skos:prefLabel "split"@en ; lw:restsOn claim:split .
    need:mount a lw:Need ; skos:prefLabel "a mount"@en ; lw:without "It hangs from its seams." .
    technique:leave-and-monitor a lw:Technique ; skos:prefLabel "leaving alone"@en .
    technique:pack a lw:Technique ; skos:prefLabel "damp pack"@en .
    technique:slip a lw:Technique ; skos:prefLabel "slipping in a sheet"@en .
""")
PACK, SLIP = KNOWN.techniques["technique:pack"], KNOWN.techniques["technique:slip"]
LEAVE = KNOWN.techniques["technique:leave-and-monitor"]
RECORD = case(
    made_of("a", "silk"), made_of("b", "silk"), made_of("c", "silk"),
    contacts=[touching("a", "b", barrier="possible")],
)  # fmt: skip
EFFECT = Effect(
    "claim:e", "technique:pack", "damage:split", 3, 2, "", "It swells the fibre.", "read", "high",
    ("claim:f",),
)  # fmt: skip


def explainer(made: Case = RECORD, *acts: Act) -> Explainer:
    return Explainer(made, KNOWN, Settler(made, KNOWN, ConditionReader(made, KNOWN)), acts)


def candidate(technique: Any = PACK, damage: DamageFound | None = None, **more: Any) -> Candidate:
    damage = damage or DamageFound(id="d", damage="damage:split", parts=["a"])
    effect = None if technique is LEAVE else EFFECT
    return replace(Candidate("d/x", technique, damage, effect, ()), **more)


def score(**more: Any) -> Score:
    plain = Score("d/x", {"axis:loss": 0, "axis:time": 0}, 0.0, 3, 3, 0, True, (1.0, 2.0))
    return replace(plain, **more)


def view(effect: str = "cautions", message: str = "Take care.", **more: Any) -> FindingView:
    return explainer().view(Finding(rule(effect, **more), "option/d/x", message), ())


def exposure(part: str = "b", way: tuple[str, ...] = ("a", "b"), **more: Any) -> Exposure:
    e = Exposure(
        "d/x/0", "d/x", "technique:pack", "agent:water", 3, part, "material:silk", "certain",
        False, Reach(part, 3, way, "yes", "barrier"), True, Sensitivity(4, ("claim:s",)), 4,
        "known", "untested", (),
    )  # fmt: skip
    return e._replace(**more)


def tree(
    one: Candidate | None = None,
    views: tuple[FindingView, ...] = (),
    exposures: tuple[Exposure, ...] = (),
    scored: Score | None = None,
    further: tuple[Reason, ...] = (),
    explains: Explainer | None = None,
) -> Reason:
    findings = [Finding(rule(v.effect), "option/d/x", v.message) for v in views]
    graph = argue("pack", findings, exposures)
    explains = explains or explainer()
    return explains.tree(one or candidate(), scored or score(), graph, views, further)


def stances(reason: Reason) -> list[str]:
    return [one.stance for one in reason.reasons]


def first(reason: Reason, stance: str) -> Reason:
    return next(one for one in reason.reasons if one.stance == stance)


@pytest.mark.parametrize(
    ("mend", "label"),
    [
        (Mend("test", "test:drop", "a", "material:silk"), "drop test on the silk of the a"),
        (Mend("test", "test:drop", "a"), "drop test on the a"),
        (Mend("test", "test:drop"), "drop test"),
        (Mend("identity", "test:drop", "b"), "drop test on the b, to find out what it is"),
        (Mend("barrier", "a and b", "b"), "a barrier between the a and the b"),
        (Mend("parting", "b and gone", "b"), "taking the b and the gone apart"),
        (Mend("means", "lw:beyondSkill"), "a specialist for this work"),
        (Mend("means", "lw:beyondHours"), "more hours"),
        (Mend("means", "lw:lacksEquipment"), "the equipment that is missing"),
        (Mend("record", "lw:hasContact", "c"),
         "an entry in the record: how the c touches the rest"),
        (Mend("record", "condition:flat", "a"), "an entry in the record: lies flat on the a"),
        (Mend("record", "condition:flat"), "an entry in the record: lies flat"),
    ],
)  # fmt: skip
def test_a_mend_in_words(mend: Mend, label: str) -> None:
    one = explainer()
    found = one.mend(mend)

    assert found.label == label
    assert (found.kind, found.what, found.part, found.material, found.condition) == tuple(mend)
    assert one.mend(mend) is found, "put into words once"


def test_a_finding_is_shown_with_its_claims_and_mends_each_once() -> None:
    finding = Finding(
        rule("defeats", cautions=("caution:c",), rests_on=("claim:1", "claim:2")),
        "exposure/x/0", "It harms.", "a", "material:silk", "agent:water", "b",
        ("claim:2", "claim:3"),
    )  # fmt: skip
    drop, more = Mend("test", "test:drop", "a"), Mend("means", "lw:beyondHours")
    found = explainer().view(finding, [drop, more, drop])

    assert (found.rule, found.severity, found.effect) == ("rule:defeats", "Violation", "defeats")
    assert (found.theme, found.message) == ("harm", "It harms.")
    assert (found.part, found.material, found.agent, found.via) == (
        "a", "material:silk", "agent:water", "b",
    )  # fmt: skip
    assert (found.cautions, found.claims) == (("caution:c",), ("claim:1", "claim:2", "claim:3"))
    assert [m.label for m in found.mends] == ["drop test on the a", "more hours"]


@pytest.mark.parametrize(
    ("effect", "mends"),
    [
        ("defeats", ["a barrier between the a and the b"]),
        ("leavesUndecided", ["a barrier between the a and the b"]),
        ("cautions", []),
        ("records", []),
    ],
)
def test_what_forbids_or_asks_names_what_lifts_it_and_what_only_warns_does_not(
    effect: str, mends: list[str]
) -> None:
    one, e = explainer(), exposure()
    finding = Finding(rule(effect, lifted_by=("lw:Barrier",)), "exposure/d/x/0", "It harms.")
    found = one.view_of_exposure(finding, e)

    assert [m.label for m in found.mends] == mends
    assert one.view_of_exposure(finding, e) is found
    elsewhere = one.view_of_exposure(finding, exposure(way=("c", "b")))
    assert elsewhere.mends == (), "nothing is recorded between the c and the b"


@pytest.mark.parametrize(
    ("effects", "text"),
    [
        ([], "Accepted."),
        (["cautions"], "Accepted."),
        (["leavesUndecided"], "Undecided until the open points are settled: m0"),
        (["defeats"], "Defeated as the case stands: m0"),
        (["leavesUndecided", "defeats", "defeats"],
         "Defeated as the case stands: m1 (2 points in all)"),
        (["cautions", "leavesUndecided", "leavesUndecided", "leavesUndecided"],
         "Undecided until the open points are settled: m1 (3 points in all)"),
    ],
)  # fmt: skip
def test_the_verdict_is_told_with_its_first_ground(effects: list[str], text: str) -> None:
    found = tree(views=tuple(view(effect, f"m{n}") for n, effect in enumerate(effects)))

    assert found.text == text
    verdict = {"A": "accepted", "U": "undecided", "D": "defeated"}[text[0]]
    assert found.stance == verdict


def test_reasons_come_from_what_it_does_to_what_it_costs() -> None:
    acts = (Act(SLIP, "lw:Barrier", ("a", "b")),)
    one = candidate(
        damage=DamageFound(id="d", damage="damage:split", parts=["a", "b"]),
        groups=(WorkGroup(("a", "b"), True),),
        acts=acts,
    )
    views = (
        view("cautions"),
        view("leavesUndecided", "Open?"),
        view("records", "So.", id="rule:r"),
        view("defeats", "No."),
    )
    found = tree(one, views, (exposure(),), further=(Reason("order", "Last."),))

    assert stances(found) == [
        "for", "against", "open", "although", "care", "care", "first", "manner", "burden", "order",
    ]  # fmt: skip
    assert first(found, "against").text == "No."
    assert first(found, "open").text == "Open?"
    assert [r.text for r in found.reasons if r.stance == "care"] == ["Take care.", "So."]
    assert first(found, "first").text == "First slipping in a sheet between the a and the b."


def test_what_would_lift_a_point_stands_below_it() -> None:
    mends = [Mend(Remedy.TEST, "test:drop", "a")]
    one = explainer()
    found = {
        effect: one.view(Finding(rule(effect, rests_on=("claim:1",)), "x", "m"), mends)
        for effect in ("defeats", "leavesUndecided", "cautions")
    }
    shown = tree(views=tuple(found.values()), explains=one)
    against, open_, care = (first(shown, stance) for stance in ("against", "open", "care"))

    assert [(r.stance, r.text) for r in against.reasons] == [
        ("would change it", "drop test on the a")
    ]
    assert [(r.stance, r.text) for r in open_.reasons] == [
        ("would settle it", "drop test on the a")
    ]
    assert care.reasons == open_.reasons  # a caution may name the test that answers it
    assert (against.claims, against.rule) == (("claim:1",), "rule:defeats")
    assert one._reason(found["defeats"]) is against, "made once for each view"


@pytest.mark.parametrize("efficacy", range(5))
@pytest.mark.parametrize("meets", [True, False])
def test_what_an_effect_does_is_told_with_its_claim(efficacy: int, meets: bool) -> None:
    one = candidate(effect=replace(EFFECT, efficacy=efficacy))
    found = first(tree(one, scored=score(meets_aim=meets)), "for")

    aim = "This meets the aim." if meets else "Alone it does not meet the aim."
    how_well = against("split", efficacy, need=False)
    assert found.text == f"{how_well}: It swells the fibre. {aim}"
    assert found.claims == ("claim:e", "claim:f")
    (because,) = found.reasons
    assert (because.stance, because.claims) == ("because", ("claim:split",))


def test_an_effect_whose_condition_fails_is_told_so_with_all_conditions_below() -> None:
    asked = (
        Asked("condition:flat", True, Tri.NO),
        Asked("condition:dry", False, Tri.YES),
        Asked("condition:dry", True, Tri.UNKNOWN),
    )
    found = first(tree(candidate(asked=asked)), "for")

    assert found.text.startswith(
        "No effect against the split here, since a condition fails: "
        "\u201clies flat\u201d (not met). "
    )
    assert [r.stance for r in found.reasons] == ["condition", "because"]
    assert found.reasons[0].text == (
        "Depends on: \u201clies flat\u201d (not met); not \u201cdry\u201d (met); "
        "\u201cdry\u201d (not known)."
    )


@pytest.mark.parametrize(("hindrance", "words"), [(n, one) for n, (one, _) in enumerate(HINDERS)])
def test_what_is_left_alone_is_told_by_how_far_it_hinders(hindrance: int, words: str) -> None:
    because = first(tree(scored=score(hindrance=hindrance)), "for").reasons[-1]

    assert because.text == f"Untreated, the split {words.format('display')}."


@pytest.mark.parametrize(
    ("activity", "risk"),
    [
        ("active", "The damage is active and will go on."),
        ("stable", "The damage is recorded as stable."),
        ("unknown", "Whether the damage goes on is not known; watch it."),
    ],
)
def test_leaving_alone_tells_what_it_spares_and_what_it_risks(activity: str, risk: str) -> None:
    damage = DamageFound.model_validate(
        {"id": "d", "damage": "damage:split", "parts": ["a", "b"], "activity": activity}
    )
    one = candidate(LEAVE, damage, groups=(WorkGroup(("a", "b"), True),))
    found = tree(one, scored=score(meets_aim=False, hindrance=2))

    assert first(found, "for").text == (
        "Nothing is added, lost or risked by treatment. Untreated, the split noticeably hinders "
        f"display, so the aim is not met. {risk}"
    )
    assert first(found, "for").claims == ("claim:split",)
    assert "manner" not in stances(found), "nothing is worked"


def test_a_need_that_is_left_unmet_is_told_by_what_is_so_without_it() -> None:
    need = NeedHere(id="n", damage="need:mount", parts=["a"])
    left = first(tree(candidate(LEAVE, need)), "for")
    met = first(tree(candidate(PACK, need)), "for")

    without = "it hangs from its seams, which seriously hinders display"
    assert left.text == f"Nothing is done about it. Then {without}, so the aim is met."
    assert met.reasons[-1].text == f"Untreated, {without}."
    assert left.claims == ()


def test_a_damage_in_the_words_of_the_record_keeps_them() -> None:
    damage = DamageFound(id="d", damage="damage:split", other="a slit", parts=["a"])

    assert first(tree(candidate(damage=damage)), "for").text.startswith(
        "Effective against a slit: "
    )


@pytest.mark.parametrize(
    ("e", "acts", "words"),
    [
        (exposure(), (), "a barrier in place on the way from the a to the b"),
        (exposure(reach=Reach("b", 3, ("a", "b"), "yes", "parting")), (),
         "a parting on the way from the a to the b"),
        (exposure(reach=Reach("b", 3, ("b",), "yes", "parting")), (), "the b has been taken off"),
        (exposure(), (Act(SLIP, "lw:Barrier", ("b", "a")),),
         "slipping in a sheet between the b and the a first"),
        (exposure(), (Act(SLIP, "lw:Barrier", ("b", "c")),),
         "a barrier in place on the way from the a to the b"),
    ],
)  # fmt: skip
def test_what_a_stop_holds_back_is_told_with_the_stop(
    e: Exposure, acts: tuple[Act, ...], words: str
) -> None:
    found = first(tree(exposures=(e,), explains=explainer(RECORD, *acts)), "although")

    assert found.text == "Liquid water would reach the silk of the b."
    assert found.claims == ("claim:s",)
    assert [(r.stance, r.text) for r in found.reasons] == [("answered by", words)]


def test_what_is_held_back_is_told_once_a_part_and_capitals_in_a_name_stay() -> None:
    other = exposure("c", ("a", "c"))
    ph = exposure(agent="agent:ph")
    found = tree(exposures=(exposure(), exposure(), other, ph))

    assert [r.text for r in found.reasons if r.stance == "although"] == [
        "Liquid water would reach the silk of the b.",
        "Liquid water would reach the silk of the c.",
        "PH of 9 would reach the silk of the b.",
    ]


@pytest.mark.parametrize(
    ("parts", "in_turn", "text"),
    [
        (("a", "b"), True, "One after another, since they are sewn together: the a and the b."),
        (("a", "b"), False, "As a group, since they are loose: the a and the b."),
        (("c",), False, "By itself: the c."),
    ],
)
def test_how_a_group_is_worked(parts: tuple[str, ...], in_turn: bool, text: str) -> None:
    assert explainer().manner(WorkGroup(parts, in_turn)) == text


def test_of_one_part_nothing_is_said_of_how_it_is_worked() -> None:
    one = candidate(groups=(WorkGroup(("a",), False),))

    assert "manner" not in stances(tree(one))


def test_the_burden_names_the_axes_that_bear_any() -> None:
    none = first(tree(), "burden").text
    some = first(
        tree(scored=score(burdens={"axis:loss": 2, "axis:time": 0}, burden=0.125)), "burden"
    )

    assert none == "Burden 0.00 of 1 (none on any axis; grades 0 to 4)."
    assert some.text == "Burden 0.12 of 1 (loss 2; grades 0 to 4)."


def test_what_dominates_an_option_is_named() -> None:
    assert [*explainer().dominance([])] == []
    (found,) = explainer().dominance([OptionId("d/pack"), OptionId("d/slip")])
    assert (found.stance, found.text) == (
        "order",
        "At least as gentle on every axis, as helpful and as quick: "
        "damp pack; slipping in a sheet.",
    )


def test_an_act_is_told_with_its_place() -> None:
    assert explainer().act(Act(SLIP, "lw:Barrier", ("a", "b"))) == (
        "slipping in a sheet between the a and the b"
    )
    assert explainer().act(Act(SLIP, "condition:flat", ("c",))) == "slipping in a sheet at the c"


@pytest.mark.parametrize(
    ("holds", "because"),
    [
        (True, "Of use only where \u201clies flat\u201d holds; by the record it does not."),
        (
            False,
            "Of no use where \u201clies flat\u201d holds; by the record it does.",
        ),
    ],
)
def test_what_is_set_aside_is_told_with_its_condition(holds: bool, because: str) -> None:
    damage = DamageFound(id="d", damage="damage:split", parts=["a"])
    aside = SetAside(damage, PACK, EFFECT, Asked("condition:flat", holds, Tri.NO))
    found = explainer().set_aside(aside)

    assert (found.technique, found.label) == ("technique:pack", "damp pack")
    assert because in vars_of(found)


def vars_of(found: Any) -> list[Any]:
    return [getattr(found, name) for name in found.__dataclass_fields__]


def test_there_is_a_word_of_its_own_for_each_grade() -> None:
    assert len({*EFFECTS}) == len({*HINDERS}) == 5
