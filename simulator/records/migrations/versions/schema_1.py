"""The tables of the first release: attempts, events, marks, endings, progress.

Nothing is to be done: files of that release have them, and new files are made from ``tables``.
"""

from __future__ import annotations

revision = "schema_1"
down_revision = None


def upgrade() -> None:
    """Nothing."""
