"""Sheets become Turtle that check-knowledge accepts; wrong cells are named by row and column."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph import Adviser, load_adviser
from leastwise.graph.authoring.check_knowledge import Checker
from leastwise.graph.authoring.csv_import import KINDS, Imported, import_csv, template_path
from leastwise.graph.authoring.csv_rows import CsvError, read_csv
from leastwise.graph.errors import NotFound

pytestmark = pytest.mark.slow  # seconds of work in nearly every test


def imported(kind: str, text: str, adviser: Adviser) -> Imported:
    return import_csv(kind, text, adviser.knowledge, examples=True)


def template(kind: str) -> str:
    return template_path(kind).read_text("utf-8")


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_row_of_a_template_is_marked_and_left_out(kind: str, adviser: Adviser) -> None:
    found = import_csv(kind, template(kind), adviser.knowledge)

    assert found.subjects == ()
    assert found.examples_left_out == 1
    assert "nvented" in template(kind)


def test_the_example_rows_give_turtle_without_fault(
    tmp_path: Path, adviser: Adviser, checker: Checker, cache: Path
) -> None:
    for kind in KINDS:
        turtle = imported(kind, template(kind), adviser).turtle
        (tmp_path / f"{kind}.ttl").write_text(turtle, "utf-8")

    assert checker.check([tmp_path]) == ([], 3)

    ours = load_adviser([tmp_path], cache=cache)
    technique = ours.catalogue.techniques["technique:example-warm-breath"]
    assert [(use.agent, use.dose, use.confined) for use in technique.brings] == [
        ("agent:heat", 1, False),
        ("agent:water-vapour", 2, True),
    ]
    assert technique.hours == (0.5, 2.0)
    assert dict(technique.burdens)["axis:irreversibility"] == 2
    effects = {e.technique: e.efficacy for e in ours.catalogue.effects["damage:crease"]}
    assert effects[technique.id] == 2
    assert "material:cellulosic-fibre" in ours.knowledge.broader("material:example-seaweed-cloth")


WRONG = [
    (
        "materials",
        "fibre,example seaweed",
        "wool,example seaweed",
        "row 2, column kind: got 'wool'",
    ),
    ("materials", "cellulosic-fibre,,", "celulosic-fibre,,", "near to it: cellulosic-fibre"),
    ("materials", "example-seaweed-cloth", "silk", "material:silk is in the knowledge"),
    ("materials", "example-seaweed-cloth", "Sea Weed", "letters, digits and hyphens"),
    ("materials", "example seaweed cloth (invented)", "silk", "material:silk has this one"),
    ("materials", ",no,no", ",maybe,no", "column brittle: got 'maybe'"),
    ("materials", "key,kind", "key,sort", "row 1: got 'sort'"),
    ("materials", "key,kind,", "key,", "a header without kind"),
    ("sensitivities", ",heat,1,", ",heat,7,", "row 2, column severity: got '7'"),
    ("sensitivities", ",heat,1,", ",heat,²,", "row 2, column severity: got '²'"),
    ("sensitivities", ",heat,1,", ",haet,1,", "row 2, column agent: got 'haet'"),
    ("sensitivities", "practice,,low,,,", "read,part,low,,,", "what is read or recalled names one"),
    ("sensitivities", "practice,,low,,,", "read,part,low,XX-1,,", "a new key with its citation"),
    ("sensitivities", "practice,,low,,,", "guess,,low,,,", "one of read, memory, practice"),
    ("sensitivities", "practice,,low,,,", "read,,low,S-1,,", "one of whole, part, abstract"),
    ("sensitivities", "low,,,", "low,XX-1,Some citation,ftp://x", "starts with https://"),
    ("techniques", "heat 1 open", "heat 9 open", "column agents: got 'heat 9 open'"),
    ("techniques", ",0.5,2,part", ",5,2,part", "column hours_low: got '5'"),
    ("techniques", ",0.5,2,part", ",soon,2,part", "a number of hours"),
    ("techniques", ",0.5,2,part", ",0.5,2,week", "one of part, object"),
    ("techniques", "crease 2 Invented", "creese 2 Invented", "column answers: got 'creese'"),
    ("techniques", "lies-flat", "lies-flt", "near to it: lies-flat"),
]


@pytest.mark.parametrize(("kind", "old", "new", "words"), WRONG)
def test_a_wrong_cell_is_named_with_row_and_column(
    kind: str, old: str, new: str, words: str, adviser: Adviser
) -> None:
    text = template(kind)
    assert old in text

    with pytest.raises(CsvError) as caught:
        imported(kind, text.replace(old, new, 1), adviser)

    assert words in str(caught.value)


def test_every_wrong_cell_is_named_not_only_the_first(adviser: Adviser) -> None:
    text = template("sensitivities").replace(",heat,1,", ",haet,7,").replace("practice", "guess")

    with pytest.raises(CsvError) as caught:
        imported("sensitivities", text, adviser)

    columns = [problem.path for problem in caught.value.problems]
    assert columns == [f"row 2, column {name}" for name in ("basis", "agent", "severity")]


def test_two_rows_of_one_name_are_refused(adviser: Adviser) -> None:
    head, row = template("sensitivities").splitlines()

    with pytest.raises(CsvError, match=r"row 3, column id: .* a name of its own for each row"):
        imported("sensitivities", "\n".join([head, row, row]), adviser)


def test_semicolons_a_byte_order_mark_and_decimal_commas_are_read(
    tmp_path: Path, adviser: Adviser
) -> None:
    head = template("sensitivities").splitlines()[0].replace(",", ";")
    parted = head + '\nno;s-1;cotton;heat;2;"Yellowed; a little.";practice;;low;;;'
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"\xef\xbb\xbf" + parted.encode())

    found = imported("sensitivities", read_csv(path), adviser)

    assert found.subjects == ("claim:s-1",)
    assert 'lw:statement "Yellowed; a little."@en' in found.turtle
    hours = template("techniques").replace(",0.5,2,part", ',"0,5",2,part')
    assert "lw:least 0.50" in imported("techniques", hours, adviser).turtle


def test_a_new_source_is_defined_with_its_citation(
    tmp_path: Path, adviser: Adviser, checker: Checker, cache: Path
) -> None:
    row = 'no,s-2,cotton,heat,1,"Yellowed, we read.",read,whole,low,OUR-1,"Invented, ""A note""",'
    text = template("sensitivities").splitlines()[0] + "\n" + row + "https://example.org/note\n"
    (tmp_path / "s.ttl").write_text(imported("sensitivities", text, adviser).turtle, "utf-8")

    assert checker.check([tmp_path]) == ([], 1)
    k = load_adviser([tmp_path], cache=cache).knowledge
    assert k.object("claim:s-2", "dcterms:source") == "source:OUR-1"
    assert k.text("source:OUR-1", "dcterms:bibliographicCitation") == 'Invented, "A note"'
    assert k.object("source:OUR-1", "rdfs:seeAlso") == "https://example.org/note"


