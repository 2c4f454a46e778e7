"""Laws that hold whatever the case: a worse or an emptier record makes no option safer."""

from __future__ import annotations

import copy
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.knowledge.knowledge import Knowledge, shipped_files
from leastwise.graph.knowledge.rules import load_rule_book, shipped_rules
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.shacl.triples import Triples
from leastwise.graph.weighing.earlier import EARLIER

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

Record = dict[str, Any]
#: Verdicts from worst to best.
SAFETY = {"defeated": 0, "undecided": 1, "accepted": 2}
FIBRES = ["silk", "cotton", "wool", "viscose-rayon", "weighted-silk", "cellulose-acetate"]
OTHERS = [
    "undyed", "madder", "direct-dye", "dye-unidentified", "gelatin-sequins", "copper-thread",
    "painted", "net", "moire", "starch-size", "leather-red-rot", "cellulose-nitrate", "beaded",
]  # fmt: skip
DAMAGES = [
    "crease", "tear", "ingrained-soil", "dust", "shattering", "yellowing", "accretion", "frass",
    "metal-corrosion", "powdering-paint",
]  # fmt: skip
KINDS = [
    "sewn-through", "stitched", "glued", "lies-on", "layered-under", "hangs-from", "fastened",
    "touches", "unknown",
]  # fmt: skip
#: What defeats for want of a gain: a part that may have what the technique helps on gives hope,
#: and no safety.
GAINLESS = {"rule:works-only-elsewhere"}
#: Tests of the whole part that tell of an agent by themselves.
TESTS = [
    "vapour-trial", "colourfastness-vapour", "colourfastness-water", "needle-prick", "heat-trial",
    "handling-strength", "acetone-drop", "rub-dry", "iron-spot", "soil-identification",
]  # fmt: skip
known = st.sampled_from(["certain", "presumed", "unknown"])
tri = st.sampled_from(["yes", "no", "unknown"])
FIELDS = ("lies_flat", "reverse_reachable", "bears_handling", "bears_needle", "sound_surroundings")
NAMES = ("a", "b", "c", "d")


@st.composite
def parts(draw: st.DrawFn, name: str) -> Record:
    """Draw a part of one fibre and at most two other materials."""
    made = [draw(st.sampled_from(FIBRES)), *draw(st.lists(st.sampled_from(OTHERS), max_size=2))]
    return {
        "id": name,
        "name": name,
        "materials": [{"material": one, "identified": draw(known)} for one in dict.fromkeys(made)],
        **{field: draw(tri) for field in FIELDS},
    }


