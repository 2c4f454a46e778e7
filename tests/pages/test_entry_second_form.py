"""What only the second form of a record can say outlives the pages, which show a part of it."""

from __future__ import annotations

import copy
from collections.abc import Callable

import pytest
import yaml
from fastapi.testclient import TestClient

from leastwise.api.store import Store
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from tests.graph.case.test_mutated import SOUND
from tests.pages.conftest import form_token
from tests.pages.entry_help import form_of, send


@pytest.fixture
def imported(client: TestClient) -> str:
    """Import a record that says all that a record can say, and return its address."""
    text = yaml.safe_dump(SOUND, sort_keys=False)
    fields = {"text": text, "form_token": form_token(client)}
    answer = client.post("/cases/import", data=fields, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("?")[0]


@pytest.mark.parametrize("section", ["object", "parts", "damages", "tests", "aim", "contacts"])
def test_a_page_that_is_sent_unchanged_loses_nothing(
    section: str, imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    name = imported.rpartition("/")[2]
    before = copy.deepcopy(store.read(name).body)

    send(client, f"{imported}/{section}", form_of(client, f"{imported}/{section}"))

    after = case_from_data(store.read(name).body, adviser.knowledge)
    assert after == case_from_data(before, adviser.knowledge)


def test_what_is_imported_is_what_was_written(
    imported: str, store: Store, adviser: Adviser
) -> None:
    kept = store.read(imported.rpartition("/")[2]).body

    assert case_from_data(kept, adviser.knowledge) == case_from_data(SOUND, adviser.knowledge)


def test_a_heading_is_stated_on_the_page(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/parts"

    send(client, where, form_of(client, where) | {"parts.1.finish": "none"})

    case = case_from_data(store.read(imported.rpartition("/")[2]).body, adviser.knowledge)
    assert case.parts[1].finish == "none"


def kept(imported: str, store: Store, adviser: Adviser) -> Case:
    return case_from_data(store.read(imported.rpartition("/")[2]).body, adviser.knowledge)


Entering = Callable[[str, dict[str, str]], Case]


@pytest.fixture
def entered(imported: str, client: TestClient, store: Store, adviser: Adviser) -> Entering:
    """Return what enters fields on a page of the imported case and gives the case as kept."""

    def enter(page: str, typed: dict[str, str]) -> Case:
        where = f"{imported}/{page}"
        send(client, where, form_of(client, where) | typed)
        return kept(imported, store, adviser)

    return enter


def test_sizes_girths_and_shape_of_the_object_are_entered(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/object"
    typed = {
        "object.form": "headwear",
        "object.size.height_cm": "30,5",
        "object.size.weight_g": "",
        "object.size.weight_g_is": "unknown",
        "object.girths_cm": "head: 56\nneck = 38.5",
    }

    send(client, where, form_of(client, where) | typed)

    thing = kept(imported, store, adviser).object
    assert (thing.form, thing.size.height_cm, thing.size.weight_g) == ("headwear", 30.5, "unknown")
    assert thing.girths_cm == {"head": 56.0, "neck": 38.5}


def test_a_girth_that_is_no_figure_is_kept_as_typed_and_told_beside_its_field(
    imported: str, client: TestClient, store: Store
) -> None:
    where = f"{imported}/object"

    send(client, where, form_of(client, where) | {"object.girths_cm": "chest about ninety"})

    body = store.read(imported.rpartition("/")[2]).body
    assert body["object"]["girths_cm"] == "chest about ninety"
    assert 'id="object.girths_cm-error"' in client.get(where).text


def test_colours_go_by_their_look_and_one_of_several_has_shares(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/parts"
    form = form_of(client, where)
    rows = {n: v for n, v in form.items() if n.startswith("parts.1.materials.")}
    place = next(n[: -len("material")] for n, v in rows.items() if v == "cotton")

    send(client, where, form | {f"{place}share": "0.6", "parts.0.materials.1.where": "hem"})

    case = kept(imported, store, adviser)
    shares = {one.material: one.share for one in case.parts[1].materials if one.choice}
    assert shares == {"material:cotton": 0.6, "material:viscose-rayon": 0.4}
    assert case.parts[0].materials[1].where == "hem"


def test_a_damage_says_where_it_is_what_it_is_of_and_what_has_no_name(entered: Entering) -> None:
    typed = {
        "damages.1.deposit": "grease",
        "damages.1.where": "left cuff",
        "damages.1.shows_on_display": "yes",
        "damages.1.place.x": "0,25",
        "damages.1.place.y": "0.6",
        "damages.2.damage": "",
        "damages.2.other": "nibbled by a hamster",
    }

    spill, odd = entered("damages", typed).damages[1:3]

    assert (spill.deposit, spill.where, spill.shows_on_display) == ("grease", "left cuff", "yes")
    assert spill.place is not None
    assert (spill.place.x, spill.place.y) == (0.25, 0.6)
    assert (odd.damage, odd.other) == ("damage:other", "nibbled by a hamster")


def test_needs_are_added_taken_out_and_named(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/damages"
    send(client, where, form_of(client, where), add="needs")
    form = form_of(client, where)

    send(client, where, form | {"needs.1.need": "housed", "needs.1.note": "no box yet"})

    needs = kept(imported, store, adviser).needs
    assert [(n.id, n.need) for n in needs][1] == ("housed", "need:housed")
    send(client, where, form_of(client, where), remove="needs.1")
    assert [n.id for n in kept(imported, store, adviser).needs] == [needs[0].id]


def test_a_test_says_what_it_showed_what_the_agent_did_and_what_was_read(
    entered: Entering,
) -> None:
    typed = {
        "tests.1.identified": "weighted silk",
        "tests.1.laboratory": "a laboratory",
        "tests.2.reading.value": "4,4",
        "tests.2.reading.plus_minus": "0.2",
        "tests.3.effect": "harms",
        "tests.3.result": "bad",
        "tests.3.damage": "spill",
    }

    _, showed, read, tried = entered("tests", typed).tests

    assert (showed.identified, showed.laboratory) == ("material:weighted-silk", "a laboratory")
    assert read.reading is not None
    assert (read.reading.value, read.reading.unit, read.reading.plus_minus) == (4.4, "pH", 0.2)
    assert (tried.effect, tried.result, tried.damage) == ("harms", "bad", "spill")


def test_a_test_may_show_a_kind_of_damage(entered: Entering) -> None:
    assert entered("tests", {"tests.1.identified": "soot"}).tests[1].identified == "damage:soot"


def test_several_purposes_are_ticked_and_the_first_leads(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/aim"
    also = {"aim.purpose": "study", "aim.also[]": ["", "storage", "transport"]}

    send(client, where, form_of(client, where) | also)

    assert kept(imported, store, adviser).aim.purposes == ("study", "storage", "transport")
