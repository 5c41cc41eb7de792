"""Alembic's entry: runs the migrations on the engine that the program handed over."""

from alembic import context

from service.record.tables import metadata

engine = context.config.attributes["engine"]
with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        transaction_per_migration=True,
    )
    with context.begin_transaction():
        context.run_migrations()
