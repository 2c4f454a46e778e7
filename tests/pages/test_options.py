"""The options pages without scripts: what stands first, order by weights, one option, two."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from leastwise.api.store import Document
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer, DamageAnswer, OptionAnswer
from leastwise.graph.case.demo import read_demo
from leastwise.graph.weighing.said_once import said_once

Keep = Callable[..., Document]
DANCER = "festival-dancer"
PACK = "crushed-tiers/membrane-pack-suspended"


@pytest.fixture(scope="module")
def case(adviser: Adviser) -> Case:
    return read_demo(DANCER, adviser.knowledge)


@pytest.fixture(scope="module")
def answer(adviser: Adviser, case: Case) -> Answer:
    return adviser.weigh(case)


def shown(text: str) -> list[str]:
    return re.findall(r'data-option="([^"]+)"', text)


def laid_out(damages: Iterable[DamageAnswer], order: Iterable[str] = ()) -> list[str]:
    """Return the ids as the page lays them out: worth weighing, folded, defeated, by damage."""
    place = {one: i for i, one in enumerate(order)}

    def group(damage: DamageAnswer, o: OptionAnswer) -> int:
        leading = {place.leads for place in damage.places}
        return 2 if o.verdict == "defeated" else int(o.id not in leading)

    return [
        o.id
        for d in damages
        for o in sorted(d.options, key=lambda o, d=d: (group(d, o), place.get(o.id, o.rank)))  # type: ignore[misc]
    ]


def by_hand(answer: Answer, points: dict[str, int]) -> list[str]:
    """Put the options in order from what the answer says, without the code under test."""
    total = sum(points.values())
    weights = {f"axis:{name}": round(n / total, 6) for name, n in points.items()}

    def key(o: OptionAnswer) -> tuple[Any, ...]:
        burden = round(sum(weights[a] * g for a, g in o.burdens.items()) / 4, 6)
        stands = ["meets-aim", "helps", "idle", "out"].index(o.heading)
        left = 0 if stands == 0 else o.residual
        expected = round(burden + o.waiting, 6)
        return (stands, left, expected, o.hours[0], o.residual, o.hours[1], o.id)

    return [o.id for d in answer.damages for o in sorted(d.options, key=key)]


def test_every_option_is_shown_in_the_order_of_the_answer(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    page = client.get(f"/cases/{keep().id}/options").text
    assert shown(page) == laid_out(answer.damages)
    for option in answer.options():
        assert html.escape(option.label) in page
    assert page.count("defeated option") == sum(
        any(o.verdict == "defeated" for o in d.options) for d in answer.damages
    )


def test_people_come_first_then_the_answer_in_short_then_options_tests_and_notes(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    page = html.unescape(client.get(f"/cases/{keep().id}/options").text)
    places = [
        page.index(answer.people_first[0].message),
        page.index('id="in-short"'),
        page.index('data-option="'),
        page.index('id="tests"'),
        page.index('id="lacks"'),
    ]
    assert places == sorted(places)


def test_each_damage_has_a_line_with_what_comes_first_and_what_first_meets_the_aim(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    page = html.unescape(client.get(f"/cases/{keep().id}/options").text)
    for damage in answer.damages:
        line = page.partition(f'data-brief="{damage.id}"')[2].partition("</dl>")[0]
        first, aim = line.split("data-brief-aim")
        standing = [o for o in damage.options if o.verdict != "defeated"]
        meeting = [o for o in standing if o.meets_aim]
        assert f'/options/{standing[0].id}"' in first
        assert f">{standing[0].verdict}" in first.replace("</svg>", ">")
        if not meeting:
            assert "none that stands" in aim
        elif meeting[0] is standing[0]:
            assert "the same" in aim
        else:
            assert f'/options/{meeting[0].id}"' in aim


def test_what_a_rule_says_of_several_parts_is_said_once_with_all_of_them(answer: Answer) -> None:
    names = {"top": "top tier of the overskirt", "low": "lower tier of the overskirt"}
    one = answer.record[0]
    told = [replace(one, part=p, message=f"Shade {name} well.") for p, name in names.items()]
    other = replace(one, rule="rule:another", part="", message="Write down the light.")
    (both, alone) = said_once([*told, other, told[0]], names)
    assert both.message == "Shade top tier of the overskirt and lower tier of the overskirt well."
    assert alone.message == other.message


def test_the_baseline_of_each_damage_is_in_view_with_its_rank(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    page = client.get(f"/cases/{keep().id}/options").text
    ranks = [next(o.rank for o in d.options if o.is_baseline) for d in answer.damages]
    assert [int(r) for r in re.findall(r"data-baseline-rank>(\d+)<", page)] == ranks


@pytest.mark.parametrize(
    "points",
    [
        {"visual-change": 90},
        {"exposure": 100, "irreversibility": 0, "penetration": 3},
        {"material-added": 1, "penetration": 0, "irreversibility": 0, "exposure": 0,
         "evidence-lost": 63, "future-treatment-hindered": 0, "visual-change": 0},
    ],
)  # fmt: skip
def test_weights_in_the_address_order_the_options_and_leave_the_verdicts(
    client: TestClient, keep: Keep, answer: Answer, points: dict[str, int]
) -> None:
    standard = {a.partition(":")[2]: round(100 * w) for a, w in answer.policy.weights.items()}
    name = keep().id
    text = ",".join(f"{axis}:{n}" for axis, n in points.items())
    page = client.get(f"/cases/{name}/options", params={"weights": text}).text
    expected = laid_out(answer.damages, by_hand(answer, standard | points))
    assert shown(page) == expected
    form = {f"w-{axis}": n for axis, n in points.items()}
    assert shown(client.get(f"/cases/{name}/options", params=form).text) == expected
    rows = re.findall(r'class="option (\w+)-row" data-option="([^"]+)"', page)
    assert {o: v for v, o in rows} == {o.id: o.verdict for o in answer.options()}


def test_what_weights_move_is_named(client: TestClient, keep: Keep, answer: Answer) -> None:
    name = keep().id
    points = (
        "material-added:50,penetration:50,irreversibility:0,exposure:0,evidence-lost:50,"
        "future-treatment-hindered:0,visual-change:50"
    )
    before = laid_out(answer.damages)
    page = html.unescape(client.get(f"/cases/{name}/options?weights={points}").text)
    assert shown(page) != before
    moved = re.findall(r"<b>([^<]+)</b> now comes before <b>([^<]+)</b>", page)
    assert moved
    label = {o.id: o.label for o in answer.options()}
    own = {axis: int(n) for axis, n in (pair.split(":") for pair in points.split(","))}
    after = [label[o] for o in by_hand(answer, own)]
    for one, other in moved:
        assert any(after[i] == one and after[i + 1] == other for i in range(len(after) - 1))
    same = client.get(f"/cases/{name}/options?weights=exposure:20").text  # the policy's own
    assert shown(same) == before
    assert "now comes before" not in same


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"weights": "exposure:101"}, "a whole number from 0 to 100"),
        ({"weights": "exposure:-1"}, "a whole number from 0 to 100"),
        ({"weights": "beauty:3"}, "AXIS:POINTS"),
        ({"w-exposure": "much"}, "a whole number from 0 to 100"),
        (
            {"weights": "material-added:0,penetration:0,irreversibility:0,exposure:0,"
                        "evidence-lost:0,future-treatment-hindered:0,visual-change:0"},
            "more than 0 for at least one axis",
        ),
    ],
)  # fmt: skip
def test_weights_that_cannot_be_used_are_told_and_change_nothing(
    client: TestClient, keep: Keep, answer: Answer, query: dict[str, str], said: str
) -> None:
    got = client.get(f"/cases/{keep().id}/options", params=query)
    assert got.status_code == 422
    assert said in html.unescape(got.text)
    assert shown(got.text) == laid_out(answer.damages)


def test_one_verdict_alone_can_be_shown(client: TestClient, keep: Keep, answer: Answer) -> None:
    page = client.get(f"/cases/{keep().id}/options?verdict=undecided").text
    assert shown(page) == [o.id for o in answer.options() if o.verdict == "undecided"]


def test_another_policy_gives_its_own_order(
    client: TestClient, keep: Keep, adviser: Adviser, case: Case
) -> None:
    page = client.get(f"/cases/{keep().id}/options?policy=policy:display-driven").text
    other = adviser.under("policy:display-driven").weigh(case)
    assert shown(page) == laid_out(other.damages)
    unknown = client.get(f"/cases/{keep().id}/options?policy=policy:none")
    assert unknown.status_code == 400
    assert "policy:display-driven" in unknown.text


@pytest.mark.usefixtures("empty_shelf")
def test_rank_shares_come_with_a_second_request_and_are_in_the_page_from_then_on(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    name = keep().id
    assert "of weightings" not in client.get(f"/cases/{name}/options").text
    pieces = client.get(f"/cases/{name}/options/shares").json()["options"]
    assert set(pieces) == {o.id for o in answer.options()}
    page = client.get(f"/cases/{name}/options").text
    assert page.count("of weightings") == len(pieces)


def test_an_option_shows_every_reason_with_claims_sources_cautions_and_mends(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    name = keep().id
    option = next(o for o in answer.options() if o.id == PACK)
    page = html.unescape(client.get(f"/cases/{name}/options/{option.id}").text)
    for finding in option.findings:
        assert finding.message in page
        assert all(answer.cautions[caution] in page for caution in finding.cautions)
        assert all(mend.label in page for mend in finding.mends)
        for name in finding.claims:
            claim = answer.claims[name]
            assert f'href="/concepts/{name}"' in page
            assert claim.statement in page
            if claim.source:  # titles between asterisks are set in italics
                said = answer.sources[claim.source].citation.replace("*", "")
                assert said in re.sub(r"</?cite>", "", page)
    assert option.stop_sign in page
    assert option.monitoring in page


def test_the_deciding_branch_is_open_and_no_other(client: TestClient, keep: Keep) -> None:
    page = client.get(f"/cases/{keep().id}/options/{PACK}").text
    opened = re.findall(r'<details class="reason-group" open><summary><h3>(\w+)', page)
    assert opened == ["Open"]
    assert len(re.findall(r'<details class="reason-group">', page)) > 2


def test_an_option_that_is_not_first_says_why_and_what_would_change_it(
    client: TestClient, keep: Keep, answer: Answer
) -> None:
    name = keep().id
    first, later = (o for o in answer.damages[0].options[:2])
    page = html.unescape(client.get(f"/cases/{name}/options/{later.id}").text)
    assert "Why not this?" in page
    assert "stands above" in page
    assert "would be accepted after:" not in page
    asked = html.unescape(
        client.get(f"/cases/{name}/options/{later.id}?ask=what-would-change").text
    )
    assert "would be accepted after:" in asked
    assert "Why not this?" not in client.get(f"/cases/{name}/options/{first.id}").text


def test_the_drawing_has_its_text_beside_it(client: TestClient, keep: Keep) -> None:
    name = keep().id
    drawing = client.get(f"/cases/{name}/options/{PACK}/arguments.svg")
    assert drawing.headers["content-type"].startswith("image/svg+xml")
    assert drawing.text.startswith("<svg")
    page = client.get(f"/cases/{name}/options/{PACK}").text
    boxes = drawing.text.count("<rect")
    assert f"The same in words ({boxes} arguments)" in page


def test_what_is_not_there_is_not_found(client: TestClient, keep: Keep) -> None:
    name = keep().id
    for path in ("crushed-tiers/nothing", "nothing/membrane-pack-suspended"):
        assert client.get(f"/cases/{name}/options/{path}").status_code == 404
        assert client.get(f"/cases/{name}/options/{path}/arguments.svg").status_code == 404
    assert client.get("/cases/none/options").status_code == 404
    assert client.get("/cases/none/compare").status_code == 404


def test_two_options_stand_side_by_side(client: TestClient, keep: Keep, answer: Answer) -> None:
    other, one = answer.damages[0].options[:2]
    assert other.id == PACK
    query = urlencode({"one": PACK, "other": one.id})
    page = html.unescape(client.get(f"/cases/{keep().id}/compare?{query}").text)
    said = {f.message for f in one.findings}
    only = [f.message for f in other.findings if f.message not in said]
    only += [m for m in said if m not in {f.message for f in other.findings}]
    assert only
    assert all(message in page for message in only)
    for axis, grade in other.burdens.items():
        label = axis.partition(":")[2].replace("-", " ")
        assert f'aria-label="{label}: {grade} of 4"' in page
    assert "stands above" in page


@pytest.mark.parametrize(
    ("one", "other", "field", "said"),
    [
        (PACK, PACK, "other", "the same option"),
        (PACK, "loose-sequins/leave-and-monitor", "other", "another damage"),
        ("<b>x</b>", PACK, "one", "is no option of this case"),
    ],
)
def test_a_wrong_choice_is_told_beside_its_field(
    client: TestClient, keep: Keep, one: str, other: str, field: str, said: str
) -> None:
    got = client.get(f"/cases/{keep().id}/compare", params={"one": one, "other": other})
    assert got.status_code == 422
    beside = re.search(rf'id="{field}-error">([^<]*)<', got.text)
    assert beside is not None
    assert said in html.unescape(beside[1])
    assert "<b>x</b>" not in got.text


def test_hostile_names_are_shown_as_text(
    client: TestClient, keep: Keep, adviser: Adviser, case: Case
) -> None:
    data = case.model_dump(mode="json")
    hostile = "<script>alert(1)</script> {technique} \"' </script>"
    data["parts"][0]["name"] = hostile
    name = keep(data).id
    for path in ("options", f"options/{PACK}", f"compare?one={PACK}&other=crushed-tiers/no"):
        page = client.get(f"/cases/{name}/{path}").text
        assert "<script>alert(1)" not in page
    assert html.escape(hostile, quote=False)[:30] in client.get(f"/cases/{name}/options").text
    drawing = client.get(f"/cases/{name}/options/{PACK}/arguments.svg").text
    assert "<script>alert" not in drawing


def test_braces_in_a_name_stay_as_they_are(adviser: Adviser, case: Case) -> None:
    data = case.model_dump(mode="json")
    data["parts"][0]["name"] = "tier {technique}{agent}"
    messages = [
        f.message
        for o in adviser.weigh(Case.model_validate(data)).options()
        for f in o.findings
        if "tier {" in f.message
    ]
    assert messages
    assert all("tier {technique}{agent}" in message for message in messages)


def test_a_draft_that_cannot_be_weighed_says_what_is_missing(
    client: TestClient, keep: Keep
) -> None:
    name = keep({"title": "begun", "leastwise_case": 1}).id
    for path in ("options", f"options/{PACK}", "compare"):
        page = client.get(f"/cases/{name}/{path}").text
        assert "not complete enough" in page
    assert client.get(f"/cases/{name}/options/shares").json() == {"options": {}}
