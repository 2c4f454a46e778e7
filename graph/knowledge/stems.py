"""Words brought to what they have in common: plural, part of speech, UK and US spelling.

A light stemmer of our own for the trade's English. It may cut two words to one stem that mean
different things; whoever searches shows several answers, so that does little harm.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Final

__all__ = ["stem", "stems_of"]

_WORD = re.compile(r"[^\W\d_]+|\d+")
#: Words that say nothing of what a thing is.
_SMALL_WORDS: Final = """
    a about above across after all also an and any are as at be been before behind below but by
    can during each earlier for from had has have if in into is it its itself later less may more
    most new no not of off on one only onto or other others our ours out over own part parts per
    several so some such than that the their them then there they this through to too two under
    until unknown up upon used very was were when where which while whole with within without
"""
_SMALL: Final = frozenset(_SMALL_WORDS.split())
#: Forms that no ending leads to their stem.
_IRREGULAR: Final = {
    "torn": "tear", "tore": "tear", "worn": "wear", "wore": "wear", "broken": "break",
    "broke": "break", "woven": "weave", "wove": "weave", "sewn": "sew", "hung": "hang",
    "stuck": "stick", "lost": "loss", "losing": "loss", "lose": "loss", "shrunk": "shrink",
    "shrunken": "shrink", "bled": "bleed", "eaten": "eat", "frozen": "freeze", "ran": "run",
    "laid": "lay", "lain": "lie", "held": "hold", "kept": "keep", "wound": "wind",
    "ground": "ground", "feet": "foot", "moth": "moth", "mice": "mouse", "leaves": "leaf",
    "knives": "knife", "selvage": "selvedge", "fiber": "fibre", "color": "colour",
    "gray": "grey", "mold": "mould", "moldy": "mould", "dyeing": "dye", "dyed": "dye",
    "dyes": "dye", "lace": "lace", "laces": "lace", "laced": "lace",
    "lacing": "lace", "braiding": "braid", "trimming": "trim",
    "vapor": "vapour", "odor": "odour", "center": "centre", "aging": "age", "ageing": "age",
    "sulfide": "sulphide", "sulfur": "sulphur", "sulfate": "sulphate", "aluminum": "aluminium",
    "jewelry": "jewellery", "plow": "plough", "caliper": "calliper", "gauze": "gauze",
    "wooly": "wool", "woolen": "wool", "woollen": "wool", "silken": "silk", "lining": "lining",
    "linings": "lining", "lined": "lining", "bedding": "bedding", "string": "string",
    "ring": "ring", "spring": "spring", "wing": "wing", "linen": "linen",
}  # fmt: skip
_UK: Final = (("ize", "ise"), ("izing", "ising"), ("ized", "ised"), ("ization", "isation"))
_INNER_UK: Final = (
    ("color", "colour"), ("fiber", "fibre"), ("vapor", "vapour"), ("mold", "mould"),
    ("odor", "odour"), ("gray", "grey"), ("sulf", "sulph"),
)  # fmt: skip
#: Endings that are cut, the longest first, and what the rest must hold at least.
_ENDINGS: Final = (
    ("isations", 3), ("isation", 3), ("fications", 3), ("fication", 3), ("nesses", 3),
    ("ations", 4), ("ation", 4), ("eners", 3), ("ening", 3), ("ened", 3), ("ener", 3),
    ("ments", 3), ("ment", 3), ("ness", 3), ("ibles", 4), ("ible", 4), ("ables", 4),
    ("able", 4), ("ions", 4), ("ings", 3), ("ing", 3), ("ion", 4), ("ises", 4), ("ise", 4),
    ("ied", 2), ("ies", 2), ("ed", 3), ("ers", 3), ("er", 4), ("ors", 4), ("or", 4),
    ("ally", 4), ("ly", 3), ("ive", 4), ("ous", 4), ("al", 4), ("es", 3), ("s", 3), ("y", 3),
    ("e", 3),
)  # fmt: skip
_VOWEL = re.compile("[aeiouy]")


def stems_of(text: str) -> list[str]:
    """Return the stems of the words of a text that say something, in order.

    >>> stems_of("Fading of dyed fibers"), stems_of("the faded fibre dye")
    (['fad', 'dye', 'fibr'], ['fad', 'fibr', 'dye'])
    """
    parts = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(c for c in parts if not unicodedata.combining(c)).replace("'s", "")
    return [stem(word) for word in _WORD.findall(plain) if word not in _SMALL and len(word) > 1]


@lru_cache(maxsize=65536)
def stem(word: str) -> str:
    """Return what a word has in common with its other forms.

    >>> [stem(word) for word in ("crease", "creases", "creased", "creasing")]
    ['creas', 'creas', 'creas', 'creas']
    >>> stem("stiffener") == stem("stiffness") == stem("stiff")
    True
    """
    known = _IRREGULAR.get(word)
    if known:
        return known if _IRREGULAR.get(known) == known else _cut(known)
    for us, uk in _UK:
        if word.endswith(us):
            word = word.removesuffix(us) + uk
    for us, uk in _INNER_UK:
        if us in word and uk not in word:
            word = word.replace(us, uk)
    return _cut(word)


def _cut(word: str) -> str:
    if len(word) < 4 or (word.endswith("ss") and not word.endswith("ness")):
        return word
    for ending, least in _ENDINGS:
        rest = word.removesuffix(ending)
        if rest != word and len(rest) >= least and _VOWEL.search(rest):
            return _single(rest)
    return _single(word)


def _single(word: str) -> str:
    """Return a stem without the doubled consonant before an ending: *knitt* is *knit*."""
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiouls":
        return word[:-1]
    return word