@pytest.mark.parametrize("text", ["", "\n", "a,b\n1,2\n", 'example,key\n"open', "\0"])
def test_what_is_no_sheet_is_refused_in_words(text: str, adviser: Adviser) -> None:
    with pytest.raises(CsvError):
        imported("materials", text, adviser)


def test_a_sheet_in_another_encoding_and_an_unknown_kind_are_refused(
    tmp_path: Path, adviser: Adviser
) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes("crêpe".encode("latin-1"))

    with pytest.raises(CsvError, match="UTF-8"):
        read_csv(path)
    with pytest.raises(NotFound, match="materials"):
        imported("threads", "", adviser)


def test_the_command_prints_the_template_and_overwrites_nothing(tmp_path: Path) -> None:
    run = CliRunner().invoke
    sheet, out = tmp_path / "m.csv", tmp_path / "m.ttl"
    sheet.write_text(run(app, ["import-csv", "materials"]).stdout.replace("\nyes,", "\nno,"))

    first = run(app, ["import-csv", "materials", str(sheet), "--out", str(out)])
    again = run(app, ["import-csv", "materials", str(sheet), "--out", str(out)])

    assert first.exit_code == 0
    assert "1 materials imported." in first.output
    assert "material:example-seaweed-cloth a skos:Concept" in out.read_text("utf-8")
    assert again.exit_code == 2
    assert "is there already" in again.output


def test_the_command_names_wrong_cells_and_leaves_with_two(tmp_path: Path) -> None:
    sheet = tmp_path / "s.csv"
    sheet.write_text(template("sensitivities").replace("yes,", "no,").replace("heat,1", "heat,7"))

    result = CliRunner().invoke(app, ["import-csv", "sensitivities", str(sheet)])

    assert result.exit_code == 2
    assert "s.csv, row 2, column severity: got '7'; expected" in result.output
