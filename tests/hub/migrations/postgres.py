"""A PostgreSQL of the test's own, or the reason why there is none."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from tests.processes import free_port

VARIABLE = "STRINGCOURSE_TEST_POSTGRES"
DEBIAN = Path("/usr/lib/postgresql")


def _program(name: str) -> Path | None:
    newest_first = sorted(DEBIAN.glob(f"*/bin/{name}"), key=lambda path: int(path.parts[-3]), reverse=True)
    if newest_first:
        return newest_first[0]
    found = shutil.which(name)
    return Path(found) if found else None


@contextmanager
def postgres_url() -> Iterator[str]:
    """SQLAlchemy URL of an empty database; skips the test where no PostgreSQL can be had."""
    if VARIABLE in os.environ:
        yield from _named(os.environ[VARIABLE])
        return
    initdb, pg_ctl = _program("initdb"), _program("pg_ctl")
    if initdb is None or pg_ctl is None:
        pytest.skip(f"{VARIABLE} names no PostgreSQL, and Debian's package `postgresql` is not installed")
    user = "nobody" if os.geteuid() == 0 else None  # PostgreSQL refuses to run as root
    with tempfile.TemporaryDirectory(prefix="stringcourse-postgres-") as name:
        folder = Path(name)
        if user is not None:
            os.chown(folder, pwd.getpwnam(user).pw_uid, -1)
        data, port = folder / "data", free_port()

        def run(*command: str | Path) -> None:
            subprocess.run(
                [str(part) for part in command],
                user=user,
                cwd=folder,
                check=True,
                stdout=subprocess.DEVNULL,
                timeout=60,
            )

        run(initdb, "--no-sync", "--auth=trust", "--username=hub", "--encoding=UTF8", "--locale=C", "-D", data)
        options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder} -c fsync=off"
        run(pg_ctl, "start", "-w", "-D", data, "-l", folder / "log", "-o", options)
        try:
            yield f"postgresql+psycopg://hub@127.0.0.1:{port}/postgres"
        finally:
            run(pg_ctl, "stop", "-w", "-m", "immediate", "-D", data)


def _named(url: str) -> Iterator[str]:
    """A schema of its own inside the database that the variable names, dropped at the end."""
    engine = create_engine(url)
    schema = f"stringcourse_test_{os.getpid()}"
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    try:
        yield f"{url}{'&' if '?' in url else '?'}options=-csearch_path%3D{schema}"
    finally:
        with engine.begin() as connection:
            connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))
        engine.dispose()
