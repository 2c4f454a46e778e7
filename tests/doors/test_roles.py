"""Who may do what: every route of the app x every role x every relation to a case, by request.

The routes come from the app and its OpenAPI, so a route that is added without a rule fails here.
What is expected stands below in words of its own, not in those of the guard.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.app import access_table
from leastwise.api.identity import signing_in
from leastwise.api.identity.access import ALLOWED, BY_RIGHT, ON_A_CASE, SCOPES, Action
from leastwise.api.identity.secret import form_token_of
from leastwise.api.identity.signing_in import Place
from leastwise.api.roles import Role
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.accounts.people import BASE
from tests.apps import Apps
from tests.doors.routes import Way, ways

ANY = "f" * 40  # without a session a cookie and the form carry the same
MARK = "unmistakable-Gobelin-4711"
#: Role -> what it may do at all.
MAY = {
    "nobody": "OPEN",
    "reader": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT",
    "contributor": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT CREATE_CASE WRITE_CASE MANAGE_CASE",
    "reviewer": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT CREATE_CASE WRITE_CASE MANAGE_CASE "
    "REVIEW_CASE REVIEW_ALL SIGN_OFF",
    "tutor": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT CREATE_CASE WRITE_CASE MANAGE_CASE "
    "REVIEW_CASE REVIEW_ALL SIGN_OFF TEACH",
    "knowledge editor": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT CREATE_CASE WRITE_CASE "
    "MANAGE_CASE EDIT_KNOWLEDGE",
    "administrator": "OPEN USE LIST_CASES READ_CASE OWN_ACCOUNT CREATE_CASE WRITE_CASE "
    "MANAGE_CASE REVIEW_CASE REVIEW_ALL SIGN_OFF TEACH EDIT_KNOWLEDGE ADMINISTER",
}
#: Relation to a case -> what it allows there. "cohort": the owner is in the person's cohort.
ON = {
    "own": "READ_CASE WRITE_CASE MANAGE_CASE",
    "read": "READ_CASE",
    "review": "READ_CASE REVIEW_CASE SIGN_OFF",
    "write": "READ_CASE WRITE_CASE",
    "foreign": "",
    "cohort": "",
}
ON_FOR_A_TUTOR = {**ON, "cohort": "READ_CASE REVIEW_CASE SIGN_OFF"}
#: What a route asks for besides its own action.
BESIDES = {"POST /cases/{case}/copy": "CREATE_CASE"}
CASE_ACTIONS = set(" ".join(ON_FOR_A_TUTOR.values()).split())


def name_of(role: str) -> str:
    return f"the-{role.replace(' ', '-')}"


class House:
    """The service with an account of each role, and cases in every relation to them."""

    def __init__(self, apps: Apps, store: Store) -> None:
        self.store, self.accounts = store, AccountStore(store)
        self.app = apps.anew(Settings(cache=None, shared=True), store)
        for role in MAY:
            if role != "nobody":
                self._enrol(name_of(role), role, "spring")
        self._enrol("owner", "contributor", "")
        self._enrol("pupil", "contributor", "spring")
        self.client = TestClient(
            self.app, base_url=BASE, follow_redirects=False, raise_server_exceptions=False
        )

    def _enrol(self, name: str, role: str, cohort: str) -> None:
        self.accounts.add(name, full_name=name, role=role, cohort=cohort, who="console")

    def case(self, role: str, relation: str) -> str:
        """Return a new case, a draft that can't be weighed yet, so that its pages are quick."""
        owner = {"own": name_of(role), "cohort": "pupil"}.get(relation, "owner")
        body = {"title": MARK, "object": {"name": MARK}}
        made = self.store.create("case", body, who=owner, what="begun", title=MARK)
        if relation in ("read", "review", "write"):
            self.store.share(made.id, name_of(role), relation, who=owner)
        return made.id

    def session(self, role: str) -> str:
        if role == "nobody":
            return ""
        return signing_in.begin(self.accounts, name_of(role), Place(), "test")

    def ask(self, way: Way, address: str, secret: str) -> Any:
        """Send a request with an empty form as a browser of this session would."""
        headers = {"accept": "text/html" if way.is_page else "application/json"}
        headers["cookie"] = f"leastwise_session={secret}" if secret else f"leastwise_form={ANY}"
        headers["x-form-token"] = form_token_of(secret) if secret else ANY
        self.client.cookies.clear()
        return self.client.request(way.method, address, headers=headers)


@pytest.fixture(scope="module")
def house(apps: Apps) -> Iterator[House]:
    store = Store.open("sqlite://")
    made = House(apps, store)
    with made.client:  # one loop for all requests, as a server has it
        yield made
    store.engine.dispose()


def is_refused(answer: Any) -> bool:
    if answer.status_code == 303:
        return str(answer.headers["location"]).startswith("/sign-in?next=")
    no_case = answer.status_code == 404 and "There is no case" in answer.text
    return answer.status_code in (401, 403) or no_case


