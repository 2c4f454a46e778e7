"""Every page that the app can show: sound HTML, no serious fault of access, nothing cut off.

The pages come from the app's own routes, so that a new page is looked at as well; one whose path
names something without an example (``tests/doors/addresses.py``) fails here.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlencode

import pypdf
import pytest

from leastwise.api.identity import signing_in
from leastwise.api.identity.signing_in import Place
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.accounts.people import enrol, signed_in, stranger
from tests.apps import Apps
from tests.browser import axe_faults, overflow, served
from tests.doors.addresses import NO_PAGE, ON_ITS_OWN, addresses, fixed, without_example
from tests.doors.conftest import World
from tests.doors.full_case import HOSTILE, TRICKS, FullCase
from tests.pdf_text import texts_of

ALLOWED_SCRIPTS = {"application/json"}  # data for a script, which no browser runs
ONLY_SHARED = {
    "/account", "/account/second-factor", "/accounts", "/accounts/-/events", "/accounts/{name}",
    "/cases/{case}/share", "/set-password/{link}", "/sign-in", "/sign-in/code",
}  # fmt: skip
WIDTHS = (1440, 1024, 768, 390, 320)
#: A4 is 210 mm wide; with margins of 15 mm 180 mm are left, at 96 pixels an inch.
PRINT_WIDTH = 680


class Sound(HTMLParser):
    """Gathers what a page must not hold, and what it must hold once."""

    def __init__(self) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: Counter[str] = Counter()
        self.language = ""
        self.title = ""
        self._in_title = False
        self._in_drawing = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.tags[tag] += 1
        self.language = given.get("lang", "") if tag == "html" else self.language
        self._in_drawing += tag == "svg"
        self._in_title = tag == "title" and not self._in_drawing
        if given.get("id"):
            self.ids[given["id"]] += 1
        if tag == "style":
            self.faults.append("a <style> element")
        if tag == "script" and "src" not in given and given.get("type") not in ALLOWED_SCRIPTS:
            self.faults.append("a script in the page")
        for name, value in given.items():
            if name == "style" or name.startswith("on"):
                self.faults.append(f"{tag} {name}={value[:60]}")
            if name in ("href", "src", "action") and value.strip().lower().startswith("javascript"):
                self.faults.append(f"{tag} {name}={value[:60]}")
            loads = name in ("src", "href") and tag in ("script", "link", "img", "iframe")
            if loads and re.match(r"(https?:)?//", value):
                self.faults.append(f"{tag} from elsewhere: {value[:60]}")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self._in_drawing -= tag == "svg"

    def handle_endtag(self, tag: str) -> None:
        self._in_drawing -= tag == "svg"
        self._in_title = self._in_title and tag != "title"

    def handle_data(self, data: str) -> None:
        if self._in_title:
            self.title += data


@lru_cache(maxsize=4)  # several things are asked of a page, one after the other
def read(html: str) -> Sound:
    found = Sound()
    found.feed(html)
    return found


def faults_of(html: str) -> list[str]:
    """Return what is wrong with a whole page."""
    page = read(html)
    wrong = list(page.faults)
    if not html.lower().startswith("<!doctype html>"):
        wrong.append("no doctype")
    if not page.language:
        wrong.append("no language")
    if page.tags["h1"] != 1:
        wrong.append(f"{page.tags['h1']} h1")
    if page.tags["main"] != 1:
        wrong.append(f"{page.tags['main']} main")
    if not page.title.removesuffix("· Leastwise").strip():
        wrong.append("no title")
    twice = sorted(name for name, times in page.ids.items() if times > 1)
    return wrong + [f"the id {name} twice" for name in twice[:4]]


def known(case: FullCase) -> dict[str, str]:
    return fixed(case) | {"link": "0" * 32}


def pages_of(
    world: World, case: FullCase, wanted: Callable[[str], bool] = lambda address: True
) -> list[str]:
    """Return the addresses that answer with a page within the frame, on a personal machine."""
    found = []
    for one in addresses(world.app, known(case)):
        if one.path in ONLY_SHARED | ON_ITS_OWN or not wanted(one.address):
            continue
        if one.address not in world.seen and one.path not in world.no_page:
            world.take_in(one, world.client.get(one.address, follow_redirects=False))
        if world.seen.get(one.address) is not None:
            found.append(one.address)
    return found


def test_every_route_has_an_example_to_ask_for(world: World) -> None:
    assert without_example(world.app, known(world.full)) == []
    paths = {one.path for one in addresses(world.app, known(world.full))}
    assert not paths & NO_PAGE.keys()
    assert len(paths) > 80


def test_an_example_that_is_missing_is_told(world: World) -> None:
    some = {name: value for name, value in known(world.full).items() if name != "sketch"}
    assert without_example(world.app, some) == [
        "/cases/{case}/sketch/{sketch}",
        "/cases/{case}/sketch/{sketch}/drawing",
    ]


def test_every_page_answers_and_is_sound_html(world: World) -> None:
    wrong: dict[str, object] = {}
    pages = 0
    for one in addresses(world.app, known(world.full)):
        answer = world.client.get(one.address, follow_redirects=True)
        if not answer.history:
            world.take_in(one, answer)
        if one.path in ONLY_SHARED:
            assert answer.status_code == 404, one
            continue
        if answer.status_code != 200:
            wrong[one.address] = answer.status_code
        elif answer.headers["content-type"].startswith("text/html"):
            pages += 1
            faults = [] if one.path in ON_ITS_OWN else faults_of(answer.text)
            if faults:
                wrong[one.address] = faults
    assert not wrong, "\n".join(f"{at}: {said}" for at, said in wrong.items())
    assert pages > 60


# -- in a real browser


CUT_OFF = """() => {
  const wide = document.documentElement.clientWidth, out = [];
  for (const e of document.querySelectorAll('main *')) {
    const r = e.getBoundingClientRect();
    if (!r.width || !r.height || e.closest('svg') && e.tagName !== 'svg') continue;
    if (e.closest('.sr, [hidden]')) continue;
    if (r.right > wide + 1) out.push(`${e.tagName}.${e.getAttribute('class')} to ${r.right|0}`);
    const hides = getComputedStyle(e).overflowX !== 'visible' && e.clientWidth > 1;
    if (hides && e.scrollWidth > e.clientWidth + 1 && !/^(INPUT|SELECT|TEXTAREA)$/.test(e.tagName))
      out.push(`${e.tagName}.${e.getAttribute('class')} hides ${e.scrollWidth - e.clientWidth}`);
  }
  return out.slice(0, 4);
}"""


class Looker:
    """One page of a browser that goes from address to address and gathers faults by address."""

    def __init__(self, context: Any) -> None:
        self.page = context.new_page()
        self.faults: dict[str, list[str]] = {}
        self.at = ""
        self.page.on("pageerror", lambda error: self.tell(f"script: {error}"))
        self.page.on("console", lambda said: said.type == "error" and self._said(said.text))
        self.page.on("dialog", self._dialog)

    def tell(self, *faults: str) -> None:
        if faults:
            self.faults.setdefault(self.at, []).extend(faults)

    def _said(self, text: str) -> None:
        if "Failed to load resource" not in text:
            self.tell(f"console: {text}")

    def _dialog(self, dialog: Any) -> None:
        self.tell(f"dialog: {dialog.message}")
        dialog.dismiss()

    def in_words(self) -> str:
        return "\n".join(f"{at}: {one}" for at, said in self.faults.items() for one in said)

    def sign_in(self, secret: str) -> None:
        cookie = {"name": "leastwise_session", "value": secret, "domain": "127.0.0.1", "path": "/"}
        self.page.context.add_cookies([cookie])

    def go(self, address: str) -> None:
        """Open *address* and wait for its styles: before them there is no layout to judge."""
        self.at = address
        self.page.goto(address, wait_until="load")

    def widths(self, *widths: int) -> None:
        for width in widths:
            self.page.set_viewport_size({"width": width, "height": 900})
            self.tell(*(f"{width}: {one}" for one in overflow(self.page)))

    def on_paper(self) -> None:
        """Look whether anything is wider than A4 within its margins, or hidden in a box."""
        self.page.emulate_media(media="print")
        self.page.set_viewport_size({"width": PRINT_WIDTH, "height": 960})
        self.tell(*(f"print: {one}" for one in self.page.evaluate(CUT_OFF)))
        self.page.emulate_media(media="screen")


@contextmanager
def looking(browser: Any, app: Any, **more: Any) -> Iterator[Looker]:
    with served(app) as site:
        context = browser.new_context(
            base_url=site, viewport={"width": WIDTHS[0], "height": 900}, **more
        )
        try:
            yield Looker(context)
        finally:
            context.close()


@pytest.mark.slow
def test_every_page_is_accessible_fits_its_window_and_fits_on_paper(
    world: World, browser: Any
) -> None:
    with looking(browser, world.app) as look:
        for address in pages_of(world, world.full):
            look.go(address)
            look.tell(*axe_faults(look.page))
            look.widths(*WIDTHS)
            look.on_paper()
            look.page.set_viewport_size({"width": WIDTHS[0], "height": 900})
    assert not look.faults, look.in_words()


@pytest.mark.slow
def test_the_main_pages_are_accessible_in_the_dark(world: World, browser: Any) -> None:
    case = f"/cases/{world.full.id}"
    steam = "/options/crushed-tiers/steam"
    main = ("", "/parts", "/contacts", "/options", steam, "/plan?wait=true", "/proposal?wait=true",
            "/review/1", "/log", "/precedents", "/exposure?option=crushed-tiers/steam")  # fmt: skip
    others = ("/", "/knowledge", "/knowledge/grades", "/knowledge/disagreements", "/sparql")
    with looking(browser, world.app, color_scheme="dark") as look:
        for address in [case + one for one in main] + list(others):
            look.go(address)
            look.tell(*axe_faults(look.page))
    assert not look.faults, look.in_words()


@pytest.mark.slow
def test_pages_that_are_meant_for_paper_print_on_a4(world: World, browser: Any) -> None:
    case = f"/cases/{world.full.id}"
    with looking(browser, world.app) as look:
        for path in ("/options", "/plan?wait=true", "/bench?wait=true", "/log/record", "/review/1"):
            look.go(case + path)
            shown = str(look.page.inner_text("h1"))
            pdf = pypdf.PdfReader(io.BytesIO(look.page.pdf(format="A4", print_background=True)))
            first = pdf.pages[0]
            assert abs(float(first.mediabox.width) - 595) < 2, path
            texts = texts_of(pdf)
            text = " ".join(texts)
            if path != "/bench?wait=true":  # the sheets have headings of their own
                assert "".join(shown.split()) in "".join(text.split()), path
            assert "To the content" not in text, path
            assert all(one.strip() for one in texts), f"{path}: an empty page"


# -- pages that there are only with accounts


@pytest.fixture
def shared(adviser: Adviser, apps: Apps) -> Iterator[tuple[Any, str, dict[str, str]]]:
    """Return the app with accounts, the secret of a session, and what the addresses need."""
    store = Store.open("sqlite://")
    app = apps.anew(Settings(cache=None, shared=True), store)
    enrol(store, "anna", "administrator")
    enrol(store, "ben", "reader")
    body = read_demo("furnishing-panel", adviser.knowledge).model_dump(mode="json")
    made = store.create("case", body, who="anna", what="begun", title=body["title"])
    store.share(made.id, "ben", "read", who="anna")
    accounts = AccountStore(store)
    secret = signing_in.begin(accounts, "anna", Place(), "test")
    accounts.begin_factor("anna", "A" * 32, address="")
    yield app, secret, {"case": made.id, "link": "0" * 32}
    store.engine.dispose()


def shared_addresses(app: Any, known: dict[str, str]) -> list[str]:
    given = known | {"sketch": "x", "picture": "x", "record": "x"}
    return [one.address for one in addresses(app, given) if one.path in ONLY_SHARED]


def test_the_pages_of_accounts_answer_and_are_sound_html(shared: Any) -> None:
    app, _, known = shared
    anna, nobody = signed_in(app, "anna"), stranger(app)
    for address in [*shared_addresses(app, known), "/", f"/cases/{known['case']}"]:
        asks = nobody if address.startswith(("/sign-in", "/set-password")) else anna
        answer = asks.get(address)
        expected = 404 if address.startswith("/set-password") else 200  # the link is unknown
        assert answer.status_code == expected, address
        assert faults_of(answer.text) == [], address


@pytest.mark.slow
def test_the_pages_of_accounts_are_accessible_and_fit(shared: Any, browser: Any) -> None:
    app, secret, known = shared
    with looking(browser, app) as look:
        for address in shared_addresses(app, known):
            look.page.context.clear_cookies()
            if not address.startswith(("/sign-in", "/set-password")):
                look.sign_in(secret)
            look.go(address)
            look.tell(*axe_faults(look.page))
            look.widths(*WIDTHS)
            look.on_paper()
            look.page.set_viewport_size({"width": WIDTHS[0], "height": 900})
    assert not look.faults, look.in_words()


# -- hostile text


def beside(address: str) -> bool:
    """Return whether the page shows what belongs to a case, or lists of cases."""
    return address.startswith(("/cases/", "/follow-ups", "/precedents")) or address == "/"


def elements(html: str) -> dict[str, int]:
    tags = read(html).tags
    return {tag: tags[tag] for tag in ("img", "script", "iframe", "style", "object", "form", "a")}


def test_hostile_text_adds_no_element_to_any_page(world: World) -> None:
    cases = (world.plain, world.hostile)
    twins = [pages_of(world, one, lambda a: a.startswith("/cases/")) for one in cases]
    for plain, hostile in zip(*twins, strict=True):
        expected, answer = (world.seen[one] or "" for one in (plain, hostile))
        assert elements(answer) == elements(expected), hostile
        assert faults_of(answer) == [], hostile
        assert "<script>alert(1)" not in answer, hostile
    assert len(twins[0]) > 30


def test_hostile_text_stands_on_the_pages_as_it_was_typed(world: World) -> None:
    case = f"/cases/{world.hostile.id}"
    typed = TRICKS.partition("{{7*7}}")[0] + "{{7*7}}"
    for path in ("", "/object", "/parts", "/damages", "/tests", "/aim", "/options", "/log",
                 "/log/record", "/review/1", "/photographs", "/proposal?wait=true"):  # fmt: skip
        shown = Shown()
        shown.feed(world.client.get(case + path).text)
        assert typed in shown.text, path


class Shown(HTMLParser):
    """The text of a page and the values of its fields."""

    text = ""

    def handle_data(self, data: str) -> None:
        self.text += data

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "input":
            self.text += f" {dict(attrs).get('value') or ''} "


@pytest.mark.slow
def test_hostile_text_starts_nothing_and_sticks_out_nowhere(world: World, browser: Any) -> None:
    with looking(browser, world.app) as look:
        look.page.set_viewport_size({"width": 820, "height": 900})
        for address in pages_of(world, world.hostile, beside):
            look.go(address)
            look.tell(*overflow(look.page))
            found = look.page.evaluate("document.querySelectorAll('[onerror], img[src=x]').length")
            look.tell(*["an element was injected"] * found)
        look.go(f"/?{urlencode({'q': HOSTILE[:60]})}")
        look.tell(*overflow(look.page))
    assert not look.faults, look.in_words()
