"""References that other programs read: BibTeX, CSL-JSON and text, held against their parsers."""

from __future__ import annotations

import json
import warnings

import bibtexparser
import pytest
from bibtexparser.bparser import BibTexParser
from citeproc import Citation as CslCitation
from citeproc import CitationItem, CitationStylesBibliography, CitationStylesStyle, formatter
from citeproc.source.json import CiteProcJSON
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph import Adviser
from leastwise.graph.errors import NotFound
from leastwise.graph.reference.citations import Citation, cite_as, find_citations


@pytest.fixture(scope="module")
def everything(adviser: Adviser) -> list[Citation]:
    return find_citations(adviser.knowledge, [])


def test_every_source_is_a_citation(adviser: Adviser, everything: list[Citation]) -> None:
    assert len(everything) == len(adviser.knowledge.instances("lw:Source"))
    assert all(one.author and one.title and one.text for one in everything)


def test_a_parser_reads_all_of_the_bibtex(everything: list[Citation]) -> None:
    parser = BibTexParser(common_strings=True, ignore_nonstandard_types=False)

    entries = bibtexparser.loads(cite_as("bibtex", everything), parser).entries_dict

    assert set(entries) == {one.id for one in everything}
    for one in everything:
        assert entries[one.id].get("year", "") == one.year
        assert entries[one.id].get("doi", "") == one.doi
        assert entries[one.id]["author"].startswith("{")


def test_bibtex_holds_its_signs() -> None:
    one = Citation("X-1", "A & B", "1999", "50 % {of} it_all", "", "", "", "", "text")

    read = bibtexparser.loads(cite_as("bibtex", [one])).entries[0]

    assert read["author"] == r"{A \& B}"
    assert read["title"] == r"{50 \% \{of\} it\_all}"


def test_a_csl_processor_sets_all_of_the_csl_json(everything: list[Citation]) -> None:
    items = json.loads(cite_as("csl-json", everything))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        source = CiteProcJSON(items)
        style = CitationStylesStyle("harvard-cite-them-right", validate=False)
        bibliography = CitationStylesBibliography(style, source, formatter.plain)
        for one in everything:
            bibliography.register(CslCitation([CitationItem(one.id)]))
        written = " ".join(str(line) for line in bibliography.bibliography())

    assert len(source) == len(everything)
    assert all(one.year in written for one in everything)
    assert "Investigating stitched support techniques" in written


def test_an_undated_source_has_no_year_anywhere(everything: list[Citation]) -> None:
    undated = [one for one in everything if not one.year]

    assert undated
    assert all("issued" not in item for item in json.loads(cite_as("csl-json", undated)))
    assert "year =" not in cite_as("bibtex", undated)
    assert all(" n.d., " in one.text for one in undated)


def test_a_claim_is_cited_by_its_source_and_by_what_it_rests_on(adviser: Adviser) -> None:
    k = adviser.knowledge

    assert [one.id for one in find_citations(k, ["S-033"])] == ["SD-009"]
    assert {one.id for one in find_citations(k, ["compare-couching-spacing"])} == {"SD-006"}
    assert [one.id for one in find_citations(k, ["source:SD-009", "S-033"])] == ["SD-009"]


def test_a_wrong_name_is_told_with_what_is_near(adviser: Adviser) -> None:
    with pytest.raises(NotFound, match="S-03333"):
        find_citations(adviser.knowledge, ["S-03333"])


def test_a_wrong_format_is_told_with_what_there_is() -> None:
    with pytest.raises(ValueError, match="text, bibtex, csl-json"):
        cite_as("word", [])


def test_the_command_prints_each_format() -> None:
    run = CliRunner()

    text = run.invoke(app, ["cite", "S-033"])
    as_json = run.invoke(app, ["cite", "S-033", "--json"])
    wrong = run.invoke(app, ["cite", "nobody"])

    assert text.exit_code == 0
    assert "Lennard, Costantini & Harrison 2022" in text.output
    assert json.loads(as_json.output)[0]["DOI"] == "10.1080/00393630.2022.2083414"
    assert run.invoke(app, ["cite", "S-033", "--format", "bibtex"]).output.startswith("@article{")
    assert wrong.exit_code == 2
