"""One point of the check of a proposal."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ReviewFinding"]


@dataclass(frozen=True, slots=True)
class ReviewFinding:
    """One point: *about* is a step ("step 2"), a damage or a record element."""

    level: str
    kind: str
    about: str
    message: str
    because: str
    would_settle: tuple[str, ...]
    claims: tuple[str, ...]
    rule: str