@st.composite
def contacts(draw: st.DrawFn, first: str, second: str) -> Record:
    """Draw a contact between two parts that is not closed yet."""
    return {
        "between": [first, second],
        "kind": draw(st.sampled_from(KINDS)),
        "barrier": draw(st.sampled_from(["possible", "impossible", "unknown"])),
        "parting": draw(st.sampled_from(["possible", "impossible", "unknown"])),
    }


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Draw a case of up to three parts in a chain, with one or two damages and some tests."""
    names = NAMES[: draw(st.integers(1, 3))]
    kinds = draw(st.lists(st.sampled_from(DAMAGES), min_size=1, max_size=2, unique=True))
    return {
        "leastwise_case": 1,
        "id": "drawn",
        "title": "Drawn",
        "demo": True,
        "object": {"name": "an invented object", "past_treatment": "none"},
        "parts": [draw(parts(name)) for name in names],
        "contacts": [draw(contacts(*pair)) for pair in pairwise(names)],
        "damages": [
            {
                "id": f"d-{kind}",
                "damage": kind,
                "parts": [draw(st.sampled_from(names))],
                "evidence": "no",
                "severity": "moderate",
                "activity": "stable",
            }
            for kind in kinds
        ],
        "tests": [
            {"test": test, "part": draw(st.sampled_from(names)), "result": draw(results)}
            for test in draw(st.lists(st.sampled_from(TESTS), max_size=2, unique=True))
        ],
        "significance": {"statement": "x", "curator_agrees": draw(tri)},
        "aim": {"purpose": "display", "mounting": "flat", "travels": "no", "rh_controlled": "yes"},
        "means": {"hours": 500, "skill": "specialist", "equipment": "unknown"},
    }


results = st.sampled_from(["good", "bad", "inconclusive"])
few = settings(max_examples=25, deadline=None, phases=[Phase.generate])


@pytest.fixture(scope="module")
def verdicts(adviser: Adviser) -> Callable[[Record], dict[str, str]]:
    """Return the verdicts of a record by option."""

    def weigh(record: Record) -> dict[str, str]:
        steps = adviser.steps(case_from_data(record, adviser.knowledge))
        return {c.id: steps.argue(c).verdict for c in steps.candidates}

    return weigh


@pytest.fixture(scope="module")
def gainless(adviser: Adviser) -> Callable[[Record], set[str]]:
    """Return the options that are defeated only because they would do nothing here."""

    def weigh(record: Record) -> set[str]:
        steps = adviser.steps(case_from_data(record, adviser.knowledge))
        defeats = {
            option: {f.rule.id for f in findings if f.rule.effect == "defeats"}
            for option, findings in steps.findings.items()
        }
        return {option for option, rules in defeats.items() if rules and rules <= GAINLESS}

    return weigh


@pytest.fixture(scope="module")
def kept_apart(adviser: Adviser) -> Callable[[Record], set[str]]:
    """Return the options whose course puts something between two parts."""

    def weigh(record: Record) -> set[str]:
        steps = adviser.steps(case_from_data(record, adviser.knowledge))
        return {c.id for c in steps.candidates if any(len(a.where) == 2 for a in c.acts)}

    return weigh


@pytest.fixture(scope="module")
def worked(adviser: Adviser) -> Callable[[Record, str, str], set[str]]:
    """Return the options whose course does something between two parts.

    With them what waits for such a course: it is never accepted before that is done.
    """

    def weigh(record: Record, first: str, second: str) -> set[str]:
        steps = adviser.steps(case_from_data(record, adviser.knowledge))
        here = {
            c.id for c in steps.candidates if any({first, second} == {*a.where} for a in c.acts)
        }
        waiting = {
            c.id
            for c in steps.candidates
            if any(a.supplies == EARLIER for a in c.acts) and steps.verdict(c.id) == "undecided"
        }
        return here | waiting if here else set()

    return weigh


@pytest.fixture(scope="module")
def harmed(adviser: Adviser) -> Callable[[Record], set[str]]:
    """Return the options that something forbids or leaves open, means and permission apart."""

    def weigh(record: Record) -> set[str]:
        steps = adviser.steps(case_from_data(record, adviser.knowledge))
        stopping = ("defeats", "leavesUndecided")
        return {
            option
            for option, findings in steps.findings.items()
            if any(f.rule.effect in stopping and not f.rule.waits_for for f in findings)
        }

    return weigh


def safer(before: dict[str, str], after: dict[str, str]) -> list[str]:
    """Return the options that come out better than before."""
    return [one for one in before if SAFETY[after[one]] > SAFETY[before[one]]]


def newly_accepted(before: dict[str, str], after: dict[str, str]) -> list[str]:
    """Return the options that are accepted and weren't."""
    return [one for one in before if after[one] == "accepted" != before[one]]


def with_more(record: Record, field: str, *more: Record) -> Record:
    """Return a copy of a record with more entries of one kind."""
    return record | {field: [*record[field], *more]}


Verdicts = Callable[[Record], dict[str, str]]


@few
@given(record=records(), part=parts("z"))
def test_a_further_part_makes_no_option_safer(
    verdicts: Verdicts, record: Record, part: Record
) -> None:
    assert not safer(verdicts(record), verdicts(with_more(record, "parts", part)))


@few
@given(record=records(), data=st.data())
def test_a_further_contact_makes_no_option_safer(
    verdicts: Verdicts,
    worked: Callable[[Record, str, str], set[str]],
    gainless: Callable[[Record], set[str]],
    record: Record,
    data: st.DataObject,
) -> None:
    """Where the course opens that very contact, what it gives (a way to the back) counts.

    What was refused for want of a gain alone may turn out to be of use: nothing forbade it before.
    """
    assume(len(record["parts"]) > 1)
    names = [part["id"] for part in record["parts"]]
    first, second = data.draw(st.permutations(names))[:2]
    after = with_more(record, "contacts", data.draw(contacts(first, second)))
    better = {*safer(verdicts(record), verdicts(after))} - gainless(record)

    assert not better or better <= worked(after, first, second)


@few
@given(record=records(), data=st.data())
def test_a_field_that_turns_unknown_makes_no_option_accepted(
    verdicts: Verdicts, record: Record, data: st.DataObject
) -> None:
    emptied = copy.deepcopy(record)
    part = data.draw(st.sampled_from(emptied["parts"]))
    what = data.draw(st.sampled_from([*FIELDS, "identified"]))
    if what == "identified":
        data.draw(st.sampled_from(part["materials"]))["identified"] = "unknown"
    else:
        part[what] = "unknown"

    assert not newly_accepted(verdicts(record), verdicts(emptied))


