"""Commands: accounts of those who share a store."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.shared import JsonOption, mendable, print_json, tell

if TYPE_CHECKING:
    from leastwise.api.store.accounts.records import Account
    from leastwise.api.store.accounts.store import AccountStore

__all__ = ["register"]

#: Who did it, in the events, when it was done on the command line.
CONSOLE = "console"
NameArgument = Annotated[str, typer.Argument(metavar="NAME", help="The name of the account.")]
RoleOption = Annotated[
    str,
    typer.Option(help="reader, contributor, reviewer, tutor, knowledge-editor or administrator."),
]
PasswordFile = Annotated[
    Path | None,
    typer.Option(
        "--password-file", metavar="FILE", help="Read the password from a file's first line."
    ),
]


def register(app: typer.Typer) -> None:
    """Add the commands to *app*."""
    group = typer.Typer(
        no_args_is_help=True,
        rich_markup_mode=None,
        help="Manage the accounts of those who share a store (serve --shared).\n\n"
        "Example: leastwise accounts list",
    )
    for name, command in (
        ("add", add),
        ("list", list_accounts),
        ("role", role),
        ("off", off),
        ("on", on),
        ("unlock", unlock),
        ("link", link),
        ("factor-off", factor_off),
        ("hand-over", hand_over),
    ):
        group.command(name)(command)
    app.add_typer(group, name="accounts")


def add(  # noqa: PLR0913 - one argument for each option of the command
    name: NameArgument,
    *,
    role: RoleOption = "contributor",
    full_name: Annotated[str, typer.Option("--full-name", help="The name that is shown.")] = "",
    cohort: Annotated[str, typer.Option(help="The training cohort, if there is one.")] = "",
    password_file: PasswordFile = None,
    by_link: Annotated[
        bool, typer.Option("--link", help="Set no password; print a link to set one.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Make an account; asks for the password twice, without showing it.

    Example: leastwise accounts add anna --role administrator --full-name "Anna Berg"

    Example: leastwise accounts add ben --role reviewer --link
    """
    with mendable():
        from leastwise.api.identity.passwords import hashed  # noqa: PLC0415 - keeps --help quick
        from leastwise.api.identity.rules import (  # noqa: PLC0415
            checked_name,
            checked_password,
            checked_role,
        )

        accounts = _open()
        kept, given = checked_name(name), checked_role(role)
        if accounts.account(kept) is not None:
            raise ValueError(f"{kept}: there is an account of that name already")
        password = (
            "" if by_link else hashed(checked_password(_password(password_file), kept, full_name))
        )
        accounts.add(
            kept,
            full_name=full_name or kept,
            role=given,
            cohort=cohort[:64],
            password=password,
            who=CONSOLE,
        )
        address = _link(accounts, kept) if by_link else None
    tell(
        f"Account {kept} made, {given}." + (f"\n{address}" if address else ""),
        {"name": kept, "role": given, "link": address},
        as_json=as_json,
    )


def list_accounts(*, as_json: JsonOption = False) -> None:
    """List the accounts.

    Example: leastwise accounts list
    """
    with mendable():
        found = _open(reading=True).accounts()
        if as_json:
            from dataclasses import asdict  # noqa: PLC0415 - only where it is asked for

            print_json([{**asdict(one), "created": one.created.isoformat()} for one in found])
            return
        for one in found:
            typer.echo(f"{one.name:<20} {one.role:<17} {_state(one):<16} {one.full_name}")
        if not found:
            typer.echo("No accounts yet: leastwise accounts add NAME --role administrator")


def role(
    name: NameArgument,
    new: Annotated[str, typer.Argument(metavar="ROLE", help="The new role.")],
    *,
    as_json: JsonOption = False,
) -> None:
    """Change the role of an account.

    Example: leastwise accounts role ben knowledge-editor
    """
    with mendable():
        from leastwise.api.identity.rules import checked_role  # noqa: PLC0415 - as above

        accounts, account = _of(name)
        given = checked_role(new)
        done = accounts.change(
            account.name,
            full_name=account.full_name,
            role=given,
            cohort=account.cohort,
            who=CONSOLE,
        )
        _check_last(account, is_done=done)
    tell(
        f"Account {account.name}: {given}.",
        {"name": account.name, "role": given},
        as_json=as_json,
    )


def off(name: NameArgument, *, as_json: JsonOption = False) -> None:
    """Switch an account off: its sessions end, its tokens are gone, its name stays in events.

    Example: leastwise accounts off ben
    """
    with mendable():
        accounts, account = _of(name)
        _check_last(account, is_done=accounts.set_active(account.name, active=False, who=CONSOLE))
    tell(
        f"Account {account.name} is switched off.",
        {"name": account.name, "active": False},
        as_json=as_json,
    )


