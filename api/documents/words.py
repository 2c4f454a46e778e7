"""Grades, bases and ties in words, the same in every form of the book."""

from __future__ import annotations

import re

from leastwise.graph.reference.values import ClaimEntry

__all__ = [
    "BASIS",
    "BURDEN",
    "CONFIDENCE",
    "DOSE",
    "EFFICACY",
    "HARM",
    "HINDERS",
    "KIND",
    "MATERIAL_LOST",
    "SKILL",
    "VERDICT_EFFECT",
    "basis",
    "capital",
    "confidence",
    "efficacy",
    "extent",
    "fact_value",
    "figure",
    "hours",
    "number",
    "plain_rule",
    "tie",
]

BASIS = {
    "read": "read in the source",
    "memory": "recalled, not opened",
    "practice": "common practice",
}
READ_AS = {
    "wholeText": "the whole text",
    "partOfText": "a part of the text",
    "abstractOnly": "the abstract",
    "openingOnly": "the opening",
    "quotedElsewhere": "as others quote it",
}
CONFIDENCE = {
    "high": "high confidence",
    "moderate": "moderate confidence",
    "low": "low confidence",
}
HARM = {
    -1: "not known",
    0: "no harm known",
    1: "slight",
    2: "moderate or slow",
    3: "serious",
    4: "destroys or alters for good",
}
EFFICACY = ("not at all", "hardly", "partly", "well", "wholly")
HINDERS = ("not at all", "hardly", "noticeably", "seriously", "impossible or unsafe")
DOSE = {1: "trace", 2: "low", 3: "moderate", 4: "full"}
BURDEN = ("none", "slight", "moderate", "heavy", "utmost")
SKILL = {1: "trained assistant", 2: "conservator", 3: "experienced specialist"}
MATERIAL_LOST = {
    0: "nothing",
    1: "a mark or loose fibre",
    2: "a crumb or yarn",
    3: "a cut piece",
}
VERDICT_EFFECT = {
    "defeats": "rules it out",
    "leavesUndecided": "leaves it undecided",
    "cautions": "asks for care and a reason",
    "records": "asks for a record",
}
KIND = {
    "sensitivity": "grade of harm",
    "effect": "effect of a technique",
    "figure": "figure",
    "comparison": "comparison",
    "guidance": "guidance",
    "condition": "condition",
    "statement": "statement",
    "hazard": "hazard",
    "test": "test",
}

#: How a rule, technique or test has to do with a concept.
_TIES = {
    ("rule", "names"): "names it",
    ("rule", "lifts"): "is settled by it",
    ("rule", "cautions"): "points to this caution",
    ("rule", "rests"): "rests on a claim about it",
    ("technique", "brings"): "brings it, dose {grade}",
    ("technique", "requires"): "requires it",
    ("technique", "asks"): "asks for it first",
    ("technique", "cautions"): "carries this caution",
    ("technique", "burdens"): "burden {grade}",
    ("technique", "claims"): "named together with it",
    ("practice", "harms"): "harms it",
    ("practice", "for"): "is done for it",
    ("practice", "gentler"): "this is the gentler way",
    ("test", "clears"): "a good result clears it",
    ("test", "bars"): "a bad result bars it",
    ("test", "tries"): "tries it",
    ("test", "identifies"): "identifies it",
    ("test", "checks"): "checks it",
    ("test", "applies"): "can be made on it",
}


def basis(name: str) -> str:
    """Return a basis in words; one that isn't ours stays as it is."""
    return BASIS.get(name, name or "basis not stated")


def extent(name: str) -> str:
    """Return how much of a source was read, to follow its basis; nothing if it isn't said."""
    return f": {READ_AS[name]}" if name in READ_AS else ""


def confidence(name: str) -> str:
    """Return a confidence in words; one that isn't ours stays as it is."""
    return CONFIDENCE.get(name, name or "confidence not stated")


def capital(text: str) -> str:
    """Return the text with its first letter as a capital.

    >>> capital("pH strip"), capital("silk")
    ('pH strip', 'Silk')
    """
    second = text[1:2]
    return text if second.isupper() else text[:1].upper() + text[1:]


def number(value: float) -> str:
    r"""Return a figure as it would be written by hand.

    >>> number(8.0), number(0.35), number(52000.0)
    ('8', '0.35', '52\xa0000')
    """
    text = f"{value:.10g}"
    if "e" in text:
        return text
    whole, point, rest = text.partition(".")
    if len(whole.lstrip("-")) > 4:
        whole = f"{int(whole):,}".replace(",", "\N{NO-BREAK SPACE}")
    return whole + point + rest


def figure(claim: ClaimEntry) -> str:
    """Return the figure of a claim with its unit, or "" if it states none."""
    if claim.value is None:
        return ""
    text = number(claim.value)
    if claim.value_high is not None and claim.value_high != claim.value:
        text += f" to {number(claim.value_high)}"
    return text if claim.unit in ("", "1") else f"{text}\N{NO-BREAK SPACE}{claim.unit}"


def efficacy(claim: ClaimEntry) -> str:
    """Return how well a technique answers a damage, as grade and word, with its range."""
    high = claim.efficacy or 0
    low = high if claim.efficacy_low is None else claim.efficacy_low
    if low == high:
        return f"{high} {_at(EFFICACY, high)}"
    return f"{low} to {high}, {_at(EFFICACY, low)} to {_at(EFFICACY, high)}"


def hours(low: float, high: float, per: str) -> str:
    """Return working hours as a range with the unit they are for."""
    span = number(low) if low == high else f"{number(low)} to {number(high)}"
    return f"{span} hours" + (f" for one {per}" if per else "")


def fact_value(predicate: str, text: str) -> str:
    """Return the value of a fact, with the word of its grade where it is one."""
    scale = {"lw:skill": SKILL, "lw:materialLost": MATERIAL_LOST}.get(predicate)
    if scale and text.isdigit() and int(text) in scale:
        return f"{text}: {scale[int(text)]}"
    return f"{text} minutes" if predicate == "lw:minutes" else text


def tie(kind: str, how: str, grade: int) -> str:
    """Return how a rule, technique or test has to do with a concept."""
    words = DOSE.get(grade, "") if how == "brings" else ""
    shown = f"{grade} ({words})" if words else str(grade)
    return _TIES[kind, how].format(grade=shown)


def plain_rule(message: str) -> str:
    """Return the message of a rule with its placeholders in square brackets.

    >>> plain_rule("Heat on {part} is untested.")
    'Heat on [part] is untested.'
    """
    return re.sub(r"\{(\w+)\}", r"[\1]", message)


def _at(words: tuple[str, ...], grade: int) -> str:
    return words[grade] if 0 <= grade < len(words) else "outside the scale"
