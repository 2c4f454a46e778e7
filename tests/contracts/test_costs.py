"""What tests cost is known by function; the quick run leaves out what costs much, and no more."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.costs import Costs, is_quick, is_slow_throughout, merged, ordered, place_of

HERE = "tests/contracts/test_costs.py"
DEAR: Costs = {
    HERE: {"test_dear": 3.0, "test_cheap": 0.04, "@world": 2.0},
    "tests/gone.py": {"test_old": 9.0},
}


@dataclass
class Item:
    nodeid: str
    is_slow: bool = False
    fixturenames: list[str] = field(default_factory=list)

    def get_closest_marker(self, name: str) -> str | None:
        return name if self.is_slow else None


def test_a_test_is_known_by_file_and_function() -> None:
    assert place_of(f"{HERE}::test_dear[a::b[0]]") == (HERE, "test_dear")


@pytest.mark.parametrize(
    ("item", "quick"),
    [
        (Item(f"{HERE}::test_dear[1]"), False),
        (Item(f"{HERE}::test_cheap"), True),
        (Item(f"{HERE}::test_nobody_measured"), True),
        (Item(f"{HERE}::test_nobody_measured", is_slow=True), False),
        (Item(f"{HERE}::test_cheap", fixturenames=["world"]), False),
        (Item(f"{HERE}::test_cheap", fixturenames=["demo"]), True),
    ],
)
def test_quick_is_what_is_neither_dear_nor_marked_slow(item: Item, quick: bool) -> None:
    assert is_quick(item, DEAR) is quick


def test_a_file_all_of_whose_tests_are_slow_is_known_by_its_mark(tmp_path: Path) -> None:
    whole, part = tmp_path / "test_whole.py", tmp_path / "test_part.py"
    whole.write_text("import pytest\n\npytestmark = pytest.mark.slow  # seconds each\n", "utf-8")
    part.write_text("@pytest.mark.slow\ndef test_one(): ...\ndef test_other(): ...\n", "utf-8")

    assert is_slow_throughout(whole)
    assert not is_slow_throughout(part)


def test_the_costliest_files_come_first_and_keep_their_order() -> None:
    tests = [Item("tests/a.py::test_1"), Item(f"{HERE}::test_b"), Item(f"{HERE}::test_a")]

    assert ordered(tests, DEAR) == [tests[1], tests[2], tests[0]]


def test_a_file_counts_with_all_cases_of_its_tests() -> None:
    many, one = (
        (Item(f"tests/many.py::test_m[{n}]") for n in range(2)),
        Item("tests/one.py::test_o"),
    )
    costs = {"tests/many.py": {"test_m": 0.6}, "tests/one.py": {"test_o": 1.0}}
    tests = [one, *many]

    assert ordered(tests, costs) == [*tests[1:], one]


def test_what_was_measured_takes_the_place_of_what_was_known() -> None:
    measured = {f"{HERE}::test_dear[1]": [0.01], f"{HERE}::test_new[1]": [2.0]}

    assert merged(DEAR, measured) == {HERE: {"@world": 2.0, "test_cheap": 0.04, "test_new": 2.0}}
