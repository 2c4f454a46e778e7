"""Photographs: the file in its own table, and beside it a document that says what it is.

Adding and taking away are changes of that document, so the chain of events holds the hash of every
file. A photograph that was taken away is out of sight; its file stays, like all that was kept.
"""

from __future__ import annotations

import hashlib

from sqlalchemy import select

from leastwise.api.store.ground import Ground, row_of
from leastwise.api.store.records.rows import PICTURE_COLUMNS, as_picture
from leastwise.api.store.records.values import Body, NotStored, Picture
from leastwise.api.store.tables import DocumentTable, PictureTable
from leastwise.api.store.words import plain

__all__ = ["Pictures"]

KIND = "picture"


class Pictures(Ground):
    """The photographs of the store."""

    def add_picture(  # noqa: PLR0913 - one argument for each thing that a picture is told by
        self,
        case: str,
        data: bytes,
        *,
        name: str,
        media_type: str,
        size: tuple[int, int],
        who: str,
        stage: str = "before",
    ) -> Picture:
        """Keep a photograph; the caller has checked and cleaned it.

        Raises:
            NotStored: there is no such case.

        """
        digest = hashlib.sha256(data).hexdigest()
        body: Body = {
            "bytes": len(data),
            "height": size[1],
            "media_type": media_type,
            "name": plain(name),
            "sha256": digest,
            "stage": stage,
            "width": size[0],
        }
        with self.session() as session:
            chain = self._chain(session)
            row_of(session, case)
            document = self._add(
                session,
                chain,
                KIND,
                body,
                who=who,
                what=f"photograph added: {name}",
                case=case,
                title=name,
            )
            row = PictureTable(
                id=document.id,
                case_id=case,
                name=plain(name),
                stage=stage,
                media_type=media_type,
                width=size[0],
                height=size[1],
                sha256=digest,
                data=data,
                added=document.created,
                added_by=plain(who),
            )
            session.add(row)
            session.flush()
            return as_picture(row)

    def picture(self, case: str, name: str) -> Picture:
        """Return a photograph of a case.

        Raises:
            NotStored: the case has no such photograph.

        """
        with self.reading() as session:
            document = row_of(session, name, KIND)
            row = session.get(PictureTable, name)
            if row is None or document.case_id != case:
                raise NotStored("photograph", name)
            return as_picture(row)

    def pictures(self, case: str) -> list[Picture]:
        """Return the photographs of a case without their data, oldest first."""
        owner = DocumentTable.__table__.alias()
        wanted = (
            select(*PICTURE_COLUMNS)
            .join(DocumentTable, DocumentTable.id == PictureTable.id)
            .join(owner, owner.c.id == PictureTable.case_id)
            .where(PictureTable.case_id == plain(case))
            .where(DocumentTable.removed.is_(False), owner.c.removed.is_(False))
            .order_by(PictureTable.added, PictureTable.id)
        )
        with self.reading() as session:
            return [as_picture(row) for row in session.execute(wanted)]

    def remove_picture(self, case: str, name: str, *, who: str = "") -> None:
        """Take a photograph out of sight; without *who* it was the keeper of the case.

        Raises:
            NotStored: the case has no such photograph.

        """
        with self.session() as session:
            chain = self._chain(session)
            row = row_of(session, name, KIND)
            if row.case_id != case:
                raise NotStored("photograph", name)
            self._change(
                session,
                chain,
                row,
                who=who or row_of(session, case).owner,
                what=f"photograph taken away: {row.title}",
                removed=True,
            )
