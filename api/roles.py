"""What an account is for."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Role"]


class Role(StrEnum):
    """What an account is for; each may do what the table in ``identity/access.py`` says."""

    NOBODY = "nobody"  # not signed in
    READER = "reader"
    CONTRIBUTOR = "contributor"
    REVIEWER = "reviewer"
    TUTOR = "tutor"
    KNOWLEDGE_EDITOR = "knowledge editor"
    ADMINISTRATOR = "administrator"
