"""What is shared with readers outside: links, live pages, and the photos that go with them."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import false, true
from sqlmodel import Field

from webapp.records.tables.rows import Row, now


class SharedPhoto(Row, table=True):
    """A photo of the set that was ticked for a recipe: it is shown at the links to it, until the tick is taken away."""

    __tablename__ = "shared_photos"

    recipe_id: str = Field(foreign_key="recipes.id", primary_key=True)
    photo_id: str = Field(foreign_key="set_photos.id", primary_key=True, index=True)


class Link(Row, table=True):
    """A shared address: to one version, for a student or a client, until it expires or is withdrawn. Kit is told
    by its figures, or with `kit_names` by the names it has in the house. `keep` is what a client keeps for the next
    time; `with_bundle` lets another house take the recipe in from the address. `withdrawn_pictures` are the digests of
    those that it shows no more, one a line."""

    __tablename__ = "links"

    token: str = Field(primary_key=True)
    version_id: str = Field(foreign_key="recipe_versions.id", index=True)
    reader: str = "student"
    figures: bool = True
    words: str = ""
    keep: str = Field(default="", sa_column_kwargs={"server_default": ""})
    kit_names: bool = Field(default=False, sa_column_kwargs={"server_default": false()})
    with_bundle: bool = Field(default=False, sa_column_kwargs={"server_default": false()})
    withdrawn_pictures: str = Field(default="", sa_column_kwargs={"server_default": ""})
    expires_at: dt.datetime | None = None
    withdrawn_at: dt.datetime | None = None
    views: int = 0
    made_at: dt.datetime = Field(default_factory=now)


class LivePage(Row, table=True):
    """An address at which a class follows the frames of one session, until it expires or is withdrawn. `because` lets
    the reasons of the frames out, `kit_names` the names that kit has in the house, `rejected` the frames that were
    rejected or taken back."""

    __tablename__ = "live_pages"

    token: str = Field(primary_key=True)
    session_id: str = Field(foreign_key="sessions.id", index=True)
    title: str
    because: bool = False
    kit_names: bool = False
    rejected: bool = Field(default=True, sa_column_kwargs={"server_default": true()})
    expires_at: dt.datetime | None = None
    withdrawn_at: dt.datetime | None = None
    views: int = 0
    made_at: dt.datetime = Field(default_factory=now)