OPEN = {
    **{field: ["yes", "no"] for field in FIELDS},
    "identified": ["certain", "presumed"],
    "barrier": ["in-place", "possible", "impossible"],
    "parting": ["done", "possible", "impossible"],
    "curator_agrees": ["yes", "no"],
}


def entries(record: Record) -> list[tuple[Record, str]]:
    """Return what of a record is unknown: the entry that holds it, and its field."""
    materials = [one for part in record["parts"] for one in part["materials"]]
    holders = [*record["parts"], *materials, *record["contacts"], record["significance"]]
    return [(one, field) for one in holders for field in OPEN if one.get(field) == "unknown"]


@few
@given(record=records(), data=st.data())
def test_what_is_accepted_does_no_harm_however_what_is_open_turns_out(
    verdicts: Verdicts, harmed: Callable[[Record], set[str]], record: Record, data: st.DataObject
) -> None:
    settled = copy.deepcopy(record)
    assume(entries(settled))
    holder, field = data.draw(st.sampled_from(entries(settled)))
    holder[field] = data.draw(st.sampled_from(OPEN[field]))
    accepted = {one for one, verdict in verdicts(record).items() if verdict == "accepted"}

    assert not accepted & harmed(settled)


@few
@given(record=records(), test=st.sampled_from(TESTS), data=st.data())
def test_a_further_bad_result_makes_no_option_safer(
    verdicts: Verdicts,
    kept_apart: Callable[[Record], set[str]],
    record: Record,
    test: str,
    data: st.DataObject,
) -> None:
    """A course that now keeps the agent away, by a film or a parting, is another course."""
    part = data.draw(st.sampled_from(record["parts"]))["id"]
    earlier = record | {"tests": [one | {"date": "2026-01-10"} for one in record["tests"]]}
    bad = {"test": test, "part": part, "result": "bad", "date": "2026-02-10"}

    after = with_more(earlier, "tests", bad)
    better = {*safer(verdicts(earlier), verdicts(after))}

    assert not better or better <= kept_apart(after)


@few
@given(record=records(), data=st.data())
def test_a_fibre_left_out_makes_no_option_accepted(
    verdicts: Verdicts, record: Record, data: st.DataObject
) -> None:
    """Where only components are left the part is a hook or a bead, so here it keeps its weave."""
    record = copy.deepcopy(record)
    for one in record["parts"]:
        one["materials"].append({"material": "plain-weave", "identified": "certain"})
    shorter = copy.deepcopy(record)
    part = data.draw(
        st.sampled_from([p for p in shorter["parts"] if len(p["materials"]) > 1] or [None])
    )
    assume(part is not None)
    part["materials"] = part["materials"][1:]

    assert not newly_accepted(verdicts(record), verdicts(shorter))


@few
@given(record=records(), stop=st.sampled_from(["barrier", "parting"]), data=st.data())
def test_a_stop_recorded_as_impossible_makes_no_option_safer(
    verdicts: Verdicts, record: Record, stop: str, data: st.DataObject
) -> None:
    assume(record["contacts"])
    closed = copy.deepcopy(record)
    data.draw(st.sampled_from(closed["contacts"]))[stop] = "impossible"

    assert not safer(verdicts(record), verdicts(closed))


@few
@given(record=records(), data=st.data())
def test_the_order_of_the_record_changes_nothing(
    verdicts: Verdicts, record: Record, data: st.DataObject
) -> None:
    turned = {
        key: data.draw(st.permutations(value)) if isinstance(value, list) else value
        for key, value in record.items()
    }
    for part in turned["parts"]:
        part["materials"] = data.draw(st.permutations(part["materials"]))

    assert verdicts(turned) == verdicts(record)


@pytest.fixture(scope="module")
def turned(adviser: Adviser) -> Adviser:
    """Return an adviser over the same triples in the opposite order, parents and claims too."""
    triples, digest = load_triples(shipped_files("seed_data"), None)
    turned = Triples(triples.terms)
    for block in reversed(triples.blocks):
        turned = turned.extended_with(triples.terms, block.s[::-1], block.p[::-1], block.o[::-1])
    rules = load_rule_book(files=[*reversed(shipped_rules())])
    return Adviser(Knowledge(turned, digest), rules)


@few
@given(record=records())
def test_the_order_of_files_and_triples_changes_nothing(
    turned: Adviser, verdicts: Verdicts, record: Record
) -> None:
    steps = turned.steps(case_from_data(record, turned.knowledge))

    assert {c.id: steps.argue(c).verdict for c in steps.candidates} == verdicts(record)
