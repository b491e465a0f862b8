"""Run by alembic: migrate the connection that was handed over."""

from __future__ import annotations

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, render_as_batch=True, transaction_per_migration=False)
context.run_migrations()
