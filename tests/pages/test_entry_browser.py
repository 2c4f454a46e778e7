"""Entering a case in a real browser: by keyboard alone, kept as one goes, nothing lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest

from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.browser import axe_faults, overflow
from tests.pages.entry_help import form_of, send

KEPT = "[data-keep-status]:has-text('Kept at')"


def type_and_see_choices(page: Any, letters: str) -> None:
    page.keyboard.type(letters)
    page.wait_for_selector("[role=listbox]:not([hidden]) [role=option]")


def press_enter_on(page: Any, words: str, leads_to: str) -> None:
    tab_to(page, words)
    page.keyboard.press("Enter")
    page.wait_for_url(leads_to)


def tab_to(page: Any, name: str, most: int = 90) -> None:
    """Press Tab until the field or button of that name has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate(
            "() => [document.activeElement.name, document.activeElement.textContent?.trim()]"
        )
        if name in found:
            return
    raise AssertionError(f"{name} can't be reached with Tab")


@pytest.mark.slow
def test_a_small_case_is_entered_by_keyboard_alone(
    page: Any, store: Store, adviser: Adviser
) -> None:
    keys = page.keyboard
    page.goto("/")
    tab_to(page, "title")
    keys.type("Collar with a crease")
    tab_to(page, "name")
    keys.type("lace collar")
    keys.press("Enter")
    page.wait_for_url("**/object")
    case = page.url.split("/")[-2]
    press_enter_on(page, "Keep, then parts and materials", "**/parts")
    tab_to(page, "parts.0.name")
    keys.type("collar")
    tab_to(page, "parts.0.materials.0.material")
    type_and_see_choices(page, "tull")
    keys.press("ArrowDown")
    assert page.evaluate("document.activeElement.getAttribute('aria-activedescendant')")
    keys.press("Enter")
    assert page.evaluate("document.activeElement.value") == "net or tulle, unsized"
    press_enter_on(page, "Add a material", "**#parts.0.materials.1.material")
    assert page.evaluate("document.activeElement.name") == "parts.0.materials.1.material"
    type_and_see_choices(page, "silk")
    keys.press("Escape")
    assert page.locator("[role=listbox]:not([hidden])").count() == 0
    tab_to(page, "parts.0.lies_flat")
    keys.press("ArrowLeft")
    keys.press("ArrowLeft")
    page.wait_for_selector(KEPT)
    page.goto(f"/cases/{case}/damages")
    tab_to(page, "damages.0.damage")
    keys.type("crease")
    keys.press("Escape")
    tab_to(page, "damages.0.parts[]")
    keys.press("Space")
    press_enter_on(page, "Keep, then tests done", "**/tests")
    page.goto(f"/cases/{case}/aim")
    tab_to(page, "aim.purpose")
    keys.type("disp")
    press_enter_on(page, "Keep, then the overview", f"**/cases/{case}")
    assert "complete enough to be weighed" in page.inner_text("main") or "touch" in page.inner_text(
        "main"
    )
    body = store.read(case).body
    assert [m["material"] for m in body["parts"][0]["materials"]] == [
        "material:net",
        "material:silk",
    ]
    assert body["parts"][0]["lies_flat"] == "yes"
    assert case_from_data(body, adviser.knowledge).aim.purpose == "display"


