"""Pages: accounts; signing in, one's own account, managing accounts, sharing a case."""

from __future__ import annotations

from fastapi import APIRouter

from leastwise.api.identity.access import Access
from leastwise.api.pages.accounts import (
    elsewhere as accounts_elsewhere,
)
from leastwise.api.pages.accounts import (
    managing as accounts_managing,
)
from leastwise.api.pages.accounts import (
    own as accounts_own,
)
from leastwise.api.pages.accounts import (
    second_factor as accounts_second_factor,
)
from leastwise.api.pages.accounts import (
    sharing as accounts_sharing,
)
from leastwise.api.pages.accounts import (
    signing_in as accounts_signing_in,
)

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {}
for _part in (
    accounts_signing_in,
    accounts_elsewhere,
    accounts_own,
    accounts_second_factor,
    accounts_managing,
    accounts_sharing,
):
    router.include_router(_part.router)
    ACCESS = {**ACCESS, **_part.ACCESS}
