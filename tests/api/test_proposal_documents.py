"""The documents of a proposal: PDF, Word, web page and linked data say the same, and hold."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from docx import Document
from docx.oxml.ns import qn
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import DictionaryObject
from rdflib import Graph, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.documents.proposal_figures import Photograph, figures_of
from leastwise.api.documents.proposal_make import FORMS, Proposal
from leastwise.api.drawings.silhouettes import SILHOUETTES
from leastwise.graph import Adviser, Case
from leastwise.graph.names import LW, iri_of
from leastwise.graph.proposal.report.make import TITLES, make_report, make_work
from leastwise.graph.proposal.report.values import Edition
from leastwise.graph.proposal.report.words import OwnWords
from leastwise.graph.weighing.facts import case_base
from tests.browser import missing
from tests.pdf_text import texts_of

Demo = Callable[[str], Case]
BATH = "crushed-tiers/immersion-washing"
HOSTILE = (
    '#panic("x") #import "y" $z$ *bold* _it_ <label> @ref \\ `raw` ``` = head\n\n'
    "<script>alert(1)</script> &amp; <b>x</b> {{ 7*7 }}\n\n"
    "- item #eval\n- ]] [[ \n\n"
    f"{'W' * 400} {'https://example.org/' + 'a' * 300}\n\n"
    "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 \u202eevil\u202c\n\n"
    "\U0001f600 \u4e2d\u6587 a\x00b\x1bc\x85d"
)


def photograph(stage: str = "before", media_type: str = "image/jpeg") -> Photograph:
    held = io.BytesIO()
    Image.new("RGB", (90, 60), "#775533").save(held, media_type.partition("/")[2].upper())
    return Photograph("front", stage, media_type, 90, 60, held.getvalue())


def proposal(case: Case, adviser: Adviser, words: dict[str, str], **figures: Any) -> Proposal:
    work = make_work(case, adviser, OwnWords.of(words))
    found = figures_of(work, **figures)
    report = make_report(
        work,
        Edition("2026-11-20", "", 3, 2),
        figures=found.by_section,
        pictures_before=found.photographs_before,
    )
    return Proposal(report, found, case)


@pytest.fixture(scope="module")
def whole(adviser: Adviser, demo: Demo) -> Proposal:
    """A proposal with everything in it: own words, a defeated choice, photographs, a sketch."""
    words = {
        "choice:crushed-tiers": BATH,
        "significance": "Danced in for sixty years.\n\n- by the troupe\n- by its children",
        "methods": "By eye and stereo microscope.",
        "maker": "A dressmaker of the town.",
    }
    region = [[100, 100], [400, 100], [400, 500]]
    sketch = {"ground": f"silhouette:{min(SILHOUETTES)}", "regions": {"top-tier": region}}
    return proposal(
        demo("festival-dancer"), adviser, words, photographs=[photograph()], sketch=sketch
    )


@pytest.fixture(scope="module")
def pdf(whole: Proposal) -> PdfReader:
    return PdfReader(io.BytesIO(whole.written("pdf")))


@pytest.fixture(scope="module")
def hostile(adviser: Adviser, demo: Demo) -> Proposal:
    keys = [k for k in TITLES if k != "reasons"]
    case = demo("festival-dancer").model_copy(
        update={"title": "#panic() <b>\U0001f600</b> " + "W" * 90}
    )
    words = dict.fromkeys(keys, HOSTILE) | {"maker": HOSTILE, "reason:crushed-tiers": HOSTILE}
    return proposal(case, adviser, words)


def text_of(reader: PdfReader) -> str:
    """Return the text of a PDF with line ends and the points at which long words may break gone."""
    pages = "\n".join(texts_of(reader))
    return re.sub(r"\s+", " ", pages.replace("\u200b", "").replace("\u00ad", ""))


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b\u00ad\u2060-]+", "", text)


def roles_of(reader: PdfReader) -> list[str]:
    """Return the roles of the structure tree, in order."""
    root: Any = reader.trailer["/Root"]["/StructTreeRoot"]

    def walk(node: Any) -> Iterator[str]:
        node = node.get_object()
        if isinstance(node, DictionaryObject):
            if "/S" in node:
                yield str(node["/S"])
            kids: Any = node.get("/K", [])
            kids = kids.get_object() if hasattr(kids, "get_object") else kids
            for kid in kids if isinstance(kids, list) else [kids]:
                if not isinstance(kid, int):
                    yield from walk(kid)

    return list(walk(root))


# -- PDF


def test_the_pdf_holds_every_section_the_own_words_and_the_mark_of_each_voice(
    pdf: PdfReader, whole: Proposal
) -> None:
    text = text_of(pdf)

    for section in whole.report.sections:
        assert section.title in text
    for said in ("Danced in for sixty years.", "by its children", "A dressmaker of the town."):
        assert said in text
    for mark in ("own words", "from the record", "derived", "still missing", "Still missing"):
        assert mark in text
    assert "is defeated by a rule (rule:known-harm)" in text


def test_the_pdf_is_tagged_titled_and_in_english_with_page_numbers(
    pdf: PdfReader, whole: Proposal
) -> None:
    root: Any = pdf.trailer["/Root"]
    roles = roles_of(pdf)

    assert root["/MarkInfo"]["/Marked"] is True or str(root["/MarkInfo"]["/Marked"]) == "True"
    assert str(root["/Lang"]).startswith("en")
    assert str(pdf.metadata.title).startswith("Festival dancer's")  # type: ignore[union-attr]
    assert roles.count("/H1") == 1
    assert roles.count("/H2") >= len(whole.report.sections)
    assert {"/H3", "/Table", "/TH", "/L", "/Figure"} <= set(roles)
    pages = texts_of(pdf)
    assert len(pages) > 5
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "version 3.2" in page
        assert whole.report.edition.knowledge[:16] in page


def test_every_figure_of_the_pdf_has_words_that_stand_for_it(whole: Proposal) -> None:
    keys = set(whole.figures.files)
    alts = {f.key: f.alt for fs in whole.figures.by_section.values() for f in fs}

    assert {"sketch", "photograph-1", "contacts"} <= keys
    assert keys == set(alts)
    assert all(alts.values())
    assert "contacts" in alts["contacts"]
    assert "parts" in alts["contacts"]


def test_a_drawing_that_nobody_could_read_on_a_page_gives_way_to_a_sentence(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    parts = [
        {"id": f"p{i}", "name": f"panel {i}", "materials": [{"material": "silk"}]}
        for i in range(60)
    ]
    touching = [{"between": [f"p{i}", f"p{i + 1}"], "kind": "lies-on"} for i in range(59)]
    damages = [{"id": "crushed", "damage": "crease", "parts": ["p0"]}]
    case = make_case(parts=parts, contacts=touching, damages=damages)
    made = proposal(case, adviser, {})

    assert "contacts" not in made.figures.files
    assert "could not be read on a page; the table above" in made.written("html").decode()


def test_the_same_proposal_gives_the_same_bytes(whole: Proposal) -> None:
    assert whole.written("pdf") == whole.written("pdf")
    assert whole.written("jsonld") == whole.written("jsonld")
    assert whole.written("html") == whole.written("html")


def test_hostile_text_is_shown_as_text_in_the_pdf(hostile: Proposal) -> None:
    text = squeezed(text_of(PdfReader(io.BytesIO(hostile.written("pdf")))))

    for said in (
        '#panic("x")#import"y"$z$*bold*_it_<label>@ref\\`raw````=head',
        "<script>alert(1)</script>&amp;<b>x</b>{{7*7}}",
        "item#eval",
        "W" * 400,
        "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}c",
    ):
        assert squeezed(said) in text
    shown = "\U0001f600" in text or "[grinningface]" in text
    assert shown
    assert "evil" in text


def test_nothing_sticks_out_of_a_page_of_the_pdf(hostile: Proposal, tmp_path: Path) -> None:
    tool = shutil.which("pdftotext")
    if tool is None:
        missing("pdftotext", "on Debian: apt-get install poppler-utils")
    assert tool is not None
    file = tmp_path / "p.pdf"
    file.write_bytes(hostile.written("pdf"))
    run = subprocess.run(  # noqa: S603 - the machine's own reader of PDF
        [tool, "-bbox", str(file), "-"], check=True, capture_output=True
    ).stdout.decode(errors="replace")
    pages = run.split("<page ")[1:]

    assert len(pages) > 5
    for page in pages:
        size = re.match(r'width="([\d.]+)" height="([\d.]+)"', page)
        ends = re.findall(r'xMax="([\d.]+)" yMax="([\d.]+)"', page)
        assert size is not None
        assert max(float(x) for x, _ in ends) <= float(size[1]) - 50
        assert max(float(y) for _, y in ends) <= float(size[2]) - 30


def test_letters_that_no_font_of_its_own_has_do_not_stop_the_pdf(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    rare = "\U0001f9f5 \u0b95 \ue000 \U000e0041"
    made = proposal(make_case(), adviser, {"methods": f"Seen {rare} here."})
    text = text_of(PdfReader(io.BytesIO(made.written("pdf"))))

    assert re.search(r"Seen .+ here\.", text)
    assert "[U+E000]" in text or "\ue000" in text


# -- Word


def test_the_word_document_has_headings_lists_repeated_heads_fields_and_words_for_figures(
    whole: Proposal,
) -> None:
    data = whole.written("docx")
    doc = Document(io.BytesIO(data))
    styles = [p.style.name for p in doc.paragraphs if p.style is not None]
    text = "\n".join(p.text for p in doc.paragraphs)

    assert styles.count("Title") == 1
    in_brief = sum(block.kind == "heading" for page in whole.report.brief for block in page)
    assert styles.count("Heading 1") == len(whole.report.sections) + in_brief + 3
    assert "Heading 2" in styles
    assert "Voice own list" in styles
    assert doc.styles["Voice own list"].base_style.name == "List Bullet"  # type: ignore[attr-defined]
    assert "Danced in for sixty years." in text
    assert "Defeated. Washing in a bath" in text
    heads = [t._tbl.tr_lst[0].find(f"{qn('w:trPr')}/{qn('w:tblHeader')}") for t in doc.tables
             if t.style is not None and t.style.name == "Table Grid"]  # fmt: skip
    assert heads
    assert all(head is not None for head in heads)
    fields = doc.sections[0].footer._element.findall(f".//{qn('w:instrText')}")
    assert [f.text.strip() for f in fields] == ["PAGE", "NUMPAGES"]
    described = doc.element.body.findall(f".//{qn('wp:docPr')}")
    assert len(described) == len(whole.figures.files)
    assert all(one.get("descr") for one in described)
    assert doc.core_properties.title.startswith("Festival dancer's")
    assert doc.core_properties.language == "en-GB"
    language = doc.styles.element.find(f".//{qn('w:rPrDefault')}//{qn('w:lang')}")
    assert language.get(qn("w:val")) == "en-GB"


def test_hostile_text_is_text_in_the_word_document(hostile: Proposal) -> None:
    data = hostile.written("docx")
    doc = Document(io.BytesIO(data))
    text = "\n".join(p.text for p in doc.paragraphs)

    assert '#panic("x")' in text
    assert "<script>alert(1)</script> &amp; <b>x</b> {{ 7*7 }}" in text
    assert "\u05e9\u05dc\u05d5\u05dd" in text
    assert "\U0001f600 \u4e2d\u6587 a\N{REPLACEMENT CHARACTER}b" in text
    with zipfile.ZipFile(io.BytesIO(data)) as whole_file:
        assert whole_file.testzip() is None


def test_the_word_document_opens_in_a_word_processor(hostile: Proposal, tmp_path: Path) -> None:
    soffice = shutil.which("soffice") or shutil.which("libreoffice")
    if soffice is None:
        missing("LibreOffice", "on Debian: apt-get install libreoffice-writer")
    assert soffice is not None
    file = tmp_path / "p.docx"
    file.write_bytes(hostile.written("docx"))
    subprocess.run(  # noqa: S603 - the machine's own word processor
        [soffice, "--headless", f"-env:UserInstallation=file://{tmp_path / 'profile'}",
         "--convert-to", "pdf", "--outdir", str(tmp_path), str(file)],
        check=True, capture_output=True, timeout=240, env={**os.environ, "HOME": str(tmp_path)},
    )  # fmt: skip
    reader = PdfReader(tmp_path / "p.pdf")

    assert len(reader.pages) > 5
    text = text_of(reader)
    assert "Approvals" in text
    assert re.search(rf"page 1 of {len(reader.pages)}", text)


# -- HTML


def test_the_web_page_stands_alone_and_holds_no_script_and_no_address_to_load(
    whole: Proposal,
) -> None:
    text = whole.written("html").decode()

    assert text.count("<style>") == 1
    assert "<script" not in text
    assert " style=" not in text
    loaded = re.findall(r'(?:src|href)="([^"]*)"', text)
    pictures = [one for one in loaded if one.startswith("data:image/")]
    assert len(pictures) == len(whole.figures.files)
    assert all(one.startswith(("data:image/", "#", "http://", "https://")) for one in loaded)
    assert not re.findall(r'src="http', text)
    assert "default-src &#39;none&#39;" in text


def test_hostile_text_is_text_on_the_web_page(hostile: Proposal) -> None:
    text = hostile.written("html").decode()

    assert "<script" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp;amp; &lt;b&gt;x&lt;/b&gt; {{ 7*7 }}" in text
    assert "\x00" not in text
    assert "\u202e" not in text


# -- linked data


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_the_linked_data_tells_of_every_statement_whose_it_is_and_what_it_rests_on(
    whole: Proposal,
) -> None:
    text = whole.written("jsonld").decode()
    graph = Graph().parse(data=text, format="json-ld")
    base = case_base(whole.case)
    me = URIRef(f"{base}proposal")

    assert (me, RDF.type, PROV.Plan) in graph
    option = URIRef(f"{base}option/{BATH}")
    assert (option, URIRef(f"{LW}verdict"), URIRef(f"{LW}defeated")) in graph
    assert (option, PROV.wasDerivedFrom, URIRef(iri_of("rule:known-harm"))) in graph
    own = set(graph.subjects(PROV.wasAttributedTo, URIRef(f"{base}proposal/writer")))
    assert "Danced in for sixty years." in {str(graph.value(one, RDF.value)) for one in own}
    statements = set(graph.subjects(RDF.value))
    assert len(statements) > 100
    assert all(graph.value(one, PROV.wasAttributedTo) is not None for one in statements)
    for reference in whole.report.references:
        claim = URIRef(iri_of(reference.claim))
        assert (claim, RDF.type, URIRef(f"{LW}Claim")) in graph
        if reference.source:
            assert graph.value(claim, DCTERMS.source) is not None
    assert json.loads(text)["@context"]["lw"] == LW


# -- the command


@pytest.mark.parametrize("form", sorted(FORMS))
def test_the_command_writes_each_form(form: str, tmp_path: Path) -> None:
    out = tmp_path / f"p.{form}"
    words = tmp_path / "words.yaml"
    words.write_text('methods: By eye.\n"choice:loose-floats": loose-floats/net-overlay\n', "utf-8")
    run = CliRunner().invoke(
        app,
        ["propose", "demo:furnishing-panel", "--out", str(out), "--words", str(words),
         "--date", "2026-11-20"],
    )  # fmt: skip

    assert run.exit_code == 0, run.output
    assert out.stat().st_size > 10_000
    assert "still missing, besides the signature" in run.output


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--out", "p.txt"], ".pdf, .docx, .html, .jsonld"),
        (["--out", "p.pdf", "--date", "yesterday"], "a day such as"),
        (["--out", "p.pdf", "--words", "no-such-file.yaml"], "No such file"),
        (["--out", "no-such-folder/p.jsonld"], "No such file"),
    ],
)
def test_a_mistake_at_the_command_is_one_sentence(
    arguments: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke(app, ["propose", "demo:furnishing-panel", *arguments])

    assert run.exit_code == 2
    assert said in run.output
    assert "Traceback" not in run.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("nonsense: x\n", "words.nonsense"),
        ('"choice:loose-floats": loose-floats/no\n', "words.choice:loose-floats"),
        ('"reason:no-such": because\n', "words.reason:no-such"),
        ("- a list\n", "a mapping"),
    ],
)
def test_words_that_do_not_fit_are_named_at_the_command(
    words: str, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "w.yaml"
    file.write_text(words, "utf-8")
    out = tmp_path / "p.html"
    run = CliRunner().invoke(
        app, ["propose", "demo:furnishing-panel", "--out", str(out), "--words", str(file)]
    )

    assert run.exit_code == 2
    assert said in run.output
    assert not out.exists()
