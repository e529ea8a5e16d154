"""What Alembic runs: the program hands it the connection, lock and transaction included.

To write a new version from a checkout, against a database that is up to date:
`alembic -x url=sqlite:///FILE revision --autogenerate -m "what changes"`.
"""

from typing import Any, Literal

from alembic import context
from sqlalchemy import Connection, TypeDecorator, create_engine

from app.store.tables import metadata


def run(connection: Connection) -> None:
    """Run what was asked for on a connection."""
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=True,  # SQLite alters a table by making a new one and copying
        render_item=plain_type,
    )
    with context.begin_transaction():
        context.run_migrations()


def plain_type(kind: str, item: Any, _autogenerate: object) -> str | Literal[False]:
    """Write our own column types as the plain ones under them: a version must not change with the program."""
    if kind == "type" and isinstance(item, TypeDecorator):
        return f"sa.{item.impl!r}"
    return False


if (given := context.config.attributes.get("connection")) is not None:
    run(given)
else:
    with create_engine(context.get_x_argument(as_dictionary=True)["url"]).begin() as own:
        run(own)