def test_every_route_has_a_rule_and_every_rule_a_route(house: House) -> None:
    found = {way.key for way in ways(house.app)}
    schema = {
        f"{method.upper()} {path}"
        for path, methods in house.app.openapi()["paths"].items()
        for method in methods
    }

    assert len(found) > 40
    assert schema <= found
    assert found - access_table().keys() == set()
    assert access_table().keys() - found == set()


def test_the_tables_say_what_is_expected() -> None:
    said = {role: {action.name for action in ALLOWED[Role(role)]} for role in MAY}
    assert said == {role: set(may.split()) for role, may in MAY.items()}
    assert {action.name for action in ON_A_CASE} == CASE_ACTIONS
    by_right = {right: {a.name for a in allowed} for right, allowed in BY_RIGHT.items()}
    expected = {right: set(on.split()) for right, on in ON.items()}
    assert by_right == {
        "owner": expected["own"],
        **{right: expected[right] for right in ("read", "review", "write")},
    }


def test_a_route_of_a_case_is_an_action_on_a_case() -> None:
    wrong = [
        key
        for key, action in access_table().items()
        if ("{case}" in key) != (action.name in CASE_ACTIONS)
    ]
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize("role", MAY)
def test_a_route_beside_the_cases_is_for_the_roles_that_may(house: House, role: str) -> None:
    wrong, table = [], access_table()
    for way in ways(house.app):
        if "{case}" in way.path:
            continue
        answer = house.ask(way, way.at(), house.session(role))
        may = table[way.key].name in MAY[role].split()
        if is_refused(answer) == may or answer.status_code >= 500:
            wrong.append((way.key, answer.status_code, answer.text[:200]))
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize(
    ("role", "relation"),
    [("nobody", "foreign"), *((role, one) for role in MAY if role != "nobody" for one in ON)],
)
def test_a_route_of_a_case_is_for_those_to_whom_the_case_is_open(
    house: House, role: str, relation: str
) -> None:
    wrong, table, secret = [], access_table(), house.session(role)
    kept = house.case(role, relation)
    on = (ON_FOR_A_TUTOR if role == "tutor" else ON)[relation].split()
    for way in ways(house.app):
        if "{case}" not in way.path:
            continue
        case = kept if way.is_safe else house.case(role, relation)
        before = [event.number for event in house.store.events_of_case(case)]
        answer = house.ask(way, way.at(case=case), secret)
        action = table[way.key].name
        besides = BESIDES.get(way.key, action)
        may = {action, besides} <= set(MAY[role].split()) and action in on
        if is_refused(answer) == may or answer.status_code >= 500:
            wrong.append((way.key, "refused" if may else "let in", answer.status_code))
        if not may and MARK in answer.text:
            wrong.append((way.key, "shows the title", answer.status_code))
        changed = [event.number for event in house.store.events_of_case(case)] != before
        if not may and changed:
            wrong.append((way.key, "changed the case", answer.status_code))
    assert not wrong, "\n".join(map(str, wrong))


def test_a_part_of_another_case_is_not_reached_through_ones_own(
    house: House, adviser: Adviser
) -> None:
    foreign = house.case("contributor", "foreign")
    picture = house.store.add_picture(
        foreign,
        b"\x89PNG " + MARK.encode(),
        name=MARK,
        media_type="image/png",
        size=(1, 1),
        who="owner",
    )
    parts = [
        house.store.create(
            kind, {"text": MARK}, who="owner", what="begun", case=foreign, title=MARK
        ).id
        for kind in ("words", "review", "comment", "log", "entry", "version", "proposal", "sketch")
    ]
    own = house.store.create("case", {"title": "mine"}, who=name_of("reviewer"), what="x")
    secret, wrong = house.session("reviewer"), []
    before = [event.number for event in house.store.events_of_case(foreign)]
    for way in ways(house.app):
        if "{case}" not in way.path or way.path.count("{") < 2:
            continue
        for other in (picture.id, *parts, foreign):
            answer = house.ask(way, way.at(case=own.id, other=other), secret)
            if MARK in answer.text or answer.status_code >= 500:
                wrong.append((way.key, other, answer.status_code))
    assert not wrong, "\n".join(map(str, wrong))
    assert [event.number for event in house.store.events_of_case(foreign)] == before


def test_a_page_that_takes_no_case_shows_nothing_of_a_foreign_one(house: House) -> None:
    house.accounts.add("newcomer", full_name="N", role="reader", who="console")
    house.case("reader", "foreign")
    secret, wrong = signing_in.begin(house.accounts, "newcomer", Place(), "test"), []
    for way in ways(house.app):
        if way.is_safe and "{case}" not in way.path:
            address = way.at() + "?q=Gobelin&query=Gobelin"
            if MARK in house.ask(way, address, secret).text:
                wrong.append(way.key)
    assert not wrong, "\n".join(map(str, wrong))