@pytest.mark.slow
def test_what_is_typed_is_kept_as_one_goes_and_errors_stand_beside_their_fields(
    page: Any, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    page.goto(f"/cases/{document.id}/aim")
    page.focus("[name='aim.lux']")
    page.fill("[name='aim.lux']", "bright")
    page.wait_for_selector(KEPT)
    assert store.read(document.id).body["aim"]["lux"] == "bright"
    assert page.evaluate("document.activeElement.name") == "aim.lux"
    assert page.locator("[id='aim.lux-error']").count() == 0  # not while one types there
    page.focus("[name='aim.note']")
    page.wait_for_selector("[id='aim.lux-error']")
    assert axe_faults(page) == []
    page.fill("[name='aim.lux']", "70")
    page.wait_for_selector("[id='aim.lux-error']", state="detached")
    page.fill("[name='aim.note']", "typed and left at once")
    page.goto("/")
    until = time.monotonic() + 20  # what is sent on leaving may arrive after the next page
    while store.read(document.id).body["aim"]["note"] == "" and time.monotonic() < until:
        page.wait_for_timeout(50)
    page.goto(f"/cases/{document.id}/aim")
    assert page.input_value("[name='aim.note']") == "typed and left at once"
    body = store.read(document.id).body
    assert (body["aim"]["lux"], body["aim"]["note"]) == (70, "typed and left at once")
    page.check("[data-instead='aim.lux'][value=unknown]")
    assert page.input_value("[name='aim.lux']") == ""


def typed_while_away(page: Any, keep: Callable[..., Document]) -> Document:
    """Return a case on whose aim page a note was typed while the server didn't answer."""
    document = keep("furnishing-panel")
    page.add_init_script("window.fetch = () => Promise.reject(new TypeError('away'));")
    page.goto(f"/cases/{document.id}/aim")
    page.fill("[name='aim.note']", "typed while away")
    page.wait_for_selector("[data-keep-status].not-kept")
    return document


@pytest.mark.slow
def test_without_the_server_the_device_keeps_it_and_offers_it_again(
    page: Any, keep: Callable[..., Document], store: Store
) -> None:
    document = typed_while_away(page, keep)
    where = f"/cases/{document.id}/aim"
    assert "on this device" in page.inner_text("[data-keep-status]")
    page.goto("/")
    assert store.read(document.id).version == 1
    again = page.context.new_page()  # the server is there again
    again.goto(where)
    again.get_by_role("button", name="Put it back").click()
    assert again.input_value("[name='aim.note']") == "typed while away"
    again.wait_for_selector(KEPT)
    assert store.read(document.id).body["aim"]["note"] == "typed while away"
    again.reload()
    assert again.get_by_role("button", name="Put it back").count() == 0


@pytest.mark.slow
def test_two_people_at_one_record_are_put_together_or_asked(
    page: Any, client: Any, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    page.goto(path)
    send(client, path, form_of(client, path), **{"parts.1.note": "theirs"})
    page.fill("[name='parts.0.note']", "mine")
    page.wait_for_selector(f"{KEPT}:has-text('put together')")
    until = time.monotonic() + 10
    while page.input_value("[name='parts.1.note']") != "theirs" and time.monotonic() < until:
        page.wait_for_timeout(50)
    assert page.input_value("[name='parts.1.note']") == "theirs"
    assert page.input_value("[name='parts.0.note']") == "mine"
    send(client, path, form_of(client, path), **{"parts.0.note": "theirs too"})
    page.fill("[name='parts.0.note']", "mine again")
    page.get_by_role("button", name="See both versions").click()
    page.wait_for_selector("h1:has-text('Two versions')")
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert axe_faults(page) == []
        assert overflow(page) == []
    page.keyboard.press("Tab")
    page.focus("[name='choice.0']")
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Keep what is chosen").click()
    page.wait_for_url(f"**{path}*")
    assert store.read(document.id).body["parts"][0]["note"] == "theirs too"
    assert page.get_by_role("button", name="Put it back").count() == 0


@pytest.mark.slow
def test_what_was_typed_for_a_case_that_was_removed_is_shown_where_it_is_told(
    page: Any, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    page.goto(f"/cases/{document.id}/object")
    store.remove(document.id, who="me")
    page.fill("[name='object.name']", "a name typed too late")
    page.click("button:text-is('Keep'):visible >> nth=-1")
    page.wait_for_selector("#left-over-text")
    assert "object.name: a name typed too late" in page.input_value("#left-over-text")
    assert axe_faults(page) == []
    page.click("text=Throw it away")
    page.reload()
    page.wait_for_load_state()
    assert page.locator("#left-over-text").count() == 0


@pytest.mark.slow
def test_while_the_server_is_away_keep_stays_on_the_page(
    page: Any, keep: Callable[..., Document]
) -> None:
    typed_while_away(page, keep)
    page.click(".keep-bar .main-action")
    page.wait_for_selector("[data-keep-status]:has-text('this page stays')")
    assert page.input_value("[name='aim.note']") == "typed while away"


@pytest.mark.slow
def test_a_guess_is_told_apart_and_what_has_no_entry_keeps_its_word(
    page: Any, keep: Callable[..., Document]
) -> None:
    document = keep("furnishing-panel")
    page.goto(f"/cases/{document.id}/parts")
    field = page.locator("[name='parts.0.materials.0.material']")
    field.fill("")
    field.focus()
    type_and_see_choices(page, "slik")
    page.wait_for_selector("[role=listbox]:visible:has-text('No such name. Spelled nearly so:')")
    assert axe_faults(page) == []
    field.fill("")
    page.keyboard.type("quovidrazzle")  # an invented word, which has no entry
    page.wait_for_selector("[role=listbox]:visible:has-text('No such name. Your word is kept')")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    assert field.input_value() == "unidentified material"
    note = page.locator("[name='parts.0.materials.0.note']")
    assert note.input_value().startswith("quovidrazzle")
