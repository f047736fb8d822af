"""Bringing records of an earlier schema up to this one, by Alembic; the steps lie in ``versions``.

New files are made from ``tables`` and stamped with the latest step; a test holds both ways against one another.
"""

from __future__ import annotations

from pathlib import Path

from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, select

from simulator.records import tables

FIRST = "schema_1"  # records of the first release bear no mark of Alembic


def scripts() -> ScriptDirectory:
    """The steps that there are."""
    return ScriptDirectory(str(Path(__file__).parent))


def bring_up(engine: Engine) -> None:
    """Bring an engine's database up to the newest schema in one transaction: all of it or nothing.

    Another process may do the same at once: the second waits, and finds it done.
    """
    script = scripts()

    def steps(revision: tuple[str, ...], context: MigrationContext) -> list:
        return script._upgrade_revs("head", revision[0] if revision else FIRST)

    with engine.connect().execution_options(write=True) as connection:
        if engine.dialect.name == "sqlite":  # while tables are made anew they point at none
            driver = connection.connection.driver_connection
            assert driver is not None
            driver.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                options = {"fn": steps, "transactional_ddl": True}
                m = tables.meta.c
                before = connection.execute(select(m.value).where(m.name == "record_schema")).scalar()
                if not inspect(connection).has_table("alembic_version"):
                    MigrationContext.configure(connection).stamp(script, f"schema_{before}")
                context = MigrationContext.configure(connection, opts=options)
                with Operations.context(context):
                    context.run_migrations()
                # A number that damage made smaller is put right as well.
                schema = {"value": str(tables.RECORD_SCHEMA)}
                connection.execute(tables.meta.update().where(m.name == "record_schema").values(**schema))
                if engine.dialect.name == "sqlite" and before != schema["value"]:
                    connection.execute(tables.meta.delete().where(m.name == tables.LIST_DUE))
                    connection.execute(tables.meta.insert().values(name=tables.LIST_DUE, value="1"))
        finally:
            if engine.dialect.name == "sqlite":
                connection.connection.driver_connection.execute("PRAGMA foreign_keys = ON")  # type: ignore[union-attr]
