"""A proposal's own words: plain text by section, and the choices that differ from the plan's.

A record of own words is one flat mapping of keys to text: a section's key, ``choice:DAMAGE`` (the
id of an option), ``reason:DAMAGE``, ``instead:SECTION`` ("yes" where own words stand instead of
what was derived) and ``contractual`` (yes, no, unknown). Texts hold paragraphs and lists of lines
that begin with a hyphen, nothing else.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field

from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.proposal.report.values import Block, Bullets, Line, Para

__all__ = [
    "MOST",
    "SECTION_KEYS",
    "SHORT_KEYS",
    "OwnWords",
    "blocks_of",
    "cleaned",
    "lost_in_words",
    "merged",
]

#: Characters that one text may hold.
MOST = 20_000
#: Texts of a line, for what the record has no field for.
SHORT_KEYS = ("owner", "maker", "size", "marks", "accessories", "approver", "responsible")
SECTION_KEYS = (
    "people", "purpose", "identification", "images", "methods", "observation", "interpretation",
    "condition", "past_treatment", "significance", "aims", "options", "tests", "method", "time",
    "cost", "benefits", "risks", "compensation", "display", "future_care", "competence",
    "deviations", "approvals",
)  # fmt: skip
LOST = ("nothing", "a fibre or a trace", "a crumb or a yarn", "a cut piece")
PREFIXES = ("choice:", "reason:", "instead:")
CONTRACTUAL = ("yes", "no", "unknown")
REPLACED = "\N{REPLACEMENT CHARACTER}"


def cleaned(text: str) -> str:
    r"""Return a text in which what has no shape of its own is shown as a mark.

    Control characters, lone halves of pairs and marks that turn the direction of what follows
    would be invisible or break a file; line breaks and tabs stay.

    >>> cleaned("a\x00b\r\nc") == "a\N{REPLACEMENT CHARACTER}b\nc"
    True
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n")
    return "".join(_shown(c) for c in text.replace("\u2029", "\n\n"))


def _shown(character: str) -> str:
    if character in "\n\t":
        return character
    point = ord(character)
    if unicodedata.category(character) in ("Cc", "Cs") or point & 0xFFFE == 0xFFFE:
        return REPLACED
    if 0x202A <= point <= 0x202E or 0x2066 <= point <= 0x2069 or 0xFDD0 <= point <= 0xFDEF:
        return REPLACED
    return character


def lost_in_words(grade: int) -> str:
    """Return what a test costs the object, of grade 0 nothing to 3 a cut piece.

    >>> lost_in_words(0), lost_in_words(3)
    ('nothing', 'a cut piece')
    """
    return LOST[min(grade, len(LOST) - 1)]


@dataclass(frozen=True, slots=True)
class OwnWords:
    """Own words by key; keys that are unknown to this version are kept and not shown."""

    texts: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, body: object) -> OwnWords:
        """Return the own words that a record or a file holds.

        Raises:
            CaseError: not a mapping of known keys to texts; names each that is wrong.

        """
        if not isinstance(body, Mapping):
            raise CaseError([Problem("words", type(body).__name__, "a mapping of keys to texts")])
        problems, texts = [], {}
        for key, value in body.items():
            fault = _fault(str(key), value)
            if fault:
                problems.append(fault)
            else:
                texts[str(key)] = cleaned(str(value))
        if problems:
            raise CaseError(problems)
        return cls(texts)

    @classmethod
    def stored(cls, body: Mapping[str, object]) -> OwnWords:
        """Return the own words of a stored record, whatever it holds; only texts count."""
        return cls({str(k): cleaned(v) for k, v in body.items() if isinstance(v, str)})

    def text(self, key: str) -> str:
        """Return the text under a key, empty where there is none."""
        return self.texts.get(key, "").strip()

    def choice(self, damage: str) -> str:
        """Return the option that was chosen for a damage, empty for the plan's choice."""
        return self.text(f"choice:{damage}")

    def reason(self, damage: str) -> str:
        """Return the reason for what is proposed for a damage."""
        return self.text(f"reason:{damage}")

    def instead(self, section: str) -> bool:
        """Return whether own words stand instead of the derived text of a section."""
        return self.text(f"instead:{section}") == "yes" and bool(self.text(section))

    @property
    def contractual(self) -> str:
        """Return whether the work is contractual: yes, no or unknown."""
        said = self.text("contractual")
        return said if said in CONTRACTUAL else "unknown"


def _fault(key: str, value: object) -> Problem | None:
    if key not in (*SECTION_KEYS, *SHORT_KEYS, "contractual") and not key.startswith(PREFIXES):
        known = ", ".join((*SECTION_KEYS, *SHORT_KEYS, "contractual", "choice:DAMAGE"))
        return Problem(f"words.{key}", "the key", f"one of {known}, reason:DAMAGE, instead:SECTION")
    if isinstance(value, bool) and (key == "contractual" or key.startswith("instead:")):
        return Problem(f"words.{key}", repr(value), 'a text in quotes, such as "yes"')
    if not isinstance(value, str):
        return Problem(f"words.{key}", repr(value)[:60], "a text")
    if len(value) > MOST:
        return Problem(f"words.{key}", f"{len(value)} characters", f"at most {MOST} characters")
    if key == "contractual" and value not in CONTRACTUAL:
        return Problem(f"words.{key}", repr(value)[:60], "yes, no or unknown")
    return None


def blocks_of(text: str) -> tuple[Block, ...]:
    r"""Return the paragraphs and lists of a plain text.

    >>> [block.kind for block in blocks_of("One.\n\n- two\n- three")]
    ['para', 'bullets']
    """
    blocks: list[Block] = []
    said: list[str] = []
    items: list[str] = []

    def close() -> None:
        if said:
            blocks.append(Para(Line("\n".join(said))))
        if items:
            blocks.append(Bullets(tuple(Line(one) for one in items)))
        said.clear()
        items.clear()

    for raw in text.splitlines():
        line = raw.strip()
        is_item = line.startswith("- ") and bool(line[2:].strip())
        if not line or (is_item and said) or (not is_item and items and raw[:2] != "  "):
            close()
        if is_item:
            items.append(line[2:].strip())
        elif line and items:
            items[-1] += f" {line}"
        elif line:
            said.append(line)
    close()
    return tuple(blocks)


def merged(
    base: Mapping[str, str], theirs: Mapping[str, str], mine: Mapping[str, str]
) -> tuple[dict[str, str], list[str]]:
    """Return two versions put together key by key, and the keys that both changed differently.

    Of those *mine* stands in the result, so that nothing typed is lost.

    >>> merged({"a": "1", "b": "1"}, {"a": "2", "b": "1"}, {"a": "1", "b": "3"})
    ({'a': '2', 'b': '3'}, [])
    """
    whole, clashes = {}, []
    for key in sorted({*base, *theirs, *mine}):
        was, their, my = (one.get(key, "") for one in (base, theirs, mine))
        if my != was and their not in (was, my):
            clashes.append(key)
        kept = their if my == was else my
        if kept:
            whole[key] = kept
    return whole, clashes
