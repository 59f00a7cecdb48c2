"""Run by Alembic for every migration, on the connection that `schema.migrate` hands over."""

from alembic import context

from nuttery.store.tables import metadata


def run() -> None:
    """Run the migrations within the transaction that is open on the connection."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


# Alembic loads this file under that name; anyone else only reads it.
if __name__ == "env_py":
    run()