def on(name: NameArgument, *, as_json: JsonOption = False) -> None:
    """Switch an account on again.

    Example: leastwise accounts on ben
    """
    with mendable():
        accounts, account = _of(name)
        accounts.set_active(account.name, active=True, who=CONSOLE)
    tell(
        f"Account {account.name} is switched on.",
        {"name": account.name, "active": True},
        as_json=as_json,
    )


def unlock(name: NameArgument, *, as_json: JsonOption = False) -> None:
    """Lift the lock after too many attempts that failed.

    Example: leastwise accounts unlock anna
    """
    with mendable():
        from leastwise.api.identity.attempts import lift  # noqa: PLC0415 - as above

        accounts, account = _of(name)
        lift(accounts, account.name)
        accounts.tell(CONSOLE, account.name, "lock lifted")
    tell(
        f"The lock of {account.name} is lifted.",
        {"name": account.name, "locked": False},
        as_json=as_json,
    )


def link(name: NameArgument, *, as_json: JsonOption = False) -> None:
    """Print a link with which a password can be set once, within three days.

    Example: leastwise accounts link ben
    """
    with mendable():
        accounts, account = _of(name)
        if not account.active:
            raise ValueError(f"{account.name}: is switched off; leastwise accounts on NAME first")
        address = _link(accounts, account.name)
    tell(address, {"name": account.name, "link": address}, as_json=as_json)


def factor_off(name: NameArgument, *, as_json: JsonOption = False) -> None:
    """Take the second factor of an account away, such as of a phone that is lost.

    Example: leastwise accounts factor-off anna
    """
    with mendable():
        accounts, account = _of(name)
        if not accounts.take_factor(account.name, who=CONSOLE):
            raise ValueError(f"{account.name}: has no second factor")
    tell(
        f"{account.name} has no second factor any more; the password alone opens the account.",
        {"name": account.name, "second_factor": False},
        as_json=as_json,
    )


def hand_over(
    old: Annotated[str, typer.Argument(metavar="FROM", help="Whose cases; me: kept alone.")],
    new: Annotated[str, typer.Argument(metavar="TO", help="The account that gets them.")],
    *,
    as_json: JsonOption = False,
) -> None:
    """Give all cases of one account to another; those kept on a personal machine are of "me".

    Example: leastwise accounts hand-over me anna
    """
    with mendable():
        from leastwise.api.store.accounts import cases as account_cases  # noqa: PLC0415 - as above

        accounts, account = _of(new)
        cases = [case for case, _ in account_cases.cases_owned_by(accounts, old.casefold())]
        account_cases.hand_over(accounts, cases, account.name, who=CONSOLE)
    tell(
        f"{len(cases)} cases are now {account.name}'s.",
        {"name": account.name, "cases": cases},
        as_json=as_json,
    )


def _open(*, reading: bool = False) -> AccountStore:
    from leastwise.api.settings import Settings  # noqa: PLC0415 - as above
    from leastwise.api.store import Store  # noqa: PLC0415
    from leastwise.api.store.accounts.store import AccountStore  # noqa: PLC0415

    return AccountStore(Store.open(Settings.from_environment().store, reading=reading))


def _of(name: str) -> tuple[AccountStore, Account]:
    accounts = _open()
    found = accounts.account(name.strip().casefold())
    if found is None:
        raise ValueError(f"{name}: there is no such account; leastwise accounts list shows them")
    return accounts, found


def _check_last(account: Account, *, is_done: bool) -> None:
    if not is_done:
        raise ValueError(
            f"{account.name}: is the last administrator; make another account administrator first"
        )


def _password(file: Path | None) -> str:
    if file is None:
        return str(typer.prompt("Password", hide_input=True, confirmation_prompt="The same again"))
    try:
        lines = file.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ValueError(f"--password-file {file}: can't be read ({error})") from error
    return lines[0] if lines else ""


def _link(accounts: AccountStore, name: str) -> str:
    from leastwise.api.identity.signing_in import make_link  # noqa: PLC0415 - as above
    from leastwise.api.settings import Settings  # noqa: PLC0415

    base = Settings.from_environment().address or "http://127.0.0.1:8400"
    return f"{base}/set-password/{make_link(accounts, name, who=CONSOLE)}"


def _state(account: Account) -> str:
    if not account.active:
        return "switched off"
    return "in use" if account.has_password else "no password set"
