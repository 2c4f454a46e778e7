"""Pages: accounts; signing in, one's own account, managing accounts, sharing a case."""

from __future__ import annotations

from fastapi import APIRouter

from leastwise.api.access import Access
from leastwise.api.pages import (
    accounts_elsewhere,
    accounts_managing,
    accounts_own,
    accounts_sharing,
    accounts_signing_in,
)

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {}
for _part in (
    accounts_signing_in,
    accounts_elsewhere,
    accounts_own,
    accounts_managing,
    accounts_sharing,
):
    router.include_router(_part.router)
    ACCESS = {**ACCESS, **_part.ACCESS}