def test_the_list_of_cases_holds_ones_own_shared_ones_and_a_tutors_cohort(house: House) -> None:
    for role, relation, is_shown in (
        ("reviewer", "own", True),
        ("reviewer", "read", True),
        ("reviewer", "cohort", False),
        ("tutor", "cohort", True),
        ("administrator", "foreign", False),
    ):
        case = house.case(role, relation)
        listed = [row.id for row in house.store.cases(account=name_of(role), limit=500)[0]]
        assert (case in listed) is is_shown, (role, relation)


@pytest.mark.parametrize("way_of", ["no token", "another's token"])
def test_no_change_is_made_with_a_session_but_without_its_form_token(
    house: House, way_of: str
) -> None:
    wrong, other = [], form_token_of("another session")
    for way in ways(house.app):
        if way.is_safe:
            continue
        secret, case = house.session("administrator"), house.case("administrator", "own")
        table = access_table()[way.key].name
        if table in ("REVIEW_CASE", "SIGN_OFF"):
            case = house.case("administrator", "review")
        headers = {"cookie": f"leastwise_session={secret}", "accept": "text/html"}
        data = {name: "x" for name, is_file in way.fields if not is_file} | {"name": "x"}
        data["form_token"] = other if way_of != "no token" else ""
        files = {name: ("x.txt", b"x") for name, is_file in way.fields if is_file}
        house.client.cookies.clear()
        answer = house.client.request(
            way.method,
            way.at(case=case, other="1"),
            headers=headers,
            data=data,
            files=files or None,
        )
        if answer.status_code != 403:
            wrong.append((way.key, answer.status_code))
    assert not wrong, "\n".join(map(str, wrong))


def test_a_token_for_programs_opens_what_it_was_made_for_and_no_more(house: House) -> None:
    table, wrong = access_table(), []
    for scope in sorted(SCOPES):
        secret = signing_in.make_token(
            house.accounts,
            name_of("administrator"),
            label=scope.name,
            scopes=frozenset({scope.name}),
            expires=house.accounts.now() + timedelta(days=1),
        )
        for way in ways(house.app):
            action = table[way.key]
            if action is Action.OPEN or (action is not scope and not way.is_safe):
                continue
            case = house.case("administrator", "write" if action is Action.WRITE_CASE else "own")
            if action in (Action.REVIEW_CASE, Action.SIGN_OFF):
                case = house.case("administrator", "review")
            headers = {"authorization": f"Bearer {secret}", "accept": "application/json"}
            house.client.cookies.clear()
            answer = house.client.request(way.method, way.at(case=case), headers=headers)
            if is_refused(answer) == (action is scope):
                wrong.append((scope.name, way.key, answer.status_code, answer.text[:100]))
    assert not wrong, "\n".join(map(str, wrong))


class Inline(HTMLParser):
    """Collects what a page must not have: scripts, styles and handlers inside it."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        is_data = given.get("type") == "application/json"
        if tag == "style" or (tag == "script" and not is_data and not given.get("src")):
            self.found.append(tag)
        for name, value in attrs:
            told = (value or "").strip().lower()
            if name == "style" or name.startswith("on") or told.startswith("javascript:"):
                self.found.append(f"{tag} {name}")


def test_no_page_has_script_style_or_handlers_in_it(adviser: Adviser, apps: Apps) -> None:
    store = Store.open("sqlite://")
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    case = store.create("case", body, who="me", what="begun", title=body["title"]).id
    wrong, seen = [], 0
    for shared in (False, True):
        app = apps.anew(Settings(cache=None, shared=shared), store)
        cookie = {}
        if shared:
            accounts = AccountStore(store)
            accounts.add("chief", full_name="C", role="administrator", who="console")
            store.hand_over(case, "chief", who="me")
            secret = signing_in.begin(accounts, "chief", Place(), "test")
            cookie = {"cookie": f"leastwise_session={secret}"}
        client = TestClient(app, base_url=BASE, headers={"accept": "text/html", **cookie})
        for way in ways(app):
            is_about_accounts = "account" in way.path or "sign" in way.path or "share" in way.path
            if not way.is_safe or shared is not is_about_accounts:
                continue
            answer = client.get(way.at(case=case, name="chief"))
            if not answer.headers.get("content-type", "").startswith("text/html"):
                continue
            seen += 1
            reader = Inline()
            reader.feed(answer.text)
            policy = answer.headers["content-security-policy"]
            # a document that stands alone may carry its style, where no script can run at all
            stands_alone = "script-src" not in policy and "default-src 'none'" in policy
            assert stands_alone or "unsafe-inline" not in policy
            styles = {"style"} if stands_alone else set()
            found = [one for one in reader.found if one not in styles]
            wrong += [(way.key, one) for one in found]
            if shared:
                assert answer.headers["cache-control"] == "no-store"
    store.engine.dispose()
    assert seen > 10
    assert not wrong, "\n".join(map(str, wrong))
