"""A code beside the password: the published codes, each used once, and every way round it shut."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pyotp
import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app as command
from leastwise.api.identity import attempts, codes, second_factor, signing_in
from leastwise.api.identity.errors import AccountError, CodeNeededError, TooManyError
from leastwise.api.identity.signing_in import Place
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from tests.accounts.people import PASSWORD, Clock, enrol, send, signed_in, stranger
from tests.browser import axe_faults, overflow, served

HERE, ELSEWHERE = Place("192.0.2.1", "test"), Place("198.51.100.7", "test")
#: RFC 6238, appendix B, SHA-1: seconds since 1970 and the code of eight figures.
RFC_6238 = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}
#: RFC 4226, appendix D: codes of six figures of the same secret for the counts 0 to 9.
RFC_4226 = ("755224", "287082", "359152", "969429", "338314",
            "254676", "287922", "162583", "399871", "520489")  # fmt: skip
#: The secret of both, "12345678901234567890" in ASCII, in base 32.
SEED = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"


def at(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def code(accounts: AccountStore, name: str = "anna", steps: int = 0) -> str:
    """Return the code that the app of somebody shows now, or some steps of 30 seconds later."""
    factor = accounts.factor(name)
    assert factor is not None
    return pyotp.TOTP(factor.secret).generate_otp(int(accounts.now().timestamp()) // 30 + steps)


def protected(store: Store, clock: Clock, name: str = "anna") -> tuple[AccountStore, list[str]]:
    """Return accounts with one whose second factor is on, a while ago, and its recovery codes."""
    accounts = enrol(store, name)
    second_factor.offer(accounts, name, HERE)
    made = second_factor.switch_on(accounts, name, code(accounts, name), HERE, session="")
    clock.on(minutes=2)
    return accounts, list(made)


def note(accounts: AccountStore, name: str = "anna") -> str:
    return second_factor.note_of(accounts, second_factor.HalfWay(name, "password"))


# -- codes


@pytest.mark.parametrize("seconds", RFC_6238)
def test_codes_are_those_of_rfc_6238(seconds: int) -> None:
    six = RFC_6238[seconds][-6:]
    assert codes.step_of(SEED, six, at(seconds), 0) == seconds // 30
    assert codes.step_of(SEED, six, at(seconds + 30), 0) == seconds // 30  # a slow clock
    assert codes.step_of(SEED, six, at(seconds + 90), 0) is None
    assert codes.step_of(SEED, six, at(seconds), seconds // 30) is None  # used


@pytest.mark.parametrize("count", range(1, 10))
def test_codes_are_those_of_rfc_4226(count: int) -> None:
    assert codes.step_of(SEED, RFC_4226[count], at(30 * count), 0) == count


@pytest.mark.parametrize(
    "typed", ["287 082", " 287082 ", "\uff12\uff18\uff17\uff10\uff18\uff12", "287-082"]
)
def test_a_code_may_be_typed_as_an_app_shows_it(typed: str) -> None:
    assert codes.step_of(SEED, typed, at(59), 0) == 1


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "28708",
        "2870822",
        "287O82",
        "94287082",
        "\u0662\u0668\u0667\u0660\u0668\u0662",
        "\0" * 6,
    ],
)
def test_what_is_no_code_fits_nothing(typed: str) -> None:
    assert codes.step_of(SEED, typed, at(59), 0) is None
    assert codes.recovery_digest(typed) == ""


def test_secrets_are_random_and_as_long_as_rfc_4226_recommends() -> None:
    seeds = {codes.new_seed() for _ in range(50)}
    assert len(seeds) == 50
    assert all(len(one) * 5 == 160 for one in seeds)
    made = codes.new_recovery_codes()
    assert len({codes.recovery_digest(one) for one in made}) == 10
    assert codes.recovery_digest(made[0].upper().replace("-", " ")) == codes.recovery_digest(
        made[0]
    )


def test_the_drawing_holds_the_secret_for_any_app() -> None:
    address = codes.address_of(SEED, "anna")
    read = pyotp.parse_uri(address)
    assert isinstance(read, pyotp.TOTP)
    assert (read.secret, read.name, read.issuer, read.digits, read.interval) == (
        SEED, "anna", "Leastwise", 6, 30)  # fmt: skip
    assert codes.drawing(address).startswith("<svg")
    assert "style=" not in codes.drawing(address)  # the pages allow none


# -- signing in


def test_a_password_alone_opens_nothing_where_a_second_factor_is_on(
    store: Store, clock: Clock
) -> None:
    accounts, _ = protected(store, clock)
    with pytest.raises(CodeNeededError):
        signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    assert accounts.sessions("anna") == []


def test_a_code_opens_the_account_once(store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    now, before = code(accounts), code(accounts, steps=-1)
    assert second_factor.sign_in_with_code(accounts, note(accounts), now, HERE)
    for used in (now, before):
        with pytest.raises(AccountError):
            second_factor.sign_in_with_code(accounts, note(accounts), used, HERE)
    clock.on(seconds=30)
    with pytest.raises(AccountError):
        second_factor.sign_in_with_code(accounts, note(accounts), now, HERE)
    assert second_factor.sign_in_with_code(accounts, note(accounts), code(accounts), HERE)
    assert len(accounts.sessions("anna")) == 2
    assert verify(store).faults == ()


def test_the_code_that_switched_it_on_is_used(store: Store, clock: Clock) -> None:
    accounts = enrol(store, "anna")
    second_factor.offer(accounts, "anna", HERE)
    shown = code(accounts)
    second_factor.switch_on(accounts, "anna", shown, HERE, session="")
    with pytest.raises(AccountError):
        second_factor.sign_in_with_code(accounts, note(accounts), shown, HERE)


def test_nothing_counts_before_a_code_was_shown(store: Store, clock: Clock) -> None:
    accounts = enrol(store, "anna")
    second_factor.offer(accounts, "anna", HERE)
    with pytest.raises(AccountError):
        second_factor.switch_on(accounts, "anna", "000000", HERE, session="")
    assert not accounts.has_factor("anna")
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    assert not second_factor.code_fits(accounts, "anna", code(accounts), HERE)


def test_a_recovery_code_opens_the_account_once(store: Store, clock: Clock) -> None:
    accounts, made = protected(store, clock)
    typed = made[3].upper().replace("-", " ")
    assert second_factor.sign_in_with_code(accounts, note(accounts), typed, HERE)
    with pytest.raises(AccountError):
        second_factor.sign_in_with_code(accounts, note(accounts), made[3], HERE)
    factor = accounts.factor("anna")
    assert factor is not None
    assert factor.recovery == 9
    whats = [one.what for one in accounts.events("anna")]
    assert "recovery code used; 9 left" in whats
    assert "signed in (password and recovery code)" in whats


def test_a_recovery_code_of_another_opens_nothing(store: Store, clock: Clock) -> None:
    accounts, made = protected(store, clock)
    protected(store, clock, "ben")
    with pytest.raises(AccountError):
        second_factor.sign_in_with_code(accounts, note(accounts, "ben"), made[0], HERE)
    factor = accounts.factor("anna")
    assert factor is not None
    assert factor.recovery == 10


def test_wrong_codes_wait_longer_and_longer_whatever_the_password_and_address(
    store: Store, clock: Clock
) -> None:
    accounts, made = protected(store, clock)
    for _ in range(5):
        assert not second_factor.code_fits(accounts, "anna", "000000", HERE)
    with pytest.raises(CodeNeededError):  # the right password again forgives no wrong code
        signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    for place in (HERE, ELSEWHERE, Place("192.0.2.1", "", attempts.mark_of(accounts, "anna"))):
        with pytest.raises(TooManyError):
            second_factor.code_fits(accounts, "anna", code(accounts), place)
        with pytest.raises(TooManyError):
            second_factor.code_fits(accounts, "anna", made[0], place)
    waits = []
    for _ in range(9):
        clock.on(seconds=attempts.code_wait_of(accounts, "anna"))
        assert not second_factor.code_fits(accounts, "anna", "000000", ELSEWHERE)
        waits.append(attempts.code_wait_of(accounts, "anna"))
    assert waits == [60, 120, 240, 480, 960, 1920, 3600, 3600, 3600]
    attempts.lift(accounts, "anna")
    assert second_factor.code_fits(accounts, "anna", code(accounts), HERE)


def test_an_hour_of_guesses_is_under_a_hundred(store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    tried, until = 0, clock.at.timestamp() + 3600
    while clock.at.timestamp() < until:
        try:
            second_factor.code_fits(accounts, "anna", "000000", ELSEWHERE)
            tried += 1
        except TooManyError as error:
            clock.on(seconds=error.seconds)
    assert tried < 15


def test_names_of_sign_in_and_codes_are_counted_apart(store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    for n in range(5):
        assert not signing_in.password_fits(accounts, "anna", f"guess {n}", ELSEWHERE)
    assert second_factor.code_fits(accounts, "anna", code(accounts), HERE)


@pytest.mark.parametrize("how", ["later", "password", "renewed", "altered", "another", "none"])
def test_half_way_in_ends_with_time_and_with_what_it_rests_on(
    store: Store, clock: Clock, how: str
) -> None:
    accounts, _ = protected(store, clock)
    protected(store, clock, "ben")
    kept = note(accounts)
    assert second_factor.half_way(accounts, kept) is not None
    if how == "later":
        clock.on(seconds=second_factor.HALF_WAY_S)
    elif how == "password":
        accounts.set_password("anna", "$argon2id$another", who="anna")
    elif how == "renewed":
        accounts.take_factor("anna", who="chief")
        second_factor.offer(accounts, "anna", HERE)
        second_factor.switch_on(accounts, "anna", code(accounts), HERE, session="")
    kept = {
        "altered": kept.replace("password", "passworD"),
        "another": kept.replace("anna", "ben"),
        "none": "",
    }.get(how, kept)
    assert second_factor.half_way(accounts, kept) is None
    with pytest.raises(AccountError):
        second_factor.sign_in_with_code(accounts, kept, code(accounts, steps=1), HERE)


@pytest.mark.parametrize("given", ["|", "anna|x", "anna|x|9|y|é", "a|b|99999999999999999999|c|d"])
def test_a_note_that_somebody_made_up_is_none(store: Store, clock: Clock, given: str) -> None:
    accounts, _ = protected(store, clock)
    assert second_factor.half_way(accounts, given) is None


def test_an_account_that_is_switched_off_stays_out(store: Store, clock: Clock) -> None:
    accounts, made = protected(store, clock)
    enrol(store, "chief", "administrator")
    kept = note(accounts)
    accounts.set_active("anna", active=False, who="chief")
    with pytest.raises(AccountError):  # the seal is gone with the password
        second_factor.sign_in_with_code(accounts, kept, made[0], HERE)


# -- the pages


def typed(browser: Any, path: str, **fields: str) -> Any:
    """Send a form of the doors, whose token stands on their own pages."""
    return send(browser, path, page="/sign-in", **fields)


def test_sign_in_asks_for_the_code_on_a_second_page(app: Any, store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    browser = stranger(app)
    half = typed(browser, "/sign-in", name="Anna", password=PASSWORD, next="/accounts")
    assert half.headers["location"] == "/sign-in/code?next=/accounts"
    assert "leastwise_session" not in browser.cookies
    assert browser.get("/account").headers["location"].startswith("/sign-in")

    wrong = typed(browser, "/sign-in/code", code="000000", next="/accounts")
    assert wrong.status_code == 422
    assert "This code is not right" in wrong.text
    done = typed(browser, "/sign-in/code", code=code(accounts), next="/accounts")
    assert (done.status_code, done.headers["location"]) == (303, "/accounts")
    assert browser.get("/account").status_code == 200
    assert "leastwise_half_way" not in browser.cookies


def test_after_many_wrong_codes_the_page_says_how_long_to_wait(
    app: Any, store: Store, clock: Clock
) -> None:
    accounts, _ = protected(store, clock)
    browser = stranger(app)
    typed(browser, "/sign-in", name="anna", password=PASSWORD)
    for _ in range(5):
        assert typed(browser, "/sign-in/code", code="000000").status_code == 422
    told = typed(browser, "/sign-in/code", code=code(accounts))
    assert (told.status_code, told.headers["retry-after"]) == (429, "30")
    assert "Wait 30 seconds" in told.text


def test_without_a_password_there_is_no_page_for_a_code(app: Any, store: Store) -> None:
    enrol(store, "anna")
    browser = stranger(app)
    assert "Name of the account" in browser.get("/sign-in/code?next=/x").text
    assert typed(browser, "/sign-in/code", code="123456").status_code == 422
    browser.cookies.set("leastwise_half_way", "anna|password|9999999999|x|y", domain="127.0.0.1")
    assert "Name of the account" in browser.get("/sign-in/code").text
    assert typed(browser, "/sign-in/code", code="123456").status_code == 422


def test_a_token_for_programs_is_not_asked(app: Any, store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    token = signing_in.make_token(
        accounts, "anna", label="x", scopes=frozenset({"USE"}),
        expires=at(2_000_000_000),
    )  # fmt: skip
    program = stranger(app, authorization=f"Bearer {token}", accept="application/json")
    assert program.get("/find?kind=material&q=silk").status_code == 200


def test_switching_it_on_signs_every_other_browser_out(
    app: Any, store: Store, clock: Clock
) -> None:
    accounts = enrol(store, "anna")
    here, other = signed_in(app, "anna"), signed_in(app, "anna")
    send(here, "/account/second-factor/begin")
    shown = send(here, "/account/second-factor", code=code(accounts))
    assert len(re.findall(r"^(?:[a-z2-7]{4}-){5}[a-z2-7]{4}$", shown.text, re.M)) >= 8
    assert here.get("/account").status_code == 200
    assert other.get("/account").status_code == 303


def test_setting_up_takes_the_password_again_after_a_while(
    app: Any, store: Store, clock: Clock
) -> None:
    accounts = enrol(store, "anna")
    browser = signed_in(app, "anna")
    clock.on(minutes=20)
    refused = send(browser, "/account/second-factor/begin")
    assert refused.status_code == 422
    assert "your last sign-in is a while ago" in refused.text
    assert accounts.factor("anna") is None
    assert send(browser, "/account/second-factor/begin", confirm=PASSWORD).status_code == 303


def test_switching_off_takes_password_and_code(app: Any, store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    browser = signed_in(app, "anna")
    right = {"factor_password": PASSWORD, "factor_code": code(accounts)}
    for field in right:
        refused = send(browser, "/account/second-factor/off", **(right | {field: "000000"}))
        assert refused.status_code == 422, field
        assert accounts.has_factor("anna")
    assert send(browser, "/account/second-factor/off", **right).status_code == 303
    assert not accounts.has_factor("anna")
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    assert accounts.events("anna")[1].what == "second factor switched off"
    assert verify(store).faults == ()


def test_new_recovery_codes_end_the_earlier_ones(app: Any, store: Store, clock: Clock) -> None:
    accounts, made = protected(store, clock)
    browser = signed_in(app, "anna")
    fields = {"factor_password": PASSWORD, "factor_code": made[0]}
    page = send(browser, "/account/second-factor/recovery", **fields)
    assert page.status_code == 200
    fresh = re.search(r"(?:[a-z2-7]{4}-){5}[a-z2-7]{4}", page.text)
    assert fresh is not None
    assert not second_factor.code_fits(accounts, "anna", made[1], HERE)
    assert second_factor.code_fits(accounts, "anna", fresh[0], HERE)


def test_a_secret_that_is_on_is_shown_to_nobody(app: Any, store: Store, clock: Clock) -> None:
    accounts, _ = protected(store, clock)
    factor = accounts.factor("anna")
    assert factor is not None
    browser = signed_in(app, "anna")
    assert browser.get("/account/second-factor").status_code == 303
    assert send(browser, "/account/second-factor/begin").status_code == 422
    assert factor.secret not in browser.get("/account").text.replace(" ", "")
    assert factor.secret not in repr(factor)
    assert accounts.factor("anna") == factor


def test_an_administrator_takes_it_away_and_it_is_an_event(
    app: Any, store: Store, clock: Clock
) -> None:
    accounts, _ = protected(store, clock)
    enrol(store, "chief", "administrator")
    browser = signed_in(app, "chief")
    clock.on(minutes=20)
    path = "/accounts/anna/factor-off"
    assert send(browser, path, page="/accounts").status_code == 422
    assert accounts.has_factor("anna")
    assert send(browser, path, page="/accounts", confirm=PASSWORD).status_code == 303
    event = accounts.events("anna")[0]
    assert (event.who, event.what) == ("chief", "second factor switched off")
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    mine = signed_in(app, "anna")
    assert send(mine, "/accounts/chief/factor-off").status_code == 403


def test_the_only_administrator_takes_it_away_on_the_command_line(
    store: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    accounts, _ = protected(store, clock)
    monkeypatch.setenv("LEASTWISE_STORE", str(store.engine.url))
    run = CliRunner()
    done = run.invoke(command, ["accounts", "factor-off", "anna"])
    assert done.exit_code == 0, done.output
    assert not accounts.has_factor("anna")
    again = run.invoke(command, ["accounts", "factor-off", "anna"])
    assert again.exit_code == 2
    assert "anna: has no second factor" in again.output


def test_no_secret_and_no_code_comes_into_the_log(
    app: Any, store: Store, clock: Clock, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("DEBUG")
    accounts, made = protected(store, clock)
    factor = accounts.factor("anna")
    assert factor is not None
    browser, shown = stranger(app), code(accounts)
    typed(browser, "/sign-in", name="anna", password=PASSWORD)
    typed(browser, "/sign-in/code", code=made[0][:-1] + "z")
    typed(browser, "/sign-in/code", code=shown)
    logged = caplog.text + repr([vars(one) for one in caplog.records])
    assert "/sign-in/code" in logged
    for secret in (factor.secret, made[0][:-1], shown):
        assert secret not in logged
    assert not any(shown in one.what or made[0] in one.what for one in accounts.events())


@pytest.mark.slow
def test_a_person_sets_it_up_and_signs_in_in_a_real_browser(
    app: Any, store: Store, clock: Clock, browser: Any
) -> None:
    accounts = enrol(store, "anna")
    with served(app) as site:
        page = browser.new_page(base_url=site)
        page.goto("/account")
        page.get_by_label("Name of the account").fill("anna")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("button", name="Set up the second factor").click()
        page.wait_for_url("**/account/second-factor")
        for width in (1280, 320):
            page.set_viewport_size({"width": width, "height": 900})
            assert overflow(page) == []
        assert axe_faults(page) == []
        seed = page.locator("code.seed").inner_text().replace(" ", "")
        app_of_anna = pyotp.TOTP(seed)
        page.get_by_label("The code that the app shows now").fill(app_of_anna.at(clock.at))
        page.get_by_role("button", name="Switch on").click()
        first = page.get_by_label("The codes").input_value().splitlines()[0]
        assert axe_faults(page) == []
        page.get_by_role("link", name="Copied; go back").click()
        assert "10 recovery codes left" in page.inner_text("main")
        assert axe_faults(page) == []
        assert overflow(page) == []
        for shown in (app_of_anna.at(clock.at + timedelta(minutes=1)), first):
            clock.on(minutes=1)
            page.get_by_role("button", name="Sign out", exact=True).first.click()
            page.wait_for_url("**/sign-in?done=out")
            page.get_by_label("Name of the account").fill("anna")
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url("**/sign-in/code?**")
            assert axe_faults(page) == []
            page.get_by_label("Code").fill(shown)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(f"{site}/")
            page.goto("/account")
        page.close()
    assert [one.what for one in accounts.events("anna")].count("recovery code used; 9 left") == 1
