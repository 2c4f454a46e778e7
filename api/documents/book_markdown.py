"""The book of reference as Markdown, for reading beside the Turtle and for comparing versions."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from leastwise.api.documents import words
from leastwise.api.documents.markdown_claims import ClaimCards, Lines, text_of
from leastwise.api.documents.places import Places, anchor_of, web_address
from leastwise.api.documents.sections import (
    concept_sections,
    grade_matrix,
    sources_in_order,
    unsourced,
)
from leastwise.graph.reference.counts import BookCounts, CrossTable, count_book
from leastwise.graph.reference.values import Entry, GradeRow, Mention, Reference

__all__ = ["MarkdownBook"]


class MarkdownBook(ClaimCards):
    """Renders the pages; each is independent of the order in which they are asked for."""

    suffix = ".md"

    def __init__(self, book: Reference) -> None:
        super().__init__(book, Places(book, self.suffix))

    def files(self) -> Iterator[tuple[str, str]]:
        """Yield path below the folder and text of every page, in a fixed order."""
        book, places = self.book, self.places
        yield self._page(places.front, self._front)
        for scheme in book.schemes:
            path, title = places.scheme(scheme.key), scheme.label
            yield self._page(path, _Listed(self, path, title, scheme.entries).lines)
        for entry in book.entries.values():
            path = places.concept(entry)
            yield self._page(path, _Concept(self, entry, path).lines)
        for theme in sorted({r.rule.theme for r in book.rules.values()}):
            path = places.theme(theme)
            yield self._page(path, _Rules(self, theme, path).lines)
        yield self._page(places.scheme("rules"), self._rules)
        yield self._page(places.scheme("sources"), self._sources)
        yield self._page(places.page("sources/without"), self._unsourced)
        yield self._page(places.page("grades"), self._grades)
        yield self._page(places.page("disagreements"), self._disagreements)
        yield self._page(places.page("coverage"), self._coverage)
        if places.homeless:
            yield self._page(places.page("further-claims"), self._further)

    @staticmethod
    def _page(path: str, lines: Callable[[], Lines]) -> tuple[str, str]:
        text = "\n".join(lines())
        return path, re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"

    def _front(self) -> Lines:
        book, places = self.book, self.places
        yield "# What Leastwise knows\n"
        yield (
            f"{len(book.entries)} concepts, {len(book.claims)} claims, {len(book.rules)} rules, "
            f"{len(book.sources)} sources. Knowledge `{book.knowledge_digest}`, rules "
            f"`{book.rules_digest}`.\n"
        )
        for scheme in book.schemes:
            label, count = text_of(scheme.label), len(scheme.entries)
            yield f"- [{label}]({places.scheme(scheme.key)}) ({count})"
        ways = [
            ("Rules by theme", places.scheme("rules")),
            ("Grades at a glance", places.page("grades")),
            ("Index by source", places.scheme("sources")),
            ("Claims without a source", places.page("sources/without")),
            ("Disagreements", places.page("disagreements")),
            ("Coverage", places.page("coverage")),
        ]
        if places.homeless:
            ways.append(("Further claims", places.page("further-claims")))
        yield from (f"- [{title}]({path})" for title, path in ways)
        yield (
            "\nAdvice for a conservator's own judgement. Where people or objects could come to "
            "harm, local codes, safety data sheets and licensed practice decide."
        )

    def _rules(self) -> Lines:
        here = self.places.scheme("rules")
        yield "# Rules\n"
        for theme in sorted({r.rule.theme for r in self.book.rules.values()}):
            to = self.places.link(here, self.places.theme(theme))
            yield f"- [{text_of(words.capital(theme or 'no theme'))}]({to})"

    def _sources(self) -> Lines:
        here = self.places.scheme("sources")
        yield "# Index by source\n"
        to = self.places.link(here, self.places.page("sources/without"))
        yield f"[Claims that name no source]({to}) have a page of their own.\n"
        for letter, group in sources_in_order(self.book):
            yield f"\n## {letter}\n"
            for source in group:
                marks = [
                    word
                    for there, word in (
                        (source.not_opened, "recalled, not opened"),
                        (source.low_authority, "low authority"),
                    )
                    if there
                ]
                address = web_address(source.address)
                said = f"<{address}>" if address else text_of(source.address)
                yield f'<a id="{anchor_of(source.id)}"></a>{text_of(source.citation)} {said}  '
                yield f"{text_of(self.book.label(source.id))} {', '.join(marks)}  "
                yield f"Claims: {self.names(here, source.claims) or 'none'}\n"

    def _unsourced(self) -> Lines:
        here = self.places.page("sources/without")
        yield "# Claims without a source of their own\n"
        for _, said, group in unsourced(self.book):
            yield f"\n## {text_of(words.capital(said))}\n"
            for about, claims in group:
                title = self.name(here, about, capital=True) if about else "About no concept"
                yield f"- {title}: {self.names(here, claims)}"

    def _grades(self) -> Lines:
        here, book = self.places.page("grades"), self.book
        yield "# Grades of harm at a glance\n"
        scale = ", ".join(f"{n} {word}" for n, word in words.HARM.items() if n >= 0)
        yield (
            f"{words.capital(scale)}. In brackets: from a broader material. ? is not known, and "
            "never counts as harmless. ! marks claims two grades or more apart.\n"
        )
        agents = [self.name(here, agent) for agent in book.graded_agents]
        yield "| material | " + " | ".join(agents) + " |"
        yield "|---" * (len(agents) + 1) + "|"
        for material, row in grade_matrix(book):
            cells = " | ".join(_cell(grade) for grade in row)
            yield f"| {self.name(here, material, capital=True)} | {cells} |"

    def _disagreements(self) -> Lines:
        here, book = self.places.page("disagreements"), self.book
        yield "# Disagreements\n"
        yield "Both claims stand; among grades the graver one leads.\n"
        yield "\n## Grades that lie two or more apart\n"
        for c in book.contests:
            pair = f"{self.name(here, c.material, capital=True)}, {self.name(here, c.agent)}"
            yield f"- {pair}: {c.low} to {c.high} ({self.names(here, c.claims)})"
        yield "\n## Claims that name each other\n"
        for a, b in book.disagreements:
            yield f"### {text_of(book.label(a))} against {text_of(book.label(b))}\n"
            yield from self.card(here, a, anchored=False)
            yield from self.card(here, b, anchored=False)

    def _coverage(self) -> Lines:
        c = count_book(self.book)
        yield "# Coverage\n"
        yield "\n## Claims by basis and confidence\n"
        yield from _cross(c.basis_by_confidence, "basis", words.BASIS, words.CONFIDENCE)
        yield "\n## Claims by kind and basis\n"
        yield from _cross(c.kind_by_basis, "kind", words.KIND, words.BASIS)
        yield "\n## Concepts\n"
        yield "| kind | concepts | with claims | with claims that were read |\n|---|--:|--:|--:|"
        for s in c.schemes:
            label = text_of(s.label)
            yield f"| {label} | {s.concepts} | {s.with_claims} | {s.with_read_claims} |"
        yield "\n## Grades, techniques, sources\n"
        yield from _counted(c)
        yield "\n## Rules by theme and effect\n"
        yield from _cross(c.theme_by_effect, "theme", {}, words.VERDICT_EFFECT)
        yield f"\n{c.rules_read} of {len(self.book.rules)} rules rest on a claim that was read."

    def _further(self) -> Lines:
        here = self.places.page("further-claims")
        yield "# Further claims\n"
        for one in self.places.homeless:
            yield from self.card(here, one)


def _cell(row: GradeRow) -> str:
    text = "?" if row.harm < 0 else f"({row.harm})" if row.inherited_from else str(row.harm)
    return text + ("!" if row.contested else "")


def _counted(c: BookCounts) -> Lines:
    yield from (f"- grades {name}: {n} pairs of material and agent" for name, n in c.grades)
    yield f"- damages that some technique answers: {c.damages_answered} of {c.damages}"
    yield f"- techniques with a graded effect: {c.techniques_with_effects} of {c.techniques}"
    yield f"- sources: {c.sources}, named by a claim {c.sources_cited}"
    yield f"- sources recalled, not opened: {c.sources_not_opened}"
    yield f"- sources of low authority: {c.sources_low_authority}"
    yield f"- disagreements: {c.disagreements} pairs, {c.contests} contested grades"


def _cross(
    table: CrossTable, first: str, row_words: dict[str, str], column_words: dict[str, str]
) -> Lines:
    heads = [text_of(column_words.get(c, c)) for c in table.columns]
    yield f"| {first} | " + " | ".join(heads) + " | all |"
    yield "|---" + "|--:" * (len(heads) + 1) + "|"
    for row, cells, total in zip(table.rows, table.cells, table.row_totals, strict=True):
        counts = " | ".join(str(n) for n in (*cells, total))
        yield f"| {text_of(row_words.get(row, row))} | {counts} |"
    yield "| all | " + " | ".join(str(n) for n in (*table.column_totals, table.total)) + " |"


class _Listed:
    """The page that lists one kind of concept."""

    def __init__(self, whole: MarkdownBook, here: str, title: str, entries: tuple[str, ...]):
        self.whole, self.here, self.title, self.entries = whole, here, title, entries

    def lines(self) -> Lines:
        yield f"# {text_of(self.title)}\n"
        for one in self.entries:
            said = text_of(self.whole.book.entries[one].definition)
            yield f"- {self.whole.name(self.here, one, capital=True)}: {said}"


class _Rules:
    """The page of the rules of one theme."""

    def __init__(self, whole: MarkdownBook, theme: str, here: str):
        self.whole, self.theme, self.here = whole, theme, here

    def lines(self) -> Lines:
        whole, here = self.whole, self.here
        yield f"# {text_of(words.capital(self.theme or 'no theme'))}\n"
        for one, entry in whole.book.rules.items():
            rule = entry.rule
            if rule.theme != self.theme:
                continue
            label = text_of(words.capital(whole.book.label(one)))
            yield f'<a id="{anchor_of(one)}"></a>\n\n## {label}\n'
            yield f"{text_of(one)}: {words.VERDICT_EFFECT[rule.effect]}\n"
            yield f"> {text_of(words.plain_rule(rule.message))}\n"
            if rule.note:
                yield f"{text_of(rule.note)}\n"
            yield f"- looks at: {whole.names(here, entry.names) or 'the record'}"
            yield f"- settled by: {whole.names(here, rule.lifted_by) or 'nothing named'}"
            yield f"- cautions: {whole.names(here, rule.cautions) or 'none'}"
            yield f"- rests on: {whole.names(here, rule.rests_on) or 'no claim'}\n"


class _Concept:
    """The page of a concept, section by section."""

    def __init__(self, whole: MarkdownBook, entry: Entry, here: str):
        self.whole, self.entry, self.here = whole, entry, here

    def _names(self, many: Iterable[str]) -> str:
        return self.whole.names(self.here, many)

    def lines(self) -> Lines:
        e = self.entry
        yield f"# {text_of(words.capital(e.label))}\n"
        yield f"`{e.id.replace('`', '')}`\n"
        if e.also:
            yield f"Also called {text_of(', '.join(e.also))}.\n"
        yield text_of(e.definition) + "\n"
        if e.look_for:
            yield f"What to look for: {text_of(e.look_for)}\n"
        for a in e.apart:
            other = self.whole.name(self.here, a.other)
            yield f"- easily taken for {other}: {text_of(a.says)}"
        if e.broader:
            yield f"- kind of: {self._names(e.broader)}"
        if e.narrower:
            yield f"- kinds of it: {self._names(e.narrower)}"
        if e.basis:
            yield f"- basis of the entry: {text_of(words.basis(e.basis))}"
        for fact in e.facts:
            values = "; ".join(
                self.whole.name(self.here, v.concept)
                if v.concept
                else text_of(words.fact_value(fact.predicate, v.text))
                for v in fact.values
            )
            yield f"- {text_of(fact.label)}: {values}"
        for section in concept_sections(e):
            yield f"\n## {section.title}\n"
            yield from getattr(self, f"_{section.anchor}")()

    def _doing(self) -> Lines:
        t = self.entry.technique
        if t is None:
            return
        yield f"- skill: {words.SKILL.get(t.skill, str(t.skill))}"
        yield f"- working time: {text_of(words.hours(t.hours[0], t.hours[1], t.hours_per))}"
        for title, said in (
            ("equipment", t.equipment),
            ("made only for", ", ".join(sorted(w.removeprefix("lw:") for w in t.only_for))),
            ("set-up", t.set_up),
            ("monitoring", t.monitoring),
            ("**stop signs**", t.stop_sign),
        ):
            if said:
                yield f"- {title}: {text_of(said)}"

    def _brings(self) -> Lines:
        t = self.entry.technique
        if t is None:
            return
        yield "| agent | dose | confined | rests on |\n|---|---|---|---|"
        for use in t.brings:
            dose = f"{use.dose} {words.DOSE.get(use.dose, '')}"
            confined = "yes" if use.confined else "no"
            agent = self.whole.name(self.here, use.agent)
            yield f"| {agent} | {dose} | {confined} | {self._names(use.rests_on)} |"
        yield "\n| burden | grade |\n|---|---|"
        for axis, grade in t.burdens:
            if axis != "axis:exposure":
                yield f"| {self.whole.name(self.here, axis)} | {_graded(grade, words.BURDEN)} |"

    def _before(self) -> Lines:
        t = self.entry.technique
        if t is None:
            return
        yield f"- conditions: {self._names(t.requires) or 'none recorded'}"
        yield f"- tests first: {self._names(t.needs_tests) or 'none recorded'}"
        held = ", ".join(sorted(way.removeprefix("lw:") for way in t.not_while))
        if held:
            yield f"- not in place while the object is: {text_of(held)}"

    def _cautions(self) -> Lines:
        for one in self.entry.technique.cautions if self.entry.technique else ():
            said = self.whole.book.entries[one].definition if one in self.whole.book.entries else ""
            yield f"- {self.whole.name(self.here, one, capital=True)}: {text_of(said)}"

    def _hinders(self) -> Lines:
        yield "| aim | grade |\n|---|---|"
        for aim, grade in self.entry.hinders:
            yield f"| {self.whole.name(self.here, aim)} | {_graded(grade, words.HINDERS)} |"

    def _grades(self) -> Lines:
        yield "| | grade | claims |\n|---|---|---|"
        for row in self.entry.grades:
            word = words.HARM.get(row.harm, "outside the scale")
            grade = word if row.harm < 0 else f"{row.harm} {word}"
            claims = self._names(row.claims)
            if row.inherited_from:
                claims += f" (from {self.whole.name(self.here, row.inherited_from)})"
            if row.conditional:
                claims += f" (in some states: {self._names(row.conditional)})"
            mark = " **contested**" if row.contested else ""
            name = self.whole.name(self.here, row.concept, capital=True)
            yield f"| {name} | {grade} | {claims}{mark} |"

    def _cards(self, claims: Iterable[str]) -> Lines:
        for one in claims:
            yield from self.whole.card(self.here, one)

    def _effects(self) -> Lines:
        return self._cards(self.entry.effects)

    def _claims(self) -> Lines:
        return self._cards(self.entry.claims)

    def _sensitivities(self) -> Lines:
        return self._cards(self.entry.sensitivities)

    def _list(self, claims: Iterable[str]) -> Lines:
        for one in claims:
            statement = text_of(self.whole.book.claims[one].statement)
            yield f"- {self.whole.name(self.here, one)}: {statement}"

    def _mentions(self) -> Lines:
        return self._list(self.entry.mentions)

    def _rests(self) -> Lines:
        return self._list(self.entry.rests_on)

    def _ties(self, kind: str, mentions: Iterable[Mention]) -> Lines:
        for m in mentions:
            via = f" ({self._names(m.via)})" if m.via else ""
            name = self.whole.name(self.here, m.id, capital=True)
            yield f"- {name}: {words.tie(kind, m.how, m.grade)}{via}"

    def _techniques(self) -> Lines:
        return self._ties("technique", self.entry.techniques)

    def _practices(self) -> Lines:
        return self._ties("practice", self.entry.practices)

    def _tests(self) -> Lines:
        return self._ties("test", self.entry.tests)

    def _rules(self) -> Lines:
        return self._ties("rule", self.entry.rules)


def _graded(grade: int, scale: tuple[str, ...]) -> str:
    return f"{grade} {scale[grade] if 0 <= grade < len(scale) else 'outside the scale'}"
