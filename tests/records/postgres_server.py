"""A PostgreSQL server of our own on this machine alone, from Debian's package; skipped loudly where there is none."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

PLACES = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@contextmanager
def running() -> Iterator[str]:
    """The URL of an empty database."""
    if not PLACES:
        pytest.skip("NO POSTGRESQL on this machine: install it (Debian: postgresql) and run again")
    pytest.importorskip("psycopg")
    folder = Path(tempfile.mkdtemp(prefix="pg", dir="/tmp"))
    as_other: dict[str, object] = {}
    if os.geteuid() == 0:  # it does not run as root
        try:
            shutil.chown(folder, "nobody")
        except (LookupError, PermissionError):
            pytest.skip("NO USER to run PostgreSQL as")
        as_other = {"user": "nobody"}
    data, port = folder / "data", free_port()

    def run(*command: str) -> None:
        subprocess.run(
            [str(PLACES[0] / command[0]), *command[1:]],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=folder,
            timeout=120,
            **as_other,  # type: ignore[call-overload]
        )

    run("initdb", "-D", str(data), "-U", "records", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-h 127.0.0.1 -p {port} -k {folder} -c fsync=off"
    run("pg_ctl", "-D", str(data), "-w", "-l", str(folder / "log"), "-o", options, "start")
    try:
        yield f"postgresql+psycopg://records@127.0.0.1:{port}/postgres"
    finally:
        run("pg_ctl", "-D", str(data), "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def emptied(url: str) -> str:
    """The same database with nothing in it."""
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()
    return url
