"""What can go wrong with accounts and be mended by a person."""

from __future__ import annotations

from leastwise.graph.errors import LeastwiseError

__all__ = ["AccountError", "CodeNeededError", "SignInError", "TooManyError"]


class AccountError(LeastwiseError):
    """A name, password or change that isn't accepted; *field* says which entry it is about."""

    def __init__(self, field: str, sentence: str) -> None:
        self.field = field
        super().__init__(sentence)


class SignInError(LeastwiseError):
    """Signing in failed; the sentence is the same whatever the cause, so it tells nothing."""


class CodeNeededError(SignInError):
    """Who asks has shown who they are, but for the code of the second factor of *account*."""

    def __init__(self, account: str, how: str) -> None:
        self.account, self.how = account, how
        super().__init__("Type the code of your second factor too.")


class TooManyError(SignInError):
    """Too many attempts; *seconds* until the next one counts."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds
        wait = f"{seconds} seconds" if seconds < 120 else f"{-(-seconds // 60)} minutes"
        super().__init__(
            f"Too many attempts did not succeed. Wait {wait} and try again, or ask an "
            "administrator to lift the lock."
        )
