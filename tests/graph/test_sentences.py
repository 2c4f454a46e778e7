"""Sentences that agree: articles, lists, number, and what was put in between."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.sentences import agreed, is_plural, the
from leastwise.graph.weighing.findings import _filled
from leastwise.graph.weighing.said_once import said_once
from tests.conftest import DEMOS


@pytest.mark.parametrize(
    ("name", "plural"),
    [
        ("top tier of the overskirt", False),
        ("hooks and press studs of the bodice", True),
        ("worn stripes with loose floats", True),
        ("dress", False),
        ("canvas", False),
        ("lining, later", False),
        ("gelatin sequins", True),
        ("feet of the stockings", True),
        ("", False),
    ],
)
def test_the_head_of_a_name_says_whether_it_is_several(name: str, plural: bool) -> None:
    assert is_plural(name) is plural


@pytest.mark.parametrize(
    ("name", "said"), [("collar", "the collar"), ("The collar", "The collar"), ("", ""),
                       ("2b", "2b"), ("an added hem", "an added hem"), ("A", "A")],
)  # fmt: skip
def test_an_article_comes_once(name: str, said: str) -> None:
    assert the(name) == said


@pytest.mark.parametrize(
    ("template", "plural", "said"),
    [
        ("{part} is weak.", {"part"}, "The hooks are weak."),
        ("{part} is weak.", set(), "The hooks is weak."),
        ("The colour of {part} is lost.", {"part"}, "The colour of the hooks is lost."),
        ("The {material} of {part} has run.", {"part"}, "The silk of the hooks has run."),
        ("The {material} of {part} has run.", {"material"}, "The silk of the hooks have run."),
        ("It reaches {part}{via} unless stopped.", set(),
         "It reaches the hooks, coming from the skirt, unless stopped."),
        ("It reaches {part}{via}, and stays.", set(),
         "It reaches the hooks, coming from the skirt, and stays."),
        ("{Part} {nothing}.", set(), "The hooks {nothing}."),
    ],
)  # fmt: skip
def test_a_template_is_filled_as_one_sentence(template: str, plural: set[str], said: str) -> None:
    names = {"part": "the hooks", "material": "silk", "via": ", coming from the skirt"}

    assert _filled(template, names, frozenset(plural)) == said


def test_a_verb_agrees_only_with_its_own_subject() -> None:
    assert agreed("nothing shows that the ", " bears it", plural=True) == " bear it"
    assert agreed("the fat in ", " makes wax", plural=True) == " makes wax"


def test_parts_said_together_take_a_verb_in_the_plural(
    demo: Callable[[str], Case], adviser: Adviser
) -> None:
    one = adviser.weigh(demo("festival-dancer")).record[0]
    names = {"a": "collar", "b": "left cuff"}
    told = [
        replace(one, part=part, message=f"Whether the {name} bears it is not known.")
        for part, name in names.items()
    ]

    (both,) = said_once(told, names)

    assert both.message == "Whether the collar and the left cuff bear it is not known."


@pytest.mark.parametrize("name", DEMOS)
def test_no_sentence_of_an_answer_misses_a_capital_an_article_or_a_word(
    name: str, demo: Callable[[str], Case], adviser: Adviser
) -> None:
    case = demo(name)
    answer = adviser.weigh(case)
    found = [f.message for o in answer.options() for f in o.findings]
    assert len(found) > 50

    bare = "|".join(re.escape(part.name) for part in case.parts)
    assert not [m for m in found if re.search(rf"\b(?:of|on|to|from|that) (?:{bare})\b", m)]
    assert not [m for m in found if m[0].islower() or "{" in m or "  " in m]
    assert not [m for m in found if re.search(r"\b(?:the the|a a|of of)\b", m)]
