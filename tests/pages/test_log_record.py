"""The final treatment record as PDF, Word and linked data: all that was entered, and what lacks."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import docx
import pytest
from fastapi.testclient import TestClient
from PIL import Image
from pypdf import PdfReader
from rdflib import Graph, Literal, Namespace
from rdflib.namespace import DCTERMS, RDF, RDFS, SKOS

from leastwise.api.store import Document, Store
from leastwise.graph.exchange.jsonld import CONTEXT_PREFIXES
from tests.api.test_proposal_documents import roles_of, squeezed, text_of
from tests.browser import missing
from tests.pages.conftest import form_token
from tests.pdf_text import texts_of

Keep = Callable[..., Document]
CRM = Namespace(CONTEXT_PREFIXES["crm"])
HOSTILE = f'<script>alert(1)</script> #panic("x") $z$ *b* {{{{7*7}}}} \u202e {"W" * 90}'
PACK = "crushed-tiers/membrane-pack-suspended"
ENTRIES: tuple[tuple[str, dict[str, str]], ...] = (
    ("steps", {"planned": PACK, "what": "laid the pack on the top tier", "state": "done",
               "date": "2026-11-24", "by": "A. Conservator", "hours": "1.5", "note": HOSTILE}),
    ("steps", {"planned": "", "what": "stopped at the hem", "state": "stopped",
               "date": "2026-11-25", "by": "A. Conservator",
               "deviation": "the dye moved", "approved_by": "Keeper of dress"}),
    ("steps", {"planned": "", "what": "left the lining alone", "state": "not-done",
               "date": "2026-11-25", "by": "A. Conservator", "deviation": "brittle"}),
    *(("readings", {"quantity": "rh", "value": value, "unit": "%", "date": "2026-11-24",
                    "time": time, "part": "", "by": "A"})
      for value, time in (("45", "10:00"), ("61", "11:30"))),
    ("materials", {"what": "silk crepeline", "manner": "added", "batch": "B-77/3",
                   "amount": "20 cm x 30 cm", "date": "2026-11-24", "part": "lining"}),
    ("outcomes", {"part": "top-tier", "damage": "crushed-tiers",
                  "technique": "technique:membrane-pack-suspended", "result": "harm",
                  "date": "2026-11-25", "by": "A. Conservator", "note": "a tide line"}),
    ("follow_ups", {"due": "2027-05-01", "what": "the colour of the laid silk"}),
)  # fmt: skip


@pytest.fixture
def logged(client: TestClient, keep: Keep) -> Document:
    """Return a case with a log, a photograph of two stages and a state after treatment."""
    case = keep()
    where, token = f"/cases/{case.id}/log", {"form_token": form_token(client)}
    for listing, fields in ENTRIES:
        answer = client.post(f"{where}/{listing}", data=fields | token)
        assert answer.status_code == 200, answer.text[-2000:]
    final = {"state_after": "Tiers stand.\n\n- stable", "changes": HOSTILE, "before": "{}",
             "recorder": "A. Conservator", "date": "2026-11-25"}  # fmt: skip
    assert client.post(f"{where}/final", data=final | token).status_code == 200
    for stage in ("before", "after"):
        held = io.BytesIO()
        Image.new("RGB", (90, 60), "#775533").save(held, "JPEG")
        client.post(
            f"/cases/{case.id}/photographs",
            data={"caption": f"front {stage}", "stage": stage, **token},
            files=[("photographs", (f"{stage}.jpg", held.getvalue(), "image/jpeg"))],
        )
    return case


def document(client: TestClient, case: Document, form: str) -> bytes:
    answer = client.get(f"/cases/{case.id}/log/record.{form}")
    assert answer.status_code == 200
    return answer.content


SAID = (
    "laid the pack on the top tier", "1.5 h", "stopped at the hem", "the dye moved",
    "Keeper of dress", "not approved in writing", "45 %", "61 %", "silk crepeline", "B-77/3",
    "20 cm x 30 cm", "harm was done", "a tide line", "2027-05-01", "the colour of the laid silk",
    "Tiers stand.", HOSTILE.replace("\u202e", "\N{REPLACEMENT CHARACTER}"),
    "nothing is entered", "What is advised for future care",
    "photograph during treatment", "Before treatment", "After treatment",
)  # fmt: skip


def test_the_pdf_holds_all_that_was_entered_and_what_still_lacks(
    client: TestClient, logged: Document
) -> None:
    reader = PdfReader(io.BytesIO(document(client, logged, "pdf")))
    text = squeezed(text_of(reader))

    for said in SAID:
        assert squeezed(said) in text, said


def test_the_pdf_is_tagged_titled_and_numbered_with_version_and_knowledge(
    client: TestClient, logged: Document
) -> None:
    reader = PdfReader(io.BytesIO(document(client, logged, "pdf")))
    roles, pages = roles_of(reader), texts_of(reader)
    knowledge = client.get("/health").json()["knowledge"]

    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/L", "/Figure"} <= set(roles)
    assert roles.count("/H1") == 1
    assert roles.count("/Figure") >= 3  # two photographs and a chart
    assert str(reader.metadata.title).endswith(": treatment record")  # type: ignore[union-attr]
    assert "pdfuaid:part" in reader.trailer["/Root"]["/Metadata"].get_data().decode()  # type: ignore[index]
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "version 1.9" in page
        assert str(knowledge)[:8] in page


def test_nothing_sticks_out_of_a_page_of_the_pdf(
    client: TestClient, logged: Document, tmp_path: Path
) -> None:
    tool = shutil.which("pdftotext")
    if tool is None:
        missing("pdftotext", "on Debian: apt-get install poppler-utils")
    assert tool is not None
    file = tmp_path / "r.pdf"
    file.write_bytes(document(client, logged, "pdf"))
    run = subprocess.run(  # noqa: S603 - the machine's own reader of PDF
        [tool, "-bbox", str(file), "-"], check=True, capture_output=True
    ).stdout.decode(errors="replace")
    ends = [float(x) for x in re.findall(r'xMax="([\d.]+)"', run)]

    assert len(ends) > 100
    assert max(ends) <= 595.28 - 50  # A4, less its right margin


def test_the_same_record_gives_the_same_bytes(client: TestClient, logged: Document) -> None:
    for form in ("pdf", "jsonld"):
        assert document(client, logged, form) == document(client, logged, form)


def test_the_word_document_holds_the_same_and_opens_in_a_word_processor(
    client: TestClient, logged: Document, tmp_path: Path
) -> None:
    soffice = shutil.which("soffice") or shutil.which("libreoffice")
    if soffice is None:
        missing("LibreOffice", "on Debian: apt-get install libreoffice-writer")
    assert soffice is not None
    file = tmp_path / "r.docx"
    file.write_bytes(document(client, logged, "docx"))
    doc = docx.Document(str(file))
    cells = [c.text for t in doc.tables for row in t.rows for c in row.cells]
    text = squeezed("\n".join([*(p.text for p in doc.paragraphs), *cells]))
    for said in SAID:
        assert squeezed(said) in text, said
    assert "Heading 1" in {p.style.name for p in doc.paragraphs if p.style is not None}
    subprocess.run(  # noqa: S603 - the machine's own word processor
        [soffice, "--headless", f"-env:UserInstallation=file://{tmp_path / 'profile'}",
         "--convert-to", "pdf", "--outdir", str(tmp_path), str(file)],
        check=True, capture_output=True, timeout=240, env={**os.environ, "HOME": str(tmp_path)},
    )  # fmt: skip
    reader = PdfReader(tmp_path / "r.pdf")
    assert re.search(rf"page 1 of {len(reader.pages)}", text_of(reader))


def test_what_was_not_done_is_no_event_in_the_linked_data(
    client: TestClient, logged: Document
) -> None:
    with pytest.warns(DeprecationWarning, match="ConjunctiveGraph"):
        graph = Graph().parse(data=document(client, logged, "jsonld"), format="json-ld")
    done = {
        str(graph.value(one, RDFS.label)) for one in graph.subjects(RDF.type, CRM.E11_Modification)
    }

    assert done == {"laid the pack on the top tier", "stopped at the hem"}
    (plan,) = set(graph.objects(None, CRM.P33_used_specific_technique))
    assert str(plan).endswith(f"option/{PACK}")
    values = {float(str(v)) for v in graph.objects(None, CRM.P90_has_value)}
    assert {45.0, 61.0} <= values
    units = {str(graph.value(u, RDFS.label)) for u in graph.objects(None, CRM.P91_has_unit)}
    assert "%" in units
    assert (None, DCTERMS.identifier, Literal("batch B-77/3")) in graph
    assert (None, SKOS.note, Literal("a tide line")) in graph
    lacks = [str(o) for o in graph.objects(None, DCTERMS.description) if "Still missing" in str(o)]
    assert any("future care" in one for one in lacks)


@pytest.mark.parametrize("form", ["pdf", "docx", "jsonld"])
def test_a_case_without_a_log_has_a_record_that_says_what_lacks(
    client: TestClient, store: Store, keep: Keep, form: str
) -> None:
    case = keep()
    assert document(client, case, form)
    body = {**case.body, "parts": []}
    store.save(case.id, case.version, body, who="me", what="no parts")
    answer = client.get(f"/cases/{case.id}/log/record.{form}")
    assert answer.headers["content-type"].startswith("text/html")


def test_the_record_page_leads_to_every_form(client: TestClient, logged: Document) -> None:
    page = client.get(f"/cases/{logged.id}/log/record").text
    for form in ("pdf", "docx", "jsonld", "json"):
        address = f"/cases/{logged.id}/log/record.{form}"
        assert f'href="{address}"' in page
        assert client.get(address).status_code == 200
