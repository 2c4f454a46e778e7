"""An adviser over the shipped knowledge and a collection's own folders, put together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from leastwise.graph.answer import Answer, Overlay
from leastwise.graph.case.record import Case
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge, overlay_files
from leastwise.graph.knowledge.rules import load_rule_book, shipped_rules
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import ENGLISH
from leastwise.graph.weighing.advise import Adviser

if TYPE_CHECKING:
    from leastwise.graph.authoring.compare import Side

__all__ = ["load_adviser", "open_side", "weigh"]


def load_adviser(
    folders: Iterable[Path] = (),
    *,
    cache: Path | None = None,
    language: str = ENGLISH,
    checked: bool = False,
) -> Adviser:
    """Return an adviser over the shipped knowledge and rules and a collection's own folders.

    Labels are in *language* where there are any, else in English, as the sentences always are.
    Folders that were *checked* already, by the process that started this one, aren't again.

    Raises:
        KnowledgeError: a file that can't be used, with its place and mend.
        UnknownLanguage: nothing is labelled in that language; names those there are.

    """
    folders = tuple(folders)
    if folders and not checked:
        _refuse_broken(folders, cache)
    merged = load_knowledge(folders, cache=cache)
    knowledge = merged.speaking(language)
    own_rules = [path for folder in folders for path in overlay_files(folder)[1]]
    rules = load_rule_book(own_rules, cache=cache)
    return Adviser(knowledge, rules, _overlays(folders, cache, merged))


def _overlays(
    folders: tuple[Path, ...], cache: Path | None, merged: Knowledge
) -> tuple[Overlay, ...]:
    if not folders:
        return ()
    from leastwise.graph.authoring.overlays import read_overlays  # noqa: PLC0415 - only for them

    return read_overlays(folders, cache=cache, merged=merged)


def _refuse_broken(folders: tuple[Path, ...], cache: Path | None) -> None:
    """Raise the first fault of a folder that would make answers wrong or impossible."""
    from leastwise.graph.authoring.check_knowledge import Checker  # noqa: PLC0415 - only for overlays

    files = [overlay_files(folder) for folder in folders]
    checker = Checker.shipped(cache)
    for number, folder in enumerate(folders):
        if number:
            checker = checker.extended_with([*chain.from_iterable(files[number - 1])])
        faults, _ = checker.check([folder], overrides=False)
        fault = next((one for one in faults if one.blocking), None)
        if fault is not None:
            place = f"{fault.file}:{fault.line}" if fault.line else fault.file
            mend = "leastwise check-knowledge shows everything that is wrong with the folder."
            raise KnowledgeError(place, f"{fault.subject}: {fault.what}", mend)


def open_side(
    name: str,
    *,
    whole: bool = False,
    over: Sequence[Path] = (),
    cache: Path | None = None,
) -> Side:
    """Return one side: ``shipped``, a folder laid over it, or with *whole* a folder by itself.

    A whole folder brings its rules in a ``rules`` folder; without one the shipped rules count.
    The folders *over* are laid over what is shipped on either side, a folder over them.

    Raises:
        KnowledgeError: the folder can't be used; with place and mend.

    """
    from leastwise.graph.authoring.compare import SHIPPED, Side  # noqa: PLC0415 - only for two sides

    if whole and name != SHIPPED:
        knowledge, own = overlay_files(Path(name))
        files = own or shipped_rules()
        adviser = Adviser(
            load_knowledge(files=knowledge, cache=cache), load_rule_book(files=files, cache=cache)
        )
        _ask_for_what_is_required(name, adviser.knowledge)
    else:
        folders = [*over] if name == SHIPPED else [*over, Path(name)]
        adviser = load_adviser(folders, cache=cache)
        own_rules = chain.from_iterable(overlay_files(folder)[1] for folder in folders)
        files = [*shipped_rules(), *own_rules]
    return Side(name, adviser, Knowledge(*load_triples(files, cache)))


def _ask_for_what_is_required(name: str, k: Knowledge) -> None:
    """Raise if a folder can't be a knowledge by itself."""
    needed = ("lw:Technique", "lw:Damage", "lw:Agent", "lw:Axis", "lw:Policy")
    missing = [kind for kind in needed if not k.instances(kind)]
    if missing or "technique:leave-and-monitor" not in k:
        lacking = ", ".join(missing) or "technique:leave-and-monitor"
        raise KnowledgeError(
            name,
            f"is no complete knowledge: it lacks {lacking}.",
            "Leave --whole out to lay the folder over the shipped knowledge.",
        )


@cache
def _shipped_adviser() -> Adviser:
    return load_adviser()


def weigh(case: Case, adviser: Adviser | None = None) -> Answer:
    """Return the options of a case, least burden that meets the aim first, with reasons.

    Without an *adviser* the shipped knowledge is loaded on the first call. Read the case with
    :func:`leastwise.graph.read_case` or :func:`leastwise.graph.parse_case`, which tie its names
    to the knowledge.
    """
    return (adviser or _shipped_adviser()).weigh(case)
