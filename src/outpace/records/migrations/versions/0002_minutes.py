"""Minutes that releases, bankers and sprays took, where somebody writes them down."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; what was written before has no minutes."""
    for table in ("releases", "bankers", "sprays"):
        op.add_column(table, sa.Column("minutes", sa.Double().with_variant(sa.REAL(), "sqlite")))
