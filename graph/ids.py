"""Names that are made of two: an option (a problem and a technique), and two parts that touch.

Both are text wherever they are written, in JSON, addresses and tables, and are taken apart here
and nowhere else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from pydantic_core import core_schema

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler

__all__ = ["OptionId", "Pair", "problem_in_words"]

_TECHNIQUE = "technique:"


class _Twofold(str):
    """Text that is made of two; a value, equal to the same text."""

    __slots__ = ()

    def __deepcopy__(self, _: dict[int, Any]) -> Self:
        return self

    @classmethod
    def __get_pydantic_core_schema__(
        cls, _source: type, _handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(cls, core_schema.str_schema())


class OptionId(_Twofold):
    """The id of an option: the problem that it answers, and its technique.

    >>> one = OptionId("crushed-tiers/membrane-pack")
    >>> one.problem, one.technique, one.name
    ('crushed-tiers', 'technique:membrane-pack', 'membrane-pack')
    """

    __slots__ = ()

    def __new__(cls, text: str) -> Self:
        """Return the id that is written as *text*.

        Raises:
            ValueError: *text* isn't a problem and a technique with a slash between them.

        """
        problem, slash, name = text.partition("/")
        if not (problem and slash and name):
            raise ValueError(f"option: expected problem/technique, got {text!r}")
        return super().__new__(cls, text)

    @classmethod
    def of(cls, problem: str, technique: str) -> Self:
        """Return the id of a technique (a CURIE) for a problem.

        >>> OptionId.of("top-split", "technique:laid-couching")
        'top-split/laid-couching'
        """
        return cls(f"{problem}/{technique.removeprefix(_TECHNIQUE)}")

    @property
    def problem(self) -> str:
        """The id of the damage or need."""
        return self.partition("/")[0]

    @property
    def name(self) -> str:
        """The name of the technique, without its prefix."""
        return self.partition("/")[2]

    @property
    def technique(self) -> str:
        """The CURIE of the technique."""
        return _TECHNIQUE + self.name


def problem_in_words(option: str) -> str:
    """Return the problem of an option as words for a sentence.

    What stands in a file of somebody else's may be no id; it is then all problem.

    >>> problem_in_words("top-split/laid-couching")
    'top split'
    """
    return option.partition("/")[0].replace("-", " ")


class Pair(_Twofold):
    """Two parts that touch, in the order of the record or of a path.

    >>> Pair.of("bodice", "lining").parts
    ('bodice', 'lining')
    """

    __slots__ = ()

    def __new__(cls, text: str) -> Self:
        """Return the pair that is written as *text*.

        Raises:
            ValueError: *text* doesn't name two parts with "and" between them.

        """
        first, joint, second = text.partition(" and ")
        if not (first and joint and second):
            raise ValueError(f"parts that touch: expected two with 'and' between, got {text!r}")
        return super().__new__(cls, text)

    @classmethod
    def of(cls, first: str, second: str) -> Self:
        """Return the pair of two parts."""
        return cls(f"{first} and {second}")

    @property
    def parts(self) -> tuple[str, str]:
        """The ids of both parts."""
        first, _, second = self.partition(" and ")
        return first, second

    def is_of(self, parts: tuple[str, str]) -> bool:
        """Return whether it names the same two parts, in whatever order."""
        mine = self.parts
        return parts in (mine, mine[::-1])
