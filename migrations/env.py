"""Run migrations over the connection that the program hands in (webapp.records.upgrade), or, for a developer's
`alembic` command, over the database named by STOPLEDGER_DATA."""

import os
from pathlib import Path

from alembic import context
from sqlmodel import SQLModel, create_engine

from webapp.records import tables  # noqa: F401  (fills SQLModel.metadata for --autogenerate)


def run(connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=SQLModel.metadata,
        render_as_batch=True,
        # The full-text index is made by a migration and is no model.
        include_name=lambda name, kind, _parents: (
            kind != "table" or not name.startswith(("recipe_words", "recipe_vocabulary"))
        ),
    )
    with context.begin_transaction():
        context.run_migrations()


handed_in = context.config.attributes.get("connection")
if handed_in is not None:
    run(handed_in)
else:
    database = Path(os.environ["STOPLEDGER_DATA"]) / "stopledger.sqlite3"
    with create_engine(f"sqlite:///{database}").begin() as connection:
        run(connection)
